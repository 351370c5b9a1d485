//! The same program's cuts where they lie on a plate on which not all of them are made where the program has them:
//! some are moved, some are left out for good, and kerfs lie there that belong to none.
//!
//! Nothing is taken over from the list before: contours, what lies in what, and parts are found anew from the paths at
//! their new places. Only then are they held against the list before: a part that would come out as another one, with
//! a hole more or less, or within another part, is not the same part moved.

use crate::build;
use crate::{Contour, Cut, CutId, CutList, Pierce, Reading, RestartBlock, Stray};
use finding::Span;
use geometry::{Bounds, Path, Point, Program, Vector};
use nc::{CallId, Carried, Height, HeightBase};

/// What differs on the plate from what the program says.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Rearrangement {
    /// Cuts that are made elsewhere, each once.
    pub moved: Vec<(CutId, Carried)>,
    /// Cuts that are neither made nor to be made: no line of them lies on the plate.
    pub absent: Vec<CutId>,
    /// Kerfs that are there and on no cut's path. Each becomes a cut at the end of the list, without motions of its
    /// own and with no torch-off.
    pub strays: Vec<Stray>,
}

/// Why a list cannot be rearranged so.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Disturbed {
    /// What would no longer be what it was, in a sentence.
    pub message: String,
}

/// How far along its path a contour may seem to begin or end elsewhere after a move, in millimetres: what rounding
/// does to a path of some thousand curves, far below what parts metal.
const SAME_PLACE_MM: f64 = 1e-3;

/// Room between everything else and the place where absent cuts are laid while contours are found, in millimetres:
/// more than any reach of a kerf.
const ASIDE_MM: f64 = 100.0;

impl CutList {
    /// The cuts as they lie on the plate. Numbers of cuts, contours and parts stay; strays are numbered after them.
    /// Absent cuts keep their numbers and have no path; their contours are not closed.
    ///
    /// Contours that cross each other are not found out: nesting goes by one place of each. Hold their distance
    /// besides.
    ///
    /// **Cost**: as finding all contours anew, n log n.
    ///
    /// # Errors
    /// If a contour or part would come out as another one at its new place.
    pub fn rearranged(&self, to: &Rearrangement, reading: &Reading) -> Result<Self, Disturbed> {
        let mut cuts = self.cuts.clone();
        for cut in &mut cuts {
            cut.contours.clear();
            cut.bounds.clear();
            cut.overlaps.clear();
        }
        for (cut, placement) in &to.moved {
            carry(&mut cuts[cut.0 as usize], placement);
        }
        cuts.extend((cuts.len()..).zip(&to.strays).map(|(k, stray)| self.of_stray(k, stray)));
        let aside = Carried::new(0.0, Point::ORIGIN + aside(&cuts, &to.absent));
        for cut in &to.absent {
            carry(&mut cuts[cut.0 as usize], &aside);
        }
        let mut list = build::contours_of(cuts, reading);
        self.same_parts(&list)?;
        for cut in &to.absent {
            list.take_out(*cut, self.cut(*cut).pierce);
        }
        Ok(list)
    }

    /// A kerf on no cut's path, as a cut without motions.
    fn of_stray(&self, k: usize, stray: &Stray) -> Cut {
        let end = self.cuts.last().map_or(0, |last| last.burn.end);
        let now = self.cuts.last().map_or(units::Duration::ZERO, |last| last.ends_at);
        let unknown = Height { base: HeightBase::Unknown, mm: 0.0 };
        let id = CutId(u32::try_from(k).expect("cuts are counted in 32 bits"));
        let curves = stray.path.curves().len();
        Cut {
            id,
            restart: RestartBlock {
                block: u32::MAX,
                call: CallId(0),
                motion: end,
                event: u32::MAX,
                with_torch_off: false,
            },
            approach: end..end,
            touch_off: None,
            torch_on: Cut::STRAY,
            torch_on_span: Span::new(0, 0),
            pierce: Pierce { at: stray.at, height: unknown, delay: None },
            burn: end..end,
            torch_off: None,
            path: stray.path.clone(),
            path_motions: vec![end; curves],
            curve_ends_at: vec![now; curves],
            contours: Vec::new(),
            bounds: Vec::new(),
            overlaps: Vec::new(),
            cut_height: unknown,
            feed_mm_per_min: None,
            process: None,
            is_mark: false,
            starts_at: now,
            moves_at: now,
            ends_at: now,
        }
    }

