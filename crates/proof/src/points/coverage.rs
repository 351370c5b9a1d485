//! Point 1: the promised path is cut, all of it and nothing else; every promised part comes free; nothing of a part
//! is cut.

mod lead_in;

use super::effect::KeptLeg;
use crate::grid::Grid;
use crate::nearness::strays_mm;
use crate::old_kerf::{is_deep_enough, merge, must_be_cut};
use crate::plate_edge::{self, before_edge_start, between_burns};
use crate::record::Record;
use crate::timeline::{Kerf, NEVER, OnPath, Timeline};
use crate::tolerance::{FINEST_MM, PATH_MM};
use crate::view::View;
use crate::{Case, Reason, reason};
use cuts::{CutId, Shape};
use geometry::{Bounds, Curve, Point, Program, SAME_POINT_MM};
use std::collections::BTreeSet;
use std::ops::Range;

/// What of the promised path and of the burns lies along its counterpart by itself, and what is still open.
#[derive(Debug, Default)]
pub(crate) struct Pairs {
    worst_mm: f64,
    /// Stretches of promised cuts without such a counterpart: which leg, and from where to where along its cut's path.
    open_path: Vec<(usize, Range<f64>)>,
    /// Burning motions without one: which leg, and which motion of the written program.
    open_burns: Vec<(usize, usize)>,
}

impl Pairs {
    /// Pairs every curve promised with the burning motion that stands for it, where motions correspond one to one.
    pub(crate) fn of(case: &Case<'_>, written: &View<'_>, kept: &[KeptLeg]) -> Self {
        let mut pairs = Self::default();
        for (n, leg) in kept.iter().enumerate() {
            pairs.leg(case, written, n, leg);
        }
        pairs
    }

    fn leg(&mut self, case: &Case<'_>, written: &View<'_>, n: usize, leg: &KeptLeg) {
        if leg.join.is_some() {
            self.open_path.extend(must_be_cut(case, leg.cut).into_iter().map(|stretch| (n, stretch)));
            self.open_burns.extend(leg.burn_on_path().filter(|k| written.travels(*k)).map(|k| (n, k)));
            return;
        }
        if leg.as_original && case.original.laid().is_path(leg.cut) {
            return;
        }
        let cut = case.original.list.cut(leg.cut);
        let (burn, begins) = (leg.written.burn(), leg.original.burn().start);
        let mut next = burn.start;
        for (nth, (curve, motion)) in cut.path.curves().iter().zip(&cut.path_motions).enumerate() {
            let counterpart = (*motion as usize).checked_sub(begins).map(|into| burn.start + into);
            let paired =
                counterpart.filter(|k| leg.one_to_one && next <= *k && *k < burn.end).and_then(|k| {
                    let off_mm = apart_mm(curve, &written.curve(k));
                    (off_mm <= PATH_MM).then_some((k, off_mm))
                });
            let Some((k, off_mm)) = paired else {
                self.open_path.push((n, cut.path.start_of_mm(nth)..cut.path.start_of_mm(nth + 1)));
                continue;
            };
            self.worst_mm = self.worst_mm.max(off_mm);
            self.open_burns.extend((next..k).filter(|k| written.travels(*k)).map(|k| (n, k)));
            next = k + 1;
        }
        self.open_burns.extend((next..burn.end).filter(|k| written.travels(*k)).map(|k| (n, k)));
    }
}

/// A bound on how far either of two curves strays from the other.
fn apart_mm(a: &Curve<Program>, b: &Curve<Program>) -> f64 {
    if let (Curve::Segment(a), Curve::Segment(b)) = (a, b) {
        // Points at the same share of the way lie no farther apart than the ends do.
        return near_mm(a.from, b.from).max(near_mm(a.to, b.to));
    }
    strays_mm(a, b).max(strays_mm(b, a))
}

/// Distance without the care for overflow that coordinates of a table do not need.
fn near_mm(a: Point<Program>, b: Point<Program>) -> f64 {
    let (dx, dy) = (a.x - b.x, a.y - b.y);
    (dx * dx + dy * dy).sqrt()
}

