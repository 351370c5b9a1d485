//! A practice session as the ledger has it, and the request about it.

use crate::address::part;
use crate::app::App;
use crate::guard::Visit;
use crate::problem::Problem;
use axum::extract::FromRequestParts;
use axum::http::StatusCode;
use axum::http::request::Parts;
use ledger::{Entry, Event, Id, Ledger, Practice};
use practice::{Act, Kept, Session, Setting};
use std::sync::Arc;

/// A request about a practice session.
pub(super) struct AtSession {
    app: Arc<App>,
    visit: Visit,
    id: Id,
}

/// A session as it is kept, and who asks.
pub(super) struct OfSession<'a> {
    pub(super) app: &'a App,
    pub(super) visit: Visit,
    pub(super) id: Id,
    pub(super) kept: KeptSession,
}

/// A session as it is kept.
#[derive(Debug)]
pub(super) struct KeptSession {
    pub(super) practice: Practice,
    pub(super) kept: Kept,
}

impl KeptSession {
    /// What an event keeps, if it is one of practice.
    pub(super) fn of(event: &Event) -> Result<Self, Problem> {
        let Entry::Practice(practice) = &event.entry else { return Err(no_such_session()) };
        let kept = Kept::parse(&practice.session).map_err(|why| Problem::ours(&why.to_string()))?;
        Ok(Self { practice: practice.clone(), kept })
    }

    /// How the session of this name stands.
    pub(super) fn last(ledger: &Ledger, id: Id) -> Result<Self, Problem> {
        let events = ledger.events(id)?;
        events.last().map_or_else(|| Err(no_such_session()), Self::of)
    }

    /// The scenario on its plate.
    pub(super) fn setting(&self) -> Result<Setting, Problem> {
        let scenario = &self.kept.scenario;
        let setting = if self.kept.own {
            let plate = practice::plate(None).ok_or_else(|| Problem::ours("there is no bundled plate"))?;
            Setting::of(scenario, plate).ok()
        } else {
            practice::bundled(scenario)
        };
        setting.ok_or_else(|| {
            Problem::unfit(
                "The scenario of this session is not known here any more.",
                "Begin another; results that were kept can still be compared.",
            )
        })
    }

    /// The session, with everything done again that was done in it.
    pub(super) fn played<'s>(&self, setting: &'s Setting) -> Result<Session<'s>, Problem> {
        let acts: Vec<Act> = self.kept.acts().map_err(|why| Problem::ours(&why.to_string()))?;
        Ok(Session::replay(setting, self.practice.seed, &acts))
    }
}

impl AtSession {
    /// Does something with the session as it is kept, away from the threads that answer.
    pub(super) async fn work<R: Send + 'static>(
        self,
        does: impl FnOnce(OfSession<'_>) -> Result<R, Problem> + Send + 'static,
    ) -> Result<R, Problem> {
        let Self { app, visit, id } = self;
        let of_session = move |app: &Arc<App>| {
            let kept = KeptSession::last(&app.ledger(), id)?;
            does(OfSession { app, visit, id, kept })
        };
        app.work(of_session).await
    }
}

impl OfSession<'_> {
    /// The address of its page.
    pub(super) fn path(&self) -> String {
        format!("/practice/{}", self.id)
    }
}

impl FromRequestParts<Arc<App>> for AtSession {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, app: &Arc<App>) -> Result<Self, Problem> {
        let visit = parts.extensions.get::<Visit>().copied().ok_or_else(Problem::foreign_form)?;
        let id =
            part(parts, "session").await.and_then(|text| text.parse().ok()).ok_or_else(no_such_session)?;
        Ok(Self { app: Arc::clone(app), visit, id })
    }
}

/// There is no such session.
fn no_such_session() -> Problem {
    Problem::new(
        StatusCode::NOT_FOUND,
        "There is no such practice session here.",
        "Go to Practice; a session that was begun on another computer is there, not here.",
    )
}
