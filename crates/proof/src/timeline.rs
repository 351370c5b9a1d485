//! What is cut when: kerfs made before, then those of the written program in its order, and what comes loose by them.
//!
//! Built from the progress told and from the written program's own burns. A *time* is a number of legs run: 0 is the
//! plate as it lies, `n + 1` the plate after leg `n`. Where a kerf's end is known only so well, what is sure and what may
//! be are kept apart.

use crate::Case;
use crate::JoinStart;
use crate::grid::{Grid, pieces};
use crate::legs::index;
use crate::old_kerf::{holds, is_deep_enough, merge};
use crate::pieces::is_said_loose;
use crate::points::effect::KeptLeg;
use crate::points::starts::full_crater_mm;
use crate::view::View;
use cuts::{ContourId, CutId, Depth, Made, Shape, Stretch};
use geometry::{Bounds, Curve, CurveIndex, Point, Program, SAME_POINT_MM, Side};
use std::ops::Range;

/// Never comes loose.
pub(crate) const NEVER: u32 = u32::MAX;

/// A curve of a kerf's centre line.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Kerf {
    /// The line.
    pub(crate) curve: Curve<Program>,
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
    /// The cut whose pierce left it; none for a hole on no cut's path.
    pub(crate) cut: Option<CutId>,
}

/// Kerfs in order of time, and when each closed contour comes loose.
#[derive(Debug)]
pub(crate) struct Timeline {
    /// Kerfs in the order in which they are made.
    kerfs: Vec<Kerf>,
    grid: Grid,
    /// Which kerfs each leg makes.
    legs: Vec<Range<usize>>,
    /// Time at which each contour is closed and through for sure.
    loose_at: Vec<u32>,
    /// Time at which it may be.
    may_be_loose_at: Vec<u32>,
    craters: CurveIndex<Program, Crater>,
    largest_crater_mm: f64,
    /// Boxes of the closed contours, and whose they are.
    boxes: Vec<(Bounds<Program>, ContourId)>,
    box_grid: Grid,
}

impl Timeline {
    /// Lays all kerfs.
    pub(crate) fn of(case: &Case<'_>, written: &View<'_>, kept: &[KeptLeg]) -> Self {
        let mut kerfs = Vec::with_capacity(written.motions.motions().len());
        let mut craters = Vec::new();
        lay_progress(case, &mut kerfs, &mut craters);
        let mut legs = Vec::with_capacity(kept.len());
        for (n, leg) in kept.iter().enumerate() {
            let first = kerfs.len();
            let through = !case.list.cut(leg.cut).is_mark;
            lay_burn(written, leg, through, &mut kerfs);
            legs.push(first..kerfs.len());
            if through && !leg.on_edge() {
                craters.push(Crater {
                    at: written.from(leg.written.on_at.motion as usize),
                    radius_mm: full_crater_mm(case),
                    time: index(n) + 1,
                    cut: Some(leg.cut),
                });
            }
        }
        let grid = Grid::of_curves(&kerfs.iter().map(|kerf| &kerf.curve));
        let boxes = boxes(case);
        let largest_crater_mm = craters.iter().map(|crater| crater.radius_mm).fold(0.0, f64::max);
        let dots = craters
            .into_iter()
            .filter(|crater| crater.at.is_finite())
            .map(|crater| (Curve::line(crater.at, crater.at), crater));
        Self {
            grid,
            legs,
            loose_at: loose_at(case, kept, Made::surely_mm),
            may_be_loose_at: loose_at(case, kept, |made| Some(may_part_mm(case, made))),
            craters: CurveIndex::new(dots.collect()),
            largest_crater_mm,
            box_grid: Grid::of_boxes(&boxes.iter().map(|(bounds, _)| *bounds).collect::<Vec<_>>()),
            boxes,
            kerfs,
        }
    }

    /// The kerfs that leg `n` makes, by their numbers.
    pub(crate) fn of_leg(&self, n: usize) -> Range<usize> {
        self.legs[n].clone()
    }

