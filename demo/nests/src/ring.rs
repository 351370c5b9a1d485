//! Closed runs of curves with the part on their right: outlines clockwise, holes counter-clockwise.

use geometry::{Arc, Curve, Path, Placement, Point, Program, Vector};
use std::f64::consts::TAU;

/// A closed run of curves, the part's metal on its right.
#[derive(Clone, Debug)]
pub struct Ring {
    curves: Vec<Curve<Program>>,
}

/// How the torch's centre line goes round a corner of the part that points at it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Corners {
    /// About the corner by an arc of half a kerf, as cutter compensation does.
    Rolled,
    /// On to where both edges' centre lines meet.
    Mitred,
}

/// The centre line beside a ring.
#[derive(Clone, Debug)]
pub(crate) struct CentreLine {
    pub(crate) ring: Ring,
    /// Whether cutter compensation makes exactly this line from the part's own.
    pub(crate) as_compensated: bool,
}

/// Directions that differ by less than this run on smoothly.
const SMOOTH_RAD: f64 = 1e-7;

/// Places whose heights differ by less are equally low.
const SAME_HEIGHT_MM: f64 = 0.01;

impl Ring {
    pub(crate) fn new(curves: Vec<Curve<Program>>) -> Self {
        Self { curves }
    }

    pub(crate) fn curves(&self) -> &[Curve<Program>] {
        &self.curves
    }

    pub(crate) fn path(&self) -> Path<Program> {
        Path::new(self.curves.clone())
    }

    /// A whole circle: in one arc, or in two halves as some programs write it. A hole runs counter-clockwise.
    pub(crate) fn circle(center: Point<Program>, radius_mm: f64, hole: bool, halves: bool) -> Self {
        let whole = if hole { TAU } else { -TAU };
        let (right, left) = (center + Vector::new(radius_mm, 0.0), center + Vector::new(-radius_mm, 0.0));
        let arc = |from, to, sweep_rad| Curve::Arc(Arc { from, to, center, sweep_rad });
        Self::new(if halves {
            vec![arc(right, left, whole / 2.0), arc(left, right, whole / 2.0)]
        } else {
            vec![arc(right, right, whole)]
        })
    }

    /// Straight edges between `corners` in order, each corner rounded by its own radius (0 leaves it sharp).
    pub(crate) fn rounded(corners: &[(Point<Program>, f64)]) -> Self {
        let count = corners.len();
        let fillets: Vec<_> = (0..count)
            .map(|k| {
                let [before, after] = [corners[(k + count - 1) % count].0, corners[(k + 1) % count].0];
                fillet(before, corners[k], after)
            })
            .collect();
        let mut curves = Vec::with_capacity(2 * count);
        for k in 0..count {
            let (this, next) = (&fillets[k], &fillets[(k + 1) % count]);
            curves.extend(this.arc.map(Curve::Arc));
            if this.to.distance(next.from) > geometry::SAME_POINT_MM {
                curves.push(Curve::line(this.to, next.from));
            }
        }
        Self::new(curves)
    }

    /// The ring moved and turned.
    pub(crate) fn placed(&self, placement: &Placement<Program, Program>) -> Self {
        Self::new(self.curves.iter().map(|curve| curve.placed(placement)).collect())
    }

    /// The same ring begun `along_mm` into curve `k`. A circle keeps its number of arcs.
    pub(crate) fn begun_at(&self, k: usize, along_mm: f64) -> Self {
        if let Some(center) = self.circle_center() {
            let begins = self.curves[k].point_at(along_mm) - center;
            let turn = begins.angle_rad() - (self.curves[0].from() - center).angle_rad();
            return self.turned_about(center, turn);
        }
        let split = self.curves[k];
        let length = split.length_mm();
        let mut curves = Vec::with_capacity(self.curves.len() + 1);
        if along_mm < length - geometry::SAME_POINT_MM {
            curves.push(split.piece(along_mm, length));
        }
        curves.extend_from_slice(&self.curves[k + 1..]);
        curves.extend_from_slice(&self.curves[..k]);
        if along_mm > geometry::SAME_POINT_MM {
            curves.push(split.piece(0.0, along_mm));
        }
        Self::new(curves)
    }

    fn turned_about(&self, center: Point<Program>, turn_rad: f64) -> Self {
        let there = Placement::<Program, Program>::new(0.0, Point::ORIGIN + (Point::ORIGIN - center));
        let turned = Placement::new(turn_rad, center);
        self.placed(&there.then(&turned))
    }

    /// The line of the torch's centre, `by_mm` to the left of the ring.
    pub(crate) fn centre_line(&self, by_mm: f64, corners: Corners) -> CentreLine {
        let count = self.curves.len();
        let joins: Vec<_> = (0..count)
            .map(|k| join(&self.curves[k], &self.curves[(k + 1) % count], by_mm, corners))
            .collect();
        let mut curves = Vec::with_capacity(2 * count);
        for (k, curve) in self.curves.iter().enumerate() {
            let from = joins[(k + count - 1) % count].next_begins;
            curves.push(beside(curve, from, joins[k].ends));
            curves.extend(joins[k].rolled.map(Curve::Arc));
        }
        let as_compensated = joins.iter().all(|join| !join.cornered);
        CentreLine { ring: Self::new(curves), as_compensated }
    }

