//! The plate under the torch in practice: whatever program runs, what it burns is held against the cuts of the plate and
//! against every part.

use cell::{Begun, Burning, Metal, Plated, Starting, Travel, Under};
use cuts::{ContourId, CutId, CutList, Depth, PartId, PlateIndex, PlateState, Progress, Stray};
use geometry::{Curve, Path, Point, Program};
use std::ops::Range;
use units::Length;

/// Radius from which on a torch goes down into a hole instead of finding the plate beside it, in millimetres: that of a
/// tip with its shield (common practice: 8 to 20 mm across).
const TIP_RADIUS_MM: f64 = 4.0;

/// By how much an arc that stands in a hole eats it wider, in kerfs, each time (assumed: as a pierce widens its crater
/// while it stands).
const EATS_KERFS: f64 = 1.0;

/// How closely a burn that is on no cut's path is looked at, in millimetres.
const LOOK_EVERY_MM: f64 = 0.5;

/// What was done to a part that it does not bear.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Hurt {
    /// A hole reaches into it.
    Hole,
    /// It was cut into.
    Cut,
}

/// The plate between runs.
#[derive(Clone, Debug)]
pub(crate) struct Plate {
    pub(crate) state: PlateState,
    strays: Vec<Curve<Program>>,
    holes: Vec<(Point<Program>, f64)>,
    gouges: Vec<Point<Program>>,
    /// For each part what has been done to it, if anything.
    pub(crate) hurt: Vec<Option<Hurt>>,
    /// Pieces that stand up.
    pub(crate) standing: Vec<ContourId>,
    /// Pieces that stood up and have been taken out.
    pub(crate) removed: Vec<ContourId>,
}

impl Plate {
    pub(crate) fn new(list: &CutList, kerf: Length) -> Self {
        Self {
            state: PlateState::after(list, Progress::default(), kerf),
            strays: Vec::new(),
            holes: Vec::new(),
            gouges: Vec::new(),
            hurt: vec![None; list.parts.len()],
            standing: Vec::new(),
            removed: Vec::new(),
        }
    }

    /// Burns a crater where none is to be.
    pub(crate) fn burnt(&mut self, list: &CutList, at: Point<Program>, tolerance_mm: f64) {
        let radius_mm = self.state.crater().mm();
        self.holes.push((at, radius_mm));
        let kerf_mm = self.state.kerf().mm();
        hold(&mut self.hurt, (list, kerf_mm, tolerance_mm), (at, radius_mm), Hurt::Hole);
    }

    /// Diameter of the hole blown nearest to `at`, in millimetres, if `at` lies in one.
    pub(crate) fn hole_at(&self, at: Point<Program>) -> Option<f64> {
        let within = self.holes.iter().filter(|(middle, radius)| middle.distance(at) <= *radius);
        within.map(|(_, radius)| 2.0 * radius).max_by(f64::total_cmp)
    }

    /// What has been made, with everything that is on no cut's path: what anybody sees who looks at the plate.
    pub(crate) fn progress(&self) -> Progress {
        let mut progress = self.state.progress().clone();
        let holes = self.holes.iter().map(|(at, radius)| Stray {
            at: *at,
            crater_mm: *radius,
            path: Path::new(Vec::new()),
            depth: Depth::Through,
        });
        progress.strays.extend(holes);
        let kerfs = self.strays.iter().map(|curve| Stray {
            at: curve.from(),
            crater_mm: 0.0,
            path: Path::new(vec![*curve]),
            depth: Depth::Through,
        });
        progress.strays.extend(kerfs);
        progress
    }
}

/// What a run did to the plate besides what it was to do.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Deeds {
    /// The torch went down into a hole.
    pub(crate) in_hole: bool,
    /// Millimetres burnt on no cut's path.
    pub(crate) beside_mm: f64,
}

