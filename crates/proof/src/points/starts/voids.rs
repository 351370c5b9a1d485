//! How long the arc burns over what is cut already.
//!
//! The arc is as wide as its kerf. It stands over a void where none of that width has metal in it: its middle and
//! both its edges lie in old kerfs. Where it runs into another kerf at a small angle, as a tangential lead-in makes
//! every contour's end do, it has metal on one side until both run on the same line.

use crate::points::effect::KeptLeg;
use crate::record::Record;
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

/// Step in which a stretch over a void is measured, in millimetres, and so what it may be too long by: a tenth of
/// what matters.
const STEP_MM: f64 = 0.25;

/// Crossing at more than this angle counts as across a void, below it as along one.
const ACROSS_RAD: f64 = std::f64::consts::FRAC_PI_4;

/// Lengths over a void, in millimetres.
#[derive(Clone, Copy, Debug, Default)]
struct Worst {
    along_mm: f64,
    across_mm: f64,
}

/// Holds every burn against what lies under it.
///
/// # Errors
/// Point 4, at the first burn too long over a void.
pub(super) fn short(
    case: &Case<'_>,
    written: &View<'_>,
    kept: &[KeptLeg],
    timeline: &Timeline,
    record: &mut Record,
) -> Result<(), Reason> {
    let limits = Worst {
        along_mm: case.ground.thresholds.void_along.mm(),
        across_mm: case.ground.thresholds.void_across.mm(),
    };
    let burns = Burns { case, written, kept, timeline, limits };
    let half = kept.len() / 2;
    // Two halves side by side: this is the longest part of a proof, and legs do not depend on each other.
    let (first, second) = std::thread::scope(|scope| {
        let second = scope.spawn(|| burns.all(half..kept.len()));
        (burns.all(0..half), second.join())
    });
    let (first, second) = (first?, second.unwrap_or_else(|panic| std::panic::resume_unwind(panic))?);
    record.figure("longest burn along a void", first.along_mm.max(second.along_mm), limits.along_mm, "mm");
    record.figure(
        "longest burn across a void",
        first.across_mm.max(second.across_mm),
        limits.across_mm,
        "mm",
    );
    Ok(())
}

struct Burns<'a> {
    case: &'a Case<'a>,
    written: &'a View<'a>,
    kept: &'a [KeptLeg],
    timeline: &'a Timeline,
    limits: Worst,
}

/// A stretch over a void, still going on.
#[derive(Clone, Copy, Debug, Default)]
struct Stretch {
    length_mm: f64,
    along: bool,
}

impl Burns<'_> {
    fn all(&self, legs: Range<usize>) -> Result<Worst, Reason> {
        let mut worst = Worst::default();
        for n in legs {
            let longest = self.leg(n).map_err(|(message, kerf)| {
                let message = format!("cut {}: {message}", self.kept[n].cut.number());
                reason(4, message, self.span_of(n, kerf))
            })?;
            worst.along_mm = worst.along_mm.max(longest.along_mm);
            worst.across_mm = worst.across_mm.max(longest.across_mm);
        }
        Ok(worst)
    }

    /// The longest stretches of one leg, or what is wrong and at which kerf.
    fn leg(&self, n: usize) -> Result<Worst, (String, usize)> {
        let mut worst = Worst::default();
        let mut stretch = Stretch::default();
        let own = self.timeline.of_leg(n);
        let near_edge = self.near_edge(own.clone());
        for number in own.clone() {
            let kerf = *self.timeline.kerf(number);
            let mut pieces = Vec::new();
            self.timeline.pieces(&kerf.curve, |bounds, along| pieces.push((bounds, along)));
            for (bounds, along) in pieces {
                let under = self.under(number, own.start, bounds, &kerf, &along);
                if under.is_empty() && !near_edge {
                    stretch = Stretch::default();
                    continue;
                }
                self.step_along(&kerf, along, &under, near_edge, &mut stretch, &mut worst);
                self.within_limits(worst).map_err(|message| (message, number))?;
            }
        }
        Ok(worst)
    }

    /// Earlier kerfs that may lie under a piece of a burn, without the torch's own fresh kerf.
    fn under(
        &self,
        number: usize,
        own_from: usize,
        bounds: Bounds<Program>,
        kerf: &Kerf,
        along: &Range<f64>,
    ) -> Vec<Curve<Program>> {
        let kerf_mm = self.case.ground.kerf.mm();
        let middle = bounds.min.lerp(bounds.max, 0.5);
        let reach = kerf_mm + bounds.min.distance(bounds.max) / 2.0;
        let fresh_mm = kerf.along_mm + along.start - TRAIL_KERFS * kerf_mm;
        let mut under: Vec<(usize, Curve<Program>)> = Vec::new();
        self.timeline.near(bounds, kerf_mm, |other| {
            let other = other as usize;
            if other >= number {
                return;
            }
            let old = self.timeline.kerf(other);
            if !old.through {
                return;
            }
            if other >= own_from && old.along_mm >= fresh_mm {
                return;
            }
            if old.curve.nearest(middle).distance_mm > reach || under.iter().any(|(known, _)| *known == other)
            {
                return;
            }
            let left = if other >= own_from { fresh_mm - old.along_mm } else { f64::INFINITY };
            let curve = if left < old.curve.length_mm() { old.curve.piece(0.0, left) } else { old.curve };
            if curve.nearest(middle).distance_mm <= reach {
                under.push((other, curve));
            }
        });
        under.into_iter().map(|(_, curve)| curve).collect()
    }

    /// Walks along a piece in small steps and measures what runs over a void.
    ///
    /// The arc is as wide as the kerf: it has left the metal behind only when its middle is half a kerf past where the
    /// metal ended, and a stretch along a kerf counts from there.
    fn step_along(
        &self,
        kerf: &Kerf,
        along: Range<f64>,
        under: &[Curve<Program>],
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
        under: &[Curve<Program>],
        near_edge: bool,
    ) -> Option<bool> {
        if near_edge && self.off_plate(p) {
            return Some(false);
        }
        let half_kerf = self.case.ground.kerf.mm() / 2.0;
        let covered = |p: Point<Program>| under.iter().any(|curve| curve.nearest(p).distance_mm < half_kerf);
        let travel = kerf.curve.tangent_at(at_mm)?;
        let edge = travel.left() * (half_kerf - PATH_MM).max(0.0);
        if ![p, p + edge, p + -edge].into_iter().all(covered) {
            return None;
        }
        let over = under.iter().map(|curve| (curve, curve.nearest(p)));
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
        if worst.along_mm > self.limits.along_mm + STEP_MM {
            return Err(told("along", worst.along_mm, self.limits.along_mm));
        }
        if worst.across_mm > self.limits.across_mm + STEP_MM {
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
