//! Where findings are gathered, and what went unchecked.

use crate::context::{Context, place};
use crate::needs::Need;
use crate::rule::Rule;
use crate::{Report, Unchecked};
use cuts::Cut;
use finding::{Finding, Place, Span};
use geometry::{Point, Program};
use std::collections::BTreeMap;

/// Findings of all rules so far, and facts that were wanted.
pub(crate) struct Sink {
    findings: Vec<Finding>,
    /// For each fact that is missing, the rules that are silent for want of it.
    lacking: BTreeMap<Need, Vec<&'static str>>,
    /// Rules that lack one fact alone, by that fact.
    last_lack: BTreeMap<Need, usize>,
}

/// What one rule finds.
#[derive(Default)]
pub(crate) struct Found {
    findings: Vec<Finding>,
    lacking: Vec<Need>,
}

impl Found {
    /// Adds a finding.
    pub(crate) fn add(&mut self, finding: Finding) {
        self.findings.push(finding);
    }

    /// Says that something could not be told for want of a fact, as the rule saw on the way.
    pub(crate) fn lacks(&mut self, need: Need) {
        if !self.lacking.contains(&need) {
            self.lacking.push(need);
        }
    }
}

impl Sink {
    pub(crate) fn new(read: &[Finding]) -> Self {
        Self { findings: read.to_vec(), lacking: BTreeMap::new(), last_lack: BTreeMap::new() }
    }

    /// Runs `rule`, or notes what it lacks.
    pub(crate) fn run(&mut self, rule: &Rule, context: &Context<'_>) {
        let lacking: Vec<_> = rule.needs.iter().copied().filter(|need| !need.is_told(context)).collect();
        let mut found = Found { findings: Vec::new(), lacking };
        if found.lacking.is_empty() {
            (rule.check)(context, &mut found);
        }
        if let [only] = found.lacking[..] {
            *self.last_lack.entry(only).or_default() += 1;
        }
        for need in found.lacking {
            self.lacking.entry(need).or_default().push(rule.name);
        }
        debug_assert!(
            found.findings.iter().all(|finding| finding.rule == rule.name),
            "a rule speaks for itself"
        );
        self.findings.extend(found.findings);
    }

    /// The report: findings sorted, and the fact first that by itself would let most rules speak.
    pub(crate) fn into_report(self) -> Report {
        let Self { mut findings, lacking, last_lack } = self;
        finding::sort(&mut findings);
        let mut unchecked: Vec<_> = lacking.into_iter().collect();
        let weight = |need: &Need| last_lack.get(need).copied().unwrap_or(0);
        unchecked.sort_by_key(|(need, rules)| {
            std::cmp::Reverse((weight(need), rules.len(), std::cmp::Reverse(*need)))
        });
        let told = |(need, rules): (Need, Vec<&'static str>)| Unchecked {
            fact: need.fact(),
            told_by: need.told_by(),
            rules,
        };
        Report { findings, unchecked: unchecked.into_iter().map(told).collect() }
    }
}

/// The same fault at many cuts, told once: a program that lacks one word lacks it at every cut, and nobody reads four
/// hundred findings that say the same.
#[derive(Clone, Debug, Default)]
pub(crate) struct Many {
    /// Numbers of the cuts, in order.
    pub cuts: Vec<u32>,
    spans: Vec<Span>,
    places: Vec<Place>,
}

/// Most further places in the text that a finding shows beside the first.
const FURTHER_SHOWN: usize = 2;

impl Many {
    /// One more cut, with the place in the text and on the plate.
    pub(crate) fn push(&mut self, cut: &Cut, span: Span, at: Point<Program>) {
        self.cuts.push(cut.number());
        self.spans.push(span);
        self.places.push(place(at));
    }

    /// One more place that belongs to no cut.
    pub(crate) fn push_place(&mut self, span: Span, at: Point<Program>) {
        self.spans.push(span);
        self.places.push(place(at));
    }

    /// How often it was found.
    pub(crate) fn len(&self) -> usize {
        self.spans.len()
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.spans.is_empty()
    }

    /// `cut 3`, `cuts 3 and 4`, `12 cuts from 3 on`.
    pub(crate) fn cuts_named(&self) -> String {
        match self.cuts[..] {
            [] => String::new(),
            [only] => format!("cut {only}"),
            [first, second] => format!("cuts {first} and {second}"),
            [first, ..] => format!("{} cuts from {first} on", self.cuts.len()),
        }
    }

    /// `finding` with every place: the first one underlined, a few more shown, all on the plate.
    pub(crate) fn tell(self, finding: Finding, label: &str) -> Finding {
        let mut finding = finding;
        let mut spans = self.spans.into_iter();
        if let Some(first) = spans.next() {
            finding = finding.at(first, label);
        }
        for span in spans.take(FURTHER_SHOWN) {
            finding = finding.and_at(span, "and here");
        }
        finding.places.extend(self.places);
        finding.cuts.extend(self.cuts);
        finding
    }
}
