//! The plate picture: cut kerf a solid band of true width, kerf to cut two thin edges, travel a grey ticked chain,
//! pierces numbered rings, the stop a broken ring, the restart a pennant, loose pieces hatched, findings numbered
//! flags. On a plate that moved: its old place a broken outline, measured places crosses with a line to where they were
//! found, landing errors ellipses, what to measure next numbered diamonds. Colours are told apart by the colour-blind too, and never alone.
//!
//! ```text
//! Picture ─ scene ▶ Scene (what there is to show, in millimetres) ─ sheet ▶ SVG
//! ```
//!
//! [`forecast_svg`] draws a forecast over time, in the same language.
//!
//! One document serves light and dark screens and print, by media queries.

mod charts;
mod coarse;
mod flags;
mod ink;
mod kerfs;
mod labels;
mod legend;
mod marks;
mod moved;
mod pen;
mod scale_bar;
mod scene;
mod sheet;
mod sketch;
mod view;

pub use charts::{ChartFor, forecast_svg};
pub use moved::{Landing, Moved, Sight};
pub use sketch::{
    Sketch, SketchBand, SketchFound, SketchLanding, SketchPierce, ink_properties, outline_data, plate_sketch,
};

use cuts::{CutId, CutList, PlateState};
use finding::Finding;
use geometry::{Contour, Path, Point, Program};
use units::System;

/// What to draw. Made with [`Picture::new`]; set what else is known.
#[derive(Clone, Copy, Debug)]
pub struct Picture<'a> {
    /// Title under the picture.
    pub title: &'a str,
    /// Units in which lengths are told in the legend; the scale bar has both, these first.
    pub system: System,
    /// The cuts.
    pub list: &'a CutList,
    /// The motions, for travel.
    pub motions: &'a nc::Motions,
    /// What has been made.
    pub state: &'a PlateState,
    /// Outline of the plate, if told.
    pub plate: Option<&'a Contour<Program>>,
    /// Holes of the plate: what was cut from it before.
    pub plate_holes: &'a [Contour<Program>],
    /// Where it stopped.
    pub stop: Option<Point<Program>>,
    /// Where it restarts.
    pub restart: Option<Point<Program>>,
    /// The restart's own lead-in, where it does not begin on the program's path.
    pub lead_in: Option<&'a Path<Program>>,
    /// The starts of the restart, in its order: travel is drawn between them, and a cut in two burns, which has two starts, has
    /// a pennant at its second. Without any travel is drawn as the program has it, to the cuts of which nothing is made.
    pub starts: &'a [Start],
    /// Findings to flag, in the order of their numbers.
    pub findings: &'a [Finding],
    /// Where the plate lies, if it moved: it is drawn there. All other places are told as the program has them.
    pub moved: Option<Moved<'a>>,
}

/// A start of a restart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Start {
    /// Its cut.
    pub cut: CutId,
    /// Where its torch is lit.
    pub lit: Point<Program>,
    /// Where its cut ends.
    pub ends: Point<Program>,
}

impl<'a> Picture<'a> {
    /// The picture of these cuts in this state, in metric units, without plate, stop, restart or findings.
    #[must_use]
    pub fn new(title: &'a str, list: &'a CutList, motions: &'a nc::Motions, state: &'a PlateState) -> Self {
        Self {
            title,
            system: System::Metric,
            list,
            motions,
            state,
            plate: None,
            plate_holes: &[],
            stop: None,
            restart: None,
            lead_in: None,
            starts: &[],
            findings: &[],
            moved: None,
        }
    }
}

/// The picture as an SVG document, light, dark and print in one (by media query). Same inputs, same bytes.
///
/// **Shape**: 1,200 px wide or less, as high as it takes: drawing, title, scale bar, legend of what occurs. Kerfs
/// lie in a group in millimetres of the program's frame, so that they can be measured. Where a kerf's true width
/// could not be seen it is drawn wider, and the legend says so.
#[must_use]
pub fn plate_svg(picture: &Picture<'_>) -> String {
    sheet::draw(&scene::Scene::of(picture))
}
