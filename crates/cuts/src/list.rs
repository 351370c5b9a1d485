//! Cuts: from torch-on and torch-off to approach, pierce, lead-in, contour and lead-out.

use crate::{Part, PartId};
use finding::{Finding, Span};
use geometry::{Path, Point, Program};
use nc::{CallId, Height, Motions, TouchOff};
use std::ops::{ControlFlow, Range};
use units::{Duration, Length, Speed};

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
    /// A hole: what it encloses is a slug that drops out. In a part; or, with [`Contour::part`] none, in the plate
    /// itself, or a piece of scrap enclosed by kerfs that several parts share.
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

/// A side of the line of travel, as seen by someone who walks along it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hand {
    /// Left of travel.
    Left,
    /// Right of travel.
    Right,
}

/// The first block after the previous torch-off: from here the cut can be run again whole.
///
/// Where motions or events stand in the same block as the previous torch-off and run after it (as in `M5 G0 X100`
/// where the torch-off acts first), that block is the restart block: they belong to this cut's approach, and ending
/// a torch that is off already does nothing. Otherwise it is the block below; or, if the subprogram in which the
/// torch-off stands has nothing more to do than to return, the block below its call (in the next pass, if it is
/// repeated, that pass's first block with a motion or event). The first cut's is the program's first block.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RestartBlock {
    /// Index of the block.
    pub block: u32,
    /// The calls within which it stands; [`CallId`] 0 if it stands in the main program.
    pub call: CallId,
    /// Index of the first motion after the previous torch-off; the number of motions if there is none.
    pub motion: u32,
    /// Index of the first event after the previous torch-off.
    pub event: u32,
    /// Whether the previous torch-off stands in this same block.
    pub with_torch_off: bool,
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
    /// All waits between torch-on and the first motion in X or Y, together; none if the program does not wait.
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
    /// The path with the torch on, from the pierce to the torch-off; curve `k` of it is motion `path_motions[k]`.
    /// Empty if the torch does not move.
    pub path: Path<Program>,
    /// Index of the motion behind each curve of `path` (motions without XY length have no curve).
    pub path_motions: Vec<u32>,
    /// Nominal time on the program's clock at which each curve of `path` ends.
    pub curve_ends_at: Vec<Duration>,
    /// Its own contours in order of cutting, usually one; more if the torch stays on from one to the next. Those it
    /// helps to close are in [`Cut::bounds`].
    pub contours: Vec<ContourId>,
    /// Closed contours of which a stretch of this cut is part of the boundary: its own, and others with a shared edge.
    pub bounds: Vec<ContourId>,
    /// Stretches of its path that run along ground which it or an earlier cut has cut before: overlap at the end of a
    /// contour, second rounds, shared edges gone over twice. Other closed contours on the same line are not among them
    /// (see [`Contour::repeats`]).
    pub overlaps: Vec<Overlap>,
    /// Height of the torch while cutting, at the path's middle.
    pub cut_height: Height,
    /// Feed over most of the path's length, in millimetres a minute; none if no feed was ever set.
    pub feed_mm_per_min: Option<f64>,
    /// Number of the process in force.
    pub process: Option<u32>,
    /// Whether it marks only: its process is one of [`Reading::mark_processes`].
    pub is_mark: bool,
    /// Nominal time on the program's clock (feeds only, no acceleration) at which the torch comes on.
    pub starts_at: Duration,
    /// Nominal time at which motion in X and Y begins.
    pub moves_at: Duration,
    /// Nominal time at which it goes off.
    pub ends_at: Duration,
}

impl Cut {
    /// Its number on the picture, from 1.
    #[must_use]
    pub const fn number(&self) -> u32 {
        self.id.number()
    }

    /// Whether it is no cut of the program but a kerf that lies on none of their paths
    /// ([`crate::Rearrangement::strays`]).
    #[must_use]
    pub const fn is_stray(&self) -> bool {
        self.torch_on == Self::STRAY
    }

    /// The torch-on of a stray, which has none.
    pub(crate) const STRAY: u32 = u32::MAX;

    /// Whether it is left out of the plate for good ([`crate::Rearrangement::absent`]).
    #[must_use]
    pub fn is_absent(&self) -> bool {
        self.path.curves().is_empty() && !self.contours.is_empty()
    }

    /// Length of its path.
    #[must_use]
    pub fn length(&self) -> Length {
        Length::from_mm(self.path.length_mm())
    }

    /// Nominal times between which curve `k` of its path is cut.
    ///
    /// # Panics
    /// If the path has no curve `k`.
    #[must_use]
    pub fn time_of(&self, k: usize) -> Range<Duration> {
        let begins = k.checked_sub(1).map_or(self.moves_at, |before| self.curve_ends_at[before]);
        begins..self.curve_ends_at[k]
    }

