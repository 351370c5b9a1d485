//! How a cut that was begun can be taken up: from what is known of its kerf to the joins that may be tried, best first.

use crate::Situation;
use crate::closing::may_part_from_mm;
use crate::lead::{Lead, Site, fresh_leads, touch_off_place};
use crate::nib::has_nib;
use crate::progress::{HOLE_WITHIN_MM, nib_left};
use crate::promise::waiting_for;
use crate::refind::worst_at_mm;
use crate::restart::JoinLeg;
use crate::{Fact, Wanted};
use cuts::{Contour, ContourId, Cut, CutId, CutList, Depth, Made, PartId, PlateState, Progress};
use geometry::{Path, Point, Program, Vector};
use nc::{Height, HeightBase, TouchOffBy};
use proof::{Join, JoinStart};
use std::ops::Range;
use units::Length;

/// A cut that was begun and is not whole, as far as it is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Begun {
    /// The cut.
    pub(crate) cut: CutId,
    /// Up to here its kerf is through for sure, from its pierce or from where a lead-in of its own met it; none if nothing
    /// is sure but that it was begun.
    pub(crate) sure_mm: Option<f64>,
    /// From here on it is through up to there without a gap.
    sure_from_mm: f64,
    /// Beyond this it is not through, as far as is known.
    pub(crate) through_at_most_mm: f64,
    /// Beyond this it is not even a groove.
    pub(crate) groove_at_most_mm: f64,
    /// Whether somebody has found what it frees held.
    is_held: bool,
    /// Whether somebody has seen what it frees loose: then only a nib is left of it.
    is_loose: bool,
}

impl Begun {
    /// What is known of `cut` where these parts are given up; none if nothing of it has been made.
    pub(crate) fn of(
        situation: &Situation<'_>,
        progress: &Progress,
        cut: CutId,
        given_up: &[PartId],
    ) -> Option<Self> {
        let length_mm = situation.list.cut(cut).path.length_mm();
        let own: Vec<&Made> = progress.made.iter().filter(|made| made.cut == cut).collect();
        if own.is_empty() {
            return None;
        }
        let is_mark = situation.list.cut(cut).is_mark;
        let needed = needed_mm(situation.list, cut, given_up);
        // A mark is never through: it is made where it is marked.
        let through = || own.iter().filter(|made| is_mark || made.depth == Depth::Through);
        let sure = reach(through().filter_map(|made| made.surely_mm()), &needed);
        let most = reach(through().map(|made| made.at_most_mm(length_mm)), &needed);
        let any = reach(own.iter().map(|made| made.at_most_mm(length_mm)), &needed);
        let most_mm = most.map_or(0.0, |most| most.end);
        Some(Self {
            cut,
            sure_mm: sure.as_ref().map(|sure| sure.end),
            sure_from_mm: sure.map_or(0.0, |sure| sure.start),
            through_at_most_mm: most_mm,
            groove_at_most_mm: any.map_or(0.0, |any| any.end).max(most_mm),
            is_held: progress.held.iter().any(|id| situation.list.contour(*id).cut == cut),
            is_loose: has_nib(situation.list, progress, cut),
        })
    }

    /// A cut of which nothing has been made.
    pub(crate) const fn not_yet(cut: CutId) -> Self {
        Self {
            cut,
            sure_mm: None,
            sure_from_mm: 0.0,
            through_at_most_mm: 0.0,
            groove_at_most_mm: 0.0,
            is_held: false,
            is_loose: false,
        }
    }

    /// Where its kerf is most likely to end, in millimetres along its path.
    pub(crate) fn likely_mm(&self) -> f64 {
        self.sure_mm.map_or(0.0, |sure| (sure + self.through_at_most_mm) / 2.0)
    }
}

impl Begun {
    /// Whether a piece may have come loose already though it is not sure.
    pub(crate) fn may_have_closed(&self, situation: &Situation<'_>) -> bool {
        !self.is_held
            && may_part_from_mm(situation, self.cut, self.sure_mm.unwrap_or(0.0))
                .is_some_and(|from_mm| self.through_at_most_mm >= from_mm)
    }

    /// How far off the end of its kerf may be.
    fn within_mm(&self) -> f64 {
        (self.through_at_most_mm - self.sure_mm.unwrap_or(0.0)) / 2.0
    }

