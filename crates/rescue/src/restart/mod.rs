//! The restart program: first with untouched blocks word for word; where the text is not straight, written anew from
//! the blocks as they ran.

mod anew;
mod begin;
mod block;
mod dimple;
mod header;
mod join;
mod parameters;
mod placed;
mod posed;
mod runs;
mod straight;

#[cfg(test)]
mod tests;

pub(crate) use dimple::dimples;
pub(crate) use header::{Retract, go_up, header_only, retracts};
pub(crate) use join::{JoinLeg, leg_of};
pub(crate) use placed::{Placed, carried};

use crate::Situation;
use crate::draft::Written;
use cuts::CutList;
use nc::{Start, Trail};
use proof::{Original, Promise};
use std::sync::OnceLock;

/// The original, read once for all restarts of a plan: what writing them needs, and what proving them needs.
#[derive(Debug)]
pub(crate) struct OneReading<'a> {
    trail: OnceLock<Trail>,
    list: &'a CutList,
    original: Original<'a>,
}

impl<'a> OneReading<'a> {
    /// Nothing read yet.
    pub(crate) fn of(situation: &Situation<'a>) -> Self {
        let Situation { program, motions, list, dialect, .. } = *situation;
        Self { trail: OnceLock::new(), list, original: Original::new(program, motions, list, dialect) }
    }

    /// In which order the blocks of `situation`'s program run, which is the same whenever it is asked for.
    pub(crate) fn trail(&self, situation: &Situation<'_>) -> &Trail {
        let start = || Start::usual(situation.dialect);
        self.trail.get_or_init(|| Trail::of(situation.program, situation.dialect, &start()))
    }

    /// What restarts of `situation`'s program are proven against.
    pub(crate) fn original(&self, situation: &Situation<'_>) -> &Original<'a> {
        debug_assert!(std::ptr::eq(self.list, situation.list), "it is the reading of another program");
        &self.original
    }
}

/// How a restart program is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Manner {
    /// Untouched blocks word for word, from the restart block on.
    WordForWord,
    /// The same, with the restart's own way to the first start.
    WordForWordAfterOwnWay,
    /// From the blocks as they ran, flat.
    Anew,
}

impl Manner {
    /// All manners, the one nearest to the original first.
    pub(crate) const ALL: [Self; 3] = [Self::WordForWord, Self::WordForWordAfterOwnWay, Self::Anew];

    /// The restart program for `promise` in this manner; `once` is the situation's, `joins` says how the joins are
    /// written, one each, those of a cut in two burns in their order.
    ///
    /// # Errors
    /// Why it cannot be written so, in words.
    pub(crate) fn write(
        self,
        situation: &Situation<'_>,
        once: &OneReading<'_>,
        promise: &Promise,
        joins: &[JoinLeg],
        retract: Retract,
        remark: &str,
    ) -> Result<Written, String> {
        let written = match self {
            Self::WordForWord | Self::WordForWordAfterOwnWay if is_elsewhere(situation, promise) => {
                Err("what lies elsewhere than in the original is written from its motions".to_owned())
            }
            Self::WordForWord | Self::WordForWordAfterOwnWay if !joins.is_empty() => {
                Err("a cut that is taken up in the middle is written from its motions".to_owned())
            }
            Self::WordForWord => {
                straight::straight(situation, once, promise, straight::From::RestartBlock, retract, remark)
            }
            Self::WordForWordAfterOwnWay => {
                straight::straight(situation, once, promise, straight::From::SetUp, retract, remark)
            }
            Self::Anew if is_elsewhere(situation, promise) => {
                Placed::of(situation, &promise.moved)?.write(situation, once, promise, joins, retract, remark)
            }
            Self::Anew => anew::anew(situation, once, promise, joins, retract, remark),
        }?;
        match situation.pose {
            Some(pose) => posed::posed(situation, promise, &written, &pose.placement),
            None => Ok(written),
        }
    }
}

/// Whether some of the cuts do not lie where the original's text has them.
fn is_elsewhere(situation: &Situation<'_>, promise: &Promise) -> bool {
    !promise.moved.is_empty() || situation.earlier.is_some_and(|earlier| !earlier.moved.is_empty())
}
