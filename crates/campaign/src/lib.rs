//! Campaign: many seeded faults on many plates, gone on with by the planner and by two hands. Every program, the original
//! and whatever follows it, runs on the virtual cell; what it does to the plate is judged by a raster that stands apart.
//!
//! ```text
//! Case ─ bench ▶ program on its plate ─ fault, cell ▶ stopped plate ─┬─ planner ─┐
//!                                                                   ├─ skilled ─┼─ cell, judge ▶ Row ─ tally ▶ Tally
//!                                                                   └─ plain ───┘
//! ```

mod adapt;
mod bed;
mod bench;
mod beside;
mod case;
mod eyes;
mod fault;
pub mod judge;
mod kind;
mod many;
mod operators;
mod report;
mod run;
mod shrink;
mod sights;
mod stand;
mod tally;

pub use bench::{Bench, Given, TOLERANCE_MM, Unfit};
pub use case::{Along, Case, Second};
pub use kind::{FAULTS, FaultKind, SECOND};
pub use many::{Plan, run_all, seed_of};
pub use operators::{Did, Operator};
pub use run::{Outcome, Row, run, watch};
pub use shrink::{fails, shrunk};
pub use tally::{Count, MOMENTS, Tally, TallyRow, markdown};
