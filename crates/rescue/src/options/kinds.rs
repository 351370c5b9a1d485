//! The kinds of way on that a stop leaves, their names and their risks.

use super::taken_up::TakenUp;
use crate::ChoiceKind;
use crate::progress::OnPlate;
use crate::steps::Scene;
use proof::JoinStart;
use shop::StopKind;

/// The kinds of way on that take up all that was begun, best first.
pub(super) fn kinds_of(scene: &Scene<'_>, on_plate: &OnPlate, begun: &[TakenUp]) -> Vec<ChoiceKind> {
    if begun.is_empty() {
        // Where nobody knows how far the interrupted cut got, it can only be left out.
        if on_plate.doubtful.contains(&scene.taken.cut) {
            return Vec::new();
        }
        return vec![ChoiceKind::RestartBlock];
    }
    let mut starts =
        [JoinStart::KerfEnd, JoinStart::FreshPierce, JoinStart::SecondPass, JoinStart::Backwards];
    match scene.stop.kind {
        // What was not cut through at full speed is gone over slower first.
        Some(StopKind::NotThrough) => {
            starts =
                [JoinStart::SecondPass, JoinStart::KerfEnd, JoinStart::FreshPierce, JoinStart::Backwards];
        }
        // Nobody knows how wide a bad kerf is at its end: its wall may be out of the pilot's reach.
        Some(StopKind::BadCut) => {
            starts =
                [JoinStart::SecondPass, JoinStart::FreshPierce, JoinStart::KerfEnd, JoinStart::Backwards];
        }
        _ if found_no_wall(scene) => starts.swap(0, 1),
        _ => {}
    }
    let has = |start: &JoinStart| {
        begun.iter().any(|taken_up| taken_up.legs.iter().any(|leg| leg.join.start == *start))
    };
    starts.into_iter().filter(has).map(kind_of).collect()
}

/// Whether a start on the end of the old kerf was just tried, and the arc did not take.
fn found_no_wall(scene: &Scene<'_>) -> bool {
    let ran = scene.situation.earlier.iter().flat_map(|earlier| &earlier.ran);
    let mut joins = ran.filter(|ran| ran.cut == scene.taken.cut).filter_map(|ran| ran.join.as_ref());
    scene.stop.kind == Some(StopKind::NoTransfer) && joins.any(|ran| ran.join.start == JoinStart::KerfEnd)
}

pub(super) const fn kind_of(start: JoinStart) -> ChoiceKind {
    match start {
        // The first of two burns of a cut that was not begun.
        JoinStart::OwnPierce => ChoiceKind::RestartBlock,
        JoinStart::KerfEnd => ChoiceKind::KerfEnd,
        JoinStart::FreshPierce => ChoiceKind::FreshPierce,
        JoinStart::SecondPass => ChoiceKind::SecondPass,
        JoinStart::Backwards => ChoiceKind::Backwards,
    }
}

pub(super) const fn name_of(kind: ChoiceKind) -> &'static str {
    match kind {
        ChoiceKind::RestartBlock | ChoiceKind::LeaveOutUnproven => "the rest from its restart block",
        ChoiceKind::KerfEnd => "a start on the end of the old kerf",
        ChoiceKind::FreshPierce => "a fresh pierce in scrap",
        ChoiceKind::SecondPass => "a second pass over the groove",
        ChoiceKind::Backwards => "a start at the far end, backwards",
        ChoiceKind::SkipPart => "the rest without this part",
        ChoiceKind::Salvage => "lost parts made anew on free plate",
    }
}

pub(super) fn risks_of(kind: ChoiceKind, failed_to_start: bool) -> Vec<String> {
    let risks: &[&str] = match kind {
        ChoiceKind::KerfEnd => &[
            "The arc must take on the end wall of the old kerf: if it does not, stop, do not let it retry.",
            "The join shows: a step of 0.3 to 1 mm is common practice.",
        ],
        ChoiceKind::FreshPierce => &[
            "The join shows: a step of 0.3 to 1 mm is common practice.",
            "Spatter of the fresh pierce may lie beside the kerf: look at it before the part is used.",
        ],
        ChoiceKind::SecondPass => &[
            "The second pass runs slower over the groove: its edge is wider and rougher there.",
            "It serves only if the plate has not moved since.",
        ],
        ChoiceKind::Backwards => &[
            "The cut runs against its direction: the slanted side of the kerf is on the part there.",
            "The join shows: a step of 0.3 to 1 mm is common practice.",
        ],
        _ if !failed_to_start => {
            &["If the cause is still there, it strikes again: watch the first cut to its end."]
        }
        _ => &[
            "If the cause is still there, the first start fails again: watch it, and do not let it retry.",
            "The failed start may have left a dimple or spatter at the pierce: the touch-off must meet clean plate.",
        ],
    };
    risks.iter().map(|risk| (*risk).to_owned()).collect()
}
