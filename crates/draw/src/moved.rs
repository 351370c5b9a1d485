//! A plate that moved: where it lay, where it lies, how far off each measured place was found, and how far off what is
//! left will land. Distances that nobody could see at the plate's scale are drawn enlarged, and the legend says by how
//! much.

use crate::labels::{Crowd, Patch, text_width};
use crate::marks::At;
use crate::pen::{Number, Svg, px};
use crate::scene::Scene;
use crate::view::View;
use geometry::{Bounds, Contour, Placement, Point, Program, Vector};

/// What there is to show of a plate that moved. Everything but the two placements is where the control shows it.
#[derive(Clone, Copy, Debug)]
pub struct Moved<'a> {
    /// Where the plate lies now: from the program's coordinates to those that the control shows.
    pub lies: Placement<Program, Program>,
    /// Where it lay before.
    pub lay: Placement<Program, Program>,
    /// What was measured, in that order.
    pub sights: &'a [Sight<'a>],
    /// How far off what is left may land, the worst first.
    pub landings: &'a [Landing],
    /// What to measure next, what brings most first.
    pub next: &'a [Point<Program>],
    /// How far off its place a cut may land, in millimetres.
    pub tolerance_mm: f64,
}

/// A place that was measured.
#[derive(Clone, Copy, Debug)]
pub struct Sight<'a> {
    /// What it is.
    pub name: &'a str,
    /// Where the fit has it.
    pub fitted: Point<Program>,
    /// How far off that it was found.
    pub off: Vector<Program>,
    /// Whether the fit was made without it.
    pub left_out: bool,
}

/// Where something may land, 95 times in 100: within an ellipse.
#[derive(Clone, Copy, Debug)]
pub struct Landing {
    /// Where it is meant to land.
    pub at: Point<Program>,
    /// Half of the ellipse's longer axis, in millimetres.
    pub most_mm: f64,
    /// Half of its shorter axis, in millimetres.
    pub least_mm: f64,
    /// Direction of the longer axis, of length one.
    pub along: Vector<Program>,
    /// Whether an interrupted kerf goes on there.
    pub is_join: bool,
}

/// Length of the longest residual as drawn, in pixels, at most.
const RESIDUAL_PX: f64 = 42.0;

/// Longer half axis of the largest ellipse as drawn, in pixels, at most: several must find room on a plate.
const LANDING_PX: f64 = 24.0;

/// A residual or an ellipse smaller than this sets no scale, in millimetres: nothing on a table is measured finer.
const SEEN_MM: f64 = 0.001;

/// Features to measure next that are marked.
pub(crate) const NEXT_MOST: usize = 3;

/// Half the size of the cross at a measured place, in pixels.
const CROSS_PX: f64 = 5.0;

/// How many times as large as they are residuals and ellipses are drawn.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Times {
    pub(crate) residuals: f64,
    pub(crate) landings: f64,
}

impl Times {
    pub(crate) fn of(moved: &Moved<'_>, view: &View) -> Self {
        let longest = moved.sights.iter().map(|sight| sight.off.length()).fold(SEEN_MM, f64::max);
        let widest = moved.landings.iter().map(|landing| landing.most_mm).fold(SEEN_MM, f64::max);
        let round = |room_px: f64, mm: f64| round_below(room_px / view.px_per_mm / mm).max(1.0);
        Self { residuals: round(RESIDUAL_PX, longest), landings: round(LANDING_PX, widest) }
    }
}

/// The largest of 1, 2 and 5 times a power of ten that is not larger.
fn round_below(value: f64) -> f64 {
    let power = 10_f64.powf(value.max(1.0).log10().floor());
    [5.0, 2.0].into_iter().map(|times| times * power).find(|round| *round <= value).unwrap_or(power)
}

/// The transform from the plate's frame within the group in millimetres; none where the plate lies as programmed.
pub(crate) fn transform(scene: &Scene<'_>) -> Option<String> {
    let lies = scene.moved.as_ref()?.lies;
    let (sin, cos) = lies.angle_rad().sin_cos();
    let origin = lies.origin();
    let number = |value: f64| Number(value, 6);
    Some(format!(
        "matrix({} {} {} {} {} {})",
        number(cos),
        number(sin),
        number(-sin),
        number(cos),
        Number(origin.x, 3),
        Number(origin.y, 3)
    ))
}