/// The plate and the program that runs on it.
pub(crate) struct Bed<'b> {
    list: &'b CutList,
    plated: Plated<'b>,
    hurt: Vec<Option<Hurt>>,
    /// Pieces that stand up, and those taken out.
    pieces: [Vec<ContourId>; 2],
    /// The plate's own cut for each cut of the program that runs.
    of: &'b [CutId],
    tolerance_mm: f64,
    /// Where the torch went down into a hole.
    down_at: Option<Point<Program>>,
    /// Whether the last start was lit on a wall.
    on_wall: bool,
    /// The cut that burns and how far along it the arc has come.
    came: Option<(CutId, f64)>,
    /// How far the arc has burnt along an old kerf of its own by now, in millimetres, and how far it lives there.
    along_old_mm: f64,
    kerf_along_mm: f64,
    pub(crate) deeds: Deeds,
}

/// What the plate's arc and parts bear, in millimetres.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Bears {
    /// How far an arc survives along a void.
    pub(crate) void_along_mm: f64,
    /// How far it survives along an old kerf of its own.
    pub(crate) kerf_along_mm: f64,
    /// How far a part may be off.
    pub(crate) tolerance_mm: f64,
}

impl<'b> Bed<'b> {
    /// Lays a plate under the torch.
    pub(crate) fn lay(
        plate: Plate,
        on: (&'b CutList, &'b PlateIndex),
        of: &'b [CutId],
        bears: Bears,
    ) -> Self {
        let mut plated = Plated::new(on.0, on.1, plate.state, bears.void_along_mm);
        (plated.strays, plated.holes, plated.gouges) = (plate.strays, plate.holes, plate.gouges);
        Self {
            list: on.0,
            plated,
            hurt: plate.hurt,
            pieces: [plate.standing, plate.removed],
            of,
            tolerance_mm: bears.tolerance_mm,
            down_at: None,
            on_wall: false,
            came: None,
            along_old_mm: 0.0,
            kerf_along_mm: bears.kerf_along_mm,
            deeds: Deeds::default(),
        }
    }

    /// Takes it back.
    pub(crate) fn lift(self) -> (Plate, Deeds) {
        let Plated { state, strays, holes, gouges, .. } = self.plated;
        let [standing, removed] = self.pieces;
        let plate = Plate { state, strays, holes, gouges, hurt: self.hurt, standing, removed };
        (plate, self.deeds)
    }

    /// How far inside a blown hole `at` lies, with the number of the hole, if the torch goes down into it.
    fn wide_hole(&self, at: Point<Program>) -> Option<usize> {
        self.plated.holes.iter().position(|(middle, radius)| {
            *radius >= TIP_RADIUS_MM && middle.distance(at) <= *radius - TIP_RADIUS_MM / 2.0
        })
    }

    /// Holds a place that is burnt `radius_mm` wide against every part.
    fn burns_at(&mut self, at: Point<Program>, radius_mm: f64, how: Hurt) {
        let kerf_mm = self.plated.state.kerf().mm();
        hold(&mut self.hurt, (self.list, kerf_mm, self.tolerance_mm), (at, radius_mm), how);
    }

    /// The stretch of one of the plate's own cuts that a burn is, within the tolerance of the parts.
    fn stretch(&self, burning: &Burning) -> Option<(CutId, Range<f64>)> {
        let cut = *self.of.get(burning.cut?.0 as usize)?;
        let path = &self.list.cut(cut).path;
        let length_mm = burning.curve.length_mm();
        let (begin, middle) = (burning.curve.from(), burning.curve.point_at(length_mm / 2.0));
        let expected_mm = match self.came {
            Some((came, along_mm)) if came == cut => along_mm,
            _ => self.plated.state.made_mm(cut, Depth::Groove).last().map_or(0.0, |made| made.end),
        };
        let is_near = |along_mm: f64, p: Point<Program>| {
            let there = path.point_at(along_mm.clamp(0.0, path.length_mm()));
            there.is_some_and(|there| there.distance(p) <= self.tolerance_mm)
        };
        // Where a path comes by twice, it goes on from where the arc has come.
        let mut places: Vec<f64> = path
            .curves()
            .iter()
            .enumerate()
            // Beside the nearest place its two ends: where a curve begins a little off, those are what is meant.
            .flat_map(|(k, curve)| {
                let start_mm = path.start_of_mm(k);
                [start_mm, start_mm + curve.nearest(begin).along_mm, start_mm + curve.length_mm()]
            })
            .filter(|along_mm| is_near(*along_mm, begin))
            .collect();
        places.sort_by(|a, b| (a - expected_mm).abs().total_cmp(&(b - expected_mm).abs()));
        places.into_iter().find_map(|from_mm| {
            let ways = [1.0, -1.0].into_iter();
            let way = ways.into_iter().find(|way| {
                let end_mm = from_mm + way * length_mm;
                is_near(from_mm + way * length_mm / 2.0, middle)
                    && is_near(end_mm, burning.curve.to())
                    && (-self.tolerance_mm..=path.length_mm() + self.tolerance_mm).contains(&end_mm)
            })?;
            let to_mm = (from_mm + way * length_mm).clamp(0.0, path.length_mm());
            Some((cut, from_mm..to_mm))
        })
    }

