//! The score of a session as it stands.

use super::{Ended, Session};
use crate::score::{Area, Score};

/// Time at the table that costs nothing, in seconds, for each stop that a scenario has: the whole safe order with the
/// longest fix, some looks, and room to think.
const ALLOWED_S: f64 = 1200.0;

/// Each further stretch of so many seconds costs a point.
const POINT_EVERY_S: f64 = 120.0;

/// Points that each lost part costs.
const PART_POINTS: u32 = 8;

impl Session<'_> {
    /// The score as it stands.
    #[must_use]
    pub fn score(&self) -> Score {
        let mut score = Score { ran: self.ended == Some(Ended::Ran), ..Score::default() };
        self.slips.iter().for_each(|slip| score.slip(*slip));
        let (spoilt, unfinished) = self.table.lost_parts();
        for (part, why) in spoilt {
            score.lose(Area::Parts, PART_POINTS, format!("Part {part} is lost: {why}."));
        }
        if let Some(first) = unfinished.first() {
            let points = PART_POINTS
                .saturating_mul(u32::try_from(unfinished.len()).unwrap_or(u32::MAX))
                .min(Area::Parts.of());
            let numbers: Vec<String> = unfinished.iter().map(u32::to_string).collect();
            let text = match unfinished.len() {
                1 => format!("Part {first} was not finished."),
                _ => format!("Parts {} were not finished.", numbers.join(", ")),
            };
            score.lose(Area::Parts, points, text);
        }
        self.score_time(&mut score);
        score.sorted()
    }

    fn score_time(&self, score: &mut Score) {
        if matches!(self.ended, Some(Ended::Given | Ended::Hands)) {
            score.lose(
                Area::Time,
                Area::Time.of(),
                "Time counts where the plate is seen through to its end.".to_owned(),
            );
            return;
        }
        let stops = 1 + self.setting.scenario.faults.iter().map(|fault| fault.restart).max().unwrap_or(0);
        let allowed_s = (ALLOWED_S + self.setting.isolation_wait_s()) * f64::from(stops);
        let over_s = self.time_s() - self.run_s - allowed_s;
        if over_s > 0.0 {
            let points = (1..=Area::Time.of())
                .take_while(|points| f64::from(points - 1) * POINT_EVERY_S < over_s)
                .count();
            let text = format!(
                "The table stood for {:.0} min; {:.0} min are enough.",
                (self.time_s() - self.run_s) / 60.0,
                allowed_s / 60.0
            );
            score.lose(Area::Time, u32::try_from(points).unwrap_or(Area::Time.of()), text);
        }
    }
}
