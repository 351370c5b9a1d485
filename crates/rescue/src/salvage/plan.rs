//! Lost parts made anew: where each goes, the program that makes them with everything else that is left, and its proof.

use super::field::{Obstacles, disc, rectangle};
use super::lost::{Piece, left_behind, middle, paths, pieces};
use super::margins::Margins;
use super::place::{Placed, Search, Shape, largest_disc, place};
use super::steps;
use crate::diff::diff;
use crate::options::{Found, Refusal, at_risk, joined, proven, time_s};
use crate::plan::{current, system_at};
use crate::promise::{parts_of, promise};
use crate::restart::{OneTrail, Placed as Written};
use crate::trace::{Along, trace};
use crate::{Choice, ChoiceKind, Earlier, Situation, Step, Trace};
use cuts::{CutId, CutList, Depth, Made, PartId, PlateState, Progress, Reading, Rearrangement, Stray};
use geometry::{Bounds, Contour, Path, Point, Program};
use nc::{Motions, Style};
use proof::{Ground, JoinStart, Moved, Promise};
use shop::Clamp;
use std::collections::BTreeSet;
use std::f64::consts::TAU;
use units::Length;

/// What is to be made anew.
#[derive(Clone, Copy, Debug, Default)]
pub struct SalvageAsk<'a> {
    /// Parts; if none is named, those given up before.
    pub parts: &'a [PartId],
    /// Cuts whose loose pieces stand up.
    pub standing: &'a [CutId],
    /// Whether it is done on a remnant: [`Situation::ground`] then tells that one, and nothing else is cut there.
    pub on_remnant: bool,
}

/// By what parts are put in order where not all fit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Worth {
    /// By what the job says each is worth; those of which it says nothing come after, by area.
    Told,
    /// By area: nobody told what they are worth.
    Area,
}

/// A part that has a new place.
#[derive(Clone, Debug, PartialEq)]
pub struct Salvaged {
    /// The parts: one, or several that share cuts.
    pub parts: Vec<PartId>,
    /// From where it was to where it is made, program coordinates.
    pub placement: nc::Carried,
    /// The middle of the box around its cuts where it was.
    pub from: Point<Program>,
    /// That place of it where it is made.
    pub to: Point<Program>,
    /// Metal that stays around it at least.
    pub metal: Length,
}

/// A part that has none.
#[derive(Clone, Debug, PartialEq)]
pub struct NotPlaced {
    /// The parts: one, or several that share cuts.
    pub parts: Vec<PartId>,
    /// Why.
    pub why: String,
    /// The largest disc that is free beside the margins, as its middle and radius, if any is: what is left.
    pub largest_free: Option<(Point<Program>, Length)>,
}

/// The answer.
#[derive(Clone, Debug, PartialEq)]
pub struct SalvagePlan {
    /// Parts with a new place, in the order in which they were placed: the most worth first.
    pub placed: Vec<Salvaged>,
    /// Parts without.
    pub not_placed: Vec<NotPlaced>,
    /// By what they were put in order.
    pub worth: Worth,
    /// Margins kept.
    pub margins: Margins,
    /// The proven program; none if there is none.
    pub choice: Option<Choice>,
    /// Why there is none.
    pub none_because: Option<String>,
    /// What has been made, once the parts are moved: what had been made of them lies as strays.
    pub progress: Progress,
    /// All cuts moved so far, earlier salvages included, from where the original has them.
    pub moved: Vec<Moved>,
    /// What is on the plate or to be cut on it, for its picture.
    pub scene: SalvageScene,
    /// The torch-off trace.
    pub trace: Option<Trace>,
    /// What to do, in order.
    pub steps: Vec<Step>,
    /// Cautions that apply.
    pub cautions: Vec<String>,
    /// What went unchecked for want of a fact, each with the fact.
    pub unchecked: Vec<String>,
}

