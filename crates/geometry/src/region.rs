//! Areas: polygons with holes, made from strokes, contours, unions and differences. Used only where the answer is an
//! area or a picture; questions of distance go to the index.
//!
//! Overlays run on an integer grid, so that they are robust and the same everywhere; the grid is far below anything a
//! table can do ([`GRID_PER_MM`]).

use crate::outline::{Ring, stroke_rings};
use crate::{Bounds, Contour, Frame, Path, Point};
use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay::{IntOverlayOptions, Overlay, ShapeType};
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::i_float::int::point::IntPoint;
use std::marker::PhantomData;

/// An area as polygons with holes, arcs flattened.
///
/// **Shape**: any number of outer rings, counter-clockwise, each followed by its holes, clockwise; may be empty.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Region<F> {
    shapes: Vec<Vec<Ring>>,
    frame: PhantomData<F>,
}

/// Steps of the integer grid in a millimetre, a power of two so that coordinates go there and back unchanged. One
/// step is 2.3e-10 mm: areas of a plate are right to nine digits. Larger leaves less room for far coordinates.
const GRID_PER_MM: f64 = 4_294_967_296.0;

/// Coordinates beyond this are taken as this, in millimetres: 268 km, the room the grid leaves in 64 bits (with two
/// bits kept free, as the overlay asks).
const GRID_MM_MAX: f64 = 268_435_456.0;

/// Rings smaller than this are dropped, in square millimetres: what rounding leaves between edges that ought to
/// coincide. A real remnant of a micrometre square would be dropped too, and nobody would miss it.
const SLIVER_MM2: f64 = 1e-6;

impl<F: Frame> Region<F> {
    /// The region without any area.
    #[must_use]
    pub fn empty() -> Self {
        Self { shapes: Vec::new(), frame: PhantomData }
    }

    /// Everything within `width_mm / 2` of `path`, round caps and joins, flattened at `tolerance_mm`. A path without
    /// length gives a disc, an empty one nothing.
    #[must_use]
    pub fn stroke(path: &Path<F>, width_mm: f64, tolerance_mm: f64) -> Self {
        Self::strokes([path], width_mm, tolerance_mm)
    }

    /// Everything within `width_mm / 2` of any of `paths`, in one operation, as [`Self::stroke`].
    #[must_use]
    pub fn strokes<'a>(
        paths: impl IntoIterator<Item = &'a Path<F>>,
        width_mm: f64,
        tolerance_mm: f64,
    ) -> Self {
        let mut overlay = Plan::new();
        for path in paths {
            stroke_rings(path, width_mm / 2.0, tolerance_mm, |ring| overlay.add(&ring, ShapeType::Subject));
        }
        overlay.run(OverlayRule::Subject)
    }

    /// The inside of `contour`, flattened at `tolerance_mm`.
    #[must_use]
    pub fn inside(contour: &Contour<F>, tolerance_mm: f64) -> Self {
        let mut ring: Ring = contour.path().flatten(tolerance_mm).iter().map(|p| [p.x, p.y]).collect();
        if !contour.is_ccw() {
            ring.reverse();
        }
        let mut overlay = Plan::new();
        overlay.add(&ring, ShapeType::Subject);
        overlay.run(OverlayRule::Subject)
    }

    /// The union of many regions in one operation.
    #[must_use]
    pub fn union(regions: impl IntoIterator<Item = Self>) -> Self {
        let mut overlay = Plan::new();
        for region in regions {
            overlay.add_region(&region, ShapeType::Subject);
        }
        overlay.run(OverlayRule::Subject)
    }

    /// What of it is not in `other`.
    #[must_use]
    pub fn difference(&self, other: &Self) -> Self {
        self.overlaid(other, OverlayRule::Difference)
    }

    /// What of it is in `other`.
    #[must_use]
    pub fn intersection(&self, other: &Self) -> Self {
        self.overlaid(other, OverlayRule::Intersect)
    }

    /// Grown by `by_mm` with round corners (shrunk if negative), flattened at `tolerance_mm`: all points within
    /// `by_mm` of it, or all points of it farther than that from its edge.
    #[must_use]
    pub fn offset(&self, by_mm: f64, tolerance_mm: f64) -> Self {
        let mut overlay = Plan::new();
        overlay.add_region(self, ShapeType::Subject);
        let (edge, rule) = if by_mm >= 0.0 {
            (ShapeType::Subject, OverlayRule::Subject)
        } else {
            (ShapeType::Clip, OverlayRule::Difference)
        };
        for ring in self.shapes.iter().flatten() {
            let points: Vec<Point<F>> = ring.iter().map(|[x, y]| Point::new(*x, *y)).collect();
            if let Some(contour) = Contour::polygon(&points) {
                stroke_rings(contour.path(), by_mm.abs(), tolerance_mm, |ring| overlay.add(&ring, edge));
            }
        }
        overlay.run(rule)
    }

    /// Its area in square millimetres, not negative.
    #[must_use]
    pub fn area_mm2(&self) -> f64 {
        self.shapes.iter().flatten().map(|ring| signed_area_mm2(ring)).sum::<f64>().max(0.0)
    }

    /// Whether it has no area.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.shapes.is_empty()
    }

    /// The smallest box around it; none if it is empty.
    #[must_use]
    pub fn bounds(&self) -> Option<Bounds<F>> {
        Bounds::around(self.rings().flatten())
    }

    /// Whether `p` lies in it. On an edge it is in for one of the two regions that share the edge.
    #[must_use]
    pub fn contains(&self, p: Point<F>) -> bool {
        let crossings = self.shapes.iter().flatten().map(|ring| edges_right_of(ring, p)).sum::<usize>();
        crossings % 2 == 1
    }

    /// Its separate pieces, each an outer ring and its holes.
    #[must_use]
    pub fn pieces(&self) -> Vec<Self> {
        self.shapes.iter().map(|shape| Self { shapes: vec![shape.clone()], frame: PhantomData }).collect()
    }

    /// Its rings, outer rings first followed by their holes, as points without a repeated last one.
    pub fn rings(&self) -> impl Iterator<Item = impl Iterator<Item = Point<F>> + '_> + '_ {
        self.shapes.iter().flatten().map(|ring| ring.iter().map(|[x, y]| Point::new(*x, *y)))
    }

    fn overlaid(&self, other: &Self, rule: OverlayRule) -> Self {
        let mut overlay = Plan::new();
        overlay.add_region(self, ShapeType::Subject);
        overlay.add_region(other, ShapeType::Clip);
        overlay.run(rule)
    }
}

