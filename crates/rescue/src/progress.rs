//! What has been made on the plate when it stopped: what earlier rescues left, the cuts run since, what the kind of stop
//! leaves at the stopped cut, and the operator's word on single cuts, which overrides all.

use crate::closing::parts_from_mm;
use crate::stopped::{Stopped, on_path};
use crate::{Fact, RanJoin, Situation, Wanted};
use cuts::{Contour, ContourId, Cut, CutId, CutList, Depth, Ends, Made, PartId, Progress, Shape, Stray};
use geometry::{Curve, Path, Point, Program, Vector};
use proof::JoinStart;
use shop::{CutIs, CutState, PieceIs, StopKind, StopReport, StrayTold};
use std::collections::BTreeSet;
use std::ops::Range;
use units::Length;

/// What the plate carries, and the cuts of which nobody knows how far they got.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct OnPlate {
    pub(crate) progress: Progress,
    /// Begun and perhaps not whole, and nobody knows how far they got.
    pub(crate) doubtful: Vec<CutId>,
    /// Cut, and bad: what they serve there is given up.
    pub(crate) bad: Vec<Bad>,
    /// What the operator said and what cannot be so, a sentence each.
    pub(crate) not_understood: Vec<String>,
    /// What was assumed where nothing was told, a sentence each.
    pub(crate) assumed: Vec<String>,
    /// Why the kerf's end of the stopped cut is not known, and what to tell.
    pub(crate) wanted: Option<Wanted>,
}

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
    fn wanted(&self, list: &CutList, within: Length) -> Option<Wanted> {
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
        let meets = |along: &Range<f64>| along.start < bad_mm.end && bad_mm.start < along.end;
        let is_bad = |id: &&ContourId| {
            let contour = list.contour(**id);
            let edges = contour.boundary.iter().any(|edge| edge.cut == self.cut && meets(&edge.along_mm));
            edges || contour.cut == self.cut && meets(&contour.along_mm)
        };
        let bad = cut.contours.iter().chain(&cut.bounds).filter(is_bad);
        bad.filter_map(|id| list.contour(*id).part).collect()
    }
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
            Some(cut) => {
                telling.take_word(cut.id, said);
                if said.is != CutIs::Whole {
                    telling.holes_on(cut.id);
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
                let burnt = match ran.join.start {
                    JoinStart::Backwards => ran.join.until_mm..ran.join.from_mm,
                    _ => ran.join.from_mm..length_mm,
                };
                self.on_plate.progress.made.push(Made::through(cut, burnt));
                self.lead_of(&ran);
            }
        }
    }

    /// The join by which the program that ran was to take up this cut.
    fn join_of(&self, cut: CutId) -> Option<&RanJoin> {
        self.situation.earlier?.ran.iter().find(|ran| ran.cut == cut)?.join.as_ref()
    }

    /// A join's own crater and lead-in are on the plate.
    fn lead_of(&mut self, ran: &RanJoin) {
        if ran.join.start == JoinStart::FreshPierce {
            let (at, crater_mm) = (ran.lit, self.crater_mm());
            self.stray(Stray { at, crater_mm, path: ran.lead.clone(), depth: Depth::Through });
        }
    }

    fn stray(&mut self, stray: Stray) {
        if !self.on_plate.progress.strays.contains(&stray) {
            self.on_plate.progress.strays.push(stray);
        }
    }

    fn crater_mm(&self) -> f64 {
        let ground = self.situation.ground;
        ground.crater_radius.unwrap_or(ground.kerf).mm()
    }

    /// What was made since it went wrong: in the cuts run from there on, and in the stopped one.
    fn since(&mut self, run: &[CutId], cut: CutId, from: CutId, stopped: &Stopped) {
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
                let reached = stopped.along.as_ref().filter(|_| told).map_or(0.0, |along| along.along_mm);
                if reached > kerf_mm + within_mm {
                    self.groove(cut, kerf_mm..reached, Ends::KNOWN);
                }
            }
            Err(wanted) => self.doubt(cut, wanted),
        }
    }

    /// The arc was lit at this cut: if that was a join with a pierce of its own, its lead-in is there.
    fn lit(&mut self, cut: CutId) {
        if let Some(ran) = self.join_of(cut).cloned() {
            self.lead_of(&ran);
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

    /// Through, and bad from a place on: what it serves there is given up. What has not been cut yet is not bad.
    fn bad(&mut self, run: &[CutId], cut: CutId, from: CutId, stopped: &Stopped) {
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

    /// The arc stood where it was lit and blew a hole.
    fn no_motion(&mut self, run: &[CutId], cut: CutId) {
        for before in run {
            self.runs(*before);
        }
        self.blown_at(cut);
    }

    /// There is a hole where this cut was lit: what of its path lies in it is through.
    fn blown_at(&mut self, cut: CutId) {
        let hole_mm = self.hole_mm("at the pierce");
        let within_mm = match self.stop.blown {
            Some(_) => self.stop.kerf_within.map_or(HOLE_WITHIN_MM, Length::mm),
            // As told nowhere, it is surely as wide as a crater, and no more is known.
            None => (hole_mm - self.crater_mm()).max(HOLE_WITHIN_MM),
        };
        let join = self.join_of(cut).cloned();
        let at = join.as_ref().map_or(self.situation.list.cut(cut).pierce.at, |ran| ran.lit);
        match join.map(|ran| ran.join) {
            None => self.through_in_hole(cut, 0.0, (at, hole_mm), within_mm),
            Some(join) if join.start != JoinStart::FreshPierce => {
                self.through_in_hole(cut, join.from_mm, (at, hole_mm), within_mm);
            }
            Some(_) => {}
        }
        self.stray(Stray { at, crater_mm: hole_mm, path: Path::new(Vec::new()), depth: Depth::Through });
    }

    /// Where the whole width of the kerf lies in a hole about `along_mm`, the cut is through.
    fn through_in_hole(
        &mut self,
        cut: CutId,
        along_mm: f64,
        (at, hole_mm): (Point<Program>, f64),
        within_mm: f64,
    ) {
        if self.situation.list.cut(cut).is_mark {
            return;
        }
        let hole = |radius_mm: f64| InHole { situation: self.situation, cut, at, radius_mm };
        let (told, sure) = (hole(hole_mm).about(along_mm), hole(hole_mm - within_mm).about(along_mm));
        // Where it was lit there is surely no metal.
        let ends = Ends { from_within_mm: sure.start - told.start, to_within_mm: told.end - sure.end };
        self.on_plate.progress.made.push(Made { cut, along_mm: told, depth: Depth::Through, ends });
    }

    /// The cut is whole, and there is a hole at its end.
    fn arc_stays_on(&mut self, run: &[CutId], cut: CutId) {
        for before in run.iter().chain([&cut]) {
            self.runs(*before);
        }
        let hole_mm = self.hole_mm("at the cut's end");
        let of = self.situation.list.cut(cut);
        let at = of.path.to().unwrap_or(of.pierce.at);
        self.stray(Stray { at, crater_mm: hole_mm, path: Path::new(Vec::new()), depth: Depth::Through });
    }

    /// Radius of the hole that the standing arc blew.
    fn hole_mm(&mut self, place: &str) -> f64 {
        let crater_mm = self.crater_mm();
        if let Some(blown) = self.stop.blown {
            return (blown.mm() / 2.0).max(crater_mm);
        }
        let hole_mm = BLOWN_CRATERS * crater_mm;
        self.on_plate.assumed.push(format!(
            "The hole blown {place} is taken to be {:.1} mm wide, {BLOWN_CRATERS:.0} times a pierce's crater: measure it \
             and tell it.",
            2.0 * hole_mm
        ));
        hole_mm
    }

    /// How far along the cut its kerf was said to be through, and how far off that may be.
    ///
    /// # Errors
    /// What to tell, if it is not known.
    fn kerf_told(&mut self, cut: CutId, stopped: &Stopped) -> Result<(f64, f64), Wanted> {
        let of = self.situation.list.cut(cut);
        let length_mm = of.path.length_mm();
        let within_mm = self.stop.kerf_within.unwrap_or(StopReport::KERF_WITHIN).mm();
        if let Some(told) = self.stop.kerf_to {
            return if told.mm() <= length_mm + within_mm {
                Ok((told.mm().min(length_mm), within_mm))
            } else {
                self.not_understood(format!(
                    "the kerf is told to be through to {:.1} mm, but cut {} is {length_mm:.1} mm long",
                    told.mm(),
                    cut.number()
                ));
                Err(kerf_end(cut))
            };
        }
        let Some([x, y]) = self.stop.kerf_at else { return Err(kerf_end(cut)) };
        let at = Point::new(x.mm(), y.mm());
        let mut places = on_path(&of.path, at);
        if let Some(along) = &stopped.along {
            places.retain(|mm| *mm <= along.along_mm + along.within_mm + within_mm);
        }
        match places[..] {
            [one] => Ok((one, within_mm)),
            [] => {
                let off = of.path.nearest(at).map_or(f64::INFINITY, |near| near.distance_mm);
                self.not_understood(format!(
                    "the place told as the kerf's end lies {off:.1} mm off the path of cut {}",
                    cut.number()
                ));
                Err(kerf_end(cut))
            }
            [first, .., last] => {
                let says = format!(
                    "Cut {} comes by the place told as its kerf's end more than once, {first:.0} mm and {last:.0} mm \
                     along it: tell which with `kerf_to`.",
                    cut.number()
                );
                Err(Wanted { fact: Fact::KerfEnd(cut), says })
            }
        }
    }

    /// The cut is through to `kerf_mm` from its beginning, which may be off by `within_mm`; where a join took it up,
    /// from there.
    fn through(&mut self, cut: CutId, kerf_mm: f64, within_mm: f64) {
        if self.situation.list.cut(cut).is_mark && kerf_mm <= 0.0 {
            return;
        }
        let begins: f64 = self.join_of(cut).map_or(0.0, |ran| ran.join.from_mm);
        if begins > 0.0 {
            let (along_mm, ends) = (begins.min(kerf_mm)..kerf_mm, Ends::to_within(within_mm));
            self.made(Made { cut, along_mm, depth: Depth::Through, ends });
        } else {
            self.made(from_pierce(cut, kerf_mm, within_mm));
        }
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

    /// From where on anything of a cut was made, as far as is known: after its pierce, where a lead-in of its own took it up.
    fn begun_mm(&self, cut: CutId) -> f64 {
        let own = self.on_plate.progress.made.iter().filter(|made| made.cut == cut);
        let first = own.map(|made| made.along_mm.start).reduce(f64::min);
        first.or_else(|| self.join_of(cut).map(|ran| ran.join.from_mm)).unwrap_or_default()
    }

    /// The operator's word on one cut.
    fn take_word(&mut self, cut: CutId, said: &CutState) {
        self.on_plate.doubtful.retain(|other| *other != cut);
        self.on_plate.bad.retain(|bad| bad.cut != cut);
        let begun_mm = self.begun_mm(cut);
        self.on_plate.progress.made.retain(|made| made.cut != cut);
        let length_mm = self.length_mm(cut);
        let within_mm = said.within.unwrap_or(StopReport::KERF_WITHIN).mm();
        match (said.is, said.kerf_to.map(Length::mm)) {
            (CutIs::Whole, _) => self.on_plate.progress.made.push(Made::through(cut, 0.0..length_mm)),
            (CutIs::Dry, _) => {}
            (CutIs::Partial, Some(kerf_mm)) if kerf_mm <= length_mm + within_mm => {
                let kerf_mm = kerf_mm.min(length_mm);
                self.on_plate.progress.made.push(if begun_mm > 0.0 && begun_mm < kerf_mm - within_mm {
                    let (along_mm, ends) = (begun_mm..kerf_mm, Ends::to_within(within_mm));
                    Made { cut, along_mm, depth: Depth::Through, ends }
                } else {
                    from_pierce(cut, kerf_mm, within_mm)
                });
            }
            (CutIs::Groove, reaches) => {
                let begins = said.from.map_or(0.0, Length::mm).min(length_mm);
                if begins > 0.0 {
                    self.on_plate.progress.made.push(from_pierce(cut, begins, within_mm));
                }
                let from_within_mm = if begins > 0.0 { within_mm } else { 0.0 };
                let to_within_mm = if reaches.is_some() { within_mm } else { 0.0 };
                let reached = reaches.unwrap_or(length_mm).clamp(begins, length_mm);
                self.groove(cut, begins..reached, Ends { from_within_mm, to_within_mm });
            }
            (CutIs::Partial, told) => {
                if let Some(kerf_mm) = told {
                    self.not_understood(format!(
                        "cut {} is told to be through to {kerf_mm:.1} mm, but it is {length_mm:.1} mm long",
                        cut.number()
                    ));
                }
                let says = format!("How far cut {} is through: tell it with its `state`.", cut.number());
                self.doubt(cut, Wanted { fact: Fact::KerfEnd(cut), says });
            }
        }
    }

    /// Whatever is said of a cut, the holes that were blown on its path earlier are there.
    fn holes_on(&mut self, cut: CutId) {
        let path = &self.situation.list.cut(cut).path;
        let on_path = |hole: &Stray| {
            let near = path.nearest(hole.at).filter(|near| near.distance_mm <= geometry::SAME_POINT_MM)?;
            let blown = hole.crater_mm > 0.0 && hole.path.curves().is_empty();
            blown.then_some((near.along_mm, (hole.at, hole.crater_mm)))
        };
        let holes: Vec<_> = self.on_plate.progress.strays.iter().filter_map(on_path).collect();
        for (along_mm, hole) in holes {
            self.through_in_hole(cut, along_mm, hole, HOLE_WITHIN_MM);
        }
    }

    /// Holes and kerfs beside the cuts, each as wide as it may be wherever it may lie.
    fn strays(&mut self, cut: CutId) {
        for told in &self.stop.strays {
            let places: Vec<Point<Program>> =
                told.places.iter().map(|[x, y]| Point::new(x.mm(), y.mm())).collect();
            if places.iter().any(|at| !at.is_finite()) {
                self.not_understood(
                    "a hole or kerf beside the cuts is told at a place that is not a number".to_owned(),
                );
                continue;
            }
            let radius_mm = told.wide.map_or_else(|| self.crater_mm(), |wide| wide.mm() / 2.0);
            let within_mm = told.within.unwrap_or(StrayTold::WITHIN).mm();
            for (at, on) in dots(&places, radius_mm + within_mm) {
                let path = Path::new(vec![Curve::line(at, on)]);
                self.stray(Stray { at, crater_mm: radius_mm + within_mm, path, depth: Depth::Through });
            }
        }
        let was_cutting = self.on_plate.progress.made.iter().any(|made| made.cut == cut);
        if self.stop.kind == Some(StopKind::PlateMoved) && self.stop.strays.is_empty() && was_cutting {
            self.on_plate.assumed.push(
                "No hole and no kerf is taken to lie beside the cuts: if the torch cut on after the plate had moved, tell \
                 where."
                    .to_owned(),
            );
        }
    }

    /// A piece that somebody has seen loose has been cut free: the cut that frees it is whole. One that is held has not:
    /// the kerf of its cut ends before it closes.
    fn pieces(&mut self) {
        for (number, is) in &self.stop.pieces {
            let Some(cut) = self.situation.list.by_number(*number) else {
                self.not_understood(format!("a piece is told of cut {number}, which does not exist"));
                continue;
            };
            let frees = cut
                .bounds
                .iter()
                .any(|id| matches!(self.situation.list.contour(*id).shape, Shape::Outline | Shape::Hole));
            if !frees {
                self.not_understood(format!("a piece is told of cut {number}, which frees no piece"));
                continue;
            }
            if *is == PieceIs::Held {
                self.held(cut.id);
                continue;
            }
            self.seen_loose(cut);
        }
        // Loose once, it is loose whatever is told of its kerf later.
        let list = self.situation.list;
        let before: Vec<CutId> =
            self.on_plate.progress.pieces.iter().map(|said| list.contour(said.outline).cut).collect();
        for cut in before {
            self.seen_loose(list.cut(cut));
        }
    }

    /// What a cut frees was seen loose: it is whole.
    fn seen_loose(&mut self, cut: &Cut) {
        let known = self.on_plate.progress.made.iter().any(|made| made.cut == cut.id);
        if known && !self.on_plate.progress.is_whole(self.situation.list, cut.id) {
            self.on_plate.doubtful.retain(|other| *other != cut.id);
            self.on_plate.progress.made.retain(|made| made.cut != cut.id);
            self.on_plate.progress.made.push(Made::whole(cut));
            self.on_plate.assumed.push(format!(
                "Cut {} is whole, since the piece that it frees was seen loose.",
                cut.number()
            ));
        }
    }
}

/// Places along a way, each with the next, at most `radius_mm` apart so that discs about them leave no gap; of a single place
/// one beside it, since a hole that is told as wide as it may be is not surely so wide.
fn dots(places: &[Point<Program>], radius_mm: f64) -> Vec<(Point<Program>, Point<Program>)> {
    let Some((first, last)) = places.first().zip(places.last()) else { return Vec::new() };
    let mut dots = vec![*first];
    for pair in places.windows(2) {
        let way = pair[1] - pair[0];
        let steps = (way.length() / radius_mm.max(LEAST_STEP_MM)).ceil().clamp(1.0, MOST_STEPS);
        let mut step = 1.0;
        while step <= steps {
            dots.push(pair[0] + way * (step / steps));
            step += 1.0;
        }
    }
    let beside = *last + Vector::new(BESIDE_MM, 0.0);
    let next = dots.iter().copied().skip(1).chain([beside]).collect::<Vec<_>>();
    dots.into_iter().zip(next).collect()
}

/// Least distance of the discs that a told kerf is laid out in, in millimetres: less than any kerf is wide.
const LEAST_STEP_MM: f64 = 0.5;

/// Most discs along a straight stretch of it: a table is shorter, and what is told may be any number.
const MOST_STEPS: f64 = 10_000.0;

/// How far beside a hole its own way ends, in millimetres: as good as not at all.
const BESIDE_MM: f64 = 0.01;

/// Through from the pierce to `kerf_mm`, which may be off by `within_mm`. Whoever tells of a kerf that is through at all
/// has seen light through its pierce: however far off its end is, the pierce is through.
fn from_pierce(cut: CutId, kerf_mm: f64, within_mm: f64) -> Made {
    let most_mm = kerf_mm + within_mm;
    let (end_mm, within_mm) = if 0.0 < kerf_mm && kerf_mm < within_mm {
        (most_mm / 2.0, most_mm / 2.0)
    } else {
        (kerf_mm, within_mm)
    };
    Made { cut, along_mm: 0.0..end_mm, depth: Depth::Through, ends: Ends::to_within(within_mm) }
}

impl Telling<'_> {
    /// The kerf of a cut ends, at most, just before it parts the piece that it was to free. Where its end is told past that
    /// place, the piece is held all the same: a kerf a hair narrower than told leaves a web beside a lead-in that runs in
    /// along the contour.
    fn held(&mut self, cut: CutId) {
        let (situation, length_mm) = (self.situation, self.length_mm(cut));
        let through = |made: &&Made| made.cut == cut && made.depth == Depth::Through;
        let ends = self.on_plate.progress.made.iter().filter(through).filter_map(Made::surely_mm);
        let sure_mm = ends.map(|sure| sure.end).fold(0.0, f64::max);
        let contours = situation.list.cut(cut).contours.iter().map(|id| situation.list.contour(*id));
        let closes = |contour: &&Contour| contour.closed.is_some() && contour.shape != Shape::Mark;
        let open = contours.filter(closes).filter(|contour| contour.along_mm.end > sure_mm);
        let open: Vec<ContourId> = open.map(|contour| contour.id).collect();
        if open.is_empty() {
            self.not_understood(format!(
                "what cut {} frees is told to be held, but its kerf is told to be through past where it closes",
                cut.number()
            ));
        }
        self.on_plate.progress.held.extend(open);
        for made in self.on_plate.progress.made.iter_mut().filter(|made| through(&&**made)) {
            let sure_mm = made.along_mm.end - made.ends.to_within_mm;
            let Some(parts_mm) = parts_from_mm(situation, cut, sure_mm) else { continue };
            let most_mm = parts_mm - SHORT_OF_MM;
            if sure_mm <= most_mm && most_mm < made.at_most_mm(length_mm).end {
                made.along_mm.end = f64::midpoint(sure_mm, most_mm).max(made.along_mm.start);
                made.ends.to_within_mm = most_mm - made.along_mm.end;
            }
        }
    }
}

/// How much before the place at which a piece is parted a kerf ends that has not parted it, in millimetres: more than
/// arithmetic loses, less than anybody can tell.
const SHORT_OF_MM: f64 = 0.05;

/// A hole that a standing arc blows is so many times as wide as a pierce's crater. Assumed: the arc lengthens until it
/// breaks off, at about three times the crater.
const BLOWN_CRATERS: f64 = 3.0;

/// How far off the radius of a blown hole is told at most, in millimetres: its edge is ragged, and a rule is read to half
/// a millimetre on either side of it (common practice).
pub(crate) const HOLE_WITHIN_MM: f64 = 0.5;

/// Step in which a path is followed out of a hole, in millimetres.
const HOLE_STEP_MM: f64 = 0.05;

/// A path in a hole that a standing arc blew on it.
struct InHole<'a> {
    situation: &'a Situation<'a>,
    cut: CutId,
    /// The hole's middle and its radius.
    at: Point<Program>,
    radius_mm: f64,
}

impl InHole<'_> {
    /// The stretch about a place along the path in which the whole width of the kerf lies in the hole; the place alone if
    /// there is none.
    fn about(&self, along_mm: f64) -> Range<f64> {
        let length_mm = self.situation.list.cut(self.cut).path.length_mm();
        let (mut from, mut to) = (along_mm, along_mm);
        while to < length_mm && self.holds_width_at(to + HOLE_STEP_MM) {
            to = (to + HOLE_STEP_MM).min(length_mm);
        }
        while from > 0.0 && self.holds_width_at(from - HOLE_STEP_MM) {
            from = (from - HOLE_STEP_MM).max(0.0);
        }
        from..to
    }

    fn holds_width_at(&self, along_mm: f64) -> bool {
        let path = &self.situation.list.cut(self.cut).path;
        let half_kerf = self.situation.ground.kerf.mm() / 2.0;
        let (Some(p), Some(along)) = (path.point_at(along_mm), path.tangent_at(along_mm)) else {
            return false;
        };
        [half_kerf, -half_kerf]
            .iter()
            .all(|aside| (p + along.left() * *aside).distance(self.at) <= self.radius_mm)
    }
}

fn kerf_end(cut: CutId) -> Wanted {
    let says = format!(
        "How far along cut {} its kerf is through: jog the torch over the kerf's end and tell the place as `kerf_at`, or \
         the distance from the pierce as `kerf_to`. Until then that cut cannot be taken up, and what it serves is left \
         out.",
        cut.number()
    );
    Wanted { fact: Fact::KerfEnd(cut), says }
}

fn where_it_stopped(cut: CutId) -> Wanted {
    let says = format!(
        "How far cut {} got: tell the place where the torch stopped as `at`, or the distance as `stopped_along`.",
        cut.number()
    );
    Wanted { fact: Fact::Reached(cut), says }
}

/// The cuts that are begun and not whole, and known well enough to be taken up.
pub(crate) fn begun(situation: &Situation<'_>, on_plate: &OnPlate, state: &cuts::PlateState) -> Vec<CutId> {
    let touched: BTreeSet<CutId> = on_plate.progress.made.iter().map(|made| made.cut).collect();
    let is_begun = |cut: &CutId| !state.is_whole(situation.list, *cut) && !on_plate.doubtful.contains(cut);
    touched.into_iter().filter(is_begun).collect()
}
