//! What the cell is: the facts of table, source, air and consumables, as numbers for its formulas.

use crate::air::AirPlant;
use crate::duty::Rated;
use crate::lack::Lack;
use crate::motion::MotionLimits;
use crate::wear::{Use, WearLaw};
use shop::{Air, AwaitsArc, ClearsBy, Job, Lookup, ProcessOf, Shop, StandingStart};
use units::{Duration, Length};

/// A torch starts on metal no farther than this below or beside its tip, in millimetres (common practice: some sets
/// transfer to 6 to 10 mm).
pub const PILOT_REACH_MM: f64 = 10.0;

/// Longest the pilot arc burns without transfer, in seconds (common practice: 2 to 5 s).
pub const PILOT_GIVES_UP_S: f64 = 3.0;

/// Wait of a control between two tries, in seconds: long enough for the source to drop its pilot (common practice).
pub const BETWEEN_TRIES_S: f64 = 1.0;

/// The cell's facts. Where the shop has not told one, the value that takes no time and limits nothing stands in its
/// place, and the fact is in [`CellFacts::lacking`].
#[derive(Clone, Debug, PartialEq)]
pub struct CellFacts {
    /// What the axes can do.
    pub limits: MotionLimits,
    /// Speed of rapids up and down.
    pub rapid_z_mm_per_s: f64,
    /// How long a touch-off takes whose way the program does not tell, in seconds.
    pub touch_off_s: f64,
    /// Whether the control waits by itself between transfer and motion.
    pub delays_pierce: bool,
    /// Gas before the pilot arc, in seconds.
    pub preflow_s: f64,
    /// Pilot arc until transfer.
    pub transfer_s: f64,
    /// Gas after the arc.
    pub post_flow_s: f64,
    /// What the control does while the arc does not come; waiting for ever where nobody has told, which hides nothing.
    pub awaits_arc: AwaitsArc,
    /// What a start command does that stands when the source is switched on.
    pub standing_start: StandingStart,
    /// Whether the table finds its zero again after a power cut, by switches or by memory.
    pub keeps_position: bool,
    /// The air plant, if all of it is told.
    pub plant: Option<AirPlant>,
    /// Flow while the arc burns, in litres of free air a minute.
    pub cut_flow_l_per_min: Option<f64>,
    /// Flow before and after it.
    pub gas_flow_l_per_min: Option<f64>,
    /// Least inlet pressure while flowing, in bar.
    pub pressure_min_bar: Option<f64>,
    /// Rated points of the source.
    pub rated: Vec<Rated>,
    /// How each kind of fault clears.
    pub clears: Clears,
    /// Share of the mains' power that reaches the arc.
    pub efficiency: Option<f64>,
    /// How sets wear.
    pub wear: Option<WearLaw>,
    /// What the fitted set has been through.
    pub used: Option<Use>,
    /// Starts after which the shop changes a set.
    pub life_starts: Option<f64>,
    /// Thickness of the plate, in millimetres.
    pub thickness_mm: Option<f64>,
    /// How far an arc survives along a void, in millimetres.
    pub void_along_mm: f64,
    /// The shop's processes that have a number in programs.
    pub numbered: Vec<(u32, ProcessFacts)>,
    /// The process that runs where the program chooses none.
    pub otherwise: ProcessFacts,
    /// Facts that nobody has told.
    pub lacking: Vec<Lack>,
}

/// How the source's faults clear, by what made them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Clears {
    /// Pressure too low.
    pub air: ClearsBy,
    /// No transfer.
    pub no_transfer: ClearsBy,
    /// Too hot.
    pub hot: ClearsBy,
    /// A start command that stood at power-up.
    pub stood: ClearsBy,
}

