//! A path as it looks from far away: fewer corners, none farther off than can be seen.

use geometry::{Path, Point, Program};

/// The corners that are left of `path`, first and last included: every point of it lies within twice `within_mm` of the
/// way along them. By leaving out, between two corners that are kept, all that lies near their chord (Ramer 1972;
/// Douglas and Peucker 1973).
pub(crate) fn corners(path: &Path<Program>, within_mm: f64) -> Vec<Point<Program>> {
    let points = path.flatten(within_mm);
    let Some(last) = points.len().checked_sub(1) else { return points };
    let mut kept = vec![false; points.len()];
    (kept[0], kept[last]) = (true, true);
    let mut stretches = vec![(0, last)];
    while let Some((from, to)) = stretches.pop() {
        let off = |k: &usize| off_mm2(points[*k], points[from], points[to]);
        let farthest = (from + 1..to).max_by(|a, b| off(a).total_cmp(&off(b)));
        if let Some(k) = farthest.filter(|k| off(k) > within_mm * within_mm) {
            kept[k] = true;
            stretches.extend([(from, k), (k, to)]);
        }
    }
    points.into_iter().zip(kept).filter_map(|(point, is_kept)| is_kept.then_some(point)).collect()
}

/// How far `p` is off the stretch from `a` to `b`, squared.
fn off_mm2(p: Point<Program>, a: Point<Program>, b: Point<Program>) -> f64 {
    let (along, away) = (b - a, p - a);
    let square = along.x * along.x + along.y * along.y;
    let share = if square > 0.0 { (along.x * away.x + along.y * away.y) / square } else { 0.0 };
    let share = share.clamp(0.0, 1.0);
    let (x, y) = (away.x - share * along.x, away.y - share * along.y);
    x * x + y * y
}

#[cfg(test)]
mod tests {
    use super::{corners, off_mm2};
    use geometry::{Arc, Curve, Path, Point, Program, Segment};

    fn way(points: &[(f64, f64)]) -> Path<Program> {
        let at = |(x, y): (f64, f64)| Point::new(x, y);
        let pairs = points.windows(2);
        Path::new(pairs.map(|pair| Curve::Segment(Segment { from: at(pair[0]), to: at(pair[1]) })).collect())
    }

    #[test]
    fn nothing_that_is_seen_is_left_out_and_what_is_not_seen_is() {
        // A ring of 180 short stretches, 20 mm wide: a circle, and a tooth of 2 mm on it.
        let ring: Vec<(f64, f64)> = (0..=180)
            .map(|k| {
                let radius = if k == 45 { 12.0 } else { 10.0 };
                let turn = f64::from(k) * std::f64::consts::TAU / 180.0;
                (radius * turn.cos(), radius * turn.sin())
            })
            .collect();
        let path = way(&ring);
        for within_mm in [0.01, 0.3, 0.8] {
            let left = corners(&path, within_mm);
            assert_eq!((left[0], *left.last().unwrap()), (path.from().unwrap(), path.to().unwrap()));
            assert!(left.iter().any(|p| (p.y - 12.0).abs() < 1e-9), "the tooth is seen at {within_mm} mm");
            for (x, y) in &ring {
                let off = left.windows(2).map(|pair| off_mm2(Point::new(*x, *y), pair[0], pair[1]));
                let off = off.fold(f64::INFINITY, f64::min).sqrt();
                assert!(off <= within_mm + 1e-9, "{off} mm at {within_mm} mm");
            }
        }
        assert!(corners(&path, 0.8).len() < 20, "{}", corners(&path, 0.8).len());
    }

    #[test]
    fn arcs_and_dots_do_as_well() {
        let from = Point::new(10.0, 0.0);
        let circle = Path::new(vec![Curve::Arc(Arc::about(from, from, Point::new(0.0, 0.0), true))]);
        let left = corners(&circle, 0.5);
        assert!((6..20).contains(&left.len()), "{}", left.len());
        assert!(corners(&Path::new(Vec::new()), 1.0).is_empty());
    }
}
