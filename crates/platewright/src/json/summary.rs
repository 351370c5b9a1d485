//! What a program amounts to, as JSON names it.

use super::rounded_mm;
use desk::Summary;
use serde::Serialize;

/// Decimals of a second kept.
const PLACES_PER_SECOND: f64 = 1e3;

/// Counts, lengths and times.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct SummaryRow {
    cuts: usize,
    parts: usize,
    outlines: usize,
    holes: usize,
    slots: usize,
    marks: usize,
    cut_length_mm: f64,
    travel_length_mm: f64,
    nominal_time_s: f64,
    rapids_take_time: bool,
    kerf_mm: f64,
    kerf_from: &'static str,
}

impl SummaryRow {
    /// The row of `summary`.
    #[must_use]
    pub(crate) fn new(summary: &Summary) -> Self {
        Self {
            cuts: summary.cuts,
            parts: summary.parts,
            outlines: summary.outlines,
            holes: summary.holes,
            slots: summary.slots,
            marks: summary.marks,
            cut_length_mm: rounded_mm(summary.cut_length.mm()),
            travel_length_mm: rounded_mm(summary.travel_length.mm()),
            nominal_time_s: rounded_s(summary.time.s()),
            rapids_take_time: summary.rapid_told,
            kerf_mm: rounded_mm(summary.kerf.width.mm()),
            kerf_from: summary.kerf.from.name(),
        }
    }
}

/// `s` rounded to what is written.
pub(super) fn rounded_s(s: f64) -> f64 {
    (s * PLACES_PER_SECOND).round() / PLACES_PER_SECOND
}
