//! Where a cut's path lies beyond the plate's own edge, between its two burns: there is nothing to cut, and that edge ends the
//! part.
//!
//! A plate that was begun with a wrong datum may end about where an outline runs. Where the kerf's outer wall would surely lie past
//! the edge, nothing is left there that could hold the part, and where little of the kerf's width is on the plate no arc lives. The
//! first burn runs out over the edge, and the second in over it again or, from the path's end, out over it as well; what lies
//! between is left out, and the part ends at the plate's edge, as far short of its outline, or as far beyond it, as that lies from
//! where the kerf's inner wall would be.
//!
//! A kerf that has come to the edge is taken up on the edge itself, as on the end of any kerf, where the whole of its width is
//! surely past the edge from where it is surely through to where the arc is begun: there is nothing that could be cut. How long
//! the part is there is settled by then, and what is cut now makes it no shorter; where that is surely too short, it is not worth
//! the cut, and where it may be, whoever takes it out is told to measure it.

use crate::old_kerf::{is_deep_enough, merge, must_be_cut};
use crate::points::effect::KeptLeg;
use crate::record::Record;
use crate::tolerance::PATH_MM;
use crate::view::View;
use crate::{Case, FoundEdges, JoinStart, Reason, reason};
use cuts::{CutId, Hand, Shape};
use geometry::{Contour, Point, Program, SAME_POINT_MM};
use std::ops::Range;
use units::Length;

/// How far a burn reaches, in millimetres, over where its kerf's outer wall is surely past the plate's edge: as far as a kerf's
/// bottom lags behind its top, so that the bottom is out over the edge as well where the burn ends or begins, and nothing holds the
/// part to what is beside it. That is a third of the thickness at cutting speed (common practice), a little more to be sure; in
/// thin plate a millimetre.
#[must_use]
pub fn edge_opens_mm(thickness: Length) -> f64 {
    (LAGS_SHARE * thickness.mm()).max(OPENS_LEAST_MM)
}

/// Share of the thickness by which a kerf's bottom lags behind its top.
const LAGS_SHARE: f64 = 0.35;

/// The least that a burn goes on past an edge, in millimetres.
const OPENS_LEAST_MM: f64 = 1.0;

/// Step in which a path is followed along an edge, in millimetres: a distance from an edge changes by no more than the way gone.
const STEP_MM: f64 = 0.05;

/// A stretch of a cut's path beyond the plate's edge, in millimetres along it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct BeyondEdge {
    /// What the two burns leave out.
    pub(crate) gap_mm: Range<f64>,
    /// Where the kerf's outer wall is surely past the edge.
    pub(crate) sure_mm: Range<f64>,
    /// Where the kerf may lack metal on its outer side.
    pub(crate) at_most_mm: Range<f64>,
}

impl BeyondEdge {
    /// Whether the kerf's outer wall is surely past the edge at a place along the path.
    pub(crate) fn holds(&self, along_mm: f64) -> bool {
        (self.sure_mm.start..=self.sure_mm.end).contains(&along_mm)
    }
}

/// What lies beyond the plate's edge between the two burns of a cut; none if it has no two, if they leave nothing out, or if it
/// is not known to lie there: where nobody has measured the edges, the plate has moved since, or what is left out bounds
/// anything but outlines that this cut alone goes around.
pub(crate) fn between_burns(case: &Case<'_>, cut: CutId) -> Option<BeyondEdge> {
    let (plate, edges) = measured(case)?;
    let mut burns = case.promise.joins.iter().filter(|join| join.cut == cut);
    let gap_mm = burns.next()?.until_mm..burns.next()?.burns_mm().start;
    if gap_mm.start >= gap_mm.end || !is_of_outlines(case, cut, &gap_mm) {
        return None;
    }
    let path = &case.original.list.cut(cut).path;
    let about = |least_mm: f64| {
        let holds = |mm: f64| path.point_at(mm).is_some_and(|at| past_mm(plate, at) >= least_mm);
        stretch_about(gap_mm.start, path.length_mm(), &holds)
    };
    let within_mm = edges.within.mm();
    let is_past = |at: &Point<Program>| past_mm(plate, *at) >= within_mm;
    let is_open = |mm: f64| {
        let walls = outer_walls(case, cut, mm);
        !walls.is_empty() && walls.iter().all(is_past)
    };
    let sure_mm = stretch_about(gap_mm.start, path.length_mm(), &is_open);
    let sure_mm = sure_mm.filter(|sure| sure.end >= gap_mm.end)?;
    let at_most_mm = about(-case.ground.kerf.mm() / 2.0 - within_mm)?;
    Some(BeyondEdge { gap_mm, sure_mm, at_most_mm })
}

