//! Cuts that a salvage moved, as `plate.json` keeps them.

use cuts::CutList;
use geometry::{Placement, Point};
use proof::Moved;
use serde::{Deserialize, Serialize};

/// A cut that lies elsewhere than in the original: its path is turned about program zero, then shifted.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MovedRow {
    /// Number of the cut, from 1.
    pub cut: u32,
    /// By how much it is turned, counter-clockwise.
    pub turned_rad: f64,
    /// By how much it is then shifted in X.
    pub x_mm: f64,
    /// By how much in Y.
    pub y_mm: f64,
}

/// Beyond this many millimetres (or radians) nothing is moved: a hundred times the longest table.
const FARTHEST: f64 = 1e7;

impl MovedRow {
    /// The row of `moved`. Figures are not rounded: cuts of one part must come out with the very same placement.
    pub(super) fn new(moved: &Moved) -> Self {
        let origin = moved.placement.origin();
        Self {
            cut: moved.cut.number(),
            turned_rad: moved.placement.angle_rad(),
            x_mm: origin.x,
            y_mm: origin.y,
        }
    }

    /// What it says, in terms of `list`.
    ///
    /// # Errors
    /// A sentence on what is wrong.
    pub(super) fn moved(&self, list: &CutList) -> Result<Moved, String> {
        let cut = super::cut(self.cut, list)?.id;
        let figures = [self.turned_rad, self.x_mm, self.y_mm];
        if figures.iter().any(|figure| !figure.is_finite() || figure.abs() > FARTHEST) {
            return Err(format!("it moves cut {} to no place on a table", self.cut));
        }
        Ok(Moved { cut, placement: Placement::new(self.turned_rad, Point::new(self.x_mm, self.y_mm)) })
    }
}
