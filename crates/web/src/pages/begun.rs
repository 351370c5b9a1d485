//! The plate as it stood when the program that stopped was started: uncut at the first stop, later as the last restart left
//! it. On it questions are answered by a tap before anything is worked out.

use crate::address::{Asked, AtStop};
use crate::problem::Problem;
use crate::wire;
use axum::response::Response;
use geometry::Point;
use serde::{Deserialize, Serialize};
use units::{Length, System};

/// Cuts told that are near a tapped place.
const LISTED: usize = 12;

/// The plate as strokes.
pub(crate) async fn strokes(at: AtStop) -> Result<Response, Problem> {
    at.begun(|read, progress| Ok(wire::strokes(&desk::sketch(&read.inputs, &read.reading, progress, &[]))))
        .await
}

/// The plate as a document.
pub(crate) async fn picture(at: AtStop) -> Result<Response, Problem> {
    at.begun(|read, progress| Ok(wire::picture(desk::picture(&read.inputs, &read.reading, progress, &[]))))
        .await
}

/// A tapped length: to a tenth of a millimetre or so, as well as a finger tells it.
fn tapped(mm: f64, system: System) -> String {
    match system {
        System::Metric => format!("{mm:.1} mm"),
        System::Inch => format!("{:.2} in", Length::from_mm(mm).inch()),
    }
}

/// A tapped place.
#[derive(Clone, Copy, Debug, Deserialize)]
pub(crate) struct Tapped {
    x: f64,
    y: f64,
    within: f64,
}

/// A cut near a tapped place.
#[derive(Debug, Serialize)]
struct NearRow {
    cut: u32,
    along: f64,
    /// How far along the cut, as a person types it.
    told: String,
    away: f64,
}

/// Which cuts are near a tapped place.
pub(crate) async fn near(
    at: AtStop,
    Asked(Tapped { x, y, within }): Asked<Tapped>,
) -> Result<Response, Problem> {
    if ![x, y, within].iter().all(|number| number.is_finite()) || within < 0.0 {
        return Err(Problem::malformed());
    }
    at.begun(move |read, _| {
        let found = desk::near(&read.reading.list, Point::new(x, y), within);
        let row = |near: &desk::Near| NearRow {
            cut: near.cut,
            along: near.along_mm,
            told: tapped(near.along_mm, read.system()),
            away: near.distance_mm,
        };
        Ok(wire::json(&found.iter().take(LISTED).map(row).collect::<Vec<_>>()))
    })
    .await
}
