//! The plate picture: cut kerf a solid band of true width, kerf to cut two thin edges, travel a grey ticked chain,
//! pierces numbered rings, the stop a broken ring, the restart a pennant, loose pieces hatched, findings numbered
//! flags. Colours from a colour-blind-safe palette, never alone.

use cuts::{CutList, PlateState};
use finding::Finding;
use geometry::{Contour, Point, Program};

/// What to draw.
#[derive(Debug)]
pub struct Picture<'a> {
    /// Title under the picture.
    pub title: &'a str,
    /// The cuts.
    pub list: &'a CutList,
    /// The motions, for travel.
    pub motions: &'a nc::Motions,
    /// What has been made.
    pub state: &'a PlateState,
    /// Outline of the plate, if told.
    pub plate: Option<&'a Contour<Program>>,
    /// Where it stopped.
    pub stop: Option<Point<Program>>,
    /// Where it restarts.
    pub restart: Option<Point<Program>>,
    /// Findings to flag, in the order of their numbers.
    pub findings: &'a [Finding],
}

/// The picture as an SVG document, light, dark and print in one (by media query). Same inputs, same bytes.
#[must_use]
pub fn plate_svg(picture: &Picture<'_>) -> String {
    let _ = picture;
    todo!("draw")
}
