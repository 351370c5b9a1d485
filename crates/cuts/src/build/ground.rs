//! Ground that has been cut before: curves in a local grid, to which more are added as the path goes on.

use geometry::{Bounds, Curve, Point, Program};

/// A curve of a cut's path, or the part of it that cut new metal.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Entry {
    /// The cut.
    pub(crate) owner: u32,
    /// Number of the curve in its path.
    pub(crate) k: u32,
    /// Where the curve begins along the path, in millimetres.
    pub(crate) start_mm: f64,
    /// The places along the path, in millimetres, between which it cut new metal.
    pub(crate) fresh: (f64, f64),
    /// The curve, whole.
    pub(crate) curve: Curve<Program>,
    bounds: Bounds<Program>,
}

impl Entry {
    pub(crate) fn new(owner: u32, k: u32, start_mm: f64, fresh: (f64, f64), curve: Curve<Program>) -> Self {
        Self { owner, k, start_mm, fresh, curve, bounds: curve.bounds() }
    }

    /// Takes in `next` if it continues this one on the same curve.
    fn absorbs(&mut self, next: &Self) -> bool {
        let absorbs = (self.owner, self.k) == (next.owner, next.k) && next.fresh.0 <= self.fresh.1;
        if absorbs {
            self.fresh.1 = next.fresh.1;
        }
        absorbs
    }
}

/// Marks the end of a cell's list.
const END: u32 = u32::MAX;

/// Paths with fewer curves than this go into one cell: looking at each box is quicker than finding cells.
const ONE_CELL: usize = 12;

/// Entries by cells of a grid. Every cell holds a linked list; memory is kept from one use to the next.
#[derive(Debug)]
pub(crate) struct Ground {
    entries: Vec<Entry>,
    /// First link of each cell's list, row by row.
    heads: Vec<u32>,
    /// An entry and the next link of the same cell.
    links: Vec<(u32, u32)>,
    /// For each entry, the last question it was met in, so that it is given once a question.
    met: Vec<u32>,
    question: u32,
    origin: Point<Program>,
    cell_mm: f64,
    columns: u32,
    rows: u32,
}

impl Ground {
    pub(crate) fn new() -> Self {
        Self {
            entries: Vec::new(),
            heads: Vec::new(),
            links: Vec::new(),
            met: Vec::new(),
            question: 0,
            origin: Point::ORIGIN,
            cell_mm: 1.0,
            columns: 1,
            rows: 1,
        }
    }

    /// Forgets everything and lays the grid over `bounds` for about `curves` curves.
    pub(crate) fn clear(&mut self, bounds: Bounds<Program>, curves: usize) {
        self.entries.clear();
        self.links.clear();
        self.met.clear();
        self.question = 0;
        self.origin = bounds.min;
        let (width, height) = (bounds.max.x - bounds.min.x, bounds.max.y - bounds.min.y);
        #[expect(clippy::cast_precision_loss, reason = "a rough size of cells")]
        let cells = if curves < ONE_CELL { 1.0 } else { curves as f64 };
        self.cell_mm = (width * height / cells).sqrt().max(width.max(height) / cells).max(LEAST_CELL_MM);
        self.columns = count(width / self.cell_mm);
        self.rows = count(height / self.cell_mm);
        self.heads.clear();
        self.heads.resize((self.columns * self.rows) as usize, END);
    }

    pub(crate) fn entry(&self, id: u32) -> &Entry {
        &self.entries[id as usize]
    }

    /// Adds an entry; one that continues the last one on the same curve becomes part of it.
    pub(crate) fn add(&mut self, entry: Entry) {
        if self.entries.last_mut().is_some_and(|last| last.absorbs(&entry)) {
            return;
        }
        let id = u32::try_from(self.entries.len()).expect("curves are counted in 32 bits");
        self.entries.push(entry);
        self.met.push(self.question);
        let (heads, links) = (&mut self.heads, &mut self.links);
        let grid =
            Grid { origin: self.origin, cell_mm: self.cell_mm, columns: self.columns, rows: self.rows };
        grid.cells(&entry.curve, entry.bounds, |cell| {
            let link = u32::try_from(links.len()).expect("links are counted in 32 bits");
            links.push((id, heads[cell]));
            heads[cell] = link;
        });
    }

