//! A burn as a row of dots, close together.

use super::same_feed;
use geometry::{Curve, Program};

/// Dots along the torch's path, each with the feed at it and how far along it lies.
#[derive(Clone, Default)]
pub(crate) struct Burn {
    dots: Vec<Dot>,
    length_mm: f64,
}

#[derive(Clone, Copy, Debug)]
struct Dot {
    at: [f64; 2],
    along_mm: f64,
    feed: Option<f64>,
}

/// Distance between dots.
const STEP_MM: f64 = 0.2;
/// How far along the other path a dot's fellow is looked for.
const WINDOW_MM: f64 = 0.5;

impl std::fmt::Debug for Burn {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let (first, last) = (self.dots.first(), self.dots.last());
        write!(f, "burn of {:.3} mm from {first:?} to {last:?}", self.length_mm)
    }
}

impl Burn {
    pub(crate) fn along(&mut self, curve: &Curve<Program>, feed: Option<f64>) {
        let length = curve.length_mm();
        let count = (length / STEP_MM).ceil().max(1.0);
        let mut k = 0.0;
        while k <= count {
            let along = length * k / count;
            let p = curve.point_at(along);
            self.dots.push(Dot { at: [p.x, p.y], along_mm: self.length_mm + along, feed });
            k += 1.0;
        }
        self.length_mm += length;
    }

    pub(crate) fn length_mm(&self) -> f64 {
        self.length_mm
    }

    /// What of it comes after the first dot within `reach_mm` of a place; and the dots before.
    pub(crate) fn split_at(&self, at: [f64; 2], reach_mm: f64) -> Option<(Vec<[f64; 2]>, Self)> {
        let first = self.dots.iter().position(|dot| apart(dot.at, at) <= reach_mm)?;
        let before = self.dots[..first].iter().map(|dot| dot.at).collect();
        let begins = self.dots[first].along_mm;
        let dots = self.dots[first..].iter().map(|dot| Dot { along_mm: dot.along_mm - begins, ..*dot });
        Some((before, Self { dots: dots.collect(), length_mm: self.length_mm - begins }))
    }

    /// Whether both run along each other, dot by dot, at the same feed, and end together.
    pub(crate) fn is_like(&self, other: &Self, within_mm: f64) -> bool {
        (self.length_mm - other.length_mm).abs() < WINDOW_MM
            && self.follows(other, within_mm)
            && other.follows(self, within_mm)
            && [(self.dots.first(), other.dots.first()), (self.dots.last(), other.dots.last())]
                .into_iter()
                .all(|ends| matches!(ends, (Some(a), Some(b)) if apart(a.at, b.at) <= within_mm))
    }

    fn follows(&self, other: &Self, within_mm: f64) -> bool {
        let mut from = 0;
        self.dots.iter().all(|dot| {
            while other.dots[from].along_mm < dot.along_mm - WINDOW_MM && from + 1 < other.dots.len() {
                from += 1;
            }
            let window =
                other.dots[from..].windows(2).take_while(|two| two[0].along_mm <= dot.along_mm + WINDOW_MM);
            let mut near = window.filter(|two| from_line(dot.at, two[0].at, two[1].at) <= within_mm + 1e-4);
            near.any(|two| same_feed(two[0].feed, dot.feed) || same_feed(two[1].feed, dot.feed))
        })
    }
}

fn apart(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

/// Distance from `p` to the line from `a` to `b`.
fn from_line(p: [f64; 2], a: [f64; 2], b: [f64; 2]) -> f64 {
    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
    let length = dx * dx + dy * dy;
    let t = if length > 0.0 { ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / length } else { 0.0 };
    let t = t.clamp(0.0, 1.0);
    apart(p, [a[0] + dx * t, a[1] + dy * t])
}
