//! The whole answer to a stop, and how it is put together.

use crate::locate::locate;
use crate::moved::{Moved, on_plate_by, tells_of_edges};
use crate::options::{Options, options};
use crate::progress::{OnPlate, on_plate};
use crate::refind::Refound;
use crate::restart::OneReading;
use crate::salvage::SalvagePlan;
use crate::steps::{self, Scene, is_somewhere_in_it};
use crate::stopped::{Stopped, stopped};
use crate::trace::{Along, trace};
use crate::triage::{process_of, triage};
use crate::which_burn::in_one_burn;
use crate::{Edges, RanCut, Situation};
use cuts::{ContourId, CutId, Depth, Lies, PartId, PlateState, Progress, Said, Shape};
use geometry::{Point, Program};
use nc::{Style, Units};
use proof::{Pose, Promise, Proof};
use shop::{CutIs, PieceIs, StopKind, StopReport};
use units::System;

/// One step of the safe order of work.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Step {
    /// What to do, as an order.
    pub order: String,
    /// Why, in a sentence.
    pub why: String,
}

/// A possible cause.
#[derive(Clone, Debug, PartialEq)]
pub struct RankedCause {
    /// Its name in kebab-case, as in the shop file's `[causes]`.
    pub name: String,
    /// What it is, in plain words.
    pub title: String,
    /// Probability given the evidence, 0 to 1; all causes together 1.
    pub probability: f64,
    /// Evidence for it, in words.
    pub evidence_for: Vec<String>,
    /// Evidence against it, in words.
    pub evidence_against: Vec<String>,
    /// What to look at to tell it apart.
    pub look: String,
    /// What to do about it.
    pub fix: String,
}

impl RankedCause {
    /// How likely it is, in words: a figure would claim more than is known.
    #[must_use]
    pub fn how_likely(&self) -> &'static str {
        match self.probability {
            p if p >= 0.6 => "most likely",
            p if p >= 0.25 => "likely",
            p if p >= 0.08 => "possible",
            _ => "less likely",
        }
    }
}

/// A question whose answer would tell causes apart.
#[derive(Clone, Debug, PartialEq)]
pub struct NextLook {
    /// What to look at, as a question.
    pub question: String,
    /// The words with which the stop report's `seen` takes the answer, each with what it means.
    pub answers: Vec<(String, String)>,
    /// How much the answer is expected to tell, in bits.
    pub tells_bits: f64,
}

/// Causes ranked from the evidence.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Triage {
    /// Causes, likeliest first; probabilities sum to 1.
    pub causes: Vec<RankedCause>,
    /// The questions not yet answered that would tell most, best first.
    pub next_looks: Vec<NextLook>,
    /// Words of the report that are no observation's name, each with a hint in a sentence.
    pub not_understood: Vec<String>,
}

/// Which cut the stop was taken to be at, why, and how sure.
#[derive(Clone, Debug, PartialEq)]
pub struct TakenStop {
    /// The cut.
    pub cut: CutId,
    /// Why this one, in a sentence.
    pub why: String,
    /// Probability that it is this cut, given all that was reported, 0 to 1.
    pub probability: f64,
    /// Whether everything reported agrees.
    pub sure: bool,
    /// What was reported and does not fit, a sentence each.
    pub at_odds: Vec<String>,
    /// How far along the cut the torch stopped, if anything tells.
    pub along: Option<StoppedAlong>,
    /// Why no cut was interrupted, if none was, in a sentence.
    pub not_begun: Option<String>,
}

/// How far along a cut the torch stopped.
#[derive(Clone, Debug, PartialEq)]
pub struct StoppedAlong {
    /// In millimetres from the pierce.
    pub along_mm: f64,
    /// How far off that may be.
    pub within_mm: f64,
    /// What it was taken from.
    pub why: String,
}

