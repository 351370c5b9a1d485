//! The first seconds after a stop: one thing a screen, from any place, before anybody asks who one is.

use super::frame::{own_entry, screen};
use super::plates;
use crate::address::{Asked, AtJob};
use crate::app::{App, new_id};
use crate::fields::{Fields, escaped};
use crate::guard::Visit;
use crate::problem::Problem;
use crate::{facts, report};
use axum::extract::{Extension, State};
use axum::response::{Html, IntoResponse, Redirect, Response};
use ledger::{Entry, Id, JobRecord, StopReported};
use maud::{Markup, html};
use serde::Deserialize;
use shop::StopReport;
use std::fmt::Write as _;
use std::sync::Arc;
use units::Length;

/// What was told on the way; it travels in the address, so that a reload loses nothing.
#[derive(Clone, Debug, Default, Deserialize)]
pub(crate) struct Noted {
    #[serde(default)]
    job: String,
    #[serde(default)]
    line: String,
    #[serde(default)]
    x: String,
    #[serde(default)]
    y: String,
}

impl Noted {
    /// The address of another screen with all that was told.
    fn at(&self, path: &str) -> String {
        let told = [("job", &self.job), ("line", &self.line), ("x", &self.x), ("y", &self.y)];
        let mut to = path.to_owned();
        for (k, (name, value)) in told.into_iter().filter(|(_, value)| !value.is_empty()).enumerate() {
            let _ = write!(to, "{}{name}={}", if k == 0 { '?' } else { '&' }, escaped(value));
        }
        to
    }
}

/// Stop, hands off; is the start light out?
pub(crate) async fn stop(Asked(noted): Asked<Noted>) -> Html<String> {
    screen(
        "Stopped",
        Some("/"),
        &html! {
            p.alarm { "Stop the machine." br; "Hands off: it may still fire." }
            h1 { "Is the start light out?" }
            div.choices {
                a.button.main href=(noted.at("/stopped/note")) { "It is out" }
                a.button.bad href=(noted.at("/stopped/lit")) { "Lit, or I cannot tell" }
            }
            p.faint { "A pause is not a stop." }
        },
    )
}

/// It is lit.
pub(crate) async fn lit(Asked(noted): Asked<Noted>) -> Html<String> {
    screen(
        "Stopped",
        Some(&noted.at("/stopped")),
        &html! {
            p.alarm { "Isolate the power source now." }
            h1 { "Keep everybody away from torch and plate until it is done." }
            div.choices { a.button.main href=(noted.at("/stopped/note")) { "It is isolated" } }
            p.faint { "At its main switch, and kept from being switched on by anyone else. The control stays on: it knows the position." }
        },
    )
}

/// What not to do yet, and the numbers to write down.
pub(crate) async fn note(
    State(app): State<Arc<App>>,
    Extension(visit): Extension<Visit>,
    Asked(noted): Asked<Noted>,
) -> Result<Response, Problem> {
    app.work(move |app| {
        // Who comes from a job's page is asked no more about which plate it is.
        let told: Option<Id> = noted.job.parse().ok().filter(|_| visit.session.is_some());
        let job = told.map(|told| app.ledger().job(told)).transpose()?.flatten();
        Ok(note_of(app, visit, &noted, job.as_ref()).into_response())
    })
    .await
}

fn note_of(app: &App, visit: Visit, noted: &Noted, job: Option<&JobRecord>) -> Html<String> {
    // Who chose a unit types in it; who did not types as the program is written.
    let unit = visit.units.map_or_else(String::new, |units| format!(", {}", report::unit(units)));
    let numbers = html! {
        p { strong { "The control shows:" } }
        div.row {
            label.narrow { span { "Line" } input name="line" inputmode="numeric" value=(noted.line) autocomplete="off"; }
            label.narrow { span { "X" (unit) } input name="x" inputmode="decimal" value=(noted.x) autocomplete="off"; }
            label.narrow { span { "Y" (unit) } input name="y" inputmode="decimal" value=(noted.y) autocomplete="off"; }
        }
    };
    screen(
        "Stopped",
        Some(&noted.at("/stopped")),
        &html! {
            h1 { "Not yet" }
            ul.not-yet {
                li { "no zeroing or homing" }
                li { "no moving plate or parts" }
                li { "no switching off the control" }
            }
            @if let Some(job) = job {
                form method="post" action={ "/jobs/" (job.id) "/stops" } {
                    (own_entry(app, visit))
                    input type="hidden" name="stop" value=(new_id());
                    (numbers)
                    div.choices {
                        button.main { "Go on" small translate="no" { (job.name) } }
                        a.button href="/stopped/note" { "Another plate" }
                    }
                }
            } @else {
                form action="/stopped/which" {
                    input type="hidden" name="job" value=(noted.job);
                    (numbers)
                    button.main { "Go on" }
                }
            }
        },
    )
}

