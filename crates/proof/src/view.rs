//! A program's motions seen in the frame of the original, whatever datum each counts from and wherever the plate lies.

use crate::{Case, Original, reading::Reading};
use finding::Span;
use geometry::{Curve, Placement, Point, Program, SAME_POINT_MM, Vector};
use nc::{Dialect, EventKind, Height, HeightBase, Modal, Motion, MotionKind, Motions, TouchOff};

/// Motions of one of the two programs.
#[derive(Clone, Copy, Debug)]
pub(crate) struct View<'a> {
    /// The program's text.
    pub(crate) program: &'a nc::Program,
    /// Its motions.
    pub(crate) motions: &'a Motions,
    /// What is added to its coordinates to get those that the control shows.
    shift: Vector<Program>,
    /// From its coordinates to the plate's frame; none if they are the same.
    to_plate: Option<Placement<Program, Program>>,
    /// Where a touch-off by the control leaves the torch.
    touched_off: Height,
    /// The motions before which it finds the plate, rising.
    found_before: &'a [u32],
}

impl<'a> View<'a> {
    /// The original, in its own frame.
    pub(crate) fn original(original: &'a Original<'_>) -> Self {
        Self {
            program: original.program,
            motions: original.motions,
            shift: Vector::new(0.0, 0.0),
            to_plate: None,
            touched_off: touched_off(original.dialect),
            found_before: original.found_before(),
        }
    }

    /// The written program. Its zero is where the original's was when it cut what is promised; the plate lies where the
    /// case's pose has it.
    pub(crate) fn written<'b>(case: &Case<'_>, reading: &'b Reading) -> View<'b> {
        let [x, y] = reading.datum_mm;
        let shift = Vector::new(x, y);
        let datum = Placement::<Program, Program>::new(0.0, Point::ORIGIN + shift);
        let to_plate = match case.pose {
            Some(pose) => Some(datum.then(&pose.placement.inverse())),
            None => (shift.length() > 0.0).then_some(datum),
        };
        View {
            program: &reading.program,
            motions: &reading.motions,
            shift,
            to_plate,
            touched_off: touched_off(case.original.dialect),
            found_before: &reading.found_before,
        }
    }

    /// Whether its coordinates are those of the plate, so that motions of the same numbers lie in the same place.
    pub(crate) fn is_unmoved(&self) -> bool {
        self.to_plate.is_none()
    }

    pub(crate) fn motion(&self, k: usize) -> &'a Motion {
        &self.motions.motions()[k]
    }

    pub(crate) fn modal(&self, k: usize) -> &'a Modal {
        self.motions.modal(self.motion(k).modal)
    }

    /// Where on the plate motion `k` ends.
    pub(crate) fn to(&self, k: usize) -> Point<Program> {
        self.on_plate(self.motion(k).to)
    }

    /// Where on the plate motion `k` begins.
    pub(crate) fn from(&self, k: usize) -> Point<Program> {
        self.on_plate(self.motions.from(k))
    }

    fn on_plate(&self, p: Point<Program>) -> Point<Program> {
        self.to_plate.map_or(p, |to_plate| to_plate.point(p))
    }

    /// The curve of motion `k` on the plate.
    pub(crate) fn curve(&self, k: usize) -> Curve<Program> {
        let curve = self.motions.curve(k);
        self.to_plate.map_or(curve, |to_plate| curve.placed(&to_plate))
    }

    /// Where the control shows the end of motion `k`, by the datum with which the plate was begun: in this frame lie
    /// the table's travel and the clamps, wherever the plate lies.
    pub(crate) fn shown_to(&self, k: usize) -> Point<Program> {
        self.motion(k).to + self.shift
    }

    /// The curve of motion `k` as the control shows it.
    pub(crate) fn shown_curve(&self, k: usize) -> Curve<Program> {
        let curve = self.motions.curve(k);
        if self.shift.length() > 0.0 {
            curve.placed(&Placement::<Program, Program>::new(0.0, Point::ORIGIN + self.shift))
        } else {
            curve
        }
    }

    /// Height before motion `k`.
    pub(crate) fn height_before(&self, k: usize) -> Height {
        self.motions.z_from(k)
    }

    /// Height after everything before motion `k` and event `e`, which follow each other: a touch-off by the control
    /// leaves the torch elsewhere without a motion.
    pub(crate) fn height_at(&self, k: usize, e: usize) -> Height {
        let events = self.motions.events()[..e].iter().rev().take_while(|event| event.before as usize >= k);
        let found = |event: &nc::Event| {
            matches!(event.kind, EventKind::TouchOff(TouchOff::ByControl | TouchOff::ByCall))
        };
        if events.into_iter().any(found) { self.touched_off } else { self.height_before(k) }
    }

    /// Height before motion `k`, wherever a touch-off has left the torch.
    pub(crate) fn height_from(&self, k: usize) -> Height {
        match self.found_before.binary_search(&crate::legs::index(k)) {
            Ok(_) => self.touched_off,
            Err(_) => self.height_before(k),
        }
    }

    /// Whether motion `k` goes anywhere in X or Y.
    pub(crate) fn travels(&self, k: usize) -> bool {
        match self.motion(k).kind {
            MotionKind::Home => true,
            MotionKind::ArcCw | MotionKind::ArcCcw => self.motions.curve(k).length_mm() > SAME_POINT_MM,
            _ => self.motions.from(k).distance(self.motion(k).to) > SAME_POINT_MM,
        }
    }

    /// Length of the way in X and Y that these motions go; counting stops past `enough_mm`.
    pub(crate) fn way_mm(&self, motions: std::ops::Range<usize>, enough_mm: f64) -> f64 {
        let mut way = 0.0;
        for k in motions {
            way += self.motions.curve(k).length_mm();
            if way > enough_mm {
                break;
            }
        }
        way
    }

    /// The bytes of the block of motion `k`.
    pub(crate) fn span(&self, k: usize) -> Option<Span> {
        self.block_span(self.motion(k).block)
    }

    /// The bytes of the block of event `e`.
    pub(crate) fn event_span(&self, e: usize) -> Option<Span> {
        self.block_span(self.motions.events()[e].block)
    }

    fn block_span(&self, block: u32) -> Option<Span> {
        self.program.blocks().get(block as usize).map(|block| block.span)
    }
}

fn touched_off(dialect: &Dialect) -> Height {
    dialect.touch_off_leaves.map_or(Height { base: HeightBase::Unknown, mm: 0.0 }, |above| Height {
        base: HeightBase::PlateTop,
        mm: above.mm(),
    })
}
