//! ## What it checks
//! That program zero is not set or changed any more once the first torch has been on.
//!
//! ## Why it matters
//! After a stop, a restart begins somewhere in the program. If it passes a block that sets the datum where the torch
//! happens to stand, everything after that lands somewhere else, and so does every attempt after the first.
//!
//! ## Example
//! ```nc
//! M3
//! G1 X100 F2000
//! M5
//! G92 X0 Y0
//! G0 X50 Y0
//! ```
//!
//! ## Use instead
//! ```nc
//! M3
//! G1 X100 F2000
//! M5
//! G0 X150 Y0
//! ```
//!
//! ## Settings
//! None.
//!
//! ## Limits
//! A datum set in Z alone, as after a touch-off, is none of its business.
//!
//! ## Source
//! NISTIR 6556, 3.5.18 (G92 offsets stay in force after the program's end); that a restart must not pass one is common
//! practice.

use crate::context::Context;
use crate::rule::Rule;
use crate::sink::{Found, Many};
use finding::{Finding, Level};
use nc::EventKind;

pub(crate) const RULE: Rule =
    Rule { name: "datum-set-midway", source: include_str!("datum_set_midway.rs"), needs: &[], check };

fn check(context: &Context<'_>, found: &mut Found) {
    let facts = context.facts;
    let Some(first) = facts.list.cuts.first() else { return };
    let mut many = Many::default();
    for event in facts.motions.events().iter().skip(first.torch_on as usize) {
        if matches!(event.kind, EventKind::DatumSet(_)) {
            let span = facts.program.blocks()[event.block as usize].span;
            many.push_place(span, facts.motions.from(event.before as usize));
        }
    }
    if many.is_empty() {
        return;
    }
    let times = if many.len() == 1 { "once".to_owned() } else { format!("{} times", many.len()) };
    let finding =
        Finding::new(RULE.name, Level::Warning, format!("the datum is set {times} after the first cut"))
            .because("a restart that passes such a block puts everything after it somewhere else")
            .remedy("set the datum once, before the first cut, and write coordinates from there");
    found.add(many.tell(finding, "set here"));
}
