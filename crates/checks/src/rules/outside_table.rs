//! ## What it checks
//! That every motion stays within what the table can reach.
//!
//! ## Why it matters
//! At the end of its travel the table trips a limit, or runs against its stop and loses its position. Both end the job
//! in the middle, often with the torch on.
//!
//! ## Example
//! A program of 2600 mm on a plate that lies 500 mm from the zero of a table of 3000 mm.
//!
//! ## Use instead
//! Lay the plate nearer to the table's zero, or nest again.
//!
//! ## Settings
//! The table's travel: `[table] travel` in the shop file. Where the plate lies: `plate_at` in the job file. Where
//! program zero lies on it: `datum` in the job file.
//!
//! ## Limits
//! Motions to places that the program does not tell (G28, G30, G53) are left out.
//!
//! ## Source
//! Common practice.

use crate::context::Context;
use crate::needs::Need;
use crate::rule::Rule;
use crate::sink::{Found, Many};
use finding::{Finding, Level};
use geometry::{Bounds, Curve, Point, Program};
use nc::MotionKind;
use units::Length;

pub(crate) const RULE: Rule = Rule {
    name: "outside-table",
    source: include_str!("outside_table.rs"),
    needs: &[Need::Travel, Need::PlateAt],
    check,
};

/// How far beyond the table's travel still counts as within it, in millimetres: what rounding of coordinates in inch
/// programs can make of a motion to the very end.
const AT_THE_END_MM: f64 = 0.02;

fn check(context: &Context<'_>, found: &mut Found) {
    let Some(reach) = context.reach else { return };
    let facts = context.facts;
    let (mut cutting, mut travelling) = (Many::default(), Many::default());
    let mut farthest_mm = 0.0_f64;
    let mut cuts = facts.list.cuts.iter().peekable();
    for (k, motion) in facts.motions.motions().iter().enumerate() {
        while cuts.next_if(|cut| cut.burn.end as usize <= k).is_some() {}
        if motion.kind == MotionKind::Home {
            continue;
        }
        let (at, beyond_mm) = beyond(&facts.motions.curve(k), reach);
        if beyond_mm <= AT_THE_END_MM {
            continue;
        }
        farthest_mm = farthest_mm.max(beyond_mm);
        let span = facts.motions.span(k, facts.program);
        match cuts.peek().filter(|cut| cut.burn.contains(&u32::try_from(k).unwrap_or(u32::MAX))) {
            Some(cut) if cutting.cuts.last() != Some(&cut.number()) => cutting.push(cut, span, at),
            Some(_) => {}
            None => travelling.push_place(span, at),
        }
    }
    if cutting.is_empty() && travelling.is_empty() {
        return;
    }
    let farthest = Length::from_mm(farthest_mm);
    let message = if cutting.is_empty() {
        format!("the torch travels beyond the table's reach, by up to {farthest}")
    } else {
        format!("the torch cuts beyond the table's reach, in {}, by up to {farthest}", cutting.cuts_named())
    };
    let finding = Finding::new(RULE.name, Level::Error, message)
        .because("the table trips its limit, or runs against its stop and loses its position")
        .remedy("lay the plate nearer to the table's zero, or nest again");
    let many = if cutting.is_empty() { travelling } else { cutting };
    found.add(many.tell(finding, "beyond the table"));
}

/// The point of `curve`'s box that lies farthest beyond `reach`, and how far in millimetres.
fn beyond(curve: &Curve<Program>, reach: Bounds<Program>) -> (Point<Program>, f64) {
    let bounds = curve.bounds();
    let over = [
        reach.min.x - bounds.min.x,
        bounds.max.x - reach.max.x,
        reach.min.y - bounds.min.y,
        bounds.max.y - reach.max.y,
    ];
    (curve.to(), over.into_iter().fold(0.0, f64::max))
}
