//! No travel below the safe height over a loose piece, as pieces come loose while the program runs.

use super::height::{Above, Follow, Heights};
use crate::legs::{Item, Moment, end, items};
use crate::points::effect::KeptLeg;
use crate::record::Record;
use crate::timeline::{NEVER, Timeline};
use crate::view::View;
use crate::{Case, Reason, reason};
use cuts::{ContourId, Shape};
use geometry::{Curve, Program, Side};
use nc::MotionKind;

/// # Errors
/// Point 3, at the first low travel over a loose piece, or over what cannot be told.
pub(super) fn never_low_over(
    case: &Case<'_>,
    written: &View<'_>,
    kept: &[KeptLeg],
    timeline: &Timeline,
    heights: &Heights,
    record: &mut Record,
) -> Result<(), Reason> {
    if heights.by_control {
        return Ok(());
    }
    let start = Moment { motion: 0, event: 0 };
    let mut height = Follow::new();
    let mut done = 0;
    let mut travelled = false;
    let mut lowest = f64::INFINITY;
    for item in items(written.motions, start, end(written.motions)) {
        let k = match item {
            Item::Event(e) => {
                height.event(written.motions.events()[e].kind);
                done += usize::from(
                    kept.get(done).is_some_and(|leg| leg.written.off.is_some_and(|off| off as usize == e)),
                );
                continue;
            }
            Item::Motion(k) => k,
        };
        let before = height.now;
        height.motion(written, k);
        if written.modal(k).torch || !written.travels(k) {
            continue;
        }
        // The first way is proven to be high by the retract; where it comes from is not known.
        if !std::mem::replace(&mut travelled, true) {
            continue;
        }
        let low = before.lower(height.now);
        if let Above::Plate(mm) = low {
            lowest = lowest.min(mm);
        }
        if heights.is_safe(low) {
            continue;
        }
        if written.motion(k).kind == MotionKind::Home {
            return Err(reason(
                3,
                "this goes low to a place that the program does not tell",
                written.span(k),
            ));
        }
        if let Some(loose) = loose_under(case, timeline, done, &written.curve(k)) {
            let height = match low {
                Above::Plate(mm) => format!("at {mm:.1} mm"),
                _ => "at a height that cannot be told".to_owned(),
            };
            return Err(reason(
                3,
                format!("this travels {height} over {}", told(case, loose)),
                written.span(k),
            ));
        }
    }
    if let (true, Some(safe)) = (lowest.is_finite(), heights.safe_mm()) {
        record.figure(
            "lowest travel with the torch off (low only where nothing is loose)",
            lowest,
            safe,
            "mm",
        );
    }
    Ok(())
}

/// A piece that may be loose after `done` legs, in whole or in part, and lies under a way.
fn loose_under(case: &Case<'_>, timeline: &Timeline, done: usize, way: &Curve<Program>) -> Option<ContourId> {
    timeline.boxes(way.bounds()).into_iter().find(|id| {
        let time = timeline.may_drop_at(*id);
        let closed = case.original.list.contour(*id).closed.as_ref();
        time != NEVER && time as usize <= done && closed.is_some_and(|closed| lies_under(case, closed, way))
    })
}

/// Whether a way passes over a contour's inside. The kerf itself, where a cut ends and a way begins, is not inside.
fn lies_under(case: &Case<'_>, closed: &geometry::Contour<Program>, way: &Curve<Program>) -> bool {
    let length = way.length_mm();
    let mut marks: Vec<f64> = closed
        .path()
        .curves()
        .iter()
        .filter(|curve| curve.bounds().meets(&way.bounds()))
        .flat_map(|curve| way.crossings(curve))
        .map(|crossing| way.nearest(crossing.point).along_mm)
        .chain([0.0, length])
        .collect();
    marks.sort_by(f64::total_cmp);
    let half_kerf = case.ground.kerf.mm() / 2.0;
    marks.windows(2).any(|ends| {
        let middle = way.point_at(f64::midpoint(ends[0], ends[1]));
        closed.side_of(middle, half_kerf) == Side::Inside
    })
}

fn told(case: &Case<'_>, loose: ContourId) -> String {
    let contour = case.original.list.contour(loose);
    match (contour.shape, contour.part) {
        (Shape::Outline, Some(part)) => format!("part {}, which is loose by then", part.number()),
        _ => format!("what drops out of cut {}", contour.cut.number()),
    }
}
