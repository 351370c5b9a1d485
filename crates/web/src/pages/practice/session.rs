//! A session: three cards, the plate, and what can be done, as plain buttons.

use super::at::{AtSession, KeptSession, OfSession};
use super::{banner, result, view};
use crate::fields::Fields;
use crate::pages::frame::{Frame, Place, own_entry};
use crate::pages::plate_view::{PlateView, Tap};
use crate::problem::Problem;
use crate::wire;
use axum::http::header;
use axum::response::{Html, IntoResponse, Redirect, Response};
use desk::figures::counted;
use ledger::{Entry, Event, Moment, Practice};
use maud::{Markup, html};
use practice::{Act, Session};
use shop::Worded as _;
use std::collections::BTreeMap;

/// Most acts that a session keeps.
const ACTS_MOST: usize = 200;

/// The page of a session, or of what it was worth once it has ended.
pub(crate) async fn show(at: AtSession) -> Result<Html<String>, Problem> {
    at.work(|of| {
        let setting = of.kept.setting()?;
        let session = of.kept.played(&setting)?;
        let title = format!("Practice: {}", setting.scenario.title);
        let frame =
            Frame { title: &title, place: Place::Practice, job: None, visit: Some((of.app, of.visit)) };
        let body =
            if session.ended().is_some() { result::markup(&of, &session) } else { markup(&of, &session) };
        Ok(frame.page(&body))
    })
    .await
}

fn markup(of: &OfSession<'_>, session: &Session<'_>) -> Markup {
    let scenario = &session.setting().scenario;
    html! {
        h1 { (scenario.title) }
        (banner())
        p { (scenario.story) }
        (cards(session))
        div.job-page {
            div.beside { (plate(of, session)) }
            div.steps { (buttons(of, session)) (so_far(session)) }
        }
    }
}

/// The three cards: what is seen, heard and done by the last act.
pub(super) fn cards(session: &Session<'_>) -> Markup {
    let last = session.answers().last();
    let cards = [
        ("You see", last.map(|answer| &answer.see)),
        ("You hear", last.map(|answer| &answer.hear)),
        ("You do", last.map(|answer| &answer.did)),
    ];
    html! {
        div.three role="status" {
            @for (name, texts) in cards {
                section.card {
                    h2 { (name) }
                    @let texts = texts.map_or(&[][..], Vec::as_slice);
                    @if texts.is_empty() { p.faint { "Nothing new." } }
                    ul { @for text in texts { li { (text) } } }
                }
            }
        }
    }
}

pub(super) fn plate(of: &OfSession<'_>, session: &Session<'_>) -> Markup {
    let (path, acts) = (of.path(), session.acts().len());
    let stands = session.torch().map_or_else(String::new, |(_, cut)| format!(", the torch at cut {cut}"));
    PlateView {
        strokes: format!("{path}/strokes?after={acts}"),
        picture: format!("{path}/picture.svg?after={acts}"),
        label: format!("The practice plate{stands}"),
        tap: Tap::Nothing,
        near: None,
    }
    .markup()
}

/// What can be done, in groups: the value of each button is the act as it would be typed, its words what is done.
fn groups(session: &Session<'_>) -> Vec<(&'static str, Vec<(String, String)>)> {
    let told: BTreeMap<String, &str> =
        Act::all().into_iter().map(|(act, about)| (act.to_string(), about)).collect();
    let own = |act: &str| (act.to_owned(), capital(told.get(act).copied().unwrap_or(act)));
    let listed = |verb: &str, words: Vec<&'static str>| -> Vec<(String, String)> {
        words.into_iter().map(|word| own(&format!("{verb} {word}"))).collect()
    };
    let first = ["stop", "listen", "read", "note", "raise", "isolate", "power"].map(own).to_vec();
    let waits = ["wait 15 s", "wait 5 min"].map(own).to_vec();
    let looks = listed("look", shop::Look::WORDS.iter().map(|(word, ..)| *word).collect());
    let fixes = listed("fix", shop::Cure::WORDS.iter().map(|(word, ..)| *word).collect());
    let clears = listed("clear", practice::Clearing::WORDS.iter().map(|(word, ..)| *word).collect());
    let measures = listed("measure", practice::Measuring::WORDS.iter().map(|(word, ..)| *word).collect());
    let mut on = vec![own("ways")];
    on.extend(session.ways().into_iter().map(|way| {
        let proven = if way.proven { "proven" } else { "by hand, unproven" };
        (format!("choose {}", way.name), format!("{} ({proven})", way.title))
    }));
    on.extend(["trace", "start"].map(own));
    vec![
        ("Look", looks),
        ("At the table", first),
        ("Wait", waits),
        ("Fix", fixes),
        ("Clear the fault", clears),
        ("Measure", measures),
        ("Go on", on),
        ("End", vec![("done".to_owned(), "End the session here".to_owned())]),
    ]
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().to_string()).unwrap_or_default() + letters.as_str()
}

