//! Where two curves meet, and how far apart they are where they do not.
//!
//! For lines and arcs every nearest pair is one of a few: a crossing, an end against the other curve, or a place
//! where both share a normal. All of them are worked out, and the smallest gap is the distance.

use crate::{Arc, Curve, Frame, Nearest, Point, Segment, Vector};

/// Curves nearer than this touch, in millimetres: what six-decimal inch programs lose in rounding (1.3e-5 mm) stays
/// of the same order, and it is a tenth of [`crate::SAME_POINT_MM`], so that a touch is never two places.
pub const TOUCH_MM: f64 = 1e-5;

/// Steps of Newton's method that bring a crossing of true circles onto arcs whose end radii differ a little.
const POLISH_STEPS: u8 = 6;

/// A place where two curves, or a path and itself, meet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crossing<F> {
    /// Distance along the one, in millimetres.
    pub along_mm: f64,
    /// Distance along the other, in millimetres.
    pub other_along_mm: f64,
    /// The place, on the one.
    pub point: Point<F>,
}

impl<F: Frame> Curve<F> {
    /// The place on this curve nearest to `other`, and how far `other` is from it; 0 if they meet.
    ///
    /// **Accuracy**: as [`Curve::nearest`].
    #[must_use]
    pub fn distance_to(&self, other: &Self) -> Nearest<F> {
        let mut best = Pair::from_point(0.0, self.from(), other);
        for_each_pair(self, other, |pair| {
            if pair.gap_mm < best.gap_mm {
                best = pair;
            }
        });
        Nearest { along_mm: best.along_mm, point: best.point, distance_mm: best.gap_mm }
    }

    /// Where this curve and `other` meet, ordered along this one. Ends that touch count; a stretch run by both is
    /// given by its two ends.
    ///
    /// **Accuracy**: places where the curves come within [`TOUCH_MM`]; two of them closer than
    /// [`crate::SAME_POINT_MM`] along both curves are one.
    #[must_use]
    pub fn crossings(&self, other: &Self) -> Vec<Crossing<F>> {
        let mut found: Vec<Crossing<F>> = Vec::new();
        if !self.bounds().grown(TOUCH_MM).meets(&other.bounds()) {
            return found;
        }
        for_each_pair(self, other, |pair| {
            let same = |seen: &Crossing<F>| {
                (seen.along_mm - pair.along_mm).abs() < crate::SAME_POINT_MM
                    && (seen.other_along_mm - pair.other_along_mm).abs() < crate::SAME_POINT_MM
            };
            if pair.gap_mm <= TOUCH_MM && !found.iter().any(same) {
                found.push(pair.crossing());
            }
        });
        sort_crossings(&mut found);
        found
    }
}

/// Orders crossings along the one, then along the other.
pub(crate) fn sort_crossings<F>(crossings: &mut [Crossing<F>]) {
    crossings.sort_by(|a, b| {
        a.along_mm.total_cmp(&b.along_mm).then(a.other_along_mm.total_cmp(&b.other_along_mm))
    });
}

/// A place on each of two curves.
#[derive(Clone, Copy)]
struct Pair<F> {
    along_mm: f64,
    other_along_mm: f64,
    point: Point<F>,
    gap_mm: f64,
}

impl<F: Frame> Pair<F> {
    fn crossing(self) -> Crossing<F> {
        Crossing { along_mm: self.along_mm, other_along_mm: self.other_along_mm, point: self.point }
    }

    /// The point `from` of `curve`, `along_mm` along it, and what of `other` is nearest.
    fn from_point(along_mm: f64, from: Point<F>, other: &Curve<F>) -> Self {
        let near = other.nearest(from);
        Self { along_mm, other_along_mm: near.along_mm, point: from, gap_mm: near.distance_mm }
    }

    /// What of `curve` is nearest to the point `from` of the other, `other_along_mm` along that.
    fn from_other(curve: &Curve<F>, other_along_mm: f64, from: Point<F>) -> Self {
        let near = curve.nearest(from);
        Self { along_mm: near.along_mm, other_along_mm, point: near.point, gap_mm: near.distance_mm }
    }
}

