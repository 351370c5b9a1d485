//! How long the arc burns over what is cut already.
//!
//! The arc is as wide as its kerf. It stands over a void where none of that width has metal in it: its middle and
//! both its edges lie in old kerfs. Where it runs into another kerf at a small angle, as a tangential lead-in makes
//! every contour's end do, it has metal on one side until both run on the same line.

use crate::points::effect::KeptLeg;
use crate::record::Record;
use crate::side_by_side::Chunks;
use crate::timeline::{Kerf, Timeline};
use crate::tolerance::PATH_MM;
use crate::view::View;
use crate::{Case, Reason, reason};
use geometry::{Bounds, Curve, Point, Program, Side};
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

/// Lengths over a void, in millimetres.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Worst {
    along_mm: f64,
    across_mm: f64,
}

impl Worst {
    fn with(self, other: Self) -> Self {
        Self { along_mm: self.along_mm.max(other.along_mm), across_mm: self.across_mm.max(other.across_mm) }
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
}

/// What came out of some of the legs: the worst, or the first refusal and the leg it is at.
pub(crate) type Found = Result<Worst, (usize, Reason)>;

impl<'a> Voids<'a> {
    /// Nothing looked at yet.
    pub(crate) fn of(
        case: &'a Case<'a>,
        written: &'a View<'a>,
        kept: &'a [KeptLeg],
        timeline: &'a Timeline,
    ) -> Self {
        let limits = Worst {
            along_mm: case.ground.thresholds.void_along.mm(),
            across_mm: case.ground.thresholds.void_across.mm(),
        };
        let burns = Burns { case, written, kept, timeline, limits };
        Self { burns, legs: Chunks::of(kept.len(), LEGS_AT_ONCE) }
    }

    /// Looks at legs until none is left; may run on several threads at once.
    pub(crate) fn look(&self) -> Found {
        let mut worst = Worst::default();
        for found in self.legs.by_ref(|legs| self.burns.all(legs)) {
            worst = worst.with(found?);
        }
        Ok(worst)
    }

    /// Writes down what the lookers found together.
    ///
    /// # Errors
    /// Point 4, at the first burn too long over a void.
    pub(crate) fn settle(&self, found: [Found; 2], record: &mut Record) -> Result<(), Reason> {
        let [first, second] = match found {
            [Ok(first), Ok(second)] => [first, second],
            [Err((a, first)), Err((b, second))] => return Err(if a <= b { first } else { second }),
            [Err((_, reason)), _] | [_, Err((_, reason))] => return Err(reason),
        };
        let (worst, limits) = (first.with(second), self.burns.limits);
        record.figure("longest burn along a void", worst.along_mm, limits.along_mm + ROUGHLY_MM, "mm");
        record.figure("longest burn across a void", worst.across_mm, limits.across_mm + ROUGHLY_MM, "mm");
        Ok(())
    }
}

#[derive(Debug)]
struct Burns<'a> {
    case: &'a Case<'a>,
    written: &'a View<'a>,
    kept: &'a [KeptLeg],
    timeline: &'a Timeline,
    limits: Worst,
}

/// An earlier kerf, or what of it is not fresh.
#[derive(Clone, Copy, Debug)]
struct Old {
    number: usize,
    curve: Curve<Program>,
}

