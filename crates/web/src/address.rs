//! What an address names: the job, the stop of it, and whatever else stands in it. A handler takes one of these and
//! begins with the job as it stands; an address that nobody here made is answered by a page that says what to do.

use crate::app::App;
use crate::guard::Visit;
use crate::left::Left;
use crate::opened::{Opened, Read};
use crate::pages;
use crate::planned::Planned;
use crate::problem::Problem;
use crate::works::{Met, Patience, Work};
use axum::extract::{FromRequestParts, Query, RawPathParams};
use axum::http::request::Parts;
use axum::response::{Html, IntoResponse, Response};
use cuts::Progress;
use ledger::{Entry, Id, JobRecord, StopRecord, Text};
use serde::de::DeserializeOwned;
use std::sync::Arc;

/// A request about a job.
#[derive(Clone)]
pub(crate) struct AtJob {
    pub(crate) app: Arc<App>,
    pub(crate) visit: Visit,
    pub(crate) job: Id,
    /// The address that was asked for, to come back to.
    here: String,
}

/// A request about a stop of a job.
#[derive(Clone)]
pub(crate) struct AtStop {
    pub(crate) job: AtJob,
    pub(crate) stop: Id,
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
        let Self { app, visit, job, .. } = self;
        let of_job = move |app: &Arc<App>| does(OfJob { app, visit, record: &app.job(job)? });
        app.work(of_job).await
    }

    /// The same once the job is read.
    pub(crate) async fn opened<R: Send + 'static>(
        mut self,
        does: impl FnOnce(OfJob<'_>, &Opened) -> Result<R, Problem> + Send + 'static,
    ) -> Result<R, Problem> {
        let (record, met) = self.open(Patience::Whole).await?;
        match met {
            Met::Made(opened) => {
                self.visit.units = Some(opened.system());
                self.with(record, move |of| does(of, &opened)).await
            }
            Met::Waits(_) => Err(Problem::called_off()),
        }
    }

    /// A page of the job as read, or of the reading if that takes longer.
    pub(crate) async fn page(
        mut self,
        does: impl FnOnce(OfJob<'_>, &Opened) -> Result<Html<String>, Problem> + Send + 'static,
    ) -> Result<Response, Problem> {
        let (record, met) = self.open(Patience::Blink).await?;
        match met {
            Met::Made(opened) => {
                self.visit.units = Some(opened.system());
                let page = self.with(record, move |of| does(of, &opened)).await?;
                Ok(page.into_response())
            }
            Met::Waits(work) => Ok(self.waits(&work)),
        }
    }

    /// The job as it stands now, and as read.
    async fn open(&self, patience: Patience) -> Result<(JobRecord, Met<Arc<Opened>>), Problem> {
        let (job, units) = (self.job, self.visit.units);
        let begun = self.app.work(move |app| {
            let record = app.job(job)?;
            let task = app.opening(&record, units)?;
            Ok((record, task))
        });
        let (record, task) = begun.await?;
        Ok((record, task.met(patience).await?))
    }

    /// Does something with the job as it stood then.
    async fn with<R: Send + 'static>(
        self,
        record: JobRecord,
        does: impl FnOnce(OfJob<'_>) -> Result<R, Problem> + Send + 'static,
    ) -> Result<R, Problem> {
        let visit = self.visit;
        self.app.work(move |app| does(OfJob { app, visit, record: &record })).await
    }

    fn waits(&self, work: &Work) -> Response {
        pages::works::waiting(&self.app, self.visit, work, &self.here)
    }
}

impl AtStop {
    /// Does something with the stop as it stands, away from the threads that answer.
    pub(crate) async fn work<R: Send + 'static>(
        self,
        does: impl FnOnce(OfStop<'_>) -> Result<R, Problem> + Send + 'static,
    ) -> Result<R, Problem> {
        let Self { job, stop } = self;
        job.work(move |of| does(of.stop(stop)?)).await
    }

    /// The same once the job is read.
    pub(crate) async fn opened<R: Send + 'static>(
        self,
        does: impl FnOnce(OfStop<'_>, &Opened) -> Result<R, Problem> + Send + 'static,
    ) -> Result<R, Problem> {
        let Self { job, stop } = self;
        job.opened(move |of, opened| does(of.stop(stop)?, opened)).await
    }

