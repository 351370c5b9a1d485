//! A restart some of whose cuts do not lie where the original's numbers say, since they were moved on the plate.
//!
//! The original's motions are carried to where they are to be made, and the text is written
//! anew from them. Every block whose numbers would say the old place is rewritten from its motions in the source's
//! units, distance mode and manner of arc centres; touch-off, heights, waits, feeds and all other words stand as they
//! do in the original.

use super::OneReading;
use super::anew::anew_elsewhere;
use super::header::Retract;
use super::join::JoinLeg;
use crate::Situation;
use crate::draft::Written;
use cuts::{Cut, CutList};
use nc::{MotionKind, Motions};
use proof::{Moved, Promise};
use std::ops::Range;

/// The original's motions where they are to be made.
#[derive(Debug)]
pub(crate) struct Placed {
    motions: Motions,
    /// Those that are not where the text's numbers say, sorted.
    elsewhere: Vec<Range<u32>>,
}

impl Placed {
    /// The motions of `moved` cuts carried to their places, all others where `situation` has them; the text says where
    /// neither those lie nor what an earlier salvage moved.
    ///
    /// # Errors
    /// If a moved cut cannot be told from the one before it: it begins where that one ends.
    pub(crate) fn of(situation: &Situation<'_>, moved: &[Moved]) -> Result<Self, String> {
        let (motions, list) = (situation.motions, situation.list);
        let range = |moved: &Moved| motions_of(motions, list, list.cut(moved.cut));
        let ranges = ranges(motions, list, moved)?;
        let earlier = situation.earlier.map_or(&[][..], |earlier| &earlier.moved);
        let mut elsewhere: Vec<Range<u32>> = ranges.iter().map(|(range, _)| range.clone()).collect();
        elsewhere.extend(earlier.iter().map(range).collect::<Result<Vec<_>, _>>()?);
        elsewhere.sort_by_key(|range| range.start);
        elsewhere.dedup();
        // The motion after a range goes where it went, but comes from elsewhere: its increments do not hold either.
        elsewhere.iter_mut().for_each(|range| range.end = range.end.saturating_add(1));
        Ok(Self { motions: motions.placed(&ranges), elsewhere })
    }

    /// The motions where they are to be made.
    pub(crate) fn motions(&self) -> &Motions {
        &self.motions
    }

    /// The restart program for `promise`; `joins`, one each, are told where they are to be made. What `situation`
    /// knows of motions is taken from here instead.
    ///
    /// # Errors
    /// Why it cannot be written, in words.
    pub(crate) fn write(
        &self,
        situation: &Situation<'_>,
        once: &OneReading<'_>,
        promise: &Promise,
        joins: &[JoinLeg],
        retract: Retract,
        remark: &str,
    ) -> Result<Written, String> {
        let there = Situation { motions: &self.motions, ..*situation };
        anew_elsewhere(&there, once, promise, joins, retract, remark, &self.elsewhere)
    }
}

/// The motions of `moved` cuts carried to their places, all others where they are.
///
/// # Errors
/// If a moved cut cannot be told from the one before it: it begins where that one ends.
pub(crate) fn carried(motions: &Motions, list: &CutList, moved: &[Moved]) -> Result<Motions, String> {
    Ok(motions.placed(&ranges(motions, list, moved)?))
}

fn ranges(
    motions: &Motions,
    list: &CutList,
    moved: &[Moved],
) -> Result<Vec<(Range<u32>, nc::Carried)>, String> {
    let mut ranges = Vec::with_capacity(moved.len());
    for moved in moved {
        ranges.push((motions_of(motions, list, list.cut(moved.cut))?, moved.placement));
    }
    ranges.sort_by_key(|(range, _)| range.start);
    Ok(ranges)
}

/// The motions that go where a cut goes: from the first travel to it up to the first travel to the next.
fn motions_of(motions: &Motions, list: &CutList, cut: &Cut) -> Result<Range<u32>, String> {
    let first = first_travel(motions, cut.restart.motion..cut.burn.start);
    let first = first.ok_or_else(|| {
        format!("cut {} begins where the one before it ends, so it cannot be moved by itself", cut.number())
    })?;
    let count = u32::try_from(motions.motions().len()).unwrap_or(u32::MAX);
    let next = list.cuts.get(cut.id.0 as usize + 1).map_or(count, |next| next.burn.start);
    Ok(first..first_travel(motions, cut.burn.end..next).unwrap_or(next))
}

/// The first of these motions that goes from one place to another.
pub(super) fn first_travel(motions: &Motions, mut among: Range<u32>) -> Option<u32> {
    among.find(|k| {
        let motion = &motions.motions()[*k as usize];
        let turns = matches!(motion.kind, MotionKind::ArcCw | MotionKind::ArcCcw);
        let way = if turns { motions.curve(*k as usize).length_mm() } else { 0.0 };
        way.max(motions.from(*k as usize).distance(motion.to)) > geometry::SAME_POINT_MM
    })
}
