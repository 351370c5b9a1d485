//! ## What it checks
//! That the set of consumables in the torch lasts to the end of the job: by the starts after which the shop changes a set,
//! and, where the shop has told how its sets wear, by the chance that it lasts.
//!
//! ## Why it matters
//! A set that ends in the middle of a plate ends with a start that does not fire or, worse, with a cut that is not through.
//! A change between two plates takes two minutes; a rescue takes longer.
//!
//! ## Example
//! ```nc
//! (480 starts on a set that is changed after 500; then 64 more)
//! M3
//! ```
//!
//! ## Use instead
//! Fit a new set before the plate, and say so in `[fitted]`; or plan a stop before the start that is named.
//!
//! ## Settings
//! `starts`, `arc_time` and `life_starts` in `[fitted]`, and `[wear]`, in the shop file.
//!
//! ## Limits
//! A chance is a chance: one set in a hundred ends on its tenth start. Wet air, low pressure and arcs that snap off edges
//! shorten a life in ways that no count of starts sees. Told where the chance to last is below 80 in 100.
//!
//! ## Source
//! Two-part wear, starts and arc time: Q. J. Japan Welding Society 28(3), 2010, 311-318. Weibull life: NIST/SEMATECH
//! e-Handbook of Statistical Methods, 8.4.1.

use crate::context::Context;
use crate::needs::Need;
use crate::rule::Rule;
use crate::sink::Found;
use cell::WearForecast;
use finding::{Finding, Level};

pub(crate) const RULE: Rule = Rule {
    name: "consumables-spent",
    source: include_str!("consumables_spent.rs"),
    needs: &[Need::SetUse],
    check,
};

/// Below this chance to last the job a change of the set before it is cheaper than the rescue (common practice: a plate
/// spoilt now and then costs more than a fifth of a set thrown away early).
const LASTS_LEAST: f64 = 0.8;

fn check(context: &Context<'_>, found: &mut Found) {
    let Some(wear) = context.facts.forecast.map(|forecast| &forecast.wear) else { return };
    let unlikely = wear.lasts.filter(|lasts| *lasts < LASTS_LEAST);
    if wear.spent_at_start.is_none() && unlikely.is_none() {
        return;
    }
    let mut parts = Vec::new();
    parts.extend(wear.spent_at_start.map(|start| passes(wear, start)));
    parts.extend(unlikely.map(|lasts| format!("it lasts the job in {:.0} of 100 cases", lasts * 100.0)));
    let message = format!("the set in the torch: {}", parts.join("; "));
    let cut = wear.spent_at_start.and_then(|start| context.facts.list.by_number(start));
    let finding = Finding::new(RULE.name, Level::Warning, message)
        .because(
            "a set that ends in a plate ends with a start that does not fire or a cut that is not through",
        )
        .remedy("fit a new set before the plate, or plan a stop to change it");
    found.add(match cut {
        Some(cut) => finding
            .at(cut.torch_on_span, "from here on")
            .on_plate(crate::context::place(cut.pierce.at))
            .of_cut(cut.number()),
        None => finding,
    });
}

fn passes(wear: &WearForecast, start: u32) -> String {
    let life = wear.life_starts.unwrap_or_default();
    let before = wear.before.map(|before| before.starts).unwrap_or_default();
    if start <= 1 {
        format!("it has {before} starts, and is changed after {life}")
    } else {
        format!(
            "it has {before} starts and is changed after {life}, which it passes at start {start} of {}",
            wear.job.starts
        )
    }
}
