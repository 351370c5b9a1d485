//! Where the findings of one reading are gathered: each fault once a place, and not a million times.

use finding::{Finding, Level, Span};
use std::collections::{HashMap, HashSet};

/// Most findings of one rule that are listed one by one. Whoever has mended a hundred knows the fault; a binary file
/// or a wrong shop file would otherwise give millions.
pub(crate) const SHOWN_PER_RULE: usize = 100;

#[derive(Debug, Default)]
pub(crate) struct Report {
    found: Vec<Finding>,
    counts: HashMap<&'static str, (usize, Level)>,
    seen: HashSet<(&'static str, Span)>,
}

impl Report {
    pub(crate) fn error(
        &mut self,
        rule: &'static str,
        span: Span,
        message: impl FnOnce() -> String,
        remedy: &str,
    ) {
        self.add(rule, Level::Error, Some(span), message, remedy);
    }

    pub(crate) fn warning(
        &mut self,
        rule: &'static str,
        span: Span,
        message: impl FnOnce() -> String,
        remedy: &str,
    ) {
        self.add(rule, Level::Warning, Some(span), message, remedy);
    }

    /// An error of the whole text.
    pub(crate) fn of_text(&mut self, rule: &'static str, message: impl FnOnce() -> String, remedy: &str) {
        self.add(rule, Level::Error, None, message, remedy);
    }

    /// A block that runs many times says its fault once.
    fn add(
        &mut self,
        rule: &'static str,
        level: Level,
        span: Option<Span>,
        message: impl FnOnce() -> String,
        remedy: &str,
    ) {
        debug_assert!(crate::RULES.iter().any(|(name, _)| *name == rule), "{rule} has no page");
        let (count, _) = self.counts.entry(rule).or_insert((0, level));
        if *count < SHOWN_PER_RULE {
            if span.is_some_and(|span| !self.seen.insert((rule, span))) {
                return;
            }
            let finding = Finding::new(rule, level, message()).remedy(remedy);
            self.found.push(match span {
                Some(span) => finding.at(span, ""),
                None => finding,
            });
        }
        *count += 1;
    }

    /// The findings in the order of the text, and last, for each rule that has more, how many.
    pub(crate) fn finish(mut self) -> Vec<Finding> {
        finding::sort(&mut self.found);
        let mut rules: Vec<_> =
            self.counts.into_iter().filter(|(_, (count, _))| *count > SHOWN_PER_RULE).collect();
        rules.sort_unstable_by_key(|(rule, _)| *rule);
        self.found.extend(rules.into_iter().map(|(rule, (count, level))| {
            Finding::new(rule, level, format!("{} more of the same are not listed", count - SHOWN_PER_RULE))
                .remedy("mend those listed first: the cause is mostly the same")
        }));
        self.found
    }
}
