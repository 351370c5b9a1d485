//! The centre lines of all that the original burns, in one grid.
//!
//! A restart burns nearly all of it again, number for number. Where it does, its kerfs are these; what it burns otherwise
//! is laid besides, for each proof anew ([`crate::timeline`]).

use crate::Original;
use crate::grid::{Grid, about, pieces};
use crate::nearness::off_circle;
use crate::view::View;
use cuts::CutId;
use geometry::{Bounds, Curve, Program};
use std::ops::Range;

/// A curve that the original burns.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Line {
    /// The curve.
    pub(crate) curve: Curve<Program>,
    /// How far the torch had burnt when it came to its beginning, in millimetres.
    pub(crate) burnt_mm: f64,
    /// Whose it is.
    pub(crate) cut: CutId,
}

/// All that the original burns, cut by cut, each in the order of its burn.
#[derive(Debug)]
pub(crate) struct Laid {
    lines: Vec<Line>,
    of_cut: Vec<OfCut>,
    grid: Grid,
}

/// What one cut burns.
#[derive(Clone, Debug)]
struct OfCut {
    lines: Range<usize>,
    /// Whether these lines are its path.
    is_path: bool,
    bounds: Option<Bounds<Program>>,
}

impl Laid {
    /// Lays every cut that is ended.
    pub(crate) fn of(original: &Original<'_>) -> Self {
        let view = View::original(original);
        let mut lines = Vec::with_capacity(original.motions.motions().len());
        let mut of_cut = Vec::with_capacity(original.list.cuts.len());
        for cut in &original.list.cuts {
            let first = lines.len();
            let leg = original.legs().started_by(cut.torch_on).filter(|leg| leg.off.is_some());
            let mut burnt_mm = 0.0;
            for k in leg.into_iter().flat_map(crate::legs::Leg::burn) {
                let curve = view.curve(k);
                let length = curve.length_mm();
                if length > 0.0 {
                    lines.push(Line { curve, burnt_mm, cut: cut.id });
                    burnt_mm += length;
                }
            }
            let own = &lines[first..];
            let path = cut.path.curves();
            let is_path = !own.is_empty()
                && own.len() == path.len()
                && own.iter().zip(path).all(|(line, curve)| line.curve == *curve);
            let bounds = own.iter().map(|line| line.curve.bounds()).reduce(Bounds::union);
            of_cut.push(OfCut { lines: first..lines.len(), is_path, bounds });
        }
        let grid = Grid::of_curves(&lines.iter().map(|line: &Line| &line.curve));
        Self { lines, of_cut, grid }
    }

    /// The lines of a cut, by their numbers.
    pub(crate) fn of_cut(&self, cut: CutId) -> Range<usize> {
        self.of_cut[cut.0 as usize].lines.clone()
    }

    /// Whether the lines of a cut are its path: curve for curve, and no others.
    pub(crate) fn is_path(&self, cut: CutId) -> bool {
        self.of_cut[cut.0 as usize].is_path
    }

    /// The box around what a cut burns.
    pub(crate) fn bounds(&self, cut: CutId) -> Option<Bounds<Program>> {
        self.of_cut[cut.0 as usize].bounds
    }

    /// A line by its number.
    pub(crate) fn line(&self, number: usize) -> &Line {
        &self.lines[number]
    }

    /// Whether the lines of all other cuts stay clear of those of `cut` by a kerf's width and more.
    pub(crate) fn is_apart(&self, cut: CutId, kerf_mm: f64) -> bool {
        let mut apart = true;
        for line in &self.lines[self.of_cut(cut)] {
            pieces(&line.curve, self.grid.cell_mm(), |bounds, _| {
                let (middle, half_piece) = about(bounds);
                self.grid.near(bounds, kerf_mm, |number| {
                    let other = &self.lines[number as usize];
                    apart = apart
                        && (other.cut == cut
                            || off_circle(&other.curve, middle, kerf_mm + half_piece)
                            || !other.curve.bounds().grown(kerf_mm).meets(&bounds));
                });
            });
            if !apart {
                break;
            }
        }
        apart
    }

    /// All lines in their grid.
    pub(crate) fn grid(&self) -> &Grid {
        &self.grid
    }
}