/// Hands over every pair of places that may be the nearest one: ends first, so that of equal pairs the ones at ends
/// are kept, exactly at the ends.
fn for_each_pair<F: Frame>(a: &Curve<F>, b: &Curve<F>, mut take: impl FnMut(Pair<F>)) {
    take(Pair::from_point(0.0, a.from(), b));
    take(Pair::from_point(a.length_mm(), a.to(), b));
    take(Pair::from_other(a, 0.0, b.from()));
    take(Pair::from_other(a, b.length_mm(), b.to()));
    match (a, b) {
        (Curve::Segment(s), Curve::Segment(t)) => {
            if let Some(p) = lines_cross(s, t) {
                take(Pair::from_point(s.from.distance(p), p, b));
            }
        }
        (Curve::Segment(s), Curve::Arc(arc)) => line_meets_circle(s, arc, |p| take(polished(a, b, p))),
        (Curve::Arc(arc), Curve::Segment(s)) => line_meets_circle(s, arc, |p| take(polished(a, b, p))),
        (Curve::Arc(s), Curve::Arc(t)) => {
            circles_meet(s, t, |p| take(polished(a, b, p)));
            facing_places(s, t, |p| take(polished(a, b, p)));
        }
    }
}

/// The pair at `p`, a place near both curves, moved to where the tangents there cross as long as that closes the gap.
fn polished<F: Frame>(a: &Curve<F>, b: &Curve<F>, p: Point<F>) -> Pair<F> {
    let on_a = a.nearest(p);
    let mut best = Pair::from_point(on_a.along_mm, on_a.point, b);
    for _ in 0..POLISH_STEPS {
        let Some(next) = tangents_cross(a, b, &best) else { break };
        let on_a = a.nearest(next);
        let pair = Pair::from_point(on_a.along_mm, on_a.point, b);
        if pair.gap_mm >= best.gap_mm {
            break;
        }
        best = pair;
    }
    best
}

fn tangents_cross<F: Frame>(a: &Curve<F>, b: &Curve<F>, at: &Pair<F>) -> Option<Point<F>> {
    if at.gap_mm <= 0.0 {
        return None;
    }
    let (along_a, along_b) = (a.tangent_at(at.along_mm)?, b.tangent_at(at.other_along_mm)?);
    let denominator = along_a.cross(along_b);
    let step = (b.point_at(at.other_along_mm) - at.point).cross(along_b) / denominator;
    step.is_finite().then(|| at.point + along_a * step)
}

/// Where two segments cross; none if they are parallel or miss each other.
fn lines_cross<F: Frame>(s: &Segment<F>, t: &Segment<F>) -> Option<Point<F>> {
    let (along_s, along_t, apart) = (s.to - s.from, t.to - t.from, t.from - s.from);
    let denominator = along_s.cross(along_t);
    let (at_s, at_t) = (apart.cross(along_t) / denominator, apart.cross(along_s) / denominator);
    ((0.0..=1.0).contains(&at_s) && (0.0..=1.0).contains(&at_t)).then(|| s.from.lerp(s.to, at_s))
}

/// Where the segment's line meets the arc's circle, and where it comes nearest to the centre.
fn line_meets_circle<F: Frame>(s: &Segment<F>, arc: &Arc<F>, mut take: impl FnMut(Point<F>)) {
    let Some(along) = (s.to - s.from).unit() else { return };
    let foot = s.from + along * (arc.center - s.from).dot(along);
    take(foot);
    let (radius, away) = (arc.radius_mm(), foot.distance(arc.center));
    let half_chord = ((radius - away) * (radius + away)).max(0.0).sqrt();
    if half_chord > 0.0 {
        take(foot + along * half_chord);
        take(foot + along * -half_chord);
    }
}

/// Where the circles of two arcs meet.
fn circles_meet<F: Frame>(s: &Arc<F>, t: &Arc<F>, mut take: impl FnMut(Point<F>)) {
    let (r, q) = (s.radius_mm(), t.radius_mm());
    let apart = s.center.distance(t.center);
    let Some(across) = (t.center - s.center).unit() else { return };
    let foot = (apart * apart + (r - q) * (r + q)) / (2.0 * apart);
    let half_chord = ((r - foot) * (r + foot)).max(0.0).sqrt();
    if half_chord > 0.0 {
        take(s.center + across * foot + across.left() * half_chord);
        take(s.center + across * foot + across.left() * -half_chord);
    }
}

/// Places of both arcs on the line through their centres: there they share a normal.
fn facing_places<F: Frame>(s: &Arc<F>, t: &Arc<F>, mut take: impl FnMut(Point<F>)) {
    let Some(across): Option<Vector<F>> = (t.center - s.center).unit() else { return };
    for arc in [s, t] {
        take(arc.center + across * arc.radius_mm());
        take(arc.center + across * -arc.radius_mm());
    }
}
