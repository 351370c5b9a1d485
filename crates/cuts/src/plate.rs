//! The state of the plate: what has been cut, how deep, when, and what is loose.

use crate::{ContourId, CutId, CutList, PartId};
use geometry::{Curve, CurveIndex, Point, Program};
use std::ops::Range;
use units::{Duration, Length};

/// How deep a kerf is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Depth {
    /// Cut, but not through.
    Groove,
    /// Through.
    Through,
}

/// A stretch of a cut that has been made.
#[derive(Clone, Debug, PartialEq)]
pub struct Made {
    /// The cut.
    pub cut: CutId,
    /// The stretch of its path, in millimetres along it.
    pub along_mm: Range<f64>,
    /// How deep.
    pub depth: Depth,
}

/// Which stretches of which cuts have been made; the rest is uncut.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Progress {
    /// Stretches in order of cutting; may hold several of one cut.
    pub made: Vec<Made>,
}

impl Progress {
    /// All cuts before `cut` made whole, `cut` not begun.
    #[must_use]
    pub fn before(list: &CutList, cut: CutId) -> Self {
        let _ = (list, cut);
        todo!("cuts")
    }

    /// All cuts made whole.
    #[must_use]
    pub fn whole(list: &CutList) -> Self {
        let _ = list;
        todo!("cuts")
    }

    /// All cuts before `cut` made whole and `cut` made through up to `along` its path.
    #[must_use]
    pub fn within(list: &CutList, cut: CutId, along: Length) -> Self {
        let _ = (list, cut, along);
        todo!("cuts")
    }

    /// Whether `cut` has been made whole and through.
    #[must_use]
    pub fn is_whole(&self, list: &CutList, cut: CutId) -> bool {
        let _ = (list, cut);
        todo!("cuts")
    }

    /// Whether nothing of `cut` has been made.
    #[must_use]
    pub fn is_dry(&self, cut: CutId) -> bool {
        self.made.iter().all(|made| made.cut != cut)
    }
}

/// What a loose piece is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PieceKind {
    /// A part.
    Part(PartId),
    /// What drops out of a hole.
    Slug(ContourId),
}

/// A piece that no skeleton holds any more.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// What it is.
    pub kind: PieceKind,
    /// Its outer contour.
    pub outline: ContourId,
    /// The cut whose end freed it.
    pub freed_by: CutId,
}

/// The plate at an instant: kerfs made, craters, pieces loose. A value.
#[derive(Clone, Debug, PartialEq)]
pub struct PlateState {
    /// What has been made.
    pub progress: Progress,
    /// Width of the kerf.
    pub kerf: Length,
    /// Pieces loose, in the order in which they came loose.
    pub loose: Vec<Piece>,
}

impl PlateState {
    /// The plate after `progress`.
    #[must_use]
    pub fn after(list: &CutList, progress: Progress, kerf: Length) -> Self {
        let _ = (list, progress, kerf);
        todo!("cuts")
    }
}

/// Every curve of every cut in one index, each with the interval of nominal time in which it was cut, so that the
/// state at any time is a filter on the same index.
#[derive(Debug)]
pub struct PlateIndex {
    /// The index. Tag: the cut and the curve's number in its path.
    pub curves: CurveIndex<Program, (CutId, u32)>,
}

impl PlateIndex {
    /// Indexes all cuts of `list`.
    #[must_use]
    pub fn new(list: &CutList) -> Self {
        let _ = list;
        todo!("cuts")
    }

    /// The kerf centre line nearest to `p` among what `progress` has made through; none if nothing is made within
    /// `radius`.
    #[must_use]
    pub fn nearest_made(
        &self,
        list: &CutList,
        progress: &Progress,
        p: Point<Program>,
        radius: Length,
    ) -> Option<(CutId, Curve<Program>, Length)> {
        let _ = (list, progress, p, radius);
        todo!("cuts")
    }

    /// Nominal times between which `cut`'s curve `k` is cut.
    #[must_use]
    pub fn time_of(&self, list: &CutList, cut: CutId, k: u32) -> Range<Duration> {
        let _ = (list, cut, k);
        todo!("cuts")
    }
}