/// An overlay being filled. Every ring added to it must turn round its inside counter-clockwise at least once, so
/// that rings add up and "positive winding" is their union.
struct Plan {
    overlay: Overlay<i64>,
}

impl Plan {
    fn new() -> Self {
        let options =
            IntOverlayOptions { min_output_area: grid_area(SLIVER_MM2), ..IntOverlayOptions::default() };
        Self { overlay: Overlay::new_custom(0, options, i_overlay::core::solver::Solver::default()) }
    }

    fn add(&mut self, ring: &[[f64; 2]], role: ShapeType) {
        self.overlay.add_path_iter(ring.iter().map(|[x, y]| IntPoint::new(to_grid(*x), to_grid(*y))), role);
    }

    fn add_region<F>(&mut self, region: &Region<F>, role: ShapeType) {
        for ring in region.shapes.iter().flatten() {
            self.add(ring, role);
        }
    }

    fn run<F>(mut self, rule: OverlayRule) -> Region<F> {
        let shapes = self.overlay.overlay(rule, FillRule::Positive);
        let ring =
            |ring: Vec<IntPoint<i64>>| ring.into_iter().map(|p| [from_grid(p.x), from_grid(p.y)]).collect();
        let shapes = shapes.into_iter().map(|shape| shape.into_iter().map(ring).collect()).collect();
        Region { shapes, frame: PhantomData }
    }
}

fn to_grid(mm: f64) -> i64 {
    #[expect(clippy::cast_possible_truncation, reason = "clamped to what fits")]
    {
        (mm.clamp(-GRID_MM_MAX, GRID_MM_MAX) * GRID_PER_MM).round() as i64
    }
}

fn from_grid(steps: i64) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "grid coordinates of a table fit in 53 bits")]
    {
        steps as f64 / GRID_PER_MM
    }
}

fn grid_area(mm2: f64) -> u128 {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a small positive constant")]
    {
        (mm2 * GRID_PER_MM * GRID_PER_MM) as u128
    }
}

/// Shoelace formula about the ring's first point.
fn signed_area_mm2(ring: &[[f64; 2]]) -> f64 {
    let Some([x, y]) = ring.first() else { return 0.0 };
    let twice = ring.windows(2).map(|ends| {
        let ([ax, ay], [bx, by]) = (ends[0], ends[1]);
        (ax - x) * (by - y) - (bx - x) * (ay - y)
    });
    twice.sum::<f64>() / 2.0
}

/// How many edges of the ring a ray from `p` to +X crosses, edges half-open in Y.
fn edges_right_of<F: Frame>(ring: &[[f64; 2]], p: Point<F>) -> usize {
    let last = ring.last().copied();
    let begins = last.into_iter().chain(ring.iter().copied());
    begins
        .zip(ring)
        .filter(|([ax, ay], [bx, by])| {
            (*ay <= p.y) != (*by <= p.y) && {
                let x = ax + (bx - ax) * (p.y - ay) / (by - ay);
                p.x < x
            }
        })
        .count()
}
