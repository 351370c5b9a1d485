//! Keys of the job file.

use super::{File, Key, Kind, LENGTH, PRICE, choice, key};
use crate::model::Material;

/// The job file.
pub static JOB: File = File { name: "job file", keys: KEYS };

static KEYS: &[Key] = &[
    key("program", Kind::Text, "Path of the program, from where the job file lies", "\"plate-12.nc\""),
    key("shop", Kind::Text, "Path of the shop file, from where the job file lies", "\"shop.toml\""),
    key("process", Kind::Text, "Name of the process, as in the shop file", "\"fine 45\""),
    key("material", choice::<Material>(), "Material of the plate", "\"mild-steel\""),
    key("thickness", Kind::Thickness, "Thickness of the plate", "\"10 mm\""),
    key("plate", Kind::Plate, "Size or outline of the plate", "\"2500x1250 mm\""),
    key(
        "plate.outline",
        Kind::Points,
        "Corners of the outside in order, from the lower left corner of the box around it",
        "[\"0x0 mm\", \"1200x0 mm\", \"1200x500 mm\", \"0x800 mm\"]",
    )
    .required(),
    key(
        "plate.holes",
        Kind::Rings,
        "Corners of each hole in order",
        "[[\"100x100 mm\", \"300x100 mm\", \"200x300 mm\"]]",
    ),
    key(
        "plate_at",
        Kind::Point,
        "Where the plate's lower left corner lies, in table coordinates",
        "[\"50 mm\", \"50 mm\"]",
    ),
    key(
        "datum",
        Kind::Point,
        "Where program zero lies, from the plate's lower left corner",
        "[\"10 mm\", \"10 mm\"]",
    )
    .or("on the plate's lower left corner"),
    key("tolerance", LENGTH, "How far a part may be off", "\"0.5 mm\"").or("1.5 mm where a plate has moved"),
    key("drawing", Kind::Text, "Path of the drawing, from where the job file lies", "\"plate-12.dxf\""),
    key(
        "values",
        Kind::Table,
        "Value of each part by its number on the picture, in the shop's currency",
        "{ 1 = 40.0, 2 = 12.5 }",
    ),
    key("values.*", PRICE, "Value of the part of this number", "40.0"),
    key("clamps", Kind::Tables, "A clamp or other obstacle on the table", ""),
    key("clamps.name", Kind::Text, "What it is", "\"front left clamp\"").or("clamp"),
    key("clamps.from", Kind::Point, "Its lower left corner, in table coordinates", "[\"40 mm\", \"300 mm\"]")
        .required(),
    key("clamps.to", Kind::Point, "Its upper right corner", "[\"90 mm\", \"360 mm\"]").required(),
    key("clamps.height", LENGTH, "Its height above the plate", "\"45 mm\""),
];
