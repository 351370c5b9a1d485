//! What the shop knows: its table, power source, processes and charts, what is fitted, air, stock and money; one
//! job; one stop report. Read from TOML text; nothing here meets a file.
//!
//! Every fact is optional unless its field says otherwise: what is not told is never guessed, and the answer lists
//! what went unchecked for want of it.

mod chart;
mod job;
mod model;
mod stop;
mod thresholds;

pub use chart::{Chart, ChartRow, Lookup};
pub use job::{Job, PlateOutline};
pub use model::{
    Air, AwaitsArc, Cause, Clamp, ClearsBy, DutyPoint, Fault, Fitted, Material, Money, Process, Shop, Source,
    StandingStart, StartAtLine, Stock, Table,
};
pub use stop::{CutIs, Feature, Measured, StopKind, StopReport};
pub use thresholds::Thresholds;
