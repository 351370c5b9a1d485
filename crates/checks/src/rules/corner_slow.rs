//! ## What it checks
//! That the table can run each cut at its feed: that over no stretch longer than the plate is thick (3 mm at least) the
//! torch is slower than 80 % of it because arcs are tight, corners sharp or edges short. Where a cut begins and ends it is
//! at rest on any table, and that is not told.
//!
//! ## Why it matters
//! Slow stretches get a wide kerf, dross, and a bevel of their own; holes come out of round. A height control that steers by
//! the arc's voltage takes a slow torch for a high one and dives into the plate.
//!
//! ## Example
//! ```nc
//! (a hole of 10 mm at 6 m/min on a table of 500 mm/s2: it comes to 3 m/min)
//! G1 X55 F6000
//! G3 I-5
//! ```
//!
//! ## Use instead
//! ```nc
//! G1 X55 F3000
//! G3 I-5
//! ```
//!
//! ## Settings
//! `acceleration`, `rapid` and `path_tolerance` in `[table]` of the shop file. Without a path tolerance corners are taken at
//! full speed, and only arcs and short edges count.
//!
//! ## Limits
//! Controls plan differently; the true speed is reckoned from what the axes can do. A lower feed that the program itself
//! writes is meant, and not told.
//!
//! ## Source
//! Kinematics, v = sqrt(a r); a corner is rounded off by a circle within the path tolerance (derived). 80 %: common
//! practice for holding height control.

use crate::context::Context;
use crate::needs::Need;
use crate::rule::Rule;
use crate::sink::{Found, Many};
use cell::motion::Slowed;
use cell::{SLOW_SHARE, SlowCut};
use finding::{Finding, Level};
use units::{Length, Speed};

pub(crate) const RULE: Rule =
    Rule { name: "corner-slow", source: include_str!("corner_slow.rs"), needs: &[Need::Acceleration], check };

/// A slow stretch shorter than this leaves no mark that anyone finds (common practice).
const STRETCH_LEAST_MM: f64 = 3.0;

fn check(context: &Context<'_>, found: &mut Found) {
    let Some(forecast) = context.facts.forecast else { return };
    let least_mm = context.facts.job.thickness.map_or(0.0, Length::mm).max(STRETCH_LEAST_MM);
    for (why, what, remedy) in [
        (
            Slowed::Arc,
            "its arcs are too tight for the table",
            "write a feed that the table reaches in these arcs",
        ),
        (
            Slowed::Short,
            "corners are too sharp or edges too short for the table",
            "write a feed that the table reaches there, round the corners, and hold height control through them",
        ),
        (Slowed::AxisSpeed, "the axes go no faster", "write a feed that the table reaches"),
    ] {
        let slow = forecast.slow.iter().filter(|slow| slow.why == why && slow.longest_mm > least_mm);
        let slow: Vec<&SlowCut> = slow.collect();
        if let Some(finding) = tell(context, &slow, what, remedy) {
            found.add(finding);
        }
    }
}

fn tell(context: &Context<'_>, slow: &[&SlowCut], what: &str, remedy: &str) -> Option<Finding> {
    let worst = slow.iter().max_by(|a, b| a.longest_mm.total_cmp(&b.longest_mm))?;
    let mut many = Many::default();
    for cut in slow {
        let (motions, motion) = (context.facts.motions, cut.motion as usize);
        many.push(
            context.facts.list.cut(cut.cut),
            motions.span(motion, context.facts.program),
            motions.from(motion),
        );
    }
    let message = format!(
        "{}: slower than {:.0} % of the feed over up to {}, down to {} where {} is written: {what}",
        many.cuts_named(),
        SLOW_SHARE * 100.0,
        Length::from_mm(worst.longest_mm),
        Speed::from_mm_per_min(worst.lowest_mm_per_min),
        Speed::from_mm_per_min(worst.wanted_mm_per_min),
    );
    let finding = Finding::new(RULE.name, Level::Warning, message)
        .because("the kerf widens, holes lose their shape, and a height control by voltage dives")
        .remedy(remedy);
    Some(many.tell(finding, "slow from here"))
}
