//! What has been made on the plate when it stopped: what earlier rescues left, the cuts run since, and the operator's
//! word on single cuts, which overrides both.

use crate::Situation;
use cuts::{CutId, Depth, Ends, Made, Progress};
use shop::{CutIs, StopReport};
use std::collections::BTreeSet;

/// What the plate carries, and the cuts of which nobody knows how far they got.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct OnPlate {
    pub(crate) progress: Progress,
    /// Begun and not whole, by the operator's word: what is left of them is not known.
    pub(crate) doubtful: Vec<CutId>,
    /// What the operator said and what cannot be so, a sentence each.
    pub(crate) not_understood: Vec<String>,
}

/// What is on the plate at a start of `cut` that did not transfer.
pub(crate) fn on_plate(situation: &Situation<'_>, stop: &StopReport, cut: CutId) -> OnPlate {
    let mut progress = situation.earlier.map(|earlier| earlier.progress.clone()).unwrap_or_default();
    let run = run_before(situation, cut);
    let again: BTreeSet<CutId> = run.iter().copied().collect();
    progress.made.retain(|made| !again.contains(&made.cut));
    progress.made.extend(run.into_iter().map(|before| stretch(situation, before, Depth::Through)));
    let mut on_plate = OnPlate { progress, doubtful: Vec::new(), not_understood: Vec::new() };
    for shop::CutState { cut: number, is, .. } in &stop.state {
        match situation.list.by_number(*number) {
            Some(said) => take_word(situation, &mut on_plate, said.id, *is),
            None => {
                on_plate.not_understood.push(format!("`state` speaks of cut {number}, which does not exist"));
            }
        }
    }
    on_plate
}

/// The cuts that the program that ran had run before `cut`.
fn run_before(situation: &Situation<'_>, cut: CutId) -> Vec<CutId> {
    match situation.earlier {
        Some(earlier) if !earlier.ran.is_empty() => {
            earlier.ran.iter().map(|ran| ran.cut).take_while(|other| *other != cut).collect()
        }
        _ => situation.list.cuts[..cut.0 as usize].iter().map(|cut| cut.id).collect(),
    }
}

fn take_word(situation: &Situation<'_>, on_plate: &mut OnPlate, cut: CutId, is: CutIs) {
    on_plate.doubtful.retain(|other| *other != cut);
    on_plate.progress.made.retain(|made| made.cut != cut);
    match is {
        CutIs::Whole => on_plate.progress.made.push(stretch(situation, cut, Depth::Through)),
        CutIs::Dry => {}
        // How deep and how far nobody said: as far as it may be, and nowhere through, so that nothing is built on it.
        CutIs::Partial | CutIs::Groove => {
            on_plate.progress.made.push(stretch(situation, cut, Depth::Groove));
            on_plate.doubtful.push(cut);
        }
    }
}

fn stretch(situation: &Situation<'_>, cut: CutId, depth: Depth) -> Made {
    Made { cut, along_mm: 0.0..situation.list.cut(cut).path.length_mm(), depth, ends: Ends::KNOWN }
}
