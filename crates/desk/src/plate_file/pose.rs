//! Where a plate that has moved lies, as `plate.json` keeps it.

use geometry::{Placement, Point};
use proof::Pose;
use serde::{Deserialize, Serialize};
use units::Length;

/// Where the plate lies: its places are turned about program zero, then shifted, to where the control shows them.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PoseRow {
    /// By how much it is turned, counter-clockwise.
    pub turned_rad: f64,
    /// By how much it is then shifted in X.
    pub x_mm: f64,
    /// By how much in Y.
    pub y_mm: f64,
    /// The place of the plate about which the pose is uncertain, X and Y.
    pub pivot_mm: [f64; 2],
    /// Covariance of a turn about it in radians and of shifts in X and Y in millimetres.
    pub covariance: [[f64; 3]; 3],
    /// By how much, as a share, the plate has grown.
    pub longer_share: f64,
    /// How far off its place a cut may land.
    pub tolerance_mm: f64,
}

/// Beyond this many millimetres (or radians) nothing lies: a hundred times the longest table.
pub(super) const FARTHEST: f64 = 1e7;

impl PoseRow {
    /// The row of `pose`. Figures are not rounded: what is written next must go to the very same place.
    pub(super) fn new(pose: &Pose) -> Self {
        let origin = pose.placement.origin();
        Self {
            turned_rad: pose.placement.angle_rad(),
            x_mm: origin.x,
            y_mm: origin.y,
            pivot_mm: [pose.pivot.x, pose.pivot.y],
            covariance: pose.covariance,
            longer_share: pose.stretch,
            tolerance_mm: pose.tolerance.mm(),
        }
    }

    /// What it says.
    ///
    /// # Errors
    /// A sentence on what is wrong.
    pub(super) fn pose(&self) -> Result<Pose, String> {
        let places = [self.turned_rad, self.x_mm, self.y_mm, self.longer_share, self.tolerance_mm];
        let figures = places.iter().chain(&self.pivot_mm).chain(self.covariance.iter().flatten());
        let known = figures.into_iter().all(|figure| figure.is_finite() && figure.abs() <= FARTHEST);
        let sound = (0..3).all(|k| self.covariance[k][k] >= 0.0) && self.tolerance_mm > 0.0;
        if !(known && sound) {
            return Err("it has the plate lie where no table is, or says nothing of how well".to_owned());
        }
        let [x, y] = self.pivot_mm;
        Ok(Pose {
            placement: Placement::new(self.turned_rad, Point::new(self.x_mm, self.y_mm)),
            pivot: Point::new(x, y),
            covariance: self.covariance,
            stretch: self.longer_share,
            tolerance: Length::from_mm(self.tolerance_mm),
        })
    }
}
