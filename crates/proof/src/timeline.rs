//! What is cut when: kerfs made before, then those of the written program in its order, and what comes loose by them.
//!
//! Built from the progress told and from the written program's own burns. A *time* is a number of legs run: 0 is the
//! plate as it lies, `n + 1` the plate after leg `n`. Where a kerf's end is known only so well, what is sure and what may
//! be are kept apart.
//!
//! What is burnt number for number as the original burns it is not laid again: it is looked up among the original's own
//! lines ([`Laid`]). Everything else (strays, joins, stretches of cuts, what was rounded otherwise) is laid here.

use crate::Case;
use crate::JoinStart;
use crate::grid::{Grid, pieces};
use crate::laid::Laid;
use crate::legs::index;
use crate::old_kerf::{holds, is_deep_enough, merge};
use crate::pieces::{is_said_held, is_said_loose};
use crate::points::effect::KeptLeg;
use crate::points::starts::full_crater_mm;
use crate::view::View;
use cuts::{ContourId, Cut, CutId, Depth, Made, Shape, Stretch};
use geometry::{Bounds, Curve, CurveIndex, Point, Program, SAME_POINT_MM, Side};
use std::collections::BTreeMap;
use std::ops::Range;

/// Never comes loose.
pub(crate) const NEVER: u32 = u32::MAX;

/// A curve of a kerf's centre line.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Kerf<'t> {
    /// The line.
    pub(crate) curve: &'t Curve<Program>,
    /// The cut it belongs to; none for one on no cut's path.
    pub(crate) cut: Option<CutId>,
    /// How far the torch had burnt when it came to its beginning, in millimetres.
    pub(crate) burnt_mm: f64,
    /// Where it lies on its cut's path.
    pub(crate) on_path: OnPath,
    /// Whether it parts the metal; a mark and a groove do not.
    pub(crate) through: bool,
    /// Whether it is there whatever a kerf's ends are.
    pub(crate) sure: bool,
}

/// Where a curve lies on its cut's path, in millimetres along it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum OnPath {
    /// Begins there and runs with it.
    With(f64),
    /// Begins there and runs against it.
    Against(f64),
    /// Nowhere: a lead-in of its own.
    Off,
}

/// A crater and when it is made.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Crater {
    pub(crate) at: Point<Program>,
    pub(crate) radius_mm: f64,
    pub(crate) time: u32,
}

/// Kerfs that are made together: a stretch told, or the burn of a leg.
#[derive(Clone, Copy, Debug)]
struct Run {
    /// Number of its first kerf.
    first: usize,
    cut: Option<CutId>,
    through: bool,
    sure: bool,
    from: From,
}

/// Where the curves of a run are.
#[derive(Clone, Copy, Debug)]
enum From {
    /// They are the original's lines, from this number on.
    Laid(usize),
    /// They are the timeline's own, from this number on.
    Own(usize),
}

/// A curve that is not the original's.
#[derive(Clone, Copy, Debug)]
struct Own {
    curve: Curve<Program>,
    burnt_mm: f64,
    on_path: OnPath,
    /// Which run it belongs to.
    run: u32,
}

/// Runs as they are laid one after another.
struct Runs<'l> {
    laid: &'l Laid,
    runs: Vec<Run>,
    own: Vec<Own>,
    /// The run that is laid as the original's lines of each cut; [`NO_RUN`] if none is.
    of_cut: Vec<u32>,
    /// Kerfs so far.
    count: usize,
}

/// Most curves of its own that a timeline looks through one by one.
const OWN_MOST: usize = 1000;

/// No run.
const NO_RUN: u32 = u32::MAX;

impl Runs<'_> {
    /// The original's lines of `cut`; false if they are there already.
    fn lay(&mut self, cut: CutId, laid: Depths) -> bool {
        let of_cut = &mut self.of_cut[cut.0 as usize];
        if *of_cut != NO_RUN {
            return false;
        }
        *of_cut = index(self.runs.len());
        let lines = self.laid.of_cut(cut);
        self.begin(Some(cut), laid, From::Laid(lines.start));
        self.count += lines.len();
        true
    }

    /// Begins a run of curves of its own.
    fn begin_own(&mut self, cut: Option<CutId>, laid: Depths) {
        self.begin(cut, laid, From::Own(self.own.len()));
    }

    fn begin(&mut self, cut: Option<CutId>, laid: Depths, from: From) {
        self.runs.push(Run { first: self.count, cut, through: laid.through, sure: laid.sure, from });
    }

    fn push(&mut self, curve: Curve<Program>, burnt_mm: f64, on_path: OnPath) {
        let run = index(self.runs.len()).saturating_sub(1);
        self.own.push(Own { curve, burnt_mm, on_path, run });
        self.count += 1;
    }
}

