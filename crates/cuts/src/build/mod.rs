//! From motions to the cut list: starts, then contours, then what lies in what, then parts.

mod close;
mod ground;
mod measure;
mod meets;
mod nest;
mod net;
mod sort_out;
mod starts;
mod trace;

use crate::{Cut, CutList, Reading, Watch};
use finding::Finding;
use nc::Motions;

/// See [`CutList::build_watched`].
pub(crate) fn build(
    program: &nc::Program,
    motions: &Motions,
    reading: &Reading,
    watch: Option<&Watch<'_>>,
) -> Option<(CutList, Vec<Finding>)> {
    let (cuts, mut findings) = starts::cuts(program, motions, reading);
    let (list, at_odds) = sorted(cuts, reading, Waited(watch))?;
    findings.extend(at_odds);
    Some((list, findings))
}

/// The list of `cuts`, whose contours and overlaps are not known yet.
pub(crate) fn contours_of(cuts: Vec<Cut>, reading: &Reading) -> CutList {
    sorted(cuts, reading, Waited(None)).expect("nobody calls it off").0
}

/// None if it was called off.
fn sorted(mut cuts: Vec<Cut>, reading: &Reading, waited: Waited<'_>) -> Option<(CutList, Vec<Finding>)> {
    let (found, overlaps) = close::contours(&cuts, reading, waited)?;
    for (cut, overlaps) in cuts.iter_mut().zip(overlaps) {
        cut.overlaps = overlaps;
    }
    sort_out::sort_out(cuts, found, waited)
}

/// Somebody who may wait.
#[derive(Clone, Copy)]
pub(crate) struct Waited<'w>(Option<&'w Watch<'w>>);

impl Waited<'_> {
    /// Tells that so many of so many are through, of what; none if it has been called off.
    pub(crate) fn tell(self, done: usize, of: usize, of_what: &'static str) -> Option<()> {
        let called_off = self.0.is_some_and(|watch| watch(done, of, of_what).is_break());
        (!called_off).then_some(())
    }
}
