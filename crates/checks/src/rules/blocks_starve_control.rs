//! ## What it checks
//! That no stretch longer than the plate is thick (3 mm at least) is written in blocks so short that the control cannot
//! read them as fast as they are run.
//!
//! ## Why it matters
//! The control has nothing to run and slows, or stops and starts at every block. The torch stutters along the contour: dross,
//! notches, and a height control that dives.
//!
//! ## Example
//! ```nc
//! (0.1 mm a block at 4 m/min: 667 blocks a second)
//! G1 X0.1 F4000
//! G1 X0.2
//! G1 X0.3
//! ```
//!
//! ## Use instead
//! ```nc
//! G3 X20 Y20 I0 J20 F4000 (an arc in one block, or straights as long as the tolerance allows)
//! ```
//!
//! ## Settings
//! `blocks_per_second` in `[table]` of the shop file: measure it with a program of many short straights, or take it from
//! the control's manual.
//!
//! ## Limits
//! A control with a long look-ahead bridges a few short blocks by itself; a whole contour of them it does not.
//!
//! ## Source
//! Common practice; speed = length of a block times blocks a second.

use crate::context::Context;
use crate::needs::Need;
use crate::rule::Rule;
use crate::sink::{Found, Many};
use cell::StarvedCut;
use finding::{Finding, Level};
use units::{Length, Speed};

pub(crate) const RULE: Rule = Rule {
    name: "blocks-starve-control",
    source: include_str!("blocks_starve_control.rs"),
    needs: &[Need::BlocksPerSecond],
    check,
};

/// A few short blocks are bridged by any control's look-ahead (common practice).
const STRETCH_LEAST_MM: f64 = 3.0;

fn check(context: &Context<'_>, found: &mut Found) {
    let Some(forecast) = context.facts.forecast else { return };
    let least_mm = context.facts.job.thickness.map_or(0.0, Length::mm).max(STRETCH_LEAST_MM);
    let starved: Vec<&StarvedCut> =
        forecast.starved.iter().filter(|starved| starved.length_mm > least_mm).collect();
    let Some(worst) = starved.iter().min_by(|a, b| a.lowest_mm_per_min.total_cmp(&b.lowest_mm_per_min))
    else {
        return;
    };
    let mut many = Many::default();
    for cut in &starved {
        let (motions, motion) = (context.facts.motions, cut.motion as usize);
        let span = motions.span(motion, context.facts.program);
        many.push(context.facts.list.cut(cut.cut), span, motions.from(motion));
    }
    let message = format!(
        "{}: blocks come faster than the control reads them, {} in one cut: down to {} where {} is written",
        many.cuts_named(),
        worst.motions,
        Speed::from_mm_per_min(worst.lowest_mm_per_min),
        Speed::from_mm_per_min(worst.wanted_mm_per_min),
    );
    let finding = Finding::new(RULE.name, Level::Warning, message)
        .because("the torch stutters along the contour: dross, notches, and a height control that dives")
        .remedy("write arcs as arcs, and straights as long as the tolerance allows");
    found.add(many.tell(finding, "short blocks from here"));
}
