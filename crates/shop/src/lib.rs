//! What the shop knows: its table, power source, processes and charts, what is fitted, air, stock and money; one
//! job; one stop report; one scenario to practise. Read from TOML text; nothing here meets a file.
//!
//! Every fact is optional unless its field says otherwise: what is not told is never guessed, and the answer lists
//! what went unchecked for want of it.

mod at_odds;
mod chart;
mod decode;
mod job;
mod keys;
mod model;
mod outline;
mod pchip;
mod placing;
mod plate;
mod process_of;
mod rules;
mod scenario;
mod shop_file;
mod starter;
mod stop;
mod suggest;
mod thresholds;
mod words;

pub use chart::{AT_A_ROW, Chart, ChartRow, Lookup};
pub use decode::{Worded, from_word};
pub use job::Job;
pub use keys::{File, JOB, Key, Kind, Range, SCENARIO, SHOP, STOP, keys};
pub use model::{
    Air, AwaitsArc, Cause, Clamp, ClearsBy, DutyPoint, Fault, Fitted, Material, Money, Process, Shop, Source,
    StandingStart, StartAtLine, Stock, Table, Wear,
};
pub use placing::PlacedPlate;
pub use plate::{LEAST_AREA_MM2, OutlineFault, PlateOutline};
pub use process_of::ProcessOf;
pub use rules::RULES;
pub use scenario::{Cure, Look, Scenario, ScenarioFault, Strikes};
pub use starter::starter;
pub use stop::{
    CutIs, CutState, Feature, Lip, Measured, PieceIs, PlateSide, Pointer, PointerMark, SightedBy, StopKind,
    StopReport, StrayTold,
};
pub use thresholds::Thresholds;
