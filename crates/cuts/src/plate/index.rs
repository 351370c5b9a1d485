//! All cuts and contours of a plate by place, and the questions about a place that a plate's state answers with them.

use super::progress::Depth;
use super::state::PlateState;
use crate::inside::{Bands, contains};
use crate::{Contour, ContourId, CutId, CutList, Shape};
use geometry::{Bounds, Curve, CurveIndex, Hit, Point, Program, SAME_POINT_MM};
use rstar::{AABB, RTree, primitives::GeomWithData, primitives::Rectangle};
use std::ops::Range;
use units::{Duration, Length};

/// What lies under a place of the plate.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ground {
    /// Plate that the skeleton holds.
    Metal,
    /// A kerf (through or a groove) or crater of this cut. Marks do not count.
    Kerf(CutId),
    /// A loose piece, by its outer contour: it may have fallen, may lie there, may stand.
    Loose(ContourId),
    /// Nothing: the operator said that this piece is gone.
    Void(ContourId),
    /// Beyond the plate's outline, or in one of its holes.
    OutsidePlate,
}

/// A kerf near a place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NearKerf {
    /// The cut it belongs to.
    pub cut: CutId,
    /// Number of the curve of its centre line in the cut's path.
    pub curve_number: u32,
    /// That curve.
    pub curve: Curve<Program>,
    /// Nearest place that has been made, in millimetres along the cut's path.
    pub along_mm: f64,
    /// That place.
    pub at: Point<Program>,
    /// Distance from the place asked about to the centre line.
    pub to_center: Length,
    /// Distance to the kerf's edge: negative inside the kerf.
    pub to_edge: Length,
    /// How deep it is there.
    pub depth: Depth,
}

/// Every curve of every cut in one index, so that the state at any time is a filter on the same index; every closed
/// contour and every pierce by its box.
#[derive(Debug)]
pub struct PlateIndex {
    /// The index. Tag: the cut and the curve's number in its path.
    pub curves: CurveIndex<Program, (CutId, u32)>,
    contours: RTree<GeomWithData<Rectangle<[f64; 2]>, ContourId>>,
    pierces: RTree<GeomWithData<[f64; 2], CutId>>,
    /// For each contour.
    bands: Vec<Bands>,
    plate: Option<(geometry::Contour<Program>, Vec<geometry::Contour<Program>>)>,
}

impl PlateIndex {
    /// Indexes all cuts and contours of `list`.
    #[must_use]
    pub fn new(list: &CutList) -> Self {
        let curves = list
            .cuts
            .iter()
            .flat_map(|cut| (0..).zip(cut.path.curves()).map(|(k, curve)| (*curve, (cut.id, k))));
        let pierces =
            list.cuts.iter().map(|cut| GeomWithData::new([cut.pierce.at.x, cut.pierce.at.y], cut.id));
        let rings = list.contours.iter().filter(|contour| parts_metal(contour));
        let boxed =
            rings.filter_map(|contour| Some(GeomWithData::new(rectangle(bounds(contour)?), contour.id)));
        let bands = list.contours.iter().map(|contour| match &contour.closed {
            Some(closed) if parts_metal(contour) => Bands::new(closed.path().curves()),
            _ => Bands::default(),
        });
        Self {
            curves: CurveIndex::new(curves.collect()),
            contours: RTree::bulk_load(boxed.collect()),
            pierces: RTree::bulk_load(pierces.collect()),
            bands: bands.collect(),
            plate: None,
        }
    }

    /// Knows the plate's outline and its holes, too, so that [`Ground::OutsidePlate`] can be told.
    #[must_use]
    pub fn on_plate(
        self,
        outline: geometry::Contour<Program>,
        holes: Vec<geometry::Contour<Program>>,
    ) -> Self {
        Self { plate: Some((outline, holes)), ..self }
    }

