//! ## What it checks
//! That the process with which each cut runs is one of the shop's, that it is for the material on the table, and that
//! what is fitted in the torch is what it needs.
//!
//! ## Why it matters
//! With the wrong set in the torch the arc does not come, or it ruins the nozzle in one start. With a process for
//! another material, speed, height and gas are all wrong.
//!
//! ## Example
//! ```nc
//! T3
//! ```
//! with the set of process 2 in the torch.
//!
//! ## Use instead
//! Change the consumables, and say so in `[fitted]` of the shop file; or run the program that was made for what is
//! fitted.
//!
//! ## Settings
//! `[[process]]` and `[fitted]` in the shop file, `process` and `material` in the job file.
//!
//! ## Limits
//! The program's choice comes before the job's. A program that chooses by number can be held only against processes
//! that have numbers in the shop file.
//!
//! ## Source
//! Common practice.

use crate::context::Context;
use crate::needs::Need;
use crate::rule::Rule;
use crate::sink::{Found, Many};
use finding::{Finding, Level};
use shop::{Material, Process, ProcessOf, Worded};
use std::collections::BTreeMap;

pub(crate) const RULE: Rule = Rule {
    name: "process-not-fitted",
    source: include_str!("process_not_fitted.rs"),
    needs: &[Need::Fitted, Need::Process],
    check,
};

fn check(context: &Context<'_>, found: &mut Found) {
    let mut faults: BTreeMap<(String, String, String), Many> = BTreeMap::new();
    for cut in &context.facts.list.cuts {
        if let Some(fault) = fault(context, context.process_of(cut)) {
            faults.entry(fault).or_default().push(cut, cut.torch_on_span, cut.pierce.at);
        }
    }
    for ((message, why, remedy), many) in faults {
        let every = many.len() == context.facts.list.cuts.len();
        let where_at = if every { "every cut".to_owned() } else { many.cuts_named() };
        let finding = Finding::new(RULE.name, Level::Error, format!("{where_at}: {message}"))
            .because(why)
            .remedy(remedy);
        found.add(many.tell(finding, "starts here"));
    }
}

/// What is wrong with a process, why it matters, and what to do.
fn fault(context: &Context<'_>, process: ProcessOf<'_>) -> Option<(String, String, String)> {
    let told = |message: String, why: &str, remedy: &str| Some((message, why.to_owned(), remedy.to_owned()));
    let process = match process {
        ProcessOf::Known(process) => process,
        ProcessOf::NumberUnknown(number) => {
            return told(
                format!("the program chooses process {number}, which the shop does not have"),
                "the control takes whatever stands under that number",
                "give the process its number in the shop file, or change the number in the program",
            );
        }
        ProcessOf::NameUnknown(name) => {
            return told(
                format!("the shop has no process called `{name}`"),
                "nothing can be said of its speed, height and kerf",
                "say which process of the shop file is run",
            );
        }
        ProcessOf::Untold => return None,
    };
    if let Some(material) = context.facts.job.material.filter(|material| *material != process.material) {
        return told(
            format!(
                "process `{}` is for {}, the plate is {}",
                process.name,
                word(process.material),
                word(material)
            ),
            "its speed, height and gas are those of another material",
            "choose the process for this material, or look at the plate again",
        );
    }
    let fitted = context.shop.fitted.as_ref()?;
    let same = |name: &str| name == fitted.process;
    if same(&process.name) || process.consumables.as_deref().is_some_and(same) || shares_set(context, process)
    {
        return None;
    }
    told(
        format!("process `{}` is run, but `{}` is fitted", process.name, fitted.process),
        "with the wrong set the arc does not come, or it ruins the nozzle",
        "change the consumables and say so in `[fitted]`, or run what is fitted",
    )
}

/// Whether the process that is said to be fitted has the same consumable set.
fn shares_set(context: &Context<'_>, process: &Process) -> bool {
    let set = process.consumables.as_deref();
    set.is_some() && context.shop.processes_fitted().any(|fitted| fitted.consumables.as_deref() == set)
}

fn word(material: Material) -> &'static str {
    let known = Material::WORDS.iter().find(|(_, value, _)| *value == material);
    known.map_or("unknown", |(word, ..)| word)
}
