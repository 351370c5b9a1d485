//! Area and length of runs of curves, and pieces of paths.

use geometry::{Curve, Path, Point, Program};

/// Area enclosed by `curves`, in square millimetres, arcs exact, gaps between them bridged by straight lines; positive
/// if they run counter-clockwise. Source: Green's theorem; for an arc r² times its angle plus the moment of its chord
/// about the centre.
pub(crate) fn signed_area_mm2(curves: &[Curve<Program>]) -> f64 {
    let (Some(first), Some(last)) = (curves.first(), curves.last()) else { return 0.0 };
    let origin = first.from();
    let bridges = curves.windows(2).map(|pair| twice_segment(origin, pair[0].to(), pair[1].from()));
    let closing = twice_segment(origin, last.to(), first.from());
    let twice =
        curves.iter().map(|curve| twice_under(origin, curve)).sum::<f64>() + bridges.sum::<f64>() + closing;
    twice / 2.0
}

fn twice_segment(origin: Point<Program>, from: Point<Program>, to: Point<Program>) -> f64 {
    (from - origin).cross(to - origin)
}

fn twice_under(origin: Point<Program>, curve: &Curve<Program>) -> f64 {
    match curve {
        Curve::Segment(segment) => twice_segment(origin, segment.from, segment.to),
        Curve::Arc(arc) => {
            let (radius, center) = (arc.radius_mm(), arc.center - origin);
            radius * radius * arc.sweep_rad + center.cross(arc.to - arc.from)
        }
    }
}

/// Length of all `curves` together, in millimetres.
pub(crate) fn length_mm(curves: &[Curve<Program>]) -> f64 {
    curves.iter().map(Curve::length_mm).sum()
}

/// The curves of `path` between two places, in millimetres along it; those cut through are cut off. Touches only the
/// curves between.
pub(crate) fn pieces(path: &Path<Program>, from_mm: f64, to_mm: f64) -> Vec<Curve<Program>> {
    let Some((first, _)) = path.locate(from_mm) else { return Vec::new() };
    let mut curves = Vec::new();
    for (k, curve) in path.curves().iter().enumerate().skip(first) {
        let (starts, ends) = (path.start_of_mm(k), path.start_of_mm(k + 1));
        if starts >= to_mm {
            break;
        }
        if from_mm <= starts && ends <= to_mm {
            curves.push(*curve);
        } else if ends > from_mm {
            curves.push(curve.piece(from_mm - starts, to_mm - starts));
        }
    }
    curves
}
