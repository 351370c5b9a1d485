//! After a stop: the safe order of work, causes ranked from the evidence, and restart programs, each proven before it
//! is handed out.
//!
//! ```text
//! Situation + StopReport ─ locate ▶ TakenStop ─ progress ▶ Progress ─┬─ causes ▶ Triage
//!                                                                   ├─ steps ▶ safe order of work
//!                                                                   └─ restart ▶ text ─ proof ▶ Choice ─ trace
//! ```

mod burns;
mod closing;
mod diff;
mod draft;
mod edge_doubt;
mod joins;
pub mod lead;
mod locate;
mod moved;
mod nib;
mod options;
mod over_edge;
mod page;
mod plan;
mod progress;
mod promise;
pub mod refind;
mod restart;
pub mod salvage;
mod situation;
mod steps;
mod stopped;
mod trace;
pub mod triage;
mod which_burn;
mod witness;

pub use page::steps_markdown;
pub use plan::{
    Choice, ChoiceKind, Diff, Fact, NextLook, NoSuchStop, Price, RankedCause, Refused, RescuePlan, StartAt,
    Step, StoppedAlong, TakenStop, Trace, Triage, Wanted, plan,
};
pub use situation::{Earlier, Edges, RanCut, RanJoin, Situation, Watch};
pub use steps::shade;
pub use witness::{ByArc, Witness, witness};
