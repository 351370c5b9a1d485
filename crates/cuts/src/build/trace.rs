//! Where a path cuts new metal and where it runs over ground that is cut already.
//!
//! A path begins in metal at the pierce. It may run into ground cut before (its own beginning, when it closes; an
//! earlier cut, at a shared edge), run along it for a while (overlap), leave it again (lead-out, or the way to the next
//! contour of a chain). What cuts new metal are its *fresh* stretches; each begins and ends free, in metal, or with a
//! foot on older ground. Faces are then made of fresh stretches alone.

use super::ground::{Entry, Ground};
use super::meets::{Meet, meets, stays_near, stays_near_all};
use geometry::{Curve, Path, Program};
use std::ops::Range;

/// How near a path must come to older ground to meet it, in millimetres. Programs close their contours within rounding;
/// 0.05 mm is as exact as a plasma table moves, and small against any kerf. Larger, and a lead-in that joins its
/// contour smoothly would meet it visibly too early; smaller, and contours that inch programs or splines close badly
/// would stay open.
pub(crate) const MEET_MM: f64 = 0.05;

/// Rounding slack on top of [`MEET_MM`], in millimetres: a gap of exactly the tolerance counts as closed.
const SLACK_MM: f64 = 1e-3;

/// A path meets itself only after at least this length, in millimetres: shorter returns are corners, dots of a dense
/// polyline, or noise; no torch can cut round so small a loop.
const LEAST_LOOP_MM: f64 = 1.0;

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

/// A place this near to an end of a curve, in millimetres along it, is that end.
const AT_END_MM: f64 = 1e-3;

/// A fresh stretch between two feet that is shorter than this, in millimetres, is rounding between two stretches of
/// old ground.
pub(crate) const LEAST_FRESH_MM: f64 = 0.2;

/// A path that leaves older ground within this of where it met it, in millimetres along it, only crosses it.
const CROSSING_MM: f64 = 0.2;

/// Progress along old ground smaller than this, in millimetres, is none.
const LEAST_STEP_MM: f64 = 1e-3;

/// A place on older ground.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Foot {
    /// The cut it belongs to.
    pub(crate) owner: u32,
    /// How far along that cut's path, in millimetres.
    pub(crate) at: f64,
    /// How far it is from the path, in millimetres.
    pub(crate) gap: f64,
}

/// A stretch of a path that cuts new metal.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Fresh {
    /// From where to where along the path, in millimetres.
    pub(crate) along: Range<f64>,
    /// Where it leaves older ground; none if it begins in metal.
    pub(crate) from: Option<Foot>,
    /// Where it meets older ground; none if it ends in metal.
    pub(crate) to: Option<Foot>,
}

/// A stretch of a path that runs along older ground.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Over {
    /// From where to where along the path, in millimetres.
    pub(crate) along: Range<f64>,
    /// Whose ground it is.
    pub(crate) owner: u32,
    /// Where along that cut's path it begins and ends, in millimetres; the end before the beginning if it runs the
    /// other way.
    pub(crate) at: (f64, f64),
}

impl Over {
    /// Takes in `next` if it continues this one on both paths.
    fn absorbs(&mut self, next: &Self) -> bool {
        let same_way = (self.at.1 - self.at.0) * (next.at.1 - next.at.0) > 0.0;
        let joins = (next.along.start - self.along.end).abs() <= AT_END_MM
            && (next.at.0 - self.at.1).abs() <= MEET_MM;
        let absorbs = self.owner == next.owner && same_way && joins;
        if absorbs {
            (self.along.end, self.at.1) = (next.along.end, next.at.1);
        }
        absorbs
    }
}

/// What a path does: where it cuts new metal, and where it runs along older ground.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Trace {
    pub(crate) fresh: Vec<Fresh>,
    pub(crate) over: Vec<Over>,
}

/// A path that ends this many times nearer to its own beginning than it is long from there has come back to it; one
/// that only just went on from there has not.
const WAY_BACK: f64 = 6.0;

