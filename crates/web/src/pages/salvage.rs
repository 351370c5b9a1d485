//! The page of lost parts made anew.

use super::frame::{Frame, own_entry};
use super::ways::{proof, stake};
use crate::address::{Asked, AtStop, Named, OfStop};
use crate::anew::{Anew, Ask};
use crate::app::new_id;
use crate::facts::without;
use crate::fields::Fields;
use crate::problem::Problem;
use crate::report::sentence;
use crate::wire;
use crate::works::{Met, Patience};
use axum::response::{IntoResponse, Redirect, Response};
use desk::figures::{counted, runs};
use ledger::{Entry, JobOpened, PlanChosen, Text};
use maud::{Markup, html};
use units::Duration;

/// The word for this way on, beside those that a plan offers.
const WAY: &str = "salvage-after";
/// Numbers listed.
const LISTED: usize = 12;

/// What can be made anew, and how.
pub(crate) async fn show(at: AtStop, Asked(ask): Asked<Ask>) -> Result<Response, Problem> {
    let done = match ask.is_asked() {
        false => None,
        true => match at.made_anew(&ask, Patience::Blink).await? {
            (_, Met::Made(done)) => Some(done),
            (_, Met::Waits(work)) => return Ok(at.waits(&work)),
        },
    };
    at.page(move |of, opened| {
        let file = of.app.left_at(of.stop)?;
        let given_up = runs(&file.given_up, usize::MAX).replace('–', "-");
        let parts = if !ask.is_asked() && !given_up.contains('-') { given_up } else { ask.parts.clone() };
        let taken = of.stop.chosen.as_ref().is_some_and(|chosen| chosen.way == WAY);
        Ok(Frame::of_job(of.job()).page(&html! {
            p.trail { a href=(of.job().path()) { (of.record.name) } " › " a href=(of.path()) { "the stop" } " › parts made anew" }
            h1 { "Lost parts, made anew" }
            @if taken {
                p.callout { "A program for this was taken. " a href={ (of.path()) "/salvage/taken" } { "Keep it once more" } }
            }
            // What was asked for comes first; it can be asked otherwise below.
            @if let Some(done) = &done {
                (result(of, &ask, done))
                h2 { "Other parts, or another place" }
            }
            (form(of, opened.unit(), &ask, (&parts, &file.given_up)))
        }))
    })
    .await
}

/// `parts` are filled in, `given_up` those that were given up so far.
fn form(of: OfStop<'_>, unit: &str, ask: &Ask, (parts, given_up): (&str, &[u32])) -> Markup {
    let unit = if ["mm", "in"].contains(&ask.unit.as_str()) { ask.unit.as_str() } else { unit };
    html! {
        form.card.drop action={ (of.path()) "/salvage" } {
            input type="hidden" name="go" value="yes";
            label {
                span { "Parts, by their numbers on the picture" }
                input name="parts" value=(parts) autocomplete="off" placeholder=(runs(given_up, LISTED));
            }
            @if !given_up.is_empty() { p.faint { "Given up so far: part " (runs(given_up, LISTED)) ". Left empty, these are made." } }
            div.radios {
                label.tick {
                    input type="radio" name="sheet" value="same" checked[!ask.is_on_remnant()];
                    span { "On this sheet, once the program taken last has run to its end" }
                }
                label.tick {
                    input type="radio" name="sheet" value="remnant" checked[ask.is_on_remnant()];
                    span { "On a remnant of the same plate" }
                }
            }
            div.row {
                label {
                    span { "The remnant: width x height, or its corners" }
                    input name="remnant" value=(ask.remnant) autocomplete="off" placeholder="600x400";
                }
                (super::ask::unit_choice(unit))
            }
            label {
                span { "Cuts whose loose pieces stand up" }
                input name="standing" value=(ask.standing) autocomplete="off" placeholder="none";
            }
            button.main { "Work it out" }
        }
    }
}

