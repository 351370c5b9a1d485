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

use crate::{CutList, Reading};
use finding::Finding;
use nc::Motions;

/// See [`CutList::build`].
pub(crate) fn build(program: &nc::Program, motions: &Motions, reading: &Reading) -> (CutList, Vec<Finding>) {
    let (mut cuts, mut findings) = starts::cuts(program, motions, reading);
    let (found, overlaps) = close::contours(&cuts, reading);
    for (cut, overlaps) in cuts.iter_mut().zip(overlaps) {
        cut.overlaps = overlaps;
    }
    let (list, at_odds) = sort_out::sort_out(cuts, found);
    findings.extend(at_odds);
    (list, findings)
}
