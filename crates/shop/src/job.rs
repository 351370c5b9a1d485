//! The job file: one program on one plate.

use crate::{Clamp, Material};
use units::Length;

/// A plate's or remnant's outline: a ring of corners, and holes, in plate coordinates (lower left corner of the
/// bounding box at zero).
#[derive(Clone, Debug, PartialEq)]
pub struct PlateOutline {
    /// Corners of the outside, counter-clockwise, not repeated.
    pub ring: Vec<[Length; 2]>,
    /// Rings of holes.
    pub holes: Vec<Vec<[Length; 2]>>,
}

impl PlateOutline {
    /// A rectangle `width` × `height`.
    #[must_use]
    pub fn rectangle(width: Length, height: Length) -> Self {
        let zero = Length::ZERO;
        Self { ring: vec![[zero, zero], [width, zero], [width, height], [zero, height]], holes: Vec::new() }
    }
}

/// One job. Keys of the job file; the command line's flags override them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Job {
    /// Path of the program, relative to the job file.
    pub program: Option<String>,
    /// Path of the shop file, relative to the job file.
    pub shop: Option<String>,
    /// Name of the process.
    pub process: Option<String>,
    /// Material.
    pub material: Option<Material>,
    /// Thickness.
    pub thickness: Option<Length>,
    /// Plate.
    pub plate: Option<PlateOutline>,
    /// Where the plate's lower left corner lies, in table coordinates.
    pub plate_at: Option<[Length; 2]>,
    /// Where program zero lies, in plate coordinates; the plate's lower left corner if not told.
    pub datum: Option<[Length; 2]>,
    /// Clamps and other obstacles.
    pub clamps: Vec<Clamp>,
    /// How far a part may be off.
    pub tolerance: Option<Length>,
    /// Path of the drawing.
    pub drawing: Option<String>,
    /// Values of parts by number, in the shop's currency.
    pub values: Vec<(u32, f64)>,
}
