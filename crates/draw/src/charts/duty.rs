//! Duty cycle over time, and what is allowed.

use super::lanes::{GAP_PX, LANE_PX, Labels, Lanes};
use super::time::as_f64;
use crate::pen::Number;
use cell::DutyForecast;

impl Lanes<'_> {
    /// Share of ten minutes burnt, and what is allowed.
    pub(super) fn duty(&mut self, duty: &DutyForecast) {
        self.name("Duty cycle: share of the last ten minutes");
        let upright = self.upright(100.0, "%");
        let shares: Vec<Option<f64>> = (0..self.scale.layout.columns)
            .map(|k| {
                let at_s = (as_f64(k) + 1.0) * self.scale.column_s();
                Some(cell::duty::burnt_before(&duty.burns, at_s) / cell::duty::PERIOD_S * 100.0)
            })
            .collect();
        self.curve("inlet", &shares, upright);
        let mut labels = Labels::default();
        if let Some(allowed) = duty.allowed {
            let allowed = allowed * 100.0;
            self.limit(allowed, upright);
            labels.add(format!("allowed: {} %", Number(allowed, 0)), upright.y(allowed));
        }
        labels.extend(shares.last().copied().flatten().map(|value| ("burnt".to_owned(), upright.y(value))));
        self.labels(labels);
        if let Some(trip) = &duty.trip {
            self.trouble(trip.at_s, upright.y(duty.allowed.unwrap_or(1.0) * 100.0), "the source trips");
        }
        self.top += LANE_PX + GAP_PX;
    }
}
