//! Parts that a hole or kerf beside the cuts has spoilt.

use super::Telling;
use crate::moved::tolerance;
use cuts::{ContourId, Part, PartId};
use geometry::{Point, Program};
use units::{Length, System};

/// A part into which a hole or kerf surely reaches farther than the part may be off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Spoilt {
    pub(crate) part: PartId,
    /// How far it reaches past the part's edge, in millimetres, as far as that is sure.
    pub(crate) reach_mm: f64,
    /// What the job allows, in millimetres.
    allowed_mm: f64,
}

impl Spoilt {
    /// Why the part is given up.
    pub(crate) fn says(self, system: System) -> String {
        let show = |mm: f64| Length::from_mm(mm).show(system);
        format!(
            "Given up: part {}, since a hole or kerf beside the cuts reaches {} into it; the tolerance is {}.",
            self.part.number(),
            show(self.reach_mm),
            show(self.allowed_mm)
        )
    }
}

impl Telling<'_> {
    /// The metal within `surely_mm` of a place is surely gone: parts that lack too much of it are spoilt.
    pub(super) fn spoils(&mut self, at: Point<Program>, surely_mm: f64) {
        // As wide as its doubt: it may be no hole at all.
        if surely_mm <= 0.0 {
            return;
        }
        let list = self.situation.list;
        let allowed_mm = tolerance(self.situation.job).mm();
        for part in &list.parts {
            let outline = &list.contour(part.outline).closed;
            let is_near = |closed: &geometry::Contour<Program>| closed.bounds().grown(surely_mm).contains(at);
            if !outline.as_ref().is_some_and(is_near) {
                continue;
            }
            let reach_mm = surely_mm + self.metal_mm(part, at);
            if reach_mm <= allowed_mm {
                continue;
            }
            match self.on_plate.spoilt.iter_mut().find(|spoilt| spoilt.part == part.id) {
                Some(spoilt) => spoilt.reach_mm = spoilt.reach_mm.max(reach_mm),
                None => self.on_plate.spoilt.push(Spoilt { part: part.id, reach_mm, allowed_mm }),
            }
        }
    }

    /// How deep in a part's metal a place lies, in millimetres; negative where it lies beside that. Edges lie half a kerf beside
    /// the path; what a slot or mark lacks beside its line, a pierce may have taken.
    fn metal_mm(&self, part: &Part, at: Point<Program>) -> f64 {
        let (list, half_kerf_mm) = (self.situation.list, self.situation.ground.kerf.mm() / 2.0);
        let depth = |id: &ContourId| list.contour(*id).closed.as_ref().map(|closed| closed.depth_mm(at));
        let in_outline = depth(&part.outline).unwrap_or(f64::NEG_INFINITY);
        let beside_holes = part.holes.iter().filter_map(depth).map(|in_hole| -in_hole);
        let beside_lines = part.others.iter().filter_map(|id| {
            let contour = list.contour(*id);
            let line = list.cut(contour.cut).path.piece(contour.along_mm.start, contour.along_mm.end);
            Some(line.nearest(at)?.distance_mm + half_kerf_mm - self.crater_mm())
        });
        beside_holes.chain(beside_lines).fold(in_outline, f64::min) - half_kerf_mm
    }
}
