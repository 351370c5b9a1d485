//! Style and scripts: part of the program, and kept by browsers until the program changes.

use crate::address::Named;
use crate::problem::Problem;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use ledger::TextId;
use std::sync::LazyLock;

/// A file that pages load.
struct Asset {
    name: &'static str,
    kind: &'static str,
    text: String,
    /// Its name with a mark that changes with its text.
    marked: String,
}

static ASSETS: LazyLock<Vec<Asset>> = LazyLock::new(|| {
    let asset = |name: &'static str, kind, text: String| {
        let mark = TextId::of(text.as_bytes()).to_string();
        Asset { name, kind, marked: format!("{}-{name}", &mark[..12]), text }
    };
    let style = format!("{}{}", draw::ink_properties(), include_str!("../assets/page.css"));
    vec![
        asset("page.css", "text/css; charset=utf-8", style),
        asset("plate.js", "text/javascript; charset=utf-8", include_str!("../assets/plate.js").to_owned()),
        asset("page.js", "text/javascript; charset=utf-8", include_str!("../assets/page.js").to_owned()),
        asset("mark.svg", "image/svg+xml", include_str!("../assets/mark.svg").to_owned()),
    ]
});

/// The address of a file.
///
/// # Panics
/// If there is no such file: pages name only those that are.
pub(crate) fn address(name: &str) -> String {
    let asset = ASSETS.iter().find(|asset| asset.name == name).expect("pages name files that are there");
    format!("/assets/{}", asset.marked)
}

/// Hands out a file.
pub(crate) async fn asset(Named(name): Named) -> Result<Response, Problem> {
    let asset = ASSETS.iter().find(|asset| asset.marked == name).ok_or_else(Problem::no_such_page)?;
    let headers =
        [(header::CONTENT_TYPE, asset.kind), (header::CACHE_CONTROL, "public, max-age=31536000, immutable")];
    Ok((headers, asset.text.as_str()).into_response())
}
