//! A touch-off where a join is lit on its cut's own kerf: the tip straddles the kerf and finds the plate on both lips.
//!
//! Tables that touch off as part of the torch-on find the plate where the arc is begun, and an edge start is begun over a
//! void. The tip is wider than the kerf: it comes to rest on the lips as it would on whole plate, if nothing under it is
//! wide enough to let it in and there is metal all around it to rest on, under its rim or, between grooves, nearer in. The
//! same holds over a groove of the cut, which is as wide, and over a hole that a standing arc blew on its path, if that is
//! narrow enough. A hole is round: where it is wider than a kerf may be, the tip still rests on the ring of plate around it.
//! Other cuts' kerfs are no such gap: the web between two kerfs gives way.

use crate::Case;
use crate::timeline::{Crater, Kerf, Timeline};
use crate::tolerance::PATH_MM;
use cuts::CutId;
use geometry::{Point, Program, Vector};

/// What of a tip must rest on the plate on either side of a gap, in millimetres: the torch may stand a millimetre off
/// where it is meant, and the lip of a kerf or a blown hole is ragged by half of one (common practice). On only one lip of a
/// kerf it would tilt and slide in.
const REST_MM: f64 = OFF_MM + RAGGED_MM;
const OFF_MM: f64 = 1.0;
const RAGGED_MM: f64 = 0.5;

/// Directions in which the metal under the footprint's rim is looked at, all around: every 5 degrees.
const DIRECTIONS: usize = 72;

/// Most directions in a row without metal under the rim: a quarter of the way around. The tip then rests on three sides
/// at least and cannot tilt.
const OPEN_MOST: usize = DIRECTIONS / 4;

/// Or, if there is metal under all the rest of it, a third of the way around. What the tip rests on then reaches half its
/// radius (cos 60°) beyond its middle, where it presses: with the torch as far off and the lip as ragged as [`REST_MM`] has
/// it, a tip of 10 mm still rests a millimetre beyond it and cannot tilt.
const OPEN_MOST_IN_ALL: usize = DIRECTIONS / 3;

/// Step in which metal is looked for from the gap out to the rim, in millimetres: a tenth of the narrowest kerf.
const LOOK_STEP_MM: f64 = 0.1;

/// The same over a hole wider than a gap may be, with the torch off and the hole ragged as they may be: a third of the way
/// around. The middle of the tip, where it presses, then lies half its radius within what it rests on (cos 60°).
pub(super) const OPEN_MOST_OFF: usize = DIRECTIONS / 3;

/// Every how many of the directions the torch is looked at as standing off that way, over a hole wider than a gap may be.
const OFF_EVERY: usize = 3;

/// What a tip comes down on, as it is at worst.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Rests {
    /// Width of the gap between two lips, in millimetres.
    pub(super) gap_mm: f64,
    /// Directions in a row in which the rim has no metal under it, the torch off as it may be, where it comes down over a
    /// hole that is wider than a gap may be.
    pub(super) open: Option<usize>,
}

/// Degrees of a rim that so many directions are.
#[expect(clippy::cast_precision_loss, reason = "a few dozen directions")]
pub(super) fn degrees(directions: usize) -> f64 {
    directions as f64 * 360.0 / DIRECTIONS as f64
}

/// A place on a cut's own kerf at which a tip may come down.
pub(super) struct Straddle<'a> {
    pub(super) case: &'a Case<'a>,
    pub(super) timeline: &'a Timeline<'a>,
    /// The cut that is taken up.
    pub(super) cut: CutId,
    /// Kerfs made before by their numbers, and legs run before.
    pub(super) before: (usize, usize),
    /// Where the tip comes down.
    pub(super) at: Point<Program>,
    /// Radius of the footprint.
    pub(super) foot_mm: f64,
    /// How far off the kerf may lie on a plate that moved.
    pub(super) off_mm: f64,
    /// Width of the dimple that a pierce of the cut has left there without going through; 0 where it is lit elsewhere.
    pub(super) dimple_mm: f64,
}

