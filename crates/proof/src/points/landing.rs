//! Point 1 on a plate that moved: where it lies is known only so well, and every promised cut lands within the job's
//! tolerance all the same.
//!
//! A cut of a part of which something was cut before the move must fit to that. A part begun afterwards comes out true
//! wherever it lands; there the tolerance is for what the cut and the part may reach into: old kerfs, and the plate's
//! edge. A part that is made elsewhere is cut whole by this program, and that it stays clear of all that was there,
//! however it lands, is held in [`super::clear`].

use crate::record::Record;
use crate::{Case, Pose, Reason, reason};
use cuts::{Cut, CutId, PartId};
use geometry::{Curve, CurveIndex, Point, Program};

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
    let is_moved = |cut: &CutId| case.promise.moved.iter().any(|moved| moved.cut == *cut);
    let fitted_in_place = case.promise.cuts.iter().filter(|cut| !is_moved(cut));
    let landings: Vec<(f64, CutId)> = fitted_in_place.map(|cut| (cut_mm(case, pose, *cut), *cut)).collect();
    let loose: Vec<(f64, CutId)> =
        landings.iter().copied().filter(|(worst, _)| *worst > tolerance_mm).collect();
    let free = if loose.is_empty() { None } else { Some(Old::of(case)) };
    let mut into_old_mm = 0.0f64;
    for (worst_mm, cut) in &loose {
        let apart_mm = free.as_ref().and_then(|old| old.apart_mm(case, *cut, worst_mm - tolerance_mm));
        let over_mm = worst_mm - apart_mm.unwrap_or(0.0);
        if over_mm > tolerance_mm {
            let message = format!(
                "cut {} may land up to {worst_mm:.2} mm off its place, and the job's tolerance is {tolerance_mm:.2} mm: \
                 measure more of the plate",
                cut.number()
            );
            return Err(reason(1, message, None));
        }
        into_old_mm = into_old_mm.max(over_mm);
    }
    if landings.is_empty() {
        record.needs("The plate lies as it was measured and has not moved since.");
        return Ok(());
    }
    let fitted = landings.iter().map(|(worst, _)| *worst).filter(|worst| *worst <= tolerance_mm);
    let fitted = fitted.fold(into_old_mm, f64::max);
    record.figure(
        "landing error within the pose's 95 % ellipse, less the room to what was cut before",
        fitted,
        tolerance_mm,
        "mm",
    );
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
pub(crate) fn cut_mm(case: &Case<'_>, pose: &Pose, cut: CutId) -> f64 {
    let cut = case.original.list.cut(cut);
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

/// What was on the plate when it moved.
struct Old {
    /// Centre lines of kerfs as far as they may reach, craters and edges of the plate; each with how much farther off
    /// than half a kerf its void begins.
    lines: CurveIndex<Program, f64>,
    /// Whether anything of each part is cut.
    begun: Vec<bool>,
}

impl Old {
    fn of(case: &Case<'_>) -> Self {
        let half_kerf = case.ground.kerf.mm() / 2.0;
        let crater_mm = case.ground.crater_radius.unwrap_or(case.ground.kerf).mm();
        let dot = |at: Point<Program>, radius_mm: f64| (Curve::line(at, at), radius_mm - half_kerf);
        let mut lines = Vec::new();
        let mut touched = vec![false; case.original.list.cuts.len()];
        for made in &case.progress.made {
            let cut = case.original.list.cut(made.cut);
            touched[made.cut.0 as usize] = true;
            let at_most = made.at_most_mm(cut.path.length_mm());
            lines.extend(
                cut.path.piece(at_most.start, at_most.end).curves().iter().map(|curve| (*curve, 0.0)),
            );
            lines.extend((at_most.start <= 0.0).then(|| dot(cut.pierce.at, crater_mm)));
        }
        for stray in &case.progress.strays {
            lines.extend(stray.path.curves().iter().map(|curve| (*curve, 0.0)));
            lines.push(dot(stray.at, stray.crater_mm));
        }
        for edge in case.ground.plate.iter().chain(&case.ground.plate_holes) {
            lines.extend(edge.path().curves().iter().map(|curve| (*curve, -half_kerf)));
        }
        let begun = |part: &cuts::Part| {
            let contours = [part.outline].into_iter().chain(part.holes.iter().chain(&part.others).copied());
            let mut cuts = contours.flat_map(|contour| {
                let contour = case.original.list.contour(contour);
                contour.boundary.iter().map(|stretch| stretch.cut).chain([contour.cut])
            });
            cuts.any(|cut| touched[cut.0 as usize])
        };
        let begun = case.original.list.parts.iter().map(begun).collect();
        Self { lines: CurveIndex::new(lines), begun }
    }

    /// The room between what a cut cuts and what was cut before, as far as it is looked at (`reach_mm`); none if the cut
    /// must fit to something that was.
    fn apart_mm(&self, case: &Case<'_>, cut: CutId, reach_mm: f64) -> Option<f64> {
        let joins = case.promise.join(cut).is_some();
        let cut = case.original.list.cut(cut);
        let mut parts = served(case, cut).peekable();
        parts.peek()?;
        if joins || parts.any(|part| self.begun[part.0 as usize]) {
            return None;
        }
        let crater_mm = case.ground.crater_radius.unwrap_or(case.ground.kerf).mm();
        let look_mm = reach_mm + crater_mm;
        let near = cut.path.curves().iter().flat_map(|curve| self.lines.near_curve(curve, look_mm));
        Some(near.map(|hit| hit.distance_mm - hit.tag).fold(look_mm, f64::min).max(0.0))
    }
}

fn served<'c>(case: &'c Case<'_>, cut: &'c Cut) -> impl Iterator<Item = PartId> + 'c {
    cut.contours.iter().chain(&cut.bounds).filter_map(|contour| case.original.list.contour(*contour).part)
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
