//! ## What it checks
//! That on plate over 3 mm the torch waits at each start until the arc is through, before it moves.
//!
//! ## Why it matters
//! A torch that moves before the plate is pierced draws a groove and throws the melt back into the nozzle. The first
//! stretch of the lead-in is not through, and the slug or part hangs there.
//!
//! ## Example
//! ```nc
//! M3
//! G1 X120 F2000
//! ```
//!
//! ## Use instead
//! ```nc
//! M3
//! G4 P0.5
//! G1 X120 F2000
//! ```
//!
//! ## Settings
//! Whether the control waits by itself: `delays_pierce` in `[table]` of the shop file. Shortest wait:
//! `pierce_delay_min` in `[thresholds]`, 0.1 s unless told. The dwell's word and unit: `[table.words]`.
//!
//! ## Limits
//! Silent on sheet up to 3 mm, for marks (if the program chooses a process that marks), and for starts on an edge or in an old kerf, which need no wait. Where the
//! control touches off by itself and no start of the program waits, the control most likely waits as well: then nothing
//! is told, but that it went unchecked. Whether the wait is as long as the chart has it is another question.
//!
//! ## Source
//! Common practice.

use crate::context::Context;
use crate::needs::Need;
use crate::rule::Rule;
use crate::sink::{Found, Many};
use cuts::{Cut, Ground};
use finding::{Finding, Level};
use nc::TouchOffBy;
use units::Length;

pub(crate) const RULE: Rule = Rule {
    name: "pierce-delay-missing",
    source: include_str!("pierce_delay_missing.rs"),
    needs: &[Need::Thickness],
    check,
};

/// Up to this thickness the arc is through as soon as it has transferred (common practice).
const NEEDS_NO_DELAY: Length = Length::from_mm(3.0);

fn check(context: &Context<'_>, found: &mut Found) {
    let thick = context.facts.job.thickness.is_some_and(|thickness| thickness > NEEDS_NO_DELAY);
    if !thick || context.shop.table.delays_pierce == Some(true) {
        return;
    }
    let list = context.facts.list;
    let least = context.shop.thresholds.pierce_delay_min;
    let hasty = |cut: &Cut| cut.pierce.delay.is_none_or(|delay| delay < least);
    let waits_somewhere = list.cuts.iter().any(|cut| cut.pierce.delay.is_some());
    let by_control = context.facts.dialect.touch_off.contains(&TouchOffBy::TorchOn);
    if !waits_somewhere && by_control && context.shop.table.delays_pierce.is_none() {
        return found.lacks(Need::DelaysPierce);
    }
    if !list.cuts.iter().any(hasty) {
        return;
    }
    let mut many = Many::default();
    for (cut, under) in list.cuts.iter().zip(context.pierces()) {
        let on_edge = matches!(under.ground, Ground::Kerf(_) | Ground::OutsidePlate);
        if hasty(cut) && !on_edge && !cut.path.curves().is_empty() && !context.marks(cut) {
            many.push(cut, cut.torch_on_span, cut.pierce.at);
        }
    }
    if !many.is_empty() {
        found.add(tell(context, many));
    }
}

fn tell(context: &Context<'_>, many: Many) -> Finding {
    let every = many.len() == context.facts.list.cuts.len();
    let where_at =
        if every { "no start of the program waits".into() } else { format!("{} does not wait", each(&many)) };
    let thickness = context.facts.job.thickness.unwrap_or_default();
    let dwell = context.facts.dialect.dwell;
    let remedy = format!(
        "wait after the start with {} {}, as long as the chart says",
        dwell.code,
        char::from(dwell.letter)
    );
    let finding =
        Finding::new(RULE.name, Level::Warning, format!("{where_at} until {thickness} are pierced")).because(
            "the torch draws a groove before the arc is through, and throws the melt into the nozzle",
        );
    let finding = if every {
        finding.remedy(format!(
            "{remedy}; or, if the control waits by itself, say so in the shop file: `delays_pierce = true` in `[table]`"
        ))
    } else {
        finding.remedy(remedy)
    };
    many.tell(finding, "starts here")
}

fn each(many: &Many) -> String {
    if many.len() == 1 { many.cuts_named() } else { format!("each of {}", many.cuts_named()) }
}
