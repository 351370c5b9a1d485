//! How far along the stopped cut the torch stood, and whether it was cutting at all.

use crate::{Situation, StoppedAlong};
use cuts::{Cut, CutId};
use geometry::{Path, Point, Program};
use shop::{StopKind, StopReport};
use std::ops::Range;
use units::Length;

/// How far off a distance along a cut that somebody told may be: what a hand can jog or tap to (common practice).
const TOLD_WITHIN_MM: f64 = StopReport::KERF_WITHIN.mm();

/// How far from a cut's path a place may lie and still be one on it. A torch set down by eye is good to 1 mm (common
/// practice), a display read in a hurry to a little more.
const OFF_PATH_MM: f64 = 5.0;

/// Two places of a path that lie nearer than this to a place asked about, in millimetres, both may be it: where a
/// contour closes, the path comes by twice.
const SAME_PLACE_MM: f64 = 1.0;

/// Share of a reported time, and seconds, by which it may be off: a program's clock knows no acceleration.
const TIME_OFF: (f64, f64) = (0.2, 5.0);

/// What is known of the place at which it stopped.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Stopped {
    /// Where along the cut, if anything tells.
    pub(crate) along: Option<StoppedAlong>,
    /// Why the cut had not begun yet, if so, in a sentence.
    pub(crate) not_begun: Option<String>,
    /// What was reported and does not fit, a sentence each.
    pub(crate) at_odds: Vec<String>,
}

/// Where along `cut` it stopped, by all that was reported.
pub(crate) fn stopped(situation: &Situation<'_>, stop: &StopReport, cut: CutId) -> Stopped {
    let cut = situation.list.cut(cut);
    let not_begun = not_begun(situation, stop, cut);
    if not_begun.is_some() {
        return Stopped { not_begun, ..Stopped::default() };
    }
    let places = places(situation, stop, cut);
    let mut at_odds = Vec::new();
    if let Some((first, others)) = places.split_first() {
        for other in others {
            let apart = (first.along_mm - other.along_mm).abs();
            if apart > first.within_mm + other.within_mm {
                at_odds.push(format!(
                    "{} would put the stop {:.0} mm along, {} {:.0} mm",
                    first.why, first.along_mm, other.why, other.along_mm
                ));
            }
        }
    }
    Stopped { along: places.into_iter().next(), not_begun: None, at_odds }
}

/// Every place along the cut that something tells of, the surest first.
fn places(situation: &Situation<'_>, stop: &StopReport, cut: &Cut) -> Vec<StoppedAlong> {
    let length_mm = cut.path.length_mm();
    let along = stop.stopped_along.map(|along| StoppedAlong {
        along_mm: along.mm().clamp(0.0, length_mm),
        within_mm: TOLD_WITHIN_MM,
        why: "the distance told".to_owned(),
    });
    let kerf_mm = stop.kerf_to.map_or(0.0, Length::mm);
    let kerf_within_mm = stop.kerf_within.unwrap_or(StopReport::KERF_WITHIN).mm();
    let at = stop.at.and_then(|[x, y]| {
        let places = on_path(&cut.path, Point::new(x.mm(), y.mm()));
        // Where the path comes by twice: past the kerf's end.
        let past = places.into_iter().filter(|mm| *mm + TOLD_WITHIN_MM + kerf_within_mm >= kerf_mm);
        let along_mm =
            if stays_at_kerf_end(stop) { past.min_by(f64::total_cmp) } else { past.max_by(f64::total_cmp) };
        let why = "the place told".to_owned();
        along_mm.map(|along_mm| StoppedAlong { along_mm, within_mm: TOLD_WITHIN_MM, why })
    });
    let line = stop.line.and_then(|line| {
        let stretch = stretch_of_line(situation, cut, line)?;
        Some(StoppedAlong {
            along_mm: f64::midpoint(stretch.start, stretch.end),
            within_mm: (stretch.end - stretch.start) / 2.0 + TOLD_WITHIN_MM,
            why: format!("line {line}"),
        })
    });
    let time = stop.time.filter(|_| situation.earlier.is_none()).map(|time| {
        let off_s = time.s() * TIME_OFF.0 + TIME_OFF.1;
        let feed_mm_per_s = cut.feed_mm_per_min.unwrap_or(0.0) / 60.0;
        StoppedAlong {
            along_mm: cut.along_at_mm(time),
            within_mm: off_s * feed_mm_per_s,
            why: "the time told".to_owned(),
        }
    });
    [along, at, line, time].into_iter().flatten().collect()
}

