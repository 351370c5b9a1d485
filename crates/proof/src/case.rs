//! What the proof is given, and what it answers.

use cuts::{CutId, CutList, PartId, Progress};
use finding::Span;
use geometry::Bounds;
use nc::{Motions, Program};
use shop::{Clamp, Thresholds};
use units::Length;

/// What the proof is given.
#[derive(Debug)]
pub struct Case<'a> {
    /// The original program and what it does from the usual start.
    pub original: &'a Program,
    /// Its motions.
    pub motions: &'a Motions,
    /// Its cuts.
    pub list: &'a CutList,
    /// The text that will be written.
    pub written: &'a [u8],
    /// The words of the control.
    pub dialect: &'a nc::Dialect,
    /// What had been made on the plate when it stopped.
    pub progress: &'a Progress,
    /// What the plan promises and gives up.
    pub promise: &'a Promise,
    /// Facts of the plate and table.
    pub ground: &'a Ground,
}

/// What a plan promises to cut, and what it gives up. Every cut not yet made is in one of the two.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Promise {
    /// Cuts promised, in the order in which they will be cut.
    pub cuts: Vec<CutId>,
    /// Parts given up.
    pub given_up: Vec<PartId>,
}

/// Facts of plate and table that the proof holds the program against; what is not told is not proven, and listed.
/// Coordinates are those of the program the plate was begun with.
#[derive(Clone, Debug, PartialEq)]
pub struct Ground {
    /// Width of the kerf.
    pub kerf: Length,
    /// Radius of the crater that a pierce leaves. Where it is not told, the width of the kerf is taken (common
    /// practice: the crater is about twice as wide as the kerf).
    pub crater_radius: Option<Length>,
    /// Thickness of the plate.
    pub thickness: Length,
    /// Height from which XY travel is safe over loose pieces.
    pub safe_height: Option<Length>,
    /// What the torch can reach, program coordinates.
    pub travel: Option<Bounds<geometry::Program>>,
    /// Outline of the plate, program coordinates.
    pub plate: Option<geometry::Contour<geometry::Program>>,
    /// Holes that the plate had when it was laid on the table (a remnant's), program coordinates.
    pub plate_holes: Vec<geometry::Contour<geometry::Program>>,
    /// Clamps (with table coordinates turned into program coordinates).
    pub clamps: Vec<Clamp>,
    /// Limits.
    pub thresholds: Thresholds,
}

/// One figure of the proof: what was measured, the worst that was found, and the limit.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// What it is.
    pub name: &'static str,
    /// The worst value found.
    pub worst: f64,
    /// The limit it must not pass.
    pub limit: f64,
    /// Unit of both.
    pub unit: &'static str,
}

/// Why a program is not proven: the first reason met.
#[derive(Clone, Debug, PartialEq)]
pub struct Reason {
    /// Which of the five points of the proof failed, 1 to 5.
    pub point: u8,
    /// What is wrong, in a sentence.
    pub message: String,
    /// Where in the written text.
    pub at: Option<Span>,
}

/// The outcome.
#[derive(Clone, Debug, PartialEq)]
pub struct Proof {
    /// None if proven.
    pub refused: Option<Reason>,
    /// Every figure.
    pub figures: Vec<Figure>,
    /// What must be so before the start that the text cannot bring about by itself, such as "the datum is as it was".
    pub preconditions: Vec<String>,
    /// What could not be proven for want of a fact.
    pub unproven: Vec<String>,
}

impl Proof {
    /// Whether the program is proven.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.refused.is_none()
    }
}
