//! What is known of a plate: the form that asks for it, and its answer.

use super::frame::{Frame, own_entry};
use crate::address::{AtJob, OfJob};
use crate::app::App;
use crate::facts::{KEYS, Told};
use crate::fields::Fields;
use crate::guard::Visit;
use crate::problem::Problem;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use ledger::{Entry, FactsTold, JobRecord};
use maud::{Markup, html};
use shop::{Job, Material, Worded};
use units::Length;

/// The form with what is known of a plate; `typed` is what was typed and could not be understood.
pub(crate) fn facts_form(
    app: &App,
    visit: Visit,
    record: &JobRecord,
    mistakes: &[(String, String)],
    typed: Option<&Fields>,
) -> Markup {
    let known = Known::of(&record.facts);
    let value =
        |key: &str| typed.and_then(|typed| typed.get(key)).map_or_else(|| known.value(key), str::to_owned);
    let mistake = |key: &str| mistakes.iter().find(|(of, _)| of == key).map(|(_, what)| what.as_str());
    let labels = [
        ("thickness", "Thickness", "10 mm"),
        ("plate", "Plate, width × height", "1500x750 mm"),
        ("process", "Process, by its name in the shop file", ""),
        ("tolerance", "How far off a part may be", "0.5 mm"),
    ];
    html! {
        form.card method="post" action={ "/jobs/" (record.id) "/facts" } {
            (own_entry(app, visit))
            @for (key, label, example) in labels {
                label {
                    span { (label) }
                    input name=(key) value=(value(key)) placeholder=(example) autocomplete="off"
                        aria-invalid=[mistake(key).map(|_| "true")] aria-describedby=[mistake(key).map(|_| format!("{key}-mistake"))];
                    @if let Some(what) = mistake(key) { span.mistake id={ (key) "-mistake" } { (what) } }
                }
            }
            label {
                span { "Material" }
                select name="material" {
                    option value="" { "not told" }
                    @for (word, _, meaning) in Material::WORDS {
                        option value=(word) selected[value("material") == *word] { (meaning) }
                    }
                }
                @if let Some(what) = mistake("material") { span.mistake { (what) } }
            }
            @for (key, label) in [("datum", "Program zero on the plate, from its lower left corner"), ("plate_at", "The plate's lower left corner on the table")] {
                fieldset {
                    legend { (label) }
                    div.row {
                        label { span { "X" } input name={ (key) "_x" } value=(value(&format!("{key}_x"))) autocomplete="off"; }
                        label { span { "Y" } input name={ (key) "_y" } value=(value(&format!("{key}_y"))) autocomplete="off"; }
                    }
                    @if let Some(what) = mistake(key) { span.mistake { (what) } }
                }
            }
            label.short {
                span { "Bare numbers are" }
                select name="unit" { option value="mm" { "mm" } option value="in" { "in" } }
            }
            button.main { "Keep this" }
        }
    }
}

/// The unit that bare numbers of a form count in.
pub(crate) fn saved_units(fields: &Fields) -> &'static str {
    if fields.get("unit") == Some("in") { "in" } else { "mm" }
}

/// What is known, as it is typed.
pub(crate) struct Known(Vec<(String, String)>);

impl Known {
    pub(crate) fn of(facts: &str) -> Self {
        let (job, _) = Job::parse(facts);
        let length = |length: Length| format!("{} mm", length.mm());
        let mut known: Vec<(String, String)> = Vec::new();
        let mut tell =
            |key: &str, value: Option<String>| known.extend(value.map(|value| (key.to_owned(), value)));
        tell("thickness", job.thickness.map(length));
        let size = job.plate.as_ref().map(shop::PlateOutline::size);
        tell("plate", size.map(|[w, h]| format!("{}x{} mm", w.mm(), h.mm())));
        tell("process", job.process.clone());
        tell("tolerance", job.tolerance.map(length));
        tell("material", job.material.map(|material| crate::report::word(material).to_owned()));
        for (key, at) in [("plate_at", job.plate_at), ("datum", job.datum)] {
            tell(&format!("{key}_x"), at.map(|[x, _]| length(x)));
            tell(&format!("{key}_y"), at.map(|[_, y]| length(y)));
        }
        debug_assert!(
            known
                .iter()
                .all(|(key, _)| KEYS.contains(&key.as_str()) || key.ends_with("_x") || key.ends_with("_y"))
        );
        Self(known)
    }

    /// The value of a field; empty if it is not known.
    pub(crate) fn value(&self, key: &str) -> String {
        self.0.iter().find(|(other, _)| other == key).map(|(_, value)| value.clone()).unwrap_or_default()
    }
}

/// Facts were told.
pub(crate) async fn facts(at: AtJob, fields: Fields) -> Result<Response, Problem> {
    at.work(move |of| {
        let OfJob { app, visit, record } = of;
        let told = Told::of(&fields, saved_units(&fields), &record.facts);
        if told.mistakes.is_empty() {
            of.keep(fields.entry()?, Entry::FactsTold(FactsTold { facts: told.facts }), &[])?;
            return Ok(Redirect::to(&of.path()).into_response());
        }
        let page = Frame::of_job(of).page(&html! {
            h1 { (record.name) }
            p.callout { "Not kept yet: something in it cannot be understood." }
            (facts_form(app, visit, record, &told.mistakes, Some(&fields)))
        });
        Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
    })
    .await
}
