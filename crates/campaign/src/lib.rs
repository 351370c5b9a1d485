//! Campaign: many seeded stops of many plates, gone on with by the planner and by two hands, and judged by a raster that
//! stands apart.
//!
//! ```text
//! Case ─ bench ▶ program on its plate ─ fault ▶ stopped plate ─┬─ planner ─┐
//!                                                             ├─ skilled ─┼─ judge ▶ Row ─ tally ▶ Tally
//!                                                             └─ plain ───┘
//! ```

mod adapt;
mod bench;
mod case;
mod eyes;
mod fault;
pub mod judge;
mod many;
mod operators;
mod report;
mod run;
mod shrink;
mod tally;

pub use bench::{Bench, Given, TOLERANCE_MM, Unfit};
pub use case::{Along, Case, KINDS, Second, kind_word};
pub use many::{Plan, run_all, seed_of};
pub use operators::{Did, Operator};
pub use run::{Outcome, Row, run, watch};
pub use shrink::{fails, shrunk};
pub use tally::{Count, MOMENTS, Tally, TallyRow, markdown};
