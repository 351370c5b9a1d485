//! A restart program that keeps the original's blocks word for word: a header, the blocks of the promised cuts, and
//! the original's ending.

use super::OneReading;
use super::begin::Begin;
use super::header::{self, Header, Retract};
use super::parameters::known_before;
use super::runs::{Stretch, stretches};
use crate::Situation;
use crate::draft::{Draft, Written};
use nc::{CallId, Modal};
use proof::Promise;

/// Where the kept blocks begin.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum From {
    /// At the restart block: the original's own way to the start is kept too.
    RestartBlock,
    /// After the original's travel to the start: the way there is the restart's own. For programs in increments.
    SetUp,
}

/// The restart program for `promise`, blocks word for word.
///
/// # Errors
/// Why the blocks cannot stand by themselves, in words.
pub(super) fn straight(
    situation: &Situation<'_>,
    once: &OneReading<'_>,
    promise: &Promise,
    from: From,
    retract: Retract,
    remark: &str,
) -> Result<Written, String> {
    let mut stretches = stretches(situation, promise)?;
    let mut draft = Draft::new(situation.program);
    let mut before: Option<&Modal> = None;
    for stretch in &mut stretches {
        let modal = modal_before(situation, stretch.blocks.start)?;
        match (before, from) {
            (None, From::RestartBlock) => {
                let parameters = parameters(situation, once, stretch.blocks.start);
                let block = stretch.blocks.start;
                let header =
                    Header { remark: remark.to_owned(), modal, retract, block, parameters: &parameters };
                header::write(&mut draft, situation, &header);
            }
            (None, From::SetUp) => own_way(&mut draft, situation, once, stretch, retract, remark)?,
            (Some(before), _) => header::bridge(&mut draft, situation, before, modal),
        }
        keep(&mut draft, situation, stretch);
        before = situation.motions.modal_before(stretch.blocks.end).or(Some(modal));
    }
    Ok(draft.finish())
}

/// Header and way to the first start; the stretch then begins after the original's travel.
fn own_way(
    draft: &mut Draft<'_>,
    situation: &Situation<'_>,
    once: &OneReading<'_>,
    stretch: &mut Stretch,
    retract: Retract,
    remark: &str,
) -> Result<(), String> {
    let (cut, block) = stretch.cuts.first_mut().ok_or("nothing is left to cut")?;
    let begin = Begin::of(situation, situation.list.cut(*cut));
    let (traveled_by, call) = begin.traveled_by.ok_or("the original does not travel to this start")?;
    if call != CallId(0) || traveled_by < *block {
        return Err(format!("the way to cut {} stands within a subprogram", cut.number()));
    }
    *block = traveled_by + 1;
    stretch.blocks.start = *block;
    let parameters = parameters(situation, once, *block);
    let header = Header {
        remark: remark.to_owned(),
        modal: begin.modal,
        retract,
        block: stretch.blocks.start,
        parameters: &parameters,
    };
    header::write_upright(draft, situation, &header);
    begin.approach(draft, situation, retract, begin.at);
    Ok(())
}

/// Keeps the blocks of a stretch. A `%` that opens the text has been written with the header.
fn keep(draft: &mut Draft<'_>, situation: &Situation<'_>, stretch: &Stretch) {
    let mut at = stretch.blocks.start;
    let begins = stretch.cuts.iter().map(|(cut, block)| (Some(*cut), *block));
    let ends = stretch.cuts.iter().skip(1).map(|(_, block)| *block).chain([stretch.blocks.end]);
    for ((cut, block), end) in begins.zip(ends) {
        debug_assert_eq!(block, at, "cuts of a stretch follow each other");
        if let Some(cut) = cut {
            draft.begin_cut(cut);
        }
        let opened = header::opening_block(situation).filter(|opened| (block..end).contains(opened));
        draft.keep(opened.map_or(block, |opened| opened + 1), end);
        at = end;
    }
    draft.end_cut();
    draft.keep(at, stretch.blocks.end);
}

fn modal_before<'a>(situation: &'a Situation<'_>, block: u32) -> Result<&'a Modal, String> {
    situation.motions.modal_before(block).ok_or_else(|| format!("line {} never runs", block + 1))
}

/// What the program had set before `block`, in case a kept block still reads it.
fn parameters(situation: &Situation<'_>, once: &OneReading<'_>, block: u32) -> Vec<(u32, f64)> {
    if !situation.program.text().contains(&b'#') {
        return Vec::new();
    }
    let trail = once.trail(situation);
    let ran = trail.ran().iter().position(|ran| ran.block == block && ran.call == CallId(0));
    ran.map_or_else(Vec::new, |ran| known_before(trail, ran))
}
