//! A job: the plate first, then *Before*, *Stopped*, *After*.

use super::frame::{Frame, own_entry};
use super::plate_view::{PlateView, Tap};
use super::plates;
use crate::address::{Asked, AtJob, OfJob};
use crate::app::App;
use crate::facts::{KEYS, Told};
use crate::fields::Fields;
use crate::guard::Visit;
use crate::opened::{Opened, Read};
use crate::problem::Problem;
use crate::wire;
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Redirect, Response};
use cuts::Progress;
use desk::figures::{counted, distance, place, runs};
use desk::{KerfFrom, Pointer, Summary};
use finding::{Finding, Level};
use geometry::Point;
use ledger::{Entry, FactsTold, Fate, Id, JobRecord, Outcome};
use maud::{Markup, html};
use serde::{Deserialize, Serialize};
use shop::{Job, Material, Worded};
use units::{Length, System};

/// Findings of one rule that are shown in full; the rest are counted.
const IN_FULL: usize = 3;
/// Numbers listed where many belong together.
const LISTED: usize = 12;

/// The job's page.
pub(crate) async fn show(at: AtJob) -> Result<Html<String>, Problem> {
    at.work(move |of| {
        let OfJob { app, visit, record } = of;
        let opened = of.open()?;
        Ok(Frame::of_job(of).page(&html! {
            div.job-page {
                div.beside {
                    h1 { (record.name) }
                    p.state-line { (plates::state(record).1) }
                    (view(record.id).markup())
                    (forecast(record.id))
                }
                div.steps {
                    nav.tabs aria-label="Steps" {
                        a href="#before" { "Before" } a href="#stopped" { "Stopped" } a href="#after" { "After" }
                    }
                    section #before { h2 { "Before" } (before(app, visit, record, &opened)) }
                    section #stopped { h2 { "Stopped" } (stops(record)) }
                    section #after { h2 { "After" } (after(app, visit, record)) }
                }
            }
        }))
    })
    .await
}

/// The forecast: a slider over the time of the run, and below it the charts on the same axis of time.
fn forecast(job: Id) -> Markup {
    html! {
        section.forecast {
            h2 { "If nothing goes wrong" }
            label.run data-run={ "/jobs/" (job) "/run" } hidden {
                span { "The plate after " output { "0 s" } }
                input type="range" min="0" max="1000" step="1" value="0";
            }
            img.chart src={ "/jobs/" (job) "/time.svg" } loading="lazy"
                alt="The forecast over time: what the table does, inlet pressure, duty cycle, pieces loose";
        }
    }
}

fn view(job: Id) -> PlateView<'static> {
    PlateView {
        strokes: format!("/jobs/{job}/strokes"),
        picture: format!("/jobs/{job}/picture.svg"),
        label: "The plate: cuts with their numbers, travel, and what the checks found".to_owned(),
        tap: Tap::Nothing,
        near: None,
    }
}

fn before(app: &App, visit: Visit, record: &JobRecord, opened: &Opened) -> Markup {
    let Read { inputs, reading } = &opened.read;
    let system = reading.system(inputs);
    let findings = &opened.report.findings;
    let count = |level| findings.iter().filter(|finding| finding.level == level).count();
    let (errors, warnings) = (count(Level::Error), count(Level::Warning));
    html! {
        @if inputs.job.thickness.is_none() {
            p.callout { "The thickness of the plate is not told yet: it is the fact that adds most." }
        }
        p.verdict {
            @if errors > 0 {
                strong { "Do not start yet: " (counted(errors, "mistake", "mistakes")) "." }
            } @else if warnings > 0 {
                strong { "Look before you start: " (counted(warnings, "warning", "warnings")) "." }
            } @else {
                strong { "Nothing found against starting." }
            }
        }
        (summary(&Summary::of(reading), system))
        (findings_list(findings, opened, system))
        @if !opened.report.unchecked.is_empty() {
            details {
                summary { "Not checked, because nobody has told (" (opened.report.unchecked.len()) ")" }
                ul {
                    @for unchecked in &opened.report.unchecked {
                        li { strong { (unchecked.fact) } ": " (unchecked.rules.join(", ")) }
                    }
                }
            }
        }
        @let assumed = reading.assumed(inputs);
        @if !assumed.is_empty() {
            details {
                summary { "Assumed (" (assumed.len()) ")" }
                ul { @for assumption in assumed { li { (assumption.says(system)) } } }
            }
        }
        details open[inputs.job.thickness.is_none()] {
            summary { "What is known of this plate" }
            (facts_form(app, visit, record, &[], None))
        }
        p { a href={ "/jobs/" (record.id) "/program" } { "The program, as it was dropped" } }
    }
}

