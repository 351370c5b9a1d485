//! The nearest sound place for a touch-off.
//!
//! Best first over squares that are quartered: a square is dropped unseen where even its best point has too little
//! room, since moving by `d` changes the room by at most `d`.

use super::room::Room;
use super::{DISC_SPARE_MM, Site, gather, ground};
use geometry::{Curve, Point, Program};
use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// Half the side of the smallest square, in millimetres: a place with this much more room than is asked for is never
/// overlooked, and a touch-off need not be placed finer.
const LEAF_MM: f64 = 0.25;

/// How much farther off a place in scrap may be, in millimetres, to be taken before one on a part, where the torch may
/// leave a scratch.
const OFF_PART_MM: f64 = 10.0;

/// Kept of the farthest way between a touch-off and its start, in millimetres, for rounding in the text.
const REACH_SPARE_MM: f64 = 0.1;

/// The sound place nearest to `near`, within the reach of [`shop::Thresholds::touch_off_reach`], where a disc of the
/// touch-off's footprint lies on metal that the skeleton surely holds: clear of kerfs as far as they may reach, craters
/// and holes, plate edges and clamps. Scrap comes before parts. The straight way from there to `near` leads over no
/// loose piece and no clamp. None if there is no such place.
///
/// **Accuracy**: a place with 0.4 mm more room than is asked for is never overlooked.
#[must_use]
pub fn touch_off_place(site: &Site<'_>, near: Point<Program>) -> Option<Point<Program>> {
    let reach = site.ground.thresholds.touch_off_reach.mm() - REACH_SPARE_MM;
    if !near.is_finite() || reach <= 0.0 {
        return None;
    }
    let around = reach + site.foot_mm() + DISC_SPARE_MM + site.spare_mm + LEAF_MM;
    let mut search =
        Search { site, room: gather::room(site, near, around, None), near, reach, open: BinaryHeap::new() };
    search.open.push(Square { middle: near, half_mm: reach, cost_mm: 0.0 });
    search.run()
}

/// Whether a touch-off at `p` is sound, as [`touch_off_place`] has it, and the straight way to the start at `near`
/// with it.
fn is_sound(site: &Site<'_>, p: Point<Program>, near: Point<Program>) -> bool {
    let way = Curve::line(p, near);
    let torch = units::Length::from_mm(site.foot_mm());
    let meets_clamp = || {
        site.ground.clamps.iter().map(ground::corners).any(|corners| {
            let mut edges = (0..4).map(|k| Curve::line(corners[k], corners[(k + 1) % 4]));
            edges.any(|edge| edge.distance_to(&way).distance_mm <= torch.mm())
        })
    };
    site.is_attached(p)
        && site.state.loose_under(site.list, site.index, &way, torch).is_empty()
        && !meets_clamp()
}

struct Search<'a> {
    site: &'a Site<'a>,
    room: Room,
    near: Point<Program>,
    reach: f64,
    open: BinaryHeap<Square>,
}

impl Search<'_> {
    fn run(&mut self) -> Option<Point<Program>> {
        while let Some(square) = self.open.pop() {
            if square.half_mm <= 0.0 {
                return Some(square.middle);
            }
            if !self.may_hold_a_place(&square) {
                continue;
            }
            if square.half_mm <= LEAF_MM {
                let place = self.place(square.middle);
                self.open.extend(place);
            } else {
                self.quarter(&square);
            }
        }
        None
    }

    /// Metal around the footprint at `p` beyond what it needs.
    fn spare_mm(&mut self, p: Point<Program>) -> f64 {
        let clear = self.room.at(p);
        clear.void_mm.min(clear.edge_mm) - self.site.foot_mm() - DISC_SPARE_MM - self.site.spare_mm
    }

    fn may_hold_a_place(&mut self, square: &Square) -> bool {
        let half_diagonal = square.half_mm * std::f64::consts::SQRT_2;
        if self.spare_mm(square.middle) + half_diagonal < 0.0 {
            return false;
        }
        // Where no contour's line comes in, all of the square is held or none.
        let one_piece = self.room.at(square.middle).part_mm > half_diagonal;
        !one_piece || self.site.is_attached(square.middle)
    }

    /// The middle of a smallest square, if it is a sound place.
    fn place(&mut self, p: Point<Program>) -> Option<Square> {
        let away = p.distance(self.near);
        let sound = away <= self.reach && self.spare_mm(p) >= 0.0 && is_sound(self.site, p, self.near);
        sound.then(|| {
            let on_part = if self.site.is_scrap(p) { 0.0 } else { OFF_PART_MM };
            Square { middle: p, half_mm: 0.0, cost_mm: away + on_part }
        })
    }

    fn quarter(&mut self, square: &Square) {
        let half_mm = square.half_mm / 2.0;
        for (x, y) in [(-half_mm, -half_mm), (half_mm, -half_mm), (-half_mm, half_mm), (half_mm, half_mm)] {
            let middle = Point::new(square.middle.x + x, square.middle.y + y);
            let cost_mm = (middle.distance(self.near) - half_mm * std::f64::consts::SQRT_2).max(0.0);
            if cost_mm <= self.reach {
                self.open.push(Square { middle, half_mm, cost_mm });
            }
        }
    }
}

/// A square of places, or, without extent, a sound place.
struct Square {
    middle: Point<Program>,
    half_mm: f64,
    /// No place in it costs less.
    cost_mm: f64,
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