/// The box round a contour where a placement has it.
pub(crate) fn bounds_at(
    bounds: Bounds<Program>,
    lies: &Placement<Program, Program>,
) -> Option<Bounds<Program>> {
    let (min, max) = (bounds.min, bounds.max);
    let corners = [min, Point::new(max.x, min.y), max, Point::new(min.x, max.y)];
    Bounds::around(corners.map(|corner| lies.point(corner)))
}

/// Where the plate lay, as a broken line; within the group in millimetres, untransformed.
pub(crate) fn old_place(svg: &mut Svg, moved: &Moved<'_>, plate: Option<&Contour<Program>>, view: &View) {
    let Some(plate) = plate else { return };
    svg.add(format_args!(
        "<path class=\"line lay\" stroke-width=\"{}\" stroke-dasharray=\"{} {}\" d=\"",
        view.mm(1.6),
        view.mm(10.0),
        view.mm(6.0)
    ));
    svg.path_data(&plate.path().placed(&moved.lay), view.decimals());
    svg.line(format_args!("z\"/>"));
}

/// Ellipses, residuals and what to measure next, in pixels. Where ellipses would cover one another the worst stay.
pub(crate) fn draw(svg: &mut Svg, moved: &Moved<'_>, view: &View, crowd: &mut Crowd) {
    let times = Times::of(moved, view);
    let joins = moved.landings.iter().filter(|landing| landing.is_join);
    let others = moved.landings.iter().filter(|landing| !landing.is_join);
    let mut taken: Vec<(At, f64)> = Vec::new();
    for landing in joins.chain(others).filter(|landing| view.shows(landing.at)) {
        let (x, y) = view.at(landing.at);
        let reach = landing.most_mm * times.landings * view.px_per_mm;
        let free = |((a, b), other): &(At, f64)| (x - a).hypot(y - b) > reach + other;
        if landing.is_join || taken.iter().all(free) {
            taken.push(((x, y), reach));
            ellipse(svg, landing, (x, y), times.landings * view.px_per_mm, moved.tolerance_mm);
        }
    }
    for (k, sight) in moved.sights.iter().enumerate().filter(|(_, sight)| view.shows(sight.fitted)) {
        residual(svg, sight, k + 1, view, times.residuals, crowd);
    }
    for (k, next) in moved.next.iter().take(NEXT_MOST).enumerate().filter(|(_, next)| view.shows(**next)) {
        diamond(svg, view.at(*next), k + 1);
    }
}

/// One ellipse, the tolerance as a dotted circle round it; a join has a dot in its middle.
fn ellipse(svg: &mut Svg, landing: &Landing, (x, y): At, px_per_mm: f64, tolerance_mm: f64) {
    let degrees = -landing.along.angle_rad().to_degrees();
    svg.line(format_args!(
        "<ellipse class=\"landing\" stroke-width=\"1.3\" rx=\"{}\" ry=\"{}\" transform=\"translate({} {}) rotate({})\"/>",
        px(landing.most_mm * px_per_mm),
        px((landing.least_mm * px_per_mm).max(0.4)),
        px(x),
        px(y),
        px(degrees)
    ));
    if landing.is_join {
        svg.line(format_args!(
            "<circle class=\"landing-join\" cx=\"{}\" cy=\"{}\" r=\"2.4\"/>",
            px(x),
            px(y)
        ));
        svg.line(format_args!(
            "<circle class=\"landing\" stroke-width=\"0.9\" stroke-dasharray=\"1.5 3\" cx=\"{}\" cy=\"{}\" r=\"{}\"/>",
            px(x),
            px(y),
            px(tolerance_mm * px_per_mm)
        ));
    }
}

/// A cross where the fit has a place, and from there a line to where it was found.
fn residual(svg: &mut Svg, sight: &Sight<'_>, number: usize, view: &View, times: f64, crowd: &mut Crowd) {
    let (x, y) = view.at(sight.fitted);
    let scale = times * view.px_per_mm;
    let tip = (x + sight.off.x * scale, y - sight.off.y * scale);
    cross(svg, (x, y));
    arrow(svg, (x, y), tip, sight.left_out);
    let text = format!("m{number}");
    let (width, height) = (text_width(&text, LABEL_PX) + 3.0, LABEL_PX + 1.0);
    let (aside, above) = (CROSS_PX + 3.0 + width / 2.0, CROSS_PX + 2.0 + height / 2.0);
    let places =
        [(aside, -above), (-aside, -above), (aside, above), (-aside, above), (0.0, -above), (0.0, above)];
    let near = places.map(|(dx, dy)| Patch::around((x + dx, y + dy), width, height));
    let patch = crowd.take_first(near).unwrap_or(near[0]);
    svg.line(format_args!(
        "<text class=\"sight-text halo middle bold\" x=\"{}\" y=\"{}\" style=\"font-size:{}px\">{text}</text>",
        px(f64::midpoint(patch.left, patch.right)),
        px(f64::midpoint(patch.top, patch.bottom) + LABEL_PX * 0.36),
        px(LABEL_PX)
    ));
}

