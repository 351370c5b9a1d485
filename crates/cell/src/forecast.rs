//! The forecast: a run in which nothing goes wrong, and what it tells about time, air, heat, wear and money.

mod air;
mod cost;
mod duty;
mod parts;
mod slow;
mod unforecast;
mod wear;

pub use air::{AirForecast, Cures, LowestInlet, Pause, Short};
pub use cost::{Cost, Energy};
pub use duty::{DutyForecast, DutyTrip};
pub use parts::{CutForecast, GasTimes, Loosened, PartForecast};
pub use slow::{SLOW_SHARE, SlowCut, StarvedCut};
pub use unforecast::Unforecast;
pub use wear::WearForecast;

use crate::event::{Kind, Log};
use crate::facts::CellFacts;
use crate::metal::Sound;
use crate::operator::Nobody;
use crate::{Cell, Watch, Work};
use cuts::CutList;
use nc::Motions;
use shop::{Job, Shop};
use units::Length;

/// What a forecast is made from.
#[derive(Clone, Copy, Debug)]
pub struct Planned<'a> {
    /// The program's motions.
    pub motions: &'a Motions,
    /// Its cuts.
    pub list: &'a CutList,
    /// The shop, or one that has told nothing.
    pub shop: &'a Shop,
    /// The job.
    pub job: &'a Job,
    /// Width of the kerf.
    pub kerf: Length,
}

/// Seconds by what they go into. Together they are the whole.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Times {
    /// Cutting.
    pub cut_s: f64,
    /// Travel, up and down as well.
    pub travel_s: f64,
    /// Finding the plate.
    pub touch_off_s: f64,
    /// From start commands until motion begins.
    pub pierce_s: f64,
    /// Waits with the torch off.
    pub wait_s: f64,
}

impl Times {
    /// All of it.
    #[must_use]
    pub fn total_s(&self) -> f64 {
        self.cut_s + self.travel_s + self.touch_off_s + self.pierce_s + self.wait_s
    }

    /// What goes into one kind.
    #[must_use]
    pub const fn of(&self, kind: Kind) -> f64 {
        match kind {
            Kind::Cut => self.cut_s,
            Kind::Travel => self.travel_s,
            Kind::TouchOff => self.touch_off_s,
            Kind::Pierce => self.pierce_s,
            Kind::Wait => self.wait_s,
        }
    }

    fn add(&mut self, kind: Kind, seconds: f64) {
        *match kind {
            Kind::Cut => &mut self.cut_s,
            Kind::Travel => &mut self.travel_s,
            Kind::TouchOff => &mut self.touch_off_s,
            Kind::Pierce => &mut self.pierce_s,
            Kind::Wait => &mut self.wait_s,
        } += seconds;
    }

    fn add_share(&mut self, other: &Self, share: f64) {
        for kind in Kind::ALL {
            self.add(kind, other.of(kind) * share);
        }
    }
}

/// What a program will take, if nothing goes wrong: every start transfers, the plant never trips.
#[derive(Clone, Debug, PartialEq)]
pub struct Forecast {
    /// Where the time goes.
    pub times: Times,
    /// Starts.
    pub starts: u32,
    /// How long the arc burns, in seconds.
    pub arc_s: f64,
    /// Each cut, in order.
    pub cuts: Vec<CutForecast>,
    /// Each part, in order of their numbers.
    pub parts: Vec<PartForecast>,
    /// Pieces in the order in which they come loose.
    pub loose: Vec<Loosened>,
    /// Cuts in which the torch is slow over a stretch, in order.
    pub slow: Vec<SlowCut>,
    /// Cuts in which the control cannot read blocks fast enough, in order.
    pub starved: Vec<StarvedCut>,
    /// Gas used, in litres of free air; none if the torch's flow is not told.
    pub gas_l: Option<f64>,
    /// Air, if the plant is told.
    pub air: Option<AirForecast>,
    /// Duty cycle, if the source's rating and the current are told.
    pub duty: Option<DutyForecast>,
    /// Wear of the fitted set.
    pub wear: WearForecast,
    /// Energy, if current and voltage of every cut are told.
    pub energy: Option<Energy>,
    /// Money.
    pub cost: Cost,
    /// What could not be told for want of a fact; the fact that would add most first.
    pub unforecast: Vec<Unforecast>,
    /// What was assumed, a sentence each.
    pub assumed: Vec<&'static str>,
    /// The run: events, where the time went, gas, each motion with its speeds.
    pub log: Log,
}

/// A run in which nothing goes wrong.
fn run(planned: &Planned<'_>, facts: &CellFacts, watch: Option<&Watch<'_>>) -> Log {
    let work = Work { motions: planned.motions, list: planned.list, keep_motions: true, watch };
    // Chance has no part in a run without faults, so any seed will do.
    Cell::new(facts.clone(), 0, &[]).that_never_trips().run(&work, &mut Sound, &mut Nobody)
}

impl Forecast {
    /// The forecast of a program. Takes n log n in the size of the program.
    #[must_use]
    pub fn of(planned: &Planned<'_>) -> Self {
        let facts = CellFacts::of(planned.shop, planned.job);
        let log = run(planned, &facts, None);
        Self::from_log(planned, &facts, log)
    }

    /// The same while somebody waits, who is told now and then how many motions have been run; none if it was called
    /// off.
    #[must_use]
    pub fn watched(planned: &Planned<'_>, watch: &Watch<'_>) -> Option<Self> {
        let facts = CellFacts::of(planned.shop, planned.job);
        let called_off = std::cell::Cell::new(false);
        let told = |done| {
            let flow = watch(done);
            called_off.set(flow.is_break());
            flow
        };
        let log = run(planned, &facts, Some(&told));
        (!called_off.get()).then(|| Self::from_log(planned, &facts, log))
    }

    fn from_log(planned: &Planned<'_>, facts: &CellFacts, log: Log) -> Self {
        let mut times = Times::default();
        for spell in &log.spells {
            times.add(spell.kind, spell.to_s - spell.from_s);
        }
        let cuts = parts::cuts(planned.list, &log);
        let arc_s = cuts.iter().map(|cut| cut.arc_s).fold(0.0, |sum, s| sum + s);
        let starts = log.starts();
        let gas_l = air::used_l(facts, &log);
        let energy = cost::energy(facts, planned.list, &cuts);
        let wear = wear::forecast(facts, starts, arc_s);
        let rates = cost::Rates::of(planned.shop, facts);
        let whole = cost::Amounts { time_s: times.total_s(), energy, gas_l, starts: f64::from(starts) };
        let loose = parts::loose(planned, &log);
        let parts = parts::parts(planned.list, facts, &cuts, &loose, &rates);
        let (slow, starved) = slow::find(planned.motions, planned.list, &log);
        let air = air::forecast(facts, &log);
        let duty = duty::forecast(planned.list, facts, &log);
        let (unforecast, assumed) = unforecast::list(planned, facts, &log, air.is_some());
        Self {
            times,
            starts,
            arc_s,
            cost: rates.cost(&whole),
            cuts,
            parts,
            loose,
            slow,
            starved,
            gas_l,
            air,
            duty,
            wear,
            energy,
            unforecast,
            assumed,
            log,
        }
    }

    /// When the torch is `along_mm` along `cut`, in seconds; none if that cut is not reached.
    #[must_use]
    pub fn time_at(&self, cut: &cuts::Cut, along_mm: f64) -> Option<f64> {
        parts::time_at(&self.log, cut, along_mm)
    }
}
