//! Which part of the plane is shown, and where on the page.

use crate::pen::{Number, px};
use geometry::{Bounds, Point, Program};
use std::fmt;

/// Widest drawing, in pixels: with its rims it makes a page of 1,200, which fills a common screen and is legible at
/// two thirds of that.
const WIDTH_PX_MAX: f64 = 1152.0;

/// Highest drawing, in pixels, so that a long plate laid upright still fits on a screen with its title.
const HEIGHT_PX_MAX: f64 = 880.0;

/// Rim between what is shown and the drawing's edge, in pixels: room for numbers and flags at the plate's edge.
const RIM_PX: f64 = 26.0;

/// The part of the plane that is shown, and how.
#[derive(Clone, Copy, Debug)]
pub(crate) struct View {
    /// What is shown, in the program's frame.
    bounds: Bounds<Program>,
    /// Scale.
    pub(crate) px_per_mm: f64,
    /// The drawing's upper left corner on the page.
    pub(crate) left: f64,
    pub(crate) top: f64,
}

impl View {
    /// Shows `bounds` as large as fits, with its upper left corner there.
    pub(crate) fn new(bounds: Bounds<Program>, left: f64, top: f64) -> Self {
        let size = bounds.max - bounds.min;
        let fit = |extent_mm: f64, room_px: f64| (room_px - 2.0 * RIM_PX) / extent_mm.max(1.0);
        let px_per_mm = fit(size.x, WIDTH_PX_MAX).min(fit(size.y, HEIGHT_PX_MAX));
        Self { bounds, px_per_mm, left, top }
    }

    /// Width of the drawing, rims included, in pixels.
    pub(crate) fn width(&self) -> f64 {
        (self.bounds.max.x - self.bounds.min.x) * self.px_per_mm + 2.0 * RIM_PX
    }

    /// Height of the drawing, rims included, in pixels.
    pub(crate) fn height(&self) -> f64 {
        (self.bounds.max.y - self.bounds.min.y) * self.px_per_mm + 2.0 * RIM_PX
    }

    /// Where a point lies on the page.
    pub(crate) fn at(&self, p: Point<Program>) -> (f64, f64) {
        (
            self.left + RIM_PX + (p.x - self.bounds.min.x) * self.px_per_mm,
            self.top + RIM_PX + (self.bounds.max.y - p.y) * self.px_per_mm,
        )
    }

    /// Whether a point falls on the drawing.
    pub(crate) fn shows(&self, p: Point<Program>) -> bool {
        self.bounds.grown(RIM_PX / self.px_per_mm).contains(p)
    }

    /// So many pixels in millimetres, for widths within the group in millimetres.
    pub(crate) fn mm(&self, px: f64) -> Number {
        Number(px / self.px_per_mm, self.decimals() + 1)
    }

    /// Decimals that coordinates in millimetres need so that rounding moves nothing by more than a hundredth of a
    /// pixel.
    pub(crate) fn decimals(&self) -> u8 {
        match self.px_per_mm {
            scale if scale > 10.0 => 3,
            scale if scale > 0.1 => 2,
            _ => 1,
        }
    }
}

/// The transform of the group in millimetres: Y up.
impl fmt::Display for View {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (x, y) = self.at(Point::ORIGIN);
        let scale = Number(self.px_per_mm, 6);
        write!(f, "matrix({scale} 0 0 -{scale} {} {})", Number(x, 3), Number(y, 3))
    }
}

/// The drawing's frame as SVG attributes.
pub(crate) fn frame(view: &View) -> String {
    format!(
        "x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"",
        px(view.left),
        px(view.top),
        px(view.width()),
        px(view.height())
    )
}