    /// Nominal time at which the torch is `along_mm` along its path.
    #[must_use]
    pub fn time_at(&self, along_mm: f64) -> Duration {
        let Some((k, within)) = self.path.locate(along_mm) else { return self.moves_at };
        let (times, length) = (self.time_of(k), self.path.curves()[k].length_mm());
        let share = if length > 0.0 { (within / length).clamp(0.0, 1.0) } else { 1.0 };
        times.start + (times.end - times.start) * share
    }

    /// The stretch of its path that motion `k` cuts, in millimetres along it; none if it has no part in it.
    #[must_use]
    pub fn along_of_motion_mm(&self, k: u32) -> Option<Range<f64>> {
        let curve = self.path_motions.binary_search(&k).ok()?;
        Some(self.path.start_of_mm(curve)..self.path.start_of_mm(curve + 1))
    }

    /// How far along its path the torch is at a nominal time, in millimetres; before it moves 0.
    #[must_use]
    pub fn along_at_mm(&self, time: Duration) -> f64 {
        let k = self.curve_ends_at.partition_point(|ends| ends.s() <= time.s());
        if k >= self.curve_ends_at.len() {
            return self.path.length_mm();
        }
        let times = self.time_of(k);
        let spent = (time.s() - times.start.s()).max(0.0);
        let share = spent / (times.end.s() - times.start.s());
        self.path.start_of_mm(k) + self.path.curves()[k].length_mm() * share.clamp(0.0, 1.0)
    }
}

/// A stretch of a cut's path.
#[derive(Clone, Debug, PartialEq)]
pub struct Stretch {
    /// The cut.
    pub cut: CutId,
    /// From where to where, in millimetres along its path; not reversed.
    pub along_mm: Range<f64>,
}

/// A stretch of a cut's path that runs along ground cut before, within 0.05 mm.
#[derive(Clone, Debug, PartialEq)]
pub struct Overlap {
    /// The stretch, in millimetres along the path.
    pub along_mm: Range<f64>,
    /// The cut whose ground it is; may be the same cut.
    pub over: CutId,
    /// The stretch of that cut's path, in millimetres along it.
    pub over_mm: Range<f64>,
    /// Whether it runs against the direction in which that ground was cut.
    pub backwards: bool,
}

impl Overlap {
    /// What a stretch of the path covers of the other's, in millimetres along that; none if the stretch has no part
    /// in the overlap.
    #[must_use]
    pub fn covered_mm(&self, stretch_mm: &Range<f64>) -> Option<Range<f64>> {
        let length = self.along_mm.end - self.along_mm.start;
        let share = |along: f64| ((along - self.along_mm.start) / length).clamp(0.0, 1.0);
        let (from, to) = (share(stretch_mm.start), share(stretch_mm.end));
        let (from, to) = if self.backwards { (1.0 - to, 1.0 - from) } else { (from, to) };
        let place = |share: f64| self.over_mm.start + (self.over_mm.end - self.over_mm.start) * share;
        (from < to).then(|| place(from)..place(to))
    }
}

/// A contour: one unbroken stretch of a cut's path that parts metal, without lead-in and lead-out.
#[derive(Clone, Debug, PartialEq)]
pub struct Contour {
    /// Its index.
    pub id: ContourId,
    /// The cut it belongs to: the one that closes it.
    pub cut: CutId,
    /// The stretch of the cut's path, in millimetres along it. What lies before it (from the previous contour or the
    /// pierce) is its lead-in; after the last contour comes the lead-out.
    pub along_mm: Range<f64>,
    /// The closed boundary; none if it is open.
    pub closed: Option<geometry::Contour<Program>>,
    /// All stretches of cuts that make up the closed boundary, in order around it; empty if it is open. The contour
    /// is cut when all of them are.
    pub boundary: Vec<Stretch>,
    /// How far apart its ends lie, in millimetres: 0 where they meet. A closed contour has a gap up to half a kerf
    /// (the kerf closes it).
    pub gap_mm: f64,
    /// What it is.
    pub shape: Shape,
    /// Which way round its cut runs it, if closed.
    pub turn: Option<Turn>,
    /// The contour that contains it most closely, if any.
    pub within: Option<ContourId>,
    /// How many contours contain it; runs along the same line count once.
    pub depth: u32,
    /// The part it bounds, or, for a slot or mark, lies on.
    pub part: Option<PartId>,
    /// For a contour that is open by itself and closed by other kerfs (a shared edge): the cuts that close it.
    pub closed_by: Vec<CutId>,
    /// An earlier contour that runs along the same line all the way round: this one is cut twice.
    pub repeats: Option<ContourId>,
}

