//! The judge: what becomes of a plate, apart from whatever plans, proves or measures.
//!
//! It is a raster of a tenth of a millimetre with the physics of an arc at its least, and takes plain numbers only: of
//! our crates it uses none. What it leaves out, always to the advantage of whoever runs the torch: height control and
//! where it would dive, heat and warping, dross and bevel, the tilt of loose pieces (they fall), clamps.

mod layout;
mod motion;
pub mod physics;
mod piece;
mod plate;
pub mod raster;
mod rig;
mod savable;
mod start_left;

pub use layout::{Differs, Hint, Layout, Line, Part};
pub use motion::{Move, Start, Told, distance};
pub use plate::{Deep, Plate};
pub use rig::{Deeds, Freed, Lie, Lights, Rig, Unsafe, Way};
pub use savable::{Findable, Lost, savable};
