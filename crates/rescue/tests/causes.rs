//! `docs/causes.md` says what the table of causes says.

use expect_test::expect_file;
use rescue::triage::{AskedOf, QUESTIONS, ROWS, Trouble};
use std::fmt::Write as _;

const HEAD: &str = "\
# Causes and what tells them apart

What `rescue` ranks when an arc does not come, is lost, or cuts badly. All figures are common practice, not
measurements; a shop puts its own in `[causes]` of the shop file: `prior` replaces the share among a hundred failed
starts (for the other troubles the share grows or shrinks alike), `seen` replaces or adds how likely an observation is
under the cause. An observation that is not reported has no weight. This page is written from the table itself.

## Causes

Shares are of a hundred failed starts, of a hundred arcs lost on the way, and of a hundred cuts that are bad or not
through.

";

#[test]
fn the_page_of_causes_is_the_table() {
    let mut page = HEAD.to_owned();
    page += "| cause | failed starts | lost arcs | bad cuts |\n|---|---:|---:|---:|\n";
    for row in ROWS {
        let [start, lost, bad] = row.shares;
        let _ = writeln!(page, "| `{}`: {} | {start:.0} | {lost:.0} | {bad:.0} |", row.name, row.title);
    }
    page += "\n## How each shows, where to look, what to do\n\n";
    for row in ROWS {
        let gives: Vec<String> = row.gives.iter().map(|(word, p)| format!("`{word}` {p}")).collect();
        let _ = writeln!(
            page,
            "- `{}`: shows as {}. Look at {}. Then {}.",
            row.name,
            gives.join(", "),
            row.look,
            row.fix
        );
    }
    page += "\n## Observations\n\nWords for `seen` in a stop report, or `--seen WORD`; after each how usual it is where a cause has no bearing on it.\n\n";
    for question in QUESTIONS {
        let who = match question.of {
            AskedOf::Eye => "",
            AskedOf::Hands => " (source isolated first)",
            AskedOf::Facts => " (worked out where the facts are told)",
        };
        let about: Vec<&str> = question.about.iter().map(|trouble| trouble.in_words()).collect();
        let about = if about.len() == Trouble::ALL.len() {
            String::new()
        } else {
            format!(" Only for {}.", about.join(" and "))
        };
        let _ = writeln!(page, "- {}{who}{about}", question.ask);
        for answer in question.answers {
            let _ = writeln!(page, "  - `{}` ({}): {}", answer.word, answer.usual, answer.means);
        }
    }
    expect_file!["../../../docs/causes.md"].assert_eq(&page);
}
