//! How much room there is around a place: exact distances to what a torch must keep off, remembered by cells.
//!
//! For each cell the few curves are kept that may be nearest to a point of it; a question then costs some distances
//! instead of one to every curve. Cells are filled when they are first asked about, coarse ones first.

use geometry::{Curve, Point, Program};

/// What a curve stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// A kerf, crater or hole that is there: no metal.
    Void,
    /// The plate's edge, or a clamp.
    Edge,
    /// The centre line of a contour that bounds a part or a hole, cut or not.
    Part,
    /// What a later cut needs: its pierce, its touch-off, its lead-in.
    Later,
    /// The kerf or crater of a cut that may be made before.
    Before,
}

const KINDS: usize = 5;

/// A curve and how wide it is.
#[derive(Clone, Copy, Debug)]
pub(super) struct Item {
    pub(super) kind: Kind,
    pub(super) curve: Curve<Program>,
    pub(super) half_mm: f64,
}

/// Distances from a point to the edge of the nearest item of each kind, in millimetres; negative inside it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Clear {
    pub(super) void_mm: f64,
    pub(super) edge_mm: f64,
    pub(super) part_mm: f64,
    pub(super) later_mm: f64,
    pub(super) before_mm: f64,
}

/// Side of a small cell, in millimetres: so small that mostly one or two curves of a kind are left in it, so large
/// that a search asks each cell many times.
const CELL_MM: f64 = 2.0;

/// Small cells along the side of a coarse one.
const FINE: usize = 8;

/// For one cell, the items of each kind that may be nearest.
type Nearby = [Vec<u32>; KINDS];

/// The room around a place.
#[derive(Debug)]
pub(super) struct Room {
    middle: Point<Program>,
    reach_mm: f64,
    items: Vec<Item>,
    all: Nearby,
    /// Cells along a side of the grid of coarse cells.
    columns: usize,
    coarse: Vec<Option<Box<Nearby>>>,
    fine: Vec<Option<Box<Nearby>>>,
}

impl Room {
    /// The room within `reach_mm` of `middle`. `items` holds at least everything that comes so near.
    pub(super) fn new(middle: Point<Program>, reach_mm: f64, items: Vec<Item>) -> Self {
        let mut all = Nearby::default();
        for (item, number) in items.iter().zip(0u32..) {
            all[item.kind as usize].push(number);
        }
        let columns = cells(2.0 * reach_mm / side_of_coarse_mm());
        Self {
            middle,
            reach_mm,
            items,
            all,
            columns,
            coarse: vec![None; columns * columns],
            fine: vec![None; columns * FINE * columns * FINE],
        }
    }

    /// How much room there is at `p`; what lies beyond the reach is taken to begin there.
    pub(super) fn at(&mut self, p: Point<Program>) -> Clear {
        let horizon = self.reach_mm - self.middle.distance(p);
        if horizon <= 0.0 {
            let [void_mm, edge_mm, part_mm, later_mm, before_mm] = [horizon; KINDS];
            return Clear { void_mm, edge_mm, part_mm, later_mm, before_mm };
        }
        let cell = self.fine_cell(p);
        let items = &self.items;
        let nearby = self.fine[cell].as_deref().unwrap_or(&self.all);
        let nearest = |kind: Kind| {
            let of = nearby[kind as usize].iter().map(|k| clear_mm(&items[*k as usize], p));
            of.fold(horizon, f64::min)
        };
        Clear {
            void_mm: nearest(Kind::Void),
            edge_mm: nearest(Kind::Edge),
            part_mm: nearest(Kind::Part),
            later_mm: nearest(Kind::Later),
            before_mm: nearest(Kind::Before),
        }
    }

    /// The small cell that holds `p`, filled.
    fn fine_cell(&mut self, p: Point<Program>) -> usize {
        let corner = Point::new(self.middle.x - self.reach_mm, self.middle.y - self.reach_mm);
        let fine_columns = self.columns * FINE;
        let slot = |offset: f64| cells(offset / CELL_MM).saturating_sub(1).min(fine_columns - 1);
        let (column, row) = (slot(p.x - corner.x), slot(p.y - corner.y));
        let fine = row * fine_columns + column;
        if self.fine[fine].is_none() {
            let (coarse_column, coarse_row) = (column / FINE, row / FINE);
            let coarse = coarse_row * self.columns + coarse_column;
            if self.coarse[coarse].is_none() {
                let middle = middle_of(corner, [coarse_column, coarse_row], side_of_coarse_mm());
                self.coarse[coarse] =
                    Some(Box::new(nearest_in(&self.items, &self.all, middle, side_of_coarse_mm())));
            }
            let middle = middle_of(corner, [column, row], CELL_MM);
            let from = self.coarse[coarse].as_deref().unwrap_or(&self.all);
            self.fine[fine] = Some(Box::new(nearest_in(&self.items, from, middle, CELL_MM)));
        }
        fine
    }
}

fn clear_mm(item: &Item, p: Point<Program>) -> f64 {
    item.curve.nearest(p).distance_mm - item.half_mm
}

/// Of the items `among`, those that may be nearest to a point of the square about `middle`.
fn nearest_in(items: &[Item], among: &Nearby, middle: Point<Program>, side_mm: f64) -> Nearby {
    let diagonal = side_mm * std::f64::consts::SQRT_2;
    let mut nearby = Nearby::default();
    for (of, found) in among.iter().zip(&mut nearby) {
        let clear: Vec<f64> = of.iter().map(|k| clear_mm(&items[*k as usize], middle)).collect();
        let least = clear.iter().copied().fold(f64::INFINITY, f64::min);
        // Within the square every distance differs from that at its middle by at most half the diagonal.
        let may = |(_, clear): &(&u32, &f64)| **clear <= least + diagonal;
        found.extend(of.iter().zip(&clear).filter(may).map(|(k, _)| *k));
    }
    nearby
}

fn side_of_coarse_mm() -> f64 {
    CELL_MM * f64::from(u8::try_from(FINE).unwrap_or(u8::MAX))
}

#[expect(clippy::cast_precision_loss, reason = "cells are counted in thousands")]
fn middle_of(corner: Point<Program>, [column, row]: [usize; 2], side_mm: f64) -> Point<Program> {
    let along = |cell: usize| (cell as f64 + 0.5) * side_mm;
    Point::new(corner.x + along(column), corner.y + along(row))
}

/// Whole cells that hold so many sides; at least one.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to 1..=MOST_CELLS")]
fn cells(sides: f64) -> usize {
    sides.ceil().clamp(1.0, MOST_CELLS) as usize
}

/// Most small cells along a side: a room is a few hundred millimetres wide.
const MOST_CELLS: f64 = 4096.0;
