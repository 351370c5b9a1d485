//! A program that makes dimples by short arcs, composed from the blocks with which the original starts its first cut.

use super::anew::place_at;
use super::begin::Begin;
use super::block::Flat;
use super::header::{self, Header, Retract};
use crate::Situation;
use crate::draft::Draft;
use cuts::Cut;
use geometry::{Point, Program as Frame};
use nc::{Distance, Modal, Start, Style, Trail, Writer};
use units::Duration;

/// The program that makes a dimple at each of `places` by an arc of this length, begun as `cut` is.
///
/// # Errors
/// Why it cannot be written, in words.
pub(crate) fn dimples(
    situation: &Situation<'_>,
    cut: &Cut,
    places: &[Point<Frame>],
    arc: Duration,
    retract: Retract,
) -> Result<Vec<u8>, String> {
    let trail = Trail::of(situation.program, situation.dialect, &Start::usual(situation.dialect));
    let mut draft = Draft::new(situation.program);
    let mut flat = Flat::new(situation, &trail, &[]);
    let begin = Begin::of(situation, cut);
    let held = Modal { height_control: false, ..*begin.modal };
    let remark = format!("{} DIMPLES BY A SHORT ARC, BEFORE ANYTHING IS CUT. TRACE FIRST", places.len());
    let header = Header { remark, modal: &held, retract, block: cut.restart.block, parameters: &[] };
    header::write_upright(&mut draft, situation, &header);
    let mut end = String::new();
    for place in places {
        flat.stands_at(begin.approach(&mut draft, situation, retract, *place));
        flat.go_to(place_at(&trail, cut, &begin));
        let modal = flat.dimple(&mut draft, *place, arc, begin.modal)?;
        // Up again, in absolute distance mode as after the header.
        let style = Style::of(modal);
        let mut writer = Writer::new(situation.dialect, style, Point::ORIGIN);
        writer.change_style(Style { distance: Distance::Absolute, ..style });
        header::go_up(&mut writer, situation.program, retract);
        draft.own(&writer.finish());
        let mut writer = Writer::new(situation.dialect, style, Point::ORIGIN);
        writer.end();
        end = writer.finish();
    }
    draft.own(&end);
    flat.write_subprograms(&mut draft);
    if header::begins_with_percent(situation) {
        draft.own("%");
    }
    Ok(draft.finish().text)
}
