//! Where a plate that moved lies now: what was measured and how far off the fit it lies, what to measure next, and the form
//! to measure more.

use super::frame::own_entry;
use crate::address::AtStop;
use crate::app::{App, new_id};
use crate::fields::Fields;
use crate::guard::Visit;
use crate::problem::Problem;
use axum::response::{IntoResponse, Redirect, Response};
use desk::figures::{counted, runs};
use ledger::{Entry, JobRecord, Measured, StopRecord};
use maud::{Markup, html};
use rescue::refind::{Fate, Refound, shown};
use shop::{Feature, PlateSide, SightedBy, Worded};
use std::collections::BTreeMap;
use units::{Length, System};

/// Numbers listed.
const LISTED: usize = 10;
/// Features proposed for measuring.
const NEXT: usize = 3;

/// What is on the page about a plate that moved.
pub(crate) struct Found<'a> {
    pub(crate) app: &'a App,
    pub(crate) visit: Visit,
    pub(crate) record: &'a JobRecord,
    pub(crate) stop: &'a StopRecord,
    pub(crate) refound: Option<&'a Refound>,
    pub(crate) system: System,
}

impl Found<'_> {
    pub(crate) fn markup(&self) -> Markup {
        html! {
            h2 { "Where the plate lies" }
            @if let Some(refound) = self.refound { (self.verdict(refound)) }
            (self.form())
            @if !self.stop.measured.is_empty() {
                h3 { "Measured" }
                ul.measured { @for (id, text) in &self.stop.measured { li { (text) " " (self.take_back(*id)) } } }
            }
        }
    }

    fn verdict(&self, refound: &Refound) -> Markup {
        html! {
            p.verdict { strong { (refound.verdict) } }
            p { strong { "To do: " } (refound.to_do) }
            @for left_out in &refound.sighted.refused { p.callout { "Left out: " (left_out) } }
            @for warning in &refound.warnings { p.callout { "Beware: " (warning) } }
            @if !refound.sighted.sightings.is_empty() { (self.residuals(refound)) }
            (self.landings(refound))
            @if !refound.next.is_empty() {
                p { strong { "Measure next, what tells most first:" } }
                ul {
                    @for next in refound.next.iter().take(NEXT) {
                        li {
                            (next.name)
                            @if let Some(at) = next.expected { ", about " (shown(at.x, at.y, self.system)) }
                            @if let Some(worst) = next.worst_mm { ": the worst cut is then " (self.length(worst)) " off" }
                        }
                    }
                }
            }
            @if let Some(visit) = &refound.visit {
                p {
                    "Before the start, put the torch's tip on " (visit.name) ": the control must show "
                    (shown(visit.shows.x, visit.shows.y, self.system)) " to within " (self.length(visit.within_mm)) "."
                }
            }
        }
    }

    /// How far each sighting lies off the fit.
    fn residuals(&self, refound: &Refound) -> Markup {
        html! {
            table {
                thead { tr { th { "Sighted" } th { "The control showed" } th { "Off the fit" } } }
                tbody {
                    @for sighting in &refound.sighted.sightings {
                        tr {
                            td { (sighting.name) }
                            td { (shown(sighting.found.x, sighting.found.y, self.system)) }
                            td { @if let Some(off) = refound.off_mm(sighting) { (shown(off.x, off.y, self.system)) } }
                        }
                    }
                }
            }
        }
    }

    fn landings(&self, refound: &Refound) -> Markup {
        let mut fates: BTreeMap<String, Vec<u32>> = BTreeMap::new();
        for part in &refound.parts {
            let fate = match &part.fate {
                Fate::Safe => "Safe".to_owned(),
                Fate::SafeIfAlso(names) => format!("Safe if you also measure {}", names.join(" and ")),
                Fate::Lost => "Lost by this tolerance, whatever is measured besides".to_owned(),
            };
            fates.entry(fate).or_default().push(part.part.number());
        }
        let worst = refound.cuts.iter().max_by(|a, b| a.landing.worst_mm.total_cmp(&b.landing.worst_mm));
        html! {
            @if let Some(worst) = worst {
                p {
                    "Of " (counted(refound.cuts.len(), "cut", "cuts")) " that are left, cut " (worst.cut.number())
                    " lands worst: up to " (self.length(worst.landing.worst_mm)) " off, 95 times in 100; tolerance "
                    (refound.tolerance.show(self.system)) "."
                }
            }
            @for (fate, parts) in fates { p { (fate) ": part " (runs(&parts, LISTED)) "." } }
        }
    }

    fn length(&self, mm: f64) -> String {
        Length::from_mm(mm).show(self.system)
    }

    fn form(&self) -> Markup {
        html! {
            form.card method="post" action={ "/jobs/" (self.record.id) "/stops/" (self.stop.id) "/measure" } {
                (own_entry(self.app, self.visit))
                input type="hidden" name="measurement" value=(new_id());
                p { "Put the pointer's spot, or the torch's tip, on something that the skeleton still holds." }
                label {
                    span { "What it is" }
                    select name="feature" {
                        @for (word, feature, meaning) in Feature::WORDS {
                            option value=(word) selected[*feature == Feature::Crater] { (meaning) }
                        }
                    }
                }
                div.row {
                    label { span { "Of cut" } input name="cut" inputmode="numeric" autocomplete="off"; }
                    label {
                        span { "or of the plate" }
                        select name="side" {
                            option value="" { "–" }
                            @for (word, _, meaning) in PlateSide::WORDS { option value=(word) { (meaning) } }
                        }
                    }
                }
                label {
                    span { "Or where the program has it: X,Y" }
                    input name="plan" autocomplete="off" placeholder="100,80";
                }
                label {
                    span { "What the control shows: X,Y (an edge twice or more, a hole three times or more)" }
                    input name="found" required autocomplete="off" placeholder="412.3,88.1";
                }
                label {
                    span { "Sighted" }
                    select name="by" {
                        @for (word, _, meaning) in SightedBy::WORDS { option value=(word) { (meaning) } }
                    }
                }
                button.main { "Keep this measurement" }
            }
        }
    }

    fn take_back(&self, measurement: ledger::Id) -> Markup {
        html! {
            form.inline method="post" action={ "/jobs/" (self.record.id) "/stops/" (self.stop.id) "/measure" } {
                (own_entry(self.app, self.visit))
                input type="hidden" name="measurement" value=(measurement);
                input type="hidden" name="back" value="yes";
                button.quiet { "Take back" }
            }
        }
    }
}

