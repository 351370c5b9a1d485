//! Which closed contour lies within which.

use super::Waited;
use super::measure::signed_area_mm2;
use super::trace::MEET_MM;
use crate::inside::{Bands, contains, inner_point};
use geometry::{Bounds, Curve, Point, Program};
use rstar::{AABB, RTree, primitives::GeomWithData, primitives::Rectangle};
use std::collections::BTreeMap;

/// A closed contour, as nesting needs it.
pub(crate) struct Ring<'a> {
    curves: &'a [Curve<Program>],
    bounds: Bounds<Program>,
    bands: Bands,
    area_mm2: f64,
}

impl<'a> Ring<'a> {
    /// The ring of closed `curves`, which are not empty.
    pub(crate) fn new(curves: &'a [Curve<Program>]) -> Self {
        let bounds = curves.iter().map(Curve::bounds).reduce(Bounds::union);
        let bounds = bounds.unwrap_or(Bounds { min: Point::ORIGIN, max: Point::ORIGIN });
        Self { curves, bounds, bands: Bands::new(curves), area_mm2: signed_area_mm2(curves).abs() }
    }

    pub(crate) fn contains(&self, p: Point<Program>) -> bool {
        self.bounds.contains(p) && contains(self.curves, &self.bands, p)
    }

    /// Distance from `p` to the ring, in millimetres.
    pub(crate) fn distance_mm(&self, p: Point<Program>) -> f64 {
        self.curves.iter().map(|curve| curve.nearest(p).distance_mm).fold(f64::INFINITY, f64::min)
    }

    fn length_mm(&self) -> f64 {
        self.curves.iter().map(Curve::length_mm).sum()
    }
}

type Boxes = RTree<GeomWithData<Rectangle<[f64; 2]>, usize>>;

/// Rings, and which lies within which.
pub(crate) struct Nest<'a> {
    pub(crate) rings: Vec<Ring<'a>>,
    boxes: Boxes,
    /// For each ring the smallest one that contains it; never a repeat.
    pub(crate) within: Vec<Option<usize>>,
    /// For each ring the first one that runs along the same line all the way.
    pub(crate) repeats: Vec<Option<usize>>,
}

impl<'a> Nest<'a> {
    /// Nests `rings`, which do not cross each other; they may touch, share edges or repeat each other. In n log n
    /// where the boxes around rings overlap as little as those of parts on a plate do. None if it was called off.
    pub(crate) fn new(rings: Vec<Ring<'a>>, waited: Waited<'_>) -> Option<Self> {
        let count = rings.len();
        let mut nest =
            Self { rings, boxes: RTree::new(), within: vec![None; count], repeats: vec![None; count] };
        let alike = nest.alike();
        let boxes = (0..count).filter(|k| alike[*k].is_none()).map(|k| {
            let Bounds { min, max } = nest.rings[k].bounds;
            GeomWithData::new(Rectangle::from_corners([min.x, min.y], [max.x, max.y]), k)
        });
        nest.boxes = RTree::bulk_load(boxes.collect());
        for k in (0..count).filter(|k| alike[*k].is_none()) {
            waited.tell(k, count, "contours laid in each other")?;
            nest.place(k);
        }
        for (k, first) in alike.iter().enumerate() {
            if let Some(first) = first {
                (nest.within[k], nest.repeats[k]) = (nest.within[*first], Some(nest.first_of(*first)));
            }
        }
        for k in 0..count {
            nest.within[k] = nest.within[k].map(|around| nest.first_of(around));
        }
        Some(nest)
    }

    /// For each ring an earlier one with exactly the same box and area that runs along the same line. A subprogram
    /// called thousands of times without moving makes such; each is set aside at once.
    fn alike(&self) -> Vec<Option<usize>> {
        let mut firsts: BTreeMap<[u64; 5], usize> = BTreeMap::new();
        let find = |(k, ring): (usize, &Ring<'_>)| {
            let Bounds { min, max } = ring.bounds;
            let first =
                *firsts.entry([min.x, min.y, max.x, max.y, ring.area_mm2].map(f64::to_bits)).or_insert(k);
            (first != k && self.same_line(k, first)).then_some(first)
        };
        self.rings.iter().enumerate().map(find).collect()
    }

    /// The smallest ring around `p` for which `counts` holds; never a repeat.
    pub(crate) fn smallest_around(&self, p: Point<Program>, counts: impl Fn(usize) -> bool) -> Option<usize> {
        let smallest = self.boxes_at(p).filter(|k| counts(*k) && self.rings[*k].contains(p));
        smallest.min_by(|a, b| self.size(*a).total_cmp(&self.size(*b))).map(|k| self.first_of(k))
    }

    /// How many rings lie around ring `k`.
    pub(crate) fn depth(&self, k: usize) -> u32 {
        std::iter::successors(self.within[k], |around| self.within[*around]).map(|_| 1).sum()
    }

    /// Ring `k`, or the one it repeats.
    pub(crate) fn first_of(&self, k: usize) -> usize {
        self.repeats[k].unwrap_or(k)
    }

    fn size(&self, k: usize) -> f64 {
        self.rings[k].area_mm2
    }

    fn boxes_at(&self, p: Point<Program>) -> impl Iterator<Item = usize> + '_ {
        self.boxes.locate_in_envelope_intersecting(AABB::from_point([p.x, p.y])).map(|boxed| boxed.data)
    }

    fn place(&mut self, k: usize) {
        let ring = &self.rings[k];
        let p = inner_point(ring.curves, &ring.bands);
        let mut same: Option<usize> = None;
        let mut around: Option<usize> = None;
        for other in self.boxes_at(p).filter(|other| *other != k) {
            if self.same_line(k, other) {
                same = Some(same.map_or(other, |same| same.min(other)));
            } else if self.size(other) > ring.area_mm2 && self.rings[other].contains(p) {
                let smaller =
                    around.is_none_or(|around| (self.size(other), other) < (self.size(around), around));
                around = if smaller { Some(other) } else { around };
            }
        }
        self.within[k] = around;
        self.repeats[k] = same.filter(|same| *same < k);
    }

    /// Whether two rings run along the same line all the way round, within the tolerance of meeting.
    fn same_line(&self, k: usize, other: usize) -> bool {
        let (a, b) = (&self.rings[k], &self.rings[other]);
        let near = |p: Point<Program>, q: Point<Program>| p.distance(q) <= 2.0 * MEET_MM;
        near(a.bounds.min, b.bounds.min)
            && near(a.bounds.max, b.bounds.max)
            && (a.area_mm2 - b.area_mm2).abs() <= a.length_mm() * MEET_MM
            && samples(a.curves).all(|p| b.distance_mm(p) <= MEET_MM)
            && samples(b.curves).all(|p| a.distance_mm(p) <= MEET_MM)
    }
}

/// Some places along a ring: the ends and middles of at most so many curves, evenly spread.
fn samples(curves: &[Curve<Program>]) -> impl Iterator<Item = Point<Program>> + '_ {
    const SAMPLES: usize = 24;
    let step = curves.len().div_ceil(SAMPLES).max(1);
    curves.iter().step_by(step).flat_map(|curve| [curve.from(), curve.point_at(curve.length_mm() / 2.0)])
}
