//! ## What it checks
//! That the program ends with M2 or M30.
//!
//! ## Why it matters
//! Without it a control may wait for more, repeat from the top, or leave the torch and its height control as they are.
//! It is also how a copy that broke off half-way is told from a whole program.
//!
//! ## Example
//! ```nc
//! G1 X100 F2000
//! M5
//! ```
//!
//! ## Use instead
//! ```nc
//! G1 X100 F2000
//! M5
//! M30
//! ```
//!
//! ## Settings
//! None.
//!
//! ## Limits
//! It cannot tell a program that was cut short from one that was written without an end.
//!
//! ## Source
//! NISTIR 6556, 3.1: a file not marked by `%` must end with M2 or M30.

use crate::context::Context;
use crate::rule::Rule;
use crate::sink::Found;
use finding::{Edit, Finding, Level, Mend, MendSafety, Span};
use nc::EventKind;

pub(crate) const RULE: Rule =
    Rule { name: "program-unended", source: include_str!("program_unended.rs"), needs: &[], check };

fn check(context: &Context<'_>, found: &mut Found) {
    let facts = context.facts;
    let ended = facts.motions.events().iter().rev().any(|event| event.kind == EventKind::End);
    let runs = !facts.motions.motions().is_empty() || !facts.motions.events().is_empty();
    if ended || !runs {
        return;
    }
    let finding = Finding::new(RULE.name, Level::Warning, "the program does not end with M2 or M30")
        .because("a control may wait for more or begin again; or the copy broke off")
        .remedy("see that the copy is whole, then put M30 at its end");
    let blocks = facts.program.blocks();
    let Some(last) = blocks.iter().rev().find(|block| !block.is_empty()) else { return found.add(finding) };
    let finding = finding.at(last.span, "the last line that does something");
    // Behind a subprogram's return, an end would never be reached.
    found.add(if facts.motions.is_straight() { finding.mend(end_after(last.span)) } else { finding });
}

fn end_after(last: Span) -> Mend {
    let inserted = Edit { span: Span::new(last.end, last.end), text: "\nM30".into() };
    Mend { title: "insert M30 at the program's end".into(), edits: vec![inserted], safety: MendSafety::Safe }
}
