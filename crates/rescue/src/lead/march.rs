//! Walking back along a lead from where it meets the cut: whether its own kerf keeps to scrap and old kerf.
//!
//! Near its end a lead merges into the cut's own kerf; there the exact question is asked at every step, whether it lies
//! in scrap or on the line. Once it is clear of all kerfs it stays clear, so that it crosses no void and cuts off no
//! sliver of scrap.

use super::room::{Clear, Room};
use super::{BEYOND_LINE_MM, DISC_SPARE_MM, Site, gather};
use cuts::CutId;
use geometry::{Point, Program};

/// Longest step while a lead merges, in millimetres: a fifth of a narrow kerf.
pub(super) const STEP_MM: f64 = 0.25;

/// Metal left between a lead's kerf and any other, once they have parted, in millimetres: with less, the web between
/// them melts away.
const WEB_MM: f64 = 0.5;

/// Someone who walks about the scrap.
pub(super) struct Walker<'a> {
    pub(super) site: &'a Site<'a>,
    room: Room,
}

/// How far a walk back along a lead has come.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Walk {
    /// Its kerf still touches that of the cut.
    pub(super) merging: bool,
}

/// A place that a lead may pass.
#[derive(Clone, Copy, Debug)]
pub(super) struct Passed {
    pub(super) clear: Clear,
    /// Within this distance, in millimetres, a lead may pass everywhere.
    pub(super) free_mm: f64,
}

impl<'a> Walker<'a> {
    pub(super) fn new(site: &'a Site<'a>, middle: Point<Program>, reach_mm: f64, cut: CutId) -> Self {
        Self { site, room: gather::room(site, middle, reach_mm, Some(cut)) }
    }

    /// Walks on to `p`; none if a lead may not pass there.
    pub(super) fn pass(&mut self, walk: &mut Walk, p: Point<Program>) -> Option<Passed> {
        let clear = self.room.at(p);
        let (half_kerf, spare) = (self.site.half_kerf_mm(), self.site.spare_mm);
        let off_edge = clear.edge_mm - half_kerf - DISC_SPARE_MM - spare;
        let off_later = clear.later_mm - half_kerf - DISC_SPARE_MM;
        let off_void = clear.void_mm - half_kerf - WEB_MM;
        let off_part = clear.part_mm - half_kerf - WEB_MM;
        if off_edge < 0.0 || off_later < 0.0 {
            return None;
        }
        if walk.merging {
            if clear.part_mm > BEYOND_LINE_MM && !self.site.is_scrap(p) {
                return None;
            }
            walk.merging = off_void < 0.0 || off_part < 0.0;
            return Some(Passed { clear, free_mm: 0.0 });
        }
        // Half the web is left for those that come back a little, so that a lead along a curved kerf is not refused.
        let free_mm = off_edge.min(off_later).min(off_void.min(off_part) + WEB_MM / 2.0);
        (free_mm >= 0.0).then_some(Passed { clear, free_mm })
    }

    /// Metal between a crater here and whatever it must keep off, in millimetres, with the spare that is asked for
    /// taken off; negative where it does not fit.
    pub(super) fn crater_spare_mm(&self, clear: &Clear) -> f64 {
        let crater = self.site.crater_mm();
        // The part begins half a kerf beyond its contour's line.
        let off_part = clear.part_mm + self.site.half_kerf_mm();
        let off_rest = clear.void_mm.min(clear.edge_mm).min(clear.later_mm);
        off_part.min(off_rest) - crater - DISC_SPARE_MM - self.site.spare_mm
    }

    pub(super) fn clear_at(&mut self, p: Point<Program>) -> Clear {
        self.room.at(p)
    }
}

impl Walk {
    /// At the join, not yet begun.
    pub(super) const BEGIN: Self = Self { merging: true };
}
