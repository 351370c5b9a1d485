//! What has been made on the plate when it stopped: what earlier rescues left, the cuts run since, what the kind of stop
//! leaves at the stopped cut, and the operator's word on single cuts, which overrides all.

mod bad;
mod blown;
mod kerf;
mod kinds;
mod pieces;
mod spoilt;
mod strays;

pub(crate) use bad::Bad;
pub(crate) use blown::HOLE_WITHIN_MM;
pub(crate) use pieces::nib_left;
use spoilt::Spoilt;

use crate::joins::needed_mm;
use crate::stopped::Stopped;
use crate::{RanJoin, Situation, Wanted};
use cuts::{CutId, CutList, Depth, Ends, Made, PartId, Progress};
use shop::{CutIs, StopReport};
use std::collections::BTreeSet;
use std::ops::Range;

/// What the plate carries, and the cuts of which nobody knows how far they got.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct OnPlate {
    pub(crate) progress: Progress,
    /// Begun and perhaps not whole, and nobody knows how far they got.
    pub(crate) doubtful: Vec<CutId>,
    /// Cut, and bad: what they serve there is given up.
    pub(crate) bad: Vec<Bad>,
    /// Parts that a hole or kerf beside the cuts has spoilt: they are given up.
    pub(crate) spoilt: Vec<Spoilt>,
    /// What the operator said and what cannot be so, a sentence each.
    pub(crate) not_understood: Vec<String>,
    /// What was assumed where nothing was told, a sentence each.
    pub(crate) assumed: Vec<String>,
    /// Why the kerf's end of the stopped cut is not known, and what to tell.
    pub(crate) wanted: Option<Wanted>,
    /// What to look for where a slug is loose that may have left a nib on its part.
    pub(crate) at_seam: Option<Wanted>,
}

/// What is on the plate at a stop at `cut`.
pub(crate) fn on_plate(
    situation: &Situation<'_>,
    stop: &StopReport,
    cut: CutId,
    stopped: &Stopped,
) -> OnPlate {
    let mut progress = situation.earlier.map(|earlier| earlier.progress.clone()).unwrap_or_default();
    // What was held before a program ran need not be any more.
    progress.held.clear();
    let mut telling = Telling { situation, stop, on_plate: OnPlate { progress, ..OnPlate::default() } };
    let run = run_before(situation, cut);
    let from = telling.went_wrong_at(&run, cut);
    let sound = run.iter().position(|other| *other == from).unwrap_or(run.len());
    for before in &run[..sound] {
        telling.runs(*before);
    }
    telling.since(&run[sound..], cut, from, stopped);
    for said in &stop.state {
        match situation.list.by_number(said.cut) {
            Some(of) => {
                telling.take_word(of.id, said, cut);
                if said.is != CutIs::Whole {
                    telling.holes_on(of.id);
                }
            }
            None => {
                telling.not_understood(format!("a state is told of cut {}, which does not exist", said.cut));
            }
        }
    }
    telling.pieces();
    telling.strays(cut);
    if telling.on_plate.doubtful.is_empty() {
        // What was in doubt has been told since.
        let within = stop.kerf_within.unwrap_or(StopReport::KERF_WITHIN);
        let bad = telling.on_plate.bad.iter();
        telling.on_plate.wanted = bad.filter_map(|bad| bad.wanted(situation.list, within)).next();
    }
    telling.on_plate
}

/// The cuts that the program that ran had run before `cut`, in order.
fn run_before(situation: &Situation<'_>, cut: CutId) -> Vec<CutId> {
    match situation.earlier {
        Some(earlier) if !earlier.ran.is_empty() => {
            earlier.ran.iter().map(|ran| ran.cut).take_while(|other| *other != cut).collect()
        }
        _ => situation.list.cuts[..cut.0 as usize].iter().map(|cut| cut.id).collect(),
    }
}

/// The progress while it is put together.
struct Telling<'a> {
    situation: &'a Situation<'a>,
    stop: &'a StopReport,
    on_plate: OnPlate,
}

