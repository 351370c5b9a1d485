//! From the motions of a program to the plain numbers that the judge takes.

use crate::bench::Given;
use crate::judge::{Act, Hint, Move, Start, Tape};
use cuts::{Cut, CutList};
use geometry::{Curve, Point, Program};
use nc::{EventKind, HeightBase, MotionKind, Motions};

/// What a start is made with, as far as the text does not say.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Spec {
    pub(crate) kerf_mm: f64,
    pub(crate) pierce_height_mm: f64,
    pub(crate) cut_height_mm: f64,
    pub(crate) pierce_s: f64,
    pub(crate) speed_mm_s: f64,
    pub(crate) marks: bool,
}

/// The tape of a program. `spec` is asked for each start, counted from 0.
pub(crate) fn tape_of(motions: &Motions, spec: impl Fn(usize) -> Spec) -> Tape {
    let mut tape = Tape::default();
    let mut starts = 0;
    for k in 0..=motions.motions().len() {
        for event in motions.events_before(k) {
            match event.kind {
                EventKind::TorchOn => {
                    tape.acts.push(Act::On(start(&spec(starts), plate_height_mm(motions.z_from(k)))));
                    starts += 1;
                }
                EventKind::TorchOff => tape.acts.push(Act::Off),
                EventKind::Dwell(seconds) => tape.acts.push(Act::Wait(seconds)),
                EventKind::TouchOff(_) => tape.acts.push(Act::TouchOff),
                EventKind::HeightControl(_)
                | EventKind::Process(_)
                | EventKind::DatumSet(_)
                | EventKind::Stop
                | EventKind::End
                | EventKind::Call(_) => {}
            }
        }
        let Some(motion) = motions.motions().get(k) else { break };
        let about = match motion.kind {
            MotionKind::ArcCw => Some((plain(motion.center), false)),
            MotionKind::ArcCcw => Some((plain(motion.center), true)),
            _ => None,
        };
        let cuts = matches!(motion.kind, MotionKind::Feed | MotionKind::ArcCw | MotionKind::ArcCcw);
        let feed = motions.modal(motion.modal).feed_mm_per_min;
        tape.acts.push(Act::Move(Move {
            to: plain(motion.to),
            about,
            height_mm: plate_height_mm(motion.z),
            speed_mm_s: feed.filter(|_| cuts).map(|feed| feed / 60.0),
        }));
    }
    tape
}

/// The starts of a tape.
pub(crate) fn starts_of(tape: &Tape) -> Vec<Start> {
    let start = |act: &Act| if let Act::On(start) = act { Some(*start) } else { None };
    tape.acts.iter().filter_map(start).collect()
}

/// A start as its text has it, or, where the text does not move the torch up and down, as the control makes it.
pub(crate) fn start(spec: &Spec, height_mm: Option<f64>) -> Start {
    Start {
        height_mm: height_mm.unwrap_or(spec.pierce_height_mm),
        marks: spec.marks,
        kerf_mm: spec.kerf_mm,
        cut_height_mm: spec.cut_height_mm,
        pierce_s: spec.pierce_s,
        speed_mm_s: spec.speed_mm_s,
    }
}

fn plate_height_mm(height: nc::Height) -> Option<f64> {
    (height.base == HeightBase::PlateTop).then_some(height.mm)
}

/// Coordinates as plain numbers.
pub(crate) fn plain(at: Point<Program>) -> [f64; 2] {
    [at.x, at.y]
}

/// What a cut of a given program is started with: what its text says, and common practice where it says nothing.
pub(crate) fn spec_of(cut: &Cut, kerf_mm: f64) -> Spec {
    let cut_height_mm = plate_height_mm(cut.cut_height).unwrap_or(1.5);
    Spec {
        kerf_mm,
        // Common practice: the pierce at one and a half to two and a half cut heights.
        pierce_height_mm: plate_height_mm(cut.pierce.height).unwrap_or(2.0 * cut_height_mm),
        cut_height_mm,
        pierce_s: cut.pierce.delay.map_or(0.0, units::Duration::s),
        speed_mm_s: cut.feed_mm_per_min.unwrap_or(1000.0) / 60.0,
        marks: cut.is_mark,
    }
}

/// What the cut list says of the parts of a given program.
pub(crate) fn hints_of(list: &CutList, kerf_mm: f64) -> Vec<Hint> {
    list.parts
        .iter()
        .filter_map(|part| {
            let outline = list.contour(part.outline);
            let boundary = outline.closed.as_ref()?;
            let path = boundary.path();
            let along = path.length_mm() * 0.45;
            let (at, tangent) = (path.point_at(along)?, path.tangent_at(along)?);
            let off = kerf_mm / 2.0 + 0.5;
            let inside = [1.0, -1.0]
                .map(|side| at + tangent.left() * (side * off))
                .into_iter()
                .find(|p| boundary.depth_mm(*p) > 0.0)?;
            let of = |contour: &cuts::ContourId| list.contour(*contour).cut.0 as usize;
            let mut cuts: Vec<usize> =
                outline.boundary.iter().map(|stretch| stretch.cut.0 as usize).collect();
            cuts.push(outline.cut.0 as usize);
            cuts.extend(part.holes.iter().map(of));
            let open: Vec<usize> = part.others.iter().map(of).collect();
            cuts.extend(&open);
            cuts.sort_unstable();
            cuts.dedup();
            Some(Hint { seed: plain(inside), cuts, open })
        })
        .collect()
}

/// Room about the cuts of a program whose plate is not told, in millimetres.
const ROOM_MM: f64 = 40.0;

/// Lower left corner and size of a given program's plate.
pub(crate) fn plate_of(given: &Given) -> ([f64; 2], [f64; 2]) {
    let told = given.ground.plate.as_ref().and_then(|plate| plate.path().bounds());
    let cut = given.list.cuts.iter().filter_map(|cut| cut.path.bounds()).reduce(geometry::Bounds::union);
    let bounds = told.or(cut.map(|bounds| bounds.grown(ROOM_MM)));
    match bounds {
        Some(bounds) => {
            let [low, high] = [plain(bounds.min), plain(bounds.max)];
            (low, [high[0] - low[0], high[1] - low[1]])
        }
        None => ([0.0; 2], [ROOM_MM; 2]),
    }
}

/// A curve of a path as a motion of the judge's, every place carried by `carry`.
pub(crate) fn motion(
    curve: &Curve<Program>,
    speed_mm_s: f64,
    height_mm: f64,
    carry: impl Fn([f64; 2]) -> [f64; 2],
) -> Move {
    let about = match curve {
        Curve::Segment(_) => None,
        Curve::Arc(arc) => Some((carry(plain(arc.center)), arc.is_ccw())),
    };
    Move { to: carry(plain(curve.to())), about, height_mm: Some(height_mm), speed_mm_s: Some(speed_mm_s) }
}