/// Kerfs in order of time, and when each closed contour comes loose.
#[derive(Debug)]
pub(crate) struct Timeline<'l> {
    laid: &'l Laid,
    /// Runs in the order in which they are made; their kerfs are numbered through.
    runs: Vec<Run>,
    own: Vec<Own>,
    own_grid: Grid,
    /// The run that is laid as the original's lines of each cut; [`NO_RUN`] if none is.
    of_cut: Vec<u32>,
    /// Which kerfs each leg makes.
    legs: Vec<Range<usize>>,
    /// Time at which each contour is closed and through for sure.
    loose_at: Vec<u32>,
    /// Time at which it may be.
    may_be_loose_at: Vec<u32>,
    /// Time at which some of what it encloses may be, if not all.
    may_drop_at: Vec<u32>,
    craters: CurveIndex<Program, Crater>,
    largest_crater_mm: f64,
    /// Boxes of the closed contours, and whose they are.
    boxes: Vec<(Bounds<Program>, ContourId)>,
    box_grid: Grid,
}

impl<'l> Timeline<'l> {
    /// Lays all kerfs.
    pub(crate) fn of(case: &Case<'l>, written: &View<'_>, kept: &[KeptLeg]) -> Self {
        let laid = case.original.laid();
        let of_cut = vec![NO_RUN; case.original.list.cuts.len()];
        let mut kerfs = Runs { laid, runs: Vec::new(), own: Vec::new(), of_cut, count: 0 };
        let mut craters = Vec::new();
        lay_progress(case, &mut kerfs, &mut craters);
        let mut legs = Vec::with_capacity(kept.len());
        for (n, leg) in kept.iter().enumerate() {
            let first = kerfs.count;
            let through = !case.original.list.cut(leg.cut).is_mark;
            lay_burn(written, leg, Depths { through, sure: true }, &mut kerfs);
            legs.push(first..kerfs.count);
            if through && !leg.on_edge() {
                craters.push(Crater {
                    at: written.from(leg.written.on_at.motion as usize),
                    radius_mm: full_crater_mm(case),
                    time: index(n) + 1,
                });
            }
        }
        let own_grid = Grid::of_curves(&kerfs.own.iter().map(|kerf| &kerf.curve));
        let boxes = boxes(case);
        let largest_crater_mm = craters.iter().map(|crater| crater.radius_mm).fold(0.0, f64::max);
        let dots = craters
            .into_iter()
            .filter(|crater| crater.at.is_finite())
            .map(|crater| (Curve::line(crater.at, crater.at), crater));
        Self {
            laid,
            runs: kerfs.runs,
            own: kerfs.own,
            own_grid,
            of_cut: kerfs.of_cut,
            legs,
            loose_at: loose_at(case, kept, Made::surely_mm),
            may_be_loose_at: loose_at(case, kept, |made| Some(may_part_mm(case, made))),
            may_drop_at: loose_at(case, kept, |made| Some(may_drop_mm(case, made))),
            craters: CurveIndex::new(dots.collect()),
            largest_crater_mm,
            box_grid: Grid::of_boxes(&boxes.iter().map(|(bounds, _)| *bounds).collect::<Vec<_>>()),
            boxes,
        }
    }

    /// The kerfs that leg `n` makes, by their numbers; kerfs are numbered in the order in which they are made.
    pub(crate) fn of_leg(&self, n: usize) -> Range<usize> {
        self.legs[n].clone()
    }

