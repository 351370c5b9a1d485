//! ## What it checks
//! That the torch is off when the program ends, when it waits for the operator, and during every rapid motion.
//!
//! ## Why it matters
//! A torch that stays on burns a hole where it stands, or cuts across the plate at rapid speed. While the start
//! command stands, hands near the torch are in danger: someone who comes to a table that waits at a stop takes the
//! torch to be off.
//!
//! ## Example
//! ```nc
//! M3
//! G1 X100 F2000
//! M30
//! ```
//!
//! ## Use instead
//! ```nc
//! M3
//! G1 X100 F2000
//! M5
//! M30
//! ```
//!
//! ## Settings
//! The words that start and end the torch: `torch_on` and `torch_off` in `[table.words]` of the shop file.
//!
//! ## Limits
//! A torch that is started again without having been ended is told by `torch-unpaired`. That a control ends the torch
//! by itself at M30 is not relied upon: the next program may run on another table.
//!
//! ## Source
//! NISTIR 6556, 3.6.1, leaves the torch out of what M2 and M30 reset (they stop a spindle, not a torch); that it must
//! be off is common practice.

use crate::context::Context;
use crate::rule::Rule;
use crate::sink::{Found, Many};
use cuts::Cut;
use finding::{Edit, Finding, Level, Mend, MendSafety, Span};
use nc::{EventKind, MotionKind};

pub(crate) const RULE: Rule =
    Rule { name: "torch-left-on", source: include_str!("torch_left_on.rs"), needs: &[], check };

fn check(context: &Context<'_>, found: &mut Found) {
    let (mut stops, mut rapids) = (Many::default(), Many::default());
    for cut in &context.facts.list.cuts {
        if let Some(span) = stop_while_on(context, cut) {
            stops.push(cut, span, cut.path.to().unwrap_or(cut.pierce.at));
        }
        if let Some((motion, span)) = rapid_while_on(context, cut) {
            rapids.push(cut, span, context.facts.motions.from(motion));
        }
    }
    if !stops.is_empty() {
        let message =
            format!("the program waits for the operator with the torch on, at {}", stops.cuts_named());
        let finding = Finding::new(RULE.name, Level::Error, message)
            .because("who comes to a table that waits takes the torch to be off")
            .remedy("end the torch before the stop");
        found.add(stops.tell(finding, "waits here"));
    }
    if !rapids.is_empty() {
        let message = format!("a rapid motion with the torch on, in {}", rapids.cuts_named());
        let finding = Finding::new(RULE.name, Level::Error, message)
            .because("a rapid is too fast to cut and drags the arc across whatever lies between")
            .remedy("end the torch before the rapid, or write a feed");
        found.add(rapids.tell(finding, "rapid here"));
    }
    if let Some(last) = context.facts.list.cuts.last().filter(|cut| cut.torch_off.is_none()) {
        found.add(left_on_at_end(context, last));
    }
}

fn left_on_at_end(context: &Context<'_>, last: &Cut) -> Finding {
    let facts = context.facts;
    let finding = Finding::new(
        RULE.name,
        Level::Error,
        format!("the torch is never ended after cut {}", last.number()),
    )
    .at(last.torch_on_span, "started here")
    .on_plate(crate::context::place(last.path.to().unwrap_or(last.pierce.at)))
    .of_cut(last.number())
    .because("it burns on where the program ends, and its start command stands")
    .remedy("end the torch after the cut");
    let end = facts.motions.events().iter().find(|event| event.kind == EventKind::End);
    let (Some(end), Some(off)) = (end, facts.dialect.torch_off.first()) else { return finding };
    let span = facts.program.blocks()[end.block as usize].span;
    let inserted = Edit { span: Span::new(span.start, span.start), text: format!("{off}\n") };
    finding.and_at(span, "ends here").mend(Mend {
        title: format!("insert {off} before the program's end"),
        edits: vec![inserted],
        safety: MendSafety::Safe,
    })
}

/// The first stop of the program within a cut.
fn stop_while_on(context: &Context<'_>, cut: &Cut) -> Option<Span> {
    let events = context.facts.motions.events();
    let off = cut.torch_off.map_or(events.len(), |off| off as usize);
    let within = events.get(cut.torch_on as usize..off)?;
    let again = |kind| kind == EventKind::TorchOn;
    let stop = within.iter().enumerate().take_while(|(k, event)| *k == 0 || !again(event.kind));
    let stop = stop.map(|(_, event)| event).find(|event| event.kind == EventKind::Stop)?;
    Some(context.facts.program.blocks()[stop.block as usize].span)
}

/// The first rapid in X or Y within a cut.
fn rapid_while_on(context: &Context<'_>, cut: &Cut) -> Option<(usize, Span)> {
    let motions = context.facts.motions;
    let rapid = cut.burn.clone().map(|motion| motion as usize).find(|motion| {
        motions.motions()[*motion].kind == MotionKind::Rapid
            && motions.curve(*motion).length_mm() > geometry::SAME_POINT_MM
    })?;
    Some((rapid, motions.span(rapid, context.facts.program)))
}
