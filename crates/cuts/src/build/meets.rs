//! Where one curve meets another: crossings, touches, ends that lie on the other, within a tolerance.

use geometry::{Arc, Curve, Point, Program, Segment};
use std::f64::consts::TAU;

/// A place where two curves meet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Meet {
    /// How far along the first, in millimetres.
    pub(crate) on: f64,
    /// How far along the second, in millimetres.
    pub(crate) other: f64,
    /// How far apart they are there, in millimetres.
    pub(crate) gap: f64,
}

/// Calls `found` for each place where `a` and `b` meet: where they cross or touch, and where an end of one lies within
/// `tolerance_mm` of the other. Curves that run side by side meet at the ends of the stretch they share.
pub(crate) fn meets(a: &Curve<Program>, b: &Curve<Program>, tolerance_mm: f64, mut found: impl FnMut(Meet)) {
    crossings(a, b, tolerance_mm, &mut found);
    let mut end_of_a = |p: Point<Program>, on: f64| {
        let near = b.nearest(p);
        if near.distance_mm <= tolerance_mm {
            found(Meet { on, other: near.along_mm, gap: near.distance_mm });
        }
    };
    end_of_a(a.from(), 0.0);
    end_of_a(a.to(), a.length_mm());
    let mut end_of_b = |p: Point<Program>, other: f64| {
        let near = a.nearest(p);
        if near.distance_mm <= tolerance_mm {
            found(Meet { on: near.along_mm, other, gap: near.distance_mm });
        }
    };
    end_of_b(b.from(), 0.0);
    end_of_b(b.to(), b.length_mm());
}

fn crossings(a: &Curve<Program>, b: &Curve<Program>, tolerance_mm: f64, found: &mut impl FnMut(Meet)) {
    match (a, b) {
        (Curve::Segment(s), Curve::Segment(t)) => segments(s, t, found),
        (Curve::Segment(s), Curve::Arc(arc)) => segment_arc(s, arc, tolerance_mm, found),
        (Curve::Arc(arc), Curve::Segment(s)) => segment_arc(s, arc, tolerance_mm, &mut |meet: Meet| {
            found(Meet { on: meet.other, other: meet.on, gap: meet.gap });
        }),
        (Curve::Arc(p), Curve::Arc(q)) => arcs(p, q, tolerance_mm, found),
    }
}

fn segments(s: &Segment<Program>, t: &Segment<Program>, found: &mut impl FnMut(Meet)) {
    let (u, v, w) = (s.to - s.from, t.to - t.from, t.from - s.from);
    let cross = u.cross(v);
    if cross == 0.0 {
        return;
    }
    let (on, other) = (w.cross(v) / cross, w.cross(u) / cross);
    if (0.0..=1.0).contains(&on) && (0.0..=1.0).contains(&other) {
        found(Meet { on: on * u.length(), other: other * v.length(), gap: 0.0 });
    }
}

/// Crossings of the segment's line with the arc's circle; where it just misses the circle, the place of the smallest
/// gap.
fn segment_arc(s: &Segment<Program>, arc: &Arc<Program>, tolerance_mm: f64, found: &mut impl FnMut(Meet)) {
    let length = s.from.distance(s.to);
    let Some(direction) = (s.to - s.from).unit() else { return };
    let (foot, radius) = ((arc.center - s.from).dot(direction), arc.radius_mm());
    let off = direction.cross(arc.center - s.from).abs();
    if off > radius + tolerance_mm {
        return;
    }
    let half = (radius * radius - off * off).max(0.0).sqrt();
    for on in [foot - half, foot + half] {
        if !(0.0..=length).contains(&on) {
            continue;
        }
        let p = s.from + direction * on;
        if let Some(other) = along_arc(arc, p) {
            found(Meet { on, other, gap: (off - radius).max(0.0) });
        }
    }
}

/// Crossings of the two circles; where they just miss each other, the place of the smallest gap.
fn arcs(p: &Arc<Program>, q: &Arc<Program>, tolerance_mm: f64, found: &mut impl FnMut(Meet)) {
    let (r, s, apart) = (p.radius_mm(), q.radius_mm(), p.center.distance(q.center));
    let Some(direction) = (q.center - p.center).unit() else { return };
    let gap = (apart - (r + s)).max((r - s).abs() - apart).max(0.0);
    if gap > tolerance_mm || apart < tolerance_mm {
        return;
    }
    let foot = (apart * apart + r * r - s * s) / (2.0 * apart);
    let foot = foot.clamp(-r, r);
    let half = (r * r - foot * foot).max(0.0).sqrt();
    for side in [half, -half] {
        let at = p.center + direction * foot + direction.left() * side;
        if let (Some(on), Some(other)) = (along_arc(p, at), along_arc(q, at)) {
            found(Meet { on, other, gap });
        }
    }
}

/// How far along the arc the direction from its centre to `p` lies; none if the arc does not reach it.
fn along_arc(arc: &Arc<Program>, p: Point<Program>) -> Option<f64> {
    let (start, to, sweep) = (arc.from - arc.center, p - arc.center, arc.sweep_rad.abs());
    let turn = start.cross(to).atan2(start.dot(to)) * arc.sweep_rad.signum();
    let turn = turn.rem_euclid(TAU);
    (turn <= sweep).then(|| turn / sweep * arc.length_mm())
}

/// How far along `a`, from `from_mm` on, it stays within `tolerance_mm` of `b`; it is within there.
///
/// Exact for two segments: the distance to a segment is convex along a line. Arcs are looked at in places, which finds
/// where two of them part for good, not where they part and meet again in between.
pub(crate) fn stays_near(a: &Curve<Program>, from_mm: f64, b: &Curve<Program>, tolerance_mm: f64) -> f64 {
    let near = |at: f64| b.nearest(a.point_at(at)).distance_mm <= tolerance_mm;
    let mut inside = from_mm;
    for at in looks(a, from_mm, b) {
        if !near(at) {
            return last_near(near, inside, at);
        }
        inside = at;
    }
    inside
}

/// Whether [`stays_near`] reaches the end of `a`.
pub(crate) fn stays_near_all(
    a: &Curve<Program>,
    from_mm: f64,
    b: &Curve<Program>,
    tolerance_mm: f64,
) -> bool {
    looks(a, from_mm, b).rev().all(|at| b.nearest(a.point_at(at)).distance_mm <= tolerance_mm)
}

/// Places along `a` after `from_mm` at which it is looked at, its end the last.
fn looks(a: &Curve<Program>, from_mm: f64, b: &Curve<Program>) -> impl DoubleEndedIterator<Item = f64> {
    let length = a.length_mm();
    let count = if matches!((a, b), (Curve::Segment(_), Curve::Segment(_))) { 1 } else { ARC_LOOKS };
    (1..=count).map(move |look| from_mm + (length - from_mm) * f64::from(look) / f64::from(count))
}

/// Places at which an arc that runs along another curve is looked at: enough for arcs up to a full circle, since two
/// circles that are apart at none of eight places are as good as the same.
const ARC_LOOKS: u32 = 8;

fn last_near(near: impl Fn(f64) -> bool, mut inside: f64, mut outside: f64) -> f64 {
    while outside - inside > PART_MM {
        let middle = f64::midpoint(inside, outside);
        if near(middle) {
            inside = middle;
        } else {
            outside = middle;
        }
    }
    inside
}

/// How exactly the place is found at which two curves part, in millimetres: finer than any tolerance used with it.
const PART_MM: f64 = 1e-4;
