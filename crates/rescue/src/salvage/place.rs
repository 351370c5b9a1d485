//! Finds where a lost part fits on what is left of the plate: every place and turn searched, coarse to fine, with a
//! clearance that cannot miss a fit larger than the finest step.
//!
//! The clearance of a pose is the least distance from the part's cuts to anything it must keep off, negative where it
//! lies on a void or beyond the plate. Moving the part by `d` changes that distance by at most `d`, so a whole cell of
//! poses whose middle falls short by more than the cell's half diagonal is dropped unseen.

use geometry::{Bounds, Contour, Curve, CurveIndex, Path, Placement, Point, Program, Side, Vector};
use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// What the part must keep off, program coordinates.
#[derive(Debug)]
pub struct Obstacles {
    /// Where the part may lie: outline of the plate, and within it.
    plate: Contour<Program>,
    /// Closed areas in which there is no plate: holes of a remnant, gone pieces, clamps.
    voids: Vec<Contour<Program>>,
    /// All edges and centre lines to keep off, the plate's and the voids' included.
    index: CurveIndex<Program, ()>,
    /// One point of every separate obstacle, to see whether one lies wholly within the part.
    marks: CurveIndex<Program, ()>,
}

impl Obstacles {
    /// Collects what to keep off: `plate` the outline, `voids` closed areas without plate, `lines` centre lines of cuts
    /// made or still to be made.
    #[must_use]
    pub fn new(plate: Contour<Program>, voids: Vec<Contour<Program>>, lines: &[&Path<Program>]) -> Self {
        let mut curves: Vec<(Curve<Program>, ())> = Vec::new();
        let mut marks = Vec::new();
        let mut add = |path: &Path<Program>| {
            curves.extend(path.curves().iter().map(|curve| (*curve, ())));
            marks.extend(path.from().map(|p| (Curve::line(p, p), ())));
        };
        for path in lines {
            add(path);
        }
        for void in &voids {
            add(void.path());
        }
        curves.extend(plate.path().curves().iter().map(|curve| (*curve, ())));
        Self { plate, voids, index: CurveIndex::new(curves), marks: CurveIndex::new(marks) }
    }

    /// Distance from `p` to the nearest obstacle in millimetres, negative where there is no plate.
    fn clearance_mm(&self, p: Point<Program>) -> f64 {
        let distance = self.index.nearest(p, |()| true).map_or(f64::INFINITY, |hit| hit.distance_mm);
        let on_plate = self.plate.side_of(p, 0.0) != Side::Outside
            && !self
                .voids
                .iter()
                .any(|void| void.bounds().contains(p) && void.side_of(p, 0.0) == Side::Inside);
        if on_plate { distance } else { -distance }
    }
}

/// A part to place: what it cuts, in one frame, as programmed.
#[derive(Debug)]
pub struct Shape {
    outline: Contour<Program>,
    /// Points along all its cuts, at most [`SAMPLE_MM`] apart, those farthest from the middle first.
    samples: Vec<Point<Program>>,
    middle: Point<Program>,
    radius_mm: f64,
}

/// How far apart the part's cuts are looked at, in millimetres. The clearance asked for is widened by half of it, so
/// that nothing between two samples comes nearer than told.
const SAMPLE_MM: f64 = 4.0;

/// Finest step of the search, in millimetres. A gap that exceeds the part by less than this on every side may be
/// overlooked; below it the search would take four times as long for a place nobody could use with confidence.
const STEP_MIN_MM: f64 = 2.0;

/// Most cells looked at for one part. A plate of three by two metres with a fit takes some hundreds; the bound keeps
/// a hopeless search on a full plate within about a second.
const CELLS_MAX: usize = 60_000;

impl Shape {
    /// The shape cut by `paths` (lead-ins and holes included) with outer boundary `outline`. None if `paths` are empty.
    #[must_use]
    pub fn new(outline: Contour<Program>, paths: &[&Path<Program>]) -> Option<Self> {
        let bounds = paths.iter().filter_map(|path| path.bounds()).reduce(Bounds::union)?;
        let middle = bounds.min.lerp(bounds.max, 0.5);
        let mut samples: Vec<Point<Program>> = paths.iter().flat_map(|path| along(path)).collect();
        samples.sort_by(|a, b| b.distance(middle).total_cmp(&a.distance(middle)));
        let radius_mm = samples.first().map_or(0.0, |p| p.distance(middle));
        Some(Self { outline, samples, middle, radius_mm })
    }
}

