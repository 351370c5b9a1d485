//! `explain`: the page of a rule, or the names of all.

use crate::args::ExplainArgs;
use crate::error::Error;
use crate::exit::Exit;
use crate::json::{self, ExplainDocument};
use crate::screen::Screen;

/// Runs the command.
pub(crate) fn run(args: &ExplainArgs, screen: &mut Screen<'_>) -> Result<Exit, Error> {
    match &args.rule {
        None => list(args.json, screen),
        Some(rule) => page(rule.trim(), args.json, screen)?,
    }
    Ok(Exit::CLEAN)
}

fn list(as_json: bool, screen: &mut Screen<'_>) {
    if as_json {
        let pages = names().into_iter().filter_map(|name| Some((name, page_of(name)?)));
        screen.raw(&json::text(&ExplainDocument::new(pages)));
        return;
    }
    for name in names() {
        screen.line(name);
    }
    screen.line("");
    screen.line("`platewright explain RULE` prints the page of one.");
}

fn page(rule: &str, as_json: bool, screen: &mut Screen<'_>) -> Result<(), Error> {
    let text = page_of(rule).ok_or_else(|| unknown(rule))?;
    if as_json {
        screen.raw(&json::text(&ExplainDocument::new([(rule, text)])));
    } else {
        screen.line(text.trim_end());
    }
    Ok(())
}

/// A rule that is not there, with those whose names share a word with what was typed.
fn unknown(rule: &str) -> Error {
    let words: Vec<&str> = rule.split(['-', '_', ' ']).filter(|word| word.len() > 2).collect();
    let near: Vec<&str> =
        names().into_iter().filter(|name| words.iter().any(|word| name.contains(word))).collect();
    let remedy = if near.is_empty() {
        "`platewright explain` lists the names of all rules".to_owned()
    } else {
        format!("perhaps {}; `platewright explain` lists all", near.join(" or "))
    };
    Error::usage(format!("there is no rule {rule:?}"), remedy)
}

/// Names of all rules, sorted: those that programs are held against, and those of shop, job and stop files.
fn names() -> Vec<&'static str> {
    let mut names = checks::names();
    names.extend(shop::RULES.iter().map(|(name, _)| *name));
    names.sort_unstable();
    names.dedup();
    names
}

/// The page of a rule.
fn page_of(rule: &str) -> Option<String> {
    let of_files = || shop::RULES.iter().find(|(name, _)| *name == rule).map(|(_, page)| (*page).to_owned());
    checks::explain(rule).or_else(of_files)
}
