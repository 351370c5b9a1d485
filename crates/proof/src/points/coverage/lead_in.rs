//! A join's own lead-in lies wholly in scrap or old kerf, and so does the crater it begins with.
//!
//! The part's edge lies half a kerf beyond the centre line of its contour, so a kerf is clear of the part if its own
//! centre line does not pass that of the contour.

use crate::grid::Grid;
use crate::points::effect::KeptLeg;
use crate::points::starts::full_crater_mm;
use crate::record::Record;
use crate::timeline::Timeline;
use crate::tolerance::{NOISE_MM, PATH_MM};
use crate::view::View;
use crate::{Case, JoinStart, Reason, reason};
use cuts::{PartId, Shape};
use geometry::{Bounds, Curve, Point, Program};

/// How far about a place the edges of parts are looked for, in millimetres: a step along a lead-in is never longer.
const LOOK_MM: f64 = 5.0;

/// Shortest step along a lead-in, in millimetres. What may be missed between two steps is less.
const STEP_MIN_MM: f64 = 0.002;

/// Looks at the lead-ins of all joins, and at their craters.
///
/// # Errors
/// Point 1.
pub(super) fn clear(
    case: &Case<'_>,
    written: &View<'_>,
    kept: &[KeptLeg],
    timeline: &Timeline,
    record: &mut Record,
) -> Result<(), Reason> {
    let is_pierced =
        |leg: &&KeptLeg| leg.join.as_ref().is_some_and(|join| join.start == JoinStart::FreshPierce);
    let pierced = || kept.iter().filter(is_pierced);
    if pierced().next().is_none() {
        return Ok(());
    }
    let parts = Parts::of(case, timeline);
    let (mut deepest_mm, mut nearest_mm) = (0.0f64, f64::INFINITY);
    for leg in pierced() {
        let number = leg.cut.number();
        let lit_at = written.from(leg.written.on_at.motion as usize);
        let clear_mm = parts.clear_of_crater_mm(lit_at).map_err(|part| {
            let message = format!("cut {number}: the pierce of its join lies in part {part}");
            reason(1, message, written.event_span(leg.written.on as usize))
        })?;
        if clear_mm < -PATH_MM {
            let message =
                format!("cut {number}: the crater of its join reaches {:.2} mm into a part", -clear_mm);
            return Err(reason(1, message, written.event_span(leg.written.on as usize)));
        }
        nearest_mm = nearest_mm.min(clear_mm);
        for k in leg.lead_in().filter(|k| written.travels(*k)) {
            let deepest = parts.deepest_mm(&written.curve(k)).map_err(|(part, at)| {
                let message = format!(
                    "cut {number}: the lead-in of its join cuts into part {part} near X{:.2} Y{:.2}",
                    at.x, at.y
                );
                reason(1, message, written.span(k))
            })?;
            deepest_mm = deepest_mm.max(deepest);
        }
    }
    record.figure("reach of a join's lead-in into a part", deepest_mm, PATH_MM, "mm");
    if nearest_mm.is_finite() {
        record.figure("least metal between the crater of a join and a part", nearest_mm, -PATH_MM, "mm");
    }
    Ok(())
}

/// The parts that are not given up, by the centre lines of their contours.
struct Parts<'a> {
    case: &'a Case<'a>,
    timeline: &'a Timeline<'a>,
    grid: Grid,
    edges: Vec<Curve<Program>>,
}

impl<'a> Parts<'a> {
    fn of(case: &'a Case<'a>, timeline: &'a Timeline) -> Self {
        let kept = case.original.list.parts.iter().filter(|part| !case.promise.given_up.contains(&part.id));
        let contours = kept.flat_map(|part| std::iter::once(&part.outline).chain(&part.holes));
        let closed = contours.filter_map(|id| case.original.list.contour(*id).closed.as_ref());
        let edges: Vec<_> = closed.flat_map(|closed| closed.path().curves().iter().copied()).collect();
        Self { case, timeline, grid: Grid::of_curves(&edges.iter()), edges }
    }

    /// The part that a place lies in, by its contours' centre lines.
    fn around(&self, p: Point<Program>) -> Option<PartId> {
        let around = self.timeline.around(self.case, p, |_| true);
        let innermost =
            around.into_iter().max_by_key(|id| (self.case.original.list.contour(*id).depth, *id))?;
        let contour = self.case.original.list.contour(innermost);
        let part = contour.part.filter(|_| contour.shape == Shape::Outline)?;
        (!self.case.promise.given_up.contains(&part)).then_some(part)
    }

    /// Distance to the nearest centre line, [`LOOK_MM`] at most.
    fn edge_mm(&self, p: Point<Program>, look_mm: f64) -> f64 {
        let mut nearest = look_mm;
        self.grid.near(Bounds { min: p, max: p }, look_mm, |n| {
            nearest = nearest.min(self.edges[n as usize].nearest(p).distance_mm);
        });
        nearest
    }

    /// Metal between a crater and the nearest part's edge, infinite where none is near, or the part that the crater's
    /// middle lies in.
    fn clear_of_crater_mm(&self, at: Point<Program>) -> Result<f64, u32> {
        let reach_mm = full_crater_mm(self.case) - self.case.ground.kerf.mm() / 2.0;
        let look_mm = LOOK_MM + reach_mm.max(0.0);
        let edge_mm = self.edge_mm(at, look_mm);
        match self.around(at).filter(|_| edge_mm > PATH_MM) {
            Some(part) => Err(part.number()),
            None if edge_mm >= look_mm => Ok(f64::INFINITY),
            None => Ok(edge_mm - reach_mm),
        }
    }

    /// How deep a curve goes into parts at most, or which part it goes into too far, and where.
    ///
    /// Depth changes by no more than the way gone, so that from each place a step is safe that is as long as what is
    /// left to the edge and what is allowed beyond it.
    fn deepest_mm(&self, curve: &Curve<Program>) -> Result<f64, (u32, Point<Program>)> {
        let (length, mut at, mut deepest) = (curve.length_mm(), 0.0, 0.0f64);
        loop {
            let p = curve.point_at(at);
            let edge_mm = self.edge_mm(p, LOOK_MM);
            let step_mm = match self.around(p) {
                Some(part) if edge_mm > PATH_MM + NOISE_MM => return Err((part.number(), p)),
                Some(_) => {
                    deepest = deepest.max(edge_mm);
                    PATH_MM - edge_mm
                }
                None => edge_mm + PATH_MM,
            };
            if at >= length {
                return Ok(deepest);
            }
            at = (at + step_mm.max(STEP_MIN_MM)).min(length);
        }
    }
}
