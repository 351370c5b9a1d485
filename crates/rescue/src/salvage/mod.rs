//! Parts that are lost where they were, placed anew on free plate.

mod place;

pub use place::{Obstacles, Placed, Shape, place};
