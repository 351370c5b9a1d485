//! A restart program written anew from the blocks as they ran: calls flattened, expressions evaluated, positions
//! counted from where the torch really stands; everything else word for word, in the units and modes of the source.
//!
//! The way to the first start is the restart's own: up, over, and down to where the original stood before it touched
//! off. From there on the blocks follow as they ran.

use super::block::{Flat, Place};
use super::header::{self, Header, Retract};
use super::parameters::known_before;
use crate::Situation;
use crate::draft::{Draft, Written};
use cuts::{Cut, CutId};
use geometry::{Point, Program};
use nc::{Distance, EventKind, Modal, MotionKind, Start, Style, Trail, Writer};
use proof::Promise;

/// The restart program for `promise`, written anew.
///
/// # Errors
/// Why it cannot be written, in words.
pub(crate) fn anew(
    situation: &Situation<'_>,
    promise: &Promise,
    retract: Retract,
    remark: &str,
) -> Result<Written, String> {
    let trail = Trail::of(situation.program, situation.dialect, &Start::usual(situation.dialect));
    let first = situation.list.cut(*promise.cuts.first().ok_or("nothing is left to cut")?);
    let mut draft = Draft::new(situation.program);
    let mut flat = Flat::new(situation, &trail);
    let begin = Begin::of(situation, &trail, first);
    let parameters = if flat.keeps_settings() { known_before(&trail, begin.place.ran) } else { Vec::new() };
    let header = Header { remark: remark.to_owned(), modal: begin.modal, retract, parameters: &parameters };
    header::write_upright(&mut draft, situation, &header);
    draft.begin_cut(first.id);
    flat.stands_at(approach(&mut draft, situation, &begin, retract));
    flat.go_to(begin.place);
    let mut modal = begin.modal;
    for (k, cut) in promise.cuts.iter().enumerate() {
        if k > 0 {
            let follows = promise.cuts[k - 1].0 + 1 == cut.0;
            modal = begin_next(&mut draft, &mut flat, *cut, modal, follows);
        }
        let next = situation.list.cuts.get(cut.0 as usize + 1);
        let end = next.map_or(trail.ran().len(), |next| place_of(&trail, next).ran);
        modal = flat.write_until(&mut draft, end, modal)?;
    }
    write_ending(&mut draft, &mut flat, situation, promise, modal)?;
    flat.write_subprograms(&mut draft);
    if header::begins_with_percent(situation) {
        draft.own("%");
    }
    Ok(draft.finish())
}

/// Where the restart's own way ends and the original's blocks begin.
struct Begin<'a> {
    place: Place,
    /// Where the torch stands there in the original.
    at: Point<Program>,
    /// At what height.
    z_mm: f64,
    modal: &'a Modal,
}

impl<'a> Begin<'a> {
    /// After the last travel in X or Y before the touch-off of `cut`, or before its torch-on if it has none.
    fn of(situation: &'a Situation<'_>, trail: &Trail, cut: &Cut) -> Self {
        let motions = situation.motions;
        let settled = cut.touch_off.map_or(cut.torch_on, |touch| touch.event);
        let reached = motions.events()[settled as usize].before;
        let is_way = |k: &u32| {
            let motion = &motions.motions()[*k as usize];
            motion.kind != MotionKind::Probe
                && motions.from(*k as usize).distance(motion.to) > geometry::SAME_POINT_MM
        };
        match (cut.restart.motion..reached).rev().find(is_way) {
            Some(last) => {
                let motion = &motions.motions()[last as usize];
                let event = motions.events().partition_point(|event| event.before <= last);
                let from = place_of(trail, cut).ran;
                let made_it = |ran: &nc::Ran| ran.block == motion.block && ran.call == motion.call;
                let ran = trail.ran()[from..].iter().position(made_it).map_or(from, |k| from + k + 1);
                Self {
                    place: Place { ran, motion: last as usize + 1, event },
                    at: motion.to,
                    z_mm: motion.z.mm,
                    modal: motions.modal(motion.modal),
                }
            }
            None => Self {
                place: place_of(trail, cut),
                at: motions.from(cut.restart.motion as usize),
                z_mm: motions.z_from(cut.restart.motion as usize).mm,
                modal: modal_before(situation, cut),
            },
        }
    }
}