fn summary(summary: &Summary, system: System) -> Markup {
    let from = match summary.kerf.from {
        KerfFrom::Told => "as told",
        KerfFrom::Chart => "from the chart",
        KerfFrom::PlateFile => "as at the first stop",
        KerfFrom::Assumed => "assumed",
    };
    html! {
        dl.figures {
            dt { "Cuts" } dd { (summary.cuts) }
            dt { "Parts" } dd { (summary.parts) }
            dt { "Cut" } dd { (distance(summary.cut_length, system)) }
            dt { "Time" } dd { (summary.time) " at the program's feeds" }
            dt { "Kerf" } dd { (summary.kerf.width.show(system)) ", " (from) }
        }
    }
}

/// Findings, each with its flag's number; those that come too often of one rule are counted.
fn findings_list(findings: &[Finding], opened: &Opened, system: System) -> Markup {
    let mut seen = std::collections::BTreeMap::<&str, usize>::new();
    let mut shown = Vec::new();
    for (k, finding) in findings.iter().enumerate() {
        let before = seen.entry(finding.rule).or_default();
        if *before < IN_FULL {
            shown.push((k + 1, finding));
        }
        *before += 1;
    }
    html! {
        ol.findings {
            @for (number, finding) in shown { li { (one_finding(number, finding, opened, system)) } }
        }
        @for (rule, count) in seen.iter().filter(|(_, count)| **count > IN_FULL) {
            p.faint { "… and " (counted(count - IN_FULL, "more finding", "more findings")) " of " (rule) "." }
        }
    }
}

fn one_finding(number: usize, finding: &Finding, opened: &Opened, system: System) -> Markup {
    let level = match finding.level {
        Level::Error => "error",
        Level::Warning => "warning",
        Level::Note => "note",
    };
    let program = &opened.read.reading.program;
    let labels = finding
        .primary
        .iter()
        .map(|label| (label, true))
        .chain(finding.secondary.iter().map(|label| (label, false)));
    let pointers: Vec<Pointer<'_>> =
        labels.map(|(label, primary)| Pointer { span: label.span, text: &label.text, primary }).collect();
    let mut cuts = finding.cuts.clone();
    cuts.sort_unstable();
    let places: Vec<String> = finding.places.iter().take(2).map(|at| place(at.x, at.y, system)).collect();
    html! {
        details class={ "finding " (level) } {
            summary { span.flag { (number) } span.level { (level) } span { (finding.message) } }
            @if !cuts.is_empty() || !places.is_empty() {
                p.faint {
                    @if !cuts.is_empty() { "Cut " (runs(&cuts, LISTED)) }
                    @if !places.is_empty() { " at " (places.join("; ")) }
                }
            }
            @for piece in desk::pieces(program, &pointers) {
                pre {
                    @for (k, line) in piece.text.lines().enumerate() {
                        span.line-number { (piece.line as usize + k) } " " (line) "\n"
                    }
                }
            }
            @if !finding.why.is_empty() { p { strong { "Why it matters: " } (finding.why) } }
            @if !finding.remedy.is_empty() { p { strong { "What to do: " } (finding.remedy) } }
            p { a href={ "/rules/" (finding.rule) } { "The page of " (finding.rule) } }
        }
    }
}

fn stops(record: &JobRecord) -> Markup {
    html! {
        @if record.stops.is_empty() {
            p { "Not stopped so far. If it does: the control at the top, at once, before anything is reset." }
        } @else {
            ol.stops {
                @for (k, stop) in record.stops.iter().enumerate() {
                    li {
                        a.button href={ "/jobs/" (record.id) "/stops/" (stop.id) } {
                            "Stop " (k + 1)
                            @if stop.chosen.is_some() { ": restart program taken" } @else { ": what to do" }
                        }
                    }
                }
            }
        }
        p { a.button href={ "/stopped?job=" (record.id) } { "It has stopped" } }
    }
}

/// What became of it: what was lost, what it was; kept with the job.
fn after(app: &App, visit: Visit, record: &JobRecord) -> Markup {
    let told = record.outcome.clone().unwrap_or_default();
    let lost: Vec<String> = told
        .parts
        .iter()
        .filter(|(_, fate)| *fate == Fate::Lost)
        .map(|(number, _)| number.to_string())
        .collect();
    html! {
        form.card method="post" action={ "/jobs/" (record.id) "/outcome" } {
            (own_entry(app, visit))
            label { span { "Parts lost, by their numbers on the picture" }
                input name="lost" value=(lost.join(", ")) autocomplete="off" placeholder="none"; }
            @if !record.stops.is_empty() {
                label { span { "What it was" }
                    select name="cause" {
                        option value="" { "not known" }
                        @for row in rescue::triage::ROWS {
                            option value=(row.name) selected[told.cause.as_deref() == Some(row.name)] { (row.title) }
                        }
                    }
                }
            }
            label { span { "Anything else" } textarea name="note" rows="3" { "\n" (told.note) } }
            label.tick { input type="checkbox" name="done" value="yes" checked[told.done]; span { "The plate is off the table" } }
            button.main { "Keep this" }
        }
    }
}

