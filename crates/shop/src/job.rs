//! The job file: one program on one plate.

use crate::decode::{self, Reader};
use crate::outline;
use crate::{Clamp, Material, PlateOutline};
use finding::Finding;
use units::Length;

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

impl Job {
    /// How far a cut may land off its place on a plate that has moved, where the job tells no tolerance (common
    /// practice: what a plasma-cut part of ordinary size is allowed anyway).
    pub const TOLERANCE_MOVED: Length = Length::from_mm(1.5);

    /// Reads a job file. Never fails: what cannot be read is left out and told in the findings, sorted by place.
    #[must_use]
    pub fn parse(text: &str) -> (Self, Vec<Finding>) {
        decode::read(text, &crate::keys::JOB, job)
    }
}

fn job(top: &Reader<'_, '_>) -> Job {
    let material = top.choice("material");
    Job {
        program: top.text("program"),
        shop: top.text("shop"),
        process: top.text("process"),
        material,
        thickness: top.thickness("thickness", material),
        plate: outline::read(top, "plate"),
        plate_at: top.point("plate_at"),
        datum: top.point("datum"),
        clamps: top.tables("clamps").iter().filter_map(clamp).collect(),
        tolerance: top.quantity("tolerance"),
        drawing: top.text("drawing"),
        values: values(top),
    }
}

fn values(top: &Reader<'_, '_>) -> Vec<(u32, f64)> {
    let mut values: Vec<_> = top
        .numbers("values")
        .into_iter()
        .filter_map(|(name, span, value)| {
            let number = name.parse().ok().filter(|number| *number > 0);
            if number.is_none() {
                let message = format!("`{}` is not a number of a part", crate::suggest::shortened(&name));
                let remedy = "write the part's number on the picture, such as `3 = 40.0`".into();
                top.sink().error("value-unfit", span, message, remedy);
            }
            Some((number?, value))
        })
        .collect();
    values.sort_by_key(|(number, _)| *number);
    values
}

fn clamp(row: &Reader<'_, '_>) -> Option<Clamp> {
    let name = row.text("name").unwrap_or_else(|| "clamp".into());
    let (from, to) = (row.point("from"), row.point("to"));
    let height = row.quantity("height");
    let (from, to) = (from?, to?);
    if to[0] <= from[0] || to[1] <= from[1] {
        let message =
            "the clamp's upper right corner does not lie above and right of its lower left one".into();
        row.sink().error("facts-at-odds", row.span("to"), message, "change the two corners over".into());
    }
    Some(Clamp {
        name,
        from: [from[0].min(to[0]), from[1].min(to[1])],
        to: [from[0].max(to[0]), from[1].max(to[1])],
        height,
    })
}
