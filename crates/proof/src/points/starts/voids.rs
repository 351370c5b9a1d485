//! How long the arc burns over what is cut already.
//!
//! The arc is as wide as its kerf. It stands over a void where none of that width has metal in it: its middle and
//! both its edges lie in old kerfs. Where it runs into another kerf at a small angle, as a tangential lead-in makes
//! every contour's end do, it has metal on one side until both run on the same line.
//!
//! Beyond the plate's own edge nothing stands: there it holds on to the metal beside the edge for as long as a quarter of its
//! width has any, as where a strip narrower than a kerf is trimmed off. Past that the edge is a wall as a kerf's is, and beside it
//! the arc lives as far as along a void, not only as far as across one: until that wall, too, is out of its reach.
//!
//! A hole that a standing arc blew is a void, too, and one without walls near by: half a millimetre wider than it was told.
//! What an arc that is begun in it runs to its wall is the pilot's matter.
//!
//! A join is begun in its own old kerf. There the arc has a wall close by on either side as long as both are still held,
//! and lives farther: that first stretch has a limit of its own; so has the last, where it runs into it, backwards or as the
//! first of two burns. The second is begun in what may be the middle of a hole: the wall it comes to counts, too.

use super::HOLE_RAGGED_MM;
use crate::grid::about;
use crate::nearness::off_circle;
use crate::points::effect::KeptLeg;
use crate::record::Record;
use crate::side_by_side::Chunks;
use crate::timeline::{Kerf, Timeline};
use crate::tolerance::PATH_MM;
use crate::view::View;
use crate::{Case, Reason, reason};
use cuts::CutId;
use geometry::{Bounds, Curve, Point, Program, Side, Vector};
use std::ops::Range;

/// The torch's own fresh kerf is told from an old one by the distance along the path, in kerf widths. On any curve
/// that a torch can cut, what lies within half a kerf of the arc was cut within about half a kerf's travel; three
/// times that leaves room for corners.
const TRAIL_KERFS: f64 = 1.5;

/// Step in which a stretch over a void is measured, in millimetres: a tenth of what matters.
const STEP_MM: f64 = 0.25;

/// What a stretch may be too long by, in millimetres. How far an arc lives is known in whole millimetres at best, and
/// the usual overlap at a join is as long as the limit itself: with a tangential lead-in both run on the same line a
/// little before the join.
const ROUGHLY_MM: f64 = 0.5;

/// Crossing at more than this angle counts as across a void, below it as along one.
const ACROSS_RAD: f64 = std::f64::consts::FRAC_PI_4;

/// How far beyond the kerf's own edge a wall may stand for the arc to hold on to it, in millimetres (common practice: the
/// arc hangs on to the wall of a kerf that is a little wider than its own).
const WALL_REACH_MM: f64 = 0.5;

/// Share of the arc's width, 0 to 1, that must have metal under it along an edge of the plate for the arc to hold. That half a
/// kerf of metal is trimmed off a plate's edge is common practice; a quarter is assumed.
pub const EDGE_HOLDS_SHARE: f64 = 0.25;

/// Lengths over a void, in millimetres.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Worst {
    along_mm: f64,
    across_mm: f64,
    /// Along a join's own old kerf.
    own_mm: f64,
    /// What of the longest across a void lies beside the plate's edge, and counts for less.
    beside_mm: f64,
}

impl Worst {
    fn with(self, other: Self) -> Self {
        Self {
            along_mm: self.along_mm.max(other.along_mm),
            across_mm: self.across_mm.max(other.across_mm),
            own_mm: self.own_mm.max(other.own_mm),
            beside_mm: self.beside_mm.max(other.beside_mm),
        }
    }
}

/// Legs that are looked at in one go.
const LEGS_AT_ONCE: usize = 64;

/// Holds every burn against what lies under it, in stretches that two threads may share. This is the longest part of
/// a proof, and legs do not depend on each other.
#[derive(Debug)]
pub(crate) struct Voids<'a> {
    burns: Burns<'a>,
    legs: Chunks,
    /// Whether the last legs are looked at first: of two proofs under way at once, each then finds the half of the legs
    /// that the other has left for it.
    from_the_end: bool,
}

