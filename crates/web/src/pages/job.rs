//! A job: the plate first, then *Before*, *Stopped*, *After*.

use super::after::after;
use super::before::before;
use super::frame::Frame;
use super::plate_view::{PlateView, Tap};
use super::plates;
use super::start_list::start_list;
use crate::address::{Asked, AtJob};
use crate::opened::Read;
use crate::problem::Problem;
use crate::wire;
use axum::response::Response;
use cuts::Progress;
use draw::ChartFor;
use ledger::{Id, JobRecord};
use maud::{Markup, html};
use serde::Deserialize;

/// The job's page.
pub(crate) async fn show(at: AtJob) -> Result<Response, Problem> {
    at.page(move |of, opened| {
        let record = of.record;
        let start = start_list(of, opened)?;
        let after = after(of, opened.read.reading.list.parts.len())?;
        Ok(Frame::of_job(of).page(&html! {
            div.job-page {
                div.beside {
                    h1 translate="no" { (record.name) }
                    p.state-line { (plates::state(record).1) }
                    (view(record.id).markup())
                    (forecast(record.id))
                }
                div.steps {
                    nav.tabs aria-label="Steps" {
                        a href="#before" { "Before" } a href="#stopped" { "Stopped" } a href="#after" { "After" }
                    }
                    section #before { h2 { "Before" } (before(of, opened, &start)) }
                    section #stopped { h2 { "Stopped" } (stops(record)) }
                    section #after { h2 { "After" } (after) }
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
            picture {
                source media="screen and (max-width: 40rem)" srcset={ "/jobs/" (job) "/time.svg?on=phone" };
                source media="screen" srcset={ "/jobs/" (job) "/time.svg?on=column" };
                img.chart src={ "/jobs/" (job) "/time.svg" } loading="lazy"
                    alt="The forecast over time: what the table does, inlet pressure, duty cycle, pieces loose";
            }
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
    at.opened(|_, opened| Ok(wire::sent(opened.strokes()))).await
}

/// The plate as a document.
pub(crate) async fn picture(at: AtJob) -> Result<Response, Problem> {
    at.opened(move |_, opened| {
        let Read { inputs, reading } = &opened.read;
        Ok(wire::picture(desk::picture(inputs, reading, Progress::default(), &opened.report.findings)))
    })
    .await
}

/// How the forecast run unfolds on the plate.
pub(crate) async fn run(at: AtJob) -> Result<Response, Problem> {
    at.opened(|_, opened| Ok(wire::sent(opened.run()))).await
}

/// What charts are asked for to be looked at on: `phone`, `column`, or else paper.
#[derive(Clone, Debug, Deserialize)]
pub(crate) struct Chart {
    #[serde(default)]
    on: String,
}

/// The forecast over time: pressure, duty cycle and the rest, as a document.
pub(crate) async fn time(at: AtJob, Asked(asked): Asked<Chart>) -> Result<Response, Problem> {
    at.opened(move |_, opened| {
        let on = match asked.on.as_str() {
            "phone" => ChartFor::Phone,
            "column" => ChartFor::Column,
            _ => ChartFor::Paper,
        };
        let name = &opened.read.inputs.name;
        Ok(wire::picture(draw::forecast_svg(name, &opened.forecast, opened.system(), on)))
    })
    .await
}