    /// A page of the stop once the job is read, or of the reading if that takes longer.
    pub(crate) async fn page(
        self,
        does: impl FnOnce(OfStop<'_>, &Opened) -> Result<Html<String>, Problem> + Send + 'static,
    ) -> Result<Response, Problem> {
        let Self { job, stop } = self;
        job.page(move |of, opened| does(of.stop(stop)?, opened)).await
    }

    /// Does something once it is worked out how to go on.
    pub(crate) async fn planned<R: Send + 'static>(
        mut self,
        does: impl FnOnce(OfStop<'_>, &Planned) -> Result<R, Problem> + Send + 'static,
    ) -> Result<R, Problem> {
        let (record, met) = self.plan(Patience::Whole).await?;
        match met {
            Met::Made(planned) => {
                self.job.visit.units = Some(planned.system());
                self.with(record, move |of| does(of, &planned)).await
            }
            Met::Waits(_) => Err(Problem::called_off()),
        }
    }

    /// A page of how to go on, or of the planning if that takes longer.
    pub(crate) async fn planned_page(
        mut self,
        does: impl FnOnce(OfStop<'_>, &Planned) -> Result<Html<String>, Problem> + Send + 'static,
    ) -> Result<Response, Problem> {
        let (record, met) = self.plan(Patience::Blink).await?;
        match met {
            Met::Made(planned) => {
                self.job.visit.units = Some(planned.system());
                let page = self.with(record, move |of| does(of, &planned)).await?;
                Ok(page.into_response())
            }
            Met::Waits(work) => Ok(self.waits(&work)),
        }
    }

    /// The job as it stands now, and the plan of its stop.
    pub(crate) async fn plan(&self, patience: Patience) -> Result<(JobRecord, Met<Arc<Planned>>), Problem> {
        let (record, met) = self.job.open(patience).await?;
        let opened = match met {
            Met::Made(opened) => opened,
            Met::Waits(work) => return Ok((record, Met::Waits(work))),
        };
        let (record, left) = match self.left(record, patience).await? {
            (record, None) => (record, None),
            (record, Some(Met::Made(left))) => (record, Some(left)),
            (record, Some(Met::Waits(work))) => return Ok((record, Met::Waits(work))),
        };
        let stop = self.stop;
        let begun = self.job.app.work(move |app| {
            let of = record.stop(stop).ok_or_else(Problem::no_such_job)?;
            let task = app.planning(&record, of, opened, left)?;
            Ok((record, task))
        });
        let (record, task) = begun.await?;
        Ok((record, task.met(patience).await?))
    }

    /// The job as it stood then, and what an earlier rescue left, if this is no first stop.
    async fn left(
        &self,
        record: JobRecord,
        patience: Patience,
    ) -> Result<(JobRecord, Option<Met<Arc<Left>>>), Problem> {
        let (stop, units) = (self.stop, self.job.visit.units);
        let begun = self.job.app.work(move |app| {
            let of = record.stop(stop).ok_or_else(Problem::no_such_job)?;
            let task = app.reading_left(&record, of, units)?;
            Ok((record, task))
        });
        match begun.await? {
            (record, None) => Ok((record, None)),
            (record, Some(task)) => Ok((record, Some(task.met(patience).await?))),
        }
    }

    /// Does something with the plate as it stood when the program that stopped was started: with how it was read, and
    /// what had been made.
    pub(crate) async fn begun<R: Send + 'static>(
        self,
        does: impl FnOnce(&Read, Progress) -> Result<R, Problem> + Send + 'static,
    ) -> Result<R, Problem> {
        let (record, met) = self.job.open(Patience::Whole).await?;
        let Met::Made(opened) = met else { return Err(Problem::called_off()) };
        match self.left(record, Patience::Whole).await? {
            (record, None) => self.with(record, move |_| does(&opened.read, Progress::default())).await,
            (record, Some(Met::Made(left))) => {
                self.with(record, move |_| does(&left.read, left.earlier.progress.clone())).await
            }
            (_, Some(Met::Waits(_))) => Err(Problem::called_off()),
        }
    }

    /// Does something with the stop as it stood then.
    pub(crate) async fn with<R: Send + 'static>(
        self,
        record: JobRecord,
        does: impl FnOnce(OfStop<'_>) -> Result<R, Problem> + Send + 'static,
    ) -> Result<R, Problem> {
        let Self { job, stop } = self;
        job.with(record, move |of| does(of.stop(stop)?)).await
    }

    /// The page of a work that is waited for.
    pub(crate) fn waits(&self, work: &Work) -> Response {
        self.job.waits(work)
    }
}

impl<'a> OfJob<'a> {
    /// The address of the job's page.
    pub(crate) fn path(&self) -> String {
        format!("/jobs/{}", self.record.id)
    }

    /// A stop of it.
    fn stop(self, stop: Id) -> Result<OfStop<'a>, Problem> {
        let Self { app, visit, record } = self;
        let stop = record.stop(stop).ok_or_else(Problem::no_such_job)?;
        Ok(OfStop { app, visit, record, stop })
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

    /// Keeps something that was entered about it, under the name that its form was made with.
    pub(crate) fn keep(&self, event: Id, entry: Entry, texts: &[Text]) -> Result<(), Problem> {
        self.job().keep(event, entry, texts)
    }
}

/// A place of this page, whatever was sent: never another host's.
pub(crate) fn own_place(to: &str) -> &str {
    let own = to.starts_with('/') && !to.starts_with("//") && !to.contains(['\\', '\r', '\n']);
    if own { to } else { "/" }
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
        let here = parts.uri.path_and_query().map_or("/", |here| here.as_str()).to_owned();
        Ok(Self { app: Arc::clone(app), visit, job: id(parts, "job").await?, here })
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

#[cfg(test)]
mod tests {
    use super::own_place;

    #[test]
    fn one_is_never_sent_to_another_host() {
        for (told, place) in [
            ("/jobs/1", "/jobs/1"),
            ("//example.com", "/"),
            ("https://example.com", "/"),
            ("/\\example.com", "/"),
            ("", "/"),
        ] {
            assert_eq!(own_place(told), place, "{told}");
        }
    }
}
