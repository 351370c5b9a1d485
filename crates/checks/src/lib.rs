//! Rules that hold a program against shop and plate; one rule a file in `rules/`.

use cuts::{CutList, PlateIndex};
use finding::Finding;
use nc::{Motions, Program};
use shop::{Job, Shop};

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
#[must_use]
pub fn check(facts: &Facts<'_>) -> Report {
    let _ = facts;
    todo!("checks")
}

/// The page of a rule, as `explain` prints it: Markdown; none if there is no such rule.
#[must_use]
pub fn explain(rule: &str) -> Option<String> {
    let _ = rule;
    todo!("checks")
}

/// Names of all rules, sorted.
#[must_use]
pub fn names() -> Vec<&'static str> {
    todo!("checks")
}
