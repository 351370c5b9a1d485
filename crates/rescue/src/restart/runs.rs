//! Promised cuts as stretches of the original's main program: which blocks can stay word for word.

use crate::Situation;
use cuts::{Cut, CutId};
use nc::{CallId, MotionKind};
use proof::Promise;
use std::ops::Range;

/// Cuts that follow each other in the original, and their blocks, end not included.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Stretch {
    /// Each cut with its first block.
    pub(super) cuts: Vec<(CutId, u32)>,
    /// All their blocks.
    pub(super) blocks: Range<u32>,
}

/// The stretches of blocks that make the promised cuts, and at the end the blocks that end the program.
///
/// # Errors
/// Why the blocks cannot stand by themselves, in words.
pub(super) fn stretches(situation: &Situation<'_>, promise: &Promise) -> Result<Vec<Stretch>, String> {
    let cuts = &situation.list.cuts;
    let mut stretches: Vec<Stretch> = Vec::new();
    for cut in &promise.cuts {
        let begins = first_block(situation, &cuts[cut.0 as usize])?;
        let ends = end_block(situation, *cut)?;
        match stretches.last_mut() {
            Some(last) if last.blocks.end == begins && follows(last, *cut) => {
                last.cuts.push((*cut, begins));
                last.blocks.end = ends;
            }
            _ => stretches.push(Stretch { cuts: vec![(*cut, begins)], blocks: begins..ends }),
        }
    }
    if promise.cuts.last().map(|cut| cut.0 as usize + 1) != Some(cuts.len()) {
        stretches.push(Stretch { cuts: Vec::new(), blocks: ending(situation)? });
    }
    if stretches.iter().any(|stretch| stretch.blocks.start >= stretch.blocks.end) {
        return Err("the blocks of the cuts overlap in the text".into());
    }
    Ok(stretches)
}

fn follows(stretch: &Stretch, cut: CutId) -> bool {
    stretch.cuts.last().is_some_and(|(last, _)| last.0 + 1 == cut.0)
}

/// First block after those of `cut`: that of the next cut, or the end of the text.
fn end_block(situation: &Situation<'_>, cut: CutId) -> Result<u32, String> {
    match situation.list.cuts.get(cut.0 as usize + 1) {
        Some(next) if next.restart.with_torch_off => {
            // The block belongs to both cuts. It is kept with this one if the next is kept as well, and then the
            // stretch runs on; where the next is left out, its approach would be run.
            first_block(situation, next)
        }
        Some(next) => first_block(situation, next),
        None => Ok(u32::try_from(situation.program.blocks().len()).unwrap_or(u32::MAX)),
    }
}

/// The block of the main program from which `cut` can be run again.
///
/// # Errors
/// If there is none: the cut begins within a subprogram.
fn first_block(situation: &Situation<'_>, cut: &Cut) -> Result<u32, String> {
    if cut.restart.call == CallId(0) {
        return Ok(cut.restart.block);
    }
    block_after_call(situation, cut).ok_or_else(|| format!("cut {} begins within a subprogram", cut.number()))
}

/// The block after the call within which the cut before ended, if nothing is left of that call but to go up and
/// return: the header of a restart goes up by itself.
fn block_after_call(situation: &Situation<'_>, cut: &Cut) -> Option<u32> {
    let motions = situation.motions;
    let outermost = |mut call: CallId| {
        while let Some(parent) = motions.call(call)?.parent {
            if parent == CallId(0) {
                break;
            }
            call = parent;
        }
        motions.call(call)
    };
    let calling = outermost(cut.restart.call)?.block;
    let approach = cut.restart.motion..cut.burn.end;
    for k in approach {
        let motion = motions.motions()[k as usize];
        if motion.call == CallId(0) || outermost(motion.call)?.block != calling {
            break;
        }
        let rises = matches!(motion.kind, MotionKind::Rapid | MotionKind::Feed)
            && motions.from(k as usize).distance(motion.to) < geometry::SAME_POINT_MM;
        if !rises || k >= cut.burn.start {
            return None;
        }
    }
    let events = &motions.events()[cut.restart.event as usize..=cut.torch_on as usize];
    let left = events.iter().take_while(|event| {
        event.call != CallId(0) && outermost(event.call).is_some_and(|c| c.block == calling)
    });
    let harmless = |kind: &nc::EventKind| {
        matches!(
            kind,
            nc::EventKind::Call(_)
                | nc::EventKind::Dwell(_)
                | nc::EventKind::TorchOff
                | nc::EventKind::HeightControl(false)
        )
    };
    left.map(|event| event.kind).all(|kind| harmless(&kind)).then_some(calling + 1)
}

/// The blocks after the last cut's torch-off, to the end of the text.
fn ending(situation: &Situation<'_>) -> Result<Range<u32>, String> {
    let end = u32::try_from(situation.program.blocks().len()).unwrap_or(u32::MAX);
    let last = situation.list.cuts.last().ok_or("the program has no cuts")?;
    let off = last.torch_off.ok_or("the last cut is never ended")?;
    let event = &situation.motions.events()[off as usize];
    if event.call != CallId(0) {
        return Err("the last cut ends within a subprogram".into());
    }
    Ok(event.block + 1..end)
}
