//! What the operator reports of a stop: what is true, with the errors of an eye, a tape and a pointer.

use crate::bench::Bench;
use crate::beside::Beside;
use crate::eyes::{Got, carried, down_to, got, got_at};
use crate::judge::raster::PIXEL_MM;
use crate::judge::{Lie, Rig, distance};
use crate::kind::FaultKind;
use crate::sights::{
    Mark, SIGHT_SIGMA_MM, can_be_seen, ends_of_marks, features_as_laid, kerf_corners, kerf_edge, round_ends,
    round_kerfs,
};
use crate::stand::Halt;
use cell::StoppedBy;
use geometry::{Bounds, Contour, Point, Program};
use nests::Random;
use shop::{CutIs, CutState, Feature, Measured, PieceIs, SightedBy, StopKind, StopReport, StrayTold, Worded};
use std::collections::BTreeMap;
use units::Length;

/// A stop as it is: which program ran and where it stands.
#[derive(Clone, Debug)]
pub(crate) struct Stop {
    /// What happened.
    pub(crate) kind: StopKind,
    /// The cut at which it stands.
    pub(crate) cut: usize,
    /// The cut at which it began to go wrong; the same but where the control ran on.
    pub(crate) since: Vec<usize>,
    /// Where the control shows the torch, in its own frame; none if it stands before a start.
    pub(crate) at: Option<[f64; 2]>,
    /// Cuts that have been taken up by a lead-in of their own, with how far along them.
    pub(crate) taken_up: BTreeMap<usize, f64>,
    /// Cuts that the program that ran has run backwards, with from where along them.
    pub(crate) backwards: BTreeMap<usize, f64>,
    /// Cuts that are made elsewhere than the program has them, with where.
    pub(crate) moved: BTreeMap<usize, Lie>,
    /// How far off ends of kerfs are told at most.
    pub(crate) within_mm: f64,
    /// Radius of a hole blown at the pierce.
    pub(crate) blown_mm: Option<f64>,
    /// How far along the cut it is good, if the rest of what was cut is bad.
    pub(crate) bad_from_mm: Option<f64>,
    /// How the report is wrong, if it is: by so many millimetres of kerf, and so many cuts.
    pub(crate) misreports: Option<(f64, i32)>,
}

/// How far off a reported end of a kerf lies at most, in millimetres: the default of the stop report.
pub(crate) const KERF_END_MM: f64 = 3.0;

/// The same once he is asked to look again: felt for with a wire from below.
pub(crate) const LOOKED_AGAIN_MM: f64 = 1.0;

/// Most features that are measured on a plate that has moved.
const MEASURED: usize = 8;

/// How often an operator names the neighbouring cut; he then tells as well where the torch stands.
const SLIPS: f64 = 0.1;

/// How far off the place of the torch is told at most, in each direction.
const PLACE_MM: f64 = 1.0;

/// How far off the width of a blown hole is told at most: its edge is ragged.
const HOLE_MM: f64 = 0.5;

/// The word of a kind of stop, as reports write it.
pub(crate) fn kind_word(kind: StopKind) -> &'static str {
    StopKind::WORDS.iter().find(|(_, other, _)| *other == kind).map_or("", |(word, ..)| word)
}

/// How far off an edge may be measured with a caliper, in millimetres (common practice).
const CALIPER_MM: f64 = 0.1;

/// Least distance that is told for a kerf that is through at all: its crater's.
const LEAST_MM: f64 = 1.0;

/// Least length at which a groove is told from the end of a kerf.
const GROOVE_MM: f64 = 2.0;

/// The report of a stop, now and then with the number of the neighbouring cut. Tells whether it has.
pub(crate) fn with_slip(
    bench: &Bench,
    rig: &Rig<'_>,
    stop: &Stop,
    random: &mut Random,
) -> (StopReport, bool) {
    let mut told = report(bench, rig, stop, random);
    let slips = random.chance(SLIPS) || stop.misreports.is_some();
    let after = stop.misreports.map_or_else(|| random.chance(0.5), |(_, cuts)| cuts > 0);
    let other = if after { stop.cut + 1 } else { stop.cut.saturating_sub(1) };
    let is_other = other != stop.cut && other < bench.starts.len();
    // Whoever names the wrong cut tells at least where the torch stands.
    if !slips || !is_other || !told.state.is_empty() || told.at.is_none() {
        return (told, false);
    }
    told.cut = Some(number(other));
    (told, true)
}

