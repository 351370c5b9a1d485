//! What an address names: the job, the stop of it, and whatever else stands in it. A handler takes one of these and
//! begins with the job as it stands; an address that nobody here made is answered by a page that says what to do.

use crate::app::App;
use crate::guard::Visit;
use crate::opened::Opened;
use crate::planned::Planned;
use crate::problem::Problem;
use axum::extract::{FromRequestParts, Query, RawPathParams};
use axum::http::request::Parts;
use ledger::{Entry, Id, JobRecord, StopRecord, Text};
use serde::de::DeserializeOwned;
use std::sync::Arc;

/// A request about a job.
pub(crate) struct AtJob {
    app: Arc<App>,
    visit: Visit,
    job: Id,
}

/// A request about a stop of a job.
pub(crate) struct AtStop {
    job: AtJob,
    stop: Id,
}

/// The name with which an address ends: of a rule, a file, a way to go on.
pub(crate) struct Named(pub(crate) String);

/// What an address asks after its question mark.
pub(crate) struct Asked<T>(pub(crate) T);

/// A job as it stands, and who asks.
#[derive(Clone, Copy)]
pub(crate) struct OfJob<'a> {
    pub(crate) app: &'a App,
    pub(crate) visit: Visit,
    pub(crate) record: &'a JobRecord,
}

/// A stop as it stands, its job, and who asks.
#[derive(Clone, Copy)]
pub(crate) struct OfStop<'a> {
    pub(crate) app: &'a App,
    pub(crate) visit: Visit,
    pub(crate) record: &'a JobRecord,
    pub(crate) stop: &'a StopRecord,
}

impl AtJob {
    /// Does something with the job as it stands, away from the threads that answer.
    pub(crate) async fn work<R: Send + 'static>(
        self,
        does: impl FnOnce(OfJob<'_>) -> Result<R, Problem> + Send + 'static,
    ) -> Result<R, Problem> {
        let Self { app, visit, job } = self;
        let of_job = move |app: &App| does(OfJob { app, visit, record: &app.job(job)? });
        app.work(of_job).await
    }
}

impl AtStop {
    /// Does something with the stop as it stands, away from the threads that answer.
    pub(crate) async fn work<R: Send + 'static>(
        self,
        does: impl FnOnce(OfStop<'_>) -> Result<R, Problem> + Send + 'static,
    ) -> Result<R, Problem> {
        let Self { job, stop } = self;
        let of_job = move |OfJob { app, visit, record }: OfJob<'_>| {
            let stop = record.stop(stop).ok_or_else(Problem::no_such_job)?;
            does(OfStop { app, visit, record, stop })
        };
        job.work(of_job).await
    }
}

impl OfJob<'_> {
    /// The address of the job's page.
    pub(crate) fn path(&self) -> String {
        format!("/jobs/{}", self.record.id)
    }

    /// The job as read.
    pub(crate) fn open(&self) -> Result<Arc<Opened>, Problem> {
        self.app.open(self.record)
    }

    /// Keeps something that was entered about it, under the name that its form was made with.
    pub(crate) fn keep(&self, event: Id, entry: Entry, texts: &[Text]) -> Result<(), Problem> {
        self.app.keep(event, self.record.id, entry, texts)
    }
}

impl<'a> OfStop<'a> {
    /// The job alone.
    pub(crate) const fn job(&self) -> OfJob<'a> {
        OfJob { app: self.app, visit: self.visit, record: self.record }
    }

    /// The address of the stop's page.
    pub(crate) fn path(&self) -> String {
        format!("/jobs/{}/stops/{}", self.record.id, self.stop.id)
    }

    /// The plan of the stop.
    pub(crate) fn plan(&self) -> Result<Arc<Planned>, Problem> {
        self.app.plan(self.record, self.stop)
    }

    /// Keeps something that was entered about it, under the name that its form was made with.
    pub(crate) fn keep(&self, event: Id, entry: Entry, texts: &[Text]) -> Result<(), Problem> {
        self.job().keep(event, entry, texts)
    }
}

/// A parameter of the address; none if it is no text.
pub(crate) async fn part(parts: &mut Parts, name: &str) -> Option<String> {
    let named = RawPathParams::from_request_parts(parts, &()).await.ok()?;
    named.iter().find(|(other, _)| *other == name).map(|(_, value)| value.to_owned())
}

/// The id that a parameter is.
async fn id(parts: &mut Parts, name: &str) -> Result<Id, Problem> {
    part(parts, name).await.and_then(|text| text.parse().ok()).ok_or_else(Problem::no_such_job)
}

impl FromRequestParts<Arc<App>> for AtJob {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, app: &Arc<App>) -> Result<Self, Problem> {
        let visit = parts.extensions.get::<Visit>().copied().ok_or_else(Problem::foreign_form)?;
        Ok(Self { app: Arc::clone(app), visit, job: id(parts, "job").await? })
    }
}

impl FromRequestParts<Arc<App>> for AtStop {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, app: &Arc<App>) -> Result<Self, Problem> {
        let job = AtJob::from_request_parts(parts, app).await?;
        Ok(Self { job, stop: id(parts, "stop").await? })
    }
}

impl<S: Sync> FromRequestParts<S> for Named {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Problem> {
        part(parts, "name").await.map(Self).ok_or_else(Problem::no_such_page)
    }
}

impl<T: DeserializeOwned, S: Send + Sync> FromRequestParts<S> for Asked<T> {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Problem> {
        let asked = Query::from_request_parts(parts, state).await;
        asked.map(|Query(asked)| Self(asked)).map_err(|_| Problem::malformed())
    }
}
