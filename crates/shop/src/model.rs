//! The shop file as types.

use crate::{Chart, PlateOutline, Thresholds};
use nc::Dialect;
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
    /// Plates in stock.
    pub stock: Vec<Stock>,
    /// Prices.
    pub money: Option<Money>,
    /// Causes of failed starts with their likelihoods, where the shop has changed or added to the defaults.
    pub causes: Vec<Cause>,
    /// Limits the checks hold programs against.
    pub thresholds: Thresholds,
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
}

/// A cause of a failed start: how likely it is at first, and how likely each observation is if it is so.
#[derive(Clone, Debug, PartialEq)]
pub struct Cause {
    /// Its name in kebab-case, such as `work-lead-loose`.
    pub name: String,
    /// Likelihood before any evidence, relative to the others.
    pub prior: f64,
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
