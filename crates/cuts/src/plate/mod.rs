//! The state of the plate: what has been cut, how deep, when, what is loose, and what lies at a place.

mod areas;
mod cover;
mod index;
mod progress;
mod state;

pub use index::{Ground, NearKerf, PlateIndex};
pub use progress::{Depth, Ends, Made, Progress, Stray};
pub use state::{Crater, Lies, Piece, PieceKind, PlateState, Said};
