//! The plan as a page to read at the table: what to do first, why it stopped, how to go on.

use crate::{Choice, RescuePlan};
use std::fmt::Write as _;

/// Causes shown; the rest is summed up.
const CAUSES_SHOWN: usize = 5;

/// Lines of the difference shown on the page; the whole of it belongs beside the program.
const DIFF_LINES_SHOWN: usize = 40;

/// The plan as a page to read at the table (Markdown): the safe order of work first, then causes with the next look,
/// then the restart, what to check before it, and the difference to the original in short.
#[must_use]
pub fn steps_markdown(plan: &RescuePlan) -> String {
    let mut page = String::new();
    stop(&mut page, plan);
    safe_order(&mut page, plan);
    causes(&mut page, plan);
    restart(&mut page, plan);
    remarks(&mut page, "Cautions", &plan.cautions);
    remarks(&mut page, "What went unchecked", &plan.unchecked);
    page.truncate(page.trim_end().len());
    page.push('\n');
    page
}

fn stop(page: &mut String, plan: &RescuePlan) {
    let stop = &plan.stop;
    let _ = writeln!(page, "# Stopped at cut {}\n", stop.cut.number());
    let sure = if stop.sure { "sure" } else { "not sure: check it on the picture first" };
    let _ = writeln!(page, "Taken because {}. {:.0} %, {sure}.\n", stop.why, stop.probability * 100.0);
    if let Some(why) = &stop.not_begun {
        let _ = writeln!(page, "No cut was interrupted: {why}.\n");
    }
    if let Some(along) = &stop.along {
        let _ = writeln!(
            page,
            "The torch stood {:.1} mm along it from the pierce, give or take {:.1} mm, by {}.\n",
            along.along_mm, along.within_mm, along.why
        );
    }
    for odd in &stop.at_odds {
        let _ = writeln!(page, "- At odds: {odd}.");
    }
    if !stop.at_odds.is_empty() {
        page.push('\n');
    }
}

fn safe_order(page: &mut String, plan: &RescuePlan) {
    page.push_str("## First, in this order\n\n");
    for (k, step) in plan.steps.iter().enumerate() {
        let _ = writeln!(page, "{}. **{}** {}", k + 1, step.order, step.why);
    }
    page.push('\n');
}

fn causes(page: &mut String, plan: &RescuePlan) {
    if !plan.triage.causes.is_empty() {
        ranked_causes(page, plan);
    }
    for hint in &plan.triage.not_understood {
        let _ = writeln!(page, "- Not used: {hint}.");
    }
    if !plan.triage.not_understood.is_empty() {
        page.push('\n');
    }
}

fn ranked_causes(page: &mut String, plan: &RescuePlan) {
    page.push_str("## Why it may have stopped\n\n");
    for cause in plan.triage.causes.iter().take(CAUSES_SHOWN) {
        let _ = writeln!(
            page,
            "- **{:.0} % {}.** Look at {}. Fix: {}.",
            cause.probability * 100.0,
            cause.title,
            cause.look,
            cause.fix
        );
        for (word, evidence) in [("For", &cause.evidence_for), ("Against", &cause.evidence_against)] {
            if !evidence.is_empty() {
                let _ = writeln!(page, "  - {word}: {}.", evidence.join("; "));
            }
        }
    }
    let rest: f64 = plan.triage.causes.iter().skip(CAUSES_SHOWN).map(|cause| cause.probability).sum();
    let _ = writeln!(page, "- Everything else together: {:.0} %.\n", rest * 100.0);
    if let Some(look) = plan.triage.next_looks.first() {
        let answers: Vec<String> = look.answers.iter().map(|(word, _)| format!("`{word}`")).collect();
        let _ = writeln!(
            page,
            "The next look that tells most: **{}** Answer with {} in `seen`.\n",
            look.question,
            answers.join(" or ")
        );
    }
}

