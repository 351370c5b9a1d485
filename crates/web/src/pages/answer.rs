//! The answer to a stop: the safe order one step at a time, likely causes and the look that tells most, ways to go on,
//! and the proven program.

use super::frame::{Frame, own_entry};
use super::plate_view::{PlateView, Tap};
use super::refound::Found;
use crate::address::{Asked, AtStop, Named, OfStop};
use crate::fields::Fields;
use crate::inches::in_system;
use crate::planned::Planned;
use crate::problem::Problem;
use crate::{report, wire};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use desk::figures::{counted, place};
use ledger::{Entry, PlanChosen, StopReported, Text, Tick};
use maud::{Markup, html};
use rescue::{Choice, RescuePlan, Step};
use serde::Deserialize;
use shop::StopReport;
use units::{Length, System};

/// Causes told.
const CAUSES: usize = 3;
/// Looks proposed at one time: the one that tells most, and the next.
const LOOKS: usize = 2;
/// Numbers listed.
pub(super) const LISTED: usize = 8;
/// The list on which steps are ticked.
const STEPS: &str = "steps";

/// A stop's page.
pub(crate) async fn show(at: AtStop) -> Result<Response, Problem> {
    at.planned_page(move |of, planned| {
        let page = Page { of, planned };
        Ok(Frame::of_job(of.job()).page(&page.body()))
    })
    .await
}

/// A stop's page.
pub(super) struct Page<'a> {
    pub(super) of: OfStop<'a>,
    pub(super) planned: &'a Planned,
}

