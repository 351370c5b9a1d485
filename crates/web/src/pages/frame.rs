//! What every page has round it: its name, the places, and the way to what to do after a stop.

use crate::address::OfJob;
use crate::app::{App, new_id};
use crate::assets::address;
use crate::fields::{ENTRY, FORM_CODE};
use crate::guard::Visit;
use crate::inches::page_in;
use crate::problem::Problem;
use crate::report;
use axum::response::Html;
use ledger::Id;
use maud::{DOCTYPE, Markup, html};
use units::System;

/// A place that the head of a page names.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Place {
    /// The list of plates and their jobs.
    Plates,
    /// Practice sessions.
    Practice,
    /// The shop file.
    Shop,
    /// None of them.
    Elsewhere,
}

/// A page.
pub(crate) struct Frame<'a> {
    pub(crate) title: &'a str,
    pub(crate) place: Place,
    /// The job that *Stopped* is about, if the page is about one.
    pub(crate) job: Option<Id>,
    pub(crate) visit: Option<(&'a App, Visit)>,
}

impl<'a> Frame<'a> {
    /// The page of a job, or one about it.
    pub(crate) fn of_job(OfJob { app, visit, record }: OfJob<'a>) -> Self {
        Self { title: &record.name, place: Place::Plates, job: Some(record.id), visit: Some((app, visit)) }
    }

    /// The units in which it is read; none where neither the visitor nor a job says.
    fn system(&self) -> Option<System> {
        self.visit.and_then(|(_, visit)| visit.units)
    }

    /// The page with this in it.
    pub(crate) fn page(&self, body: &Markup) -> Html<String> {
        self.page_then(None, body)
    }

    /// A page that leads to another place by itself, soon, where scripts do not run.
    pub(crate) fn page_then(&self, then: Option<&str>, body: &Markup) -> Html<String> {
        let stopped = self.job.map_or("/stopped".to_owned(), |job| format!("/stopped?job={job}"));
        let places = [
            (Place::Plates, "/", "Plates"),
            (Place::Practice, "/practice", "Practice"),
            (Place::Shop, "/shop", "Shop"),
        ];
        let Html(page) = document(
            self.title,
            "place",
            then,
            &html! {
                a.skip href="#main" { "To the content" }
                header {
                    a.name href="/" { img src=(address("mark.svg")) alt="" width="28" height="28"; "Platewright" }
                    nav aria-label="Places" {
                        @for (place, to, name) in places {
                            a href=(to) aria-current=[(place == self.place).then_some("page")] { (name) }
                        }
                        @if let Some((app, visit)) = self.visit {
                            @if visit.may_sign_out && visit.session.is_some() {
                                form method="post" action="/sign-out" { (own(app, visit)) button.quiet { "Sign out" } }
                            }
                        }
                    }
                    @if let Some((app, visit)) = self.visit.filter(|(_, visit)| visit.session.is_some()) {
                        (unit_switch(app, visit))
                    }
                    a.stopped href=(stopped) { span.ring aria-hidden="true" {} "Stopped" small { "what now?" } }
                }
                main #main { (body) }
            },
        );
        Html(page_in(page, self.system().unwrap_or_default()))
    }
}

/// In which units lengths are shown, and bare numbers typed: a press changes it. The one in force is pressed, also where
/// neither the visitor nor a job says.
fn unit_switch(app: &App, visit: Visit) -> Markup {
    let in_force = report::unit(visit.units.unwrap_or_default());
    html! {
        form.units method="post" action="/units" aria-label="Units" {
            (own(app, visit))
            @for unit in [System::Metric, System::Inch].map(report::unit) {
                button name="units" value=(unit) aria-pressed=(unit == in_force) { (unit) }
            }
        }
    }
}

/// A screen with one question on it and nothing round it.
pub(crate) fn screen(title: &str, back: Option<&str>, body: &Markup) -> Html<String> {
    document(
        title,
        "screen",
        None,
        &html! {
            main #main {
                @if let Some(back) = back { a.back href=(back) { "‹ Back" } }
                (body)
            }
        },
    )
}

/// After how many seconds a page that waits for something looks again where scripts do not run.
const LOOKS_AGAIN_S: u32 = 2;

/// `then`: where it leads to by itself where scripts do not run.
fn document(title: &str, class: &str, then: Option<&str>, body: &Markup) -> Html<String> {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (title) " · Platewright" }
                link rel="stylesheet" href=(address("page.css"));
                link rel="icon" href=(address("mark.svg")) type="image/svg+xml";
                script type="module" src=(address("page.js")) {}
                script type="module" src=(address("plate.js")) {}
                @if let Some(then) = then {
                    noscript { meta http-equiv="refresh" content={ (LOOKS_AGAIN_S) ";url=" (then) }; }
                }
            }
            body class=(class) { (body) }
        }
    };
    Html(page.into_string())
}

/// The field that shows that a form was made here for this visitor.
pub(crate) fn own(app: &App, visit: Visit) -> Markup {
    let code = visit.session.map(|session| app.keys.form_code(session)).unwrap_or_default();
    html! { input type="hidden" name=(FORM_CODE) value=(code); }
}

/// The same, with a name under which what is entered is kept: sent twice, it counts once.
pub(crate) fn own_entry(app: &App, visit: Visit) -> Markup {
    html! { (own(app, visit)) input type="hidden" name=(ENTRY) value=(new_id()); }
}

/// What went wrong and what to do, as a page.
pub(crate) fn problem(problem: &Problem) -> Html<String> {
    let frame = Frame { title: "That did not work", place: Place::Elsewhere, job: None, visit: None };
    frame.page(&html! {
        section.card.problem {
            h1 { "That did not work" }
            p.what { (problem.what) }
            p { strong { "What to do: " } (problem.remedy) }
            p { a.button href="/" { "To the plates" } }
        }
    })
}
