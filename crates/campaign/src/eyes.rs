//! What can be seen on the stopped plate, before any error of eye or hand.

use crate::bench::Bench;
use crate::judge::{Lie, Rig, distance};

/// How far a cut has got, as the true plate shows it. It is through where no metal stands beside its line that puts the part out
/// of tolerance: a nib at the seam is seen though the lead-in's kerf has taken the line itself.
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
    let line = &Seen::of(bench, (cut, to));
    let before = line.places.len().saturating_sub(1).min(line.along_mm.partition_point(|mm| *mm < from_mm));
    let reach = bench.starts[cut].kerf_mm / 2.0;
    let aside_mm = if line.marks { 0.0 } else { (reach - bench.layout.tolerance_mm).max(0.0) };
    let through = |at: [f64; 2], left: [f64; 2]| {
        let is_void = |off_mm: f64| rig.plate.is_void([0, 1].map(|axis| at[axis] + left[axis] * off_mm));
        if line.marks { rig.plate.is_cut(at) } else { [0.0, aside_mm, -aside_mm].into_iter().all(is_void) }
    };
    // Where the lead-in has not come to the path, there is nothing but what was cut before.
    let before = if rig.plate.is_cut(line.places[before]) { before } else { 0 };
    // On a plate that moved a kerf lands a little off: whoever looks sees it where it is.
    let lands_mm = line.along_mm[before] + bench.layout.tolerance_mm;
    let mut near = (before..line.places.len()).take_while(|k| line.along_mm[*k] <= lands_mm);
    let before = near.find(|k| rig.plate.is_cut(line.places[*k])).unwrap_or(before);
    let before = past_lead_in(bench, rig, (cut, line), before).unwrap_or(before);
    let prefix =
        |is: &dyn Fn([f64; 2], [f64; 2]) -> bool| as_f64(before) + seen_to(&line.places[before..], is);
    let (through, cut_to) = (prefix(&through), prefix(&|at, _| rig.plate.is_cut(at)));
    let front = if line.marks { rig.plate.is_cut(line.front) } else { rig.plate.is_void(line.front) };
    let all = as_f64(line.places.len().saturating_sub(1));
    if through >= all && front {
        return Got::Whole;
    }
    if !rig.plate.is_cut(line.places[before]) {
        return Got::Dry;
    }
    // The arc has stood half a kerf before the end of what it has cut.
    let length = |places: f64| (line.at_mm(places) - reach).max(0.0);
    let whole = |places: f64| if places >= all { f64::MAX } else { length(places) };
    let end = bench.given.list.cuts[cut].path.length_mm();
    Got::Partly { through_mm: length(through), cut_mm: whole(cut_to).min(end) }
}

/// The first place of a cut's contour, if all of its lead-in is through, perhaps a little aside on a plate that moved: in scrap
/// nobody minds what stands beside its line.
fn past_lead_in(bench: &Bench, rig: &Rig<'_>, (cut, line): (usize, &Seen), before: usize) -> Option<usize> {
    let list = &bench.given.list;
    let contour = list.contour(*list.cuts[cut].contours.first()?);
    let begins = line.along_mm.partition_point(|mm| *mm < contour.along_mm.start);
    let off_mm = bench.layout.tolerance_mm / 2.0;
    let aside = [[0.0, 0.0], [1.0, 0.0], [-1.0, 0.0], [0.0, 1.0], [0.0, -1.0]];
    let is_near = |at: &[f64; 2]| {
        aside.iter().any(|off| rig.plate.is_void([0, 1].map(|axis| at[axis] + off[axis] * off_mm)))
    };
    let lead_in = line.places.get(before..begins)?;
    let through = !line.marks && lead_in.iter().all(is_near) && rig.plate.is_void(*line.places.get(begins)?);
    through.then_some(begins)
}

