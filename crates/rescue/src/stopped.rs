//! How far along the stopped cut the torch stood, and whether it was cutting at all.

use crate::locate::block_of_line;
use crate::{Earlier, RanCut, Situation, StoppedAlong};
use cuts::{Cut, CutId};
use geometry::{Path, Point, Program as Frame, SAME_POINT_MM};
use nc::{Event, EventKind, Motions, Program, Start};
use proof::JoinStart;
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
pub(crate) fn on_path(path: &Path<Frame>, p: Point<Frame>) -> Vec<f64> {
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
    if let Some(earlier) = situation.earlier.filter(|earlier| !earlier.ran.is_empty()) {
        return Restarted::of(situation, earlier, cut)?.stretch_mm(line);
    }
    let block = line.checked_sub(1)?;
    let motions = situation.motions.motions();
    let own = cut.path_motions.iter().enumerate().filter(|(_, k)| motions[**k as usize].block == block);
    let mut stretches = own.map(|(nth, _)| cut.path.start_of_mm(nth)..cut.path.start_of_mm(nth + 1));
    let first = stretches.next()?;
    Some(stretches.fold(first, |all, next| all.start..next.end))
}

/// The line of the restart program that ran on which it cuts this place of a cut, or lights the torch for it; none if
/// that program's text is not at hand.
pub(crate) fn line_of_restart(situation: &Situation<'_>, cut: &Cut, along_mm: Option<f64>) -> Option<u32> {
    let restarted = Restarted::of(situation, situation.earlier?, cut)?;
    along_mm.and_then(|along_mm| restarted.line_at(along_mm)).or_else(|| restarted.torch_on_line())
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
    if !may_be_between || kerf_told {
        return None;
    }
    let on_the_way =
        |line: u32| format!("line {line} stands on the way to cut {}, before its torch-on", cut.number());
    if let Some(earlier) = situation.earlier.filter(|earlier| !earlier.ran.is_empty()) {
        let line = stop.line?;
        let is_before = Restarted::of(situation, earlier, cut)?.is_before_torch_on(line);
        return is_before.then(|| on_the_way(line));
    }
    let (line, block) = stop.line.and_then(|line| Some((line, block_of_line(situation, line)?)))?;
    let (motions, events) = (situation.motions.motions(), situation.motions.events());
    let burns = motions[cut.burn.start as usize..cut.burn.end as usize].iter().any(|m| m.block == block);
    let last = cut.torch_off.map_or(events.len(), |off| off as usize + 1);
    let lit = events[cut.torch_on as usize..last].iter().any(|event| event.block == block);
    let approaches = motions[cut.restart.motion as usize..cut.burn.start as usize]
        .iter()
        .any(|motion| motion.block == block)
        || events[cut.restart.event as usize..cut.torch_on as usize].iter().any(|event| event.block == block);
    (approaches && !burns && !lit).then(|| on_the_way(line))
}

/// A cut as the restart program that ran makes it, read from that program's text.
struct Restarted<'e> {
    ran: &'e RanCut,
    cut: &'e Cut,
    motions: Motions,
}

impl<'e> Restarted<'e> {
    /// None if the text is not at hand, or does not make the cut.
    fn of(situation: &Situation<'_>, earlier: &'e Earlier, cut: &'e Cut) -> Option<Self> {
        let ran = earlier.ran.iter().find(|ran| ran.cut == cut.id)?;
        let (program, _) = Program::parse(earlier.text.as_deref()?, situation.dialect);
        let (motions, _) = Motions::run(&program, situation.dialect, &Start::usual(situation.dialect));
        Some(Self { ran, cut, motions })
    }

    /// Its burning motions, each with its line.
    fn burn(&self) -> impl Iterator<Item = (usize, u32)> {
        let motions = self.motions.motions().iter().enumerate();
        let own = motions.filter(|(_, motion)| self.ran.lines.contains(&(motion.block + 1)));
        own.filter(|(_, motion)| self.motions.modal(motion.modal).torch)
            .map(|(k, motion)| (k, motion.block + 1))
    }

    /// The stretch of the cut's path that a line of it burns, counted along the burn from where the restart comes upon
    /// the path: so it does not matter where the plate lies.
    fn stretch_mm(&self, line: u32) -> Option<Range<f64>> {
        let join = self.ran.join.as_ref();
        let lead_mm = join.map_or(0.0, |ran| ran.lead.length_mm());
        let mut burnt_mm = 0.0;
        let mut stretch: Option<Range<f64>> = None;
        for (k, of) in self.burn() {
            let before_mm = burnt_mm;
            burnt_mm += self.motions.curve(k).length_mm();
            if of == line {
                let from_mm = stretch.map_or(before_mm, |stretch| stretch.start);
                stretch = Some(from_mm..burnt_mm);
            }
        }
        let on_path = |burnt_mm: f64| {
            let burnt_mm = (burnt_mm - lead_mm).max(0.0);
            let along_mm = match join.map(|ran| &ran.join) {
                Some(join) if join.start == JoinStart::Backwards => join.from_mm - burnt_mm,
                Some(join) => join.from_mm + burnt_mm,
                None => burnt_mm,
            };
            along_mm.clamp(0.0, self.cut.path.length_mm())
        };
        let (a, b) = stretch.map(|stretch| (on_path(stretch.start), on_path(stretch.end)))?;
        Some(a.min(b)..a.max(b))
    }

    /// The line that burns this place of the cut's path.
    fn line_at(&self, along_mm: f64) -> Option<u32> {
        let on_it = |line: &u32| {
            self.stretch_mm(*line).is_some_and(|stretch| {
                stretch.start - SAME_POINT_MM <= along_mm && along_mm <= stretch.end + SAME_POINT_MM
            })
        };
        self.burn().map(|(_, line)| line).find(on_it)
    }

    fn torch_on_line(&self) -> Option<u32> {
        let own = |event: &&Event| self.ran.lines.contains(&(event.block + 1));
        let lit = self.motions.events().iter().filter(own).find(|event| event.kind == EventKind::TorchOn)?;
        Some(lit.block + 1)
    }

    /// Whether a line of it comes before its torch is lit.
    fn is_before_torch_on(&self, line: u32) -> bool {
        let burns = self.burn().any(|(_, of)| of == line);
        self.ran.lines.contains(&line) && !burns && self.torch_on_line().is_some_and(|lit| line < lit)
    }
}