/// What came out of some of the legs: the worst, or the first refusal and the leg it is at.
pub(crate) type Found = Result<Worst, (usize, Reason)>;

impl<'a> Voids<'a> {
    /// Nothing looked at yet.
    pub(crate) fn of(
        case: &'a Case<'a>,
        written: &'a View<'a>,
        kept: &'a [KeptLeg],
        timeline: &'a Timeline<'a>,
    ) -> Self {
        let limits = Worst {
            along_mm: case.ground.thresholds.void_along.mm(),
            across_mm: case.ground.thresholds.void_across.mm(),
            own_mm: case.ground.thresholds.kerf_along.mm(),
            beside_mm: 0.0,
        };
        let burns = Burns { case, written, kept, timeline, limits };
        let from_the_end = case.original.takes_turns();
        Self { burns, legs: Chunks::of(kept.len(), LEGS_AT_ONCE), from_the_end }
    }

    /// Looks at legs until none is left; may run on several threads at once.
    pub(crate) fn look(&self) -> Found {
        let mut worst = Worst::default();
        let count = self.burns.kept.len();
        let turned = |legs: Range<usize>| match self.from_the_end {
            true => count - legs.end..count - legs.start,
            false => legs,
        };
        for found in self.legs.by_ref(|legs| self.burns.all(turned(legs))) {
            worst = worst.with(found?);
        }
        Ok(worst)
    }

    /// Writes down what the lookers found together.
    ///
    /// # Errors
    /// Point 4, at the first burn too long over a void.
    pub(crate) fn settle(&self, found: [Found; 2], record: &mut Record) -> Result<(), Reason> {
        let found = match found.iter().any(Result::is_err) && self.from_the_end {
            // The first refusal counts, and not the last.
            true => [self.burns.all(0..self.burns.kept.len()), Ok(Worst::default())],
            false => found,
        };
        let [first, second] = match found {
            [Ok(first), Ok(second)] => [first, second],
            [Err((a, first)), Err((b, second))] => return Err(if a <= b { first } else { second }),
            [Err((_, reason)), _] | [_, Err((_, reason))] => return Err(reason),
        };
        let (worst, limits) = (first.with(second), self.burns.limits);
        record.figure("longest burn along a void", worst.along_mm, limits.along_mm + ROUGHLY_MM, "mm");
        record.figure("longest burn across a void", worst.across_mm, limits.across_mm + ROUGHLY_MM, "mm");
        if self.burns.kept.iter().any(|leg| leg.join.is_some()) {
            let limit = limits.own_mm + ROUGHLY_MM;
            record.figure(
                "longest burn of a join along its own old kerf, its end at the farthest",
                worst.own_mm,
                limit,
                "mm",
            );
        }
        Ok(())
    }
}

#[derive(Debug)]
struct Burns<'a> {
    case: &'a Case<'a>,
    written: &'a View<'a>,
    kept: &'a [KeptLeg],
    timeline: &'a Timeline<'a>,
    limits: Worst,
}

/// An earlier kerf, or what of it is not fresh.
#[derive(Clone, Copy, Debug)]
struct Old {
    number: usize,
    cut: Option<CutId>,
    curve: Curve<Program>,
}

/// A stretch over a void, still going on.
#[derive(Clone, Copy, Debug, Default)]
struct Stretch {
    length_mm: f64,
    /// What of it has no wall near by.
    open_mm: f64,
    /// What of it lies beside the plate's edge.
    beside_mm: f64,
    along: bool,
    /// Whether some of it has more under it than the leg's own old kerf.
    strange: bool,
}

/// What a place over a void is like.
#[derive(Clone, Copy, Debug)]
struct Void {
    runs_along: bool,
    /// Whether the leg's own old kerf alone makes it one.
    own: bool,
    /// Whether it lies in a blown hole, with no wall near by.
    open: bool,
    /// Whether it lies past the plate's edge, which still stands near by as a wall.
    beside_edge: bool,
}

/// A hole that a standing arc blew, as wide as it may be.
#[derive(Clone, Copy, Debug)]
struct Hole {
    at: Point<Program>,
    radius_mm: f64,
}

impl Hole {
    fn holds(&self, p: Point<Program>) -> bool {
        self.at.distance(p) <= self.radius_mm
    }
}

