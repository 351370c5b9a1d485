//! Who goes on after a stop: the planner, and two hands.

pub(crate) mod hands;
pub(crate) mod planner;

use crate::judge::{Mischief, Mishap, Ran, Tape, Unsafe, Why};
use crate::report::{KERF_END_MM, Stop};
use crate::{Second, bench::Bench};
use shop::StopKind;

/// Who goes on after a stop.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Operator {
    /// Follows the rescue plan.
    Planner,
    /// A practised hand: back along the path with an overlap and an edge start, a moved plate set again from two points.
    Skilled,
    /// Back to the previous torch-off, and start again from there.
    Plain,
}

impl Operator {
    /// All of them, in the order of tables.
    pub const ALL: [Self; 3] = [Self::Planner, Self::Skilled, Self::Plain];

    /// Its name in tables.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Planner => "planner",
            Self::Skilled => "skilled hand",
            Self::Plain => "plain hand",
        }
    }
}

/// Most programs that one operator runs after one stop: past it he gives up.
const PROGRAMS_MOST: u32 = 8;

/// What an operator did.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Did {
    /// How it ended, in a few words.
    pub ended: String,
    /// Programs he ran.
    pub programs: u32,
    /// Unsafe moments.
    pub moments: Vec<Unsafe>,
    /// Unsafe moments of programs that rest on a wrong report of which cut it was.
    pub misled: Vec<Unsafe>,
    /// Whether the second stop came about.
    pub second: bool,
    /// Radius of the hole that the second stop blew, and so spoiled what it may have spoiled.
    pub blown_by_second: bool,
    /// Parts that were finished by a cut run backwards, by index.
    pub backwards: Vec<usize>,
}

impl Did {
    fn misled(&mut self, ran: &Ran) {
        self.programs += 1;
        self.misled.extend(ran.moments.iter().map(|(moment, _)| *moment));
    }

    fn ran(&mut self, ran: &Ran) {
        self.programs += 1;
        self.moments.extend(ran.moments.iter().map(|(moment, _)| *moment));
    }
}

/// The second stop as a mishap of a tape whose starts burn so far.
fn second_mishap(second: &Second, tape: &Tape, bench: &Bench) -> Option<Mishap> {
    let burns = tape.burns_mm();
    let start = (second.start as usize).min(burns.len().checked_sub(1)?);
    let along_mm = burns[start] * second.share.clamp(0.0, 1.0);
    let kerf = bench.starts.first()?.kerf_mm;
    let (along_mm, what) = match second.kind {
        StopKind::NoTransfer => (0.0, Mischief::NoFire),
        StopKind::NoMotion => (0.0, Mischief::Blown { radius_mm: kerf * 1.4 }),
        _ => (along_mm, Mischief::ArcOut { lag_mm: 0.0 }),
    };
    Some(Mishap { start, along_mm, what, until: (start, along_mm) })
}

/// The stop that the run of a tape came to.
fn stop_of(ran: &Ran, why: Why, cut: usize, mishap: Option<&Mishap>) -> Stop {
    let what = mishap.filter(|_| why == Why::Mishap).map(|mishap| mishap.what);
    let (kind, blown_mm) = match (why, what) {
        (Why::NoMetal, _) | (_, Some(Mischief::NoFire)) => (StopKind::NoTransfer, None),
        (_, Some(Mischief::Blown { radius_mm })) => (StopKind::NoMotion, Some(radius_mm)),
        _ => (StopKind::ArcLost, None),
    };
    Stop { kind, cut, since: vec![cut], at: Some(ran.at), within_mm: KERF_END_MM, blown_mm }
}
