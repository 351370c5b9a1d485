//! Nominal time of the cuts of a way to go on.

use crate::restart::JoinLeg;
use cuts::{CutId, CutList};
use proof::JoinStart;
use units::Duration;

/// Nominal time of cuts, their approaches included, in seconds.
pub(crate) fn time_s(list: &CutList, cuts: &[CutId]) -> f64 {
    joined_time_s(list, cuts, &[])
}

/// The same, of cuts that are taken up without what they leave out.
pub(super) fn joined_time_s(list: &CutList, cuts: &[CutId], legs: &[JoinLeg]) -> f64 {
    cuts.iter().map(|cut| time_of(list, *cut, legs).s()).sum()
}

fn time_of(list: &CutList, cut: CutId, legs: &[JoinLeg]) -> Duration {
    let before = cut.0.checked_sub(1).map_or(Duration::ZERO, |before| list.cut(CutId(before)).ends_at);
    let of = list.cut(cut);
    let whole = of.ends_at - before;
    match legs.iter().find(|leg| leg.join.cut == cut).map(|leg| &leg.join) {
        Some(join) if join.start == JoinStart::Backwards => {
            whole - (of.ends_at - of.moves_at) + (of.time_at(join.from_mm) - of.time_at(join.until_mm))
        }
        Some(join) => whole - (of.time_at(join.from_mm) - of.moves_at),
        None => whole,
    }
}
