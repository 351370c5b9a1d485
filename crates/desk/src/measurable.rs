//! What can be measured on a plate that moved, for whoever points at the picture.

use crate::{Inputs, Reading, Rescued};
use cuts::PlateState;
use geometry::{Point, Program};
use rescue::refind::{self, Metal, Named, Next};
use shop::{Measured, StopKind};

impl Rescued {
    /// Features within `within_mm` of `at`, program coordinates, that can be measured on the plate as it stands: single
    /// places before edges, the nearest first. None if the thickness is not told.
    #[must_use]
    pub fn measurable(
        &self,
        inputs: &Inputs,
        reading: &Reading,
        at: Point<Program>,
        within_mm: f64,
    ) -> Vec<Named> {
        let system = reading.system(inputs);
        let mut named = self
            .on_metal(inputs, reading, |metal| refind::nearby(metal, at, within_mm, system))
            .unwrap_or_default();
        if self.plan.datum_was_wrong {
            // What was cut with the wrong datum does not tell where the plate is.
            named.retain(|named| named.side.is_some());
        }
        named
    }

    /// The feature that a measurement speaks of, wherever it was found; none if it cannot be measured on the plate as it
    /// stands.
    #[must_use]
    pub fn named(&self, inputs: &Inputs, reading: &Reading, row: &Measured) -> Option<Named> {
        let system = reading.system(inputs);
        self.on_metal(inputs, reading, |metal| refind::named(metal, row, system))?
    }

    /// What to measure next, what tells most first, each as it is named in a measurement.
    #[must_use]
    pub fn measure_next(&self, inputs: &Inputs, reading: &Reading) -> Vec<(Next, Named)> {
        let system = reading.system(inputs);
        let next = self.plan.refound.iter().flat_map(|refound| &refound.next);
        let named = |metal: &Metal<'_>| {
            next.filter_map(|next| {
                let named = refind::proposed(metal, next.plan, &next.name, system)?;
                Some((next.clone(), named))
            })
            .collect()
        };
        self.on_metal(inputs, reading, named).unwrap_or_default()
    }

    fn on_metal<R>(
        &self,
        inputs: &Inputs,
        reading: &Reading,
        ask: impl FnOnce(&Metal<'_>) -> R,
    ) -> Option<R> {
        let ground = inputs.ground(reading, inputs.job.thickness?);
        let state = PlateState::after(&reading.list, self.plan.progress.clone(), reading.kerf.width);
        Some(ask(&Metal {
            list: &reading.list,
            index: &reading.index,
            state: &state,
            plate: ground.plate.as_ref(),
            holes: &ground.plate_holes,
        }))
    }

    /// Whether the plate may lie elsewhere than where it was begun, so that it is worth measuring.
    #[must_use]
    pub fn may_lie_elsewhere(&self, kind: Option<StopKind>, moved: Option<bool>) -> bool {
        self.plan.refound.is_some()
            || moved == Some(true)
            || matches!(kind, Some(StopKind::PlateMoved | StopKind::WrongDatum))
    }
}
