//! Lost parts made anew: where each goes, the program that makes them with everything else that is left, and its proof.

use super::field::{Obstacles, disc, rectangle};
use super::lost::{Piece, left_behind, middle, paths, pieces};
use super::margins::Margins;
use super::place::{Placed, Search, Shape, Wanted, largest_disc, search};
use super::steps;
use crate::diff::diff;
use crate::options::{Found, Refusal, at_risk, joined, proven, time_s};
use crate::plan::{current, standing, system_at};
use crate::promise::{parts_of, promise};
use crate::refind::worst_at_mm;
use crate::restart::{OneReading, Placed as Written};
use crate::trace::{Along, trace};
use crate::{Choice, ChoiceKind, Earlier, Situation, Step, Trace};
use cuts::{
    CutId, CutList, Depth, Lies, Made, PartId, PlateState, Progress, Reading, Rearrangement, Said,
    Shape as ContourShape, Stray,
};
use geometry::{Bounds, Contour, Path, Placement, Point, Program};
use nc::{Motions, Style};
use proof::{Ground, JoinStart, Moved, Pose, Promise};
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

/// Steps of turn that are tried first, all round: 15°. Where none of them fits, every turn between them is.
const TURNS: u32 = 24;

/// Most refusals of the proof that are answered by leaving something out or placing it elsewhere.
const REFUSED_MOST: usize = 16;

/// Most places tried for one piece.
const PLACES_MOST: usize = 5;

/// How far from a refused place the next one lies, as a share of what the piece reaches; nearer, what was in the way
/// there mostly still is.
const ELSEWHERE_SHARE: f64 = 0.5;

/// The same at least, in millimetres.
const ELSEWHERE_MM_MIN: f64 = 20.0;

/// Plans the salvage. The program is proven on the bytes it holds before it is in the plan.
///
/// **Cost**: n log n in the number of cuts, and a search for each part.
#[must_use]
pub fn salvage(situation: &Situation<'_>, ask: &SalvageAsk<'_>) -> SalvagePlan {
    // A remnant lies as its own file says.
    let found_ground = situation.found_ground().filter(|_| !ask.on_remnant);
    let found = Situation { ground: found_ground.as_ref().unwrap_or(situation.ground), ..*situation };
    salvage_along(&found, &OneReading::of(&found), ask)
}

/// The same with the reading of `situation`.
pub(crate) fn salvage_along(
    situation: &Situation<'_>,
    once: &OneReading<'_>,
    ask: &SalvageAsk<'_>,
) -> SalvagePlan {
    Salvage::new(situation, once, *ask).plan()
}

/// Why a piece has no place.
const NO_ROOM: &str = "there is no free place for it at any turn (slugs and parts are no plate: they fell, or nothing \
                       holds them for long)";

/// Pieces that these cuts freed, standing.
fn standing_pieces(list: &CutList, cuts: &[CutId]) -> impl Iterator<Item = Said> {
    let bounds = cuts.iter().filter_map(|cut| list.cuts.get(cut.0 as usize)).flat_map(|cut| &cut.bounds);
    let frees = bounds.map(|id| list.contour(*id)).filter(|contour| {
        contour.closed.is_some() && matches!(contour.shape, ContourShape::Outline | ContourShape::Hole)
    });
    frees.map(|contour| Said { outline: contour.repeats.unwrap_or(contour.id), lies: Lies::Standing })
}

/// A salvage being planned.
struct Salvage<'a> {
    situation: &'a Situation<'a>,
    once: &'a OneReading<'a>,
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
    /// Whether what stands up is taken out first; else it is kept off.
    take_out: bool,
    /// What is kept off, with what is placed.
    obstacles: Option<Obstacles>,
    /// Places that the proof refused: the piece by its first cut, its pivot there, and how far off the next one lies.
    refused: Vec<(CutId, Point<Program>, f64)>,
}

