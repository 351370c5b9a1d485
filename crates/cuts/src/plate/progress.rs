//! Which stretches of which cuts have been made, in order of cutting.

use super::cover::Cover;
use super::state::Said;
use crate::{ContourId, Cut, CutId, CutList};
use geometry::{Path, Point, Program};
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
    /// The stretch of its path, in millimetres along it. One that begins at 0 has made the crater of the pierce, even
    /// if it is empty (a hole blown at the pierce, or a cut whose torch does not move).
    pub along_mm: Range<f64>,
    /// How deep.
    pub depth: Depth,
    /// How far off the stretch's ends may be.
    pub ends: Ends,
}

/// How far off the ends of a stretch may be, at most, either way, in millimetres along the path.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Ends {
    /// Its beginning.
    pub from_within_mm: f64,
    /// Its end.
    pub to_within_mm: f64,
}

impl Ends {
    /// Both are where they are said to be.
    pub const KNOWN: Self = Self { from_within_mm: 0.0, to_within_mm: 0.0 };

    /// The end may be off by this much; the beginning is known.
    #[must_use]
    pub const fn to_within(mm: f64) -> Self {
        Self { from_within_mm: 0.0, to_within_mm: mm }
    }
}

impl Made {
    /// `cut` from `along_mm.start` to `along_mm.end`, through, both ends known.
    #[must_use]
    pub const fn through(cut: CutId, along_mm: Range<f64>) -> Self {
        Self { cut, along_mm, depth: Depth::Through, ends: Ends::KNOWN }
    }

    /// The stretch that has been made whatever its ends are; none if nothing is sure.
    #[must_use]
    pub fn surely_mm(&self) -> Option<Range<f64>> {
        let sure = self.along_mm.start + self.ends.from_within_mm..self.along_mm.end - self.ends.to_within_mm;
        (sure.start <= sure.end).then_some(sure)
    }

    /// The longest stretch that may have been made, within a path of this length.
    #[must_use]
    pub fn at_most_mm(&self, length_mm: f64) -> Range<f64> {
        let from = (self.along_mm.start - self.ends.from_within_mm).max(0.0);
        from..(self.along_mm.end + self.ends.to_within_mm).min(length_mm.max(self.along_mm.end))
    }

    /// `cut` from its pierce to `along_mm`: through, or a groove if the cut only marks.
    #[must_use]
    pub fn up_to(cut: &Cut, along_mm: f64) -> Self {
        let depth = if cut.is_mark { Depth::Groove } else { Depth::Through };
        Self {
            cut: cut.id,
            along_mm: 0.0..along_mm.clamp(0.0, cut.path.length_mm()),
            depth,
            ends: Ends::KNOWN,
        }
    }

    /// The whole of `cut`: through, or a groove if the cut only marks.
    #[must_use]
    pub fn whole(cut: &Cut) -> Self {
        Self::up_to(cut, f64::INFINITY)
    }
}

/// A kerf or hole that lies on no cut's path: a restart's own lead-in, a hole blown at a pierce, a cut made in a wrong
/// place.
#[derive(Clone, Debug, PartialEq)]
pub struct Stray {
    /// Where the torch was lit.
    pub at: Point<Program>,
    /// Radius of the crater or hole there, in millimetres; 0 if the arc was begun on an edge and left none.
    pub crater_mm: f64,
    /// The way from there; empty if the torch did not move.
    pub path: Path<Program>,
    /// How deep.
    pub depth: Depth,
}

/// Which stretches of which cuts have been made; the rest is uncut.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Progress {
    /// Stretches in order of cutting; may hold several of one cut.
    pub made: Vec<Made>,
    /// What has been cut besides.
    pub strays: Vec<Stray>,
    /// How loose pieces lie, as far as somebody has looked, each once. A piece spoken of is loose, whatever else is
    /// known of its cuts.
    pub pieces: Vec<Said>,
    /// Contours that nothing is loose in: since the last program ran somebody has pushed at what is within. They have not
    /// closed, however far the kerfs about them may reach by other accounts.
    pub held: Vec<ContourId>,
}

impl Progress {
    /// These stretches and nothing besides.
    #[must_use]
    pub const fn of(made: Vec<Made>) -> Self {
        Self { made, strays: Vec::new(), pieces: Vec::new(), held: Vec::new() }
    }

    /// Takes the word on how a piece lies; the last word on a piece counts.
    pub fn say(&mut self, said: Said) {
        self.pieces.retain(|other| other.outline != said.outline);
        self.pieces.push(said);
    }

    /// All cuts before `cut` made whole, `cut` not begun.
    #[must_use]
    pub fn before(list: &CutList, cut: CutId) -> Self {
        let before = list.cuts.iter().take_while(|other| other.id < cut);
        Self::of(before.map(Made::whole).collect())
    }

    /// All cuts made whole.
    #[must_use]
    pub fn whole(list: &CutList) -> Self {
        Self::of(list.cuts.iter().map(Made::whole).collect())
    }

    /// All cuts before `cut` made whole and `cut` made through up to `along` its path.
    #[must_use]
    pub fn within(list: &CutList, cut: CutId, along: Length) -> Self {
        let mut progress = Self::before(list, cut);
        progress.made.push(Made::up_to(list.cut(cut), along.mm()));
        progress
    }

    /// Everything that is made by a nominal time on the program's clock. A cut whose torch has come on and has not
    /// moved yet has its crater.
    #[must_use]
    pub fn by_time(list: &CutList, time: Duration) -> Self {
        let begun = list.cuts.iter().take_while(|cut| cut.starts_at < time);
        Self::of(begun.map(|cut| Made::up_to(cut, cut.along_at_mm(time))).collect())
    }

    /// Whether `cut` has been made whole and through. Looks through all that has been made: where many cuts are asked
    /// for, make a [`crate::PlateState`] and ask that.
    #[must_use]
    pub fn is_whole(&self, list: &CutList, cut: CutId) -> bool {
        let mut cover = Cover::default();
        self.made.iter().filter(|made| made.cut == cut).for_each(|made| cover.add(list.cut(cut), made));
        cover.is_whole(list.cut(cut))
    }

    /// Whether nothing of `cut` has been made, its pierce included.
    #[must_use]
    pub fn is_dry(&self, cut: CutId) -> bool {
        self.made.iter().all(|made| made.cut != cut)
    }
}
