//! How far a path runs along older ground.

use super::super::meets::{stays_near, stays_near_all};
use super::{Foot, LEAST_LOOP_MM, LEAST_STEP_MM, Over, Place, SLACK_MM, Tracer, Work};
use geometry::Curve;

impl<S: Fn(u32) -> bool> Tracer<'_, S> {
    /// Follows the path along old ground from a place and its foot: where it is farther from it than `reach_mm`, or
    /// none if it ends before. Tells what it runs `over`.
    pub(super) fn follow(
        &self,
        (mut place, mut foot): (Place, Foot),
        reach_mm: f64,
        work: &mut Work<'_>,
        over: &mut Vec<Over>,
    ) -> Option<(Place, Foot)> {
        while let Some(curve) = self.path.curves().get(place.curve) {
            let length = curve.length_mm();
            let mut farthest = place.along;
            if length - place.along > LEAST_STEP_MM {
                if let Some((to, [from, on])) = self.runs_along(place, reach_mm + SLACK_MM, work) {
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
    fn runs_along(&self, place: Place, reach_mm: f64, work: &mut Work<'_>) -> Option<(f64, [Foot; 2])> {
        let curve = &self.path.curves()[place.curve];
        let here = curve.point_at(place.along);
        let Work { ground, near, .. } = work;
        ground.near(&Curve::line(here, here), reach_mm, near);
        let is_near = |id: &u32| {
            let entry = ground.entry(*id);
            let nearest = entry.curve.nearest(here);
            let counts = if entry.owner == self.owner {
                self.mm(place) - (entry.start_mm + nearest.along_mm) >= LEAST_LOOP_MM
            } else {
                (self.sees)(entry.owner)
            };
            counts && nearest.distance_mm <= reach_mm
        };
        near.retain(is_near);
        let feet = |id: u32, to: f64| {
            let entry = ground.entry(id);
            let along = |p| entry.start_mm + entry.curve.nearest(p).along_mm;
            [along(here), along(curve.point_at(to))].map(|at| Foot { owner: entry.owner, at, gap: 0.0 })
        };
        let length = curve.length_mm();
        let whole = |id: &&u32| stays_near_all(curve, place.along, &ground.entry(**id).curve, reach_mm);
        if let Some(id) = near.iter().find(whole) {
            return Some((length, feet(*id, length)));
        }
        let reached =
            near.iter().map(|id| (stays_near(curve, place.along, &ground.entry(*id).curve, reach_mm), *id));
        let farthest = reached.reduce(|a, b| if b.0 > a.0 { b } else { a });
        farthest.map(|(to, id)| (to, feet(id, to)))
    }
}
