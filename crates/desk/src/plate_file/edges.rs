//! Where the edges of a plate lie that was begun with a wrong datum, as `plate.json` keeps it.

use super::pose::FARTHEST;
use geometry::{Placement, Point};
use rescue::Edges;
use serde::{Deserialize, Serialize};
use units::Length;

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
        /// How far off they may lie from there.
        #[serde(default = "measured_within_mm")]
        within_mm: f64,
    },
}

impl EdgesRow {
    /// The row of `edges`. Figures are not rounded.
    pub(super) fn new(edges: Edges) -> Self {
        match edges {
            Edges::Unknown => Self::Unknown,
            Edges::At { lies, within } => {
                let (turned_rad, origin) = (lies.angle_rad(), lies.origin());
                Self::At { turned_rad, x_mm: origin.x, y_mm: origin.y, within_mm: within.mm() }
            }
        }
    }

    /// What it says.
    ///
    /// # Errors
    /// A sentence on what is wrong.
    pub(super) fn edges(&self) -> Result<Edges, String> {
        let Self::At { turned_rad, x_mm, y_mm, within_mm } = *self else { return Ok(Edges::Unknown) };
        if ![turned_rad, x_mm, y_mm].iter().all(|figure| figure.is_finite() && figure.abs() <= FARTHEST) {
            return Err("it has the plate's edges lie where no table is".to_owned());
        }
        if !(0.0..=FARTHEST).contains(&within_mm) {
            return Err("it has the plate's edges be off by what is no length".to_owned());
        }
        let lies = Placement::new(turned_rad, Point::new(x_mm, y_mm));
        Ok(Edges::At { lies, within: Length::from_mm(within_mm) })
    }
}

/// What older files do not tell.
const fn measured_within_mm() -> f64 {
    Edges::MEASURED_WITHIN.mm()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is kept of edges is read again; files of before they told how well those were known are read as they were meant.
    #[test]
    fn edges_tell_how_well_they_are_known() {
        let read =
            |text: &str| serde_json::from_str::<EdgesRow>(text).map_err(|why| why.to_string())?.edges();
        let within = |edges: Edges| match edges {
            Edges::At { within, .. } => within.mm(),
            Edges::Unknown => f64::NAN,
        };
        let old = read(r#"{"at": {"turned_rad": 0.0, "x_mm": 12.0, "y_mm": 3.0}}"#).expect("an older file");
        assert!((within(old) - 0.5).abs() < 1e-12);
        let new = read(r#"{"at": {"turned_rad": 0.0, "x_mm": 12.0, "y_mm": 3.0, "within_mm": 0.2}}"#)
            .expect("a file");
        assert!((within(new) - 0.2).abs() < 1e-12);
        assert!(
            read(r#"{"at": {"turned_rad": 0.0, "x_mm": 12.0, "y_mm": 3.0, "within_mm": -1.0}}"#).is_err()
        );
    }
}
