//! Fresh leads: every join in the window, every radius, turn and length of the straight, ranked by room and shortness.
//!
//! From each join the arcs of all radii are walked back once; at every few degrees of turn a straight line is walked
//! back from there. Where the crater does not fit yet, the walk leaps ahead by what is missing, since moving by `d`
//! changes the room by at most `d`; where the torch may not pass, the arc or line ends. A coarse search comes first, a
//! fine one only where that finds nothing.

use super::march::{STEP_MM, Walk, Walker};
use super::nearest::{LEAF_MM, Wanted, nearest};
use super::room::Clear;
use super::shape::{Join, Passing, Shape};
use super::verify::verified;
use super::{Lead, Site};
use cuts::{Contour, Cut, CutId, Hand, Shape as Is, Turn};
use geometry::{Path, Point, Program, SAME_POINT_MM};
use std::ops::Range;

/// Longest lead, in millimetres: three times what is usual on thick plate; farther off, a kerf through the skeleton
/// costs more than it saves.
const LENGTH_MAX_MM: f64 = 45.0;

/// Radii of the arcs that are tried, in millimetres. The kerf of a smaller one melts into one hole; a larger one is
/// longer than [`LENGTH_MAX_MM`] before it has left the cut.
const RADII_MM: [f64; 13] = [1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.5, 8.0, 10.0, 13.0, 17.0, 22.0, 30.0];

/// Most turn of an arc, in radians: half a circle and a quarter of one, beyond which a lead crosses itself.
const TURN_MAX_RAD: f64 = 1.25 * std::f64::consts::PI;

/// Step along a straight line while the crater fits, in millimetres.
const STRAIGHT_STEP_MM: f64 = 0.5;

/// Least leap, in millimetres.
const LEAP_MIN_MM: f64 = 0.1;

/// A lead that is longer than the best so far by this much, in millimetres, is not looked for.
const LONGER_MM: f64 = 15.0;

/// Most leads given.
const LEADS_MAX: usize = 6;

/// Pierces of two leads given lie at least this far apart, in millimetres, so that the second is worth trying where
/// something forbids the first.
const APART_MM: f64 = 3.0;

/// Most leads that get the last look in one search.
const LOOKS_MAX: usize = 300;

/// Most joins tried in a window.
const JOINS_MAX: f64 = 40.0;

/// How densely to search.
struct Density {
    join_mm: f64,
    turn_rad: f64,
    /// Every how many of [`RADII_MM`].
    radii: usize,
}

const COARSE: Density = Density { join_mm: 1.0, turn_rad: 10.0 * DEGREE, radii: 2 };
const FINE: Density = Density { join_mm: 0.25, turn_rad: 4.0 * DEGREE, radii: 1 };
const DEGREE: f64 = std::f64::consts::PI / 180.0;

/// Leads by which `cut` can be taken up after a pierce in scrap, so that its path is met at a place of `window_mm`
/// (millimetres along it); the best first, at most six, their pierces apart from each other. Empty if there is none,
/// and for a cut without a scrap side.
///
/// Of each it holds that the whole crater lies on metal that the skeleton surely holds, clear of all parts, kerfs as
/// far as they may reach, craters, holes, edges, clamps and what later cuts need; that its own kerf lies wholly in
/// scrap or in old kerf and leaves a web beside every other kerf; that it meets the path tangentially in the direction
/// of the cut, and the arc lives until there is metal again; and that there is a place to touch off.
///
/// **Accuracy**: leads up to 45 mm long; steps of 0.25 mm along the window and 4 degrees of turn at the finest.
#[must_use]
pub fn fresh_leads(site: &Site<'_>, cut: CutId, window_mm: Range<f64>) -> Vec<Lead> {
    let cut = site.list.cut(cut);
    let window = window_mm.start.max(0.0)..window_mm.end.min(cut.path.length_mm());
    let ends = [window.start, window.end].map(|at| cut.path.point_at(at));
    let ([Some(from), Some(to)], true) = (ends, window.start <= window.end) else { return Vec::new() };
    let half_window = (window.end - window.start) / 2.0;
    let beyond = site.crater_mm() + site.foot_mm() + 2.0 * site.ground.kerf.mm() + site.spare_mm;
    // A place of the window lies at most half of it from the nearer end, and half of it from the middle of both.
    let reach = half_window + from.distance(to) / 2.0 + LENGTH_MAX_MM + beyond;
    let mut walker = Walker::new(site, from.lerp(to, 0.5), reach, cut.id);
    if nearest(from.lerp(to, 0.5), reach - beyond, &mut Crater { walker: &mut walker }).is_none() {
        return Vec::new();
    }
    for density in [COARSE, FINE] {
        let mut search = Search { walker: &mut walker, found: Vec::new(), best_cost: f64::INFINITY, density };
        for join in joins(site, cut, &window, search.density.join_mm) {
            search.at_join(&join, window.end - join.from_mm);
        }
        let leads = search.leads(cut);
        if !leads.is_empty() {
            return leads;
        }
    }
    Vec::new()
}

