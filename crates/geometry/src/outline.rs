//! The rings around everything within a distance of a path.
//!
//! A ring runs along the path's right side, round its end, back along its left side and round its beginning: right
//! normals turn counter-clockwise into left ones. On the outer side of a corner it follows the circle about the
//! corner; on the inner side it goes straight across. Such a ring turns round a point as many times as there are
//! separate stretches of the path within the distance of it, and round a few points near inner corners once more, but
//! never less; so the points with positive winding number are exactly those within the distance. Source: the winding
//! number of a convolution of a curve with a disc counts the pieces they have in common (Guibas, Ramshaw and Stolfi,
//! "A kinetic framework for computational geometry", 1983); going straight across an inner corner instead of back
//! along the circle only adds to it. Where two lines meet at so small an angle that their sides may simply be
//! lengthened to meet, they are: flattened curves then give rings without a loop at each corner, which halves the work
//! of an overlay.

use crate::{Curve, Frame, Path, Point, Vector};
use std::f64::consts::{FRAC_PI_4, PI};

/// A closed ring of points in millimetres, the first not repeated.
pub(crate) type Ring = Vec<[f64; 2]>;

/// Points nearer than this are one when a ring is built, in millimetres: they come from tangent joints, and an edge
/// between them would have no direction worth keeping.
const SAME_CORNER_MM: f64 = 1e-9;

/// Smallest angle of a chord, in radians, as for flattening arcs.
const CHORD_RAD_MIN: f64 = 1e-4;

/// Hands over the rings around everything within `radius_mm` of `path`, arcs flattened at `tolerance_mm`.
pub(crate) fn stroke_rings<F: Frame>(
    path: &Path<F>,
    radius_mm: f64,
    tolerance_mm: f64,
    mut take: impl FnMut(Ring),
) {
    if radius_mm <= 0.0 {
        return;
    }
    let mut sides = Sides::new(radius_mm, tolerance_mm);
    for curve in path.curves() {
        sides.follow(curve);
    }
    let (Some(from), Some(to)) = (path.from(), path.to()) else { return };
    let (Some((begin, first)), Some((end, last))) = (sides.begin, sides.end) else {
        return take(disc(from, radius_mm, tolerance_mm));
    };
    if from.distance(to) < crate::SAME_POINT_MM && is_wider_than(path, 2.0 * radius_mm) {
        sides.turn_at(begin, first);
        sides.left.reverse();
        take(sides.right);
        take(sides.left);
    } else {
        let mut ring = std::mem::take(&mut sides.right);
        sides.fan(&mut ring, end, last, PI);
        ring.extend(sides.left.iter().rev());
        sides.fan(&mut ring, begin, -first, PI);
        take(ring);
    }
}

/// Whether the path cannot lie within one disc of this diameter. If it can, and is closed, two rings without ends
/// would cancel out in the middle.
fn is_wider_than<F: Frame>(path: &Path<F>, diameter_mm: f64) -> bool {
    path.bounds().is_some_and(|b| (b.max.x - b.min.x).max(b.max.y - b.min.y) > diameter_mm)
}

fn disc<F: Frame>(center: Point<F>, radius_mm: f64, tolerance_mm: f64) -> Ring {
    let sides = Sides::new(radius_mm, tolerance_mm);
    let mut ring = Ring::new();
    let east = Vector::new(1.0, 0.0);
    for half in [east, -east] {
        push(&mut ring, center + half * radius_mm);
        sides.fan(&mut ring, center, half, PI);
    }
    ring
}

/// Both sides of a path, growing as the path is followed.
struct Sides<F> {
    radius_mm: f64,
    tolerance_mm: f64,
    right: Ring,
    left: Ring,
    /// Length of the curve followed last, if it was a line.
    line_mm: Option<f64>,
    /// Where the path begins, and its right normal there.
    begin: Option<(Point<F>, Vector<F>)>,
    /// Where it ends so far, and its right normal there.
    end: Option<(Point<F>, Vector<F>)>,
}

impl<F: Frame> Sides<F> {
    fn new(radius_mm: f64, tolerance_mm: f64) -> Self {
        Self {
            radius_mm,
            tolerance_mm,
            right: Ring::new(),
            left: Ring::new(),
            line_mm: None,
            begin: None,
            end: None,
        }
    }

