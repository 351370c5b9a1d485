//! A grid of square cells over many short curves or boxes: what lies near a place.
//!
//! A tree would serve as well; the grid is built in one pass over hundreds of thousands of curves of much the same
//! length, which is what a proof has little time for.

use geometry::{Arc, Bounds, Curve, Point, Program};

/// Cells are never smaller than this, in millimetres: about the reach of a question, so that a question looks into
/// few cells.
const CELL_MIN_MM: f64 = 4.0;

/// Cells and entries for each thing in the grid on the average, at most; keeps memory linear however far apart they lie and
/// however large they are.
const PER_ENTRY: f64 = 8.0;

/// Curves or boxes in cells, by their numbers.
#[derive(Debug)]
pub(crate) struct Grid {
    cell_mm: f64,
    min: Point<Program>,
    columns: u32,
    rows: u32,
    /// Where each cell's entries begin in `entries`, and at the end their number.
    starts: Vec<u32>,
    entries: Vec<u32>,
}

/// Cells from one corner to the other, both included.
#[derive(Clone, Copy, PartialEq, Eq)]
struct Cells {
    columns: (u32, u32),
    rows: (u32, u32),
}

impl Grid {
    /// The grid of `curves`, numbered as they come. Those that are not finite are left out.
    pub(crate) fn of_curves<'a>(curves: &(impl Iterator<Item = &'a Curve<Program>> + Clone)) -> Self {
        let (mut all, mut length, mut count) = (None, 0.0, 0.0);
        for curve in curves.clone().filter(|curve| is_finite(curve)) {
            all = union(all, curve.bounds());
            length += curve.length_mm();
            count += 1.0;
        }
        let allowed = PER_ENTRY * count + 1024.0;
        let mut grid = Self::empty(all, allowed, length / allowed);
        let cell_mm = grid.cell_mm;
        grid.fill(|see| {
            for (number, curve) in curves.clone().enumerate().filter(|(_, curve)| is_finite(curve)) {
                pieces(curve, cell_mm, |bounds, _| see(number, bounds));
            }
        });
        grid
    }

    /// The grid of `boxes`, numbered as they come; all are finite.
    pub(crate) fn of_boxes(boxes: &[Bounds<Program>]) -> Self {
        let (mut all, mut area, mut count) = (None, 0.0, 0.0);
        for bounds in boxes {
            all = union(all, *bounds);
            area += (bounds.max.x - bounds.min.x) * (bounds.max.y - bounds.min.y);
            count += 1.0;
        }
        let allowed = PER_ENTRY * count + 1024.0;
        let mut grid = Self::empty(all, allowed, (area / allowed).sqrt());
        grid.fill(|see| boxes.iter().enumerate().for_each(|(number, bounds)| see(number, *bounds)));
        grid
    }

    /// Cells over `all`, no more than about `allowed`, none smaller than `cell_mm`.
    fn empty(all: Option<Bounds<Program>>, allowed: f64, cell_mm: f64) -> Self {
        let all = all.unwrap_or(Bounds { min: Point::ORIGIN, max: Point::ORIGIN });
        let (width, height) = (all.max.x - all.min.x, all.max.y - all.min.y);
        let cell_mm =
            CELL_MIN_MM.max(cell_mm).max((width * height / allowed).sqrt()).max((width + height) / allowed);
        Self {
            cell_mm,
            min: all.min,
            columns: whole(width / cell_mm) + 1,
            rows: whole(height / cell_mm) + 1,
            starts: Vec::new(),
            entries: Vec::new(),
        }
    }

    /// Sorts what `each` gives into cells: numbers in rising order, each with one or several boxes.
    fn fill(&mut self, each: impl FnOnce(&mut dyn FnMut(usize, Bounds<Program>))) {
        let count = self.columns as usize * self.rows as usize;
        let mut starts = vec![0u32; count + 1];
        let mut placed: Vec<(u32, u32)> = Vec::new();
        let mut last = None;
        each(&mut |number, bounds| {
            let cells = self.cells(bounds);
            if last.replace((number, cells)) == Some((number, cells)) {
                return;
            }
            for row in cells.rows.0..=cells.rows.1 {
                for column in cells.columns.0..=cells.columns.1 {
                    let cell = row * self.columns + column;
                    placed.push((cell, crate::legs::index(number)));
                    starts[cell as usize + 1] += 1;
                }
            }
        });
        for k in 1..starts.len() {
            starts[k] += starts[k - 1];
        }
        let mut next = starts.clone();
        let mut entries = vec![0u32; placed.len()];
        for (cell, number) in placed {
            entries[next[cell as usize] as usize] = number;
            next[cell as usize] += 1;
        }
        self.starts = starts;
        self.entries = entries;
    }

    /// Side of a cell, in millimetres.
    pub(crate) fn cell_mm(&self) -> f64 {
        self.cell_mm
    }

    /// Gives `see` the numbers of all entries that may lie within `reach_mm` of the box, and others near by; an entry
    /// may be given several times. Meant for boxes not much larger than a cell.
    pub(crate) fn near(&self, bounds: Bounds<Program>, reach_mm: f64, mut see: impl FnMut(u32)) {
        if self.entries.is_empty() {
            return;
        }
        let cells = self.cells(bounds.grown(reach_mm));
        for row in cells.rows.0..=cells.rows.1 {
            let first = row as usize * self.columns as usize;
            let from = self.starts[first + cells.columns.0 as usize] as usize;
            let to = self.starts[first + cells.columns.1 as usize + 1] as usize;
            self.entries[from..to].iter().for_each(|number| see(*number));
        }
    }

    fn cells(&self, bounds: Bounds<Program>) -> Cells {
        let column = |x: f64| whole((x - self.min.x) / self.cell_mm).min(self.columns - 1);
        let row = |y: f64| whole((y - self.min.y) / self.cell_mm).min(self.rows - 1);
        Cells {
            columns: (column(bounds.min.x), column(bounds.max.x)),
            rows: (row(bounds.min.y), row(bounds.max.y)),
        }
    }
}

