//! Findings as they are printed: the program's own lines, where on the plate, why it matters, what to do.

use crate::flags::with_flags;
use crate::screen::{Screen, Tone, wrap};
use annotate_snippets::{AnnotationKind, Group, Renderer, Snippet};
use desk::{
    Lined, Piece, Pointer,
    figures::{counted, place, runs},
    pieces,
};
use finding::{Finding, Level, MendSafety};
use std::collections::BTreeMap;
use units::System;

/// Findings of one rule that are printed in full; the rest are counted, as a habit of the program's writer repeats
/// at every cut.
const IN_FULL: usize = 3;
/// Runs of cut numbers or lines listed for those that are counted.
const RUNS_LISTED: usize = 12;
/// Places on the plate listed for one finding.
const PLACES_LISTED: usize = 4;

/// How findings are printed.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Manner<'a> {
    /// Name of the text, as the user gave it.
    pub name: &'a str,
    /// Units.
    pub system: System,
    /// Print every finding in full.
    pub all: bool,
    /// Whether the rules have pages that `explain` prints.
    pub explained: bool,
}

/// `findings` as text, in their order, and after those of a rule that come too often a line that counts them.
#[must_use]
pub(crate) fn told(
    screen: &Screen<'_>,
    findings: &[Finding],
    source: &dyn Lined,
    manner: Manner<'_>,
) -> String {
    let mut told = String::new();
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    for finding in findings {
        let before = seen.entry(finding.rule).or_default();
        if manner.all || *before < IN_FULL {
            let hint = manner.explained && *before == 0;
            told += &rendered(screen, finding, source, manner, hint);
            told += "\n\n";
        }
        *before += 1;
    }
    for (rule, count) in seen.into_iter().filter(|(_, count)| !manner.all && *count > IN_FULL) {
        let rest: Vec<&Finding> = findings.iter().filter(|f| f.rule == rule).skip(IN_FULL).collect();
        let where_at = whereabouts(&rest, source);
        let rest = counted(count - IN_FULL, "more finding", "more findings");
        let line = format!("… and {rest} of {rule}{where_at}. Print them all with --all.");
        told += &wrap(&line, screen.width, 2);
        told += "\n\n";
    }
    told
}

/// One line on how many there are of each level: `2 errors, 1 warning`.
#[must_use]
pub(crate) fn tally(screen: &Screen<'_>, findings: &[Finding]) -> String {
    let count = |level| findings.iter().filter(|f| f.level == level).count();
    let levels = [
        (Level::Error, "error", "errors", Tone::Bad),
        (Level::Warning, "warning", "warnings", Tone::Heading),
        (Level::Note, "note", "notes", Tone::Quiet),
    ];
    let told: Vec<String> = levels
        .into_iter()
        .filter(|&(level, ..)| count(level) > 0)
        .map(|(level, one, many, tone)| screen.toned(tone, &counted(count(level), one, many)))
        .collect();
    if told.is_empty() { screen.toned(Tone::Good, "no findings") } else { told.join(", ") }
}

/// Where the findings that are only counted lie: by cut if all name one, else by line.
fn whereabouts(rest: &[&Finding], source: &dyn Lined) -> String {
    let mut cuts: Vec<u32> = rest.iter().filter_map(|f| f.cuts.first().copied()).collect();
    if cuts.len() == rest.len() {
        cuts.sort_unstable();
        return format!(", at {} {}", if one(&cuts) { "cut" } else { "cuts" }, runs(&cuts, RUNS_LISTED));
    }
    let mut lines: Vec<u32> = rest
        .iter()
        .filter_map(|f| f.primary.as_ref().map(|label| source.line_of(label.span.start)))
        .collect();
    lines.sort_unstable();
    if lines.is_empty() {
        return String::new();
    }
    format!(", in {} {}", if one(&lines) { "line" } else { "lines" }, runs(&lines, RUNS_LISTED))
}

/// Whether sorted numbers are one number, however often.
fn one(numbers: &[u32]) -> bool {
    numbers.first() == numbers.last()
}

