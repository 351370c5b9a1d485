//! A cut in two burns: where a void lies across what is left of it that no arc lives across, the first burn ends in the void
//! and the second begins on its far wall. Where all beyond is made already there is no second, and the gap may be closed from
//! either side. Where the plate's own edge was measured to lie inside an outline, that is the void.

use crate::joins::{Begun, Ground, PAST_MM, needed_mm, overlap_mm};
use crate::progress::HOLE_WITHIN_MM;
use crate::restart::JoinLeg;
use cuts::{Cut, CutId, Depth, Hand, Made, Stray};
use geometry::{Point, Program, SAME_POINT_MM};
use proof::{Join, JoinStart, edge_opens_mm};
use std::ops::Range;

/// Step in which a path is followed through a hole, in millimetres.
const STEP_MM: f64 = 0.05;

/// A void on a cut's path in which one burn may end and another begin, in millimetres along the path.
#[derive(Clone, Debug, PartialEq)]
struct Parting {
    /// Where the first burn ends.
    until_mm: f64,
    /// Where the second is lit.
    from_mm: f64,
    /// Where a burn is lit that goes backwards from there; none in a hole and past an edge.
    back_from_mm: Option<f64>,
    /// Where a second burn ends that comes back to it from the path's end; none but past an edge.
    back_to_mm: Option<f64>,
    /// All of it that may be a void to the torch's middle.
    void_mm: Range<f64>,
}