/// Whose path is traced, and how near its ends must come to older ground to meet it.
pub(crate) struct Tracer<'a, S> {
    pub(crate) owner: u32,
    pub(crate) path: &'a Path<Program>,
    /// Half a kerf: the kerf closes such a gap at the end of a path.
    pub(crate) end_reach_mm: f64,
    /// Whether the ground of another cut counts.
    pub(crate) sees: S,
}

/// A place along the path: the curve, and how far along it.
#[derive(Clone, Copy)]
struct Place {
    curve: usize,
    along: f64,
}

impl<S: Fn(u32) -> bool> Tracer<'_, S> {
    /// What the path does, in order; adds what it cuts to `ground`.
    pub(crate) fn trace(&self, ground: &mut Ground) -> Trace {
        let mut found = Trace::default();
        let mut scratch = Vec::new();
        let begins = self.begin(ground, &mut scratch, &mut found.over);
        let Some((mut place, mut from)) = begins else { return found };
        // Past which no meeting is the one just left.
        let mut past = self.mm(place);
        loop {
            let start = self.mm(place);
            let Some((end, to)) = self.next_meet(place, past, ground, &mut scratch) else {
                let is_first = found.fresh.is_empty();
                found.fresh.push(self.ends_free(start, from, ground, &mut scratch, is_first));
                return found;
            };
            if self.mm(end) - start >= LEAST_FRESH_MM || from.is_none() {
                found.fresh.push(Fresh { along: start..self.mm(end), from, to: Some(to) });
            }
            let left = self.follow((end, to), MEET_MM, ground, &mut scratch, &mut found.over);
            let Some((left, foot)) = left else { return found };
            past = self.mm(left);
            let only_crosses = past - self.mm(end) <= CROSSING_MM;
            (place, from) = if only_crosses { (end, Some(to)) } else { (left, Some(foot)) };
        }
    }

    fn mm(&self, place: Place) -> f64 {
        self.path.start_of_mm(place.curve) + place.along
    }

    /// Where the path first cuts new metal, and its foot if it begins on or beside another cut; none if nowhere.
    fn begin(
        &self,
        ground: &mut Ground,
        scratch: &mut Vec<u32>,
        over: &mut Vec<Over>,
    ) -> Option<(Place, Option<Foot>)> {
        let first = self.path.curves().first()?;
        let start = Place { curve: 0, along: 0.0 };
        let point = Curve::line(first.from(), first.from());
        let foot = self.foot(&point, 0.0, self.end_reach_mm + MEET_MM, ground, scratch, |_| false);
        match foot {
            Some(foot) if foot.gap <= MEET_MM => {
                let left = self.follow((start, foot), MEET_MM, ground, scratch, over);
                left.map(|(place, foot)| (place, Some(foot)))
            }
            foot => Some((start, foot)),
        }
    }

    /// The nearest ground to the point `at` along the path, no farther than `reach_mm`: others', and its own where
    /// `own` says so for a place along it.
    fn foot(
        &self,
        point: &Curve<Program>,
        at: f64,
        reach_mm: f64,
        ground: &mut Ground,
        scratch: &mut Vec<u32>,
        own: impl Fn(f64) -> bool,
    ) -> Option<Foot> {
        ground.near(point, reach_mm, scratch);
        let feet = scratch.iter().filter_map(|id| {
            let entry = ground.entry(*id);
            let near = entry.curve.nearest(point.from());
            let foot = Foot { owner: entry.owner, at: entry.start_mm + near.along_mm, gap: near.distance_mm };
            let counts = if entry.owner == self.owner {
                at - foot.at >= LEAST_LOOP_MM.max(WAY_BACK * reach_mm) && own(foot.at)
            } else {
                (self.sees)(entry.owner)
            };
            (counts && foot.gap <= reach_mm + SLACK_MM && is_fresh(entry, foot.at)).then_some(foot)
        });
        feet.min_by(|a, b| a.gap.total_cmp(&b.gap))
    }

    /// The place at which the path, fresh from `from` on, meets older ground, beyond `past` along it. Adds curves that
    /// meet none to `ground` as it passes them.
    fn next_meet(
        &self,
        from: Place,
        past: f64,
        ground: &mut Ground,
        scratch: &mut Vec<u32>,
    ) -> Option<(Place, Foot)> {
        let mut candidates: Vec<Candidate> = Vec::new();
        let mut window = f64::INFINITY;
        let mut laid = from;
        for curve in from.curve..self.path.curves().len() {
            if self.path.start_of_mm(curve) > window {
                break;
            }
            let known = candidates.len();
            self.meets_of(curve, past, ground, scratch, |candidate| candidates.push(candidate));
            if candidates.is_empty() {
                let end = Place { curve, along: self.path.curves()[curve].length_mm() };
                self.lay(laid, end, ground);
                laid = Place { curve: curve + 1, along: 0.0 };
            } else if known == 0 {
                window = self.window(&candidates, ground, scratch);
            }
        }
        let in_window = candidates.into_iter().filter(|candidate| candidate.at <= window);
        let best = in_window.reduce(Candidate::better)?;
        let end = Place { curve: best.curve, along: best.along };
        self.lay(laid, end, ground);
        Some((end, best.foot))
    }

    /// Up to where a better place than the first of `candidates` is looked for, in millimetres along the path.
    fn window(&self, candidates: &[Candidate], ground: &mut Ground, scratch: &mut Vec<u32>) -> f64 {
        let Some(first) = candidates.iter().min_by(|a, b| a.at.total_cmp(&b.at)) else {
            return f64::INFINITY;
        };
        let place = Place { curve: first.curve, along: first.along };
        let reach_mm = self.end_reach_mm.max(MEET_MM);
        let left = self.follow((place, first.foot), reach_mm, ground, scratch, &mut Vec::new());
        let runs_along = left.map_or(f64::INFINITY, |(left, _)| self.mm(left)).min(first.at + WINDOW_MOST_MM);
        runs_along.max(first.at + WINDOW_MM)
    }

    fn meets_of(
        &self,
        number: usize,
        past: f64,
        ground: &mut Ground,
        scratch: &mut Vec<u32>,
        mut found: impl FnMut(Candidate),
    ) {
        let (curve, begins) = (&self.path.curves()[number], self.path.start_of_mm(number));
        let mut offer = |meet: Meet, owner: u32, k: usize, other_start: f64, other_end_mm: f64| {
            let (at, on) = (begins + meet.on, other_start + meet.other);
            let own_too_near = owner == self.owner && (at - on < LEAST_LOOP_MM || k > number);
            if at <= past + LEAST_STEP_MM || own_too_near {
                return;
            }
            let at_end = meet.other <= AT_END_MM || other_end_mm - meet.other <= AT_END_MM;
            let foot = Foot { owner, at: on, gap: meet.gap };
            found(Candidate { curve: number, along: meet.on, at, foot, at_end });
        };
        if let Some(meet) = closes_itself(curve) {
            offer(meet, self.owner, number, begins, curve.length_mm());
        }
        let reach_mm = MEET_MM + SLACK_MM;
        ground.near(curve, reach_mm + self.end_reach_mm, scratch);
        for id in scratch.iter() {
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
    }

    /// Follows the path along old ground from a place and its foot: where it is farther from it than `reach_mm`, or
    /// none if it ends before. Tells what it runs `over`.
    fn follow(
        &self,
        (mut place, mut foot): (Place, Foot),
        reach_mm: f64,
        ground: &mut Ground,
        scratch: &mut Vec<u32>,
        over: &mut Vec<Over>,
    ) -> Option<(Place, Foot)> {
        while let Some(curve) = self.path.curves().get(place.curve) {
            let length = curve.length_mm();
            let mut farthest = place.along;
            if length - place.along > LEAST_STEP_MM {
                if let Some((to, [from, on])) = self.runs_along(place, reach_mm + SLACK_MM, ground, scratch) {
                    let along = self.mm(place)..self.mm(Place { along: to, ..place });
                    let next = Over { along, owner: on.owner, at: (from.at, on.at) };
                    if !over.last_mut().is_some_and(|last| last.absorbs(&next)) {
                        over.push(next);
                    }
                    (farthest, foot) = (to, on);
                }
                if farthest - place.along <= LEAST_STEP_MM {
                    return Some((place, foot));
                }
            }
            place = if length - farthest > LEAST_STEP_MM {
                Place { along: farthest, ..place }
            } else {
                Place { curve: place.curve + 1, along: 0.0 }
            };
        }
        None
    }

    /// How far the curve at `place` runs on within `reach_mm` of one curve of older ground, and its feet here and there;
    /// none if no older ground is so near.
    fn runs_along(
        &self,
        place: Place,
        reach_mm: f64,
        ground: &mut Ground,
        scratch: &mut Vec<u32>,
    ) -> Option<(f64, [Foot; 2])> {
        let curve = &self.path.curves()[place.curve];
        let here = curve.point_at(place.along);
        ground.near(&Curve::line(here, here), reach_mm, scratch);
        let is_near = |id: &u32| {
            let entry = ground.entry(*id);
            let near = entry.curve.nearest(here);
            let counts = if entry.owner == self.owner {
                self.mm(place) - (entry.start_mm + near.along_mm) >= LEAST_LOOP_MM
            } else {
                (self.sees)(entry.owner)
            };
            counts && near.distance_mm <= reach_mm
        };
        scratch.retain(is_near);
        let feet = |id: u32, to: f64| {
            let entry = ground.entry(id);
            let along = |p| entry.start_mm + entry.curve.nearest(p).along_mm;
            [along(here), along(curve.point_at(to))].map(|at| Foot { owner: entry.owner, at, gap: 0.0 })
        };
        let length = curve.length_mm();
        let whole = |id: &&u32| stays_near_all(curve, place.along, &ground.entry(**id).curve, reach_mm);
        if let Some(id) = scratch.iter().find(whole) {
            return Some((length, feet(*id, length)));
        }
        let reached = scratch
            .iter()
            .map(|id| (stays_near(curve, place.along, &ground.entry(*id).curve, reach_mm), *id));
        let farthest = reached.reduce(|a, b| if b.0 > a.0 { b } else { a });
        farthest.map(|(to, id)| (to, feet(id, to)))
    }

    /// The last stretch, from `start` to the path's end in metal, unless the kerf closes the gap to older ground there.
    fn ends_free(
        &self,
        start: f64,
        from: Option<Foot>,
        ground: &mut Ground,
        scratch: &mut Vec<u32>,
        is_first: bool,
    ) -> Fresh {
        let end = self.path.length_mm();
        let to = self.path.to().and_then(|to| {
            let point = Curve::line(to, to);
            let own = |at: f64| is_first || at >= start + LEAST_LOOP_MM;
            self.foot(&point, end, self.end_reach_mm + MEET_MM, ground, scratch, own)
        });
        Fresh { along: start..end, from, to }
    }

    /// Adds the curves from `from` to `to` to `ground`.
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
struct Candidate {
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

/// Whether a place along its path, in millimetres, lies in the part of the entry's curve that cut new metal.
fn is_fresh(entry: &Entry, at: f64) -> bool {
    entry.fresh.0 - AT_END_MM <= at && at <= entry.fresh.1 + AT_END_MM
}

/// A full circle, or an arc so nearly full that its ends meet, closes by itself.
fn closes_itself(curve: &Curve<Program>) -> Option<Meet> {
    let Curve::Arc(arc) = curve else { return None };
    let gap = arc.from.distance(arc.to);
    let turns = arc.sweep_rad.abs() > std::f64::consts::PI;
    (turns && gap <= MEET_MM + SLACK_MM).then(|| Meet { on: arc.length_mm(), other: 0.0, gap })
}
