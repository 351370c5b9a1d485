//! *Plates*: drop a program, and the list of jobs with their state.

use super::frame::{Frame, Place, own_entry};
use crate::address::OfJob;
use crate::app::{App, new_id};
use crate::facts::Told;
use crate::fields::{FORM_CODE, Fields};
use crate::guard::Visit;
use crate::pages::known::{Known, bare_numbers, example, facts_form, saved_units};
use crate::problem::Problem;
use axum::extract::multipart::{Field, Multipart, MultipartError, MultipartRejection};
use axum::extract::{Extension, State};
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Redirect, Response};
use ledger::{Entry, Fate, Id, JobOpened, JobRecord, Text};
use maud::{Markup, html};
use std::sync::Arc;
use std::time::Duration;
use units::System;

/// Largest program that is taken, in bytes. A million blocks are about 25 MB.
const PROGRAM_MOST: usize = 32 * 1024 * 1024;
/// Longest upload: the program and the other fields. What arrives fast is taken in before it is looked at, so that the
/// limit stands at the door.
pub(crate) const UPLOAD_MOST: usize = PROGRAM_MOST + 64 * 1024;
/// Longest of the other fields.
const FIELD_MOST: usize = 2 * 1024;
/// Most fields.
const FIELDS_MOST: usize = 24;
/// Longest name of a program that is kept.
const NAME_MOST: usize = 120;
/// How long an upload may take: enough for 32 MB over a bad radio link.
const UPLOAD_TIME: Duration = Duration::from_secs(120);
/// How long an upload waits for its turn.
const TURN_TIME: Duration = Duration::from_secs(30);

/// The list.
pub(crate) async fn list(
    State(app): State<Arc<App>>,
    Extension(visit): Extension<Visit>,
) -> Result<Html<String>, Problem> {
    app.work(move |app| {
        let jobs = app.ledger().jobs()?;
        let frame = Frame { title: "Plates", place: Place::Plates, job: None, visit: Some((app, visit)) };
        Ok(frame.page(&html! {
            h1 { "Plates" }
            (drop_form(app, visit, jobs.iter().max_by_key(|job| job.opened)))
            @if jobs.is_empty() {
                p.faint { "No job yet. A program, a thickness and a plate are enough to begin." }
            } @else {
                h2 { "Jobs" }
                ul.jobs {
                    @for job in &jobs { li { (row(job, app.now_ms())) } }
                }
            }
        }))
    })
    .await
}

/// Facts that the next plate often has in common with the last.
const REMEMBERED: [&str; 4] = ["thickness", "plate", "material", "process"];

/// `last` is the job that was opened last.
fn drop_form(app: &App, visit: Visit, last: Option<&JobRecord>) -> Markup {
    let units = visit.units.unwrap_or_default();
    let last = last.map(|job| (job, remembered(job))).filter(|(_, facts)| !facts.is_empty());
    html! {
        form.card.drop method="post" action="/plates" enctype="multipart/form-data" {
            (own_entry(app, visit))
            input type="hidden" name="job" value=(new_id());
            label.file {
                span { "The cutting program" }
                input type="file" name="program" required;
            }
            div.row {
                label { span { "Thickness" } input name="thickness" placeholder=(example("thickness", units)) autocomplete="off"; }
                label { span { "Plate, width × height" } input name="plate" placeholder=(example("plate", units)) autocomplete="off"; }
                (bare_numbers(units))
            }
            @if let Some((job, facts)) = last {
                label.tick {
                    input type="checkbox" name="as_last" value=(job.id);
                    span {
                        "What is not told above is as at the last plate, "
                        span translate="no" { (job.name) ": " (facts.iter().map(|(_, value)| value.as_str()).collect::<Vec<_>>().join(", ")) }
                    }
                }
            }
            button.main { "Open this plate" }
            p.faint { "The rest can be told later. Nothing leaves this computer." }
        }
    }
}

fn row(job: &JobRecord, now_ms: i64) -> Markup {
    let (mark, state) = state(job);
    html! {
        a.job href={ "/jobs/" (job.id) } {
            span class={ "state " (mark) } aria-hidden="true" {}
            strong translate="no" { (job.name) }
            span { (state) }
            span.faint { (ago(now_ms - job.touched.0)) }
        }
    }
}