impl Page<'_> {
    pub(super) fn path(&self) -> String {
        self.of.path()
    }

    pub(super) fn system(&self) -> System {
        self.planned.system()
    }

    /// What every form on it begins with.
    pub(super) fn own_entry(&self) -> Markup {
        own_entry(self.of.app, self.of.visit)
    }

    fn body(&self) -> Markup {
        let number =
            self.of.record.stops.iter().position(|stop| stop.id == self.of.stop.id).unwrap_or_default() + 1;
        html! {
            p.trail { a href={ "/jobs/" (self.of.record.id) } translate="no" { (self.of.record.name) } " › Stop " (number) }
            @match &self.planned.outcome {
                Err(none) => (self.not_placed(&none.message, &none.candidates)),
                Ok(rescued) => (self.planned_body(&rescued.plan)),
            }
        }
    }

    /// The report fits no cut, or several.
    fn not_placed(&self, message: &str, candidates: &[u32]) -> Markup {
        html! {
            section.card {
                h1 { "At which cut did it stop?" }
                p { (message) }
                div.choices.two {
                    @for cut in candidates.iter().take(LISTED) {
                        form method="post" action={ (self.path()) "/tell" } {
                            (self.own_entry())
                            input type="hidden" name="about" value="where";
                            input type="hidden" name="cut" value=(cut);
                            button.main { "Cut " (cut) }
                        }
                    }
                    a.button href={ (self.path()) "/ask?about=where" } { "Show me the plate" }
                    a.button href={ (self.path()) "/ask?about=noted" } { "Tell the line, X and Y" }
                }
            }
        }
    }

    fn planned_body(&self, plan: &RescuePlan) -> Markup {
        let ticked = |step: &Step| self.of.record.is_ticked(STEPS, &self.tick_name(step));
        let next = plan.steps.iter().position(|step| !ticked(step));
        html! {
            div.job-page.answer {
                div.head { h1 { "Stopped at cut " (plan.stop.cut.number()) } (self.odds()) }
                section.first #steps { (self.steps(plan, next)) }
                div.beside {
                    (PlateView {
                        strokes: format!("{}/strokes", self.path()),
                        picture: format!("{}/picture.svg", self.path()),
                        label: format!("The plate as it stands: what is cut, the stop at cut {}, where it goes on", plan.stop.cut.number()),
                        tap: Tap::Nothing,
                        near: None,
                    }.markup())
                    (self.stopped_at(plan))
                    (self.told())
                }
                div.steps {
                    @if self.may_lie_elsewhere() { section #where { (self.found()) } }
                    section #why { (self.causes(plan)) }
                    section #ways { (self.ways(plan)) }
                    (self.rest(plan))
                }
            }
        }
    }

    fn may_lie_elsewhere(&self) -> bool {
        let told = &self.planned.stop;
        let rescued = self.planned.outcome.as_ref();
        rescued.is_ok_and(|rescued| rescued.may_lie_elsewhere(told.kind, told.moved))
    }

    fn found(&self) -> Markup {
        Found { of: self.of, planned: self.planned }.summary()
    }

    /// What was told and cannot be so together.
    fn odds(&self) -> Markup {
        html! {
            @if let Some((what, _)) = self.planned.stop.at_odds() {
                div.callout {
                    p { strong { "That does not fit together: " } (what) "." }
                    a.button href={ (self.path()) "/ask?about=odds" } { "Say what is so" }
                }
            }
        }
    }

    /// Which cut and place it was taken to be, why, and how sure that is.
    fn stopped_at(&self, plan: &RescuePlan) -> Markup {
        let system = self.system();
        let stop = &plan.stop;
        let along = stop.along.as_ref().map(|along| {
            let (mm, within) = (Length::from_mm(along.along_mm), Length::from_mm(along.within_mm));
            format!("{} along it, give or take {}, by {}", mm.show(system), within.show(system), along.why)
        });
        html! {
            p {
                "Taken to be cut " (stop.cut.number())
                @if let Some(at) = plan.shown_at { " at " (place(Length::from_mm(at.x), Length::from_mm(at.y), system)) }
                @if let Some(along) = along { ", " (along) }
                ": " (stop.why) ". "
                @if stop.sure { "All that was told agrees." } @else { strong { "This is not sure." } }
            }
            @if let Some(why) = &stop.not_begun { p { (why) "." } }
            @for odd in &stop.at_odds { p.callout { "Does not fit: " (odd) "." } }
            @if !stop.sure { p { a.button href={ (self.path()) "/ask?about=where&then=answer" } { "It was another cut" } } }
        }
    }

    /// What was told, with the way to tell it otherwise, and what more can be told.
    fn told(&self) -> Markup {
        html! {
            details.on-paper {
                summary { "What was told, and what more there is to tell" }
                dl.told {
                    @for (about, name, value) in told_rows(&self.planned.stop, self.system()) {
                        dt { (name) }
                        dd { (value) " " a href={ (self.path()) "/ask?about=" (about) "&then=answer" } aria-label={ "change: " (name) } { "change" } }
                    }
                }
            }
        }
    }

    /// By what a step is known when it is ticked: its own words, so that a step that says something else is not ticked.
    fn tick_name(&self, step: &Step) -> String {
        format!("{}: {}", self.of.stop.id, step.order)
    }

    /// The safe order: the next step large, those done and those to come below.
    fn steps(&self, plan: &RescuePlan, next: Option<usize>) -> Markup {
        let all = plan.steps.len();
        html! {
            h2 { "First, in this order" }
            @match next {
                Some(k) => div.card.step {
                    p.count { "Step " (k + 1) " of " (all) }
                    p.order { (plan.steps[k].order) }
                    p.faint { (plan.steps[k].why) }
                    (self.tick(&plan.steps[k], true, "Done: next step"))
                },
                None => p.callout { "All " (all) " steps are ticked." },
            }
            details.on-paper {
                summary { "All steps" }
                ol.all-steps {
                    @for (k, step) in plan.steps.iter().enumerate() {
                        li class=[next.is_none_or(|next| k < next).then_some("done")] {
                            (step.order)
                            @if self.of.record.is_ticked(STEPS, &self.tick_name(step)) { (self.tick(step, false, "Not done")) }
                        }
                    }
                }
            }
        }
    }

    fn tick(&self, step: &Step, done: bool, label: &str) -> Markup {
        html! {
            form method="post" action={ (self.path()) "/tick" } {
                (self.own_entry())
                input type="hidden" name="item" value=(self.tick_name(step));
                input type="hidden" name="done" value=(done);
                button class=[done.then_some("main")] { (label) }
            }
        }
    }

    /// A few causes in words, and the look that tells most: an answer is one tap.
    fn causes(&self, plan: &RescuePlan) -> Markup {
        let triage = &plan.triage;
        html! {
            @if !triage.causes.is_empty() { h2 { "Why it may have stopped" } }
            @for look in triage.next_looks.iter().take(LOOKS) {
                form.card.look method="post" action={ (self.path()) "/tell-seen" } {
                    p { strong { (look.question) } }
                    (self.own_entry())
                    div.choices.two {
                        @for (word, means) in &look.answers { button name="seen" value=(word) { (means) } }
                    }
                }
            }
            ol.causes {
                @for (k, cause) in triage.causes.iter().take(CAUSES).enumerate() {
                    li {
                        details.on-paper open[k == 0] {
                            summary { strong { (cause.title) } " " span.faint { (cause.how_likely()) } }
                            @if !cause.evidence_for.is_empty() { p { "For it: " (cause.evidence_for.join("; ")) "." } }
                            @if !cause.evidence_against.is_empty() { p { "Against it: " (cause.evidence_against.join("; ")) "." } }
                            p { strong { "Look: " } (cause.look) }
                            p { strong { "Then: " } (cause.fix) }
                        }
                    }
                }
            }
            @for word in &triage.not_understood { p.callout { "Not understood: " (word) } }
        }
    }

    fn rest(&self, plan: &RescuePlan) -> Markup {
        let read = self.planned.read();
        let system = self.system();
        let mut assumed: Vec<String> =
            read.reading.assumed(&read.inputs).into_iter().map(|a| a.says(system)).collect();
        assumed.extend(plan.assumed.iter().cloned());
        let lists = [("Take care", &plan.cautions), ("Assumed", &assumed), ("Not checked", &plan.unchecked)];
        html! {
            @for (title, lines) in lists {
                @if !lines.is_empty() {
                    details.on-paper open[title == "Take care"] { summary { (title) } ul { @for line in lines { li { (line) } } } }
                }
            }
        }
    }
}

