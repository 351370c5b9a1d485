//! Finds where a lost part fits on what is left of the plate: every place and turn searched, coarse to fine, with a
//! clearance that cannot miss a fit larger than the finest step.
//!
//! The clearance of a pose is the least distance from the part's cuts to anything it must keep off, negative where it
//! lies on a void or beyond the plate. Moving the part by `d` changes that distance by at most `d`, so a whole cell of
//! poses whose middle falls short by more than the cell's half diagonal is dropped unseen. Before turns are looked at
//! one by one, a cell must have room for the largest disc within the part, which asks one distance for all turns. Where
//! turns are free a cell holds a stretch of them as well: turning the part by `t` moves no place of it by more than `t`
//! times its radius, so that such a cell is dropped and divided like any other.

use super::field::Obstacles;
use geometry::{Bounds, Contour, Path, Placement, Point, Program, Vector};
use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// A part to place: what it cuts, in one frame, as programmed.
#[derive(Debug)]
pub struct Shape {
    outlines: Vec<Contour<Program>>,
    /// Points along all its cuts, at most [`SAMPLE_MM`] apart, those farthest from the pivot first.
    samples: Vec<Point<Program>>,
    /// Middle of the largest disc within its largest outline.
    pivot: Point<Program>,
    disc_mm: f64,
    radius_mm: f64,
}

/// How far apart the part's cuts are looked at, in millimetres. The clearance asked for is widened by half of it, so
/// that nothing between two samples comes nearer than told.
const SAMPLE_MM: f64 = 2.0;

/// Finest turn of a search in which turns are free, as what it moves the part's farthest place by, in millimetres.
const TURN_MIN_MM: f64 = 1.0;

/// Finest step of the search, in millimetres: half the side of the smallest cell. A gap that exceeds the part by more
/// than [`OVERLOOKED_MM`] on every side is never overlooked; finer, the search would take four times as long for a place
/// nobody could use with confidence.
const STEP_MIN_MM: f64 = 1.0;

/// A place with this much more room than is asked for is never overlooked, for a turn that is tried: half a sample's
/// spacing, and half the diagonal of the smallest cell. Where turns are free it is [`TURN_MIN_MM`] more.
pub const OVERLOOKED_MM: f64 = SAMPLE_MM / 2.0 + STEP_MIN_MM * std::f64::consts::SQRT_2;

/// Cells are looked at for all turns together down to this share of what the part reaches beyond its largest disc (half
/// a side): a long part is told from a place by its turn long before its disc has no room there, a round one never is.
const TURN_BELOW_SHARE: f64 = 1.0 / 3.0;

/// Most exact looks at a cell for one part: some seconds. Whoever meets the bound is told so.
const LOOKS_MAX: usize = 400_000;

impl Shape {
    /// How far from the middle of its largest disc it reaches, in millimetres.
    #[must_use]
    pub const fn radius_mm(&self) -> f64 {
        self.radius_mm
    }

    /// Where the middle of its largest disc comes to lie.
    #[must_use]
    pub fn pivot_at(&self, placement: &Placement<Program, Program>) -> Point<Program> {
        placement.point(self.pivot)
    }

    /// The shape cut by `paths` (lead-ins and holes included) with outer boundaries `outlines`: one, or several of
    /// parts that share cuts. None if there is nothing of either.
    #[must_use]
    pub fn new(outlines: Vec<Contour<Program>>, paths: &[&Path<Program>]) -> Option<Self> {
        let area = |contour: &&Contour<Program>| contour.signed_area_mm2().abs();
        let largest = outlines.iter().max_by(|a, b| area(a).total_cmp(&area(b)))?;
        let (pivot, disc_mm) = largest.deepest_point(&[]);
        let mut samples: Vec<Point<Program>> = paths.iter().flat_map(|path| along(path)).collect();
        samples.sort_by(|a, b| b.distance(pivot).total_cmp(&a.distance(pivot)));
        let radius_mm = samples.first()?.distance(pivot);
        Some(Self { outlines, samples, pivot, disc_mm: disc_mm.max(0.0), radius_mm })
    }

    /// Its outer boundaries, as programmed.
    #[must_use]
    pub fn outlines(&self) -> &[Contour<Program>] {
        &self.outlines
    }
}

fn along(path: &Path<Program>) -> Vec<Point<Program>> {
    let length = path.length_mm();
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "some thousand samples at most"
    )]
    let steps = (length / SAMPLE_MM).ceil().clamp(1.0, 1e6) as u32;
    (0..=steps).filter_map(|k| path.point_at(length * f64::from(k) / f64::from(steps))).collect()
}

/// A pose found for a part: carries its programmed cuts to their new place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placed {
    /// The move.
    pub placement: Placement<Program, Program>,
    /// Least distance from its cuts' centre lines to anything, in millimetres, at the samples.
    pub clearance_mm: f64,
}

