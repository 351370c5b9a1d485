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
    let (cuts, mut findings) = starts::cuts(program, motions, reading);
    let marks: Vec<bool> = cuts.iter().map(|cut| is_mark(cut.process, reading)).collect();
    let found = close::contours(&cuts, &marks, reading);
    let (list, at_odds) = sort_out::sort_out(cuts, found, &marks);
    findings.extend(at_odds);
    (list, findings)
}

fn is_mark(process: Option<u32>, reading: &Reading) -> bool {
    process.is_some_and(|number| reading.mark_processes.contains(&number))
}
