//! A closed path: which way round, how large, and whether a point lies inside.

use crate::{Arc, Bounds, Curve, Frame, Path, Point};
use std::cmp::Ordering;
use std::collections::BinaryHeap;
use std::f64::consts::FRAC_PI_2;

/// On which side of something a point lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Inside.
    Inside,
    /// Within the tolerance of the boundary.
    Boundary,
    /// Outside.
    Outside,
}

/// A closed path that does not cross itself.
///
/// **Shape**: at least one curve; ends where it begins, within [`crate::SAME_POINT_MM`]; either orientation.
#[derive(Clone, Debug, PartialEq)]
pub struct Contour<F> {
    path: Path<F>,
}

/// How near [`Contour::deepest_point`] comes to the deepest point, as a part of the contour's smaller extent: a label
/// set 2 % off looks no worse, and the search takes some dozens of steps.
const INNER_POINT_PRECISION: f64 = 0.02;

/// Cells [`Contour::deepest_point`] looks at before it is content with what it has: bounds the work on long thin
/// shapes, where many places are equally deep.
const INNER_POINT_CELLS_MAX: usize = 2_000;

impl<F: Frame> Contour<F> {
    /// The contour along `path`; a gap between its ends is closed by a straight line. None if the path is empty.
    #[must_use]
    pub fn close(path: Path<F>) -> Option<Self> {
        let (from, to) = (path.from()?, path.to()?);
        if from.distance(to) < crate::SAME_POINT_MM {
            return Some(Self { path });
        }
        let mut curves = path.curves().to_vec();
        curves.push(Curve::line(to, from));
        Some(Self { path: Path::new(curves) })
    }

    /// The contour through `corners` in order, closed by a straight line. None if there are fewer than two.
    #[must_use]
    pub fn polygon(corners: &[Point<F>]) -> Option<Self> {
        let lines = corners.windows(2).map(|ends| Curve::line(ends[0], ends[1]));
        Self::close(Path::new(lines.collect()))
    }

    /// Its boundary, beginning and ending at the same point.
    #[must_use]
    pub fn path(&self) -> &Path<F> {
        &self.path
    }

    /// The smallest box around it.
    #[must_use]
    pub fn bounds(&self) -> Bounds<F> {
        self.path.bounds().expect("a contour has at least one curve")
    }

    /// Area enclosed in square millimetres, arcs exact; positive if it runs counter-clockwise. Source: Green's
    /// theorem, half the integral of x dy - y dx, here about the contour's first point so that far-off coordinates
    /// lose no digits.
    #[must_use]
    pub fn signed_area_mm2(&self) -> f64 {
        let Some(origin) = self.path.from() else { return 0.0 };
        let twice: f64 = self
            .path
            .curves()
            .iter()
            .map(|curve| match curve {
                Curve::Segment(segment) => (segment.from - origin).cross(segment.to - origin),
                Curve::Arc(arc) => (arc.center - origin).cross(arc.to - arc.from) + twice_sector_mm2(arc),
            })
            .sum();
        twice / 2.0
    }

    /// Whether it runs counter-clockwise.
    #[must_use]
    pub fn is_ccw(&self) -> bool {
        self.signed_area_mm2() > 0.0
    }

    /// On which side `p` lies; on the boundary if within `tolerance_mm` of it. Arcs are exact.
    #[must_use]
    pub fn side_of(&self, p: Point<F>, tolerance_mm: f64) -> Side {
        let touches = |curve: &Curve<F>| {
            curve.bounds().grown(tolerance_mm).contains(p) && curve.nearest(p).distance_mm <= tolerance_mm
        };
        if self.path.curves().iter().any(touches) {
            Side::Boundary
        } else if self.winding(p) != 0 {
            Side::Inside
        } else {
            Side::Outside
        }
    }

    /// Distance from `p` to the boundary in millimetres, positive inside and negative outside.
    #[must_use]
    pub fn depth_mm(&self, p: Point<F>) -> f64 {
        let away = self.path.nearest(p).map_or(0.0, |near| near.distance_mm);
        if self.winding(p) != 0 { away } else { -away }
    }