/// A stretch over a void, still going on.
#[derive(Clone, Copy, Debug, Default)]
struct Stretch {
    length_mm: f64,
    along: bool,
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
        let mut worst = Worst::default();
        let mut stretch = Stretch::default();
        let own = self.timeline.of_leg(n);
        let near_edge = self.near_edge(own.clone());
        let mut under = Vec::new();
        for number in own.clone() {
            let kerf = *self.timeline.kerf(number);
            self.timeline.pieces(&kerf.curve, |bounds, along| {
                self.lies_under(number, own.start, bounds, &along, &mut under);
                if under.is_empty() && !near_edge {
                    stretch = Stretch::default();
                } else {
                    self.step_along(&kerf, along, &under, near_edge, &mut stretch, &mut worst);
                }
            });
            self.within_limits(worst).map_err(|message| (message, number))?;
        }
        Ok(worst)
    }

    /// Fills `under` with earlier kerfs that may lie under a piece of a burn, without the torch's own fresh kerf.
    fn lies_under(
        &self,
        number: usize,
        own_from: usize,
        bounds: Bounds<Program>,
        along: &Range<f64>,
        under: &mut Vec<Old>,
    ) {
        under.clear();
        let kerf_mm = self.case.ground.kerf.mm();
        let middle = bounds.min.lerp(bounds.max, 0.5);
        let reach = kerf_mm + bounds.min.distance(bounds.max) / 2.0;
        let fresh_mm = self.timeline.kerf(number).along_mm + along.start - TRAIL_KERFS * kerf_mm;
        self.timeline.near(bounds, kerf_mm, |other| {
            let other = other as usize;
            if other >= number {
                return;
            }
            let old = self.timeline.kerf(other);
            if !old.through || (other >= own_from && old.along_mm >= fresh_mm) {
                return;
            }
            if old.curve.nearest(middle).distance_mm > reach
                || under.iter().any(|known| known.number == other)
            {
                return;
            }
            let left = if other >= own_from { fresh_mm - old.along_mm } else { f64::INFINITY };
            let curve = if left < old.curve.length_mm() { old.curve.piece(0.0, left) } else { old.curve };
            if curve.nearest(middle).distance_mm <= reach {
                under.push(Old { number: other, curve });
            }
        });
    }

    /// Walks along a piece in small steps and measures what runs over a void.
    ///
    /// The arc is as wide as the kerf: it has left the metal behind only when its middle is half a kerf past where the
    /// metal ended, and a stretch along a kerf counts from there.
    fn step_along(
        &self,
        kerf: &Kerf,
        along: Range<f64>,
        under: &[Old],
        near_edge: bool,
        stretch: &mut Stretch,
        worst: &mut Worst,
    ) {
        let half_kerf = self.case.ground.kerf.mm() / 2.0;
        let length = along.end - along.start;
        let steps = (length / STEP_MM).ceil().max(1.0);
        let step_mm = length / steps;
        let mut at = along.start + step_mm / 2.0;
        while at < along.end {
            let p = kerf.curve.point_at(at);
            match self.void_at(p, kerf, at, under, near_edge) {
                None => *stretch = Stretch::default(),
                Some(runs_along) => {
                    stretch.length_mm += step_mm;
                    stretch.along |= runs_along;
                    if stretch.along {
                        worst.along_mm = worst.along_mm.max(stretch.length_mm - half_kerf);
                    } else {
                        worst.across_mm = worst.across_mm.max(stretch.length_mm);
                    }
                }
            }
            at += step_mm;
        }
    }

    /// Whether the arc at `p` stands over a void, and then whether it runs along it.
    fn void_at(
        &self,
        p: Point<Program>,
        kerf: &Kerf,
        at_mm: f64,
        under: &[Old],
        near_edge: bool,
    ) -> Option<bool> {
        if near_edge && self.off_plate(p) {
            return Some(false);
        }
        let half_kerf = self.case.ground.kerf.mm() / 2.0;
        let covered =
            |p: Point<Program>| under.iter().any(|old| old.curve.nearest(p).distance_mm < half_kerf);
        let travel = kerf.curve.tangent_at(at_mm)?;
        let edge = travel.left() * (half_kerf - PATH_MM).max(0.0);
        if ![p, p + edge, p + -edge].into_iter().all(covered) {
            return None;
        }
        let over = under.iter().map(|old| (&old.curve, old.curve.nearest(p)));
        let runs_along = over.filter(|(_, near)| near.distance_mm < half_kerf).any(|(curve, near)| {
            let along = curve.tangent_at(near.along_mm);
            along.is_some_and(|along| travel.cross(along).abs() <= ACROSS_RAD.sin())
        });
        Some(runs_along)
    }

    fn within_limits(&self, worst: Worst) -> Result<(), String> {
        let told = |how: &str, length: f64, limit: f64| {
            format!("burns {how} a void for {length:.1} mm; the arc lives {limit:.1} mm there")
        };
        if worst.along_mm > self.limits.along_mm + ROUGHLY_MM {
            return Err(told("along", worst.along_mm, self.limits.along_mm));
        }
        if worst.across_mm > self.limits.across_mm + ROUGHLY_MM {
            return Err(told("across", worst.across_mm, self.limits.across_mm));
        }
        Ok(())
    }

    /// Whether a leg's burn may come near or pass an edge of the plate.
    fn near_edge(&self, own: Range<usize>) -> bool {
        let ground = &self.case.ground;
        if ground.plate.is_none() && ground.plate_holes.is_empty() {
            return false;
        }
        let bounds = own.map(|number| self.timeline.kerf(number).curve.bounds()).reduce(Bounds::union);
        let Some(bounds) = bounds else { return false };
        let edges = ground.plate.iter().chain(&ground.plate_holes).flat_map(|edge| edge.path().curves());
        edges.into_iter().any(|edge| edge.bounds().meets(&bounds)) || self.off_plate(bounds.min)
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