    /// Goes along `curve`; one without length has no direction and is passed over.
    fn follow(&mut self, curve: &Curve<F>) {
        let length = curve.length_mm();
        let (Some(first), Some(last)) = (curve.tangent_at(0.0), curve.tangent_at(length)) else { return };
        if length <= 0.0 {
            return;
        }
        let line_mm = matches!(curve, Curve::Segment(_)).then_some(length);
        if !self.mitre_at(curve.from(), -first.left(), line_mm) {
            self.turn_at(curve.from(), -first.left());
            self.pass(curve.from(), -first.left());
        }
        self.line_mm = line_mm;
        if let Curve::Arc(arc) = curve {
            let chords = self.chords(arc.radius_mm() + self.radius_mm, arc.sweep_rad.abs());
            for k in 1..chords {
                let along = length * f64::from(k) / f64::from(chords);
                if let Some(tangent) = arc.tangent_at(along) {
                    self.pass(arc.point_at(along), -tangent.left());
                }
            }
        }
        self.pass(curve.to(), -last.left());
    }

    /// Adds the points on both sides of `p`, where the path's right normal is `normal`.
    fn pass(&mut self, p: Point<F>, normal: Vector<F>) {
        push(&mut self.right, p + normal * self.radius_mm);
        push(&mut self.left, p - normal * self.radius_mm);
        self.begin.get_or_insert((p, normal));
        self.end = Some((p, normal));
    }

    /// Lets the sides of two lines meet at `p`, where the right normal turns to `normal`, if they hardly turn and are
    /// long enough. Says whether it did.
    fn mitre_at(&mut self, p: Point<F>, normal: Vector<F>, line_mm: Option<f64>) -> bool {
        let (Some(before_mm), Some(after_mm), Some((_, before))) = (self.line_mm, line_mm, self.end) else {
            return false;
        };
        let cos = before.dot(normal);
        let Some(middle) = (before + normal).unit().filter(|_| cos > 0.5) else { return false };
        let cos_half = middle.dot(normal);
        let excess_mm = self.radius_mm * (1.0 / cos_half - 1.0);
        let shift_mm = self.radius_mm * (1.0 - cos_half * cos_half).max(0.0).sqrt() / cos_half;
        // Half of each line is left for the corner at its other end.
        if excess_mm > self.tolerance_mm || 2.0 * shift_mm > before_mm.min(after_mm) {
            return false;
        }
        let by = middle * (self.radius_mm / cos_half);
        self.right.pop();
        self.left.pop();
        push(&mut self.right, p + by);
        push(&mut self.left, p - by);
        self.end = Some((p, normal));
        true
    }

    /// Rounds the corner at `p` on its outer side, from the normal so far to `normal`.
    fn turn_at(&mut self, p: Point<F>, normal: Vector<F>) {
        let Some((_, before)) = self.end else { return };
        let turn = before.cross(normal).atan2(before.dot(normal));
        if turn > 0.0 {
            let mut right = std::mem::take(&mut self.right);
            self.fan(&mut right, p, before, turn);
            self.right = right;
        } else {
            let mut left = std::mem::take(&mut self.left);
            self.fan(&mut left, p, -before, turn);
            self.left = left;
        }
    }

    /// Adds the points of a circle about `p` strictly between the direction `from` and `turn_rad` farther.
    fn fan(&self, ring: &mut Ring, p: Point<F>, from: Vector<F>, turn_rad: f64) {
        let chords = self.chords(self.radius_mm, turn_rad.abs());
        for k in 1..chords {
            let angle = turn_rad * f64::from(k) / f64::from(chords);
            push(ring, p + from.rotated(angle) * self.radius_mm);
        }
    }

    /// How many chords an arc of this radius and angle needs. Source: sagitta of a chord, r (1 - cos(angle / 2)).
    fn chords(&self, radius_mm: f64, angle_rad: f64) -> u32 {
        let ratio = (1.0 - self.tolerance_mm / radius_mm.max(self.tolerance_mm)).clamp(-1.0, 1.0);
        let step = (2.0 * ratio.acos()).clamp(CHORD_RAD_MIN, FRAC_PI_4);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "at most TAU / CHORD_RAD_MIN chords"
        )]
        {
            (angle_rad / step).ceil().max(1.0) as u32
        }
    }
}

fn push<F: Frame>(ring: &mut Ring, p: Point<F>) {
    let same = |[x, y]: &[f64; 2]| (x - p.x).abs() <= SAME_CORNER_MM && (y - p.y).abs() <= SAME_CORNER_MM;
    if !ring.last().is_some_and(same) {
        ring.push([p.x, p.y]);
    }
}