    /// A point well inside: the middle of the largest circle that fits, as [`Self::deepest_point`] without holes.
    #[must_use]
    pub fn inner_point(&self) -> Point<F> {
        self.deepest_point(&[]).0
    }

    /// The middle of the largest circle that fits between the contour and its `holes`, within 2 % of the contour's
    /// smaller extent, and the circle's radius in millimetres. A contour that encloses nothing gives a point near its
    /// middle, and a radius that is not positive.
    ///
    /// **Accuracy**: best-first search in cells that are quartered while they may hold a deeper point; some dozens of
    /// distance queries, each in the number of curves.
    #[must_use]
    pub fn deepest_point(&self, holes: &[&Self]) -> (Point<F>, f64) {
        let depth = |p: Point<F>| holes.iter().map(|hole| -hole.depth_mm(p)).fold(self.depth_mm(p), f64::min);
        let bounds = self.bounds();
        let (width, height) = (bounds.max.x - bounds.min.x, bounds.max.y - bounds.min.y);
        let half = width.min(height).max(width.max(height) / 64.0) / 2.0;
        let mut best = Cell::new(bounds.min.lerp(bounds.max, 0.5), 0.0, depth);
        let mut cells: BinaryHeap<Cell<F>> = BinaryHeap::new();
        let (columns, rows) = (cell_count(width, half), cell_count(height, half));
        for (column, row) in (0..columns).flat_map(|column| (0..rows).map(move |row| (column, row))) {
            let x = bounds.min.x + half * (2.0 * f64::from(column) + 1.0);
            let y = bounds.min.y + half * (2.0 * f64::from(row) + 1.0);
            cells.push(Cell::new(Point::new(x, y), half, depth));
        }
        let mut looked_at = cells.len();
        let precision_mm = 2.0 * half * INNER_POINT_PRECISION;
        while let Some(cell) = cells.pop() {
            if cell.depth_mm > best.depth_mm {
                best = cell;
            }
            if cell.depth_mm_max() <= best.depth_mm + precision_mm || looked_at >= INNER_POINT_CELLS_MAX {
                break;
            }
            for (dx, dy) in [(-0.5, -0.5), (0.5, -0.5), (-0.5, 0.5), (0.5, 0.5)] {
                let center = Point::new(cell.center.x + dx * cell.half_mm, cell.center.y + dy * cell.half_mm);
                cells.push(Cell::new(center, cell.half_mm / 2.0, depth));
                looked_at += 1;
            }
        }
        (best.center, best.depth_mm)
    }

    /// How many times it runs round `p`, counter-clockwise counted positive; 0 outside. For `p` on the boundary it is
    /// that of one side or the other.
    ///
    /// Each arc is cut into pieces of at most a quarter turn. The chords make a polygon, whose winding number counts
    /// edges that cross the level of `p` half-open in Y, so that corners level with `p` count once; each piece then
    /// adds what lies between its chord and itself. Which side of a chord `p` lies on is worked out once for both, so
    /// the two can never disagree, however `p` lies to corners and to the arcs' extremes.
    fn winding(&self, p: Point<F>) -> i32 {
        let mut winding = 0;
        let mut edge = |from: Point<F>, to: Point<F>| {
            let left = is_left_of(p, from, to);
            if from.y <= p.y && p.y < to.y && left {
                winding += 1;
            } else if to.y <= p.y && p.y < from.y && !left {
                winding -= 1;
            }
        };
        let mut between_chords_and_arcs = 0;
        let mut begun_at = self.path.to();
        for curve in self.path.curves() {
            // A gap in the path, if any, is part of the polygon too, else a ray could slip through it.
            if let Some(end) = begun_at {
                edge(end, curve.from());
            }
            begun_at = Some(curve.to());
            match curve {
                Curve::Segment(segment) => edge(segment.from, segment.to),
                Curve::Arc(arc) => {
                    for piece in quarter_pieces(arc) {
                        edge(piece.from, piece.to);
                        between_chords_and_arcs += winding_of_bulge(&piece, p);
                    }
                }
            }
        }
        winding + between_chords_and_arcs
    }
}

