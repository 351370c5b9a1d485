//! The scale bar: millimetres above, inches below.

use crate::marks::At;
use crate::pen::{Number, Svg, px};
use units::MM_PER_INCH;

/// Longest bar, in pixels.
const BAR_PX_MAX: f64 = 200.0;

/// Draws the bar with its left end there; gives its width and height.
pub(crate) fn draw(svg: &mut Svg, (x, y): At, px_per_mm: f64) -> (f64, f64) {
    let metric = round_below(BAR_PX_MAX / px_per_mm);
    let inches = round_below(BAR_PX_MAX / px_per_mm / MM_PER_INCH);
    let (mm_px, inch_px) = (metric * px_per_mm, inches * MM_PER_INCH * px_per_mm);
    svg.line(format_args!(
        "<path class=\"line bar\" stroke-width=\"1.5\" d=\"M{} {}v14M{} {}h{}M{} {}v-7m-{} 7v-4M{} {}v7m-{} -7v4\"/>",
        px(x),
        px(y - 7.0),
        px(x),
        px(y),
        px(mm_px.max(inch_px)),
        px(x + mm_px),
        px(y),
        px(mm_px / 2.0),
        px(x + inch_px),
        px(y),
        px(inch_px / 2.0)
    ));
    svg.line(format_args!(
        "<text class=\"text\" x=\"{}\" y=\"{}\">{} mm</text>",
        px(x + mm_px + 5.0),
        px(y - 4.0),
        Number(metric, 3)
    ));
    svg.line(format_args!(
        "<text class=\"text\" x=\"{}\" y=\"{}\">{} in</text>",
        px(x + inch_px + 5.0),
        px(y + 13.0),
        Number(inches, 3)
    ));
    (BAR_PX_MAX + 70.0, 20.0)
}

/// The largest of 1, 2 and 5 times a power of ten that is not larger.
fn round_below(value: f64) -> f64 {
    let power = 10_f64.powf(value.max(1e-6).log10().floor());
    let times = value / power;
    let round = if times >= 5.0 {
        5.0
    } else if times >= 2.0 {
        2.0
    } else {
        1.0
    };
    round * power
}

#[cfg(test)]
mod tests {
    use super::round_below;

    #[test]
    fn bars_are_round() {
        for (room, bar) in [(417.0, 200.0), (16.4, 10.0), (0.7, 0.5), (5.0, 5.0), (999.0, 500.0)] {
            assert!((round_below(room) - bar).abs() < 1e-9, "{room}");
        }
    }
}