/// The plate as it will be cut: kerfs that belong to no cut any more are cuts at the list's end.
#[derive(Clone, Debug, PartialEq)]
pub struct SalvageScene {
    /// The cuts.
    pub list: CutList,
    /// The motions.
    pub motions: Motions,
    /// What has been made of them.
    pub progress: Progress,
}

/// Steps of turn that are tried, all round: 15°. Finer, a part would be placed a little more often; each turn costs a
/// search of its own.
const TURNS: u32 = 24;

/// Most pieces taken out again because the proof refuses their places.
const REFUSED_MOST: usize = 8;

/// Plans the salvage. The program is proven on the bytes it holds before it is in the plan.
///
/// **Cost**: n log n in the number of cuts, and a search for each part.
#[must_use]
pub fn salvage(situation: &Situation<'_>, ask: &SalvageAsk<'_>) -> SalvagePlan {
    salvage_along(situation, &OneTrail::default(), ask)
}

/// The same with the trail of `situation`.
pub(crate) fn salvage_along(
    situation: &Situation<'_>,
    trail: &OneTrail,
    ask: &SalvageAsk<'_>,
) -> SalvagePlan {
    Salvage::new(situation, trail, *ask).plan()
}

/// A salvage being planned.
struct Salvage<'a> {
    situation: &'a Situation<'a>,
    trail: &'a OneTrail,
    ask: SalvageAsk<'a>,
    /// What had been made, on the plate in question.
    progress: Progress,
    state: PlateState,
    margins: Margins,
    asked: Vec<PartId>,
    worth: Worth,
    placed: Vec<(Piece, Placed)>,
    not_placed: Vec<NotPlaced>,
    unchecked: Vec<String>,
}

impl<'a> Salvage<'a> {
    fn new(situation: &'a Situation<'a>, trail: &'a OneTrail, ask: SalvageAsk<'a>) -> Self {
        let earlier = situation.earlier;
        let progress = match earlier {
            Some(earlier) if !ask.on_remnant => earlier.progress.clone(),
            _ => Progress::default(),
        };
        let given_up = earlier.map_or(&[][..], |earlier| &earlier.given_up);
        let asked = if ask.parts.is_empty() { given_up } else { ask.parts };
        let told = |part: &PartId| situation.job.values.iter().any(|(number, _)| *number == part.number());
        Self {
            situation,
            trail,
            ask,
            state: PlateState::after(situation.list, progress.clone(), situation.ground.kerf),
            progress,
            margins: Margins::of(situation.ground),
            worth: if asked.iter().any(told) { Worth::Told } else { Worth::Area },
            asked: asked.to_vec(),
            placed: Vec::new(),
            not_placed: Vec::new(),
            unchecked: Vec::new(),
        }
    }

    fn plan(mut self) -> SalvagePlan {
        let outcome = self.find_places().and_then(|()| self.proven());
        let (choice, none_because) = match outcome {
            Ok(choice) => (Some(choice), None),
            Err(why) => {
                self.placed.clear();
                (None, Some(why))
            }
        };
        self.finish(choice, none_because)
    }