/// Size of the numbers of measured places, in pixels.
const LABEL_PX: f64 = 11.0;

fn cross(svg: &mut Svg, (x, y): At) {
    let (left, top, size) = (px(x - CROSS_PX), px(y - CROSS_PX), px(2.0 * CROSS_PX));
    svg.line(format_args!(
        "<path class=\"line sight\" stroke-width=\"1.4\" d=\"M{left} {top}l{size} {size}m0-{size}l-{size} {size}\"/>"
    ));
}

/// The line of a residual with a dot at its end; broken, with an open ring, where the reading was left out.
fn arrow(svg: &mut Svg, (x, y): At, (tip_x, tip_y): At, left_out: bool) {
    let dash = if left_out { " stroke-dasharray=\"4 3\"" } else { "" };
    svg.line(format_args!(
        "<path class=\"line sight\" stroke-width=\"2\"{dash} d=\"M{} {}L{} {}\"/>",
        px(x),
        px(y),
        px(tip_x),
        px(tip_y)
    ));
    let class = if left_out { "sight-open" } else { "sight-dot" };
    let radius = if left_out { 3.6 } else { 2.6 };
    svg.line(format_args!(
        "<circle class=\"{class}\" stroke-width=\"1.4\" cx=\"{}\" cy=\"{}\" r=\"{}\"/>",
        px(tip_x),
        px(tip_y),
        px(radius)
    ));
}

/// The mark of a feature to measure next: a diamond with its number.
fn diamond(svg: &mut Svg, (x, y): At, number: usize) {
    svg.line(format_args!(
        "<path class=\"next\" stroke-width=\"1.6\" d=\"M{} {}l9 9-9 9-9-9z\"/>",
        px(x),
        px(y - 9.0)
    ));
    svg.line(format_args!(
        "<text class=\"sight-text middle bold\" x=\"{}\" y=\"{}\" style=\"font-size:10px\">{number}</text>",
        px(x),
        px(y + 3.6)
    ));
}

/// The old place for the legend.
pub(crate) fn lay_sample(svg: &mut Svg, (x, y): At) {
    svg.line(format_args!(
        "<rect class=\"line lay\" stroke-width=\"1.6\" stroke-dasharray=\"7 4\" x=\"{}\" y=\"{}\" width=\"34\" height=\"15\"/>",
        px(x),
        px(y - 7.5)
    ));
}

/// A residual for the legend.
pub(crate) fn residual_sample(svg: &mut Svg, (x, y): At, left_out: bool) {
    cross(svg, (x + 7.0, y));
    arrow(svg, (x + 7.0, y), (x + 29.0, y - 4.0), left_out);
}

/// An ellipse for the legend.
pub(crate) fn landing_sample(svg: &mut Svg, (x, y): At, is_join: bool) {
    let landing = Landing {
        at: Point::ORIGIN,
        most_mm: 12.0,
        least_mm: if is_join { 4.0 } else { 6.0 },
        along: Vector::new(0.966, 0.259),
        is_join,
    };
    ellipse(svg, &landing, (x + 17.0, y), 1.0, 11.0);
}

/// What to measure next for the legend.
pub(crate) fn next_sample(svg: &mut Svg, (x, y): At) {
    diamond(svg, (x + 17.0, y), 1);
}

#[cfg(test)]
mod tests {
    use super::round_below;

    #[test]
    fn enlargements_are_round() {
        for (room, times) in
            [(0.3, 1.0), (1.9, 1.0), (4.9, 2.0), (57.0, 50.0), (999.0, 500.0), (1000.0, 1000.0)]
        {
            assert!((round_below(room) - times).abs() < 1e-9, "{room}");
        }
    }
}
