//! Invented nests, and programs for them in many manners of writing.
//!
//! A [`Nest`] says what is to be cut, exactly; [`write`] says it as a program in a [`Manner`]. Writing one nest in two
//! manners gives two programs that must do the same, which is what the property tests of other crates hold on to.
//! Everything comes from a seed, nothing from a clock or a file; no part, table, source or chart here is real.

mod bulk;
pub mod demo;
mod lead;
mod manner;
mod mix;
mod nest;
mod plan;
mod random;
mod ring;
mod scribe;
mod shape;

pub use bulk::{million_blocks, plate_of, program_of};
pub use lead::{LeadIn, LeadOut};
pub use manner::{ArcWords, Copies, Dress, Hand, Manner, Numbers, TouchOffHabit};
pub use mix::Mix;
pub use nest::{Cutting, Kind, Nest, PlannedCut, PlannedPart, Stretch};
pub use plan::{Habits, Order, Together};
pub use random::Random;
pub use ring::{Corners, Ring};
pub use scribe::write;
pub use shape::Shape;
