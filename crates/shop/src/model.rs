//! The shop file as types.

use crate::{Chart, PlateOutline, Thresholds, Worded};
use nc::Dialect;
use units::gauge::Series;
use units::{Acceleration, Current, Duration, Flow, Length, Pressure, Speed, Volume};

/// A material, as far as checks and gauges tell them apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Material {
    /// Plain carbon steel.
    MildSteel,
    /// Carbon steel with a zinc coat.
    Galvanised,
    /// Stainless steel.
    Stainless,
    /// Aluminium and its alloys.
    Aluminium,
}

impl Material {
    /// The series by which sheet of this material is told in gauges: Manufacturers' Standard for mild steel, its
    /// galvanised series, US Standard for stainless (trade practice), Brown & Sharpe for aluminium.
    #[must_use]
    pub const fn gauges(self) -> Series {
        match self {
            Self::MildSteel => Series::ManufacturersStandard,
            Self::Galvanised => Series::Galvanised,
            Self::Stainless => Series::UsStandard,
            Self::Aluminium => Series::BrownAndSharpe,
        }
    }
}

impl Worded for Material {
    const WHAT: &'static str = "material";
    const WORDS: &'static [(&'static str, Self, &'static str)] = &[
        ("mild-steel", Self::MildSteel, "plain carbon steel"),
        ("galvanised", Self::Galvanised, "carbon steel with a zinc coat"),
        ("stainless", Self::Stainless, "stainless steel"),
        ("aluminium", Self::Aluminium, "aluminium and its alloys"),
        ("steel", Self::MildSteel, "mild steel"),
        ("galvanized", Self::Galvanised, "galvanised"),
        ("stainless-steel", Self::Stainless, "stainless"),
        ("aluminum", Self::Aluminium, "aluminium"),
    ];
}

/// All that the shop file says.
#[derive(Clone, Debug, PartialEq)]
pub struct Shop {
    /// The shop's name, for print.
    pub name: String,
    /// The table.
    pub table: Table,
    /// The power source.
    pub source: Option<Source>,
    /// Processes: consumable set, current and gas on a material, each with its chart.
    pub processes: Vec<Process>,
    /// What is fitted in the torch now.
    pub fitted: Option<Fitted>,
    /// Compressed air.
    pub air: Option<Air>,
    /// How sets of consumables wear.
    pub wear: Option<Wear>,
    /// Plates in stock.
    pub stock: Vec<Stock>,
    /// Prices.
    pub money: Option<Money>,
    /// Causes of failed starts with their likelihoods, where the shop has changed or added to the defaults.
    pub causes: Vec<Cause>,
    /// Limits the checks hold programs against.
    pub thresholds: Thresholds,
}

impl Shop {
    /// A shop that has told nothing: the common words, the default limits.
    #[must_use]
    pub fn unknown() -> Self {
        Self {
            name: String::new(),
            table: Table::unknown(),
            source: None,
            processes: Vec::new(),
            fitted: None,
            air: None,
            wear: None,
            stock: Vec::new(),
            money: None,
            causes: Vec::new(),
            thresholds: Thresholds::default(),
        }
    }

    /// The process of this name.
    #[must_use]
    pub fn process(&self, name: &str) -> Option<&Process> {
        self.processes.iter().find(|process| process.name == name)
    }

    /// The process that programs choose by this number.
    #[must_use]
    pub fn process_numbered(&self, number: u32) -> Option<&Process> {
        self.processes.iter().find(|process| process.number == Some(number))
    }

    /// Numbers by which programs choose processes that mark instead of cutting through.
    #[must_use]
    pub fn mark_processes(&self) -> Vec<u32> {
        self.processes.iter().filter(|process| process.marks).filter_map(|process| process.number).collect()
    }

    /// The processes that can run with what is fitted now: the one of that name, or all with that consumable set.
    /// Empty if nothing is told to be fitted.
    pub fn processes_fitted(&self) -> impl Iterator<Item = &Process> {
        let fitted = self.fitted.as_ref().map(|fitted| fitted.process.as_str());
        self.processes.iter().filter(move |process| {
            fitted.is_some_and(|name| process.name == name || process.consumables.as_deref() == Some(name))
        })
    }
}

impl Default for Shop {
    fn default() -> Self {
        Self::unknown()
    }
}