impl<'a> Salvage<'a> {
    fn new(situation: &'a Situation<'a>, once: &'a OneReading<'a>, ask: SalvageAsk<'a>) -> Self {
        let earlier = situation.earlier;
        let mut progress = match earlier {
            Some(earlier) if !ask.on_remnant => earlier.progress.clone(),
            _ => Progress::default(),
        };
        if !ask.on_remnant {
            standing_pieces(situation.list, ask.standing).for_each(|said| progress.say(said));
        }
        let given_up = earlier.map_or(&[][..], |earlier| &earlier.given_up);
        let asked = if ask.parts.is_empty() { given_up } else { ask.parts };
        let told = |part: &PartId| situation.job.values.iter().any(|(number, _)| *number == part.number());
        Self {
            situation,
            once,
            ask,
            state: PlateState::after(situation.list, progress.clone(), situation.ground.kerf),
            progress,
            margins: Margins::of(situation.ground),
            worth: if asked.iter().any(told) { Worth::Told } else { Worth::Area },
            asked: asked.to_vec(),
            placed: Vec::new(),
            not_placed: Vec::new(),
            unchecked: Vec::new(),
            take_out: false,
            obstacles: None,
            refused: Vec::new(),
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
            return Err("no part is given up: say which parts are lost".to_owned());
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
        let all = wanted.len();
        for (k, piece) in wanted.into_iter().enumerate() {
            self.situation.goes_on()?;
            self.situation.tell(k, all, "new places for parts");
            match self.place(&piece, &mut obstacles) {
                Ok(found) => self.placed.push((piece, found)),
                Err(why) => {
                    let free = largest_disc(&obstacles, self.apart_mm());
                    self.leave_out(&piece, why.to_owned(), free);
                }
            }
        }
        self.obstacles = Some(obstacles);
        if self.placed.is_empty() {
            return Err("nothing that was asked for has a place".to_owned());
        }
        Ok(())
    }

    /// How far the centre lines of two kerfs lie apart, in millimetres. On a plate that moved, what is cut now may land
    /// off what was cut before by as much as the plate's worst corner does.
    fn apart_mm(&self) -> f64 {
        let worst_mm = |pose: &Pose| {
            let bounds = self.situation.ground.plate.as_ref().map(Contour::bounds)?;
            let (min, max) = (bounds.min, bounds.max);
            let corners = [min, Point::new(max.x, min.y), max, Point::new(min.x, max.y)];
            corners.into_iter().map(|corner| worst_at_mm(pose, corner)).reduce(f64::max)
        };
        let off_mm = self.situation.pose.and_then(worst_mm).unwrap_or(0.0);
        self.margins.apart_mm(self.situation.ground.kerf) + off_mm
    }

    /// The best place for a piece that was not refused before, or why there is none. It is kept off from then on.
    fn place(&self, piece: &Piece, obstacles: &mut Obstacles) -> Result<Placed, &'static str> {
        let list = self.situation.list;
        let outlines =
            piece.parts.iter().filter_map(|part| list.contour(list.part(*part).outline).closed.clone());
        let shape = Shape::new(outlines.collect(), &paths(list, piece)).ok_or("it has no closed outline")?;
        let refused = self.refused.iter().filter(|(cut, ..)| piece.cuts.first() == Some(cut));
        let not_at: Vec<_> = refused.map(|(_, at, near_mm)| (*at, *near_mm)).collect();
        let turns: Vec<f64> = (0..TURNS).map(|k| TAU * f64::from(k) / f64::from(TURNS)).collect();
        let these =
            Wanted { turns_rad: &turns, about_rad: 0.0, clearance_mm: self.apart_mm(), not_at: &not_at };
        let all = Wanted { about_rad: TAU / f64::from(TURNS) / 2.0, ..these };
        let found = match search(&shape, obstacles, &these) {
            Search::Found(found) => Search::Found(found),
            Search::NoRoom | Search::GaveUp => search(&shape, obstacles, &all),
        };
        match found {
            Search::Found(found) => {
                let there =
                    |contour: &Contour<Program>| Contour::close(contour.path().placed(&found.placement));
                let voids: Vec<_> = shape.outlines().iter().filter_map(there).collect();
                let lines = paths(list, piece).into_iter().map(|path| path.placed(&found.placement));
                obstacles.add(voids, lines.collect::<Vec<_>>());
                Ok(found)
            }
            Search::GaveUp => Err("no place was found in the time there is for a search"),
            Search::NoRoom => Err(NO_ROOM),
        }
    }

