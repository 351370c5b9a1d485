//! What is asked to be written and proven; where a cut of it cannot be, what is asked instead.

use super::choice::choice;
use super::joined;
use super::proven::written_and_proven;
use crate::joins::{Begun, Ground};
use crate::plan::standing;
use crate::progress::OnPlate;
use crate::promise::{parts_of, promise, sound_first};
use crate::restart::JoinLeg;
use crate::steps::{Scene, place};
use crate::{Choice, ChoiceKind};
use cuts::{CutId, CutList, PartId};
use proof::{Join, JoinStart, Promise};
use std::collections::BTreeSet;

/// What is to be written and proven.
pub(super) struct Ask {
    pub(super) given_up: Vec<PartId>,
    pub(super) kind: ChoiceKind,
    pub(super) risks: Vec<String>,
    /// For each begun cut the ways in which it may be taken up, the one to try first.
    pub(super) legs: Vec<(CutId, Vec<JoinLeg>)>,
    /// Whether what is sound is cut before what is taken up.
    pub(super) sound_first: bool,
    /// Whether what stands up is taken out first; else it is kept off.
    pub(super) take_out: bool,
    /// Those of the cuts in `legs` that were not begun, and cannot be run as the original does, each with why.
    pub(super) otherwise: Vec<(CutId, String)>,
}

/// Most parts left out because a cut of theirs cannot be proven. A program that has more such cuts wants looking at
/// as a whole.
const LEFT_OUT_MOST: usize = 8;

/// The proven choice for what is asked; if a cut cannot be proven, without the parts that it serves, which the choice
/// then says.
pub(super) fn provable(scene: &Scene<'_>, on_plate: &OnPlate, mut ask: Ask) -> Result<Choice, String> {
    let list = scene.situation.list;
    let mut first_reason: Option<String> = None;
    let mut otherwise_refused = None;
    let mut tries = 0;
    while tries <= LEFT_OUT_MOST {
        scene.situation.goes_on()?;
        let (promise, legs) = ask.promise(scene, on_plate)?;
        if promise.cuts.is_empty() {
            let first = first_reason.unwrap_or_else(|| "nothing is left to cut".to_owned());
            return Err(match otherwise_refused {
                Some(reason) if reason != first => format!("{first}; made otherwise, it is {reason}"),
                _ => first,
            });
        }
        if let Some(reason) = leave_out_other_datums(scene, &promise, &mut ask) {
            tries += 1;
            first_reason.get_or_insert(reason);
            continue;
        }
        let refusal = match written_and_proven(scene, on_plate, &promise, &legs) {
            Ok(found) => return Ok(choice(scene, on_plate, promise, &legs, ask, found)),
            Err(refusal) => refusal,
        };
        if std::mem::take(&mut ask.sound_first) && !legs.is_empty() {
            first_reason.get_or_insert(refusal.reason);
            continue;
        }
        // A program that keeps off what stands is the better one; where there is none, it is taken out first, as the
        // safe order of work has it anyway.
        let stands = !standing(&on_plate.progress.pieces, &promise).is_empty();
        if stands && !std::mem::replace(&mut ask.take_out, true) {
            continue;
        }
        if refusal.cut.is_some_and(|cut| ask.takes_up_otherwise(list, cut)) {
            first_reason.get_or_insert(refusal.reason);
            continue;
        }
        if refusal.cut.is_some_and(|cut| ask.begins_otherwise(scene, on_plate, cut, &refusal.reason)) {
            first_reason.get_or_insert(refusal.reason);
            continue;
        }
        let parts = refusal.cut.map(|cut| parts_of(list, list.cut(cut))).unwrap_or_default();
        let alone = ask.legs.len() == 1 && refusal.cut == Some(ask.legs[0].0) && ask.otherwise.is_empty();
        if alone || parts.is_empty() || parts.iter().all(|part| ask.given_up.contains(part)) {
            return Err(first_reason.unwrap_or(refusal.reason));
        }
        let numbers = joined(parts.iter().map(|part| part.number()));
        ask.risks.push(format!("Part {numbers} is left out: {}.", refusal.reason));
        ask.given_up.extend(parts);
        ask.leave_out_unproven();
        tries += 1;
        if !ask.otherwise.is_empty() {
            otherwise_refused = Some(refusal.reason.clone());
        }
        first_reason.get_or_insert(refusal.reason);
    }
    Err(first_reason.unwrap_or_else(|| "too much of it cannot be proven".to_owned()))
}

