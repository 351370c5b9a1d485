//! Along the path: two stretches of run that have the same effect though their motions are divided differently.
//!
//! A re-expressed program may split an arc or leave out a motion that goes nowhere. The walk keeps of both streams
//! what acts, and moves forward on both by the shorter of the two curves in hand.

use super::Worst;
use super::items::{Heights, Sides, acts, same_event, same_rise, same_state};
use crate::legs::{Item, Moment, items};
use crate::nearness::{same_way, strays_mm};
use crate::tolerance::{NOISE_MM, PATH_MM};
use crate::view::View;
use geometry::{Curve, Program, SAME_POINT_MM};
use nc::{Height, MotionKind};

/// Walks along both stretches; none if they differ anywhere (the comparison item by item says where).
pub(super) fn along(
    sides: &Sides<'_>,
    original: (Moment, Moment),
    written: (Moment, Moment),
    heights: Heights,
) -> Option<Worst> {
    let mut worst = Worst::default();
    let mut before = steps(sides.original, original).into_iter();
    let mut after = steps(sides.written, written).into_iter();
    let (mut a, mut b) = (before.next(), after.next());
    let mut left_out = false;
    loop {
        match (a, b) {
            (None, None) => return Some(worst),
            (Some(Step::Event(j)), Some(Step::Event(k))) => {
                same_event(sides, j, k, &mut worst).ok()?;
                (a, b) = (before.next(), after.next());
            }
            (Some(Step::Move(was)), Some(Step::Move(now))) => {
                match advance(sides, was, now, heights, &mut worst) {
                    Some((rest_a, rest_b)) => {
                        a = rest_a.map(Step::Move).or_else(|| before.next());
                        b = rest_b.map(Step::Move).or_else(|| after.next());
                        left_out = false;
                    }
                    None if std::mem::replace(&mut left_out, true)
                        || !sides.written.modal(now.motion).torch =>
                    {
                        return None;
                    }
                    None if is_crumb(sides.written, &now, &was) => b = after.next(),
                    None if is_crumb(sides.original, &was, &now) => a = before.next(),
                    None => return None,
                }
            }
            _ => return None,
        }
    }
}

/// What acts.
#[derive(Clone, Copy, Debug)]
pub(super) enum Step {
    Event(usize),
    Move(Move),
}

/// A motion, or what is left of it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Move {
    pub(super) motion: usize,
    pub(super) curve: Curve<Program>,
    pub(super) from: Height,
    pub(super) to: Height,
}

/// What acts between two moments; motions that go nowhere are left out.
pub(super) fn steps(view: &View<'_>, between: (Moment, Moment)) -> Vec<Step> {
    items(view.motions, between.0, between.1)
        .filter(|item| acts(view, *item))
        .filter_map(|item| match item {
            Item::Event(e) => Some(Step::Event(e)),
            Item::Motion(k) => {
                let (from, to) = (view.height_from(k), view.motion(k).z);
                let moves = view.travels(k)
                    || from.base != to.base
                    || (from.mm - to.mm).abs() > NOISE_MM
                    || view.motion(k).kind == MotionKind::Probe;
                moves.then(|| Step::Move(Move { motion: k, curve: view.curve(k), from, to }))
            }
        })
        .collect()
}

/// What is left of either.
pub(super) type Rests = (Option<Move>, Option<Move>);

/// Moves forward on both by the shorter; gives what is left of either.
fn advance(sides: &Sides<'_>, a: Move, b: Move, heights: Heights, worst: &mut Worst) -> Option<Rests> {
    let kind = sides.original.motion(a.motion).kind;
    if !alike(kind, sides.written.motion(b.motion).kind) {
        return None;
    }
    let (modal_a, modal_b) = (sides.original.modal(a.motion), sides.written.modal(b.motion));
    same_state(modal_a, modal_b, kind, worst).ok()?;
    let (now_a, now_b, rests) = if modal_a.torch { in_step(a, b)? } else { (a, b, (None, None)) };
    let off = if modal_a.torch {
        together_mm(&now_a.curve, &now_b.curve)?
    } else if sides.rests_elsewhere(a.motion, b.motion) {
        0.0
    } else {
        now_a.curve.to().distance(now_b.curve.to())
    };
    if off > PATH_MM {
        return None;
    }
    worst.path_mm = worst.path_mm.max(off);
    same_rise(sides, (now_a.from, now_a.to), (now_b.from, now_b.to), heights, worst).ok()?;
    Some(rests)
}

/// Whether a burn is a crumb where another begins: what is left of a motion that the other run took as whole, since it
/// ends as near as paths need lie. Two in a row are none.
pub(super) fn is_crumb(view: &View<'_>, crumb: &Move, other: &Move) -> bool {
    let level = crumb.from.base == crumb.to.base && (crumb.from.mm - crumb.to.mm).abs() <= NOISE_MM;
    let length = crumb.curve.length_mm();
    let cuts = alike(MotionKind::Feed, view.motion(crumb.motion).kind);
    let goes = SAME_POINT_MM < length && length <= PATH_MM;
    cuts && level && goes && crumb.curve.to().distance(other.curve.from()) <= PATH_MM
}

/// How far two burns that run together the same way stray from each other; none if they do not.
pub(super) fn together_mm(a: &Curve<Program>, b: &Curve<Program>) -> Option<f64> {
    let off = strays_mm(a, b).max(strays_mm(b, a));
    let long = a.length_mm().min(b.length_mm()) > PATH_MM;
    (off <= PATH_MM && (!long || same_way(a, b))).then_some(off)
}

/// Both as far as the shorter goes, and what is left of the longer.
pub(super) fn in_step(a: Move, b: Move) -> Option<(Move, Move, Rests)> {
    let (length_a, length_b) = (a.curve.length_mm(), b.curve.length_mm());
    if (length_a - length_b).abs() <= PATH_MM {
        Some((a, b, (None, None)))
    } else if length_a < length_b {
        let (now, rest) = split(b, b.curve.nearest(a.curve.to()).along_mm)?;
        Some((a, now, (None, Some(rest))))
    } else {
        let (now, rest) = split(a, a.curve.nearest(b.curve.to()).along_mm)?;
        Some((now, b, (Some(rest), None)))
    }
}

/// Straight feeds and arcs may stand for each other where they run along the same line; nothing else may.
pub(super) fn alike(a: MotionKind, b: MotionKind) -> bool {
    let cutting = |kind| matches!(kind, MotionKind::Feed | MotionKind::ArcCw | MotionKind::ArcCcw);
    a == b || (cutting(a) && cutting(b))
}

/// The part of a motion up to `at_mm` along it, and what is left; none if either would be nothing.
pub(super) fn split(whole: Move, at_mm: f64) -> Option<(Move, Move)> {
    let length = whole.curve.length_mm();
    if at_mm < SAME_POINT_MM || at_mm > length - SAME_POINT_MM {
        return None;
    }
    let share = at_mm / length;
    let middle = Height { base: whole.to.base, mm: whole.from.mm + (whole.to.mm - whole.from.mm) * share };
    let before = Move { curve: whole.curve.piece(0.0, at_mm), to: middle, ..whole };
    let after = Move { curve: whole.curve.piece(at_mm, length), from: middle, ..whole };
    Some((before, after))
}