/// Holds the path promised and the path cut against each other, both ways, and looks at what comes free.
///
/// # Errors
/// Point 1.
pub(crate) fn complete(
    case: &Case<'_>,
    written: &View<'_>,
    kept: &[KeptLeg],
    timeline: &Timeline,
    pairs: &Pairs,
    record: &mut Record,
) -> Result<(), Reason> {
    let covered = covered(case, written, kept, timeline, pairs)?;
    record.figure("distance of the promised path from what is cut", covered, PATH_MM, "mm");
    let within = within_promise(case, written, kept, pairs)?;
    record.figure("distance of what is cut from the promised path", within, PATH_MM, "mm");
    parts_free(case, timeline, record)?;
    plate_edge::within_tolerance(case, written, kept, record)?;
    craters_clear(case, written, kept, timeline, record)?;
    lead_in::clear(case, written, kept, timeline, record)
}

/// Every point of the promised path lies near a centre line that is cut; gives the worst distance.
fn covered(
    case: &Case<'_>,
    written: &View<'_>,
    kept: &[KeptLeg],
    timeline: &Timeline,
    pairs: &Pairs,
) -> Result<f64, Reason> {
    let mut worst = pairs.worst_mm;
    let mut made = if pairs.open_path.is_empty() { Vec::new() } else { made_of(case) };
    for cut in in_joins(case) {
        let of_cut = &mut made[cut.0 as usize];
        let beyond = [between_burns(case, cut), before_edge_start(case, cut)];
        of_cut.extend(beyond.into_iter().flatten().map(|beyond| beyond.sure_mm));
        merge(of_cut, SAME_POINT_MM);
    }
    for (n, asked) in &pairs.open_path {
        let leg = &kept[*n];
        let cut = case.original.list.cut(leg.cut);
        let marks = cut.is_mark;
        for stretch in left_of(&made[leg.cut.0 as usize], asked.clone()) {
            for needed in cut.path.piece(stretch.start, stretch.end).curves() {
                let Some(off_mm) = cover(timeline, needed, marks) else {
                    let at = needed.from();
                    let message = format!(
                        "cut {}: part of its promised path, from about X{:.1} Y{:.1}, is not cut{}",
                        cut.number(),
                        at.x,
                        at.y,
                        surely_made(leg)
                    );
                    return Err(reason(1, message, written.event_span(leg.written.on as usize)));
                };
                worst = worst.max(off_mm);
            }
        }
    }
    Ok(worst)
}

/// The cuts that are not begun at their own pierce, each once.
fn in_joins(case: &Case<'_>) -> BTreeSet<CutId> {
    case.promise.joins.iter().map(|join| join.cut).collect()
}

/// What of a joined cut is known to be made, for the refusal.
fn surely_made(leg: &KeptLeg) -> String {
    let Some(join) = &leg.join else { return String::new() };
    let sure: Vec<String> =
        join.old.sure.iter().map(|sure| format!("{:.1} to {:.1} mm", sure.start, sure.end)).collect();
    match &sure[..] {
        [] => "; nothing of its old kerf is sure".to_owned(),
        sure => format!("; its old kerf is surely there from {} along it", sure.join(", ")),
    }
}

/// Everything cut lies near the promised path; gives the worst distance.
fn within_promise(
    case: &Case<'_>,
    written: &View<'_>,
    kept: &[KeptLeg],
    pairs: &Pairs,
) -> Result<f64, Reason> {
    let mut worst = pairs.worst_mm;
    if pairs.open_burns.is_empty() {
        return Ok(worst);
    }
    let open = pairs.open_burns.iter().map(|(_, k)| written.curve(*k).bounds()).reduce(Bounds::union);
    let (grid, curves) = promised_path(case, open);
    for (n, k) in &pairs.open_burns {
        let near: &Near<'_> =
            &|bounds, see| grid.near(bounds, PATH_MM, |number| see(&curves[number as usize]));
        let Some(off_mm) = cover_by(&written.curve(*k), near) else {
            let message = format!("cut {}: this cuts where nothing is promised", kept[*n].cut.number());
            return Err(reason(1, message, written.span(*k)));
        };
        worst = worst.max(off_mm);
    }
    Ok(worst)
}