/// What was told, row by row: the question by which it is told otherwise, its name, and the answer.
fn told_rows(told: &StopReport, system: System) -> Vec<(&'static str, &'static str, String)> {
    let untold = || "not told".to_owned();
    let length = |length: Option<Length>| length.map_or_else(untold, |length| length.show(system));
    let kerf = match (told.kerf_to, told.kerf_at) {
        (Some(to), _) => to.show(system),
        (None, Some([x, y])) => place(x, y, system),
        (None, None) => untold(),
    };
    let within =
        told.kerf_within.map_or_else(String::new, |within| format!(", give or take {}", within.show(system)));
    let (kerf, blown) = match told.blown {
        None => (kerf + &within, untold()),
        Some(blown) => (kerf, blown.show(system) + &within.replace(", ", " across, its radius ")),
    };
    let noted: Vec<String> = [
        told.line.map(|line| format!("line {line}")),
        told.at.map(|[x, y]| place(x, y, system)),
        told.time.map(|time| format!("after {time}")),
        told.stopped_along.map(|along| format!("torch {} along the cut", along.show(system))),
    ]
    .into_iter()
    .flatten()
    .collect();
    let states: Vec<String> =
        told.state.iter().map(|state| format!("cut {}: {}", state.cut, report::meaning(state.is))).collect();
    let pieces: Vec<String> =
        told.pieces.iter().map(|(cut, is)| format!("of cut {cut}: {}", report::meaning(*is))).collect();
    let strays = told.strays.len();
    let listed = |all: &[String]| if all.is_empty() { untold() } else { all.join("; ") };
    vec![
        ("kind", "What happened", told.kind.map_or_else(untold, |kind| report::meaning(kind).to_owned())),
        ("where", "At cut", told.cut.map_or_else(untold, |cut| cut.to_string())),
        ("noted", "The control showed", listed(&noted)),
        ("since", "Since cut", told.from_cut.map_or_else(untold, |cut| cut.to_string())),
        ("good", "Good up to", length(told.bad_from)),
        ("kerf", "Through up to", kerf),
        ("blown", "Hole blown", blown),
        ("fault", "Fault code", told.fault.clone().unwrap_or_else(|| "none told".to_owned())),
        ("cuts", "Cuts looked at", listed(&states)),
        ("pieces", "Pieces", listed(&pieces)),
        (
            "strays",
            "Cut beside the cuts",
            if strays == 0 { untold() } else { counted(strays, "place", "places") },
        ),
        (
            "moved",
            "Plate moved",
            match told.moved {
                None => untold(),
                Some(true) => "yes, or unsure".to_owned(),
                Some(false) => "no".to_owned(),
            },
        ),
    ]
}

/// A step was ticked.
pub(crate) async fn tick(at: AtStop, fields: Fields) -> Result<Response, Problem> {
    at.work(move |of| {
        let item = fields.get("item").ok_or_else(Problem::malformed)?.to_owned();
        let done = fields.must("done")?;
        of.keep(fields.entry()?, Entry::Tick(Tick { list: STEPS.to_owned(), item, done }), &[])?;
        Ok(Redirect::to(&(of.path() + "#steps")).into_response())
    })
    .await
}

/// Something was seen or heard.
pub(crate) async fn seen(at: AtStop, fields: Fields) -> Result<Response, Problem> {
    at.work(move |of| {
        let (mut told, _) = StopReport::parse(&of.stop.report);
        let word = fields.get("seen").ok_or_else(Problem::malformed)?;
        if !told.seen.iter().any(|other| other == word) {
            told.seen.push(word.to_owned());
        }
        let entry = StopReported { stop: of.stop.id, report: report::text(&told) };
        of.keep(fields.entry()?, Entry::StopReported(entry), &[])?;
        Ok(Redirect::to(&(of.path() + "#why")).into_response())
    })
    .await
}

