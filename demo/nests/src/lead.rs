//! From the pierce to the contour and away from it again.

use geometry::{Arc, Curve, Point, Program, Vector};
use std::f64::consts::{FRAC_PI_2, PI};

/// How a lead-in runs; all lie on the left of the contour, in scrap.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LeadIn {
    /// Square to the contour.
    Straight,
    /// At 45 degrees to it, from behind.
    Slanted,
    /// A quarter circle that runs into it.
    Arc,
    /// A half circle that runs into it.
    HalfCircle,
    /// A straight line, then a quarter circle: what cutter compensation needs.
    StraightThenArc,
}

/// How a cut leaves its contour.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LeadOut {
    /// On along the contour it has cut already, by so many millimetres.
    Overlap(f64),
    /// A quarter circle into scrap, of this radius in millimetres.
    Arc(f64),
}

/// Where a contour begins: the point and the direction of travel.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Start {
    pub(crate) at: Point<Program>,
    pub(crate) along: Vector<Program>,
}

impl LeadIn {
    /// How deep it reaches in a hole that has room for a circle of `room_mm`, wanted `depth_mm`: its pierce stays
    /// well off the hole's edge. A half circle begins in the middle.
    pub(crate) fn depth_in(self, room_mm: f64, depth_mm: f64) -> f64 {
        match self {
            Self::Straight | Self::StraightThenArc => depth_mm.min(room_mm),
            Self::Slanted | Self::Arc => depth_mm.min(room_mm / 2.0),
            Self::HalfCircle => room_mm,
        }
    }

    /// The curves of a lead-in that reaches `depth_mm` into scrap.
    pub(crate) fn curves(self, start: Start, depth_mm: f64) -> Vec<Curve<Program>> {
        let Start { at, along } = start;
        let scrap = along.left();
        match self {
            Self::Straight => vec![Curve::line(at + scrap * depth_mm, at)],
            Self::Slanted => vec![Curve::line(at + (scrap + -along) * depth_mm, at)],
            Self::Arc => vec![turning_in(start, depth_mm, FRAC_PI_2)],
            Self::HalfCircle => vec![turning_in(start, depth_mm / 2.0, PI)],
            Self::StraightThenArc => {
                let radius = depth_mm / 2.0;
                let arc = turning_in(start, radius, FRAC_PI_2);
                vec![Curve::line(arc.from() + scrap * radius, arc.from()), arc]
            }
        }
    }
}

/// An arc of `radius_mm` on the scrap side that turns left by `turn_rad` and ends at the start along it.
fn turning_in(start: Start, radius_mm: f64, turn_rad: f64) -> Curve<Program> {
    let center = start.at + start.along.left() * radius_mm;
    let from = center + (start.at - center).rotated(-turn_rad);
    Curve::Arc(Arc { from, to: start.at, center, sweep_rad: turn_rad })
}

/// An arc of `radius_mm` that leaves along `end` and turns left by a quarter, into scrap.
pub(crate) fn turning_out(end: Start, radius_mm: f64) -> Curve<Program> {
    let center = end.at + end.along.left() * radius_mm;
    let to = center + (end.at - center).rotated(FRAC_PI_2);
    Curve::Arc(Arc { from: end.at, to, center, sweep_rad: FRAC_PI_2 })
}
