//! What stands before every page: from where a request may come, who it is from, and what no answer is without.

use crate::app::App;
use crate::keys::Session;
use crate::problem::{Logged, Problem};
use crate::report;
use axum::extract::{ConnectInfo, Request, State};
use axum::http::uri::Authority;
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode, Uri, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};
use std::net::{IpAddr, SocketAddr};
use std::sync::Arc;
use units::System;

/// Name of the cookie that keeps the session.
const COOKIE: &str = "platewright";
/// Name of the cookie that keeps the units chosen.
const UNITS_COOKIE: &str = "platewright-units";

/// Everything a page may load comes from here; no script or style stands in a page; no other page may hold it in a frame.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; \
                      form-action 'self'; base-uri 'none'; frame-ancestors 'none'";
/// A picture as a document of its own brings its style along and may do nothing.
const POLICY_PICTURE: &str = "default-src 'none'; style-src 'unsafe-inline'; sandbox; frame-ancestors 'none'";

/// On every answer.
const HEADERS: [(HeaderName, &str); 6] = [
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::X_FRAME_OPTIONS, "DENY"),
    // Not `no-referrer`: with it browsers send no origin along with a form.
    (header::REFERRER_POLICY, "same-origin"),
    (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
    (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
    (
        HeaderName::from_static("permissions-policy"),
        "camera=(), microphone=(), geolocation=(), usb=(), serial=(), payment=()",
    ),
];

/// Who a request is from.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Visit {
    /// The session; none for someone who has not said the passphrase.
    pub(crate) session: Option<Session>,
    /// Whether there is a passphrase, and so something to sign out of.
    pub(crate) may_sign_out: bool,
    /// From which address.
    pub(crate) from: Option<IpAddr>,
    /// The units that he chose to read and type in; where he chose none, those of the job that he is shown.
    pub(crate) units: Option<System>,
}

/// Lets a request through or answers it.
pub(crate) async fn guard(State(app): State<Arc<App>>, mut request: Request, next: Next) -> Response {
    let path = request.uri().path().to_owned();
    let mut response = match admit(&app, &mut request) {
        Err(refused) => *refused,
        Ok(new) => {
            let mut response = next.run(request).await;
            if let Some(session) = new {
                set_cookie(&mut response, &app, session);
            }
            response
        }
    };
    if let Some(Logged(Some(why))) = response.extensions().get::<Logged>() {
        log(&path, why);
    }
    dress(&mut response);
    response
}

/// Tells whoever started the page.
#[expect(clippy::print_stderr, reason = "the log of a program that runs in a terminal")]
fn log(path: &str, why: &str) {
    eprintln!("{path}: {why}");
}

/// The session that was begun with this request, if one was.
fn admit(app: &App, request: &mut Request) -> Result<Option<Session>, Box<Response>> {
    let refuse = |problem: Problem| Box::new(problem.into_response());
    if !is_own_host(request.headers(), request.uri(), app.passphrase.is_some()) {
        return Err(refuse(Problem::new(
            StatusCode::MISDIRECTED_REQUEST,
            "This address does not lead here.",
            "Use the address that platewright printed when it was started.",
        )));
    }
    let changes = match *request.method() {
        Method::GET | Method::HEAD => false,
        Method::POST => true,
        _ => return Err(refuse(Problem::no_such_way())),
    };
    if changes && !is_from_here(request.headers()) {
        return Err(refuse(Problem::foreign_form()));
    }
    let from = request.extensions().get::<ConnectInfo<SocketAddr>>().map(|info| info.0.ip());
    let units = cookie(request.headers(), UNITS_COOKIE).and_then(report::system);
    let known = cookie(request.headers(), COOKIE).and_then(|cookie| app.keys.session(cookie, app.now_s()));
    let may_sign_out = app.passphrase.is_some();
    let visit = |session| Visit { session, may_sign_out, from, units };
    if known.is_some() || (may_sign_out && is_open(request.uri().path())) {
        request.extensions_mut().insert(visit(known));
        return Ok(None);
    }
    if may_sign_out {
        let to = request.uri().path_and_query().map_or("/", |path| path.as_str()).to_owned();
        return Err(Box::new(match changes {
            false => Redirect::to(&format!("/sign-in?to={}", crate::fields::escaped(&to))).into_response(),
            true => Problem::foreign_form().into_response(),
        }));
    }
    let new = app.keys.new_session(app.now_s());
    request.extensions_mut().insert(visit(Some(new)));
    Ok(Some(new))
}

