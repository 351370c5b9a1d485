//! Point 1 on a plate that moved: where it lies is known only so well, and every promised cut lands within the job's
//! tolerance all the same.

use crate::record::Record;
use crate::{Case, Pose, Reason, reason};
use cuts::CutId;
use geometry::{Curve, Point, Program};

/// The quantile of chi-square with two degrees of freedom below which 95 of 100 landings lie: -2 ln 0.05.
const CHI2_95: f64 = 5.991_464_547_107_98;

/// Holds the landing of every promised cut against the pose's tolerance.
///
/// # Errors
/// Point 1, at the cut that may land farthest off, or if the pose says nothing.
pub(crate) fn within_tolerance(case: &Case<'_>, record: &mut Record) -> Result<(), Reason> {
    let Some(pose) = case.pose else { return Ok(()) };
    if !is_sound(pose) {
        return Err(reason(1, "where the plate lies is not told in numbers that mean something", None));
    }
    let tolerance_mm = pose.tolerance.mm();
    let worst = case.promise.cuts.iter().map(|cut| (cut_mm(case, pose, *cut), *cut));
    let Some((worst_mm, cut)) = worst.max_by(|a, b| a.0.total_cmp(&b.0)) else { return Ok(()) };
    if worst_mm > tolerance_mm {
        let message = format!(
            "cut {} may land up to {worst_mm:.2} mm off its place, and the job's tolerance is {tolerance_mm:.2} mm: \
             measure more of the plate",
            cut.number()
        );
        return Err(reason(1, message, None));
    }
    record.figure("landing error of a cut, within the pose's 95 % ellipse", worst_mm, tolerance_mm, "mm");
    record.needs("The plate lies as it was measured and has not moved since.");
    Ok(())
}

/// How far off its place the plate's point `p` may land, in millimetres: half the longer axis of the 95 % ellipse, and
/// what the plate's growth adds.
pub(crate) fn worst_mm(pose: &Pose, p: Point<Program>) -> f64 {
    let out = pose.placement.vector(p - pose.pivot);
    let c = &pose.covariance;
    // A turn moves the place by (-out.y, out.x) for each radian.
    let xx = c[1][1] - 2.0 * out.y * c[0][1] + out.y * out.y * c[0][0];
    let yy = c[2][2] + 2.0 * out.x * c[0][2] + out.x * out.x * c[0][0];
    let xy = c[1][2] + out.x * c[0][1] - out.y * c[0][2] - out.x * out.y * c[0][0];
    let longest = f64::midpoint(xx, yy) + ((xx - yy) / 2.0).hypot(xy);
    (CHI2_95 * longest.max(0.0)).sqrt() + pose.stretch.abs() * out.length()
}

/// The worst of a cut's whole path. Landing errors grow away from the pivot convexly, so that the worst of a segment is
/// at an end, and that of an arc no worse than at the corners of its box.
fn cut_mm(case: &Case<'_>, pose: &Pose, cut: CutId) -> f64 {
    let cut = case.list.cut(cut);
    let mut worst = worst_mm(pose, cut.pierce.at);
    for curve in cut.path.curves() {
        let corners = match curve {
            Curve::Segment(segment) => [segment.from, segment.to, segment.from, segment.to],
            Curve::Arc(_) => {
                let bounds = curve.bounds();
                let (min, max) = (bounds.min, bounds.max);
                [min, Point::new(max.x, min.y), max, Point::new(min.x, max.y)]
            }
        };
        worst = corners.into_iter().map(|p| worst_mm(pose, p)).fold(worst, f64::max);
    }
    worst
}

fn is_sound(pose: &Pose) -> bool {
    let c = &pose.covariance;
    let finite = c.iter().flatten().all(|entry| entry.is_finite())
        && pose.placement.angle_rad().is_finite()
        && pose.placement.origin().is_finite()
        && pose.pivot.is_finite()
        && pose.stretch.is_finite()
        && pose.tolerance.mm() > 0.0;
    let symmetric = (0..3).all(|i| (0..i).all(|j| near(c[i][j], c[j][i])));
    finite && symmetric && (0..3).all(|i| c[i][i] >= 0.0)
}

/// Equal but for the rounding of a matrix inverted.
fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * (a.abs() + b.abs() + f64::MIN_POSITIVE)
}