/// Whether the torch stands where its kerf ends, as that was told: it was stopped while it cut, and did not run on.
fn stays_at_kerf_end(stop: &StopReport) -> bool {
    let stopped_cutting = matches!(
        stop.kind,
        Some(
            StopKind::ArcLost
                | StopKind::ByHand
                | StopKind::Struck
                | StopKind::ControlFroze
                | StopKind::PlateMoved
                | StopKind::WrongDatum
        )
    );
    stopped_cutting && stop.kerf_to.is_some()
}

/// The places of a path at which a point lies on it, in millimetres along it, rising; one for each time it comes by.
pub(crate) fn on_path(path: &Path<Program>, p: Point<Program>) -> Vec<f64> {
    let near: Vec<(f64, f64)> = path
        .curves()
        .iter()
        .enumerate()
        .map(|(nth, curve)| {
            let near = curve.nearest(p);
            (path.start_of_mm(nth) + near.along_mm, near.distance_mm)
        })
        .collect();
    let best = near.iter().map(|(_, distance)| *distance).fold(f64::INFINITY, f64::min);
    if best > OFF_PATH_MM {
        return Vec::new();
    }
    let mut places: Vec<f64> = Vec::new();
    for (along, _) in near.into_iter().filter(|(_, distance)| *distance <= best + SAME_PLACE_MM) {
        // Neighbouring curves meet in one place.
        if places.last().is_none_or(|last| along - last > 2.0 * OFF_PATH_MM) {
            places.push(along);
        }
    }
    places
}

/// The stretch of the cut's path that a line of the original cuts.
fn stretch_of_line(situation: &Situation<'_>, cut: &Cut, line: u32) -> Option<Range<f64>> {
    if situation.earlier.is_some_and(|earlier| !earlier.ran.is_empty()) {
        return None;
    }
    let block = line.checked_sub(1)?;
    let motions = situation.motions.motions();
    let own = cut.path_motions.iter().enumerate().filter(|(_, k)| motions[**k as usize].block == block);
    let mut stretches = own.map(|(nth, _)| cut.path.start_of_mm(nth)..cut.path.start_of_mm(nth + 1));
    let first = stretches.next()?;
    Some(stretches.fold(first, |all, next| all.start..next.end))
}

/// Why the torch was not lit yet at the stopped cut, if what was reported says so.
fn not_begun(situation: &Situation<'_>, stop: &StopReport, cut: &Cut) -> Option<String> {
    let may_be_between = matches!(
        stop.kind,
        Some(
            StopKind::ByHand
                | StopKind::Struck
                | StopKind::ControlFroze
                | StopKind::PlateMoved
                | StopKind::WrongDatum
        )
    );
    let kerf_told = stop.kerf_to.is_some() || stop.kerf_at.is_some() || stop.stopped_along.is_some();
    if !may_be_between || kerf_told || situation.earlier.is_some_and(|earlier| !earlier.ran.is_empty()) {
        return None;
    }
    let (line, block) = stop.line.and_then(|line| Some((line, line.checked_sub(1)?)))?;
    let (motions, events) = (situation.motions.motions(), situation.motions.events());
    let burns = motions[cut.burn.start as usize..cut.burn.end as usize].iter().any(|m| m.block == block);
    let last = cut.torch_off.map_or(events.len(), |off| off as usize + 1);
    let lit = events[cut.torch_on as usize..last].iter().any(|event| event.block == block);
    let approaches = motions[cut.restart.motion as usize..cut.burn.start as usize]
        .iter()
        .any(|motion| motion.block == block)
        || events[cut.restart.event as usize..cut.torch_on as usize].iter().any(|event| event.block == block);
    (approaches && !burns && !lit)
        .then(|| format!("line {line} stands on the way to cut {}, before its torch-on", cut.number()))
}
