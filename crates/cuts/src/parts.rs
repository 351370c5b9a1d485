//! Parts: an outline with its holes, slots and marks.

use crate::ContourId;

/// Index of a part in [`crate::CutList::parts`]; its number on the picture is one more.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PartId(pub u32);

impl PartId {
    /// Its number on the picture, from 1.
    #[must_use]
    pub const fn number(self) -> u32 {
        self.0 + 1
    }
}

/// A part.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// Its index.
    pub id: PartId,
    /// Its outline.
    pub outline: ContourId,
    /// Its holes, in order of cutting.
    pub holes: Vec<ContourId>,
    /// Slots and marks on it, in order of cutting.
    pub others: Vec<ContourId>,
}
