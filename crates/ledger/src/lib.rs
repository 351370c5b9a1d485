//! What was entered at a plate, kept: events that are only ever added, in one file, an embedded database.
//!
//! ```text
//! Event { id, of, at, entry } ─ append ▶ acknowledged: on the disk, whole ─ read ▶ JobRecord (events folded)
//! ```
//!
//! Ids are made by whoever writes, so that an event sent twice counts once, and so that another store can take the same
//! events. Nothing here knows what a program, a stop report or a plan says: they are kept as the texts they were.

mod entry;
mod error;
mod event;
mod id;
mod record;
mod schema;
mod store;
mod text;

pub use entry::{
    Entry, FactsTold, Fate, JobOpened, Measured, Outcome, PlanChosen, Practice, StopReported, Tick,
};
pub use error::Error;
pub use event::{Event, Moment};
pub use id::{Id, NotAnId};
pub use record::{JobRecord, StopRecord};
pub use store::Ledger;
pub use text::{Text, TextId};
