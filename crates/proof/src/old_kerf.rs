//! What has been made of one cut already: what is sure, and what may be.
//!
//! Where a kerf ends is known only so well. What is built on it (the promised path is covered, a part comes free) is
//! the stretch that is there whatever its ends are; what may be missing under the arc is the longest that it can be.

use crate::Case;
use crate::plate_edge::{before_edge_start, between_burns};
use crate::tolerance::PATH_MM;
use cuts::{Contour, ContourId, CutId, Depth, Made, PartId};
use geometry::SAME_POINT_MM;
use std::ops::Range;

/// Stretches of one cut, in millimetres along its path, sorted and apart from each other.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct OldKerf {
    /// Through (or marked, if the cut only marks) whatever the ends are.
    pub(crate) sure: Vec<Range<f64>>,
    /// Through (or marked) as told.
    told: Vec<Range<f64>>,
    /// Through (or marked) at most.
    pub(crate) at_most: Vec<Range<f64>>,
    /// Cut, and not through, at most.
    pub(crate) grooves: Vec<Range<f64>>,
    /// Cut, and not through, as told.
    grooves_told: Vec<Range<f64>>,
}

impl OldKerf {
    /// What the progress tells of `cut`, and what an earlier burn of it in the same text has made.
    pub(crate) fn of(case: &Case<'_>, cut: CutId, burnt_before_mm: Option<&Range<f64>>) -> Self {
        let mut old = Self::default();
        let path_mm = case.original.list.cut(cut).path.length_mm();
        for made in case.progress.made.iter().filter(|made| made.cut == cut) {
            if is_deep_enough(case, made) {
                old.sure.extend(made.surely_mm());
                old.told.push(made.along_mm.clone());
                old.at_most.push(made.at_most_mm(path_mm));
            } else {
                old.grooves_told.push(made.along_mm.clone());
                old.grooves.push(made.at_most_mm(path_mm));
            }
        }
        for stretches in [&mut old.sure, &mut old.told, &mut old.at_most] {
            stretches.extend(burnt_before_mm.cloned());
        }
        // Past the plate's edge there is as little to cut as in a kerf.
        for beyond in [between_burns(case, cut), before_edge_start(case, cut)].into_iter().flatten() {
            old.sure.push(beyond.sure_mm);
            old.told.push(beyond.at_most_mm.clone());
            old.at_most.push(beyond.at_most_mm);
        }
        merge(&mut old.sure, SAME_POINT_MM);
        for stretches in [&mut old.told, &mut old.at_most, &mut old.grooves, &mut old.grooves_told] {
            merge(stretches, PATH_MM);
        }
        old
    }

    /// The stretch that is surely there and holds a place.
    pub(crate) fn sure_at(&self, along_mm: f64) -> Option<&Range<f64>> {
        holding(&self.sure, along_mm)
    }

    /// How far, at most, the kerf goes on from a place in it; the place itself if no kerf can be there.
    pub(crate) fn at_most_end_mm(&self, along_mm: f64) -> f64 {
        holding(&self.at_most, along_mm).map_or(along_mm, |stretch| stretch.end)
    }

    /// How far the kerf goes on from a place in it, by what was told; the place itself if none is there.
    pub(crate) fn told_end_mm(&self, along_mm: f64) -> f64 {
        holding(&self.told, along_mm).map_or(along_mm, |stretch| stretch.end)
    }

    /// From where on, at the earliest, the kerf that holds a place is there; the place itself if no kerf can be there.
    pub(crate) fn at_most_start_mm(&self, along_mm: f64) -> f64 {
        holding(&self.at_most, along_mm).map_or(along_mm, |stretch| stretch.start)
    }

    /// From where on the kerf that holds a place is there, by what was told; the place itself if none is there.
    pub(crate) fn told_start_mm(&self, along_mm: f64) -> f64 {
        holding(&self.told, along_mm).map_or(along_mm, |stretch| stretch.start)
    }

