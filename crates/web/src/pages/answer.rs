//! The answer to a stop: the safe order one step at a time, likely causes and the look that tells most, ways to go on,
//! and the proven program.

use super::frame::{Frame, own_entry};
use super::plate_view::{PlateView, Tap};
use super::refound::Found;
use crate::address::{AtStop, Named, OfStop};
use crate::app::App;
use crate::fields::Fields;
use crate::guard::Visit;
use crate::planned::Planned;
use crate::problem::Problem;
use crate::{report, wire};
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Redirect, Response};
use desk::figures::{counted, place, runs};
use ledger::{Entry, JobRecord, PlanChosen, StopRecord, StopReported, Text, Tick};
use maud::{Markup, html};
use rescue::{Choice, RescuePlan, Step};
use shop::StopReport;
use units::{Duration, Length, System};

/// Causes told.
const CAUSES: usize = 3;
/// Looks proposed at one time: the one that tells most, and the next.
const LOOKS: usize = 2;
/// Numbers listed.
const LISTED: usize = 8;
/// The list on which steps are ticked.
const STEPS: &str = "steps";

/// A stop's page.
pub(crate) async fn show(at: AtStop) -> Result<Html<String>, Problem> {
    at.work(move |of| {
        let planned = of.plan()?;
        let OfStop { app, visit, record, stop } = of;
        let page = Page { app, visit, record, stop, planned: &planned };
        Ok(Frame::of_job(of.job()).page(&page.body()))
    })
    .await
}

struct Page<'a> {
    app: &'a App,
    visit: Visit,
    record: &'a JobRecord,
    stop: &'a StopRecord,
    planned: &'a Planned,
}

