//! A circular arc that keeps both its end points exactly.

use crate::{Bounds, Frame, Nearest, Placement, Point, Vector};
use std::f64::consts::{PI, TAU};

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

    fn fraction(&self, along_mm: f64) -> f64 {
        let length = self.length_mm();
        if length > 0.0 { (along_mm / length).clamp(0.0, 1.0) } else { 0.0 }
    }

    fn point_at_fraction(&self, t: f64) -> Point<F> {
        if t <= 0.0 {
            return self.from;
        }
        if t >= 1.0 {
            return self.to;
        }
        let start = self.from - self.center;
        let radius = start.length() * (1.0 - t) + self.center.distance(self.to) * t;
        let direction = start.unit().unwrap_or(Vector::new(1.0, 0.0)).rotated(self.sweep_rad * t);
        self.center + direction * radius
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

    /// Angle from the arc's beginning to direction `v`, measured the way the arc turns, in `0..TAU`.
    fn turn_to(&self, v: Vector<F>) -> f64 {
        let start = self.from - self.center;
        let turn = start.cross(v).atan2(start.dot(v));
        if self.is_ccw() { turn.rem_euclid(TAU) } else { (-turn).rem_euclid(TAU) }
    }

    /// The smallest box around it.
    #[must_use]
    pub fn bounds(&self) -> Bounds<F> {
        let radius = self.center.distance(self.from).max(self.center.distance(self.to));
        let axes = [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)];
        let reached = axes
            .into_iter()
            .map(|(x, y)| Vector::new(x, y))
            .filter(|axis| self.turn_to(*axis) <= self.sweep_rad.abs())
            .map(|axis| self.center + axis * radius);
        Bounds::around(reached.chain([self.from, self.to])).expect("both ends are there")
    }

    /// The point of it nearest to `p`.
    #[must_use]
    pub fn nearest(&self, p: Point<F>) -> Nearest<F> {
        let sweep = self.sweep_rad.abs();
        let t = if sweep > 0.0 {
            let turn = self.turn_to(p - self.center);
            if turn <= sweep {
                turn / sweep
            } else if turn - sweep < TAU - turn || p.distance(self.to) < p.distance(self.from) {
                if p.distance(self.to) <= p.distance(self.from) { 1.0 } else { 0.0 }
            } else {
                0.0
            }
        } else {
            0.0
        };
        let point = self.point_at_fraction(t);
        Nearest { along_mm: t * self.length_mm(), point, distance_mm: point.distance(p) }
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
        let step = (2.0 * ratio.acos()).clamp(1e-3, PI / 4.0);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "at most TAU / 1e-3 chords"
        )]
        let chords = (self.sweep_rad.abs() / step).ceil().max(1.0) as u32;
        for k in 1..=chords {
            out.push(self.point_at_fraction(f64::from(k) / f64::from(chords)));
        }
    }
}