/// How a job stands: a mark for its form, and words.
pub(crate) fn state(job: &JobRecord) -> (&'static str, String) {
    if let Some(outcome) = job.outcome.as_ref().filter(|outcome| outcome.done) {
        let lost = outcome.parts.iter().filter(|(_, fate)| *fate == Fate::Lost).count();
        return ("done", if lost == 0 { "done".to_owned() } else { format!("done, {lost} lost") });
    }
    match job.stops.last() {
        None => ("open", "not stopped".to_owned()),
        Some(stop) if stop.chosen.is_some() => ("restarted", "restart program taken".to_owned()),
        Some(_) => ("halted", "stopped".to_owned()),
    }
}

fn ago(ms: i64) -> String {
    let minutes = (ms / 60_000).max(0);
    match minutes {
        0 => "just now".to_owned(),
        1..60 => format!("{minutes} min ago"),
        60..1440 => format!("{} h ago", minutes / 60),
        _ => format!("{} days ago", minutes / 1440),
    }
}

/// A program was dropped.
pub(crate) async fn open(
    State(app): State<Arc<App>>,
    Extension(visit): Extension<Visit>,
    upload: Result<Multipart, MultipartRejection>,
) -> Result<Response, Problem> {
    let upload = upload.map_err(|_| Problem::malformed())?;
    let turn = tokio::time::timeout(TURN_TIME, app.uploads.acquire()).await;
    let Ok(Ok(turn)) = turn else {
        return Err(Problem {
            after_s: Some(10),
            ..Problem::new(
                StatusCode::SERVICE_UNAVAILABLE,
                "Too many programs are being sent at one time.",
                "Wait ten seconds and send it again.",
            )
        });
    };
    let sent = tokio::time::timeout(UPLOAD_TIME, receive(upload, &app, visit)).await;
    let (fields, name, program) = sent.map_err(|_| {
        Problem::new(StatusCode::REQUEST_TIMEOUT, "The program took too long to arrive.", "Send it again.")
    })??;
    let answer = app.work(move |app| opened(app, visit, &fields, &name, program)).await;
    drop(turn);
    answer
}

/// What is remembered of a job: fields and their values.
fn remembered(job: &JobRecord) -> Vec<(&'static str, String)> {
    let known = Known::of(&job.facts, System::Metric);
    let facts = REMEMBERED.into_iter().map(|key| (key, known.value(key)));
    facts.filter(|(_, value)| !value.is_empty()).collect()
}

/// The fields, those not told filled in as at the job that the form names.
fn with_remembered(app: &App, fields: &Fields) -> Result<Fields, Problem> {
    let Some(last) = fields.get("as_last") else { return Ok(fields.clone()) };
    let last = app.job(last.parse().map_err(|_| Problem::malformed())?)?;
    let facts = remembered(&last).into_iter();
    Ok(facts.fold(fields.clone(), |fields, (key, value)| fields.or(key, value)))
}

/// Keeps the job and goes to it; asks again for what could not be understood.
fn opened(
    app: &App,
    visit: Visit,
    fields: &Fields,
    name: &str,
    program: Vec<u8>,
) -> Result<Response, Problem> {
    if name.to_ascii_lowercase().ends_with(".toml") {
        return Err(Problem::unfit(
            format!("{name} is no cutting program: files with this ending tell of a job, a shop or a stop."),
            "Drop the program itself. What a job file tells is typed beside it, and a shop file is pasted under Shop.",
        ));
    }
    desk::must_be_text(&program).map_err(|why| {
        Problem::unfit(format!("This is not a cutting program: {}.", why.what), capital(why.remedy))
    })?;
    let job: Id = fields.must("job")?;
    let fields = &with_remembered(app, fields)?;
    let told = Told::of(fields, saved_units(fields), "");
    let text = Text::new(program);
    let entry = JobOpened { name: name.to_owned(), program: text.id(), facts: told.facts.clone() };
    app.keep(fields.entry()?, job, Entry::JobOpened(entry), &[text])?;
    if told.mistakes.is_empty() {
        return Ok(Redirect::to(&format!("/jobs/{job}")).into_response());
    }
    let record = app.job(job)?;
    let frame =
        Frame { title: "One thing more", place: Place::Plates, job: Some(job), visit: Some((app, visit)) };
    let page = frame.page(&html! {
        h1 { "The program is open; one thing more" }
        (facts_form(OfJob { app, visit, record: &record }, &told.mistakes, Some(fields)))
    });
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
}

