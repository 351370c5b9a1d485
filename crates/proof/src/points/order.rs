//! Point 5: a part is attached while any of it is cut, and each cut runs in the direction it had.
//!
//! The direction is compared with every burning motion (point 2). Here: what is loose when a contour is begun holds
//! nothing that is still to be cut.

use super::effect::{Joined, KeptLeg};
use crate::nib::is_nib;
use crate::pieces::is_said_loose;
use crate::record::Record;
use crate::timeline::{NEVER, Timeline};
use crate::view::View;
use crate::{Case, Reason, reason};
use cuts::{Contour, ContourId, Cut, Shape};
use geometry::{Point, Program};

/// Every contour is begun on metal that the skeleton still holds.
///
/// # Errors
/// Point 5, at the first cut into something loose.
pub(crate) fn attached(
    case: &Case<'_>,
    written: &View<'_>,
    kept: &[KeptLeg],
    timeline: &Timeline,
    record: &mut Record,
) -> Result<(), Reason> {
    for (n, leg) in kept.iter().enumerate() {
        let cut = case.original.list.cut(leg.cut);
        let at = written.event_span(leg.written.on as usize);
        let pierce = written.from(leg.written.on_at.motion as usize);
        if let Some(loose) = loose_around(case, timeline, n, None, pierce) {
            return Err(reason(5, told(case, leg, loose), at));
        }
        seen_held(case, leg, record).map_err(|what| reason(5, what, at))?;
        if leg.join.is_some() {
            still_held(case, timeline, n, leg).map_err(|what| reason(5, what, at))?;
        }
        for id in &cut.contours {
            let contour = case.original.list.contour(*id);
            let middle = f64::midpoint(contour.along_mm.start, contour.along_mm.end);
            for along in [contour.along_mm.start, middle] {
                let Some(place) = cut.path.point_at(along) else { continue };
                if let Some(loose) = loose_around(case, timeline, n, Some(*id), place) {
                    return Err(reason(5, told(case, leg, loose), at));
                }
            }
        }
    }
    record.figure("contours begun in something loose", 0.0, 0.0, "contours");
    Ok(())
}

/// Nobody has seen loose what a leg is to free: where a piece has come away, there is no kerf left to be cut, but for the nib
/// that a slug may leave on its part ([`is_nib`]).
fn seen_held(case: &Case<'_>, leg: &KeptLeg, record: &mut Record) -> Result<(), String> {
    let cut = case.original.list.cut(leg.cut);
    for id in cut.contours.iter().chain(&cut.bounds) {
        let contour = case.original.list.contour(*id);
        if runs_along(cut, leg, contour) && is_said_loose(case, contour) {
            if is_nib(case, leg, contour) {
                record.needs(format!(
                    "What cut {} has freed does not come up beside the nib that is cut off: it lies below, is taken out, or \
                     lies flat and does not tip when pushed at.",
                    leg.cut.number()
                ));
                continue;
            }
            let what = name_of(contour);
            return Err(format!("cut {} is to free {what}, which was seen loose already", leg.cut.number()));
        }
    }
    Ok(())
}

/// What a join is to part has not been parted yet, however long the old kerf is; nor has the first of two burns parted what the
/// second runs along: it may have tipped since, and nobody looks between the two.
fn still_held(case: &Case<'_>, timeline: &Timeline, n: usize, leg: &KeptLeg) -> Result<(), String> {
    let cut = case.original.list.cut(leg.cut);
    for id in cut.contours.iter().chain(&cut.bounds) {
        let (sure, may_be) = (timeline.loose_at(*id), timeline.may_be_loose_at(*id));
        let contour = case.original.list.contour(*id);
        let what = name_of(contour);
        if leg.is_second_burn() && (1..=n).contains(&(sure as usize)) && runs_along(cut, leg, contour) {
            return Err(format!(
                "cut {}: its second burn runs along {what}, which its first burn has freed",
                leg.cut.number()
            ));
        }
        if may_be as usize <= n && sure as usize > n {
            return Err(format!(
                "cut {}: its kerf may have closed already, so that {what} may be loose: find out how far it is through",
                leg.cut.number()
            ));
        }
    }
    Ok(())
}

/// Whether a leg burns some of what bounds a contour.
fn runs_along(cut: &Cut, leg: &KeptLeg, contour: &Contour) -> bool {
    let burns = leg.join.as_ref().map_or(0.0..cut.path.length_mm(), Joined::burns_mm);
    let mut own = contour.boundary.iter().filter(|edge| edge.cut == leg.cut);
    own.any(|edge| edge.along_mm.start < burns.end && burns.start < edge.along_mm.end)
}

/// What a cut frees along a contour, in words.
fn name_of(contour: &Contour) -> String {
    match (contour.shape, contour.part) {
        (Shape::Outline, Some(part)) => format!("part {}", part.number()),
        _ => "its slug".to_owned(),
    }
}

/// What may be loose around `place` when leg `n` comes to its contour `at`.
pub(super) fn loose_around(
    case: &Case<'_>,
    timeline: &Timeline,
    n: usize,
    at: Option<ContourId>,
    place: Point<Program>,
) -> Option<ContourId> {
    let loose = |id: ContourId| {
        let time = timeline.may_be_loose_at(id);
        let earlier_in_this_cut = at.is_some_and(|at| {
            let (at, other) = (case.original.list.contour(at), case.original.list.contour(id));
            other.id != at.id && other.cut == at.cut && other.along_mm.end <= at.along_mm.start
        });
        time != NEVER && (time as usize <= n || earlier_in_this_cut)
    };
    timeline.around(case, place, loose).first().copied()
}

fn told(case: &Case<'_>, leg: &KeptLeg, loose: ContourId) -> String {
    let contour = case.original.list.contour(loose);
    let (cut, by) = (leg.cut.number(), contour.cut.number());
    match (contour.shape, contour.part) {
        (Shape::Outline, Some(part)) => {
            format!("cut {cut} lies in part {}, which is loose after cut {by}", part.number())
        }
        _ => format!("cut {cut} lies in what drops out after cut {by}"),
    }
}