/// Which plate?
pub(crate) async fn which(
    State(app): State<Arc<App>>,
    Extension(visit): Extension<Visit>,
    Asked(noted): Asked<Noted>,
) -> Result<Response, Problem> {
    if visit.session.is_none() {
        return Ok(
            Redirect::to(&format!("/sign-in?to={}", escaped(&noted.at("/stopped/which")))).into_response()
        );
    }
    app.work(move |app| {
        let jobs = app.ledger().jobs()?;
        // The jobs last touched are those on tables; where one is named already it is asked about that one alone.
        let told: Option<Id> = noted.job.parse().ok();
        let asked: Vec<_> =
            jobs.iter().filter(|job| told.is_none_or(|told| told == job.id)).take(PLATES_ASKED).collect();
        let page = screen(
            "Stopped",
            Some(&noted.at("/stopped/note")),
            &html! {
                h1 { @if told.is_some() { "This plate?" } @else { "Which plate is it?" } }
                div.choices {
                    @for job in &asked {
                        form method="post" action={ "/jobs/" (job.id) "/stops" } {
                            (begin_fields(app, visit, &noted))
                            button.main { (job.name) small { (plates::state(job).1) } }
                        }
                    }
                    @if told.is_some() {
                        @let other = Noted { job: String::new(), ..noted.clone() };
                        a.button href=(other.at("/stopped/which")) { "Another one" }
                    } @else {
                        a.button href="/" { "It is not here: drop its program first" }
                    }
                }
            },
        );
        Ok(page.into_response())
    })
    .await
}

/// Plates that are asked about: as many as a phone shows without scrolling.
const PLATES_ASKED: usize = 5;

fn begin_fields(app: &App, visit: Visit, noted: &Noted) -> Markup {
    html! {
        (own_entry(app, visit))
        input type="hidden" name="stop" value=(new_id());
        input type="hidden" name="line" value=(noted.line);
        input type="hidden" name="x" value=(noted.x);
        input type="hidden" name="y" value=(noted.y);
    }
}

/// The stop is on record from here on.
pub(crate) async fn begin(at: AtJob, fields: Fields) -> Result<Response, Problem> {
    at.opened(move |of, opened| {
        let stop: Id = fields.must("stop")?;
        let unit = opened.unit();
        let length = |name| fields.get(name).map(|told| facts::with_unit(told, unit).parse::<Length>());
        let at = match (length("x"), length("y")) {
            (Some(Ok(x)), Some(Ok(y))) => Some([x, y]),
            (None, None) => None,
            _ => {
                return Err(Problem::unfit(
                    "X and Y cannot be understood.",
                    "Go back and write both as the control shows them, such as 412.3, or leave both empty.",
                ));
            }
        };
        let line = match fields.get("line").map(str::parse::<u32>) {
            None => None,
            Some(Ok(line)) if line > 0 => Some(line),
            Some(_) => {
                return Err(Problem::unfit(
                    "The line cannot be understood.",
                    "Go back and write its number as the control counts it, from 1, or leave it empty.",
                ));
            }
        };
        let told = StopReport { at, line, ..StopReport::default() };
        let entry = StopReported { stop, report: report::text(&told) };
        of.keep(fields.entry()?, Entry::StopReported(entry), &[])?;
        Ok(Redirect::to(&format!("{}/stops/{stop}/ask?about=kind", of.path())).into_response())
    })
    .await
}
