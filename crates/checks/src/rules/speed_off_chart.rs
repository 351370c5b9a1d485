//! ## What it checks
//! That the feed of each cut lies near the speed that the chart of its process gives for this thickness.
//!
//! ## Why it matters
//! Too fast, the kerf lags and does not come through at the bottom; too slow, it widens, takes the part out of size and
//! grows dross. A feed that is off by the factor between inch and millimetre, or one made for another thickness, is
//! found here.
//!
//! ## Example
//! ```nc
//! G1 X120 F1300
//! ```
//! on 3 mm plate for which the chart has 2600 mm/min.
//!
//! ## Use instead
//! ```nc
//! G1 X120 F2600
//! ```
//!
//! ## Settings
//! The share by which it may differ: `speed_share` in `[thresholds]`, 0.15 unless told; for sheet up to 2 mm
//! `speed_share_thin`, 0.30 unless told. The chart: `[[process.chart]]` in the shop file.
//!
//! ## Limits
//! The feed is the one over most of the cut's length. Slow feeds in small holes (less than five thicknesses across) are
//! meant to be slow and not told. Between two thicknesses of the chart a monotone curve is drawn; beyond them nothing
//! is told.
//!
//! ## Source
//! Common practice.

use crate::context::Context;
use crate::needs::Need;
use crate::rule::Rule;
use crate::sink::{Found, Many};
use cuts::{Cut, Shape};
use finding::{Finding, Level};
use shop::{Lookup, Process, ProcessOf};
use std::collections::BTreeMap;
use units::{Length, Speed};

pub(crate) const RULE: Rule = Rule {
    name: "speed-off-chart",
    source: include_str!("speed_off_chart.rs"),
    needs: &[Need::Thickness, Need::Process, Need::Chart],
    check,
};

/// Sheet up to this thickness is thin: its speeds are so high that the table often cannot reach them.
const THIN: Length = Length::from_mm(2.0);

/// A hole narrower than this many thicknesses is small: it is cut slower on purpose, so that it comes out round
/// (common practice: 4 to 5).
const SMALL_HOLE: f64 = 5.0;

fn check(context: &Context<'_>, found: &mut Found) {
    let Some(thickness) = context.facts.job.thickness else { return };
    let mut off: BTreeMap<(String, Level), Many> = BTreeMap::new();
    let mut speeds = Speeds { thickness, by_process: Vec::new() };
    for cut in context.facts.list.cuts.iter().filter(|cut| !cut.path.curves().is_empty()) {
        let ProcessOf::Known(process) = context.process_of(cut) else { continue };
        let Some(chart) = speeds.of(process) else { continue };
        if let Some(fault) = fault(context, cut, thickness, chart) {
            off.entry(fault).or_default().push(cut, span_of_feed(context, cut), cut.pierce.at);
        }
    }
    for ((message, level), many) in off {
        let every = many.len() == context.facts.list.cuts.len();
        let where_at = if every { "every cut".to_owned() } else { many.cuts_named() };
        let finding = Finding::new(RULE.name, level, format!("{where_at}: {message}"))
            .because("too fast does not come through, too slow widens the kerf and grows dross")
            .remedy(
                "write the chart's speed, or look whether process and thickness are the ones of this plate",
            );
        found.add(many.tell(finding, "fed here"));
    }
}

/// The chart's speed of each process at one thickness, looked up once.
struct Speeds<'p> {
    thickness: Length,
    by_process: Vec<(&'p str, Option<Speed>)>,
}

impl<'p> Speeds<'p> {
    fn of(&mut self, process: &'p Process) -> Option<Speed> {
        if let Some((_, speed)) = self.by_process.iter().find(|(name, _)| *name == process.name) {
            return *speed;
        }
        let speed = match process.chart.at(self.thickness) {
            Lookup::Row(row) => row.cut_speed,
            Lookup::Outside { .. } | Lookup::Empty => None,
        };
        self.by_process.push((&process.name, speed));
        speed
    }
}

fn fault(context: &Context<'_>, cut: &Cut, thickness: Length, chart: Speed) -> Option<(String, Level)> {
    let Some(feed) = cut.feed_mm_per_min.map(Speed::from_mm_per_min) else {
        return Some((format!("no feed is told, the chart has {chart}"), Level::Error));
    };
    let thresholds = &context.shop.thresholds;
    let share = if thickness <= THIN { thresholds.speed_share_thin } else { thresholds.speed_share };
    let off = feed / chart - 1.0;
    let slow_on_purpose = off < 0.0 && is_small_hole(context, cut, thickness);
    if off.abs() <= share || slow_on_purpose {
        return None;
    }
    let (percent, than) = ((off.abs() * 100.0).round(), if off > 0.0 { "faster" } else { "slower" });
    let message = format!("the feed of {feed} is {percent} % {than} than the chart's {chart} at {thickness}");
    // Twice as fast does not come through, whatever the plate.
    Some((message, if off >= 1.0 { Level::Error } else { Level::Warning }))
}

fn is_small_hole(context: &Context<'_>, cut: &Cut, thickness: Length) -> bool {
    let most_mm = SMALL_HOLE * thickness.mm();
    let mut contours = cut.contours.iter().map(|id| context.facts.list.contour(*id)).peekable();
    contours.peek().is_some()
        && contours.all(|contour| {
            let bounds = contour.closed.as_ref().and_then(|closed| closed.path().bounds());
            contour.shape == Shape::Hole
                && bounds.is_some_and(|b| (b.max.x - b.min.x).max(b.max.y - b.min.y) < most_mm)
        })
}

/// The block of the first motion that cuts.
fn span_of_feed(context: &Context<'_>, cut: &Cut) -> finding::Span {
    let first = cut.path_motions.first();
    first.map_or(cut.torch_on_span, |motion| {
        context.facts.motions.span(*motion as usize, context.facts.program)
    })
}