/// One finding as text.
fn rendered(
    screen: &Screen<'_>,
    finding: &Finding,
    source: &dyn Lined,
    manner: Manner<'_>,
    hint: bool,
) -> String {
    let labels = finding.primary.iter().map(|label| (label, true));
    let pointers: Vec<Pointer<'_>> = labels
        .chain(finding.secondary.iter().map(|label| (label, false)))
        .map(|(label, primary)| Pointer { span: label.span, text: &label.text, primary })
        .collect();
    let pieces = pieces(source, &pointers);
    let width_of_number = pieces.iter().map(|piece| last_line(piece).to_string().len()).max().unwrap_or(1);

    let level = annotate_level(finding.level);
    let mut group = Group::with_title(level.primary_title(&*finding.message).id(finding.rule));
    for piece in &pieces {
        group = group.element(snippet(piece, &pointers, manner.name));
    }
    for (name, text) in remarks(finding, &pieces, manner, hint) {
        // The library sets each remark behind `N = name: ` and keeps lines of one remark aligned.
        let indent = width_of_number + 3 + name.len() + 2;
        let text = wrap(&text, screen.width.saturating_sub(indent).max(20), 0);
        group = group.element(annotate_snippets::Level::NOTE.with_name(name).message(text));
    }
    let renderer = if screen.colour { Renderer::styled() } else { Renderer::plain() };
    renderer.term_width(screen.width).render(&[group])
}

fn last_line(piece: &Piece) -> usize {
    piece.line as usize + piece.text.matches('\n').count()
}

fn snippet<'a>(
    piece: &'a Piece,
    pointers: &[Pointer<'a>],
    name: &'a str,
) -> Snippet<'a, annotate_snippets::Annotation<'a>> {
    let annotations = piece.places.iter().map(|(k, range)| {
        let kind = if pointers[*k].primary { AnnotationKind::Primary } else { AnnotationKind::Context };
        let annotation = kind.span(range.clone());
        if pointers[*k].text.is_empty() { annotation } else { annotation.label(pointers[*k].text) }
    });
    Snippet::source(&*piece.text)
        .line_start(piece.line as usize)
        .path(name)
        .fold(false)
        .annotations(annotations)
}

/// What is said below the program's lines, each with its name.
fn remarks(
    finding: &Finding,
    pieces: &[Piece],
    manner: Manner<'_>,
    hint: bool,
) -> Vec<(&'static str, String)> {
    let mut remarks = Vec::new();
    if let Some(column) = pieces.first().and_then(|piece| piece.cut_at_column) {
        remarks.push(("shown", format!("a window of a long line, from its column {column}")));
    }
    if !finding.cuts.is_empty() || !finding.places.is_empty() {
        remarks.push(("on the plate", on_plate(finding, manner.system)));
    }
    if !finding.why.is_empty() {
        remarks.push(("why", finding.why.clone()));
    }
    if !finding.remedy.is_empty() {
        remarks.push(("remedy", with_flags(&finding.remedy)));
    }
    if let Some(mend) = &finding.mend {
        let safety = match mend.safety {
            MendSafety::Safe => "the parts stay the same",
            MendSafety::LookFirst => "it changes what is cut or when, so look first",
        };
        remarks.push(("mend", format!("{} ({safety})", mend.title)));
    }
    if hint {
        remarks.push(("more", format!("platewright explain {}", finding.rule)));
    }
    remarks
}

/// `cut 37, at X 412.3 Y 88 mm`.
fn on_plate(finding: &Finding, system: System) -> String {
    let mut cuts = finding.cuts.clone();
    cuts.sort_unstable();
    let name = if one(&cuts) { "cut" } else { "cuts" };
    let cuts = (!cuts.is_empty()).then(|| format!("{name} {}", runs(&cuts, RUNS_LISTED)));
    let mut places: Vec<String> = finding.places.iter().map(|at| place(at.x, at.y, system)).collect();
    places.dedup();
    let more = places.len().saturating_sub(PLACES_LISTED);
    places.truncate(PLACES_LISTED);
    let mut places = places.join("; ");
    if more > 0 {
        places = format!("{places} and {}", counted(more, "more place", "more places"));
    }
    let places = (!places.is_empty()).then(|| format!("at {places}"));
    [cuts, places].into_iter().flatten().collect::<Vec<_>>().join(", ")
}

const fn annotate_level(level: Level) -> annotate_snippets::Level<'static> {
    match level {
        Level::Error => annotate_snippets::Level::ERROR,
        Level::Warning => annotate_snippets::Level::WARNING,
        Level::Note => annotate_snippets::Level::NOTE,
    }
}

#[cfg(test)]
mod tests;
