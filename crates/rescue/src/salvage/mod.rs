//! Parts that are lost where they were, placed anew on free plate.

mod field;
mod place;

pub use field::Obstacles;
pub use place::{DISC_WITHIN_MM, OVERLOOKED_MM, Placed, Search, Shape, largest_disc, place};
