//! Areas: polygons with holes, made from strokes, contours, unions and differences. Used only where the answer is an
//! area or a picture; questions of distance go to the index.

use crate::{Contour, Frame, Path, Point};
use std::marker::PhantomData;

/// An area as polygons with holes, arcs flattened.
///
/// **Shape**: any number of outer rings, counter-clockwise, each followed by its holes, clockwise; may be empty.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Region<F> {
    shapes: Vec<Vec<Vec<[f64; 2]>>>,
    frame: PhantomData<F>,
}

impl<F: Frame> Region<F> {
    /// Everything within `width_mm / 2` of `path`, round caps and joins, flattened at `tolerance_mm`.
    #[must_use]
    pub fn stroke(path: &Path<F>, width_mm: f64, tolerance_mm: f64) -> Self {
        let _ = (path, width_mm, tolerance_mm);
        todo!("geometry")
    }

    /// The inside of `contour`, flattened at `tolerance_mm`.
    #[must_use]
    pub fn inside(contour: &Contour<F>, tolerance_mm: f64) -> Self {
        let _ = (contour, tolerance_mm);
        todo!("geometry")
    }

    /// The union of many regions in one operation.
    #[must_use]
    pub fn union(regions: impl IntoIterator<Item = Self>) -> Self {
        let _ = regions;
        todo!("geometry")
    }

    /// What of it is not in `other`.
    #[must_use]
    pub fn difference(&self, other: &Self) -> Self {
        let _ = other;
        todo!("geometry")
    }

    /// What of it is in `other`.
    #[must_use]
    pub fn intersection(&self, other: &Self) -> Self {
        let _ = other;
        todo!("geometry")
    }

    /// Grown by `by_mm` with round corners (shrunk if negative), flattened at `tolerance_mm`.
    #[must_use]
    pub fn offset(&self, by_mm: f64, tolerance_mm: f64) -> Self {
        let _ = (by_mm, tolerance_mm);
        todo!("geometry")
    }

    /// Its area in square millimetres, not negative.
    #[must_use]
    pub fn area_mm2(&self) -> f64 {
        todo!("geometry")
    }

    /// Whether `p` lies in it.
    #[must_use]
    pub fn contains(&self, p: Point<F>) -> bool {
        let _ = p;
        todo!("geometry")
    }

    /// Its separate pieces, each an outer ring and its holes.
    #[must_use]
    pub fn pieces(&self) -> Vec<Self> {
        todo!("geometry")
    }

    /// Its rings, outer rings first followed by their holes, as points without a repeated last one.
    pub fn rings(&self) -> impl Iterator<Item = impl Iterator<Item = Point<F>> + '_> + '_ {
        self.shapes.iter().flatten().map(|ring| ring.iter().map(|[x, y]| Point::new(*x, *y)))
    }
}