fn result(of: OfStop<'_>, ask: &Ask, done: &Anew) -> Markup {
    let plan = &done.salvaged.plan;
    let file = |name: &str| format!("{}/salvage/{name}?{}", of.path(), ask.query());
    html! {
        div.job-page {
            div.beside {
                // Where nothing has a place there is nothing to show: what was asked for would be drawn where it was lost.
                @if plan.choice.is_some() {
                    a href=(file("picture.svg")) {
                        img.chart src=(file("picture.svg")) alt="The plate with its old kerfs and the parts at their new places";
                    }
                }
            }
            div.steps {
                h2 { "Where they go" }
                p.faint {
                    "Placed in order of worth, " (plan.worth.told()) "."
                }
                ul {
                    @for line in plan.told(done.salvaged.pose(), done.system()) { li { (line) } }
                }
                @match &plan.choice {
                    None => div.card {
                        p.verdict { strong { "No program can be proven." } }
                        p { (sentence(plan.none_because.as_deref().unwrap_or("nothing is lost"))) "." }
                    },
                    Some(choice) => {
                        div.card {
                            p { span.proven { "Proven" } " on its written text." }
                            p { strong { "Price: " } (counted(choice.starts as usize, "start", "starts")) " and " (Duration::from_s(choice.time_s)) " at the program's feeds." }
                            (stake(choice))
                            @if !choice.risks.is_empty() { ul { @for risk in &choice.risks { li { (risk) } } } }
                            @if !choice.proof.preconditions.is_empty() {
                                p { strong { "Must be so before the start:" } }
                                ul { @for condition in &choice.proof.preconditions { li { (condition) } } }
                            }
                            (proof(choice))
                            details {
                                summary { "Against the original: " (choice.diff.kept) " lines kept, " (choice.diff.left_out) " left out, " (choice.diff.added) " added" }
                                pre.diff tabindex="0" role="group" aria-label="Against the original, line by line" { (choice.diff.shown) }
                            }
                            p.files {
                                a.button.main href=(file("program")) { "Keep the program" }
                                @if choice.trace.is_some() { a.button href=(file("trace")) { "Keep the torch-off trace: run it first" } }
                                a.button href=(file("steps")) { "Keep the steps, to print" }
                            }
                            form method="post" action={ (of.path()) "/salvage" } {
                                (own_entry(of.app, of.visit))
                                input type="hidden" name="job" value=(new_id());
                                @for (name, value) in [("parts", &ask.parts), ("sheet", &ask.sheet), ("remnant", &ask.remnant), ("standing", &ask.standing), ("in", &ask.unit)] {
                                    input type="hidden" name=(name) value=(value);
                                }
                                @if done.remnant.is_some() {
                                    button { "Open it as a plate of its own" }
                                    p.faint { "Then it is checked, forecast and, if it stops, rescued like any other." }
                                } @else {
                                    button { "Take this program: it is what runs next" }
                                    p.faint { "If it stops, the plate is taken up from here." }
                                }
                            }
                        }
                        h3 { "In this order" }
                        ol { @for step in &plan.steps { li { (step.order) " " span.faint { (step.why) } } } }
                    },
                }
                @for (title, lines) in [("Take care", &plan.cautions), ("Not checked", &plan.unchecked)] {
                    @if !lines.is_empty() { details { summary { (title) } ul { @for line in lines { li { (line) } } } } }
                }
            }
        }
    }
}

/// The program, its trace, the steps, or the picture.
pub(crate) async fn file(
    at: AtStop,
    Named(name): Named,
    Asked(ask): Asked<Ask>,
) -> Result<Response, Problem> {
    if name == "taken" {
        return at.work(taken).await;
    }
    if !["program", "trace", "steps", "picture.svg"].contains(&name.as_str()) {
        return Err(Problem::no_such_page());
    }
    at.with_made_anew(ask, move |_, done| {
        let plan = &done.salvaged.plan;
        let stem = done.read.inputs.stem();
        match name.as_str() {
            "picture.svg" => Ok(wire::picture(done.salvaged.picture(&done.read.inputs, &done.read.reading))),
            "steps" => Ok(wire::file("steps.md", done.salvaged.steps.clone().into_bytes())),
            "trace" => {
                let trace = plan.choice.as_ref().and_then(|choice| choice.trace.as_ref());
                let trace = trace.ok_or_else(Problem::no_such_page)?;
                Ok(wire::file(&format!("{stem}-salvage-trace.nc"), trace.text.clone().into_bytes()))
            }
            _ => {
                let choice = plan.choice.as_ref().ok_or_else(Problem::no_such_page)?;
                Ok(wire::file(&done.program_name(), choice.text.clone()))
            }
        }
    })
    .await
}

/// The program that was taken, as it was taken.
fn taken(of: OfStop<'_>) -> Result<Response, Problem> {
    let chosen =
        of.stop.chosen.as_ref().filter(|chosen| chosen.way == WAY).ok_or_else(Problem::no_such_page)?;
    let stem = of.record.name.strip_suffix(".nc").unwrap_or(&of.record.name);
    Ok(wire::file(&format!("{stem}-salvage.nc"), of.app.ledger().text(chosen.program)?))
}

/// The program is taken: on the same sheet it is what runs next; on a remnant it is a plate of its own.
pub(crate) async fn take(at: AtStop, fields: Fields) -> Result<Response, Problem> {
    at.with_made_anew(Ask::of(&fields), move |of, done| {
        let choice = done.salvaged.plan.choice.as_ref().ok_or_else(|| {
            Problem::unfit("This program cannot be proven any more.", "Load the page again: it says why.")
        })?;
        let name = done.program_name();
        let program = Text::new(choice.text.clone());
        if let Some(remnant) = &done.remnant {
            let job = fields.must("job")?;
            let facts = format!("{remnant}{}", without(&of.record.facts, &["plate", "plate_at", "datum"]));
            // Clamps are told where they stand for the first sheet, and nobody has told of others.
            let facts = facts.split("\n[[clamp").next().unwrap_or_default().to_owned() + "\n";
            let entry = JobOpened { name, program: program.id(), facts };
            of.app.keep(fields.entry()?, job, Entry::JobOpened(entry), &[program])?;
            return Ok(Redirect::to(&format!("/jobs/{job}")).into_response());
        }
        let plate = done.salvaged.plate_file(&done.read.inputs, &done.read.reading, &name);
        let plate = Text::new(plate.text().into_bytes());
        let chosen =
            PlanChosen { stop: of.stop.id, way: WAY.to_owned(), program: program.id(), plate: plate.id() };
        of.keep(fields.entry()?, Entry::PlanChosen(chosen), &[program, plate])?;
        Ok(Redirect::to(&format!("{}/salvage", of.path())).into_response())
    })
    .await
}