    /// The one fact that would let it be taken up, where nothing can be proven as it is known.
    pub(crate) fn wanted(&self, situation: &Situation<'_>) -> Wanted {
        let number = self.cut.number();
        if self.is_loose {
            return nib_left(self.cut);
        }
        if self.may_have_closed(situation) {
            let says = format!(
                "Whether the piece that cut {number} frees is loose: look, and try it with a rod from the side. Tell it as \
                 `piece` of that cut: `held` if it does not give, else how it lies."
            );
            return Wanted { fact: Fact::Piece(self.cut), says };
        }
        let says = if self.sure_mm.is_none_or(|sure| sure <= geometry::SAME_POINT_MM) {
            format!(
                "How far cut {number} is through for sure: nothing of its kerf is, as it was told. Jog the torch over \
                 the kerf's end, tell the place as `kerf_at`, and how far off that may be as `kerf_within` (now {:.1} mm).",
                self.within_mm()
            )
        } else {
            format!(
                "Where the kerf of cut {number} ends, with less doubt: tell it as `kerf_to` or `kerf_at` with \
                 `kerf_within` (now {:.1} mm).",
                self.within_mm()
            )
        };
        Wanted { fact: Fact::KerfEnd(self.cut), says }
    }
}

/// The stretches of a cut that bound parts or are its slots and marks, in millimetres along it, in no order: what leads to
/// them, from them and from one to the next is cut only so that the arc gets there. What bounds only parts given up is needed
/// no more than that.
pub(crate) fn needed_mm(list: &CutList, cut: CutId, given_up: &[PartId]) -> Vec<Range<f64>> {
    let of = list.cut(cut);
    let mut parts = of.contours.iter().chain(&of.bounds).filter_map(|id| list.contour(*id).part);
    // The loops of a chain between its parts lie in scrap.
    let in_scrap = parts.any(|part| given_up.contains(&part));
    bounding_mm(list, cut, |part| part.map_or(!in_scrap, |part| !given_up.contains(&part)))
}

/// The stretches of a cut that bound the parts asked for or are their slots and marks, in millimetres along it, in no order; a
/// contour that belongs to none is asked for as such.
pub(crate) fn bounding_mm(
    list: &CutList,
    cut: CutId,
    is_asked: impl Fn(Option<PartId>) -> bool,
) -> Vec<Range<f64>> {
    let of = list.cut(cut);
    let asked = |ids: &[ContourId]| -> Vec<&Contour> {
        ids.iter().map(|id| list.contour(*id)).filter(|contour| is_asked(contour.part)).collect()
    };
    let own = asked(&of.contours).into_iter().map(|contour| contour.along_mm.clone());
    let edges = asked(&of.bounds).into_iter().flat_map(|contour| &contour.boundary);
    own.chain(edges.filter(|edge| edge.cut == cut).map(|edge| edge.along_mm.clone())).collect()
}

/// The farthest stretch without a gap, from the beginning of a path or from where nothing before is missed: a gap in which
/// nothing is `needed` is one that a lead-in of another pierce has left. None if there is no such stretch.
fn reach(stretches: impl Iterator<Item = Range<f64>>, needed: &[Range<f64>]) -> Option<Range<f64>> {
    let mut sorted: Vec<Range<f64>> = stretches.collect();
    sorted.sort_by(|a, b| a.start.total_cmp(&b.start));
    let mut reached: Option<Range<f64>> = None;
    for stretch in sorted {
        let end_mm = reached.as_ref().map_or(0.0, |reached| reached.end);
        if stretch.start > next_needed_mm(needed, end_mm).unwrap_or(end_mm) + geometry::SAME_POINT_MM {
            break;
        }
        reached = match reached {
            Some(before) if stretch.start <= before.end + geometry::SAME_POINT_MM => {
                Some(before.start..before.end.max(stretch.end))
            }
            _ => Some(stretch),
        };
    }
    reached
}

/// The first place from `from_mm` on at which something of a cut is needed; none if nothing is any more.
fn next_needed_mm(needed: &[Range<f64>], from_mm: f64) -> Option<f64> {
    let left = needed.iter().filter(|needed| needed.end > from_mm + geometry::SAME_POINT_MM);
    left.map(|needed| needed.start.max(from_mm)).min_by(f64::total_cmp)
}