impl Straddle<'_> {
    /// What the tip rests on.
    ///
    /// # Errors
    /// Why it may sink in, in words.
    pub(super) fn rests(&self) -> Result<Rests, String> {
        let reach_mm = self.foot_mm + self.off_mm;
        let craters = self.timeline.craters_within(self.at, reach_mm, self.before.1);
        let own = craters.filter(|crater| self.is_own_crater(crater));
        let (holes, craters): (Vec<Crater>, Vec<Crater>) = own.partition(|crater| crater.cut.is_none());
        let widest =
            |craters: &[Crater]| craters.iter().map(|crater| 2.0 * crater.radius_mm).fold(0.0, f64::max);
        let kerf_mm = self.case.ground.kerf.mm().max(self.dimple_mm).max(widest(&craters));
        let (most_mm, hole_mm) = (self.most_mm(), widest(&holes));
        let tip_mm = 2.0 * self.foot_mm;
        if kerf_mm > most_mm {
            return Err(format!(
                "it comes down over a gap of {kerf_mm:.1} mm; a tip {tip_mm:.1} mm wide straddles {most_mm:.1} mm"
            ));
        }
        let open = self.open(self.at, 0.0, self.is_among_grooves());
        if longest(&open) > OPEN_MOST && open.iter().filter(|open| **open).count() > OPEN_MOST_IN_ALL {
            let why = "its own kerf leaves the tip no metal on more than a quarter of its rim in one piece, and on more than a \
                       third in all";
            return Err(why.to_owned());
        }
        if hole_mm <= most_mm {
            return Ok(Rests { gap_mm: kerf_mm.max(hole_mm), open: None });
        }
        let offs = (0..DIRECTIONS).step_by(OFF_EVERY).map(|k| self.at + direction(k) * OFF_MM);
        let open = offs.map(|at| longest(&self.open(at, RAGGED_MM, false))).max().unwrap_or(DIRECTIONS);
        if open > OPEN_MOST_OFF {
            return Err(format!(
                "it comes down over a hole of {hole_mm:.1} mm; a millimetre off, a tip {tip_mm:.1} mm wide has no metal on \
                 more than a third of its rim"
            ));
        }
        Ok(Rests { gap_mm: kerf_mm, open: Some(open) })
    }

    /// Width of the widest gap that the tip straddles, in millimetres.
    pub(super) fn most_mm(&self) -> f64 {
        2.0 * (self.foot_mm - REST_MM)
    }

    /// Whether a kerf or groove is the one that is straddled.
    pub(super) fn is_own(&self, kerf: &Kerf) -> bool {
        kerf.cut == Some(self.cut)
    }

    /// Whether a crater is that of the kerf that is straddled, or a hole was blown on its path.
    pub(super) fn is_own_crater(&self, crater: &Crater) -> bool {
        let on_path = || self.case.original.list.cut(self.cut).path.nearest(crater.at);
        crater.cut == Some(self.cut)
            || (crater.cut.is_none() && on_path().is_some_and(|near| near.distance_mm <= PATH_MM))
    }

    /// The directions in which the rim of a tip that comes down at `at` has no metal under it, holes and kerfs wider by
    /// `ragged_mm` on every side; nor, if what lies nearer in `bears`, enough of it there.
    fn open(&self, at: Point<Program>, ragged_mm: f64, bears: bool) -> [bool; DIRECTIONS] {
        std::array::from_fn(|k| {
            self.is_gap(at + direction(k) * self.foot_mm, ragged_mm)
                && !(bears && self.rests_within(at, k, ragged_mm))
        })
    }

    /// Whether no kerf of the cut comes near that may be through. What lies between grooves has a floor on either side and
    /// does not give way as a web between two kerfs does.
    fn is_among_grooves(&self) -> bool {
        let reach_mm = self.foot_mm + self.case.ground.kerf.mm() / 2.0 + self.off_mm;
        let through = |kerf: &Kerf| self.is_own(kerf) && kerf.through;
        self.timeline.nearest_mm(self.at, reach_mm, self.before.0, through).is_none()
    }

    /// Whether so much metal lies under the tip in one piece in a direction as rests on either side of a gap.
    fn rests_within(&self, at: Point<Program>, k: usize, ragged_mm: f64) -> bool {
        let (mut rests_mm, mut out_mm) = (0.0, self.dimple_mm / 2.0);
        while out_mm <= self.foot_mm && rests_mm < REST_MM {
            let is_gap = self.is_gap(at + direction(k) * out_mm, ragged_mm);
            rests_mm = if is_gap { 0.0 } else { rests_mm + LOOK_STEP_MM };
            out_mm += LOOK_STEP_MM;
        }
        rests_mm >= REST_MM
    }

    /// Whether a place lies in what is straddled.
    fn is_gap(&self, p: Point<Program>, ragged_mm: f64) -> bool {
        let off_mm = self.off_mm + ragged_mm;
        let half_kerf = self.case.ground.kerf.mm() / 2.0 + off_mm;
        let kerf = self.timeline.nearest_mm(p, half_kerf, self.before.0, |kerf| self.is_own(kerf));
        let crater =
            self.timeline.nearest_crater_mm(p, off_mm, self.before.1, |crater| self.is_own_crater(crater));
        kerf.is_some() || crater.is_some()
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
    longest
}

fn direction(k: usize) -> Vector<Program> {
    let (sin, cos) = degrees(k).to_radians().sin_cos();
    Vector::new(cos, sin)
}
