//! ## What it checks
//! That the plate's surface is found before each start, and not farther from the start than a warped plate allows.
//!
//! ## Why it matters
//! Without it the height of the pierce is a guess. Too low, the blow-back of the pierce closes the nozzle or the torch
//! strikes; too high, the arc does not reach the plate. Plates are not flat, and they rise while they are cut.
//!
//! ## Example
//! ```nc
//! G0 X100 Y50
//! M3
//! G4 P0.5
//! G1 X120 F2000
//! ```
//!
//! ## Use instead
//! ```nc
//! G0 X100 Y50
//! G38.2 Z-50 F500
//! G92 Z0
//! G0 Z4
//! M3
//! G4 P0.5
//! G1 X120 F2000
//! ```
//!
//! ## Settings
//! How the surface is found: `probe` and `touch_off` in `[table.words]` of the shop file. How far from the start it may
//! be found: `touch_off_reach` in `[thresholds]`, 25 mm unless told.
//!
//! ## Limits
//! A control that touches off by itself must be told of in the shop file (`touch_off = ["torch-on"]`); else every start
//! is told here. That one touch-off serves several starts close together is accepted within the reach.
//!
//! ## Source
//! Common practice.

use crate::context::Context;
use crate::rule::Rule;
use crate::sink::{Found, Many};
use cuts::Cut;
use finding::{Finding, Level};
use units::Length;

pub(crate) const RULE: Rule =
    Rule { name: "touch-off-missing", source: include_str!("touch_off_missing.rs"), needs: &[], check };

fn check(context: &Context<'_>, found: &mut Found) {
    let reach = context.shop.thresholds.touch_off_reach;
    let (mut without, mut far) = (Many::default(), Many::default());
    let mut farthest = Length::ZERO;
    for (cut, earlier) in cuts_with_touch_off(context) {
        let own = cut.touch_off.map(|touch_off| touch_off.at);
        let near = |at: geometry::Point<_>| Length::from_mm(at.distance(cut.pierce.at));
        match own.or(earlier) {
            Some(at) if near(at) <= reach => {}
            Some(at) if own.is_some() => {
                farthest = farthest.max(near(at));
                far.push(cut, cut.torch_on_span, cut.pierce.at);
            }
            _ => without.push(cut, cut.torch_on_span, cut.pierce.at),
        }
    }
    if !without.is_empty() {
        found.add(none_found(context, without));
    }
    if !far.is_empty() {
        let message =
            format!("the plate's surface is found {farthest} away from the start, at {}", far.cuts_named());
        let finding = Finding::new(RULE.name, Level::Warning, message)
            .because("on a plate that is not flat the height there says little of the height here")
            .remedy(format!("touch off within {reach} of the start"));
        found.add(far.tell(finding, "starts here"));
    }
}

fn none_found(context: &Context<'_>, without: Many) -> Finding {
    let every = without.len() == context.facts.list.cuts.len();
    let told = context.facts.shop.is_some();
    // Where nobody has told the control's words, a program without any touch-off most likely leaves it to the control.
    let level = if every && !told { Level::Warning } else { Level::Error };
    let message = if every {
        "no start of the program finds the plate's surface first".to_owned()
    } else {
        format!("the plate's surface is not found before the start of {}", without.cuts_named())
    };
    let finding = Finding::new(RULE.name, level, message).because(
        "the pierce height is a guess: too low it closes the nozzle, too high the arc does not come",
    );
    let finding = if every {
        finding.remedy(
            "touch off before each start; or, if the control does it by itself, say so in the shop file: \
             `touch_off = [\"torch-on\"]` in `[table.words]`",
        )
    } else {
        finding.remedy("touch off before the start, as the other cuts do")
    };
    without.tell(finding, "starts here")
}

/// Every cut, with the place of the last touch-off before it that belongs to an earlier cut.
fn cuts_with_touch_off<'a>(
    context: &'a Context<'_>,
) -> impl Iterator<Item = (&'a Cut, Option<geometry::Point<geometry::Program>>)> + 'a {
    let mut last = None;
    context.facts.list.cuts.iter().map(move |cut| {
        let earlier = last;
        last = cut.touch_off.map(|touch_off| touch_off.at).or(last);
        (cut, earlier)
    })
}
