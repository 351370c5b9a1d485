//! The account of a rescue on the terminal: what to do first, why it may have stopped, how to go on.

use super::Names;
use crate::screen::{Screen, Tone};
use ::rescue::{Choice, NextLook, Price, RescuePlan};
use desk::{
    Inputs, Reading, Rescued,
    figures::{counted, place, runs},
};
use std::path::Path;
use units::{Duration, Length, System};

/// Causes told; the rest are in the files.
const CAUSES_TOLD: usize = 4;
/// Least probability with which a cause is told with its evidence.
const CAUSE_LIKELY: f64 = 0.05;
/// Cut numbers listed.
const RUNS_LISTED: usize = 8;

/// Prints the account.
pub(crate) fn print(rescued: &Rescued, inputs: &Inputs, reading: &Reading, screen: &mut Screen<'_>) {
    let plan = &rescued.plan;
    let system = reading.system(inputs);
    print_stop(plan, inputs, system, screen);
    print_steps(plan, screen);
    print_causes(plan, screen);
    if let Some(refound) = &plan.refound {
        super::super::refind::account::print(refound, system, screen);
    }
    print_way_on(plan, system, Others::Written, screen);
    print_rest(plan, &super::assumed(rescued, system), screen);
}

/// Prints how to go on and what there is to know besides, after an account of something else.
pub(crate) fn print_way_on_and_rest(rescued: &Rescued, system: System, screen: &mut Screen<'_>) {
    print_way_on(&rescued.plan, system, Others::NotWritten, screen);
    print_rest(&rescued.plan, &super::assumed(rescued, system), screen);
}

/// Whether the ways on that are not the first are written as well.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Others {
    Written,
    NotWritten,
}

/// Says which files were written.
pub(crate) fn print_files(
    plan: &RescuePlan,
    folder: &Path,
    names: &[String],
    files: &Names,
    screen: &mut Screen<'_>,
) {
    screen.files(folder, names, |name| files.about(name));
    if plan.choices.is_empty() {
        screen.paragraph(
            &format!("  There is no {}: a program that is not proven is not written.", files.program),
            2,
        );
    }
}

fn print_stop(plan: &RescuePlan, inputs: &Inputs, system: System, screen: &mut Screen<'_>) {
    let stop = &plan.stop;
    let at =
        plan.shown_at.map(|p| format!(", at {}", place(Length::from_mm(p.x), Length::from_mm(p.y), system)));
    heading(
        &format!("{} stopped at cut {}{}", inputs.name, stop.cut.number(), at.unwrap_or_default()),
        screen,
    );
    screen.paragraph(&format!("  {}", stop.why), 2);
    if let Some(why) = &stop.not_begun {
        screen.paragraph(&format!("  {why}"), 2);
    }
    if let Some(along) = &stop.along {
        let (at, within) = (Length::from_mm(along.along_mm), Length::from_mm(along.within_mm));
        screen.paragraph(
            &format!(
                "  The torch stood {} along it from the pierce, give or take {}, by {}.",
                at.show(system),
                within.show(system),
                along.why
            ),
            2,
        );
    }
    for odd in &stop.at_odds {
        let label = screen.toned(Tone::Bad, "Does not fit:");
        screen.paragraph(&format!("  {label} {odd}"), 2);
    }
}

fn print_steps(plan: &RescuePlan, screen: &mut Screen<'_>) {
    heading("First, in this order", screen);
    for (k, step) in plan.steps.iter().enumerate() {
        screen.paragraph(&format!("  {:>2}. {}", k + 1, step.order), 6);
    }
}

