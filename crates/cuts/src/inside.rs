//! Whether a point lies inside a closed run of curves, arcs exact: by counting how often a ray from it crosses them.

use geometry::{Arc, Curve, Point, Program};
use std::f64::consts::{FRAC_PI_2, PI};

/// Contours with more curves than this get bands; below, looking at each curve is as quick.
const BANDS_FROM: usize = 192;

/// For a contour of many curves, which of them lie at a given Y.
///
/// **Shape**: bands of equal height over the contour's Y range, each with the numbers of the curves that reach into it;
/// about four entries a curve in all, whatever the shape.
#[derive(Clone, Debug, Default)]
pub(crate) struct Bands {
    bottom: f64,
    height: f64,
    /// Where each band's entries begin; one longer than there are bands. Empty if the contour is small.
    starts: Vec<u32>,
    entries: Vec<u32>,
}

impl Bands {
    /// Bands of `curves`; empty, and then of no effect, if they are few.
    pub(crate) fn new(curves: &[Curve<Program>]) -> Self {
        if curves.len() < BANDS_FROM {
            return Self::default();
        }
        let reach: Vec<_> = curves.iter().map(Curve::bounds).map(|b| (b.min.y, b.max.y)).collect();
        let bottom = reach.iter().map(|r| r.0).fold(f64::INFINITY, f64::min);
        let top = reach.iter().map(|r| r.1).fold(f64::NEG_INFINITY, f64::max);
        let together: f64 = reach.iter().map(|r| r.1 - r.0).sum();
        let height = (together / (3.0 * count_f64(curves.len())))
            .max((top - bottom) / MOST_BANDS)
            .max(f64::MIN_POSITIVE);
        let bands = Self { bottom, height, ..Self::default() };
        bands.filled(&reach, top)
    }

    fn filled(mut self, reach: &[(f64, f64)], top: f64) -> Self {
        let count = self.band(top) + 1;
        let mut sizes = vec![0_u32; count + 1];
        for (low, high) in reach {
            for band in self.band(*low)..=self.band(*high) {
                sizes[band + 1] += 1;
            }
        }
        for band in 0..count {
            sizes[band + 1] += sizes[band];
        }
        self.entries = vec![0; sizes[count] as usize];
        let mut next = sizes.clone();
        for (k, (low, high)) in (0..).zip(reach) {
            for next in &mut next[self.band(*low)..=self.band(*high)] {
                self.entries[*next as usize] = k;
                *next += 1;
            }
        }
        self.starts = sizes;
        self
    }

    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "0..=MOST_BANDS, by construction"
    )]
    fn band(&self, y: f64) -> usize {
        ((y - self.bottom) / self.height).clamp(0.0, MOST_BANDS) as usize
    }

    fn at(&self, y: f64) -> Option<&[u32]> {
        let bands = self.starts.len().checked_sub(1)?;
        let band = self.band(y).min(bands - 1);
        Some(&self.entries[self.starts[band] as usize..self.starts[band + 1] as usize])
    }
}

/// Most bands of one contour.
const MOST_BANDS: f64 = 1e6;

#[expect(clippy::cast_precision_loss, reason = "curves are counted in 32 bits")]
fn count_f64(n: usize) -> f64 {
    n as f64
}

/// Whether `p` lies inside the closed run `curves`; either is right for a point on it. A gap between its ends is taken
/// to be closed by a straight line.
pub(crate) fn contains(curves: &[Curve<Program>], bands: &Bands, p: Point<Program>) -> bool {
    let mut inside = false;
    crossings(curves, bands, p.y, |x| inside ^= x > p.x);
    inside
}

/// A point inside the closed run `curves`, as far from it along X as one cut through the middle allows; its beginning
/// if it encloses nothing.
pub(crate) fn inner_point(curves: &[Curve<Program>], bands: &Bands) -> Point<Program> {
    let Some(first) = curves.first() else { return Point::ORIGIN };
    let (low, high) = curves
        .iter()
        .map(Curve::bounds)
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), b| (low.min(b.min.y), high.max(b.max.y)));
    let y = low + (high - low) * OFF_MIDDLE;
    let mut xs = Vec::new();
    crossings(curves, bands, y, |x| xs.push(x));
    xs.sort_by(f64::total_cmp);
    let widest = xs.chunks_exact(2).max_by(|a, b| (a[1] - a[0]).total_cmp(&(b[1] - b[0])));
    widest.map_or(first.from(), |ends| Point::new(f64::midpoint(ends[0], ends[1]), y))
}

/// Where the cut through a contour is laid, as a share of its height: near the middle, but at no height at which
/// corners of drawn parts tend to lie.
const OFF_MIDDLE: f64 = 0.487_311;

/// Calls `found` with the X of each crossing of the closed run with the horizontal line at `y`. An end of a curve
/// counts with the upper side, so that neighbours which share it count it once.
fn crossings(curves: &[Curve<Program>], bands: &Bands, y: f64, mut found: impl FnMut(f64)) {
    match bands.at(y) {
        Some(numbers) => numbers.iter().for_each(|k| crossing(&curves[*k as usize], y, &mut found)),
        None => curves.iter().for_each(|curve| crossing(curve, y, &mut found)),
    }
    if let (Some(first), Some(last)) = (curves.first(), curves.last()) {
        line(last.to(), first.from(), y, &mut found);
    }
}

fn crossing(curve: &Curve<Program>, y: f64, found: &mut impl FnMut(f64)) {
    match curve {
        Curve::Segment(segment) => line(segment.from, segment.to, y, found),
        Curve::Arc(arc) => round(arc, y, found),
    }
}

fn line(from: Point<Program>, to: Point<Program>, y: f64, found: &mut impl FnMut(f64)) {
    if (from.y > y) != (to.y > y) {
        found(from.x + (to.x - from.x) * ((y - from.y) / (to.y - from.y)));
    }
}

/// The arc is walked from quarter to quarter in which Y only rises or only falls.
fn round(arc: &Arc<Program>, y: f64, found: &mut impl FnMut(f64)) {
    let (radius, dy) = (arc.radius_mm(), y - arc.center.y);
    if dy.abs() >= radius {
        line(arc.from, arc.to, y, found);
        return;
    }
    let half = (radius * radius - dy * dy).sqrt();
    let direction = arc.sweep_rad.signum();
    let mut angle = (arc.from - arc.center).angle_rad();
    let mut left = arc.sweep_rad.abs();
    let mut from_y = arc.from.y;
    loop {
        let to_top_or_bottom = until_vertical(angle, direction);
        let ends_here = left <= to_top_or_bottom;
        let turn = if ends_here { left } else { to_top_or_bottom };
        let right = (angle + direction * turn / 2.0).cos() >= 0.0;
        let end = angle + direction * turn;
        let to_y = if ends_here { arc.to.y } else { arc.center.y + radius * end.sin().signum() };
        if (from_y > y) != (to_y > y) {
            found(arc.center.x + if right { half } else { -half });
        }
        if ends_here {
            return;
        }
        (angle, left, from_y) = (end, left - turn, to_y);
    }
}

/// Angle from `angle` to the next top or bottom of the circle in the direction of turning; never 0.
fn until_vertical(angle: f64, direction: f64) -> f64 {
    let past = ((angle - FRAC_PI_2) * direction).rem_euclid(PI);
    let left = PI - past;
    if left < LEAST_TURN { PI } else { left }
}

/// A turn smaller than this, in radians, is rounding of the angle.
const LEAST_TURN: f64 = 1e-12;
