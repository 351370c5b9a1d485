//! A way to go on that is proven, in words and figures.

use super::ask::Ask;
use super::proven::Found;
use super::time::joined_time_s;
use super::{cut_all_the_same, joined};
use crate::diff::diff;
use crate::draft::{From, Written};
use crate::joins::bounding_mm;
use crate::progress::OnPlate;
use crate::promise::parts_of;
use crate::restart::{JoinLeg, Manner, leg_of};
use crate::steps::{Scene, place};
use crate::{Choice, ChoiceKind, RanCut, RanJoin};
use cuts::{CutId, CutList, PartId};
use proof::{Join, JoinStart, Promise};
use std::collections::BTreeSet;
use std::fmt::Write;
use std::ops::Range;

pub(super) fn choice(
    scene: &Scene<'_>,
    on_plate: &OnPlate,
    promise: Promise,
    legs: &[JoinLeg],
    ask: Ask,
    found: Found,
) -> Choice {
    let list = scene.situation.list;
    let Found { written, proof, manner } = found;
    let mut risks: Vec<String> = taken_up_late(scene, &promise, legs).into_iter().collect();
    risks.extend(ask.says_otherwise(scene, &promise));
    risks.extend(ask.risks);
    let (shared, left): (Vec<PartId>, Vec<PartId>) =
        cut_all_the_same(list, &promise).into_iter().partition(|part| is_cut_on(list, &promise, *part));
    if !left.is_empty() {
        risks.push(format!(
            "Given up and left in the skeleton as it stands, since the cut goes on beyond it: part {}. It is scrap.",
            joined(left.iter().map(|part| part.number()))
        ));
    }
    if !shared.is_empty() {
        risks.push(format!(
            "Given up and still cut, unfinished, since a cut of it serves others as well: part {}. It is scrap.",
            joined(shared.iter().map(|part| part.number()))
        ));
    }
    risks.extend(marked_twice(list, on_plate, &promise));
    let word_for_word = manner != Manner::Anew || (!legs.is_empty() && others_are_kept(&written, legs));
    Choice {
        kind: ask.kind,
        title: title(ask.kind, &promise, pierces_beyond(list, on_plate, &promise)),
        restarts_at: legs
            .iter()
            .find(|leg| leg.join.cut == promise.cuts[0])
            .map_or(list.cut(promise.cuts[0]).pierce.at, |leg| leg.lit),
        starts: u32::try_from(promise.cuts.len()).unwrap_or(u32::MAX),
        time_s: joined_time_s(list, &promise.cuts, legs),
        price: None,
        given_up: promise.given_up.clone(),
        diff: diff(scene.situation.program, &written),
        lines: with_joins(written.cuts, legs),
        text: written.text,
        word_for_word: word_for_word && scene.situation.pose.is_none(),
        parts_at_risk: at_risk(list, &promise, legs),
        promise,
        proof,
        risks,
        trace: None,
    }
}

/// Whether anything of what bounds a part is run once more by what is promised.
fn is_cut_on(list: &CutList, promise: &Promise, part: PartId) -> bool {
    let is_run = |cut: &CutId| {
        let joins = promise.joins.iter().filter(|join| join.cut == *cut);
        let burns: Vec<Range<f64>> = joins.map(Join::burns_mm).collect();
        let is_burnt = |edge: &Range<f64>| {
            burns.is_empty() || burns.iter().any(|burn| edge.start < burn.end && burn.start < edge.end)
        };
        bounding_mm(list, *cut, |of| of == Some(part)).iter().any(is_burnt)
    };
    promise.cuts.iter().any(is_run)
}

/// When cuts are taken up that are not the first: sound parts come first, and whoever watches the first start only would
/// miss the ones that are likeliest to fail.
fn taken_up_late(scene: &Scene<'_>, promise: &Promise, legs: &[JoinLeg]) -> Option<String> {
    let starts = promise.cuts.len();
    let late = promise.cuts.iter().enumerate().skip(1).filter_map(|(nth, cut)| {
        let leg = leg_of(legs, &promise.cuts, nth).filter(|_| !scene.situation.list.cut(*cut).is_mark)?;
        // A cut in two burns is told of by itself, with both.
        if leg.join.start == JoinStart::OwnPierce || promise.burn_before(nth).is_some() {
            return None;
        }
        let number = cut.number();
        Some(format!("cut {number} as start {} of {starts}, at {}", nth + 1, place(scene, leg.lit)))
    });
    let late: Vec<String> = late.collect();
    (!late.is_empty()).then(|| {
        format!(
            "Sound parts come first: what was begun is taken up later, {}. Watch that as you watch the first start.",
            late.join("; ")
        )
    })
}