/// How far a place lies past the plate's measured edge, and how far off that may be, in millimetres; none where it lies on the
/// plate, or nobody has measured the edges.
pub(crate) fn past_edge_mm(case: &Case<'_>, at: Point<Program>) -> Option<(f64, f64)> {
    let (plate, edges) = measured(case)?;
    let past_mm = past_mm(plate, at);
    (past_mm > 0.0).then(|| (past_mm, edges.within.mm()))
}

/// What lies past the plate's edge between the end of a cut's old kerf, as far as that is sure, and where it is taken up on the
/// edge; none if it is taken up in its kerf, or some of the kerf's width may have metal there.
pub(crate) fn before_edge_start(case: &Case<'_>, cut: CutId) -> Option<BeyondEdge> {
    let (plate, edges) = measured(case)?;
    let join = case.promise.joins.iter().find(|join| join.cut == cut)?;
    (join.start == JoinStart::KerfEnd).then_some(())?;
    let mut made: Vec<Range<f64>> = Vec::new();
    let own = case.progress.made.iter().filter(|made| made.cut == cut && is_deep_enough(case, made));
    made.extend(own.filter_map(cuts::Made::surely_mm));
    merge(&mut made, SAME_POINT_MM);
    let ends_mm = made.iter().rev().find(|made| made.start <= join.from_mm)?.end;
    let gap_mm = ends_mm..join.from_mm;
    if gap_mm.is_empty() || !steps(gap_mm.clone()).all(|mm| is_wholly_past(case, (plate, edges), cut, mm)) {
        return None;
    }
    let path = &case.original.list.cut(cut).path;
    let may_lack_mm = -case.ground.kerf.mm() / 2.0 - edges.within.mm();
    let may_lack = |mm: f64| path.point_at(mm).is_some_and(|at| past_mm(plate, at) >= may_lack_mm);
    let at_most_mm = stretch_about(join.from_mm, path.length_mm(), &may_lack)?;
    Some(BeyondEdge { sure_mm: gap_mm.clone(), gap_mm, at_most_mm })
}

/// Whether the whole width of a cut's kerf surely lies past the plate's edge at a place along its path.
fn is_wholly_past(
    case: &Case<'_>,
    (plate, edges): (&Contour<Program>, FoundEdges),
    cut: CutId,
    along_mm: f64,
) -> bool {
    let path = &case.original.list.cut(cut).path;
    let Some((at, along)) = path.point_at(along_mm).zip(path.tangent_at(along_mm)) else { return false };
    let left = along.left() * (case.ground.kerf.mm() / 2.0);
    [at + left, at + -left].into_iter().all(|wall| past_mm(plate, wall) >= edges.within.mm())
}

/// Every part that the plate's edge ends is as it should be, within the tolerance; says where.
///
/// # Errors
/// Point 1: the edge lies too far from where a part is to end.
pub(crate) fn within_tolerance(
    case: &Case<'_>,
    written: &View<'_>,
    kept: &[KeptLeg],
    record: &mut Record,
) -> Result<(), Reason> {
    if measured(case).is_none() {
        return Ok(());
    }
    let mut worst: Option<f64> = None;
    for leg in kept {
        let refuse = |message| reason(1, message, written.event_span(leg.written.on as usize));
        match between_burns(case, leg.cut) {
            Some(beyond) => {
                let off_mm = left_out_within(case, leg.cut, &beyond, record).map_err(refuse)?;
                worst = worst.into_iter().chain(off_mm).reduce(f64::max);
            }
            None => ended_within(case, leg.cut, record).map_err(refuse)?,
        }
    }
    if let (Some(worst), Some((_, edges))) = (worst, measured(case)) {
        let tolerance_mm = edges.tolerance.mm();
        record.figure("distance of the plate's edge from an outline that it ends", worst, tolerance_mm, "mm");
    }
    Ok(())
}

