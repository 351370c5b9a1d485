//! What is known of a plate: the form that asks for it, and its answer.

use super::frame::{Frame, own_entry};
use crate::address::{AtJob, OfJob};
use crate::facts::{KEYS, Told};
use crate::fields::Fields;
use crate::problem::Problem;
use crate::report::unit;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use ledger::{Entry, FactsTold};
use maud::{Markup, html};
use shop::{Job, Material, Worded};
use units::{Length, System};

/// What is typed again within this is the same: less than anybody can measure, more than converting loses.
const SAME: Length = Length::from_mm(1e-6);

/// The form with what is known of a plate; `typed` is what was typed and could not be understood.
pub(crate) fn facts_form(of: OfJob<'_>, mistakes: &[(String, String)], typed: Option<&Fields>) -> Markup {
    let OfJob { app, visit, record } = of;
    let units = visit.units.unwrap_or_default();
    let known = Known::of(&record.facts, units);
    let value =
        |key: &str| typed.and_then(|typed| typed.get(key)).map_or_else(|| known.value(key), str::to_owned);
    let mistake = |key: &str| mistakes.iter().find(|(of, _)| of == key).map(|(_, what)| what.as_str());
    let labels = [
        ("thickness", "Thickness"),
        ("plate", "Plate, width × height"),
        ("process", "Process, by its name in the shop file"),
        ("tolerance", "How far off a part may be"),
    ];
    html! {
        form.card method="post" action={ "/jobs/" (record.id) "/facts" } {
            (own_entry(app, visit))
            @for (key, label) in labels {
                label {
                    span { (label) }
                    input name=(key) value=(value(key)) placeholder=(example(key, units)) autocomplete="off"
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
            (bare_numbers(units))
            button.main { "Keep this" }
        }
    }
}

/// How a fact may be typed.
pub(crate) fn example(key: &str, units: System) -> &'static str {
    match (key, units) {
        ("thickness", System::Metric) => "10 mm",
        ("thickness", System::Inch) => "3/8 in",
        ("plate", System::Metric) => "1500x750 mm",
        ("plate", System::Inch) => "60x30 in",
        ("tolerance", System::Metric) => "0.5 mm",
        ("tolerance", System::Inch) => "0.02 in",
        _ => "",
    }
}

/// The unit that bare numbers of a form count in, as it is chosen there.
pub(crate) fn bare_numbers(units: System) -> Markup {
    html! {
        label.short {
            span { "Bare numbers are" }
            select name="unit" {
                @for system in [System::Metric, System::Inch] {
                    option value=(unit(system)) selected[system == units] { (unit(system)) }
                }
            }
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
    /// Lengths in these units where they come out even, else in the others: a fact that is kept again as it stands is the same.
    pub(crate) fn of(facts: &str, units: System) -> Self {
        let (job, _) = Job::parse(facts);
        let length = |length: Length| typed([length], units);
        let mut known: Vec<(String, String)> = Vec::new();
        let mut tell =
            |key: &str, value: Option<String>| known.extend(value.map(|value| (key.to_owned(), value)));
        tell("thickness", job.thickness.map(length));
        let size = job.plate.as_ref().map(shop::PlateOutline::size);
        tell("plate", size.map(|size| typed(size, units)));
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

/// Lengths as they are typed, an x between, in these units if they come out even in them, else in the others.
fn typed<const N: usize>(lengths: [Length; N], units: System) -> String {
    let other = if units == System::Metric { System::Inch } else { System::Metric };
    let in_one = |system: System| {
        let shown = lengths.map(|length| length.show(system));
        let even = |(shown, length): (&String, Length)| {
            shown.parse::<Length>().is_ok_and(|again| (again - length).abs() < SAME)
        };
        let is_even = shown.iter().zip(lengths).all(even);
        let numbers = shown.each_ref().map(|shown| shown.split(' ').next().unwrap_or_default());
        is_even.then(|| format!("{} {}", numbers.join("x"), unit(system)))
    };
    let exact = || format!("{} mm", lengths.map(|length| length.mm().to_string()).join("x"));
    in_one(units).or_else(|| in_one(other)).unwrap_or_else(exact)
}

/// Facts were told.
pub(crate) async fn facts(at: AtJob, fields: Fields) -> Result<Response, Problem> {
    at.work(move |of| {
        let record = of.record;
        let told = Told::of(&fields, saved_units(&fields), &record.facts);
        if told.mistakes.is_empty() {
            of.keep(fields.entry()?, Entry::FactsTold(FactsTold { facts: told.facts }), &[])?;
            return Ok(Redirect::to(&of.path()).into_response());
        }
        let page = Frame::of_job(of).page(&html! {
            h1 translate="no" { (record.name) }
            p.callout { "Not kept yet: something in it cannot be understood." }
            (facts_form(of, &told.mistakes, Some(&fields)))
        });
        Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
    })
    .await
}
