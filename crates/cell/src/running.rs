//! A run in progress: the program's steps in order, the clock, and what breaks in.

use crate::cell::{Cell, Work};
use crate::event::{Burnt, Control, Event, Gas, Happening, Kind, Log, MotionRun, Spell, Why};
use crate::metal::{Burning, Metal};
use crate::motion::Run;
use crate::operator::{Operator, StoppedBy};
use crate::steps::{Planned, Step, Steps, height_time_s, planned, probe_time_s};
use cuts::{Cut, CutId, Depth};
use geometry::{Curve, Point, Program, SAME_POINT_MM};
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
    /// How far the arc has burnt over a void by now, in millimetres.
    void_mm: f64,
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
            void_mm: 0.0,
        }
    }

    /// Runs everything.
    pub(crate) fn run(mut self) -> Log {
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
        self.command(false);
        self.control(Control::Ended);
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
        self.keep(motion, from_s, None);
        Flow::Continue(())
    }

    fn keep(&mut self, motion: usize, from_s: f64, run: Option<Run>) {
        if self.work.keep_motions {
            self.log.motions.push(MotionRun { from_s, to_s: self.cell.now_s, run });
        }
        if let Some(watch) = self.work.watch.filter(|_| motion.is_multiple_of(WATCHED_EVERY)) {
            watch(motion);
        }
    }

    /// Lets `seconds` go by with the torch at rest.
    pub(crate) fn spend(&mut self, seconds: f64, kind: Kind) -> Flow {
        let mut left_s = seconds;
        while let Some((after_s, cause)) = self.pass(left_s, kind, &[]) {
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
            self.keep(step.motion, from_s, None);
            return Flow::Continue(None);
        };
        let kind = if self.torch { Kind::Cut } else { Kind::Travel };
        self.moved |= self.torch;
        let length_mm = step.curve.length_mm();
        let whole_s = run.time_s();
        let (mut done_s, mut done_mm) = (0.0, 0.0);
        while done_mm < length_mm {
            let due = self.due_in(step, &run, done_s, done_mm);
            let broken = self.pass(whole_s - done_s, kind, &due);
            let to_mm = match broken {
                None => length_mm,
                Some((after_s, _)) => {
                    done_s += after_s;
                    run.along_at_mm(done_s).max(done_mm)
                }
            };
            self.burn(step, done_mm..to_mm);
            self.at = step.curve.point_at(to_mm);
            done_mm = to_mm;
            let Some((_, cause)) = broken else { break };
            if self.broken(cause, Some((step.motion, to_mm)))? == Halted::Yes {
                return Flow::Continue(Some(to_mm));
            }
        }
        self.at = self.work.motions.motions()[step.motion].to;
        self.keep(step.motion, from_s, Some(run));
        Flow::Continue(None)
    }

    /// What is due at a place within a motion, and after how long.
    fn due_in(&mut self, step: &Planned, run: &Run, done_s: f64, done_mm: f64) -> Vec<(f64, Break)> {
        let mut due = Vec::new();
        if !self.cell.pending.is_empty() {
            for (place_mm, fault) in self.places_in(step) {
                if place_mm >= done_mm {
                    due.push(((run.time_at_s(place_mm) - done_s).max(0.0), Break::Fault(fault)));
                }
            }
        }
        if self.arc {
            let rest = step.curve.piece(done_mm, step.curve.length_mm());
            let burning = self.burning(step.motion, &rest, done_mm, Depth::Through);
            let voids = self.metal.voids(&burning, self.void_mm);
            match voids.out_at_mm {
                Some(out_mm) => {
                    due.push(((run.time_at_s(done_mm + out_mm) - done_s).max(0.0), Break::NoMetal));
                }
                None => self.void_mm = voids.at_end_mm,
            }
        }
        due
    }

    /// Pending faults that strike at a place within a motion, with that place in millimetres along it.
    fn places_in(&self, step: &Planned) -> Vec<(f64, usize)> {
        let Some((cut, along)) = self.along_of(step) else { return Vec::new() };
        let faults = self.cell.pending.iter().enumerate();
        faults
            .filter_map(|(k, fault)| match fault.when {
                crate::When::Place { cut: at, along_mm } if at == cut => Some((along_mm, k)),
                _ => None,
            })
            .filter(|(along_mm, _)| along.start <= *along_mm && *along_mm < along.end)
            .map(|(along_mm, k)| (along_mm - along.start, k))
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

    fn burning(&self, motion: usize, curve: &Curve<Program>, done_mm: f64, depth: Depth) -> Burning {
        let planned = Planned { motion, curve: *curve, run: None };
        let along = self.along_of(&planned);
        Burning {
            curve: curve.placed(&self.cell.lies),
            cut: along.as_ref().map(|(cut, _)| *cut),
            from_mm: along.map_or(done_mm, |(_, along)| along.start),
            depth,
        }
    }

    /// Burns a stretch of a motion, if the arc burns.
    fn burn(&mut self, step: &Planned, stretch: Range<f64>) {
        if !self.arc || stretch.end - stretch.start <= SAME_POINT_MM {
            return;
        }
        let groove_from = self.groove_from(step, &stretch);
        for (piece, depth) in
            [(stretch.start..groove_from, Depth::Through), (groove_from..stretch.end, Depth::Groove)]
        {
            if piece.end - piece.start > SAME_POINT_MM {
                self.burn_at(step, piece, depth);
            }
        }
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

    fn burn_at(&mut self, step: &Planned, piece: Range<f64>, depth: Depth) {
        let curve = step.curve.piece(piece.start, piece.end);
        let along = self.along_of(step);
        let from_mm = along.as_ref().map_or(0.0, |(_, along)| along.start) + piece.start;
        let cut = along.map(|(cut, _)| cut);
        self.metal.burnt(&Burning { curve: curve.placed(&self.cell.lies), cut, from_mm, depth });
        let Some(cut) = cut else { return };
        let to_mm = from_mm + curve.length_mm();
        match self.log.burnt.last_mut() {
            Some(last)
                if last.cut == cut
                    && last.depth == depth
                    && (last.along_mm.end - from_mm).abs() <= SAME_POINT_MM =>
            {
                last.along_mm.end = to_mm;
            }
            _ => self.log.burnt.push(Burnt { cut, along_mm: from_mm..to_mm, depth }),
        }
    }

    /// Lets at most `seconds` pass; gives what broke in first and after how long.
    pub(crate) fn pass(&mut self, seconds: f64, kind: Kind, due: &[(f64, Break)]) -> Option<(f64, Break)> {
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
            if let Some(after_s) = self.hot_after(seconds) {
                offer(after_s, Break::Hot);
            }
        }
        self.clock(first.map_or(seconds, |(after_s, _)| after_s), kind);
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
        self.arc_ends();
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
