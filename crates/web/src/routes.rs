//! Which request leads where.

use crate::app::App;
use crate::problem::Problem;
use crate::{assets, guard, pages};
use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::middleware::from_fn_with_state;
use axum::routing::{get, post};
use std::sync::Arc;

/// Longest form, in bytes: a shop file with charts is the longest text that anybody sends.
const FORM_MOST: usize = 512 * 1024;

/// The page as a service, without a socket.
pub fn app(state: Arc<App>) -> Router {
    let uploads = Router::new()
        .route("/plates", post(pages::plates::open))
        .layer(DefaultBodyLimit::max(pages::plates::UPLOAD_MOST));
    let routes = Router::new()
        .route("/", get(pages::plates::list))
        .route("/jobs/{job}", get(pages::job::show))
        .route("/jobs/{job}/facts", post(pages::known::facts))
        .route("/jobs/{job}/tick", post(pages::start_list::tick))
        .route("/jobs/{job}/dimples", get(pages::dimples::show))
        .route("/jobs/{job}/dimples/{name}", get(pages::dimples::program))
        .route("/jobs/{job}/outcome", post(pages::after::outcome))
        .route("/jobs/{job}/program", get(pages::job::program))
        .route("/jobs/{job}/strokes", get(pages::job::strokes))
        .route("/jobs/{job}/picture.svg", get(pages::job::picture))
        .route("/jobs/{job}/run", get(pages::job::run))
        .route("/jobs/{job}/time.svg", get(pages::job::time))
        .route("/stopped", get(pages::stopped::stop))
        .route("/stopped/lit", get(pages::stopped::lit))
        .route("/stopped/note", get(pages::stopped::note))
        .route("/stopped/which", get(pages::stopped::which))
        .route("/jobs/{job}/stops", post(pages::stopped::begin))
        .route("/jobs/{job}/stops/{stop}", get(pages::answer::show))
        .route("/jobs/{job}/stops/{stop}/ask", get(pages::ask::ask))
        .route("/jobs/{job}/stops/{stop}/begun/strokes", get(pages::begun::strokes))
        .route("/jobs/{job}/stops/{stop}/begun/picture.svg", get(pages::begun::picture))
        .route("/jobs/{job}/stops/{stop}/begun/near", get(pages::begun::near))
        .route("/jobs/{job}/stops/{stop}/tell", post(pages::ask::tell))
        .route("/jobs/{job}/stops/{stop}/tell-seen", post(pages::answer::seen))
        .route("/jobs/{job}/stops/{stop}/where", get(pages::refound::show))
        .route("/jobs/{job}/stops/{stop}/measure", get(pages::measure::ask).post(pages::measure::measure))
        .route(
            "/jobs/{job}/stops/{stop}/pointer",
            get(pages::measure::pointer).post(pages::measure::tell_pointer),
        )
        .route("/jobs/{job}/stops/{stop}/tick", post(pages::answer::tick))
        .route("/jobs/{job}/stops/{stop}/take", post(pages::answer::take))
        .route("/jobs/{job}/stops/{stop}/strokes", get(pages::answer::strokes))
        .route("/jobs/{job}/stops/{stop}/picture.svg", get(pages::answer::picture))
        .route("/jobs/{job}/stops/{stop}/steps", get(pages::answer::steps))
        .route("/jobs/{job}/stops/{stop}/ways/{name}/program", get(pages::answer::program))
        .route("/jobs/{job}/stops/{stop}/ways/{name}/trace", get(pages::answer::trace))
        .route("/jobs/{job}/stops/{stop}/ways/{name}/changes", get(pages::answer::changes))
        .route("/jobs/{job}/stops/{stop}/ways/{name}/plate", get(pages::answer::plate))
        .route("/jobs/{job}/stops/{stop}/salvage", get(pages::salvage::show).post(pages::salvage::take))
        .route("/jobs/{job}/stops/{stop}/salvage/{name}", get(pages::salvage::file))
        .merge(pages::practice::routes())
        .route("/works/{name}", get(pages::works::show))
        .route("/works/{name}/events", get(pages::works::events))
        .route("/works/{name}/cancel", post(pages::works::cancel))
        .route("/shop", get(pages::shop::show).post(pages::shop::save))
        .route("/shop/check", post(pages::shop::check))
        .route("/rules/{name}", get(pages::rules::show))
        .route("/units", post(pages::unit_switch::choose))
        .route("/sign-in", get(pages::sign_in::ask).post(pages::sign_in::check))
        .route("/sign-out", post(pages::sign_in::out))
        .route("/assets/{name}", get(assets::asset))
        .layer(DefaultBodyLimit::max(FORM_MOST))
        .merge(uploads);
    routes
        .fallback(|| async { Problem::no_such_page() })
        .method_not_allowed_fallback(|| async { Problem::no_such_way() })
        .layer(from_fn_with_state(Arc::clone(&state), guard::guard))
        .with_state(state)
}
