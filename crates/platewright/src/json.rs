//! What `--json` prints: types of our own, filled by hand, so that a change inside breaks no reader outside.
//! Described in `docs/json.md`; each document names its schema and version.

use crate::flags::with_flags;
use desk::{Lined, rounded_mm};
use finding::{Finding, Label, Level, MendSafety};
use serde::Serialize;

mod campaign;
mod forecast;
mod plan;
mod program;
mod refound;
mod salvage;
mod summary;

pub(crate) use campaign::{CampaignDocument, FailureRow};
pub(crate) use forecast::ForecastDocument;
pub(crate) use plan::{ChoiceFiles, PlanDocument, PlanFrame};
pub(crate) use program::ProgramRow;
pub(crate) use refound::{RefindDocument, RefoundRow, WitnessDocument};
pub(crate) use salvage::SalvageDocument;
pub(crate) use summary::SummaryRow;

/// `value` as indented JSON with a line end.
///
/// # Panics
/// Never: our types have text keys only, and their numbers are finite.
#[must_use]
pub(crate) fn text(value: &impl Serialize) -> String {
    let mut text = serde_json::to_string_pretty(value).expect("our types can be written as JSON");
    text.push('\n');
    text
}

/// What `check --json` prints.
#[derive(Debug, Serialize)]
pub(crate) struct CheckDocument {
    /// `platewright.check`.
    pub schema: &'static str,
    /// Version of the schema.
    pub version: u32,
    /// The program.
    pub program: ProgramRow,
    /// Cuts, parts, lengths, times.
    pub summary: SummaryRow,
    /// Findings, in the order of the text.
    pub findings: Vec<FindingRow>,
    /// What went unchecked; the fact that would add most first.
    pub unchecked: Vec<UncheckedRow>,
    /// What was assumed where nothing was told, a sentence each.
    pub assumed: Vec<String>,
}

impl CheckDocument {
    /// Name of the schema.
    pub(crate) const SCHEMA: &'static str = "platewright.check";
    /// Its version.
    pub(crate) const VERSION: u32 = 1;
}

/// A finding.
#[derive(Debug, Serialize)]
pub(crate) struct FindingRow {
    rule: String,
    level: &'static str,
    message: String,
    at: Option<TextRow>,
    also_at: Vec<TextRow>,
    cuts: Vec<u32>,
    places: Vec<PlaceRow>,
    why: String,
    remedy: String,
    mend: Option<MendRow>,
}

/// A stretch of the program's text.
#[derive(Debug, Serialize)]
struct TextRow {
    line: u32,
    byte_start: u32,
    byte_end: u32,
    label: String,
}

/// A place on the plate, in program coordinates.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub(crate) struct PlaceRow {
    x_mm: f64,
    y_mm: f64,
}

#[derive(Debug, Serialize)]
struct MendRow {
    title: String,
    safety: &'static str,
    edits: Vec<EditRow>,
}

#[derive(Debug, Serialize)]
struct EditRow {
    byte_start: u32,
    byte_end: u32,
    text: String,
}

/// A fact that is missing.
#[derive(Debug, Serialize)]
pub(crate) struct UncheckedRow {
    fact: String,
    told_by: String,
    rules: Vec<String>,
}

impl PlaceRow {
    /// The place of `point`.
    #[must_use]
    pub(crate) fn of(point: geometry::Point<geometry::Program>) -> Self {
        Self { x_mm: rounded_mm(point.x), y_mm: rounded_mm(point.y) }
    }
}

impl FindingRow {
    /// The row of `finding` on the text `source`.
    #[must_use]
    pub(crate) fn new(finding: &Finding, source: &dyn Lined) -> Self {
        let text = |label: &Label| TextRow {
            line: source.line_of(label.span.start),
            byte_start: label.span.start,
            byte_end: label.span.end,
            label: label.text.clone(),
        };
        let place =
            |at: &finding::Place| PlaceRow { x_mm: rounded_mm(at.x.mm()), y_mm: rounded_mm(at.y.mm()) };
        Self {
            rule: finding.rule.to_owned(),
            level: level_name(finding.level),
            message: finding.message.clone(),
            at: finding.primary.as_ref().map(text),
            also_at: finding.secondary.iter().map(text).collect(),
            cuts: finding.cuts.clone(),
            places: finding.places.iter().map(place).collect(),
            why: finding.why.clone(),
            remedy: with_flags(&finding.remedy),
            mend: finding.mend.as_ref().map(MendRow::new),
        }
    }
}

impl MendRow {
    fn new(mend: &finding::Mend) -> Self {
        let edit = |edit: &finding::Edit| EditRow {
            byte_start: edit.span.start,
            byte_end: edit.span.end,
            text: edit.text.clone(),
        };
        let safety = match mend.safety {
            MendSafety::Safe => "safe",
            MendSafety::LookFirst => "look-first",
        };
        Self { title: mend.title.clone(), safety, edits: mend.edits.iter().map(edit).collect() }
    }
}

impl UncheckedRow {
    /// The row of `unchecked`.
    #[must_use]
    pub(crate) fn new(unchecked: &checks::Unchecked) -> Self {
        Self {
            fact: unchecked.fact.to_owned(),
            told_by: with_flags(unchecked.told_by),
            rules: unchecked.rules.iter().map(|&rule| rule.to_owned()).collect(),
        }
    }
}

/// A level as JSON names it.
const fn level_name(level: Level) -> &'static str {
    match level {
        Level::Error => "error",
        Level::Warning => "warning",
        Level::Note => "note",
    }
}

/// What `explain --json` prints.
#[derive(Debug, Serialize)]
pub(crate) struct ExplainDocument {
    schema: &'static str,
    version: u32,
    rules: Vec<RuleRow>,
}

#[derive(Debug, Serialize)]
struct RuleRow {
    name: String,
    /// Markdown.
    page: String,
}

impl ExplainDocument {
    /// The document of these pages.
    #[must_use]
    pub(crate) fn new<'a>(pages: impl IntoIterator<Item = (&'a str, String)>) -> Self {
        let row = |(name, page): (&str, String)| RuleRow { name: name.to_owned(), page };
        Self { schema: "platewright.rules", version: 1, rules: pages.into_iter().map(row).collect() }
    }
}

/// What `show --json` prints.
#[derive(Debug, Serialize)]
pub(crate) struct ShowDocument {
    schema: &'static str,
    version: u32,
    program: ProgramRow,
    summary: SummaryRow,
    picture: String,
    assumed: Vec<String>,
}

impl ShowDocument {
    /// The document of a picture written to `picture`.
    #[must_use]
    pub(crate) fn new(
        program: ProgramRow,
        summary: SummaryRow,
        picture: String,
        assumed: Vec<String>,
    ) -> Self {
        Self { schema: "platewright.show", version: 1, program, summary, picture, assumed }
    }
}

/// What `shop check --json` prints.
#[derive(Debug, Serialize)]
pub(crate) struct ShopDocument {
    schema: &'static str,
    version: u32,
    file: String,
    findings: Vec<FindingRow>,
}

impl ShopDocument {
    /// The document of the findings on a shop file.
    #[must_use]
    pub(crate) fn new(file: &str, findings: &[Finding], source: &dyn Lined) -> Self {
        let findings = findings.iter().map(|finding| FindingRow::new(finding, source)).collect();
        Self { schema: "platewright.shop", version: 1, file: file.to_owned(), findings }
    }
}
