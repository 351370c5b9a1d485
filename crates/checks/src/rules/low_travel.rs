//! ## What it checks
//! That the torch does not cross loose parts and slugs below the table's safe height.
//!
//! ## Why it matters
//! A piece that is loose may stand up out of the plate. A torch that meets it breaks off, or pushes the plate aside, and
//! everything cut afterwards is in the wrong place.
//!
//! ## Example
//! ```nc
//! M5
//! G0 X300 Y200
//! ```
//!
//! ## Use instead
//! ```nc
//! M5
//! G0 Z40
//! G0 X300 Y200
//! ```
//!
//! ## Settings
//! `safe_height` in `[table]` of the shop file.
//!
//! ## Limits
//! Silent where the program does not move the torch up and down at all: then the control lifts it by itself. Heights
//! count from the plate's top as the last touch-off found it; without a touch-off, program zero in Z is taken to lie
//! there. Every piece that is loose counts, whether it stands or not.
//!
//! ## Source
//! Common practice.

use crate::context::{Context, whole};
use crate::needs::Need;
use crate::rule::Rule;
use crate::sink::{Found, Many};
use cuts::{Cut, PlateState, Progress};
use finding::{Finding, Level};
use nc::{HeightBase, MotionKind};
use std::ops::Range;
use units::Length;

pub(crate) const RULE: Rule =
    Rule { name: "low-travel", source: include_str!("low_travel.rs"), needs: &[Need::SafeHeight], check };

/// How far below the safe height still counts as there: what rounding of heights in inch programs and sums of
/// increments make of it, far less than any margin that a shop would put into its safe height.
const AT_SAFE_HEIGHT: Length = Length::from_mm(0.1);

fn check(context: &Context<'_>, found: &mut Found) {
    let Some(safe) = context.shop.table.safe_height else { return };
    if !lifts(context) {
        return;
    }
    let facts = context.facts;
    let mut state = PlateState::after(facts.list, Progress::default(), facts.kerf);
    let (mut many, mut lowest) = (Many::default(), safe);
    for (cut, travel) in travels(context) {
        for motion in travel {
            let Some(height) = low(context, motion, safe) else { continue };
            let under =
                state.loose_under(facts.list, facts.index, &facts.motions.curve(motion), facts.kerf / 2.0);
            if under.is_empty() {
                continue;
            }
            lowest = lowest.min(height);
            let (span, at) = (facts.motions.span(motion, facts.program), facts.motions.from(motion));
            match cut {
                Some(cut) if many.cuts.last() != Some(&cut.number()) => many.push(cut, span, at),
                Some(_) => {}
                None => many.push_place(span, at),
            }
        }
        if let Some(cut) = cut.filter(|cut| !context.marks(cut)) {
            state.make(facts.list, whole(cut));
        }
    }
    if !many.is_empty() {
        let on_the_way = if many.cuts.is_empty() {
            "at the end".to_owned()
        } else {
            format!("on the way to {}", many.cuts_named())
        };
        let message = format!(
            "the torch crosses loose pieces at {lowest}, below the safe height of {safe}, {on_the_way}"
        );
        let finding = Finding::new(RULE.name, Level::Warning, message)
            .because("a loose piece may stand up, and a torch that meets it breaks off or moves the plate")
            .remedy(format!("lift the torch to {safe} before it travels, or go around"));
        found.add(many.tell(finding, "travels here"));
    }
}

/// Whether the program moves the torch up and down at all.
fn lifts(context: &Context<'_>) -> bool {
    let motions = context.facts.motions;
    let moves = |k: usize| {
        let (from, to) = (motions.z_from(k), motions.motions()[k].z);
        from.base == to.base && (from.mm - to.mm).abs() > geometry::SAME_POINT_MM
    };
    (0..motions.motions().len()).any(moves)
}

/// The motions before each cut since the torch went off, and last those after the last cut.
fn travels<'a>(context: &'a Context<'_>) -> impl Iterator<Item = (Option<&'a Cut>, Range<usize>)> + 'a {
    let facts = context.facts;
    let after_last = facts.list.cuts.last().map_or(0, |cut| cut.burn.end as usize);
    let tail = (None, after_last..facts.motions.motions().len());
    let before = |cut: &'a Cut| (Some(cut), cut.approach.start as usize..cut.approach.end as usize);
    facts.list.cuts.iter().map(before).chain([tail])
}

/// The height at which motion `k` travels in X or Y, if that is known and below `safe`.
fn low(context: &Context<'_>, k: usize, safe: Length) -> Option<Length> {
    let motions = context.facts.motions;
    if motions.motions()[k].kind == MotionKind::Home
        || motions.curve(k).length_mm() <= geometry::SAME_POINT_MM
    {
        return None;
    }
    let heights = [motions.z_from(k), motions.motions()[k].z];
    let known = heights.into_iter().filter(|height| height.base != HeightBase::Unknown);
    known
        .map(|height| Length::from_mm(height.mm))
        .reduce(Length::min)
        .filter(|height| *height < safe - AT_SAFE_HEIGHT)
}
