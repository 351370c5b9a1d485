//! *Before*: what the checks found, on the picture and in the program's text, and what went unchecked.

use super::known::facts_form;
use crate::address::OfJob;
use crate::opened::{Opened, Read};
use desk::figures::{counted, distance, place, runs};
use desk::{KerfFrom, Pointer, Summary};
use finding::{Finding, Level};
use maud::{Markup, html};
use units::System;

/// Findings of one rule that are shown in full; the rest are counted.
const IN_FULL: usize = 3;
/// Numbers listed where many belong together.
const LISTED: usize = 12;

/// What is to be seen before a start.
pub(crate) fn before(of: OfJob<'_>, opened: &Opened, start: &Markup) -> Markup {
    let Read { inputs, reading } = &opened.read;
    let system = opened.system();
    let findings = &opened.report.findings;
    let count = |level| findings.iter().filter(|finding| finding.level == level).count();
    let (errors, warnings) = (count(Level::Error), count(Level::Warning));
    html! {
        @if inputs.job.thickness.is_none() {
            p.callout { "The thickness of the plate is not told yet: it is the fact that adds most." }
        }
        p.verdict {
            @if errors > 0 {
                strong { "Do not start yet: " (counted(errors, "mistake", "mistakes")) "." }
            } @else if warnings > 0 {
                strong { "Look before you start: " (counted(warnings, "warning", "warnings")) "." }
            } @else {
                strong { "Nothing found against starting." }
            }
        }
        (summary(&Summary::of(reading), system))
        (findings_list(findings, opened, system))
        (start)
        p { a.button href={ (of.path()) "/dimples" } { "Three dimples, to find the plate by if it is knocked" } }
        @if !opened.report.unchecked.is_empty() {
            details.on-paper {
                summary { "Not checked, because nobody has told (" (opened.report.unchecked.len()) ")" }
                ul {
                    @for unchecked in &opened.report.unchecked {
                        li { strong { (unchecked.fact) } ": " (unchecked.rules.join(", ")) }
                    }
                }
            }
        }
        @let assumed = reading.assumed(inputs);
        @if !assumed.is_empty() {
            details.on-paper {
                summary { "Assumed (" (assumed.len()) ")" }
                ul { @for assumption in assumed { li { (assumption.says(system)) } } }
            }
        }
        details open[inputs.job.thickness.is_none()] {
            summary { "What is known of this plate" }
            (facts_form(of, &[], None))
        }
        p { a href={ (of.path()) "/program" } { "The program, as it was dropped" } }
    }
}

fn summary(summary: &Summary, system: System) -> Markup {
    let from = match summary.kerf.from {
        KerfFrom::Told => "as told",
        KerfFrom::Chart => "from the chart",
        KerfFrom::PlateFile => "as at the first stop",
        KerfFrom::Assumed => "assumed",
    };
    html! {
        dl.figures {
            dt { "Cuts" } dd { (summary.cuts) }
            dt { "Parts" } dd { (summary.parts) }
            dt { "Cut" } dd { (distance(summary.cut_length, system)) }
            dt { "Time" } dd { (summary.time) " at the program's feeds" }
            dt { "Kerf" } dd { (summary.kerf.width.show(system)) ", " (from) }
        }
    }
}

/// Findings, each with its flag's number; those that come too often of one rule are counted.
fn findings_list(findings: &[Finding], opened: &Opened, system: System) -> Markup {
    let mut seen = std::collections::BTreeMap::<&str, usize>::new();
    let mut shown = Vec::new();
    for (k, finding) in findings.iter().enumerate() {
        let before = seen.entry(finding.rule).or_default();
        if *before < IN_FULL {
            shown.push((k + 1, finding));
        }
        *before += 1;
    }
    html! {
        ol.findings {
            @for (number, finding) in shown { li { (one_finding(number, finding, opened, system)) } }
        }
        @for (rule, count) in seen.iter().filter(|(_, count)| **count > IN_FULL) {
            p.faint { "… and " (counted(count - IN_FULL, "more finding", "more findings")) " of " (rule) "." }
        }
    }
}

fn one_finding(number: usize, finding: &Finding, opened: &Opened, system: System) -> Markup {
    let level = match finding.level {
        Level::Error => "error",
        Level::Warning => "warning",
        Level::Note => "note",
    };
    let program = &opened.read.reading.program;
    let labels = finding
        .primary
        .iter()
        .map(|label| (label, true))
        .chain(finding.secondary.iter().map(|label| (label, false)));
    let pointers: Vec<Pointer<'_>> =
        labels.map(|(label, primary)| Pointer { span: label.span, text: &label.text, primary }).collect();
    let mut cuts = finding.cuts.clone();
    cuts.sort_unstable();
    let places: Vec<String> = finding.places.iter().take(2).map(|at| place(at.x, at.y, system)).collect();
    html! {
        details class={ "finding " (level) } {
            summary { span.flag { (number) } span.level { (level) } span { (finding.message) } }
            @if !cuts.is_empty() || !places.is_empty() {
                p.faint {
                    @if !cuts.is_empty() { "Cut " (runs(&cuts, LISTED)) }
                    @if !places.is_empty() { " at " (places.join("; ")) }
                }
            }
            @for piece in desk::pieces(program, &pointers) {
                pre {
                    @for (k, line) in piece.text.lines().enumerate() {
                        span.line-number { (piece.line as usize + k) } " " (line) "\n"
                    }
                }
            }
            @if !finding.why.is_empty() { p { strong { "Why it matters: " } (finding.why) } }
            @if !finding.remedy.is_empty() { p { strong { "What to do: " } (finding.remedy) } }
            p { a href={ "/rules/" (finding.rule) } { "The page of " (finding.rule) } }
        }
    }
}
