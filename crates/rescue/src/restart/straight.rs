//! A restart program that keeps the original's blocks word for word: a header, the blocks of the promised cuts, and
//! the original's ending.

use super::header::{self, Header, Retract};
use super::parameters::known_before;
use super::runs::{Stretch, stretches};
use crate::Situation;
use crate::draft::{Draft, Written};
use nc::{CallId, Modal, Start, Trail};
use proof::Promise;

/// The restart program for `promise`, blocks word for word.
///
/// # Errors
/// Why the blocks cannot stand by themselves, in words.
pub(crate) fn straight(
    situation: &Situation<'_>,
    promise: &Promise,
    retract: Retract,
    remark: &str,
) -> Result<Written, String> {
    let stretches = stretches(situation, promise)?;
    let mut draft = Draft::new(situation.program);
    let mut before: Option<&Modal> = None;
    for stretch in &stretches {
        let modal = modal_before(situation, stretch.blocks.start)?;
        match before {
            None => {
                let parameters = parameters(situation, stretch.blocks.start);
                let header = Header { remark: remark.to_owned(), modal, retract, parameters: &parameters };
                header::write(&mut draft, situation, &header);
            }
            Some(before) => header::bridge(&mut draft, situation, before, modal),
        }
        keep(&mut draft, stretch);
        before = situation.motions.modal_before(stretch.blocks.end).or(Some(modal));
    }
    Ok(draft.finish())
}

fn keep(draft: &mut Draft<'_>, stretch: &Stretch) {
    let mut at = stretch.blocks.start;
    let begins = stretch.cuts.iter().map(|(cut, block)| (Some(*cut), *block));
    let ends = stretch.cuts.iter().skip(1).map(|(_, block)| *block).chain([stretch.blocks.end]);
    for ((cut, block), end) in begins.zip(ends) {
        debug_assert_eq!(block, at, "cuts of a stretch follow each other");
        if let Some(cut) = cut {
            draft.begin_cut(cut);
        }
        draft.keep(block, end);
        at = end;
    }
    draft.end_cut();
    draft.keep(at, stretch.blocks.end);
}

fn modal_before<'a>(situation: &'a Situation<'_>, block: u32) -> Result<&'a Modal, String> {
    situation.motions.modal_before(block).ok_or_else(|| format!("line {} never runs", block + 1))
}

/// What the program had set before `block`, in case a kept block still reads it.
fn parameters(situation: &Situation<'_>, block: u32) -> Vec<(u32, f64)> {
    if !situation.program.text().contains(&b'#') {
        return Vec::new();
    }
    let trail = Trail::of(situation.program, situation.dialect, &Start::usual(situation.dialect));
    let ran = trail.ran().iter().position(|ran| ran.block == block && ran.call == CallId(0));
    ran.map_or_else(Vec::new, |ran| known_before(&trail, ran))
}