fn along(path: &Path<Program>) -> Vec<Point<Program>> {
    let length = path.length_mm();
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few thousand samples")]
    let steps = (length / SAMPLE_MM).ceil().max(1.0) as u32;
    (0..=steps).filter_map(|k| path.point_at(length * f64::from(k) / f64::from(steps))).collect()
}

/// A pose found for a part: carries its programmed cuts to their new place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placed {
    /// The move.
    pub placement: Placement<Program, Program>,
    /// Least distance from its cuts to anything, in millimetres, at the samples.
    pub clearance_mm: f64,
}

/// One cell of poses of one turn: a square of places for the part's middle.
struct Cell {
    turn: usize,
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
        (other.cost.total_cmp(&self.cost))
            .then(other.turn.cmp(&self.turn))
            .then(other.middle.y.total_cmp(&self.middle.y))
            .then(other.middle.x.total_cmp(&self.middle.x))
            .then(self.half_mm.total_cmp(&other.half_mm))
    }
}

/// The place nearest to the plate's lower left corner, over all `turns_rad`, at which every cut of `shape` keeps
/// `clearance_mm` from every obstacle; none if there is none within the finest step.
#[must_use]
pub fn place(shape: &Shape, obstacles: &Obstacles, turns_rad: &[f64], clearance_mm: f64) -> Option<Placed> {
    let bounds = obstacles.plate.bounds();
    let corner = bounds.min;
    let middle = bounds.min.lerp(bounds.max, 0.5);
    let half = (bounds.max.x - bounds.min.x).max(bounds.max.y - bounds.min.y) / 2.0;
    let needed = clearance_mm + SAMPLE_MM / 2.0;
    let cost = |middle: Point<Program>, half_mm: f64| {
        let near =
            Point::<Program>::new((middle.x - half_mm).max(corner.x), (middle.y - half_mm).max(corner.y));
        (near.x - corner.x) + (near.y - corner.y)
    };
    let mut cells: BinaryHeap<Cell> = (0..turns_rad.len())
        .map(|turn| Cell { turn, middle, half_mm: half, cost: cost(middle, half) })
        .collect();
    for _ in 0..CELLS_MAX {
        let cell = cells.pop()?;
        let angle = turns_rad[cell.turn];
        let slack = if cell.half_mm < STEP_MIN_MM { 0.0 } else { cell.half_mm * std::f64::consts::SQRT_2 };
        let Some(clearance) = clearance_at(shape, obstacles, angle, cell.middle, needed - slack) else {
            continue;
        };
        if cell.half_mm < STEP_MIN_MM {
            let turned = (shape.middle - Point::ORIGIN).rotated(angle);
            let origin = cell.middle + -turned;
            return Some(Placed { placement: Placement::new(angle, origin), clearance_mm: clearance });
        }
        let half_mm = cell.half_mm / 2.0;
        for (x, y) in [(-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0), (1.0, 1.0)] {
            let middle = cell.middle + Vector::new(x * half_mm, y * half_mm);
            cells.push(Cell { turn: cell.turn, middle, half_mm, cost: cost(middle, half_mm) });
        }
    }
    None
}

