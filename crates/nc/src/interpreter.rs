//! Runs a program block by block, and keeps the state in which the control stands.

use crate::calls::Calls;
use crate::codes::{Codes, group};
use crate::datum::Datum;
use crate::parameters::{Parameters, WHOLE};
use crate::program::{Program, flag};
use crate::report::Report;
use crate::states::States;
use crate::value::Value;
use crate::words::{Words, bit};
use crate::{
    CallId, Comp, Dialect, Event, EventKind, Height, HeightBase, Known, Modal, Motion, MotionKind, Motions,
    Start, Trail, Units, compensation,
};
use finding::Finding;
use geometry::Point;
use units::MM_PER_INCH;

/// Runs `program` from `start`, to at most `most` motions.
pub(crate) fn run(
    program: &Program,
    dialect: &Dialect,
    start: &Start,
    most: usize,
) -> (Motions, Vec<Finding>) {
    let mut run = Run::new(program, dialect, start, most);
    run.all();
    let (mut motions, mut report) = run.finish(start);
    if motions.modals.iter().any(|modal| modal.comp != Comp::Off) {
        motions = compensation::compensated(motions, program, dialect, &mut report);
    }
    (motions, report.finish())
}

/// Runs `program` from `start` and keeps which blocks ran, and what their computed words came to.
pub(crate) fn trail(program: &Program, dialect: &Dialect, start: &Start, most: usize) -> Trail {
    let mut run = Run::new(program, dialect, start, most);
    run.trail = Some(Trail::default());
    run.all();
    run.trail.unwrap_or_default()
}

/// The code's number in tenths, if it is near enough to a whole one.
#[inline]
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "casts saturate; the difference tells"
)]
pub(crate) fn tenths(number: f64) -> Option<usize> {
    let tenths = number * 10.0;
    let rounded = (tenths + 0.5) as u32;
    ((tenths - f64::from(rounded)).abs() <= WHOLE).then_some(rounded as usize)
}

/// Where running goes on after a block.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Flow {
    Next,
    /// At this block.
    At(usize),
    End,
}

/// A program under way.
pub(crate) struct Run<'p> {
    pub(crate) program: &'p Program,
    pub(crate) dialect: &'p Dialect,
    pub(crate) codes: Codes,
    most: usize,
    pub(crate) report: Report,
    pub(crate) motions: Vec<Motion>,
    pub(crate) events: Vec<Event>,
    pub(crate) states: States,
    before: Vec<u32>,
    pub(crate) calls: Calls,
    pub(crate) modal: Modal,
    /// Millimetres to the unit of the program's numbers.
    pub(crate) scale: f64,
    /// Where the torch stands.
    pub(crate) at: Point<geometry::Program>,
    pub(crate) z: Value,
    /// Whether X and Y are lost: the machine went where the program does not tell.
    pub(crate) lost: [bool; 2],
    pub(crate) datum: Datum,
    pub(crate) plane: u8,
    pub(crate) inverse_time: bool,
    /// A canned cycle is in force.
    pub(crate) cycle: bool,
    pub(crate) parameters: Parameters,
    pub(crate) stack: Vec<Value>,
    pub(crate) words: Words,
    /// The block that is being run.
    pub(crate) here: usize,
    /// Touch-offs so far.
    pub(crate) touch_offs: usize,
    /// Axis words of the block that a code other than a motion has taken.
    pub(crate) axes_taken: bool,
    /// Which blocks ran, where someone wants to know.
    pub(crate) trail: Option<Trail>,
    /// It came to M2 or M30.
    ended: bool,
    /// It came to the most that a run may do.
    cut_short: bool,
    /// A word of the block was left out, with a finding: that another word lacks it is no news.
    pub(crate) left_out: bool,
}