    /// Burns a stretch of a cut of the plate; gives how far along the burnt curve the arc came, if it goes out.
    fn burn_path(&mut self, burning: &Burning, cut: CutId, along: &Range<f64>) -> Option<f64> {
        if let Some(out_mm) = self.dies_in_old_kerf(cut, along) {
            return Some(out_mm);
        }
        let path = &self.list.cut(cut).path;
        let forwards = along.start <= along.end;
        let whole = if forwards {
            path.piece(along.start, along.end)
        } else {
            path.piece(along.end, along.start).reversed()
        };
        let mut done_mm = 0.0;
        for curve in whole.curves() {
            let at_mm = if forwards { along.start + done_mm } else { along.start - done_mm };
            let own = Burning { curve: *curve, cut: forwards.then_some(cut), from_mm: at_mm, ..*burning };
            let out_mm = self.plated.burn(&own);
            let burnt_mm = out_mm.unwrap_or(curve.length_mm());
            done_mm += burnt_mm;
            self.came = Some((cut, if forwards { along.start + done_mm } else { along.start - done_mm }));
            if out_mm.is_some() {
                return Some(done_mm.min(burning.curve.length_mm()));
            }
        }
        None
    }
}

impl Bed<'_> {
    /// How far along a stretch the arc comes that goes out in an old kerf of the same cut, if it does: with nothing but
    /// that kerf ahead it lives as far as thresholds say.
    fn dies_in_old_kerf(&mut self, cut: CutId, along: &Range<f64>) -> Option<f64> {
        let forwards = along.start <= along.end;
        let (low, high) = if forwards { (along.start, along.end) } else { (along.end, along.start) };
        let made = self.plated.state.made_mm(cut, Depth::Through);
        let mut cut_already: Vec<Range<f64>> = made
            .iter()
            .map(|made| made.start.max(low)..made.end.min(high))
            .filter(|made| made.end - made.start > LOOK_EVERY_MM / 10.0)
            .collect();
        if !forwards {
            cut_already.reverse();
        }
        let lives_mm = self.kerf_along_mm + self.plated.state.kerf().mm();
        let mut at_mm = 0.0;
        for made in cut_already {
            let from_mm = if forwards { made.start - low } else { high - made.end };
            let long_mm = made.end - made.start;
            if from_mm > at_mm + LOOK_EVERY_MM / 10.0 {
                self.along_old_mm = 0.0;
            }
            if self.along_old_mm + long_mm > lives_mm {
                return Some((from_mm + lives_mm - self.along_old_mm).max(0.0));
            }
            self.along_old_mm += long_mm;
            at_mm = from_mm + long_mm;
        }
        if at_mm < high - low - LOOK_EVERY_MM / 10.0 {
            self.along_old_mm = 0.0;
        }
        None
    }
}

/// Holds a place that is burnt so wide against every part, with kerf and tolerance in millimetres.
fn hold(hurt: &mut [Option<Hurt>], on: (&CutList, f64, f64), burnt: (Point<Program>, f64), how: Hurt) {
    let ((list, kerf_mm, tolerance_mm), (at, radius_mm)) = (on, burnt);
    for part in &list.parts {
        let slot = &mut hurt[part.id.0 as usize];
        if slot.is_none() && metal_mm(list, part.id, at, kerf_mm) + radius_mm > tolerance_mm {
            *slot = Some(how);
        }
    }
}

