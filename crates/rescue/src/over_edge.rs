//! A kerf that has come to the plate's own edge, as that was measured: how far along its cut there is surely no plate, so that it
//! is taken up on the edge.

use crate::joins::Ground;
use cuts::Cut;
use geometry::{Contour, Point, Program};
use proof::FoundEdges;

/// Step in which a path is followed past an edge, in millimetres: the proof's own, so that both find the same places.
const STEP_MM: f64 = 0.05;

impl Ground<'_> {
    /// The plate's outline and what is known of it, if it was measured and the plate lies where it was begun.
    pub(crate) fn measured_edges(&self) -> Option<(&Contour<Program>, FoundEdges)> {
        let ground = self.situation.ground;
        ground.plate.as_ref().zip(ground.edges).filter(|_| self.situation.pose.is_none())
    }

    /// Up to where along a cut, from a place on it, the whole width of its kerf surely lies past the plate's edge; the place
    /// itself if it does not there.
    pub(crate) fn surely_past_edge_mm(&self, cut: &Cut, from_mm: f64) -> f64 {
        let Some((plate, edges)) = self.measured_edges() else { return from_mm };
        let half_kerf = self.situation.ground.kerf.mm() / 2.0;
        let is_past = |mm: f64| {
            let place = cut.path.point_at(mm).zip(cut.path.tangent_at(mm));
            place.is_some_and(|(at, along)| {
                let aside = along.left() * half_kerf;
                [at + aside, at + -aside].into_iter().all(|wall| -plate.depth_mm(wall) >= edges.within.mm())
            })
        };
        if is_past(from_mm) { until_mm(cut, from_mm, is_past) } else { from_mm }
    }

    /// Up to where along a cut, from a place past the plate's edge, its kerf may lack metal there; the place itself on the plate.
    pub(crate) fn open_past_edge_mm(&self, cut: &Cut, from_mm: f64) -> f64 {
        let Some((plate, edges)) = self.measured_edges() else { return from_mm };
        let least_mm = -self.situation.ground.kerf.mm() / 2.0 - edges.within.mm();
        let may_lack = |mm: f64| cut.path.point_at(mm).is_some_and(|at| -plate.depth_mm(at) >= least_mm);
        let is_past = cut.path.point_at(from_mm).is_some_and(|at| plate.depth_mm(at) < 0.0);
        if is_past { until_mm(cut, from_mm, may_lack) } else { from_mm }
    }

    /// How far past the plate's edge a place may lie, in millimetres; nothing on the plate.
    pub(crate) fn at_most_past_edge_mm(&self, at: Point<Program>) -> f64 {
        let Some((plate, edges)) = self.measured_edges() else { return 0.0 };
        let past_mm = -plate.depth_mm(at);
        if past_mm > 0.0 { past_mm + edges.within.mm() } else { 0.0 }
    }
}

/// Up to where along a cut something holds from a place on it.
fn until_mm(cut: &Cut, from_mm: f64, holds: impl Fn(f64) -> bool) -> f64 {
    let (length_mm, mut to_mm) = (cut.path.length_mm(), from_mm);
    while to_mm < length_mm && holds((to_mm + STEP_MM).min(length_mm)) {
        to_mm = (to_mm + STEP_MM).min(length_mm);
    }
    to_mm
}
