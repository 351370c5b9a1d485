//! Dimples to make before the first cut, and the program that goes to their places.

use crate::refind::{Around, Dimple, Metal, witnesses};
use crate::trace::visits;
use crate::{Situation, Trace};
use cuts::{PlateState, Progress};
use nc::{Style, Units};
use units::System;

/// Three dimples and how to make them.
#[derive(Clone, Debug, PartialEq)]
pub struct Witness {
    /// Where.
    pub dimples: [Dimple; 3],
    /// A program that goes to each with the torch off, and stops there; no torch, probe or touch-off word stands in it.
    pub program: Trace,
}

/// Proposes three dimples in the skeleton, and writes the program that goes to them.
///
/// # Errors
/// Why there are none, in words.
pub fn witness(situation: &Situation<'_>) -> Result<Witness, String> {
    let state = PlateState::after(situation.list, Progress::default(), situation.ground.kerf);
    let metal = Metal {
        list: situation.list,
        index: situation.index,
        state: &state,
        plate: situation.ground.plate.as_ref(),
        holes: &situation.ground.plate_holes,
    };
    let dimples = witnesses(
        &metal,
        &Around {
            holes: &situation.ground.plate_holes,
            clamps: &situation.ground.clamps,
            travel: situation.ground.travel,
            thresholds: &situation.ground.thresholds,
        },
    )?;
    let event = situation.motions.events().first().ok_or("the program makes nothing happen")?;
    let modal = situation.motions.modal(event.modal);
    let system = match modal.units {
        Units::Millimetres => System::Metric,
        Units::Inches => System::Inch,
    };
    let places = dimples.map(|dimple| dimple.at);
    let program = visits(situation, &places, "DIMPLE", Style::of(modal), system)?;
    Ok(Witness { dimples, program })
}