/// The promised path, without cuts that stay clear of `open`.
fn promised_path(case: &Case<'_>, open: Option<Bounds<Program>>) -> (Grid, Vec<Curve<Program>>) {
    let laid = case.original.laid();
    let is_near = |cut: &&CutId| match (open, laid.bounds(**cut).filter(|_| laid.is_path(**cut))) {
        (Some(open), Some(bounds)) => open.grown(2.0 * PATH_MM).meets(&bounds),
        _ => true,
    };
    let cuts = case.promise.cuts.iter().filter(is_near);
    let curves: Vec<_> =
        cuts.flat_map(|cut| case.original.list.cut(*cut).path.curves().iter().copied()).collect();
    (Grid::of_curves(&curves.iter()), curves)
}

/// Stretches of each cut that are surely made, as deep as the cut is meant to be, sorted.
fn made_of(case: &Case<'_>) -> Vec<Vec<Range<f64>>> {
    let mut made: Vec<Vec<Range<f64>>> = vec![Vec::new(); case.original.list.cuts.len()];
    for stretch in case.progress.made.iter().filter(|made| is_deep_enough(case, made)) {
        made[stretch.cut.0 as usize].extend(stretch.surely_mm());
    }
    made.iter_mut().for_each(|stretches| merge(stretches, SAME_POINT_MM));
    made
}

/// What of `asked` no stretch of `made` covers; `made` is sorted.
fn left_of(made: &[Range<f64>], asked: Range<f64>) -> Vec<Range<f64>> {
    let mut left = Vec::new();
    let mut from = asked.start;
    for stretch in made {
        if stretch.start > from + SAME_POINT_MM {
            left.push(from..stretch.start.min(asked.end));
        }
        from = from.max(stretch.end);
        if from >= asked.end {
            break;
        }
    }
    if from < asked.end - SAME_POINT_MM || (made.is_empty() && from <= asked.end) {
        left.push(from..asked.end);
    }
    left.retain(|stretch| stretch.start < stretch.end);
    left
}

/// The worst distance of `curve` from the kerfs of the timeline that are surely there, and through unless it only
/// marks; none if a point of it is farther than [`PATH_MM`].
fn cover(timeline: &Timeline, curve: &Curve<Program>, marks: bool) -> Option<f64> {
    let near: &Near<'_> = &|bounds, see| {
        timeline.near(bounds, PATH_MM, |_, kerf| {
            if kerf.sure && (kerf.through || marks) {
                see(kerf.curve);
            }
        });
    };
    cover_by(curve, near)
}

/// Gives every curve that may lie near a box, some more than once.
type Near<'a> = dyn Fn(Bounds<Program>, &mut dyn FnMut(&Curve<Program>)) + 'a;

/// The worst distance of `curve` from other curves, each stretch from the one it runs along; none if some of it lies
/// farther than [`PATH_MM`] from all.
///
/// Halves what no single curve covers until it is shorter than [`FINEST_MM`].
fn cover_by(curve: &Curve<Program>, near: &Near<'_>) -> Option<f64> {
    let mut worst: f64 = 0.0;
    let mut open = vec![*curve];
    while let Some(piece) = open.pop() {
        let mut least = f64::INFINITY;
        let length = piece.length_mm();
        let ends = Bounds::around([piece.from(), piece.to()])?;
        // Whatever covers all of the piece passes within reach of its beginning.
        near(Bounds { min: piece.from(), max: piece.from() }, &mut |other| {
            least = least.min(strays_mm(&piece, other));
        });
        if least <= PATH_MM {
            worst = worst.max(least);
        } else if length < FINEST_MM {
            let mut distance = f64::INFINITY;
            let middle = piece.point_at(length / 2.0);
            near(ends, &mut |other| distance = distance.min(other.nearest(middle).distance_mm));
            if distance > PATH_MM {
                return None;
            }
            worst = worst.max(distance);
        } else {
            open.push(piece.piece(length / 2.0, length));
            open.push(piece.piece(0.0, length / 2.0));
        }
    }
    Some(worst)
}

/// Every part that is not given up comes free: its outline closes and is cut through.
fn parts_free(case: &Case<'_>, timeline: &Timeline, record: &mut Record) -> Result<(), Reason> {
    let closes_mm = case.ground.kerf.mm() / 2.0;
    let mut worst: f64 = 0.0;
    for part in &case.original.list.parts {
        if case.promise.given_up.contains(&part.id) {
            continue;
        }
        let outline = case.original.list.contour(part.outline);
        worst = worst.max(outline.gap_mm);
        if timeline.loose_at(part.outline) == NEVER || outline.gap_mm > closes_mm {
            let number = part.id.number();
            return Err(reason(
                1,
                format!("part {number} does not come free: its outline is not closed"),
                None,
            ));
        }
    }
    record.figure("gap that the kerf closes in an outline", worst, closes_mm, "mm");
    Ok(())
}