    /// The closed contours that contain `p`, the innermost first. Marks and repeats are left out.
    #[must_use]
    pub fn around(&self, list: &CutList, p: Point<Program>) -> Vec<ContourId> {
        let boxed = self.contours.locate_in_envelope_intersecting(AABB::from_point([p.x, p.y]));
        let mut around: Vec<ContourId> =
            boxed.map(|boxed| boxed.data).filter(|id| self.contains(list, *id, p)).collect();
        around.sort_by_key(|id| (std::cmp::Reverse(list.contour(*id).depth), *id));
        around
    }

    /// Whether a closed contour contains `p`; either is right for a point on it.
    #[must_use]
    pub fn contains(&self, list: &CutList, id: ContourId, p: Point<Program>) -> bool {
        let closed = list.contour(id).closed.as_ref();
        closed.is_some_and(|closed| contains(closed.path().curves(), &self.bands[id.0 as usize], p))
    }

    /// Nominal times between which `cut`'s curve `k` is cut.
    ///
    /// # Panics
    /// If there is no such curve.
    #[must_use]
    pub fn time_of(&self, list: &CutList, cut: CutId, k: u32) -> Range<Duration> {
        list.cut(cut).time_of(k as usize)
    }

    /// Whether a disc lies on the plate, as far as its outline has been told.
    fn is_on_plate(&self, p: Point<Program>, radius: Length) -> bool {
        self.plate.as_ref().is_none_or(|(outline, holes)| {
            outline.depth_mm(p) >= radius.mm() && holes.iter().all(|hole| hole.depth_mm(p) <= -radius.mm())
        })
    }
}

/// Whether a contour is closed, cut through and no repeat of another.
fn parts_metal(contour: &Contour) -> bool {
    contour.closed.is_some() && contour.shape != Shape::Mark && contour.repeats.is_none()
}

fn bounds(contour: &Contour) -> Option<Bounds<Program>> {
    contour.closed.as_ref()?.path().bounds()
}

fn rectangle(bounds: Bounds<Program>) -> Rectangle<[f64; 2]> {
    Rectangle::from_corners([bounds.min.x, bounds.min.y], [bounds.max.x, bounds.max.y])
}

impl PlateState {
    /// What lies at `p` and around it. In this order: a kerf that `p` itself lies in; beyond the plate, if any of the
    /// disc of `radius` about `p` is; the loose or missing piece that `p` lies on; a kerf or crater that the disc
    /// reaches; else metal.
    ///
    /// Of pieces within each other the innermost counts that the operator has spoken of, else the innermost.
    #[must_use]
    pub fn ground_at(&self, list: &CutList, index: &PlateIndex, p: Point<Program>, radius: Length) -> Ground {
        let kerf = self.nearest_kerf(list, index, p, radius + self.kerf() * 0.5);
        if let Some(kerf) = kerf.filter(|kerf| kerf.to_edge <= Length::ZERO) {
            return Ground::Kerf(kerf.cut);
        }
        if !index.is_on_plate(p, radius) {
            return Ground::OutsidePlate;
        }
        if let Some(piece) = self.piece_under(list, index, p) {
            return piece;
        }
        let crater = || self.crater_within(list, index, p, radius);
        kerf.map(|kerf| kerf.cut).or_else(crater).map_or(Ground::Metal, Ground::Kerf)
    }

    fn piece_under(&self, list: &CutList, index: &PlateIndex, p: Point<Program>) -> Option<Ground> {
        if self.loose().is_empty() {
            return None;
        }
        let around = index.around(list, p);
        let pieces = || around.iter().filter_map(|id| self.piece(*id));
        let piece = pieces().find(|piece| piece.lies.is_some()).or_else(|| pieces().next())?;
        Some(if piece.is_gone() { Ground::Void(piece.outline) } else { Ground::Loose(piece.outline) })
    }

    fn crater_within(
        &self,
        list: &CutList,
        index: &PlateIndex,
        p: Point<Program>,
        radius: Length,
    ) -> Option<CutId> {
        let reach = (radius + self.crater()).mm();
        let near = index.pierces.locate_within_distance([p.x, p.y], reach * reach).map(|pierce| pierce.data);
        near.filter(|cut| !list.cut(*cut).is_mark && self.crater_of(list, *cut).is_some()).min()
    }