impl<'p> Run<'p> {
    pub(crate) fn new(program: &'p Program, dialect: &'p Dialect, start: &Start, most: usize) -> Self {
        let codes = Codes::new(dialect);
        let calls = Calls::of(program, &codes);
        let modal = Modal { known: Known::default(), ..start.modal };
        Self {
            program,
            dialect,
            codes,
            most,
            report: Report::default(),
            motions: Vec::with_capacity(most.min(program.all_words().len() / 2)),
            events: Vec::with_capacity(most.min(program.all_words().len() / 8)),
            states: States::default(),
            before: Vec::with_capacity(program.blocks().len()),
            calls,
            modal,
            scale: scale(modal.units),
            at: start.at,
            z: value_of(start.z),
            lost: [false; 2],
            datum: Datum::new(start),
            plane: start.plane,
            inverse_time: start.inverse_time,
            cycle: false,
            parameters: Parameters::new(start.unset_parameter, start.modal.system),
            stack: Vec::new(),
            words: Words::new(),
            here: 0,
            touch_offs: 0,
            axes_taken: false,
            trail: None,
            ended: false,
            cut_short: false,
            left_out: false,
        }
    }

    fn all(&mut self) {
        self.report_double_subprograms();
        let mut next = Some(self.first());
        while let Some(block) = next {
            next = self.step(block);
        }
        let closed = self.ended || self.program.has_closing_percent();
        if self.dialect.strict && !closed && !self.cut_short && !self.program.blocks().is_empty() {
            self.report.of_text(
                "end-missing",
                || "the program ends without M2 or M30".into(),
                "put M2 or M30 at its end (NISTIR 6556, 3.1)",
            );
        }
    }

    /// The block in which the run begins.
    pub(crate) fn first(&self) -> usize {
        self.calls.main_start()
    }

    /// Runs block `next`; gives the one that runs after it, none at the end.
    #[inline]
    pub(crate) fn step(&mut self, next: usize) -> Option<usize> {
        let program = self.program;
        let Some(block) = program.blocks().get(next) else { return self.end_of_text() };
        self.here = next;
        if next >= self.before.len() {
            // As far as it is run, and no farther: many runs are left after a few blocks.
            self.before.resize(next + 1, u32::MAX);
        }
        if self.before[next] == u32::MAX {
            self.before[next] = self.states.id(&self.modal).0;
        }
        let mut flow = Flow::Next;
        if block.has(flag::LABEL) && !block.is_skipped() {
            flow = self.at_label(next);
        }
        if let Some(trail) = self.trail.as_mut().filter(|_| flow == Flow::Next && !block.is_skipped()) {
            trail.runs(next, self.calls.current(), self.events.len());
        }
        if flow == Flow::Next && !block.has(flag::EMPTY | flag::DELETED) {
            flow = self.block();
        }
        let next = match flow {
            Flow::Next => next + 1,
            Flow::At(block) => block,
            Flow::End => {
                self.ended = true;
                return None;
            }
        };
        if self.is_too_long() {
            self.report_too_long();
            self.cut_short = true;
            return None;
        }
        Some(next)
    }

    /// Whether the control stands as it does in `other`, a run of the same program, so that from the same block on
    /// both do the same. What was done and found before does not matter.
    pub(crate) fn stands_like(&self, other: &Self) -> bool {
        self.modal == other.modal
            && self.at == other.at
            && self.z == other.z
            && self.lost == other.lost
            && self.datum == other.datum
            && self.plane == other.plane
            && self.inverse_time == other.inverse_time
            && self.cycle == other.cycle
            && self.touch_offs == other.touch_offs
            && self.calls.stand_like(&other.calls)
            && (!self.program.reads_parameters() || self.parameters == other.parameters)
    }

    fn is_too_long(&mut self) -> bool {
        self.motions.len() > self.most || self.events.len() > self.most || self.calls.is_too_many(self.most)
    }

    fn report_too_long(&mut self) {
        let (span, most) = (self.block_span(), self.most);
        self.motions.truncate(most);
        self.events.retain(|event| event.before as usize <= most);
        self.report.error(
            "expansion-too-long",
            span,
            || format!("the program runs to more than {most} motions or calls; the rest was not read"),
            "look for a subprogram that is repeated too often, or calls others many times over",
        );
    }

    pub(crate) fn finish(self, start: &Start) -> (Motions, Report) {
        let motions = Motions {
            motions: self.motions,
            events: self.events,
            modals: self.states.finish(),
            calls: self.calls.finish(),
            before: self.before,
            at_start: start.at,
            z_at_start: start.z,
        };
        (motions, self.report)
    }

