//! Dimples made before the first cut, by which a plate that is knocked is found again.

use super::frame::Frame;
use crate::address::{AtJob, Named, OfJob};
use crate::opened::Read;
use crate::problem::Problem;
use crate::wire;
use axum::response::Response;
use maud::{Markup, html};
use rescue::Witness;
use rescue::refind::shown;
use units::{Length, System};

/// The program that goes to each place, torch off.
const VISITS: &str = "witness.nc";
/// The program that makes them by short arcs.
const BY_ARC: &str = "dimples.nc";
/// The same way with the torch off.
const TRACE: &str = "dimples-trace.nc";

/// The page.
pub(crate) async fn show(at: AtJob) -> Result<Response, Problem> {
    at.page(move |of, opened| {
        let Read { inputs, reading } = &opened.read;
        let found = desk::dimples(inputs, reading);
        Ok(Frame::of_job(of).page(&html! {
            p.trail { a href=(of.path()) translate="no" { (of.record.name) } " › Dimples" }
            h1 { "Three dimples to make before the first cut" }
            @match &found {
                Ok(witness) => (proposed(of, witness, opened.system())),
                Err(why) => section.card { p.verdict { strong { "No dimples can be proposed." } } p { "Because " (why) "." } },
            }
        }))
    })
    .await
}

fn proposed(of: OfJob<'_>, witness: &Witness, system: System) -> Markup {
    let length = |mm: f64| Length::from_mm(mm).show(system);
    html! {
        p { "They stay on the skeleton to the end. If the plate is knocked, sight them again and it is found as exactly \
             as you sight, whatever else was cut away." }
        ol {
            @for dimple in &witness.dimples {
                li {
                    strong { (shown(dimple.at.x, dimple.at.y, system)) } ": "
                    @if dimple.clear_of_cuts_mm.is_finite() { (length(dimple.clear_of_cuts_mm)) " clear of every kerf, " }
                    (length(dimple.clear_of_edge_mm)) " from the plate's edge"
                }
            }
        }
        section.card {
            h2 { "Punched by hand" }
            p { "The program goes to each place with the torch off and stops there: punch a dimple under the pointer's spot or \
                 the torch's tip, whichever will be used to find it again." }
            (conditions(&witness.program.preconditions))
            p { a.button.main href={ (of.path()) "/dimples/" (VISITS) } { "Keep the program that goes there" } }
        }
        section.card {
            h2 { "Made by the torch" }
            @match &witness.by_arc {
                Ok(by_arc) => {
                    p { "A short arc of " (by_arc.arc.show(system)) " at each place, far below the pierce delay. Proven on the \
                         written text." }
                    (conditions(&by_arc.proof.preconditions))
                    @if !by_arc.proof.unproven.is_empty() {
                        p { "Could not be proven for want of a fact:" }
                        ul { @for lack in &by_arc.proof.unproven { li { (lack) } } }
                    }
                    p.files {
                        a.button href={ (of.path()) "/dimples/" (BY_ARC) } { "Keep the program that makes them" }
                        @if by_arc.trace.is_ok() {
                            a.button href={ (of.path()) "/dimples/" (TRACE) } { "Keep its torch-off trace: run it first" }
                        }
                    }
                    @if let Err(why) = &by_arc.trace { p.faint { "No trace could be written: " (why) "." } }
                }
                Err(why) => p { "Not offered: " (why) "." },
            }
        }
    }
}

fn conditions(conditions: &[String]) -> Markup {
    html! {
        @if !conditions.is_empty() {
            p { strong { "Must be so before the start:" } }
            ul { @for condition in conditions { li { (condition) } } }
        }
    }
}

/// One of the programs, to be kept.
pub(crate) async fn program(at: AtJob, Named(name): Named) -> Result<Response, Problem> {
    at.opened(move |_, opened| {
        let witness =
            desk::dimples(&opened.read.inputs, &opened.read.reading).map_err(|_| Problem::no_such_page())?;
        let text = match name.as_str() {
            VISITS => witness.program.text.into_bytes(),
            BY_ARC => witness.by_arc.map_err(|_| Problem::no_such_page())?.text,
            TRACE => {
                let trace = witness.by_arc.and_then(|by_arc| by_arc.trace);
                trace.map_err(|_| Problem::no_such_page())?.text.into_bytes()
            }
            _ => return Err(Problem::no_such_page()),
        };
        Ok(wire::file(&format!("{}-{name}", opened.read.inputs.stem()), text))
    })
    .await
}
