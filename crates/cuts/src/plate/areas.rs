//! Kerf, parts and skeleton as areas: for pictures, weights and whatever else asks for an area.

use super::progress::Depth;
use super::state::PlateState;
use crate::{CutId, CutList, PartId};
use geometry::{Bounds, Contour, Path, Program, Region};
use units::Length;

impl CutList {
    /// The kerf of a whole cut, lead-in and lead-out included, arcs flattened at `tolerance_mm`.
    #[must_use]
    pub fn kerf_of(&self, cut: CutId, kerf: Length, tolerance_mm: f64) -> Region<Program> {
        Region::stroke(&self.cut(cut).path, kerf.mm(), tolerance_mm)
    }

    /// A finished part: the inside of its outline less holes, and half a kerf smaller at every cut edge. Slits in it
    /// are taken out, too; arcs are flattened at `tolerance_mm`.
    #[must_use]
    pub fn part_region(&self, part: PartId, kerf: Length, tolerance_mm: f64) -> Region<Program> {
        let part = self.part(part);
        let inside = |id: crate::ContourId| {
            let closed = self.contour(id).closed.as_ref();
            closed.map_or_else(Region::empty, |closed| Region::inside(closed, tolerance_mm))
        };
        let holes = Region::union(part.holes.iter().map(|hole| inside(*hole)));
        let cut_here = std::iter::once(&part.outline).chain(&part.holes).chain(&part.others);
        let cut_here = cut_here.flat_map(|id| self.cuts_of(*id)).filter(|cut| !self.cut(*cut).is_mark);
        let paths: Vec<&Path<Program>> = cut_here.map(|cut| &self.cut(cut).path).collect();
        let kerf = Region::strokes(paths, kerf.mm(), tolerance_mm);
        inside(part.outline).difference(&holes).difference(&kerf)
    }

    /// The cuts that make a contour.
    fn cuts_of(&self, id: crate::ContourId) -> impl Iterator<Item = CutId> + '_ {
        let contour = self.contour(id);
        std::iter::once(contour.cut).chain(contour.closed_by.iter().copied())
    }
}

impl PlateState {
    /// The kerf that has been made through, as an area; only of cuts that meet `within` if that is given. Arcs are
    /// flattened at `tolerance_mm`.
    #[must_use]
    pub fn kerf_region(
        &self,
        list: &CutList,
        within: Option<Bounds<Program>>,
        tolerance_mm: f64,
    ) -> Region<Program> {
        let margin = self.kerf().mm() / 2.0;
        let meets = |path: &Path<Program>| {
            within.is_none_or(|within| path.bounds().is_some_and(|b| b.grown(margin).meets(&within)))
        };
        let paths: Vec<Path<Program>> = list
            .cuts
            .iter()
            .flat_map(|cut| {
                self.made_mm(cut.id, Depth::Through).iter().map(|made| cut.path.piece(made.start, made.end))
            })
            .filter(meets)
            .collect();
        Region::strokes(&paths, self.kerf().mm(), tolerance_mm)
    }

    /// What the skeleton still is: the plate less the kerfs made through and the pieces that are loose.
    #[must_use]
    pub fn skeleton_region(
        &self,
        list: &CutList,
        plate: &Contour<Program>,
        tolerance_mm: f64,
    ) -> Region<Program> {
        let loose = self.loose().iter().filter_map(|piece| list.contour(piece.outline).closed.as_ref());
        let loose = Region::union(loose.map(|closed| Region::inside(closed, tolerance_mm)));
        let kerf = self.kerf_region(list, plate.path().bounds(), tolerance_mm);
        Region::inside(plate, tolerance_mm).difference(&loose).difference(&kerf)
    }
}