    /// Runs the block that is at hand.
    fn block(&mut self) -> Flow {
        self.gather();
        if self.words.groups & !(1 << group::MOTION) != 0 || self.words.has(self.own_letters()) {
            self.before_motion();
        }
        self.motion();
        if self.words.groups & AFTER_MOTION != 0 { self.after_motion() } else { Flow::Next }
    }

    /// Letters that act by themselves, without a code.
    fn own_letters(&self) -> u32 {
        bit(b'F') | self.dialect.process_letter.map_or(0, crate::codes::letter_bit)
    }

    /// Changes the modal state; other changes than of the motion mode go through here.
    #[inline]
    pub(crate) fn change(&mut self, change: impl FnOnce(&mut Modal)) {
        let old = self.modal;
        change(&mut self.modal);
        if self.modal != old {
            self.states.touch();
        }
    }

    pub(crate) fn event(&mut self, kind: EventKind) {
        let event = Event {
            before: narrow(self.motions.len()),
            block: narrow(self.here),
            call: self.call_id(),
            modal: self.states.id(&self.modal),
            kind,
        };
        self.events.push(event);
    }

    #[inline]
    pub(crate) fn push(
        &mut self,
        kind: MotionKind,
        to: Point<geometry::Program>,
        center: Point<geometry::Program>,
    ) {
        let motion = Motion {
            block: narrow(self.here),
            call: self.call_id(),
            modal: self.states.id(&self.modal),
            kind,
            to,
            center,
            z: height_of(self.z),
        };
        self.motions.push(motion);
        self.at = to;
    }

    fn call_id(&self) -> CallId {
        self.calls.current()
    }
}

/// Groups with something to do after the motion.
const AFTER_MOTION: u32 = 1 << group::TORCH | 1 << group::STOP | 1 << group::CALL;

pub(crate) fn scale(units: Units) -> f64 {
    match units {
        Units::Millimetres => 1.0,
        Units::Inches => MM_PER_INCH,
    }
}

/// A value whose part of the plate's top is nearer to 1 or 0 than this is that; differences come from arithmetic in
/// expressions alone.
const TOP_NOISE: f64 = 1e-9;

/// The height that `z` is, in the frame of the motions.
#[inline]
fn height_of(z: Value) -> Height {
    let base = if z.top.abs() < TOP_NOISE {
        HeightBase::Program
    } else if (z.top - 1.0).abs() < TOP_NOISE {
        HeightBase::PlateTop
    } else {
        HeightBase::Unknown
    };
    Height { base, mm: z.number }
}

fn value_of(height: Height) -> Value {
    let top = match height.base {
        HeightBase::Program => 0.0,
        HeightBase::PlateTop => 1.0,
        HeightBase::Unknown => f64::NAN,
    };
    Value { number: height.mm, top }
}

/// Blocks and motions are counted in 32 bits: texts have less than 4 GiB, motions less than [`Motions::MOST`].
#[expect(clippy::cast_possible_truncation, reason = "counts stay below 2^32")]
#[inline]
pub(crate) fn narrow(count: usize) -> u32 {
    debug_assert!(u32::try_from(count).is_ok(), "a count beyond 32 bits");
    count as u32
}

#[cfg(test)]
mod tests {
    use super::run;
    use crate::{Dialect, Program, Start};

    /// Motions, events and blocks of subprograms are bounded, each by itself.
    #[test]
    fn long_expansions_end() {
        let dialect = Dialect::common();
        let most = 1000;
        for (body, motions) in
            [("G91 G1 X1", most), ("M3\nM5", 0), (&"\n".repeat(5000), 0), ("G1 X1\nX2\nX3", 300)]
        {
            let text = format!(
                "M98 P1 L900000\nM30\nO1\n{}\nM99",
                if motions == most { format!("{body}\n").repeat(50) } else { body.into() }
            );
            let (program, _) = Program::parse(text.as_bytes(), &dialect);
            let (run, findings) = run(&program, &dialect, &Start::usual(&dialect), most);
            let rules: Vec<_> = findings.iter().map(|finding| finding.rule).collect();
            assert_eq!(rules, ["expansion-too-long"], "{body:?}");
            assert_eq!(run.motions().len(), motions, "{body:?}");
            assert!(run.events().iter().all(|event| event.before as usize <= motions));
        }
    }
}
