//! Writing motions as text: every coordinate within half a last decimal, without accumulation, every arc within the
//! table's arc tolerance after rounding.

use crate::{ArcCenters, Dialect, Distance, Units};
use geometry::{Curve, Point, Program};

/// In what manner a program is written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Style {
    /// Unit of length.
    pub units: Units,
    /// Distance mode.
    pub distance: Distance,
    /// How I and J are meant.
    pub arc_centers: ArcCenters,
}

/// Writes blocks in one style, one after another.
///
/// It keeps the rounded place where the torch stands, so that increments are differences of rounded absolutes.
#[derive(Debug)]
pub struct Writer<'d> {
    dialect: &'d Dialect,
    style: Style,
    text: String,
    at: Point<Program>,
}

impl<'d> Writer<'d> {
    /// A writer that takes the torch to stand at `at`.
    #[must_use]
    pub fn new(dialect: &'d Dialect, style: Style, at: Point<Program>) -> Self {
        Self { dialect, style, text: String::new(), at }
    }

    /// Writes `line` as it is; the writer is told afterwards where the torch stands by [`Writer::stands_at`].
    pub fn verbatim(&mut self, line: &str) {
        self.text.push_str(line);
        self.text.push('\n');
    }

    /// Says where the torch stands after blocks that were written verbatim.
    pub fn stands_at(&mut self, at: Point<Program>) {
        self.at = at;
    }

    /// A rapid to `to` in X and Y.
    pub fn rapid(&mut self, to: Point<Program>) {
        let _ = (to, self.dialect, self.style);
        todo!("nc")
    }

    /// A straight or circular feed along `curve`, which begins where the torch stands; `feed_mm_per_min` is written
    /// where given.
    pub fn feed(&mut self, curve: &Curve<Program>, feed_mm_per_min: Option<f64>) {
        let _ = (curve, feed_mm_per_min);
        todo!("nc")
    }

    /// A length as this style writes it, in its units and decimals.
    #[must_use]
    pub fn number(&self, mm: f64) -> String {
        let _ = mm;
        todo!("nc")
    }

    /// The text so far.
    #[must_use]
    pub fn finish(self) -> String {
        self.text
    }
}