/// The report of a stop.
pub(crate) fn report(bench: &Bench, rig: &Rig<'_>, stop: &Stop, random: &mut Random) -> StopReport {
    let mut report =
        StopReport { kind: Some(stop.kind), cut: Some(number(stop.cut)), ..StopReport::default() };
    report.at = stop.at.map(|at| at.map(|value| mm(value + random.between(-PLACE_MM, PLACE_MM))));
    match stop.kind {
        // A start that found no metal where some was cut before: he tells what he sees.
        StopKind::NoTransfer => {
            if matches!(stop.got(bench, rig, stop.cut), Got::Partly { .. }) {
                report.state.push(state(bench, rig, (stop, stop.cut), random));
            }
        }
        StopKind::NoMotion => report.blown = hole_across(stop, random),
        StopKind::RanDry | StopKind::NotThrough => {
            report.blown = hole_across(stop, random);
            // Where a hole was blown, the arc went out: its width says all there is of that cut.
            let blown = usize::from(report.blown.is_some());
            report.from_cut = stop.since.first().filter(|_| blown == 1).map(|cut| number(*cut));
            let told = stop.since.iter().skip(blown);
            report.state = told.map(|cut| state(bench, rig, (stop, *cut), random)).collect();
        }
        _ => {
            // No light comes through where not even the pierce is through.
            let is_through = stop.light_comes_through(bench, rig, stop.cut);
            match stop.got(bench, rig, stop.cut) {
                Got::Partly { through_mm, .. } if is_through => {
                    let end_mm = stop.far_kerf_mm(bench, rig).unwrap_or(through_mm);
                    let seen_mm = stop.noisy_end(bench, stop.cut, end_mm, random);
                    report.kerf_to = Some(mm(seen_mm.max(LEAST_MM)));
                    report.kerf_within = Some(mm(stop.within_mm));
                }
                Got::Whole if !bench.layout.lines[stop.cut].marks => {
                    report.kerf_to = Some(mm(bench.given.list.cuts[stop.cut].path.length_mm()));
                }
                Got::Dry | Got::Partly { .. } | Got::Whole => {
                    report.state.push(state(bench, rig, (stop, stop.cut), random));
                }
            }
        }
    }
    report.bad_from = stop.bad_from_mm.map(|good| mm(stop.noisy_end(bench, stop.cut, good, random)));
    if report.bad_from.is_some() {
        report.kerf_within = Some(mm(stop.within_mm));
    }
    if stop.within_mm <= LOOKED_AGAIN_MM {
        report.pieces = stop.since.iter().filter_map(|cut| piece(bench, rig, (stop, *cut))).collect();
    }
    report
}

/// How wide the blown hole is across, as a rule laid over it says.
fn hole_across(stop: &Stop, random: &mut Random) -> Option<Length> {
    stop.blown_mm.map(|radius| mm(2.0 * radius + random.between(-HOLE_MM, HOLE_MM)))
}

/// What the cut with this index was to free, pushed at with a rod: whether it is loose. Where nothing is left of it there
/// is nothing to push at.
pub(crate) fn piece(bench: &Bench, rig: &Rig<'_>, (stop, cut): (&Stop, usize)) -> Option<(u32, PieceIs)> {
    if stop.got(bench, rig, cut) == Got::Dry {
        return None;
    }
    let frees = &bench.given.list.cuts[cut].contours;
    let closed = frees.iter().filter_map(|id| bench.given.list.contour(*id).closed.as_ref());
    let frees_any = closed.clone().next().is_some();
    let to = stop.made_at(cut);
    let metal: Vec<[f64; 2]> = closed.filter_map(|closed| metal_in(bench, rig, (closed, to))).collect();
    let is_held = metal.iter().any(|at| !rig.plate.is_loose(*at));
    // Of several pieces in a row those cut last are spoken of. Where a cut is not whole and nothing within it is large enough
    // to be pushed at, nothing is loose; where it is whole, nothing is left there.
    let is_open = stop.got(bench, rig, cut) != Got::Whole;
    let is = match (metal.is_empty(), is_open) {
        (true, true) => PieceIs::Held,
        (true, false) => PieceIs::Fell,
        (false, _) if is_held => PieceIs::Held,
        (false, _) => PieceIs::Flat,
    };
    frees_any.then(|| (number(cut), is))
}

