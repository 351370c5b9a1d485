//! What the torch stands over. The cell asks and tells through [`Metal`], so that whoever runs it can bring a plate of
//! their own.

use cuts::{CutId, CutList, Depth, Ground, Made, PlateIndex, PlateState};
use geometry::{Curve, Placement, Point, Program, SAME_POINT_MM};
use nc::Height;
use std::ops::Range;
use units::Length;

/// A start, as the plate sees it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Starting {
    /// Where the torch is on the plate.
    pub at: Point<Program>,
    /// The cut of the program that runs.
    pub cut: Option<CutId>,
    /// How much higher the tip stands than the program means it to, in millimetres.
    pub off_mm: f64,
}

/// What lies under the torch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Under {
    /// Metal that the skeleton holds.
    Metal,
    /// A void, with a wall so many millimetres away.
    Wall {
        /// Distance to the nearest edge of metal.
        away_mm: f64,
    },
    /// Nothing within reach.
    Nothing,
}

/// What a lit arc has done to the place of its start by the time the torch moves on or it goes out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Begun {
    /// Where the torch is on the plate.
    pub at: Point<Program>,
    /// The cut of the program that runs.
    pub cut: Option<CutId>,
    /// Whether the cut begins here; else it is taken up on the way.
    pub begins: bool,
    /// How long it has burnt there, in seconds.
    pub waited_s: f64,
    /// Whether it comes through.
    pub depth: Depth,
}

/// A stretch that is burnt, as the plate sees it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Burning {
    /// The way on the plate.
    pub curve: Curve<Program>,
    /// The cut of the program that runs, if the motion is on its path.
    pub cut: Option<CutId>,
    /// Where the stretch begins along the cut, in millimetres.
    pub from_mm: f64,
    /// How deep.
    pub depth: Depth,
    /// By how much the kerf is wider than it should be, in millimetres on either side.
    pub wider_mm: f64,
    /// The speed that the program wants, in millimetres a second; infinite for a rapid.
    pub wanted_mm_per_s: f64,
    /// From where the control believes the torch to be to where it is on the plate.
    pub lies: Placement<Program, Program>,
}

/// A way of the torch without an arc.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Travel {
    /// The way on the plate.
    pub curve: Curve<Program>,
    /// Heights at its beginning and its end.
    pub heights: [Height; 2],
}

/// The plate. Places are in the plate's frame: the coordinates of the program it was begun with.
pub trait Metal {
    /// What lies under a torch that is told to start. Asked once for each try that gets as far as its pilot.
    fn under(&mut self, start: &Starting) -> Under;

    /// The arc burns, and the torch is about to move on or the arc to go out.
    fn begun(&mut self, begun: &Begun);

    /// Burns a stretch. Gives how far the arc came, in millimetres along it, if it goes out on the way for want of metal.
    fn burn(&mut self, burning: &Burning) -> Option<f64>;

    /// A hole is blown.
    fn blown(&mut self, at: Point<Program>, diameter_mm: f64);

    /// The pilot has gouged the wall of a kerf near `at`.
    fn gouged(&mut self, at: Point<Program>);

    /// The plate's surface has been found at `at`.
    fn found(&mut self, _at: Point<Program>) {}

    /// The torch has travelled without an arc.
    fn travelled(&mut self, _travel: &Travel) {}

    /// The torch has been told to go out, or its arc has gone: what is parted may drop.
    fn went_out(&mut self) {}

    /// A fault strikes: from here on what happens is its doing.
    fn struck(&mut self) {}
}

/// A plate with metal everywhere: what a forecast supposes.
#[derive(Clone, Copy, Debug, Default)]
pub struct Sound;

impl Metal for Sound {
    fn under(&mut self, _: &Starting) -> Under {
        Under::Metal
    }

    fn begun(&mut self, _: &Begun) {}

    fn burn(&mut self, _: &Burning) -> Option<f64> {
        None
    }

    fn blown(&mut self, _: Point<Program>, _: f64) {}

    fn gouged(&mut self, _: Point<Program>) {}
}

