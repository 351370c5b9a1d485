//! Point 3: the torch goes up first, from whatever height it stands at; it never travels low over a loose piece, nor
//! near one that stands; it stays on the table and off the clamps; it is off at the end, and the program ends.

mod clamps;
mod height;
mod loose;
mod retract;
mod standing;

use super::effect::KeptLeg;
use crate::record::Record;
use crate::timeline::Timeline;
use crate::tolerance::NOISE_MM;
use crate::view::View;
use crate::{Case, Reason, reason};
use height::Heights;
pub(crate) use height::{Safe, safe_as_the_original_goes};
use nc::{EventKind, MotionKind};

/// Looks at every motion of the written program.
///
/// # Errors
/// Point 3.
pub(crate) fn safe(
    case: &Case<'_>,
    written: &View<'_>,
    kept: &[KeptLeg],
    timeline: &Timeline,
    record: &mut Record,
) -> Result<(), Reason> {
    let heights = Heights::of(case, written, record);
    retract::first(case, written, &heights, record)?;
    loose::never_low_over(case, written, kept, timeline, &heights, record)?;
    standing::clear(case, written, record)?;
    on_table(case, written, record)?;
    clamps::clear(case, written, &heights, record)?;
    ended(written)
}

/// Every motion stays within the table's travel.
fn on_table(case: &Case<'_>, written: &View<'_>, record: &mut Record) -> Result<(), Reason> {
    let Some(travel) = case.ground.travel else {
        record.lacks(
            "That every motion stays on the table: its travel, or where the plate lies on it, was not told ([table] \
             travel, plate_at).",
        );
        return Ok(());
    };
    let allowed = travel.grown(NOISE_MM);
    let mut least = f64::INFINITY;
    for k in 0..written.motions.motions().len() {
        let kind = written.motion(k).kind;
        if kind == MotionKind::Home {
            continue;
        }
        let to = written.shown_to(k);
        let reaches = if matches!(kind, MotionKind::ArcCw | MotionKind::ArcCcw) {
            written.shown_curve(k).bounds()
        } else {
            geometry::Bounds { min: to, max: to }
        };
        if !(allowed.contains(reaches.min) && allowed.contains(reaches.max)) {
            return Err(reason(3, "this motion leaves the table's travel", written.span(k)));
        }
        least = least
            .min(reaches.min.x - travel.min.x)
            .min(reaches.min.y - travel.min.y)
            .min(travel.max.x - reaches.max.x)
            .min(travel.max.y - reaches.max.y);
    }
    if least.is_finite() {
        record.figure("least distance to the end of the table's travel", least, 0.0, "mm");
    }
    Ok(())
}

/// The program ends by its word for it. That the torch is off by then was seen when the legs were cut.
fn ended(written: &View<'_>) -> Result<(), Reason> {
    if written.motions.events().iter().rev().any(|event| event.kind == EventKind::End) {
        Ok(())
    } else {
        Err(reason(3, "the program does not end: put M30 or M2 at its end", None))
    }
}
