//! A restart program written anew from the blocks as they ran: calls flattened, expressions evaluated, positions
//! counted from where the torch really stands; everything else word for word, in the units and modes of the source.
//!
//! The way to the first start is the restart's own: up, over, and down to where the original stood before it touched
//! off. From there on the blocks follow as they ran.

use super::OneReading;
use super::begin::{Begin, SAME_HEIGHT_MM, modal_before};
use super::block::{Flat, Place};
use super::header::{self, Header, Retract};
use super::join::{JoinLeg, leg_of};
use super::parameters::known_before;
use super::placed::first_travel;
use crate::Situation;
use crate::draft::{Draft, Written};
use cuts::{Cut, CutId};
use nc::{Distance, EventKind, Height, Modal, Ran, Trail};
use proof::Promise;
use std::ops::Range;

/// The restart program for `promise`, written anew.
///
/// # Errors
/// Why it cannot be written, in words.
pub(crate) fn anew(
    situation: &Situation<'_>,
    once: &OneReading<'_>,
    promise: &Promise,
    joins: &[JoinLeg],
    retract: Retract,
    remark: &str,
) -> Result<Written, String> {
    anew_elsewhere(situation, once, promise, joins, retract, remark, &[])
}

/// The same where the motions in the ranges `elsewhere` do not lie where the text's numbers say: `situation.motions`
/// has them at their place.
///
/// # Errors
/// Why it cannot be written, in words.
pub(super) fn anew_elsewhere(
    situation: &Situation<'_>,
    once: &OneReading<'_>,
    promise: &Promise,
    joins: &[JoinLeg],
    retract: Retract,
    remark: &str,
    elsewhere: &[Range<u32>],
) -> Result<Written, String> {
    let trail = once.trail(situation);
    let first = situation.list.cut(*promise.cuts.first().ok_or("nothing is left to cut")?);
    let mut draft = Draft::new(situation.program);
    let mut flat = Flat::new(situation, trail, elsewhere).lifting();
    let begin = Begin::of(situation, first);
    let place = place_at(trail, first, &begin);
    let parameters = if flat.keeps_settings() { known_before(trail, place.ran) } else { Vec::new() };
    let joined = |start: usize| leg_of(joins, &promise.cuts, start);
    let held = Modal { height_control: false, ..*begin.modal };
    let header = Header {
        remark: remark.to_owned(),
        // A join holds height control, whatever the original does before its start.
        modal: if joined(0).is_some() { &held } else { begin.modal },
        retract,
        block: first.restart.block,
        parameters: &parameters,
    };
    header::write_upright(&mut draft, situation, &header);
    draft.begin_cut(first.id);
    let over = joined(0).map_or(begin.at, |leg| leg.touch_off);
    flat.stands_at(begin.approach(&mut draft, situation, retract, over));
    flat.go_to(place);
    let mut modal = begin.modal;
    for (k, cut) in promise.cuts.iter().enumerate() {
        if k > 0 {
            let before = promise.cuts[k - 1];
            let follows = before.0 + 1 == cut.0;
            modal = begin_next(&mut draft, &mut flat, *cut, modal, follows);
            if lifts_itself(situation, before, *cut) {
                let lifted = after_ending(situation, trail, situation.list.cut(CutId(cut.0 - 1)))?;
                modal = flat.write_but_lifts(&mut draft, lifted, modal)?;
            }
        }
        if let Some(leg) = joined(k) {
            let cut = situation.list.cut(*cut);
            if k > 0 {
                flat.way_to_join(&mut draft, &Begin::of(situation, cut), leg);
            }
            modal = flat.join(&mut draft, cut, leg, modal)?;
        }
        // What goes up after a cut stands before the next in the original's order; where that is not what comes next, or
        // ends the program, it is written with this one.
        let next = situation.list.cuts.get(cut.0 as usize + 1);
        let end = match (next, promise.cuts.get(k + 1)) {
            (_, Some(then)) if lifts_itself(situation, *cut, *then) => {
                after_ending(situation, trail, situation.list.cut(*cut))?
            }
            (Some(next), Some(CutId(1..)) | None) => place_of(trail, next).ran,
            (_, Some(_)) => after_ending(situation, trail, situation.list.cut(*cut))?,
            (None, None) => trail.ran().len(),
        };
        modal = flat.write_until(&mut draft, end, modal)?;
    }
    write_ending(&mut draft, &mut flat, situation, promise, modal)?;
    flat.write_subprograms(&mut draft);
    if header::begins_with_percent(situation) {
        draft.own("%");
    }
    Ok(draft.finish())
}