    /// Places all that are asked for, the most worth first.
    fn find_places(&mut self) -> Result<(), String> {
        let list = self.situation.list;
        if self.asked.is_empty() {
            return Err("no part is given up: name the lost ones with --part".to_owned());
        }
        let plate = self.situation.ground.plate.clone();
        let plate = plate.ok_or("the plate's outline is not told, and a free place cannot be looked for")?;
        let mut wanted = Vec::new();
        for piece in pieces(list, &self.asked) {
            match piece.hindered(&self.state, list, &self.asked) {
                Some(why) => self.leave_out(&piece, why, None),
                None => wanted.push(piece),
            }
        }
        wanted.sort_by(|a, b| {
            self.worth_of(b).partial_cmp(&self.worth_of(a)).unwrap_or(std::cmp::Ordering::Equal)
        });
        let mut obstacles = self.obstacles(plate, &wanted)?;
        let turns: Vec<f64> = (0..TURNS).map(|k| TAU * f64::from(k) / f64::from(TURNS)).collect();
        let apart_mm = self.margins.apart_mm(self.situation.ground.kerf);
        for piece in wanted {
            let outlines =
                piece.parts.iter().filter_map(|part| list.contour(list.part(*part).outline).closed.clone());
            let Some(shape) = Shape::new(outlines.collect(), &paths(list, &piece)) else {
                self.leave_out(&piece, "it has no closed outline".to_owned(), None);
                continue;
            };
            match place(&shape, &obstacles, &turns, apart_mm) {
                Search::Found(found) => {
                    let there =
                        |contour: &Contour<Program>| Contour::close(contour.path().placed(&found.placement));
                    let voids: Vec<_> = shape.outlines().iter().filter_map(there).collect();
                    let lines = paths(list, &piece).into_iter().map(|path| path.placed(&found.placement));
                    obstacles.add(voids, lines.collect::<Vec<_>>());
                    self.placed.push((piece, found));
                }
                none => {
                    let why = match none {
                        Search::GaveUp => "no place was found in the time there is for a search",
                        _ => "there is no free place for it, in any of the turns tried (steps of 15°)",
                    };
                    let free = largest_disc(&obstacles, apart_mm);
                    self.leave_out(&piece, why.to_owned(), free);
                }
            }
        }
        if self.placed.is_empty() {
            return Err("nothing that was asked for has a place".to_owned());
        }
        Ok(())
    }

    fn leave_out(&mut self, piece: &Piece, why: String, free: Option<(Point<Program>, f64)>) {
        self.not_placed.push(NotPlaced {
            parts: piece.parts.iter().copied().collect(),
            why,
            largest_free: free.map(|(at, radius_mm)| (at, Length::from_mm(radius_mm))),
        });
    }

    /// What a piece is worth: as told, then by area.
    fn worth_of(&self, piece: &Piece) -> (f64, f64) {
        let values = &self.situation.job.values;
        let told =
            |part: &PartId| values.iter().find(|(number, _)| *number == part.number()).map(|told| told.1);
        (piece.parts.iter().filter_map(told).sum(), piece.area_mm2(self.situation.list))
    }

    /// What there is to keep off before anything is placed. Where the lost parts were, only what was cut of them counts.
    fn obstacles(&self, plate: Contour<Program>, wanted: &[Piece]) -> Result<Obstacles, String> {
        let Ground { plate_holes, clamps, travel, kerf, .. } = self.situation.ground;
        let tip_mm = self.margins.clamp.mm();
        let clamp = |clamp: &Clamp| rectangle(box_of(clamp)?.grown(tip_mm));
        let mut voids: Vec<Contour<Program>> = plate_holes.clone();
        voids.extend(clamps.iter().filter_map(clamp));
        if self.ask.on_remnant {
            return Ok(Obstacles::new(plate, voids, &[]).within(*travel));
        }
        let cuts: BTreeSet<CutId> = wanted.iter().flat_map(|piece| piece.cuts.iter().copied()).collect();
        let strays = self.progress.strays.iter().cloned().chain(self.left(&cuts)).collect::<Vec<_>>();
        let wide = strays.iter().filter(|stray| stray.crater_mm > kerf.mm());
        voids.extend(wide.filter_map(|stray| disc(stray.at, stray.crater_mm)));
        let to = Rearrangement { absent: cuts.into_iter().collect(), strays, ..Rearrangement::default() };
        let there = self.situation.list.rearranged(&to, &Reading::with_kerf(*kerf));
        let there = there.map_err(|why| why.message)?;
        let outermost = there.contours.iter().filter(|contour| contour.within.is_none());
        voids.extend(outermost.filter_map(|contour| contour.closed.clone()));
        voids.extend(self.ask.standing.iter().flat_map(|cut| self.standing(&there, *cut)));
        let lines: Vec<_> = there.cuts.iter().map(|cut| &cut.path).collect();
        Ok(Obstacles::new(plate, voids, &lines).within(*travel))
    }

