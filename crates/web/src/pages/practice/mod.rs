//! *Practice*: scenarios on a model of the table, a session with its three cards and the plate, and what it was worth.
//! Nothing on these pages moves a machine, and every one of them says so.

mod at;
mod list;
mod result;
mod session;
mod view;

use crate::app::App;
use axum::Router;
use axum::routing::{get, post};
use maud::{Markup, html};
use std::sync::Arc;

/// Which request leads where.
pub(crate) fn routes() -> Router<Arc<App>> {
    Router::new()
        .route("/practice", get(list::show).post(list::begin))
        .route("/practice/results", get(result::side_by_side))
        .route("/practice/{session}", get(session::show))
        .route("/practice/{session}/act", post(session::act))
        .route("/practice/{session}/strokes", get(session::strokes))
        .route("/practice/{session}/picture.svg", get(session::picture))
        .route("/practice/{session}/result.json", get(result::file))
}

/// What stands over every page of practice.
fn banner() -> Markup {
    html! {
        p.practice-banner { strong { "Practice: nothing here moves a machine." } " Shop, plates, people and codes are invented." }
    }
}