/// A measurement as it is written in one line.
fn line(fields: &Fields, unit: &str) -> String {
    let mut line = fields.get("feature").unwrap_or_default().to_owned();
    if let Some(side) = fields.get("side") {
        line += &format!(" {side}");
    } else if let Some(cut) = fields.get("cut") {
        line += &format!(" of {cut}");
    }
    if let Some(plan) = fields.get("plan") {
        line += &format!(" {} {unit}", close(plan));
    }
    line += &format!(" at {} {unit}", close(fields.get("found").unwrap_or_default()));
    if let Some(by) = fields.get("by") {
        line += &format!(" by {by}");
    }
    line
}

/// Places as they are typed, without blanks after commas and without semicolons.
fn close(places: &str) -> String {
    let mut text = places.replace(';', " ");
    while text.contains(", ") || text.contains(" ,") {
        text = text.replace(", ", ",").replace(" ,", ",");
    }
    text
}

/// Something was measured, or a measurement taken back.
pub(crate) async fn measure(at: AtStop, fields: Fields) -> Result<Response, Problem> {
    at.work(move |of| {
        let text = if fields.get("back").is_some() {
            None
        } else {
            let line = line(&fields, of.job().open()?.unit());
            desk::measured(&line).map_err(|why| {
                Problem::unfit(
                    format!("That measurement cannot be understood: {why}."),
                    "Go back and correct it.",
                )
            })?;
            Some(line)
        };
        let measurement = fields.must("measurement")?;
        let measured = Measured { stop: of.stop.id, measurement, text };
        of.keep(fields.entry()?, Entry::Measured(measured), &[])?;
        Ok(Redirect::to(&(of.path() + "#where")).into_response())
    })
    .await
}

#[cfg(test)]
mod tests {
    use super::line;
    use crate::fields::Fields;

    #[test]
    fn what_is_filled_in_is_a_measurement() {
        for (fields, told) in [
            ("feature=crater&cut=12&found=412.3,+88.1&by=tip", "crater of 12 at 412.3,88.1 mm by tip"),
            ("feature=corner&side=lower-left&found=1+,+2", "corner lower-left at 1,2 mm"),
            ("feature=edge&side=left&found=1,20;+2,400", "edge left at 1,20  2,400 mm"),
            ("feature=point&plan=1,2&found=3,4", "point 1,2 mm at 3,4 mm"),
        ] {
            let line = line(&Fields::of(fields), "mm");
            assert_eq!(line, told);
            assert!(desk::measured(&line).is_ok(), "{line}");
        }
        assert!(desk::measured(&line(&Fields::of("feature=crater&found=1,2"), "mm")).is_err());
    }
}
