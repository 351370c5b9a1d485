//! What is known when the plate stops.

use cuts::{CutId, CutList, PartId, PlateIndex, Progress};
use geometry::{Path, Point, Program};
use nc::Motions;
use proof::{Ground, Join, Moved, Pose};
use shop::{Job, Shop};
use std::fmt;
use std::ops::Range;

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