    /// A kerf by its number; kerfs are numbered in the order in which they are made.
    pub(crate) fn kerf(&self, number: usize) -> &Kerf {
        &self.kerfs[number]
    }

    /// Time at which a contour's inside may come loose, if kerfs are as long as they can be; [`NEVER`] if it does not.
    pub(crate) fn may_be_loose_at(&self, contour: ContourId) -> u32 {
        self.may_be_loose_at[contour.0 as usize]
    }

    /// Time at which a contour's inside comes loose for sure; [`NEVER`] if it does not.
    pub(crate) fn loose_at(&self, contour: ContourId) -> u32 {
        self.loose_at[contour.0 as usize]
    }

    /// Cuts a curve into pieces for questions to [`Timeline::near`].
    pub(crate) fn pieces(&self, curve: &Curve<Program>, see: impl FnMut(Bounds<Program>, Range<f64>)) {
        pieces(curve, self.grid.cell_mm(), see);
    }

    /// Gives `see` the number of every kerf that may lie within `reach_mm` of the box, others near by too, and some
    /// more than once.
    pub(crate) fn near(&self, bounds: Bounds<Program>, reach_mm: f64, see: impl FnMut(u32)) {
        self.grid.near(bounds, reach_mm, see);
    }

    /// Distance from `p` to the nearest centre line among the first `before` kerfs for which `keep` holds, if within
    /// `reach_mm`.
    pub(crate) fn nearest_mm(
        &self,
        p: Point<Program>,
        reach_mm: f64,
        before: usize,
        keep: impl Fn(&Kerf) -> bool,
    ) -> Option<f64> {
        let mut nearest = f64::INFINITY;
        self.near(Bounds { min: p, max: p }, reach_mm, |number| {
            if (number as usize) < before && keep(self.kerf(number as usize)) {
                nearest = nearest.min(self.kerf(number as usize).curve.nearest(p).distance_mm);
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
            let closed = case.list.contour(*contour).closed.as_ref();
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
fn lay_progress(case: &Case<'_>, kerfs: &mut Vec<Kerf>, craters: &mut Vec<Crater>) {
    for made in &case.progress.made {
        let cut = case.list.cut(made.cut);
        let through = made.depth == Depth::Through;
        let at_most = made.at_most_mm(cut.path.length_mm());
        if through && at_most.start <= SAME_POINT_MM && !cut.is_mark {
            craters.push(Crater {
                at: cut.pierce.at,
                radius_mm: full_crater_mm(case),
                time: 0,
                cut: Some(made.cut),
            });
        }
        if !through && cut.is_mark {
            continue;
        }
        let sure = made.surely_mm().filter(|_| is_deep_enough(case, made));
        let Some(sure) = sure else {
            lay_stretch(case, made.cut, &at_most, Laid { through, sure: false }, kerfs);
            continue;
        };
        lay_stretch(case, made.cut, &sure, Laid { through, sure: true }, kerfs);
        for unsure in [at_most.start..sure.start, sure.end..at_most.end] {
            if unsure.start < unsure.end {
                lay_stretch(case, made.cut, &unsure, Laid { through, sure: false }, kerfs);
            }
        }
    }
    for stray in &case.progress.strays {
        if stray.crater_mm > 0.0 {
            craters.push(Crater { at: stray.at, radius_mm: stray.crater_mm, time: 0, cut: None });
        }
        kerfs.extend(stray.path.curves().iter().map(|curve| Kerf {
            curve: *curve,
            cut: None,
            burnt_mm: 0.0,
            on_path: OnPath::Off,
            through: stray.depth == Depth::Through,
            sure: false,
        }));
    }
}

/// How a kerf is laid.
#[derive(Clone, Copy)]
struct Laid {
    through: bool,
    sure: bool,
}

fn lay_stretch(case: &Case<'_>, cut: CutId, along_mm: &Range<f64>, laid: Laid, kerfs: &mut Vec<Kerf>) {
    let path = &case.list.cut(cut).path;
    let whole = along_mm.start <= 0.0 && along_mm.end >= path.length_mm();
    let piece;
    let stretch = if whole {
        path
    } else {
        piece = path.piece(along_mm.start, along_mm.end);
        &piece
    };
    let begins = along_mm.start.max(0.0);
    kerfs.extend(stretch.curves().iter().enumerate().map(|(k, curve)| {
        let at_mm = begins + stretch.start_of_mm(k);
        Kerf {
            curve: *curve,
            cut: Some(cut),
            burnt_mm: at_mm,
            on_path: OnPath::With(at_mm),
            through: laid.through,
            sure: laid.sure,
        }
    }));
}

fn lay_burn(written: &View<'_>, leg: &KeptLeg, through: bool, kerfs: &mut Vec<Kerf>) {
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
        kerfs.push(Kerf { curve, cut: Some(leg.cut), burnt_mm, on_path: at, through, sure: true });
        burnt_mm += length;
        on_path_mm += if on_path.contains(&k) { length } else { 0.0 };
    }
}

/// When each contour comes loose: when the last stretch of its boundary is through. Which of a stretch told counts as
/// made is for `made_mm` to say. That a join leaves nothing of its contours uncut is held against the text by point 1.
fn loose_at(case: &Case<'_>, kept: &[KeptLeg], made_mm: impl Fn(&Made) -> Option<Range<f64>>) -> Vec<u32> {
    let mut made: Vec<Vec<Range<f64>>> = vec![Vec::new(); case.list.cuts.len()];
    for stretch in case.progress.made.iter().filter(|made| made.depth == Depth::Through) {
        made[stretch.cut.0 as usize].extend(made_mm(stretch));
    }
    made.iter_mut().for_each(|made| merge(made, SAME_POINT_MM));
    let mut cut_at = vec![NEVER; case.list.cuts.len()];
    for (n, leg) in kept.iter().enumerate() {
        let cut = leg.cut.0 as usize;
        cut_at[cut] = index(n) + 1;
    }
    let through_at = |stretch: &Stretch| {
        let cut = stretch.cut.0 as usize;
        if holds(&made[cut], &stretch.along_mm) { 0 } else { cut_at[cut] }
    };
    let contours = case.list.contours.iter();
    contours
        .map(|contour| match contour.shape {
            Shape::Mark => NEVER,
            _ if contour.closed.is_none() => NEVER,
            _ if is_said_loose(case, contour) => 0,
            _ => contour.boundary.iter().map(through_at).max().unwrap_or(NEVER),
        })
        .collect()
}

/// The longest stretch that may be parted. A kerf that has come within its own width of the contour's lead-in has met it:
/// what is left of the contour holds nothing any more. A lead-in that runs in along the contour is met many millimetres
/// before the contour's end.
fn may_part_mm(case: &Case<'_>, made: &Made) -> Range<f64> {
    let cut = case.list.cut(made.cut);
    let mut stretch = made.at_most_mm(cut.path.length_mm());
    for id in &cut.contours {
        let contour = &case.list.contour(*id).along_mm;
        let lead_in = case.list.lead_in_mm(*id);
        if lead_in.is_empty() || !contour.contains(&stretch.end) {
            continue;
        }
        let lead_in = cut.path.piece(lead_in.start, lead_in.end);
        let kerf = case.ground.kerf.mm();
        let meets = |along: f64| {
            let near = cut.path.point_at(along).and_then(|p| lead_in.nearest(p));
            near.is_some_and(|near| near.distance_mm <= kerf)
        };
        if steps(stretch.end..contour.end, kerf / 2.0).all(meets) {
            stretch.end = contour.end;
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
    let closed = case.list.contours.iter().filter(|contour| contour.shape != Shape::Mark);
    closed
        .filter_map(|contour| {
            let bounds = contour.closed.as_ref()?.bounds();
            (bounds.min.is_finite() && bounds.max.is_finite()).then_some((bounds, contour.id))
        })
        .collect()
}