/// The clearance with the part's middle at `at`, or none as soon as it is seen to be below `least_mm`.
fn clearance_at(
    shape: &Shape,
    obstacles: &Obstacles,
    angle_rad: f64,
    at: Point<Program>,
    least_mm: f64,
) -> Option<f64> {
    let (sin, cos) = angle_rad.sin_cos();
    let moved = |p: Point<Program>| {
        let out = p - shape.middle;
        at + Vector::new(cos * out.x - sin * out.y, sin * out.x + cos * out.y)
    };
    let mut least = f64::INFINITY;
    for sample in &shape.samples {
        least = least.min(obstacles.clearance_mm(moved(*sample)));
        if least < least_mm {
            return None;
        }
    }
    let reach = Vector::<Program>::new(shape.radius_mm, shape.radius_mm);
    let around = Bounds { min: at + -reach, max: at + reach };
    for (mark, ()) in obstacles.marks.in_bounds(around) {
        let out = (mark.from() - at).rotated(-angle_rad);
        let depth = shape.outline.depth_mm(shape.middle + out);
        least = least.min(-depth);
        if least < least_mm {
            return None;
        }
    }
    Some(least)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::{FRAC_PI_2, PI};

    const QUARTERS: [f64; 4] = [0.0, FRAC_PI_2, PI, 3.0 * FRAC_PI_2];

    fn rectangle(x: f64, y: f64, width: f64, height: f64) -> Contour<Program> {
        let corners = [(x, y), (x + width, y), (x + width, y + height), (x, y + height)];
        Contour::polygon(&corners.map(|(x, y)| Point::new(x, y))).expect("four corners")
    }

    fn shape(outline: &Contour<Program>) -> Shape {
        Shape::new(outline.clone(), &[outline.path()]).expect("a shape")
    }

    /// Least distance from the placed outline to everything, looked at every 0.2 mm.
    fn measured(outline: &Contour<Program>, placed: &Placed, obstacles: &Obstacles) -> f64 {
        let path = outline.path().placed(&placed.placement);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few thousand samples")]
        let steps = (path.length_mm() / 0.2).ceil() as u32;
        (0..=steps)
            .filter_map(|k| path.point_at(path.length_mm() * f64::from(k) / f64::from(steps)))
            .map(|p| obstacles.clearance_mm(p))
            .fold(f64::INFINITY, f64::min)
    }

    #[test]
    fn an_empty_plate_takes_the_part_in_its_corner() {
        let outline = rectangle(500.0, 400.0, 200.0, 100.0);
        let obstacles = Obstacles::new(rectangle(0.0, 0.0, 2000.0, 1000.0), Vec::new(), &[]);
        let placed = place(&shape(&outline), &obstacles, &QUARTERS, 10.0).expect("it fits");
        let found = measured(&outline, &placed, &obstacles);
        assert!((10.0..18.0).contains(&found), "{placed:?} {found}");
    }

    #[test]
    fn a_strip_only_fits_turned() {
        let outline = rectangle(0.0, 0.0, 300.0, 40.0);
        let obstacles = Obstacles::new(rectangle(0.0, 0.0, 80.0, 400.0), Vec::new(), &[]);
        assert_eq!(place(&shape(&outline), &obstacles, &[0.0, PI], 5.0), None);
        let placed = place(&shape(&outline), &obstacles, &QUARTERS, 5.0).expect("it fits upright");
        assert!(measured(&outline, &placed, &obstacles) >= 5.0, "{placed:?}");
    }

    #[test]
    fn neither_on_voids_nor_around_kerfs() {
        let plate = rectangle(0.0, 0.0, 400.0, 220.0);
        let void = rectangle(10.0, 10.0, 180.0, 200.0);
        let small = rectangle(290.0, 100.0, 8.0, 8.0);
        let outline = rectangle(0.0, 0.0, 120.0, 120.0);
        // The void takes the left half; a small kerf in the right half leaves no room beside it, only around it.
        let obstacles = Obstacles::new(plate.clone(), vec![void.clone()], &[small.path()]);
        assert_eq!(place(&shape(&outline), &obstacles, &QUARTERS, 3.0), None);
        let without = Obstacles::new(plate, vec![void], &[]);
        let placed = place(&shape(&outline), &without, &QUARTERS, 3.0).expect("the right half is free");
        assert!(measured(&outline, &placed, &without) >= 3.0, "{placed:?}");
        assert!(placed.placement.point(Point::new(0.0, 0.0)).x > 190.0);
    }

    #[test]
    fn a_gap_just_larger_than_the_part_is_found() {
        let outline = rectangle(0.0, 0.0, 100.0, 60.0);
        let plate = rectangle(0.0, 0.0, 1500.0, 1000.0);
        // A lattice of kerfs leaves one gap of 125 × 85 mm.
        let gap = rectangle(700.0, 500.0, 125.0, 85.0);
        let mut kerfs = Vec::new();
        for column in 0..30u32 {
            for row in 0..20u32 {
                let square =
                    rectangle(f64::from(column) * 50.0 + 5.0, f64::from(row) * 50.0 + 5.0, 40.0, 40.0);
                if !square.bounds().meets(&gap.bounds()) {
                    kerfs.push(square);
                }
            }
        }
        let lines: Vec<&Path<Program>> = kerfs.iter().map(Contour::path).collect();
        let obstacles = Obstacles::new(plate, Vec::new(), &lines);
        let placed = place(&shape(&outline), &obstacles, &QUARTERS, 5.0).expect("the gap");
        assert!(measured(&outline, &placed, &obstacles) >= 5.0, "{placed:?}");
    }
}
