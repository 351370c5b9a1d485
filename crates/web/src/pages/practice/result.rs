//! What a session was worth, with reasons; and several trainees side by side.

use super::at::{AtSession, KeptSession, OfSession};
use super::banner;
use super::list::who;
use super::session::{cards, minutes, plate, so_far};
use crate::app::App;
use crate::guard::Visit;
use crate::pages::frame::{Frame, Place};
use crate::problem::Problem;
use axum::extract::{Extension, State};
use axum::http::header;
use axum::response::{Html, IntoResponse, Response};
use maud::{Markup, html};
use practice::{Area, Result as Practised, Session};
use std::sync::Arc;

/// Most sessions that are put side by side: the last ones.
const COMPARED: usize = 24;

/// The page of an ended session.
pub(super) fn markup(of: &OfSession<'_>, session: &Session<'_>) -> Markup {
    let score = session.score();
    let passed = score.passed();
    html! {
        h1 { "Result: " (session.setting().scenario.title) }
        (banner())
        p.verdict {
            strong { (score.total()) " of 100 points: " @if passed { "passed" } @else { "not passed" } }
            " " (who(&of.kept.practice.by)) ", " (minutes(session.time_s())) " min at the table. "
            (session.ended().map_or("", practice::Ended::says))
        }
        (cards(session))
        div.job-page {
            div.beside { (plate(of, session)) }
            div.steps {
                section.card {
                    h2 { "Why" }
                    @for area in Area::ALL {
                        h3 { (area.name()) ": " (score.got(area)) " of " (area.of()) }
                        ul {
                            @for (_, points, why) in score.lost.iter().filter(|(other, ..)| *other == area) {
                                li { strong { "−" (points) } " " (why) }
                            }
                        }
                    }
                }
                (so_far(session))
                p.files {
                    a.button href="/practice" { "Practise again" }
                    a.button href={ (of.path()) "/result.json" } download { "Keep the result as a file" }
                    a.button href="/practice/results" { "Results side by side" }
                }
            }
        }
    }
}

/// The result as a file.
pub(crate) async fn file(at: AtSession) -> Result<Response, Problem> {
    at.work(|of| {
        let setting = of.kept.setting()?;
        let session = of.kept.played(&setting)?;
        let text = Practised::of(&session, &of.kept.practice.by).text();
        let kind = (header::CONTENT_TYPE, "application/json");
        let name = (header::CONTENT_DISPOSITION, "attachment; filename=\"practice-result.json\"");
        Ok(([kind, name], text).into_response())
    })
    .await
}

/// Results of several trainees.
pub(crate) async fn side_by_side(
    State(app): State<Arc<App>>,
    Extension(visit): Extension<Visit>,
) -> Result<Html<String>, Problem> {
    app.work(move |app| {
        let events = app.ledger().practice()?;
        let mut results = Vec::new();
        for event in events.iter().take(COMPARED) {
            let kept = KeptSession::of(event)?;
            let Ok(setting) = kept.setting() else { continue };
            let session = kept.played(&setting)?;
            if session.ended().is_some() {
                results.push(Practised::of(&session, &kept.practice.by));
            }
        }
        let frame = Frame { title: "Results", place: Place::Practice, job: None, visit: Some((app, visit)) };
        Ok(frame.page(&html! {
            h1 { "Results side by side" }
            (banner())
            @if results.is_empty() {
                p.faint { "No session has ended yet." }
            } @else {
                (table(&results))
            }
            p { a.button href="/practice" { "To the scenarios" } }
        }))
    })
    .await
}

fn table(results: &[Practised]) -> Markup {
    html! {
        div.wide-table tabindex="0" role="region" aria-label="Results" {
            table {
                thead {
                    tr {
                        th scope="col" { "Who" }
                        th scope="col" { "Scenario" }
                        th scope="col" { "Points" }
                        @for area in Area::ALL { th scope="col" { (area.name()) " of " (area.of()) } }
                        th scope="col" { "Minutes" }
                        th scope="col" { "Passed" }
                    }
                }
                tbody {
                    @for row in practice::side_by_side(results) {
                        tr {
                            th scope="row" { (who(&row.by)) }
                            td { (row.title) }
                            td { (row.points) }
                            @for points in row.areas { td { (points) } }
                            td { (row.time_s / 60) }
                            td { @if row.passed { "yes" } @else { "no" } }
                        }
                    }
                }
            }
        }
    }
}