/// No crater reaches into a part.
fn craters_clear(
    case: &Case<'_>,
    written: &View<'_>,
    kept: &[KeptLeg],
    timeline: &Timeline,
    record: &mut Record,
) -> Result<(), Reason> {
    let mut worst: f64 = 0.0;
    for leg in kept.iter().filter(|leg| !leg.on_edge()) {
        let crater_mm = super::starts::crater_mm(case, leg.cut);
        let at = written.from(leg.written.on_at.motion as usize);
        let refuse = |message: String| Err(reason(1, message, written.event_span(leg.written.on as usize)));
        let reaches = reaches_into_part_mm(case, timeline, at, crater_mm);
        if reaches > PATH_MM {
            let number = leg.cut.number();
            return refuse(format!("cut {number}: the crater reaches {reaches:.2} mm into a part"));
        }
        worst = worst.max(reaches);
        if let Some(part) = pierced_part(case, timeline, leg.cut, at) {
            return refuse(format!("cut {}: the pierce lies in part {part}", leg.cut.number()));
        }
    }
    record.figure("reach of a crater into a part", worst, PATH_MM, "mm");
    Ok(())
}

/// How far a crater about `at` passes the part's edge, half a kerf beyond the centre line of a contour near by.
fn reaches_into_part_mm(case: &Case<'_>, timeline: &Timeline, at: Point<Program>, crater_mm: f64) -> f64 {
    let half_kerf = case.ground.kerf.mm() / 2.0;
    let reach = (crater_mm - half_kerf).max(0.0);
    let mut nearest = f64::INFINITY;
    timeline.near(Bounds { min: at, max: at }, reach, |_, kerf| {
        if kerf.curve.nearest(at).distance_mm < reach.min(nearest) {
            for (from, to) in bounding_stretches(case, &kerf) {
                if to > 0.0 && from < kerf.curve.length_mm() {
                    let distance = kerf.curve.piece(from, to).nearest(at).distance_mm;
                    nearest = nearest.min(distance);
                }
            }
        }
    });
    (reach - nearest).max(0.0)
}

/// The stretches of a kerf that bound parts (closed contours, without lead-in and lead-out), in millimetres along it;
/// they may reach beyond its ends.
fn bounding_stretches<'c>(case: &'c Case<'_>, kerf: &'c Kerf<'_>) -> impl Iterator<Item = (f64, f64)> + 'c {
    let contours = kerf.cut.into_iter().flat_map(|cut| &case.original.list.cut(cut).contours);
    let bounding = contours
        .map(|id| case.original.list.contour(*id))
        .filter(|contour| matches!(contour.shape, Shape::Outline | Shape::Hole));
    bounding.filter_map(|contour| match kerf.on_path {
        OnPath::With(at_mm) => Some((contour.along_mm.start - at_mm, contour.along_mm.end - at_mm)),
        OnPath::Against(at_mm) => Some((at_mm - contour.along_mm.end, at_mm - contour.along_mm.start)),
        OnPath::Off => None,
    })
}

/// Number of the part in whose metal the pierce lies. Slots and marks are pierced in the part, as is meant.
fn pierced_part(case: &Case<'_>, timeline: &Timeline, cut: CutId, at: Point<Program>) -> Option<u32> {
    let contours = &case.original.list.cut(cut).contours;
    let closed =
        |id: &cuts::ContourId| matches!(case.original.list.contour(*id).shape, Shape::Outline | Shape::Hole);
    if !contours.first().is_some_and(closed) {
        return None;
    }
    let around = timeline.around(case, at, |_| true);
    let innermost = around.into_iter().max_by_key(|id| (case.original.list.contour(*id).depth, *id))?;
    let contour = case.original.list.contour(innermost);
    let part = contour.part.filter(|_| contour.shape == Shape::Outline)?;
    (!case.promise.given_up.contains(&part)).then(|| part.number())
}

#[cfg(test)]
mod tests;