/// A sentence with a capital and a full stop.
fn capital(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map(|first| first.to_uppercase().to_string()).unwrap_or_default();
    format!("{first}{}.", letters.as_str())
}

/// The fields, the program's name and its bytes.
async fn receive(
    mut upload: Multipart,
    app: &App,
    visit: Visit,
) -> Result<(Fields, String, Vec<u8>), Problem> {
    let (mut fields, mut program) = (Vec::new(), None);
    let mut checked = false;
    while let Some(field) = upload.next_field().await.map_err(|why| broken(&why))? {
        let name = field.name().unwrap_or_default().to_owned();
        if fields.len() >= FIELDS_MOST {
            return Err(Problem::malformed());
        }
        // Whether the form was made here is known before anything long is taken in: our forms say it first.
        if name == FORM_CODE {
            let code = text(field).await?;
            Fields::gathered(vec![(FORM_CODE.to_owned(), code)]).check(app, visit)?;
            checked = true;
            continue;
        }
        if !checked {
            return Err(Problem::foreign_form());
        }
        if name == "program" {
            let file = plain_name(field.file_name().unwrap_or_default());
            program = Some((file, bytes(field, PROGRAM_MOST).await?));
        } else {
            let value = text(field).await?;
            fields.push((name, value));
        }
    }
    let (name, bytes) = program.filter(|_| checked).ok_or_else(|| {
        Problem::unfit("No program was sent.", "Choose the file that the control runs, then send it.")
    })?;
    Ok((Fields::gathered(fields), name, bytes))
}

async fn text(field: Field<'_>) -> Result<String, Problem> {
    String::from_utf8(bytes(field, FIELD_MOST).await?).map_err(|_| Problem::malformed())
}

async fn bytes(mut field: Field<'_>, most: usize) -> Result<Vec<u8>, Problem> {
    let mut bytes = Vec::new();
    while let Some(chunk) = field.chunk().await.map_err(|why| broken(&why))? {
        if bytes.len() + chunk.len() > most {
            return Err(too_large());
        }
        bytes.extend_from_slice(&chunk);
    }
    Ok(bytes)
}

fn too_large() -> Problem {
    Problem::new(
        StatusCode::PAYLOAD_TOO_LARGE,
        format!("That is too large: at most {} MB are taken.", PROGRAM_MOST / (1024 * 1024)),
        "Send the program that the control runs, not a drawing, an archive or a picture.",
    )
}

/// A form that breaks off or is not what it says.
fn broken(why: &MultipartError) -> Problem {
    if why.status() == StatusCode::PAYLOAD_TOO_LARGE {
        return too_large();
    }
    Problem { log: Some(why.body_text()), ..Problem::malformed() }
}

/// The last part of a path, however it is written, without what cannot be shown; it never names a place on a disk here.
fn plain_name(told: &str) -> String {
    let last = told.rsplit(['/', '\\']).next().unwrap_or_default();
    let shown: String = last.chars().filter(|c| !c.is_control()).take(NAME_MOST).collect();
    let shown = shown.trim().trim_matches('.');
    if shown.is_empty() { "program.nc".to_owned() } else { shown.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::{ago, plain_name};

    #[test]
    fn a_name_is_no_path() {
        for (told, name) in [
            ("post-bases.nc", "post-bases.nc"),
            ("../../etc/passwd", "passwd"),
            ("C:\\nests\\a.nc", "a.nc"),
            ("..", "program.nc"),
            ("", "program.nc"),
            ("a\r\nSet-Cookie: b.nc", "aSet-Cookie: b.nc"),
            ("\0.nc", "nc"),
        ] {
            assert_eq!(plain_name(told), name, "{told:?}");
        }
        assert_eq!(plain_name(&"ä".repeat(500)).chars().count(), 120);
    }

    #[test]
    fn times_read_well() {
        for (ms, words) in
            [(-5, "just now"), (59_000, "just now"), (60_000, "1 min ago"), (7_200_000, "2 h ago")]
        {
            assert_eq!(ago(ms), words);
        }
        assert_eq!(ago(3 * 24 * 3_600_000), "3 days ago");
    }
}
