//! What the proof is given, and what it answers.

use crate::Original;
use cuts::{ContourId, CutId, PartId, Progress};
use finding::Span;
use geometry::{Bounds, Placement};
use shop::{Clamp, Thresholds};
use units::Length;

/// What the proof is given.
#[derive(Debug)]
pub struct Case<'a> {
    /// The original program: one for all texts that are proven against it.
    pub original: &'a Original<'a>,
    /// The text that will be written.
    pub written: &'a [u8],
    /// What had been made on the plate when it stopped, and how its loose pieces lie as far as somebody looked: what is
    /// gone is a hole, what stands an obstacle, what lies flat is still there.
    pub progress: &'a Progress,
    /// What the plan promises and gives up.
    pub promise: &'a Promise,
    /// Facts of the plate and table.
    pub ground: &'a Ground,
    /// Where the plate lies now; none if it lies where it was begun.
    pub pose: Option<&'a Pose>,
}

/// What a plan promises to cut, and what it gives up. Every cut not yet made is in one of the two.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Promise {
    /// Cuts promised, in the order in which they will be cut. One that is made in two burns stands here twice.
    pub cuts: Vec<CutId>,
    /// Parts given up.
    pub given_up: Vec<PartId>,
    /// Promised cuts that are not begun at their own pierce: one each at most, in no order. All other cuts are run
    /// whole, as in the original. Of a cut in two burns there are two, in the order of its burns.
    pub joins: Vec<Join>,
    /// Cuts that are made somewhere else on the plate than in the original (salvage): one each at most. Every cut of a
    /// part moves with its part.
    pub moved: Vec<Moved>,
    /// Pieces that stand up and are taken out before the program is started, by their outer contours: a precondition.
    /// Any other that stands is kept off.
    pub taken_out: Vec<ContourId>,
}

impl Promise {
    /// These cuts, each run whole as in the original; nothing given up.
    #[must_use]
    pub fn of(cuts: Vec<CutId>) -> Self {
        Self { cuts, ..Self::default() }
    }

    /// How a cut is taken up, if not at its own pierce; of one in two burns, its first.
    #[must_use]
    pub fn join(&self, cut: CutId) -> Option<&Join> {
        self.joins.iter().find(|join| join.cut == cut)
    }

    /// How the start with this index takes up its cut, if it does not run it whole.
    #[must_use]
    pub fn join_of(&self, start: usize) -> Option<&Join> {
        let cut = *self.cuts.get(start)?;
        self.burns_of(cut).nth(self.burns_before(start))
    }

    /// The burn of the same cut that comes before the start with this index.
    #[must_use]
    pub fn burn_before(&self, start: usize) -> Option<&Join> {
        let cut = *self.cuts.get(start)?;
        self.burns_of(cut).nth(self.burns_before(start).checked_sub(1)?)
    }

    fn burns_of(&self, cut: CutId) -> impl Iterator<Item = &Join> {
        self.joins.iter().filter(move |join| join.cut == cut)
    }

    /// How many burns of its cut come before the start with this index; only of a cut in two burns they are counted.
    fn burns_before(&self, start: usize) -> usize {
        let cut = self.cuts[start];
        let earlier = || self.cuts[..start].iter().filter(|other| **other == cut).count();
        self.burns_of(cut).nth(1).map_or(0, |_| earlier())
    }
}

/// A cut that is taken up where an earlier attempt left it.
///
/// What the text must do for it, in this order:
/// - come there by a way of its own, torch off;
/// - touch off as the original does for this cut (the same events and heights, at a place of its own on metal that is
///   sound and held, clear of grooves), go on no lower than the original starts, and at the end move in Z alone to the
///   height of the start: the pierce height for a pierce, else the height that the original has at this place of the path;
/// - start: a pierce waits and comes down as the original's; an edge start only waits, [`Thresholds::edge_delay`] at
///   most;
/// - a lead-in of its own, for [`JoinStart::FreshPierce`]: by feeds and arcs at the feed of the original's lead-in or
///   that at the join, down at the original's height where it ends, which is the end of one of its motions;
/// - the original's path from there, with the original's feed, process, heights, waits and ending;
/// - height control held from the torch-on until one kerf's width past the farthest end of the old kerf, and as in the
///   original from 10 mm (and a kerf) past its end as told; backwards, held again from the farthest end of the old kerf
///   on.
///
/// A cut in two burns is two joins. The first runs forwards and ends before the path does, where the whole width of its
/// kerf surely lies in a void: in an old kerf of its own cut, or in a blown hole. What it has burnt is an old kerf to the
/// second, and what it has let go is loose for it. Where all beyond such an old kerf's beginning that must be cut is surely
/// there, one join may end in it as well: no other follows. Where the plate's edge was measured to lie inside an outline, the
/// first may run out over the edge and the second in over it again: what lies between is left out, and the edge ends the part
/// there.
#[derive(Clone, Debug, PartialEq)]
pub struct Join {
    /// The cut.
    pub cut: CutId,
    /// How the arc is begun, and which way it then runs.
    pub start: JoinStart,
    /// Where its torch comes upon the cut's path, in millimetres along it: for an edge start, where it is lit; for a
    /// pierce in scrap, where its lead-in ends. From there it runs on to `until_mm`; backwards, down to it.
    pub from_mm: f64,
    /// How far it runs, in millimetres along the path: to the path's end, but for one that runs backwards, the first of
    /// two burns, and one that closes the gap before an old kerf which goes on as far as anything is missed.
    pub until_mm: f64,
}

