//! The plate at an instant: what has been cut, how deep, and what is loose.

use super::cover::{Cover, left};
use super::progress::{Depth, Made, Progress};
use crate::{Contour, ContourId, Cut, CutId, CutList, PartId, Shape};
use geometry::{Point, Program};
use std::ops::Range;
use units::Length;

/// What a loose piece is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PieceKind {
    /// A part.
    Part(PartId),
    /// What drops out of a hole.
    Slug(ContourId),
}

/// How a loose piece lies, by the operator's eye.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lies {
    /// It fell between the slats.
    Fell,
    /// It lies flat in its place.
    Flat,
    /// It stands up: a tip-up.
    Standing,
    /// It was taken away.
    Removed,
}

/// The operator's word on a piece; it overrides what is computed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Said {
    /// The piece, by its outer contour.
    pub outline: ContourId,
    /// How it lies.
    pub lies: Lies,
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
    /// How it lies, if the operator said so.
    pub lies: Option<Lies>,
}

impl Piece {
    /// Whether the operator said that it is no longer there.
    #[must_use]
    pub fn is_gone(&self) -> bool {
        matches!(self.lies, Some(Lies::Fell | Lies::Removed))
    }
}

/// The crater of a pierce that was made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crater {
    /// The cut.
    pub cut: CutId,
    /// Where.
    pub at: Point<Program>,
    /// Its radius.
    pub radius: Length,
}

/// The plate at an instant: kerfs made, craters, pieces loose. A value.
#[derive(Clone, Debug, PartialEq)]
pub struct PlateState {
    progress: Progress,
    kerf: Length,
    crater: Length,
    /// What has been made of each cut.
    covers: Vec<Cover>,
    loose: Vec<Piece>,
    /// For each contour the number of its piece in `loose`, from 1; 0 if it is not loose.
    piece_of: Vec<u32>,
}

impl PlateState {
    /// The plate after `progress`. A crater is taken to be two kerfs wide (common practice) until
    /// [`PlateState::with_crater`] says otherwise.
    ///
    /// # Panics
    /// If `progress` has a cut that `list` has not.
    #[must_use]
    pub fn after(list: &CutList, progress: Progress, kerf: Length) -> Self {
        let mut state = Self {
            progress: Progress {
                made: Vec::with_capacity(progress.made.len()),
                strays: progress.strays,
                pieces: Vec::new(),
                held: progress.held,
            },
            kerf,
            crater: kerf,
            covers: vec![Cover::default(); list.cuts.len()],
            loose: Vec::new(),
            piece_of: vec![0; list.contours.len()],
        };
        for made in progress.made {
            state.make(list, made);
        }
        state.with_said(list, &progress.pieces)
    }

    /// With craters of this radius.
    #[must_use]
    pub fn with_crater(mut self, radius: Length) -> Self {
        self.crater = radius;
        self
    }

    /// With the operator's word on pieces, which overrides what is computed: a piece spoken of is loose.
    #[must_use]
    pub fn with_said(mut self, list: &CutList, said: &[Said]) -> Self {
        for Said { outline, lies } in said {
            let contour = list.contour(*outline);
            let outline = contour.repeats.unwrap_or(contour.id);
            self.free(contour, contour.cut);
            if let Some(piece) = self.piece_of[outline.0 as usize].checked_sub(1) {
                self.loose[piece as usize].lies = Some(*lies);
            }
            self.progress.say(Said { outline, lies: *lies });
        }
        self
    }

    /// Makes one more stretch; gives the pieces that come loose by it. Takes no longer on a full plate than on an empty
    /// one, so that a program can be followed from cut to cut.
    ///
    /// # Panics
    /// If `list` has no such cut.
    pub fn make(&mut self, list: &CutList, made: Made) -> &[Piece] {
        let (cut, before) = (list.cut(made.cut), self.loose.len());
        self.covers[made.cut.0 as usize].add(cut, &made);
        if let Some(sure) = made.surely_mm().filter(|_| made.depth == Depth::Through) {
            self.free_bounded_by(list, cut, cut.id);
            for overlap in &cut.overlaps {
                if let Some(covered) = overlap.covered_mm(&sure) {
                    self.covers[overlap.over.0 as usize].gone_over(&covered);
                    self.free_bounded_by(list, list.cut(overlap.over), cut.id);
                }
            }
        }
        self.progress.made.push(made);
        &self.loose[before..]
    }