/// A way to go on was taken: its program and the plate's state are kept.
pub(crate) async fn take(at: AtStop, fields: Fields) -> Result<Response, Problem> {
    at.planned(move |of, planned| {
        let word = fields.get("way").ok_or_else(Problem::malformed)?.to_owned();
        let choice = planned.way(&word)?;
        let program = Text::new(choice.text.clone());
        let plate = Text::new(plate_text(planned, choice)?);
        let chosen = PlanChosen { stop: of.stop.id, way: word, program: program.id(), plate: plate.id() };
        of.keep(fields.entry()?, Entry::PlanChosen(chosen), &[program, plate])?;
        Ok(Redirect::to(&(of.path() + "#ways")).into_response())
    })
    .await
}

fn plate_text(planned: &Planned, choice: &Choice) -> Result<Vec<u8>, Problem> {
    let read = planned.read();
    let name = planned.program_name(desk::kind_word(choice.kind));
    let plate = planned.rescued()?.plate_file(&read.inputs, &read.reading, Some((choice, &name)));
    let plate = plate.ok_or_else(|| {
        Problem::unfit("Where the plate lies is not known well enough.", "Measure a few more places on it.")
    })?;
    Ok(plate.text().into_bytes())
}

/// Of which way on a picture is asked for.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct OfWay {
    /// None: the first.
    way: Option<String>,
}

impl OfWay {
    fn choice<'p>(&self, planned: &'p Planned) -> Result<Option<&'p Choice>, Problem> {
        match &self.way {
            Some(way) => planned.way(way).map(Some),
            None => Ok(planned.rescued()?.plan.choices.first()),
        }
    }
}

/// The plate as strokes.
pub(crate) async fn strokes(at: AtStop, Asked(asked): Asked<OfWay>) -> Result<Response, Problem> {
    at.planned(move |_, planned| {
        let (rescued, read) = (planned.rescued()?, planned.read());
        Ok(wire::strokes(&rescued.sketch(&read.inputs, &read.reading, asked.choice(planned)?)))
    })
    .await
}

/// The plate as a document.
pub(crate) async fn picture(at: AtStop, Asked(asked): Asked<OfWay>) -> Result<Response, Problem> {
    at.planned(move |_, planned| {
        let (rescued, read) = (planned.rescued()?, planned.read());
        Ok(wire::picture(rescued.picture(&read.inputs, &read.reading, asked.choice(planned)?)))
    })
    .await
}

/// The program of a way, to be kept. The one that was taken is handed out as it was taken.
pub(crate) async fn program(at: AtStop, Named(way): Named) -> Result<Response, Problem> {
    at.planned(move |of, planned| {
        let chosen = of.stop.chosen.as_ref().filter(|chosen| chosen.way == way);
        let text = match chosen {
            Some(chosen) => of.app.ledger().text(chosen.program)?,
            None => planned.way(&way)?.text.clone(),
        };
        Ok(wire::file(&planned.program_name(&way), text))
    })
    .await
}

/// How the program of a way differs from the original, to be kept.
pub(crate) async fn changes(at: AtStop, Named(way): Named) -> Result<Response, Problem> {
    at.planned(move |_, planned| {
        Ok(wire::file("changes.diff", planned.way(&way)?.diff.shown.clone().into_bytes()))
    })
    .await
}

/// The plate's state for a second stop, to be kept.
pub(crate) async fn plate(at: AtStop, Named(way): Named) -> Result<Response, Problem> {
    at.planned(move |_, planned| Ok(wire::file("plate.json", plate_text(planned, planned.way(&way)?)?))).await
}

/// A way with the torch off, to be kept.
pub(crate) async fn trace(at: AtStop, Named(way): Named) -> Result<Response, Problem> {
    at.planned(move |_, planned| {
        let trace = planned.way(&way)?.trace.as_ref().ok_or_else(|| {
            Problem::new(
                StatusCode::NOT_FOUND,
                "There is no trace for this way.",
                "What could go wrong with it, or what went unchecked, says why.",
            )
        })?;
        Ok(wire::file(&planned.trace_name(&way), trace.text.clone().into_bytes()))
    })
    .await
}

/// The steps as a text, to be kept or printed.
pub(crate) async fn steps(at: AtStop) -> Result<Response, Problem> {
    at.planned(move |_, planned| Ok(wire::file("steps.md", steps_text(planned)?.into_bytes()))).await
}

fn steps_text(planned: &Planned) -> Result<String, Problem> {
    let text = rescue::steps_markdown(&planned.rescued()?.plan);
    Ok(in_system(&text, planned.system()).into_owned())
}
