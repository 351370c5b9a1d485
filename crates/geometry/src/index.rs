//! A spatial index over curves, each with a tag of its owner's choosing.

use crate::{Bounds, Curve, Frame, Nearest, Point, Segment, Vector};
use rstar::{AABB, PointDistance, RTree, RTreeObject, SelectionFunction};
use std::ops::Range;

/// A curve found by the index, with its tag.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hit<F, T> {
    /// The tag it was stored with.
    pub tag: T,
    /// The curve.
    pub curve: Curve<F>,
    /// Distance along the curve of the point nearest to what was asked for, in millimetres.
    pub along_mm: f64,
    /// Distance from what was asked for, in millimetres.
    pub distance_mm: f64,
    /// The point of the stored curve nearest to what was asked for.
    pub point: Point<F>,
}

/// Curves in a tree by their bounding boxes, short ones that follow each other in one box. Distances are exact, arcs
/// included. Answers come in the order in which the curves were loaded.
#[derive(Debug)]
pub struct CurveIndex<F, T> {
    entries: Vec<(Curve<F>, T)>,
    tree: RTree<Leaf>,
}

/// Longest piece of a curve with a box of its own, in millimetres. Shorter pieces make tighter boxes around slanting
/// lines and large arcs, and more of them; contours of parts are mostly made of curves shorter than this.
const PIECE_MM_MAX: f64 = 250.0;

/// Most pieces of one curve, so that a coordinate far off the table costs no memory.
const PIECES_MAX: u8 = 64;

/// Largest side of a box around several curves, in millimetres. Larger boxes make the tree smaller and quicker to
/// load, and every question look at more curves in vain; 25 mm is as far as most questions reach anyway.
const RUN_MM_MAX: f64 = 25.0;

/// Most curves in one box.
const RUN_MAX: usize = 16;

impl<F: Frame, T: Copy> CurveIndex<F, T> {
    /// Loads `curves` in one go, in n log n.
    ///
    /// # Panics
    /// If there are more than 2³² curves.
    #[must_use]
    pub fn new(curves: Vec<(Curve<F>, T)>) -> Self {
        assert!(u32::try_from(curves.len()).is_ok(), "an index holds fewer than 2^32 curves");
        Self { tree: RTree::bulk_load(leaves(&curves)), entries: curves }
    }

    /// How many curves it holds.
    #[must_use]
    pub fn len(&self) -> usize {
        self.entries.len()
    }

    /// Whether it holds none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.entries.is_empty()
    }

    /// All curves within `radius_mm` of `p`.
    pub fn near_point(&self, p: Point<F>, radius_mm: f64) -> impl Iterator<Item = Hit<F, T>> + '_ {
        let around = Bounds { min: p, max: p }.grown(radius_mm);
        self.in_reach(&Reach::of_box(around)).filter_map(move |(curve, tag)| {
            let near = curve.nearest(p);
            (near.distance_mm <= radius_mm).then(|| Hit::new(*curve, tag, near))
        })
    }

    /// All curves within `radius_mm` of `curve`; a crossing has distance 0.
    pub fn near_curve(&self, curve: &Curve<F>, radius_mm: f64) -> impl Iterator<Item = Hit<F, T>> + '_ {
        let asked = *curve;
        self.in_reach(&Reach::of_curve(curve, radius_mm)).filter_map(move |(curve, tag)| {
            let near = curve.distance_to(&asked);
            (near.distance_mm <= radius_mm).then(|| Hit::new(*curve, tag, near))
        })
    }

    /// All curves of which a part may lie in `bounds`: those whose box meets it, long ones by boxes around their
    /// pieces.
    pub fn in_bounds(&self, bounds: Bounds<F>) -> impl Iterator<Item = (Curve<F>, T)> + '_ {
        self.in_reach(&Reach::of_box(bounds)).map(|(curve, tag)| (*curve, tag))
    }

    /// The curve nearest to `p` among those for which `keep` holds; none if there is none. Of equally near curves it
    /// is the one loaded first.
    pub fn nearest(&self, p: Point<F>, keep: impl Fn(T) -> bool) -> Option<Hit<F, T>> {
        let mut best: Option<(u32, Hit<F, T>)> = None;
        for (leaf, box_distance_2) in self.tree.nearest_neighbor_iter_with_distance_2([p.x, p.y]) {
            if best.is_some_and(|(_, hit)| box_distance_2.sqrt() > hit.distance_mm) {
                break;
            }
            for entry in leaf.run.clone() {
                let (curve, tag) = self.entries[entry as usize];
                if !keep(tag) {
                    continue;
                }
                let hit = Hit::new(curve, tag, curve.nearest(p));
                let better = |(known, seen): (u32, Hit<F, T>)| {
                    hit.distance_mm.total_cmp(&seen.distance_mm).then(entry.cmp(&known)).is_lt()
                };
                if best.is_none_or(better) {
                    best = Some((entry, hit));
                }
            }
        }
        best.map(|(_, hit)| hit)
    }

    /// Curves of which some piece's box is in reach, each once, in the order of loading.
    fn in_reach<'a>(&'a self, reach: &Reach<F>) -> impl Iterator<Item = (&'a Curve<F>, T)> + use<'a, F, T> {
        let mut entries: Vec<u32> = Vec::new();
        for leaf in self.tree.locate_with_selection_function(reach) {
            let alone = leaf.run.len() == 1;
            let met = |entry: &u32| alone || reach.holds(&envelope(self.entries[*entry as usize].0.bounds()));
            entries.extend(leaf.run.clone().filter(met));
        }
        entries.sort_unstable();
        entries.dedup();
        entries.into_iter().map(|entry| {
            let (curve, tag) = &self.entries[entry as usize];
            (curve, *tag)
        })
    }
}

