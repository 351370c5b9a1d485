//! Which stretches of which cuts have been made, in order of cutting.

use super::cover::Cover;
use crate::{Cut, CutId, CutList};
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
}

impl Made {
    /// `cut` from its pierce to `along_mm`: through, or a groove if the cut only marks.
    #[must_use]
    pub fn up_to(cut: &Cut, along_mm: f64) -> Self {
        let depth = if cut.is_mark { Depth::Groove } else { Depth::Through };
        Self { cut: cut.id, along_mm: 0.0..along_mm.clamp(0.0, cut.path.length_mm()), depth }
    }

    /// The whole of `cut`: through, or a groove if the cut only marks.
    #[must_use]
    pub fn whole(cut: &Cut) -> Self {
        Self::up_to(cut, f64::INFINITY)
    }
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
        let before = list.cuts.iter().take_while(|other| other.id < cut);
        Self { made: before.map(Made::whole).collect() }
    }

    /// All cuts made whole.
    #[must_use]
    pub fn whole(list: &CutList) -> Self {
        Self { made: list.cuts.iter().map(Made::whole).collect() }
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
        Self { made: begun.map(|cut| Made::up_to(cut, cut.along_at_mm(time))).collect() }
    }

    /// Whether `cut` has been made whole and through. Looks through all that has been made: where many cuts are asked
    /// for, make a [`crate::PlateState`] and ask that.
    #[must_use]
    pub fn is_whole(&self, list: &CutList, cut: CutId) -> bool {
        let mut cover = Cover::default();
        self.made.iter().filter(|made| made.cut == cut).for_each(|made| cover.add(made));
        cover.is_whole(list.cut(cut))
    }

    /// Whether nothing of `cut` has been made, its pierce included.
    #[must_use]
    pub fn is_dry(&self, cut: CutId) -> bool {
        self.made.iter().all(|made| made.cut != cut)
    }
}
