//! A circular arc that keeps both its end points exactly.

use crate::{Bounds, Frame, Nearest, Placement, Point, Vector};
use std::f64::consts::{FRAC_PI_2, FRAC_PI_4, TAU};

/// Rise of the radius for each millimetre along, above which the nearest point is refined. Seen from the centre, the
/// radial point is wrong by about half the square of this times the distance: 5e-9 of it here. Programs rounded to
/// three decimals stay far below, so that refining costs nothing in practice.
const SLOPE_REFINED_MIN: f64 = 1e-4;

/// Places tried before Newton's method where the radii at the ends differ much: enough that a spiral of one turn
/// from nothing to any radius is not caught in the wrong valley.
const REFINE_SAMPLES: u8 = 32;

/// Steps of Newton's method; it doubles the good digits each time, and starts with one or two.
const REFINE_STEPS: u8 = 8;

/// Smallest angle of a chord when flattening, in radians: bounds the points of one circle to 63,000 however small the
/// tolerance, and keeps 0.01 mm up to a radius of 8 m.
const CHORD_RAD_MIN: f64 = 1e-4;

/// A circular arc from `from` to `to` about `center`, turning by `sweep_rad` (positive counter-clockwise, at most a
/// full circle either way).
///
/// Both ends are kept as programmed. Where rounding in the program makes the two radii differ, the radius runs
/// linearly from one to the other, so that the arc meets its neighbours exactly.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Arc<F> {
    /// Where it begins.
    pub from: Point<F>,
    /// Where it ends.
    pub to: Point<F>,
    /// Centre of the circle.
    pub center: Point<F>,
    /// Angle turned, in radians; positive is counter-clockwise.
    pub sweep_rad: f64,
}

impl<F: Frame> Arc<F> {
    /// The arc between two points about a centre, `ccw` or clockwise. Ends closer together than
    /// [`crate::SAME_POINT_MM`] make a full circle.
    #[must_use]
    pub fn about(from: Point<F>, to: Point<F>, center: Point<F>, ccw: bool) -> Self {
        let sweep_rad = if from.distance(to) < crate::SAME_POINT_MM {
            if ccw { TAU } else { -TAU }
        } else {
            let turn = (to - center).angle_rad() - (from - center).angle_rad();
            if ccw { turn.rem_euclid(TAU) } else { -(-turn).rem_euclid(TAU) }
        };
        Self { from, to, center, sweep_rad }
    }

    /// The radius, mean of that at both ends, in millimetres.
    #[must_use]
    pub fn radius_mm(&self) -> f64 {
        f64::midpoint(self.center.distance(self.from), self.center.distance(self.to))
    }

    /// Its length in millimetres.
    #[must_use]
    pub fn length_mm(&self) -> f64 {
        self.radius_mm() * self.sweep_rad.abs()
    }

    /// Whether it turns counter-clockwise.
    #[must_use]
    pub fn is_ccw(&self) -> bool {
        self.sweep_rad > 0.0
    }

    /// The point `along_mm` from its beginning.
    #[must_use]
    pub fn point_at(&self, along_mm: f64) -> Point<F> {
        self.point_at_fraction(self.fraction(along_mm))
    }

    /// The direction of travel `along_mm` from its beginning; none for an arc without radius.
    #[must_use]
    pub fn tangent_at(&self, along_mm: f64) -> Option<Vector<F>> {
        let outward = (self.from - self.center).unit()?.rotated(self.sweep_rad * self.fraction(along_mm));
        Some(if self.is_ccw() { outward.left() } else { -outward.left() })
    }

    /// The piece from `from_mm` to `to_mm` along it.
    #[must_use]
    pub fn piece(&self, from_mm: f64, to_mm: f64) -> Self {
        let (a, b) = (self.fraction(from_mm), self.fraction(to_mm));
        Self {
            from: self.point_at_fraction(a),
            to: self.point_at_fraction(b),
            center: self.center,
            sweep_rad: self.sweep_rad * (b - a),
        }
    }

    /// The same arc run the other way.
    #[must_use]
    pub fn reversed(&self) -> Self {
        Self { from: self.to, to: self.from, center: self.center, sweep_rad: -self.sweep_rad }
    }

    /// The smallest box around it. Where the radii at its ends differ, the larger one counts.
    #[must_use]
    pub fn bounds(&self) -> Bounds<F> {
        let radius = self.center.distance(self.from).max(self.center.distance(self.to));
        let begin = (self.from - self.center).angle_rad();
        let (low, high) =
            if self.is_ccw() { (begin, begin + self.sweep_rad) } else { (begin + self.sweep_rad, begin) };
        let first = (low / FRAC_PI_2).ceil();
        let ends = Bounds::around([self.from, self.to]).expect("both ends are there");
        (0..=4u8)
            .map(|k| first + f64::from(k))
            .take_while(|quarter| quarter * FRAC_PI_2 <= high)
            .map(|quarter| self.center + axis(quarter) * radius)
            .fold(ends, |bounds, p| bounds.union(Bounds { min: p, max: p }))
    }

