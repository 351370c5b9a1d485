//! Where a path that cuts new metal meets older ground.

use super::super::ground::{Entry, Ground};
use super::super::meets::{Meet, meets};
use super::{
    AT_END_MM, Foot, LEAST_LOOP_MM, LEAST_STEP_MM, MEET_MM, Place, SLACK_MM, Tracer, Work, is_fresh,
};
use geometry::{Curve, Program};

/// How far past the first place at which a path comes near older ground a better one is looked for at least, in
/// millimetres; and as long as it stays near. A path that comes back along a smooth lead-in is near it before it meets
/// the contour's beginning, and the smoother the earlier. Not more than [`LEAST_LOOP_MM`], within which a path does not
/// meet itself.
const WINDOW_MM: f64 = 1.0;

/// How far that may go at most, in millimetres. A lead-in of radius 500 mm is within the tolerance of meeting for 7 mm.
const WINDOW_MOST_MM: f64 = 10.0;

/// Places whose gaps differ by less than this are equally good, in millimetres: some units of the last decimal of
/// common programs.
const SAME_GAP_MM: f64 = 0.01;

impl<S: Fn(u32) -> bool> Tracer<'_, S> {
    /// The place at which the path, fresh from `from` on, meets older ground, beyond `past` along it. Adds curves that
    /// meet none to the ground as it passes them.
    pub(super) fn next_meet(&self, from: Place, past: f64, work: &mut Work<'_>) -> Option<(Place, Foot)> {
        let mut laid = from;
        for curve in from.curve..self.path.curves().len() {
            let candidates = self.first_on(curve, past, work);
            if !candidates.is_empty() {
                let (end, foot) = self.best(candidates, work);
                self.lay(laid, end, work.ground);
                return Some((end, foot));
            }
            let end = Place { curve, along: self.path.curves()[curve].length_mm() };
            self.lay(laid, end, work.ground);
            laid = Place { curve: curve + 1, along: 0.0 };
        }
        None
    }

    /// Where curve `number` meets older ground first beyond `past`, and what follows within the largest window. The
    /// path up to that curve has been added to the ground.
    fn first_on(&self, number: usize, past: f64, work: &mut Work<'_>) -> Vec<Candidate> {
        if work.met.as_ref().is_none_or(|(known, _)| *known != number) {
            let mut met = self.meets_of(number, work);
            met.sort_by(|a, b| a.at.total_cmp(&b.at));
            work.met = Some((number, met));
        }
        let met = work.met.as_ref().map_or(&[][..], |(_, met)| met);
        let beyond = &met[met.partition_point(|candidate| candidate.at <= past + LEAST_STEP_MM)..];
        let most = beyond.first().map_or(0.0, |first| first.at + WINDOW_MOST_MM);
        beyond.iter().take_while(|candidate| candidate.at <= most).copied().collect()
    }

    /// The best place to meet older ground among `candidates`, which are sorted and not empty, and those on the curves
    /// that follow within the window.
    fn best(&self, mut candidates: Vec<Candidate>, work: &mut Work<'_>) -> (Place, Foot) {
        let first = candidates[0];
        let window = self.window(first, work);
        let following =
            (first.curve + 1..self.path.curves().len()).take_while(|k| self.path.start_of_mm(*k) <= window);
        for number in following {
            candidates.extend(self.meets_of(number, work));
        }
        let in_window = candidates.into_iter().filter(|candidate| candidate.at <= window);
        let best = in_window.fold(first, Candidate::better);
        (Place { curve: best.curve, along: best.along }, best.foot)
    }

    /// Up to where a better place than the first candidate is looked for, in millimetres along the path.
    fn window(&self, first: Candidate, work: &mut Work<'_>) -> f64 {
        let place = Place { curve: first.curve, along: first.along };
        let reach_mm = self.end_reach_mm.max(MEET_MM);
        let left = self.follow((place, first.foot), reach_mm, work, &mut Vec::new());
        let runs_along = left.map_or(f64::INFINITY, |(left, _)| self.mm(left)).min(first.at + WINDOW_MOST_MM);
        runs_along.max(first.at + WINDOW_MM)
    }

    /// All places at which a curve of the path meets older ground, in no order.
    fn meets_of(&self, number: usize, work: &mut Work<'_>) -> Vec<Candidate> {
        let mut candidates = Vec::new();
        let (curve, begins) = (&self.path.curves()[number], self.path.start_of_mm(number));
        let mut offer = |meet: Meet, owner: u32, k: usize, other_start: f64, other_end_mm: f64| {
            let (at, on) = (begins + meet.on, other_start + meet.other);
            if owner == self.owner && (at - on < LEAST_LOOP_MM || k > number) {
                return;
            }
            let at_end = meet.other <= AT_END_MM || other_end_mm - meet.other <= AT_END_MM;
            let foot = Foot { owner, at: on, gap: meet.gap };
            candidates.push(Candidate { curve: number, along: meet.on, at, foot, at_end });
        };
        if let Some(meet) = closes_itself(curve) {
            offer(meet, self.owner, number, begins, curve.length_mm());
        }
        let Work { ground, near, .. } = work;
        let reach_mm = MEET_MM + SLACK_MM;
        ground.near(curve, reach_mm + self.end_reach_mm, near);
        for id in near.iter() {
            let entry = ground.entry(*id);
            let reach_mm = match entry.owner == self.owner {
                true if only_joins(entry, number, curve) => continue,
                true => reach_mm,
                false if (self.sees)(entry.owner) => reach_mm + self.end_reach_mm,
                false => continue,
            };
            meets(curve, &entry.curve, reach_mm, |meet| {
                if is_fresh(entry, entry.start_mm + meet.other) {
                    offer(meet, entry.owner, entry.k as usize, entry.start_mm, entry.curve.length_mm());
                }
            });
        }
        candidates
    }

    /// Adds the curves from `from` to `to` to the ground.
    fn lay(&self, from: Place, to: Place, ground: &mut Ground) {
        for curve in from.curve..=to.curve.min(self.path.curves().len() - 1) {
            let starts = self.path.start_of_mm(curve);
            let low = if curve == from.curve { starts + from.along } else { starts };
            let high = if curve == to.curve { starts + to.along } else { self.path.start_of_mm(curve + 1) };
            if high > low {
                let k = u32::try_from(curve).expect("curves are counted in 32 bits");
                ground.add(Entry::new(self.owner, k, starts, (low, high), self.path.curves()[curve]));
            }
        }
    }
}

