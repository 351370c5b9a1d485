//! A run in progress: the program's steps in order, the clock, and what breaks in.

use crate::cell::{Cell, Work};
use crate::event::{Burnt, Control, Event, Gas, Happening, Kind, Log, MotionRun, Spell, Why};
use crate::metal::{Begun, Burning, Metal, Travel};
use crate::motion::Run;
use crate::operator::{Act, Operator, StoppedBy};
use crate::steps::{Planned, Step, Steps, height_time_s, planned, probe_time_s, wanted};
use cuts::{Cut, CutId, Depth};
use geometry::{Point, Program, SAME_POINT_MM};
use nc::{EventKind, TouchOff};
use std::ops::{ControlFlow, Range};

/// Goes on, or the program is ended.
pub(crate) type Flow<T = ()> = ControlFlow<(), T>;

/// How many motions pass between two words to whoever watches.
const WATCHED_EVERY: usize = 8192;

/// A run in progress.
pub(crate) struct Running<'r> {
    pub(crate) cell: &'r mut Cell,
    pub(crate) work: Work<'r>,
    pub(crate) metal: &'r mut dyn Metal,
    pub(crate) operator: &'r mut dyn Operator,
    pub(crate) log: Log,
    /// The cut whose approach or burn is run: index into the list; its length after the last.
    pub(crate) next_cut: usize,
    /// Whether the arc burns to the plate.
    pub(crate) arc: bool,
    /// Whether the control has the torch on.
    pub(crate) torch: bool,
    /// Whether the torch has moved in X or Y since it came on.
    pub(crate) moved: bool,
    /// Whether the control goes on without an arc.
    pub(crate) dry: bool,
    /// Gas that flows: since when, and whether for the arc.
    pub(crate) gas: Option<(Gas, GasFor)>,
    /// Where the control believes the torch to be.
    pub(crate) at: Point<Program>,
    /// When the arc was lit, in seconds, if nothing of it has been made of the plate yet.
    pub(crate) lit_s: Option<f64>,
    /// Whether everything is left as it stands.
    pub(crate) left: bool,
}

/// What gas flows for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum GasFor {
    /// A start: preflow and pilot.
    Start,
    /// The arc.
    Arc,
    /// Post-flow.
    After,
}

/// What breaks in on a stretch of time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Break {
    /// The pending fault of this index.
    Fault(usize),
    /// The pressure falls short.
    Air,
    /// The duty cycle is passed.
    Hot,
    /// There is no metal under the arc.
    NoMetal,
}

/// Whether a break stopped the torch.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Halted {
    /// It stood still and has gone on from there.
    Yes,
    /// It ran on.
    No,
}

impl<'r> Running<'r> {
    pub(crate) fn new(
        cell: &'r mut Cell,
        work: Work<'r>,
        metal: &'r mut dyn Metal,
        operator: &'r mut dyn Operator,
    ) -> Self {
        let from_s = cell.now_s;
        let at = work.motions.from(0);
        Self {
            cell,
            work,
            metal,
            operator,
            log: Log { from_s, ..Log::default() },
            next_cut: 0,
            arc: false,
            torch: false,
            moved: false,
            dry: false,
            gas: None,
            at,
            lit_s: None,
            left: false,
        }
    }

    /// Runs everything.
    pub(crate) fn run(mut self) -> Log {
        // A program that was left standing is ended before another is begun.
        self.command(false);
        self.control(Control::Travelling);
        let motions = self.work.motions;
        for step in Steps::of(motions) {
            let flow = match step {
                Step::Event(event) => self.event(event),
                Step::Height(motion) => self.height(motion),
                Step::Probe(motion) => self.probe(motion),
                Step::Leg(leg) => self.leg(leg),
            };
            if flow.is_break() {
                break;
            }
        }
        self.arc_ends();
        self.end_gas();
        if !self.left {
            self.command(false);
            self.control(Control::Ended);
        }
        self.close()
    }

    /// Does what someone does at a cell that stands.
    pub(crate) fn attend(mut self, acts: &[Act]) -> Log {
        acts.iter().for_each(|act| _ = self.act(*act));
        self.close()
    }

    fn close(mut self) -> Log {
        self.log.to_s = self.cell.now_s;
        // The end of a post-flow is noted when the next thing happens, so it may stand after later events.
        self.log.events.sort_by(|a, b| a.at_s.total_cmp(&b.at_s));
        self.log
    }

