//! Results of several trainees side by side.

use crate::kept::Result;
use crate::score::Area;
use std::fmt::Write as _;

/// Most letters of a name in the table.
const NAME_MOST: usize = 24;

/// A table of results, one a line, the scenarios in the order in which they first come, in each the most points first; of
/// equals the quicker one.
#[must_use]
pub fn side_by_side(results: &[Result]) -> Vec<&Result> {
    let mut scenarios: Vec<&str> = Vec::new();
    for result in results {
        if !scenarios.contains(&result.scenario.as_str()) {
            scenarios.push(&result.scenario);
        }
    }
    let place = |result: &Result| scenarios.iter().position(|name| *name == result.scenario);
    let mut rows: Vec<&Result> = results.iter().collect();
    rows.sort_by_key(|result| {
        (place(result), std::cmp::Reverse((result.passed, result.points)), result.time_s)
    });
    rows
}

/// The same as text in columns.
#[must_use]
pub fn table(results: &[Result]) -> String {
    let rows = side_by_side(results);
    let short = |text: &str| text.chars().take(NAME_MOST).collect::<String>();
    let wide = |of: fn(&Result) -> &str, least: usize| {
        rows.iter().map(|row| short(of(row)).chars().count()).max().unwrap_or(0).max(least)
    };
    let (who, what) = (wide(|row| &row.by, 3), wide(|row| &row.scenario, 8));
    let mut out = format!("{:<who$}  {:<what$}  {:>6}  ", "who", "scenario", "points");
    for area in Area::ALL {
        let _ = write!(out, "{:>16}", format!("{} /{}", area.name(), area.of()));
    }
    let _ = writeln!(out, "  {:>7}  passed", "min");
    for row in rows {
        let _ = write!(out, "{:<who$}  {:<what$}  {:>6}  ", short(&row.by), short(&row.scenario), row.points);
        for points in row.areas {
            let _ = write!(out, "{points:>16}");
        }
        #[expect(clippy::cast_precision_loss, reason = "a session lasts some hours")]
        let minutes = row.time_s as f64 / 60.0;
        let _ = writeln!(out, "  {minutes:>7.1}  {}", if row.passed { "yes" } else { "no" });
    }
    out
}
