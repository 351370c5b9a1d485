//! Runs a program: block by block, each in the order of execution of NISTIR 6556, table 8.

use crate::calls::Calls;
use crate::codes::{Act, Codes, group};
use crate::datum::Datum;
use crate::expression::{self, Fault};
use crate::parameters::{self, Parameters, WHOLE, whole};
use crate::program::{Program, Word, WordKind, flag};
use crate::report::Report;
use crate::states::States;
use crate::value::Value;
use crate::words::{Words, bit};
use crate::{
    ArcCenters, CallId, Comp, Dialect, Distance, Event, EventKind, Height, HeightBase, Known, Modal, Motion,
    MotionKind, Motions, Start, TorchOffActs, TouchOff, TouchOffBy, Trail, Units, compensation,
};
use finding::{Finding, Span};
use geometry::Point;
use units::MM_PER_INCH;

/// Largest number a word may have: a thousand kilometres, in millimetres. Larger ones are slips, and squares of what
/// is smaller stay finite.
const NUMBER_MOST: f64 = 1e9;

/// Most M words of a block (NISTIR 6556, 3.3.5).
const M_WORDS_MOST: usize = 4;

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
    codes: Codes,
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
    stack: Vec<Value>,
    pub(crate) words: Words,
    /// The block that is being run.
    pub(crate) here: usize,
    /// Touch-offs so far.
    pub(crate) touch_offs: usize,
    /// Axis words of the block that a code other than a motion has taken.
    pub(crate) axes_taken: bool,
    /// Which blocks ran, where someone wants to know.
    trail: Option<Trail>,
    /// It came to M2 or M30.
    ended: bool,
    /// It came to the most that a run may do.
    cut_short: bool,
    /// A word of the block was left out, with a finding: that another word lacks it is no news.
    left_out: bool,
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
            motions: Vec::with_capacity(most.min(program.words_in_all() / 2)),
            events: Vec::new(),
            states: States::default(),
            before: vec![u32::MAX; program.blocks().len()],
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

    // ---- reading the block's words

    fn gather(&mut self) {
        self.words.clear();
        self.axes_taken = false;
        let program = self.program;
        self.left_out = program.blocks()[self.here].has(flag::FAULTY);
        for word in program.words(self.here) {
            let number = match word.kind {
                WordKind::Plain => word.number(),
                WordKind::Computed => match self.computed(word) {
                    Some(number) => number,
                    None => continue,
                },
                WordKind::Setting => {
                    self.setting(word);
                    continue;
                }
            };
            let letter = bit(word.letter);
            if letter & self.codes.letters != 0 {
                self.code(word, number);
            } else if self.words.has(letter) || number.abs() > NUMBER_MOST {
                self.word_fault(word, number);
            } else {
                self.words.put(word.letter, number);
            }
        }
        if program.blocks()[self.here].has(flag::EVALUATED) {
            self.settings_act();
        }
        if self.dialect.strict {
            self.check_counts();
        }
    }

    /// What the standard says of the number of codes in a block (NISTIR 6556, 3.3.5 and table 4).
    fn check_counts(&mut self) {
        let words = self.program.words(self.here);
        let m_words = words.iter().filter(|word| word.letter == b'M').count();
        if m_words > M_WORDS_MOST {
            self.report.error(
                "words-too-many",
                self.block_span(),
                || format!("the block has {m_words} M words; the standard allows {M_WORDS_MOST}"),
                "spread them over several blocks",
            );
        }
        let group_0 = 1 << group::NON_MODAL | 1 << group::DWELL;
        if self.words.groups & group_0 == group_0 {
            self.report.error(
                "codes-clash",
                self.block_span(),
                || "the dwell belongs to the same group as another code of the block".into(),
                "put it into a block of its own (NISTIR 6556, table 4)",
            );
        }
    }

    #[inline]
    fn code(&mut self, word: &Word, number: f64) {
        let entry = tenths(number).map(|tenths| self.codes.look_up(word.letter, tenths));
        let Some(entry) = entry.filter(|entry| entry.act != Act::Unknown) else {
            self.report_unknown_code(word, number);
            return;
        };
        if entry.group == group::FREE {
            return;
        }
        if self.words.act(entry.group).is_some() {
            self.report_clash(word);
            return;
        }
        self.words.put_act(entry.group, entry.act);
    }

    /// The number of a computed word; none if it goes without, or is a Z that has been put already.
    #[cold]
    fn computed(&mut self, word: &Word) -> Option<f64> {
        let value = self.evaluate(word.ops(), word);
        if let Some(trail) = &mut self.trail {
            trail.computes(value);
        }
        let Some(value) = value else {
            self.left_out = true;
            return None;
        };
        if value.is_known() {
            return Some(value.number);
        }
        self.left_out |= word.letter != b'Z';
        match word.letter {
            b'Z' if !self.words.has(bit(b'Z')) => self.words.put_z(value),
            b'X' | b'Y' | b'I' | b'J' | b'R' => self.report.error(
                "xy-from-probe",
                self.word_span(word),
                || format!("{} depends on where a probe found the plate", char::from(word.letter)),
                "X and Y must be known before the program runs; the word was left out",
            ),
            _ => self.report.error(
                "value-from-probe",
                self.word_span(word),
                || {
                    format!(
                        "the number after {} depends on where a probe found the plate",
                        char::from(word.letter)
                    )
                },
                "only Z may depend on a probe; the word was left out",
            ),
        }
        None
    }

    #[cold]
    fn setting(&mut self, word: &Word) {
        let (index, value) = word.setting_ops();
        let Some(index) = self.evaluate(index, word) else { return };
        let Some(value) = self.evaluate(value, word) else { return };
        match parameters::place(index) {
            Ok(place) => self.words.settings.push((place, value)),
            Err(fault) => self.report_fault(word, fault),
        }
    }

    fn evaluate(&mut self, ops: usize, word: &Word) -> Option<Value> {
        let value = expression::evaluate(self.program.ops(), ops, &mut self.parameters, &mut self.stack);
        if let Some(unset) = self.parameters.take_unset_read() {
            self.report.warning(
                "parameter-unset",
                self.word_span(word),
                || format!("parameter #{unset} is read before the program has set it"),
                "set it in the program, so that the run does not depend on what the control holds",
            );
        }
        match value {
            Ok(value) => Some(value),
            Err(fault) => {
                self.report_fault(word, fault);
                None
            }
        }
    }

    #[cold]
    fn settings_act(&mut self) {
        for (place, value) in std::mem::take(&mut self.words.settings) {
            if let Some(trail) = &mut self.trail {
                trail.sets(place, value);
            }
            self.parameters.set(place, value);
            self.datum.parameter_set(place, value, self.scale);
        }
    }

    // ---- order of execution

    /// All that table 8 puts before the motion.
    fn before_motion(&mut self) {
        if let Some(act) = self.words.act(group::FEED_MODE) {
            self.feed_mode(act);
        }
        // The standard reads F in the old units where the block changes them; other controls know only one unit a
        // block.
        if self.dialect.strict {
            self.feed();
        } else {
            self.units();
            self.feed();
        }
        self.process();
        if self.words.act(group::TOUCH_OFF).is_some() {
            self.touch_off(TouchOff::ByControl);
        }
        self.torch();
        if let Some(Act::HeightControl(on)) = self.words.act(group::HEIGHT_CONTROL) {
            self.change(|modal| modal.height_control = on);
            self.event(EventKind::HeightControl(on));
        }
        if self.words.act(group::DWELL).is_some() {
            self.dwell();
        }
        if let Some(Act::Plane(plane)) = self.words.act(group::PLANE) {
            self.set_plane(plane);
        }
        if self.dialect.strict {
            self.units();
        }
        self.comp();
        if self.words.act(group::LENGTH) == Some(Act::ToolLength) {
            self.report.warning(
                "tool-length-unused",
                self.block_span(),
                || "a tool length offset has no use in cutting; it was read over".into(),
                "take the word away: the torch finds its height by touching off",
            );
        }
        if let Some(Act::System(system)) = self.words.act(group::SYSTEM) {
            self.select_system(system);
        }
        self.distance();
        if let Some(act) = self.words.act(group::NON_MODAL) {
            self.non_modal(act);
        }
    }

    /// All that comes after the motion.
    fn after_motion(&mut self) -> Flow {
        if self.words.act(group::TORCH) == Some(Act::TorchOff)
            && self.dialect.torch_off_acts == TorchOffActs::AfterMotion
        {
            self.torch_off();
        }
        match self.words.act(group::STOP) {
            Some(Act::Stop) => self.event(EventKind::Stop),
            Some(Act::End) => {
                self.end();
                return Flow::End;
            }
            _ => {}
        }
        match self.words.act(group::CALL) {
            Some(Act::Call) => self.call(),
            Some(Act::Return) => self.call_return(),
            _ => Flow::Next,
        }
    }

    fn feed_mode(&mut self, act: Act) {
        self.inverse_time = act == Act::InverseTime;
        if self.inverse_time {
            self.report.warning(
                "feed-mode-unused",
                self.block_span(),
                || "G93 gives feeds as the inverse of time, which has no use in cutting".into(),
                "write feeds as speeds, with G94",
            );
        }
        self.change(|modal| {
            modal.known.feed_mode = true;
            modal.feed_mm_per_min = None;
        });
    }

    fn feed(&mut self) {
        let Some(feed) = self.words.get(b'F') else { return };
        if feed < 0.0 {
            self.report_range(b'F', "a feed is not negative");
            return;
        }
        if !self.inverse_time {
            let scale = self.scale;
            self.change(|modal| {
                modal.feed_mm_per_min = Some(feed * scale);
                modal.known.feed = true;
            });
        }
    }

    fn units(&mut self) {
        let Some(act) = self.words.act(group::UNITS) else { return };
        let units = if act == Act::Inches { Units::Inches } else { Units::Millimetres };
        if units != self.modal.units {
            if self.modal.comp != Comp::Off {
                self.report_misplaced(
                    "units are changed while cutter compensation is on (NISTIR 6556, 3.5.7)",
                );
            }
            if self.words.has(bit(b'F')) {
                self.report.warning(
                    "feed-before-units",
                    self.block_span(),
                    || "the block changes units and sets a feed: controls differ in which unit F has".into(),
                    "set the units in a block of their own, before F",
                );
            }
        }
        self.scale = scale(units);
        self.change(|modal| {
            modal.units = units;
            modal.known.units = true;
        });
    }

    fn process(&mut self) {
        let Some(letter) = self.dialect.process_letter else { return };
        let Some(number) = self.words.get(letter.to_ascii_uppercase()) else { return };
        let Some(process) = whole(number).and_then(|number| u32::try_from(number).ok()) else {
            self.report_range(letter, "the number of a process is whole and not negative");
            return;
        };
        self.change(|modal| modal.process = Some(process));
        self.event(EventKind::Process(process));
    }

    fn torch(&mut self) {
        match self.words.act(group::TORCH) {
            Some(Act::TorchOn) => {
                if self.dialect.touch_off.contains(&TouchOffBy::TorchOn) {
                    self.touch_off(TouchOff::ByControl);
                }
                self.change(|modal| modal.torch = true);
                self.event(EventKind::TorchOn);
            }
            Some(Act::TorchOff) if self.dialect.torch_off_acts == TorchOffActs::BeforeMotion => {
                self.torch_off();
            }
            Some(Act::Spindle) => self.report.warning(
                "spindle-unused",
                self.block_span(),
                || "the block has a spindle word, which does not move this table's torch".into(),
                "use the torch words of this table, or name the word in `[table.words]`",
            ),
            _ => {}
        }
    }

    fn torch_off(&mut self) {
        self.change(|modal| modal.torch = false);
        self.event(EventKind::TorchOff);
    }

    /// The plate's surface has been found by the control or by a subprogram that is not to be seen.
    pub(crate) fn touch_off(&mut self, by: TouchOff) {
        self.z = match self.dialect.touch_off_leaves {
            Some(above) => Value { number: above.mm(), top: 1.0 },
            None => Value::lost(0.0),
        };
        self.datum.z_counts_from_top();
        self.touch_offs += 1;
        self.event(EventKind::TouchOff(by));
    }

    fn dwell(&mut self) {
        let dwell = self.dialect.dwell;
        let letter = dwell.letter.to_ascii_uppercase();
        let Some(number) = self.words.get(letter) else {
            self.report_missing(letter, "the dwell has no time");
            return;
        };
        if matches!(letter, b'X' | b'Y' | b'Z') {
            self.words.present &= !bit(letter);
        }
        if number < 0.0 {
            self.report_range(letter, "a dwell is not negative");
            return;
        }
        self.event(EventKind::Dwell(number * dwell.seconds_per_unit));
    }

    fn set_plane(&mut self, plane: u8) {
        self.plane = plane;
        self.change(|modal| modal.known.plane = true);
        if plane != 17 {
            self.report.warning(
                "plane-unused",
                self.block_span(),
                || format!("G{plane} chooses a plane that has no use in cutting"),
                "use G17: the plate lies in X and Y",
            );
        }
    }

    fn comp(&mut self) {
        let Some(act) = self.words.act(group::COMP) else { return };
        let comp = match act {
            Act::CompLeft => Comp::Left(self.comp_radius_mm()),
            Act::CompRight => Comp::Right(self.comp_radius_mm()),
            _ => Comp::Off,
        };
        if comp != Comp::Off && self.modal.comp != Comp::Off && self.modal.known.comp {
            self.report_misplaced("cutter compensation is turned on while it is on (NISTIR 6556, 3.5.10)");
        }
        if comp != Comp::Off && self.plane != 17 {
            self.report_misplaced("cutter compensation works in the XY plane only (NISTIR 6556, 3.5.10)");
        }
        self.change(|modal| {
            modal.comp = comp;
            modal.known.comp = true;
        });
    }

    /// Half the width of the block's D word, or of the process.
    fn comp_radius_mm(&mut self) -> f64 {
        let number = match self.words.get(b'D') {
            Some(number) => whole(number).and_then(|number| u32::try_from(number).ok()),
            None => self.modal.process,
        };
        if number == Some(0) {
            return 0.0;
        }
        let width = self.dialect.comp_widths.iter().find(|(of, _)| Some(*of) == number);
        if let Some((_, width)) = width {
            return width.mm() / 2.0;
        }
        self.report.warning(
            "comp-width-unknown",
            self.block_span(),
            || match number {
                Some(number) => {
                    format!("the width of compensation number {number} is not known; it counts as 0")
                }
                None => "the block names no width for its compensation; it counts as 0".into(),
            },
            "name the widths under `comp_widths` in `[table.words]`",
        );
        0.0
    }

    fn distance(&mut self) {
        if let Some(act) = self.words.act(group::DISTANCE) {
            self.change(|modal| {
                modal.distance =
                    if act == Act::Incremental { Distance::Incremental } else { Distance::Absolute };
                modal.known.distance = true;
            });
        }
        if let Some(Act::Centers { absolute }) = self.words.act(group::CENTERS) {
            self.change(|modal| {
                modal.arc_centers = if absolute { ArcCenters::Absolute } else { ArcCenters::FromStart };
                modal.known.arc_centers = true;
            });
        }
    }

    /// What M2 and M30 leave behind (NISTIR 6556, 3.6.1).
    fn end(&mut self) {
        self.datum.end(&mut self.modal);
        self.plane = 17;
        self.inverse_time = false;
        self.change(|modal| {
            modal.distance = Distance::Absolute;
            modal.comp = Comp::Off;
            modal.torch = false;
            modal.motion = Some(MotionKind::Feed);
        });
        self.states.touch();
        self.event(EventKind::End);
    }

    // ---- what the parts of a run share

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

    // ---- faults

    pub(crate) fn block_span(&self) -> Span {
        self.program.blocks()[self.here].span
    }

    /// The bytes of a word: up to the next word or the end of its block.
    pub(crate) fn word_span(&self, word: &Word) -> Span {
        let block = self.block_span();
        let words = self.program.words(self.here);
        let after = words.partition_point(|other| other.at <= word.at);
        let next = words.get(after).map_or(block.end, |next| next.at);
        let text = &self.program.text()[word.at as usize..next as usize];
        let stop = text.iter().position(|byte| matches!(byte, b'(' | b';')).unwrap_or(text.len());
        Span::new(word.at, word.at + narrow(text[..stop].trim_ascii_end().len()))
    }

    /// The bytes of the word with `letter`, else of the block.
    fn letter_span(&self, letter: u8) -> Span {
        let word = self.program.words(self.here).iter().find(|word| word.letter == letter);
        word.map_or(self.block_span(), |word| self.word_span(word))
    }

    #[cold]
    pub(crate) fn report_range(&mut self, letter: u8, why: &'static str) {
        let letter = letter.to_ascii_uppercase();
        self.report.error(
            "number-out-of-range",
            self.letter_span(letter),
            || format!("{why}: the number after {} was left out", char::from(letter)),
            "correct the number",
        );
    }

    #[cold]
    pub(crate) fn report_missing(&mut self, letter: u8, why: &'static str) {
        if self.left_out {
            return;
        }
        self.report.error(
            "word-missing",
            self.block_span(),
            || format!("{why}: a word with {} is missing", char::from(letter)),
            "put the word into the block",
        );
    }

    #[cold]
    pub(crate) fn report_misplaced(&mut self, why: &'static str) {
        self.report.error(
            "word-misplaced",
            self.block_span(),
            || why.into(),
            "turn off first what stands against it",
        );
    }

    #[cold]
    fn report_fault(&mut self, word: &Word, fault: Fault) {
        self.report.error(
            "expression-undefined",
            self.word_span(word),
            || format!("the expression has no value: {fault}"),
            "correct it, or what it reads; the word was left out",
        );
    }

    #[cold]
    fn word_fault(&mut self, word: &Word, number: f64) {
        self.left_out = true;
        let span = self.word_span(word);
        if number.abs() > NUMBER_MOST {
            self.report.error(
                "number-out-of-range",
                span,
                || format!("{number} is no length, speed or time of a cutting table"),
                "correct the number; the word was left out",
            );
        } else {
            self.report.error(
                "word-twice",
                span,
                || format!("{} stands twice in the block; the first counts", char::from(word.letter)),
                "take one of them away",
            );
        }
    }

    #[cold]
    fn report_clash(&mut self, word: &Word) {
        let span = self.word_span(word);
        self.report.error(
            "codes-clash",
            span,
            || "the block has another word of the same group; the first counts".into(),
            "take one of them away, or put it into a block of its own (NISTIR 6556, table 4)",
        );
    }

    #[cold]
    fn report_unknown_code(&mut self, word: &Word, number: f64) {
        self.left_out = true;
        let span = self.word_span(word);
        self.report.warning(
            "word-unknown",
            span,
            || format!("{}{number} is no code that this control knows", char::from(word.letter)),
            "correct it; if this control knows the code, name it in `[table.words]`",
        );
    }
}

/// Groups with something to do after the motion.
const AFTER_MOTION: u32 = 1 << group::TORCH | 1 << group::STOP | 1 << group::CALL;

fn scale(units: Units) -> f64 {
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
