//! Limits that checks and rescue hold things against, each with its default and where that comes from.

use crate::decode::Reader;
use units::{Duration, Length, Voltage};

/// The limits in force: defaults, unless the shop file's `[thresholds]` says otherwise.
#[derive(Clone, Debug, PartialEq)]
pub struct Thresholds {
    /// Share by which speed may differ from the chart. Default 0.15 (common practice).
    pub speed_share: f64,
    /// The same for sheet up to 2 mm. Default 0.30 (common practice).
    pub speed_share_thin: f64,
    /// By how much the arc voltage may differ from the chart. Default 5 V (common practice).
    pub volts: Voltage,
    /// How far the arc survives along a void. Default 5 mm (common practice).
    pub void_along: Length,
    /// How far the arc survives across a void. Default 3 mm (common practice).
    pub void_across: Length,
    /// How far the arc survives along a kerf of its own that has metal on both sides. Default 8 mm (common practice:
    /// it clings to the two walls, half a kerf away, and a restart is begun up to a third of an inch back).
    pub kerf_along: Length,
    /// Longest wait with the arc on and the torch at rest at a start on a kerf's end wall: longer, and the arc eats
    /// into the walls beside it. Default 0.3 s (common practice).
    pub edge_delay: Duration,
    /// Share of its speed at which a groove is gone over a second time. Default 0.8 (common practice).
    pub second_pass_speed: f64,
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
            volts: Voltage::from_v(5.0),
            void_along: Length::from_mm(5.0),
            void_across: Length::from_mm(3.0),
            kerf_along: Length::from_mm(8.0),
            edge_delay: Duration::from_s(0.3),
            second_pass_speed: 0.8,
            touch_off_reach: Length::from_mm(25.0),
            touch_off_footprint: Length::from_mm(10.0),
            pierce_delay_min: Duration::from_s(0.1),
        }
    }
}

impl Thresholds {
    /// The limits that `[thresholds]` tells, with the defaults for the rest.
    pub(crate) fn read(table: &Reader<'_, '_>) -> Self {
        let Self {
            speed_share,
            speed_share_thin,
            volts,
            void_along,
            void_across,
            kerf_along,
            edge_delay,
            second_pass_speed,
            touch_off_reach,
            touch_off_footprint,
            pierce_delay_min,
        } = Self::default();
        Self {
            speed_share: table.number("speed_share").unwrap_or(speed_share),
            speed_share_thin: table.number("speed_share_thin").unwrap_or(speed_share_thin),
            volts: table.quantity("volts").unwrap_or(volts),
            void_along: table.quantity("void_along").unwrap_or(void_along),
            void_across: table.quantity("void_across").unwrap_or(void_across),
            kerf_along: table.quantity("kerf_along").unwrap_or(kerf_along),
            edge_delay: table.quantity("edge_delay").unwrap_or(edge_delay),
            second_pass_speed: table.number("second_pass_speed").unwrap_or(second_pass_speed),
            touch_off_reach: table.quantity("touch_off_reach").unwrap_or(touch_off_reach),
            touch_off_footprint: table.quantity("touch_off_footprint").unwrap_or(touch_off_footprint),
            pierce_delay_min: table.quantity("pierce_delay_min").unwrap_or(pierce_delay_min),
        }
    }
}
