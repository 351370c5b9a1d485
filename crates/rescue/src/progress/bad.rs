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
    /// Whether it was run backwards.
    backwards: bool,
}

impl Bad {
    /// The parts that the stretch bounds, and those on whose slots and marks it lies.
    pub(crate) fn parts(&self, list: &CutList) -> Vec<PartId> {
        self.parts_on(list, &self.along_mm)
    }

    /// What to tell of its ends, if that may save a part.
    pub(super) fn wanted(&self, list: &CutList, within: Length) -> Option<Wanted> {
        let in_doubt = self.parts(list).len() > self.parts_on(list, &self.surely_mm).len();
        let all_good = match self.backwards {
            true => String::new(),
            false => format!(
                " Where you measure no edge of a part off by more than its tolerance, none is bad: tell all its length as \
                 `bad_from`, {:.1} mm.",
                list.cut(self.cut).path.length_mm()
            ),
        };
        let says = format!(
            "From where to where cut {} is bad, with less doubt: tell how far it is good as `bad_from`, how far it was cut as \
             `kerf_to`, and how far off both may be as `kerf_within` (now {:.1} mm). What it may have spoilt is given up.{all_good}",
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
        let reached = match told.or(along) {
            Some((along_mm, within_mm)) => {
                self.through(cut, along_mm, within_mm);
                Place { along_mm, within_mm }
            }
            None => {
                self.doubt(cut, where_it_stopped(cut));
                Place::anywhere(self.length_mm(cut))
            }
        };
        for bad in run.iter().copied().chain([cut]) {
            let ended = (bad == cut).then_some(reached);
            let good = (bad == from).then(|| self.good_to(bad, ended)).flatten();
            let bad = self.bad_stretch(bad, good, ended);
            self.on_plate.bad.push(bad);
        }
    }

    /// How far a cut was told to be good, where the program that ran has cut there at all. One that it ran backwards up to
    /// `ended` was good beyond, and what is told before that says nothing of it.
    fn good_to(&mut self, cut: CutId, ended: Option<Place>) -> Option<Place> {
        let along_mm = self.stop.bad_from?.mm();
        let within_mm = self.stop.kerf_within.unwrap_or(StopReport::KERF_WITHIN).mm();
        let good = Place { along_mm, within_mm };
        let never_came_to =
            self.backwards(cut).is_some() && ended.is_some_and(|ended| good.most() < ended.least());
        if never_came_to {
            self.not_understood(format!(
                "cut {} is told to be good to {along_mm:.1} mm, but it was run backwards and never came there: all of it is \
                 taken to be bad",
                cut.number()
            ));
        }
        Some(good).filter(|_| !never_came_to)
    }

    /// What is bad of a cut: from where it was good to, or where the program that ran began it, to where that ended it.
    fn bad_stretch(&self, cut: CutId, good: Option<Place>, ended: Option<Place>) -> Bad {
        let length_mm = self.length_mm(cut);
        let burnt_mm = self.join_of(cut).map_or(0.0..length_mm, |ran| ran.join.burns_mm());
        let (first, last) = if self.backwards(cut).is_some() { (ended, good) } else { (good, ended) };
        let first = first.unwrap_or(Place::known(burnt_mm.start));
        let last = last.unwrap_or(Place::known(burnt_mm.end));
        let surely_from_mm = first.most();
        Bad {
            cut,
            along_mm: first.least().max(0.0)..last.most().min(length_mm),
            surely_mm: surely_from_mm..last.least().max(surely_from_mm),
            backwards: self.backwards(cut).is_some(),
        }
    }
}

/// A place along a cut, and how far off it may be.
#[derive(Clone, Copy, Debug)]
struct Place {
    along_mm: f64,
    within_mm: f64,
}

impl Place {
    const fn known(along_mm: f64) -> Self {
        Self { along_mm, within_mm: 0.0 }
    }

    const fn anywhere(length_mm: f64) -> Self {
        Self { along_mm: length_mm / 2.0, within_mm: length_mm / 2.0 }
    }

    const fn least(self) -> f64 {
        self.along_mm - self.within_mm
    }

    const fn most(self) -> f64 {
        self.along_mm + self.within_mm
    }
}
