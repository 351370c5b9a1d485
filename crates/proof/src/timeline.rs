//! What is cut when: kerfs made before, then those of the written program in its order, and what comes loose by them.
//!
//! Built from the progress told and from the written program's own burns. A *time* is a number of legs run: 0 is the
//! plate as it lies, `n + 1` the plate after leg `n`.

use crate::Case;
use crate::grid::{Grid, pieces};
use crate::legs::index;
use crate::points::effect::KeptLeg;
use crate::points::promise::covers;
use crate::view::View;
use cuts::{ContourId, CutId, Depth, Shape, Stretch};
use geometry::{Bounds, Curve, CurveIndex, Point, Program, SAME_POINT_MM, Side};
use std::ops::Range;

/// Never comes loose.
pub(crate) const NEVER: u32 = u32::MAX;

/// A curve of a kerf's centre line.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Kerf {
    /// The line.
    pub(crate) curve: Curve<Program>,
    /// The cut it belongs to.
    pub(crate) cut: CutId,
    /// Where it begins along its cut's path, in millimetres.
    pub(crate) along_mm: f64,
    /// Whether it parts the metal; a mark does not.
    pub(crate) through: bool,
}

/// A crater and when it is made.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Crater {
    pub(crate) at: Point<Program>,
    pub(crate) time: u32,
}

/// Kerfs in order of time, and when each closed contour comes loose.
#[derive(Debug)]
pub(crate) struct Timeline {
    /// Kerfs in the order in which they are made; grooves left by a stop are not among them.
    kerfs: Vec<Kerf>,
    grid: Grid,
    /// Which kerfs each leg makes.
    legs: Vec<Range<usize>>,
    /// Time at which each contour is closed and through.
    loose_at: Vec<u32>,
    craters: CurveIndex<Program, u32>,
    /// Boxes of the closed contours, and whose they are.
    boxes: Vec<(Bounds<Program>, ContourId)>,
    box_grid: Grid,
}

impl Timeline {
    /// Lays all kerfs.
    pub(crate) fn of(case: &Case<'_>, written: &View<'_>, kept: &[KeptLeg]) -> Self {
        let mut kerfs = Vec::with_capacity(written.motions.motions().len());
        let mut craters = Vec::new();
        for made in &case.progress.made {
            let cut = case.list.cut(made.cut);
            if made.along_mm.start <= SAME_POINT_MM && !cut.is_mark {
                craters.push(Crater { at: cut.pierce.at, time: 0 });
            }
            if made.depth == Depth::Through {
                lay_stretch(case, made.cut, &made.along_mm, &mut kerfs);
            }
        }
        let mut legs = Vec::with_capacity(kept.len());
        for (n, leg) in kept.iter().enumerate() {
            let first = kerfs.len();
            let through = !case.list.cut(leg.cut).is_mark;
            lay_burn(written, leg, through, &mut kerfs);
            legs.push(first..kerfs.len());
            if through {
                craters
                    .push(Crater { at: written.from(leg.written.on_at.motion as usize), time: index(n) + 1 });
            }
        }
        let grid = Grid::of_curves(&kerfs.iter().map(|kerf| &kerf.curve));
        let boxes = boxes(case);
        let dots = craters.iter().map(|crater| (Curve::line(crater.at, crater.at), crater.time));
        Self {
            grid,
            legs,
            loose_at: loose_at(case, kept),
            craters: CurveIndex::new(dots.collect()),
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

    /// Time at which a contour's inside comes loose; [`NEVER`] if it does not.
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

    /// Distance from `p` to the nearest centre line among the first `before` kerfs that are through, if within
    /// `reach_mm`.
    pub(crate) fn nearest_mm(&self, p: Point<Program>, reach_mm: f64, before: usize) -> Option<f64> {
        let mut nearest = f64::INFINITY;
        self.near(Bounds { min: p, max: p }, reach_mm, |number| {
            if (number as usize) < before && self.kerf(number as usize).through {
                nearest = nearest.min(self.kerf(number as usize).curve.nearest(p).distance_mm);
            }
        });
        (nearest <= reach_mm).then_some(nearest)
    }

    /// Distance from `p` to the centre of the nearest crater made before leg `n`, if within `reach_mm`.
    pub(crate) fn nearest_crater_mm(&self, p: Point<Program>, reach_mm: f64, n: usize) -> Option<f64> {
        let hits = self.craters.near_point(p, reach_mm).filter(|hit| (hit.tag as usize) <= n);
        hits.map(|hit| hit.distance_mm).min_by(f64::total_cmp)
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

fn lay_stretch(case: &Case<'_>, cut: CutId, along_mm: &Range<f64>, kerfs: &mut Vec<Kerf>) {
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
    kerfs.extend(stretch.curves().iter().enumerate().map(|(k, curve)| Kerf {
        curve: *curve,
        cut,
        along_mm: begins + stretch.start_of_mm(k),
        through: true,
    }));
}

fn lay_burn(written: &View<'_>, leg: &KeptLeg, through: bool, kerfs: &mut Vec<Kerf>) {
    let mut along_mm = 0.0;
    for k in leg.written.burn() {
        let curve = written.curve(k);
        let length = curve.length_mm();
        if length > 0.0 {
            kerfs.push(Kerf { curve, cut: leg.cut, along_mm, through });
            along_mm += length;
        }
    }
}

/// When each contour comes loose: when the last stretch of its boundary is through.
fn loose_at(case: &Case<'_>, kept: &[KeptLeg]) -> Vec<u32> {
    let mut made: Vec<Vec<(f64, f64)>> = vec![Vec::new(); case.list.cuts.len()];
    for stretch in case.progress.made.iter().filter(|made| made.depth == Depth::Through) {
        made[stretch.cut.0 as usize].push((stretch.along_mm.start, stretch.along_mm.end));
    }
    let mut cut_at = vec![NEVER; case.list.cuts.len()];
    for (n, leg) in kept.iter().enumerate() {
        cut_at[leg.cut.0 as usize] = index(n) + 1;
    }
    let mut through_at = |stretch: &Stretch| {
        let cut = stretch.cut.0 as usize;
        let asked = (stretch.along_mm.start, stretch.along_mm.end);
        if covers(&mut made[cut], asked) { 0 } else { cut_at[cut] }
    };
    let contours = case.list.contours.iter();
    contours
        .map(|contour| match contour.shape {
            Shape::Mark => NEVER,
            _ if contour.closed.is_none() => NEVER,
            _ => contour.boundary.iter().map(&mut through_at).max().unwrap_or(NEVER),
        })
        .collect()
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
