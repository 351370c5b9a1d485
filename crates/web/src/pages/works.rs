//! A work that is waited for: how far it is, as a page and as a stream of events, and the button that calls it off.

use super::frame::{Frame, Place, own};
use crate::address::{Asked, Named, own_place};
use crate::app::App;
use crate::fields::{Fields, escaped};
use crate::guard::Visit;
use crate::problem::Problem;
use crate::report::sentence;
use crate::works::{Reached, Work};
use axum::extract::{Extension, State};
use axum::http::StatusCode;
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{IntoResponse, Redirect, Response};
use futures_core::Stream;
use ledger::Id;
use maud::{Markup, html};
use serde::{Deserialize, Serialize};
use std::convert::Infallible;
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll};
use std::time::Duration;
use tokio::sync::mpsc::{Receiver, channel};

/// How long one waits between two events: nobody reads faster.
const BETWEEN: Duration = Duration::from_millis(100);
/// How often a stream that has nothing to tell says that it is still there.
const ALIVE: Duration = Duration::from_secs(10);
/// Events that wait to be sent. Of those that come meanwhile only the last is told.
const WAITING: usize = 1;

/// Where a page of a work leads once that has ended.
#[derive(Clone, Debug, Default, Deserialize)]
pub(crate) struct To {
    #[serde(default)]
    to: String,
}

/// The address of a work's page, which leads to `to` once it has ended.
fn address(id: Id, to: &str) -> String {
    format!("/works/{id}?to={}", escaped(to))
}

/// The page of a work that `to` waits for.
pub(crate) fn waiting(app: &App, visit: Visit, work: &Work, to: &str) -> Response {
    let then = address(work.id, to);
    let reached = work.reached().borrow().clone();
    let frame = Frame { title: work.title, place: Place::Plates, job: job_of(to), visit: Some((app, visit)) };
    let page = frame.page_then(
        Some(&then),
        &html! {
            section.card.work data-work={ "/works/" (work.id) "/events" } data-then=(then) {
                h1 { (work.title) }
                (bar(&reached))
                p.reached role="status" { (says(&reached)) }
                form method="post" action={ "/works/" (work.id) "/cancel" } {
                    (own(app, visit))
                    input type="hidden" name="to" value=(to);
                    button { "Call it off" }
                }
                p.faint { "You may leave this page: it goes on, and what comes of it is kept for a while." }
                noscript { p { a.button href=(then) { "Look how far it is" } } }
            }
        },
    );
    (StatusCode::ACCEPTED, page).into_response()
}

/// The job that an address is about, for the way to *Stopped*.
fn job_of(to: &str) -> Option<Id> {
    to.strip_prefix("/jobs/")?.split(['/', '?']).next()?.parse().ok()
}

fn bar(reached: &Reached) -> Markup {
    html! {
        @match reached {
            Reached::At { done, of, .. } if *of > 1 => progress aria-label="How far it is" max=(of) value=(done) {},
            _ => progress aria-label="How far it is" {},
        }
    }
}

/// How far it is, in words.
fn says(reached: &Reached) -> String {
    match reached {
        Reached::Queued => "It waits for its turn.".to_owned(),
        Reached::At { done, of, of_what } if *of > 1 => {
            format!("{}: {done} of {of}", sentence(of_what))
        }
        Reached::At { of_what, .. } => sentence(of_what),
        Reached::Through => "It is through.".to_owned(),
        Reached::Failed => "It came to nothing.".to_owned(),
        Reached::CalledOff => "It was called off.".to_owned(),
    }
}

/// The page of a work by its name: how far it is, or what it led to.
pub(crate) async fn show(
    State(app): State<Arc<App>>,
    Extension(visit): Extension<Visit>,
    Named(name): Named,
    Asked(to): Asked<To>,
) -> Response {
    let to = own_place(&to.to);
    let Some(work) = find(&app, &name) else { return Redirect::to(to).into_response() };
    let reached = work.reached().borrow().clone();
    match reached {
        Reached::Queued | Reached::At { .. } => waiting(&app, visit, &work, to),
        Reached::Through | Reached::Failed => Redirect::to(to).into_response(),
        Reached::CalledOff => called_off(&app, visit, &work, to),
    }
}