/// A place of metal well within a contour, if there is any: one that is held rather than one that is not, for in a slot the
/// lead-in's crater parts what has fallen from what has not.
fn metal_in(
    bench: &Bench,
    rig: &Rig<'_>,
    (closed, to): (&Contour<Program>, Option<&Lie>),
) -> Option<[f64; 2]> {
    let Bounds { min, max } = closed.bounds();
    let kerf_mm = bench.given.ground.kerf.mm();
    let place = |k: u32| {
        let share = |k: u32| (f64::from(k) + 0.5) / f64::from(LOOKED_AT);
        Point::new(
            min.x + (max.x - min.x) * share(k % LOOKED_AT),
            min.y + (max.y - min.y) * share(k / LOOKED_AT),
        )
    };
    let well_in =
        (0..LOOKED_AT * LOOKED_AT).map(place).filter(|p| closed.depth_mm(*p) > PUSHED_AT_KERFS * kerf_mm);
    let on_plate = well_in.map(|p| bench.layout.on_plate([p.x, p.y]));
    let on_plate = on_plate.map(|at| to.map_or(at, |to| carried(bench, to, at)));
    let places: Vec<[f64; 2]> = on_plate.collect();
    let find = |is: &dyn Fn([f64; 2]) -> bool| places.iter().copied().find(|at| is(*at));
    find(&|at| rig.plate.is_metal(at)).or_else(|| find(&|at| rig.plate.is_loose(at)))
}

/// How far within a contour's line a piece is pushed at, in kerfs: half of one is its own edge.
const PUSHED_AT_KERFS: f64 = 0.65;

/// Places looked at along either side of a piece's box.
const LOOKED_AT: u32 = 12;

/// Measurements on a plate that lies otherwise than it was laid: its corners and some of the craters left in it, far apart,
/// sighted by a pointer whose offset is known.
pub(crate) fn measured(
    bench: &Bench,
    (rig, lie, stop): (&Rig<'_>, &Lie, &Stop),
    random: &mut Random,
) -> Vec<Measured> {
    let features = marks_seen(bench, rig, stop);
    let places: Vec<[f64; 2]> = features.iter().map(|(_, plan)| *plan).collect();
    sighted_at(&features, &far_apart(&places, MEASURED), lie, random)
}

/// What a plan asks to be measured.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Asked {
    /// Where the program has it.
    pub(crate) place: [f64; 2],
    /// Whether it is told by places on the lip round it.
    pub(crate) by_lip: bool,
}