/// Where a mark that was begun is marked a second time: over its end where it is taken up, else all that there is of it.
fn marked_twice(list: &CutList, on_plate: &OnPlate, promise: &Promise) -> Vec<String> {
    let begun =
        promise.cuts.iter().copied().filter(|cut| {
            list.cut(*cut).is_mark && on_plate.progress.made.iter().any(|made| made.cut == *cut)
        });
    let (goes_on, again): (Vec<CutId>, Vec<CutId>) = begun.partition(|cut| promise.join(*cut).is_some());
    let says = [
        (goes_on, "Marked a second time over the last millimetres before it goes on"),
        (again, "Marked a second time where it was marked already, since the mark is run again whole"),
    ];
    let told = says.into_iter().filter(|(cuts, _)| !cuts.is_empty()).map(|(cuts, says)| {
        let numbers = joined(cuts.iter().map(|cut| cut.number()));
        format!("{says}: cut {numbers}. The line may come out deeper there; the part keeps its size.")
    });
    told.collect()
}

/// The parts that may be spoilt: those of the cuts taken up, or of the first start.
pub(crate) fn at_risk(list: &CutList, promise: &Promise, legs: &[JoinLeg]) -> Vec<PartId> {
    let joined = legs.iter().map(|leg| leg.join.cut);
    let first = promise.cuts.first().copied().filter(|_| legs.is_empty());
    let parts: BTreeSet<PartId> = joined.chain(first).flat_map(|cut| parts_of(list, list.cut(cut))).collect();
    parts.into_iter().collect()
}

/// The cuts run, each with how it is taken up.
fn with_joins(ran: Vec<RanCut>, legs: &[JoinLeg]) -> Vec<RanCut> {
    let cuts: Vec<CutId> = ran.iter().map(|ran| ran.cut).collect();
    let with_join = |(nth, ran): (usize, RanCut)| {
        let leg = leg_of(legs, &cuts, nth);
        let join = leg.map(|leg| RanJoin { join: leg.join.clone(), lit: leg.lit, lead: leg.lead.clone() });
        RanCut { join, ..ran }
    };
    ran.into_iter().enumerate().map(with_join).collect()
}

/// Whether a cut is pierced for beyond all that may be there of its kerf.
fn pierces_beyond(list: &CutList, on_plate: &OnPlate, promise: &Promise) -> bool {
    let is_beyond = |join: &Join| {
        let length_mm = list.cut(join.cut).path.length_mm();
        let own = on_plate.progress.made.iter().filter(|made| made.cut == join.cut);
        let mut at_most = own.map(|made| made.at_most_mm(length_mm));
        join.start == JoinStart::FreshPierce && at_most.all(|made| !made.contains(&join.from_mm))
    };
    promise.joins.iter().any(is_beyond)
}

fn title(kind: ChoiceKind, promise: &Promise, pierces_beyond: bool) -> String {
    let each: BTreeSet<CutId> = promise.cuts.iter().copied().collect();
    let mut cuts = match each.len() {
        1 => "1 cut".to_owned(),
        cuts => format!("{cuts} cuts"),
    };
    for (_, cut) in promise.cuts.iter().enumerate().filter(|(start, _)| promise.burn_before(*start).is_some())
    {
        let _ = write!(cuts, ", cut {} in two burns", cut.number());
    }
    let first = promise.cuts.first().map_or(0, |cut| cut.number());
    let goes_on_with_first = || promise.join_of(0).is_some_and(|join| join.start != JoinStart::OwnPierce);
    let part = if promise.given_up.len() == 1 { "part" } else { "parts" };
    let numbers = joined(promise.given_up.iter().map(|part| part.number()));
    match kind {
        // Nothing but a mark is taken up in it.
        ChoiceKind::RestartBlock if goes_on_with_first() => {
            format!("Go on with the mark of cut {first} where it ends: all that is left, {cuts}")
        }
        ChoiceKind::RestartBlock => format!("Run again from cut {first}: all that is left, {cuts}"),
        ChoiceKind::LeaveOutUnproven => {
            format!("Run again from cut {first}: {cuts}, without {part} {numbers}, which cannot be proven")
        }
        ChoiceKind::KerfEnd => format!("Start on the end of the old kerf and go on: {cuts}"),
        ChoiceKind::FreshPierce if pierces_beyond => {
            format!("Pierce in scrap beyond the old kerf and go on: {cuts}")
        }
        ChoiceKind::FreshPierce => {
            format!("Pierce in scrap, lead into the old kerf and go on: {cuts}")
        }
        ChoiceKind::SecondPass => format!("Go over the groove a second time and go on: {cuts}"),
        ChoiceKind::Backwards => format!("Start at the far end, run back to the old kerf and go on: {cuts}"),
        ChoiceKind::SkipPart => format!("Leave out {part} {numbers} and carry on: {cuts}"),
        ChoiceKind::Salvage => format!("Make lost parts anew on free plate: {cuts}"),
    }
}

/// Whether every cut that is not taken up in the middle stands word for word in the text.
fn others_are_kept(written: &Written, legs: &[JoinLeg]) -> bool {
    let whole = written.cuts.iter().filter(|ran| legs.iter().all(|leg| leg.join.cut != ran.cut));
    whole.flat_map(|ran| ran.lines.clone()).all(|line| {
        let from = (line as usize).checked_sub(1).and_then(|k| written.lines.get(k));
        from.is_some_and(|from| matches!(from, From::Kept(_)))
    })
}
