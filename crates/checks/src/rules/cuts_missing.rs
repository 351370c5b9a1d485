//! ## What it checks
//! That the program starts the torch at all.
//!
//! ## Why it matters
//! A program that cuts nothing is the wrong file, or one written with other words than this control's: then nothing
//! else that is said of it can be trusted.
//!
//! ## Example
//! ```nc
//! G0 X100 Y50
//! M62 P1
//! G1 X120 F2000
//! M63 P1
//! M30
//! ```
//!
//! ## Use instead
//! ```nc
//! G0 X100 Y50
//! M3
//! G1 X120 F2000
//! M5
//! M30
//! ```
//!
//! ## Settings
//! The words that start the torch: `torch_on` in `[table.words]` of the shop file, M3 and M4 unless told.
//!
//! ## Limits
//! It cannot tell a wrong file from words that nobody has told.
//!
//! ## Source
//! Common practice.

use crate::context::Context;
use crate::rule::Rule;
use crate::sink::Found;
use finding::{Finding, Level};

pub(crate) const RULE: Rule =
    Rule { name: "cuts-missing", source: include_str!("cuts_missing.rs"), needs: &[], check };

fn check(context: &Context<'_>, found: &mut Found) {
    let facts = context.facts;
    if !facts.list.cuts.is_empty() {
        return;
    }
    let words: Vec<String> = facts.dialect.torch_on.iter().map(ToString::to_string).collect();
    let words = words.join(" or ");
    let finding = Finding::new(
        RULE.name,
        Level::Error,
        format!("nothing in the program starts the torch: there is no {words}"),
    )
    .because("it is the wrong file, or it is written with other words than were told")
    .remedy("name the cutting program; or tell the word that starts the torch in `[table.words] torch_on`");
    let first = facts.program.blocks().iter().find(|block| !block.is_empty());
    found.add(match first {
        Some(block) => finding.at(block.span, "the program begins here"),
        None => finding,
    });
}