    /// The nth kerf of a run.
    fn kerf_of(&self, run: usize, nth: usize) -> Kerf<'_> {
        let run = &self.runs[run];
        let (curve, burnt_mm, on_path) = match run.from {
            From::Laid(first) => {
                let line = self.laid.line(first + nth);
                (&line.curve, line.burnt_mm, OnPath::With(line.burnt_mm))
            }
            From::Own(first) => {
                let own = &self.own[first + nth];
                (&own.curve, own.burnt_mm, own.on_path)
            }
        };
        Kerf { curve, cut: run.cut, burnt_mm, on_path, through: run.through, sure: run.sure }
    }

    /// Whether leg `n` is the burn of `cut` as the original's lines have it, and everything that is not among those lines
    /// stays clear of it by `reach_mm`.
    pub(crate) fn is_laid_clear(&self, n: usize, cut: CutId, reach_mm: f64) -> bool {
        let run = self.of_cut[cut.0 as usize];
        let is_leg = run != NO_RUN && self.runs[run as usize].first == self.legs[n].start;
        let Some(bounds) = self.laid.bounds(cut).filter(|_| is_leg) else { return false };
        let bounds = bounds.grown(reach_mm);
        self.own.len() <= OWN_MOST && !self.own.iter().any(|own| own.curve.bounds().meets(&bounds))
    }

    /// The kerfs that leg `n` makes, with their numbers.
    pub(crate) fn kerfs_of_leg(&self, n: usize) -> impl Iterator<Item = (usize, Kerf<'_>)> {
        let numbers = self.of_leg(n);
        // A leg is one run, whose first kerf has the leg's first number; none of it if the leg burns nothing.
        let run = self.runs.partition_point(|run| run.first <= numbers.start).saturating_sub(1);
        numbers.clone().map(move |number| (number, self.kerf_of(run, number - numbers.start)))
    }

    /// Time at which a contour's inside may come loose, if kerfs are as long as they can be; [`NEVER`] if it does not.
    pub(crate) fn may_be_loose_at(&self, contour: ContourId) -> u32 {
        self.may_be_loose_at[contour.0 as usize]
    }

    /// Time at which some of a contour's inside may come loose, if not all of it: what a kerf has cut off in a hole whose
    /// slug its own lead-in crosses; [`NEVER`] if nothing does.
    pub(crate) fn may_drop_at(&self, contour: ContourId) -> u32 {
        self.may_drop_at[contour.0 as usize]
    }

    /// Time at which a contour's inside comes loose for sure; [`NEVER`] if it does not.
    pub(crate) fn loose_at(&self, contour: ContourId) -> u32 {
        self.loose_at[contour.0 as usize]
    }

    /// Cuts a curve into pieces for questions to [`Timeline::near`].
    pub(crate) fn pieces(&self, curve: &Curve<Program>, see: impl FnMut(Bounds<Program>, Range<f64>)) {
        pieces(curve, self.laid.grid().cell_mm(), see);
    }

    /// Gives `see` every kerf that may lie within `reach_mm` of the box with its number, others near by too, and some
    /// more than once.
    pub(crate) fn near<'t>(
        &'t self,
        bounds: Bounds<Program>,
        reach_mm: f64,
        mut see: impl FnMut(usize, Kerf<'t>),
    ) {
        self.laid.grid().near(bounds, reach_mm, |number| {
            let line = self.laid.line(number as usize);
            let run = self.of_cut[line.cut.0 as usize];
            if run == NO_RUN {
                return;
            }
            let run = &self.runs[run as usize];
            let From::Laid(first) = run.from else { return };
            let kerf = Kerf {
                curve: &line.curve,
                cut: run.cut,
                burnt_mm: line.burnt_mm,
                on_path: OnPath::With(line.burnt_mm),
                through: run.through,
                sure: run.sure,
            };
            see(run.first + (number as usize - first), kerf);
        });
        self.own_grid.near(bounds, reach_mm, |number| {
            let run = self.own[number as usize].run as usize;
            let From::Own(first) = self.runs[run].from else { return };
            let nth = number as usize - first;
            see(self.runs[run].first + nth, self.kerf_of(run, nth));
        });
    }

    /// Distance from `p` to the nearest centre line among the first `before` kerfs for which `keep` holds, if within
    /// `reach_mm`.
    pub(crate) fn nearest_mm(
        &self,
        p: Point<Program>,
        reach_mm: f64,
        before: usize,
        keep: impl Fn(&Kerf<'_>) -> bool,
    ) -> Option<f64> {
        let mut nearest = f64::INFINITY;
        self.near(Bounds { min: p, max: p }, reach_mm, |number, kerf| {
            if number < before && keep(&kerf) {
                nearest = nearest.min(kerf.curve.nearest(p).distance_mm);
            }
        });
        (nearest <= reach_mm).then_some(nearest)
    }

    /// Distance from `p` to the edge of the nearest crater made before leg `n` for which `keep` holds, if within
    /// `reach_mm`; negative inside.
    pub(crate) fn nearest_crater_mm(
        &self,
        p: Point<Program>,
        reach_mm: f64,
        n: usize,
        keep: impl Fn(&Crater) -> bool,
    ) -> Option<f64> {
        let kept = self.craters_within(p, reach_mm, n).filter(keep);
        kept.map(|crater| crater.at.distance(p) - crater.radius_mm).min_by(f64::total_cmp)
    }

    /// Craters made before leg `n` whose edge comes within `reach_mm` of `p`.
    pub(crate) fn craters_within(
        &self,
        p: Point<Program>,
        reach_mm: f64,
        n: usize,
    ) -> impl Iterator<Item = Crater> + '_ {
        let hits = self.craters.near_point(p, reach_mm + self.largest_crater_mm);
        let made = hits.filter(move |hit| (hit.tag.time as usize) <= n).map(|hit| hit.tag);
        made.filter(move |crater| crater.at.distance(p) - crater.radius_mm <= reach_mm)
    }

    /// The closed contours around `p` for which `keep` holds, in order.
    pub(crate) fn around(
        &self,
        case: &Case<'_>,
        p: Point<Program>,
        keep: impl Fn(ContourId) -> bool,
    ) -> Vec<ContourId> {
        let mut around = self.boxes(Bounds { min: p, max: p });
        around.retain(|contour| {
            let closed = case.original.list.contour(*contour).closed.as_ref();
            keep(*contour)
                && closed.is_some_and(|closed| closed.side_of(p, crate::tolerance::PATH_MM) == Side::Inside)
        });
        around
    }

    /// The closed contours whose box meets `bounds`, in order.
    pub(crate) fn boxes(&self, bounds: Bounds<Program>) -> Vec<ContourId> {
        let mut found = Vec::new();
        self.box_grid.near(bounds, 0.0, |number| {
            let (of, contour) = &self.boxes[number as usize];
            if of.meets(&bounds) {
                found.push(*contour);
            }
        });
        found.sort_unstable();
        found.dedup();
        found
    }
}