/// What is left out between two burns ends a part within the tolerance, whatever the edge may lie off; gives how far off that
/// part may be.
fn left_out_within(
    case: &Case<'_>,
    cut: CutId,
    beyond: &BeyondEdge,
    record: &mut Record,
) -> Result<Option<f64>, String> {
    let Some((plate, edges)) = measured(case) else { return Ok(None) };
    let Some([long_mm, short_mm]) = off_outline_mm(case, plate, cut, beyond) else { return Ok(None) };
    let (within_mm, tolerance_mm) = (edges.within.mm(), edges.tolerance.mm());
    let number = cut.number();
    let off_mm = long_mm.max(short_mm) + within_mm;
    if off_mm > tolerance_mm {
        let how = if short_mm > long_mm { "short of" } else { "beyond" };
        return Err(format!(
            "cut {number}: what it frees would end at the plate's edge, up to {off_mm:.2} mm {how} its outline by what was \
             measured; the tolerance is {tolerance_mm:.2} mm, and would have to be that"
        ));
    }
    record.needs(format!(
        "The plate's edge lies where it was measured, within {within_mm:.1} mm: what cut {number} frees ends there from \
         {:.0} to {:.0} mm along its path, at most {:.1} mm short of its outline and {:.1} mm beyond it. Measure it there \
         once it is out.",
        beyond.gap_mm.start,
        beyond.gap_mm.end,
        (short_mm + within_mm).max(0.0),
        (long_mm + within_mm).max(0.0)
    ));
    Ok(Some(off_mm))
}

/// What the edge ends anyway, wherever a cut is taken up, is not surely too short; where it may be, that is told.
fn ended_within(case: &Case<'_>, cut: CutId, record: &mut Record) -> Result<(), String> {
    let Some(((_, edges), short_mm)) = measured(case).zip(ended_short_mm(case, cut)) else { return Ok(()) };
    let (within_mm, tolerance_mm) = (edges.within.mm(), edges.tolerance.mm());
    let number = cut.number();
    if short_mm - within_mm > tolerance_mm {
        return Err(format!(
            "cut {number}: what it frees ends at the plate's edge, surely {:.2} mm short of its outline; the tolerance is \
             {tolerance_mm:.2} mm, and would have to be that",
            short_mm - within_mm
        ));
    }
    if short_mm + within_mm > tolerance_mm {
        record.needs(format!(
            "What cut {number} frees ends at the plate's edge, {short_mm:.2} mm short of its outline by what was measured, \
             within {within_mm:.2} mm; the tolerance is {tolerance_mm:.2} mm. What is cut now makes it no shorter: measure it \
             there once it is out, before it is taken for good."
        ));
    }
    Ok(())
}

/// How far inside the outlines that a cut goes around the plate's edge lies at most, in millimetres: what their parts lack of
/// the plate. None if the cut stays on the plate, or frees nothing that is kept.
fn ended_short_mm(case: &Case<'_>, cut: CutId) -> Option<f64> {
    let (plate, _) = measured(case)?;
    let of = case.original.list.cut(cut);
    let bounds = of.path.bounds()?;
    plate.path().curves().iter().any(|edge| edge.bounds().meets(&bounds)).then_some(())?;
    let contours = of.contours.iter().map(|id| case.original.list.contour(*id));
    let is_kept = |contour: &&cuts::Contour| {
        let given_up = contour.part.is_none_or(|part| case.promise.given_up.contains(&part));
        contour.shape == Shape::Outline && !given_up
    };
    let places = contours.filter(is_kept).flat_map(|contour| steps(contour.along_mm.clone()));
    let past = places.filter_map(|mm| of.path.point_at(mm)).map(|at| past_mm(plate, at)).reduce(f64::max)?;
    let short_mm = past - case.ground.kerf.mm() / 2.0;
    (short_mm > PATH_MM).then_some(short_mm)
}

