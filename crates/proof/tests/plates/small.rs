//! One small plate, written by hand: a hole and an outline of a first part, the same of a second, a third without a
//! hole.

use super::Plate;
use geometry::{Bounds, Contour, Point};
use nc::Dialect;
use proof::Ground;
use shop::Thresholds;
use units::Length;

pub(crate) const HEADER: &str = "G21 G90 G17 G40 G94\nG91.1\nT2\n";
/// What a restart of it begins with.
pub(crate) const RESTART: &str = "G40\nG21 G90 G17 G94\nG91.1\nM5\nG0 Z25\nT2\n";

pub(crate) fn mm(value: f64) -> Length {
    Length::from_mm(value)
}

/// Way, touch-off and start at a place.
pub(crate) fn start(x: f64, y: f64) -> String {
    format!("G0 X{x} Y{y}\nG38.2 Z-20 F600\nG92 Z0\nG0 Z4\nM3\nG4 P0.5\nG1 Z1.5 F1500\n")
}

pub(crate) const STOP: &str = "M5\nG0 Z25\n";

/// A hole of radius 10, pierced in its middle.
pub(crate) fn hole(x: f64, y: f64) -> String {
    format!("{}G1 X{} F2000\nG3 X{} Y{y} I-10 J0\n{STOP}", start(x, y), x + 10.0, x + 10.0)
}

/// A square of 60, clockwise, pierced 6 mm left of the middle of its left side, with 3 mm of overlap.
pub(crate) fn square(x: f64, y: f64) -> String {
    let (right, top, middle) = (x + 60.0, y + 60.0, y + 30.0);
    format!(
        "{}G1 X{x} F2000\nG1 Y{top}\nG1 X{right}\nG1 Y{y}\nG1 X{x}\nG1 Y{middle}\nG1 Y{}\n{STOP}",
        start(x - 6.0, middle),
        middle + 3.0
    )
}

pub(crate) fn ground() -> Ground {
    let corner = |x: f64, y: f64| Point::new(x, y);
    let corners = [corner(0.0, 0.0), corner(400.0, 0.0), corner(400.0, 200.0), corner(0.0, 200.0)];
    Ground {
        kerf: mm(1.6),
        crater_radius: None,
        thickness: mm(6.0),
        safe_height: Some(mm(25.0)),
        travel: Bounds::around([corner(-50.0, -50.0), corner(450.0, 250.0)]),
        plate: Contour::polygon(&corners),
        surely_plate: None,
        edges: None,
        plate_holes: Vec::new(),
        clamps: Vec::new(),
        thresholds: Thresholds::default(),
    }
}

/// Cut 1 the hole and cut 2 the outline of a first part, cut 3 and cut 4 those of a second, cut 5 a third without.
pub(crate) fn cuts() -> Vec<String> {
    vec![hole(50.0, 50.0), square(20.0, 20.0), hole(150.0, 50.0), square(120.0, 20.0), square(220.0, 20.0)]
}

pub(crate) fn plate() -> Plate {
    plate_of(&cuts(), &Dialect::common())
}

pub(crate) fn plate_of(cuts: &[String], dialect: &Dialect) -> Plate {
    let text = format!("{HEADER}{}M30\n", cuts.concat());
    Plate::from_text("small", text, dialect.clone(), ground(), 25.0)
}

/// The restart with these cuts of `all`, counted from 0.
pub(crate) fn restart(all: &[String], cuts: impl IntoIterator<Item = usize>) -> String {
    let cuts: String = cuts.into_iter().map(|k| all[k].clone()).collect();
    format!("{RESTART}{cuts}M30\n")
}
