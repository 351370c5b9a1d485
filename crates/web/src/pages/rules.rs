//! The page of a rule, as `explain` prints it.

use super::frame::{Frame, Place};
use crate::address::Named;
use crate::app::App;
use crate::guard::Visit;
use crate::problem::Problem;
use axum::extract::{Extension, State};
use axum::response::Html;
use maud::html;
use std::sync::Arc;

/// The page.
pub(crate) async fn show(
    State(app): State<Arc<App>>,
    Extension(visit): Extension<Visit>,
    Named(rule): Named,
) -> Result<Html<String>, Problem> {
    let text = checks::explain(&rule).ok_or_else(Problem::no_such_page)?;
    let frame = Frame { title: &rule, place: Place::Elsewhere, job: None, visit: Some((&app, visit)) };
    Ok(frame.page(&html! {
        h1 { (rule) }
        pre.page-text { (text) }
    }))
}