/// Lays what had been made before: what is sure first, then what may be there besides, then what lies on no path.
fn lay_progress(case: &Case<'_>, kerfs: &mut Runs<'_>, craters: &mut Vec<Crater>) {
    for made in &case.progress.made {
        let cut = case.original.list.cut(made.cut);
        let through = made.depth == Depth::Through;
        let at_most = made.at_most_mm(cut.path.length_mm());
        if through && at_most.start <= SAME_POINT_MM && !cut.is_mark {
            craters.push(Crater { at: cut.pierce.at, radius_mm: full_crater_mm(case), time: 0 });
        }
        if !through && cut.is_mark {
            continue;
        }
        let sure = made.surely_mm().filter(|_| is_deep_enough(case, made));
        let Some(sure) = sure else {
            lay_stretch(case, made.cut, &at_most, Depths { through, sure: false }, kerfs);
            continue;
        };
        lay_stretch(case, made.cut, &sure, Depths { through, sure: true }, kerfs);
        for unsure in [at_most.start..sure.start, sure.end..at_most.end] {
            if unsure.start < unsure.end {
                lay_stretch(case, made.cut, &unsure, Depths { through, sure: false }, kerfs);
            }
        }
    }
    for stray in &case.progress.strays {
        if stray.crater_mm > 0.0 {
            craters.push(Crater { at: stray.at, radius_mm: stray.crater_mm, time: 0 });
        }
        kerfs.begin_own(None, Depths { through: stray.depth == Depth::Through, sure: false });
        for curve in stray.path.curves() {
            kerfs.push(*curve, 0.0, OnPath::Off);
        }
    }
}