    /// The point of it nearest to `p`. From the centre all points are equally near; then it is the nearer end.
    ///
    /// **Accuracy**: exact for a true arc. Where the radii at the ends differ, the error is below a millionth of the
    /// distance.
    #[must_use]
    pub fn nearest(&self, p: Point<F>) -> Nearest<F> {
        // Lengths of the two radii cost more than all the rest, and each is wanted several times.
        let radii = [self.center.distance(self.from), self.center.distance(self.to)];
        let length_mm = f64::midpoint(radii[0], radii[1]) * self.sweep_rad.abs();
        let at = |t: f64, point: Point<F>| Nearest {
            along_mm: t * length_mm,
            point,
            distance_mm: point.distance(p),
        };
        let (first, last) = (at(0.0, self.from), at(1.0, self.to));
        let end = if last.distance_mm < first.distance_mm { last } else { first };
        // By how much it runs outward or inward for each millimetre along: 0 for a true arc.
        let slope = if length_mm > 0.0 { (radii[1] - radii[0]).abs() / length_mm } else { 0.0 };
        let facing = self.fraction_towards(p);
        let refined = if slope > SLOPE_REFINED_MIN { Some(self.refine_fraction(p)) } else { facing };
        let Some(t) = refined else { return end };
        let inner = at(t, self.point_between(t, radii));
        if inner.distance_mm < end.distance_mm { inner } else { end }
    }

    /// The arc carried into another frame.
    #[must_use]
    pub fn placed<G: Frame>(&self, placement: &Placement<F, G>) -> Arc<G> {
        Arc {
            from: placement.point(self.from),
            to: placement.point(self.to),
            center: placement.point(self.center),
            sweep_rad: self.sweep_rad,
        }
    }

    /// Points along it from its beginning (not included) to its end (included), no chord farther than
    /// `tolerance_mm` from the arc. Source: sagitta of a chord, r (1 - cos(angle / 2)).
    pub fn flatten_into(&self, tolerance_mm: f64, out: &mut Vec<Point<F>>) {
        let radius = self.radius_mm();
        let ratio = (1.0 - tolerance_mm / radius.max(tolerance_mm)).clamp(-1.0, 1.0);
        let step = (2.0 * ratio.acos()).clamp(CHORD_RAD_MIN, FRAC_PI_4);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "at most TAU / CHORD_RAD_MIN chords"
        )]
        let chords = (self.sweep_rad.abs() / step).ceil().max(1.0) as u32;
        for k in 1..=chords {
            out.push(self.point_at_fraction(f64::from(k) / f64::from(chords)));
        }
    }

    fn fraction(&self, along_mm: f64) -> f64 {
        let length = self.length_mm();
        if length > 0.0 { (along_mm / length).clamp(0.0, 1.0) } else { 0.0 }
    }

    fn point_at_fraction(&self, t: f64) -> Point<F> {
        self.point_between(t, [self.center.distance(self.from), self.center.distance(self.to)])
    }

    /// The same, the lengths of the radii at both ends being known.
    fn point_between(&self, t: f64, radii: [f64; 2]) -> Point<F> {
        if t <= 0.0 {
            return self.from;
        }
        if t >= 1.0 {
            return self.to;
        }
        let start = self.from - self.center;
        let direction = start.unit().unwrap_or(Vector::new(1.0, 0.0)).rotated(self.sweep_rad * t);
        self.center + direction * (radii[0] * (1.0 - t) + radii[1] * t)
    }

    /// The radius `t` of the way along, between those at its ends.
    pub(crate) fn radius_at_fraction(&self, t: f64) -> f64 {
        self.center.distance(self.from) * (1.0 - t) + self.center.distance(self.to) * t
    }

    /// How far along it, in 0..=1, it faces `p` as seen from the centre; none if it does not, or if there is no
    /// direction because `p` is the centre or the arc has no radius or no sweep.
    pub(crate) fn fraction_towards(&self, p: Point<F>) -> Option<f64> {
        let (start, v) = (self.from - self.center, p - self.center);
        let sweep = self.sweep_rad.abs();
        if sweep <= 0.0 || start.dot(start) <= 0.0 || v.dot(v) <= 0.0 {
            return None;
        }
        let turn = start.cross(v).atan2(start.dot(v));
        let turn = if self.is_ccw() { turn.rem_euclid(TAU) } else { (-turn).rem_euclid(TAU) };
        (turn <= sweep).then_some(turn / sweep)
    }

    /// The fraction at which the distance to `p` is least: the best of a few spread along it, then Newton's method on
    /// the squared distance.
    fn refine_fraction(&self, p: Point<F>) -> f64 {
        let distance = |t: &f64| self.point_at_fraction(*t).distance(p);
        let nearer = |a: &f64, b: &f64| distance(a).total_cmp(&distance(b));
        let spread = (0..=REFINE_SAMPLES).map(|k| f64::from(k) / f64::from(REFINE_SAMPLES));
        let mut best = spread.chain(self.fraction_towards(p)).min_by(nearer).unwrap_or(0.0);
        let rise = self.center.distance(self.to) - self.center.distance(self.from);
        for _ in 0..REFINE_STEPS {
            let out = self.point_at_fraction(best) - self.center;
            let Some(u) = out.unit() else { break };
            let (radius, side) = (out.length(), u.left() * self.sweep_rad);
            let off = self.center + out - p;
            let first = u * rise + side * radius;
            let second = side * (2.0 * rise) + u * (-radius * self.sweep_rad * self.sweep_rad);
            let curvature = first.dot(first) + off.dot(second);
            if curvature <= 0.0 {
                break;
            }
            let next = (best - off.dot(first) / curvature).clamp(0.0, 1.0);
            if distance(&next) >= distance(&best) {
                break;
            }
            best = next;
        }
        best
    }
}

/// The direction of the axis `quarter` quarter turns from X.
fn axis<F: Frame>(quarter: f64) -> Vector<F> {
    let quarter = quarter.rem_euclid(4.0);
    if quarter < 0.5 {
        Vector::new(1.0, 0.0)
    } else if quarter < 1.5 {
        Vector::new(0.0, 1.0)
    } else if quarter < 2.5 {
        Vector::new(-1.0, 0.0)
    } else {
        Vector::new(0.0, -1.0)
    }
}
