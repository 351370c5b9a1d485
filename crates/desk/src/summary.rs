//! What a program amounts to: cuts, parts, lengths, nominal time.

use crate::{Kerf, Reading};
use cuts::{Contour, Shape};
use units::{Duration, Length};

/// Counts, lengths and times of a program.
#[derive(Clone, Debug, PartialEq)]
pub struct Summary {
    /// Cuts, that is starts.
    pub cuts: usize,
    /// Parts.
    pub parts: usize,
    /// Outlines.
    pub outlines: usize,
    /// Holes.
    pub holes: usize,
    /// Open cuts.
    pub slots: usize,
    /// Marks.
    pub marks: usize,
    /// Way with the torch on.
    pub cut_length: Length,
    /// Way in X and Y with the torch off.
    pub travel_length: Length,
    /// Time from the program's start to the end of its last cut, on the program's clock: feeds and waits, without
    /// acceleration.
    pub time: Duration,
    /// Whether the speed of rapids is known; if not, they take no time on the program's clock.
    pub rapid_told: bool,
    /// Width of the kerf.
    pub kerf: Kerf,
}

impl Summary {
    /// What `reading` amounts to.
    #[must_use]
    pub fn of(reading: &Reading) -> Self {
        let list = &reading.list;
        let count = |shape| list.contours.iter().filter(|contour: &&Contour| contour.shape == shape).count();
        // An empty sum of f64 is -0.
        let cut_length = Length::ZERO + list.cuts.iter().map(cuts::Cut::length).sum();
        let whole: f64 =
            (0..reading.motions.motions().len()).map(|k| reading.motions.curve(k).length_mm()).sum();
        Self {
            cuts: list.cuts.len(),
            parts: list.parts.len(),
            outlines: count(Shape::Outline),
            holes: count(Shape::Hole),
            slots: count(Shape::Slot),
            marks: count(Shape::Mark),
            cut_length,
            travel_length: Length::from_mm((whole - cut_length.mm()).max(0.0)),
            time: list.cuts.last().map_or(Duration::ZERO, |cut| cut.ends_at),
            rapid_told: reading.rapid_told,
            kerf: reading.kerf,
        }
    }
}