/// How far a join goes back over its own kerf: 3 mm or three tenths of the thickness, at most 5 mm (common practice).
pub(crate) fn overlap_mm(thickness: Length) -> f64 {
    (0.3 * thickness.mm()).clamp(OVERLAP_LEAST_MM, OVERLAP_MOST_MM)
}

const OVERLAP_LEAST_MM: f64 = 3.0;
const OVERLAP_MOST_MM: f64 = 5.0;

/// What is added to a place that must lie past another, in millimetres: far more than arithmetic loses, far less than
/// anything on a plate.
pub(crate) const PAST_MM: f64 = 0.01;

/// How much the landing error may grow from one place of a join to the next, in millimetres: a turn known to a milliradian
/// over some centimetres.
const LANDING_SPARE_MM: f64 = 0.1;

/// How far a pilot arc reaches to a wall, in millimetres, from a torch at cut height (common practice: a little more).
const PILOT_MM: f64 = 2.0;

/// How far it surely reaches at the lowest heights: 1.5 mm, and half as much again at the pierce (common practice).
const PILOT_LOWEST_MM: f64 = 1.6;

/// Step in which a wall ahead is looked for, in millimetres.
const WALL_STEP_MM: f64 = 0.1;

/// Leads tried for one cut: the best few; where those are refused, others of the same place are.
const LEADS_TRIED: usize = 3;

/// How far before the next contour a cut is led into at most, in millimetres: what leads to it is straight there.
const LEAD_IN_MOST_MM: f64 = 40.0;

/// What a cut is taken up from.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Ground<'a> {
    pub(crate) situation: &'a Situation<'a>,
    pub(crate) state: &'a PlateState,
    /// Whether other cuts may be made before: others were begun as well, or come before in the original.
    pub(crate) others_before: bool,
    /// Parts given up: what bounds nothing else need not be cut.
    pub(crate) given_up: &'a [PartId],
}

/// The ways in which a begun cut may be taken up, best first.
pub(crate) fn legs(ground: &Ground<'_>, begun: &Begun) -> Vec<JoinLeg> {
    let mut legs = ground.kerf_ends(begun);
    // A mark needs no wall, no hole and no second pass: it goes on over its own end.
    // Nor does a nib have metal for any other start.
    if ground.situation.list.cut(begun.cut).is_mark || begun.is_loose {
        return legs;
    }
    legs.extend(ground.fresh_pierces(begun));
    legs.extend(ground.second_pass(begun));
    legs.extend(ground.backwards(begun));
    legs.extend(ground.in_two_burns(begun, &legs));
    legs
}