/// Measurements of what a plan asks for by its places, as far as it is there to be sighted.
pub(crate) fn measured_as_asked(
    bench: &Bench,
    (rig, lie, stop): (&Rig<'_>, &Lie, &Stop),
    asked: &[Asked],
    random: &mut Random,
) -> Vec<Measured> {
    let all = all_marks_seen(bench, rig, stop);
    // A crater lies in the middle of its hole, whose lip is asked for where the slug is loose.
    let meant = |asked: &Asked| {
        let off = |(_, plan): &(Mark, [f64; 2])| distance(*plan, asked.place);
        let by_lip = |what: &Mark| matches!(what, Mark::Round(..)) == asked.by_lip;
        let near = all.iter().filter(|seen| off(seen) < MEANT_MM && by_lip(&seen.0));
        let seen = near.min_by(|a, b| off(a).total_cmp(&off(b))).cloned();
        seen.or_else(|| kerf_edge(bench, rig, asked.place))
    };
    let features: Vec<(Mark, [f64; 2])> = asked.iter().filter_map(meant).collect();
    features.iter().flat_map(|one| sighted_at(std::slice::from_ref(one), &[one.1], lie, random)).collect()
}

/// Where the plate's corners are, once the datum is found to have been wrong.
pub(crate) fn corners_measured(
    bench: &Bench,
    (rig, lie): (&Rig<'_>, &Lie),
    random: &mut Random,
) -> Vec<Measured> {
    let mut corners = features_as_laid(bench, rig, &|_| false);
    corners.retain(|(what, _)| matches!(what, Mark::Corner(_)));
    let places: Vec<[f64; 2]> = corners.iter().map(|(_, place)| *place).collect();
    sighted_at(&corners, &places, lie, random)
}

/// A feature within so many millimetres of the place that is asked for is the one that is meant.
const MEANT_MM: f64 = 0.5;

/// Lips of kerfs and ends of marks are sighted where fewer craters than this are left in the skeleton.
const CRATERS_LEAST: usize = 1;

/// What is sighted unasked, with where the program has it: corners and craters, and where craters are few all else that can be.
fn marks_seen(bench: &Bench, rig: &Rig<'_>, stop: &Stop) -> Vec<(Mark, [f64; 2])> {
    let all = all_marks_seen(bench, rig, stop);
    let craters = all.iter().filter(|(what, _)| matches!(what, Mark::Crater(_))).count();
    let at_once = |(what, _): &(Mark, [f64; 2])| matches!(what, Mark::Corner(_) | Mark::Crater(_));
    all.into_iter().filter(|seen| craters < CRATERS_LEAST || at_once(seen)).collect()
}

/// All that can be sighted, with where the program has it: the plate's corners, craters, round kerfs, round ends of slots,
/// corners of kerfs and ends of marks.
fn all_marks_seen(bench: &Bench, rig: &Rig<'_>, stop: &Stop) -> Vec<(Mark, [f64; 2])> {
    // On the picture a cut that is made elsewhere has its crater there.
    let there = |(what, place): (Mark, [f64; 2])| match what {
        Mark::Crater(cut) => {
            let Some(to) = stop.made_at(cut) else { return Some((what, place)) };
            let place = to.on_plate(place);
            can_be_seen(rig, bench.layout.on_plate(place), bench.layout.lines[cut].kerf_mm)
                .then_some((what, place))
        }
        Mark::Corner(_) => Some((what, place)),
        Mark::KerfCorner(cut, _) | Mark::KerfEdge(cut) | Mark::Round(cut, _) => {
            stop.made_at(cut).is_none().then_some((what, place))
        }
        Mark::LineEnd => Some((what, place)),
    };
    let as_laid = features_as_laid(bench, rig, &|cut| stop.made_at(cut).is_some()).into_iter();
    let lines = as_laid
        .chain(round_kerfs(bench, rig))
        .chain(round_ends(bench, rig))
        .chain(kerf_corners(bench, rig))
        .chain(ends_of_marks(bench, rig));
    lines.filter_map(there).collect()
}

fn sighted_at(
    features: &[(Mark, [f64; 2])],
    places: &[[f64; 2]],
    lie: &Lie,
    random: &mut Random,
) -> Vec<Measured> {
    let sighting = |plan: &[f64; 2]| {
        let (what, _) = features.iter().find(|(_, other)| distance(*other, *plan) < 1e-9)?;
        let found = sighted(lie, *plan, SIGHT_SIGMA_MM, random).map(mm);
        let bare = Measured {
            feature: Feature::Corner,
            cut: None,
            side: None,
            plan: None,
            to: None,
            found: vec![found],
            lip: None,
            by: Some(SightedBy::Pointer),
            sigma: Some(mm(SIGHT_SIGMA_MM)),
        };
        Some(match what {
            Mark::Corner(side) => Measured { side: Some(*side), ..bare },
            Mark::Crater(cut) => Measured { feature: Feature::Crater, cut: Some(number(*cut)), ..bare },
            Mark::Round(cut, lip) => {
                let found = lip.iter().map(|at| sighted(lie, *at, SIGHT_SIGMA_MM, random).map(mm)).collect();
                let plan = Some(plan.map(mm));
                Measured { feature: Feature::Hole, cut: Some(number(*cut)), plan, found, ..bare }
            }
            Mark::KerfEdge(cut) => {
                // Where along an edge it was sighted tells nothing, and two places on it are asked for.
                let again = sighted(lie, *plan, SIGHT_SIGMA_MM, random).map(mm);
                let (cut, plan) = (Some(number(*cut)), Some(plan.map(mm)));
                Measured { feature: Feature::Edge, cut, plan, found: vec![found, again], ..bare }
            }
            Mark::LineEnd => Measured { feature: Feature::Point, plan: Some(plan.map(mm)), ..bare },
            Mark::KerfCorner(cut, lip) => {
                Measured { cut: Some(number(*cut)), plan: Some(plan.map(mm)), lip: Some(*lip), ..bare }
            }
        })
    };
    places.iter().filter_map(sighting).collect()
}

/// What was cut beside the cuts, jogged to on the plate as it lies now. What did not go through anywhere has no width to measure.
pub(crate) fn strays(rig: &Rig<'_>, lie: &Lie, beside: &[Beside], random: &mut Random) -> Vec<StrayTold> {
    let mut jogged_to = |place: &[f64; 2]| {
        // Within a circle of that radius.
        let off = PLACE_MM * std::f64::consts::FRAC_1_SQRT_2;
        lie.at_control(*place).map(|value| mm(value + random.between(-off, off)))
    };
    let told = |stray: &Beside| StrayTold {
        places: stray.places.iter().map(&mut jogged_to).collect(),
        wide: stray.places.iter().any(|at| !rig.is_metal(*at)).then(|| mm(stray.wide_mm)),
        within: Some(mm(PLACE_MM)),
    };
    beside.iter().map(told).collect()
}

/// Where a place of the plate is found in the control's frame.
pub(crate) fn sighted(lie: &Lie, plan: [f64; 2], sigma_mm: f64, random: &mut Random) -> [f64; 2] {
    let true_place = lie.at_control(plan);
    let [x, y] = bell(random);
    [true_place[0] + sigma_mm * x, true_place[1] + sigma_mm * y]
}

/// Two numbers from a bell curve of deviation 1 (Box and Muller 1958).
fn bell(random: &mut Random) -> [f64; 2] {
    let radius = (-2.0 * libm::log(1.0 - random.between(0.0, 1.0))).sqrt();
    let angle = random.between(0.0, std::f64::consts::TAU);
    [radius * libm::cos(angle), radius * libm::sin(angle)]
}

/// Up to `most` of the places, each next one as far from those before as can be.
pub(crate) fn far_apart(places: &[[f64; 2]], most: usize) -> Vec<[f64; 2]> {
    let mut chosen: Vec<[f64; 2]> = places.first().copied().into_iter().collect();
    while chosen.len() < most.min(places.len()) {
        let nearest =
            |at: &[f64; 2]| chosen.iter().map(|other| distance(*at, *other)).fold(f64::INFINITY, f64::min);
        let far = places.iter().max_by(|a, b| nearest(a).total_cmp(&nearest(b)));
        chosen.extend(far.copied());
    }
    chosen
}

/// The state of a cut that was begun and is not whole.
pub(crate) fn begun_state(
    bench: &Bench,
    rig: &Rig<'_>,
    stop: &Stop,
    cut: usize,
    random: &mut Random,
) -> Option<CutState> {
    let is_begun = matches!(stop.got(bench, rig, cut), Got::Partly { .. });
    is_begun.then(|| state(bench, rig, (stop, cut), random))
}

fn state(bench: &Bench, rig: &Rig<'_>, what: (&Stop, usize), random: &mut Random) -> CutState {
    let (stop, cut) = what;
    let noisy_end = |bench, cut, mm, random: &mut Random| stop.noisy_end(bench, cut, mm, random);
    let bare = |is: CutIs| CutState {
        cut: number(cut),
        is,
        from: None,
        kerf_to: None,
        within: Some(mm(stop.within_mm)),
    };
    let light_through_pierce = stop.light_comes_through(bench, rig, cut);
    match stop.got(bench, rig, cut) {
        Got::Dry => bare(CutIs::Dry),
        Got::Whole => bare(CutIs::Whole),
        Got::Partly { through_mm, cut_mm } if !light_through_pierce || cut_mm > through_mm + GROOVE_MM => {
            let through = |random: &mut Random| mm(noisy_end(bench, cut, through_mm, random).max(LEAST_MM));
            CutState {
                from: light_through_pierce.then(|| through(random)),
                kerf_to: Some(mm(noisy_end(bench, cut, cut_mm, random))),
                ..bare(CutIs::Groove)
            }
        }
        Got::Partly { through_mm, .. } => CutState {
            kerf_to: Some(mm(noisy_end(bench, cut, through_mm, random).max(LEAST_MM))),
            ..bare(CutIs::Partial)
        },
    }
}

fn number(cut: usize) -> u32 {
    u32::try_from(cut + 1).unwrap_or(u32::MAX)
}

const fn mm(value: f64) -> Length {
    Length::from_mm(value)
}

impl Stop {
    /// How far a cut has got, from where the program that ran has begun it.
    fn got(&self, bench: &Bench, rig: &Rig<'_>, cut: usize) -> Got {
        let from_mm = self.taken_up.get(&cut).copied().unwrap_or_default();
        got_at(bench, rig, (cut, self.made_at(cut)), from_mm)
    }

    /// Whether it is through where a cut was begun: at its pierce, or where its lead-in came to its path.
    fn light_comes_through(&self, bench: &Bench, rig: &Rig<'_>, cut: usize) -> bool {
        let taken_up = self.taken_up.get(&cut).and_then(|mm| bench.given.list.cuts[cut].path.point_at(*mm));
        let there = taken_up.map(|at| bench.layout.on_plate([at.x, at.y]));
        let places = [Some(bench.layout.lines[cut].places[0]), there].into_iter().flatten();
        let to = self.made_at(cut);
        places.map(|at| to.map_or(at, |to| carried(bench, to, at))).any(|at| rig.plate.is_void(at))
    }

    /// Where the cut is made, if not where the program has it.
    fn made_at(&self, cut: usize) -> Option<&Lie> {
        self.moved.get(&cut)
    }

    /// How far the kerf has come down the stopped cut, if that was run backwards.
    fn far_kerf_mm(&self, bench: &Bench, rig: &Rig<'_>) -> Option<f64> {
        let from_mm = self.backwards.get(&self.cut)?;
        Some(down_to(bench, rig, (self.cut, self.made_at(self.cut)), *from_mm))
    }

    /// An end of a kerf as it is reported.
    fn noisy_end(&self, bench: &Bench, cut: usize, true_mm: f64, random: &mut Random) -> f64 {
        let end = bench.given.list.cuts[cut].path.length_mm();
        let off_mm = random.between(-self.within_mm, self.within_mm);
        let off_mm = self.misreports.map_or(off_mm, |(kerf_mm, _)| kerf_mm);
        (true_mm + off_mm).clamp(0.0, end)
    }

    /// The cut is bad from a place on. A mark that is too wide serves all the same: he tells how far it is made. Where he measures
    /// no edge of a part off by more than its tolerance, he tells that it is good all the way.
    pub(crate) fn goes_bad(&mut self, bench: &Bench, rig: &Rig<'_>, from_mm: Option<f64>) {
        let surely_mm = bench.layout.tolerance_mm - CALIPER_MM;
        let is_off = |part: usize| bench.layout.is_gouged_by(&rig.plate, part, surely_mm);
        let is_good = self.made_at(self.cut).is_none() && !bench.parts_of(self.cut).any(is_off);
        let length_mm = bench.given.list.cuts[self.cut].path.length_mm();
        let from_mm = from_mm.map(|from_mm| if is_good { length_mm } else { from_mm });
        self.bad_from_mm = from_mm.filter(|_| !bench.layout.lines[self.cut].marks);
    }

    /// Where everything that may have gone wrong turns out to be whole, it stands before the next cut of the program that
    /// ran, if there is one.
    pub(crate) fn moves_on(&mut self, bench: &Bench, rig: &Rig<'_>, next: Option<usize>) {
        let whole = |cut: &usize| got(bench, rig, *cut) == Got::Whole;
        // One that went bad only where it ended anyway is good.
        let length_mm = bench.given.list.cuts[self.cut].path.length_mm();
        let is_bad = self.bad_from_mm.is_some_and(|good| good < length_mm - PIXEL_MM);
        let of_the_next = self.kind != StopKind::ArcStaysOn && !is_bad;
        if let Some(next) = next.filter(|_| of_the_next && self.since.iter().all(whole)) {
            self.cut = next;
            self.since = vec![self.cut];
            // Whoever stopped for the datum's sake knows of it at the next cut as well.
            if self.kind != StopKind::WrongDatum {
                self.kind = StopKind::NoTransfer;
            }
            self.bad_from_mm = None;
            self.at = None;
        }
    }

    /// A start on a plate that lies as it was laid finds no plate at all, or the torch stands half over an edge that should be
    /// farther off: anyone sees that the datum is wrong.
    pub(crate) fn sees_no_plate(&mut self, bench: &Bench, rig: &Rig<'_>, lie: &Lie) {
        let layout = &bench.layout;
        if !lie.is_as_laid() || self.made_at(self.cut).is_some() {
            return;
        }
        let starts_off =
            self.kind == StopKind::NoTransfer && !rig.is_on_plate(layout.lines[self.cut].places[0]);
        let stands_still = matches!(self.kind, StopKind::NoTransfer | StopKind::ArcLost | StopKind::ByHand);
        let around = |at: [f64; 2]| {
            let out = layout.tip_mm;
            [[out, 0.0], [-out, 0.0], [0.0, out], [0.0, -out]].map(|off| [at[0] + off[0], at[1] + off[1]])
        };
        let should_be_on =
            |at: &[f64; 2]| (0..2).all(|axis| (0.0..=layout.size_mm[axis]).contains(&at[axis]));
        let over_edge = |at: [f64; 2]| {
            let around = around(layout.on_plate(at));
            around.iter().all(should_be_on) && !around.iter().all(|at| rig.is_on_plate(*at))
        };
        if starts_off || (stands_still && self.at.is_some_and(over_edge)) {
            self.kind = StopKind::WrongDatum;
        }
    }

    /// A halt as it is seen: `fault` has brought it about, if any; `cut` is the cut of the original program, and `since`
    /// those that were run from the one on at which it began to go wrong.
    pub(crate) fn of(halt: &Halt, fault: Option<FaultKind>, (since, cut): (Vec<usize>, usize)) -> Self {
        let kind = match halt.by {
            StoppedBy::Misfire(_) => StopKind::NoTransfer,
            StoppedBy::ArcLost(_) if halt.hole_mm.is_some() => StopKind::NoMotion,
            StoppedBy::ArcLost(_) => StopKind::ArcLost,
            StoppedBy::Struck => StopKind::Struck,
            StoppedBy::PowerCut => StopKind::ControlFroze,
            StoppedBy::Dry => StopKind::RanDry,
            StoppedBy::ArcStays => StopKind::ArcStaysOn,
            StoppedBy::Hand | StoppedBy::Program => fault.map_or(StopKind::ByHand, FaultKind::seen_as),
        };
        let several = matches!(kind, StopKind::RanDry | StopKind::NotThrough);
        let since = if several { since } else { vec![cut] };
        Self {
            kind,
            cut,
            since,
            at: Some(halt.at),
            taken_up: BTreeMap::new(),
            backwards: BTreeMap::new(),
            moved: BTreeMap::new(),
            within_mm: KERF_END_MM,
            blown_mm: halt.hole_mm.filter(|_| matches!(kind, StopKind::NoMotion | StopKind::RanDry)),
            bad_from_mm: None,
            misreports: halt.misreports,
        }
    }
}