    /// Frees what `edge` bounds, as far as it is parted all the way round.
    fn free_bounded_by(&mut self, list: &CutList, edge: &Cut, freed_by: CutId) {
        for id in &edge.bounds {
            let contour = list.contour(*id);
            if contour.shape != Shape::Mark && self.is_closed(contour) {
                self.free(contour, freed_by);
            }
        }
    }

    /// Whether the plate is parted all along a closed contour's boundary.
    fn is_closed(&self, contour: &Contour) -> bool {
        let parted =
            |stretch: &crate::Stretch| self.covers[stretch.cut.0 as usize].is_parted(&stretch.along_mm);
        !contour.boundary.is_empty() && contour.boundary.iter().all(parted)
    }

    fn free(&mut self, contour: &Contour, freed_by: CutId) {
        let outline = contour.repeats.unwrap_or(contour.id);
        if self.piece_of[outline.0 as usize] != 0 {
            return;
        }
        let kind = match (contour.shape, contour.part) {
            (Shape::Outline, Some(part)) => PieceKind::Part(part),
            _ => PieceKind::Slug(outline),
        };
        self.loose.push(Piece { kind, outline, freed_by, lies: None });
        self.piece_of[outline.0 as usize] =
            u32::try_from(self.loose.len()).expect("pieces are counted in 32 bits");
    }

    /// What has been made, in order.
    #[must_use]
    pub fn progress(&self) -> &Progress {
        &self.progress
    }

    /// Width of the kerf.
    #[must_use]
    pub fn kerf(&self) -> Length {
        self.kerf
    }

    /// Radius of a crater.
    #[must_use]
    pub fn crater(&self) -> Length {
        self.crater
    }

    /// Pieces loose, in the order in which they came loose.
    #[must_use]
    pub fn loose(&self) -> &[Piece] {
        &self.loose
    }

    /// The loose piece with this outer contour.
    #[must_use]
    pub fn piece(&self, outline: ContourId) -> Option<&Piece> {
        self.loose.get(self.piece_of.get(outline.0 as usize)?.checked_sub(1)? as usize)
    }

    /// The place of a loose piece in the order in which pieces came loose.
    pub(crate) fn order_of(&self, outline: ContourId) -> u32 {
        self.piece_of[outline.0 as usize]
    }

    /// Whether a part is free: nothing holds it.
    #[must_use]
    pub fn is_free(&self, list: &CutList, part: PartId) -> bool {
        self.piece(list.part(part).outline).is_some()
    }

    /// Whether `cut` is made whole: through, unless it only marks.
    #[must_use]
    pub fn is_whole(&self, list: &CutList, cut: CutId) -> bool {
        self.covers[cut.0 as usize].is_whole(list.cut(cut))
    }

    /// Whether nothing of `cut` has been made, its pierce included.
    #[must_use]
    pub fn is_dry(&self, cut: CutId) -> bool {
        self.covers[cut.0 as usize].is_dry()
    }

    /// How deep `cut` has been made at a place along it; none if it has not.
    #[must_use]
    pub fn depth_at(&self, cut: CutId, along_mm: f64) -> Option<Depth> {
        self.covers[cut.0 as usize].depth_at(along_mm)
    }

    /// The stretches of `cut` made at this depth or deeper (at [`Depth::Groove`] all that may be made, however far off
    /// their ends may be), in millimetres along it, sorted, apart from each other.
    #[must_use]
    pub fn made_mm(&self, cut: CutId, depth: Depth) -> &[Range<f64>] {
        self.covers[cut.0 as usize].at(depth)
    }

    /// The stretches of `cut` not yet at this depth, in millimetres along it, sorted.
    #[must_use]
    pub fn left_mm(&self, list: &CutList, cut: CutId, depth: Depth) -> Vec<Range<f64>> {
        left(self.covers[cut.0 as usize].at(depth), list.cut(cut).path.length_mm())
    }

    /// The crater of `cut`'s pierce, if it has been made.
    #[must_use]
    pub fn crater_of(&self, list: &CutList, cut: CutId) -> Option<Crater> {
        let made = self.covers[cut.0 as usize].has_crater();
        made.then(|| Crater { cut, at: list.cut(cut).pierce.at, radius: self.crater })
    }

    /// Craters of all pierces made, in order of the cuts.
    pub fn craters<'a>(&'a self, list: &'a CutList) -> impl Iterator<Item = Crater> + 'a {
        list.cuts.iter().filter_map(|cut| self.crater_of(list, cut.id))
    }
}
