//! What a part must keep off, and how far any place of the plate is from it.

use super::room::Room;
use geometry::{Arc, Bounds, Contour, Curve, CurveIndex, Path, Placement, Point, Program, Side};
use rstar::{AABB, RTree, primitives::GeomWithData, primitives::Rectangle};

/// What a part must keep off, program coordinates.
#[derive(Debug)]
pub struct Obstacles {
    /// Where the part may lie: within the plate's outline.
    plate: Contour<Program>,
    /// What the torch can reach, as the control shows it; its edge may be touched.
    reach: Option<Bounds<Program>>,
    /// From the plate to what the control shows.
    lies: Placement<Program, Program>,
    /// At most how much room there is, by what lay there from the beginning.
    room: Room,
    /// What lay there from the beginning; indexed once.
    base: Layer,
    /// What has been placed since.
    placed: Layer,
    placed_voids: Vec<Contour<Program>>,
    placed_lines: Vec<Path<Program>>,
}

/// Some of what is to be kept off, indexed.
#[derive(Debug, Default)]
struct Layer {
    /// Edges of the areas and centre lines; none if there is nothing.
    curves: Option<CurveIndex<Program, ()>>,
    /// One point of each, to see whether one lies wholly within a part.
    marks: Option<CurveIndex<Program, ()>>,
    voids: Vec<Contour<Program>>,
    boxes: RTree<GeomWithData<Rectangle<[f64; 2]>, usize>>,
}

impl Obstacles {
    /// Collects what to keep off: `plate` the outline, `voids` closed areas on which nothing can be placed (holes of a
    /// remnant, parts, loose and gone pieces, clamps), `lines` centre lines of cuts made or still to be made.
    #[must_use]
    pub fn new(plate: Contour<Program>, voids: Vec<Contour<Program>>, lines: &[&Path<Program>]) -> Self {
        let edge = [plate.path().clone()];
        let all = lines.iter().copied().chain(&edge).chain(voids.iter().map(Contour::path));
        Self {
            room: Room::of(plate.bounds(), all.flat_map(Path::curves)),
            base: Layer::of(voids, lines.iter().copied().chain(&edge)),
            plate,
            reach: None,
            lies: Placement::IDENTITY,
            placed: Layer::default(),
            placed_voids: Vec::new(),
            placed_lines: Vec::new(),
        }
    }

    /// The same, and the torch reaches only so far.
    #[must_use]
    pub fn within(self, reach: Option<Bounds<Program>>) -> Self {
        Self { reach, ..self }
    }

    /// The same on a plate that moved: `lies` carries its places to what the control shows, in which the reach counts.
    #[must_use]
    pub fn lying(self, lies: Placement<Program, Program>) -> Self {
        Self { lies, ..self }
    }

    /// Takes away everything that has been placed.
    pub fn clear_placed(&mut self) {
        (self.placed_voids, self.placed_lines) = (Vec::new(), Vec::new());
        self.placed = Layer::default();
    }

    /// Adds a part that has been placed: areas that it takes and lines that will be cut for it.
    pub fn add(
        &mut self,
        voids: impl IntoIterator<Item = Contour<Program>>,
        lines: impl IntoIterator<Item = Path<Program>>,
    ) {
        self.placed_voids.extend(voids);
        self.placed_lines.extend(lines);
        self.placed = Layer::of(self.placed_voids.clone(), &self.placed_lines);
    }

    /// The box around the plate.
    pub(super) fn bounds(&self) -> Bounds<Program> {
        self.plate.bounds()
    }

    /// Distance from `p` to the nearest obstacle in millimetres, negative where no part can lie.
    pub(super) fn clearance_mm(&self, p: Point<Program>) -> f64 {
        let distance = self.base.distance_mm(p).min(self.placed.distance_mm(p));
        let on_plate = self.plate.bounds().contains(p)
            && self.plate.side_of(p, 0.0) != Side::Outside
            && !self.base.is_within(p)
            && !self.placed.is_within(p);
        if on_plate { distance } else { -distance }
    }

    /// No place within `within_mm` of `p` has more clearance than this, in millimetres; quickly told.
    pub(super) fn room_mm(&self, p: Point<Program>, within_mm: f64) -> f64 {
        self.room.at_most_mm(p, within_mm)
    }

    /// How far `p` lies within what the torch can reach, in millimetres; infinite if nobody has told.
    pub(super) fn reach_mm(&self, p: Point<Program>) -> f64 {
        self.reach.map_or(f64::INFINITY, |reach| {
            let p = self.lies.point(p);
            (p.x - reach.min.x).min(reach.max.x - p.x).min(p.y - reach.min.y).min(reach.max.y - p.y)
        })
    }

    /// One point of every obstacle that has one in the box.
    pub(super) fn marks_in(&self, bounds: Bounds<Program>) -> impl Iterator<Item = Point<Program>> + '_ {
        let layers = [&self.base, &self.placed].into_iter().filter_map(|layer| layer.marks.as_ref());
        layers.flat_map(move |marks| marks.in_bounds(bounds)).map(|(dot, ())| dot.from())
    }
}

impl Layer {
    fn of<'p>(voids: Vec<Contour<Program>>, lines: impl IntoIterator<Item = &'p Path<Program>>) -> Self {
        let mut curves: Vec<(Curve<Program>, ())> = Vec::new();
        let mut marks = Vec::new();
        let mut add = |path: &Path<Program>| {
            curves.extend(path.curves().iter().map(|curve| (*curve, ())));
            marks.extend(path.from().map(|p| (Curve::line(p, p), ())));
        };
        lines.into_iter().for_each(&mut add);
        voids.iter().for_each(|void| add(void.path()));
        let boxed = voids.iter().enumerate().map(|(k, void)| {
            let Bounds { min, max } = void.bounds();
            GeomWithData::new(Rectangle::from_corners([min.x, min.y], [max.x, max.y]), k)
        });
        Self {
            boxes: RTree::bulk_load(boxed.collect()),
            curves: (!curves.is_empty()).then(|| CurveIndex::new(curves)),
            marks: (!marks.is_empty()).then(|| CurveIndex::new(marks)),
            voids,
        }
    }

    fn distance_mm(&self, p: Point<Program>) -> f64 {
        let hit = self.curves.as_ref().and_then(|curves| curves.nearest(p, |()| true));
        hit.map_or(f64::INFINITY, |hit| hit.distance_mm)
    }

    fn is_within(&self, p: Point<Program>) -> bool {
        let mut boxed = self.boxes.locate_in_envelope_intersecting(AABB::from_point([p.x, p.y]));
        boxed.any(|boxed| self.voids[boxed.data].side_of(p, 0.0) == Side::Inside)
    }
}

/// A round hole as an area.
pub(super) fn disc(middle: Point<Program>, radius_mm: f64) -> Option<Contour<Program>> {
    let right = middle + geometry::Vector::new(radius_mm, 0.0);
    let left = middle + geometry::Vector::new(-radius_mm, 0.0);
    let halves = [(right, left), (left, right)].map(|(a, b)| Curve::Arc(Arc::about(a, b, middle, true)));
    Contour::close(Path::new(halves.to_vec()))
}

/// A box as an area.
pub(super) fn rectangle(bounds: Bounds<Program>) -> Option<Contour<Program>> {
    let Bounds { min, max } = bounds;
    Contour::polygon(&[min, Point::new(max.x, min.y), max, Point::new(min.x, max.y)])
}
