//! Signing in with the passphrase, where the page is open to the network.

use super::frame::screen;
use crate::address::{Asked, own_place};
use crate::app::App;
use crate::fields::Fields;
use crate::guard::{Visit, drop_cookie, set_cookie};
use crate::problem::Problem;
use axum::body::Bytes;
use axum::extract::rejection::BytesRejection;
use axum::extract::{Extension, State};
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Redirect, Response};
use maud::html;
use serde::Deserialize;
use std::sync::Arc;

/// Where to go afterwards.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct To {
    #[serde(default)]
    to: String,
}

/// The question.
pub(crate) async fn ask(Asked(to): Asked<To>) -> Html<String> {
    page(own_place(&to.to), None)
}

fn page(to: &str, wrong: Option<&str>) -> Html<String> {
    screen(
        "Passphrase",
        None,
        &html! {
            h1 { "The passphrase of this page" }
            @if let Some(wrong) = wrong { p.callout role="alert" { (wrong) } }
            form method="post" action="/sign-in" {
                input type="hidden" name="to" value=(to);
                label { span { "Passphrase" } input type="password" name="passphrase" required autofocus autocomplete="current-password"; }
                button.main { "Go on" }
            }
            p { a.button href="/stopped" { "It has stopped: what now?" } }
        },
    )
}

/// The answer. The form brings no code along, for there is no session yet; that it comes from here is known by its origin.
pub(crate) async fn check(
    State(app): State<Arc<App>>,
    Extension(visit): Extension<Visit>,
    body: Result<Bytes, BytesRejection>,
) -> Result<Response, Problem> {
    let body = body.map_err(|why| Problem::not_received(why.status()))?;
    let fields = Fields::of(std::str::from_utf8(&body).map_err(|_| Problem::malformed())?);
    let to = own_place(fields.get("to").unwrap_or("/")).to_owned();
    if let Some(wait_s) = app.wait_s(visit.from) {
        return Err(Problem {
            after_s: Some(wait_s),
            ..Problem::new(
                StatusCode::TOO_MANY_REQUESTS,
                format!("Too many wrong passphrases. The next try is in {wait_s} seconds."),
                "Wait, then try again. The passphrase was chosen by whoever started the page.",
            )
        });
    }
    let told = fields.raw("passphrase").unwrap_or_default().to_owned();
    let right = app.work(move |app| Ok(app.is_passphrase(&told, visit.from))).await?;
    if !right {
        return Ok((StatusCode::FORBIDDEN, page(&to, Some("That is not the passphrase."))).into_response());
    }
    let mut response = Redirect::to(&to).into_response();
    set_cookie(&mut response, &app, app.keys.new_session(app.now_s()));
    Ok(response)
}

/// Signing out.
pub(crate) async fn out(_: Fields) -> Response {
    let mut response = Redirect::to("/sign-in").into_response();
    drop_cookie(&mut response);
    response
}