/// What became of a plate was told.
pub(crate) async fn outcome(at: AtJob, fields: Fields) -> Result<Response, Problem> {
    at.work(move |of| {
        let parts = of.open()?.read.reading.list.parts.len();
        let words =
            fields.get("lost").unwrap_or_default().split([',', ' ', ';']).filter(|word| !word.is_empty());
        let mut lost = Vec::new();
        for word in words {
            let number = word.parse().ok().filter(|number: &u32| (1..=parts).contains(&(*number as usize)));
            lost.push(number.ok_or_else(|| {
                Problem::unfit(
                    format!("There is no part {word:?}."),
                    format!("Go back: parts are numbered from 1 to {parts}."),
                )
            })?);
        }
        lost.sort_unstable();
        lost.dedup();
        let outcome = Outcome {
            parts: lost.into_iter().map(|number| (number, Fate::Lost)).collect(),
            cause: fields.get("cause").map(str::to_owned),
            note: fields.get("note").unwrap_or_default().to_owned(),
            done: fields.get("done").is_some(),
        };
        of.keep(fields.entry()?, Entry::Outcome(outcome), &[])?;
        Ok(Redirect::to(&(of.path() + "#after")).into_response())
    })
    .await
}

/// The form with what is known of a plate; `typed` is what was typed and could not be understood.
pub(crate) fn facts_form(
    app: &App,
    visit: Visit,
    record: &JobRecord,
    mistakes: &[(String, String)],
    typed: Option<&Fields>,
) -> Markup {
    let known = Known::of(&record.facts);
    let value =
        |key: &str| typed.and_then(|typed| typed.get(key)).map_or_else(|| known.value(key), str::to_owned);
    let mistake = |key: &str| mistakes.iter().find(|(of, _)| of == key).map(|(_, what)| what.as_str());
    let labels = [
        ("thickness", "Thickness", "10 mm"),
        ("plate", "Plate, width × height", "1500x750 mm"),
        ("process", "Process, by its name in the shop file", ""),
        ("tolerance", "How far off a part may be", "0.5 mm"),
    ];
    html! {
        form.card method="post" action={ "/jobs/" (record.id) "/facts" } {
            (own_entry(app, visit))
            @for (key, label, example) in labels {
                label {
                    span { (label) }
                    input name=(key) value=(value(key)) placeholder=(example) autocomplete="off"
                        aria-invalid=[mistake(key).map(|_| "true")] aria-describedby=[mistake(key).map(|_| format!("{key}-mistake"))];
                    @if let Some(what) = mistake(key) { span.mistake id={ (key) "-mistake" } { (what) } }
                }
            }
            label {
                span { "Material" }
                select name="material" {
                    option value="" { "not told" }
                    @for (word, _, meaning) in Material::WORDS {
                        option value=(word) selected[value("material") == *word] { (meaning) }
                    }
                }
                @if let Some(what) = mistake("material") { span.mistake { (what) } }
            }
            @for (key, label) in [("datum", "Program zero on the plate, from its lower left corner"), ("plate_at", "The plate's lower left corner on the table")] {
                fieldset {
                    legend { (label) }
                    div.row {
                        label { span { "X" } input name={ (key) "_x" } value=(value(&format!("{key}_x"))) autocomplete="off"; }
                        label { span { "Y" } input name={ (key) "_y" } value=(value(&format!("{key}_y"))) autocomplete="off"; }
                    }
                    @if let Some(what) = mistake(key) { span.mistake { (what) } }
                }
            }
            label.short {
                span { "Bare numbers are" }
                select name="unit" { option value="mm" { "mm" } option value="in" { "in" } }
            }
            button.main { "Keep this" }
        }
    }
}

/// The unit that bare numbers of a form count in.
pub(crate) fn saved_units(fields: &Fields) -> &'static str {
    if fields.get("unit") == Some("in") { "in" } else { "mm" }
}

/// What is known, as it is typed.
struct Known(Vec<(String, String)>);

