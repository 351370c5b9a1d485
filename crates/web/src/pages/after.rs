//! *After*: what became of a plate: what was lost, what it was; kept with the job.

use super::frame::own_entry;
use crate::address::AtJob;
use crate::app::App;
use crate::fields::Fields;
use crate::guard::Visit;
use crate::problem::Problem;
use axum::response::{IntoResponse, Redirect, Response};
use ledger::{Entry, Fate, JobRecord, Outcome};
use maud::{Markup, html};

/// What became of it: what was lost, what it was; kept with the job.
pub(crate) fn after(app: &App, visit: Visit, record: &JobRecord) -> Markup {
    let told = record.outcome.clone().unwrap_or_default();
    let lost: Vec<String> = told
        .parts
        .iter()
        .filter(|(_, fate)| *fate == Fate::Lost)
        .map(|(number, _)| number.to_string())
        .collect();
    html! {
        form.card method="post" action={ "/jobs/" (record.id) "/outcome" } {
            (own_entry(app, visit))
            label { span { "Parts lost, by their numbers on the picture" }
                input name="lost" value=(lost.join(", ")) autocomplete="off" placeholder="none"; }
            @if !record.stops.is_empty() {
                label { span { "What it was" }
                    select name="cause" {
                        option value="" { "not known" }
                        @for row in rescue::triage::ROWS {
                            option value=(row.name) selected[told.cause.as_deref() == Some(row.name)] { (row.title) }
                        }
                    }
                }
            }
            label { span { "Anything else" } textarea name="note" rows="3" { "\n" (told.note) } }
            label.tick { input type="checkbox" name="done" value="yes" checked[told.done]; span { "The plate is off the table" } }
            button.main { "Keep this" }
        }
    }
}

/// What became of a plate was told.
pub(crate) async fn outcome(at: AtJob, fields: Fields) -> Result<Response, Problem> {
    at.work(move |of| {
        let parts = of.open()?.read.reading.list.parts.len();
        let words =
            fields.get("lost").unwrap_or_default().split([',', ' ', ';']).filter(|word| !word.is_empty());
        let mut lost = Vec::new();
        for word in words {
            let number = word.parse().ok().filter(|number: &u32| (1..=parts).contains(&(*number as usize)));
            lost.push(number.ok_or_else(|| {
                Problem::unfit(
                    format!("There is no part {word:?}."),
                    format!("Go back: parts are numbered from 1 to {parts}."),
                )
            })?);
        }
        lost.sort_unstable();
        lost.dedup();
        let outcome = Outcome {
            parts: lost.into_iter().map(|number| (number, Fate::Lost)).collect(),
            cause: fields.get("cause").map(str::to_owned),
            note: fields.get("note").unwrap_or_default().to_owned(),
            done: fields.get("done").is_some(),
        };
        of.keep(fields.entry()?, Entry::Outcome(outcome), &[])?;
        Ok(Redirect::to(&(of.path() + "#after")).into_response())
    })
    .await
}