/// What kind of way on it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ChoiceKind {
    /// Run again from the cut's restart block: everything that is left.
    RestartBlock,
    /// Take up the interrupted cut on the end wall of its kerf.
    KerfEnd,
    /// Take it up by a fresh pierce in scrap, led into its kerf.
    FreshPierce,
    /// Go over its groove a second time, slower.
    SecondPass,
    /// Take it up from the far end, backwards.
    Backwards,
    /// Run what is left without parts of which a cut cannot be proven; the choice's risks say which and why.
    LeaveOutUnproven,
    /// Leave out the part that was being cut, and carry on.
    SkipPart,
    /// Make parts that are lost where they were anew on free plate, and everything else that is left.
    Salvage,
}

/// How a restart program differs from the original.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Diff {
    /// Lines of the original kept word for word.
    pub kept: u32,
    /// Lines of the original left out.
    pub left_out: u32,
    /// Lines that are not in the original.
    pub added: u32,
    /// The difference for reading: `-` before lines left out, `+` before lines added, a few kept lines around, long
    /// stretches summed up.
    pub shown: String,
}

/// A way to go on.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// What kind.
    pub kind: ChoiceKind,
    /// What it is, as an order.
    pub title: String,
    /// The restart program. Bytes, since comments of the original may hold any.
    pub text: Vec<u8>,
    /// Whether untouched blocks stand in it word for word; if not, it was written anew from the motions.
    pub word_for_word: bool,
    /// What it promises.
    pub promise: Promise,
    /// Its proof.
    pub proof: Proof,
    /// Where its first start is.
    pub restarts_at: Point<Program>,
    /// Its cuts and the lines on which they stand in its text.
    pub lines: Vec<RanCut>,
    /// Starts it makes.
    pub starts: u32,
    /// Nominal time it takes, in seconds.
    pub time_s: f64,
    /// What it costs; none where nobody has told prices. Whoever knows the shop's prices fills it in: planning goes by
    /// nothing but the plate.
    pub price: Option<Price>,
    /// Parts that are not made if this way is taken. Its promise names more where it is for another sheet: all that are
    /// nobody's business there.
    pub given_up: Vec<PartId>,
    /// Parts that may be spoilt if it does not go as it should: those that the cuts taken up serve.
    pub parts_at_risk: Vec<PartId>,
    /// What could go wrong with it, a sentence each.
    pub risks: Vec<String>,
    /// How it differs from the original.
    pub diff: Diff,
    /// Its way with the torch off; none if no such program could be written, which then is said.
    pub trace: Option<Trace>,
}

/// What a way on costs, in the shop's own currency.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Price {
    /// Name of the currency; empty if it has none.
    pub currency: String,
    /// What running its program costs, each thing by its name, as far as its price is told.
    pub items: Vec<(&'static str, f64)>,
    /// Whether the price of everything that a run takes is told.
    pub is_whole: bool,
    /// Worth of the parts that it gives up, as far as that is told.
    pub given_up: Option<f64>,
    /// Worth of the parts that it may spoil, as far as that is told.
    pub at_risk: Option<f64>,
}

impl Price {
    /// What running its program costs, as far as told.
    #[must_use]
    pub fn sum(&self) -> f64 {
        self.items.iter().map(|(_, item)| item).fold(0.0, |sum, item| sum + item)
    }

    /// The price in a sentence or two.
    #[must_use]
    pub fn told(&self) -> String {
        let money = |amount: f64| match self.currency.as_str() {
            "" => format!("{amount:.2}"),
            currency => format!("{currency} {amount:.2}"),
        };
        let mut told = Vec::new();
        if !self.items.is_empty() {
            let items: Vec<String> =
                self.items.iter().map(|(name, item)| format!("{name} {item:.2}")).collect();
            let whole = if self.is_whole { "" } else { ", as far as prices are told" };
            told.push(format!("Running it costs {}{whole}: {}.", money(self.sum()), items.join(", ")));
        }
        let worth =
            [(self.given_up, "What it gives up is worth"), (self.at_risk, "What it may spoil is worth")];
        told.extend(worth.into_iter().filter_map(|(worth, says)| Some(format!("{says} {}.", money(worth?)))));
        told.join(" ")
    }
}