/// Cuts `curve` into pieces no longer than `longest_mm`; gives the box of each and its stretch along the curve.
pub(crate) fn pieces(
    curve: &Curve<Program>,
    longest_mm: f64,
    mut see: impl FnMut(Bounds<Program>, std::ops::Range<f64>),
) {
    if let Curve::Segment(segment) = curve {
        let (dx, dy) = (segment.to.x - segment.from.x, segment.to.y - segment.from.y);
        let length = (dx * dx + dy * dy).sqrt();
        if length <= longest_mm {
            return see(curve.bounds(), 0.0..length);
        }
    }
    let length = curve.length_mm();
    let count = whole((length / longest_mm).ceil()).max(1);
    let (mut from_mm, mut from) = (0.0, curve.from());
    for k in 1..=count {
        let to_mm = if k == count { length } else { length * f64::from(k) / f64::from(count) };
        let to = if k == count { curve.to() } else { curve.point_at(to_mm) };
        let bulge = match curve {
            Curve::Segment(_) => 0.0,
            Curve::Arc(arc) => bulge_mm(arc, to_mm - from_mm),
        };
        let bounds = Bounds {
            min: Point::new(from.x.min(to.x), from.y.min(to.y)),
            max: Point::new(from.x.max(to.x), from.y.max(to.y)),
        };
        see(bounds.grown(bulge), from_mm..to_mm);
        (from_mm, from) = (to_mm, to);
    }
}

/// The middle of a box, and how far its corners lie from there.
pub(crate) fn about(bounds: Bounds<Program>) -> (Point<Program>, f64) {
    (bounds.min.lerp(bounds.max, 0.5), bounds.min.distance(bounds.max) / 2.0)
}

/// How far a stretch of an arc leaves its chord: its sagitta, and what its radius changes by.
fn bulge_mm(arc: &Arc<Program>, length_mm: f64) -> f64 {
    let radius = arc.radius_mm();
    let half_turn = length_mm / (2.0 * radius.max(f64::MIN_POSITIVE));
    let sagitta = if half_turn < 1.5 { radius * (1.0 - half_turn.cos()) } else { 2.0 * radius };
    sagitta + (arc.center.distance(arc.from) - arc.center.distance(arc.to)).abs()
}

fn union(all: Option<Bounds<Program>>, more: Bounds<Program>) -> Option<Bounds<Program>> {
    Some(all.map_or(more, |all| all.union(more)))
}

fn is_finite(curve: &Curve<Program>) -> bool {
    if let Curve::Segment(segment) = curve {
        return segment.from.distance(segment.to).is_finite();
    }
    curve.from().is_finite() && curve.to().is_finite() && curve.length_mm().is_finite()
}

/// The whole number below, 0 for what is negative or no number.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the cast saturates, as is wanted"
)]
fn whole(value: f64) -> u32 {
    value as u32
}

#[cfg(test)]
mod tests;