    /// Whether a stretch meets what may be a groove by more than a rounding.
    pub(crate) fn meets_groove(&self, stretch: &Range<f64>) -> bool {
        self.grooves
            .iter()
            .any(|groove| groove.start + PATH_MM < stretch.end && stretch.start + PATH_MM < groove.end)
    }

    /// Where the last groove ends that begins before a place, by what was told.
    pub(crate) fn groove_before_ends_mm(&self, along_mm: f64) -> Option<f64> {
        let before = self.grooves_told.iter().filter(|groove| groove.start <= along_mm);
        before.map(|groove| groove.end).max_by(f64::total_cmp)
    }

    /// How far off the end of the kerf that holds a place may lie.
    pub(crate) fn end_within_mm(&self, along_mm: f64) -> f64 {
        self.at_most_end_mm(along_mm) - self.told_end_mm(along_mm)
    }
}

/// Whether a stretch is as deep as its cut is meant to be.
pub(crate) fn is_deep_enough(case: &Case<'_>, made: &Made) -> bool {
    made.depth == Depth::Through || case.original.list.cut(made.cut).is_mark
}

/// What of a cut must be cut in the end: whatever bounds parts, slots and marks. What leads to it and from it need not,
/// if the cut is not run whole. Nor need what bounds only parts given up: uncut, it stays in the skeleton and is held; then what
/// belongs to no part, such as a loop on the way from one outline of a chain to the next, lies in scrap, and nobody misses it.
pub(crate) fn must_be_cut(case: &Case<'_>, cut: CutId) -> Vec<Range<f64>> {
    let cut = case.original.list.cut(cut);
    let contour = |id: &ContourId| case.original.list.contour(*id);
    let is_given_up = |part: &PartId| case.promise.given_up.contains(part);
    let in_scrap = cut
        .contours
        .iter()
        .chain(&cut.bounds)
        .filter_map(|id| contour(id).part)
        .any(|part| is_given_up(&part));
    let is_missed = |of: &&Contour| of.part.map_or(!in_scrap, |part| !is_given_up(&part));
    let own = cut.contours.iter().map(contour).filter(is_missed).map(|of| of.along_mm.clone());
    let edges = cut.bounds.iter().map(contour).filter(is_missed).flat_map(|of| &of.boundary);
    let edges = edges.filter(|edge| edge.cut == cut.id).map(|edge| edge.along_mm.clone());
    let mut all: Vec<Range<f64>> = own.chain(edges).collect();
    if cut.contours.is_empty() && cut.bounds.is_empty() {
        all.push(0.0..cut.path.length_mm());
    }
    merge(&mut all, SAME_POINT_MM);
    all
}

fn holding(stretches: &[Range<f64>], along_mm: f64) -> Option<&Range<f64>> {
    stretches
        .iter()
        .find(|stretch| stretch.start - SAME_POINT_MM <= along_mm && along_mm <= stretch.end + SAME_POINT_MM)
}

/// Whether stretches that are sorted and apart hold `asked`.
pub(crate) fn holds(made: &[Range<f64>], asked: &Range<f64>) -> bool {
    let after = made.partition_point(|made| made.start <= asked.start + SAME_POINT_MM);
    after > 0 && asked.end - SAME_POINT_MM <= made[after - 1].end
}

/// Sorts, and makes one of stretches that lie no farther apart than `gap_mm`.
pub(crate) fn merge(stretches: &mut Vec<Range<f64>>, gap_mm: f64) {
    stretches.sort_by(|a, b| a.start.total_cmp(&b.start));
    let mut merged: Vec<Range<f64>> = Vec::with_capacity(stretches.len());
    for stretch in stretches.drain(..) {
        match merged.last_mut() {
            Some(last) if stretch.start <= last.end + gap_mm => last.end = last.end.max(stretch.end),
            _ => merged.push(stretch),
        }
    }
    *stretches = merged;
}
