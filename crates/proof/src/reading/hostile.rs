//! The same motions from whatever state the control stands in, or the state is named that changes them.

use super::Reading;
use super::words::has_letter;
use crate::{Case, Reason, reason, record::Record, side_by_side::each, tolerance::SAME_RUN_MM, view::View};
use geometry::{Point, Program};
use nc::{
    ArcCenters, Comp, Distance, EventKind, Height, HeightBase, Modal, MotionKind, Motions, Start, Units,
};

/// What is asked of a text that reads differently from one of the starts.
enum Otherwise {
    /// The text itself must settle it: refused, with what is to be written.
    Settle(&'static str),
    /// The text cannot settle it, or need not: a precondition.
    Needs(&'static str),
}

/// A start that differs from the usual one in one respect, or in all.
struct Hostile {
    start: Start,
    otherwise: Otherwise,
}

/// Runs the text from every hostile start and compares.
///
/// # Errors
/// If it means something else from one of them, and the text itself has to settle that.
pub(super) fn same_from_every_start(
    case: &Case<'_>,
    reading: &Reading,
    record: &mut Record,
) -> Result<(), Reason> {
    let usual = Start::usual(case.original.dialect);
    let starts = starts(case, reading, &usual);
    let mut tried = 0.0;
    let outcomes = compare_all(case, reading, &usual, &starts);
    for (hostile, outcome) in starts.iter().zip(outcomes) {
        tried += 1.0;
        let Some(at) = outcome else { continue };
        match hostile.otherwise {
            Otherwise::Needs(sentence) => record.needs(sentence),
            Otherwise::Settle(message) => {
                let view = View::written(case, reading);
                let at = match at {
                    Differs::Motion(k) => view.span(k),
                    Differs::Event(e) => view.event_span(e),
                    Differs::Length => None,
                };
                return Err(reason(2, message, at));
            }
        }
    }
    record.figure("starting states from which the motions are the same", tried, tried, "states");
    Ok(())
}

/// Where two runs differ.
#[derive(Clone, Copy, Debug)]
enum Differs {
    Motion(usize),
    Event(usize),
    Length,
}

/// Blocks that are run side by side before a run from another start is carried to its end. Programs settle their
/// modes within a few dozen; the first cut, with its feed and touch-off, may take a few hundred.
const HEAD_BLOCKS: usize = 4000;

fn compare_all(
    case: &Case<'_>,
    reading: &Reading,
    usual: &Start,
    starts: &[Hostile],
) -> Vec<Option<Differs>> {
    // Runs do not depend on each other; those that must be carried to their end take as long as reading the text.
    each(starts, |hostile| difference(case, reading, usual, &hostile.start))
}

/// The first difference between the run from the usual start and that from another.
///
/// Once both controls stand alike the rest is the same; where they never do, both runs are compared to their end.
fn difference(case: &Case<'_>, reading: &Reading, usual: &Start, other: &Start) -> Option<Differs> {
    let beside = Motions::run_beside(&reading.program, case.original.dialect, [usual, other], HEAD_BLOCKS);
    let pair = |usual_run, other_run| Pair {
        usual: usual_run,
        usual_start: usual,
        other: other_run,
        other_start: other,
    };
    if beside.alike {
        return pair(&beside.first, &beside.second).difference();
    }
    let (run, _) = Motions::run(&reading.program, case.original.dialect, other);
    pair(&reading.motions, &run).difference()
}

const SETTLE_ALL: &str = "the text means something else on a control that stands in several other modes at once: put \
                          all modes in force in the first blocks";

fn starts(case: &Case<'_>, reading: &Reading, usual: &Start) -> Vec<Hostile> {
    let in_z = has_letter(case.written, case.original.dialect, b'Z');
    let fixed_datum = reading.program.leaves_datum_alone();
    let mut starts = Vec::new();
    let mut one = |otherwise: Otherwise, change: &dyn Fn(&mut Start)| {
        let mut start = usual.clone();
        change(&mut start);
        starts.push(Hostile { start, otherwise });
    };
    let settle = Otherwise::Settle;
    one(
        settle(
            "it relies on the unit of length that the control happens to have: put G20 or G21 before the first motion",
        ),
        &in_inches,
    );
    one(
        settle(
            "it relies on the distance mode that the control happens to have: put G90 or G91 before the first motion",
        ),
        &|start| start.modal.distance = Distance::Incremental,
    );
    one(
        settle("it relies on the plane that the control happens to have: put G17 before the first arc"),
        &|start| start.plane = 18,
    );
    one(settle("it relies on cutter compensation being off: put G40 before the first motion"), &|start| {
        start.modal.comp = Comp::Left(HOSTILE_RADIUS_MM);
    });
    one(settle("it relies on feed being counted a minute: put G94 before the first feed"), &|start| {
        start.inverse_time = true;
    });
    one(
        settle(
            "it relies on the motion mode that the control happens to have: put a G word on the first motion",
        ),
        &|start| start.modal.motion = Some(MotionKind::ArcCw),
    );
    one(
        settle("it relies on the feed that the control happens to have: put F on the first feed"),
        &|start| start.modal.feed_mm_per_min = Some(HOSTILE_FEED),
    );
    if reading.program.reads_parameters() {
        one(settle("it reads a parameter that it never sets: put the value itself in its place"), &|start| {
            start.unset_parameter = HOSTILE_VALUE;
        });
    }
    one(settle("it relies on where the torch stands: go to the first start by absolute X and Y"), &|start| {
        elsewhere(start, in_z);
    });
    // A text without any word for the datum does the same from every datum, moved along with it.
    if !fixed_datum {
        one(settle("it takes away offsets that the control may have: leave the datum alone"), &other_offset);
        one(
            Otherwise::Needs("The coordinate system in force is the one in which the plate was begun."),
            &other_system,
        );
    }
    one(Otherwise::Needs("Z zero is the plate's top, as the last touch-off left it."), &|start| {
        start.z_shift_mm = if in_z { HOSTILE_HEIGHT_MM } else { 0.0 }
    });
    if has_height_control(case) {
        one(Otherwise::Needs("Height control is held before the program is started."), &|start| {
            start.modal.height_control = true;
        });
    }
    if has_center_words(case) {
        one(
            settle(
                "it relies on how the control takes I and J: put the word for arc centres before the first arc",
            ),
            &other_centers,
        );
    }
    one(Otherwise::Needs("The torch is commanded off before the program is started."), &|start| {
        start.modal.torch = true;
    });
    one(settle(SETTLE_ALL), &|start| {
        in_inches(start);
        elsewhere(start, in_z);
        if !fixed_datum {
            other_offset(start);
        }
        start.modal.distance = Distance::Incremental;
        start.plane = 19;
        start.modal.comp = Comp::Right(HOSTILE_RADIUS_MM);
        start.inverse_time = true;
        start.modal.motion = Some(MotionKind::ArcCcw);
        start.modal.feed_mm_per_min = Some(HOSTILE_FEED);
        start.unset_parameter = -HOSTILE_VALUE;
        if has_center_words(case) {
            other_centers(start);
        }
    });
    starts
}

/// A radius of compensation that no motion survives unchanged.
const HOSTILE_RADIUS_MM: f64 = 7.3;
/// A feed that no program has.
const HOSTILE_FEED: f64 = 7.771;
/// Where nobody has put program zero.
const HOSTILE_SHIFT_MM: [f64; 2] = [231.7, -77.9];
/// Where nobody has put Z zero.
const HOSTILE_HEIGHT_MM: f64 = 11.9;
/// A coordinate system that few programs use.
const HOSTILE_SYSTEM: u8 = 7;
/// A value for parameters that no program expects.
const HOSTILE_VALUE: f64 = 613.77;

fn in_inches(start: &mut Start) {
    start.modal.units = Units::Inches;
}

fn elsewhere(start: &mut Start, in_z: bool) {
    start.at = Point::new(start.at.x + 371.3, start.at.y - 157.7);
    if in_z {
        start.z = Height { base: HeightBase::Unknown, mm: -3.0 };
    }
}

fn other_offset(start: &mut Start) {
    start.modal.shift_mm = HOSTILE_SHIFT_MM;
    start.at = Point::new(start.at.x + HOSTILE_SHIFT_MM[0], start.at.y + HOSTILE_SHIFT_MM[1]);
}

fn other_centers(start: &mut Start) {
    start.modal.arc_centers = match start.modal.arc_centers {
        ArcCenters::FromStart => ArcCenters::Absolute,
        ArcCenters::Absolute => ArcCenters::FromStart,
    };
}

fn other_system(start: &mut Start) {
    start.modal.system = HOSTILE_SYSTEM;
    start.origins_mm[usize::from(HOSTILE_SYSTEM) - 1] = HOSTILE_SHIFT_MM;
    start.modal.shift_mm = HOSTILE_SHIFT_MM;
}

fn has_height_control(case: &Case<'_>) -> bool {
    !case.original.dialect.height_control_on.is_empty()
        && !case.original.dialect.height_control_off.is_empty()
}

fn has_center_words(case: &Case<'_>) -> bool {
    case.original.dialect.arc_centers_absolute.is_some()
        && case.original.dialect.arc_centers_from_start.is_some()
}

/// Two runs of one text.
struct Pair<'a> {
    usual: &'a Motions,
    usual_start: &'a Start,
    other: &'a Motions,
    other_start: &'a Start,
}

impl Pair<'_> {
    fn difference(&self) -> Option<Differs> {
        let (a, b) = (self.usual.motions(), self.other.motions());
        let motion = (0..a.len().min(b.len())).find(|k| !self.same_motion(*k));
        let (ea, eb) = (self.usual.events(), self.other.events());
        let event = (0..ea.len().min(eb.len())).find(|e| !self.same_event(*e));
        match (motion, event) {
            (Some(k), Some(e)) if (ea[e].before as usize) <= k => Some(Differs::Event(e)),
            (Some(k), _) => Some(Differs::Motion(k)),
            (None, Some(e)) => Some(Differs::Event(e)),
            (None, None) => (a.len() != b.len() || ea.len() != eb.len()).then_some(Differs::Length),
        }
    }