fn modal_before<'a>(situation: &'a Situation<'_>, cut: &Cut) -> &'a Modal {
    let motions = situation.motions;
    match cut.restart.event.checked_sub(1).map(|event| &motions.events()[event as usize]) {
        Some(event) => motions.modal(event.modal),
        None => motions.modal(motions.events()[cut.torch_on as usize].modal),
    }
}

/// Where the blocks of `cut` begin. A block that the cut before shares is run already; what is left of it is not
/// written again but for its motions, which the next rewriting brings in.
fn place_of(trail: &Trail, cut: &Cut) -> Place {
    let (motion, event) = (cut.restart.motion as usize, cut.restart.event as usize);
    let ran = trail.ran().partition_point(|ran| ran.event < cut.restart.event);
    Place { ran, motion, event }
}

/// Goes over and down to where the original stood; gives where the text then stands.
fn approach(
    draft: &mut Draft<'_>,
    situation: &Situation<'_>,
    begin: &Begin<'_>,
    retract: Retract,
) -> Point<Program> {
    let style = Style::of(begin.modal);
    let upright = Style { distance: Distance::Absolute, ..style };
    let shift = shift_of(begin.modal);
    let mut writer = Writer::new(situation.dialect, upright, Point::ORIGIN);
    writer.rapid(begin.at + -shift);
    // Increments in Z count from where the original stood; numbers do not care.
    if style.distance == Distance::Incremental {
        match retract {
            Retract::To(_) => writer.rapid_z(&writer.number(begin.z_mm)),
            Retract::By(mm) => {
                writer.change_style(style);
                writer.rapid_z(&writer.number(begin.z_mm - mm));
            }
            Retract::None => {}
        }
    }
    let at = writer.at() + shift;
    writer.change_style(style);
    draft.own(&writer.finish());
    at
}

/// How far the numbers of the text lie from the frame of the motions.
pub(super) fn shift_of(modal: &Modal) -> geometry::Vector<Program> {
    geometry::Vector::new(modal.shift_mm[0], modal.shift_mm[1])
}

/// Goes on with `cut`: straight on if it follows, else from its own first block in the modes it had there.
fn begin_next<'a>(
    draft: &mut Draft<'_>,
    flat: &mut Flat<'a>,
    cut: CutId,
    modal: &'a Modal,
    follows: bool,
) -> &'a Modal {
    let situation = flat.situation();
    let cut = situation.list.cut(cut);
    draft.begin_cut(cut.id);
    if follows {
        return modal;
    }
    let here = modal_before(situation, cut);
    header::bridge(draft, situation, modal, here);
    flat.go_to(place_of(flat.trail(), cut));
    here
}

/// The blocks after the last cut of the original, if the promise does not run up to them.
fn write_ending<'a>(
    draft: &mut Draft<'_>,
    flat: &mut Flat<'a>,
    situation: &'a Situation<'a>,
    promise: &Promise,
    modal: &'a Modal,
) -> Result<(), String> {
    draft.end_cut();
    let last = situation.list.cuts.last().ok_or("the program has no cuts")?;
    if promise.cuts.last() == Some(&last.id) {
        return Ok(());
    }
    let off = last.torch_off.ok_or("the last cut is never ended")? as usize;
    let event = &situation.motions.events()[off];
    debug_assert_eq!(event.kind, EventKind::TorchOff, "a cut ends by a torch-off");
    header::bridge(draft, situation, modal, situation.motions.modal(event.modal));
    let ran = flat.trail().ran().partition_point(|ran| ran.event as usize <= off);
    flat.go_to(Place { ran, motion: event.before as usize, event: off + 1 });
    let end = flat.trail().ran().len();
    flat.write_until(draft, end, situation.motions.modal(event.modal)).map(|_| ())
}
