//! How far a part that is made anew keeps off everything else.

use proof::Ground;
use units::Length;

/// Margins of a salvage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Margins {
    /// Metal that stays between a new cut and any other kerf, crater, hole, loose piece or the plate's edge: the plate's
    /// thickness, 5 mm at least (common practice: a narrower web warps, and the arc blows out into the kerf beside).
    pub web: Length,
    /// Room beside a clamp, for the torch's tip: half of what it needs to touch off on. The web comes on top.
    pub clamp: Length,
    /// Room beside a piece that stands up, for the torch's body: it is about 50 mm wide (common practice).
    pub standing: Length,
}

/// The narrowest web whatever the thickness, in millimetres (common practice).
const WEB_MM_MIN: f64 = 5.0;

/// Half the width of a torch's body, in millimetres (common practice).
const TORCH_MM: f64 = 25.0;

impl Margins {
    /// The margins on this plate.
    #[must_use]
    pub fn of(ground: &Ground) -> Self {
        Self {
            web: ground.thickness.max(Length::from_mm(WEB_MM_MIN)),
            clamp: ground.thresholds.touch_off_footprint * 0.5,
            standing: Length::from_mm(TORCH_MM),
        }
    }

    /// How far the centre lines of two kerfs lie apart at least, in millimetres.
    #[must_use]
    pub fn apart_mm(&self, kerf: Length) -> f64 {
        self.web.mm() + kerf.mm()
    }
}
