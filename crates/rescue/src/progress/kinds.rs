//! What each kind of stop leaves of the cuts run since it went wrong.

use super::Telling;
use crate::stopped::Stopped;
use cuts::{CutId, Ends};
use shop::StopKind;

impl Telling<'_> {
    /// What was made since it went wrong: in the cuts run from there on, and in the stopped one.
    pub(super) fn since(&mut self, run: &[CutId], cut: CutId, from: CutId, stopped: &Stopped) {
        match self.stop.kind.unwrap_or(StopKind::NoTransfer) {
            StopKind::NoTransfer => self.all_dry(run),
            StopKind::RanDry => self.ran_dry(run, cut, from),
            StopKind::NotThrough => self.not_through(run, cut, from, stopped),
            StopKind::BadCut => self.bad(run, cut, from, stopped),
            StopKind::NoMotion => self.no_motion(run, cut),
            StopKind::ArcStaysOn => self.arc_stays_on(run, cut),
            StopKind::ArcLost
            | StopKind::ByHand
            | StopKind::Struck
            | StopKind::ControlFroze
            | StopKind::PlateMoved
            | StopKind::WrongDatum => self.interrupted(run, cut, stopped),
        }
    }

    /// Nothing was made of these.
    fn all_dry(&mut self, run: &[CutId]) {
        self.on_plate.progress.made.retain(|made| !run.contains(&made.cut));
    }

    /// Cut up to where the kerf ends; what lies between there and where the torch stopped may be a groove.
    fn interrupted(&mut self, run: &[CutId], cut: CutId, stopped: &Stopped) {
        for before in run {
            self.runs(*before);
        }
        if stopped.not_begun.is_some() {
            return;
        }
        self.lit(cut);
        match self.kerf_told(cut, stopped) {
            Ok((kerf_mm, within_mm)) => {
                self.through(cut, kerf_mm, within_mm);
                // A line or a time says too little of where the arc was to speak of grooves.
                let told = self.stop.stopped_along.is_some() || self.stop.at.is_some();
                let reached = stopped.along.as_ref().filter(|_| told).map_or(kerf_mm, |along| along.along_mm);
                let groove = match self.backwards(cut) {
                    Some(_) => reached..kerf_mm,
                    None => kerf_mm..reached,
                };
                if groove.end - groove.start > within_mm {
                    self.groove(cut, groove, Ends::KNOWN);
                }
            }
            Err(wanted) => self.doubt(cut, wanted),
        }
    }

    /// The arc went out in `from`, and all after it is dry.
    fn ran_dry(&mut self, run: &[CutId], cut: CutId, from: CutId) {
        self.all_dry(run);
        if self.stop.blown.is_some() {
            self.blown_at(from);
            return;
        }
        if self.stop.kerf_to.is_some() || self.stop.kerf_at.is_some() {
            self.lit(from);
            match self.kerf_told(from, &Stopped::default()) {
                Ok((kerf_mm, within_mm)) => self.through(from, kerf_mm, within_mm),
                Err(wanted) => self.doubt(from, wanted),
            }
            return;
        }
        self.on_plate.assumed.push(format!(
            "Cut {} is taken to be dry from its pierce on{}: look at it; if there is a kerf, tell how far it is \
             through, and in which cut the arc went out.",
            from.number(),
            if from == cut { "" } else { ", and all after it" }
        ));
    }

    /// From a place on only grooves.
    fn not_through(&mut self, run: &[CutId], cut: CutId, from: CutId, stopped: &Stopped) {
        self.all_dry(run);
        for (nth, groove) in run.iter().copied().chain([cut]).enumerate() {
            let length_mm = self.length_mm(groove);
            let reached = match &stopped.along {
                Some(along) if groove == cut => (along.along_mm + along.within_mm).min(length_mm),
                _ => length_mm,
            };
            let begins = if nth == 0 && groove == from {
                self.groove_begins(groove, stopped)
            } else {
                Some((0.0, 0.0))
            };
            let Some((begins, within_mm)) = begins else { continue };
            self.lit(groove);
            if begins > 0.0 {
                self.through(groove, begins, within_mm);
            }
            let ends = Ends { from_within_mm: within_mm, to_within_mm: 0.0 };
            self.groove(groove, begins..reached.max(begins), ends);
        }
    }

    /// Where in the first cut that was not through the groove begins: at its pierce if nothing is told.
    fn groove_begins(&mut self, cut: CutId, stopped: &Stopped) -> Option<(f64, f64)> {
        if self.stop.kerf_to.is_none() && self.stop.kerf_at.is_none() {
            self.on_plate.assumed.push(format!(
                "Cut {} is taken to be a groove from its pierce on: tell how far it is through.",
                cut.number()
            ));
            return Some((0.0, 0.0));
        }
        match self.kerf_told(cut, stopped) {
            Ok(kerf) => Some(kerf),
            Err(wanted) => {
                self.doubt(cut, wanted);
                None
            }
        }
    }
}