/// Whether what goes up after a cut is written with it, since the next, which does not follow it in the original, is come to
/// from another height there: its increments would end elsewhere. Both end at one height.
fn lifts_itself(situation: &Situation<'_>, cut: CutId, then: CutId) -> bool {
    let motions = situation.motions;
    let Some(before) = then.0.checked_sub(1).filter(|before| *before != cut.0) else { return false };
    let ends = |cut: CutId| {
        let cut = situation.list.cut(cut);
        let off = &motions.events()[cut.torch_off? as usize];
        let count = u32::try_from(motions.motions().len()).unwrap_or(u32::MAX);
        let goes = first_travel(motions, cut.burn.end..count)?;
        let counts = motions.modal(motions.motions()[goes as usize].modal).distance;
        let heights = [off.before as usize, goes as usize].map(|k| motions.z_from(k));
        (counts == Distance::Incremental).then_some(heights)
    };
    let Some(([off, up], [other_off, other_up])) = ends(cut).zip(ends(CutId(before))) else { return false };
    !same_height(off, other_off) && same_height(up, other_up)
}

fn same_height(one: Height, other: Height) -> bool {
    one.base == other.base && (one.mm - other.mm).abs() <= SAME_HEIGHT_MM
}

/// The running after the last travel of the restart's own way.
pub(super) fn place_at(trail: &Trail, cut: &Cut, begin: &Begin<'_>) -> Place {
    let from = place_of(trail, cut).ran;
    let ran = match begin.traveled_by {
        Some((block, call)) => {
            let made_it = |ran: &Ran| ran.block == block && ran.call == call;
            trail.ran()[from..].iter().position(made_it).map_or(from, |k| from + k + 1)
        }
        None => from,
    };
    Place { ran, motion: begin.motion, event: begin.event }
}

/// Where the blocks of `cut` begin. A block that the cut before shares is run already; what is left of it is not
/// written again but for its motions, which the next rewriting brings in.
fn place_of(trail: &Trail, cut: &Cut) -> Place {
    let (motion, event) = (cut.restart.motion as usize, cut.restart.event as usize);
    let ran = trail.ran().partition_point(|ran| ran.event < cut.restart.event);
    Place { ran, motion, event }
}

/// Goes on with `cut`: straight on if it follows, else from its own first block in the modes it had there.
fn begin_next<'a>(
    draft: &mut Draft<'_>,
    flat: &mut Flat<'a>,
    cut: CutId,
    modal: &'a Modal,
    follows: bool,
) -> &'a Modal {
    let situation = flat.situation();
    let cut = situation.list.cut(cut);
    draft.begin_cut(cut.id);
    if follows {
        return modal;
    }
    let here = modal_before(situation, cut);
    header::bridge(draft, situation, modal, here);
    flat.go_to(place_of(flat.trail(), cut));
    here
}

/// The blocks after the last cut of the original, if the promise does not run up to them.
fn write_ending<'a>(
    draft: &mut Draft<'_>,
    flat: &mut Flat<'a>,
    situation: &'a Situation<'a>,
    promise: &Promise,
    modal: &'a Modal,
) -> Result<(), String> {
    draft.end_cut();
    let last = situation.list.cuts.last().ok_or("the program has no cuts")?;
    if promise.cuts.last() == Some(&last.id) {
        return Ok(());
    }
    let (ran, off) = after_torch_off(flat.trail(), last)?;
    let event = &situation.motions.events()[off];
    debug_assert_eq!(event.kind, EventKind::TorchOff, "a cut ends by a torch-off");
    header::bridge(draft, situation, modal, situation.motions.modal(event.modal));
    flat.go_to(Place { ran, motion: event.before as usize, event: off + 1 });
    let end = flat.trail().ran().len();
    flat.write_until(draft, end, situation.motions.modal(event.modal)).map(|_| ())
}

/// The first running after the torch-off of `cut`, and the torch-off's event.
fn after_torch_off(trail: &Trail, cut: &Cut) -> Result<(usize, usize), String> {
    let off = cut.torch_off.ok_or_else(|| format!("cut {} is never ended", cut.number()))? as usize;
    Ok((trail.ran().partition_point(|ran| ran.event as usize <= off), off))
}

/// The running at which the ending of `cut` is over: what then runs goes somewhere, begins the next or ends the program.
fn after_ending(situation: &Situation<'_>, trail: &Trail, cut: &Cut) -> Result<usize, String> {
    let motions = situation.motions;
    let (from, off) = after_torch_off(trail, cut)?;
    let count = u32::try_from(motions.motions().len()).unwrap_or(u32::MAX);
    let goes = first_travel(motions, cut.burn.end..count).and_then(|k| {
        let motion = &motions.motions()[k as usize];
        let made_it = |ran: &Ran| ran.block == motion.block && ran.call == motion.call;
        Some(from + trail.ran()[from..].iter().position(made_it)?)
    });
    let acts =
        |kind: &EventKind| matches!(kind, EventKind::End | EventKind::TouchOff(_) | EventKind::TorchOn);
    let event = motions.events().iter().skip(off + 1).position(|event| acts(&event.kind));
    let acting = event.map(|into| {
        let before = trail.ran().partition_point(|ran| ran.event as usize <= off + 1 + into);
        before.saturating_sub(1).max(from)
    });
    Ok([goes, acting].into_iter().flatten().min().unwrap_or(trail.ran().len()))
}