    /// Room around what stands up since `cut` freed it.
    fn standing(&self, list: &CutList, cut: CutId) -> Vec<Contour<Program>> {
        let bounds = list.cuts.get(cut.0 as usize).into_iter().flat_map(|cut| &cut.bounds);
        let closed = bounds.filter_map(|contour| list.contour(*contour).closed.as_ref());
        closed.filter_map(|closed| rectangle(closed.bounds().grown(self.margins.standing.mm()))).collect()
    }

    /// What has been made of some cuts, as strays.
    fn left(&self, cuts: &BTreeSet<CutId>) -> Vec<Stray> {
        left_behind(self.situation, &self.progress.made, cuts)
    }

    /// The program for all that is placed, proven; what the proof refuses is taken out.
    fn proven(&mut self) -> Result<Choice, String> {
        let mut given_up = Vec::new();
        let mut risks = Vec::new();
        let mut first_reason = None;
        for _ in 0..=REFUSED_MOST {
            let promise = self.promise(&given_up)?;
            let remark = self.remark(&promise);
            let refusal = match proven(self.situation, self.trail, &self.progress, &promise, &[], &remark) {
                Ok(found) => return Ok(self.choice(promise, risks, found)),
                Err(refusal) => refusal,
            };
            if !self.take_out(&refusal, &mut given_up, &mut risks) {
                return Err(refusal.reason);
            }
            first_reason.get_or_insert(refusal.reason);
            if self.placed.is_empty() {
                break;
            }
        }
        Err(first_reason.unwrap_or_else(|| "too much of it cannot be proven".to_owned()))
    }

    /// Takes out what the proof refuses; false if it is not told what.
    fn take_out(&mut self, refusal: &Refusal, given_up: &mut Vec<PartId>, risks: &mut Vec<String>) -> bool {
        let Some(cut) = refusal.cut else { return false };
        if let Some(k) = self.placed.iter().position(|(piece, _)| piece.cuts.contains(&cut)) {
            let (piece, _) = self.placed.remove(k);
            self.leave_out(&piece, format!("its place is {}", refusal.reason), None);
            return true;
        }
        let parts = parts_of(self.situation.list, self.situation.list.cut(cut));
        if parts.is_empty() || parts.iter().all(|part| given_up.contains(part)) {
            return false;
        }
        let numbers = joined(parts.iter().map(|part| part.number()));
        risks.push(format!("Part {numbers} is left out: {}.", refusal.reason));
        given_up.extend(parts);
        true
    }

    /// Everything that is left, then the parts at their new places.
    fn promise(&self, more_given_up: &[PartId]) -> Result<Promise, String> {
        let list = self.situation.list;
        let again: BTreeSet<PartId> =
            self.placed.iter().flat_map(|(piece, _)| piece.parts.iter().copied()).collect();
        let mut promise = if self.ask.on_remnant {
            Promise { given_up: list.parts.iter().map(|part| part.id).collect(), ..Promise::default() }
        } else {
            let before = self.situation.earlier.map_or(&[][..], |earlier| &earlier.given_up);
            let given_up: BTreeSet<PartId> =
                before.iter().chain(&self.asked).chain(more_given_up).chain(&again).copied().collect();
            let given_up: Vec<PartId> = given_up.into_iter().collect();
            promise(self.situation, &self.state, &given_up, &self.begun(&given_up))?
        };
        promise.given_up.retain(|part| !again.contains(part));
        for (piece, placed) in &self.placed {
            promise.cuts.extend(&piece.cuts);
            let moved = piece.cuts.iter().map(|cut| Moved { cut: *cut, placement: placed.placement });
            promise.moved.extend(moved);
        }
        Ok(promise)
    }