/// Twice the area that the radius sweeps over, in square millimetres, signed like the sweep: the integral of the
/// squared radius over the angle, the radius running linearly between its ends.
fn twice_sector_mm2<F: Frame>(arc: &Arc<F>) -> f64 {
    let (a, b) = (arc.center.distance(arc.from), arc.center.distance(arc.to));
    arc.sweep_rad * (a * a + a * b + b * b) / 3.0
}

/// Whether `p` lies left of the line from `from` to `to`. On the line, `p` counts as if moved a little to +X and, far
/// less, to +Y, which is what the half-open count of crossings in [`Contour::winding`] takes for granted.
fn is_left_of<F: Frame>(p: Point<F>, from: Point<F>, to: Point<F>) -> bool {
    let along = to - from;
    let cross = along.cross(p - from);
    if cross.abs() > 0.0 {
        cross > 0.0
    } else if along.y.abs() > 0.0 {
        along.y < 0.0
    } else {
        along.x > 0.0
    }
}

/// The arc in equal pieces of at most a quarter turn, each chord at least as long as rounding needs to know its
/// direction.
fn quarter_pieces<F: Frame>(arc: &Arc<F>) -> impl Iterator<Item = Arc<F>> {
    let count = if arc.sweep_rad.abs() <= FRAC_PI_2 { 1u8 } else { 5 };
    let length = arc.length_mm();
    let arc = *arc;
    (0..count).map(move |k| {
        if count == 1 {
            arc
        } else {
            arc.piece(length * f64::from(k) / f64::from(count), length * f64::from(k + 1) / f64::from(count))
        }
    })
}

/// What the winding number at `p` gains when the chord of `piece` is bent into the arc: ±1 if `p` lies between them.
/// Seen from the centre, `p` is between if it is inside the arc but not on the centre's side of the chord, or the
/// other way round where a badly rounded arc runs inside its own chord.
fn winding_of_bulge<F: Frame>(piece: &Arc<F>, p: Point<F>) -> i32 {
    let left = is_left_of(p, piece.from, piece.to);
    let inside_chord = if piece.is_ccw() { left } else { !left };
    let away = p.distance(piece.center);
    let (a, b) = (piece.center.distance(piece.from), piece.center.distance(piece.to));
    if (inside_chord && away < a.min(b)) || (!inside_chord && away > a.max(b)) {
        return 0;
    }
    let Some(fraction) = piece.fraction_towards(p) else { return 0 };
    let inside_arc = away < piece.radius_at_fraction(fraction);
    let gain = i32::from(inside_arc) - i32::from(inside_chord);
    if piece.is_ccw() { gain } else { -gain }
}

/// A square of the search in [`Contour::deepest_point`].
#[derive(Clone, Copy, Debug)]
struct Cell<F> {
    center: Point<F>,
    half_mm: f64,
    depth_mm: f64,
}

impl<F: Frame> Cell<F> {
    fn new(center: Point<F>, half_mm: f64, depth: impl Fn(Point<F>) -> f64) -> Self {
        Self { center, half_mm, depth_mm: depth(center) }
    }

    /// No point of the cell lies deeper than this, because depth changes by at most the way gone.
    fn depth_mm_max(&self) -> f64 {
        self.depth_mm + self.half_mm * std::f64::consts::SQRT_2
    }
}

impl<F: Frame> PartialEq for Cell<F> {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl<F: Frame> Eq for Cell<F> {}

impl<F: Frame> PartialOrd for Cell<F> {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl<F: Frame> Ord for Cell<F> {
    /// Most promising last; of equals the lower left one, so that the order never depends on the heap.
    fn cmp(&self, other: &Self) -> Ordering {
        self.depth_mm_max()
            .total_cmp(&other.depth_mm_max())
            .then_with(|| other.center.x.total_cmp(&self.center.x))
            .then_with(|| other.center.y.total_cmp(&self.center.y))
    }
}

/// How many cells of half-width `half_mm` cover `extent_mm`, at least one.
fn cell_count(extent_mm: f64, half_mm: f64) -> u8 {
    let count = if half_mm > 0.0 { (extent_mm / (2.0 * half_mm)).ceil() } else { 1.0 };
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to 1..=64")]
    {
        count.clamp(1.0, 64.0) as u8
    }
}
