//! The scale bar: the units chosen above, the others below.

use crate::marks::At;
use crate::pen::{Number, Svg, px};
use units::{MM_PER_INCH, System};

/// Longest bar, in pixels.
const BAR_PX_MAX: f64 = 200.0;

/// Draws the bar with its left end there, `system` above; gives its width and height.
pub(crate) fn draw(svg: &mut Svg, (x, y): At, px_per_mm: f64, system: System) -> (f64, f64) {
    let metric = (1.0, "mm");
    let inches = (MM_PER_INCH, "in");
    let (above, below) = match system {
        System::Metric => (metric, inches),
        System::Inch => (inches, metric),
    };
    let bar = |(mm, unit): (f64, &'static str)| {
        let count = round_below(BAR_PX_MAX / px_per_mm / mm);
        (count * mm * px_per_mm, format!("{} {unit}", Number(count, 3)))
    };
    let ((above_px, above), (below_px, below)) = (bar(above), bar(below));
    svg.line(format_args!(
        "<path class=\"line bar\" stroke-width=\"1.5\" d=\"M{} {}v14M{} {}h{}M{} {}v-7m-{} 7v-4M{} {}v7m-{} -7v4\"/>",
        px(x),
        px(y - 7.0),
        px(x),
        px(y),
        px(above_px.max(below_px)),
        px(x + above_px),
        px(y),
        px(above_px / 2.0),
        px(x + below_px),
        px(y),
        px(below_px / 2.0)
    ));
    svg.line(format_args!(
        "<text class=\"text\" x=\"{}\" y=\"{}\">{above}</text>",
        px(x + above_px + 5.0),
        px(y - 4.0)
    ));
    svg.line(format_args!(
        "<text class=\"text\" x=\"{}\" y=\"{}\">{below}</text>",
        px(x + below_px + 5.0),
        px(y + 13.0)
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