    /// Cuts begun and not whole that are not given up: a salvage does not take them up.
    fn begun(&self, given_up: &[PartId]) -> Vec<CutId> {
        let list = self.situation.list;
        let begun =
            list.cuts.iter().filter(|cut| !self.state.is_dry(cut.id) && !self.state.is_whole(list, cut.id));
        let kept = begun.filter(|cut| parts_of(list, cut).iter().any(|part| !given_up.contains(part)));
        kept.map(|cut| cut.id).collect()
    }

    fn remark(&self, promise: &Promise) -> String {
        let parts: BTreeSet<u32> =
            self.placed.iter().flat_map(|(piece, _)| &piece.parts).map(|part| part.number()).collect();
        let place = if self.ask.on_remnant { "A REMNANT" } else { "FREE PLATE" };
        format!(
            "PART {} ANEW ON {place}: {} CUTS. CHECK POSITION AND TRACE FIRST",
            joined(parts.into_iter()),
            promise.cuts.len()
        )
    }

    fn choice(&self, promise: Promise, mut risks: Vec<String>, mut found: Found) -> Choice {
        if self.ask.on_remnant {
            // The proof counts from where zero lay for the original; here it is set for the first time.
            let preconditions = &mut found.proof.preconditions;
            preconditions.retain(|line| !line.starts_with("Program zero lies where it lay"));
            preconditions.insert(0, "Program zero is set for the remnant, as its file tells it.".to_owned());
        }
        let list = self.situation.list;
        let first = promise.cuts[0];
        let moved = promise.moved.iter().find(|moved| moved.cut == first);
        let at = list.cut(first).pierce.at;
        let begun = self.begun(&promise.given_up);
        if !begun.is_empty() {
            risks.push(format!(
                "Left out with the parts they serve, since they are begun and a salvage does not take them up: cut {}. \
                 Rescue them first, or name their parts as lost.",
                joined(begun.iter().map(|cut| cut.number()))
            ));
        }
        risks.push(
            "Plate beside old kerfs is warped by their heat: watch the first touch-off at each new place."
                .to_owned(),
        );
        let parts = joined(self.placed.iter().flat_map(|(piece, _)| &piece.parts).map(|part| part.number()));
        let word = if self.placed.iter().map(|(piece, _)| piece.parts.len()).sum::<usize>() == 1 {
            "part"
        } else {
            "parts"
        };
        let place = if self.ask.on_remnant { "on the remnant" } else { "on free plate" };
        let others = promise.cuts.len() - promise.moved.len();
        let rest = match others {
            0 => String::new(),
            1 => ", after the 1 cut that is left".to_owned(),
            others => format!(", after the {others} cuts that are left"),
        };
        Choice {
            kind: ChoiceKind::Salvage,
            title: format!("Make {word} {parts} anew {place}{rest}"),
            restarts_at: moved.map_or(at, |moved| moved.placement.point(at)),
            starts: u32::try_from(promise.cuts.len()).unwrap_or(u32::MAX),
            time_s: time_s(list, &promise.cuts),
            diff: diff(self.situation.program, &found.written),
            lines: found.written.cuts,
            text: found.written.text,
            word_for_word: false,
            parts_at_risk: at_risk(list, &promise, &[]),
            promise,
            proof: found.proof,
            risks,
        }
    }

    fn finish(mut self, choice: Option<Choice>, none_because: Option<String>) -> SalvagePlan {
        let situation = self.situation;
        let cuts: BTreeSet<CutId> =
            self.placed.iter().flat_map(|(piece, _)| piece.cuts.iter().copied()).collect();
        let scene = self.scene(&cuts, choice.as_ref());
        let trace = choice.as_ref().and_then(|choice| self.trace(choice, &scene));
        if let Some(choice) = &choice {
            self.unchecked.extend(choice.proof.unproven.iter().cloned());
        }
        let mut progress = self.progress.clone();
        progress.strays.extend(self.left(&cuts));
        progress.made.retain(|made| !cuts.contains(&made.cut));
        let salvaged = self.placed.iter().map(|(piece, placed)| self.salvaged(piece, placed)).collect();
        let first = choice.as_ref().and_then(|choice| choice.promise.cuts.first().copied());
        let current = first.and_then(|cut| current(situation, cut));
        let mut plan = SalvagePlan {
            placed: salvaged,
            not_placed: self.not_placed,
            worth: self.worth,
            margins: self.margins,
            choice,
            none_because,
            progress,
            moved: all_moved(situation, &self.placed),
            scene,
            trace,
            steps: Vec::new(),
            cautions: crate::steps::cautions(situation, current),
            unchecked: self.unchecked,
        };
        plan.steps = steps::steps(situation, &self.ask, &plan);
        plan
    }

