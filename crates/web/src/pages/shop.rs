//! *Shop*: the shop file as it is, checked as it is typed; every key with its unit and what it unlocks.

use super::frame::{Frame, Place, own};
use crate::app::App;
use crate::fields::Fields;
use crate::guard::Visit;
use crate::problem::Problem;
use crate::shop_file;
use axum::extract::{Extension, State};
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Redirect, Response};
use desk::figures::counted;
use desk::{Lined, ShortText};
use finding::{Finding, Level};
use ledger::TextId;
use maud::{Markup, html};
use shop::Shop;
use std::sync::Arc;

/// The page.
pub(crate) async fn show(
    State(app): State<Arc<App>>,
    Extension(visit): Extension<Visit>,
) -> Result<Html<String>, Problem> {
    app.work(move |app| {
        let now = app.shop_now()?;
        let is_new = now.text.is_none();
        let text = now.text.unwrap_or_else(|| shop::starter().to_owned());
        Ok(page(app, visit, &text, &text, is_new, None))
    })
    .await
}

/// `on_disk` is the text that the file had when this was begun.
fn page(
    app: &App,
    visit: Visit,
    text: &str,
    on_disk: &str,
    is_new: bool,
    note: Option<&str>,
) -> Html<String> {
    let frame = Frame { title: "Shop", place: Place::Shop, job: None, visit: Some((app, visit)) };
    frame.page(&html! {
        h1 { "Shop" }
        @if is_new {
            p.callout { "There is no shop file yet. This is a starter: every line in it may be left out. Nothing is written until you save." }
        }
        @if let Some(note) = note { p.callout role="alert" { (note) } }
        form.shop method="post" action="/shop" data-check="/shop/check" {
            (own(app, visit))
            input type="hidden" name="was" value=(if is_new { String::new() } else { TextId::of(on_disk.as_bytes()).to_string() });
            div.shop-page {
                label { span { "The shop file: the file itself, comments and all" }
                    textarea name="text" spellcheck="false" autocomplete="off" autocapitalize="off" rows="30" wrap="off" { "\n" (text) }
                }
                div {
                    div #verdict aria-live="polite" { (verdict(text)) }
                    div.files {
                        button.main { "Save the shop file" }
                        button formaction="/shop/check" formtarget="_blank" { "Only check it" }
                    }
                    details {
                        summary { "Every key, its unit and what it unlocks" }
                        pre.page-text { (shop::SHOP.reference()) }
                    }
                }
            }
        }
    })
}

/// What is wrong with a shop file's text, by line.
fn verdict(text: &str) -> Markup {
    let (_, findings) = Shop::parse(text);
    let lines = ShortText::new(text);
    let errors = findings.iter().filter(|finding| finding.level == Level::Error).count();
    html! {
        p.verdict {
            strong {
                @if errors > 0 { (counted(errors, "mistake", "mistakes")) }
                @else if findings.is_empty() { "No mistakes." }
                @else { "No mistakes; " (counted(findings.len(), "remark", "remarks")) "." }
            }
        }
        ul.mistakes { @for finding in &findings { li { (mistake(finding, &lines)) } } }
    }
}

fn mistake(finding: &Finding, lines: &ShortText<'_>) -> Markup {
    html! {
        @if let Some(label) = &finding.primary { strong { "Line " (lines.line_of(label.span.start)) ": " } }
        (finding.message)
        @if !finding.remedy.is_empty() { " " span.faint { "To do: " (finding.remedy) "." } }
    }
}

/// What is wrong with a text that is being typed: a piece of the page for its script, a page of its own without one.
pub(crate) async fn check(Extension(_): Extension<Visit>, fields: Fields) -> Result<Html<String>, Problem> {
    let text = unix_lines(fields.raw("text").ok_or_else(Problem::malformed)?);
    Ok(Html(verdict(&text).into_string()))
}

/// The file is to be written.
pub(crate) async fn save(
    State(app): State<Arc<App>>,
    Extension(visit): Extension<Visit>,
    fields: Fields,
) -> Result<Response, Problem> {
    app.work(move |app| {
        let text = unix_lines(fields.raw("text").ok_or_else(Problem::malformed)?);
        let was = fields.get("was").unwrap_or_default();
        let now = app.shop_now()?;
        let is = now.text.as_ref().map(|text| TextId::of(text.as_bytes()).to_string()).unwrap_or_default();
        let again = |status: StatusCode, note: &str| {
            let on_disk = now.text.clone().unwrap_or_default();
            (status, page(app, visit, &text, &on_disk, now.text.is_none(), Some(note))).into_response()
        };
        if is != was {
            let note = "Not saved: the file was changed meanwhile, by an editor or in another tab. What you typed stands \
                        below; save again to put it in the place of what the file holds now.";
            return Ok(again(StatusCode::CONFLICT, note));
        }
        if Shop::parse(&text).1.iter().any(|finding| finding.level == Level::Error) {
            return Ok(again(
                StatusCode::UNPROCESSABLE_ENTITY,
                "Not saved: with a mistake in it nothing could be worked out. What you typed stands below.",
            ));
        }
        let of_windows = now.text.as_ref().is_some_and(|text| text.contains("\r\n"));
        let text = if of_windows { text.replace('\n', "\r\n") } else { text };
        shop_file::write(&app.shop, &text)?;
        Ok(Redirect::to("/shop").into_response())
    })
    .await
}

/// Browsers end lines with CR LF, whatever the file had.
fn unix_lines(text: &str) -> String {
    text.replace("\r\n", "\n")
}
