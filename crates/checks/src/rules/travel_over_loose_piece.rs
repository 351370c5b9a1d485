//! ## What it checks
//! That the torch, at the height at which it travels, does not cross a loose piece that could stand up that high on the
//! slats.
//!
//! ## Why it matters
//! A part or slug that tips on a slat stands out of the plate by up to half its length. A torch that meets it breaks off, or
//! pushes the plate aside, and everything cut afterwards is in the wrong place.
//!
//! ## Example
//! ```nc
//! (a part of 120 mm is cut out; then, at 25 mm)
//! G0 X300 Y200
//! ```
//!
//! ## Use instead
//! ```nc
//! G0 Z65
//! G0 X300 Y200
//! ```
//! or an order of cuts that leads away from what has been cut.
//!
//! ## Settings
//! `slat_pitch` and `safe_height` in `[table]` of the shop file.
//!
//! ## Limits
//! Travel below the safe height is told by `low-travel`, and not again here. A piece shorter than twice the pitch of the
//! slats may tip about one of them and stand up by half its longest side; a longer one that is narrower than the pitch may
//! drop between two and stand up by half its shortest; others lie still. Whether a piece does tip depends on where the slats
//! are, on dross and on the blast of the arc: most do not. Where the program does not move the torch up and down, it is
//! taken to travel at the safe height.
//!
//! ## Source
//! Common practice.

use crate::context::Context;
use crate::needs::Need;
use crate::rule::Rule;
use crate::sink::{Found, Many};
use cell::Forecast;
use cuts::{Contour, ContourId, Made, PlateState, Progress};
use finding::{Finding, Level};
use nc::{HeightBase, MotionKind};
use std::ops::Range;
use units::{Duration, Length};

pub(crate) const RULE: Rule = Rule {
    name: "travel-over-loose-piece",
    source: include_str!("travel_over_loose_piece.rs"),
    needs: &[Need::SlatPitch, Need::SafeHeight],
    check,
};

/// As far below the safe height travel still counts as at it; what is lower is told by `low-travel`.
const AT_SAFE_HEIGHT: Length = Length::from_mm(0.1);

/// A piece shorter than so many pitches of the slats may tip about one slat.
const TIPS_BELOW_PITCHES: f64 = 2.0;

/// So soon after it came loose a piece may still be falling, tipping or glowing.
const JUST_NOW: Duration = Duration::from_s(1.0);

fn check(context: &Context<'_>, found: &mut Found) {
    let (Some(pitch), Some(safe)) = (context.shop.table.slat_pitch, context.shop.table.safe_height) else {
        return;
    };
    let Some(forecast) = context.facts.forecast else { return };
    let facts = context.facts;
    let mut state = PlateState::after(facts.list, Progress::default(), facts.kerf);
    let (mut many, mut worst): (Many, Option<Crossing>) = (Many::default(), None);
    for (done, cut) in facts.list.cuts.iter().enumerate() {
        if context.tell(done, facts.list.cuts.len(), "ways over loose pieces").is_break() {
            return;
        }
        let travel = cut.approach.start as usize..cut.approach.end as usize;
        let crossed = crossing(context, forecast, &state, travel, pitch, safe);
        if let Some(crossing) = crossed {
            let (span, at) =
                (facts.motions.span(crossing.motion, facts.program), facts.motions.from(crossing.motion));
            many.push(cut, span, at);
            if worst.is_none_or(|worst| crossing.rises > worst.rises) {
                worst = Some(crossing);
            }
        }
        if !context.marks(cut) {
            state.make(facts.list, Made::whole(cut));
        }
    }
    if let Some(worst) = worst {
        found.add(tell(context, many, &worst));
    }
}

/// A travel over a piece that may stand up to it.
#[derive(Clone, Copy)]
struct Crossing {
    motion: usize,
    height: Length,
    piece: ContourId,
    rises: Length,
    /// How long after the piece came loose.
    after: Option<Duration>,
}

/// The crossing on the way to a cut that meets the piece which can stand highest.
fn crossing(
    context: &Context<'_>,
    forecast: &Forecast,
    state: &PlateState,
    travel: Range<usize>,
    pitch: Length,
    safe: Length,
) -> Option<Crossing> {
    let facts = context.facts;
    let mut worst: Option<Crossing> = None;
    for motion in travel {
        let Some(height) = height(context, motion, safe) else { continue };
        for piece in
            state.loose_under(facts.list, facts.index, &facts.motions.curve(motion), facts.kerf / 2.0)
        {
            let rises = rises(facts.list.contour(piece), pitch);
            if rises > height && worst.is_none_or(|worst| rises > worst.rises) {
                let after = time_since(forecast, motion, piece);
                worst = Some(Crossing { motion, height, piece, rises, after });
            }
        }
    }
    worst
}

/// The height at which motion `k` travels in X or Y; none if it does not, or is told by `low-travel`.
fn height(context: &Context<'_>, k: usize, safe: Length) -> Option<Length> {
    let motions = context.facts.motions;
    let home = motions.motions()[k].kind == MotionKind::Home;
    if home || motions.curve(k).length_mm() <= geometry::SAME_POINT_MM {
        return None;
    }
    let heights = [motions.z_from(k), motions.motions()[k].z];
    let known = heights.into_iter().filter(|height| height.base == HeightBase::PlateTop);
    let lowest = known.map(|height| Length::from_mm(height.mm)).reduce(Length::min);
    lowest.map_or(Some(safe), |lowest| (lowest >= safe - AT_SAFE_HEIGHT).then_some(lowest))
}

/// How high above the plate a loose piece may stand.
fn rises(contour: &Contour, pitch: Length) -> Length {
    let Some(bounds) = contour.closed.as_ref().and_then(|closed| closed.path().bounds()) else {
        return Length::ZERO;
    };
    let size = bounds.max - bounds.min;
    let (longest, shortest) = (Length::from_mm(size.x.max(size.y)), Length::from_mm(size.x.min(size.y)));
    if longest < pitch * TIPS_BELOW_PITCHES {
        longest / 2.0
    } else if shortest < pitch {
        shortest / 2.0
    } else {
        Length::ZERO
    }
}

fn time_since(forecast: &Forecast, motion: usize, piece: ContourId) -> Option<Duration> {
    let loose = forecast.loose.iter().find(|loose| loose.outline == piece)?;
    let travels = forecast.log.motions.get(motion)?;
    Some(Duration::from_s((travels.from_s - loose.at_s).max(0.0)))
}

fn tell(context: &Context<'_>, many: Many, worst: &Crossing) -> Finding {
    let contour = context.facts.list.contour(worst.piece);
    let what = match (contour.shape, contour.part) {
        (cuts::Shape::Outline, Some(part)) => format!("part {}", part.number()),
        _ => format!("the slug of cut {}", contour.cut.number()),
    };
    let after = match worst.after {
        Some(after) if after < JUST_NOW => ", just after it came loose".to_owned(),
        Some(after) => format!(", {after} after it came loose"),
        None => String::new(),
    };
    let message = format!(
        "on the way to {} the torch crosses loose pieces that may stand up to it: {what}{after}, at {}, where it may \
         stand {} high",
        many.cuts_named(),
        worst.height,
        worst.rises
    );
    let finding = Finding::new(RULE.name, Level::Note, message)
        .because(
            "a piece that tips on a slat stands up by half its length, and a torch that meets it breaks off",
        )
        .remedy("lead the order of cuts away from what has been cut, or travel higher");
    many.tell(finding, "travels here")
}