/// A plate as [`PlateState`] keeps it, whatever program runs on it: what is burnt on a cut's path is made of that cut, and
/// everything else is a stray kerf or hole.
#[derive(Debug)]
pub struct Plated<'a> {
    list: &'a CutList,
    index: &'a PlateIndex,
    /// The plate so far.
    pub state: PlateState,
    /// Kerfs on no cut's path.
    pub strays: Vec<Curve<Program>>,
    /// Holes blown: middle and radius in millimetres.
    pub holes: Vec<(Point<Program>, f64)>,
    /// Places where the pilot has gouged a wall.
    pub gouges: Vec<Point<Program>>,
    /// How far an arc survives along a void.
    void_along_mm: f64,
    /// How long the arc has burnt over a void by now, in millimetres.
    void_mm: f64,
}

/// How closely a burn is looked at for voids, in millimetres: well below the length over which an arc survives.
const LOOK_EVERY_MM: f64 = 0.5;

/// Over so many widths of the kerf behind the torch the kerf is the one it is making.
const OWN_KERFS: f64 = 2.0;

/// How far beside a cut's path a burn may lie to be that cut, in millimetres: the last decimals of a program.
const ON_PATH_MM: f64 = 0.01;

impl<'a> Plated<'a> {
    /// The plate in `state`, with the cuts it was begun with; an arc survives `void_along_mm` along a void.
    #[must_use]
    pub fn new(list: &'a CutList, index: &'a PlateIndex, state: PlateState, void_along_mm: f64) -> Self {
        Self {
            list,
            index,
            state,
            strays: Vec::new(),
            holes: Vec::new(),
            gouges: Vec::new(),
            void_along_mm,
            void_mm: 0.0,
        }
    }

    /// Whether there is no metal under `p`, `along_mm` along `cut`, the kerf that the arc itself is making aside.
    fn is_void(&self, p: Point<Program>, own: Option<(CutId, f64)>) -> bool {
        if self.in_stray(p).is_some() {
            return true;
        }
        let own_mm = self.state.kerf().mm() * OWN_KERFS;
        match self.state.ground_at(self.list, self.index, p, Length::ZERO) {
            Ground::Metal | Ground::Loose(_) => false,
            Ground::Kerf(other) if own.is_some_and(|(cut, _)| cut == other) => {
                let along_mm = own.map_or(0.0, |(_, along_mm)| along_mm);
                let near = self.state.nearest_kerf(self.list, self.index, p, self.state.kerf());
                near.is_some_and(|near| near.cut != other || near.along_mm < along_mm - own_mm)
            }
            Ground::Kerf(_) | Ground::Void(_) | Ground::OutsidePlate => true,
        }
    }

    /// How far inside a stray kerf or hole `p` lies, in millimetres from its wall; none if it lies in none.
    fn in_stray(&self, p: Point<Program>) -> Option<f64> {
        let half_mm = self.state.kerf().mm() / 2.0;
        let kerfs = self.strays.iter().map(|curve| half_mm - curve.nearest(p).distance_mm);
        let holes = self.holes.iter().map(|(at, radius_mm)| radius_mm - at.distance(p));
        kerfs.chain(holes).filter(|inside_mm| *inside_mm > 0.0).max_by(f64::total_cmp)
    }

