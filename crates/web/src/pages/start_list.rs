//! What is to be seen before this very job is started: what changed since the last job, and what is of every plate, in front.

use super::frame::own_entry;
use crate::address::{AtJob, OfJob};
use crate::fields::Fields;
use crate::opened::{Opened, ToSee};
use crate::problem::Problem;
use axum::response::{IntoResponse, Redirect, Response};
use ledger::{Entry, JobRecord, Tick};
use maud::{Markup, html};

/// The list on which it is ticked.
const LIST: &str = "before";

/// The list of a job.
pub(crate) fn start_list(of: OfJob<'_>, opened: &Opened) -> Result<Markup, Problem> {
    let last = last_job(of)?;
    let held_last = |see: &ToSee| last.as_ref().is_some_and(|last| last.is_ticked(LIST, &see.item));
    let (as_before, in_front): (Vec<&ToSee>, Vec<&ToSee>) =
        opened.pre_start.iter().partition(|see| !see.check.is_of_this_plate && held_last(see));
    let seen = opened.pre_start.iter().filter(|see| of.record.is_ticked(LIST, &see.item)).count();
    Ok(html! {
        section.card.start-list #start {
            h3 { "See for yourself before you start" }
            p { (seen) " of " (opened.pre_start.len()) " seen" }
            ul.ticks { @for see in &in_front { li { (row(of, see)) } } }
            @if let Some(last) = last.as_ref().filter(|_| !as_before.is_empty()) {
                details.on-paper {
                    summary { "As at the last job, " (last.name) " (" (as_before.len()) "): see that it still is" }
                    ul.ticks { @for see in &as_before { li { (row(of, see)) } } }
                }
            }
            p.faint { "This list gives way to the machine's manual, local codes and licensed practice." }
        }
    })
}

/// The job opened last before this one on which anything of the list was ticked.
fn last_job(of: OfJob<'_>) -> Result<Option<JobRecord>, Problem> {
    let jobs = of.app.ledger().jobs()?;
    let is_ticked = |job: &JobRecord| job.ticks.iter().any(|((list, _), done)| list == LIST && *done);
    let before = jobs.into_iter().filter(|job| job.id != of.record.id && job.opened <= of.record.opened);
    Ok(before.filter(is_ticked).max_by_key(|job| job.opened))
}

fn row(of: OfJob<'_>, ToSee { check, item }: &ToSee) -> Markup {
    let is_seen = of.record.is_ticked(LIST, item);
    html! {
        form method="post" action={ (of.path()) "/tick" } data-swap="start" data-name=(check.name) {
            (own_entry(of.app, of.visit))
            input type="hidden" name="item" value=(item);
            input type="hidden" name="done" value=(!is_seen);
            button.see aria-pressed=(is_seen) { span.box aria-hidden="true" { @if is_seen { "✓" } } span { (check.what) } }
        }
        p.faint { (check.why) @if !check.note.is_empty() { " " (check.note) } }
    }
}

/// Something was seen, or the tick taken back.
pub(crate) async fn tick(at: AtJob, fields: Fields) -> Result<Response, Problem> {
    at.work(move |of| {
        let item = fields.get("item").ok_or_else(Problem::malformed)?.to_owned();
        let done = fields.must("done")?;
        of.keep(fields.entry()?, Entry::Tick(Tick { list: LIST.to_owned(), item, done }), &[])?;
        Ok(Redirect::to(&(of.path() + "#start")).into_response())
    })
    .await
}