    fn salvaged(&self, piece: &Piece, placed: &Placed) -> Salvaged {
        let from = middle(self.situation.list, piece);
        Salvaged {
            parts: piece.parts.iter().copied().collect(),
            placement: placed.placement,
            from,
            to: placed.placement.point(from),
            metal: Length::from_mm(placed.clearance_mm) - self.situation.ground.kerf,
        }
    }

    /// The plate as it will be cut. What is not on it and will not be is left out.
    fn scene(&self, cuts: &BTreeSet<CutId>, choice: Option<&Choice>) -> SalvageScene {
        let situation = self.situation;
        let as_it_was = || SalvageScene {
            list: situation.list.clone(),
            motions: situation.motions.clone(),
            progress: self.progress.clone(),
        };
        let Some(choice) = choice else { return as_it_was() };
        let promised: BTreeSet<CutId> = choice.promise.cuts.iter().copied().collect();
        let absent = |cut: &CutId| self.ask.on_remnant && !promised.contains(cut);
        let strays: Vec<_> = self.progress.strays.iter().cloned().chain(self.left(cuts)).collect();
        let to = Rearrangement {
            moved: choice.promise.moved.iter().map(|moved| (moved.cut, moved.placement)).collect(),
            absent: situation.list.cuts.iter().map(|cut| cut.id).filter(absent).collect(),
            strays,
        };
        let list = situation.list.rearranged(&to, &Reading::with_kerf(situation.ground.kerf));
        let placed = Written::of(situation, &choice.promise.moved);
        let (Ok(mut list), Ok(placed)) = (list, placed) else { return as_it_was() };
        // The original's ways to the moved cuts are nobody's ways now; what strays enclose are no parts.
        for moved in &choice.promise.moved {
            let next = list.cuts.get_mut(moved.cut.0 as usize + 1).filter(|next| !next.is_stray());
            next.into_iter().for_each(|next| next.approach.start = next.approach.end);
            let cut = &mut list.cuts[moved.cut.0 as usize];
            cut.approach.start = cut.approach.end;
        }
        list.parts.truncate(situation.list.parts.len());
        let mut progress = self.progress.clone();
        progress.strays.retain(|stray| stray.path.curves().is_empty());
        progress.made.retain(|made| !cuts.contains(&made.cut));
        let ghosts = list.cuts[situation.list.cuts.len()..].iter().zip(&to.strays);
        progress.made.extend(ghosts.map(|(cut, stray)| Made { depth: stray.depth, ..Made::whole(cut) }));
        SalvageScene { motions: placed.motions().clone(), list, progress }
    }

    fn trace(&mut self, choice: &Choice, scene: &SalvageScene) -> Option<Trace> {
        let first = *choice.promise.cuts.first()?;
        let there = Situation { motions: &scene.motions, list: &scene.list, ..*self.situation };
        let event = &there.motions.events()[there.list.cut(first).torch_on as usize];
        let style = Style::of(there.motions.modal(event.modal));
        let along = Along { cuts: &choice.promise.cuts, joins: &[], visit: None };
        match trace(&there, &along, style, system_at(&there, first)) {
            Ok(trace) => Some(trace),
            Err(why) => {
                self.unchecked.push(format!("No trace could be written: {why}."));
                None
            }
        }
    }
}