impl Known {
    fn of(facts: &str) -> Self {
        let (job, _) = Job::parse(facts);
        let length = |length: Length| format!("{} mm", length.mm());
        let mut known: Vec<(String, String)> = Vec::new();
        let mut tell =
            |key: &str, value: Option<String>| known.extend(value.map(|value| (key.to_owned(), value)));
        tell("thickness", job.thickness.map(length));
        let size = job.plate.as_ref().map(shop::PlateOutline::size);
        tell("plate", size.map(|[w, h]| format!("{}x{} mm", w.mm(), h.mm())));
        tell("process", job.process.clone());
        tell("tolerance", job.tolerance.map(length));
        tell("material", job.material.map(|material| crate::report::word(material).to_owned()));
        for (key, at) in [("plate_at", job.plate_at), ("datum", job.datum)] {
            tell(&format!("{key}_x"), at.map(|[x, _]| length(x)));
            tell(&format!("{key}_y"), at.map(|[_, y]| length(y)));
        }
        debug_assert!(
            known
                .iter()
                .all(|(key, _)| KEYS.contains(&key.as_str()) || key.ends_with("_x") || key.ends_with("_y"))
        );
        Self(known)
    }

    fn value(&self, key: &str) -> String {
        self.0.iter().find(|(other, _)| other == key).map(|(_, value)| value.clone()).unwrap_or_default()
    }
}

/// Facts were told.
pub(crate) async fn facts(at: AtJob, fields: Fields) -> Result<Response, Problem> {
    at.work(move |of| {
        let OfJob { app, visit, record } = of;
        let told = Told::of(&fields, saved_units(&fields), &record.facts);
        if told.mistakes.is_empty() {
            of.keep(fields.entry()?, Entry::FactsTold(FactsTold { facts: told.facts }), &[])?;
            return Ok(Redirect::to(&of.path()).into_response());
        }
        let page = Frame::of_job(of).page(&html! {
            h1 { (record.name) }
            p.callout { "Not kept yet: something in it cannot be understood." }
            (facts_form(app, visit, record, &told.mistakes, Some(&fields)))
        });
        Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
    })
    .await
}

/// The program, to be kept.
pub(crate) async fn program(at: AtJob) -> Result<Response, Problem> {
    at.work(move |of| {
        let text = of.app.ledger().text(of.record.program)?;
        Ok(wire::file(&of.record.name, text))
    })
    .await
}

/// The plate as strokes.
pub(crate) async fn strokes(at: AtJob) -> Result<Response, Problem> {
    at.work(move |of| {
        let opened = of.open()?;
        let Read { inputs, reading } = &opened.read;
        Ok(wire::strokes(&desk::sketch(inputs, reading, Progress::default(), &opened.report.findings)))
    })
    .await
}

/// The plate as a document.
pub(crate) async fn picture(at: AtJob) -> Result<Response, Problem> {
    at.work(move |of| {
        let opened = of.open()?;
        let Read { inputs, reading } = &opened.read;
        Ok(wire::picture(desk::picture(inputs, reading, Progress::default(), &opened.report.findings)))
    })
    .await
}

/// How the forecast run unfolds on the plate.
pub(crate) async fn run(at: AtJob) -> Result<Response, Problem> {
    at.work(move |of| {
        let opened = of.open()?;
        Ok(wire::run(&desk::unfolding(&opened.read.reading, opened.forecast())))
    })
    .await
}

/// The forecast over time: pressure, duty cycle and the rest, as a document.
pub(crate) async fn time(at: AtJob) -> Result<Response, Problem> {
    at.work(move |of| {
        let opened = of.open()?;
        let Read { inputs, reading } = &opened.read;
        Ok(wire::picture(draw::forecast_svg(&inputs.name, opened.forecast(), reading.system(inputs))))
    })
    .await
}

/// A tapped place.
#[derive(Clone, Copy, Debug, Deserialize)]
pub(crate) struct Tapped {
    x: f64,
    y: f64,
    within: f64,
}

/// A cut near a tapped place.
#[derive(Debug, Serialize)]
struct NearRow {
    cut: u32,
    along: f64,
    away: f64,
}

/// Which cuts are near a tapped place.
pub(crate) async fn near(
    at: AtJob,
    Asked(Tapped { x, y, within }): Asked<Tapped>,
) -> Result<Response, Problem> {
    if ![x, y, within].iter().all(|number| number.is_finite()) || within < 0.0 {
        return Err(Problem::malformed());
    }
    at.work(move |of| {
        let opened = of.open()?;
        let found = desk::near(&opened.read.reading.list, Point::new(x, y), within);
        let row = |near: &desk::Near| NearRow { cut: near.cut, along: near.along_mm, away: near.distance_mm };
        Ok(wire::json(&found.iter().take(LISTED).map(row).collect::<Vec<_>>()))
    })
    .await
}
