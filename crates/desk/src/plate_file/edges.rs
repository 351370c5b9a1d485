//! Where the edges of a plate lie that was begun with a wrong datum, as `plate.json` keeps it.

use super::pose::FARTHEST;
use geometry::{Placement, Point};
use rescue::Edges;
use serde::{Deserialize, Serialize};

/// Where the edges lie, seen from the frame of the cuts.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum EdgesRow {
    /// Nobody has measured them.
    Unknown,
    /// Turned about program zero, then shifted, from where they were told.
    At {
        /// By how much they are turned, counter-clockwise.
        turned_rad: f64,
        /// By how much they are then shifted in X.
        x_mm: f64,
        /// By how much in Y.
        y_mm: f64,
    },
}

impl EdgesRow {
    /// The row of `edges`. Figures are not rounded.
    pub(super) fn new(edges: Edges) -> Self {
        match edges {
            Edges::Unknown => Self::Unknown,
            Edges::At(lies) => {
                let origin = lies.origin();
                Self::At { turned_rad: lies.angle_rad(), x_mm: origin.x, y_mm: origin.y }
            }
        }
    }

    /// What it says.
    ///
    /// # Errors
    /// A sentence on what is wrong.
    pub(super) fn edges(&self) -> Result<Edges, String> {
        let Self::At { turned_rad, x_mm, y_mm } = *self else { return Ok(Edges::Unknown) };
        if ![turned_rad, x_mm, y_mm].iter().all(|figure| figure.is_finite() && figure.abs() <= FARTHEST) {
            return Err("it has the plate's edges lie where no table is".to_owned());
        }
        Ok(Edges::At(Placement::new(turned_rad, Point::new(x_mm, y_mm))))
    }
}
