//! What a restart promises: the cuts not yet made, less the parts given up and every cut that serves them.

use crate::Situation;
use cuts::{ContourId, Cut, CutId, CutList, PartId, PlateState};
use proof::{Join, Promise};
use std::collections::BTreeSet;
use std::ops::Range;

/// A promise, or why none can be made.
pub(crate) type Promised = Result<Promise, String>;

/// Everything not yet made, less `given_up` and what cannot be done without it, and less the `doubtful` cuts.
pub(crate) fn promise(
    situation: &Situation<'_>,
    state: &PlateState,
    given_up: &[PartId],
    doubtful: &[CutId],
) -> Promised {
    let list = situation.list;
    let mut lost = Lost { list, parts: given_up.iter().copied().collect(), cuts: BTreeSet::new() };
    for cut in doubtful {
        lost.lose_cut(*cut)?;
    }
    lost.lose_what_serves_nothing_else();
    let open = list.cuts.iter().map(|cut| cut.id).filter(|cut| !state.is_whole(list, *cut));
    let cuts: Vec<CutId> = open.filter(|cut| !lost.cuts.contains(cut)).collect();
    // A part whose cuts were all made before is not lost by what is left out now.
    let parts = lost.parts.into_iter().filter(|part| !state.is_free(list, *part) || given_up.contains(part));
    Ok(Promise { given_up: parts.collect(), ..Promise::of(cuts) })
}

/// The same cuts, those that are taken up in the middle and what must follow them last: what encloses them, and what
/// bounds the same piece. What is sound is then cut whatever becomes of the joins, and while all of its neighbours are held.
pub(crate) fn sound_first(list: &CutList, cuts: &[CutId], joins: &[&Join]) -> Vec<CutId> {
    let joined: Vec<CutId> = joins.iter().map(|join| join.cut).collect();
    let late = follow(list, &joined, |cut| {
        let burns = joins.iter().filter(|join| join.cut == cut).map(|join| join.burns_mm());
        burns.reduce(|one, other| one.start.min(other.start)..one.end.max(other.end))
    });
    let (last, first): (Vec<CutId>, Vec<CutId>) = cuts.iter().partition(|cut| late.contains(cut));
    first.into_iter().chain(last).collect()
}

/// Cuts and those that must follow them.
pub(crate) fn waiting_for(list: &CutList, cuts: &[CutId]) -> BTreeSet<CutId> {
    follow(list, cuts, |_| None)
}

/// Cuts and those that must follow them, where `rest` says what of a cut is still to be run, if not all: a piece of which an
/// edge was cut before waits for no more of that cut.
fn follow(list: &CutList, cuts: &[CutId], rest: impl Fn(CutId) -> Option<Range<f64>>) -> BTreeSet<CutId> {
    let mut late: BTreeSet<CutId> = cuts.iter().copied().collect();
    let mut open: Vec<CutId> = cuts.to_vec();
    while let Some(cut) = open.pop() {
        let later = enclosing(list, list.cut(cut), rest(cut).as_ref())
            .into_iter()
            .filter(|other| !cuts.contains(other));
        for other in later {
            if late.insert(other) {
                open.push(other);
            }
        }
    }
    late
}

/// The cuts that make what lies around the contours of `cut`, and those that close them together with what is left of it.
fn enclosing(list: &CutList, cut: &Cut, rest: Option<&Range<f64>>) -> Vec<CutId> {
    let is_open = |id: &&ContourId| {
        let Some(rest) = rest else { return true };
        let mut edges = list.contour(**id).boundary.iter().filter(|edge| edge.cut == cut.id);
        edges.any(|edge| edge.along_mm.start < rest.end && rest.start < edge.along_mm.end)
    };
    let own: Vec<ContourId> = cut.contours.iter().chain(cut.bounds.iter().filter(is_open)).copied().collect();
    let around = own
        .iter()
        .flat_map(|id| std::iter::successors(list.contour(*id).within, |id| list.contour(*id).within));
    let all = own.iter().copied().chain(around);
    all.flat_map(|id| {
        let contour = list.contour(id);
        std::iter::once(contour.cut).chain(contour.boundary.iter().map(|stretch| stretch.cut))
    })
    .collect()
}

/// The parts that a cut serves: those it bounds, and those its slots and marks lie on.
pub(crate) fn parts_of(list: &CutList, cut: &Cut) -> BTreeSet<PartId> {
    cut.contours.iter().chain(&cut.bounds).filter_map(|contour| list.contour(*contour).part).collect()
}

struct Lost<'a> {
    list: &'a CutList,
    parts: BTreeSet<PartId>,
    cuts: BTreeSet<CutId>,
}

impl Lost<'_> {
    /// Leaves a cut out, and gives up every part it serves.
    fn lose_cut(&mut self, cut: CutId) -> Result<(), String> {
        let parts = parts_of(self.list, self.list.cut(cut));
        if parts.is_empty() {
            return Err(format!(
                "cut {} belongs to no part, so no part can be given up for it",
                cut.number()
            ));
        }
        self.cuts.insert(cut);
        self.parts.extend(parts);
        Ok(())
    }

    /// Leaves out every cut that serves none but lost parts. One that frees others as well is cut all the same.
    fn lose_what_serves_nothing_else(&mut self) {
        let only_lost = |cut: &&Cut| {
            let parts = parts_of(self.list, cut);
            !parts.is_empty() && parts.is_subset(&self.parts)
        };
        self.cuts.extend(self.list.cuts.iter().filter(only_lost).map(|cut| cut.id));
    }
}
