//! Where a cut was made badly, and what that spoils.

use super::Telling;
use super::kerf::where_it_stopped;
use crate::stopped::Stopped;
use crate::{Fact, Wanted};
use cuts::{ContourId, CutId, CutList, PartId};
use shop::StopReport;
use std::ops::Range;
use units::Length;

/// A stretch of a cut that was cut badly.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Bad {
    pub(crate) cut: CutId,
    /// In millimetres along it, as long as it may be.
    pub(crate) along_mm: Range<f64>,
    /// As long as it surely is; empty if nothing of it is sure.
    surely_mm: Range<f64>,
}

impl Bad {
    /// The parts that the stretch bounds, and those on whose slots and marks it lies.
    pub(crate) fn parts(&self, list: &CutList) -> Vec<PartId> {
        self.parts_on(list, &self.along_mm)
    }

    /// What to tell of its ends, if that may save a part.
    pub(super) fn wanted(&self, list: &CutList, within: Length) -> Option<Wanted> {
        let in_doubt = self.parts(list).len() > self.parts_on(list, &self.surely_mm).len();
        let says = format!(
            "From where to where cut {} is bad, with less doubt: tell how far it is good as `bad_from`, how far it was cut as \
             `kerf_to`, and how far off both may be as `kerf_within` (now {:.1} mm). What it may have spoilt is given up.",
            self.cut.number(),
            within.mm()
        );
        in_doubt.then_some(Wanted { fact: Fact::KerfEnd(self.cut), says })
    }

    fn parts_on(&self, list: &CutList, bad_mm: &Range<f64>) -> Vec<PartId> {
        let cut = list.cut(self.cut);
        let meets = |along: &Range<f64>| along.start.max(bad_mm.start) < along.end.min(bad_mm.end);
        let is_bad = |id: &&ContourId| {
            let contour = list.contour(**id);
            let edges = contour.boundary.iter().any(|edge| edge.cut == self.cut && meets(&edge.along_mm));
            edges || contour.cut == self.cut && meets(&contour.along_mm)
        };
        let bad = cut.contours.iter().chain(&cut.bounds).filter(is_bad);
        bad.filter_map(|id| list.contour(*id).part).collect()
    }
}

impl Telling<'_> {
    /// Through, and bad from a place on: what it serves there is given up. What has not been cut yet is not bad.
    pub(super) fn bad(&mut self, run: &[CutId], cut: CutId, from: CutId, stopped: &Stopped) {
        for before in run {
            self.runs(*before);
        }
        self.lit(cut);
        let kerf_told = self.stop.kerf_to.is_some() || self.stop.kerf_at.is_some();
        let told = kerf_told.then(|| self.kerf_told(cut, stopped)).and_then(Result::ok);
        let along = stopped.along.as_ref().map(|along| (along.along_mm, along.within_mm));
        let length_mm = self.length_mm(cut);
        let (reached_mm, surely_mm) = match told.or(along) {
            Some((along_mm, within_mm)) => {
                self.through(cut, along_mm, within_mm);
                ((along_mm + within_mm).min(length_mm), (along_mm - within_mm).max(0.0))
            }
            None => {
                self.doubt(cut, where_it_stopped(cut));
                (length_mm, 0.0)
            }
        };
        let within_mm = self.stop.kerf_within.unwrap_or(StopReport::KERF_WITHIN).mm();
        let good_mm = self.stop.bad_from.map_or(0.0, |good| (good.mm() - within_mm).max(0.0));
        let good_at_most_mm = self.stop.bad_from.map_or(0.0, |good| good.mm() + within_mm);
        for bad in run.iter().copied().chain([cut]) {
            let whole_mm = self.length_mm(bad);
            let begins_mm = if bad == from { [good_mm, good_at_most_mm] } else { [0.0; 2] };
            let ends_mm = if bad == cut { [reached_mm, surely_mm] } else { [whole_mm; 2] };
            self.on_plate.bad.push(Bad {
                cut: bad,
                along_mm: begins_mm[0]..ends_mm[0],
                surely_mm: begins_mm[1]..ends_mm[1].max(begins_mm[1]),
            });
        }
    }
}
