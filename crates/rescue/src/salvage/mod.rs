//! Parts that are lost where they were, made anew on free plate or on a remnant.
//!
//! ```text
//! lost parts ─ lost ▶ pieces with all their cuts ─┐
//! plate as it is ─ field ▶ Obstacles ─────────────┴─ place ▶ placements ─ plan ▶ text ─ proof ▶ SalvagePlan ─ steps ▶ page
//! ```
//!
//! The search is our own. A polygon collision engine answers "do these overlap" on flattened outlines; asked for here is
//! a distance, to lines that are no areas as well (kerfs, half made), with arcs as arcs, and the one index that gives it
//! exactly is in use everywhere else.

mod field;
mod lost;
mod margins;
mod place;
mod plan;
mod room;
mod steps;

pub use field::Obstacles;
pub use margins::Margins;
pub use place::{DISC_WITHIN_MM, OVERLOOKED_MM, Placed, Search, Shape, Wanted, largest_disc, place, search};
pub(crate) use plan::salvage_along;
pub use plan::{
    Laid, NotPlaced, SalvageAsk, SalvagePlan, SalvageScene, Salvaged, Worth, all_ran, laid, salvage,
};
pub use steps::salvage_markdown;
