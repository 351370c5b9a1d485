//! What happens in a run, in order: the log that everything else reads.

use crate::fault::Trouble;
use cuts::{CutId, Depth};
use geometry::{Point, Program};
use std::ops::Range;

/// The control.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Control {
    /// At rest before the program.
    AtRest,
    /// Travelling or cutting as the program says.
    Travelling,
    /// Waiting for transfer.
    AwaitingArc,
    /// Paused; a start command may stand.
    Paused,
    /// The program has ended, or was ended.
    Ended,
}

/// The source.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Source {
    /// Off.
    Off,
    /// On, no start command acted on.
    Ready,
    /// Gas flows before the pilot.
    Preflow,
    /// The pilot arc burns.
    Pilot,
    /// The arc burns to the plate.
    Cutting,
    /// Gas flows after the arc.
    PostFlow,
    /// A fault latches.
    Faulted(Code),
}

/// What the source says is wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Code {
    /// Pressure too low while flowing.
    Air,
    /// The pilot did not reach the plate.
    NoTransfer,
    /// Duty cycle passed.
    Hot,
    /// A start command stood when it was switched on.
    Stood,
}

/// One thing that happens.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Event {
    /// When, in seconds on the cell's clock.
    pub at_s: f64,
    /// What.
    pub what: Happening,
}

/// What happens.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Happening {
    /// The control changes its state.
    Control(Control),
    /// The source changes its state.
    Source(Source),
    /// A start command is given (`true`) or taken away.
    StartCommand(bool),
    /// A cut's start: its number among all starts of the cell, from 1.
    Start {
        /// Its number.
        number: u32,
        /// The cut.
        cut: Option<CutId>,
        /// Where the torch is on the plate.
        at: Point<Program>,
    },
    /// The arc reaches the plate.
    Transfer,
    /// The pilot reaches the wall of a kerf and gouges it.
    Gouge(Point<Program>),
    /// The start fails.
    Misfire(Why),
    /// The arc is lost in the cut.
    ArcLost(Why),
    /// The control goes on without an arc.
    Dry,
    /// The torch stops on the way, so far along a motion.
    Halted {
        /// Index of the motion.
        motion: u32,
        /// Millimetres along it.
        along_mm: f64,
    },
    /// It goes on from there.
    Resumed,
    /// A fault strikes.
    Strikes(Trouble),
    /// A hole is blown.
    HoleBlown {
        /// Where.
        at: Point<Program>,
        /// Its diameter, in millimetres.
        diameter_mm: f64,
    },
    /// The control has lost where it stands.
    PositionLost,
    /// The arc does not go out when it should.
    ArcStays,
    /// The program waits for the operator (M0, M1).
    ProgramStop,
    /// Hands are at the torch while a start command stands and the source is on.
    HandsInDanger,
    /// The torch fires because a start command stood when the source was switched on.
    FiresUnasked,
}

/// Why an arc does not come, or goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Why {
    /// The source is off.
    SourceOff,
    /// A fault of the source latches.
    Latched(Code),
    /// Pressure too low while flowing.
    Air,
    /// The consumables cannot do it.
    Consumables,
    /// The work lead is off.
    WorkLead,
    /// No metal within reach.
    NoMetal,
    /// The torch stands too high.
    TooHigh,
    /// The source is too hot.
    Hot,
    /// It was put out by a fault.
    Fault,
    /// Power is cut.
    Power,
}

/// What a stretch of time goes into.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// Cutting: the torch is on and has begun to move.
    Cut,
    /// Travel with the torch off, up and down as well.
    Travel,
    /// Finding the plate.
    TouchOff,
    /// From the start command until motion begins.
    Pierce,
    /// Waits with the torch off, and for people.
    Wait,
}

impl Kind {
    /// All of them.
    pub const ALL: [Self; 5] = [Self::Cut, Self::Travel, Self::TouchOff, Self::Pierce, Self::Wait];
}

/// A stretch of time of one kind; stretches of a log follow one another without gaps.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spell {
    /// When it begins, in seconds.
    pub from_s: f64,
    /// When it ends.
    pub to_s: f64,
    /// What it goes into.
    pub kind: Kind,
    /// The cut it belongs to; none after the last.
    pub cut: Option<CutId>,
}

/// A stretch of time in which the torch draws gas.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gas {
    /// When it begins, in seconds.
    pub from_s: f64,
    /// When it ends.
    pub to_s: f64,
    /// Whether the cutting arc burns.
    pub arc: bool,
    /// Number of the start it belongs to, from 1.
    pub start: u32,
    /// The cut it belongs to.
    pub cut: Option<CutId>,
}

/// A stretch of a cut's path that was burnt.
#[derive(Clone, Debug, PartialEq)]
pub struct Burnt {
    /// The cut.
    pub cut: CutId,
    /// From where to where, in millimetres along its path.
    pub along_mm: Range<f64>,
    /// How deep.
    pub depth: Depth,
}

/// A motion as it was run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MotionRun {
    /// When it began, in seconds.
    pub from_s: f64,
    /// When it ended.
    pub to_s: f64,
    /// Its speeds; none for motions up and down and probes.
    pub run: Option<crate::motion::Run>,
}

/// All that happened in a run.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Log {
    /// Events in order.
    pub events: Vec<Event>,
    /// Where the time went, in order, without gaps.
    pub spells: Vec<Spell>,
    /// When gas flowed, in order.
    pub gas: Vec<Gas>,
    /// What was burnt, in order.
    pub burnt: Vec<Burnt>,
    /// Each motion as it was run, if asked for; a motion that was halted spans the halt.
    pub motions: Vec<MotionRun>,
    /// When the run began, in seconds.
    pub from_s: f64,
    /// When it ended.
    pub to_s: f64,
}

impl Log {
    /// How many starts there were.
    #[must_use]
    pub fn starts(&self) -> u32 {
        let starts = self.events.iter().filter(|event| matches!(event.what, Happening::Start { .. }));
        u32::try_from(starts.count()).unwrap_or(u32::MAX)
    }
}