/// A place for a crater, no matter how it is reached: where there is none, no lead need be searched for.
struct Crater<'w, 'a> {
    walker: &'w mut Walker<'a>,
}

impl Wanted for Crater<'_, '_> {
    fn spare_mm(&mut self, p: Point<Program>) -> f64 {
        let clear = self.walker.clear_at(p);
        self.walker.crater_spare_mm(&clear) + LEAF_MM
    }

    fn may_hold(&mut self, middle: Point<Program>, half_diagonal_mm: f64) -> bool {
        let clear = self.walker.clear_at(middle);
        let one_piece = clear.part_mm.min(clear.edge_mm) > half_diagonal_mm;
        !one_piece || (self.walker.site.is_scrap(middle) && self.walker.site.is_attached(middle))
    }

    fn cost_mm(&mut self, p: Point<Program>, away_mm: f64) -> Option<f64> {
        (self.walker.site.is_scrap(p) && self.walker.site.is_attached(p)).then_some(away_mm)
    }
}

/// Places of the window at which a lead may meet the path, with the sides from which it may come.
fn joins(site: &Site<'_>, cut: &Cut, window: &Range<f64>, step_mm: f64) -> Vec<Join> {
    let length = window.end - window.start;
    let count = (length / step_mm).ceil().clamp(1.0, JOINS_MAX);
    let mut joins = Vec::new();
    let mut k = 0.0;
    while k <= count {
        let from_mm = at_corner(&cut.path, window.start + length * k / count);
        k += 1.0;
        let (Some(at), Some(along)) = (cut.path.point_at(from_mm), cut.path.tangent_at(from_mm)) else {
            continue;
        };
        for hand in hands(site, cut, from_mm) {
            let aside = if *hand == Hand::Left { along.left() } else { -along.left() };
            joins.push(Join { from_mm, at, along, aside });
        }
        if length <= 0.0 {
            break;
        }
    }
    joins
}

/// A place along a path, or, where a curve of it begins as good as there, that beginning: a lead that meets a corner runs on
/// along what comes after it.
fn at_corner(path: &Path<Program>, along_mm: f64) -> f64 {
    let begins_mm = path.locate(along_mm + SAME_POINT_MM).map(|(nth, _)| path.start_of_mm(nth));
    begins_mm.filter(|begins| (begins - along_mm).abs() <= SAME_POINT_MM).unwrap_or(along_mm)
}

