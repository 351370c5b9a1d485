//! Small marks of fixed size on the page: pierces, stop, restart, datum. The same functions draw the picture and its
//! legend.

use crate::pen::{Svg, px};

/// A place on the page, in pixels.
pub(crate) type At = (f64, f64);

/// Height of the restart's pennant, in pixels.
pub(crate) const PENNANT_PX: f64 = 30.0;

/// Radius of the stop's ring, in pixels.
pub(crate) const STOP_PX: f64 = 11.0;

/// The ring of a pierce; with its middle filled if the pierce is made.
pub(crate) fn ring(svg: &mut Svg, (x, y): At, radius: f64, made: bool) {
    let width = px((radius / 2.6).clamp(0.5, 1.4));
    svg.line(format_args!(
        "<circle class=\"ring\" cx=\"{}\" cy=\"{}\" r=\"{}\" stroke-width=\"{width}\"/>",
        px(x),
        px(y),
        px(radius)
    ));
    if made {
        let inner = px(radius * 0.5);
        svg.line(format_args!("<circle class=\"pierced\" cx=\"{}\" cy=\"{}\" r=\"{inner}\"/>", px(x), px(y)));
    }
}

/// The broken ring of a stop: four arcs with gaps between.
pub(crate) fn stop(svg: &mut Svg, (x, y): At) {
    let quarter = STOP_PX * std::f64::consts::FRAC_PI_2;
    let (dash, gap) = (px(quarter * 0.62), px(quarter * 0.38));
    svg.line(format_args!(
        "<circle class=\"line stop\" cx=\"{}\" cy=\"{}\" r=\"{}\" stroke-width=\"3.2\" style=\"stroke-linecap:butt\" \
         stroke-dasharray=\"{dash} {gap}\"/>",
        px(x),
        px(y),
        px(STOP_PX),
    ));
}

/// The pennant of a restart, its pole standing on the place.
pub(crate) fn pennant(svg: &mut Svg, (x, y): At) {
    svg.line(format_args!(
        "<path class=\"restart\" stroke-width=\"1.6\" stroke-linejoin=\"round\" d=\"M{} {}v-{}l17 6-17 6\"/>",
        px(x),
        px(y),
        px(PENNANT_PX),
    ));
    svg.line(format_args!("<circle class=\"restart\" cx=\"{}\" cy=\"{}\" r=\"2\"/>", px(x), px(y)));
}

/// Program zero: two arrows along the axes, from a small square about it.
pub(crate) fn datum(svg: &mut Svg, (x, y): At) {
    svg.line(format_args!(
        "<path class=\"line datum\" stroke-width=\"1.4\" d=\"M{} {}h22M{} {}v-22M{} {}h8v8h-8z\"/>",
        px(x),
        px(y),
        px(x),
        px(y),
        px(x - 4.0),
        px(y - 4.0)
    ));
    svg.line(format_args!(
        "<path class=\"datum-tip\" d=\"M{} {}l-7 3v-6zM{} {}l3 7h-6z\"/>",
        px(x + 27.0),
        px(y),
        px(x),
        px(y - 27.0)
    ));
}
