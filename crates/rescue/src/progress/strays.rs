//! Holes and kerfs beside the cuts, and those of earlier lead-ins.

use super::Telling;
use crate::RanJoin;
use crate::refind::surely_at_mm;
use cuts::{CutId, Depth, Stray};
use geometry::{Curve, Path, Point, Program, Vector};
use proof::JoinStart;
use shop::{StopKind, StrayTold};

impl Telling<'_> {
    /// A join's own crater and lead-in are on the plate.
    pub(super) fn lead_of(&mut self, ran: &RanJoin) {
        if ran.join.start == JoinStart::FreshPierce {
            let (at, crater_mm) = (ran.lit, self.crater_mm());
            self.stray(Stray { at, crater_mm, path: ran.lead.clone(), depth: Depth::Through });
        }
    }

    pub(super) fn stray(&mut self, stray: Stray) {
        if !self.on_plate.progress.strays.contains(&stray) {
            self.on_plate.progress.strays.push(stray);
        }
    }

    pub(super) fn crater_mm(&self) -> f64 {
        let ground = self.situation.ground;
        ground.crater_radius.unwrap_or(ground.kerf).mm()
    }

    /// The arc was lit at this cut: if that was a join with a pierce of its own, its lead-in is there.
    pub(super) fn lit(&mut self, cut: CutId) {
        if let Some(ran) = self.join_of(cut).cloned() {
            self.lead_of(&ran);
        }
    }

    /// Holes and kerfs beside the cuts, each as wide as it may be wherever it may lie.
    pub(super) fn strays(&mut self, cut: CutId) {
        for told in &self.stop.strays {
            let places: Vec<Point<Program>> =
                told.places.iter().map(|[x, y]| Point::new(x.mm(), y.mm())).collect();
            if places.iter().any(|at| !at.is_finite()) {
                self.not_understood(
                    "a hole or kerf beside the cuts is told at a place that is not a number".to_owned(),
                );
                continue;
            }
            let radius_mm = told.wide.map_or_else(|| self.crater_mm(), |wide| wide.mm() / 2.0);
            let surely_mm = self.surely_mm(told);
            let within_mm = told.within.unwrap_or(StrayTold::WITHIN).mm();
            for (at, on) in dots(&places, radius_mm + within_mm) {
                let path = Path::new(vec![Curve::line(at, on)]);
                let landing_mm = self.situation.pose.map_or(0.0, |pose| surely_at_mm(pose, at));
                self.spoils(at, surely_mm - within_mm - landing_mm);
                self.stray(Stray { at, crater_mm: radius_mm + within_mm, path, depth: Depth::Through });
            }
        }
        let was_cutting = self.on_plate.progress.made.iter().any(|made| made.cut == cut);
        if self.stop.kind == Some(StopKind::PlateMoved) && self.stop.strays.is_empty() && was_cutting {
            self.on_plate.assumed.push(
                "No hole and no kerf is taken to lie beside the cuts: if the torch cut on after the plate had moved, tell \
                 where."
                    .to_owned(),
            );
        }
        if self.stop.kind == Some(StopKind::BadCut) && self.stop.strays.is_empty() {
            self.on_plate.assumed.push(format!(
                "The bad kerf of cut {} is taken to be no wider than a good one: if it is, tell its way and its width as a kerf \
                 beside the cuts, so that no arc is planned where it has no wall.",
                cut.number()
            ));
        }
    }

    /// How far about each of its places the metal is surely gone. What nobody has measured may be a dimple that goes through
    /// nothing; a kerf is told as wide as it is at its widest, and is a kerf everywhere else.
    fn surely_mm(&self, told: &StrayTold) -> f64 {
        let half_mm = told.wide.map_or(0.0, |wide| wide.mm() / 2.0);
        match told.places[..] {
            [_] => half_mm,
            _ => half_mm.min(self.situation.ground.kerf.mm() / 2.0),
        }
    }
}

/// Places along a way, each with the next, at most `radius_mm` apart so that discs about them leave no gap; of a single place
/// one beside it, since a hole that is told as wide as it may be is not surely so wide.
fn dots(places: &[Point<Program>], radius_mm: f64) -> Vec<(Point<Program>, Point<Program>)> {
    let Some((first, last)) = places.first().zip(places.last()) else { return Vec::new() };
    let mut dots = vec![*first];
    for pair in places.windows(2) {
        let way = pair[1] - pair[0];
        let steps = (way.length() / radius_mm.max(LEAST_STEP_MM)).ceil().clamp(1.0, MOST_STEPS);
        let mut step = 1.0;
        while step <= steps {
            dots.push(pair[0] + way * (step / steps));
            step += 1.0;
        }
    }
    let beside = *last + Vector::new(BESIDE_MM, 0.0);
    let next = dots.iter().copied().skip(1).chain([beside]).collect::<Vec<_>>();
    dots.into_iter().zip(next).collect()
}

/// Least distance of the discs that a told kerf is laid out in, in millimetres: less than any kerf is wide.
const LEAST_STEP_MM: f64 = 0.5;

/// Most discs along a straight stretch of it: a table is shorter, and what is told may be any number.
const MOST_STEPS: f64 = 10_000.0;

/// How far beside a hole its own way ends, in millimetres: as good as not at all.
const BESIDE_MM: f64 = 0.01;
