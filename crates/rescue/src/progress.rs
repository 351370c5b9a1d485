//! What has been made on the plate when it stopped: what earlier rescues left, the cuts run since, and the operator's
//! word on single cuts, which overrides both.

use crate::Situation;
use cuts::{CutId, Depth, Ends, Made, Progress};
use geometry::Point;
use shop::{CutIs, CutState, StopKind, StopReport};
use std::collections::BTreeSet;
use units::Length;

/// What the plate carries, and the cuts of which nobody knows how far they got.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct OnPlate {
    pub(crate) progress: Progress,
    /// Begun and not whole, by the operator's word: what is left of them is not known.
    pub(crate) doubtful: Vec<CutId>,
    /// Begun, and it is known how far.
    pub(crate) begun: Vec<CutId>,
    /// What the operator said and what cannot be so, a sentence each.
    pub(crate) not_understood: Vec<String>,
}

/// What is on the plate at a stop at `cut`.
pub(crate) fn on_plate(situation: &Situation<'_>, stop: &StopReport, cut: CutId) -> OnPlate {
    let mut progress = situation.earlier.map(|earlier| earlier.progress.clone()).unwrap_or_default();
    let run = run_before(situation, cut);
    let again: BTreeSet<CutId> = run.iter().copied().collect();
    progress.made.retain(|made| !again.contains(&made.cut));
    progress.made.extend(run.into_iter().map(|before| stretch(situation, before, Depth::Through)));
    let mut on_plate =
        OnPlate { progress, doubtful: Vec::new(), begun: Vec::new(), not_understood: Vec::new() };
    stopped_cut(situation, stop, &mut on_plate, cut);
    for said in &stop.state {
        match situation.list.by_number(said.cut) {
            Some(cut) => take_word(situation, &mut on_plate, cut.id, said),
            None => on_plate
                .not_understood
                .push(format!("`state` speaks of cut {}, which does not exist", said.cut)),
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

/// What was made of the cut at which it stopped.
fn stopped_cut(situation: &Situation<'_>, stop: &StopReport, on_plate: &mut OnPlate, cut: CutId) {
    let Some(kind) = stop.kind else { return };
    match kind {
        StopKind::ArcLost
        | StopKind::ByHand
        | StopKind::Struck
        | StopKind::ControlFroze
        | StopKind::PlateMoved
        | StopKind::WrongDatum => match kerf_told_mm(situation, stop, cut) {
            Some(kerf_mm) => {
                let within = stop.kerf_within.unwrap_or(StopReport::KERF_WITHIN);
                begin(situation, on_plate, cut, kerf_mm, within);
            }
            None => doubt(situation, on_plate, cut),
        },
        _ => {}
    }
}

/// How far along the cut its kerf was said to be through.
fn kerf_told_mm(situation: &Situation<'_>, stop: &StopReport, cut: CutId) -> Option<f64> {
    let path = &situation.list.cut(cut).path;
    let told = stop.kerf_to.map(Length::mm).or_else(|| {
        let [x, y] = stop.kerf_at?;
        let at = Point::new(x.mm(), y.mm());
        let (mut along, mut best) = (None, f64::INFINITY);
        for (nth, curve) in path.curves().iter().enumerate() {
            let near = curve.nearest(at);
            if near.distance_mm < best {
                (along, best) = (Some(path.start_of_mm(nth) + near.along_mm), near.distance_mm);
            }
        }
        along
    })?;
    Some(told.clamp(0.0, path.length_mm()))
}

/// The cut is through to `kerf_mm`, which may be off by `within`.
fn begin(situation: &Situation<'_>, on_plate: &mut OnPlate, cut: CutId, kerf_mm: f64, within: Length) {
    let _ = situation;
    on_plate.begun.push(cut);
    on_plate.progress.made.push(Made {
        cut,
        along_mm: 0.0..kerf_mm,
        depth: Depth::Through,
        ends: Ends::to_within(within.mm()),
    });
}

/// Nobody said how deep and how far: as far as it may be, and nowhere through, so that nothing is built on it.
fn doubt(situation: &Situation<'_>, on_plate: &mut OnPlate, cut: CutId) {
    on_plate.progress.made.push(stretch(situation, cut, Depth::Groove));
    on_plate.doubtful.push(cut);
}

fn take_word(situation: &Situation<'_>, on_plate: &mut OnPlate, cut: CutId, said: &CutState) {
    on_plate.doubtful.retain(|other| *other != cut);
    on_plate.begun.retain(|other| *other != cut);
    on_plate.progress.made.retain(|made| made.cut != cut);
    let within = said.within.unwrap_or(StopReport::KERF_WITHIN);
    match (said.is, said.kerf_to) {
        (CutIs::Whole, _) => on_plate.progress.made.push(stretch(situation, cut, Depth::Through)),
        (CutIs::Dry, _) => {}
        (CutIs::Partial, Some(kerf)) => begin(situation, on_plate, cut, kerf.mm(), within),
        (CutIs::Partial | CutIs::Groove, _) => doubt(situation, on_plate, cut),
    }
}

fn stretch(situation: &Situation<'_>, cut: CutId, depth: Depth) -> Made {
    Made { cut, along_mm: 0.0..situation.list.cut(cut).path.length_mm(), depth, ends: Ends::KNOWN }
}