    fn same_motion(&self, k: usize) -> bool {
        let (a, b) = (&self.usual.motions()[k], &self.other.motions()[k]);
        let burning = self.usual.modal(a.modal).torch;
        let arc = matches!(a.kind, MotionKind::ArcCw | MotionKind::ArcCcw);
        a.kind == b.kind
            && a.block == b.block
            && same_modal(self.usual.modal(a.modal), self.other.modal(b.modal), a.kind)
            && self.same_place(a.to, b.to, burning || arc)
            && (!arc || self.same_place(a.center, b.center, true))
            && self.same_height(a.z, b.z, burning)
    }

    /// Each coordinate the same from program zero, or not yet moved in either run. No cut may begin before it is.
    fn same_place(&self, a: Point<Program>, b: Point<Program>, settled: bool) -> bool {
        let (start_a, start_b) = (self.usual_start, self.other_start);
        let ([x, y], [to_x, to_y]) = (start_a.modal.shift_mm, start_b.modal.shift_mm);
        let same = |a: f64, b: f64, shift: f64, from_a: f64, from_b: f64| {
            near(a, b - shift) || (!settled && near(a, from_a) && near(b, from_b))
        };
        same(a.x, b.x, to_x - x, start_a.at.x, start_b.at.x)
            && same(a.y, b.y, to_y - y, start_a.at.y, start_b.at.y)
    }

