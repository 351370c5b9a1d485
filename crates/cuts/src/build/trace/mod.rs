//! Where a path cuts new metal and where it runs over ground that is cut already.
//!
//! A path begins in metal at the pierce. It may run into ground cut before (its own beginning, when it closes; an
//! earlier cut, at a shared edge), run along it for a while (overlap), leave it again (lead-out, or the way to the next
//! contour of a chain). What cuts new metal are its *fresh* stretches; each begins and ends free, in metal, or with a
//! foot on older ground. Faces are then made of fresh stretches alone.

mod along;
mod meeting;

use super::ground::{Entry, Ground};
use geometry::{Curve, Path, Program};
use meeting::Candidate;
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

/// What a trace works with: the ground, and what is kept from one step to the next.
struct Work<'g> {
    ground: &'g mut Ground,
    /// Entries near to what was last asked about.
    near: Vec<u32>,
    /// Where a curve of the path meets older ground, sorted along it; kept while the path comes back to that curve.
    met: Option<(usize, Vec<Candidate>)>,
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
        let mut work = Work { ground, near: Vec::new(), met: None };
        let begins = self.begin(&mut work, &mut found.over);
        let Some((mut place, mut from)) = begins else { return found };
        // Past which no meeting is the one just left.
        let mut past = self.mm(place);
        loop {
            let start = self.mm(place);
            let Some((end, to)) = self.next_meet(place, past, &mut work) else {
                let is_first = found.fresh.is_empty();
                found.fresh.push(self.ends_free(start, from, &mut work, is_first));
                return found;
            };
            if self.mm(end) - start >= LEAST_FRESH_MM || from.is_none() {
                found.fresh.push(Fresh { along: start..self.mm(end), from, to: Some(to) });
            }
            let left = self.follow((end, to), MEET_MM, &mut work, &mut found.over);
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
    fn begin(&self, work: &mut Work<'_>, over: &mut Vec<Over>) -> Option<(Place, Option<Foot>)> {
        let first = self.path.curves().first()?;
        let start = Place { curve: 0, along: 0.0 };
        let point = Curve::line(first.from(), first.from());
        let foot = self.foot(&point, 0.0, self.end_reach_mm + MEET_MM, work, |_| false);
        match foot {
            Some(foot) if foot.gap <= MEET_MM => {
                let left = self.follow((start, foot), MEET_MM, work, over);
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
        work: &mut Work<'_>,
        own: impl Fn(f64) -> bool,
    ) -> Option<Foot> {
        let Work { ground, near, .. } = work;
        ground.near(point, reach_mm, near);
        let feet = near.iter().filter_map(|id| {
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

    /// The last stretch, from `start` to the path's end in metal, unless the kerf closes the gap to older ground there.
    fn ends_free(&self, start: f64, from: Option<Foot>, work: &mut Work<'_>, is_first: bool) -> Fresh {
        let end = self.path.length_mm();
        let to = self.path.to().and_then(|to| {
            let point = Curve::line(to, to);
            let own = |at: f64| is_first || at >= start + LEAST_LOOP_MM;
            self.foot(&point, end, self.end_reach_mm + MEET_MM, work, own)
        });
        Fresh { along: start..end, from, to }
    }
}

/// Whether a place along its path, in millimetres, lies in the part of the entry's curve that cut new metal.
fn is_fresh(entry: &Entry, at: f64) -> bool {
    entry.fresh.0 - AT_END_MM <= at && at <= entry.fresh.1 + AT_END_MM
}
