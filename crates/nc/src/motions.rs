//! What a program makes the machine do: motions and the events between them, in order of execution.

use crate::{Dialect, Program};
use finding::{Finding, Span};
use geometry::{Arc, Curve, Point};
use std::ops::Range;

/// Index of a call path in [`Motions::call`]; 0 is the main program.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct CallId(pub u32);

/// Index of a modal state in [`Motions::modal`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ModalId(pub u32);

/// One subprogram call on the way to a block.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Call {
    /// The call from within which this one was made; none in the main program.
    pub parent: Option<CallId>,
    /// The block that calls.
    pub block: u32,
    /// Which pass of the repeats this is, from 1.
    pub pass: u32,
    /// Number of the subprogram.
    pub subprogram: u32,
}

/// Unit of length of the program's numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Units {
    /// G21.
    Millimetres,
    /// G20.
    Inches,
}

/// How X, Y and Z are meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Distance {
    /// G90.
    Absolute,
    /// G91.
    Incremental,
}

/// Cutter compensation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Comp {
    /// G40.
    Off,
    /// G41: tool left of the path by this radius in millimetres.
    Left(f64),
    /// G42.
    Right(f64),
}

/// From where a height is measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HeightBase {
    /// From the plate's top, found by a touch-off.
    PlateTop,
    /// From the program's Z zero, wherever that is.
    Program,
    /// It cannot be told.
    Unknown,
}

/// A height of the torch, in millimetres from its base.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Height {
    /// What it is measured from.
    pub base: HeightBase,
    /// Millimetres above the base; where that cannot be told, above the place where it was lost.
    pub mm: f64,
}

/// Which modal values the program itself has set, rather than found at power-up.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[expect(clippy::struct_excessive_bools, reason = "a set of facts, each true or not")]
pub struct Known {
    /// Units (G20, G21).
    pub units: bool,
    /// Distance mode (G90, G91).
    pub distance: bool,
    /// Plane (G17).
    pub plane: bool,
    /// Compensation (G40 to G42).
    pub comp: bool,
    /// Arc centres, where the dialect has words for them.
    pub arc_centers: bool,
    /// Feed (F).
    pub feed: bool,
    /// Motion mode (G0 to G3 …).
    pub motion: bool,
    /// Feed mode (G94).
    pub feed_mode: bool,
    /// X has been moved to an absolute place.
    pub x: bool,
    /// Y has been moved to an absolute place.
    pub y: bool,
}

/// The modal state in force at a motion or event.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Modal {
    /// Unit of length.
    pub units: Units,
    /// Distance mode.
    pub distance: Distance,
    /// How I and J are meant.
    pub arc_centers: crate::ArcCenters,
    /// Cutter compensation in force.
    pub comp: Comp,
    /// Feed in millimetres a minute; none if never set.
    pub feed_mm_per_min: Option<f64>,
    /// Motion mode that a block without a G word continues; none after G80.
    pub motion: Option<MotionKind>,
    /// Work coordinate system, 1 to 9.
    pub system: u8,
    /// How far program coordinates are shifted from those at the program's start, X and Y, in millimetres
    /// (G92, G10 L2 and G54 to G59.3).
    pub shift_mm: [f64; 2],
    /// Number of the process in force; none if the program has not chosen one.
    pub process: Option<u32>,
    /// Whether the torch is commanded on.
    pub torch: bool,
    /// Whether height control may steer.
    pub height_control: bool,
    /// What the program has set itself.
    pub known: Known,
}

/// Kind of a motion.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(u8)]
pub enum MotionKind {
    /// G0.
    Rapid,
    /// G1.
    Feed,
    /// G2.
    ArcCw,
    /// G3.
    ArcCcw,
    /// A probing motion.
    Probe,
    /// G28, G30 and G53 in X or Y: to a place of the machine that the program does not tell. The motion ends, by the
    /// numbers, where it began.
    Home,
}

/// One motion of the torch.
///
/// Identity is its index in [`Motions::motions`]; `block` and `call` are for display.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Motion {
    /// Its block's index.
    pub block: u32,
    /// The calls that led to it.
    pub call: CallId,
    /// The modal state it ran under.
    pub modal: ModalId,
    /// What kind it is.
    pub kind: MotionKind,
    /// Where it ends, in the program's frame at its start.
    pub to: Point<geometry::Program>,
    /// Centre if it is an arc; else the same as `to`.
    pub center: Point<geometry::Program>,
    /// Height at its end.
    pub z: Height,
}

