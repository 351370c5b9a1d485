//! What the torch stands over. The cell asks through [`Metal`], so that whoever runs it can bring a plate of their own.

use cuts::{CutId, CutList, Depth, Ground, Made, PlateIndex, PlateState};
use geometry::{Curve, Point, Program};
use units::Length;

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
}

/// What an arc meets on its way.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Voids {
    /// How far along the stretch it goes out, in millimetres; none if it burns to the end.
    pub out_at_mm: Option<f64>,
    /// How long it has burnt over a void at the end, in millimetres; 0 over metal.
    pub at_end_mm: f64,
}

/// The plate. Places are in the plate's frame: the coordinates of the program it was begun with.
pub trait Metal {
    /// What lies under `at`.
    fn under(&self, at: Point<Program>) -> Under;

    /// Whether an arc that burns at the beginning of `burning` goes out on the way for want of metal, having burnt
    /// over a void for `void_mm` before.
    fn voids(&self, burning: &Burning, void_mm: f64) -> Voids;

    /// A pierce has been made at `at`, at the beginning of `cut`.
    fn pierced(&mut self, at: Point<Program>, cut: Option<CutId>, diameter_mm: Option<f64>);

    /// A stretch has been burnt.
    fn burnt(&mut self, burning: &Burning);

    /// The pilot has gouged the wall of a kerf near `at`.
    fn gouged(&mut self, at: Point<Program>);
}

/// A plate with metal everywhere: what a forecast supposes.
#[derive(Clone, Copy, Debug, Default)]
pub struct Sound;

impl Metal for Sound {
    fn under(&self, _: Point<Program>) -> Under {
        Under::Metal
    }

    fn voids(&self, _: &Burning, _: f64) -> Voids {
        Voids::default()
    }

    fn pierced(&mut self, _: Point<Program>, _: Option<CutId>, _: Option<f64>) {}

    fn burnt(&mut self, _: &Burning) {}

    fn gouged(&mut self, _: Point<Program>) {}
}

/// A plate on which the program that runs is the one it was begun with, as [`PlateState`] keeps it.
#[derive(Debug)]
pub struct Plated<'a> {
    list: &'a CutList,
    index: &'a PlateIndex,
    /// The plate so far.
    pub state: PlateState,
    /// Places where the pilot has gouged a wall.
    pub gouges: Vec<Point<Program>>,
    /// How far an arc survives along a void.
    void_along_mm: f64,
}

/// How closely a burn is looked at for voids, in millimetres: well below the length over which an arc survives.
const LOOK_EVERY_MM: f64 = 0.5;

impl<'a> Plated<'a> {
    /// The plate in `state`; an arc survives `void_along_mm` along a void.
    #[must_use]
    pub fn new(list: &'a CutList, index: &'a PlateIndex, state: PlateState, void_along_mm: f64) -> Self {
        Self { list, index, state, gouges: Vec::new(), void_along_mm }
    }

    /// Whether there is no metal under `p`, `along_mm` along `cut`, the kerf that the arc itself is making aside.
    fn is_void(&self, p: Point<Program>, cut: Option<CutId>, along_mm: f64) -> bool {
        let own_mm = self.state.kerf().mm() * OWN_KERFS;
        match self.state.ground_at(self.list, self.index, p, Length::ZERO) {
            Ground::Metal | Ground::Loose(_) => false,
            Ground::Kerf(other) if cut == Some(other) => {
                let near = self.state.nearest_kerf(self.list, self.index, p, self.state.kerf());
                near.is_some_and(|near| near.cut != other || near.along_mm < along_mm - own_mm)
            }
            Ground::Kerf(_) | Ground::Void(_) | Ground::OutsidePlate => true,
        }
    }
}

/// Over so many widths of the kerf behind the torch the kerf is the one it is making.
const OWN_KERFS: f64 = 2.0;

impl Metal for Plated<'_> {
    fn under(&self, at: Point<Program>) -> Under {
        match self.state.ground_at(self.list, self.index, at, Length::ZERO) {
            Ground::Metal => Under::Metal,
            Ground::Kerf(_) => {
                let reach = self.state.kerf() * 2.0;
                let near = self.state.nearest_kerf(self.list, self.index, at, reach);
                near.map_or(Under::Nothing, |near| Under::Wall { away_mm: near.to_edge.mm().abs() })
            }
            // A loose piece has mostly dropped; what is left of it is out of the pilot's reach.
            Ground::Loose(_) | Ground::Void(_) | Ground::OutsidePlate => Under::Nothing,
        }
    }

    fn voids(&self, burning: &Burning, void_mm: f64) -> Voids {
        let length = burning.curve.length_mm();
        let (mut void, mut along) = (void_mm, 0.0f64);
        while along < length {
            let here = burning.curve.point_at(along);
            if self.is_void(here, burning.cut, burning.from_mm + along) {
                // The void of an old kerf begins half a kerf before its path and ends half a kerf after it.
                if void > self.void_along_mm + self.state.kerf().mm() {
                    return Voids { out_at_mm: Some(along), at_end_mm: void };
                }
                void += LOOK_EVERY_MM.min(length - along);
            } else {
                void = 0.0;
            }
            along += LOOK_EVERY_MM;
        }
        Voids { out_at_mm: None, at_end_mm: void }
    }

    fn pierced(&mut self, _: Point<Program>, cut: Option<CutId>, _: Option<f64>) {
        if let Some(cut) = cut {
            self.state.make(self.list, Made::through(cut, 0.0..0.0));
        }
    }

    fn burnt(&mut self, burning: &Burning) {
        let Some(cut) = burning.cut else { return };
        let along_mm = burning.from_mm..burning.from_mm + burning.curve.length_mm();
        self.state.make(self.list, Made { depth: burning.depth, ..Made::through(cut, along_mm) });
    }

    fn gouged(&mut self, at: Point<Program>) {
        self.gouges.push(at);
    }
}
