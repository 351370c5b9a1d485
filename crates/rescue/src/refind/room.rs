//! How much room a remaining cut has to what was cut before: a part begun after the move comes out true wherever it
//! lands, as long as it reaches into nothing.

use super::metal::Metal;
use cuts::{Cut, PartId};

impl Metal<'_> {
    /// The parts that a cut serves: those it bounds, and those its slots and marks lie on.
    pub(super) fn parts_of(&self, cut: &Cut) -> impl Iterator<Item = PartId> + use<'_> {
        let list = self.list;
        let contours: Vec<_> = cut.contours.iter().chain(&cut.bounds).copied().collect();
        contours.into_iter().filter_map(move |contour| list.contour(contour).part)
    }

    /// Whether anything of a part is cut.
    pub(super) fn is_begun(&self, part: PartId) -> bool {
        let part = self.list.part(part);
        let contours = [part.outline].into_iter().chain(part.holes.iter().chain(&part.others).copied());
        let mut cuts = contours.flat_map(|contour| {
            let contour = self.list.contour(contour);
            contour.boundary.iter().map(|stretch| stretch.cut).chain([contour.cut])
        });
        cuts.any(|cut| !self.state.is_dry(cut))
    }

    /// The room between a cut and every kerf and crater made and the plate's edges, its holes' too, looked for within `reach_mm`; none if
    /// the cut must fit to something of its part that was cut before.
    pub(super) fn room_mm(&self, cut: &Cut, reach_mm: f64) -> Option<f64> {
        let mut parts = self.parts_of(cut).peekable();
        parts.peek()?;
        if !self.state.is_dry(cut.id) || parts.any(|part| self.is_begun(part)) {
            return None;
        }
        // A crater is wider than its kerf; all of an old cut is taken to be as wide.
        let wider_mm = (self.state.crater().mm() - self.half_kerf_mm()).max(0.0);
        let look_mm = reach_mm + wider_mm;
        let curves = cut.path.curves().iter();
        let kerfs = curves.clone().flat_map(|curve| self.index.curves.near_curve(curve, look_mm));
        let made = kerfs.filter(|hit| !self.state.is_dry(hit.tag.0)).map(|hit| hit.distance_mm - wider_mm);
        let edges = self.plate.into_iter().chain(self.holes).flat_map(|edge| edge.path().curves());
        let edge = curves.flat_map(|curve| {
            edges.clone().map(|edge| curve.distance_to(edge).distance_mm + self.half_kerf_mm())
        });
        let strays = self.state.progress().strays.iter().flat_map(|stray| {
            let lines = cut.path.curves().iter().flat_map(|curve| {
                stray.path.curves().iter().map(|other| curve.distance_to(other).distance_mm)
            });
            let hole = cut.path.nearest(stray.at).map_or(f64::INFINITY, |near| near.distance_mm);
            lines.chain([hole - stray.crater_mm])
        });
        Some(made.chain(edge).chain(strays).fold(reach_mm, f64::min).max(0.0))
    }
}
