//! The list: scenarios to begin, sessions to go on with.

use super::at::KeptSession;
use super::banner;
use crate::app::{App, new_id};
use crate::fields::Fields;
use crate::guard::Visit;
use crate::pages::frame::{Frame, Place, own_entry};
use crate::problem::Problem;
use axum::extract::{Extension, State};
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Redirect, Response};
use desk::figures::counted;
use finding::Finding;
use ledger::{Entry, Event, Id, Practice};
use maud::{Markup, html};
use practice::{Kept, Setting};
use shop::Scenario;
use std::sync::Arc;

/// Longest name of a trainee that is kept.
const NAME_MOST: usize = 60;
/// Most sessions that are listed.
const LISTED: usize = 40;
/// Longest scenario file that is taken, in bytes.
const SCENARIO_MOST: usize = 64 * 1024;

/// The list.
pub(crate) async fn show(
    State(app): State<Arc<App>>,
    Extension(visit): Extension<Visit>,
) -> Result<Html<String>, Problem> {
    app.work(move |app| Ok(page(app, visit, &app.ledger().practice()?, None))).await
}

/// What was sent and has mistakes: the text of a scenario, and what is wrong.
type Wrong<'a> = (&'a str, Vec<Finding>);

fn page(app: &App, visit: Visit, sessions: &[Event], wrong: Option<&Wrong<'_>>) -> Html<String> {
    let frame = Frame { title: "Practice", place: Place::Practice, job: None, visit: Some((app, visit)) };
    frame.page(&html! {
        h1 { "Practice" }
        (banner())
        p { "Something goes wrong on a model of the table. Do what you would do, in your order; then see what it was worth." }
        form.card method="post" action="/practice" {
            (own_entry(app, visit))
            input type="hidden" name="session" value=(new_id());
            div.row {
                label { span { "Who practises" } input name="by" maxlength=(NAME_MOST) autocomplete="off"; }
                label.short { span { "Seed" } input name="seed" value="1" inputmode="numeric" autocomplete="off"; }
            }
            div.scenarios {
                @for name in practice::names() {
                    @let scenario = Scenario::parse(practice::text(name).unwrap_or_default()).0;
                    button name="scenario" value=(name) { (scenario.title) " " small { "level " (scenario.level) " of 5" } }
                }
            }
        }
        (own_scenario(app, visit, wrong))
        (begun(sessions))
    })
}

/// The form for a trainer's own scenario.
fn own_scenario(app: &App, visit: Visit, wrong: Option<&Wrong<'_>>) -> Markup {
    html! {
        details.card open[wrong.is_some()] {
            summary { "A scenario of your own" }
            @if let Some((text, findings)) = wrong {
                p.mistake role="alert" { "The scenario has mistakes:" }
                ul.mistakes { @for finding in findings { li { (told(text, finding)) } } }
            }
            form method="post" action="/practice" {
                (own_entry(app, visit))
                input type="hidden" name="session" value=(new_id());
                label { span { "Who practises" } input name="by" maxlength=(NAME_MOST) autocomplete="off"; }
                label {
                    span { "The text of a scenario file; it is cut on the plate of post bases" }
                    textarea name="text" rows="10" required { (wrong.map_or("", |(text, _)| *text)) }
                }
                button { "Begin it" }
            }
        }
    }
}

/// A mistake, with its line and what to do.
fn told(text: &str, finding: &Finding) -> String {
    let line = finding.primary.as_ref().and_then(|label| text.get(..label.span.start as usize));
    let line = line.map_or_else(String::new, |before| format!("Line {}: ", 1 + before.matches('\n').count()));
    let remedy = if finding.remedy.is_empty() { String::new() } else { format!("; {}", finding.remedy) };
    format!("{line}{}{remedy}.", finding.message)
}

fn begun(sessions: &[Event]) -> Markup {
    let kept: Vec<(Id, KeptSession)> = sessions
        .iter()
        .take(LISTED)
        .filter_map(|event| Some((event.of, KeptSession::of(event).ok()?)))
        .collect();
    html! {
        @if !kept.is_empty() {
            h2 { "Sessions" }
            p { a.button href="/practice/results" { "Results side by side" } }
            ul.jobs {
                @for (id, session) in &kept {
                    li {
                        a.job href={ "/practice/" (id) } {
                            span.state.open aria-hidden="true" {}
                            strong { (session.practice.scenario) }
                            span { (who(&session.practice.by)) }
                            span.faint { (counted(session.kept.acts.len(), "act", "acts")) }
                        }
                    }
                }
            }
        }
    }
}

/// The name of a trainee; those without one are called so.
pub(super) fn who(by: &str) -> &str {
    if by.is_empty() { "without a name" } else { by }
}

/// A session is begun.
pub(crate) async fn begin(
    State(app): State<Arc<App>>,
    Extension(visit): Extension<Visit>,
    fields: Fields,
) -> Result<Response, Problem> {
    app.work(move |app| {
        let session: Id = fields.must("session")?;
        let by: String = fields
            .get("by")
            .unwrap_or_default()
            .chars()
            .filter(|c| !c.is_control())
            .take(NAME_MOST)
            .collect();
        let seed: u64 = fields.get("seed").map_or(Ok(1), str::parse).map_err(|_| {
            Problem::unfit("The seed is no whole number.", "Go back and write one, such as 1.")
        })?;
        let (name, kept) = match (fields.get("scenario"), fields.raw("text")) {
            (Some(name), _) => {
                let name = practice::names().find(|own| *own == name).ok_or_else(Problem::malformed)?;
                (name.to_owned(), Kept::new(name.to_owned(), false))
            }
            (None, Some(text)) => match own(text) {
                Ok(setting) => (setting.scenario.name, Kept::new(text.to_owned(), true)),
                Err(findings) => {
                    let sessions = app.ledger().practice()?;
                    let page = page(app, visit, &sessions, Some(&(text, findings)));
                    return Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response());
                }
            },
            (None, None) => return Err(Problem::malformed()),
        };
        let entry = Practice { scenario: name, seed, by, session: kept.text() };
        app.keep(fields.entry()?, session, Entry::Practice(entry), &[])?;
        Ok(Redirect::to(&format!("/practice/{session}")).into_response())
    })
    .await
}

/// A trainer's scenario on the bundled plate: no path of it leads to a file here.
fn own(text: &str) -> Result<Setting, Vec<Finding>> {
    let refused = |message: &str, remedy: &str| {
        vec![Finding::new("value-unfit", finding::Level::Error, message.to_owned()).remedy(remedy.to_owned())]
    };
    if text.len() > SCENARIO_MOST {
        return Err(refused("this is too long for a scenario", "send a scenario file"));
    }
    let (scenario, _) = Scenario::parse(text);
    if scenario.job.is_some() {
        return Err(refused(
            "a scenario with a job file of its own cannot be practised on the page",
            "leave `job` out, or use `platewright practice --scenario FILE`",
        ));
    }
    let plate = practice::plate(scenario.plate.as_deref())
        .ok_or_else(|| refused("there is no such bundled plate", "write `plate = \"post-bases\"`"))?;
    Setting::of(text, plate)
}
