//! Point 3 of the proof: no motion at a height below a clamp passes over it.

use super::height::{Above, Follow, Heights};
use crate::legs::{Item, Moment, end, items};
use crate::record::Record;
use crate::view::View;
use crate::{Case, Reason, reason};
use geometry::{Bounds, Curve, Point, Program};
use nc::MotionKind;
use shop::Clamp;

/// # Errors
/// Point 3, at the first motion that meets a clamp.
pub(super) fn clear(
    case: &Case<'_>,
    written: &View<'_>,
    heights: &Heights,
    record: &mut Record,
) -> Result<(), Reason> {
    if case.ground.clamps.is_empty() {
        return Ok(());
    }
    record.needs("The way from where the torch stands to the first start is clear of clamps.");
    // The tip is as wide as what it needs to touch off on.
    let tip_mm = case.ground.thresholds.touch_off_footprint.mm() / 2.0;
    let boxes: Vec<(Bounds<Program>, &Clamp)> =
        case.ground.clamps.iter().map(|clamp| (box_of(clamp).grown(tip_mm), clamp)).collect();
    let start = Moment { motion: 0, event: 0 };
    let mut height = Follow::new();
    let mut travelled = false;
    for item in items(written.motions, start, end(written.motions)) {
        let k = match item {
            Item::Event(e) => {
                height.event(written.motions.events()[e].kind);
                continue;
            }
            Item::Motion(k) => k,
        };
        let before = height.now;
        height.motion(written, k);
        if !written.travels(k) || written.motion(k).kind == MotionKind::Home {
            continue;
        }
        if !std::mem::replace(&mut travelled, true) {
            continue;
        }
        let low = before.lower(height.now);
        let way = written.shown_curve(k);
        let met =
            boxes.iter().find(|(bounds, clamp)| !passes_over(clamp, low, heights) && meets(&way, bounds));
        if let Some((_, clamp)) = met {
            return Err(reason(3, format!("this runs into the clamp {}", clamp.name), written.span(k)));
        }
    }
    Ok(())
}

/// Whether the torch is above a clamp for certain.
fn passes_over(clamp: &Clamp, height: Above, heights: &Heights) -> bool {
    match (height, clamp.height) {
        _ if heights.by_control => false,
        (Above::Plate(mm), Some(clamp)) => mm > clamp.mm(),
        _ => false,
    }
}

fn box_of(clamp: &Clamp) -> Bounds<Program> {
    let corner = |at: [units::Length; 2]| Point::<Program>::new(at[0].mm(), at[1].mm());
    let (from, to) = (corner(clamp.from), corner(clamp.to));
    Bounds {
        min: Point::new(from.x.min(to.x), from.y.min(to.y)),
        max: Point::new(from.x.max(to.x), from.y.max(to.y)),
    }
}

/// Whether a way enters a box.
fn meets(way: &Curve<Program>, bounds: &Bounds<Program>) -> bool {
    if !way.bounds().meets(bounds) {
        return false;
    }
    let (min, max) = (bounds.min, bounds.max);
    let corners = [min, Point::new(max.x, min.y), max, Point::new(min.x, max.y)];
    let inside = bounds.contains(way.from()) || bounds.contains(way.to());
    inside || (0..4).any(|k| !way.crossings(&Curve::line(corners[k], corners[(k + 1) % 4])).is_empty())
}
