//! Wear of the fitted set over the job.

use crate::facts::CellFacts;
use crate::wear::Use;

/// What the job does to the fitted set.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WearForecast {
    /// What the job takes.
    pub job: Use,
    /// What the set has been through before; none if not told.
    pub before: Option<Use>,
    /// Starts after which the shop changes a set.
    pub life_starts: Option<f64>,
    /// Number of the start in the job, from 1, at which the set has passed its life; none if it does not, or is not
    /// known to.
    pub spent_at_start: Option<u32>,
    /// Chance that the set lasts to the end of the job, 0 to 1; none without a law of wear.
    pub lasts: Option<f64>,
}

pub(super) fn forecast(facts: &CellFacts, starts: u32, arc_s: f64) -> WearForecast {
    let job = Use { starts: f64::from(starts), arc_min: arc_s / 60.0, snaps: 0.0 };
    let before = facts.used;
    let left = before.zip(facts.life_starts).map(|(before, life)| (life - before.starts).max(0.0));
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "not negative, and below the number of starts"
    )]
    let spent_at_start = left.filter(|left| *left < job.starts).map(|left| left as u32 + 1);
    let lasts = facts.wear.zip(before).map(|(law, before)| law.lasts(before, job));
    WearForecast { job, before, life_starts: facts.life_starts, spent_at_start, lasts }
}
