//! What can be seen on the stopped plate, before any error of eye or hand.

use crate::bench::Bench;
use crate::judge::{Lie, Line, Rig};

/// How far a cut has got, as the true plate shows it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Got {
    /// Nothing was cut.
    Dry,
    /// The kerf is through up to here, and a groove up to there; both in millimetres along the cut.
    Partly {
        /// Through up to here.
        through_mm: f64,
        /// Cut at all up to here.
        cut_mm: f64,
    },
    /// All of it is made.
    Whole,
}

/// How far the cut with this index has got.
pub(crate) fn got(bench: &Bench, rig: &Rig<'_>, cut: usize) -> Got {
    got_at(bench, rig, (cut, None), 0.0)
}

/// A place of the plate that is carried elsewhere with the cut on which it lies.
pub(crate) fn carried(bench: &Bench, to: &Lie, at: [f64; 2]) -> [f64; 2] {
    let [x, y] = bench.layout.corner;
    bench.layout.on_plate(to.on_plate([at[0] + x, at[1] + y]))
}

/// The same of a cut that is made elsewhere, or was taken up so far along it, perhaps by a lead-in of its own: what lies
/// before need not be cut.
pub(crate) fn got_at(bench: &Bench, rig: &Rig<'_>, (cut, to): (usize, Option<&Lie>), from_mm: f64) -> Got {
    let as_laid = &bench.layout.lines[cut];
    let there = |at: &[f64; 2]| to.map_or(*at, |to| carried(bench, to, *at));
    let line = &Seen {
        places: as_laid.places.iter().map(there).collect(),
        front: there(&as_laid.front),
        marks: as_laid.marks,
    };
    let before = line.places.len().saturating_sub(1).min(places_before(from_mm / spacing_mm(bench, cut)));
    let reach = bench.starts[cut].kerf_mm / 2.0;
    let through = |at: &[f64; 2]| if line.marks { rig.plate.is_cut(*at) } else { rig.plate.is_void(*at) };
    // Where the lead-in has not come to the path, there is nothing but what was cut before.
    let before = if rig.plate.is_cut(line.places[before]) { before } else { 0 };
    let prefix = |is: &dyn Fn(&[f64; 2]) -> bool| as_f64(before) + seen_to(&line.places[before..], is);
    let (through, cut_to) = (prefix(&through), prefix(&|at| rig.plate.is_cut(*at)));
    let front = if line.marks { rig.plate.is_cut(line.front) } else { rig.plate.is_void(line.front) };
    let all = as_f64(line.places.len().saturating_sub(1));
    if through >= all && front {
        return Got::Whole;
    }
    if !rig.plate.is_cut(line.places[before]) {
        return Got::Dry;
    }
    // The arc has stood half a kerf before the end of what it has cut.
    let length = |places: f64| (places * spacing_mm(bench, cut) - reach).max(0.0);
    let whole = |places: f64| if places >= all { f64::MAX } else { length(places) };
    let end = bench.given.list.cuts[cut].path.length_mm();
    Got::Partly { through_mm: length(through), cut_mm: whole(cut_to).min(end) }
}

/// A cut's line where it is made.
struct Seen {
    places: Vec<[f64; 2]>,
    front: [f64; 2],
    marks: bool,
}

/// Looks between two places of a line: as close together as the judge's plate tells apart, so that a web is seen that is
/// thinner than the places lie apart.
const LOOKS: u32 = 5;

/// How far along a line, counted in its places, all that is seen is so.
fn seen_to(places: &[[f64; 2]], is: &dyn Fn(&[f64; 2]) -> bool) -> f64 {
    if !places.first().is_some_and(is) {
        return 0.0;
    }
    for (k, pair) in places.windows(2).enumerate() {
        for look in 1..=LOOKS {
            let share = f64::from(look) / f64::from(LOOKS);
            let at = [0, 1].map(|axis| pair[0][axis] + (pair[1][axis] - pair[0][axis]) * share);
            if !is(&at) {
                return as_f64(k) + share - 1.0 / f64::from(LOOKS);
            }
        }
    }
    as_f64(places.len().saturating_sub(1))
}

/// Distance between the places of a cut's line: a little less than [`Line::PITCH_MM`], since each motion is divided
/// evenly.
fn spacing_mm(bench: &Bench, cut: usize) -> f64 {
    let places = bench.layout.lines[cut].places.len();
    let length = bench.given.list.cuts[cut].path.length_mm();
    if places > 1 { length / as_f64(places - 1) } else { Line::PITCH_MM }
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a number of places, not negative; a cast saturates"
)]
fn places_before(count: f64) -> usize {
    count.max(0.0).ceil() as usize
}

#[expect(clippy::cast_precision_loss, reason = "a number of places")]
fn as_f64(count: usize) -> f64 {
    count as f64
}
