//! From motions to cuts, from cuts to parts, and the state of the plate at any instant.
//!
//! ```text
//! Motions ─ build ▶ CutList (cuts, contours, parts, scrap side) ─ PlateState::after ▶ PlateState ▶ PlateIndex
//! ```

mod list;
mod parts;
mod plate;

pub use list::{Contour, ContourId, Cut, CutId, CutList, Pierce, RestartBlock, Shape, TouchOffAt, Turn};
pub use parts::{Part, PartId};
pub use plate::{Depth, Made, Piece, PieceKind, PlateIndex, PlateState, Progress};
