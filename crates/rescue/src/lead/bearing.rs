//! Whether plate around gaps bears the torch's tip where a table finds the plate as part of the torch-on.
//!
//! A proof asks the same of the written text; here it is asked of places that may be tried, a little more strictly.

use super::march::Walker;
use geometry::{Point, Program, Vector};

/// How far the torch may stand off where it is meant, in millimetres (common practice).
const OFF_MM: f64 = 1.0;

/// How far beyond its line a lip may be broken out, in millimetres (common practice).
const RAGGED_MM: f64 = 0.5;

/// Half of the width of a web that holds against a tip, in millimetres.
const HALF_WEB_MM: f64 = 0.6;

/// Directions in which plate is looked for, all around: every 10 degrees.
const DIRECTIONS: usize = 36;

/// Most directions in a row without plate: 140 degrees; a proof allows 160.
const OPEN_MOST: usize = 14;

/// In how many directions the torch is looked at as standing off.
const OFFS: usize = 8;

/// Step outwards, in millimetres: as much as a lip may be broken out.
const STEP_MM: f64 = 0.5;

impl Walker<'_> {
    /// Whether a tip that comes down at `p` rests on plate on so many sides that it cannot tilt.
    pub(super) fn is_borne(&mut self, p: Point<Program>) -> bool {
        let off_mm = OFF_MM + self.site.spare_mm;
        let offs = (0..OFFS).map(|k| p + direction(k, OFFS) * off_mm);
        std::iter::once(p).chain(offs).all(|at| self.is_borne_there(at))
    }

    fn is_borne_there(&mut self, at: Point<Program>) -> bool {
        let (mut open, mut first) = (0, None);
        for k in 0..DIRECTIONS {
            if self.bears(at, direction(k, DIRECTIONS)) {
                first = first.or(Some(k));
                open = 0;
            } else {
                open += 1;
            }
            if open > OPEN_MOST {
                return false;
            }
        }
        // What is open at the end goes on at the beginning.
        first.is_some_and(|first| open + first <= OPEN_MOST)
    }

    /// Whether plate as wide as a web that holds begins under the tip in a direction.
    fn bears(&mut self, at: Point<Program>, along: Vector<Program>) -> bool {
        let wanted_mm = HALF_WEB_MM + RAGGED_MM;
        let mut out_mm = 0.0;
        while out_mm <= self.site.foot_mm() {
            let middle = at + along * (out_mm + HALF_WEB_MM);
            let clear = self.clear_at(middle);
            let clear_mm = clear.void_mm.min(clear.edge_mm).min(clear.before_mm);
            if clear_mm >= wanted_mm && self.site.is_attached(middle) {
                return true;
            }
            out_mm += STEP_MM.max(wanted_mm - clear_mm);
        }
        false
    }
}

#[expect(clippy::cast_precision_loss, reason = "a few dozen directions")]
fn direction(k: usize, of: usize) -> Vector<Program> {
    let (sin, cos) = (k as f64 / of as f64 * std::f64::consts::TAU).sin_cos();
    Vector::new(cos, sin)
}
