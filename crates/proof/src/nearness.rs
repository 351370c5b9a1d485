//! How far one curve strays from another: bounds that are never too small.

use geometry::{Arc, Curve, Point, Program, SAME_POINT_MM, Segment};
use std::f64::consts::TAU;

/// A bound on the distance from any point of `a` to `b`, in millimetres: never less than the true one; infinite
/// where `a` runs past the ends of `b` so far that no bound is known.
///
/// **Accuracy**: exact for two segments; for arcs exact but for the difference of the radii at their ends.
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

/// Bound on the distance from a segment's points to the circle of `arc`, where both its ends lie over the arc.
fn segment_from_arc_mm(segment: &Segment<Program>, arc: &Arc<Program>) -> f64 {
    let uneven = uneven_mm(arc);
    let foot = Curve::Segment(*segment).nearest(arc.center).point;
    let off = |p: Point<Program>| (p.distance(arc.center) - arc.radius_mm()).abs() + uneven;
    let (from, to) = (segment.from, segment.to);
    let turn = turn_rad(arc.center, from, to);
    let slack = slack_rad(arc);
    if !spans(arc, from, turn, slack) {
        return f64::INFINITY;
    }
    off(from).max(off(to)).max(off(foot))
}

/// Bound on the distance from an arc's points to another arc, where the first lies over the second. The distance of a
/// circle's points from another circle is greatest at an end or on the line through both centres.
fn arc_from_arc_mm(a: &Arc<Program>, b: &Arc<Program>) -> f64 {
    let apart = a.center.distance(b.center);
    let slack = slack_rad(b) + apart / b.radius_mm().max(SAME_POINT_MM);
    if !spans(b, a.from, a.sweep_rad, slack) {
        return f64::INFINITY;
    }
    let off = |p: Point<Program>| (p.distance(b.center) - b.radius_mm()).abs();
    let through = (b.center - a.center).unit();
    let extremes =
        through.into_iter().flat_map(|unit| [unit, -unit]).map(|unit| a.center + unit * a.radius_mm());
    let reached = extremes.filter(|p| spans(a, *p, 0.0, 0.0));
    let worst = reached.chain([a.from, a.to]).map(off).fold(0.0, f64::max);
    worst + uneven_mm(a) + uneven_mm(b)
}

/// Whether a turn by `turn_rad` that begins at the direction of `from` stays within the arc's own turn.
fn spans(arc: &Arc<Program>, from: Point<Program>, turn_rad: f64, slack_rad: f64) -> bool {
    let sweep = arc.sweep_rad.abs();
    let sign = arc.sweep_rad.signum();
    let begins = (turn_rad_ccw(arc.center, arc.from, from) * sign).rem_euclid(TAU);
    let begins = if begins > TAU - slack_rad { begins - TAU } else { begins };
    let ends = begins + turn_rad * sign;
    if sweep + slack_rad >= TAU {
        return true;
    }
    let within = |at: f64| -slack_rad <= at && at <= sweep + slack_rad;
    within(begins) && within(ends)
}

/// The smaller turn about `center` that carries `from` to `to`, positive counter-clockwise.
fn turn_rad(center: Point<Program>, from: Point<Program>, to: Point<Program>) -> f64 {
    let (a, b) = (from - center, to - center);
    a.cross(b).atan2(a.dot(b))
}

fn turn_rad_ccw(center: Point<Program>, from: Point<Program>, to: Point<Program>) -> f64 {
    turn_rad(center, from, to).rem_euclid(TAU)
}

/// Angle that two points which count as the same may make at this arc's radius.
fn slack_rad(arc: &Arc<Program>) -> f64 {
    crate::tolerance::PATH_MM / arc.radius_mm().max(SAME_POINT_MM)
}

/// How far the radii at both ends lie from their mean.
fn uneven_mm(arc: &Arc<Program>) -> f64 {
    (arc.center.distance(arc.from) - arc.center.distance(arc.to)).abs() / 2.0
}
