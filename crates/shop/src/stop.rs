//! The stop report: what the operator saw when the plate stopped.

use units::{Duration, Length};

/// What kind of stop it was.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StopKind {
    /// A start without transfer: the arc did not come.
    NoTransfer,
}

/// What a cut is, by the operator's eye.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CutIs {
    /// Nothing was cut.
    Dry,
    /// Cut through up to a place.
    Partial,
    /// Cut, but not through.
    Groove,
    /// Cut whole.
    Whole,
}

/// What was measured.
#[derive(Clone, Debug, PartialEq)]
pub struct Measured {
    /// What it is.
    pub feature: Feature,
    /// Where the program has it, program coordinates.
    pub plan: [Length; 2],
    /// Where it was found, table coordinates; one or more points.
    pub found: Vec<[Length; 2]>,
    /// One standard deviation of each reading.
    pub sigma: Option<Length>,
}

/// A feature whose place can be measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Feature {
    /// A single point.
    Point,
    /// A crater.
    Crater,
    /// A dimple made as a witness.
    Dimple,
    /// The centre of a hole.
    Hole,
    /// A straight edge.
    Edge,
    /// A corner.
    Corner,
}

/// The stop report.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct StopReport {
    /// What kind of stop.
    pub kind: Option<StopKind>,
    /// Number of the cut on the picture, from 1.
    pub cut: Option<u32>,
    /// Line of the text, from 1.
    pub line: Option<u32>,
    /// Where the torch stopped, program coordinates.
    pub at: Option<[Length; 2]>,
    /// How far along the cut.
    pub stopped_along: Option<Length>,
    /// Time since the program's start.
    pub time: Option<Duration>,
    /// How far along the cut the kerf is through.
    pub kerf_to: Option<Length>,
    /// Uncertainty of `kerf_to`, one standard deviation.
    pub kerf_sigma: Option<Length>,
    /// Fault code shown.
    pub fault: Option<String>,
    /// What was seen and heard, by the observations' names.
    pub seen: Vec<String>,
    /// Whether anything moved.
    pub moved: Option<bool>,
    /// Measurements.
    pub measured: Vec<Measured>,
    /// Cuts whose state the operator knows.
    pub state: Vec<(u32, CutIs)>,
}
