//! Nominal time of the cuts of a way to go on.

use crate::restart::{JoinLeg, leg_of};
use cuts::{CutId, CutList};
use proof::JoinStart;
use units::Duration;

/// Nominal time of cuts, their approaches included, in seconds.
pub(crate) fn time_s(list: &CutList, cuts: &[CutId]) -> f64 {
    joined_time_s(list, cuts, &[])
}

/// The same, of cuts that are taken up without what they leave out.
pub(super) fn joined_time_s(list: &CutList, cuts: &[CutId], legs: &[JoinLeg]) -> f64 {
    (0..cuts.len()).map(|start| time_of(list, cuts[start], leg_of(legs, cuts, start)).s()).sum()
}

fn time_of(list: &CutList, cut: CutId, leg: Option<&JoinLeg>) -> Duration {
    let before = cut.0.checked_sub(1).map_or(Duration::ZERO, |before| list.cut(CutId(before)).ends_at);
    let of = list.cut(cut);
    let whole = of.ends_at - before;
    match leg.map(|leg| &leg.join) {
        Some(join) if join.start == JoinStart::Backwards || join.ends_early(of.path.length_mm()) => {
            let burns = join.burns_mm();
            whole - (of.ends_at - of.moves_at) + (of.time_at(burns.end) - of.time_at(burns.start))
        }
        Some(join) => whole - (of.time_at(join.from_mm) - of.moves_at),
        None => whole,
    }
}
