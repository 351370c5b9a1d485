//! What of the plate is still held together: only there does a mark tell where the plate lies.

use cuts::{CutList, PlateIndex, PlateState};
use geometry::{Contour, Point, Program, Side};

/// A place this near to the plate's outline is one on it, in millimetres: as well as plates are told.
const ON_EDGE_MM: f64 = 1.0;

/// The plate as it stands, asked about its places.
#[derive(Clone, Copy, Debug)]
pub struct Metal<'a> {
    /// The cuts.
    pub list: &'a CutList,
    /// The cuts by place.
    pub index: &'a PlateIndex,
    /// What has been made.
    pub state: &'a PlateState,
    /// The plate's outline, if told.
    pub plate: Option<&'a Contour<Program>>,
    /// Holes that the plate had when it was laid on the table (a remnant's).
    pub holes: &'a [Contour<Program>],
}

impl Metal<'_> {
    /// Whether the place lies on no loose piece, in no hole of the plate and not beyond it. A piece that lies in its place need not have
    /// moved with the skeleton.
    #[must_use]
    pub fn is_held(&self, p: Point<Program>) -> bool {
        self.loose_cut(p).is_none()
            && self.holes.iter().all(|hole| hole.side_of(p, geometry::SAME_POINT_MM) != Side::Inside)
            && self.plate.is_none_or(|plate| plate.side_of(p, geometry::SAME_POINT_MM) != Side::Outside)
    }

    /// Number of the cut that freed what the place lies on; none if it is held.
    #[must_use]
    pub fn loose_cut(&self, p: Point<Program>) -> Option<u32> {
        if self.state.loose().is_empty() {
            return None;
        }
        let around = self.index.around(self.list, p);
        around.into_iter().find_map(|id| Some(self.state.piece(id)?.freed_by.number()))
    }

    /// Whether the place lies on the plate's outline or on the edge of a hole it had, and so tells of the plate, not of
    /// what was cut.
    #[must_use]
    pub fn is_on_edge(&self, p: Point<Program>) -> bool {
        let edges = self.plate.into_iter().chain(self.holes);
        edges.filter_map(|edge| edge.path().nearest(p)).any(|near| near.distance_mm <= ON_EDGE_MM)
    }

    /// Half the width of the kerf, in millimetres.
    #[must_use]
    pub fn half_kerf_mm(&self) -> f64 {
        self.state.kerf().mm() / 2.0
    }
}