/// A torch-off trace: a program that goes the way of another at safe height.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Trace {
    /// The program; no torch, probe or touch-off word stands in it.
    pub text: String,
    /// What must be so before it is run, a sentence each.
    pub preconditions: Vec<String>,
}

/// A way to go on that cannot be proven.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refused {
    /// What it is, in words.
    pub name: String,
    /// Why it cannot be proven, in words.
    pub why: String,
}

/// "Start at line N", proven.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StartAt {
    /// The line of the original, from 1.
    pub line: u32,
    /// For which controls it is proven, in words.
    pub holds_for: String,
    /// What must be so before the start.
    pub preconditions: Vec<String>,
}

/// The whole answer.
#[derive(Clone, Debug, PartialEq)]
pub struct RescuePlan {
    /// Where it stopped.
    pub stop: TakenStop,
    /// Where the torch stood, as far as it is known.
    pub stopped_at: Option<Point<Program>>,
    /// The same as the control showed it, on a plate that lay where an earlier stop had found it.
    pub shown_at: Option<Point<Program>>,
    /// What has been made on the plate.
    pub progress: Progress,
    /// Where the plate lies now, if it was measured.
    pub refound: Option<Refound>,
    /// The pose that all programs of the plan are written and proven on; none if the plate lies where it was begun.
    pub pose: Option<Pose>,
    /// Where the plate's edges lie, if its datum was found to have been wrong, now or at an earlier stop.
    pub edges: Option<Edges>,
    /// Whether the plate was begun with a wrong datum: it has not moved, and what is left goes on in that datum.
    pub datum_was_wrong: bool,
    /// What was assumed of the plate where nothing was told, a sentence each.
    pub assumed: Vec<String>,
    /// The safe order of work.
    pub steps: Vec<Step>,
    /// Causes, likeliest first, and the next look.
    pub triage: Triage,
    /// Ways to go on that are proven, best first; empty if none can be.
    pub choices: Vec<Choice>,
    /// Ways to go on that cannot be proven: each with its name and why, a sentence.
    pub refused: Vec<Refused>,
    /// Why there is none, if so, and what would make one provable.
    pub none_because: Option<String>,
    /// Whether every cut has been made: then there is none because nothing is left to cut.
    pub all_is_made: bool,
    /// The one fact or measurement that would make more of it provable.
    pub wanted: Option<Wanted>,
    /// Where there is no proven choice: what can be done by hand, unproven.
    pub by_hand: Vec<Step>,
    /// Whether and how "start at line N" may be used instead.
    pub start_at_line: Option<StartAt>,
    /// What the best way on gives up, made anew on free plate: its choice is the last of `choices`.
    pub salvage: Option<SalvagePlan>,
    /// Cautions that apply.
    pub cautions: Vec<String>,
    /// What went unchecked for want of a fact, each with the fact.
    pub unchecked: Vec<String>,
}

impl RescuePlan {
    /// The torch-off trace of the first way on.
    #[must_use]
    pub fn trace(&self) -> Option<&Trace> {
        self.choices.first()?.trace.as_ref()
    }
}

/// The one fact that would make more of a plan provable.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wanted {
    /// Which.
    pub fact: Fact,
    /// It in words, and how a stop file tells it.
    pub says: String,
}

/// A fact of the plate that somebody could look up or measure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fact {
    /// How far the kerf of this cut is through, or that with less doubt.
    KerfEnd(CutId),
    /// How far the torch got along this cut.
    Reached(CutId),
    /// How the piece that this cut frees lies, or that it is held.
    Piece(CutId),
    /// Whether the slug of this cut, which is loose, has left a nib on the part at the seam, and where that begins.
    Seam(CutId),
    /// How wide the hole is that was blown at this cut.
    Blown(CutId),
    /// Where the plate lies, by more places measured.
    Place,
}

/// Why no cut could be taken from a stop report.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NoSuchStop {
    /// What is wrong and what to tell instead, in a sentence.
    pub message: String,
    /// Numbers of the cuts it could be, if several.
    pub candidates: Vec<u32>,
}