/// Gives up what the original cuts after it has set its datum anew: a restart never sets the datum, and cannot know
/// where another one lay. Gives the reason if it gave anything up.
fn leave_out_other_datums(scene: &Scene<'_>, promise: &Promise, ask: &mut Ask) -> Option<String> {
    let (list, motions) = (scene.situation.list, scene.situation.motions);
    let datum = |cut: CutId| motions.modal(motions.events()[list.cut(cut).torch_on as usize].modal).shift_mm;
    let first = datum(*promise.cuts.first()?);
    let apart = |cut: &CutId| {
        let [x, y] = datum(*cut);
        (x - first[0]).hypot(y - first[1]) > geometry::SAME_POINT_MM
    };
    let moved: Vec<CutId> = promise.cuts.iter().copied().filter(|cut| apart(cut)).collect();
    let parts: BTreeSet<PartId> = moved.iter().flat_map(|cut| parts_of(list, list.cut(*cut))).collect();
    let new: Vec<PartId> = parts.into_iter().filter(|part| !ask.given_up.contains(part)).collect();
    if new.is_empty() {
        return None;
    }
    let reason = format!(
        "the original sets its datum anew before cut {}, and a restart cannot know where it then lay",
        moved[0].number()
    );
    let numbers = joined(new.iter().map(|part| part.number()));
    let then = match scene.situation.pose {
        Some(_) => format!(
            "plan the rest as a stop at cut {}, no cut of it begun, and tell the same measurements again (its plate.json \
             keeps where the plate lies, too): it is then written for there",
            moved[0].number()
        ),
        None => "set the datum as the original does and run the original from there".to_owned(),
    };
    ask.risks.push(format!("Left out: part {numbers}, since {reason}. Once this program has run, {then}."));
    ask.given_up.extend(new);
    ask.leave_out_unproven();
    Some(reason)
}

/// What is to be said of a cut in two burns.
fn in_two_burns(
    scene: &Scene<'_>,
    promise: &Promise,
    (first, second): (&JoinLeg, &JoinLeg),
    why: Option<&str>,
) -> String {
    let cut = scene.situation.list.cut(first.join.cut);
    let ends = cut.path.point_at(first.join.until_mm).unwrap_or(second.lit);
    let (wall, side) = match second.join.start {
        JoinStart::Backwards => (
            "in the kerf of the first, and comes back from there",
            " What it cuts, it cuts the other way around: the square side of the edge changes.",
        ),
        _ => ("on the wall ahead", ""),
    };
    let since = why.map_or_else(String::new, |why| format!(", since in one it cannot be: {why}"));
    format!(
        "Cut {} is made in two burns{since}. The first ends at {}, where there is no metal; the second, start {} of {}, is lit \
         at {}, {wall}. Watch it as you watch the first start: if its arc does not take, stop, do not let it retry.{side}",
        cut.number(),
        place(scene, ends),
        promise.cuts.iter().rposition(|other| *other == cut.id).map_or(0, |nth| nth + 1),
        promise.cuts.len(),
        place(scene, second.lit)
    )
}

