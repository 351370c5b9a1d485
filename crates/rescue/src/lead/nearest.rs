//! The nearest place of a kind, best first over squares that are quartered.
//!
//! A square is dropped unseen where even its best point has too little room, since moving by `d` changes the room by at
//! most `d`.

use geometry::{Point, Program};
use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// Half the side of the smallest square, in millimetres: a place with 0.4 mm more room than is asked for is never
/// overlooked, and neither a touch-off nor a pierce need be placed finer.
pub(super) const LEAF_MM: f64 = 0.25;

/// What place is wanted.
pub(super) trait Wanted {
    /// Room at `p` beyond what is asked for, in millimetres; changes by at most `d` over a distance of `d`.
    fn spare_mm(&mut self, p: Point<Program>) -> f64;

    /// Whether the square of this half diagonal about `middle` may hold a place.
    fn may_hold(&mut self, middle: Point<Program>, half_diagonal_mm: f64) -> bool;

    /// What a place costs, at least its distance; none if it is not wanted. Its room is enough.
    fn cost_mm(&mut self, p: Point<Program>, away_mm: f64) -> Option<f64>;
}

/// The cheapest place wanted within `reach_mm` of `near`; of equals the one lower left.
pub(super) fn nearest(
    near: Point<Program>,
    reach_mm: f64,
    wanted: &mut impl Wanted,
) -> Option<Point<Program>> {
    let mut open = BinaryHeap::from([Square { middle: near, half_mm: reach_mm, cost_mm: 0.0 }]);
    while let Some(square) = open.pop() {
        if square.half_mm <= 0.0 {
            return Some(square.middle);
        }
        let (middle, half_diagonal) = (square.middle, square.half_mm * std::f64::consts::SQRT_2);
        let spare = wanted.spare_mm(middle);
        if spare + half_diagonal < 0.0 || !wanted.may_hold(middle, half_diagonal) {
            continue;
        }
        if square.half_mm > LEAF_MM {
            open.extend(square.quarters(near).into_iter().filter(|quarter| quarter.cost_mm <= reach_mm));
            continue;
        }
        let away = middle.distance(near);
        if spare >= 0.0 && away <= reach_mm {
            let cost = wanted.cost_mm(middle, away);
            open.extend(cost.map(|cost_mm| Square { middle, half_mm: 0.0, cost_mm }));
        }
    }
    None
}

/// A square of places, or, without extent, a place that is wanted.
struct Square {
    middle: Point<Program>,
    half_mm: f64,
    /// No place in it costs less.
    cost_mm: f64,
}

impl Square {
    fn quarters(&self, near: Point<Program>) -> [Self; 4] {
        let half_mm = self.half_mm / 2.0;
        [(-half_mm, -half_mm), (half_mm, -half_mm), (-half_mm, half_mm), (half_mm, half_mm)].map(|(x, y)| {
            let middle = Point::new(self.middle.x + x, self.middle.y + y);
            let cost_mm = (middle.distance(near) - half_mm * std::f64::consts::SQRT_2).max(0.0);
            Self { middle, half_mm, cost_mm }
        })
    }
}

impl Ord for Square {
    /// The cheapest first; of equals the one lower left, so that the answer never depends on the heap.
    fn cmp(&self, other: &Self) -> Ordering {
        let key = |square: &Self| [square.cost_mm, square.half_mm, square.middle.y, square.middle.x];
        let (a, b) = (key(self), key(other));
        let orders = a.iter().zip(&b).map(|(a, b)| b.total_cmp(a));
        orders.fold(Ordering::Equal, Ordering::then)
    }
}

impl PartialOrd for Square {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Square {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Square {}
