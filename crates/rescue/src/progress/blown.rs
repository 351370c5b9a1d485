//! Holes that a standing arc blew on the path of a cut.

use super::Telling;
use crate::Situation;
use cuts::{CutId, Depth, Ends, Made, Stray};
use geometry::{Path, Point, Program};
use proof::JoinStart;
use std::ops::Range;
use units::Length;

impl Telling<'_> {
    /// The arc stood where it was lit and blew a hole.
    pub(super) fn no_motion(&mut self, run: &[CutId], cut: CutId) {
        for before in run {
            self.runs(*before);
        }
        self.blown_at(cut);
    }

    /// There is a hole where this cut was lit: what of its path lies in it is through.
    pub(super) fn blown_at(&mut self, cut: CutId) {
        let (hole_mm, within_mm) = self.hole_mm("at the pierce");
        let join = self.join_of(cut).cloned();
        let at = join.as_ref().map_or(self.situation.list.cut(cut).pierce.at, |ran| ran.lit);
        match join.map(|ran| ran.join) {
            None => self.through_in_hole(cut, 0.0, (at, hole_mm), within_mm),
            Some(join) if join.start != JoinStart::FreshPierce => {
                self.through_in_hole(cut, join.from_mm, (at, hole_mm), within_mm);
            }
            Some(_) => {}
        }
        self.spoilt_by_hole(at);
        self.stray(Stray { at, crater_mm: hole_mm, path: Path::new(Vec::new()), depth: Depth::Through });
    }

    /// A hole that nobody has measured spoils nothing for sure.
    fn spoilt_by_hole(&mut self, at: Point<Program>) {
        if let Some(blown) = self.stop.blown {
            self.spoils(at, blown.mm() / 2.0 - self.hole_within_mm());
        }
    }

    /// How far off the told radius of the hole may be.
    fn hole_within_mm(&self) -> f64 {
        self.stop.kerf_within.map_or(HOLE_WITHIN_MM, Length::mm)
    }

    /// Where the whole width of the kerf lies in a hole about `along_mm`, the cut is through.
    fn through_in_hole(
        &mut self,
        cut: CutId,
        along_mm: f64,
        (at, hole_mm): (Point<Program>, f64),
        within_mm: f64,
    ) {
        if self.situation.list.cut(cut).is_mark {
            return;
        }
        let hole = |radius_mm: f64| InHole { situation: self.situation, cut, at, radius_mm };
        let (told, sure) = (hole(hole_mm).about(along_mm), hole(hole_mm - within_mm).about(along_mm));
        // Where it was lit there is surely no metal.
        let ends = Ends { from_within_mm: sure.start - told.start, to_within_mm: told.end - sure.end };
        self.on_plate.progress.made.push(Made { cut, along_mm: told, depth: Depth::Through, ends });
    }

    /// The cut is whole, and there is a hole at its end.
    pub(super) fn arc_stays_on(&mut self, run: &[CutId], cut: CutId) {
        for before in run.iter().chain([&cut]) {
            self.runs(*before);
        }
        let (hole_mm, _) = self.hole_mm("at the cut's end");
        let of = self.situation.list.cut(cut);
        let at = of.path.to().unwrap_or(of.pierce.at);
        self.spoilt_by_hole(at);
        self.stray(Stray { at, crater_mm: hole_mm, path: Path::new(Vec::new()), depth: Depth::Through });
    }

    /// Radius of the hole that the standing arc blew, and how far off it may be.
    fn hole_mm(&mut self, place: &str) -> (f64, f64) {
        let crater_mm = self.crater_mm();
        if let Some(blown) = self.stop.blown {
            return ((blown.mm() / 2.0).max(crater_mm), self.hole_within_mm());
        }
        let hole_mm = BLOWN_CRATERS * crater_mm;
        self.on_plate.assumed.push(format!(
            "The hole blown {place} is taken to be {:.1} mm wide, {BLOWN_CRATERS:.0} times a pierce's crater: measure it \
             and tell it.",
            2.0 * hole_mm
        ));
        // As told nowhere, it is surely as wide as a crater, and no more is known.
        (hole_mm, (hole_mm - crater_mm).max(HOLE_WITHIN_MM))
    }

    /// Whatever is said of a cut, the holes that were blown on its path earlier are there.
    pub(super) fn holes_on(&mut self, cut: CutId) {
        let path = &self.situation.list.cut(cut).path;
        let on_path = |hole: &Stray| {
            let near = path.nearest(hole.at).filter(|near| near.distance_mm <= geometry::SAME_POINT_MM)?;
            let blown = hole.crater_mm > 0.0 && hole.path.curves().is_empty();
            blown.then_some((near.along_mm, (hole.at, hole.crater_mm)))
        };
        let holes: Vec<_> = self.on_plate.progress.strays.iter().filter_map(on_path).collect();
        for (along_mm, hole) in holes {
            self.through_in_hole(cut, along_mm, hole, HOLE_WITHIN_MM);
        }
    }
}

/// A hole that a standing arc blows is so many times as wide as a pierce's crater. Assumed: the arc lengthens until it
/// breaks off, at about three times the crater.
const BLOWN_CRATERS: f64 = 3.0;

/// How far off the radius of a blown hole is told at most, in millimetres: its edge is ragged, and a rule is read to half
/// a millimetre on either side of it (common practice).
pub(crate) const HOLE_WITHIN_MM: f64 = 0.5;

/// Step in which a path is followed out of a hole, in millimetres.
const HOLE_STEP_MM: f64 = 0.05;

/// A path in a hole that a standing arc blew on it.
struct InHole<'a> {
    situation: &'a Situation<'a>,
    cut: CutId,
    /// The hole's middle and its radius.
    at: Point<Program>,
    radius_mm: f64,
}

impl InHole<'_> {
    /// The stretch about a place along the path in which the whole width of the kerf lies in the hole; the place alone if
    /// there is none.
    fn about(&self, along_mm: f64) -> Range<f64> {
        let length_mm = self.situation.list.cut(self.cut).path.length_mm();
        let (mut from, mut to) = (along_mm, along_mm);
        while to < length_mm && self.holds_width_at(to + HOLE_STEP_MM) {
            to = (to + HOLE_STEP_MM).min(length_mm);
        }
        while from > 0.0 && self.holds_width_at(from - HOLE_STEP_MM) {
            from = (from - HOLE_STEP_MM).max(0.0);
        }
        from..to
    }

    fn holds_width_at(&self, along_mm: f64) -> bool {
        let path = &self.situation.list.cut(self.cut).path;
        let half_kerf = self.situation.ground.kerf.mm() / 2.0;
        let (Some(p), Some(along)) = (path.point_at(along_mm), path.tangent_at(along_mm)) else {
            return false;
        };
        [half_kerf, -half_kerf]
            .iter()
            .all(|aside| (p + along.left() * *aside).distance(self.at) <= self.radius_mm)
    }
}