impl Page<'_> {
    fn path(&self) -> String {
        format!("/jobs/{}/stops/{}", self.record.id, self.stop.id)
    }

    fn system(&self) -> System {
        let read = self.planned.read();
        read.reading.system(&read.inputs)
    }

    fn body(&self) -> Markup {
        let number =
            self.record.stops.iter().position(|stop| stop.id == self.stop.id).unwrap_or_default() + 1;
        html! {
            p.trail { a href={ "/jobs/" (self.record.id) } { (self.record.name) } " › Stop " (number) }
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
                            (own_entry(self.app, self.visit))
                            input type="hidden" name="about" value="where";
                            input type="hidden" name="cut" value=(cut);
                            button.main { "Cut " (cut) }
                        }
                    }
                    a.button href={ (self.path()) "/ask?about=where" } { "Show me the plate" }
                }
            }
        }
    }

    fn planned_body(&self, plan: &RescuePlan) -> Markup {
        let ticked = |step: &Step| self.record.is_ticked(STEPS, &self.tick_name(step));
        let next = plan.steps.iter().position(|step| !ticked(step));
        html! {
            div.job-page {
                div.beside {
                    h1 { "Stopped at cut " (plan.stop.cut.number()) }
                    (self.stopped_at(plan))
                    (PlateView {
                        strokes: format!("{}/strokes", self.path()),
                        picture: format!("{}/picture.svg", self.path()),
                        label: format!("The plate as it stands: what is cut, the stop at cut {}, where it goes on", plan.stop.cut.number()),
                        tap: if self.may_have_moved(plan) { Tap::Cut } else { Tap::Nothing },
                        near: Some(&format!("/jobs/{}/near", self.record.id)),
                    }.markup())
                    (self.told())
                }
                div.steps {
                    section #steps { (self.steps(plan, next)) }
                    @if self.may_have_moved(plan) { section #where { (self.found(plan)) } }
                    section #why { (self.causes(plan)) }
                    section #ways { (self.ways(plan)) }
                    (self.rest(plan))
                }
            }
        }
    }

    /// Whether the plate may lie elsewhere than where it was begun.
    fn may_have_moved(&self, plan: &RescuePlan) -> bool {
        plan.refound.is_some() || self.planned.stop.moved == Some(true) || !self.stop.measured.is_empty()
    }

    fn found(&self, plan: &RescuePlan) -> Markup {
        let Self { app, visit, record, stop, .. } = *self;
        Found { app, visit, record, stop, refound: plan.refound.as_ref(), system: self.system() }.markup()
    }

    fn stopped_at(&self, plan: &RescuePlan) -> Markup {
        let system = self.system();
        html! {
            p {
                @if let Some(at) = plan.stopped_at { "At " (place(Length::from_mm(at.x), Length::from_mm(at.y), system)) ". " }
                "Because " (plan.stop.why) "."
            }
            @if let Some(why) = &plan.stop.not_begun { p { (why) } }
            @for odd in &plan.stop.at_odds { p.callout { "Does not fit: " (odd) } }
        }
    }

    /// What was told, with the way to tell it otherwise.
    fn told(&self) -> Markup {
        let told = &self.planned.stop;
        let ask = |about: &str| format!("{}/ask?about={about}", self.path());
        let system = self.system();
        let kerf = match (told.kerf_to, told.kerf_at) {
            (Some(to), _) => to.show(system),
            (None, Some([x, y])) => place(x, y, system),
            (None, None) => "not told".to_owned(),
        };
        let rows = [
            (
                "kind",
                "What happened",
                told.kind.map_or_else(|| "not told".to_owned(), |kind| report::meaning(kind).to_owned()),
            ),
            ("where", "Cut", told.cut.map_or_else(|| "not told".to_owned(), |cut| cut.to_string())),
            ("kerf", "Through up to", kerf),
            ("fault", "Fault code", told.fault.clone().unwrap_or_else(|| "none told".to_owned())),
            (
                "moved",
                "Anything moved",
                match told.moved {
                    None => "not told",
                    Some(true) => "yes or unsure",
                    Some(false) => "no",
                }
                .to_owned(),
            ),
        ];
        html! {
            details {
                summary { "What was told" }
                dl.told { @for (about, name, value) in rows { dt { (name) } dd { (value) " " a href=(ask(about)) { "change" } } } }
            }
        }
    }

    /// By what a step is known when it is ticked: its own words, so that a step that says something else is not ticked.
    fn tick_name(&self, step: &Step) -> String {
        format!("{}: {}", self.stop.id, step.order)
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
            details {
                summary { "All steps" }
                ol.all-steps {
                    @for (k, step) in plan.steps.iter().enumerate() {
                        li class=[next.is_none_or(|next| k < next).then_some("done")] {
                            (step.order)
                            @if self.record.is_ticked(STEPS, &self.tick_name(step)) { (self.tick(step, false, "Not done")) }
                        }
                    }
                }
            }
        }
    }

    fn tick(&self, step: &Step, done: bool, label: &str) -> Markup {
        html! {
            form method="post" action={ (self.path()) "/tick" } {
                (own_entry(self.app, self.visit))
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
                    (own_entry(self.app, self.visit))
                    div.choices.two {
                        @for (word, means) in &look.answers { button name="seen" value=(word) { (means) } }
                    }
                }
            }
            ol.causes {
                @for (k, cause) in triage.causes.iter().take(CAUSES).enumerate() {
                    li {
                        details open[k == 0] {
                            summary { strong { (cause.title) } " " span.faint { (how_likely(cause.probability)) } }
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

    fn ways(&self, plan: &RescuePlan) -> Markup {
        html! {
            h2 { "How to go on" }
            @if plan.choices.is_empty() {
                div.card {
                    p.verdict { strong { "No restart program can be proven." } }
                    p { (plan.none_because.as_deref().unwrap_or("Nothing is left to cut.")) }
                }
                @if !plan.by_hand.is_empty() {
                    h3 { "By hand, unproven" }
                    ol { @for step in &plan.by_hand { li { (step.order) " " span.faint { (step.why) } } } }
                }
            }
            @for (k, choice) in plan.choices.iter().enumerate() { (self.way(choice, k == 0)) }
            @if let Some(wanted) = &plan.wanted { p.callout { strong { "What would make more provable: " } (wanted) } }
            @if !plan.refused.is_empty() && !plan.choices.is_empty() {
                details {
                    summary { "Ways that cannot be proven (" (plan.refused.len()) ")" }
                    ul { @for refused in &plan.refused { li { strong { (refused.name) } ": " (refused.why) } } }
                }
            }
        }
    }

    fn way(&self, choice: &Choice, first: bool) -> Markup {
        let system = self.system();
        let word = desk::kind_word(choice.kind);
        let taken = self.stop.chosen.as_ref().is_some_and(|chosen| chosen.way == word);
        let at = place(Length::from_mm(choice.restarts_at.x), Length::from_mm(choice.restarts_at.y), system);
        let starts = counted(choice.starts as usize, "start", "starts");
        let mut given_up: Vec<u32> = choice.promise.given_up.iter().map(|part| part.number()).collect();
        given_up.sort_unstable();
        html! {
            details.card.way open[first || taken] {
                summary { strong { (choice.title) } @if taken { span.taken { "taken" } } }
                p { "Proven. It begins at " (at) ": " (starts) ", " (Duration::from_s(choice.time_s)) "." }
                @if !given_up.is_empty() { p.callout { "It gives up part " (runs(&given_up, LISTED)) "." } }
                @if !choice.risks.is_empty() { ul { @for risk in &choice.risks { li { (risk) } } } }
                @if !choice.proof.preconditions.is_empty() {
                    p { strong { "Must be so before the start:" } }
                    ul { @for condition in &choice.proof.preconditions { li { (condition) } } }
                }
                details {
                    summary { "The proof's worst cases" }
                    table {
                        thead { tr { th { "What" } th { "Worst" } th { "Limit" } } }
                        tbody {
                            @for figure in &choice.proof.figures {
                                tr { td { (figure.name) } td { (short(figure.worst)) " " (figure.unit) } td { (short(figure.limit)) " " (figure.unit) } }
                            }
                        }
                    }
                    @if !choice.proof.unproven.is_empty() {
                        p { "Could not be proven for want of a fact:" }
                        ul { @for lack in &choice.proof.unproven { li { (lack) } } }
                    }
                }
                details {
                    summary { "Against the original: " (choice.diff.kept) " lines kept, " (choice.diff.left_out) " left out, " (choice.diff.added) " added" }
                    pre.diff tabindex="0" role="group" aria-label="Against the original, line by line" { (choice.diff.shown) }
                }
                @if taken {
                    p.files {
                        a.button.main href={ (self.path()) "/ways/" (word) "/program" } { "Keep the restart program" }
                        @if first && self.has_trace() { a.button href={ (self.path()) "/trace" } { "Keep the torch-off trace: run it first" } }
                        a.button href={ (self.path()) "/steps" } { "Keep the steps, to print" }
                        a.button href={ (self.path()) "/ways/" (word) "/changes" } { "Keep the differences" }
                        a.button href={ (self.path()) "/ways/" (word) "/plate" } { "Keep the plate's state" }
                    }
                } @else {
                    form method="post" action={ (self.path()) "/take" } {
                        (own_entry(self.app, self.visit))
                        input type="hidden" name="way" value=(word);
                        button.main { "Take this way: write its program" }
                    }
                }
            }
        }
    }

    fn has_trace(&self) -> bool {
        self.planned.outcome.as_ref().is_ok_and(|rescued| rescued.plan.trace.is_some())
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
                    details open[title == "Take care"] { summary { (title) } ul { @for line in lines { li { (line) } } } }
                }
            }
        }
    }
}

/// A probability in words: a figure would claim more than is known.
fn how_likely(probability: f64) -> &'static str {
    match probability {
        p if p >= 0.6 => "most likely",
        p if p >= 0.25 => "likely",
        p if p >= 0.08 => "possible",
        _ => "less likely",
    }
}