fn restart(page: &mut String, plan: &RescuePlan) {
    page.push_str("## How to go on\n\n");
    for (k, choice) in plan.choices.iter().enumerate() {
        one_choice(page, choice, k == 0);
        if let Some(first) = plan.choices.first().filter(|_| k > 0) {
            besides(page, choice, first);
        }
    }
    if !plan.choices.is_empty() && !plan.refused.is_empty() {
        page.push_str("Tried, and not to be proven:\n\n");
        for refused in &plan.refused {
            let _ = writeln!(page, "- {}: {}.", refused.name, refused.why);
        }
        page.push('\n');
    }
    if let Some(wanted) = &plan.wanted {
        let _ = writeln!(page, "**What would make more provable.** {}\n", wanted.says);
    }
    if let Some(why) = &plan.none_because {
        let _ = writeln!(page, "**No restart program.** {why}\n");
        for step in &plan.by_hand {
            let _ = writeln!(page, "- {} {}", step.order, step.why);
        }
        page.push('\n');
    }
    if let Some(trace) = plan.trace() {
        page.push_str("Before the trace (torch off):\n\n");
        for condition in &trace.preconditions {
            let _ = writeln!(page, "- [ ] {condition}");
        }
        page.push('\n');
    }
    if let Some(at) = &plan.start_at_line {
        let _ = writeln!(
            page,
            "Instead, the original may be started at line {} (proven for {}), if:\n",
            at.line, at.holds_for
        );
        for condition in &at.preconditions {
            let _ = writeln!(page, "- [ ] {condition}");
        }
        page.push('\n');
    }
}

fn one_choice(page: &mut String, choice: &Choice, first: bool) {
    let _ = writeln!(page, "### {}{}\n", if first { "" } else { "Or: " }, choice.title);
    let kept =
        if choice.word_for_word { "untouched blocks word for word" } else { "written anew from the motions" };
    let _ = writeln!(
        page,
        "Proven; {kept}; {} {}, about {:.0} min by the program's clock.\n",
        choice.starts,
        if choice.starts == 1 { "start" } else { "starts" },
        (choice.time_s / 60.0).max(1.0)
    );
    if let Some(price) = &choice.price {
        let _ = writeln!(page, "{}\n", price.told());
    }
    if first {
        page.push_str("It holds if, before the start:\n\n");
        for condition in &choice.proof.preconditions {
            let _ = writeln!(page, "- [ ] {condition}");
        }
        page.push('\n');
    }
    for risk in &choice.risks {
        let _ = writeln!(page, "- {risk}");
    }
    if first {
        let diff = &choice.diff;
        let _ = writeln!(
            page,
            "\nAgainst the original: {} lines kept, {} left out, {} added.\n\n```diff",
            diff.kept, diff.left_out, diff.added
        );
        for line in diff.shown.lines().take(DIFF_LINES_SHOWN) {
            let _ = writeln!(page, "{line}");
        }
        page.push_str("```\n");
    }
    page.push('\n');
}

/// What must be so before a way that is not the first, or before its trace, beyond what must be so before the first.
fn besides(page: &mut String, choice: &Choice, first: &Choice) {
    let of_trace =
        |choice: &Choice| choice.trace.iter().flat_map(|trace| trace.preconditions.clone()).collect();
    let lists: [(&str, Vec<String>, Vec<String>); 2] = [
        ("It holds if, besides:", choice.proof.preconditions.clone(), first.proof.preconditions.clone()),
        ("Before its trace (torch off), besides:", of_trace(choice), of_trace(first)),
    ];
    for (title, conditions, known) in lists {
        let more: Vec<&String> = conditions.iter().filter(|condition| !known.contains(condition)).collect();
        if !more.is_empty() {
            let _ = writeln!(page, "{title}\n");
            for condition in more {
                let _ = writeln!(page, "- [ ] {condition}");
            }
            page.push('\n');
        }
    }
}

fn remarks(page: &mut String, title: &str, lines: &[String]) {
    if lines.is_empty() {
        return;
    }
    let _ = writeln!(page, "## {title}\n");
    for line in lines {
        let _ = writeln!(page, "- {line}");
    }
    page.push('\n');
}