    /// Looks for another place for a piece whose place is refused, all others staying where they are; false if there is
    /// none, or there were enough.
    fn elsewhere(&mut self, k: usize) -> bool {
        let Some(mut obstacles) = self.obstacles.take() else { return false };
        let (piece, was) = self.placed.remove(k);
        let list = self.situation.list;
        let outlines = |piece: &Piece| -> Vec<Contour<Program>> {
            let of = |part: &PartId| list.contour(list.part(*part).outline).closed.clone();
            piece.parts.iter().filter_map(of).collect()
        };
        if let (Some(shape), Some(cut)) =
            (Shape::new(outlines(&piece), &paths(list, &piece)), piece.cuts.first())
        {
            let near_mm = (shape.radius_mm() * ELSEWHERE_SHARE).max(ELSEWHERE_MM_MIN);
            self.refused.push((*cut, shape.pivot_at(&was.placement), near_mm));
        }
        obstacles.clear_placed();
        for (other, there) in &self.placed {
            let moved = |contour: &Contour<Program>| Contour::close(contour.path().placed(&there.placement));
            let lines = paths(list, other).into_iter().map(|path| path.placed(&there.placement));
            obstacles.add(outlines(other).iter().filter_map(moved), lines.collect::<Vec<_>>());
        }
        let tried = self.refused.iter().filter(|(cut, ..)| piece.cuts.first() == Some(cut)).count();
        let found = if tried < PLACES_MOST { self.place(&piece, &mut obstacles).ok() } else { None };
        self.obstacles = Some(obstacles);
        let is_found = found.is_some();
        self.placed.insert(k, (piece, found.unwrap_or(was)));
        is_found
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
    /// Slugs and parts are no plate, whether they fell, lie in their place or are still held: nothing within the
    /// outermost contours is free.
    fn obstacles(&self, plate: Contour<Program>, wanted: &[Piece]) -> Result<Obstacles, String> {
        let Ground { plate_holes, travel, kerf, .. } = self.situation.ground;
        let lies = self.situation.pose.map_or(Placement::IDENTITY, |pose| pose.placement);
        let mut voids: Vec<Contour<Program>> = plate_holes.clone();
        voids.extend(self.clamps(&lies.inverse()));
        if self.ask.on_remnant {
            return Ok(Obstacles::new(plate, voids, &[]).within(*travel).lying(lies));
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
        voids.extend(self.pieces());
        let lines: Vec<_> = there.cuts.iter().map(|cut| &cut.path).collect();
        Ok(Obstacles::new(plate, voids, &lines).within(*travel).lying(lies))
    }

    /// Clamps where they lie on the plate, with room for the torch's tip.
    fn clamps(&self, on_plate: &Placement<Program, Program>) -> Vec<Contour<Program>> {
        let tip_mm = self.margins.clamp.mm();
        let clamps = self.situation.ground.clamps.iter();
        let clamp = |clamp: &Clamp| rectangle(box_of(clamp)?.grown(tip_mm));
        clamps.filter_map(clamp).filter_map(|edge| Contour::close(edge.path().placed(on_plate))).collect()
    }

    /// What somebody saw loose: a hole where it is gone, and room for the torch's body where it stands.
    fn pieces(&self) -> Vec<Contour<Program>> {
        let list = self.situation.list;
        let room = |said: &Said| {
            let closed = list.contour(said.outline).closed.as_ref()?;
            match said.lies {
                Lies::Standing => rectangle(closed.bounds().grown(self.margins.standing.mm())),
                Lies::Fell | Lies::Removed => Some(closed.clone()),
                Lies::Flat => None,
            }
        };
        self.progress.pieces.iter().filter_map(room).collect()
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
            let refusal = match proven(self.situation, self.once, &self.progress, &promise, &[], &remark) {
                Ok(found) => return Ok(self.choice(promise, risks, found)),
                Err(refusal) => refusal,
            };
            // A program that keeps off what stands is the better one; where there is none, it is taken out first, as the
            // steps have it anyway.
            let stands = !standing(&self.progress.pieces, &promise).is_empty();
            if stands && !std::mem::replace(&mut self.take_out, true) {
                continue;
            }
            if !self.leave_out_refused(&refusal, &mut given_up, &mut risks) {
                return Err(refusal.reason);
            }
            first_reason.get_or_insert(refusal.reason);
            if self.placed.is_empty() {
                break;
            }
        }
        Err(first_reason.unwrap_or_else(|| "too much of it cannot be proven".to_owned()))
    }

    /// Places elsewhere what the proof refuses, or leaves it out; false if it is not told what.
    fn leave_out_refused(
        &mut self,
        refusal: &Refusal,
        given_up: &mut Vec<PartId>,
        risks: &mut Vec<String>,
    ) -> bool {
        let Some(cut) = refusal.cut else { return false };
        if let Some(k) = self.placed.iter().position(|(piece, _)| piece.cuts.contains(&cut)) {
            if !self.elsewhere(k) {
                let (piece, _) = self.placed.remove(k);
                self.leave_out(&piece, format!("each place found for it is {}", refusal.reason), None);
            }
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
        if self.take_out {
            promise.taken_out = standing(&self.progress.pieces, &promise);
        }
        Ok(promise)
    }

    /// Cuts begun and not whole that are not given up: a salvage does not take them up. A mark is run again whole.
    fn begun(&self, given_up: &[PartId]) -> Vec<CutId> {
        let list = self.situation.list;
        let begun =
            list.cuts.iter().filter(|cut| !self.state.is_dry(cut.id) && !self.state.is_whole(list, cut.id));
        let begun = begun.filter(|cut| !cut.is_mark);
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
        let anew = self.placed.iter().flat_map(|(piece, _)| &piece.parts);
        let begun = self.begun(&promise.given_up.iter().chain(anew).copied().collect::<Vec<_>>());
        if !begun.is_empty() {
            risks.push(format!(
                "Left out with the parts they serve, since they are begun and a salvage does not take them up: cut {}. \
                 Rescue them first, or name their parts as lost.",
                joined(begun.iter().map(|cut| cut.number()))
            ));
        }
        if !self.ask.on_remnant {
            risks.push(
                "Plate beside old kerfs is warped by their heat: watch the first touch-off at each new place."
                    .to_owned(),
            );
        }
        let parts: BTreeSet<PartId> =
            self.placed.iter().flat_map(|(piece, _)| &piece.parts).copied().collect();
        let parts = joined(parts.iter().map(|part| part.number()));
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
            price: None,
            given_up: self.not_made(&promise),
            diff: diff(self.situation.program, &found.written),
            lines: found.written.cuts,
            text: found.written.text,
            word_for_word: false,
            parts_at_risk: at_risk(list, &promise, &[]),
            promise,
            proof: found.proof,
            risks,
            trace: None,
        }
    }

    /// Parts that are not made. On a remnant only those that were to be made there can be lacking.
    fn not_made(&self, promise: &Promise) -> Vec<PartId> {
        let asked = |part: &&PartId| !self.ask.on_remnant || self.asked.contains(part);
        promise.given_up.iter().filter(asked).copied().collect()
    }

    fn finish(mut self, mut choice: Option<Choice>, none_because: Option<String>) -> SalvagePlan {
        let situation = self.situation;
        let cuts: BTreeSet<CutId> =
            self.placed.iter().flat_map(|(piece, _)| piece.cuts.iter().copied()).collect();
        let scene = self.scene(&cuts, choice.as_ref());
        if let Some(choice) = &mut choice {
            match self.trace(choice, &scene) {
                Ok(trace) => choice.trace = Some(trace),
                Err(why) => choice.risks.push(format!("No trace could be written: {why}.")),
            }
            self.unchecked.extend(choice.proof.unproven.iter().cloned());
        }
        let mut progress = self.progress.clone();
        progress.strays.extend(self.left(&cuts));
        progress.made.retain(|made| !cuts.contains(&made.cut));
        self.lie_as_left(&mut progress.pieces, &cuts, choice.as_ref());
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
            steps: Vec::new(),
            cautions: crate::steps::cautions(situation, current),
            unchecked: self.unchecked,
        };
        plan.steps = steps::steps(situation, &self.ask, &plan);
        plan
    }