/// The table and its control.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// Travel in X and Y.
    pub travel: Option<[Length; 2]>,
    /// Rapid speed.
    pub rapid: Option<Speed>,
    /// Acceleration of an axis.
    pub acceleration: Option<Acceleration>,
    /// Speed of rapid motion up and down.
    pub rapid_z: Option<Speed>,
    /// How far the control may round off a corner.
    pub path_tolerance: Option<Length>,
    /// Blocks that the control reads in a second.
    pub blocks_per_second: Option<f64>,
    /// How long a touch-off takes that the control or a subprogram of its own does.
    pub touch_off_time: Option<Duration>,
    /// Distance from slat to slat.
    pub slat_pitch: Option<Length>,
    /// Whether the control keeps its position and offsets over a power cut.
    pub keeps_offsets: Option<bool>,
    /// Its words and habits, from `[table.words]`.
    pub dialect: Dialect,
    /// Height above the plate at which it may travel over anything, tipped pieces apart.
    pub safe_height: Option<Length>,
    /// Whether it finds its zero by switches after power-up.
    pub home_switches: Option<bool>,
    /// What the control does while the arc does not come.
    pub awaits_arc: Option<AwaitsArc>,
    /// Whether the control can start at a line, and whether it scans earlier blocks for their modal state then.
    pub start_at_line: Option<StartAtLine>,
    /// The work lies over water.
    pub over_water: bool,
    /// Whether the control by itself waits between transfer and motion, so that programs need no dwell at a start.
    pub delays_pierce: Option<bool>,
}

impl Table {
    /// A table of which nothing is known: the common words.
    #[must_use]
    pub fn unknown() -> Self {
        Self {
            travel: None,
            rapid: None,
            acceleration: None,
            rapid_z: None,
            path_tolerance: None,
            blocks_per_second: None,
            touch_off_time: None,
            slat_pitch: None,
            keeps_offsets: None,
            dialect: Dialect::common(),
            safe_height: None,
            home_switches: None,
            awaits_arc: None,
            start_at_line: None,
            over_water: false,
            delays_pierce: None,
        }
    }
}

/// What the control does after a start command until transfer is reported.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum AwaitsArc {
    /// Waits until someone acts.
    ForEver,
    /// Gives up after this long.
    TimesOut(Duration),
    /// Tries so many times.
    Retries(u32),
    /// Has no transfer signal: motion begins after the delay, arc or not.
    No,
}

/// What "start at line" does on this control.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StartAtLine {
    /// Reads earlier blocks for their modal state.
    Scans,
    /// Begins with the modal state it happens to have.
    DoesNotScan,
    /// The control cannot do it.
    No,
}

impl Worded for StartAtLine {
    const WHAT: &'static str = "way of starting at a line";
    const WORDS: &'static [(&'static str, Self, &'static str)] = &[
        ("scans", Self::Scans, "it reads earlier lines for their modal state"),
        ("does-not-scan", Self::DoesNotScan, "it begins with the modal state it happens to have"),
        ("no", Self::No, "it cannot start at a line"),
    ];
}

/// The power source.
#[derive(Clone, Debug, PartialEq)]
pub struct Source {
    /// The shop's name for it.
    pub name: String,
    /// Rated duty-cycle points.
    pub duty: Vec<DutyPoint>,
    /// Fault codes, from its manual.
    pub faults: Vec<Fault>,
    /// What a start command that stands at power-up does.
    pub standing_start: StandingStart,
    /// Least inlet pressure while flowing.
    pub pressure_min: Option<Pressure>,
    /// Wait after isolation before touching torch parts, as its manual says.
    pub isolation_wait: Option<Duration>,
    /// How long gas flows before the pilot arc.
    pub preflow: Option<Duration>,
    /// How long the pilot arc burns until transfer at a sound start.
    pub transfer_time: Option<Duration>,
    /// How long gas flows after the arc has ended.
    pub post_flow: Option<Duration>,
    /// Share of the power from the mains that reaches the arc, 0 to 1.
    pub efficiency: Option<f64>,
}

/// One rated point: this share of ten minutes at this current.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DutyPoint {
    /// Share of ten minutes, 0 to 1.
    pub share: f64,
    /// Current.
    pub current: Current,
}

/// What a start command that stands when the source is switched on does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum StandingStart {
    /// Nothing, and a fault latches.
    Latches,
    /// Nothing.
    Ignored,
    /// The torch fires. Assumed where the shop has not said otherwise.
    #[default]
    Fires,
}

impl Worded for StandingStart {
    const WHAT: &'static str = "effect of a standing start command";
    const WORDS: &'static [(&'static str, Self, &'static str)] = &[
        ("latches", Self::Latches, "nothing, and a fault latches"),
        ("ignored", Self::Ignored, "nothing"),
        ("fires", Self::Fires, "the torch fires"),
    ];
}

/// How a fault is cleared.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ClearsBy {
    /// By itself once its cause is gone.
    Itself,
    /// By a new start command.
    NewStart,
    /// By switching the source off and on.
    OffAndOn,
    /// By leaving it on to cool.
    LeaveOnToCool,
}