/// How far down along a cut its kerf is through from a place on it where a run backwards was begun, in millimetres along the cut.
pub(crate) fn down_to(bench: &Bench, rig: &Rig<'_>, (cut, to): (usize, Option<&Lie>), from_mm: f64) -> f64 {
    let line = Seen::of(bench, (cut, to));
    let begun = line.along_mm.partition_point(|mm| *mm <= from_mm);
    let down: Vec<[f64; 2]> = line.places[..begun].iter().rev().copied().collect();
    let through = seen_to(&down, &|at, _| rig.plate.is_void(at));
    if through <= 0.0 {
        return from_mm;
    }
    let reach = bench.starts[cut].kerf_mm / 2.0;
    (line.at_mm(as_f64(begun.saturating_sub(1)) - through) + reach).min(from_mm)
}

/// A cut's line where it is made.
struct Seen {
    places: Vec<[f64; 2]>,
    front: [f64; 2],
    marks: bool,
    /// How far along the cut each of the places lies.
    along_mm: Vec<f64>,
}

impl Seen {
    fn of(bench: &Bench, (cut, to): (usize, Option<&Lie>)) -> Self {
        let as_laid = &bench.layout.lines[cut];
        let there = |at: &[f64; 2]| to.map_or(*at, |to| carried(bench, to, *at));
        Self {
            places: as_laid.places.iter().map(there).collect(),
            front: there(&as_laid.front),
            marks: as_laid.marks,
            along_mm: along_mm(&as_laid.places, bench.given.list.cuts[cut].path.length_mm()),
        }
    }

    /// How far along the cut a place lies that is counted in places, perhaps between two.
    fn at_mm(&self, places: f64) -> f64 {
        let (nth, share) = (places_before(places.floor()), places.fract());
        let at = |nth: usize| self.along_mm.get(nth).or(self.along_mm.last()).copied().unwrap_or_default();
        at(nth) + (at(nth + 1) - at(nth)) * share
    }
}

/// How far along a cut of this length each of its places lies.
fn along_mm(places: &[[f64; 2]], length_mm: f64) -> Vec<f64> {
    let steps = places.windows(2).scan(0.0, |along_mm, pair| {
        *along_mm += distance(pair[0], pair[1]);
        Some(*along_mm)
    });
    let along_mm: Vec<f64> = std::iter::once(0.0).chain(steps).collect();
    // Between two places an arc is a little longer.
    let all_mm = along_mm.last().copied().unwrap_or_default().max(1e-9);
    along_mm.into_iter().map(|mm| mm / all_mm * length_mm).collect()
}

/// Looks between two places of a line: as close together as the judge's plate tells apart, so that a web is seen that is
/// thinner than the places lie apart.
const LOOKS: u32 = 5;

/// How far along a line, counted in its places, all that is seen is so; of each place that is looked at `is` is told where it
/// is and which way is left.
fn seen_to(places: &[[f64; 2]], is: &dyn Fn([f64; 2], [f64; 2]) -> bool) -> f64 {
    for (k, pair) in places.windows(2).enumerate() {
        let along = [0, 1].map(|axis| pair[1][axis] - pair[0][axis]);
        let length_mm = distance(pair[0], pair[1]).max(1e-9);
        let left = [-along[1] / length_mm, along[0] / length_mm];
        if k == 0 && !is(pair[0], left) {
            return 0.0;
        }
        for look in 1..=LOOKS {
            let share = f64::from(look) / f64::from(LOOKS);
            if !is([0, 1].map(|axis| pair[0][axis] + along[axis] * share), left) {
                return as_f64(k) + share - 1.0 / f64::from(LOOKS);
            }
        }
    }
    as_f64(places.len().saturating_sub(1))
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a number of places, not negative; a cast saturates"
)]
fn places_before(count: f64) -> usize {
    count.max(0.0) as usize
}

#[expect(clippy::cast_precision_loss, reason = "a number of places")]
fn as_f64(count: usize) -> f64 {
    count as f64
}