    /// The place lowest in Y at which a lead can begin: the middle of an edge or the bottom of an arc.
    pub(crate) fn lowest_start(&self) -> (usize, f64) {
        let along = |curve: &Curve<Program>| match curve {
            Curve::Segment(_) => curve.length_mm() / 2.0,
            Curve::Arc(arc) => {
                let below = arc.center + Vector::new(0.0, -arc.radius_mm());
                let near = curve.nearest(below);
                if near.distance_mm < 1e-6 { near.along_mm } else { curve.length_mm() / 2.0 }
            }
        };
        let starts = || self.curves.iter().map(|curve| (along(curve), curve.point_at(along(curve)).y));
        let lowest = starts().map(|(_, y)| y).fold(f64::INFINITY, f64::min);
        // The corners at the ends of a low edge are as low as its middle.
        starts()
            .enumerate()
            .filter(|(_, (_, y))| *y < lowest + SAME_HEIGHT_MM)
            .max_by(|a, b| self.curves[a.0].length_mm().total_cmp(&self.curves[b.0].length_mm()))
            .map(|(k, (along, _))| (k, along))
            .expect("a ring has curves")
    }

    /// The middle of its longest straight edge; the beginning of a ring that has none.
    pub(crate) fn longest_edge(&self) -> (usize, f64) {
        self.curves
            .iter()
            .enumerate()
            .filter(|(_, curve)| matches!(curve, Curve::Segment(_)))
            .map(|(k, curve)| (k, curve.length_mm() / 2.0))
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .unwrap_or((0, 0.0))
    }

    /// The centre, if it is one circle, in however many arcs.
    pub(crate) fn circle_center(&self) -> Option<Point<Program>> {
        let mut centers = self.curves.iter().map(|curve| match curve {
            Curve::Arc(arc) => Some(arc.center),
            Curve::Segment(_) => None,
        });
        let first = centers.next()??;
        let alike =
            |c: Option<Point<Program>>| c.is_some_and(|c| c.distance(first) < geometry::SAME_POINT_MM);
        centers.all(alike).then_some(first)
    }
}

struct Fillet {
    from: Point<Program>,
    to: Point<Program>,
    arc: Option<Arc<Program>>,
}

/// The arc of the corner's radius that touches both edges at it.
fn fillet(before: Point<Program>, corner: (Point<Program>, f64), after: Point<Program>) -> Fillet {
    let (at, radius) = corner;
    let sharp = Fillet { from: at, to: at, arc: None };
    let (Some(into), Some(out)) = ((at - before).unit(), (after - at).unit()) else { return sharp };
    let turn = into.cross(out).atan2(into.dot(out));
    if radius <= 0.0 || turn.abs() < SMOOTH_RAD {
        return sharp;
    }
    let cut_off = radius * (turn.abs() / 2.0).tan();
    let (from, to) = (at + into * -cut_off, at + out * cut_off);
    let center = from + into.left() * radius.copysign(turn);
    Fillet { from, to, arc: Some(Arc { from, to, center, sweep_rad: turn }) }
}

struct Join {
    /// Where the curve before the corner ends on the centre line.
    ends: Point<Program>,
    /// Where the curve after it begins there.
    next_begins: Point<Program>,
    rolled: Option<Arc<Program>>,
    /// A corner that compensation would not make so.
    cornered: bool,
}

fn join(before: &Curve<Program>, after: &Curve<Program>, by_mm: f64, corners: Corners) -> Join {
    let at = before.to();
    let into = before.tangent_at(before.length_mm()).expect("no empty curves in a ring");
    let out = after.tangent_at(0.0).expect("no empty curves in a ring");
    let (ends, next_begins) = (at + into.left() * by_mm, at + out.left() * by_mm);
    let turn = into.cross(out).atan2(into.dot(out));
    if turn.abs() < SMOOTH_RAD {
        return Join { ends, next_begins: ends, rolled: None, cornered: false };
    }
    if turn < 0.0 && corners == Corners::Rolled {
        let rolled = Arc { from: ends, to: next_begins, center: at, sweep_rad: turn };
        return Join { ends, next_begins, rolled: Some(rolled), cornered: false };
    }
    // Where lines parallel to both edges meet: the sum of both normals, stretched to reach them.
    let meet = at + (into.left() + out.left()) * (by_mm / (1.0 + into.dot(out)));
    Join { ends: meet, next_begins: meet, rolled: None, cornered: true }
}

/// The curve beside `curve` that runs between two given ends.
fn beside(curve: &Curve<Program>, from: Point<Program>, to: Point<Program>) -> Curve<Program> {
    match curve {
        Curve::Segment(_) => Curve::line(from, to),
        Curve::Arc(arc) => Curve::Arc(Arc { from, to, ..*arc }),
    }
}