impl Telling<'_> {
    fn not_understood(&mut self, what: String) {
        self.on_plate.not_understood.push(what);
    }

    fn length_mm(&self, cut: CutId) -> f64 {
        self.situation.list.cut(cut).path.length_mm()
    }

    /// The cut from which on it went wrong: the one told, if it was run, else the stopped one.
    fn went_wrong_at(&mut self, run: &[CutId], cut: CutId) -> CutId {
        let Some(number) = self.stop.from_cut else { return cut };
        let told = number.checked_sub(1).map(CutId).filter(|told| *told == cut || run.contains(told));
        if told.is_none() {
            self.not_understood(format!(
                "it is told to have gone wrong from cut {number} on, which was not run before cut {} stopped",
                cut.number()
            ));
        }
        told.unwrap_or(cut)
    }

    /// The program that ran has made this cut: whole, or from where it joined it.
    fn runs(&mut self, cut: CutId) {
        let length_mm = self.length_mm(cut);
        match self.join_of(cut).cloned() {
            None => {
                self.on_plate.progress.made.retain(|made| made.cut != cut);
                self.on_plate.progress.made.push(Made::through(cut, 0.0..length_mm));
            }
            Some(ran) => {
                self.on_plate.progress.made.push(Made::through(cut, ran.join.burns_mm()));
                self.lead_of(&ran);
            }
        }
    }

    /// The join by which the program that ran was to take up this cut.
    fn join_of(&self, cut: CutId) -> Option<&RanJoin> {
        self.situation.earlier?.ran.iter().find(|ran| ran.cut == cut)?.join.as_ref()
    }

    /// A stretch has been made; of a mark it is as deep as a mark is.
    fn made(&mut self, made: Made) {
        let depth = if self.situation.list.cut(made.cut).is_mark { Depth::Groove } else { made.depth };
        self.on_plate.progress.made.push(Made { depth, ..made });
    }

    fn groove(&mut self, cut: CutId, along_mm: Range<f64>, ends: Ends) {
        self.on_plate.progress.made.push(Made { cut, along_mm, depth: Depth::Groove, ends });
    }

    /// Nobody knows how deep and how far: through as far as it may be, and nowhere surely, so that nothing is built on
    /// it, nor on what it bounds.
    fn doubt(&mut self, cut: CutId, wanted: Wanted) {
        let (along_mm, ends) = (0.0..0.0, Ends::to_within(self.length_mm(cut)));
        self.made(Made { cut, along_mm, depth: Depth::Through, ends });
        // A mark can be run again whole, however far it got.
        if self.situation.list.cut(cut).is_mark {
            return;
        }
        self.on_plate.doubtful.push(cut);
        self.on_plate.wanted.get_or_insert(wanted);
    }
}

/// Whether all of a cut is surely through that bounds anything: what leads to it and from it is missed by nobody. So it is
/// after a cut was run backwards from where its contour ends. Nor is what bounds only parts given up.
pub(crate) fn is_served(list: &CutList, state: &cuts::PlateState, cut: CutId, given_up: &[PartId]) -> bool {
    let of = list.cut(cut);
    let through = state.made_mm(cut, Depth::Through);
    let is_through = |asked: &Range<f64>| {
        through.iter().any(|made| {
            made.start <= asked.start + geometry::SAME_POINT_MM
                && asked.end <= made.end + geometry::SAME_POINT_MM
        })
    };
    !of.is_mark && !of.contours.is_empty() && needed_mm(list, cut, given_up).iter().all(is_through)
}

/// The cuts that are begun and not whole, and known well enough to be taken up.
pub(crate) fn begun(situation: &Situation<'_>, on_plate: &OnPlate, state: &cuts::PlateState) -> Vec<CutId> {
    let touched: BTreeSet<CutId> = on_plate.progress.made.iter().map(|made| made.cut).collect();
    let is_begun = |cut: &CutId| !state.is_whole(situation.list, *cut) && !on_plate.doubtful.contains(cut);
    touched.into_iter().filter(is_begun).collect()
}