    /// The cut that the program is at.
    pub(crate) fn cut(&self) -> Option<&'r Cut> {
        self.work.list.cuts.get(self.next_cut)
    }

    pub(crate) fn cut_id(&self) -> Option<CutId> {
        self.cut().map(|cut| cut.id)
    }

    /// Where the torch really is on the plate.
    pub(crate) fn on_plate(&self) -> Point<Program> {
        self.cell.lies.point(self.at)
    }

    pub(crate) fn note(&mut self, what: Happening) {
        self.log.events.push(Event { at_s: self.cell.now_s, what });
    }

    pub(crate) fn control(&mut self, control: Control) {
        if self.cell.control != control {
            self.cell.control = control;
            self.note(Happening::Control(control));
        }
    }

    pub(crate) fn command(&mut self, given: bool) {
        if self.cell.start_command != given {
            self.cell.start_command = given;
            self.note(Happening::StartCommand(given));
        }
    }

    fn event(&mut self, index: usize) -> Flow {
        match self.work.motions.events()[index].kind {
            EventKind::TorchOn => self.torch_on(index),
            EventKind::TorchOff => self.torch_off(),
            EventKind::Dwell(seconds) => {
                let kind = if self.torch { self.burning_kind() } else { Kind::Wait };
                self.spend(seconds.max(0.0), kind)
            }
            EventKind::TouchOff(how) => {
                self.cell.high_mm = 0.0;
                let here = self.on_plate();
                self.metal.found(here);
                // The time of one that is probed in the text is that of its motion.
                let seconds = if how == TouchOff::Probed { 0.0 } else { self.cell.facts.touch_off_s };
                self.spend(seconds, Kind::TouchOff)
            }
            EventKind::Stop => {
                self.note(Happening::ProgramStop);
                self.control(Control::Paused);
                self.ask(StoppedBy::Program)?;
                self.control(Control::Travelling);
                Flow::Continue(())
            }
            EventKind::End => Flow::Break(()),
            EventKind::HeightControl(_)
            | EventKind::Process(_)
            | EventKind::DatumSet(_)
            | EventKind::Call(_) => Flow::Continue(()),
        }
    }

    /// What time with the torch on goes into.
    fn burning_kind(&self) -> Kind {
        if self.moved { Kind::Cut } else { Kind::Pierce }
    }

    fn height(&mut self, motion: usize) -> Flow {
        let seconds = height_time_s(self.work.motions, motion, &self.cell.facts);
        let kind = if self.torch { self.burning_kind() } else { Kind::Travel };
        self.motion_without_run(motion, seconds, kind)
    }

    fn probe(&mut self, motion: usize) -> Flow {
        let told = probe_time_s(self.work.motions, motion);
        let seconds = told.unwrap_or(self.cell.facts.touch_off_s);
        self.motion_without_run(motion, seconds, Kind::TouchOff)
    }

    fn motion_without_run(&mut self, motion: usize, seconds: f64, kind: Kind) -> Flow {
        let from_s = self.cell.now_s;
        self.spend(seconds, kind)?;
        self.at = self.work.motions.motions()[motion].to;
        self.keep(motion, from_s, None)
    }

    /// Keeps a motion that was run, and tells whoever waits.
    fn keep(&mut self, motion: usize, from_s: f64, run: Option<Run>) -> Flow {
        if self.work.keep_motions {
            self.log.motions.push(MotionRun { from_s, to_s: self.cell.now_s, run });
        }
        match self.work.watch {
            Some(watch) if motion.is_multiple_of(WATCHED_EVERY) => watch(motion),
            _ => Flow::Continue(()),
        }
    }

    /// Lets `seconds` go by with the torch at rest.
    pub(crate) fn spend(&mut self, seconds: f64, kind: Kind) -> Flow {
        let mut left_s = seconds;
        while let Some((after_s, cause)) = self.pass(left_s, kind) {
            left_s -= after_s;
            self.broken(cause, None)?;
        }
        Flow::Continue(())
    }

    fn leg(&mut self, leg: Range<usize>) -> Flow {
        let (mut rest, mut from_mm) = (leg, 0.0);
        loop {
            let plan = planned(self.work.motions, rest.clone(), from_mm, &self.cell.facts);
            let mut halted = None;
            for step in &plan {
                if let Some(along_mm) = self.motion(step)? {
                    let begun_mm = if step.motion == rest.start { from_mm } else { 0.0 };
                    halted = Some((step.motion, begun_mm + along_mm));
                    break;
                }
            }
            let Some((motion, along_mm)) = halted else { return Flow::Continue(()) };
            (rest, from_mm) = (motion..rest.end, along_mm);
        }
    }

    /// Runs one motion; gives how far it came if the torch was halted in it.
    fn motion(&mut self, step: &Planned) -> Flow<Option<f64>> {
        let from_s = self.cell.now_s;
        let Some(run) = step.run else {
            self.at = self.work.motions.motions()[step.motion].to;
            self.keep(step.motion, from_s, None)?;
            return Flow::Continue(None);
        };
        let kind = if self.torch { Kind::Cut } else { Kind::Travel };
        self.moved |= self.torch;
        let length_mm = step.curve.length_mm();
        let whole_s = run.time_s();
        let (mut done_s, mut done_mm) = (0.0, 0.0);
        // Where one fault has struck at the end another may strike as well.
        let mut struck = false;
        while done_mm < length_mm || struck {
            let due = self.due_in(step, &run, done_s, done_mm);
            let first = self.first_break(whole_s - done_s, &due);
            let mut to_mm = match first {
                None => length_mm,
                Some((after_s, _)) => run.along_at_mm(done_s + after_s).max(done_mm),
            };
            let mut broken = first;
            if let Some(out_mm) = self.burn(step, done_mm..to_mm) {
                to_mm = out_mm;
                broken = Some(((run.time_at_s(out_mm) - done_s).max(0.0), Break::NoMetal));
            }
            let after_s = broken.map_or(whole_s - done_s, |(after_s, _)| after_s);
            self.clock(after_s, kind);
            self.travelled(step, done_mm..to_mm);
            self.at = step.curve.point_at(to_mm);
            (done_s, done_mm) = (done_s + after_s, to_mm);
            let Some((_, cause)) = broken else { break };
            struck = matches!(cause, Break::Fault(_));
            if self.broken(cause, Some((step.motion, to_mm)))? == Halted::Yes {
                return Flow::Continue(Some(to_mm));
            }
        }
        self.at = self.work.motions.motions()[step.motion].to;
        self.keep(step.motion, from_s, Some(run))?;
        Flow::Continue(None)
    }

    /// Tells the plate of a stretch that the torch has travelled with nothing lit.
    fn travelled(&mut self, step: &Planned, stretch: Range<f64>) {
        if self.torch || stretch.end - stretch.start <= SAME_POINT_MM {
            return;
        }
        let motions = self.work.motions;
        let heights = [motions.z_from(step.motion), motions.motions()[step.motion].z];
        let curve = step.curve.piece(stretch.start, stretch.end).placed(&self.cell.lies);
        self.metal.travelled(&Travel { curve, heights });
    }

    /// What is due at a place within a motion, and after how long.
    fn due_in(&mut self, step: &Planned, run: &Run, done_s: f64, done_mm: f64) -> Vec<(f64, Break)> {
        if self.cell.pending.is_empty() {
            return Vec::new();
        }
        // One that has struck is pending no more, so that several may strike at one place.
        let places = self.places_in(step).into_iter();
        let places = places.filter(|(place_mm, _)| *place_mm >= done_mm - SAME_POINT_MM);
        places
            .map(|(place_mm, fault)| ((run.time_at_s(place_mm) - done_s).max(0.0), Break::Fault(fault)))
            .collect()
    }

    /// Pending faults that strike at a place within a motion, with that place in millimetres along it.
    fn places_in(&self, step: &Planned) -> Vec<(f64, usize)> {
        let Some((cut, along)) = self.along_of(step) else { return Vec::new() };
        // A fault at the end of a cut, or past it, strikes at its end.
        let is_last = self.cut().is_some_and(|cut| along.end >= cut.path.length_mm() - SAME_POINT_MM);
        let length_mm = step.curve.length_mm();
        let faults = self.cell.pending.iter().enumerate();
        // Where two motions meet, arithmetic may put a place a hair past the end of the one and before the other.
        let from_mm = along.start - SAME_POINT_MM;
        faults
            .filter_map(|(k, fault)| match fault.when {
                crate::When::Place { cut: at, along_mm } if at == cut => Some((along_mm, k)),
                _ => None,
            })
            .filter(|(along_mm, _)| from_mm <= *along_mm && (*along_mm < along.end || is_last))
            .map(|(along_mm, k)| ((along_mm - along.start).clamp(0.0, length_mm), k))
            .collect()
    }

    /// The stretch of the cut's path that a planned motion runs, in millimetres along it.
    fn along_of(&self, step: &Planned) -> Option<(CutId, Range<f64>)> {
        let cut = self.cut()?;
        let motion = u32::try_from(step.motion).ok()?;
        let along = cut.along_of_motion_mm(motion)?;
        // A motion that goes on after a halt is planned from there.
        Some((cut.id, along.end - step.curve.length_mm()..along.end))
    }

    /// Burns a stretch of a motion, if the arc burns. Gives the place along the motion at which it goes out for want of
    /// metal.
    fn burn(&mut self, step: &Planned, stretch: Range<f64>) -> Option<f64> {
        if !self.arc || stretch.end - stretch.start <= SAME_POINT_MM {
            return None;
        }
        self.begin_burn();
        let groove_from = self.groove_from(step, &stretch);
        let pieces =
            [(stretch.start..groove_from, Depth::Through), (groove_from..stretch.end, Depth::Groove)];
        let long = pieces.into_iter().filter(|(piece, _)| piece.end - piece.start > SAME_POINT_MM);
        for (piece, depth) in long {
            let out_mm = self.burn_at(step, piece.clone(), depth);
            if let Some(out_mm) = out_mm {
                return Some(piece.start + out_mm);
            }
        }
        None
    }

    /// Tells the plate what the arc has done where it was lit, once.
    pub(crate) fn begin_burn(&mut self) {
        let Some(lit_s) = self.lit_s.take() else { return };
        let grooves = self.cell.groove_mm > 0.0 || self.cut().is_some_and(|cut| cut.is_mark);
        let begins = self.cut().is_none_or(|cut| cut.pierce.at.distance(self.at) <= SAME_POINT_MM);
        let begun = Begun {
            at: self.on_plate(),
            cut: self.cut_id(),
            begins,
            waited_s: self.cell.now_s - lit_s,
            depth: if grooves { Depth::Groove } else { Depth::Through },
        };
        self.metal.begun(&begun);
    }

    /// From where on a stretch does not come through, in millimetres along the motion; its end if all of it does.
    fn groove_from(&mut self, step: &Planned, stretch: &Range<f64>) -> f64 {
        if self.cut().is_some_and(|cut| cut.is_mark) {
            return stretch.start;
        }
        if self.cell.groove_mm > 0.0 {
            self.cell.groove_mm -= stretch.end - stretch.start;
            return stretch.start;
        }
        let Some((cut, along)) = self.along_of(step) else { return stretch.end };
        let lags = self.cell.pending.iter().filter_map(|fault| match (fault.what, fault.when) {
            (crate::Trouble::ArcLostBottomLagging { lag_mm }, crate::When::Place { cut: at, along_mm })
                if at == cut =>
            {
                Some(along_mm - lag_mm - along.start)
            }
            _ => None,
        });
        lags.fold(f64::INFINITY, f64::min).clamp(stretch.start, stretch.end)
    }

    fn burn_at(&mut self, step: &Planned, piece: Range<f64>, depth: Depth) -> Option<f64> {
        let curve = step.curve.piece(piece.start, piece.end);
        let along = self.along_of(step);
        let from_mm = along.as_ref().map_or(0.0, |(_, along)| along.start) + piece.start;
        let cut = along.map(|(cut, _)| cut);
        let burning = Burning {
            curve: curve.placed(&self.cell.lies),
            cut,
            from_mm,
            depth,
            wider_mm: self.cell.wider_mm(),
            wanted_mm_per_s: wanted(self.work.motions, step.motion),
            lies: self.cell.lies,
        };
        let out_mm = self.metal.burn(&burning);
        let burnt_mm = out_mm.unwrap_or_else(|| curve.length_mm());
        if let Some(cut) = cut.filter(|_| burnt_mm > SAME_POINT_MM) {
            self.note_burnt(Burnt { cut, along_mm: from_mm..from_mm + burnt_mm, depth });
        }
        out_mm
    }

    fn note_burnt(&mut self, burnt: Burnt) {
        match self.log.burnt.last_mut() {
            Some(last)
                if last.cut == burnt.cut
                    && last.depth == burnt.depth
                    && (last.along_mm.end - burnt.along_mm.start).abs() <= SAME_POINT_MM =>
            {
                last.along_mm.end = burnt.along_mm.end;
            }
            _ => self.log.burnt.push(burnt),
        }
    }

    /// Lets at most `seconds` pass; gives what broke in first and after how long.
    pub(crate) fn pass(&mut self, seconds: f64, kind: Kind) -> Option<(f64, Break)> {
        let first = self.first_break(seconds, &[]);
        self.clock(first.map_or(seconds, |(after_s, _)| after_s), kind);
        first
    }

    /// What breaks in first within `seconds`, and after how long.
    fn first_break(&self, seconds: f64, due: &[(f64, Break)]) -> Option<(f64, Break)> {
        let mut first: Option<(f64, Break)> = None;
        let mut offer = |after_s: f64, cause: Break| {
            if after_s <= seconds && first.is_none_or(|(sooner, _)| after_s < sooner) {
                first = Some((after_s, cause));
            }
        };
        for (after_s, cause) in due {
            offer(*after_s, *cause);
        }
        for (k, fault) in self.cell.pending.iter().enumerate() {
            if let crate::When::Time(at_s) = fault.when
                && (self.arc || !fault.what.needs_arc())
            {
                offer((at_s - self.cell.now_s).max(0.0), Break::Fault(k));
            }
        }
        if self.cell.trips || !self.cell.ails.is_empty() {
            if let Some(after_s) = self.air_short_after(seconds) {
                offer(after_s, Break::Air);
            }
            // Heat puts out an arc that burns; a start on a hot source is refused when it is tried.
            if self.arc
                && let Some(after_s) = self.hot_after(seconds)
            {
                offer(after_s, Break::Hot);
            }
        }
        first
    }

    /// Moves the clock on.
    fn clock(&mut self, seconds: f64, kind: Kind) {
        if seconds <= 0.0 {
            return;
        }
        let (from_s, cut) = (self.cell.now_s, self.cut_id());
        self.cell.now_s += seconds;
        let to_s = self.cell.now_s;
        if let Some(burn) = self.cell.burns.last_mut().filter(|_| self.arc) {
            burn.to_s = to_s;
        }
        match self.log.spells.last_mut() {
            Some(last) if last.kind == kind && last.cut == cut => last.to_s = to_s,
            _ => self.log.spells.push(Spell { from_s, to_s, kind, cut }),
        }
    }

    fn torch_off(&mut self) -> Flow {
        self.stays_on()?;
        self.arc_ends();
        self.metal.went_out();
        self.command(false);
        let (was_on, was_dry) = (self.torch, self.dry && self.torch);
        (self.torch, self.moved, self.dry) = (false, false, false);
        if was_dry {
            self.ran_dry()?;
        }
        if was_on && self.cut().is_some() {
            self.next_cut += 1;
        }
        Flow::Continue(())
    }

    /// An arc that does not go out blows a hole until somebody isolates the source.
    fn stays_on(&mut self) -> Flow {
        let Some(diameter_mm) = self.cell.stays_on_mm.filter(|_| self.arc) else { return Flow::Continue(()) };
        self.cell.stays_on_mm = None;
        let at = self.on_plate();
        self.begin_burn();
        self.note(Happening::ArcStays);
        self.metal.blown(at, diameter_mm);
        self.note(Happening::HoleBlown { at, diameter_mm });
        self.arc_ends();
        self.control(Control::Paused);
        self.ask(StoppedBy::ArcStays)?;
        self.control(Control::Travelling);
        Flow::Continue(())
    }

    fn ran_dry(&mut self) -> Flow {
        if self.cell.dry_cuts > 0 {
            self.cell.dry_cuts -= 1;
            if self.cell.dry_cuts > 0 {
                return Flow::Continue(());
            }
        }
        self.control(Control::Paused);
        self.ask(StoppedBy::Dry)?;
        self.control(Control::Travelling);
        Flow::Continue(())
    }

    /// Closes the gas that flows, at the latest when its post-flow is over.
    pub(crate) fn end_gas(&mut self) {
        let Some((mut gas, what_for)) = self.gas.take() else { return };
        gas.to_s = match what_for {
            GasFor::After => self.cell.now_s.min(gas.from_s + self.cell.facts.post_flow_s),
            GasFor::Start | GasFor::Arc => self.cell.now_s,
        };
        if gas.to_s > gas.from_s {
            self.log.gas.push(gas);
            self.draw_air(&gas);
        }
    }

    /// Gas begins to flow for something else.
    pub(crate) fn begin_gas(&mut self, what_for: GasFor) {
        self.end_gas();
        let (from_s, arc) = (self.cell.now_s, what_for == GasFor::Arc);
        let gas = Gas { from_s, to_s: from_s, arc, start: self.cell.starts, cut: self.cut_id() };
        self.gas = Some((gas, what_for));
    }

    /// Why a break puts the arc out.
    pub(crate) const fn why(cause: Break) -> Why {
        match cause {
            Break::Air => Why::Air,
            Break::Hot => Why::Hot,
            Break::NoMetal => Why::NoMetal,
            Break::Fault(_) => Why::Fault,
        }
    }
}
