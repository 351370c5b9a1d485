//! Two runs of one program from different starts, side by side until nothing tells them apart any more.

use crate::interpreter::Run;
use crate::{Comp, Dialect, Motions, Program, Start};

/// Two runs of one program, as far as they had to be followed.
///
/// Cutter compensation is not applied; see [`Beside::alike`].
#[derive(Clone, Debug, PartialEq)]
pub struct Beside {
    /// The run from the first start, up to where both were left.
    pub first: Motions,
    /// The run from the second start.
    pub second: Motions,
    /// Whether both controls then stood in exactly the same state before the same block, with compensation off: all
    /// that follows is the same in both. If not, both were left after the most blocks asked for, or at an end.
    pub alike: bool,
}

impl Motions {
    /// Runs `program` from two starts, block by block, until both stand alike, one ends, or `blocks` have run.
    ///
    /// What tells whether a program means the same from wherever it is started, without running it to its end: most
    /// programs put all modes in force in their first blocks.
    #[must_use]
    pub fn run_beside(program: &Program, dialect: &Dialect, starts: [&Start; 2], blocks: usize) -> Beside {
        let [mut first, mut second] = starts.map(|start| Run::new(program, dialect, start, Self::MOST));
        let mut at = [Some(first.first()), Some(second.first())];
        let mut alike = false;
        for _ in 0..blocks {
            let [Some(here), Some(there)] = at else { break };
            if here == there && first.modal.comp == Comp::Off && first.stands_like(&second) {
                alike = true;
                break;
            }
            at = [first.step(here), second.step(there)];
        }
        let [first, second] =
            [(first, starts[0]), (second, starts[1])].map(|(run, start)| run.finish(start).0);
        Beside { first, second, alike }
    }
}