/// How far the edge lies beyond the part's own along what is left out, and how far inside it wherever it is near; none if that
/// bounds no part that is kept.
fn off_outline_mm(
    case: &Case<'_>,
    plate: &Contour<Program>,
    cut: CutId,
    beyond: &BeyondEdge,
) -> Option<[f64; 2]> {
    let path = &case.original.list.cut(cut).path;
    let half_kerf = case.ground.kerf.mm() / 2.0;
    let bounding = must_be_cut(case, cut);
    let places = |of: &Range<f64>| -> Vec<f64> {
        let within = |needed: &Range<f64>| needed.start.max(of.start)..needed.end.min(of.end);
        let stretches = bounding.iter().map(within).filter(|stretch| stretch.start < stretch.end);
        let off = |mm: f64| path.point_at(mm).map(|at| past_mm(plate, at) - half_kerf);
        stretches.flat_map(|stretch| steps(stretch).filter_map(off)).collect()
    };
    let left_out = places(&beyond.gap_mm);
    let long_mm = left_out.iter().map(|short| -short).reduce(f64::max)?;
    let short_mm = places(&beyond.at_most_mm).into_iter().reduce(f64::max)?;
    Some([long_mm, short_mm])
}

/// The plate's outline and what is known of it, if it was measured and the plate lies where it was begun.
fn measured<'c>(case: &Case<'c>) -> Option<(&'c Contour<Program>, FoundEdges)> {
    case.ground.plate.as_ref().zip(case.ground.edges).filter(|_| case.pose.is_none())
}

fn past_mm(plate: &Contour<Program>, at: Point<Program>) -> f64 {
    -plate.depth_mm(at)
}

/// Where the wall of a cut's kerf lies that is not the part's, at a place along its path: both walls where it bounds nothing.
fn outer_walls(case: &Case<'_>, cut: CutId, along_mm: f64) -> Vec<Point<Program>> {
    let of = case.original.list.cut(cut);
    let Some((at, along)) = of.path.point_at(along_mm).zip(of.path.tangent_at(along_mm)) else {
        return Vec::new();
    };
    let left = along.left() * (case.ground.kerf.mm() / 2.0);
    let contours = of.contours.iter().map(|id| case.original.list.contour(*id));
    let mut about = contours.filter(|contour| contour.along_mm.contains(&along_mm));
    match about.next().and_then(cuts::Contour::scrap_side) {
        Some(Hand::Left) => vec![at + left],
        Some(Hand::Right) => vec![at + -left],
        None => vec![at + left, at + -left],
    }
}

/// Whether a stretch of a cut bounds nothing but outlines that it goes around by itself: else what is beside it may hang on
/// another cut, or come loose between this one and the edge.
fn is_of_outlines(case: &Case<'_>, cut: CutId, stretch_mm: &Range<f64>) -> bool {
    let of = case.original.list.cut(cut);
    let meets = |other: &Range<f64>| other.start < stretch_mm.end && stretch_mm.start < other.end;
    !of.is_mark
        && of.contours.iter().chain(&of.bounds).all(|id| {
            let contour = case.original.list.contour(*id);
            let is_bound = || contour.boundary.iter().any(|edge| edge.cut == cut && meets(&edge.along_mm));
            let is_met = (contour.cut == cut && meets(&contour.along_mm)) || is_bound();
            let alone = || contour.boundary.iter().all(|edge| edge.cut == cut);
            !is_met || (contour.shape == Shape::Outline && alone())
        })
}

/// The stretch of a path about a place on it for which something holds; none if it does not hold there.
fn stretch_about(along_mm: f64, length_mm: f64, holds: &dyn Fn(f64) -> bool) -> Option<Range<f64>> {
    let (mut from, mut to) = (along_mm, along_mm);
    holds(along_mm).then_some(())?;
    while from > 0.0 && holds((from - STEP_MM).max(0.0)) {
        from = (from - STEP_MM).max(0.0);
    }
    while to < length_mm && holds((to + STEP_MM).min(length_mm)) {
        to = (to + STEP_MM).min(length_mm);
    }
    Some(from..to)
}

fn steps(stretch_mm: Range<f64>) -> impl Iterator<Item = f64> {
    let next = move |mm: &f64| (*mm < stretch_mm.end).then(|| (mm + STEP_MM).min(stretch_mm.end));
    std::iter::successors(Some(stretch_mm.start), next)
}
