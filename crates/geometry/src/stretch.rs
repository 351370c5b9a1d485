//! Which stretches of a curve run within a distance of another: what of a path lies on an old kerf, what of a travel
//! passes over a piece's edge.

use crate::{Arc, Curve, Frame, Point, Vector};
use std::ops::Range;

impl<F: Frame> Curve<F> {
    /// The stretches of this curve that lie within `radius_mm` of `other`, in millimetres along this one, in order,
    /// not touching one another. Mere touches have no length and are left out.
    ///
    /// **Accuracy**: ends are found where this curve crosses the edge of everything within the distance, made of
    /// lines and arcs; exact as [`Curve::crossings`]. Where this curve runs along that edge, rounding decides.
    #[must_use]
    pub fn stretches_near(&self, other: &Self, radius_mm: f64) -> Vec<Range<f64>> {
        let length = self.length_mm();
        if !self.bounds().grown(radius_mm).meets(&other.bounds()) || length <= 0.0 {
            return Vec::new();
        }
        let edges = edge_of_surroundings(other, radius_mm);
        let crossings = edges.iter().flat_map(|edge| self.crossings(edge));
        let mut breaks: Vec<f64> = crossings.map(|crossing| crossing.along_mm).chain([0.0, length]).collect();
        breaks.sort_by(f64::total_cmp);
        let mut found: Vec<Range<f64>> = Vec::new();
        for ends in breaks.windows(2).filter(|ends| ends[0] < ends[1]) {
            let middle = self.point_at(f64::midpoint(ends[0], ends[1]));
            if other.nearest(middle).distance_mm > radius_mm {
                continue;
            }
            match found.last_mut() {
                Some(last) if last.end >= ends[0] => last.end = ends[1],
                _ => found.push(ends[0]..ends[1]),
            }
        }
        found
    }
}

/// Curves among which is every point that lies at just `radius_mm` from `curve`: both sides, and circles about both
/// ends.
fn edge_of_surroundings<F: Frame>(curve: &Curve<F>, radius_mm: f64) -> Vec<Curve<F>> {
    let mut edges = vec![circle(curve.from(), radius_mm), circle(curve.to(), radius_mm)];
    match curve {
        Curve::Segment(segment) => {
            if let Some(along) = (segment.to - segment.from).unit() {
                let aside = along.left() * radius_mm;
                edges.extend([aside, -aside].map(|by| Curve::line(segment.from + by, segment.to + by)));
            }
        }
        Curve::Arc(arc) => edges.extend([radius_mm, -radius_mm].map(|by| Curve::Arc(grown(arc, by)))),
    }
    edges
}

fn circle<F: Frame>(center: Point<F>, radius_mm: f64) -> Curve<F> {
    let from = center + Vector::new(radius_mm, 0.0);
    Curve::Arc(Arc::about(from, from, center, true))
}

/// The arc with its radius larger by `by_mm`; where that is less than nothing, it comes out on the other side of the
/// centre, as the points at that distance do.
fn grown<F: Frame>(arc: &Arc<F>, by_mm: f64) -> Arc<F> {
    let moved = |p: Point<F>| p + (p - arc.center).unit().unwrap_or(Vector::new(1.0, 0.0)) * by_mm;
    Arc { from: moved(arc.from), to: moved(arc.to), center: arc.center, sweep_rad: arc.sweep_rad }
}