/// How deep in the metal of a part `at` lies, in millimetres; negative outside.
fn metal_mm(list: &CutList, part: PartId, at: Point<Program>, kerf_mm: f64) -> f64 {
    let part = list.part(part);
    let outline = list.contour(part.outline).closed.as_ref();
    let Some(outline) = outline.filter(|outline| outline.bounds().grown(REACH_MM).contains(at)) else {
        return f64::NEG_INFINITY;
    };
    let holes = part.holes.iter().filter_map(|hole| list.contour(*hole).closed.as_ref());
    holes.map(|hole| -hole.depth_mm(at)).fold(outline.depth_mm(at), f64::min) - kerf_mm / 2.0
}

/// Farther from a part than this nothing that is burnt reaches it, in millimetres: more than the radius of any hole.
const REACH_MM: f64 = 60.0;

impl Metal for Bed<'_> {
    fn under(&mut self, start: &Starting) -> Under {
        if let Some(hole) = self.wide_hole(start.at) {
            let eats_mm = EATS_KERFS * self.plated.state.kerf().mm();
            let (middle, radius) = &mut self.plated.holes[hole];
            *radius += eats_mm;
            let (middle, radius) = (*middle, *radius);
            self.burns_at(middle, radius, Hurt::Hole);
            if self.down_at.is_some_and(|down| down.distance(start.at) <= TIP_RADIUS_MM) {
                return Under::Nothing;
            }
        }
        let under = self.plated.under(start);
        self.on_wall = matches!(under, Under::Wall { .. });
        under
    }

    fn begun(&mut self, begun: &Begun) {
        let cut = begun.cut.and_then(|cut| self.of.get(cut.0 as usize)).copied();
        let pierce = cut.map(|cut| self.list.cut(cut).pierce.at);
        (self.came, self.along_old_mm) = (None, 0.0);
        match (cut, pierce.filter(|at| at.distance(begun.at) <= self.tolerance_mm)) {
            (Some(cut), Some(at)) => {
                self.came = Some((cut, 0.0));
                self.plated.begun(&Begun { at, cut: Some(cut), ..*begun });
            }
            _ => {
                // An arc lit on a wall makes no crater of its own.
                let begins = begun.begins && !self.on_wall;
                self.plated.begun(&Begun { cut: None, begins, ..*begun });
                if begins {
                    let radius_mm = self.plated.state.crater().mm();
                    self.burns_at(begun.at, radius_mm, Hurt::Hole);
                }
            }
        }
    }

    fn burn(&mut self, burning: &Burning) -> Option<f64> {
        if let Some((cut, along)) = self.stretch(burning) {
            return self.burn_path(burning, cut, &along);
        }
        let out_mm = self.plated.burn(&Burning { cut: None, ..*burning });
        let burnt_mm = out_mm.unwrap_or_else(|| burning.curve.length_mm());
        self.deeds.beside_mm += burnt_mm;
        let radius_mm = self.plated.state.kerf().mm() / 2.0 + burning.wider_mm;
        let mut along_mm = 0.0;
        while along_mm <= burnt_mm {
            self.burns_at(burning.curve.point_at(along_mm), radius_mm, Hurt::Cut);
            along_mm += LOOK_EVERY_MM;
        }
        out_mm
    }

    fn blown(&mut self, at: Point<Program>, diameter_mm: f64) {
        self.plated.blown(at, diameter_mm);
        self.burns_at(at, diameter_mm / 2.0, Hurt::Hole);
    }

    fn gouged(&mut self, at: Point<Program>) {
        self.plated.gouged(at);
    }

    fn found(&mut self, at: Point<Program>) {
        self.down_at = self.wide_hole(at).map(|_| at);
        self.deeds.in_hole |= self.down_at.is_some();
    }

    fn travelled(&mut self, travel: &Travel) {
        self.plated.travelled(travel);
    }
}
