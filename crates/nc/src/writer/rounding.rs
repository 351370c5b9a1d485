//! How an arc is rounded to writable places so that it stays the arc it was.
//!
//! Rounding an end moves it by up to 0.71 of a last decimal, and the radii at both ends then differ by up to twice
//! that; a control refuses an arc whose radii differ by more than its tolerance. The centre is therefore chosen among
//! the writable places around the true one. Where none will do, the arc is halved, and what is too short to be an
//! arc on this grid becomes a straight line or nothing. Every piece that is given back has been read as a control
//! reads it (turn, radii, whole circle or next to nothing) and compared with the true arc.

use crate::ArcCenters;
use geometry::{Arc, Point, Program, Vector};
use std::f64::consts::{PI, TAU};

/// The places that can be written.
#[derive(Clone, Copy, Debug)]
pub(super) struct Grid {
    /// One last decimal in millimetres.
    pub(super) step_mm: f64,
    /// A place on it.
    pub(super) zero: Point<Program>,
    /// What centres are counted from.
    pub(super) centers: ArcCenters,
}

/// What is to be written for a piece of an arc; all places lie on the grid.
#[derive(Clone, Copy, Debug)]
pub(super) enum Piece {
    Straight(Point<Program>),
    Circular { to: Point<Program>, center: Point<Program>, ccw: bool },
}

/// Share of the arc tolerance that is used up: a control that computes in single precision keeps a tenth to spare
/// on coordinates of some metres.
const TOLERANCE_SHARE: f64 = 0.9;

/// Into how many steps an arc is cut to see how far it strays: a shifted centre moves the circle by a sine of the
/// angle, which sixteen steps a turn follow to [`BETWEEN_SAMPLES`] of the shift.
const SAMPLES: u32 = 16;

/// 1 - cos(pi / 16): what the sine may rise between two samples.
const BETWEEN_SAMPLES: f64 = 0.0193;

/// How often an arc is halved at most; a circle in 2^20 pieces is finer than any grid it fits on.
const HALVINGS_MAX: u32 = 20;

/// How far from the true arc, in last decimals, rounding alone may move a point: half the diagonal of a cell, with
/// room for arithmetic noise.
const HALF_DIAGONAL: f64 = 0.708;

/// How much the turned angle may differ, in last decimals of arc length at the radius: both ends move by up to half
/// a diagonal and the centre by a whole one. Past it the control would turn another way round than the true arc.
const TURN_STEPS: f64 = 4.0;

/// Ends of an arc closer together than this, yet apart, are not written: one reader takes them for a whole circle,
/// another for next to nothing. Twice the distance below which two points are the same point here.
const ENDS_APART_MM: f64 = 2.0 * geometry::SAME_POINT_MM;

/// Arcs at least this near a whole turn become a whole circle where their ends round to one place.
const WHOLE_TURN_FROM_RAD: f64 = PI;

impl Grid {
    /// The writable place nearest to `p`.
    pub(super) fn snap(&self, p: Point<Program>) -> Point<Program> {
        self.snap_from(self.zero, p)
    }

    /// Whether two places on the grid are the same.
    pub(super) fn same(&self, a: Point<Program>, b: Point<Program>) -> bool {
        (a.x - b.x).abs() < self.step_mm / 2.0 && (a.y - b.y).abs() < self.step_mm / 2.0
    }

    fn snap_from(&self, zero: Point<Program>, p: Point<Program>) -> Point<Program> {
        let snapped = |value: f64, zero: f64| zero + ((value - zero) / self.step_mm).round() * self.step_mm;
        Point::new(snapped(p.x, zero.x), snapped(p.y, zero.y))
    }

    /// What centres of arcs that begin at `from` are counted from.
    fn center_zero(&self, from: Point<Program>) -> Point<Program> {
        match self.centers {
            ArcCenters::FromStart => from,
            ArcCenters::Absolute => Point::ORIGIN,
        }
    }
}

/// The pieces in which `arc` is written from `at`, where the torch stands.
pub(super) fn pieces(arc: &Arc<Program>, at: Point<Program>, grid: &Grid, tolerance_mm: f64) -> Vec<Piece> {
    let mut rounder = Rounder { grid, tolerance_mm, at, pieces: Vec::with_capacity(1) };
    rounder.write(arc, HALVINGS_MAX);
    rounder.pieces
}

struct Rounder<'g> {
    grid: &'g Grid,
    tolerance_mm: f64,
    at: Point<Program>,
    pieces: Vec<Piece>,
}

