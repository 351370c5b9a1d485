//! Starts: from the start command to transfer, or not.

use crate::event::{Code, Control, Happening, Kind, Source, Why};
use crate::facts::{BETWEEN_TRIES_S, PILOT_GIVES_UP_S, PILOT_REACH_MM};
use crate::fault::{Trouble, When};
use crate::metal::{Starting, Under};
use crate::operator::StoppedBy;
use crate::running::{Break, Flow, GasFor, Running};
use crate::stop::Go;
use nc::HeightBase;
use shop::{AwaitsArc, ClearsBy};

/// How a try ended.
type Tried = Result<(), Why>;

impl Running<'_> {
    /// The program's start command: until the arc burns, or the control goes on without it.
    pub(crate) fn torch_on(&mut self, event: usize) -> Flow {
        self.next_cut = self.work.list.cuts.partition_point(|cut| (cut.torch_on as usize) < event);
        (self.torch, self.moved, self.dry) = (true, false, false);
        self.light()?;
        let delays = self.cell.facts.delays_pierce && self.arc;
        let process = self.cell.facts.process(self.cut().and_then(|cut| cut.process));
        let delay_s = process.pierce_delay_s.filter(|_| delays).unwrap_or(0.0);
        self.spend(delay_s, Kind::Pierce)?;
        self.blow_hole()
    }

    /// Tries until the arc burns, the control goes on dry, or the program is ended.
    pub(crate) fn light(&mut self) -> Flow {
        self.control(Control::AwaitingArc);
        self.command(true);
        let mut tries_left = match self.cell.facts.awaits_arc {
            AwaitsArc::Retries(tries) => tries,
            AwaitsArc::ForEver | AwaitsArc::TimesOut(_) | AwaitsArc::No => 0,
        };
        loop {
            let begun_s = self.cell.now_s;
            let Err(why) = self.attempt()? else { break };
            self.note(Happening::Misfire(why));
            match self.cell.facts.awaits_arc {
                AwaitsArc::No => {
                    self.goes_dry();
                    break;
                }
                AwaitsArc::Retries(_) if tries_left > 0 => {
                    tries_left -= 1;
                    self.command(false);
                    self.spend(BETWEEN_TRIES_S, Kind::Wait)?;
                    self.command(true);
                    continue;
                }
                AwaitsArc::Retries(_) => self.command(false),
                AwaitsArc::TimesOut(after) => {
                    self.spend((after.s() - (self.cell.now_s - begun_s)).max(0.0), Kind::Wait)?;
                    self.command(false);
                }
                // It waits, and the start command stands.
                AwaitsArc::ForEver => {}
            }
            if self.cell.facts.awaits_arc != AwaitsArc::ForEver {
                self.control(Control::Paused);
            }
            match self.ask(StoppedBy::Misfire(why))? {
                Go::Again => {
                    self.control(Control::AwaitingArc);
                    self.command(false);
                    self.command(true);
                }
                Go::On => {
                    self.goes_dry();
                    break;
                }
            }
        }
        self.control(Control::Travelling);
        Flow::Continue(())
    }

    pub(crate) fn goes_dry(&mut self) {
        self.dry = true;
        self.note(Happening::Dry);
    }

    /// One try.
    fn attempt(&mut self) -> Flow<Tried> {
        self.cell.starts += 1;
        let (number, cut, at) = (self.cell.starts, self.cut_id(), self.on_plate());
        self.note(Happening::Start { number, cut, at });
        self.strike_at_start(number)?;
        if self.cell.dry_cuts > 0 {
            self.goes_dry();
            return Flow::Continue(Ok(()));
        }
        if let Some(why) = self.not_ready() {
            return Flow::Continue(Err(why));
        }
        self.begin_gas(GasFor::Start);
        self.source(Source::Preflow);
        if let Some(why) = self.endure(self.cell.facts.preflow_s)? {
            return Flow::Continue(Err(self.fails(why)));
        }
        self.source(Source::Pilot);
        let reached = self.reaches();
        let refused = reached.err();
        let pilot_s = if refused.is_some() { PILOT_GIVES_UP_S } else { self.cell.facts.transfer_s };
        let short = self.endure(pilot_s)?;
        let gone = self.cell.ails.iter().any(|ail| matches!(ail, Trouble::SourceOff));
        match short.or(refused).or(gone.then_some(Why::SourceOff)) {
            Some(why) => Flow::Continue(Err(self.fails(why))),
            None => {
                self.transfers(reached.unwrap_or(Under::Metal));
                Flow::Continue(Ok(()))
            }
        }
    }

    fn strike_at_start(&mut self, number: u32) -> Flow {
        while let Some(k) = self.cell.pending.iter().position(|fault| fault.when == When::Start(number)) {
            self.broken(Break::Fault(k), None)?;
        }
        Flow::Continue(())
    }

    /// Why the source does not even begin; clears what a new start command clears.
    fn not_ready(&mut self) -> Option<Why> {
        if self.cell.ails.iter().any(|ail| matches!(ail, Trouble::SourceOff)) {
            self.source(Source::Off);
        }
        match self.cell.source {
            Source::Off => Some(Why::SourceOff),
            Source::Faulted(code) if self.still_latched(code) => Some(Why::Latched(code)),
            _ => None,
        }
    }

    fn still_latched(&self, code: Code) -> bool {
        match self.cell.clears_by(code) {
            ClearsBy::OffAndOn => true,
            ClearsBy::LeaveOnToCool => self.hot_after(0.0).is_some(),
            ClearsBy::Itself | ClearsBy::NewStart => false,
        }
    }

    /// Lets a stretch of the start go by; gives why it fails.
    fn endure(&mut self, seconds: f64) -> Flow<Option<Why>> {
        let mut left_s = seconds;
        while let Some((after_s, cause)) = self.pass(left_s, Kind::Pierce) {
            left_s -= after_s;
            match cause {
                Break::Air => return Flow::Continue(Some(Why::Air)),
                Break::Hot => return Flow::Continue(Some(Why::Hot)),
                Break::NoMetal => {}
                Break::Fault(_) => {
                    self.broken(cause, None)?;
                }
            }
        }
        Flow::Continue(self.cell.no_air().then_some(Why::Air))
    }

    /// What the pilot reaches; or why it will not.
    fn reaches(&mut self) -> Result<Under, Why> {
        let worn = self.cell.ails.iter().find_map(|ail| match ail {
            Trouble::ConsumablesWorn { fails } => Some(*fails),
            _ => None,
        });
        let has = |wanted: fn(&Trouble) -> bool| self.cell.ails.iter().any(wanted);
        let wrong = has(|ail| matches!(ail, Trouble::ConsumablesWrong)) || self.wrong_set_fitted();
        let no_lead = has(|ail| matches!(ail, Trouble::WorkLeadOff));
        let starting = Starting { at: self.on_plate(), cut: self.cut_id(), off_mm: self.cell.high_mm };
        let under = self.metal.under(&starting);
        if wrong || worn.is_some_and(|fails| self.cell.random.happens(fails)) {
            return Err(Why::Consumables);
        }
        if no_lead {
            return Err(Why::WorkLead);
        }
        let height_mm = self.height_mm();
        if height_mm > PILOT_REACH_MM {
            return Err(Why::TooHigh);
        }
        if height_mm < 0.0 {
            // The tip is pressed on the plate: the pilot burns the nozzle.
            let spoiled = Trouble::ConsumablesWorn { fails: 1.0 };
            self.cell.ails.push(spoiled);
            self.note(Happening::Strikes(spoiled));
            return Err(Why::Consumables);
        }
        match under {
            Under::Metal => Ok(under),
            Under::Wall { away_mm } if away_mm <= PILOT_REACH_MM => Ok(under),
            Under::Wall { .. } | Under::Nothing => Err(Why::NoMetal),
        }
    }

    fn wrong_set_fitted(&self) -> bool {
        let chosen = self.cut().and_then(|cut| cut.process);
        self.cell.trips && self.cell.facts.process(chosen).is_fitted == Some(false)
    }

    /// Height of the tip above the plate at the start, in millimetres; where the program does not tell it, a height
    /// from which any set transfers.
    fn height_mm(&self) -> f64 {
        let told =
            self.cut().map(|cut| cut.pierce.height).filter(|height| height.base != HeightBase::Unknown);
        // A height that the program counts from its own zero is one above the plate (common practice), never below.
        told.map_or(0.0, |height| height.mm.max(0.0)) + self.cell.high_mm
    }

    fn transfers(&mut self, under: Under) {
        self.begin_gas(GasFor::Arc);
        self.source(Source::Cutting);
        if let Under::Wall { .. } = under {
            let at = self.on_plate();
            self.metal.gouged(at);
            self.note(Happening::Gouge(at));
        }
        self.note(Happening::Transfer);
        self.arc = true;
        self.lit_s = Some(self.cell.now_s);
        self.arc_begins();
    }

    /// The start has failed: the source says why, and lets gas flow on.
    fn fails(&mut self, why: Why) -> Why {
        self.begin_gas(GasFor::After);
        match why {
            Why::Air => self.source(Source::Faulted(Code::Air)),
            Why::Hot => self.source(Source::Faulted(Code::Hot)),
            Why::SourceOff | Why::Power => self.source(Source::Off),
            _ => self.source(Source::Faulted(Code::NoTransfer)),
        }
        why
    }

    /// A hole that is blown at the pierce puts the arc out.
    fn blow_hole(&mut self) -> Flow {
        let Some(diameter_mm) = self.cell.blown_mm.filter(|_| self.arc) else { return Flow::Continue(()) };
        self.cell.blown_mm = None;
        let at = self.on_plate();
        self.begin_burn();
        self.metal.blown(at, diameter_mm);
        self.note(Happening::HoleBlown { at, diameter_mm });
        self.lose_arc(Why::NoMetal, None)?;
        Flow::Continue(())
    }
}
