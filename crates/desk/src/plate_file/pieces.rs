//! Loose pieces that somebody has looked at, as `plate.json` keeps them.

use cuts::{ContourId, CutList, Lies, Said, Shape};
use serde::{Deserialize, Serialize};

/// A loose piece and how it lies.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PieceRow {
    /// Number of its outer contour, from 1, in the order in which the original program makes them.
    pub contour: u32,
    /// How it lies.
    pub is: LiesName,
}

/// How a loose piece lies, by the stop report's words.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LiesName {
    /// It fell through between the slats.
    Fell,
    /// It lies flat in its place.
    Flat,
    /// It stands up out of the plate.
    Standing,
    /// It was taken away.
    Removed,
}

impl PieceRow {
    /// The row of a word on a piece.
    pub(super) const fn new(said: &Said) -> Self {
        let is = match said.lies {
            Lies::Fell => LiesName::Fell,
            Lies::Flat => LiesName::Flat,
            Lies::Standing => LiesName::Standing,
            Lies::Removed => LiesName::Removed,
        };
        Self { contour: said.outline.0 + 1, is }
    }

    /// What it says, in terms of `list`.
    ///
    /// # Errors
    /// A sentence on what is wrong.
    pub(super) fn said(&self, list: &CutList) -> Result<Said, String> {
        let outline = self.contour.checked_sub(1).map(ContourId);
        let contour = outline.and_then(|id| list.contours.get(id.0 as usize));
        let frees = |contour: &&cuts::Contour| {
            contour.closed.is_some() && matches!(contour.shape, Shape::Outline | Shape::Hole)
        };
        let Some(contour) = contour.filter(frees) else {
            return Err(format!("it speaks of a piece within contour {}, which frees none", self.contour));
        };
        let lies = match self.is {
            LiesName::Fell => Lies::Fell,
            LiesName::Flat => Lies::Flat,
            LiesName::Standing => Lies::Standing,
            LiesName::Removed => Lies::Removed,
        };
        Ok(Said { outline: contour.id, lies })
    }
}
