//! A touch-off where a join is lit on its cut's own kerf: the tip straddles the kerf and finds the plate on both lips.
//!
//! Tables that touch off as part of the torch-on find the plate where the arc is begun, and an edge start is begun over a
//! void. The tip is wider than the kerf: it comes to rest on the lips as it would on whole plate, if nothing under it is
//! wide enough to let it in and there is metal all around it to rest on. The same holds over a groove of the cut, which is
//! as wide, and over a hole that a standing arc blew on its path, if that is narrow enough. Other cuts' kerfs are no such
//! gap: the web between two kerfs gives way.

use crate::Case;
use crate::timeline::{Crater, Kerf, Timeline};
use crate::tolerance::PATH_MM;
use cuts::CutId;
use geometry::{Point, Program, Vector};

/// What of a tip must rest on the plate on either side of a gap, in millimetres: the torch may stand a millimetre off
/// where it is meant, and the lip of a kerf or a blown hole is ragged by half of one (common practice).
const REST_MM: f64 = 1.5;

/// Directions in which the metal under the footprint's rim is looked at, all around: every 5 degrees.
const DIRECTIONS: usize = 72;

/// Most directions in a row without metal under the rim: a quarter of the way around. The tip then rests on three sides
/// at least and cannot tilt.
const OPEN_MOST: usize = DIRECTIONS / 4;

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
    /// Width of the gap under the tip in millimetres, as it is at most.
    ///
    /// # Errors
    /// Why the tip may sink in, in words.
    pub(super) fn gap_mm(&self) -> Result<f64, String> {
        let reach_mm = self.foot_mm + self.off_mm;
        let craters = self.timeline.craters_within(self.at, reach_mm, self.before.1);
        let own = craters.filter(|crater| self.is_own_crater(crater)).map(|crater| crater.radius_mm);
        let gap_mm = (2.0 * own.fold(self.case.ground.kerf.mm() / 2.0, f64::max)).max(self.dimple_mm);
        let most_mm = self.most_mm();
        if gap_mm > most_mm {
            return Err(format!(
                "it comes down over a gap of {gap_mm:.1} mm; a tip {:.1} mm wide straddles {most_mm:.1} mm",
                2.0 * self.foot_mm
            ));
        }
        if self.longest_open() > OPEN_MOST {
            return Err("its own kerf leaves the tip no metal on more than a quarter of its rim".to_owned());
        }
        Ok(gap_mm)
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

    /// The most directions in a row in which the rim has no metal under it.
    fn longest_open(&self) -> usize {
        let open: Vec<bool> = (0..DIRECTIONS).map(|k| self.is_open(k)).collect();
        let (mut longest, mut run) = (0, 0);
        // Twice around, so that a run over the first direction counts as one.
        for open in open.iter().chain(&open) {
            run = if *open { run + 1 } else { 0 };
            longest = longest.max(run);
        }
        longest
    }

    fn is_open(&self, direction: usize) -> bool {
        #[expect(clippy::cast_precision_loss, reason = "a few dozen directions")]
        let angle = direction as f64 * std::f64::consts::TAU / DIRECTIONS as f64;
        let (sin, cos) = angle.sin_cos();
        let rim = self.at + Vector::new(cos, sin) * self.foot_mm;
        let half_kerf = self.case.ground.kerf.mm() / 2.0 + self.off_mm;
        let kerf = self.timeline.nearest_mm(rim, half_kerf, self.before.0, |kerf| self.is_own(kerf));
        let crater = self
            .timeline
            .nearest_crater_mm(rim, self.off_mm, self.before.1, |crater| self.is_own_crater(crater));
        kerf.is_some() || crater.is_some()
    }
}