impl CellFacts {
    /// The facts of `shop` and `job`.
    #[must_use]
    pub fn of(shop: &Shop, job: &Job) -> Self {
        let (table, source) = (&shop.table, shop.source.as_ref());
        let mut lacking = Vec::new();
        let mut told = |value: Option<f64>, lack: Lack, instead: f64| {
            value.filter(|value| value.is_finite()).unwrap_or_else(|| {
                lacking.push(lack);
                instead
            })
        };
        let seconds = |time: Option<Duration>| time.map(Duration::s);
        let acceleration =
            told(table.acceleration.map(units::Acceleration::mm_per_s2), Lack::Acceleration, f64::INFINITY);
        let rapid = told(table.rapid.map(units::Speed::mm_per_s), Lack::Rapid, f64::INFINITY);
        let tolerance = told(table.path_tolerance.map(Length::mm), Lack::PathTolerance, f64::INFINITY);
        let blocks = told(table.blocks_per_second, Lack::BlocksPerSecond, f64::INFINITY);
        let facts = Self {
            limits: MotionLimits {
                axis_speed_mm_per_s: [rapid; 2],
                axis_acceleration_mm_per_s2: [acceleration; 2],
                path_tolerance_mm: tolerance,
                blocks_per_s: blocks,
            },
            rapid_z_mm_per_s: told(table.rapid_z.map(units::Speed::mm_per_s), Lack::RapidZ, f64::INFINITY),
            touch_off_s: told(seconds(table.touch_off_time), Lack::TouchOffTime, 0.0),
            delays_pierce: table.delays_pierce.unwrap_or(false),
            preflow_s: told(seconds(source.and_then(|s| s.preflow)), Lack::Preflow, 0.0),
            transfer_s: told(seconds(source.and_then(|s| s.transfer_time)), Lack::TransferTime, 0.0),
            post_flow_s: told(seconds(source.and_then(|s| s.post_flow)), Lack::PostFlow, 0.0),
            awaits_arc: table.awaits_arc.unwrap_or(AwaitsArc::ForEver),
            standing_start: source.map(|s| s.standing_start).unwrap_or_default(),
            keeps_position: table.home_switches == Some(true) || table.keeps_offsets == Some(true),
            plant: None,
            cut_flow_l_per_min: None,
            gas_flow_l_per_min: None,
            pressure_min_bar: source.and_then(|s| s.pressure_min).map(units::Pressure::bar),
            rated: rated(shop),
            clears: Clears::of(shop),
            efficiency: source.and_then(|s| s.efficiency),
            wear: shop.wear.map(|wear| WearLaw {
                per_arc_min: wear.per_arc_minute,
                per_snap: wear.per_snap,
                scale: wear.life,
                shape: wear.shape,
            }),
            used: used(shop),
            life_starts: shop.fitted.as_ref().and_then(|fitted| fitted.life_starts).map(f64::from),
            thickness_mm: job.thickness.map(Length::mm),
            void_along_mm: shop.thresholds.void_along.mm(),
            numbered: shop
                .processes
                .iter()
                .filter_map(|process| process.number)
                .map(|number| (number, ProcessFacts::of(shop, job, Some(number))))
                .collect(),
            otherwise: ProcessFacts::of(shop, job, None),
            lacking: Vec::new(),
        };
        facts.with_air(shop.air.as_ref(), lacking).with_what_else_lacks(shop)
    }

    fn with_air(mut self, air: Option<&Air>, lacking: Vec<Lack>) -> Self {
        self.lacking = lacking;
        let flow = |flow: Option<units::Flow>| flow.map(units::Flow::l_per_min);
        self.cut_flow_l_per_min = air.and_then(|air| flow(air.torch_flow));
        self.gas_flow_l_per_min = air.and_then(|air| flow(air.gas_flow)).or(self.cut_flow_l_per_min);
        self.plant = air.and_then(plant);
        let facts = [
            (air.is_some_and(|air| air.torch_flow.is_some()), Lack::TorchFlow),
            (air.is_some_and(|air| air.delivery.is_some()), Lack::Delivery),
            (air.is_some_and(|air| air.receiver.is_some()), Lack::ReceiverVolume),
            (air.is_some_and(|air| air.cut_in.is_some() && air.cut_out.is_some()), Lack::CutInCutOut),
            (air.is_some_and(|air| air.regulator.is_some()), Lack::Regulator),
            (air.is_some_and(|air| air.hose_length.is_some() && air.hose_bore.is_some()), Lack::Hose),
        ];
        self.lacking.extend(facts.into_iter().filter(|(told, _)| !told).map(|(_, lack)| lack));
        self
    }

    fn with_what_else_lacks(mut self, shop: &Shop) -> Self {
        let money = shop.money.as_ref();
        let facts = [
            (self.pressure_min_bar.is_some(), Lack::PressureMin),
            (!self.rated.is_empty(), Lack::Duty),
            (self.efficiency.is_some(), Lack::Efficiency),
            (self.wear.is_some(), Lack::WearLaw),
            (self.used.is_some(), Lack::StartsOnSet),
            (self.life_starts.is_some(), Lack::LifeStarts),
            (money.is_some_and(|money| money.hour.is_some()), Lack::HourPrice),
            (money.is_some_and(|money| money.kwh.is_some()), Lack::PowerPrice),
            (money.is_some_and(|money| money.gas_m3.is_some()), Lack::GasPrice),
            (money.is_some_and(|money| money.consumable_set.is_some()), Lack::SetPrice),
        ];
        self.lacking.extend(facts.into_iter().filter(|(told, _)| !told).map(|(_, lack)| lack));
        self
    }