/// The report without its word that a cut is partial; none if it says nothing of the kind.
fn without_partial(stop: &StopReport, cut: CutId) -> Option<StopReport> {
    let is_partial = |said: &shop::CutState| said.cut == cut.number() && said.is == CutIs::Partial;
    let state: Vec<_> = stop.state.iter().filter(|said| !is_partial(said)).copied().collect();
    (state.len() < stop.state.len()).then(|| StopReport { state, ..stop.clone() })
}

/// Plans the rescue. Every choice is proven on the bytes it holds before it is in the plan.
///
/// **Cost**: n log n in the number of motions, most of it the proofs.
///
/// # Errors
/// If the report matches no cut, or several that cannot be told apart.
pub fn plan(situation: &Situation<'_>, stop: &StopReport) -> Result<RescuePlan, NoSuchStop> {
    let as_told = situation;
    let found_ground = as_told.found_ground();
    let found = Situation { ground: found_ground.as_ref().unwrap_or(as_told.ground), ..*as_told };
    let situation = &found;
    let list = situation.list;
    let kerf = situation.ground.kerf;
    let told = stop;
    let lay = situation.pose.or(situation.earlier.and_then(|earlier| earlier.pose.as_ref()));
    let carried = lay.map(|pose| on_plate_by(pose, stop));
    let stop = carried.as_ref().unwrap_or(stop);
    let before = situation.earlier.map(|earlier| earlier.progress.clone()).unwrap_or_default();
    let mut taken = locate(situation, stop, &PlateState::after(list, before, kerf))?;
    let in_one_burn = in_one_burn(situation, stop, taken.cut)?;
    let situation = &Situation { earlier: in_one_burn.as_ref().or(situation.earlier), ..*situation };
    let failed_to_start = stop.kind.is_none_or(|kind| kind == StopKind::NoTransfer);
    let mut stands = Stands::of(situation, stop, taken.cut);
    // A start that failed has left the kerf as it was, whose end is known no worse than it is told now.
    let as_it_was = (failed_to_start && stands.state.is_whole(list, taken.cut))
        .then(|| without_partial(stop, taken.cut))
        .flatten();
    let stop = as_it_was.as_ref().unwrap_or(stop);
    if as_it_was.is_some() {
        stands = Stands::of(situation, stop, taken.cut);
    }
    if failed_to_start && stands.state.is_whole(list, taken.cut) {
        return Err(NoSuchStop {
            message: format!(
                "cut {} is told to be whole, so it cannot be the start that failed: take one of the two back",
                taken.cut.number()
            ),
            candidates: Vec::new(),
        });
    }
    let system = system_at(situation, taken.cut);
    let is_wrong_datum = tells_of_edges(as_told.earlier, told);
    // Where edges lie that were told at a wrong datum is measured from where they were told.
    let moved = Moved::of(if is_wrong_datum { as_told } else { situation }, told, &stands.state, system);
    let edges = moved.edges.or(as_told.earlier.and_then(|earlier| earlier.edges));
    let moved_ground = moved.edges.map(|edges| edges.of(as_told.ground, as_told, &stands.on_plate.progress));
    let left_out = moved.earlier(situation);
    let earlier = left_out.as_ref().or(situation.earlier);
    let ground = moved_ground.as_ref().unwrap_or(situation.ground);
    let there = Situation { pose: moved.pose.as_ref(), earlier, ground, ..*situation };
    let situation = &there;
    let jogged_to = moved.jogged_to(told, stop);
    let stop = jogged_to.as_ref().unwrap_or(stop);
    if jogged_to.is_some() {
        stands = Stands::of(situation, stop, taken.cut);
    }
    let Stands { on_plate, state, stopped } = stands;
    taken.sure &= stopped.at_odds.is_empty();
    taken.at_odds.extend(stopped.at_odds);
    (taken.along, taken.not_begun) = (stopped.along, stopped.not_begun);
    let (mut triage, mut unchecked) = triage(situation, stop, taken.cut, &state);
    triage.not_understood.extend(on_plate.not_understood.iter().cloned());
    let once = OneReading::of(situation);
    let scene = Scene {
        situation,
        once: &once,
        stop,
        taken: &taken,
        state: &state,
        triage: &triage,
        system,
        current: current(situation, taken.cut),
    };
    let mut options = match &moved.in_the_way {
        Some(why) => {
            Options { none_because: Some(why.clone()), wanted: moved.wanted.clone(), ..Options::default() }
        }
        None => options(&scene, &on_plate, moved.wanted.as_ref()),
    };
    for choice in &mut options.choices {
        choice.risks.extend(moved.left_out.iter().map(|(_, why)| why.clone()));
    }
    add_traces(&scene, &mut options.choices, &mut unchecked);
    for choice in &options.choices {
        unchecked.extend(
            choice
                .proof
                .unproven
                .iter()
                .filter(|lack| !unchecked.contains(lack))
                .cloned()
                .collect::<Vec<_>>(),
        );
    }
    // By hand only where the plate lies is known: by its old place everything would be cut beside it.
    let has_program = !options.choices.is_empty();
    let all_is_made = scene.all_is_made();
    let by_hand = match !has_program && !all_is_made && moved.in_the_way.is_none() {
        true => steps::by_hand(&scene),
        false => Vec::new(),
    };
    let mut steps = steps::safe_order(&scene, has_program);
    let cautions = steps::cautions(situation, scene.current);
    moved.add_second_reading(&mut steps);
    moved.add_visit(&mut steps, system);
    let stopped_at = stopped_at(situation, stop, &taken, &on_plate);
    Ok(RescuePlan {
        stopped_at,
        shown_at: stopped_at.map(|at| lay.map_or(at, |lay| lay.placement.point(at))),
        stop: taken,
        assumed: on_plate.assumed,
        progress: on_plate.progress,
        refound: moved.refound,
        pose: moved.pose.clone(),
        edges,
        datum_was_wrong: is_wrong_datum,
        steps,
        triage,
        choices: options.choices,
        refused: options.refused,
        none_because: options.none_because,
        all_is_made,
        wanted: options.wanted,
        by_hand,
        start_at_line: options.start_at_line,
        salvage: options.salvage,
        cautions,
        unchecked,
    })
}