fn print_causes(plan: &RescuePlan, screen: &mut Screen<'_>) {
    let causes = &plan.triage.causes[..plan.triage.causes.len().min(CAUSES_TOLD)];
    if !causes.is_empty() {
        heading("Why it may have stopped", screen);
    }
    let likely = causes.partition_point(|cause| cause.probability >= CAUSE_LIKELY).max(1).min(causes.len());
    for cause in &causes[..likely] {
        screen.paragraph(&format!("  {:>3.0} %  {}", cause.probability * 100.0, cause.title), 9);
        for (label, evidence) in [("for", &cause.evidence_for), ("against", &cause.evidence_against)] {
            if !evidence.is_empty() {
                screen.paragraph(&format!("         {label}: {}", evidence.join("; ")), 11);
            }
        }
        screen.paragraph(&format!("         look: {}", cause.look), 11);
        screen.paragraph(&format!("         then: {}", cause.fix), 11);
    }
    for cause in &causes[likely..] {
        screen.paragraph(&format!("  {:>3.0} %  {}", cause.probability * 100.0, cause.title), 9);
    }
    if let Some(look) = plan.triage.next_looks.first() {
        screen.line("");
        screen.paragraph(&format!("  The look that would tell most: {}", look.question), 4);
        screen.paragraph(&format!("    Tell it with {}", answers(look)), 6);
    }
    for word in &plan.triage.not_understood {
        screen.paragraph(&format!("  Not understood: {word}"), 4);
    }
}

/// The flags by which a look is told, each with the words that answer it and what they mean.
fn answers(look: &NextLook) -> String {
    let (mut codes, mut seen) = (Vec::new(), Vec::new());
    for (word, meaning) in &look.answers {
        match word.strip_prefix("fault ") {
            Some(code) => {
                let says = meaning.strip_prefix("the source shows ").filter(|says| says.starts_with(code));
                codes.push(says.map_or_else(|| format!("{code} ({meaning})"), str::to_owned));
            }
            None => seen.push(format!("{word} ({meaning})")),
        }
    }
    let told = [("--fault", codes), ("--seen", seen)].into_iter().filter(|(_, words)| !words.is_empty());
    told.map(|(flag, words)| format!("{flag}: {}", words.join(", "))).collect::<Vec<_>>().join("; or with ")
}

fn print_way_on(plan: &RescuePlan, system: System, others: Others, screen: &mut Screen<'_>) {
    print_refused(plan, screen);
    if let Some(wanted) = &plan.wanted {
        heading("What would make more provable", screen);
        screen.paragraph(&format!("  {}", wanted.says), 2);
    }
    let Some(best) = plan.choices.first() else {
        let title = if plan.all_is_made {
            "No restart program is needed"
        } else {
            "No restart program can be proven"
        };
        heading(title, screen);
        screen
            .paragraph(&format!("  {}", plan.none_because.as_deref().unwrap_or("nothing is left to cut")), 2);
        for (k, step) in plan.by_hand.iter().enumerate() {
            screen.paragraph(&format!("  {:>2}. {} ({})", k + 1, step.order, step.why), 6);
        }
        return;
    };
    heading("How to go on", screen);
    print_choice(best, plan.pose.as_ref(), system, screen);
    if let Some(start) = &plan.start_at_line {
        screen.paragraph(
            &format!("  Or start the original at line {}: proven for {}.", start.line, start.holds_for),
            4,
        );
        for precondition in &start.preconditions {
            screen.paragraph(&format!("    - {precondition}"), 6);
        }
    }
    for (choice, file) in plan.choices.iter().zip(super::choice_files(plan)).skip(1) {
        let time = Duration::from_s(choice.time_s);
        let at =
            plan.pose.as_ref().map_or(choice.restarts_at, |pose| pose.placement.point(choice.restarts_at));
        let at = place(Length::from_mm(at.x), Length::from_mm(at.y), system);
        let starts = counted(choice.starts as usize, "start", "starts");
        let file = match others {
            Others::Written => match file.trace {
                Some(trace) => format!("{}, and {trace} first", file.program),
                None => file.program,
            },
            Others::NotWritten => "`rescue` with the same stop writes it".to_owned(),
        };
        screen.paragraph(&format!("  Or: {}; {starts}, {time}, the first at {at}: {file}", choice.title), 4);
        for note in choice.price.iter().map(Price::told).chain(choice.risks.iter().cloned()) {
            screen.paragraph(&format!("    - {note}"), 6);
        }
    }
}

/// Ways that were tried and cannot be proven, beside those that can.
fn print_refused(plan: &RescuePlan, screen: &mut Screen<'_>) {
    if plan.refused.is_empty() || plan.choices.is_empty() {
        return;
    }
    heading("What cannot be proven", screen);
    for refused in &plan.refused {
        screen.paragraph(&format!("  - {}: {}", refused.name, refused.why), 4);
    }
}

