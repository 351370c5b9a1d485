//! Sound places on a plate that is partly cut: where the torch can find the plate, and where a pierce in scrap can be
//! led into the kerf of an interrupted cut.
//!
//! ```text
//! Site ─ gather ▶ Room (distances around one place) ─┬─ touch_off_place ▶ Point
//!                                                    └─ fresh_leads (march over joins, arcs, straights) ▶ Leads
//! ```
//!
//! Everything is looked at in one neighbourhood, so that a question takes as long on a full plate as on a small one.
//! Margins are a little stricter than what a proof asks, so that rounding in the written text refuses nothing.

mod bearing;
mod gather;
mod ground;
mod march;
mod nearest;
mod room;
mod search;
mod shape;
mod touch_off;
mod verify;

use cuts::{CutId, CutList, PlateIndex, PlateState};
use geometry::{Path, Point, Program};
use proof::Ground;

pub use search::fresh_leads;
pub use touch_off::touch_off_place;

/// The plate as the torch will meet it.
#[derive(Clone, Copy, Debug)]
pub struct Site<'a> {
    /// The cuts of the original.
    pub list: &'a CutList,
    /// They, indexed.
    pub index: &'a PlateIndex,
    /// What will have been made when the torch is lit: what the plate carries, and what the restart cuts before.
    pub state: &'a PlateState,
    /// Facts of plate and table.
    pub ground: &'a Ground,
    /// Added to every distance that is kept, in millimetres: how far off the torch may land on a plate that has moved;
    /// else 0.
    pub spare_mm: f64,
    /// Whether the table touches off as part of the torch-on, so that the plate is found only where the torch is lit.
    pub touches_where_lit: bool,
    /// Cuts not made yet that may be made before the torch is lit: the plate is found clear of them, too.
    pub before: &'a [CutId],
}

/// A pierce in scrap with its way into a cut's path.
///
/// **Shape**: a straight line, if there is one, then an arc, if there is one, that meets the cut's path tangentially
/// in its direction.
#[derive(Clone, Debug, PartialEq)]
pub struct Lead {
    /// Where it pierces.
    pub pierce: Point<Program>,
    /// Where the plate is found before: the pierce itself, where its surroundings are sound, else a place near by.
    pub touch_off: Point<Program>,
    /// From the pierce to the cut's path.
    pub path: Path<Program>,
    /// Where it meets the cut's path, in millimetres along that.
    pub from_mm: f64,
    /// Metal between the crater and whatever it must keep off, in millimetres.
    pub clearance_mm: f64,
}

impl Site<'_> {
    fn half_kerf_mm(&self) -> f64 {
        self.ground.kerf.mm() / 2.0
    }

    /// Radius of a pierce's crater.
    fn crater_mm(&self) -> f64 {
        self.ground.crater_radius.unwrap_or(self.ground.kerf).mm()
    }

    /// Metal around a touch-off beyond what it needs, in millimetres.
    fn foot_spare_mm(&self, clear: &room::Clear) -> f64 {
        let clear_mm = clear.void_mm.min(clear.edge_mm).min(clear.before_mm);
        clear_mm - self.foot_mm() - DISC_SPARE_MM - self.spare_mm
    }

    /// Radius of the plate that a touch-off needs.
    fn foot_mm(&self) -> f64 {
        self.ground.thresholds.touch_off_footprint.mm() / 2.0
    }
}

/// Kept between a disc (crater, footprint) and what it must not touch, in millimetres, above what a proof asks: twice
/// what a table repeats to (0.05 mm, common practice), so that neither rounding nor the table eats it up.
const DISC_SPARE_MM: f64 = 0.1;

/// How far beyond a contour's centre line a lead may come, in millimetres: a proof allows 0.05, and rounding takes
/// some of it.
const BEYOND_LINE_MM: f64 = 0.03;