/// A leg as its burn is followed.
#[derive(Clone, Copy, Debug)]
struct Followed {
    cut: CutId,
    near_edge: bool,
    /// Its first kerf.
    own_from: usize,
    /// Whether a stretch along its own old kerf may be as long as one between two walls.
    walled: bool,
    /// Whether that holds only for the first.
    first_only: bool,
    /// By how much it may be longer on a plate that moved.
    off_mm: f64,
    /// What a step past the plate's edge, and beside it, counts for of one across a void.
    beside_share: f64,
    stretch: Stretch,
    worst: Worst,
}

impl Followed {
    /// There is metal under the arc.
    fn on_metal(&mut self) {
        let ended_own = self.stretch.length_mm > 0.0 && self.stretch.along && !self.stretch.strange;
        self.walled &= !(ended_own && self.first_only);
        self.stretch = Stretch::default();
    }

    /// A step over a void.
    fn over(&mut self, void: Void, step_mm: f64, half_kerf: f64) {
        let stretch = &mut self.stretch;
        stretch.length_mm += if void.beside_edge { step_mm * self.beside_share } else { step_mm };
        stretch.beside_mm += if void.beside_edge { step_mm } else { 0.0 };
        stretch.open_mm += if void.open { step_mm } else { 0.0 };
        stretch.along |= void.runs_along;
        stretch.strange |= !void.own || !void.runs_along;
        let worst = &mut self.worst;
        if !stretch.strange {
            worst.own_mm = worst.own_mm.max(stretch.length_mm + self.off_mm);
        } else if stretch.along {
            worst.along_mm = worst.along_mm.max(stretch.length_mm - half_kerf);
        } else if stretch.length_mm > worst.across_mm {
            (worst.across_mm, worst.beside_mm) = (stretch.length_mm, stretch.beside_mm);
        }
        worst.across_mm = worst.across_mm.max(stretch.open_mm);
    }
}

