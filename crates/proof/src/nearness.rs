//! How far one curve strays from another: bounds that are never too small.

use crate::tolerance::PATH_MM;
use geometry::{Arc, Curve, Point, Program, SAME_POINT_MM, Segment};
use std::f64::consts::TAU;

/// A bound on the distance from any point of `a` to `b`, in millimetres: never less than the true one. Infinite where
/// no bound is known: where `a` runs past the ends of `b`, or arcs lie farther apart than [`PATH_MM`].
///
/// **Accuracy**: exact for two segments; for arcs that lie along each other exact but for the difference of the radii
/// at their ends.
pub(crate) fn strays_mm(a: &Curve<Program>, b: &Curve<Program>) -> f64 {
    let ends = b.nearest(a.from()).distance_mm.max(b.nearest(a.to()).distance_mm);
    match (a, b) {
        // Distance to a convex set is a convex function along a line, so it is greatest at an end.
        (Curve::Segment(_), Curve::Segment(_)) => ends,
        // The arc lies within its sagitta of its chord, and the chord is as above.
        (Curve::Arc(arc), Curve::Segment(_)) => ends + sagitta_mm(arc),
        (Curve::Segment(segment), Curve::Arc(arc)) => ends.max(segment_from_arc_mm(segment, arc)),
        (Curve::Arc(arc), Curve::Arc(other)) => ends.max(arc_from_arc_mm(arc, other)),
    }
}

/// Whether all of an arc's circle lies farther than `reach_mm` from `p`, and with it the arc: told at a fraction of what
/// its nearest point costs. Says nothing of segments, whose nearest point is cheap.
pub(crate) fn off_circle(curve: &Curve<Program>, p: Point<Program>, reach_mm: f64) -> bool {
    let Curve::Arc(arc) = curve else { return false };
    let (from, to) = (arc.center.distance(arc.from), arc.center.distance(arc.to));
    let out = arc.center.distance(p);
    let reach = reach_mm + SAME_POINT_MM;
    out > from.max(to) + reach || out < from.min(to) - reach
}

/// Whether `a` runs along `b` in the same direction, judged at its middle. Meant for curves that lie along each other.
pub(crate) fn same_way(a: &Curve<Program>, b: &Curve<Program>) -> bool {
    let middle = a.length_mm() / 2.0;
    let near = b.nearest(a.point_at(middle));
    match (a.tangent_at(middle), b.tangent_at(near.along_mm)) {
        (Some(a), Some(b)) => a.dot(b) > 0.0,
        _ => true,
    }
}

/// Height of the arc over its chord; over half a turn the chord says nothing, and there is no bound.
fn sagitta_mm(arc: &Arc<Program>) -> f64 {
    let half = arc.sweep_rad.abs() / 2.0;
    let uneven = (arc.center.distance(arc.from) - arc.center.distance(arc.to)).abs();
    if half > TAU / 4.0 { f64::INFINITY } else { arc.radius_mm() * (1.0 - half.cos()) + uneven }
}

/// Bound on the distance from a segment's points to `arc`, where they lie over it and near it.
fn segment_from_arc_mm(segment: &Segment<Program>, arc: &Arc<Program>) -> f64 {
    let foot = Curve::Segment(*segment).nearest(arc.center).point;
    let off = |p: Point<Program>| (p.distance(arc.center) - arc.radius_mm()).abs();
    let worst = off(segment.from).max(off(segment.to)).max(off(foot)) + uneven_mm(arc);
    let turn = turn_rad(arc.center, segment.from, segment.to);
    if worst <= PATH_MM && spans(arc, segment.from, turn) { worst } else { f64::INFINITY }
}

/// Bound on the distance from an arc's points to another arc, where they lie over it and near it. The distance of a
/// circle's points from another circle is greatest at an end or on the line through both centres.
fn arc_from_arc_mm(a: &Arc<Program>, b: &Arc<Program>) -> f64 {
    let off = |p: Point<Program>| (p.distance(b.center) - b.radius_mm()).abs();
    let through = (b.center - a.center).unit();
    let extremes =
        through.into_iter().flat_map(|unit| [unit, -unit]).map(|unit| a.center + unit * a.radius_mm());
    let reached = extremes.filter(|p| reaches(a, *p));
    let worst = reached.chain([a.from, a.to]).map(off).fold(0.0, f64::max) + uneven_mm(a) + uneven_mm(b);
    // Seen from the other centre it turns by about as much, whole turns included.
    let seen = turn_rad(b.center, a.from, a.to);
    let turn = seen + TAU * ((a.sweep_rad - seen) / TAU).round();
    if worst <= PATH_MM && spans(b, a.from, turn) { worst } else { f64::INFINITY }
}

/// Whether the circle's point `p` lies on the arc.
fn reaches(arc: &Arc<Program>, p: Point<Program>) -> bool {
    turn_from_start(arc, p) <= arc.sweep_rad.abs()
}

/// Turn from the arc's beginning to the direction of `p`, the way the arc turns, in `0..TAU`.
fn turn_from_start(arc: &Arc<Program>, p: Point<Program>) -> f64 {
    (turn_rad(arc.center, arc.from, p) * arc.sweep_rad.signum()).rem_euclid(TAU)
}

/// Whether a turn by `turn_rad` that begins at the direction of `from` stays within the arc's own turn, but for
/// places that are as good as its ends: [`PATH_MM`] along the arc, which is what the distance of the ends then shows.
fn spans(arc: &Arc<Program>, from: Point<Program>, turn_rad: f64) -> bool {
    let slack = PATH_MM / arc.radius_mm().max(SAME_POINT_MM);
    let sweep = arc.sweep_rad.abs();
    if sweep + slack >= TAU {
        return true;
    }
    let begins = turn_from_start(arc, from);
    let begins = if begins > TAU - slack { begins - TAU } else { begins };
    let ends = begins + turn_rad * arc.sweep_rad.signum();
    let within = |at: f64| -slack <= at && at <= sweep + slack;
    within(begins) && within(ends)
}

/// The smaller turn about `center` that carries `from` to `to`, positive counter-clockwise.
fn turn_rad(center: Point<Program>, from: Point<Program>, to: Point<Program>) -> f64 {
    let (a, b) = (from - center, to - center);
    a.cross(b).atan2(a.dot(b))
}

/// How far the radii at both ends lie from their mean.
fn uneven_mm(arc: &Arc<Program>) -> f64 {
    (arc.center.distance(arc.from) - arc.center.distance(arc.to)).abs() / 2.0
}

#[cfg(test)]
mod tests;
