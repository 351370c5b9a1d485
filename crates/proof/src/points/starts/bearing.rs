//! What bears the tip at a touch-off where the arc is lit.
//!
//! Tables that touch off as part of the torch-on find the plate where the arc is begun, and an edge start is begun over a
//! void. The tip is wider than a kerf: it comes to rest on what is around as it would on whole plate, if that lies on so many
//! sides that the tip neither tilts nor slides in. Under it may be the cut's own kerf, a hole that a standing arc blew,
//! another cut's kerf or the plate's edge: what counts is where plate is left, and whether it gives way.

use super::HOLE_RAGGED_MM;
use crate::Case;
use crate::pieces::{is_flat, is_gone, is_standing};
use crate::timeline::{Kerf, NEVER, Timeline};
use cuts::{ContourId, CutId};
use geometry::{Bounds, Contour, Curve, Point, Program, Side, Vector};
use std::collections::BTreeSet;

/// How far the torch may stand off where it is meant, in millimetres (common practice).
const OFF_MM: f64 = 1.0;

/// Directions in which plate is looked for under the tip, all around: every 5 degrees.
const DIRECTIONS: usize = 72;

/// In how many directions the torch is looked at as standing off.
const OFFS: usize = 8;

/// Most directions in a row without plate under the tip: 160 degrees. It presses at its middle; as long as less than half of the
/// way around is open, the middle lies within what it rests on, and it cannot tilt (statics). At 160 degrees that
/// reaches a sixth of the tip's radius beyond the middle (cos 80°), the torch off and the lips broken out as they may be.
pub(super) const OPEN_MOST: usize = 32;

/// Width of a web that holds against a tip, in millimetres, once its lips are broken out as they may be. Under 10 N one of 1 mm
/// in plate of 1.5 mm, 40 mm long and held at both ends, gives by less than 0.1 mm (F L³ / 192 E I with I = w t³ / 12 and
/// 210 GPa: 0.06 mm); torches touch off with some newtons (common practice).
const WEB_MM: f64 = 1.0;

/// The same for a ridge beside a groove, whose floor holds it: it is borne by that, and only the arc's slag may break off it.
const RIDGE_MM: f64 = 0.5;

/// Step in which plate is looked for outwards, in millimetres: half of what a lip may be broken out.
const LOOK_STEP_MM: f64 = 0.25;

/// Degrees of a rim that so many directions are.
#[expect(clippy::cast_precision_loss, reason = "a few dozen directions")]
pub(super) fn degrees(directions: usize) -> f64 {
    directions as f64 * 360.0 / DIRECTIONS as f64
}

/// A place at which a tip comes down.
pub(super) struct Place<'a> {
    pub(super) case: &'a Case<'a>,
    pub(super) timeline: &'a Timeline<'a>,
    /// Kerfs made before by their numbers, and legs run before.
    pub(super) before: (usize, usize),
    /// Where the tip comes down.
    pub(super) at: Point<Program>,
    /// Radius of the tip.
    pub(super) foot_mm: f64,
    /// How far off a plate that moved may lie.
    pub(super) off_mm: f64,
    /// Width of the dimple that a pierce has left there without going through; 0 if none has.
    pub(super) dimple_mm: f64,
}

/// What bears a tip.
pub(super) struct Bearing {
    /// Most directions in a row without plate under the tip, the torch off as it may be.
    pub(super) open: usize,
    /// Cuts whose kerfs lie under the tip.
    pub(super) lips_of: BTreeSet<CutId>,
    /// Cuts that have freed what may lie loose beneath it and bears nothing.
    pub(super) freed_by: BTreeSet<CutId>,
    /// Cuts that have freed what lies flat beneath it and may bear it.
    pub(super) flat_from: BTreeSet<CutId>,
}

/// How far a place is from the edge of what goes through, and of what has a floor, in millimetres; negative within it.
struct Clear {
    void_mm: f64,
    groove_mm: f64,
}