/// How a kerf is laid.
#[derive(Clone, Copy)]
struct Depths {
    through: bool,
    sure: bool,
}

fn lay_stretch(case: &Case<'_>, cut: CutId, along_mm: &Range<f64>, laid: Depths, kerfs: &mut Runs<'_>) {
    let path = &case.original.list.cut(cut).path;
    let whole = along_mm.start <= 0.0 && along_mm.end >= path.length_mm();
    if whole && kerfs.laid.is_path(cut) && kerfs.lay(cut, laid) {
        return;
    }
    let piece;
    let stretch = if whole {
        path
    } else {
        piece = path.piece(along_mm.start, along_mm.end);
        &piece
    };
    let begins = along_mm.start.max(0.0);
    kerfs.begin_own(Some(cut), laid);
    for (k, curve) in stretch.curves().iter().enumerate() {
        let at_mm = begins + stretch.start_of_mm(k);
        kerfs.push(*curve, at_mm, OnPath::With(at_mm));
    }
}

fn lay_burn(written: &View<'_>, leg: &KeptLeg, laid: Depths, kerfs: &mut Runs<'_>) {
    if leg.as_original && kerfs.lay(leg.cut, laid) {
        return;
    }
    kerfs.begin_own(Some(leg.cut), laid);
    let on_path = leg.burn_on_path();
    let (mut burnt_mm, mut on_path_mm) = (0.0, 0.0);
    for k in leg.written.burn() {
        let curve = written.curve(k);
        let length = curve.length_mm();
        if length <= 0.0 {
            continue;
        }
        let at = match &leg.join {
            None => OnPath::With(burnt_mm),
            Some(_) if !on_path.contains(&k) => OnPath::Off,
            Some(join) if join.start == JoinStart::Backwards => OnPath::Against(join.from_mm - on_path_mm),
            Some(join) => OnPath::With(join.from_mm + on_path_mm),
        };
        kerfs.push(curve, burnt_mm, at);
        burnt_mm += length;
        on_path_mm += if on_path.contains(&k) { length } else { 0.0 };
    }
}

/// When each contour comes loose: when the last stretch of its boundary is through. Which of a stretch told counts as
/// made is for `made_mm` to say. That the joins of a cut together leave nothing of its contours uncut is held against the
/// text by point 1; what the first of two burns parts by itself is loose before the second.
fn loose_at(case: &Case<'_>, kept: &[KeptLeg], made_mm: impl Fn(&Made) -> Option<Range<f64>>) -> Vec<u32> {
    let mut made: Vec<Vec<Range<f64>>> = vec![Vec::new(); case.original.list.cuts.len()];
    for stretch in case.progress.made.iter().filter(|made| made.depth == Depth::Through) {
        made[stretch.cut.0 as usize].extend(made_mm(stretch));
    }
    made.iter_mut().for_each(|made| merge(made, SAME_POINT_MM));
    let mut cut_at = vec![NEVER; case.original.list.cuts.len()];
    let mut by_first_burn = BTreeMap::new();
    for (n, leg) in kept.iter().enumerate() {
        let cut = leg.cut.0 as usize;
        cut_at[cut] = index(n) + 1;
        if let Some(join) = leg.join.as_ref().filter(|join| join.ends_early) {
            let mut by_then = made[cut].clone();
            by_then.extend(made_mm(&Made::through(leg.cut, join.burns_mm())));
            merge(&mut by_then, SAME_POINT_MM);
            by_first_burn.insert(leg.cut, (by_then, cut_at[cut]));
        }
    }
    let through_at = |stretch: &Stretch| {
        let cut = stretch.cut.0 as usize;
        let first_burn =
            || by_first_burn.get(&stretch.cut).filter(|(by_then, _)| holds(by_then, &stretch.along_mm));
        match holds(&made[cut], &stretch.along_mm) {
            true => 0,
            false => first_burn().map_or(cut_at[cut], |(_, time)| *time),
        }
    };
    let contours = case.original.list.contours.iter();
    contours
        .map(|contour| match contour.shape {
            Shape::Mark => NEVER,
            _ if contour.closed.is_none() => NEVER,
            _ if is_said_loose(case, contour) => 0,
            _ => match contour.boundary.iter().map(through_at).max().unwrap_or(NEVER) {
                // Not all about it is cut, whatever was told of kerfs' ends: the first leg along it may part it.
                0 if is_said_held(case, contour) => {
                    contour.boundary.iter().map(|edge| cut_at[edge.cut.0 as usize]).min().unwrap_or(NEVER)
                }
                time => time,
            },
        })
        .collect()
}