impl Motion {
    /// The curve it runs in X and Y if it begins at `from`.
    pub(crate) fn curve_from(&self, from: Point<geometry::Program>) -> Curve<geometry::Program> {
        match self.kind {
            MotionKind::ArcCw => Curve::Arc(Arc::about(from, self.to, self.center, false)),
            MotionKind::ArcCcw => Curve::Arc(Arc::about(from, self.to, self.center, true)),
            MotionKind::Rapid | MotionKind::Feed | MotionKind::Probe | MotionKind::Home => {
                Curve::line(from, self.to)
            }
        }
    }
}

/// How the plate's surface was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TouchOff {
    /// By a probing motion in the text (in the main program or in a subprogram that stands in it).
    Probed,
    /// By a word of the control.
    ByControl,
    /// By a subprogram that does not stand in the text.
    ByCall,
}

/// What happens between motions.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum EventKind {
    /// The torch is told to start.
    TorchOn,
    /// The torch is told to end.
    TorchOff,
    /// A wait of so many seconds.
    Dwell(f64),
    /// The plate's surface is found.
    TouchOff(TouchOff),
    /// Height control may steer (`true`) or is held.
    HeightControl(bool),
    /// The process is chosen.
    Process(u32),
    /// The datum is set (G92 or G10 L2 with X or Y), or a coordinate system is chosen or an offset taken away that
    /// changes the system in force or the shift: shift in X and Y against the program's start, in mm. A datum set in
    /// Z alone is none.
    DatumSet([f64; 2]),
    /// M0, M1 or M60: the program waits for the operator.
    Stop,
    /// M2 or M30.
    End,
    /// A call begins or returns; `true` when it begins.
    Call(bool),
}

/// Something that happens at a moment between motions.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Event {
    /// It happens before the motion of this index; equal to the number of motions at the end.
    pub before: u32,
    /// Its block's index.
    pub block: u32,
    /// The calls that led to it.
    pub call: CallId,
    /// The modal state after it.
    pub modal: ModalId,
    /// What happens.
    pub kind: EventKind,
}

/// The state in which a control may stand before the program's first block.
#[derive(Clone, Debug, PartialEq)]
pub struct Start {
    /// Modal values at power-up. Its `known` counts as all false, whatever it says; what its `shift_mm` has beyond
    /// the origin of the system in force is a shift by G92.
    pub modal: Modal,
    /// Origins of the nine work coordinate systems in X and Y, in millimetres in the frame of the motions.
    pub origins_mm: [[f64; 2]; 9],
    /// Shift of Z by G92 in millimetres.
    pub z_shift_mm: f64,
    /// Where the torch stands.
    pub at: Point<geometry::Program>,
    /// Height of the torch.
    pub z: Height,
    /// Plane other than XY in force (18 or 19 instead of 17).
    pub plane: u8,
    /// Inverse-time feed in force (G93).
    pub inverse_time: bool,
    /// Value of the parameters that the program reads without having set them.
    pub unset_parameter: f64,
}

impl Start {
    /// What NISTIR 6556 leaves a control in after M2: millimetres, absolute, compensation off, all parameters 0,
    /// torch at zero.
    #[must_use]
    pub fn usual(dialect: &Dialect) -> Self {
        Self {
            modal: Modal {
                units: Units::Millimetres,
                distance: Distance::Absolute,
                arc_centers: dialect.arc_centers,
                comp: Comp::Off,
                feed_mm_per_min: None,
                motion: Some(MotionKind::Feed),
                system: 1,
                shift_mm: [0.0; 2],
                process: None,
                torch: false,
                height_control: false,
                known: Known::default(),
            },
            origins_mm: [[0.0; 2]; 9],
            z_shift_mm: 0.0,
            at: Point::ORIGIN,
            z: Height { base: HeightBase::Program, mm: 0.0 },
            plane: 17,
            inverse_time: false,
            unset_parameter: 0.0,
        }
    }
}

/// From where the program has a motion to where it is made, both in the program's frame.
pub type Carried = geometry::Placement<geometry::Program, geometry::Program>;

/// All motions and events of a program in order of execution. A value.
///
/// Coordinates are millimetres in the frame in force when the program started: shifts by G92, G10 L2 and G54 to
/// G59.3 are worked in. The origins of coordinate systems that the program selects without setting them are those of
/// [`Start::origins_mm`].
#[derive(Clone, Debug, PartialEq)]
pub struct Motions {
    pub(crate) motions: Vec<Motion>,
    pub(crate) events: Vec<Event>,
    pub(crate) modals: Vec<Modal>,
    pub(crate) calls: Vec<Call>,
    /// The modal state before each block first runs, up to the last that does; `u32::MAX` if it never does.
    pub(crate) before: Vec<u32>,
    pub(crate) at_start: Point<geometry::Program>,
    pub(crate) z_at_start: Height,
}