/// Places without plate at its full height.
#[derive(Default)]
struct Gaps<'a> {
    /// Grooves, which have a floor.
    grooves: Vec<(&'a Curve<Program>, f64)>,
    lines: Vec<(&'a Curve<Program>, f64)>,
    discs: Vec<(Point<Program>, f64)>,
    /// What a pierce has left that did not go through: it has a floor, too.
    dimple: Option<(Point<Program>, f64)>,
    /// The plate's outline, and holes in it.
    edges: Vec<(&'a Contour<Program>, Side)>,
}

impl Place<'_> {
    /// What bears the tip, among the kerfs for which `keep` holds.
    ///
    /// # Errors
    /// Why the tip finds no sound height, in words.
    pub(super) fn bearing(&self, keep: impl Fn(&Kerf) -> bool) -> Result<Bearing, String> {
        let reach_mm = self.foot_mm + self.torch_off_mm() + WEB_MM;
        let mut gaps = Gaps::default();
        let (carried, half_kerf) = (self.timeline.of_leg(0).start, self.case.ground.kerf.mm() / 2.0);
        let wider_mm = |is_carried: bool| HOLE_RAGGED_MM + if is_carried { 0.0 } else { self.off_mm };
        let most_mm = half_kerf + wider_mm(false);
        let mut lips_of = BTreeSet::new();
        self.timeline.near(Bounds { min: self.at, max: self.at }, reach_mm + most_mm, |number, kerf| {
            if number >= self.before.0 || !keep(&kerf) {
                return;
            }
            let half_mm = half_kerf + wider_mm(number < carried);
            let away_mm = kerf.curve.nearest(self.at).distance_mm - half_mm;
            if away_mm <= self.foot_mm + self.torch_off_mm() {
                lips_of.extend(kerf.cut);
            }
            if away_mm <= reach_mm {
                // The lips of a groove do not break out.
                let half_mm = if kerf.through { half_mm } else { half_mm - HOLE_RAGGED_MM };
                let of = if kerf.through { &mut gaps.lines } else { &mut gaps.grooves };
                of.push((kerf.curve, half_mm));
            }
        });
        let craters = self.timeline.craters_within(self.at, reach_mm + wider_mm(false), self.before.1);
        gaps.discs.extend(craters.map(|crater| (crater.at, crater.radius_mm + wider_mm(crater.time == 0))));
        if self.dimple_mm > 0.0 {
            gaps.dimple = Some((self.at, self.dimple_mm / 2.0));
        }
        gaps.edges.extend(self.edges().filter(|(edge, wanted)| {
            let near = edge.path().nearest(self.at);
            near.is_none_or(|near| near.distance_mm <= reach_mm + HOLE_RAGGED_MM)
                || edge.side_of(self.at, 0.0) != *wanted
        }));
        let (mut freed_by, mut flat_from) = (BTreeSet::new(), BTreeSet::new());
        for (contour, closed) in self.loose() {
            if is_standing(self.case, contour) {
                return Err(format!(
                    "comes down where what cut {} has freed stands up",
                    contour.cut.number()
                ));
            }
            // What lies flat lies on the slats on which the plate lies, with its top as high as that. If it has shifted by its
            // kerf's width, the tip rests on it all the same.
            if is_flat(self.case, contour) {
                flat_from.insert(contour.cut);
            } else {
                gaps.edges.push((closed, Side::Outside));
                freed_by.insert(contour.cut);
            }
        }
        let offs = (0..OFFS).map(|k| self.at + direction(k * DIRECTIONS / OFFS) * self.torch_off_mm());
        let open = offs.chain([self.at]).map(|at| self.open(&gaps, at)).max().unwrap_or(DIRECTIONS);
        if open > OPEN_MOST {
            return Err(format!(
                "leaves a tip {:.1} mm wide, {:.1} mm off, without plate that holds under {:.0} degrees of its rim in one \
                 piece; up to {:.0} it cannot tilt",
                2.0 * self.foot_mm,
                self.torch_off_mm(),
                degrees(open),
                degrees(OPEN_MOST),
            ));
        }
        Ok(Bearing { open, lips_of, freed_by, flat_from })
    }

    /// How far the torch may stand off what the plate carries. What is on it lies off all together, if it was moved; what the
    /// program itself has cut since lies off that by so much.
    fn torch_off_mm(&self) -> f64 {
        OFF_MM + self.off_mm
    }

    /// Most directions in a row without plate under a tip at `at`.
    fn open(&self, gaps: &Gaps<'_>, at: Point<Program>) -> usize {
        longest(&std::array::from_fn(|k| !self.is_borne(gaps, at, k)))
    }

    /// Whether in this direction plate as wide as a web that holds begins under the tip, or a ridge beside a groove.
    fn is_borne(&self, gaps: &Gaps<'_>, at: Point<Program>, k: usize) -> bool {
        let mut out_mm = 0.0;
        while out_mm <= self.foot_mm {
            let clear = |width_mm: f64| gaps.clear(at + direction(k) * (out_mm + width_mm / 2.0));
            let (web, ridge) = (clear(WEB_MM), clear(RIDGE_MM));
            let is_web = web.void_mm.min(web.groove_mm) >= WEB_MM / 2.0;
            let is_ridge =
                ridge.void_mm.min(ridge.groove_mm) >= RIDGE_MM / 2.0 && ridge.groove_mm <= RIDGE_MM;
            if is_web || is_ridge {
                return true;
            }
            out_mm += LOOK_STEP_MM;
        }
        false
    }

    /// The plate's outline and its holes, each with the side of it on which plate is.
    fn edges(&self) -> impl Iterator<Item = (&Contour<Program>, Side)> {
        let ground = self.case.ground;
        let outline = ground.plate.iter().map(|outline| (outline, Side::Inside));
        outline.chain(ground.plate_holes.iter().map(|hole| (hole, Side::Outside)))
    }

    /// The pieces that may be loose by now within the tip's reach, but for those that leave a hole in the plate.
    fn loose(&self) -> impl Iterator<Item = (&cuts::Contour, &Contour<Program>)> {
        let reach_mm = self.foot_mm + self.torch_off_mm();
        let near = Bounds { min: self.at, max: self.at }.grown(reach_mm);
        let is_loose = |id: &ContourId| {
            let time = self.timeline.may_be_loose_at(*id);
            time != NEVER && time as usize <= self.before.1
        };
        let contours = self.timeline.boxes(near).into_iter().filter(is_loose);
        let contours = contours.map(|id| self.case.original.list.contour(id));
        contours.filter(|contour| !is_gone(self.case, contour)).filter_map(move |contour| {
            let closed = contour.closed.as_ref()?;
            let reached = closed.side_of(self.at, 0.0) != Side::Outside
                || closed.path().nearest(self.at).is_some_and(|near| near.distance_mm <= reach_mm);
            reached.then_some((contour, closed))
        })
    }
}

impl Gaps<'_> {
    /// How far a place is from gaps.
    fn clear(&self, p: Point<Program>) -> Clear {
        let nearest = |lines: &[(&Curve<Program>, f64)]| {
            lines
                .iter()
                .map(|(line, half_mm)| line.nearest(p).distance_mm - half_mm)
                .fold(f64::INFINITY, f64::min)
        };
        let to_disc = |(at, radius_mm): &(Point<Program>, f64)| at.distance(p) - radius_mm;
        let to_edge = |(edge, wanted): &(&Contour<Program>, Side)| {
            let away_mm = edge.path().nearest(p).map_or(f64::INFINITY, |near| near.distance_mm);
            if edge.side_of(p, 0.0) == *wanted { away_mm - HOLE_RAGGED_MM } else { -away_mm }
        };
        let discs = self.discs.iter().map(to_disc);
        let void_mm = discs.chain(self.edges.iter().map(to_edge)).fold(nearest(&self.lines), f64::min);
        let groove_mm = self.dimple.iter().map(to_disc).fold(nearest(&self.grooves), f64::min);
        Clear { void_mm, groove_mm }
    }
}

/// The most open directions in a row.
fn longest(open: &[bool; DIRECTIONS]) -> usize {
    let (mut longest, mut run) = (0, 0);
    // Twice around, so that a run over the first direction counts as one.
    for open in open.iter().chain(open) {
        run = if *open { run + 1 } else { 0 };
        longest = longest.max(run);
    }
    longest.min(DIRECTIONS)
}

fn direction(k: usize) -> Vector<Program> {
    let (sin, cos) = degrees(k).to_radians().sin_cos();
    Vector::new(cos, sin)
}
