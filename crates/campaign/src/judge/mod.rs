//! The judge: what becomes of a plate, apart from whatever plans, proves or measures.
//!
//! It is a raster of a tenth of a millimetre with the physics of an arc at its least, and takes plain numbers only: of
//! our crates it uses none. What it leaves out, always to the advantage of whoever runs the torch: height control and
//! where it would dive, heat and warping, dross and bevel, the tilt of loose pieces (they fall), clamps.

mod layout;
pub mod physics;
mod piece;
mod plate;
pub mod raster;
mod rig;
mod savable;
mod tape;

pub use layout::{Differs, Flawed, Hint, Layout, Line, Part};
pub use plate::{Deep, Plate};
pub use rig::{Ended, Lie, Mischief, Mishap, Ran, Rig, Unsafe, Why};
pub use savable::{Findable, Lost, savable};
pub use tape::{Act, Move, Start, Tape, distance};
