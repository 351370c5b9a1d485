//! A straight segment, and the curve that is either a segment or an arc.

use crate::{Arc, Frame, Placement, Point, Vector};

/// A straight line from one point to another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Segment<F> {
    /// Where it begins.
    pub from: Point<F>,
    /// Where it ends.
    pub to: Point<F>,
}

/// A segment or an arc, run from its beginning to its end. Distances along it are millimetres of arc length `s`
/// in `0..=length`; values outside are clamped.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Curve<F> {
    /// A straight one.
    Segment(Segment<F>),
    /// A circular one.
    Arc(Arc<F>),
}

/// The point of a curve, path or index nearest to a given point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Nearest<F> {
    /// Distance along the curve or path, in millimetres.
    pub along_mm: f64,
    /// The point itself.
    pub point: Point<F>,
    /// How far it is from the given point, in millimetres.
    pub distance_mm: f64,
}

/// An axis-parallel box; `min <= max` in both axes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds<F> {
    /// Lower left corner.
    pub min: Point<F>,
    /// Upper right corner.
    pub max: Point<F>,
}

impl<F: Frame> Bounds<F> {
    /// The smallest box around `points`; none if there are none.
    pub fn around(points: impl IntoIterator<Item = Point<F>>) -> Option<Self> {
        let mut points = points.into_iter();
        let first = points.next()?;
        Some(points.fold(Self { min: first, max: first }, |b, p| Self {
            min: Point::new(b.min.x.min(p.x), b.min.y.min(p.y)),
            max: Point::new(b.max.x.max(p.x), b.max.y.max(p.y)),
        }))
    }

    /// The smallest box around both.
    #[must_use]
    pub fn union(self, other: Self) -> Self {
        Self {
            min: Point::new(self.min.x.min(other.min.x), self.min.y.min(other.min.y)),
            max: Point::new(self.max.x.max(other.max.x), self.max.y.max(other.max.y)),
        }
    }

    /// The box wider by `by_mm` on every side.
    #[must_use]
    pub fn grown(self, by_mm: f64) -> Self {
        Self {
            min: Point::new(self.min.x - by_mm, self.min.y - by_mm),
            max: Point::new(self.max.x + by_mm, self.max.y + by_mm),
        }
    }

    /// Whether `p` lies inside or on the edge.
    #[must_use]
    pub fn contains(&self, p: Point<F>) -> bool {
        self.min.x <= p.x && p.x <= self.max.x && self.min.y <= p.y && p.y <= self.max.y
    }

    /// Distance from the box to `p` in millimetres, 0 inside.
    #[must_use]
    pub fn distance_to(&self, p: Point<F>) -> f64 {
        let x = (self.min.x - p.x).max(p.x - self.max.x).max(0.0);
        let y = (self.min.y - p.y).max(p.y - self.max.y).max(0.0);
        Vector::<F>::new(x, y).length()
    }

    /// Whether the boxes share a point.
    #[must_use]
    pub fn meets(&self, other: &Self) -> bool {
        self.min.x <= other.max.x
            && other.min.x <= self.max.x
            && self.min.y <= other.max.y
            && other.min.y <= self.max.y
    }
}

impl<F: Frame> Curve<F> {
    /// The straight curve between two points.
    #[must_use]
    pub fn line(from: Point<F>, to: Point<F>) -> Self {
        Self::Segment(Segment { from, to })
    }

    /// Where it begins.
    #[must_use]
    pub fn from(&self) -> Point<F> {
        match self {
            Self::Segment(segment) => segment.from,
            Self::Arc(arc) => arc.from,
        }
    }

    /// Where it ends.
    #[must_use]
    pub fn to(&self) -> Point<F> {
        match self {
            Self::Segment(segment) => segment.to,
            Self::Arc(arc) => arc.to,
        }
    }

    /// Its length in millimetres.
    #[must_use]
    pub fn length_mm(&self) -> f64 {
        match self {
            Self::Segment(segment) => segment.from.distance(segment.to),
            Self::Arc(arc) => arc.length_mm(),
        }
    }

    /// The point `along_mm` from its beginning.
    #[must_use]
    pub fn point_at(&self, along_mm: f64) -> Point<F> {
        match self {
            Self::Segment(segment) => {
                let length = self.length_mm();
                if length > 0.0 {
                    segment.from.lerp(segment.to, (along_mm / length).clamp(0.0, 1.0))
                } else {
                    segment.from
                }
            }
            Self::Arc(arc) => arc.point_at(along_mm),
        }
    }

    /// The direction of travel `along_mm` from its beginning, of length one; none on a curve without length.
    #[must_use]
    pub fn tangent_at(&self, along_mm: f64) -> Option<Vector<F>> {
        match self {
            Self::Segment(segment) => (segment.to - segment.from).unit(),
            Self::Arc(arc) => arc.tangent_at(along_mm),
        }
    }

    /// The piece from `from_mm` to `to_mm` along it.
    #[must_use]
    pub fn piece(&self, from_mm: f64, to_mm: f64) -> Self {
        match self {
            Self::Segment(_) => Self::line(self.point_at(from_mm), self.point_at(to_mm)),
            Self::Arc(arc) => Self::Arc(arc.piece(from_mm, to_mm)),
        }
    }

    /// The same curve run the other way.
    #[must_use]
    pub fn reversed(&self) -> Self {
        match self {
            Self::Segment(segment) => Self::line(segment.to, segment.from),
            Self::Arc(arc) => Self::Arc(arc.reversed()),
        }
    }

    /// The smallest box around it.
    #[must_use]
    pub fn bounds(&self) -> Bounds<F> {
        match self {
            Self::Segment(segment) => Bounds {
                min: Point::new(segment.from.x.min(segment.to.x), segment.from.y.min(segment.to.y)),
                max: Point::new(segment.from.x.max(segment.to.x), segment.from.y.max(segment.to.y)),
            },
            Self::Arc(arc) => arc.bounds(),
        }
    }

    /// The point of it nearest to `p`.
    #[must_use]
    pub fn nearest(&self, p: Point<F>) -> Nearest<F> {
        match self {
            Self::Segment(segment) => {
                let direction = segment.to - segment.from;
                let length = direction.length();
                let t = if length > 0.0 {
                    ((p - segment.from).dot(direction) / (length * length)).clamp(0.0, 1.0)
                } else {
                    0.0
                };
                let point = segment.from.lerp(segment.to, t);
                Nearest { along_mm: t * length, point, distance_mm: point.distance(p) }
            }
            Self::Arc(arc) => arc.nearest(p),
        }
    }

    /// The curve carried into another frame.
    #[must_use]
    pub fn placed<G: Frame>(&self, placement: &Placement<F, G>) -> Curve<G> {
        match self {
            Self::Segment(segment) => Curve::line(placement.point(segment.from), placement.point(segment.to)),
            Self::Arc(arc) => Curve::Arc(arc.placed(placement)),
        }
    }

    /// Points along it from its beginning (not included) to its end (included), such that no chord is farther than
    /// `tolerance_mm` from the curve.
    pub fn flatten_into(&self, tolerance_mm: f64, out: &mut Vec<Point<F>>) {
        match self {
            Self::Segment(segment) => out.push(segment.to),
            Self::Arc(arc) => arc.flatten_into(tolerance_mm, out),
        }
    }
}
