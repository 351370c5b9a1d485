//! The restart's own way to the first start: over to where the original stood before it touched off, and down to the
//! height it had there.

use super::header::Retract;
use crate::Situation;
use crate::draft::Draft;
use cuts::Cut;
use geometry::{Point, Program, Vector};
use nc::{CallId, Distance, Modal, MotionKind, Style, Writer};

/// Where the restart's own way ends and the original's blocks begin.
pub(super) struct Begin<'a> {
    /// Motions of the original before that moment.
    pub(super) motion: usize,
    /// Events before it.
    pub(super) event: usize,
    /// Block and calls of the last travel before it; none if the original does not travel to its start.
    pub(super) traveled_by: Option<(u32, CallId)>,
    /// Where the torch stands there in the original.
    pub(super) at: Point<Program>,
    /// The modal state there.
    pub(super) modal: &'a Modal,
    z_mm: f64,
    /// Whether the plate is found before the start, from wherever the torch stands.
    finds_plate: bool,
}

impl<'a> Begin<'a> {
    /// After the last travel in X or Y before the touch-off of `cut`, or before its torch-on if it has none.
    pub(super) fn of(situation: &'a Situation<'_>, cut: &Cut) -> Self {
        let motions = situation.motions;
        let settled = cut.touch_off.map_or(cut.torch_on, |touch| touch.event);
        let reached = motions.events()[settled as usize].before;
        let finds_plate = cut.touch_off.is_some_and(|touch| touch.event >= cut.restart.event);
        let is_way = |k: &u32| {
            let motion = &motions.motions()[*k as usize];
            motion.kind != MotionKind::Probe
                && motions.from(*k as usize).distance(motion.to) > geometry::SAME_POINT_MM
        };
        match (cut.restart.motion..reached).rev().find(is_way) {
            Some(last) => {
                let motion = &motions.motions()[last as usize];
                Self {
                    motion: last as usize + 1,
                    event: motions.events().partition_point(|event| event.before <= last),
                    traveled_by: Some((motion.block, motion.call)),
                    at: motion.to,
                    modal: motions.modal(motion.modal),
                    z_mm: motion.z.mm,
                    finds_plate,
                }
            }
            None => Self {
                motion: cut.restart.motion as usize,
                event: cut.restart.event as usize,
                traveled_by: None,
                at: motions.from(cut.restart.motion as usize),
                modal: modal_before(situation, cut),
                z_mm: motions.z_from(cut.restart.motion as usize).mm,
                finds_plate,
            },
        }
    }

    /// Goes to `over` from above, [`Begin::at`] if the original's start is kept; gives where the text then stands. The
    /// control stands in absolute distance mode before, in the original's own after.
    pub(super) fn approach(
        &self,
        draft: &mut Draft<'_>,
        situation: &Situation<'_>,
        retract: Retract,
        over: Point<Program>,
    ) -> Point<Program> {
        let style = Style::of(self.modal);
        let upright = Style { distance: Distance::Absolute, ..style };
        let shift = shift_of(self.modal);
        let mut writer = Writer::new(situation.dialect, upright, Point::ORIGIN);
        writer.rapid(over + -shift);
        // Increments in Z count from where the original stood, if nothing finds the plate; numbers do not care.
        if style.distance == Distance::Incremental && !self.finds_plate {
            match retract {
                Retract::To(mm) if differs(mm, self.z_mm) => writer.rapid_z(&writer.number(self.z_mm)),
                Retract::By(mm) if differs(mm, self.z_mm) => {
                    writer.change_style(style);
                    writer.rapid_z(&writer.number(self.z_mm - mm));
                }
                Retract::To(_) | Retract::By(_) | Retract::Machine(_) | Retract::None => {}
            }
        }
        let at = writer.at() + shift;
        writer.change_style(style);
        draft.own(&writer.finish());
        at
    }
}

/// Heights nearer than this are one height: finer than any table moves.
pub(super) const SAME_HEIGHT_MM: f64 = 0.001;

fn differs(a: f64, b: f64) -> bool {
    (a - b).abs() > SAME_HEIGHT_MM
}

/// The modal state after everything that belongs to the cut before.
pub(super) fn modal_before<'a>(situation: &'a Situation<'_>, cut: &Cut) -> &'a Modal {
    let motions = situation.motions;
    match cut.restart.event.checked_sub(1).map(|event| &motions.events()[event as usize]) {
        Some(event) => motions.modal(event.modal),
        None => motions.modal(motions.events()[cut.torch_on as usize].modal),
    }
}

/// How far the numbers of the text lie from the frame of the motions.
pub(super) fn shift_of(modal: &Modal) -> Vector<Program> {
    Vector::new(modal.shift_mm[0], modal.shift_mm[1])
}