    /// The kerf (of any depth) whose centre line is nearest to `p`; none if none has been made within `radius` of it.
    /// Marks do not count.
    #[must_use]
    pub fn nearest_kerf(
        &self,
        list: &CutList,
        index: &PlateIndex,
        p: Point<Program>,
        radius: Length,
    ) -> Option<NearKerf> {
        let made = index.curves.near_point(p, radius.mm()).filter_map(|hit| self.made_near(list, &hit, p));
        let near = made.filter(|kerf| kerf.to_center <= radius);
        near.min_by(|a, b| a.to_center.mm().total_cmp(&b.to_center.mm()))
    }

    /// The nearest place of one curve that has been made.
    fn made_near(
        &self,
        list: &CutList,
        hit: &Hit<Program, (CutId, u32)>,
        p: Point<Program>,
    ) -> Option<NearKerf> {
        let (cut, number) = hit.tag;
        let of = list.cut(cut);
        if of.is_mark || self.is_dry(cut) {
            return None;
        }
        let (starts, ends) = (of.path.start_of_mm(number as usize), of.path.start_of_mm(number as usize + 1));
        let made =
            self.made_mm(cut, Depth::Groove).iter().filter(|made| made.end > starts && made.start < ends);
        let places = made.map(|made| {
            if made.start <= starts && ends <= made.end {
                let near = hit.curve.nearest(p);
                return (starts + near.along_mm, near.point, near.distance_mm);
            }
            let low = (made.start - starts).max(0.0);
            let near = hit.curve.piece(low, (made.end - starts).min(ends - starts)).nearest(p);
            (starts + low + near.along_mm, near.point, near.distance_mm)
        });
        let (along_mm, at, distance_mm) = places.min_by(|a, b| a.2.total_cmp(&b.2))?;
        let to_center = Length::from_mm(distance_mm);
        Some(NearKerf {
            cut,
            curve_number: number,
            curve: hit.curve,
            along_mm,
            at,
            to_center,
            to_edge: to_center - self.kerf() * 0.5,
            depth: self.depth_at(cut, along_mm).unwrap_or(Depth::Groove),
        })
    }

    /// The loose pieces that travel along `curve` passes over, or within `margin` of, by their outer contours, in the
    /// order in which they came loose. Pieces that are gone are left out.
    #[must_use]
    pub fn loose_under(
        &self,
        list: &CutList,
        index: &PlateIndex,
        curve: &Curve<Program>,
        margin: Length,
    ) -> Vec<ContourId> {
        if self.loose().is_empty() {
            return Vec::new();
        }
        let around = curve.bounds().grown(margin.mm());
        let corners = AABB::from_corners([around.min.x, around.min.y], [around.max.x, around.max.y]);
        let boxed = index.contours.locate_in_envelope_intersecting(corners).map(|boxed| boxed.data);
        let mut under: Vec<ContourId> = boxed
            .filter(|id| self.piece(*id).is_some_and(|piece| !piece.is_gone()))
            .filter(|id| self.passes_over(list, index, *id, curve, margin))
            .collect();
        under.sort_by_key(|id| self.order_of(*id));
        under
    }

    fn passes_over(
        &self,
        list: &CutList,
        index: &PlateIndex,
        id: ContourId,
        curve: &Curve<Program>,
        margin: Length,
    ) -> bool {
        let around = curve.bounds().grown(margin.mm());
        let touches = |edge: &Curve<Program>| {
            edge.bounds().meets(&around) && edge.distance_to(curve).distance_mm <= margin.mm() + SAME_POINT_MM
        };
        let edges = list.contour(id).closed.as_ref().map_or(&[][..], |closed| closed.path().curves());
        index.contains(list, id, curve.from()) || edges.iter().any(touches)
    }
}
