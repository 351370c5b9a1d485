//! The examples on the rules' pages: each trips its rule, and what is to be used instead does not.

use crate::run::rules;
use nc::{Code, Dialect};
use units::Length;

/// The controls against which the examples are held: one of them must find the fault.
fn dialects() -> [Dialect; 3] {
    let widths = |dialect: Dialect| Dialect { comp_widths: vec![(1, Length::from_mm(2.0))], ..dialect };
    let own_torch_words = Dialect {
        torch_on: vec![Code::new(b'M', 17)],
        torch_off: vec![Code::new(b'M', 18)],
        ..Dialect::common()
    };
    [widths(Dialect::common()), widths(Dialect::strict()), widths(own_torch_words)]
}

fn example(page: &str, heading: &str) -> String {
    let section =
        page.split("## ").find_map(|section| section.strip_prefix(heading)).expect("the page is whole");
    section.lines().filter_map(|line| line.strip_prefix("    ")).collect::<Vec<_>>().join("\n")
}

#[test]
fn examples_trip_their_rule() {
    for (rule, page) in nc::RULES {
        let text = example(page, "Example");
        if text.is_empty() {
            assert!(
                ["program-binary", "program-empty", "text-too-long"].contains(rule),
                "{rule} shows no example"
            );
            continue;
        }
        let tripped = dialects().iter().any(|dialect| rules(text.as_bytes(), dialect).contains(rule));
        assert!(tripped, "{rule} is not tripped by its example:\n{text}");
    }
}

#[test]
fn what_to_use_instead_is_fine() {
    for (rule, page) in nc::RULES {
        let text = example(page, "Use instead");
        let spared = dialects().iter().any(|dialect| rules(text.as_bytes(), dialect).is_empty());
        let tripped = dialects().iter().take(2).any(|dialect| rules(text.as_bytes(), dialect).contains(rule));
        assert!(
            spared && !(tripped && *rule != "comment-unclosed"),
            "{rule}: what to use instead is at fault:\n{text}"
        );
    }
}