/// The sides of a cut on which there may be scrap: on a contour its free side, on a lead-in both.
fn hands(site: &Site<'_>, cut: &Cut, from_mm: f64) -> &'static [Hand] {
    let contours = cut.contours.iter().map(|id| site.list.contour(*id));
    let Some(contour) = contours.into_iter().find(|contour| from_mm <= contour.along_mm.end) else {
        return &[];
    };
    match free_hand(contour) {
        Some(_) if from_mm < contour.along_mm.start => &[Hand::Left, Hand::Right],
        Some(Hand::Left) => &[Hand::Left],
        Some(Hand::Right) => &[Hand::Right],
        None => &[],
    }
}

/// The side away from what the contour bounds. Where it shares edges, other parts may lie there; those are seen as the
/// lead is walked.
fn free_hand(contour: &Contour) -> Option<Hand> {
    match (contour.shape, contour.turn?) {
        (Is::Outline, Turn::CounterClockwise) | (Is::Hole, Turn::Clockwise) => Some(Hand::Right),
        (Is::Outline, Turn::Clockwise) | (Is::Hole, Turn::CounterClockwise) => Some(Hand::Left),
        (Is::Slot | Is::Mark, _) => None,
    }
}

struct Search<'w, 'a> {
    walker: &'w mut Walker<'a>,
    found: Vec<Found>,
    best_cost: f64,
    density: Density,
}

/// A lead that fits as far as the walk saw.
#[derive(Clone, Copy, Debug)]
struct Found {
    cost: f64,
    shape: Shape,
}

impl Search<'_, '_> {
    /// All leads that end at a join, `early_mm` before the window's end.
    fn at_join(&mut self, join: &Join, early_mm: f64) {
        let kerf = self.walker.site.ground.kerf.mm();
        for radius_mm in RADII_MM.into_iter().step_by(self.density.radii).filter(|radius| *radius >= kerf) {
            self.along_arc(Shape { join: *join, radius_mm, turn_rad: 0.0, straight_mm: 0.0 }, early_mm);
        }
    }

    /// Walks back along an arc, and at every few degrees along the straight line that would lead into it.
    fn along_arc(&mut self, mut shape: Shape, early_mm: f64) {
        let mut walk = Walk::BEGIN;
        let mut back_mm = 0.0;
        let mut next_mm = 0.0;
        loop {
            let passing = shape.join.on_arc(shape.radius_mm, back_mm / shape.radius_mm);
            let Some(passed) = self.walker.pass(&mut walk, passing.at) else { return };
            if back_mm >= next_mm {
                shape.turn_rad = back_mm / shape.radius_mm;
                self.along_straight(&shape, &passing, walk, early_mm);
                next_mm += self.density.turn_rad * shape.radius_mm;
            }
            back_mm = (back_mm + passed.free_mm.max(STEP_MM)).min(next_mm);
            if back_mm > (TURN_MAX_RAD * shape.radius_mm).min(LENGTH_MAX_MM) {
                return;
            }
        }
    }

    /// Walks back along the straight line before an arc, and keeps the best pierce on it.
    fn along_straight(&mut self, shape: &Shape, begins: &Passing, mut walk: Walk, early_mm: f64) {
        let mut best: Option<Found> = None;
        let mut straight_mm = 0.0;
        while shape.arc_mm() + straight_mm <= LENGTH_MAX_MM.min(self.best_cost + LONGER_MM) {
            let p = begins.at + -begins.along * straight_mm;
            let Some(passed) = self.walker.pass(&mut walk, p) else { break };
            let mut leap_mm = STEP_MM;
            if !walk.merging {
                let spare = self.walker.crater_spare_mm(&passed.clear);
                leap_mm = passed.free_mm.max(STEP_MM);
                if spare >= 0.0 {
                    let shape = Shape { straight_mm, ..*shape };
                    let cost = self.cost(&shape, &passed.clear, early_mm);
                    if best.is_none_or(|best| cost < best.cost) {
                        best = Some(Found { cost, shape });
                    }
                    leap_mm = leap_mm.min(STRAIGHT_STEP_MM);
                } else {
                    leap_mm = leap_mm.min((-spare).max(LEAP_MIN_MM));
                }
            }
            straight_mm += leap_mm;
        }
        if let Some(best) = best {
            self.best_cost = self.best_cost.min(best.cost);
            self.found.push(best);
        }
    }

    /// What speaks against a lead, in millimetres of length that one would rather go.
    fn cost(&self, shape: &Shape, clear: &Clear, early_mm: f64) -> f64 {
        let site = self.walker.site;
        let missing = |wanted: f64, there: f64| (wanted - there).max(0.0);
        let usual = USUAL_LEAD_MM.max(site.ground.thickness.mm());
        let off_part = clear.part_mm + site.half_kerf_mm();
        let not_whole = match (site.foot_spare_mm(clear) < 0.0, site.touches_where_lit) {
            (false, _) => 0.0,
            (true, false) => TOUCH_OFF_ELSEWHERE_MM,
            (true, true) => TOUCH_OFF_ON_GAPS_MM,
        };
        shape.length_mm()
            + TOO_NEAR_PART * missing(usual, off_part)
            + TOO_NEAR_PART * missing(usual, shape.length_mm())
            + TOO_NEAR_VOID * missing(ROOM_WANTED_MM, self.walker.crater_spare_mm(clear))
            + missing(2.0 * site.ground.kerf.mm(), shape.radius_mm)
            + TURNED * missing(shape.turn_rad, TURN_USUAL_RAD)
            + OLD_KERF * early_mm
            + not_whole
    }

    /// The best of what was found that stand the last look.
    fn leads(mut self, cut: &Cut) -> Vec<Lead> {
        self.found.sort_by(|a, b| a.cost.total_cmp(&b.cost));
        let mut leads: Vec<Lead> = Vec::new();
        let (mut looks, mut searches) = (0, 0);
        for found in &self.found {
            let pierce = found.shape.pierce();
            if leads.iter().any(|lead| lead.pierce.distance(pierce) < APART_MM) {
                continue;
            }
            looks += 1;
            leads.extend(verified(self.walker, cut, &found.shape, &mut searches));
            if leads.len() == LEADS_MAX || looks == LOOKS_MAX {
                break;
            }
        }
        leads
    }
}

/// Least length of a lead and distance of its pierce from the part, in millimetres, unless the plate is thicker; where
/// there is room (common practice).
const USUAL_LEAD_MM: f64 = 3.0;

/// What each millimetre nearer to the part, or shorter, than is usual counts.
const TOO_NEAR_PART: f64 = 3.0;

/// Metal wanted around a crater beyond what is asked for, in millimetres, where there is room.
const ROOM_WANTED_MM: f64 = 1.0;

/// What each millimetre less of it counts.
const TOO_NEAR_VOID: f64 = 2.0;

/// An arc that turns more than this, in radians, looks odd to whoever watches it, and cuts off more scrap.
const TURN_USUAL_RAD: f64 = std::f64::consts::FRAC_PI_2;

/// What each radian more counts.
const TURNED: f64 = 4.0;

/// What each millimetre counts that the arc has to run farther along old kerf.
const OLD_KERF: f64 = 0.5;

/// What a touch-off on plate around gaps counts: slag may stand on their lips. Any other lead comes before it.
const TOUCH_OFF_ON_GAPS_MM: f64 = LENGTH_MAX_MM;

/// What a touch-off away from the pierce counts: a lift, a way and a drop.
const TOUCH_OFF_ELSEWHERE_MM: f64 = 4.0;