/// A place at which the path may meet older ground.
#[derive(Clone, Copy)]
pub(super) struct Candidate {
    curve: usize,
    along: f64,
    at: f64,
    foot: Foot,
    /// Whether the foot is an end of its curve, as the beginning of a contour nearly always is.
    at_end: bool,
}

impl Candidate {
    /// The better of two within one window: clearly the smaller gap, else an end of a curve, else the earlier.
    fn better(self, other: Self) -> Self {
        let (old, new) = (&self, &other);
        let replaces = if (old.foot.gap - new.foot.gap).abs() > SAME_GAP_MM {
            new.foot.gap < old.foot.gap
        } else if old.at_end == new.at_end {
            new.at < old.at
        } else {
            new.at_end
        };
        if replaces { other } else { self }
    }
}

/// Whether a curve is the straight one after a straight one: the two meet at their joint and nowhere else.
fn only_joins(entry: &Entry, number: usize, curve: &Curve<Program>) -> bool {
    let both_straight = matches!((curve, &entry.curve), (Curve::Segment(_), Curve::Segment(_)));
    both_straight && entry.k as usize + 1 == number
}

/// A full circle, or an arc so nearly full that its ends meet, closes by itself.
fn closes_itself(curve: &Curve<Program>) -> Option<Meet> {
    let Curve::Arc(arc) = curve else { return None };
    let gap = arc.from.distance(arc.to);
    let turns = arc.sweep_rad.abs() > std::f64::consts::PI;
    (turns && gap <= MEET_MM + SLACK_MM).then(|| Meet { on: arc.length_mm(), other: 0.0, gap })
}
