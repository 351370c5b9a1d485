//! An unbroken run of curves, with distances along it.

use crate::meeting::sort_crossings;
use crate::{Arc, Bounds, Crossing, Curve, CurveIndex, Frame, Nearest, Placement, Point, TOUCH_MM, Vector};

/// Up to this many curves a path is compared with itself by sorting its boxes; beyond, through an index, which costs
/// more to build but does not degrade where many boxes lie above one another.
const SWEEP_CURVES_MAX: usize = 128;

/// Curves joined end to end. Distances along it are millimetres in `0..=length_mm`, clamped.
///
/// **Shape**: open or closed; may be empty; each curve begins where the one before ends.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Path<F> {
    curves: Vec<Curve<F>>,
    /// Distance at which each curve begins, and at the end the whole length: one longer than `curves`.
    starts_mm: Vec<f64>,
}

impl<F: Frame> Path<F> {
    /// The path of `curves` in order.
    #[must_use]
    pub fn new(curves: Vec<Curve<F>>) -> Self {
        let mut starts_mm = Vec::with_capacity(curves.len() + 1);
        let mut at = 0.0;
        starts_mm.push(at);
        for curve in &curves {
            at += curve.length_mm();
            starts_mm.push(at);
        }
        Self { curves, starts_mm }
    }

    /// Its curves in order.
    #[must_use]
    pub fn curves(&self) -> &[Curve<F>] {
        &self.curves
    }

    /// Distance along the path at which curve `k` begins, in millimetres; `k` may be the number of curves.
    #[must_use]
    pub fn start_of_mm(&self, k: usize) -> f64 {
        self.starts_mm.get(k).copied().unwrap_or_else(|| self.length_mm())
    }

    /// Its arcs with where each begins along it, in millimetres; those that go on about one centre, the same way around and
    /// less than once in all, are one arc: a half circle is often written as two quarters. Centres count as one within
    /// `within_mm` of each other, in millimetres. Arcs that begin where the path ends are not joined to its beginning.
    #[must_use]
    pub fn arcs(&self, within_mm: f64) -> Vec<(f64, Arc<F>)> {
        let mut arcs: Vec<(f64, Arc<F>)> = Vec::new();
        let mut goes_on = false;
        for (k, curve) in self.curves.iter().enumerate() {
            let Curve::Arc(arc) = curve else {
                goes_on = false;
                continue;
            };
            let before = arcs.last_mut().map(|(_, before)| before).filter(|before| {
                let sweep_rad = before.sweep_rad + arc.sweep_rad;
                before.sweep_rad.signum() == arc.sweep_rad.signum()
                    && sweep_rad.abs() < std::f64::consts::TAU
                    && before.center.distance(arc.center) <= within_mm
            });
            match before.filter(|_| goes_on) {
                Some(before) => {
                    before.to = arc.to;
                    before.sweep_rad += arc.sweep_rad;
                }
                None => arcs.push((self.start_of_mm(k), *arc)),
            }
            goes_on = true;
        }
        arcs
    }

    /// Its length in millimetres.
    #[must_use]
    pub fn length_mm(&self) -> f64 {
        self.starts_mm.last().copied().unwrap_or(0.0)
    }

    /// Where it begins; none if it is empty.
    #[must_use]
    pub fn from(&self) -> Option<Point<F>> {
        self.curves.first().map(Curve::from)
    }

    /// Where it ends; none if it is empty.
    #[must_use]
    pub fn to(&self) -> Option<Point<F>> {
        self.curves.last().map(Curve::to)
    }

    /// Which curve holds the place `along_mm`, and how far along that curve it is; none if the path is empty.
    #[must_use]
    pub fn locate(&self, along_mm: f64) -> Option<(usize, f64)> {
        if self.curves.is_empty() {
            return None;
        }
        let after = self.starts_mm.partition_point(|start| *start <= along_mm);
        let k = after.saturating_sub(1).min(self.curves.len() - 1);
        Some((k, along_mm - self.starts_mm[k]))
    }

    /// The point `along_mm` from its beginning; none if the path is empty.
    #[must_use]
    pub fn point_at(&self, along_mm: f64) -> Option<Point<F>> {
        self.locate(along_mm).map(|(k, along)| self.curves[k].point_at(along))
    }

    /// The direction of travel there, of length one; none if the path has no length there.
    #[must_use]
    pub fn tangent_at(&self, along_mm: f64) -> Option<Vector<F>> {
        self.locate(along_mm).and_then(|(k, along)| self.curves[k].tangent_at(along))
    }

    /// The piece from `from_mm` to `to_mm` along it; empty unless `from_mm < to_mm`.
    #[must_use]
    pub fn piece(&self, from_mm: f64, to_mm: f64) -> Self {
        let (from_mm, to_mm) = (from_mm.max(0.0), to_mm.min(self.length_mm()));
        let curves = self
            .curves
            .iter()
            .zip(self.starts_mm.windows(2))
            .filter(|(_, ends)| from_mm < to_mm && ends[1] > from_mm && ends[0] < to_mm)
            .map(|(curve, ends)| {
                if from_mm <= ends[0] && ends[1] <= to_mm {
                    *curve
                } else {
                    curve.piece(from_mm - ends[0], to_mm - ends[0])
                }
            })
            .collect();
        Self::new(curves)
    }