/// The plate as it stands.
struct Stands {
    on_plate: OnPlate,
    /// With the operator's word on its pieces.
    state: PlateState,
    stopped: Stopped,
}

impl Stands {
    /// What has been made when `cut` stopped.
    fn of(situation: &Situation<'_>, stop: &StopReport, cut: CutId) -> Self {
        let stopped = stopped(situation, stop, cut);
        let mut on_plate = on_plate(situation, stop, cut, &stopped);
        let state = PlateState::after(situation.list, on_plate.progress.clone(), situation.ground.kerf);
        let said = said(situation, stop, &state, &mut on_plate.not_understood);
        let state = state.with_said(situation.list, &said);
        on_plate.progress.pieces.clone_from(&state.progress().pieces);
        Self { on_plate, state, stopped }
    }
}

/// Where the torch stood: as told; else, for a stop on the way, where its kerf ends; else at the pierce, if it was not
/// on its way.
fn stopped_at(
    situation: &Situation<'_>,
    stop: &StopReport,
    taken: &TakenStop,
    on_plate: &OnPlate,
) -> Option<Point<Program>> {
    let told = stop.at.map(|[x, y]| Point::new(x.mm(), y.mm()));
    let cut = situation.list.cut(taken.cut);
    let along = taken.along.as_ref().map(|along| along.along_mm);
    let kerf = on_plate.progress.made.iter().rfind(|made| made.cut == cut.id && made.depth == Depth::Through);
    let along = along.or(kerf.map(|made| made.along_mm.end));
    if told.is_none() && is_somewhere_in_it(situation.list, taken, &on_plate.progress) {
        return None;
    }
    told.or_else(|| cut.path.point_at(along?)).or(Some(cut.pierce.at))
}

