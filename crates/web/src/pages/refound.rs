//! Where a plate that moved lies now: what was measured and how far off the fit it lies, what becomes of each part, and what
//! to measure next.

use super::frame::{Frame, own_entry};
use super::measure::expected;
use super::plate_view::{PlateView, Tap};
use crate::address::{AtStop, OfStop};
use crate::planned::Planned;
use crate::problem::Problem;
use crate::report;
use axum::response::Response;
use desk::figures::{counted, runs};
use maud::{Markup, html};
use rescue::refind::{Refound, Verdict, shown};
use std::collections::BTreeMap;
use units::{Length, System};

/// Numbers listed.
const LISTED: usize = 10;
/// Features proposed for measuring.
const NEXT: usize = 3;

/// The page about where a plate lies.
pub(crate) async fn show(at: AtStop) -> Result<Response, Problem> {
    at.planned_page(move |of, planned| {
        planned.rescued()?;
        Ok(Frame::of_job(of.job()).page(&Found { of, planned }.page()))
    })
    .await
}

/// What there is to say of a plate that moved.
pub(crate) struct Found<'a> {
    pub(crate) of: OfStop<'a>,
    pub(crate) planned: &'a Planned,
}

impl Found<'_> {
    fn system(&self) -> System {
        self.planned.system()
    }

    fn refound(&self) -> Option<&Refound> {
        self.planned.outcome.as_ref().ok()?.plan.refound.as_ref()
    }

    /// In short, for the page of the stop.
    pub(crate) fn summary(&self) -> Markup {
        html! {
            h2 { "Where the plate lies" }
            div.card {
                @match self.refound() {
                    Some(refound) => {
                        p.verdict { strong { (refound.verdict) } }
                        p { strong { "To do: " } (refound.to_do) }
                        (self.landings(refound))
                    },
                    None => p { "If the plate moved, the rest is cut where it lies now: a few places on it, measured, tell where that is." },
                }
                div.files {
                    a.button.main href={ (self.of.path()) "/measure" } { "Measure a place" }
                    @if self.refound().is_some() { a.button href={ (self.of.path()) "/where" } { "All that was measured" } }
                }
            }
        }
    }

    fn page(&self) -> Markup {
        let path = self.of.path();
        html! {
            p.trail { a href=(self.of.job().path()) translate="no" { (self.of.record.name) } " › " a href=(path) { "the stop" } " › where the plate lies" }
            div.job-page {
                div.beside {
                    h1 { "Where the plate lies" }
                    p.faint { "Tap what you sight next." }
                    (PlateView {
                        strokes: format!("{path}/strokes"),
                        picture: format!("{path}/picture.svg"),
                        label: "The plate: what was measured with how far off the fit it is, how far off the cuts that are left may land, and what to measure next; tap what you sight".to_owned(),
                        tap: Tap::There,
                        near: Some(&format!("{path}/measure")),
                    }.markup())
                }
                div.steps {
                    @match self.refound() {
                        Some(refound) => (self.verdict(refound)),
                        None => p { "Nothing was measured so far." },
                    }
                    (self.next())
                    (self.measured())
                    p { a.button.main href=(path) { "Back to the stop" } }
                }
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
            @if let Some(visit) = &refound.visit {
                p {
                    "Before the start, put the torch's tip on " (visit.name) ": the control must show "
                    (shown(visit.shows.x, visit.shows.y, self.system())) " to within " (self.length(visit.within_mm)) "."
                }
            }
        }
    }

    /// How far each sighting lies off the fit, numbered as on the picture; one that does not fit is named.
    fn residuals(&self, refound: &Refound) -> Markup {
        let bad = match refound.said() {
            Some(Verdict::OneBad { which, .. }) => Some(which),
            _ => None,
        };
        html! {
            table {
                thead { tr { th { "Sighted" } th { "The control showed" } th { "Off the fit" } } }
                tbody {
                    @for (k, sighting) in refound.sighted.sightings.iter().enumerate() {
                        tr class=[(bad == Some(k)).then_some("bad")] {
                            td { "m" (k + 1) " " (sighting.name) @if bad == Some(k) { strong { " – does not fit: left out" } } }
                            td { (shown(sighting.found.x, sighting.found.y, self.system())) }
                            td { @if let Some(off) = refound.off_mm(sighting) { (shown(off.x, off.y, self.system())) } }
                        }
                    }
                }
            }
        }
    }

    fn landings(&self, refound: &Refound) -> Markup {
        let mut fates: BTreeMap<String, Vec<u32>> = BTreeMap::new();
        for part in &refound.parts {
            fates.entry(refound.fate_in_words(part)).or_default().push(part.part.number());
        }
        let worst = refound.cuts.iter().max_by(|a, b| a.landing.worst_mm.total_cmp(&b.landing.worst_mm));
        html! {
            @if let Some(worst) = worst {
                p {
                    "Of " (counted(refound.cuts.len(), "cut", "cuts")) " that are left, cut " (worst.cut.number())
                    " lands worst: up to " (self.length(worst.landing.worst_mm)) " off, 95 times in 100; tolerance "
                    (refound.tolerance.show(self.system())) "."
                }
            }
            @for (fate, parts) in fates { p { strong { (fate) } ": part " (runs(&parts, LISTED)) "." } }
        }
    }

    /// What to measure next: one tap leads to where it is filled in.
    fn next(&self) -> Markup {
        let read = self.planned.read();
        let rescued = self.planned.outcome.as_ref().ok();
        let next =
            rescued.map(|rescued| rescued.measure_next(&read.inputs, &read.reading)).unwrap_or_default();
        let measure = format!("{}/measure", self.of.path());
        html! {
            @if !next.is_empty() { h2 { "Measure next, what tells most first" } }
            div.choices {
                @for (next, named) in next.iter().take(NEXT) {
                    a.button href=(super::measure::address(&measure, named)) {
                        (report::sentence(&next.name))
                        small {
                            @if let Some(at) = expected(next, self.system()) { (at) }
                            @if let Some(worst) = next.worst_mm { "; the worst cut is then " (self.length(worst)) " off" }
                        }
                    }
                }
                a.button.main href=(measure) { "Tap it on the picture" }
            }
        }
    }

    fn measured(&self) -> Markup {
        let pointer = self.planned.stop.pointer;
        html! {
            @if !self.of.stop.measured.is_empty() {
                h2 { "Measured" }
                ul.measured { @for (id, text) in &self.of.stop.measured { li { span translate="no" { (text) } " " (self.take_back(*id)) } } }
            }
            p {
                @match pointer.map(|pointer| (pointer.offset, pointer.mark)) {
                    None => "The pointer's offset is not told. ",
                    Some((_, Some(_))) => "The pointer was checked on a mark. ",
                    Some(_) => "The pointer's offset is told, and not checked on a mark. ",
                }
                a href={ (self.of.path()) "/pointer" } { "Tell it" }
            }
        }
    }

    fn take_back(&self, measurement: ledger::Id) -> Markup {
        html! {
            form.inline method="post" action={ (self.of.path()) "/measure" } {
                (own_entry(self.of.app, self.of.visit))
                input type="hidden" name="measurement" value=(measurement);
                input type="hidden" name="back" value="yes";
                button.quiet { "Take back" }
            }
        }
    }

    fn length(&self, mm: f64) -> String {
        Length::from_mm(mm).show(self.system())
    }
}