/// What needs no passphrase: signing in, what pages are made with, and what to do first after a stop.
fn is_open(path: &str) -> bool {
    path == "/sign-in" || path.starts_with("/assets/") || path == "/stopped" || path.starts_with("/stopped/")
}

/// Whether the request names this computer as its host, so that no other site's name can be made to lead here.
fn is_own_host(headers: &HeaderMap, uri: &Uri, on_network: bool) -> bool {
    let told = headers
        .get(header::HOST)
        .and_then(|host| host.to_str().ok())
        .or_else(|| uri.authority().map(Authority::as_str));
    let Some(host) = told else { return false };
    let name = match host.strip_prefix('[') {
        Some(rest) => rest.split(']').next().unwrap_or_default(),
        None => host.rsplit_once(':').map_or(host, |(name, _)| name),
    };
    match name.parse::<IpAddr>() {
        Ok(address) => on_network || address.is_loopback(),
        Err(_) if name.eq_ignore_ascii_case("localhost") => true,
        // A name of the shop's own network: one word, or one that only that network answers to.
        Err(_) => on_network && (!name.contains('.') || name.to_ascii_lowercase().ends_with(".local")),
    }
}

/// Whether a change was sent by a page of ours, as far as the browser says.
fn is_from_here(headers: &HeaderMap) -> bool {
    let text = |name: HeaderName| headers.get(name).and_then(|value| value.to_str().ok());
    if let Some(site) = text(HeaderName::from_static("sec-fetch-site"))
        && !["same-origin", "none"].contains(&site)
    {
        return false;
    }
    let Some(origin) = headers.get(header::ORIGIN) else { return true };
    let (Ok(origin), Some(host)) = (origin.to_str(), text(header::HOST)) else { return false };
    let of_origin = origin.strip_prefix("http://").or_else(|| origin.strip_prefix("https://"));
    of_origin.is_some_and(|of_origin| of_origin.eq_ignore_ascii_case(host))
}

fn cookie<'a>(headers: &'a HeaderMap, name: &str) -> Option<&'a str> {
    let all = headers.get_all(header::COOKIE).iter().filter_map(|value| value.to_str().ok());
    all.flat_map(|cookies| cookies.split(';'))
        .find_map(|cookie| cookie.trim().strip_prefix(name)?.strip_prefix('='))
}

/// Gives the visitor this session.
pub(crate) fn set_cookie(response: &mut Response, app: &App, session: Session) {
    let value = app.keys.cookie(session);
    put_cookie(response, &format!("{COOKIE}={value}; Path=/; HttpOnly; SameSite=Strict; Max-Age=2592000"));
}

/// Keeps the units that the visitor chose, for a year.
pub(crate) fn set_units_cookie(response: &mut Response, units: System) {
    let value = report::unit(units);
    put_cookie(
        response,
        &format!("{UNITS_COOKIE}={value}; Path=/; HttpOnly; SameSite=Strict; Max-Age=31536000"),
    );
}

/// Takes the visitor's session away.
pub(crate) fn drop_cookie(response: &mut Response) {
    put_cookie(response, &format!("{COOKIE}=; Path=/; HttpOnly; SameSite=Strict; Max-Age=0"));
}

fn put_cookie(response: &mut Response, value: &str) {
    if let Ok(value) = HeaderValue::from_str(value) {
        response.headers_mut().append(header::SET_COOKIE, value);
    }
}

fn dress(response: &mut Response) {
    let headers = response.headers_mut();
    let is_picture =
        headers.get(header::CONTENT_TYPE).is_some_and(|kind| kind.as_bytes().starts_with(b"image/svg"));
    let policy = if is_picture { POLICY_PICTURE } else { POLICY };
    headers.insert(header::CONTENT_SECURITY_POLICY, HeaderValue::from_static(policy));
    for (name, value) in HEADERS {
        headers.insert(name, HeaderValue::from_static(value));
    }
    headers.entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
}