fn short(value: f64) -> String {
    let text = format!("{value:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
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
    at.work(move |of| {
        let planned = of.plan()?;
        let word = fields.get("way").ok_or_else(Problem::malformed)?.to_owned();
        let choice = planned.way(&word)?;
        let program = Text::new(choice.text.clone());
        let plate = Text::new(plate_text(&planned, choice)?);
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

/// The plate as strokes.
pub(crate) async fn strokes(at: AtStop) -> Result<Response, Problem> {
    at.work(move |of| {
        let planned = of.plan()?;
        let (rescued, read) = (planned.rescued()?, planned.read());
        Ok(wire::strokes(&rescued.sketch(&read.inputs, &read.reading, rescued.plan.choices.first())))
    })
    .await
}

/// The plate as a document.
pub(crate) async fn picture(at: AtStop) -> Result<Response, Problem> {
    at.work(move |of| {
        let planned = of.plan()?;
        let (rescued, read) = (planned.rescued()?, planned.read());
        Ok(wire::picture(rescued.picture(&read.inputs, &read.reading, rescued.plan.choices.first())))
    })
    .await
}

/// The program of a way, to be kept. The one that was taken is handed out as it was taken.
pub(crate) async fn program(at: AtStop, Named(way): Named) -> Result<Response, Problem> {
    at.work(move |of| {
        let planned = of.plan()?;
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
    at.work(move |of| {
        let planned = of.plan()?;
        Ok(wire::file("changes.diff", planned.way(&way)?.diff.shown.clone().into_bytes()))
    })
    .await
}

/// The plate's state for a second stop, to be kept.
pub(crate) async fn plate(at: AtStop, Named(way): Named) -> Result<Response, Problem> {
    at.work(move |of| {
        let planned = of.plan()?;
        Ok(wire::file("plate.json", plate_text(&planned, planned.way(&way)?)?))
    })
    .await
}

/// The torch-off trace, to be kept.
pub(crate) async fn trace(at: AtStop) -> Result<Response, Problem> {
    at.work(move |of| {
        let planned = of.plan()?;
        let trace = planned.rescued()?.plan.trace.as_ref().ok_or_else(|| {
            Problem::new(
                StatusCode::NOT_FOUND,
                "There is no trace for this stop.",
                "What went unchecked says why.",
            )
        })?;
        Ok(wire::file(&format!("{}-trace.nc", planned.read().inputs.stem()), trace.text.clone().into_bytes()))
    })
    .await
}

/// The steps as a text, to be kept or printed.
pub(crate) async fn steps(at: AtStop) -> Result<Response, Problem> {
    at.work(move |of| {
        let planned = of.plan()?;
        Ok(wire::file("steps.md", rescue::steps_markdown(&planned.rescued()?.plan).into_bytes()))
    })
    .await
}