impl Motions {
    /// Most motions a program may expand to; past it reading ends with a finding.
    pub const MOST: usize = 20_000_000;

    /// Runs the program from `start`, with cutter compensation applied. Findings: arcs that do not close, words out
    /// of use, subprograms not found or recursive, X or Y from a probe, and the like. Never panics, never stops
    /// early but at the program's end or at [`Motions::MOST`].
    #[must_use]
    pub fn run(program: &Program, dialect: &Dialect, start: &Start) -> (Self, Vec<Finding>) {
        crate::interpreter::run(program, dialect, start, Self::MOST)
    }

    /// The motions in order.
    #[must_use]
    pub fn motions(&self) -> &[Motion] {
        &self.motions
    }

    /// The events in order, sorted by [`Event::before`].
    #[must_use]
    pub fn events(&self) -> &[Event] {
        &self.events
    }

    /// The events that happen just before motion `k`; with the number of motions, those after the last.
    #[must_use]
    pub fn events_before(&self, k: usize) -> &[Event] {
        let start = self.events.partition_point(|event| (event.before as usize) < k);
        let end = self.events.partition_point(|event| event.before as usize <= k);
        &self.events[start..end]
    }

    /// A modal state.
    #[must_use]
    pub fn modal(&self, id: ModalId) -> &Modal {
        &self.modals[id.0 as usize]
    }

    /// A call.
    #[must_use]
    pub fn call(&self, id: CallId) -> Option<&Call> {
        id.0.checked_sub(1).map(|k| &self.calls[k as usize])
    }

    /// Whether every block runs at most once and in the order of the text: no subprogram is called.
    #[must_use]
    pub fn is_straight(&self) -> bool {
        self.calls.is_empty()
    }

    /// The motions of block `block`, in order; quick where the text is straight, else a look at every motion.
    pub fn of_block(&self, block: u32) -> impl Iterator<Item = usize> + '_ {
        let range = if self.is_straight() {
            self.motions.partition_point(|motion| motion.block < block)
                ..self.motions.partition_point(|motion| motion.block <= block)
        } else {
            0..self.motions.len()
        };
        range.filter(move |k| self.motions[*k].block == block)
    }

    /// Where motion `k` begins.
    #[must_use]
    pub fn from(&self, k: usize) -> Point<geometry::Program> {
        k.checked_sub(1).map_or(self.at_start, |before| self.motions[before].to)
    }

    /// The height at which motion `k` begins.
    #[must_use]
    pub fn z_from(&self, k: usize) -> Height {
        k.checked_sub(1).map_or(self.z_at_start, |before| self.motions[before].z)
    }

    /// The curve that motion `k` runs in X and Y. A motion in Z alone runs a line of length zero; one to a stored
    /// place, which is not known, likewise.
    #[must_use]
    pub fn curve(&self, k: usize) -> Curve<geometry::Program> {
        self.motions[k].curve_from(self.from(k))
    }

    /// The same motions with some of them made at another place: each range of motions, sorted and apart from each
    /// other, is carried by its placement; the others stay. Events, heights and modal states are as they were, so the
    /// text's numbers no longer say where the carried motions lie.
    ///
    /// A range should begin with a motion that goes somewhere in X or Y: a motion in Z alone ends where the one before
    /// it does, and carried by itself it would seem to travel.
    #[must_use]
    pub fn placed(&self, ranges: &[(Range<u32>, Carried)]) -> Self {
        let mut placed = self.clone();
        for (range, placement) in ranges {
            let last = placed.motions.len();
            let range = (range.start as usize).min(last)..(range.end as usize).min(last);
            for motion in &mut placed.motions[range] {
                motion.to = placement.point(motion.to);
                motion.center = placement.point(motion.center);
            }
        }
        placed
    }

    /// The byte span of the block of motion `k`.
    #[must_use]
    pub fn span(&self, k: usize, program: &Program) -> Span {
        program.blocks()[self.motions[k].block as usize].span
    }

    /// The modal state before the block of index `block` first runs; none if it never runs.
    #[must_use]
    pub fn modal_before(&self, block: u32) -> Option<&Modal> {
        self.modals.get(*self.before.get(block as usize)? as usize)
    }
}