    /// Holds the contours of this list's cuts in `moved` against those they were.
    fn same_parts(&self, moved: &Self) -> Result<(), Disturbed> {
        for (k, was) in self.contours.iter().enumerate() {
            let Some(is) = moved.contours.get(k).filter(|is| is_same(was, is)) else {
                return Err(self.disturbed(was, moved.contours.get(k)));
            };
            debug_assert_eq!(is.id, was.id, "contours are numbered in order");
        }
        let own = |contour: &&Contour| (contour.cut.0 as usize) < self.cuts.len();
        match moved.contours.iter().filter(own).nth(self.contours.len()) {
            None => Ok(()),
            Some(new) => Err(Disturbed {
                message: format!("cut {} would enclose what it does not enclose now", new.cut.number()),
            }),
        }
    }

    fn disturbed(&self, was: &Contour, is: Option<&Contour>) -> Disturbed {
        let cut = was.cut.number();
        let part = was.part.map_or_else(String::new, |part| format!(" of part {}", part.number()));
        let within = is.filter(|is| is.cut == was.cut && is.shape != was.shape);
        let message = match within {
            Some(_) => format!(
                "cut {cut}{part} would lie within another part, or a part within it: it would no longer be what it was"
            ),
            None => format!("cut {cut}{part} would no longer close what it closed: it meets another kerf"),
        };
        Disturbed { message }
    }

    /// Leaves a cut without path and its contours without boundary.
    fn take_out(&mut self, cut: CutId, pierce: Pierce) {
        let cut = &mut self.cuts[cut.0 as usize];
        cut.pierce = pierce;
        cut.path = Path::new(Vec::new());
        cut.path_motions.clear();
        cut.curve_ends_at.clear();
        cut.overlaps.clear();
        for contour in cut.contours.iter().chain(&cut.bounds) {
            let contour = &mut self.contours[contour.0 as usize];
            contour.closed = None;
            contour.boundary.clear();
            contour.along_mm = 0.0..0.0;
            contour.within = None;
        }
    }
}

fn carry(cut: &mut Cut, placement: &Carried) {
    cut.path = cut.path.placed(placement);
    cut.pierce.at = placement.point(cut.pierce.at);
    if let Some(touch) = &mut cut.touch_off {
        touch.at = placement.point(touch.at);
    }
}

/// How far absent cuts are moved so that they lie clear of all others, in one piece.
fn aside(cuts: &[Cut], absent: &[CutId]) -> Vector<Program> {
    let mut is_absent = vec![false; cuts.len()];
    absent.iter().for_each(|cut| is_absent[cut.0 as usize] = true);
    let reach = |wanted: bool| {
        let those = cuts.iter().zip(&is_absent).filter(|(_, absent)| **absent == wanted);
        those.filter_map(|(cut, _)| cut.path.bounds()).reduce(Bounds::union)
    };
    match (reach(false), reach(true)) {
        (Some(there), Some(absent)) => Vector::new(there.max.x - absent.min.x + ASIDE_MM, 0.0),
        _ => Vector::new(0.0, 0.0),
    }
}

/// Whether two contours are the same stretch of the same cut, and the same in the same part.
fn is_same(was: &Contour, is: &Contour) -> bool {
    let near = |a: f64, b: f64| (a - b).abs() <= SAME_PLACE_MM;
    was.cut == is.cut
        && near(was.along_mm.start, is.along_mm.start)
        && near(was.along_mm.end, is.along_mm.end)
        && was.closed.is_some() == is.closed.is_some()
        && (was.shape, was.turn, was.part) == (is.shape, is.turn, is.part)
        && was.closed_by == is.closed_by
        && was.repeats == is.repeats
}

#[cfg(test)]
mod tests;
