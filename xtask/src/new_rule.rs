//! `cargo xtask new-rule NAME`: the rule's file, its fixture, and its two lines in the registry.

use crate::run::{root, say};
use std::path::Path;

/// Writes a new rule; refuses a name that does not fit or is taken.
pub(crate) fn new_rule(name: &str) -> Result<(), String> {
    well_named(name)?;
    let checks = root().join("crates/checks");
    let (file, fixture) =
        (checks.join(format!("src/rules/{}.rs", module(name))), checks.join(format!("fixtures/{name}.md")));
    for path in [&file, &fixture] {
        if path.exists() {
            return Err(format!("{} is there already", path.display()));
        }
    }
    let registry = checks.join("src/rules.rs");
    let lists = std::fs::read_to_string(&registry).map_err(|e| format!("{}: {e}", registry.display()))?;
    let lists = registered(&lists, name)?;
    write(&file, &rule_text(name))?;
    write(&fixture, &fixture_text(name))?;
    write(&registry, &lists)?;
    say(&format!(
        "Written: {}, {} and two lines in {}.\nWrite the page first, then `check`, then the fixture; \
         `cargo xtask bless` and read the difference.\n",
        file.display(),
        fixture.display(),
        registry.display()
    ));
    Ok(())
}

/// Refuses a name that is not kebab-case, or that names the cure instead of the fault.
fn well_named(name: &str) -> Result<(), String> {
    let parts: Vec<&str> = name.split('-').collect();
    let plain = |part: &&str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_lowercase());
    if parts.len() < 2 || !parts.iter().all(plain) {
        return Err(format!(
            "`{name}` is no rule's name: write two or more lower-case words with `-` between, such as \
             `pierce-on-cut-edge`"
        ));
    }
    if ["no", "disallow", "forbid", "check", "use"].contains(&parts[0]) {
        return Err(format!(
            "`{name}` names the cure: name the fault, so that it completes the sentence \"allow …\""
        ));
    }
    Ok(())
}

/// The registry's text with `name` in both of its lists, which stay sorted.
fn registered(lists: &str, name: &str) -> Result<String, String> {
    let module = module(name);
    let with_module = insert_sorted(lists, "mod ", ";", &module)?;
    insert_sorted(&with_module, "    &", "::RULE,", &module)
}

/// `text` with the line `before` + `name` + `after` among the lines of that form, in its place.
fn insert_sorted(text: &str, before: &str, after: &str, name: &str) -> Result<String, String> {
    let name_of = |line: &str| line.strip_prefix(before)?.strip_suffix(after).map(str::to_owned);
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    let rows: Vec<(usize, String)> =
        lines.iter().enumerate().filter_map(|(k, line)| Some((k, name_of(line)?))).collect();
    let Some((last, _)) = rows.last() else {
        return Err(format!("the registry has no line like `{before}…{after}`"));
    };
    if rows.iter().any(|(_, known)| known == name) {
        return Err(format!("the registry has `{name}` already"));
    }
    let at = rows.iter().find(|(_, known)| known.as_str() > name).map_or(last + 1, |(k, _)| *k);
    lines.insert(at, format!("{before}{name}{after}"));
    Ok(lines.join("\n") + "\n")
}

fn module(name: &str) -> String {
    name.replace('-', "_")
}

fn write(path: &Path, text: &str) -> Result<(), String> {
    std::fs::write(path, text).map_err(|e| format!("{}: {e}", path.display()))
}

/// The rule's file: its page to be written, and a rule that finds nothing yet, so that its fixture fails until it
/// does.
fn rule_text(name: &str) -> String {
    format!(
        r#"//! ## What it checks
//! That … (one sentence).
//!
//! ## Why it matters
//! What happens on the table: a lost nozzle, a part out of size, a tip-up.
//!
//! ## Example
//! ```nc
//! M3
//! ```
//!
//! ## Use instead
//! ```nc
//! M3
//! ```
//!
//! ## Settings
//! None.
//!
//! ## Limits
//! When it is silent, and when it is wrong.
//!
//! ## Source
//! Common practice.

use crate::context::Context;
use crate::rule::Rule;
use crate::sink::Found;

pub(crate) const RULE: Rule = Rule {{ name: "{name}", source: include_str!("{module}.rs"), needs: &[], check }};

fn check(_context: &Context<'_>, _found: &mut Found) {{}}
"#,
        module = module(name)
    )
}

/// The fixture: a program that trips the rule, one that nearly does, one that is fine.
fn fixture_text(name: &str) -> String {
    let program = |mark: &str| {
        format!(
            "G17 G21 G40 G90\nG0 X45 Y50\nM3{mark}\nG4 P0.5\nG1 X50 F2000\nG1 Y100\nG1 X150\nG1 Y50\nG1 X50\nM5\nM30\n"
        )
    };
    format!(
        "# {name}\n\nWhat the programs below have in common.\n\n## Trips it\n\n```nc trips\n{}```\n\n## Nearly\n\n\
         ```nc nearly\n{}```\n\n## Fine\n\n```nc fine\n{}```\n",
        program(&format!(" (warning: [{name}])")),
        program(""),
        program("")
    )
}

#[cfg(test)]
mod tests {
    use super::{fixture_text, insert_sorted, registered, rule_text, well_named};

    #[test]
    fn lines_go_to_their_places_in_both_lists() {
        let lists = "//! Rules.\n\nmod arc;\nmod web;\n\nconst ALL: &[&Rule] = &[\n    &arc::RULE,\n    &web::RULE,\n];\n";
        let wanted = "//! Rules.\n\nmod arc;\nmod edge_cut;\nmod web;\n\nconst ALL: &[&Rule] = &[\n    &arc::RULE,\n    \
                      &edge_cut::RULE,\n    &web::RULE,\n];\n";
        assert_eq!(registered(lists, "edge-cut").as_deref(), Ok(wanted));
        assert!(registered(wanted, "edge-cut").is_err());
        let last = insert_sorted("mod arc;\n", "mod ", ";", "zone").expect("there is a list");
        assert_eq!(last, "mod arc;\nmod zone;\n");
        assert!(insert_sorted("none here\n", "mod ", ";", "zone").is_err());
    }

    #[test]
    fn names_name_the_fault() {
        assert!(well_named("pierce-on-cut-edge").is_ok());
        for wrong in
            ["pierce", "Pierce-edge", "no-pierce-on-edge", "pierce--edge", "pierce_edge", "-edge", ""]
        {
            assert!(well_named(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn what_is_written_has_every_part() {
        let rule = rule_text("edge-cut");
        for part in
            ["What it checks", "Why it matters", "Example", "Use instead", "Settings", "Limits", "Source"]
        {
            assert!(rule.contains(&format!("//! ## {part}\n")), "{part}");
        }
        assert!(rule.contains("include_str!(\"edge_cut.rs\")"));
        let fixture = fixture_text("edge-cut");
        for kind in ["trips", "nearly", "fine"] {
            assert!(fixture.contains(&format!("```nc {kind}\n")), "{kind}");
        }
    }
}