    /// Puts into `found` the entries whose boxes come within `margin_mm` of `curve`'s, each once, oldest first.
    pub(crate) fn near(&mut self, curve: &Curve<Program>, margin_mm: f64, found: &mut Vec<u32>) {
        found.clear();
        self.question += 1;
        let bounds = curve.bounds().grown(margin_mm);
        let grid =
            Grid { origin: self.origin, cell_mm: self.cell_mm, columns: self.columns, rows: self.rows };
        grid.cells(curve, bounds, |cell| {
            let mut link = self.heads[cell];
            while link != END {
                let (id, next) = self.links[link as usize];
                link = next;
                if self.met[id as usize] != self.question {
                    self.met[id as usize] = self.question;
                    if self.entries[id as usize].bounds.meets(&bounds) {
                        found.push(id);
                    }
                }
            }
        });
        found.sort_unstable();
    }
}

/// Smallest cell, in millimetres: keeps the grid finite for paths of no extent.
const LEAST_CELL_MM: f64 = 0.01;

/// Most cells in a row or column: keeps the grid small for paths of millions of curves.
const MOST_CELLS: f64 = 4096.0;

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to 1..=4096")]
fn count(cells: f64) -> u32 {
    cells.ceil().clamp(1.0, MOST_CELLS) as u32
}

#[derive(Clone, Copy)]
struct Grid {
    origin: Point<Program>,
    cell_mm: f64,
    columns: u32,
    rows: u32,
}

impl Grid {
    /// Calls `visit` with the cells that `curve` may run through, taken to be `bounds` wide. A straight curve is
    /// followed row by row, so that a long slanting one does not count in every cell of its box.
    fn cells(&self, curve: &Curve<Program>, bounds: Bounds<Program>, mut visit: impl FnMut(usize)) {
        if self.columns == 1 && self.rows == 1 {
            visit(0);
            return;
        }
        let rows = self.slot(bounds.min.y - self.origin.y, self.rows)
            ..=self.slot(bounds.max.y - self.origin.y, self.rows);
        for row in rows {
            let (low, high) = self.span_in_row(curve, bounds, row);
            for column in
                self.slot(low - self.origin.x, self.columns)..=self.slot(high - self.origin.x, self.columns)
            {
                visit((row * self.columns + column) as usize);
            }
        }
    }

    fn span_in_row(&self, curve: &Curve<Program>, bounds: Bounds<Program>, row: u32) -> (f64, f64) {
        let Curve::Segment(segment) = curve else { return (bounds.min.x, bounds.max.x) };
        let rise = segment.to.y - segment.from.y;
        if rise.abs() <= self.cell_mm {
            return (bounds.min.x, bounds.max.x);
        }
        let margin = segment.from.x.min(segment.to.x) - bounds.min.x;
        let low = self.origin.y + f64::from(row) * self.cell_mm - margin;
        let x_at = |y: f64| {
            let t = ((y - segment.from.y) / rise).clamp(0.0, 1.0);
            segment.from.x + (segment.to.x - segment.from.x) * t
        };
        let (a, b) = (x_at(low), x_at(low + self.cell_mm + 2.0 * margin));
        (a.min(b) - margin, a.max(b) + margin)
    }

    /// The row or column in which an offset from the origin lies; those outside count in the first or last.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the grid")]
    fn slot(&self, offset_mm: f64, count: u32) -> u32 {
        ((offset_mm / self.cell_mm).floor().max(0.0) as u32).min(count - 1)
    }
}
