//! A proven cut in two burns, spoiled one change at a time at every line: whatever changes what either burn does is refused.
//!
//! Free is only what any join may choose: the way to the second start from above, how it comes down there, how long it waits on
//! its edge (no longer than an edge bears), and where beside the hole height control is held and let go.

use super::{Fate, kinds, some};
use crate::effect::Effect;
use crate::plates::in_two::in_two;
use crate::plates::shown;
use nests::Random;

/// The lines of the text at which a change may be proven though it does something else.
const FREE: [&str; 6] =
    ["`G0 Z25`", "`G0 X161 Y83`", "`G1 Z1.5 F1500`", "`G4 P0.2`", "`G1 X142`", "`G1 X156 F2000`"];

#[test]
fn whatever_changes_what_two_burns_do_is_refused() {
    let restart = in_two();
    let text = restart.text();
    let dialect = &restart.plate.dialect;
    let effect = Effect::of(text.as_bytes(), dialect);
    let second = text.find("G0 X161").map_or(0, |at| text[..at].lines().count());
    let (mut refused, mut proven) = (0, 0);
    for kind in kinds().into_iter().filter(|kind| kind.fate != Fate::Proven) {
        for spoiled in some(&kind, &text, dialect, usize::MAX, &mut Random::new(5)) {
            let proof = restart.prove_text(&spoiled.text);
            if !proof.holds() {
                refused += 1;
                continue;
            }
            proven += 1;
            let told = || format!("{}\n{}\n{}", spoiled.told, shown(&proof, &[]), spoiled.text);
            let Some(difference) = effect.difference(&Effect::of(spoiled.text.as_bytes(), dialect)) else {
                assert!(kind.fate != Fate::Refused || is_free(&spoiled.told, second), "proven: {}", told());
                continue;
            };
            assert!(is_free(&spoiled.told, second), "proven though {difference}: {}", told());
        }
    }
    assert!(refused > 1000 && proven > 100, "{refused} refused, {proven} proven");
}

/// Whether a change was made at a free line: that of the second start and its burn, or the one before them.
fn is_free(told: &str, second: usize) -> bool {
    let line = told.split(" at line ").nth(1).and_then(|rest| rest.split(' ').next()?.parse::<usize>().ok());
    let before = told.ends_with("`G1 X142`");
    FREE.iter().any(|free| told.ends_with(free))
        && line.is_some_and(|line| before || (second..second + 10).contains(&line))
}