impl Contour {
    /// On which side of travel the scrap lies: outside an outline, inside a hole. None for an open path, and where
    /// other parts may lie on the far side (a shared edge).
    #[must_use]
    pub fn scrap_side(&self) -> Option<Hand> {
        if !self.closed_by.is_empty() {
            return None;
        }
        match (self.shape, self.turn?) {
            (Shape::Outline, Turn::CounterClockwise) | (Shape::Hole, Turn::Clockwise) => Some(Hand::Right),
            (Shape::Outline, Turn::Clockwise) | (Shape::Hole, Turn::CounterClockwise) => Some(Hand::Left),
            (Shape::Slot | Shape::Mark, _) => None,
        }
    }
}

/// How a program is to be read: what its text cannot say.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Reading {
    /// Width of the kerf: a gap of up to half of it is closed by the kerf, and the end of a path that comes so near
    /// to another kerf meets it.
    pub kerf: Length,
    /// Numbers of processes that mark instead of cutting.
    pub mark_processes: Vec<u32>,
    /// Speed of rapids on the program's clock; if none is told, rapids take no time.
    pub rapid: Option<Speed>,
}

impl Reading {
    /// With this kerf, nothing marked, and rapids that take no time.
    #[must_use]
    pub fn with_kerf(kerf: Length) -> Self {
        Self { kerf, ..Self::default() }
    }
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

/// Somebody who waits for a list: is told how many of how many are through, of what (in the plural), and breaks it off by
/// what it gives back. What it is told changes nothing.
pub type Watch<'w> = dyn Fn(usize, usize, &'static str) -> ControlFlow<()> + Sync + 'w;

impl CutList {
    /// Finds cuts, contours and parts. Findings: torch-on without torch-off and the reverse (`torch-unpaired`),
    /// nesting and pierce side at odds (`side-at-odds`); their pages are in [`crate::RULES`].
    ///
    /// # Panics
    /// Never: who is not watched is not called off.
    #[must_use]
    pub fn build(program: &nc::Program, motions: &Motions, reading: &Reading) -> (Self, Vec<Finding>) {
        crate::build::build(program, motions, reading, None).expect("nobody calls it off")
    }

    /// The same while somebody waits; none if it was called off, which is seen between two cuts.
    #[must_use]
    pub fn build_watched(
        program: &nc::Program,
        motions: &Motions,
        reading: &Reading,
        watch: &Watch<'_>,
    ) -> Option<(Self, Vec<Finding>)> {
        crate::build::build(program, motions, reading, Some(watch))
    }

    /// The cut of this number on the picture.
    #[must_use]
    pub fn by_number(&self, number: u32) -> Option<&Cut> {
        self.cuts.get(number.checked_sub(1)? as usize)
    }

    /// The cut whose approach or burn motion `k` belongs to; none after the last torch-off.
    #[must_use]
    pub fn of_motion(&self, k: u32) -> Option<&Cut> {
        let cut = self.cuts.get(self.cuts.partition_point(|cut| cut.burn.end <= k))?;
        (cut.approach.start <= k).then_some(cut)
    }

    /// A cut.
    ///
    /// # Panics
    /// If it is another list's id.
    #[must_use]
    pub fn cut(&self, id: CutId) -> &Cut {
        &self.cuts[id.0 as usize]
    }

    /// A contour.
    ///
    /// # Panics
    /// If it is another list's id.
    #[must_use]
    pub fn contour(&self, id: ContourId) -> &Contour {
        &self.contours[id.0 as usize]
    }

    /// A part.
    ///
    /// # Panics
    /// If it is another list's id.
    #[must_use]
    pub fn part(&self, id: PartId) -> &Part {
        &self.parts[id.0 as usize]
    }

    /// The lead-in of a contour: the stretch before it, from the pierce or the end of its cut's contour before, in
    /// millimetres along the cut's path; empty if the contour begins there. Where contours of one cut share stretches,
    /// what lies before all of this one's.
    #[must_use]
    pub fn lead_in_mm(&self, id: ContourId) -> Range<f64> {
        let contour = self.contour(id);
        let ends = self.cut(contour.cut).contours.iter().map(|own| self.contour(*own).along_mm.end);
        ends.filter(|end| *end <= contour.along_mm.start).fold(0.0, f64::max)..contour.along_mm.start
    }

    /// What a cut's path does after its last contour, in millimetres along it: overlap and lead-out. Empty if it
    /// ends with the contour.
    #[must_use]
    pub fn lead_out_mm(&self, cut: CutId) -> Range<f64> {
        let cut = self.cut(cut);
        let ends = cut.contours.iter().map(|own| self.contour(*own).along_mm.end);
        ends.fold(0.0, f64::max)..cut.path.length_mm()
    }
}