fn buttons(of: &OfSession<'_>, session: &Session<'_>) -> Markup {
    html! {
        form.card method="post" action={ (of.path()) "/act" } {
            (own_entry(of.app, of.visit))
            input type="hidden" name="after" value=(session.acts().len());
            h2 { "What do you do?" }
            @for (group, acts) in groups(session) {
                fieldset.acts {
                    legend { (group) }
                    @for (act, text) in acts {
                        @let chosen = session.chosen().is_some_and(|way| act == format!("choose {way}"));
                        button name="act" value=(act) { (text) @if chosen { " ✓ taken" } }
                    }
                }
            }
            p.faint { "Each takes a stated time at the table, not yours: " (minutes(session.time_s())) " min have gone by there." }
        }
    }
}

pub(super) fn minutes(seconds: f64) -> String {
    format!("{:.1}", seconds / 60.0)
}

/// What was done and what came of it.
pub(super) fn so_far(session: &Session<'_>) -> Markup {
    html! {
        @if !session.acts().is_empty() {
            details.card {
                summary { "So far: " (counted(session.acts().len(), "act", "acts")) }
                ol {
                    @for (act, answer) in session.acts().iter().zip(session.answers().iter().skip(1)) {
                        li {
                            strong { (act) }
                            @for text in answer.see.iter().chain(&answer.hear).chain(&answer.did) { " " (text) }
                        }
                    }
                }
            }
        }
    }
}

/// Something was done.
pub(crate) async fn act(at: AtSession, fields: Fields) -> Result<Response, Problem> {
    at.work(move |of| {
        let act: Act = fields.must("act")?;
        let after: usize = fields.must("after")?;
        let event = fields.entry()?;
        // Read, held against what the form was made for, and added under one hold of the ledger: of two forms sent at
        // one time the second finds that it comes too late.
        let now = Moment(of.app.now_ms());
        let mut ledger = of.app.ledger();
        let KeptSession { practice, mut kept } = KeptSession::last(&ledger, of.id)?;
        if kept.acts.len() == after && after < ACTS_MOST {
            kept.acts.push(act.to_string());
            let entry = Entry::Practice(Practice { session: kept.text(), ..practice });
            ledger.append(&[Event { id: event, of: of.id, at: now, entry }], &[])?;
        }
        drop(ledger);
        Ok(Redirect::to(&of.path()).into_response())
    })
    .await
}

/// The plate as strokes.
pub(crate) async fn strokes(at: AtSession) -> Result<Response, Problem> {
    at.work(|of| {
        let setting = of.kept.setting()?;
        Ok(wire::strokes(&view::sketch(&of.kept.played(&setting)?)))
    })
    .await
}

/// The plate as a picture.
pub(crate) async fn picture(at: AtSession) -> Result<Response, Problem> {
    at.work(|of| {
        let setting = of.kept.setting()?;
        let svg = view::picture(&of.kept.played(&setting)?, of.visit.units);
        Ok(([(header::CONTENT_TYPE, "image/svg+xml")], svg).into_response())
    })
    .await
}
