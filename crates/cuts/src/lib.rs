//! From motions to cuts, from cuts to parts, and the state of the plate at any instant.
//!
//! ```text
//! Motions ─ build ▶ CutList (cuts, contours, parts, scrap side) ─ PlateState::after ▶ PlateState
//!                        └─ PlateIndex::new ▶ PlateIndex ────────── what lies here? ──┘
//! ```

mod build;
mod inside;
mod list;
mod parts;
mod plate;
mod rearranged;
mod rules;

pub use list::{
    Contour, ContourId, Cut, CutId, CutList, Hand, Overlap, Pierce, Reading, RestartBlock, Shape, Stretch,
    TouchOffAt, Turn, Watch,
};
pub use parts::{Part, PartId};
pub use plate::{
    Crater, Depth, Ends, Ground, Lies, Made, NearKerf, Piece, PieceKind, PlateIndex, PlateState, Progress,
    Said, Stray,
};
pub use rearranged::{Disturbed, Rearrangement};
pub use rules::RULES;
