//! Whether the original may be started at a line instead of a restart.

use super::proven::prove_text;
use crate::progress::OnPlate;
use crate::restart::header_only;
use crate::steps::Scene;
use crate::{Choice, Situation, StartAt};
use cuts::Cut;
use nc::{CallId, WordIs};
use proof::Promise;
use shop::StartAtLine;

/// Whether the original may be started at the restart's line instead: proven for a control that reads earlier blocks
/// for their modal state, and for one that does not, or for the one the shop names.
pub(super) fn start_at_line(scene: &Scene<'_>, on_plate: &OnPlate, whole: &Choice) -> Option<StartAt> {
    let situation = scene.situation;
    let cut = situation.list.cut(*whole.promise.cuts.first()?);
    // The original has no join: what can be run again whole, a mark, is.
    let promise = Promise { joins: Vec::new(), ..whole.promise.clone() };
    // Everything from this cut on must be wanted: a control that starts at a line runs to the end.
    let runs_on = whole.promise.cuts.len() == situation.list.cuts.len() - cut.id.0 as usize;
    // From the first cut on it is the original from its beginning: nothing to offer.
    if situation.goes_on().is_err() || cut.restart.call != CallId(0) || !runs_on || cut.id.0 == 0 {
        return None;
    }
    let block = cut.restart.block;
    let at = situation.program.blocks()[block as usize].span.start as usize;
    let tail = &situation.program.text()[at..];
    // Without a word for units before its first motion the rest of a text cannot mean the same in inches and in
    // millimetres: no proof need be tried.
    let states_units = || states_units_first(situation, cut);
    let unread = || prove_text(situation, scene.once, &on_plate.progress, &promise, tail);
    let scanned = || {
        let mut text = header_only(situation, block)?;
        text.extend_from_slice(tail);
        Some(prove_text(situation, scene.once, &on_plate.progress, &promise, &text))
    };
    let (proof, holds_for) = match situation.shop.and_then(|shop| shop.table.start_at_line) {
        Some(StartAtLine::No) => return None,
        Some(StartAtLine::Scans) => {
            (scanned()?, "this table's control, which reads earlier blocks for their modal state")
        }
        Some(StartAtLine::DoesNotScan) if !states_units() => return None,
        Some(StartAtLine::DoesNotScan) => {
            (unread(), "this table's control, which does not read earlier blocks")
        }
        None if !states_units() => return None,
        None => {
            let unread = unread();
            if !unread.holds() || !scanned()?.holds() {
                return None;
            }
            (unread, "controls that read earlier blocks for their modal state and controls that do not")
        }
    };
    proof.holds().then(|| StartAt {
        line: block + 1,
        holds_for: holds_for.to_owned(),
        preconditions: proof.preconditions,
    })
}

/// Whether a word for units stands among the blocks from the cut's restart block to its first motion.
fn states_units_first(situation: &Situation<'_>, cut: &Cut) -> bool {
    let first = situation.motions.motions().get(cut.restart.motion as usize);
    let last = first.map_or(cut.restart.block, |motion| motion.block);
    (cut.restart.block..=last).flat_map(|block| situation.program.words_of(block)).any(|word| {
        word.letter == b'G' && matches!(word.is, WordIs::Plain(number) if [20.0, 21.0].contains(&number))
    })
}
