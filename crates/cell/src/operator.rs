//! Who stands at the table: asked whenever the cell stops and someone must act.

use crate::event::{Control, Log, Source, Why};
use crate::fault::Trouble;
use cuts::CutId;
use geometry::{Point, Program};

/// The cell as the operator finds it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stopped {
    /// When, in seconds.
    pub at_s: f64,
    /// What stopped it.
    pub by: StoppedBy,
    /// The control.
    pub control: Control,
    /// The source, as its lamp and display show it.
    pub source: Source,
    /// Whether a start command stands.
    pub start_command: bool,
    /// The cut it belongs to.
    pub cut: Option<CutId>,
    /// Where the control believes the torch to be.
    pub at: Point<Program>,
    /// Whether the operator's report of it is wrong, and how: millimetres of kerf, number of cuts.
    pub misreports: Option<(f64, i32)>,
}

/// What stopped the cell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StoppedBy {
    /// A start without transfer.
    Misfire(Why),
    /// The arc was lost in a cut.
    ArcLost(Why),
    /// The torch met something.
    Struck,
    /// Power was cut.
    PowerCut,
    /// The program waits (M0, M1).
    Program,
    /// Cuts ran without an arc; somebody looked only now.
    Dry,
    /// The arc does not go out.
    ArcStays,
    /// Somebody stopped it.
    Hand,
}

/// What the operator does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Act {
    /// Gives a new start command and lets the program go on from where it stands.
    StartAgain,
    /// Lets the program go on: after a stop of its own, or dry.
    GoOn,
    /// Takes the start command away.
    TakeStartAway,
    /// Switches the source off and on.
    OffAndOn,
    /// Isolates the source.
    SwitchOff,
    /// Switches the source on.
    SwitchOn,
    /// Waits so many seconds.
    Wait(f64),
    /// Mends every trouble of this kind that lasts.
    Mend(Trouble),
    /// Puts hands on torch or clamp.
    HandsOn,
    /// Ends the program.
    End,
    /// Runs no more of the program and leaves everything as it stands, the start command too.
    Leave,
}

/// Someone, or something, that acts when the cell stops. Must end the program sooner or later: after
/// [`ACTS_MOST`] acts at one stop it is ended for them.
pub trait Operator {
    /// What to do next.
    fn acts(&mut self, stopped: &Stopped, log: &Log) -> Act;
}

/// Most acts at one stop.
pub const ACTS_MOST: usize = 1000;

/// Nobody: the program goes on after stops of its own and ends at the first trouble.
#[derive(Clone, Copy, Debug, Default)]
pub struct Nobody;

impl Operator for Nobody {
    fn acts(&mut self, stopped: &Stopped, _: &Log) -> Act {
        match stopped.by {
            StoppedBy::Program => Act::GoOn,
            _ => Act::End,
        }
    }
}

/// Somebody who looks on: the program goes on after stops of its own; at any other everything is left as it stands, and kept
/// for whoever comes.
#[derive(Clone, Copy, Debug, Default)]
pub struct Onlooker(Option<Stopped>);

impl Onlooker {
    /// How it stopped; none if it ran to its end.
    #[must_use]
    pub const fn saw(&self) -> Option<&Stopped> {
        self.0.as_ref()
    }
}

impl Operator for Onlooker {
    fn acts(&mut self, stopped: &Stopped, _: &Log) -> Act {
        if stopped.by == StoppedBy::Program {
            return Act::GoOn;
        }
        self.0 = Some(*stopped);
        Act::Leave
    }
}
