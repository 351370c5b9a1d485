//! The cuts that were begun, each with the ways in which it may be taken up.

use super::given_up_before;
use crate::joins::{Begun, Ground, legs};
use crate::progress::{OnPlate, begun};
use crate::promise::parts_of;
use crate::restart::JoinLeg;
use crate::steps::Scene;
use crate::{Choice, Fact, Wanted};
use cuts::CutId;
use shop::StopKind;

/// The fact wanted for the first cut begun that no choice takes up.
pub(super) fn not_taken_up(scene: &Scene<'_>, begun: &[TakenUp], choices: &[Choice]) -> Option<Wanted> {
    let is_taken_up = |cut: CutId| choices.iter().any(|choice| choice.promise.join(cut).is_some());
    let open = begun.iter().find(|taken_up| !is_taken_up(taken_up.begun.cut))?.begun;
    let mut wanted = if scene.stop.kind == Some(StopKind::NoMotion) && open.cut == scene.taken.cut {
        let says = format!(
            "How wide the hole is that was blown at cut {}: measure across it, tell it with `blown`, and how far off its \
             radius may be with `kerf_within`.",
            open.cut.number()
        );
        Wanted { fact: Fact::Blown(open.cut), says }
    } else {
        open.wanted(scene.situation)
    };
    // On a plate that moved where it lies is in doubt, too, and that is added to the other.
    if scene.situation.pose.is_some() {
        wanted.says.push_str(" Measure where the plate lies once more as well.");
    }
    Some(wanted)
}

/// A begun cut with the ways in which it may be taken up.
pub(super) struct TakenUp {
    pub(super) begun: Begun,
    pub(super) legs: Vec<JoinLeg>,
}

impl TakenUp {
    /// A mark that was begun can be run again whole, whatever else there is: nothing waits for a way to take it up.
    pub(super) fn is_mark(&self, scene: &Scene<'_>) -> bool {
        scene.situation.list.cut(self.begun.cut).is_mark
    }

    pub(super) fn all_legs(&self) -> (CutId, Vec<JoinLeg>) {
        (self.begun.cut, self.legs.clone())
    }
}

/// The marks that can be taken up where they end, each with how.
pub(super) fn goes_on(marks: &[TakenUp]) -> impl Iterator<Item = (CutId, Vec<JoinLeg>)> + '_ {
    marks.iter().filter(|mark| !mark.legs.is_empty()).map(TakenUp::all_legs)
}

pub(super) fn taken_up(scene: &Scene<'_>, on_plate: &OnPlate) -> Vec<TakenUp> {
    let situation = scene.situation;
    let given_up = given_up_before(scene, on_plate);
    let is_lost = |cut: &CutId| {
        let parts = parts_of(situation.list, situation.list.cut(*cut));
        !parts.is_empty() && parts.iter().all(|part| given_up.contains(part))
    };
    let known = |cut: CutId| Begun::of(situation, &on_plate.progress, cut, &given_up);
    let begun: Vec<Begun> = begun(situation, on_plate, scene.state)
        .into_iter()
        .filter(|cut| !is_lost(cut) && !scene.goes_without(*cut, &given_up))
        .filter_map(known)
        .collect();
    let ground =
        Ground { situation, state: scene.state, others_before: begun.len() > 1, given_up: &given_up };
    begun.into_iter().map(|begun| TakenUp { legs: legs(&ground, &begun), begun }).collect()
}