/// The longest stretch that may be parted. A kerf that has come within its own width of the contour's lead-in has met it, and so
/// has one that reaches the crater with which that begins: what is left of the contour holds nothing any more. A lead-in that
/// runs in along the contour is met many millimetres before the contour's end.
pub(crate) fn may_part_mm(case: &Case<'_>, made: &Made) -> Range<f64> {
    let cut = case.original.list.cut(made.cut);
    let mut stretch = made.at_most_mm(cut.path.length_mm());
    for id in &cut.contours {
        let contour = &case.original.list.contour(*id).along_mm;
        let lead_in = case.original.list.lead_in_mm(*id);
        if lead_in.is_empty() || !contour.contains(&stretch.end) {
            continue;
        }
        let meets = meets_lead_in(case, cut, lead_in);
        if steps(stretch.end..contour.end, case.ground.kerf.mm() / 2.0).all(&meets) {
            stretch.end = contour.end;
        }
    }
    stretch
}

/// Whether the kerf about a place along a cut meets that of a lead-in, or the crater with which it begins.
fn meets_lead_in<'c>(case: &'c Case<'_>, cut: &'c Cut, lead_in_mm: Range<f64>) -> impl Fn(f64) -> bool + 'c {
    let (pierce, lead_in) =
        (cut.path.point_at(lead_in_mm.start), cut.path.piece(lead_in_mm.start, lead_in_mm.end));
    let kerf = case.ground.kerf.mm();
    move |along: f64| {
        let Some(p) = cut.path.point_at(along) else { return false };
        pierce.is_some_and(|pierce| pierce.distance(p) <= full_crater_mm(case) + kerf / 2.0)
            || lead_in.nearest(p).is_some_and(|near| near.distance_mm <= kerf)
    }
}

/// The longest stretch after which something in it may drop. A lead-in that runs across a narrow slot, or whose crater is as
/// wide, leaves nothing to hold what the kerf has cut off by the time it comes past, though the rest of the slug is held.
fn may_drop_mm(case: &Case<'_>, made: &Made) -> Range<f64> {
    let cut = case.original.list.cut(made.cut);
    let mut stretch = may_part_mm(case, made);
    for id in &cut.contours {
        let contour = case.original.list.contour(*id);
        let lead_in = case.original.list.lead_in_mm(*id);
        if contour.shape != Shape::Hole || lead_in.is_empty() || !contour.along_mm.contains(&stretch.end) {
            continue;
        }
        let kerf = case.ground.kerf.mm();
        let meets = meets_lead_in(case, cut, lead_in);
        // Where the contour begins, its kerf is beside its lead-in anyway.
        let parted = |along: &f64| !meets(*along);
        let mut after =
            steps(contour.along_mm.start..stretch.end, kerf / 2.0).skip_while(|along| !parted(along));
        if after.any(&meets) {
            stretch.end = contour.along_mm.end;
        }
    }
    stretch
}

/// Distances along a stretch, not farther apart than `pitch_mm`, both ends among them.
fn steps(stretch_mm: Range<f64>, pitch_mm: f64) -> impl Iterator<Item = f64> {
    let length = stretch_mm.end - stretch_mm.start;
    let count = (length / pitch_mm.max(SAME_POINT_MM)).ceil().max(1.0);
    let mut step = 0.0;
    std::iter::from_fn(move || {
        let at = (step <= count).then_some(stretch_mm.start + length * step / count);
        step += 1.0;
        at
    })
}

fn boxes(case: &Case<'_>) -> Vec<(Bounds<Program>, ContourId)> {
    let closed = case.original.list.contours.iter().filter(|contour| contour.shape != Shape::Mark);
    closed
        .filter_map(|contour| {
            let bounds = contour.closed.as_ref()?.bounds();
            (bounds.min.is_finite() && bounds.max.is_finite()).then_some((bounds, contour.id))
        })
        .collect()
}