/// What is looked for.
#[derive(Clone, Copy, Debug)]
pub struct Wanted<'a> {
    /// The turns that are tried.
    pub turns_rad: &'a [f64],
    /// How far about each of them the part may be turned besides, either way, in radians; 0 where only those count.
    pub about_rad: f64,
    /// How far every cut stays from every obstacle, in millimetres.
    pub clearance_mm: f64,
    /// Places about which the middle of the part's largest disc must not come to lie, each with how near in millimetres.
    pub not_at: &'a [(Point<Program>, f64)],
}

/// The outcome of a search.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Search {
    /// A place.
    Found(Placed),
    /// There is none with as much room as asked for and [`OVERLOOKED_MM`] more (see there), in any of the turns.
    NoRoom,
    /// Given up after a bounded number of looks: there may be one.
    GaveUp,
}

impl Search {
    /// The place, if one was found.
    #[must_use]
    pub const fn found(&self) -> Option<&Placed> {
        if let Self::Found(placed) = self { Some(placed) } else { None }
    }
}

/// A stretch of turns, about its middle.
#[derive(Clone, Copy)]
struct Turn {
    middle_rad: f64,
    half_rad: f64,
}

/// One cell of poses: a square of places for the part's pivot, of one stretch of turns or of all.
#[derive(Clone, Copy)]
struct Cell {
    turn: Option<Turn>,
    middle: Point<Program>,
    half_mm: f64,
    /// Lower bound of what is minimised over the cell.
    cost: f64,
}

impl PartialEq for Cell {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl Eq for Cell {}
impl PartialOrd for Cell {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Cell {
    /// Least cost first out of a max-heap; ties by turn and place, so that the answer is always the same.
    fn cmp(&self, other: &Self) -> Ordering {
        let turn = |cell: &Self| cell.turn.map_or(f64::NEG_INFINITY, |turn| turn.middle_rad);
        (other.cost.total_cmp(&self.cost))
            .then(turn(other).total_cmp(&turn(self)))
            .then(other.middle.y.total_cmp(&self.middle.y))
            .then(other.middle.x.total_cmp(&self.middle.x))
            .then(self.half_mm.total_cmp(&other.half_mm))
    }
}

/// The place nearest to the plate's lower left corner, over all `turns_rad`, at which every cut of `shape` keeps
/// `clearance_mm` from every obstacle.
#[must_use]
pub fn place(shape: &Shape, obstacles: &Obstacles, turns_rad: &[f64], clearance_mm: f64) -> Search {
    search(shape, obstacles, &Wanted { turns_rad, about_rad: 0.0, clearance_mm, not_at: &[] })
}

/// The place nearest to the plate's lower left corner that is as `wanted`.
#[must_use]
pub fn search(shape: &Shape, obstacles: &Obstacles, wanted: &Wanted<'_>) -> Search {
    let bounds = obstacles.bounds();
    let middle = bounds.min.lerp(bounds.max, 0.5);
    let half_mm = (bounds.max.x - bounds.min.x).max(bounds.max.y - bounds.min.y) / 2.0;
    let needed = wanted.clearance_mm + SAMPLE_MM / 2.0;
    let cost = |middle: Point<Program>, half_mm: f64| {
        let near = |middle: f64, least: f64| (middle - half_mm).max(least) - least;
        near(middle.x, bounds.min.x) + near(middle.y, bounds.min.y)
    };
    let mut cells = BinaryHeap::from([Cell { turn: None, middle, half_mm, cost: cost(middle, half_mm) }]);
    let turn_below_mm = ((shape.radius_mm - shape.disc_mm) * TURN_BELOW_SHARE).max(2.0 * STEP_MIN_MM);
    let mut looks = 0;
    while looks < LOOKS_MAX {
        let Some(cell) = cells.pop() else { return Search::NoRoom };
        let reach_mm = cell.half_mm * std::f64::consts::SQRT_2;
        if obstacles.room_mm(cell.middle, reach_mm) < needed + shape.disc_mm || cell.is_ruled_out(wanted) {
            continue;
        }
        looks += 1;
        let slack = if cell.half_mm < STEP_MIN_MM { 0.0 } else { reach_mm };
        let Some(turn) = cell.turn else {
            if obstacles.clearance_mm(cell.middle) + slack < needed + shape.disc_mm {
                continue;
            }
            if cell.half_mm < turn_below_mm {
                let turn = |middle_rad: &f64| Turn { middle_rad: *middle_rad, half_rad: wanted.about_rad };
                let turned = |middle_rad| Cell { turn: Some(turn(middle_rad)), ..cell };
                cells.extend(wanted.turns_rad.iter().map(turned));
            } else {
                cells.extend(quarters(&cell, cost));
            }
            continue;
        };
        let turns_mm = turn.half_rad * shape.radius_mm;
        let turn_slack = if turns_mm < TURN_MIN_MM { 0.0 } else { turns_mm };
        let pose = Pose { angle_rad: turn.middle_rad, at: cell.middle };
        let Some(clearance_mm) = clearance_at(shape, obstacles, pose, needed, slack + turn_slack) else {
            continue;
        };
        if slack <= 0.0 && turn_slack <= 0.0 {
            let turned = (shape.pivot - Point::ORIGIN).rotated(pose.angle_rad);
            let placement = Placement::new(pose.angle_rad, cell.middle + -turned);
            return Search::Found(Placed { placement, clearance_mm });
        }
        // Whichever leaves more open is divided.
        if turn_slack > slack {
            cells.extend(cell.turned_halves(turn));
        } else {
            cells.extend(quarters(&cell, cost));
        }
    }
    Search::GaveUp
}

impl Cell {
    /// Whether no place of it is wanted.
    fn is_ruled_out(&self, wanted: &Wanted<'_>) -> bool {
        let half_diagonal_mm =
            if self.half_mm < STEP_MIN_MM { 0.0 } else { self.half_mm * std::f64::consts::SQRT_2 };
        wanted.not_at.iter().any(|(at, near_mm)| at.distance(self.middle) + half_diagonal_mm < *near_mm)
    }