/// The operator's word on loose pieces, each by the cut that freed it. What is said to be loose is, also where its kerf
/// is not known to have closed.
fn said(
    situation: &Situation<'_>,
    stop: &StopReport,
    state: &PlateState,
    not_understood: &mut Vec<String>,
) -> Vec<Said> {
    let list = situation.list;
    let mut said = Vec::new();
    for (number, is) in &stop.pieces {
        let lies = match is {
            PieceIs::Fell => Lies::Fell,
            PieceIs::Flat => Lies::Flat,
            PieceIs::Standing => Lies::Standing,
            PieceIs::Removed => Lies::Removed,
            // It is no loose piece: what its kerf lacks to close is held.
            PieceIs::Held => continue,
        };
        let freed = state.loose().iter().filter(|piece| piece.freed_by.number() == *number);
        let mut outlines: Vec<ContourId> = freed.map(|piece| piece.outline).collect();
        if outlines.is_empty() {
            let cut = list.by_number(*number).into_iter().flat_map(|cut| &cut.bounds);
            let frees = |id: &&ContourId| {
                let contour = list.contour(**id);
                contour.closed.is_some() && matches!(contour.shape, Shape::Outline | Shape::Hole)
            };
            outlines.extend(cut.filter(frees));
            if outlines.len() > 1 {
                not_understood.push(format!(
                    "a piece is told of cut {number}, which bounds several pieces and has closed none: tell the cut that \
                     freed it"
                ));
                outlines.clear();
            }
        }
        said.extend(outlines.into_iter().map(|outline| Said { outline, lies }));
    }
    said
}

/// The units to tell places in: those asked for, else those the program is written in where the cut starts.
pub(crate) fn system_at(situation: &Situation<'_>, cut: CutId) -> System {
    situation.told_in.unwrap_or_else(|| {
        let event = &situation.motions.events()[situation.list.cut(cut).torch_on as usize];
        system_of(situation.motions.modal(event.modal).units)
    })
}

/// The system of a program's units.
pub(crate) const fn system_of(units: Units) -> System {
    match units {
        Units::Millimetres => System::Metric,
        Units::Inches => System::Inch,
    }
}

pub(crate) fn current(situation: &Situation<'_>, cut: CutId) -> Option<units::Current> {
    process_of(situation.shop?, situation, situation.list.cut(cut))?.current
}

/// The pieces that stand while what is promised is cut, by their outer contours.
pub(crate) fn standing(pieces: &[Said], promise: &Promise) -> Vec<ContourId> {
    let stands = pieces.iter().filter(|said| said.lies == Lies::Standing).map(|said| said.outline);
    stands.filter(|outline| !promise.taken_out.contains(outline)).collect()
}

/// Gives each choice its trace; a salvage has one. Where none can be written, that went unchecked with the first way, and
/// may go wrong with another.
fn add_traces(scene: &Scene<'_>, choices: &mut [Choice], unchecked: &mut Vec<String>) {
    let without = |(_, choice): &(usize, &mut Choice)| choice.kind != ChoiceKind::Salvage;
    for (k, choice) in choices.iter_mut().enumerate().filter(without) {
        match trace_of(scene, choice) {
            Ok(trace) => choice.trace = Some(trace),
            Err(why) => {
                let says = format!("No trace could be written: {why}.");
                if k == 0 { unchecked.push(says) } else { choice.risks.push(says) }
            }
        }
    }
}

fn trace_of(scene: &Scene<'_>, choice: &Choice) -> Result<Trace, String> {
    let event =
        &scene.situation.motions.events()[scene.situation.list.cut(scene.taken.cut).torch_on as usize];
    let style = Style::of(scene.situation.motions.modal(event.modal));
    let along = Along {
        cuts: &choice.promise.cuts,
        joins: &choice.lines,
        visit: steps::visit_first(scene),
        standing: standing(&scene.state.progress().pieces, &choice.promise),
    };
    trace(scene.situation, &along, style, scene.system)
}
