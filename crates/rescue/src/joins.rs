//! How a cut that was begun can be taken up: from what is known of its kerf to the joins that may be tried, best first.

use crate::Situation;
use crate::restart::JoinLeg;
use cuts::{Cut, CutId, Depth, Ground, Made, PlateState, Progress};
use geometry::{Path, Point, Program};
use proof::{Join, JoinStart};
use std::ops::Range;
use units::Length;

/// A cut that was begun and is not whole, as far as it is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Begun {
    /// The cut.
    pub(crate) cut: CutId,
    /// Up to here its kerf is through for sure, from its pierce; none if nothing is sure but that it was begun.
    pub(crate) sure_mm: Option<f64>,
    /// Beyond this it is not through, as far as is known.
    pub(crate) through_at_most_mm: f64,
    /// Beyond this it is not even a groove.
    pub(crate) groove_at_most_mm: f64,
}

impl Begun {
    /// What is known of `cut`; none if nothing of it has been made.
    pub(crate) fn of(situation: &Situation<'_>, progress: &Progress, cut: CutId) -> Option<Self> {
        let length_mm = situation.list.cut(cut).path.length_mm();
        let own: Vec<&Made> = progress.made.iter().filter(|made| made.cut == cut).collect();
        if own.is_empty() {
            return None;
        }
        let through = || own.iter().filter(|made| made.depth == Depth::Through);
        let sure = reach(through().filter_map(|made| made.surely_mm()));
        let most = reach(through().map(|made| made.at_most_mm(length_mm))).unwrap_or(0.0);
        let any = reach(own.iter().map(|made| made.at_most_mm(length_mm))).unwrap_or(0.0);
        Some(Self { cut, sure_mm: sure, through_at_most_mm: most, groove_at_most_mm: any.max(most) })
    }

    /// Where its kerf is most likely to end, in millimetres along its path.
    pub(crate) fn likely_mm(&self) -> f64 {
        self.sure_mm.map_or(0.0, |sure| (sure + self.through_at_most_mm) / 2.0)
    }
}

/// How far stretches reach without a gap from the beginning of a path; none if none begins there.
fn reach(stretches: impl Iterator<Item = Range<f64>>) -> Option<f64> {
    let mut sorted: Vec<Range<f64>> = stretches.collect();
    sorted.sort_by(|a, b| a.start.total_cmp(&b.start));
    let mut reached = None;
    for stretch in sorted {
        if stretch.start <= reached.unwrap_or(0.0) + geometry::SAME_POINT_MM {
            reached = Some(stretch.end.max(reached.unwrap_or(0.0)));
        }
    }
    reached
}

/// How far a join goes back over its own kerf: 3 mm or three tenths of the thickness, at most 5 mm (common practice).
pub(crate) fn overlap_mm(thickness: Length) -> f64 {
    (0.3 * thickness.mm()).clamp(OVERLAP_LEAST_MM, OVERLAP_MOST_MM)
}

const OVERLAP_LEAST_MM: f64 = 3.0;
const OVERLAP_MOST_MM: f64 = 5.0;

/// What is added to a place that must lie past another, in millimetres: far more than arithmetic loses, far less than
/// anything on a plate.
const PAST_MM: f64 = 0.01;

/// The ways in which a begun cut may be taken up, best first.
pub(crate) fn legs(situation: &Situation<'_>, state: &PlateState, begun: &Begun) -> Vec<JoinLeg> {
    kerf_end(situation, state, begun).into_iter().collect()
}

/// On the end wall of the old kerf.
fn kerf_end(situation: &Situation<'_>, state: &PlateState, begun: &Begun) -> Option<JoinLeg> {
    let cut = situation.list.cut(begun.cut);
    let from_mm = (begun.likely_mm() - overlap_mm(situation.ground.thickness)).min(begun.sure_mm?);
    if from_mm < 0.0 {
        return None;
    }
    let lit = cut.path.point_at(from_mm)?;
    let join = Join { cut: cut.id, start: JoinStart::KerfEnd, from_mm, until_mm: cut.path.length_mm() };
    Some(JoinLeg {
        join,
        touch_off: touch_off_place(situation, state, cut, lit)?,
        lit,
        lead: Path::new(Vec::new()),
        pierces: false,
        edge_delay: situation.ground.thresholds.edge_delay,
        held_until_mm: held_until_mm(situation, begun),
        slow_until_mm: 0.0,
        slow_share: 1.0,
    })
}

/// Height control sees even metal on both sides from a kerf's width past the farthest place where the kerf may end.
fn held_until_mm(situation: &Situation<'_>, begun: &Begun) -> f64 {
    begun.groove_at_most_mm + situation.ground.kerf.mm() + PAST_MM
}

/// Where the plate can be touched off for a start at `lit`: the place itself if the torch does it there by itself,
/// else the nearest sound metal about it.
fn touch_off_place(
    situation: &Situation<'_>,
    state: &PlateState,
    cut: &Cut,
    lit: Point<Program>,
) -> Option<Point<Program>> {
    if cut.touch_off.is_none() {
        return Some(lit);
    }
    let thresholds = &situation.ground.thresholds;
    let radius = thresholds.touch_off_footprint * 0.5;
    let (least, most) = (radius.mm() + situation.ground.kerf.mm(), thresholds.touch_off_reach.mm());
    let rings = (0..=RINGS).map(|k| least + (most - PAST_MM - least) * f64::from(k) / f64::from(RINGS));
    let mut places = rings.flat_map(|distance| {
        (0..DIRECTIONS).map(move |k| {
            let angle = std::f64::consts::TAU * f64::from(k) / f64::from(DIRECTIONS);
            Point::new(lit.x + distance * angle.cos(), lit.y + distance * angle.sin())
        })
    });
    places.find(|p| state.ground_at(situation.list, situation.index, *p, radius) == Ground::Metal)
}

const RINGS: u32 = 12;
const DIRECTIONS: u32 = 24;
