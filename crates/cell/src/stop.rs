//! When something breaks in: faults strike, arcs are lost, and someone is asked.

use crate::duty::{Burn, PERIOD_S, allowed_share, burnt_before};
use crate::event::{Code, Control, Gas, Happening, Kind, Source, Why};
use crate::fault::{Fault, Trouble};
use crate::metal::Begun;
use crate::operator::{ACTS_MOST, Act, Stopped, StoppedBy};
use crate::running::{Break, Flow, GasFor, Halted, Running};
use cuts::Depth;
use geometry::{Placement, Point, Program};
use shop::{AwaitsArc, StandingStart};

/// How far ahead in one stretch of time the pressure is followed, in seconds: a day. What has not fallen short by then
/// does not, since the compressor has long settled into its rhythm.
const HORIZON_S: f64 = 86_400.0;

/// How an operator lets the program go on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Go {
    /// With a new start command.
    Again,
    /// As it is.
    On,
}

impl Running<'_> {
    /// Works off what broke in, in a motion at a place along it or at rest. Says whether the torch was halted.
    pub(crate) fn broken(&mut self, cause: Break, along: Option<(usize, f64)>) -> Flow<Halted> {
        match cause {
            Break::Fault(k) => {
                let fault = self.cell.pending.remove(k);
                self.strikes(fault, along)
            }
            Break::Air | Break::Hot | Break::NoMetal => {
                if self.arc {
                    return self.lose_arc(Self::why(cause), along);
                }
                Flow::Continue(Halted::No)
            }
        }
    }

    fn strikes(&mut self, fault: Fault, along: Option<(usize, f64)>) -> Flow<Halted> {
        let what = fault.what;
        self.note(Happening::Strikes(what));
        self.metal.struck();
        if what.lasts() {
            self.cell.ails.push(what);
        }
        let puts_out = match what {
            Trouble::NoAir => Some(Why::Air),
            Trouble::SourceOff => Some(Why::SourceOff),
            Trouble::WorkLeadOff => Some(Why::WorkLead),
            Trouble::ConsumablesWorn { .. } | Trouble::ConsumablesWrong => Some(Why::Consumables),
            Trouble::ArcLost | Trouble::ArcLostBottomLagging { .. } => Some(Why::Fault),
            Trouble::AirFalling | Trouble::HoseKinked { .. } => self.cell.no_air().then_some(Why::Air),
            _ => None,
        };
        match what {
            Trouble::TouchOffFooled { high_mm } => self.cell.high_mm = high_mm,
            Trouble::SheetFlexes { by_mm } => self.cell.high_mm = -by_mm,
            Trouble::PlateMoved(moved) => {
                // The torch stays; the plate goes: places on the plate go the other way.
                self.cell.lies = self.cell.lies.then(&moved.inverse());
            }
            Trouble::StepsLost { by_mm } | Trouble::WrongDatum { by_mm } => self.shift(by_mm),
            Trouble::TipUpStruck { by_mm } => {
                self.shift(by_mm);
                return self.halt(StoppedBy::Struck, along);
            }
            Trouble::PowerCut { lost_mm } => return self.power_cut(lost_mm, along),
            Trouble::StoppedByHand => return self.halt(StoppedBy::Hand, along),
            Trouble::ArcStaysOn { diameter_mm } => self.cell.stays_on_mm = Some(diameter_mm),
            Trouble::Groove { for_mm } => self.cell.groove_mm = for_mm,
            Trouble::BlownHole { diameter_mm } => self.cell.blown_mm = Some(diameter_mm),
            Trouble::RunsDry { cuts } => {
                self.cell.dry_cuts = cuts.max(1);
                if self.arc {
                    self.arc_ends();
                    self.goes_dry();
                }
            }
            Trouble::WrongReport { kerf_mm, cuts } => self.cell.misreports = Some((kerf_mm, cuts)),
            _ => {}
        }
        match puts_out.filter(|_| self.arc) {
            Some(why) => self.lose_arc(why, along),
            None => Flow::Continue(Halted::No),
        }
    }

    fn shift(&mut self, by_mm: [f64; 2]) {
        let by: Placement<Program, Program> = Placement::new(0.0, Point::new(by_mm[0], by_mm[1]));
        self.cell.lies = self.cell.lies.then(&by);
    }

    fn power_cut(&mut self, lost_mm: [f64; 2], along: Option<(usize, f64)>) -> Flow<Halted> {
        if self.arc {
            self.note(Happening::ArcLost(Why::Power));
        }
        self.arc_ends();
        self.source(Source::Off);
        self.command(false);
        if !self.cell.facts.keeps_position {
            self.note(Happening::PositionLost);
            self.shift(lost_mm);
        }
        self.halt(StoppedBy::PowerCut, along)
    }

    /// The arc goes out with the torch on.
    pub(crate) fn lose_arc(&mut self, why: Why, along: Option<(usize, f64)>) -> Flow<Halted> {
        self.arc_ends();
        match why {
            Why::Air => self.source(Source::Faulted(Code::Air)),
            Why::Hot => self.source(Source::Faulted(Code::Hot)),
            Why::SourceOff | Why::Power => self.source(Source::Off),
            _ => {}
        }
        self.note(Happening::ArcLost(why));
        if self.cell.facts.awaits_arc == AwaitsArc::No {
            self.goes_dry();
            return Flow::Continue(Halted::No);
        }
        self.halt(StoppedBy::ArcLost(why), along)
    }

    /// The torch stops and someone is asked; then it is lit again where it stands, if it was on.
    fn halt(&mut self, by: StoppedBy, along: Option<(usize, f64)>) -> Flow<Halted> {
        if let Some((motion, along_mm)) = along {
            self.note(Happening::Halted { motion: u32::try_from(motion).unwrap_or(u32::MAX), along_mm });
        }
        self.arc_ends();
        self.control(Control::Paused);
        // A control that waits for ever leaves its start command standing.
        if self.cell.facts.awaits_arc != AwaitsArc::ForEver {
            self.command(false);
        }
        match self.ask(by)? {
            Go::Again if self.torch => {
                self.command(false);
                self.light()?;
            }
            Go::On if self.torch => self.goes_dry(),
            Go::Again | Go::On => {}
        }
        self.control(Control::Travelling);
        self.note(Happening::Resumed);
        Flow::Continue(Halted::Yes)
    }

    /// Asks the operator until the program goes on or is ended.
    pub(crate) fn ask(&mut self, by: StoppedBy) -> Flow<Go> {
        for _ in 0..ACTS_MOST {
            let stopped = Stopped {
                at_s: self.cell.now_s,
                by,
                control: self.cell.control,
                source: self.cell.source,
                start_command: self.cell.start_command,
                cut: self.cut_id(),
                at: self.at,
                misreports: self.cell.misreports,
            };
            let act = self.operator.acts(&stopped, &self.log);
            if let Some(flow) = self.act(act) {
                return flow;
            }
        }
        Flow::Break(())
    }

    /// Does one thing; gives how the program goes on, if it does or is ended.
    pub(crate) fn act(&mut self, act: Act) -> Option<Flow<Go>> {
        match act {
            Act::StartAgain => return Some(Flow::Continue(Go::Again)),
            Act::GoOn => return Some(Flow::Continue(Go::On)),
            Act::End => return Some(Flow::Break(())),
            Act::Leave => {
                self.left = true;
                return Some(Flow::Break(()));
            }
            Act::TakeStartAway => self.command(false),
            Act::Mend(trouble) => self.cell.mend(trouble),
            Act::HandsOn => self.hands_on(),
            Act::OffAndOn => {
                self.switch_off();
                self.switch_on();
            }
            Act::SwitchOff => self.switch_off(),
            Act::SwitchOn => self.switch_on(),
            Act::Wait(seconds) => self.wait(seconds),
        }
        None
    }

    fn wait(&mut self, seconds: f64) {
        let mut left_s = seconds.max(0.0);
        while let Some((after_s, cause)) = self.pass(left_s, Kind::Wait) {
            left_s -= after_s;
            // What strikes while all is at rest shows at the next start.
            if let Break::Fault(k) = cause {
                let fault = self.cell.pending.remove(k);
                self.note(Happening::Strikes(fault.what));
                if fault.what.lasts() {
                    self.cell.ails.push(fault.what);
                }
            }
        }
    }

    fn hands_on(&mut self) {
        let live = !matches!(self.cell.source, Source::Off);
        if self.cell.start_command && live {
            self.note(Happening::HandsInDanger);
        }
    }

    fn switch_off(&mut self) {
        self.end_gas();
        self.source(Source::Off);
    }

    fn switch_on(&mut self) {
        if self.cell.source != Source::Off {
            return;
        }
        if self.cell.ails.iter().any(|ail| matches!(ail, Trouble::SourceOff)) {
            return;
        }
        if !self.cell.start_command {
            self.source(Source::Ready);
            return;
        }
        match self.cell.facts.standing_start {
            StandingStart::Ignored => self.source(Source::Ready),
            StandingStart::Latches => self.source(Source::Faulted(Code::Stood)),
            StandingStart::Fires => {
                self.source(Source::Ready);
                self.note(Happening::FiresUnasked);
                let (at, depth) = (self.on_plate(), Depth::Through);
                self.metal.begun(&Begun { at, cut: None, begins: true, waited_s: 0.0, depth });
            }
        }
    }

    /// The source changes its state.
    pub(crate) fn source(&mut self, source: Source) {
        if self.cell.source != source {
            self.cell.source = source;
            self.note(Happening::Source(source));
        }
    }

    /// The arc begins to burn.
    pub(crate) fn arc_begins(&mut self) {
        let now_s = self.cell.now_s;
        self.cell.burns.push(Burn { from_s: now_s, to_s: now_s, weight: 1.0 });
    }

    /// The arc ends, if it burns: post-flow begins.
    pub(crate) fn arc_ends(&mut self) {
        if !self.arc {
            return;
        }
        self.begin_burn();
        self.arc = false;
        self.metal.went_out();
        if let Some(burn) = self.cell.burns.last_mut() {
            burn.to_s = self.cell.now_s;
        }
        self.begin_gas(GasFor::After);
        self.source(Source::PostFlow);
    }

    /// After how long, within `seconds`, the pressure falls short while gas flows.
    pub(crate) fn air_short_after(&self, seconds: f64) -> Option<f64> {
        let (gas, what_for) = self.gas.as_ref()?;
        if *what_for == GasFor::After {
            return None;
        }
        if self.cell.no_air() {
            return Some(0.0);
        }
        let (plant, least_bar) = (self.cell.plant_now()?, self.cell.facts.pressure_min_bar?);
        let (flow, mut receiver) = (self.flow(gas.arc)?, self.cell.receiver?);
        plant.step(&mut receiver, gas.from_s, None, &mut Vec::new());
        let until_s = self.cell.now_s + seconds.min(HORIZON_S);
        let at_s = plant.falls_short_at(receiver, until_s, flow, least_bar)?;
        Some((at_s - self.cell.now_s).max(0.0))
    }

    fn flow(&self, arc: bool) -> Option<f64> {
        if arc { self.cell.facts.cut_flow_l_per_min } else { self.cell.facts.gas_flow_l_per_min }
    }

    /// The receiver after `gas` has been drawn.
    pub(crate) fn draw_air(&mut self, gas: &Gas) {
        if !self.cell.trips {
            return;
        }
        let (Some(plant), Some(flow)) = (self.cell.plant_now(), self.flow(gas.arc)) else { return };
        let Some(receiver) = self.cell.receiver.as_mut() else { return };
        plant.step(receiver, gas.from_s, None, &mut Vec::new());
        plant.step(receiver, gas.to_s, Some((0, flow)), &mut Vec::new());
    }

    /// After how long, within `seconds`, the source has burnt as long as it may; with no arc, whether it has by now.
    pub(crate) fn hot_after(&self, seconds: f64) -> Option<f64> {
        let process = self.cell.facts.process(self.cut().and_then(|cut| cut.process));
        let share = allowed_share(&self.cell.facts.rated, process.current_a?)?;
        let (now_s, most_s) = (self.cell.now_s, share * PERIOD_S);
        if share >= 1.0 {
            return None;
        }
        if !self.arc {
            let passed = burnt_before(&self.cell.burns, now_s) >= most_s;
            return passed.then_some(0.0).filter(|_| seconds <= 0.0);
        }
        if burnt_before(&self.cell.burns, now_s) + seconds <= most_s {
            return None;
        }
        let recent = self.cell.burns.partition_point(|burn| burn.to_s <= now_s - PERIOD_S);
        let mut burns = self.cell.burns[recent..].to_vec();
        burns.last_mut()?.to_s = now_s + seconds;
        let burnt_s = |at_s: f64| burnt_before(&burns, at_s);
        if burnt_s(now_s + seconds) <= most_s {
            return None;
        }
        Some((crate::duty::bisect(now_s, now_s + seconds, |at_s| burnt_s(at_s) > most_s) - now_s).max(0.0))
    }
}