    /// Pieces as they lie when the program is run: what is made anew is a piece no longer, what is taken out is gone.
    fn lie_as_left(&self, pieces: &mut Vec<Said>, cuts: &BTreeSet<CutId>, choice: Option<&Choice>) {
        pieces.retain(|said| !cuts.contains(&self.situation.list.contour(said.outline).cut));
        let taken_out = choice.map_or(&[][..], |choice| &choice.promise.taken_out);
        for said in pieces.iter_mut().filter(|said| taken_out.contains(&said.outline)) {
            said.lies = Lies::Removed;
        }
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
        progress.pieces.retain(|said| !cuts.contains(&situation.list.contour(said.outline).cut));
        let ghosts = list.cuts[situation.list.cuts.len()..].iter().zip(&to.strays);
        progress.made.extend(ghosts.map(|(cut, stray)| Made { depth: stray.depth, ..Made::whole(cut) }));
        SalvageScene { motions: placed.motions().clone(), list, progress }
    }

    fn trace(&self, choice: &Choice, scene: &SalvageScene) -> Result<Trace, String> {
        let first = *choice.promise.cuts.first().ok_or("nothing is cut")?;
        let there = Situation { motions: &scene.motions, list: &scene.list, ..*self.situation };
        let event = &there.motions.events()[there.list.cut(first).torch_on as usize];
        let style = Style::of(there.motions.modal(event.modal));
        let along = Along {
            cuts: &choice.promise.cuts,
            joins: &[],
            visit: None,
            standing: standing(&self.progress.pieces, &choice.promise),
        };
        trace(&there, &along, style, system_at(&there, first))
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
    progress.made.extend(ran.iter().map(|cut| Made::whole(list.cut(*cut))));
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
