//! Whether what is left of a cut can be begun at all: a crater or an edge clear of the part, joined to the path through
//! attached scrap or kerf. By physical minima, not by anybody's margins.

use super::layout::{Layout, Line, Part};
use super::physics;
use super::plate::Plate;
use super::raster::{Window, square};
use std::collections::VecDeque;

/// How far about what is left a place to pierce is looked for, in millimetres: farther off, the lead-in alone would take
/// longer than the part is worth.
const LOOKED_FOR_MM: f64 = 60.0;

/// Distance between two places looked at, in millimetres: below half the narrowest kerf, so that no way along one is
/// missed.
const GRID_MM: f64 = 0.5;

/// How many places of a line back from the end of what has been made an arc may be begun: as far as its pilot reaches.
const BACK: usize = 5;

/// Whether each stretch of `line` that is left has an admissible start.
pub(super) fn can_be_begun(layout: &Layout, plate: &Plate, part: &Part, line: &Line) -> bool {
    let made = |at: &[f64; 2]| if line.marks { plate.is_cut(*at) } else { plate.is_void(*at) };
    let mut k = 0;
    while k < line.places.len() {
        if made(&line.places[k]) {
            k += 1;
            continue;
        }
        let end = (k..line.places.len()).find(|k| made(&line.places[*k])).unwrap_or(line.places.len());
        if !stretch_begins(layout, plate, (part, line), k..end) {
            return false;
        }
        k = end;
    }
    true
}

fn stretch_begins(
    layout: &Layout,
    plate: &Plate,
    (part, line): (&Part, &Line),
    left: std::ops::Range<usize>,
) -> bool {
    // An edge: the wall at the end of what has been made, from either side, on the cut's own path.
    let edge = |at: &[f64; 2]| plate.within_pilot(*at) && is_found(layout, plate, *at);
    if line.places[..left.start].iter().rev().take(BACK).any(edge)
        || line.places[left.end..].iter().take(BACK).any(edge)
    {
        return true;
    }
    // The cut's own pierce.
    let first = line.places[left.start];
    if line.marks || pierces(layout, plate, part, line, first) {
        return true;
    }
    scrap_reaches(layout, plate, part, line, &line.places[left])
}

/// Whether a crater at a place would be lit and would keep clear of the part.
fn pierces(layout: &Layout, plate: &Plate, part: &Part, line: &Line, at: [f64; 2]) -> bool {
    let radius = line.kerf_mm * physics::CRATER_KERFS;
    plate.metal_share(at, radius) >= physics::FIRES_ON_SHARE
        && !part.is_reached(at, radius, layout.tolerance_mm)
        && is_found(layout, plate, at)
}

/// Whether the table finds the plate for a start at a place; where it touches off elsewhere, somebody finds a sound place.
fn is_found(layout: &Layout, plate: &Plate, at: [f64; 2]) -> bool {
    !layout.touches_where_lit || plate.bears(at, layout.tip_mm)
}

/// Whether some place in attached scrap where the arc can be lit is joined to what is left by a way on which the torch's
/// kerf keeps out of every part.
fn scrap_reaches(layout: &Layout, plate: &Plate, part: &Part, line: &Line, left: &[[f64; 2]]) -> bool {
    let Some(first) = left.first() else { return true };
    let grown = LOOKED_FOR_MM;
    let bounds = |axis: usize| {
        let values = || left.iter().map(|at| at[axis]);
        (values().fold(f64::INFINITY, f64::min) - grown, values().fold(f64::NEG_INFINITY, f64::max) + grown)
    };
    let (x, y) = (bounds(0), bounds(1));
    let cell_of = |at: [f64; 2]| {
        let [col, row] = square([(at[0] - x.0) / GRID_MM * 0.1, (at[1] - y.0) / GRID_MM * 0.1]);
        [col, row]
    };
    let middle = |cell: [i32; 2]| {
        [x.0 + (f64::from(cell[0]) + 0.5) * GRID_MM, y.0 + (f64::from(cell[1]) + 0.5) * GRID_MM]
    };
    let [wide, tall] = cell_of([x.1, y.1]);
    let window = Window { low: [0, 0], high: [wide, tall] };
    let clear = |at: [f64; 2]| {
        let is_plate = plate.is_on_plate(at) && !plate.is_loose(at);
        let half = line.kerf_mm / 2.0;
        is_plate && layout.parts.iter().all(|other| !other.is_reached(at, half, layout.tolerance_mm))
    };
    let mut seen = vec![false; usize::try_from(window.wide() * window.tall()).unwrap_or(0)];
    let index = |cell: [i32; 2]| usize::try_from(cell[1] * window.wide() + cell[0]).unwrap_or(0);
    let mut waiting: VecDeque<[i32; 2]> = left.iter().map(|at| cell_of(*at)).collect();
    waiting.push_front(cell_of(*first));
    while let Some(cell) = waiting.pop_front() {
        if !window.holds(cell) || std::mem::replace(&mut seen[index(cell)], true) {
            continue;
        }
        let at = middle(cell);
        if !clear(at) {
            continue;
        }
        if pierces(layout, plate, part, line, at) {
            return true;
        }
        let [col, row] = cell;
        waiting.extend([[col + 1, row], [col - 1, row], [col, row + 1], [col, row - 1]]);
    }
    false
}