/// How the arc of a [`Join`] is begun.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum JoinStart {
    /// At the cut's own pierce, as the original pierces (`from_mm` 0): the first of two burns; forwards.
    OwnPierce,
    /// On the end wall of the cut's own interrupted kerf: at cut height, with the delay of an edge; forwards.
    KerfEnd,
    /// By a pierce in scrap, and a lead-in that runs tangentially into the cut's own kerf; forwards.
    FreshPierce,
    /// Over a groove of its own, at [`Thresholds::second_pass_speed`] of the original's feed over all that may be a
    /// groove, and at the original's from 10 mm past its end as told; forwards. On the end wall where what comes before
    /// the groove is through, else (`from_mm` 0) at the cut's own pierce, as the original pierces.
    SecondPass,
    /// On a wall of the kerf at the far end, and against the direction of the original: the square side changes.
    Backwards,
}

/// A cut made elsewhere.
#[derive(Clone, Debug, PartialEq)]
pub struct Moved {
    /// The cut.
    pub cut: CutId,
    /// From where the original has it to where it is made, both in the plate's frame.
    pub placement: Placement<geometry::Program, geometry::Program>,
}

/// Where the plate lies now, if it has moved since it was begun.
///
/// The plate's frame is that of the original's coordinates: a place on the plate has the coordinates that the original
/// has for it, wherever the plate lies. The control's frame is that of the written text.
#[derive(Clone, Debug, PartialEq)]
pub struct Pose {
    /// From the plate's frame to the control's.
    pub placement: Placement<geometry::Program, geometry::Program>,
    /// The point of the plate about which the pose is uncertain as `covariance` says.
    pub pivot: geometry::Point<geometry::Program>,
    /// Covariance of a turn about the pivot in radians and of a shift in x and y in millimetres, in this order.
    pub covariance: [[f64; 3]; 3],
    /// By how much, as a share, the plate is larger than the original has it: a warm plate. What is written is not
    /// stretched with it, so that parts come out true; how far that puts a cut off its place counts as landing error.
    pub stretch: f64,
    /// How far off its place a cut may land.
    pub tolerance: Length,
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
    /// Where there surely is plate, if it is known to lie elsewhere than told and nobody knows where, program coordinates: no
    /// pierce and no touch-off but the original's own is made beyond. Of no meaning where the outline is known.
    pub surely_plate: Option<Bounds<geometry::Program>>,
    /// What is known of the outline, if it was measured since the plate was laid; none where it is as it was told.
    pub edges: Option<FoundEdges>,
    /// Holes that the plate had when it was laid on the table (a remnant's), program coordinates.
    pub plate_holes: Vec<geometry::Contour<geometry::Program>>,
    /// Clamps (with table coordinates turned into program coordinates).
    pub clamps: Vec<Clamp>,
    /// Limits.
    pub thresholds: Thresholds,
}

/// How well the plate's edges are known that were measured after it was begun, and how far a part may be off that one of them
/// ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FoundEdges {
    /// How far off an edge may lie from where it was measured.
    pub within: Length,
    /// How far a part's edge may be off.
    pub tolerance: Length,
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

impl Join {
    /// Whether it leaves the path before its end, `length_mm` along it, in a void.
    #[must_use]
    pub fn ends_early(&self, length_mm: f64) -> bool {
        self.start != JoinStart::Backwards && self.until_mm < length_mm - geometry::SAME_POINT_MM
    }

    /// The stretch of the cut's path that it burns, in millimetres along it; not reversed.
    #[must_use]
    pub const fn burns_mm(&self) -> std::ops::Range<f64> {
        match self.start {
            JoinStart::Backwards => self.until_mm..self.from_mm,
            _ => self.from_mm..self.until_mm,
        }
    }
}

impl Proof {
    /// Whether the program is proven.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.refused.is_none()
    }
}
