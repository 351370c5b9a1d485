//! A closed path: which way round, how large, and whether a point lies inside.

use crate::{Curve, Frame, Path, Point};

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

    /// Its boundary, beginning and ending at the same point.
    #[must_use]
    pub fn path(&self) -> &Path<F> {
        &self.path
    }

    /// Area enclosed in square millimetres, arcs exact; positive if it runs counter-clockwise.
    #[must_use]
    pub fn signed_area_mm2(&self) -> f64 {
        todo!("geometry")
    }

    /// Whether it runs counter-clockwise.
    #[must_use]
    pub fn is_ccw(&self) -> bool {
        self.signed_area_mm2() > 0.0
    }

    /// On which side `p` lies; on the boundary if within `tolerance_mm` of it. Arcs are exact.
    #[must_use]
    pub fn side_of(&self, p: Point<F>, tolerance_mm: f64) -> Side {
        let _ = (p, tolerance_mm);
        todo!("geometry")
    }

    /// A point well inside: as far from the boundary as a coarse search finds.
    #[must_use]
    pub fn inner_point(&self) -> Point<F> {
        todo!("geometry")
    }
}