    /// The same path run the other way.
    #[must_use]
    pub fn reversed(&self) -> Self {
        Self::new(self.curves.iter().rev().map(Curve::reversed).collect())
    }

    /// The point of it nearest to `p`; none if the path is empty.
    #[must_use]
    pub fn nearest(&self, p: Point<F>) -> Option<Nearest<F>> {
        self.curves
            .iter()
            .zip(&self.starts_mm)
            .map(|(curve, start)| {
                let near = curve.nearest(p);
                Nearest { along_mm: near.along_mm + start, ..near }
            })
            .min_by(|a, b| a.distance_mm.total_cmp(&b.distance_mm))
    }

    /// The smallest box around it; none if the path is empty.
    #[must_use]
    pub fn bounds(&self) -> Option<Bounds<F>> {
        self.curves.iter().map(Curve::bounds).reduce(Bounds::union)
    }

    /// The path carried into another frame.
    #[must_use]
    pub fn placed<G: Frame>(&self, placement: &Placement<F, G>) -> Path<G> {
        Path::new(self.curves.iter().map(|curve| curve.placed(placement)).collect())
    }

    /// Its points with arcs as chords no farther than `tolerance_mm` from them, first and last included.
    #[must_use]
    pub fn flatten(&self, tolerance_mm: f64) -> Vec<Point<F>> {
        let mut points: Vec<_> = self.from().into_iter().collect();
        for curve in &self.curves {
            curve.flatten_into(tolerance_mm, &mut points);
        }
        points
    }

    /// Where the path meets itself: `along_mm` earlier and `other_along_mm` later, ordered by the later one, so that
    /// the first is where the path first comes back to itself. A stretch run twice is given by its two ends.
    ///
    /// Only returns after more than `loop_mm_min` of way count. Joints of neighbours never do, but where neighbours
    /// are tangent, rounding may make them cross again some tenths of a millimetre away: give at least 1 mm unless
    /// such loops matter.
    ///
    /// **Accuracy**: as [`Curve::crossings`]. Takes n log n for n curves, and the number of places found.
    #[must_use]
    pub fn self_crossings(&self, loop_mm_min: f64) -> Vec<Crossing<F>> {
        let mut found = Vec::new();
        for (i, curve) in self.curves.iter().enumerate() {
            if curve.length_mm() > loop_mm_min && curve.from().distance(curve.to()) <= TOUCH_MM {
                found.push(Crossing {
                    along_mm: self.starts_mm[i],
                    other_along_mm: self.starts_mm[i + 1],
                    point: curve.from(),
                });
            }
        }
        self.for_each_close_pair(|i, j| {
            let here = self.curves[i].crossings(&self.curves[j]);
            found.extend(here.into_iter().map(|crossing| Crossing {
                along_mm: crossing.along_mm + self.starts_mm[i],
                other_along_mm: crossing.other_along_mm + self.starts_mm[j],
                point: crossing.point,
            }));
        });
        found.retain(|crossing| {
            crossing.other_along_mm - crossing.along_mm > loop_mm_min.max(crate::SAME_POINT_MM)
        });
        once_each(found)
    }

    /// Hands over every pair `i < j` of curves whose boxes come within touching distance.
    fn for_each_close_pair(&self, mut take: impl FnMut(usize, usize)) {
        if self.curves.len() <= SWEEP_CURVES_MAX {
            let mut boxes: Vec<(Bounds<F>, usize)> = self
                .curves
                .iter()
                .enumerate()
                .map(|(k, curve)| (curve.bounds().grown(TOUCH_MM), k))
                .collect();
            boxes.sort_by(|a, b| a.0.min.x.total_cmp(&b.0.min.x));
            for (at, (bounds, i)) in boxes.iter().enumerate() {
                let rest = boxes[at + 1..].iter().take_while(|(other, _)| other.min.x <= bounds.max.x);
                for (_, j) in rest.filter(|(other, _)| other.meets(bounds)) {
                    take(*i.min(j), *i.max(j));
                }
            }
        } else {
            let index = CurveIndex::new(self.curves.iter().copied().zip(0..).collect::<Vec<(_, usize)>>());
            for (i, curve) in self.curves.iter().enumerate() {
                for (_, j) in index.in_bounds(curve.bounds().grown(TOUCH_MM)).filter(|(_, j)| i < *j) {
                    take(i, j);
                }
            }
        }
    }
}

/// Sorts crossings of a path with itself by the later place and drops repeats, which come from curves that share an
/// end.
fn once_each<F: Frame>(mut crossings: Vec<Crossing<F>>) -> Vec<Crossing<F>> {
    sort_crossings(&mut crossings);
    let mut kept: Vec<Crossing<F>> = Vec::with_capacity(crossings.len());
    for crossing in crossings {
        let same = |seen: &&Crossing<F>| {
            (seen.other_along_mm - crossing.other_along_mm).abs() < crate::SAME_POINT_MM
        };
        let near =
            kept.iter().rev().take_while(|seen| crossing.along_mm - seen.along_mm < crate::SAME_POINT_MM);
        if near.clone().find(same).is_none() {
            kept.push(crossing);
        }
    }
    kept.sort_by(|a, b| {
        a.other_along_mm.total_cmp(&b.other_along_mm).then(a.along_mm.total_cmp(&b.along_mm))
    });
    kept
}