    /// The process that runs where the program has chosen number `chosen`; one of which nothing is known if the shop
    /// has no such number.
    #[must_use]
    pub fn process(&self, chosen: Option<u32>) -> ProcessFacts {
        match chosen.filter(|_| !self.numbered.is_empty()) {
            None => self.otherwise,
            Some(number) => {
                let found = self.numbered.iter().find(|(own, _)| *own == number);
                found.map_or_else(ProcessFacts::default, |(_, process)| *process)
            }
        }
    }

    /// Whether a fact has not been told.
    #[must_use]
    pub fn lacks(&self, lack: Lack) -> bool {
        self.lacking.contains(&lack)
    }
}

/// What a process does, as far as the cell wants it.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ProcessFacts {
    /// Current, in amperes.
    pub current_a: Option<f64>,
    /// Arc voltage at the job's thickness.
    pub volts: Option<f64>,
    /// Wait between transfer and motion at the job's thickness, in seconds.
    pub pierce_delay_s: Option<f64>,
    /// Whether it can run with what is fitted; none if that is not known.
    pub is_fitted: Option<bool>,
    /// Whether it marks only.
    pub marks: bool,
}

impl ProcessFacts {
    /// The facts of the process that runs where the program has chosen number `chosen`.
    #[must_use]
    pub fn of(shop: &Shop, job: &Job, chosen: Option<u32>) -> Self {
        let ProcessOf::Known(process) = shop.process_of(job, chosen) else { return Self::default() };
        let row = match job.thickness.map(|thickness| process.chart.at(thickness)) {
            Some(Lookup::Row(row)) => Some(row),
            _ => None,
        };
        let fits = |fitted: &shop::Fitted| {
            let named = |name: &str| name == fitted.process;
            let set = process.consumables.as_deref();
            let shares =
                || set.is_some() && shop.processes_fitted().any(|other| other.consumables.as_deref() == set);
            named(&process.name) || set.is_some_and(named) || shares()
        };
        Self {
            current_a: process.current.map(units::Current::a),
            volts: row.and_then(|row| row.cut_voltage).map(units::Voltage::v),
            pierce_delay_s: row.and_then(|row| row.pierce_delay).map(Duration::s),
            is_fitted: shop.fitted.as_ref().map(fits),
            marks: process.marks,
        }
    }
}

fn plant(air: &Air) -> Option<AirPlant> {
    let (cut_in_bar, cut_out_bar) = (air.cut_in?.bar(), air.cut_out?.bar());
    let plant = AirPlant {
        delivery_l_per_min: air.delivery?.l_per_min(),
        receiver_l: air.receiver?.l(),
        cut_in_bar,
        cut_out_bar,
        regulator_bar: air.regulator?.bar(),
        hose_m: air.hose_length?.mm() / 1000.0,
        bore_mm: air.hose_bore?.mm(),
        altitude_m: air.altitude.map_or(0.0, |height| height.mm() / 1000.0),
    };
    // A compressor that stops below where it starts is a slip of the file, told when the file is read.
    (cut_in_bar < cut_out_bar).then_some(plant)
}

fn rated(shop: &Shop) -> Vec<Rated> {
    let points = shop.source.iter().flat_map(|source| &source.duty);
    points.map(|point| Rated { share: point.share, current_a: point.current.a() }).collect()
}

fn used(shop: &Shop) -> Option<Use> {
    let fitted = shop.fitted.as_ref()?;
    let arc_min = fitted.arc_time.map_or(0.0, |time| time.s() / 60.0);
    Some(Use { starts: f64::from(fitted.starts?), arc_min, snaps: 0.0 })
}

impl Clears {
    /// As the source's fault codes say, found by the causes that they point at; where none does, the way in which such
    /// faults commonly clear (common practice).
    fn of(shop: &Shop) -> Self {
        let by = |causes: &[&str], instead: ClearsBy| {
            let faults = shop.source.iter().flat_map(|source| &source.faults);
            let mut pointing = faults
                .filter(|fault| fault.points_at.as_deref().is_some_and(|cause| causes.contains(&cause)));
            pointing.next().map_or(instead, |fault| fault.clears_by)
        };
        Self {
            air: by(&["low-air-flowing", "no-air"], ClearsBy::Itself),
            no_transfer: by(&["work-lead-loose"], ClearsBy::NewStart),
            hot: by(&["duty-or-heat"], ClearsBy::LeaveOnToCool),
            stood: by(&["start-standing-at-power-up"], ClearsBy::OffAndOn),
        }
    }
}