pub(crate) fn print_choice(
    choice: &Choice,
    pose: Option<&proof::Pose>,
    system: System,
    screen: &mut Screen<'_>,
) {
    let at = pose.map_or(choice.restarts_at, |pose| pose.placement.point(choice.restarts_at));
    let at = place(Length::from_mm(at.x), Length::from_mm(at.y), system);
    screen.paragraph(&format!("  {}", choice.title), 2);
    let mut cuts: Vec<u32> = choice.promise.cuts.iter().map(|cut| cut.number()).collect();
    cuts.sort_unstable();
    // A cut in two burns is one cut.
    cuts.dedup();
    let (count, time) = (counted(cuts.len(), "cut", "cuts"), Duration::from_s(choice.time_s));
    screen.paragraph(
        &format!(
            "  It starts at {at} and makes {count} ({}) in {time} at the program's feeds.",
            runs(&cuts, RUNS_LISTED)
        ),
        2,
    );
    if !choice.given_up.is_empty() {
        let parts: Vec<u32> = choice.given_up.iter().map(|part| part.number()).collect();
        screen.paragraph(&format!("  It gives up: part {}.", runs(&parts, RUNS_LISTED)), 2);
    }
    if !choice.parts_at_risk.is_empty() {
        let parts: Vec<u32> = choice.parts_at_risk.iter().map(|part| part.number()).collect();
        screen.paragraph(
            &format!("  At risk, if it does not go as it should: part {}.", runs(&parts, RUNS_LISTED)),
            2,
        );
    }
    if let Some(price) = &choice.price {
        screen.paragraph(&format!("  {}", price.told()), 2);
    }
    let diff = &choice.diff;
    let manner = if choice.word_for_word { " word for word" } else { "" };
    screen.paragraph(
        &format!("  Lines kept{manner}: {}; left out: {}; added: {}.", diff.kept, diff.left_out, diff.added),
        2,
    );
    let proven = screen.toned(Tone::Good, "Proven");
    screen.paragraph(&format!("  {proven} on the written text, each worst figure beside its limit:"), 2);
    for figure in &choice.proof.figures {
        let measure = |value| format!("{} {}", short(value), figure.unit).trim_end().to_owned();
        screen.paragraph(
            &format!("    {}: {}, limit {}", figure.name, measure(figure.worst), measure(figure.limit)),
            6,
        );
    }
    for (label, lines) in [
        ("Must be so before the start", &choice.proof.preconditions),
        ("Could not be proven for want of a fact", &choice.proof.unproven),
        ("What could go wrong", &choice.risks),
    ] {
        if !lines.is_empty() {
            screen.line(&format!("  {label}:"));
        }
        for line in lines {
            screen.paragraph(&format!("    - {line}"), 6);
        }
    }
}

fn print_rest(plan: &RescuePlan, assumed: &[String], screen: &mut Screen<'_>) {
    // What the proof lacks stands beside the proof already.
    let told: Vec<&String> =
        plan.choices.first().map_or_else(Vec::new, |best| best.proof.unproven.iter().collect());
    let unchecked: Vec<String> = plan.unchecked.iter().filter(|line| !told.contains(line)).cloned().collect();
    print_lists(
        &[("Take care", &plan.cautions[..]), ("Assumed", assumed), ("Not checked", &unchecked)],
        screen,
    );
}

/// Lists under their titles; those that are empty are left out.
pub(crate) fn print_lists(lists: &[(&str, &[String])], screen: &mut Screen<'_>) {
    for (title, lines) in lists {
        if !lines.is_empty() {
            heading(title, screen);
        }
        for line in *lines {
            screen.paragraph(&format!("  - {line}"), 4);
        }
    }
}

pub(crate) fn heading(text: &str, screen: &mut Screen<'_>) {
    screen.line("");
    let text = screen.toned(Tone::Heading, text);
    screen.line(&text);
}

/// A figure with no more digits than it is worth.
fn short(value: f64) -> String {
    let text = format!("{value:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
