//! Rules that hold a program against shop and plate; one rule a file in `rules/`.
//!
//! A rule gets a read-only [`Facts`] with what follows from it, and a sink for its findings. It declares the facts it
//! needs, so that what went unchecked can be told, and which one fact would add most. Its page is the head of its own
//! file.

mod codes;
mod context;
mod needs;
mod page;
mod rule;
mod rules;
mod sink;

use cuts::{CutList, PlateIndex};
use finding::Finding;
use nc::{Motions, Program};
use shop::{Job, Shop};
use std::ops::ControlFlow;

/// Everything a rule may look at: all stages before it, and the facts that have been told.
#[derive(Debug)]
pub struct Facts<'a> {
    /// The program.
    pub program: &'a Program,
    /// The words it was read with.
    pub dialect: &'a nc::Dialect,
    /// Its motions.
    pub motions: &'a Motions,
    /// Its cuts.
    pub list: &'a CutList,
    /// Its cuts, indexed.
    pub index: &'a PlateIndex,
    /// What reading and modelling found (from `nc` and `cuts`).
    pub read: &'a [Finding],
    /// The shop, if told.
    pub shop: Option<&'a Shop>,
    /// The job: thickness and plate at least.
    pub job: &'a Job,
    /// Width of the kerf and where it comes from.
    pub kerf: units::Length,
    /// The program run on the cell with nothing going wrong; rules that want it are silent without it.
    pub forecast: Option<&'a cell::Forecast>,
}

/// What could not be checked, and the fact that would make it possible.
#[derive(Clone, Debug, PartialEq)]
pub struct Unchecked {
    /// The fact that is missing, as the user would name it: "acceleration of the table".
    pub fact: &'static str,
    /// Where it is told: `[table] acceleration` in the shop file, or a flag.
    pub told_by: &'static str,
    /// Rules silent for want of it.
    pub rules: Vec<&'static str>,
}

/// What a check gives.
#[derive(Clone, Debug, PartialEq)]
pub struct Report {
    /// Findings, sorted.
    pub findings: Vec<Finding>,
    /// What went unchecked, the fact that would add most first.
    pub unchecked: Vec<Unchecked>,
}

/// Runs every rule.
///
/// The findings of reading ([`Facts::read`]) are among those of the report. Takes n log n in the size of the program.
///
/// # Panics
/// Never: who is not watched is not called off.
#[must_use]
pub fn check(facts: &Facts<'_>) -> Report {
    run(facts, None).expect("nobody calls it off")
}

/// The same while somebody waits; none if it was called off, which is seen between two rules, and within those that take
/// long.
#[must_use]
pub fn check_watched(facts: &Facts<'_>, watch: &Watch<'_>) -> Option<Report> {
    run(facts, Some(watch))
}

/// Somebody who waits for a report: is told how many of how many are through, of what (in the plural), and breaks it off by
/// what it gives back. What it is told changes nothing.
pub type Watch<'w> = dyn Fn(usize, usize, &'static str) -> ControlFlow<()> + 'w;

fn run(facts: &Facts<'_>, watch: Option<&Watch<'_>>) -> Option<Report> {
    let context = context::Context::new(facts, watch);
    let mut sink = sink::Sink::new(facts.read);
    for (done, rule) in rules::ALL.iter().enumerate() {
        context.tell(done, rules::ALL.len(), "checks").is_continue().then_some(())?;
        sink.run(rule, &context);
    }
    context.is_waited_for().then(|| sink.into_report())
}

/// The page of a rule, as `explain` prints it: Markdown; none if there is no such rule. Findings of reading a program
/// or a file have a page, too.
#[must_use]
pub fn explain(rule: &str) -> Option<String> {
    let own = rules::ALL.iter().find(|own| own.name == rule).map(|own| page::of_source(own.source));
    let read = || page::of_reading().find(|(name, _)| *name == rule).map(|(_, page)| page.to_owned());
    Some(format!("# {rule}\n\n{}", own.or_else(read)?.trim_start()))
}

/// Names of all rules, sorted; those whose findings come of reading a program or a file are among them.
#[must_use]
pub fn names() -> Vec<&'static str> {
    let own = rules::ALL.iter().map(|rule| rule.name);
    let mut names: Vec<_> = own.chain(page::of_reading().map(|(name, _)| name)).collect();
    names.sort_unstable();
    names.dedup();
    names
}
