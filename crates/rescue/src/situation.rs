//! What is known when the plate stops.

use crate::moved::tolerance;
use cuts::{CutId, CutList, Depth, PartId, PlateIndex, Progress};
use geometry::{Bounds, Contour, Path, Placement, Point, Program};
use nc::Motions;
use proof::{FoundEdges, Ground, Join, Moved, Pose};
use shop::{Job, Shop};
use std::fmt;
use std::ops::Range;
use units::Length;

/// What is known when the plate stops. The program is always the original one, also at a second stop.
#[derive(Debug)]
pub struct Situation<'a> {
    /// The original program.
    pub program: &'a nc::Program,
    /// Its words.
    pub dialect: &'a nc::Dialect,
    /// Its motions.
    pub motions: &'a Motions,
    /// Its cuts.
    pub list: &'a CutList,
    /// Its cuts, indexed.
    pub index: &'a PlateIndex,
    /// The shop, if told.
    pub shop: Option<&'a Shop>,
    /// The job.
    pub job: &'a Job,
    /// What earlier rescues left on the plate and which of them was running; none on the first stop.
    pub earlier: Option<&'a Earlier>,
    /// Facts of plate and table.
    pub ground: &'a Ground,
    /// Where the plate lies now, if it moved since it was begun: all that is written then goes there.
    pub pose: Option<&'a Pose>,
    /// The units in which whoever reads it is told places and lengths; those of the program where a cut starts if not
    /// told.
    pub told_in: Option<units::System>,
    /// Who waits for the plan, if somebody does.
    pub watch: Option<&'a dyn Watch>,
}

/// Somebody who waits for a plan: is told how far it is, and may call it off.
///
/// What changes nothing: a plan that is waited for to its end is the same, to the byte, as one that nobody watches.
pub trait Watch: fmt::Debug + Sync {
    /// `done` of `of` are through, of what `of_what` names in the plural.
    fn tell(&self, done: usize, of: usize, of_what: &str);

    /// Whether it has been called off, for good. Planning then ends after the proof or the search for a place that is
    /// under way, and what it gives is no plan: ways that were not tried count as not proven in it.
    fn is_called_off(&self) -> bool;
}

impl Situation<'_> {
    /// Tells who waits how far it is.
    pub(crate) fn tell(&self, done: usize, of: usize, of_what: &str) {
        if let Some(watch) = self.watch {
            watch.tell(done, of, of_what);
        }
    }

    /// Nothing, unless it has been called off.
    ///
    /// # Errors
    /// The reason for which nothing more is tried.
    pub(crate) fn goes_on(&self) -> Result<(), String> {
        let off = self.watch.is_some_and(Watch::is_called_off);
        if off { Err("it was called off".to_owned()) } else { Ok(()) }
    }
}

/// Where the plate's edges lie after the datum was found to have been wrong: what is cut lies where the program has it, the
/// plate beneath it elsewhere than told.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Edges {
    /// Nobody has measured them.
    Unknown,
    /// As they were measured.
    At {
        /// So far from where they were told, seen from the frame of the cuts.
        lies: Placement<Program, Program>,
        /// How far off an edge may lie from there, 95 times in 100, where a cut runs by it or over it.
        within: Length,
    },
}

impl Edges {
    /// Facts of the plate with its edges, and those of holes it had before, where they lie; without any where nobody knows.
    ///
    /// Where nobody knows, there is plate amid what `made` of the cuts has surely cut.
    pub(crate) fn of(self, told: &Ground, situation: &Situation<'_>, made: &Progress) -> Ground {
        let known = match self {
            Self::Unknown => None,
            Self::At { within, .. } => Some(FoundEdges { within, tolerance: tolerance(situation.job) }),
        };
        let placed = |edge: &Contour<Program>| match self {
            Self::Unknown => None,
            Self::At { lies, .. } => Contour::close(edge.path().placed(&lies)),
        };
        Ground {
            plate: told.plate.as_ref().and_then(placed),
            plate_holes: told.plate_holes.iter().filter_map(placed).collect(),
            surely_plate: (self == Self::Unknown).then(|| amid(situation.list, made)),
            edges: known,
            ..told.clone()
        }
    }
}

impl Edges {
    /// How far off an edge may lie that was measured, if nothing is known of how well, 95 times in 100: the mean of four
    /// corners, each read once by a pointer good to half a millimetre (derived: 1.96 × 0.5 / √4).
    pub const MEASURED_WITHIN: Length = Length::from_mm(0.5);
}

/// The box about all that has surely been cut; nowhere if nothing has.
fn amid(list: &CutList, made: &Progress) -> Bounds<Program> {
    let through = made.made.iter().filter(|made| made.depth == Depth::Through);
    let places = through.filter_map(|made| Some((made.cut, made.surely_mm()?))).flat_map(|(cut, sure)| {
        let path = &list.cut(cut).path;
        let next = move |mm: &f64| (*mm < sure.end).then(|| (mm + AMID_STEP_MM).min(sure.end));
        std::iter::successors(Some(sure.start), next).filter_map(|mm| path.point_at(mm))
    });
    let of_one = |at: Point<Program>| Bounds { min: at, max: at };
    places
        .map(of_one)
        .reduce(Bounds::union)
        .unwrap_or_else(|| of_one(Point::new(f64::INFINITY, f64::INFINITY)))
}

/// Step in which what has been cut is followed for the box about it, in millimetres.
const AMID_STEP_MM: f64 = 2.0;

impl Situation<'_> {
    /// Facts of the plate as an earlier stop found them; none where it is as told.
    pub(crate) fn found_ground(&self) -> Option<Ground> {
        let earlier = self.earlier?;
        earlier.edges.map(|edges| edges.of(self.ground, self, &earlier.progress))
    }
}

/// What earlier rescues left: kept between two stops (as `plate.json` by whoever keeps files).
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Earlier {
    /// What had been made before the last program was started.
    pub progress: Progress,
    /// Parts given up before.
    pub given_up: Vec<PartId>,
    /// The cuts of the restart program that ran last, with the lines on which they stand in it. If it is not empty, a
    /// reported `line` counts in that program and a reported `time` from its start.
    pub ran: Vec<RanCut>,
    /// Cuts that an earlier salvage moved: from where the original has them to where they are made, or will be.
    /// Whatever has been made of them, was made there; [`Situation::motions`], [`Situation::list`] and
    /// [`Situation::index`] have them there, too.
    pub moved: Vec<Moved>,
    /// The text of that program, if it is at hand: then a reported line tells the place within its cut, too.
    pub text: Option<Vec<u8>>,
    /// Where the plate lay for that program, if it had moved; what the control showed then counts from there.
    pub pose: Option<Pose>,
    /// Where the plate's edges lie, if the datum was found to have been wrong; as told if none.
    pub edges: Option<Edges>,
}

/// A cut of a restart program and its lines there.
#[derive(Clone, Debug, PartialEq)]
pub struct RanCut {
    /// The cut, by its index in the original's list.
    pub cut: CutId,
    /// Its lines in the restart program, from 1, the end not included.
    pub lines: Range<u32>,
    /// How it takes the cut up, if not at the cut's own pierce.
    pub join: Option<RanJoin>,
}

/// How a restart program takes up a cut.
#[derive(Clone, Debug, PartialEq)]
pub struct RanJoin {
    /// What it promises.
    pub join: Join,
    /// Where it lights the torch.
    pub lit: Point<Program>,
    /// Its own way from there to the cut's path; empty if it is lit on that.
    pub lead: Path<Program>,
}
