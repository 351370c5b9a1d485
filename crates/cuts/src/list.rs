//! Cuts: from torch-on and torch-off to approach, pierce, lead-in, contour and lead-out.

use crate::{Part, PartId};
use finding::{Finding, Span};
use geometry::{Path, Point, Program};
use nc::{CallId, Height, Motions, TouchOff};
use std::ops::Range;
use units::{Duration, Length};

/// Index of a cut in [`CutList::cuts`]; its number on the picture is one more.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct CutId(pub u32);

impl CutId {
    /// Its number on the picture, from 1.
    #[must_use]
    pub const fn number(self) -> u32 {
        self.0 + 1
    }
}

/// Index of a contour in [`CutList::contours`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ContourId(pub u32);

/// What a contour is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// The outside of a part.
    Outline,
    /// A hole in a part; its slug drops out.
    Hole,
    /// An open path that is cut: a slit, or one edge of a part closed by other kerfs.
    Slot,
    /// A path that is marked, not cut through.
    Mark,
}

/// Which way round a closed contour runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Turn {
    /// Clockwise.
    Clockwise,
    /// Counter-clockwise.
    CounterClockwise,
}

/// The first block after the previous torch-off: from here the cut can be run again whole.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RestartBlock {
    /// Index of the block.
    pub block: u32,
    /// The calls within which it stands; [`CallId`] 0 if it stands in the main program.
    pub call: CallId,
    /// Index of the first motion from there on.
    pub motion: u32,
    /// Index of the first event from there on.
    pub event: u32,
}

/// The touch-off that belongs to a start.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TouchOffAt {
    /// How the surface was found.
    pub how: TouchOff,
    /// Where.
    pub at: Point<Program>,
    /// Index of its event.
    pub event: u32,
}

/// The start of a cut.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pierce {
    /// Where.
    pub at: Point<Program>,
    /// Height at which the arc is started.
    pub height: Height,
    /// Wait between torch-on and motion; none if the program does not wait.
    pub delay: Option<Duration>,
}

/// Everything from the approach to the torch-off that belongs to one start.
#[derive(Clone, Debug, PartialEq)]
pub struct Cut {
    /// Its index.
    pub id: CutId,
    /// Where it can be run again from.
    pub restart: RestartBlock,
    /// Motions of the approach, before the torch-on.
    pub approach: Range<u32>,
    /// Its touch-off; none if the program has none and the control does not do it.
    pub touch_off: Option<TouchOffAt>,
    /// Index of the torch-on event.
    pub torch_on: u32,
    /// Span of the block with the torch-on.
    pub torch_on_span: Span,
    /// The start.
    pub pierce: Pierce,
    /// Motions with the torch on.
    pub burn: Range<u32>,
    /// Index of the torch-off event; none if the torch is never turned off.
    pub torch_off: Option<u32>,
    /// The path with the torch on, from the pierce to the torch-off. Curve `k` of it is motion `burn_motions[k]`.
    pub path: Path<Program>,
    /// Index of the motion behind each curve of `path` (motions without XY length have no curve).
    pub path_motions: Vec<u32>,
    /// Its contours in order of cutting, usually one; more if the torch stays on from one to the next.
    pub contours: Vec<ContourId>,
    /// Height of the torch while cutting, at the path's middle.
    pub cut_height: Height,
    /// Feed over most of the path's length, in millimetres a minute; none if no feed was ever set.
    pub feed_mm_per_min: Option<f64>,
    /// Number of the process in force.
    pub process: Option<u32>,
    /// Nominal time on the program's clock (feeds only, no acceleration) at which the torch comes on.
    pub starts_at: Duration,
    /// Nominal time at which it goes off.
    pub ends_at: Duration,
}

/// A contour: one unbroken stretch of a cut's path that parts metal, without lead-in and lead-out.
#[derive(Clone, Debug, PartialEq)]
pub struct Contour {
    /// Its index.
    pub id: ContourId,
    /// The cut it belongs to.
    pub cut: CutId,
    /// The stretch of the cut's path, in millimetres along it. What lies before it (from the previous contour or the
    /// pierce) is its lead-in; after the last contour comes the lead-out.
    pub along_mm: Range<f64>,
    /// The closed boundary; none if it is open.
    pub closed: Option<geometry::Contour<Program>>,
    /// What it is.
    pub shape: Shape,
    /// Which way round it runs, if closed.
    pub turn: Option<Turn>,
    /// The contour that contains it most closely, if any.
    pub within: Option<ContourId>,
    /// How many contours contain it.
    pub depth: u32,
    /// The part it bounds.
    pub part: Option<PartId>,
    /// For a contour that is open by itself and closed by earlier kerfs (a shared edge): the cuts that close it.
    pub closed_by: Vec<CutId>,
}

/// All cuts, contours and parts of a program. A value.
#[derive(Clone, Debug, PartialEq)]
pub struct CutList {
    /// Cuts in order of cutting.
    pub cuts: Vec<Cut>,
    /// Contours in order of cutting.
    pub contours: Vec<Contour>,
    /// Parts in order in which their outlines are cut.
    pub parts: Vec<Part>,
}

impl CutList {
    /// Finds cuts, contours and parts. `kerf` is used to see whether open ends meet earlier kerfs.
    /// Findings: torch-on without torch-off and the reverse (`torch-unpaired`), nesting and pierce side at odds.
    #[must_use]
    pub fn build(motions: &Motions, kerf: Length) -> (Self, Vec<Finding>) {
        let _ = (motions, kerf);
        todo!("cuts")
    }

    /// The cut of this number on the picture.
    #[must_use]
    pub fn by_number(&self, number: u32) -> Option<&Cut> {
        self.cuts.get(number.checked_sub(1)? as usize)
    }

    /// A cut.
    #[must_use]
    pub fn cut(&self, id: CutId) -> &Cut {
        &self.cuts[id.0 as usize]
    }

    /// A contour.
    #[must_use]
    pub fn contour(&self, id: ContourId) -> &Contour {
        &self.contours[id.0 as usize]
    }
}
