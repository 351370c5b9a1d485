//! *After*: what became of a plate: what was made, what was lost, what it was; kept with the job.

use super::frame::own_entry;
use crate::address::{AtJob, OfJob};
use crate::fields::Fields;
use crate::problem::Problem;
use axum::response::{IntoResponse, Redirect, Response};
use desk::PlateFile;
use desk::figures::{counted, runs};
use ledger::{Entry, Fate, JobRecord, Outcome};
use maud::{Markup, html};

/// Numbers listed where many belong together.
const LISTED: usize = 12;

/// What became of a plate of so many parts, and the form that asks.
pub(crate) fn after(of: OfJob<'_>, parts: usize) -> Result<Markup, Problem> {
    let record = of.record;
    Ok(match &record.outcome {
        Some(told) => html! {
            (summary(record, told, parts))
            details { summary { "Tell it otherwise" } (form(of, told)) }
        },
        None => form(of, &Outcome { parts: given_up(of)?, ..Outcome::default() }),
    })
}

/// What was made, what was lost, what it was.
fn summary(record: &JobRecord, told: &Outcome, parts: usize) -> Markup {
    let lost: Vec<u32> = lost(told).collect();
    html! {
        dl.figures {
            dt { "Made" } dd { (parts.saturating_sub(lost.len())) " of " (counted(parts, "part", "parts")) }
            dt { "Lost" } dd { @if lost.is_empty() { "none" } @else { "part " (runs(&lost, LISTED)) } }
            dt { "Stops" } dd { (record.stops.len()) }
            @if let Some(cause) = &told.cause { dt { "What it was" } dd { (cause_title(cause)) } }
            dt { "Plate" } dd { @if told.done { "off the table" } @else { "still on the table" } }
        }
        @if !told.note.is_empty() { p.note translate="no" { (told.note) } }
    }
}

/// A cause by its name, as the table of causes has it.
fn cause_title(name: &str) -> &str {
    rescue::triage::ROWS.iter().find(|row| row.name == name).map_or(name, |row| row.title)
}

fn lost(told: &Outcome) -> impl Iterator<Item = u32> {
    told.parts.iter().filter(|(_, fate)| *fate == Fate::Lost).map(|(number, _)| *number)
}

/// What the restart that was taken last gives up: nobody has to write it down again.
fn given_up(of: OfJob<'_>) -> Result<Vec<(u32, Fate)>, Problem> {
    let Some(chosen) = of.record.stops.iter().rev().find_map(|stop| stop.chosen.as_ref()) else {
        return Ok(Vec::new());
    };
    let text = String::from_utf8_lossy(&of.app.ledger().text(chosen.plate)?).into_owned();
    let file = PlateFile::parse(&text).map_err(|why| Problem::ours(&why))?;
    Ok(file.given_up.into_iter().map(|number| (number, Fate::Lost)).collect())
}

fn form(of: OfJob<'_>, told: &Outcome) -> Markup {
    let lost: Vec<String> = lost(told).map(|number| number.to_string()).collect();
    html! {
        form.card method="post" action={ (of.path()) "/outcome" } {
            (own_entry(of.app, of.visit))
            label { span { "Parts lost, by their numbers on the picture" }
                input name="lost" value=(lost.join(", ")) autocomplete="off" placeholder="none"; }
            @if !of.record.stops.is_empty() {
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
    at.opened(move |of, opened| {
        let parts = opened.read.reading.list.parts.len();
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