    /// The same places for either half of its turns.
    fn turned_halves(&self, turn: Turn) -> [Self; 2] {
        let half_rad = turn.half_rad / 2.0;
        [-half_rad, half_rad].map(|off| {
            let turn = Turn { middle_rad: turn.middle_rad + off, half_rad };
            Self { turn: Some(turn), ..*self }
        })
    }
}

fn quarters(cell: &Cell, cost: impl Fn(Point<Program>, f64) -> f64) -> [Cell; 4] {
    let half_mm = cell.half_mm / 2.0;
    [(-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0), (1.0, 1.0)].map(|(x, y)| {
        let middle = cell.middle + Vector::new(x * half_mm, y * half_mm);
        Cell { turn: cell.turn, middle, half_mm, cost: cost(middle, half_mm) }
    })
}

#[derive(Clone, Copy)]
struct Pose {
    angle_rad: f64,
    /// Where the pivot lies.
    at: Point<Program>,
}

/// The clearance of a pose, or none as soon as it is seen that no pose within `slack` of it has what is needed.
fn clearance_at(
    shape: &Shape,
    obstacles: &Obstacles,
    pose: Pose,
    needed_mm: f64,
    slack_mm: f64,
) -> Option<f64> {
    let (sin, cos) = pose.angle_rad.sin_cos();
    let moved = |p: Point<Program>| {
        let out = p - shape.pivot;
        pose.at + Vector::new(cos * out.x - sin * out.y, sin * out.x + cos * out.y)
    };
    let least_mm = needed_mm - slack_mm;
    let mut least = f64::INFINITY;
    for sample in &shape.samples {
        let p = moved(*sample);
        least = least.min(obstacles.clearance_mm(p));
        if least < least_mm || obstacles.reach_mm(p) < -slack_mm {
            return None;
        }
    }
    let reach = Vector::<Program>::new(shape.radius_mm, shape.radius_mm);
    let around = Bounds { min: pose.at + -reach, max: pose.at + reach };
    for mark in obstacles.marks_in(around) {
        let out = (mark - pose.at).rotated(-pose.angle_rad);
        for outline in &shape.outlines {
            least = least.min(-outline.depth_mm(shape.pivot + out));
        }
        if least < least_mm {
            return None;
        }
    }
    Some(least)
}

/// The largest disc that keeps `clearance_mm` from every obstacle: its middle and its radius, in millimetres, to within
/// [`DISC_WITHIN_MM`]; none if there is no room for any.
#[must_use]
pub fn largest_disc(obstacles: &Obstacles, clearance_mm: f64) -> Option<(Point<Program>, f64)> {
    let bounds = obstacles.bounds();
    let half_mm = (bounds.max.x - bounds.min.x).max(bounds.max.y - bounds.min.y) / 2.0;
    let cell = |middle: Point<Program>, half_mm: f64| {
        let here = obstacles.clearance_mm(middle);
        // The most first out of the heap that gives the least: counted backwards.
        (Cell { turn: None, middle, half_mm, cost: -(here + half_mm * std::f64::consts::SQRT_2) }, here)
    };
    let (first, here) = cell(bounds.min.lerp(bounds.max, 0.5), half_mm);
    let mut best = (first.middle, here);
    let mut cells = BinaryHeap::from([first]);
    for _ in 0..LOOKS_MAX {
        let Some(most) = cells.pop().filter(|most| -most.cost > best.1 + DISC_WITHIN_MM) else { break };
        for quarter in quarters(&most, |_, _| 0.0) {
            let reach_mm = quarter.half_mm * std::f64::consts::SQRT_2;
            if obstacles.room_mm(quarter.middle, reach_mm) <= best.1 + DISC_WITHIN_MM {
                continue;
            }
            let (quarter, here) = cell(quarter.middle, quarter.half_mm);
            if here > best.1 {
                best = (quarter.middle, here);
            }
            cells.push(quarter);
        }
    }
    let radius_mm = best.1 - clearance_mm;
    (radius_mm > 0.0).then_some((best.0, radius_mm))
}

/// How near to the largest the disc found is, in millimetres: nobody measures free plate finer.
pub const DISC_WITHIN_MM: f64 = 1.0;

#[cfg(test)]
mod tests;