    /// The stretch of a cut's path that a burnt curve is, in millimetres along it; of the cut that runs, if it is one of
    /// the plate's own and the torch is where the program has it.
    fn on_path(&self, burning: &Burning, curve: &Curve<Program>) -> Option<(CutId, Range<f64>)> {
        let length_mm = curve.length_mm();
        let (begin, middle, end) = (curve.from(), curve.point_at(length_mm / 2.0), curve.to());
        let runs = burning.cut.and_then(|cut| self.list.cuts.get(cut.0 as usize));
        if let Some(cut) = runs {
            let is_at = |along_mm: f64, at: Point<Program>| {
                cut.path.point_at(along_mm).is_some_and(|p| p.distance(at) <= ON_PATH_MM)
            };
            if is_at(burning.from_mm, begin) && is_at(burning.from_mm + length_mm / 2.0, middle) {
                return Some((cut.id, burning.from_mm..burning.from_mm + length_mm));
            }
        }
        let hits = self.index.curves.near_point(middle, ON_PATH_MM);
        let on =
            hits.filter(|hit| [begin, end].iter().all(|p| hit.curve.nearest(*p).distance_mm <= ON_PATH_MM));
        let found = on.min_by_key(|hit| hit.tag)?;
        let (cut, number) = found.tag;
        let path = &self.list.cut(cut).path;
        let (starts, ends) =
            (path.start_of_mm(number as usize), path.start_of_mm(number as usize) + found.curve.length_mm());
        let along_mm = starts + found.curve.nearest(middle).along_mm;
        let half_mm = length_mm / 2.0;
        Some((cut, (along_mm - half_mm).max(starts)..(along_mm + half_mm).min(ends)))
    }

    fn void_at(&mut self, burning: &Burning, own: Option<&(CutId, Range<f64>)>) -> Option<f64> {
        let length = burning.curve.length_mm();
        let mut along = 0.0f64;
        while along < length {
            let here = burning.curve.point_at(along);
            let own = own.map(|(cut, stretch)| (*cut, stretch.start + along));
            if self.is_void(here, own) {
                // The void of an old kerf begins half a kerf before its path and ends half a kerf after it.
                if self.void_mm > self.void_along_mm + self.state.kerf().mm() {
                    return Some(along);
                }
                self.void_mm += LOOK_EVERY_MM.min(length - along);
            } else {
                self.void_mm = 0.0;
            }
            along += LOOK_EVERY_MM;
        }
        None
    }
}

impl Metal for Plated<'_> {
    fn under(&mut self, start: &Starting) -> Under {
        if let Some(inside_mm) = self.in_stray(start.at) {
            return Under::Wall { away_mm: inside_mm };
        }
        match self.state.ground_at(self.list, self.index, start.at, Length::ZERO) {
            Ground::Metal => Under::Metal,
            Ground::Kerf(_) => {
                let reach = self.state.kerf() * 2.0;
                let near = self.state.nearest_kerf(self.list, self.index, start.at, reach);
                near.map_or(Under::Nothing, |near| Under::Wall { away_mm: near.to_edge.mm().abs() })
            }
            // A loose piece has mostly dropped; what is left of it is out of the pilot's reach.
            Ground::Loose(_) | Ground::Void(_) | Ground::OutsidePlate => Under::Nothing,
        }
    }

    fn begun(&mut self, begun: &Begun) {
        self.void_mm = 0.0;
        let pierce = |cut: &CutId| self.list.cuts.get(cut.0 as usize).map(|cut| cut.pierce.at);
        let own = begun.cut.filter(|cut| pierce(cut).is_some_and(|at| at.distance(begun.at) <= ON_PATH_MM));
        match own {
            Some(cut) if begun.begins => {
                self.state.make(self.list, Made { depth: begun.depth, ..Made::through(cut, 0.0..0.0) });
            }
            None if begun.begins => self.holes.push((begun.at, self.state.crater().mm())),
            _ => {}
        }
    }

    fn burn(&mut self, burning: &Burning) -> Option<f64> {
        let own = self.on_path(burning, &burning.curve);
        let out_mm = self.void_at(burning, own.as_ref());
        let burnt_mm = out_mm.unwrap_or(burning.curve.length_mm());
        if burnt_mm <= SAME_POINT_MM {
            return out_mm;
        }
        let curve = if out_mm.is_some() { burning.curve.piece(0.0, burnt_mm) } else { burning.curve };
        match self.on_path(burning, &curve) {
            Some((cut, along_mm)) => {
                self.state.make(self.list, Made { depth: burning.depth, ..Made::through(cut, along_mm) });
            }
            None => self.strays.push(curve),
        }
        out_mm
    }

    fn blown(&mut self, at: Point<Program>, diameter_mm: f64) {
        self.holes.push((at, diameter_mm / 2.0));
    }

    fn gouged(&mut self, at: Point<Program>) {
        self.gouges.push(at);
    }
}