impl Ground<'_> {
    /// The ways to take a begun cut up in two burns, if `one_burn` are those in one: each of these that runs forwards at full
    /// speed up to the next void, and on from its far wall.
    pub(crate) fn in_two_burns(&self, begun: &Begun, one_burn: &[JoinLeg]) -> Vec<JoinLeg> {
        let cut = self.situation.list.cut(begun.cut);
        let partings = self.partings(cut, begun.through_at_most_mm);
        let sound = [JoinStart::KerfEnd, JoinStart::FreshPierce];
        let at_full_speed = one_burn.iter().filter(|leg| sound.contains(&leg.join.start));
        at_full_speed.flat_map(|leg| self.parted(cut, leg, &partings)).collect()
    }

    /// The ways to make a cut that was not begun in two burns: pierced where it is in the original; none if there is no void on
    /// its path.
    pub(crate) fn not_begun_in_two_burns(&self, cut: CutId) -> Vec<JoinLeg> {
        let cut = self.situation.list.cut(cut);
        let partings = self.partings(cut, 0.0);
        if partings.is_empty() {
            return Vec::new();
        }
        let join =
            Join { cut: cut.id, start: JoinStart::OwnPierce, from_mm: 0.0, until_mm: cut.path.length_mm() };
        // The plate is found where the original finds it.
        let leg = self.on_path(cut, join, true);
        let leg = leg.map(|leg| JoinLeg { held_mm: Vec::new(), touch_off: leg.lit, ..leg });
        leg.into_iter().flat_map(|leg| self.parted(cut, &leg, &partings)).collect()
    }

    /// A leg up to the first void that it does not begin in, with each second burn from there to the path's end or from that end
    /// back to it; alone where none is needed.
    fn parted(&self, cut: &Cut, leg: &JoinLeg, partings: &[Parting]) -> Vec<JoinLeg> {
        let begins_mm = leg.held_mm.iter().map(|held| held.end).fold(leg.join.from_mm, f64::max);
        let parting = partings.iter().find(|parting| parting.void_mm.start > begins_mm);
        let Some(parting) = parting else { return Vec::new() };
        let kerf_mm = self.situation.ground.kerf.mm();
        let mut first = leg.clone();
        first.join.until_mm = parting.until_mm;
        first.held_mm.push(parting.void_mm.start - kerf_mm - PAST_MM..parting.until_mm);
        if self.is_rest_made(cut, parting.until_mm) {
            return vec![first];
        }
        let back = parting.back_to_mm.and_then(|until_mm| self.back_from_end(cut, parting, until_mm));
        let seconds = [self.lit_on_far_wall(cut, parting), back].into_iter().flatten();
        seconds.map(|second| JoinLeg { then: Some(Box::new(second)), ..first.clone() }).collect()
    }

    /// The second of two burns where it comes back from the path's end, which lies in the kerf of the first: for a tip that comes
    /// down where the torch is lit, and finds no plate past an edge.
    fn back_from_end(&self, cut: &Cut, parting: &Parting, until_mm: f64) -> Option<JoinLeg> {
        let (kerf_mm, from_mm) = (self.situation.ground.kerf.mm(), cut.path.length_mm());
        let join = Join { cut: cut.id, start: JoinStart::Backwards, from_mm, until_mm };
        let lives_mm = self.situation.ground.thresholds.kerf_along.mm();
        let held_mm =
            vec![until_mm..parting.void_mm.end + kerf_mm + PAST_MM, from_mm - lives_mm - kerf_mm..from_mm];
        Some(JoinLeg { held_mm, ..self.on_path_after(cut, join, false, true)? })
    }

    /// The second of two burns.
    fn lit_on_far_wall(&self, cut: &Cut, parting: &Parting) -> Option<JoinLeg> {
        let (from_mm, kerf_mm) = (parting.from_mm, self.situation.ground.kerf.mm());
        let join = Join { cut: cut.id, start: JoinStart::KerfEnd, from_mm, until_mm: cut.path.length_mm() };
        Some(JoinLeg {
            held_mm: vec![from_mm..parting.void_mm.end + kerf_mm + PAST_MM],
            ..self.on_path_after(cut, join, false, true)?
        })
    }

    /// Where, beyond a place on a cut, a burn can be lit that closes the gap before it backwards: at the beginning of a kerf of
    /// its own that goes on as far as anything is missed.
    pub(crate) fn backwards_over_gap_mm(&self, cut: &Cut, beyond_mm: f64) -> Option<f64> {
        let lit_mm = self.partings(cut, beyond_mm).into_iter().find_map(|parting| parting.back_from_mm)?;
        self.is_rest_made(cut, lit_mm).then_some(lit_mm)
    }

    /// Whether all that is needed of a cut from a place on it is surely through: what leads away from there is missed by nobody.
    fn is_rest_made(&self, cut: &Cut, from_mm: f64) -> bool {
        let through = self.state.made_mm(cut.id, Depth::Through);
        let needed = needed_mm(self.situation.list, cut.id, self.given_up);
        let missed = needed.iter().filter(|needed| needed.end > from_mm + SAME_POINT_MM);
        let is_made = |missed: &Range<f64>| {
            let begins_mm = missed.start.max(from_mm) + SAME_POINT_MM;
            through.iter().any(|made| made.start <= begins_mm && missed.end <= made.end + SAME_POINT_MM)
        };
        !needed.is_empty() && missed.into_iter().all(is_made)
    }

    /// The voids on a cut's path beyond a place, nearest first: its own kerf where that was taken up farther on, blown holes as
    /// wide as its kerf, and where it runs past a measured edge of the plate.
    fn partings(&self, cut: &Cut, beyond_mm: f64) -> Vec<Parting> {
        if cut.is_mark {
            return Vec::new();
        }
        let progress = self.state.progress();
        let own = progress.made.iter().filter(|made| made.cut == cut.id && made.depth == Depth::Through);
        let own = own.filter_map(|made| self.own_kerf(cut, made));
        let blown = progress.strays.iter().filter_map(|hole| self.in_blown_hole(cut, hole));
        let mut partings: Vec<Parting> = own
            .chain(blown)
            .chain(self.past_edge(cut))
            .filter(|parting| parting.void_mm.start > beyond_mm + PAST_MM)
            .collect();
        partings.sort_by(|a, b| a.void_mm.start.total_cmp(&b.void_mm.start));
        partings
    }

    fn own_kerf(&self, cut: &Cut, made: &Made) -> Option<Parting> {
        let (sure, void_mm) = (made.surely_mm()?, made.at_most_mm(cut.path.length_mm()));
        let off_mm = [sure.start, sure.end].into_iter().filter_map(|mm| cut.path.point_at(mm));
        let off_mm = off_mm.map(|at| self.off_mm(at)).fold(0.0, f64::max);
        let sure = sure.start + off_mm..sure.end - off_mm;
        let overlap_mm = overlap_mm(self.situation.ground.thickness);
        let begins_at_mm = f64::midpoint(made.along_mm.start, void_mm.start);
        let ends_at_mm = f64::midpoint(made.along_mm.end, void_mm.end);
        (sure.start < sure.end).then(|| Parting {
            until_mm: (sure.start + overlap_mm).min(sure.end),
            from_mm: (ends_at_mm - overlap_mm).min(sure.end).max(sure.start),
            back_from_mm: Some((begins_at_mm + overlap_mm).max(sure.start).min(sure.end)),
            back_to_mm: None,
            void_mm,
        })
    }

    /// As far through the hole as the arc lives, so that the far wall is near.
    fn in_blown_hole(&self, cut: &Cut, hole: &Stray) -> Option<Parting> {
        let near = cut.path.nearest(hole.at).filter(|near| near.distance_mm < hole.crater_mm)?;
        if !hole.path.curves().is_empty() || hole.depth != Depth::Through {
            return None;
        }
        let off_mm = self.off_mm(hole.at);
        let half_kerf = self.situation.ground.kerf.mm() / 2.0;
        let (narrow_mm, wide_mm) =
            (hole.crater_mm - HOLE_WITHIN_MM - off_mm, hole.crater_mm + HOLE_WITHIN_MM + off_mm);
        let holds = |radius_mm: f64, aside_mm: f64| {
            move |along_mm: f64| {
                let place = cut.path.point_at(along_mm).zip(cut.path.tangent_at(along_mm));
                place.is_some_and(|(at, along)| {
                    let edge = along.left() * aside_mm;
                    [at + edge, at + -edge].iter().all(|p: &Point<Program>| hole.at.distance(*p) <= radius_mm)
                })
            }
        };
        let about = |holds: &dyn Fn(f64) -> bool| self.about(cut, near.along_mm, holds);
        let sure = about(&holds(narrow_mm, half_kerf))?;
        let open = about(&holds(wide_mm, half_kerf))?;
        let lives_mm = self.situation.ground.thresholds.void_across.mm();
        let until_mm = (open.start + lives_mm).min(sure.end);
        (until_mm >= sure.start).then_some(())?;
        let void_mm = about(&holds(wide_mm, 0.0))?;
        Some(Parting { until_mm, from_mm: until_mm, back_from_mm: None, back_to_mm: None, void_mm })
    }

    /// The stretches on which a cut runs so near to a measured edge of the plate, or past it, that the edge may end the part as
    /// well: each burn reaches over where its kerf opens until its bottom does, and what the edge leaves of the part bears.
    fn past_edge(&self, cut: &Cut) -> Vec<Parting> {
        let ground = self.situation.ground;
        let Some((plate, edges)) = self.measured_edges() else { return Vec::new() };
        let (within_mm, half_kerf) = (edges.within.mm(), ground.kerf.mm() / 2.0);
        let on_plate = plate.bounds();
        let all = cut.path.bounds();
        if all.is_none_or(|all| on_plate.contains(all.min) && on_plate.contains(all.max)) {
            return Vec::new();
        }
        let past_mm = |at: Point<Program>| -plate.depth_mm(at);
        let past =
            |least_mm: f64| move |mm: f64| cut.path.point_at(mm).is_some_and(|at| past_mm(at) >= least_mm);
        let opens = |mm: f64| self.outer_walls(cut, mm).iter().all(|at| past_mm(*at) >= within_mm);
        let bears = past((half_kerf + within_mm - edges.tolerance.mm()).max(PAST_MM));
        let opens_mm = edge_opens_mm(ground.thickness) + PAST_MM;
        let (mut partings, mut along_mm) = (Vec::new(), 0.0);
        while along_mm < cut.path.length_mm() {
            let Some(left_out) = self.about(cut, along_mm, &|mm| bears(mm) && opens(mm)) else {
                along_mm += STEP_MM;
                continue;
            };
            along_mm = left_out.end + STEP_MM;
            let Some(open) = self.about(cut, left_out.start, &opens) else { continue };
            let until_mm = (open.start + opens_mm).max(left_out.start);
            let from_mm = (open.end - opens_mm).min(left_out.end - PAST_MM);
            let void_mm = self.about(cut, left_out.start, &past(-half_kerf - within_mm));
            if let Some(void_mm) = void_mm.filter(|_| until_mm < from_mm) {
                let back_to_mm = Some(from_mm);
                partings.push(Parting { until_mm, from_mm, back_from_mm: None, back_to_mm, void_mm });
            }
        }
        partings
    }

    /// Where the wall of a cut's kerf lies that is scrap's, at a place along it: both walls where it bounds nothing.
    fn outer_walls(&self, cut: &Cut, along_mm: f64) -> Vec<Point<Program>> {
        let place = cut.path.point_at(along_mm).zip(cut.path.tangent_at(along_mm));
        let Some((at, along)) = place else { return Vec::new() };
        let left = along.left() * (self.situation.ground.kerf.mm() / 2.0);
        let contours = cut.contours.iter().map(|id| self.situation.list.contour(*id));
        let mut about = contours.filter(|contour| contour.along_mm.contains(&along_mm));
        match about.next().and_then(cuts::Contour::scrap_side) {
            Some(Hand::Left) => vec![at + left],
            Some(Hand::Right) => vec![at + -left],
            None => vec![at + left, at + -left],
        }
    }

    /// The stretch of a path about a place on it for which something holds; none if it does not hold there.
    fn about(&self, cut: &Cut, along_mm: f64, holds: &dyn Fn(f64) -> bool) -> Option<Range<f64>> {
        let length_mm = cut.path.length_mm();
        let (mut from, mut to) = (along_mm, along_mm);
        holds(along_mm).then_some(())?;
        while from > 0.0 && holds((from - STEP_MM).max(0.0)) {
            from = (from - STEP_MM).max(0.0);
        }
        while to < length_mm && holds((to + STEP_MM).min(length_mm)) {
            to = (to + STEP_MM).min(length_mm);
        }
        Some(from..to)
    }
}
