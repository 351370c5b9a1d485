//! The switch between millimetres and inches.

use crate::address::own_place;
use crate::fields::Fields;
use crate::guard::set_units_cookie;
use crate::problem::Problem;
use crate::report;
use axum::http::{HeaderMap, Uri, header};
use axum::response::{IntoResponse, Redirect, Response};

/// The visitor chose: he is shown again what he was looking at.
pub(crate) async fn choose(headers: HeaderMap, fields: Fields) -> Result<Response, Problem> {
    let units = fields.get("units").and_then(report::system).ok_or_else(Problem::malformed)?;
    let from = headers.get(header::REFERER).and_then(|from| from.to_str().ok()).unwrap_or_default();
    let mut response = Redirect::to(&shown_at(from)).into_response();
    set_units_cookie(&mut response, units);
    Ok(response)
}

/// Where the page is that was looked at. What was answered to a form that was refused is not there to be looked at again: the
/// page with that form is.
fn shown_at(from: &str) -> String {
    let from: Uri = from.parse().unwrap_or_default();
    let place = from.path_and_query().map_or("/", |place| place.as_str());
    let place = place.strip_suffix("/facts").unwrap_or(place);
    own_place(if place == "/plates" { "/" } else { place }).to_owned()
}

#[cfg(test)]
mod tests {
    use super::shown_at;

    #[test]
    fn one_is_led_back_to_what_one_was_looking_at() {
        for (from, to) in [
            ("http://127.0.0.1:8077/jobs/1/stops/2?a=b", "/jobs/1/stops/2?a=b"),
            ("http://127.0.0.1:8077/", "/"),
            ("http://127.0.0.1:8077/jobs/1/facts", "/jobs/1"),
            ("http://127.0.0.1:8077/plates", "/"),
            ("http://127.0.0.1:8077//example.com", "/"),
            ("", "/"),
            ("nowhere at all", "/"),
        ] {
            assert_eq!(shown_at(from), to, "{from}");
        }
    }
}
