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

use crate::{Cut, CutList, Reading};
use finding::Finding;
use nc::Motions;

/// See [`CutList::build`].
pub(crate) fn build(program: &nc::Program, motions: &Motions, reading: &Reading) -> (CutList, Vec<Finding>) {
    let (cuts, mut findings) = starts::cuts(program, motions, reading);
    let (list, at_odds) = sorted(cuts, reading);
    findings.extend(at_odds);
    (list, findings)
}

/// The list of `cuts`, whose contours and overlaps are not known yet.
pub(crate) fn contours_of(cuts: Vec<Cut>, reading: &Reading) -> CutList {
    sorted(cuts, reading).0
}

fn sorted(mut cuts: Vec<Cut>, reading: &Reading) -> (CutList, Vec<Finding>) {
    let (found, overlaps) = close::contours(&cuts, reading);
    for (cut, overlaps) in cuts.iter_mut().zip(overlaps) {
        cut.overlaps = overlaps;
    }
    sort_out::sort_out(cuts, found)
}