impl Burns<'_> {
    fn all(&self, legs: Range<usize>) -> Found {
        let mut worst = Worst::default();
        for n in legs {
            let longest = self.leg(n).map_err(|(message, kerf)| {
                let message = format!("cut {}: {message}", self.kept[n].cut.number());
                (n, reason(4, message, self.span_of(n, kerf)))
            })?;
            worst = worst.with(longest);
        }
        Ok(worst)
    }

    /// The longest stretches of one leg, or what is wrong and at which kerf.
    fn leg(&self, n: usize) -> Result<Worst, (String, usize)> {
        let cut = self.kept[n].cut;
        let kerf = self.case.ground.kerf;
        let alone = self.case.original.alone(cut, kerf).filter(|_| self.is_alone(n));
        let Some(alone) = alone else { return self.walk(n) };
        match alone.get() {
            // Where it burns too far, the refusal says where.
            Some(Some(worst)) if self.within_limits(*worst).is_ok() => Ok(*worst),
            Some(_) => self.walk(n),
            None => {
                let worst = self.walk(n)?;
                let apart = self.case.original.laid().is_apart(cut, kerf.mm());
                let _ = alone.set(apart.then_some(worst));
                Ok(worst)
            }
        }
    }

    /// Whether a leg burns as in the original, with nothing near that is not of the original either, no blown hole, nor an
    /// edge of the plate.
    fn is_alone(&self, n: usize) -> bool {
        let leg = &self.kept[n];
        leg.as_original
            && leg.join.is_none()
            && self.timeline.is_laid_clear(n, leg.cut, self.case.ground.kerf.mm())
            && self.holes(n).is_empty()
            && !self.near_edge(n)
    }

    /// The longest stretches of one leg, walked along.
    fn walk(&self, n: usize) -> Result<Worst, (String, usize)> {
        let own = self.timeline.of_leg(n);
        let leg = &self.kept[n];
        let mut at = Followed {
            cut: leg.cut,
            near_edge: self.near_edge(n),
            own_from: own.start,
            walled: self.is_walled(n),
            first_only: leg.join.as_ref().is_none_or(|join| !join.ends_in_void()),
            off_mm: self.off_mm(leg),
            beside_share: self.beside_share(),
            stretch: Stretch::default(),
            worst: Worst::default(),
        };
        let mut under = Vec::new();
        let holes = self.holes(n);
        for (number, kerf) in self.timeline.kerfs_of_leg(n) {
            self.timeline.pieces(kerf.curve, |bounds, along| {
                self.lies_under((number, &kerf), own.start, bounds, &along, &mut under);
                if under.is_empty() && !at.near_edge && holes.is_empty() {
                    at.on_metal();
                } else {
                    self.step_along(&kerf, along, (&under, &holes), &mut at);
                }
            });
            self.within_limits(at.worst).map_err(|message| (message, number))?;
        }
        Ok(at.worst)
    }

    /// What a step beside a wall counts for of one across a void.
    fn beside_share(&self) -> f64 {
        let Worst { along_mm, across_mm, .. } = self.limits;
        if along_mm > across_mm { across_mm / along_mm } else { 1.0 }
    }

    /// The blown holes that a leg may run over, but for the one in which its arc is begun on the wall. The second of two burns
    /// is begun where the first has ended, and runs over the rest of the hole.
    fn holes(&self, n: usize) -> Vec<Hole> {
        let blown = || self.case.progress.strays.iter().filter(|stray| stray.path.curves().is_empty());
        if blown().next().is_none() {
            return Vec::new();
        }
        let Some(bounds) = self.bounds(n) else { return Vec::new() };
        let leg = &self.kept[n];
        let lit = self.written.from(leg.written.on_at.motion as usize);
        let holes = blown().map(|stray| {
            let off_mm = self.case.pose.map_or(0.0, |pose| crate::points::landing::worst_mm(pose, stray.at));
            Hole { at: stray.at, radius_mm: stray.crater_mm + HOLE_RAGGED_MM + off_mm }
        });
        let begun_in = |hole: &Hole| leg.on_edge() && !leg.is_second_burn() && hole.holds(lit);
        let near = |hole: &Hole| bounds.grown(hole.radius_mm).meets(&Bounds { min: hole.at, max: hole.at });
        holes.filter(|hole| near(hole) && !begun_in(hole)).collect()
    }

    /// How far from where it is meant a join may land on a plate that moved.
    fn off_mm(&self, leg: &KeptLeg) -> f64 {
        let at = self.written.from(leg.written.on_at.motion as usize);
        let pose = self.case.pose.filter(|_| leg.join.is_some());
        pose.map_or(0.0, |pose| crate::points::landing::worst_mm(pose, at))
    }

    /// Whether a join's own old kerf still has both its walls: what it bounds may not be loose before.
    fn is_walled(&self, n: usize) -> bool {
        let leg = &self.kept[n];
        let Some(join) = &leg.join else { return false };
        let burns = join.burns_mm();
        let cut = self.case.original.list.cut(leg.cut);
        cut.contours.iter().chain(&cut.bounds).all(|id| {
            let held = self.timeline.may_be_loose_at(*id) as usize > n;
            let boundary = &self.case.original.list.contour(*id).boundary;
            held || !boundary.iter().any(|edge| {
                edge.cut == leg.cut && edge.along_mm.start < burns.end && burns.start < edge.along_mm.end
            })
        })
    }

    /// Fills `under` with earlier kerfs that may lie under a piece of a burn, without the torch's own fresh kerf.
    fn lies_under(
        &self,
        (number, kerf): (usize, &Kerf<'_>),
        own_from: usize,
        bounds: Bounds<Program>,
        along: &Range<f64>,
        under: &mut Vec<Old>,
    ) {
        under.clear();
        let kerf_mm = self.case.ground.kerf.mm();
        let (middle, half_piece) = about(bounds);
        let reach = kerf_mm + half_piece;
        let mut nearest = f64::INFINITY;
        let fresh_mm = kerf.burnt_mm + along.start - TRAIL_KERFS * kerf_mm;
        self.timeline.near(bounds, kerf_mm, |other, old| {
            if other >= number || !old.through || (other >= own_from && old.burnt_mm >= fresh_mm) {
                return;
            }
            if off_circle(old.curve, middle, reach)
                || old.curve.nearest(middle).distance_mm > reach
                || under.iter().any(|known| known.number == other)
            {
                return;
            }
            let left = if other >= own_from { fresh_mm - old.burnt_mm } else { f64::INFINITY };
            let curve = if left < old.curve.length_mm() { old.curve.piece(0.0, left) } else { *old.curve };
            let distance = curve.nearest(middle).distance_mm;
            if distance <= reach {
                nearest = nearest.min(distance);
                under.push(Old { number: other, cut: old.cut, curve });
            }
        });
        // The arc's middle comes into none of them: then it stands over no void, whatever its edges reach.
        if nearest > kerf_mm / 2.0 + half_piece {
            under.clear();
        }
    }

    /// Walks along a piece in small steps and measures what runs over a void.
    ///
    /// The arc is as wide as the kerf: it has left the metal behind only when its middle is half a kerf past where the
    /// metal ended, and a stretch along a kerf counts from there.
    fn step_along(&self, kerf: &Kerf<'_>, along: Range<f64>, voids: (&[Old], &[Hole]), at: &mut Followed) {
        let half_kerf = self.case.ground.kerf.mm() / 2.0;
        let length = along.end - along.start;
        let steps = (length / STEP_MM).ceil().max(1.0);
        let step_mm = length / steps;
        let mut on_curve_mm = along.start + step_mm / 2.0;
        while on_curve_mm < along.end {
            let p = kerf.curve.point_at(on_curve_mm);
            match self.void_at(p, kerf, on_curve_mm, voids, at) {
                None => at.on_metal(),
                Some(void) => at.over(void, step_mm, half_kerf),
            }
            on_curve_mm += step_mm;
        }
    }

    /// What the arc at `p` stands over, if that is a void.
    fn void_at(
        &self,
        p: Point<Program>,
        kerf: &Kerf<'_>,
        at_mm: f64,
        (under, holes): (&[Old], &[Hole]),
        leg: &Followed,
    ) -> Option<Void> {
        let half_kerf = self.case.ground.kerf.mm() / 2.0;
        if leg.near_edge && self.leaves_plate(p, kerf.curve.tangent_at(at_mm), half_kerf) {
            let beside_edge = self.is_beside_edge(p, kerf.curve.tangent_at(at_mm), half_kerf, under);
            return Some(Void { runs_along: false, own: false, open: false, beside_edge });
        }
        let reaches = |old: &Old, p: Point<Program>| {
            !off_circle(&old.curve, p, half_kerf) && old.curve.nearest(p).distance_mm < half_kerf
        };
        let in_hole = |p: Point<Program>| holes.iter().any(|hole| hole.holds(p));
        if !under.iter().any(|old| reaches(old, p)) && !in_hole(p) {
            return None;
        }
        let travel = kerf.curve.tangent_at(at_mm)?;
        let edge = travel.left() * (half_kerf - PATH_MM).max(0.0);
        let width = [p, p + edge, p + -edge];
        let covered = |old: &dyn Fn(&&Old) -> bool| {
            width.into_iter().all(|p| under.iter().filter(old).any(|old| reaches(old, p)))
        };
        let in_void = |p: Point<Program>| in_hole(p) || under.iter().any(|old| reaches(old, p));
        if !width.into_iter().all(in_void) {
            return None;
        }
        let wall = travel.left() * (half_kerf + WALL_REACH_MM);
        let open = in_hole(p) && in_hole(p + wall) && in_hole(p + -wall);
        let is_own = |old: &&Old| old.number < leg.own_from && old.cut == Some(leg.cut);
        let over = under.iter().map(|old| (&old.curve, old.curve.nearest(p)));
        let runs_along = over.filter(|(_, near)| near.distance_mm < half_kerf).any(|(curve, near)| {
            let along = curve.tangent_at(near.along_mm);
            along.is_some_and(|along| travel.cross(along).abs() <= ACROSS_RAD.sin())
        });
        Some(Void { runs_along, own: leg.walled && covered(&is_own), open, beside_edge: false })
    }

    fn within_limits(&self, worst: Worst) -> Result<(), String> {
        let told = |how: &str, length: f64, limit: f64| {
            format!("burns {how} a void for {length:.1} mm; the arc lives {limit:.1} mm there")
        };
        if worst.along_mm > self.limits.along_mm + ROUGHLY_MM {
            return Err(told("along", worst.along_mm, self.limits.along_mm));
        }
        if worst.across_mm > self.limits.across_mm + ROUGHLY_MM && worst.beside_mm > 0.0 {
            let counts_mm = worst.beside_mm * self.beside_share();
            return Err(format!(
                "burns past the plate's edge for {:.1} mm beside it and {:.1} mm farther off; the arc lives {:.1} mm beside it \
                 or {:.1} mm off it",
                worst.beside_mm,
                worst.across_mm - counts_mm,
                self.limits.along_mm,
                self.limits.across_mm
            ));
        }
        if worst.across_mm > self.limits.across_mm + ROUGHLY_MM {
            return Err(told("across", worst.across_mm, self.limits.across_mm));
        }
        if worst.own_mm > self.limits.own_mm + ROUGHLY_MM {
            return Err(format!(
                "burns along its own old kerf for {:.1} mm if that is as long as it may be; between two walls the arc \
                 lives {:.1} mm",
                worst.own_mm, self.limits.own_mm
            ));
        }
        Ok(())
    }

    /// The box around what a leg burns.
    fn bounds(&self, n: usize) -> Option<Bounds<Program>> {
        if self.kept[n].as_original {
            return self.case.original.laid().bounds(self.kept[n].cut);
        }
        self.timeline.kerfs_of_leg(n).map(|(_, kerf)| kerf.curve.bounds()).reduce(Bounds::union)
    }

    /// Whether a leg's burn may come near or pass an edge of the plate.
    fn near_edge(&self, n: usize) -> bool {
        let ground = &self.case.ground;
        if ground.plate.is_none() && ground.plate_holes.is_empty() {
            return false;
        }
        let bounds = self.bounds(n);
        let Some(bounds) = bounds else { return false };
        let edges = ground.plate.iter().chain(&ground.plate_holes).flat_map(|edge| edge.path().curves());
        edges.into_iter().any(|edge| edge.bounds().meets(&bounds)) || self.off_plate(bounds.min)
    }

    /// Whether less of the arc's width than holds it has metal under it since the plate ends there.
    fn leaves_plate(&self, p: Point<Program>, travel: Option<Vector<Program>>, half_kerf: f64) -> bool {
        let aside_mm = 2.0 * half_kerf * (0.5 - EDGE_HOLDS_SHARE) - PATH_MM;
        let aside = travel.map(|travel| travel.left() * aside_mm.max(0.0));
        let mut beside = aside.into_iter().flat_map(|aside| [p + aside, p + -aside]);
        self.off_plate(p) && beside.all(|p| self.off_plate(p))
    }

    /// Whether the edge past which an arc runs stands beside it as near as a kerf's wall to which an arc holds on. Where it runs
    /// out straight over the edge, both sides leave that behind at once.
    fn is_beside_edge(
        &self,
        p: Point<Program>,
        travel: Option<Vector<Program>>,
        half_kerf: f64,
        under: &[Old],
    ) -> bool {
        let aside = travel.map(|travel| travel.left() * (half_kerf + WALL_REACH_MM));
        let in_kerf =
            |p: Point<Program>| under.iter().any(|old| old.curve.nearest(p).distance_mm < half_kerf);
        let walls = aside.into_iter().flat_map(|aside| [p + aside, p + -aside]);
        walls.into_iter().any(|wall| !self.off_plate(wall) && !in_kerf(wall))
    }

    fn off_plate(&self, p: Point<Program>) -> bool {
        let ground = &self.case.ground;
        let beyond = ground.plate.as_ref().is_some_and(|plate| plate.side_of(p, 0.0) == Side::Outside);
        beyond || ground.plate_holes.iter().any(|hole| hole.side_of(p, 0.0) == Side::Inside)
    }

    fn span_of(&self, n: usize, kerf: usize) -> Option<finding::Span> {
        let nth = kerf - self.timeline.of_leg(n).start;
        let burn = self.kept[n].written.burn();
        let moving = burn.filter(|k| self.written.curve(*k).length_mm() > 0.0);
        moving.into_iter().nth(nth).and_then(|k| self.written.span(k))
    }
}
