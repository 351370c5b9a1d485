//! In which of its two burns a cut stopped that the program which ran makes in two.

use crate::stopped::on_path;
use crate::{Earlier, NoSuchStop, RanCut, RanJoin, Situation};
use cuts::{Cut, CutId, Depth, Made, Stray};
use geometry::Point;
use proof::JoinStart;
use shop::{StopKind, StopReport};
use units::Length;

/// How much nearer the torch stood to the one place than to the other for a start that failed to be told, in millimetres: a
/// torch set down by eye is good to 1 mm on either side (common practice), doubled.
const NEARER_MM: f64 = 4.0;

/// What earlier rescues left if the program that ran made no cut in two burns: the first burns of those that were over are
/// made, and of the stopped cut only the burn is left at which it stopped. None if there is no such cut.
///
/// # Errors
/// If the report does not tell in which of its burns the cut stopped.
pub(crate) fn in_one_burn(
    situation: &Situation<'_>,
    stop: &StopReport,
    cut: CutId,
) -> Result<Option<Earlier>, NoSuchStop> {
    let Some(earlier) = situation.earlier else { return Ok(None) };
    let Some(first) = first_of_two(&earlier.ran, 0) else { return Ok(None) };
    let mut left = earlier.clone();
    let mut next = Some(first);
    while let Some(first) = next {
        let second = first + 1;
        let is_stopped = left.ran[first].cut == cut;
        let stops_in_first = is_stopped && stopped_in_first(situation, stop, &left.ran[first..=second])?;
        let over = left.ran.remove(if stops_in_first { second } else { first });
        let comes_later = left.ran[..first].iter().any(|ran| ran.cut == cut);
        if let Some(ran) = over.join.filter(|_| !stops_in_first && !comes_later) {
            made(&mut left, situation, &ran);
            left_out(&mut left, &ran, first);
        }
        next = first_of_two(&left.ran, first);
    }
    Ok(Some(left))
}

/// The first of two burns of one cut, from the run with this number on.
fn first_of_two(ran: &[RanCut], from: usize) -> Option<usize> {
    (from..ran.len().saturating_sub(1)).find(|k| ran[*k].cut == ran[k + 1].cut)
}

/// What a burn that is over has left.
fn made(left: &mut Earlier, situation: &Situation<'_>, ran: &RanJoin) {
    left.progress.made.push(Made::through(ran.join.cut, ran.join.burns_mm()));
    if ran.join.start == JoinStart::FreshPierce {
        let crater_mm = situation.ground.crater_radius.unwrap_or(situation.ground.kerf).mm();
        let stray = Stray { at: ran.lit, crater_mm, path: ran.lead.clone(), depth: Depth::Through };
        left.progress.strays.push(stray);
    }
}

/// What lies between a burn that is over and the second, which stands at `second` by now: nothing is left to cut there, since the
/// program that ran was proven without it. It is an old kerf, or lies past the plate's edge.
fn left_out(left: &mut Earlier, ran: &RanJoin, second: usize) {
    let begins = left.ran[second].join.as_ref().map(|second| second.join.burns_mm().start);
    if let Some(begins_mm) = begins.filter(|begins_mm| *begins_mm > ran.join.until_mm) {
        left.progress.made.push(Made::through(ran.join.cut, ran.join.until_mm..begins_mm));
    }
}

/// Whether the stop lies in the first of two burns: by the line, by where the kerf ends, by where the torch stood.
fn stopped_in_first(
    situation: &Situation<'_>,
    stop: &StopReport,
    burns: &[RanCut],
) -> Result<bool, NoSuchStop> {
    let (first, second) = (&burns[0], &burns[1]);
    let cut = situation.list.cut(first.cut);
    let by_line =
        stop.line.and_then(|line| match (first.lines.contains(&line), second.lines.contains(&line)) {
            (true, false) => Some(true),
            (false, true) => Some(false),
            _ => None,
        });
    let found = match stop.kind {
        None | Some(StopKind::NoTransfer | StopKind::NoMotion) => {
            by_line.or_else(|| by_start(stop, first, second))
        }
        // The arc may have gone out long before the torch stopped: its kerf tells.
        Some(StopKind::RanDry | StopKind::NotThrough | StopKind::BadCut) => by_kerf(stop, cut, first),
        _ => by_line.or_else(|| by_kerf(stop, cut, first)).or_else(|| by_place(stop, cut, first)),
    };
    found.ok_or_else(|| NoSuchStop {
        message: format!(
            "the program that ran makes cut {} in two burns, and what was told does not say in which of them it stopped: \
             give `line`, `kerf_to` (how far along the cut it is through) or `at` (the place)",
            cut.number()
        ),
        candidates: vec![cut.number()],
    })
}

/// By which of the two starts the torch stood.
fn by_start(stop: &StopReport, first: &RanCut, second: &RanCut) -> Option<bool> {
    let [x, y] = stop.at?;
    let at = Point::new(x.mm(), y.mm());
    let (one, other) = (first.join.as_ref()?.lit.distance(at), second.join.as_ref()?.lit.distance(at));
    ((one - other).abs() > NEARER_MM).then_some(one < other)
}

/// By where the kerf ends. Within what that may be off by from where the first burn ends it is the first: all but what it has
/// burnt is then still to be cut, whichever it was.
fn by_kerf(stop: &StopReport, cut: &Cut, first: &RanCut) -> Option<bool> {
    let within_mm = stop.kerf_within.unwrap_or(StopReport::KERF_WITHIN).mm();
    let at = |[x, y]: [Length; 2]| on_path(&cut.path, Point::new(x.mm(), y.mm()));
    let ends_mm = match (stop.kerf_to, stop.kerf_at) {
        (Some(to), _) => vec![to.mm()],
        (None, Some(place)) => at(place),
        (None, None) => return None,
    };
    all_alike(ends_mm.iter().map(|mm| *mm <= until_mm(first) + within_mm))
}

/// By where the torch stood on the path.
fn by_place(stop: &StopReport, cut: &Cut, first: &RanCut) -> Option<bool> {
    let within_mm = StopReport::KERF_WITHIN.mm();
    let told = stop.stopped_along.map(|along| vec![along.mm()]);
    let places = told.or_else(|| stop.at.map(|[x, y]| on_path(&cut.path, Point::new(x.mm(), y.mm()))))?;
    let ends_mm = until_mm(first);
    let is_first = |mm: &f64| match mm - ends_mm {
        past if past > within_mm => Some(false),
        past if past < -within_mm => Some(true),
        _ => None,
    };
    let found: Option<Vec<bool>> = places.iter().map(is_first).collect();
    all_alike(found?.into_iter())
}

fn until_mm(first: &RanCut) -> f64 {
    first.join.as_ref().map_or(0.0, |ran| ran.join.until_mm)
}

fn all_alike(mut found: impl Iterator<Item = bool>) -> Option<bool> {
    let first = found.next()?;
    found.all(|other| other == first).then_some(first)
}