fn called_off(app: &App, visit: Visit, work: &Work, to: &str) -> Response {
    let job = job_of(to);
    let frame = Frame { title: "Called off", place: Place::Plates, job, visit: Some((app, visit)) };
    let page = frame.page(&html! {
        section.card {
            h1 { "Called off" }
            p { (work.title) " was called off. What was told is kept; nothing else was changed." }
            p.files {
                a.button.main href=(to) { "Work it out after all" }
                a.button href="/" { "To the plates" }
            }
        }
    });
    page.into_response()
}

fn find(app: &App, name: &str) -> Option<Arc<Work>> {
    app.works.find(name.parse().ok()?)
}

/// A work is called off.
pub(crate) async fn cancel(
    State(app): State<Arc<App>>,
    Named(name): Named,
    fields: Fields,
) -> Result<Response, Problem> {
    let to = own_place(fields.get("to").unwrap_or("/")).to_owned();
    let Some(work) = find(&app, &name) else { return Ok(Redirect::to(&to).into_response()) };
    work.call_off();
    Ok(Redirect::to(&address(work.id, &to)).into_response())
}

/// How far a work is, as events: `reached` whenever it has got on, `ended` once, last. A work that is not known has
/// ended: the program was started anew, or it was long ago.
pub(crate) async fn events(State(app): State<Arc<App>>, Named(name): Named) -> Result<Response, Problem> {
    let permit = Arc::clone(&app.streams).try_acquire_owned().map_err(|_| Problem {
        after_s: Some(2),
        ..Problem::new(
            StatusCode::SERVICE_UNAVAILABLE,
            "Too many pages are being told how far something is.",
            "Load the page again now and then.",
        )
    })?;
    let (tell, told) = channel(WAITING);
    let work = find(&app, &name);
    let mut closing = app.works.closing();
    tokio::spawn(async move {
        let _permit = permit;
        let following = async {
            if let Some(work) = work {
                let mut reached = work.reached();
                loop {
                    let now = reached.borrow_and_update().clone();
                    if now.is_ended() {
                        break;
                    }
                    if tell.send(event(&now)).await.is_err() {
                        return;
                    }
                    tokio::time::sleep(BETWEEN).await;
                    // It ends before its sender is gone.
                    let _ = reached.changed().await;
                }
            }
            // An event without data is none to a browser.
            let _ = tell.send(Event::default().event("ended").data("now")).await;
        };
        tokio::select! {
            () = following => {}
            () = tell.closed() => {}
            _ = closing.wait_for(|closing| *closing) => {}
        }
    });
    Ok(Sse::new(Told(told)).keep_alive(KeepAlive::new().interval(ALIVE)).into_response())
}

/// What the script of the page takes.
#[derive(Debug, Serialize)]
struct Row {
    /// None where nobody can tell.
    done: Option<usize>,
    of: Option<usize>,
    says: String,
}

fn event(reached: &Reached) -> Event {
    let counted = match reached {
        Reached::At { done, of, .. } if *of > 1 => Some((*done, *of)),
        _ => None,
    };
    let (done, of) = (counted.map(|(done, _)| done), counted.map(|(_, of)| of));
    let row = Row { done, of, says: says(reached) };
    Event::default().event("reached").data(serde_json::to_string(&row).expect("it can be written as JSON"))
}

/// Events as they come.
struct Told(Receiver<Event>);

impl Stream for Told {
    type Item = Result<Event, Infallible>;

    fn poll_next(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<Option<Self::Item>> {
        self.0.poll_recv(context).map(|event| event.map(Ok))
    }
}