    /// The same, or moved by the same increments from different starts, or never moved.
    fn same_height(&self, a: Height, b: Height, settled: bool) -> bool {
        let moved_alike = near(a.mm - self.usual_start.z.mm, b.mm - self.other_start.z.mm);
        let unmoved = near(a.mm, self.usual_start.z.mm) && moved_alike;
        (a.base == b.base && near(a.mm, b.mm)) || unmoved || (!settled && moved_alike)
    }

    fn same_event(&self, e: usize) -> bool {
        let (a, b) = (&self.usual.events()[e], &self.other.events()[e]);
        let (modal_a, modal_b) = (self.usual.modal(a.modal), self.other.modal(b.modal));
        let settled = a.kind != EventKind::TorchOn || {
            let (from_a, from_b) = (self.usual.from(a.before as usize), self.other.from(b.before as usize));
            self.same_place(from_a, from_b, true) && modal_a.process == modal_b.process
        };
        a.before == b.before && a.block == b.block && settled && same_kind(a.kind, b.kind)
    }
}

fn same_kind(a: EventKind, b: EventKind) -> bool {
    match (a, b) {
        // Where it sets the datum to shows in the motions after it.
        (EventKind::DatumSet(_), EventKind::DatumSet(_)) => true,
        _ => a == b,
    }
}

/// Whether what a motion's modal state does to it is the same.
fn same_modal(a: &Modal, b: &Modal, kind: MotionKind) -> bool {
    let rapid = matches!(kind, MotionKind::Rapid | MotionKind::Home);
    let feed = match (a.feed_mm_per_min, b.feed_mm_per_min) {
        (Some(a), Some(b)) => near(a, b),
        (a, b) => a.is_none() && b.is_none(),
    };
    let comp = a.comp == b.comp;
    comp && a.torch == b.torch && (rapid || feed) && (!a.torch || a.height_control == b.height_control)
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= SAME_RUN_MM
}