impl Worded for ClearsBy {
    const WHAT: &'static str = "way in which a fault clears";
    const WORDS: &'static [(&'static str, Self, &'static str)] = &[
        ("itself", Self::Itself, "by itself once its cause is gone"),
        ("new-start", Self::NewStart, "by a new start command"),
        ("off-and-on", Self::OffAndOn, "by switching the source off and on"),
        ("leave-on-to-cool", Self::LeaveOnToCool, "by leaving it on to cool"),
    ];
}

/// A fault code of the source.
#[derive(Clone, Debug, PartialEq)]
pub struct Fault {
    /// The code as shown.
    pub code: String,
    /// What it means.
    pub cause: String,
    /// What to do.
    pub remedy: String,
    /// How it clears.
    pub clears_by: ClearsBy,
    /// Name of the cause in the table of causes that it points at, if one.
    pub points_at: Option<String>,
}

/// A consumable set, current and gas, with its chart for one material.
#[derive(Clone, Debug, PartialEq)]
pub struct Process {
    /// The shop's name for it.
    pub name: String,
    /// Its number in programs, if programs choose it.
    pub number: Option<u32>,
    /// Material it is for.
    pub material: Material,
    /// Current.
    pub current: Option<Current>,
    /// Name of the consumable set.
    pub consumables: Option<String>,
    /// It marks instead of cutting through.
    pub marks: bool,
    /// Values by thickness.
    pub chart: Chart,
}

/// What is fitted in the torch now.
#[derive(Clone, Debug, PartialEq)]
pub struct Fitted {
    /// Name of the process or consumable set fitted.
    pub process: String,
    /// Starts on the set so far.
    pub starts: Option<u32>,
    /// Arc time on the set so far.
    pub arc_time: Option<Duration>,
    /// Starts after which the shop changes a set.
    pub life_starts: Option<u32>,
}

/// Compressed air.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Air {
    /// Free-air delivery of the compressor.
    pub delivery: Option<Flow>,
    /// Receiver.
    pub receiver: Option<Volume>,
    /// Pressure at which the compressor starts.
    pub cut_in: Option<Pressure>,
    /// Pressure at which it stops.
    pub cut_out: Option<Pressure>,
    /// Regulator setting at the source.
    pub regulator: Option<Pressure>,
    /// Hose between.
    pub hose_length: Option<Length>,
    /// Its bore.
    pub hose_bore: Option<Length>,
    /// Height of the shop above the sea.
    pub altitude: Option<Length>,
    /// Flow of the torch while cutting.
    pub torch_flow: Option<Flow>,
    /// Flow while gas runs without the cutting arc; that while cutting if not told.
    pub gas_flow: Option<Flow>,
}

/// How sets of consumables wear, from the shop's own record.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wear {
    /// Starts' worth of wear of one minute of arc.
    pub per_arc_minute: f64,
    /// Starts' worth of wear of one arc that snaps off the edge of the plate.
    pub per_snap: f64,
    /// Starts' worth of wear by which 63 of 100 sets are spent.
    pub life: f64,
    /// How sharply sets end about their life: the shape of the Weibull law, over 1 for parts that wear out.
    pub shape: f64,
}

/// A plate or remnant in stock.
#[derive(Clone, Debug, PartialEq)]
pub struct Stock {
    /// The shop's mark on it.
    pub name: String,
    /// Material.
    pub material: Material,
    /// Thickness.
    pub thickness: Length,
    /// Outline.
    pub outline: PlateOutline,
}

/// Prices, in the shop's own currency.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Money {
    /// Name of the currency, for print.
    pub currency: String,
    /// An hour of the table and its operator.
    pub hour: Option<f64>,
    /// A kilogram of plate.
    pub plate_kg: Option<f64>,
    /// A set of consumables.
    pub consumable_set: Option<f64>,
    /// A kilowatt-hour.
    pub kwh: Option<f64>,
    /// A cubic metre of gas or of free air.
    pub gas_m3: Option<f64>,
}

/// A cause of a failed start: how likely it is at first, and how likely each observation is if it is so.
#[derive(Clone, Debug, PartialEq)]
pub struct Cause {
    /// Its name in kebab-case, such as `work-lead-loose`.
    pub name: String,
    /// Likelihood before any evidence, relative to the others; none to keep the default's.
    pub prior: Option<f64>,
    /// Probability of an observation given this cause, by the observation's name.
    pub seen: Vec<(String, f64)>,
}

/// Something fixed on the table that the torch must not meet, in table coordinates.
#[derive(Clone, Debug, PartialEq)]
pub struct Clamp {
    /// What it is.
    pub name: String,
    /// Lower left corner, X and Y.
    pub from: [Length; 2],
    /// Upper right corner.
    pub to: [Length; 2],
    /// Its height above the plate.
    pub height: Option<Length>,
}
