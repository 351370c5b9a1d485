//! Which parts of a stopped plate could still be saved by anyone, by physics alone.

use super::layout::{Layout, Line};
use super::motion::distance;
use super::rig::{Lie, Rig};
use super::start_left::can_be_begun;

/// How well a place of a plate that has moved can be found again.
#[derive(Clone, Debug, PartialEq)]
pub struct Findable {
    /// Features that can be measured, in the program's frame.
    pub features: Vec<[f64; 2]>,
    /// Standard deviation of one reading in each direction, in millimetres.
    pub sigma_mm: f64,
}

/// Why a part is lost whatever anyone does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Lost {
    /// It is cut into.
    Gouged,
    /// It is loose already.
    Loose,
    /// What is left to cut lies beyond the plate.
    OffPlate,
    /// What is left to cut lies on a piece that is loose.
    OnLoose,
    /// What is left to cut lies beyond the table's travel.
    BeyondTravel,
    /// Nothing of what is left can be begun: no crater and no edge clear of the part is joined to it.
    NoStart,
    /// Nobody can find again where it lies, well enough.
    NotFindable,
}

/// Whether the part with this index could still be saved on the plate, which lies so; `moved` if it lies otherwise than
/// it was laid, or nobody can know that it does not.
///
/// # Errors
/// Why not.
pub fn savable(
    layout: &Layout,
    rig: &Rig<'_>,
    part: usize,
    (lie, moved): (&Lie, Option<&Findable>),
) -> Result<(), Lost> {
    let plate = &rig.plate;
    if layout.is_gouged(plate, part) {
        return Err(Lost::Gouged);
    }
    if rig.freed[part].is_some() {
        return Err(Lost::Loose);
    }
    let left = |line: &Line| -> Vec<[f64; 2]> {
        let made = |at: &&[f64; 2]| if line.marks { plate.is_cut(**at) } else { plate.is_void(**at) };
        line.places.iter().filter(|at| !made(at)).copied().collect()
    };
    for cut in &layout.parts[part].cuts {
        let left = left(&layout.lines[*cut]);
        if left.iter().any(|at| !plate.is_on_plate(*at)) {
            return Err(Lost::OffPlate);
        }
        if left.iter().any(|at| plate.is_loose(*at)) {
            return Err(Lost::OnLoose);
        }
        if left.iter().any(|at| !layout.is_within_travel(lie, *at)) {
            return Err(Lost::BeyondTravel);
        }
        if !can_be_begun(layout, plate, &layout.parts[part], &layout.lines[*cut]) {
            return Err(Lost::NoStart);
        }
    }
    match moved {
        Some(findable) if findable.error_95_mm(layout, part) > layout.tolerance_mm => Err(Lost::NotFindable),
        _ => Ok(()),
    }
}

impl Findable {
    /// How far off the farthest place of the part lands, 95 times in 100, after the best fit that the features allow.
    ///
    /// Least squares of a turn and a shift to n places with equal errors: the shift is known to sigma / √n in each
    /// direction, the turn to sigma / √(Σ r²) with r from their middle (derived: both are uncorrelated about the middle).
    /// A bell curve in two directions holds 95 of 100 within 2.45 deviations (√5.991, chi-square with 2 degrees of
    /// freedom).
    fn error_95_mm(&self, layout: &Layout, part: usize) -> f64 {
        let features: Vec<[f64; 2]> = self.features.iter().map(|at| layout.on_plate(*at)).collect();
        if features.len() < 2 {
            return f64::INFINITY;
        }
        #[expect(clippy::cast_precision_loss, reason = "a number of features")]
        let count = features.len() as f64;
        let middle = [0, 1].map(|axis| features.iter().map(|at| at[axis]).sum::<f64>() / count);
        let spread: f64 = features.iter().map(|at| distance(*at, middle).powi(2)).sum();
        let part = &layout.parts[part];
        let far = distance(part.middle_mm(), middle) + part.reach_mm();
        2.45 * self.sigma_mm * (1.0 / count + far * far / spread.max(1e-9)).sqrt()
    }
}