impl Ask {
    /// What is promised, and how what was begun is taken up. What cannot be taken up is left out with its parts.
    fn promise(&self, scene: &Scene<'_>, on_plate: &OnPlate) -> Result<(Promise, Vec<JoinLeg>), String> {
        let lost = self.legs.iter().filter(|(_, legs)| legs.is_empty()).map(|(cut, _)| *cut);
        let doubtful: Vec<CutId> = on_plate.doubtful.iter().copied().chain(lost).collect();
        let mut promise = promise(scene.situation, scene.state, &self.given_up, &doubtful)?;
        promise.cuts.retain(|cut| !scene.goes_without(*cut, &self.given_up));
        let first = self.legs.iter().filter_map(|(_, legs)| legs.first());
        let legs: Vec<JoinLeg> =
            first.filter(|leg| promise.cuts.contains(&leg.join.cut)).flat_map(JoinLeg::burns).collect();
        promise.joins = legs.iter().map(|leg| leg.join.clone()).collect();
        if self.take_out {
            promise.taken_out = standing(&on_plate.progress.pieces, &promise);
        }
        if self.sound_first {
            // A mark spoils nothing, and waits for nothing.
            let is_mark = |cut: &CutId| scene.situation.list.cut(*cut).is_mark;
            let joined: Vec<&Join> =
                legs.iter().map(|leg| &leg.join).filter(|join| !is_mark(&join.cut)).collect();
            promise.cuts = sound_first(scene.situation.list, &promise.cuts, &joined);
        }
        // Both burns of a cut follow each other.
        let burns = |cut: CutId| legs.iter().filter(|leg| leg.join.cut == cut).count().max(1);
        promise.cuts = promise.cuts.iter().flat_map(|cut| std::iter::repeat_n(*cut, burns(*cut))).collect();
        Ok((promise, legs))
    }

    /// Pierces a cut that was not begun at another place in scrap, or makes it in two burns, since it cannot be run as the
    /// original does; false if that has been tried, or there is no such way.
    fn begins_otherwise(&mut self, scene: &Scene<'_>, on_plate: &OnPlate, cut: CutId, why: &str) -> bool {
        let begun = on_plate.progress.made.iter().any(|made| made.cut == cut);
        if begun || scene.situation.list.cut(cut).is_mark || self.legs.iter().any(|(other, _)| *other == cut)
        {
            return false;
        }
        let ground = Ground {
            situation: scene.situation,
            state: scene.state,
            others_before: true,
            given_up: &self.given_up,
        };
        let mut legs = ground.fresh_pierces(&Begun::not_yet(cut));
        legs.extend(ground.not_begun_in_two_burns(cut));
        if legs.is_empty() {
            return false;
        }
        self.legs.push((cut, legs));
        self.otherwise.push((cut, why.to_owned()));
        true
    }

    /// What is to be said of the cuts that are pierced at another place or made in two burns.
    pub(super) fn says_otherwise(&self, scene: &Scene<'_>, promise: &Promise) -> Vec<String> {
        let is_cut = |cut: &CutId| promise.cuts.contains(cut);
        let ways = self.legs.iter().filter(|(cut, _)| is_cut(cut));
        let ways = ways.filter_map(|(cut, legs)| Some((cut, legs.first()?)));
        let says = ways.filter_map(|(cut, leg)| {
            let why = self.otherwise.iter().find(|(other, _)| other == cut).map(|(_, why)| why.as_str());
            match (&leg.then, why) {
                (Some(second), why) => Some(in_two_burns(scene, promise, (leg, second), why)),
                (None, Some(why)) => Some(format!(
                    "Cut {} is pierced at another place in scrap, since at its own it cannot be: {why}.",
                    cut.number()
                )),
                (None, None) => None,
            }
        });
        says.collect()
    }

    /// Takes up a cut in the next of its ways, a mark by running it again whole; false if there is none.
    fn takes_up_otherwise(&mut self, list: &CutList, cut: CutId) -> bool {
        if list.cut(cut).is_mark {
            let before = self.legs.len();
            self.legs.retain(|(other, _)| *other != cut);
            return self.legs.len() < before;
        }
        let legs = self.legs.iter_mut().find(|(other, _)| *other == cut).map(|(_, legs)| legs);
        let Some(legs) = legs.filter(|legs| legs.len() > 1) else { return false };
        legs.remove(0);
        true
    }

    fn leave_out_unproven(&mut self) {
        if self.kind == ChoiceKind::RestartBlock {
            self.kind = ChoiceKind::LeaveOutUnproven;
        }
    }
}
