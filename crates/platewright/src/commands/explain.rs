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
        let pages = checks::names().into_iter().filter_map(|name| Some((name, checks::explain(name)?)));
        screen.raw(&json::text(&ExplainDocument::new(pages)));
        return;
    }
    for name in checks::names() {
        screen.line(name);
    }
    screen.line("");
    screen.line("`platewright explain RULE` prints the page of one.");
}

fn page(rule: &str, as_json: bool, screen: &mut Screen<'_>) -> Result<(), Error> {
    let text = checks::explain(rule).ok_or_else(|| unknown(rule))?;
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
        checks::names().into_iter().filter(|name| words.iter().any(|word| name.contains(word))).collect();
    let remedy = if near.is_empty() {
        "`platewright explain` lists the names of all rules".to_owned()
    } else {
        format!("perhaps {}; `platewright explain` lists all", near.join(" or "))
    };
    Error::usage(format!("there is no rule {rule:?}"), remedy)
}