/// All moves so far as from the original: what was moved before and is moved again, and what was moved only once.
fn all_moved(situation: &Situation<'_>, placed: &[(Piece, Placed)]) -> Vec<Moved> {
    let earlier = situation.earlier.map_or(&[][..], |earlier| &earlier.moved);
    let mut all: Vec<Moved> = earlier.to_vec();
    for (piece, placed) in placed {
        for cut in &piece.cuts {
            match all.iter_mut().find(|moved| moved.cut == *cut) {
                Some(moved) => moved.placement = moved.placement.then(&placed.placement),
                None => all.push(Moved { cut: *cut, placement: placed.placement }),
            }
        }
    }
    all.sort_by_key(|moved| moved.cut);
    all
}

fn box_of(clamp: &Clamp) -> Option<Bounds<Program>> {
    Bounds::around([clamp.from, clamp.to].map(|[x, y]| Point::new(x.mm(), y.mm())))
}

/// The plate after the program that was started last has run to its end: the restart that `earlier` tells of, else the
/// original. What a restart cuts besides its cuts' paths lies as strays.
#[must_use]
pub fn all_ran(list: &CutList, earlier: Option<&Earlier>, kerf: Length) -> Progress {
    let Some(earlier) = earlier.filter(|earlier| !earlier.ran.is_empty()) else {
        return Progress::whole(list);
    };
    let mut progress = earlier.progress.clone();
    let ran: BTreeSet<CutId> = earlier.ran.iter().map(|ran| ran.cut).collect();
    progress.made.retain(|made| !ran.contains(&made.cut));
    progress.made.extend(earlier.ran.iter().map(|ran| Made::whole(list.cut(ran.cut))));
    let joins = earlier.ran.iter().filter_map(|ran| ran.join.as_ref());
    progress.strays.extend(joins.filter(|join| join.join.start == JoinStart::FreshPierce).map(|join| {
        Stray { at: join.lit, crater_mm: kerf.mm(), path: join.lead.clone(), depth: Depth::Through }
    }));
    progress
}

/// Motions and cuts as they lie once `earlier.moved` have been carried to their places. Parts given up of which nothing
/// has been made, and where others lie now, are no longer on the plate: they have no path.
///
/// # Errors
/// A sentence on what is wrong, if they cannot lie there.
pub fn laid(motions: &Motions, list: &CutList, earlier: &Earlier, kerf: Length) -> Result<Laid, String> {
    let made: BTreeSet<CutId> = earlier.progress.made.iter().map(|made| made.cut).collect();
    let moved: BTreeSet<CutId> = earlier.moved.iter().map(|moved| moved.cut).collect();
    let taken: Vec<Bounds<Program>> = earlier
        .moved
        .iter()
        .filter_map(|moved| list.cut(moved.cut).path.placed(&moved.placement).bounds())
        .collect();
    let in_the_way = |piece: &Piece| {
        let bounds = paths(list, piece).into_iter().filter_map(Path::bounds).reduce(Bounds::union);
        bounds.is_some_and(|bounds| taken.iter().any(|taken| taken.meets(&bounds)))
    };
    let untouched = |piece: &Piece| piece.cuts.iter().all(|cut| !made.contains(cut) && !moved.contains(cut));
    let given_up = pieces(list, &earlier.given_up).into_iter();
    let absent = given_up.filter(|piece| untouched(piece) && in_the_way(piece));
    let to = Rearrangement {
        moved: earlier.moved.iter().map(|moved| (moved.cut, moved.placement)).collect(),
        absent: absent.flat_map(|piece| piece.cuts).collect(),
        strays: Vec::new(),
    };
    let motions = crate::restart::carried(motions, list, &earlier.moved)?;
    let list = list.rearranged(&to, &Reading::with_kerf(kerf)).map_err(|why| why.message)?;
    Ok(Laid { motions, list })
}

/// Motions and cuts where they are made.
#[derive(Clone, Debug, PartialEq)]
pub struct Laid {
    /// The motions.
    pub motions: Motions,
    /// The cuts.
    pub list: CutList,
}