impl Ground<'_> {
    /// What may be made before `cut` is taken up, by what is sure of the order: nothing sure at first, then that of the
    /// original, which is kept where no other can be proven. Never the cut itself, nor what is cut around it.
    fn before(&self, cut: CutId) -> Vec<Vec<CutId>> {
        if !self.others_before {
            return vec![Vec::new()];
        }
        let list = self.situation.list;
        let later = waiting_for(list, &[cut]);
        let others = list.cuts.iter().filter(|other| !other.is_mark && !later.contains(&other.id));
        let all: Vec<CutId> =
            others.map(|other| other.id).filter(|other| !self.state.is_whole(list, *other)).collect();
        let in_order = all.iter().copied().filter(|other| *other < cut).collect();
        vec![all, in_order]
    }

    /// The plate for a place to be found about `at`, with room for how far off everything may land there.
    fn site<'b>(&'b self, at: Point<Program>, before: &'b [CutId]) -> Site<'b> {
        let Situation { list, index, ground, .. } = *self.situation;
        let reach_mm = ground.thresholds.touch_off_reach.mm();
        let corners = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)];
        let about = corners.map(|(x, y)| at + Vector::new(x, y) * reach_mm);
        let spare_mm = about.into_iter().map(|p| self.off_mm(p)).fold(0.0, f64::max);
        Site {
            list,
            index,
            state: self.state,
            ground,
            spare_mm,
            touches_where_lit: self.touches_where_lit(),
            before,
        }
    }

    /// How far off its place `p` may land; nothing where the plate lies as it was begun.
    pub(crate) fn off_mm(&self, p: Point<Program>) -> f64 {
        self.situation.pose.map_or(0.0, |pose| worst_at_mm(pose, p))
    }

    /// Up to here its kerf is through for sure, wherever on it the torch may land.
    fn surely_mm(&self, begun: &Begun) -> Option<f64> {
        let sure_mm = begun.sure_mm?;
        let at = self.situation.list.cut(begun.cut).path.point_at(sure_mm);
        // A little farther back the landing is a little worse.
        let off_mm = at.map_or(0.0, |at| self.off_mm(at));
        Some(sure_mm - if off_mm > 0.0 { off_mm + LANDING_SPARE_MM } else { 0.0 })
    }

    fn kerf_mm(&self) -> f64 {
        self.situation.ground.kerf.mm()
    }

    /// Surely in the old kerf, and far enough from where it most likely ends; in a short kerf at its beginning.
    fn in_old_kerf_mm(&self, begun: &Begun) -> Option<f64> {
        let overlap = overlap_mm(self.situation.ground.thickness);
        Some((begun.likely_mm() - overlap).min(self.surely_mm(begun)?).max(begun.sure_from_mm))
    }

    /// Whether the plate is found as part of the torch-on.
    fn touches_where_lit(&self) -> bool {
        self.situation.dialect.touch_off.contains(&TouchOffBy::TorchOn)
    }

    /// Where the plate is found for a start at `lit`: there, if the torch-on or nothing does it. Where nothing near by is
    /// sound, the tip rests on the lips of the kerf or groove in which it is lit.
    fn touch_off(&self, cut: &Cut, lit: Point<Program>, is_second: bool) -> Point<Program> {
        if cut.touch_off.is_none() || self.touches_where_lit() {
            return lit;
        }
        let places = self.before(cut.id).into_iter().find_map(|mut before| {
            before.extend(is_second.then_some(cut.id));
            touch_off_place(&self.site(lit, &before), lit)
        });
        places.unwrap_or(lit)
    }

    /// A leg that is lit on the cut's path.
    pub(crate) fn on_path(&self, cut: &Cut, join: Join, pierces: bool) -> Option<JoinLeg> {
        self.on_path_after(cut, join, pierces, false)
    }

    /// The same; the second of two burns comes after some of the cut has been made.
    pub(crate) fn on_path_after(
        &self,
        cut: &Cut,
        join: Join,
        pierces: bool,
        is_second: bool,
    ) -> Option<JoinLeg> {
        let lit = cut.path.point_at(join.from_mm)?;
        Some(JoinLeg {
            touch_off: self.touch_off(cut, lit, is_second),
            lit,
            lead: Path::new(Vec::new()),
            pierces,
            edge_delay: self.situation.ground.thresholds.edge_delay,
            held_mm: vec![join.from_mm..join.from_mm],
            slow_until_mm: 0.0,
            slow_share: 1.0,
            then: None,
            join,
        })
    }

    /// How far the pilot arc reaches to a wall from cut height: as far from the nozzle as it takes on the plate at a pierce.
    fn pilot_mm(&self, cut: &Cut) -> f64 {
        let Situation { ground, .. } = *self.situation;
        let above_plate = |height: Height| (height.base == HeightBase::PlateTop).then_some(height.mm);
        let heights = above_plate(cut.pierce.height).zip(above_plate(cut.cut_height));
        let lip_mm = heights.map_or(0.0, |(pierce, cut)| (pierce * pierce - cut * cut).max(0.0).sqrt());
        let crater_mm = ground.crater_radius.unwrap_or(ground.kerf).mm();
        lip_mm.max(crater_mm).clamp(PILOT_LOWEST_MM, PILOT_MM)
    }

    /// The first place from `from_mm` to `latest_mm` along a cut from which the pilot arc surely reaches a wall: in a hole
    /// that a standing arc blew, the one ahead; past the plate's edge, that. The last if there is none.
    fn near_wall_mm(&self, cut: &Cut, from_mm: f64, latest_mm: f64) -> f64 {
        let reach_mm = self.pilot_mm(cut) - HOLE_WITHIN_MM;
        let holes = &self.state.progress().strays;
        let reaches = |along_mm: f64| {
            let lit = cut.path.point_at(along_mm);
            lit.is_some_and(|lit| {
                let off_mm = self.off_mm(lit);
                holes.iter().all(|hole| hole.crater_mm - hole.at.distance(lit) + off_mm <= reach_mm)
                    && self.at_most_past_edge_mm(lit) <= self.pilot_mm(cut)
            })
        };
        let mut along_mm = from_mm;
        while along_mm < latest_mm && !reaches(along_mm) {
            along_mm = (along_mm + WALL_STEP_MM).min(latest_mm);
        }
        along_mm
    }

    /// Up to where along a cut the torch's middle surely has no metal under it in the blown hole in which what is surely
    /// through of it ends; 0 if there is no such hole.
    fn in_blown_mm(&self, cut: &Cut, begun: &Begun) -> f64 {
        let (path, half_kerf) = (&cut.path, self.kerf_mm() / 2.0);
        let Some(sure_mm) = begun.sure_mm else { return 0.0 };
        let Some((ends, along)) = path.point_at(sure_mm).zip(path.tangent_at(sure_mm)) else { return 0.0 };
        let blown = self.state.progress().strays.iter().filter(|stray| stray.path.curves().is_empty());
        let up_to = blown.filter_map(|hole| {
            let edges = [half_kerf, -half_kerf].map(|aside| hole.at.distance(ends + along.left() * aside));
            let surely_mm = edges[0].max(edges[1]);
            let holds = |along_mm: f64| {
                let at = path.point_at(along_mm)?;
                (hole.at.distance(at) + self.off_mm(at) + LANDING_SPARE_MM <= surely_mm).then_some(())
            };
            if surely_mm > hole.crater_mm + geometry::SAME_POINT_MM {
                return None;
            }
            let mut along_mm = self.surely_mm(begun)?.max(0.0);
            while along_mm < path.length_mm() && holds(along_mm + WALL_STEP_MM).is_some() {
                along_mm = (along_mm + WALL_STEP_MM).min(path.length_mm());
            }
            Some(along_mm)
        });
        up_to.fold(0.0, f64::max)
    }

    /// On the end wall of the old kerf, or on that of a hole in it. Where the plate is found as the arc is lit, the nearer the
    /// wall is, the more plate lies under the tip: then as near to it as is sure, too. So where a kerf has come out over the
    /// plate's edge: the pilot may reach that beside it, long before the path comes back in over it.
    pub(crate) fn kerf_ends(&self, begun: &Begun) -> Vec<JoinLeg> {
        let Some((first_mm, latest_mm)) = self.at_kerf_end_mm(begun) else { return Vec::new() };
        let over_edge = self.surely_mm(begun).is_some_and(|surely_mm| latest_mm > surely_mm + WALL_STEP_MM);
        let nearer = (self.touches_where_lit() || over_edge) && latest_mm > first_mm + WALL_STEP_MM;
        let from_mm = std::iter::once(first_mm).chain(nearer.then_some(latest_mm));
        from_mm.filter_map(|from_mm| self.kerf_end_from(begun, from_mm)).collect()
    }

    /// Where along a cut an arc is begun on the end wall of its kerf: as usual, and as near to it as is sure.
    fn at_kerf_end_mm(&self, begun: &Begun) -> Option<(f64, f64)> {
        let cut = self.situation.list.cut(begun.cut);
        // What bounds a part, and a slit, is cut all the way from where it is surely through.
        let contours = cut.contours.iter().map(|id| self.situation.list.contour(*id).along_mm.start);
        let bounds = cut.bounds.iter().flat_map(|id| &self.situation.list.contour(*id).boundary);
        let edges = bounds.filter(|edge| edge.cut == cut.id).map(|edge| edge.along_mm.start);
        let lead_in_mm = contours.chain(edges).fold(f64::INFINITY, f64::min);
        let surely_mm = self.surely_mm(begun)?;
        let latest_mm = surely_mm
            .max(self.in_blown_mm(cut, begun).min(lead_in_mm))
            .max(self.surely_past_edge_mm(cut, surely_mm));
        Some((self.near_wall_mm(cut, self.in_old_kerf_mm(begun)?, latest_mm), latest_mm))
    }

    fn kerf_end_from(&self, begun: &Begun, from_mm: f64) -> Option<JoinLeg> {
        let cut = self.situation.list.cut(begun.cut);
        let join = Join { cut: cut.id, start: JoinStart::KerfEnd, from_mm, until_mm: cut.path.length_mm() };
        // Along a nib there is metal on one side only, to the end.
        let open_until_mm = begun.through_at_most_mm.max(self.open_past_edge_mm(cut, from_mm));
        let held_until_mm =
            if begun.is_loose { join.until_mm } else { open_until_mm + self.kerf_mm() + PAST_MM };
        Some(JoinLeg { held_mm: vec![from_mm..held_until_mm], ..self.on_path(cut, join, false)? })
    }

    /// By a pierce in scrap, led into the old kerf, or into what is still scrap before the next contour begins. Where the
    /// kerf ends in the contour of a part given up, best before the next of one that is not: nothing hangs on that kerf then.
    pub(crate) fn fresh_pierces(&self, begun: &Begun) -> Vec<JoinLeg> {
        let surely_mm = self.surely_mm(begun).unwrap_or(0.0);
        let needed = needed_mm(self.situation.list, begun.cut, &[]);
        let latest = next_needed_mm(&needed, surely_mm).unwrap_or(surely_mm);
        let lives_mm = self.situation.ground.thresholds.kerf_along.mm();
        let earliest = (begun.through_at_most_mm - lives_mm).clamp(0.0, latest);
        let mut legs = self
            .past_given_up_mm(begun, surely_mm)
            .map_or_else(Vec::new, |window_mm| self.fresh_pierces_in(begun, window_mm));
        legs.extend(self.fresh_pierces_in(begun, earliest..latest));
        legs
    }

    /// Where a cut may be led into between what is left of a part given up and the next contour that is needed, in millimetres
    /// along it; none if nothing of such a part is left before that.
    fn past_given_up_mm(&self, begun: &Begun, surely_mm: f64) -> Option<Range<f64>> {
        let (list, cut) = (self.situation.list, begun.cut);
        let begins_mm = next_needed_mm(&needed_mm(list, cut, self.given_up), surely_mm)?;
        let given_up = needed_mm(list, cut, &[])
            .into_iter()
            .filter(|needed| needed.start < begins_mm && needed.end > surely_mm + geometry::SAME_POINT_MM);
        let ends_mm = given_up.map(|needed| needed.end.min(begins_mm)).reduce(f64::max)?;
        let may_be_cut_mm = begun.groove_at_most_mm + self.kerf_mm() + PAST_MM;
        let earliest = ends_mm.max(begins_mm - LEAD_IN_MOST_MM).max(may_be_cut_mm);
        (earliest <= begins_mm).then_some(earliest..begins_mm)
    }

    fn fresh_pierces_in(&self, begun: &Begun, window_mm: Range<f64>) -> Vec<JoinLeg> {
        let cut = self.situation.list.cut(begun.cut);
        let at = cut.path.point_at(window_mm.end).unwrap_or(cut.pierce.at);
        let found = |before: Vec<CutId>| fresh_leads(&self.site(at, &before), cut.id, window_mm.clone());
        let leads = self.before(cut.id).into_iter().map(found).find(|leads| !leads.is_empty());
        leads
            .into_iter()
            .flatten()
            .take(LEADS_TRIED)
            .map(|lead| self.fresh_pierce(cut, begun, lead))
            .collect()
    }

    fn fresh_pierce(&self, cut: &Cut, begun: &Begun, lead: Lead) -> JoinLeg {
        let (start, until_mm) = (JoinStart::FreshPierce, cut.path.length_mm());
        let held_until = begun.through_at_most_mm.max(lead.from_mm) + self.kerf_mm() + PAST_MM;
        JoinLeg {
            join: Join { cut: cut.id, start, from_mm: lead.from_mm, until_mm },
            touch_off: lead.touch_off,
            lit: lead.pierce,
            pierces: true,
            edge_delay: self.situation.ground.thresholds.edge_delay,
            held_mm: vec![lead.from_mm..held_until],
            slow_until_mm: 0.0,
            slow_share: 1.0,
            lead: lead.path,
            then: None,
        }
    }

    /// Over a groove, slower: from the end wall where what lies before it is through, else from the cut's own pierce.
    fn second_pass(&self, begun: &Begun) -> Option<JoinLeg> {
        if begun.groove_at_most_mm <= begun.through_at_most_mm + PAST_MM {
            return None;
        }
        let cut = self.situation.list.cut(begun.cut);
        let on_wall = self.in_old_kerf_mm(begun).filter(|from| *from > geometry::SAME_POINT_MM);
        // Through a little way, and perhaps not at all: neither a wall nor a floor to start on.
        if on_wall.is_none() && begun.through_at_most_mm > geometry::SAME_POINT_MM {
            return None;
        }
        let from_mm = on_wall.unwrap_or(0.0);
        let join =
            Join { cut: cut.id, start: JoinStart::SecondPass, from_mm, until_mm: cut.path.length_mm() };
        let slow_until_mm = begun.groove_at_most_mm + PAST_MM;
        Some(JoinLeg {
            held_mm: vec![from_mm..slow_until_mm + self.kerf_mm()],
            slow_until_mm,
            slow_share: self.situation.ground.thresholds.second_pass_speed,
            ..self.on_path(cut, join, on_wall.is_none())?
        })
    }

    /// From the far end back into the old kerf, where the far end lies on a kerf that is surely there; from the kerf's end where
    /// it was run backwards before. What of it is a groove is gone over more slowly.
    fn backwards(&self, begun: &Begun) -> Vec<JoinLeg> {
        let cut = self.situation.list.cut(begun.cut);
        let Some(until_mm) = self.in_old_kerf_mm(begun) else { return Vec::new() };
        let mut contours = cut.contours.iter().map(|id| self.situation.list.contour(*id).along_mm.end);
        let ends = [Some(cut.path.length_mm()), contours.next_back()].into_iter().flatten();
        let on_kerf = |from_mm: &f64| {
            *from_mm > begun.through_at_most_mm
                && cut.path.point_at(*from_mm).is_some_and(|p| self.is_through_at(p))
        };
        let mut ends: Vec<f64> = match self.backwards_over_gap_mm(cut, begun.through_at_most_mm) {
            Some(lit_mm) => vec![lit_mm],
            None => ends.filter(on_kerf).collect(),
        };
        ends.dedup_by(|a, b| (*a - *b).abs() < PAST_MM);
        let leg = |from_mm: f64| {
            let join = Join { cut: cut.id, start: JoinStart::Backwards, from_mm, until_mm };
            let lives_mm = self.situation.ground.thresholds.kerf_along.mm();
            let far = from_mm - lives_mm - self.kerf_mm()..from_mm;
            let over_groove = begun.groove_at_most_mm > begun.through_at_most_mm + PAST_MM;
            let slow_until_mm =
                if over_groove { (begun.groove_at_most_mm + PAST_MM).min(from_mm) } else { 0.0 };
            let near = until_mm..slow_until_mm.max(begun.through_at_most_mm) + self.kerf_mm() + PAST_MM;
            Some(JoinLeg {
                held_mm: vec![near, far],
                slow_until_mm,
                slow_share: if over_groove {
                    self.situation.ground.thresholds.second_pass_speed
                } else {
                    1.0
                },
                ..self.on_path(cut, join, false)?
            })
        };
        ends.into_iter().filter_map(leg).collect()
    }

    /// Whether a place lies on the line of a kerf that is through.
    fn is_through_at(&self, p: Point<Program>) -> bool {
        let Situation { list, index, .. } = *self.situation;
        index.curves.near_point(p, ON_KERF_MM).any(|hit| {
            let (cut, number) = hit.tag;
            let near = hit.curve.nearest(p);
            let along_mm = list.cut(cut).path.start_of_mm(number as usize) + near.along_mm;
            let mut through = self.state.made_mm(cut, Depth::Through).iter();
            near.distance_mm <= ON_KERF_MM
                && !list.cut(cut).is_mark
                && through.any(|made| (made.start..=made.end).contains(&along_mm))
        })
    }
}

/// How near a centre line the far end of a cut must lie to be on a kerf: as near as what is cut must lie to what is
/// promised.
const ON_KERF_MM: f64 = 0.05;