impl<F: Frame, T> Hit<F, T> {
    fn new(curve: Curve<F>, tag: T, near: Nearest<F>) -> Self {
        Self { tag, curve, along_mm: near.along_mm, distance_mm: near.distance_mm, point: near.point }
    }
}

/// A box in the tree: around some short curves that follow each other, or around a piece of a long one.
#[derive(Clone, Debug)]
struct Leaf {
    envelope: AABB<[f64; 2]>,
    /// Which curves.
    run: Range<u32>,
}

/// The leaves of the tree over `curves`.
fn leaves<F: Frame, T>(curves: &[(Curve<F>, T)]) -> Vec<Leaf> {
    let mut leaves = Vec::with_capacity(curves.len() / 4);
    let mut run: Option<(Range<u32>, Bounds<F>)> = None;
    for ((curve, _), entry) in curves.iter().zip(0u32..=u32::MAX) {
        let bounds = curve.bounds();
        let joined = run.as_ref().map(|(run, around)| (run.start..entry + 1, around.union(bounds)));
        match joined.filter(|(run, around)| run.len() <= RUN_MAX && is_small(around)) {
            Some(joined) => run = Some(joined),
            None => {
                leaves.extend(run.take().map(|(run, around)| Leaf { envelope: envelope(around), run }));
                if is_small(&bounds) {
                    run = Some((entry..entry + 1, bounds));
                } else {
                    let piece =
                        |piece: Curve<F>| Leaf { envelope: envelope(piece.bounds()), run: entry..entry + 1 };
                    leaves.extend(pieces(curve).map(piece));
                }
            }
        }
    }
    leaves.extend(run.map(|(run, around)| Leaf { envelope: envelope(around), run }));
    leaves
}

fn is_small<F: Frame>(bounds: &Bounds<F>) -> bool {
    (bounds.max.x - bounds.min.x).max(bounds.max.y - bounds.min.y) <= RUN_MM_MAX
}

impl RTreeObject for Leaf {
    type Envelope = AABB<[f64; 2]>;
    fn envelope(&self) -> Self::Envelope {
        self.envelope
    }
}

impl PointDistance for Leaf {
    /// Distance to the box, which is at most that to the curve.
    fn distance_2(&self, point: &[f64; 2]) -> f64 {
        rstar::Envelope::distance_2(&self.envelope, point)
    }
}

/// Which boxes may hold something near what was asked for.
struct Reach<F> {
    /// A box must meet one of these.
    boxes: Vec<Bounds<F>>,
    /// For a straight line, how far from it a box may lie: tighter than the boxes where it slants.
    line: Option<(Segment<F>, Vector<F>, f64)>,
}

impl<F: Frame> Reach<F> {
    fn of_box(bounds: Bounds<F>) -> Self {
        Self { boxes: vec![bounds], line: None }
    }

    fn of_curve(curve: &Curve<F>, radius_mm: f64) -> Self {
        match curve {
            Curve::Segment(segment) => Self {
                boxes: vec![curve.bounds().grown(radius_mm)],
                line: (segment.to - segment.from).unit().map(|along| (*segment, along.left(), radius_mm)),
            },
            Curve::Arc(_) => Self {
                boxes: pieces(curve).map(|piece| piece.bounds().grown(radius_mm)).collect(),
                line: None,
            },
        }
    }

    fn holds(&self, envelope: &AABB<[f64; 2]>) -> bool {
        let ([min_x, min_y], [max_x, max_y]) = (envelope.lower(), envelope.upper());
        let bounds = Bounds { min: Point::new(min_x, min_y), max: Point::new(max_x, max_y) };
        self.boxes.iter().any(|part| part.meets(&bounds))
            && self.line.is_none_or(|(segment, normal, radius_mm)| {
                let center = bounds.min.lerp(bounds.max, 0.5);
                let half = (bounds.max - bounds.min) * 0.5;
                let box_reach = half.x * normal.x.abs() + half.y * normal.y.abs();
                (center - segment.from).dot(normal).abs() <= box_reach + radius_mm + crate::TOUCH_MM
            })
    }
}

impl<F: Frame> SelectionFunction<Leaf> for &Reach<F> {
    fn should_unpack_parent(&self, envelope: &AABB<[f64; 2]>) -> bool {
        self.holds(envelope)
    }

    fn should_unpack_leaf(&self, leaf: &Leaf) -> bool {
        self.holds(&leaf.envelope)
    }
}

/// The curve in equal pieces short enough for tight boxes.
fn pieces<F: Frame>(curve: &Curve<F>) -> impl Iterator<Item = Curve<F>> {
    let length = curve.length_mm();
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to 1..=PIECES_MAX")]
    let count = (length / PIECE_MM_MAX).ceil().clamp(1.0, f64::from(PIECES_MAX)) as u8;
    let curve = *curve;
    (0..count).map(move |k| {
        if count == 1 {
            curve
        } else {
            curve
                .piece(length * f64::from(k) / f64::from(count), length * f64::from(k + 1) / f64::from(count))
        }
    })
}

fn envelope<F: Frame>(bounds: Bounds<F>) -> AABB<[f64; 2]> {
    AABB::from_corners([bounds.min.x, bounds.min.y], [bounds.max.x, bounds.max.y])
}
