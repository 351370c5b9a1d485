//! `check`: holds a program against what is known and says what was found, what it amounts to, and what went
//! unchecked.

use crate::args::CheckArgs;
use crate::error::Error;
use crate::exit::Exit;
use crate::findings::{Manner, tally, told};
use crate::flags::with_flags;
use crate::inputs::gather;
use crate::json::{self, CheckDocument, FindingRow, ProgramRow, SummaryRow, UncheckedRow};
use crate::screen::{Screen, Tone};
use crate::words::all_assumed;
use checks::Report;
use desk::{
    Fingerprint, Inputs, KerfFrom, Reading, Summary,
    figures::{counted, distance},
};
use finding::{Finding, Level};
use units::System;

/// Facts listed as missing; the rest are counted.
const FACTS_LISTED: usize = 6;

/// Runs the command.
pub(crate) fn run(args: &CheckArgs, screen: &mut Screen<'_>) -> Result<Exit, Error> {
    let (mut inputs, files) = gather(&args.job)?;
    let reading = Reading::of(&mut inputs);
    let report = desk::report(&inputs, &reading);
    let errors = report.findings.iter().any(|f| f.level == Level::Error);
    if args.json {
        screen.raw(&document(&inputs, &reading, &report));
    } else {
        super::remarks(&files, screen);
        print(&inputs, &reading, &report, args.all, screen);
    }
    Ok(if errors { Exit::FOUND } else { Exit::CLEAN })
}

/// Prints findings, summary and what went unchecked.
pub(crate) fn print(inputs: &Inputs, reading: &Reading, report: &Report, all: bool, screen: &mut Screen<'_>) {
    let system = reading.system(inputs);
    let name = &inputs.name;
    let manner = Manner { name, system, all, explained: true };
    let findings = told(screen, &report.findings, &reading.program, manner);
    screen.raw(&findings);
    let tally = tally(screen, &report.findings);
    let name = screen.toned(Tone::Heading, name);
    screen.line(&format!("{name}: {tally}"));
    screen.line("");
    print_summary(&Summary::of(reading), system, screen);
    print_unchecked(report, screen);
}

/// What the program amounts to, in a few lines.
pub(crate) fn print_summary(summary: &Summary, system: System, screen: &mut Screen<'_>) {
    let kinds = [
        (summary.outlines, "outline", "outlines"),
        (summary.holes, "hole", "holes"),
        (summary.slots, "open cut", "open cuts"),
        (summary.marks, "mark", "marks"),
    ];
    let kinds: Vec<String> = kinds
        .into_iter()
        .filter(|&(count, ..)| count > 0)
        .map(|(count, one, many)| counted(count, one, many))
        .collect();
    let of = if kinds.is_empty() { String::new() } else { format!(": {}", kinds.join(", ")) };
    let parts = counted(summary.parts, "part", "parts");
    let cuts = counted(summary.cuts, "cut", "cuts");
    screen.paragraph(&format!("  Cuts     {cuts}{of}; {parts}"), 11);
    let (cut, travel) = (distance(summary.cut_length, system), distance(summary.travel_length, system));
    screen.line(&format!("  Way      {cut} cut, {travel} travelled"));
    let rapids = if summary.rapid_told { "" } else { " and rapids" };
    screen.line(&format!("  Time     {} at the program's feeds, without acceleration{rapids}", summary.time));
    let from = match summary.kerf.from {
        KerfFrom::Told => "as told",
        KerfFrom::Chart => "from the chart",
        KerfFrom::PlateFile => "from the plate file",
        KerfFrom::Assumed => "assumed; measure yours and give it with --kerf",
    };
    screen.line(&format!("  Kerf     {}, {from}", summary.kerf.width.show(system)));
}

/// What went unchecked, and the one fact that would add most.
fn print_unchecked(report: &Report, screen: &mut Screen<'_>) {
    screen.line("");
    let Some(best) = report.unchecked.first() else {
        screen.line("Nothing went unchecked for want of a fact.");
        return;
    };
    let heading = screen.toned(Tone::Heading, "Not checked, because nobody has told:");
    screen.line(&heading);
    for unchecked in report.unchecked.iter().take(FACTS_LISTED) {
        let rules = unchecked.rules.join(", ");
        screen.paragraph(&format!("  {} ({}): {rules}", unchecked.fact, with_flags(unchecked.told_by)), 4);
    }
    if report.unchecked.len() > FACTS_LISTED {
        let more = counted(report.unchecked.len() - FACTS_LISTED, "more fact", "more facts");
        screen.line(&format!("  and {more}; --json lists them"));
    }
    screen.line("");
    let heading = screen.toned(Tone::Heading, "What would add most:");
    screen.paragraph(&format!("{heading} {}, told by {}.", best.fact, with_flags(best.told_by)), 2);
}

/// The report as JSON.
fn document(inputs: &Inputs, reading: &Reading, report: &Report) -> String {
    let print = Fingerprint::of(&inputs.name, reading.program.text());
    let row = |finding: &Finding| FindingRow::new(finding, &reading.program);
    json::text(&CheckDocument {
        schema: CheckDocument::SCHEMA,
        version: CheckDocument::VERSION,
        program: ProgramRow::new(&print, reading.program.blocks().len()),
        summary: SummaryRow::new(&Summary::of(reading)),
        findings: report.findings.iter().map(row).collect(),
        unchecked: report.unchecked.iter().map(UncheckedRow::new).collect(),
        assumed: all_assumed(reading, inputs),
    })
}
