//! Duty cycle of the job.

use super::Pause;
use crate::duty::{Burn, allowed_share, first_trip, highest_share, pause_before_last};
use crate::event::{Gas, Log};
use crate::facts::CellFacts;
use cuts::{CutId, CutList};

/// Duty cycle of a job, reckoned at its highest current; weaker arcs count by the heat they make, I² t.
#[derive(Clone, Debug, PartialEq)]
pub struct DutyForecast {
    /// The highest current, in amperes.
    pub current_a: f64,
    /// Share of ten minutes allowed at it, 0 to 1; none above the highest rated current.
    pub allowed: Option<f64>,
    /// Highest share of ten minutes that the job burns.
    pub highest: f64,
    /// Where the source trips, if it does.
    pub trip: Option<DutyTrip>,
    /// Pauses that together let the whole job run, if it trips; none if one cut alone is too long.
    pub pauses: Option<Vec<Pause>>,
    /// When the arc burns, in order.
    pub burns: Vec<Burn>,
}

/// Where the source trips.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DutyTrip {
    /// The cut during which it trips.
    pub cut: Option<CutId>,
    /// When, in seconds.
    pub at_s: f64,
}

pub(super) fn forecast(list: &CutList, facts: &CellFacts, log: &Log) -> Option<DutyForecast> {
    if facts.rated.is_empty() {
        return None;
    }
    let current = |cut: Option<CutId>| facts.process(cut.and_then(|cut| list.cut(cut).process)).current_a;
    let arcs: Vec<_> = log.gas.iter().filter(|gas| gas.arc).collect();
    let currents: Option<Vec<f64>> = arcs.iter().map(|gas| current(gas.cut)).collect();
    let currents = currents?;
    let current_a = currents.iter().copied().reduce(f64::max)?;
    let burns: Vec<Burn> = arcs
        .iter()
        .zip(&currents)
        .map(|(gas, a)| Burn { from_s: gas.from_s, to_s: gas.to_s, weight: (a / current_a).powi(2) })
        .collect();
    let allowed = allowed_share(&facts.rated, current_a);
    let trip = allowed
        .and_then(|share| first_trip(&burns, share))
        .map(|trip| DutyTrip { cut: arcs[trip.burn].cut, at_s: trip.at_s });
    let pauses = allowed.filter(|_| trip.is_some()).and_then(|share| pauses(&arcs, &burns, share));
    Some(DutyForecast { current_a, allowed, highest: highest_share(&burns), trip, pauses, burns })
}

/// The shortest pauses, start by start in whole seconds, with which the source never trips.
fn pauses(arcs: &[&Gas], burns: &[Burn], share: f64) -> Option<Vec<Pause>> {
    let (mut pauses, mut later_s, mut shifted) = (Vec::new(), 0.0, Vec::with_capacity(burns.len()));
    for (gas, burn) in arcs.iter().zip(burns) {
        shifted.push(Burn { from_s: burn.from_s + later_s, to_s: burn.to_s + later_s, ..*burn });
        let seconds = pause_before_last(&mut shifted, share)?;
        if seconds > 0 {
            pauses.push(Pause { start: gas.start, cut: gas.cut, seconds });
            later_s += f64::from(seconds);
        }
    }
    Some(pauses)
}
