//! Limits that checks and rescue hold things against, each with its default and where that comes from.

use units::{Duration, Length};

/// The limits in force: defaults, unless the shop file's `[thresholds]` says otherwise.
#[derive(Clone, Debug, PartialEq)]
pub struct Thresholds {
    /// Share by which speed may differ from the chart. Default 0.15 (common practice).
    pub speed_share: f64,
    /// The same for sheet up to 2 mm. Default 0.30 (common practice).
    pub speed_share_thin: f64,
    /// Volts by which the voltage may differ from the chart. Default 5 (common practice).
    pub volts: f64,
    /// How far the arc survives along a void. Default 5 mm (common practice).
    pub void_along: Length,
    /// How far the arc survives across a void. Default 3 mm (common practice).
    pub void_across: Length,
    /// Farthest XY travel between a touch-off and its start. Default 25 mm (common practice).
    pub touch_off_reach: Length,
    /// Diameter of the plate that a touch-off needs to be sound. Default 10 mm (common practice).
    pub touch_off_footprint: Length,
    /// Shortest pierce delay where no chart says otherwise, for plate over 3 mm. Default 0.1 s (common practice).
    pub pierce_delay_min: Duration,
}

impl Default for Thresholds {
    fn default() -> Self {
        Self {
            speed_share: 0.15,
            speed_share_thin: 0.30,
            volts: 5.0,
            void_along: Length::from_mm(5.0),
            void_across: Length::from_mm(3.0),
            touch_off_reach: Length::from_mm(25.0),
            touch_off_footprint: Length::from_mm(10.0),
            pierce_delay_min: Duration::from_s(0.1),
        }
    }
}
