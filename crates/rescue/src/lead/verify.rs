//! The last look at a lead: all of its way in fine steps, the ground under its pierce, and its touch-off.

use super::march::{Walk, Walker};
use super::shape::{Passing, Shape};
use super::touch_off::touch_off_place;
use super::{BEYOND_LINE_MM, Lead, Site};
use crate::progress::HOLE_WITHIN_MM;
use cuts::{Cut, Depth};
use geometry::{Point, Program, Vector};

/// Step of the last look, in millimetres.
const STEP_MM: f64 = 0.1;

/// Most searches for a touch-off away from the pierce in one search for leads: where so many pierces that lie apart
/// from each other have none, no other will.
const TOUCH_OFFS_MAX: u32 = 10;

/// The lead of this shape, if it stands the last look. `searches` counts those for touch-offs.
pub(super) fn verified(
    walker: &mut Walker<'_>,
    cut: &Cut,
    shape: &Shape,
    searches: &mut u32,
) -> Option<Lead> {
    let site = walker.site;
    let pierce = shape.pierce();
    let clear = walker.clear_at(pierce);
    let spare = walker.crater_spare_mm(&clear);
    if spare < 0.0 || !site.is_attached(pierce) || !site.is_scrap(pierce) {
        return None;
    }
    let over_void_mm = stays_in_scrap(walker, cut, shape)?;
    if !arc_lives(walker, cut, shape, over_void_mm) {
        return None;
    }
    let touch_off = if walker.site.foot_spare_mm(&clear) >= 0.0 {
        Some(pierce)
    } else if site.touches_where_lit {
        walker.is_borne(pierce).then_some(pierce)
    } else if *searches < TOUCH_OFFS_MAX {
        *searches += 1;
        touch_off_place(site, pierce)
    } else {
        None
    };
    Some(Lead {
        pierce,
        touch_off: touch_off?,
        path: shape.path(),
        from_mm: shape.join.from_mm,
        clearance_mm: spare,
    })
}

/// Walks all the way back in fine steps; gives how long the lead's end runs wholly in old kerf. Before that it may cross no
/// hole for longer than the arc lives, as wide as it may be.
fn stays_in_scrap(walker: &mut Walker<'_>, cut: &Cut, shape: &Shape) -> Option<f64> {
    let length = shape.length_mm();
    let across_mm = walker.site.ground.thresholds.void_across.mm();
    let mut crossed_mm = in_hole_ahead_mm(walker.site, cut, shape.join.from_mm);
    let mut walk = Walk::BEGIN;
    let mut over_void_mm: Option<f64> = None;
    let mut back_mm = 0.0;
    loop {
        let passing = shape.before_join(back_mm);
        walker.pass(&mut walk, passing.at)?;
        if over_void_mm.is_none() && !over_void(walker, &passing) {
            over_void_mm = Some(back_mm);
        }
        crossed_mm =
            if in_blown_hole(walker.site, passing.at, passing.along) { crossed_mm + STEP_MM } else { 0.0 };
        if crossed_mm > across_mm {
            return None;
        }
        if back_mm >= length {
            break;
        }
        back_mm = (back_mm + STEP_MM).min(length);
    }
    if walk.merging { None } else { over_void_mm }
}

/// Whether none of the arc's width has metal in it.
fn over_void(walker: &mut Walker<'_>, passing: &Passing) -> bool {
    let width = width(walker.site, passing.at, passing.along);
    width.into_iter().all(|p| walker.clear_at(p).void_mm < 0.0)
}

/// How far the cut's own path goes on through a blown hole from where a lead meets it.
fn in_hole_ahead_mm(site: &Site<'_>, cut: &Cut, from_mm: f64) -> f64 {
    let mut ahead_mm = 0.0;
    loop {
        let along_mm = from_mm + ahead_mm;
        let place = cut.path.point_at(along_mm).zip(cut.path.tangent_at(along_mm));
        let in_hole = place.is_some_and(|(at, along)| in_blown_hole(site, at, along));
        if !in_hole || along_mm >= cut.path.length_mm() {
            return ahead_mm;
        }
        ahead_mm += STEP_MM;
    }
}

/// Whether all of the arc's width lies in a blown hole, as wide as that may be.
fn in_blown_hole(site: &Site<'_>, at: Point<Program>, along: Vector<Program>) -> bool {
    let mut blown = site.state.progress().strays.iter().filter(|stray| stray.path.curves().is_empty());
    let wider_mm = HOLE_WITHIN_MM + site.spare_mm;
    let width = width(site, at, along);
    blown.any(|hole| width.iter().all(|p| hole.at.distance(*p) <= hole.crater_mm + wider_mm))
}

/// The arc's middle and its two edges.
fn width(site: &Site<'_>, at: Point<Program>, along: Vector<Program>) -> [Point<Program>; 3] {
    let edge = along.left() * (site.half_kerf_mm() - BEYOND_LINE_MM).max(0.0);
    [at, at + edge, at + -edge]
}

/// Whether the arc lives from where the lead is wholly in old kerf to where the cut may have metal again.
fn arc_lives(walker: &Walker<'_>, cut: &Cut, shape: &Shape, over_void_mm: f64) -> bool {
    let site = walker.site;
    let from_mm = shape.join.from_mm;
    let kerfs = site.state.made_mm(cut.id, Depth::Groove);
    let under = kerfs.iter().find(|made| made.start <= from_mm && from_mm < made.end);
    let thresholds = &site.ground.thresholds;
    let (ahead_mm, lives_mm) = match under {
        Some(made) => (made.end - from_mm, thresholds.kerf_along.mm()),
        None => (0.0, thresholds.void_along.mm()),
    };
    over_void_mm + ahead_mm - site.half_kerf_mm() <= lives_mm
}
