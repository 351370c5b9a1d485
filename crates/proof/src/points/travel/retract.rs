//! The first motion lifts the torch, from whatever height it stands at.
//!
//! Three forms hold from any height:
//! - to a height above program zero that is safe (it may go down to it, but never below it): Z zero must be the
//!   plate's top, as the last touch-off left it;
//! - by an increment as large as the safe height: the torch must not stand below the plate's top;
//! - in machine coordinates, in a block that the original has too or to machine zero: that must be the top of the
//!   torch's travel.
//!
//! Where no text has a Z word the control minds the height, and the torch has to be up before the start.

use super::height::{Above, Follow, Heights, bare, block_text, is_machine_move};
use crate::record::Record;
use crate::view::View;
use crate::{Case, Reason, reason};
use nc::{Distance, EventKind, MotionKind};

/// # Errors
/// Point 3, if anything moves before the torch is up.
pub(super) fn first(
    case: &Case<'_>,
    written: &View<'_>,
    heights: &Heights,
    record: &mut Record,
) -> Result<(), Reason> {
    if heights.by_control || written.motions.motions().is_empty() {
        return Ok(());
    }
    let early = written
        .motions
        .events_before(0)
        .iter()
        .any(|event| matches!(event.kind, EventKind::TorchOn | EventKind::TouchOff(_)));
    let motion = written.motion(0);
    let upward = matches!(motion.kind, MotionKind::Rapid | MotionKind::Feed) && !written.travels(0);
    if early || !upward {
        let message =
            "the first motion must lift the torch, in Z alone: it may stand low, in a kerf or on a piece";
        return Err(reason(3, message, written.span(0)));
    }
    let mut height = Follow::new();
    height.motion(written, 0);
    if !heights.is_safe(height.now) {
        let reached = match height.now {
            Above::Plate(mm) => format!("to {mm:.1} mm"),
            _ => "to a height that cannot be told".to_owned(),
        };
        let safe = heights.safe_mm().map_or_else(
            || "; the original goes up in machine coordinates, and no safe height was told".to_owned(),
            |safe| format!("; {safe:.1} mm is safe"),
        );
        return Err(reason(3, format!("the first motion lifts the torch {reached}{safe}"), written.span(0)));
    }
    if is_machine_move(written, 0) {
        let block = block_text(written, 0);
        if !goes_to_zero(&block) && !in_original(case, &block) {
            let message =
                "this lifts the torch in machine coordinates to a height that the original never uses";
            return Err(reason(3, message, written.span(0)));
        }
        record.needs("The place in Z that the first motion names in machine coordinates (G53) is the top of the torch's travel.");
    } else if written.modal(0).distance == Distance::Incremental {
        record.needs(
            "The torch stands at or above the plate's top, with room to be lifted by the first motion.",
        );
    } else {
        record.needs("Z zero is the plate's top, as the last touch-off left it.");
    }
    first_travel_is_high(written, heights)
}

/// The way from where the torch stands is not known: it must be high from end to end.
fn first_travel_is_high(written: &View<'_>, heights: &Heights) -> Result<(), Reason> {
    let mut height = Follow::new();
    for k in 0..written.motions.motions().len() {
        let before = height.now;
        height.motion(written, k);
        if written.travels(k) {
            return if heights.is_safe(before.lower(height.now)) {
                Ok(())
            } else {
                Err(reason(
                    3,
                    "the first travel is low: the torch comes from where nothing is known",
                    written.span(k),
                ))
            };
        }
    }
    Ok(())
}

/// Whether a block's Z is zero.
fn goes_to_zero(block: &[u8]) -> bool {
    let Some(z) = block.iter().position(|byte| *byte == b'Z') else { return false };
    let number = block[z + 1..].iter().take_while(|byte| byte.is_ascii_digit() || b"+-.".contains(byte));
    let number: Vec<u8> = number.copied().collect();
    number.contains(&b'0') && number.iter().all(|byte| b"+-.0".contains(byte))
}

/// Whether the original has a block of the same words in the same order.
fn in_original(case: &Case<'_>, block: &[u8]) -> bool {
    let text = case.original.program.text();
    let unnumbered = |block: &[u8]| match block {
        [b'N', rest @ ..] => rest.iter().copied().skip_while(u8::is_ascii_digit).collect(),
        block => block.to_vec(),
    };
    let wanted: Vec<u8> = unnumbered(block);
    case.original.program.blocks().iter().any(|block| unnumbered(&bare(&text[block.span.range()])) == wanted)
}