impl Rounder<'_> {
    fn write(&mut self, arc: &Arc<Program>, halvings: u32) {
        let to = self.grid.snap(arc.to);
        let closes = self.grid.same(self.at, to);
        let short = arc.sweep_rad.abs() < WHOLE_TURN_FROM_RAD || arc.radius_mm() < self.grid.step_mm;
        if closes && short && sagitta_mm(arc) <= self.line_limit_mm() {
            return;
        }
        if let Some(center) = self.best_center(arc, to) {
            self.pieces.push(Piece::Circular { to, center, ccw: arc.is_ccw() });
            self.at = to;
        } else if halvings == 0 || sagitta_mm(arc) <= self.line_limit_mm() {
            self.pieces.push(Piece::Straight(to));
            self.at = to;
        } else {
            let length = arc.length_mm();
            self.write(&arc.piece(0.0, length / 2.0), halvings - 1);
            self.write(&arc.piece(length / 2.0, length), halvings - 1);
        }
    }

    /// Below this bulge a straight line will do. A tenth of a last decimal at least, so that a table with no
    /// tolerance at all still gets a program of finite length.
    fn line_limit_mm(&self) -> f64 {
        self.tolerance_mm.max(self.grid.step_mm / 10.0)
    }

    /// The writable centre that keeps the arc best, if one keeps it well enough.
    fn best_center(&self, arc: &Arc<Program>, to: Point<Program>) -> Option<Point<Program>> {
        if !self.grid.same(self.at, to) && self.at.distance(to) < ENDS_APART_MM {
            return None;
        }
        let zero = self.grid.center_zero(self.at);
        let nearest = self.grid.snap_from(zero, arc.center);
        if self.easily_kept(arc, to, nearest) {
            return Some(nearest);
        }
        let around = (-1..=1).flat_map(|i| (-1..=1).map(move |j| (f64::from(i), f64::from(j))));
        around
            .map(|(i, j)| nearest + Vector::new(i, j) * self.grid.step_mm)
            .filter_map(|center| Some((self.off_mm(arc, to, center)?, center)))
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .map(|(_, center)| center)
    }

    /// A quick sufficient test on bounds alone, for the common case of a tolerance of many last decimals.
    fn easily_kept(&self, arc: &Arc<Program>, to: Point<Program>, center: Point<Program>) -> bool {
        let moved = center.distance(arc.center);
        let [start, end] = [self.at.distance(center), to.distance(center)];
        let off =
            (start - arc.center.distance(arc.from)).abs().max((end - arc.center.distance(arc.to)).abs());
        (start - end).abs() <= self.tolerance_mm / 2.0
            && moved + off <= self.allowed_mm() / 2.0
            && self.turns_alike(arc, to, center)
    }

    /// How far the arc as read strays from the true one, radii weighed in; none if it is refused or too far.
    fn off_mm(&self, arc: &Arc<Program>, to: Point<Program>, center: Point<Program>) -> Option<f64> {
        let mismatch = (self.at.distance(center) - to.distance(center)).abs();
        if mismatch > self.tolerance_mm * TOLERANCE_SHARE || !self.turns_alike(arc, to, center) {
            return None;
        }
        let read = Arc { from: self.at, to, center, sweep_rad: self.sweep_as_read(arc, to, center) };
        let (length, radii) =
            (read.length_mm(), [arc.center.distance(arc.from), arc.center.distance(arc.to)]);
        let off = (0..=SAMPLES)
            .map(|k| f64::from(k) / f64::from(SAMPLES))
            .map(|t| {
                let true_radius = radii[0] + (radii[1] - radii[0]) * t;
                (read.point_at(length * t).distance(arc.center) - true_radius).abs()
            })
            .fold(0.0, f64::max)
            + center.distance(arc.center) * BETWEEN_SAMPLES;
        (off <= self.allowed_mm()).then_some(off + mismatch)
    }

    fn allowed_mm(&self) -> f64 {
        HALF_DIAGONAL * self.grid.step_mm + self.tolerance_mm
    }

    /// Whether a control turns by the true angle, neither a whole circle for next to nothing nor the reverse.
    fn turns_alike(&self, arc: &Arc<Program>, to: Point<Program>, center: Point<Program>) -> bool {
        let radius = self.at.distance(center);
        if radius < self.grid.step_mm / 2.0 {
            return false;
        }
        let turn_off = (self.sweep_as_read(arc, to, center) - arc.sweep_rad).abs();
        turn_off * radius.min(arc.radius_mm()) <= TURN_STEPS * self.grid.step_mm && turn_off < PI
    }

    /// The angle a control turns: a whole circle where both ends are one place.
    fn sweep_as_read(&self, arc: &Arc<Program>, to: Point<Program>, center: Point<Program>) -> f64 {
        if self.grid.same(self.at, to) {
            return TAU.copysign(arc.sweep_rad);
        }
        let turn = (to - center).angle_rad() - (self.at - center).angle_rad();
        if arc.is_ccw() { turn.rem_euclid(TAU) } else { -(-turn).rem_euclid(TAU) }
    }
}

/// How far the arc bulges from its chord, past the centre where it turns more than half way.
fn sagitta_mm(arc: &Arc<Program>) -> f64 {
    arc.radius_mm() * (1.0 - (arc.sweep_rad.abs().min(TAU) / 2.0).cos())
}
