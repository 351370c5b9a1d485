//! Keys of the shop file.

use super::{
    ACCELERATION, COUNT, CURRENT, FLOW, File, Key, Kind, LENGTH, LENGTH_OR_NONE, NUMBER, PRESSURE, PRICE,
    SHARE, SPEED, TIME, VOLTAGE, VOLUME, choice, key,
};
use crate::model::{ClearsBy, Material, StandingStart, StartAtLine};
use crate::words::{Base, TimeUnit};
use nc::{ArcCenters, TorchOffActs};

/// The shop file.
pub static SHOP: File = File { name: "shop file", keys: KEYS };

/// A count that divides others and cannot be nothing.
const MORE_THAN_NONE: Kind = Kind::Number { least: 1.0, most: f64::MAX };

static KEYS: &[Key] = &[
    key("name", Kind::Text, "The shop's name, for print", "\"Example shop\""),
    // The table.
    key("table", Kind::Table, "The table and its control", ""),
    key(
        "table.travel",
        Kind::Point,
        "How far the torch reaches in X and Y from the table's zero",
        "[\"3000 mm\", \"1500 mm\"]",
    ),
    key("table.rapid", SPEED, "Speed of rapid motion", "\"15 m/min\""),
    key("table.acceleration", ACCELERATION, "Acceleration of an axis", "\"800 mm/s2\""),
    key("table.rapid_z", SPEED, "Speed of rapid motion up and down", "\"4 m/min\""),
    key("table.path_tolerance", LENGTH, "How far the control may round off a corner", "\"0.1 mm\""),
    key(
        "table.blocks_per_second",
        Kind::Number { least: 1.0, most: 1e6 },
        "Blocks that the control reads in a second",
        "200.0",
    ),
    key(
        "table.touch_off_time",
        TIME,
        "How long a touch-off takes that the control or a subprogram of its own does",
        "\"2.5 s\"",
    ),
    key("table.slat_pitch", LENGTH, "Distance from slat to slat", "\"100 mm\""),
    key(
        "table.keeps_offsets",
        Kind::Flag,
        "Whether the control keeps its position and offsets over a power cut",
        "false",
    ),
    key(
        "table.safe_height",
        LENGTH,
        "Height of the torch above the plate at which it may cross loose pieces",
        "\"40 mm\"",
    ),
    key(
        "table.home_switches",
        Kind::Flag,
        "Whether the table finds its zero by switches after power-up",
        "true",
    ),
    key(
        "table.awaits_arc",
        Kind::Text,
        "What the control does after a start command until the arc is reported: `\"for ever\"` (waits until someone acts), a time such as `\"5 s\"` (gives up after it), `\"3 retries\"`, or `\"no\"` (there is no transfer signal: it moves after the delay, arc or not)",
        "\"5 s\"",
    ),
    key(
        "table.start_at_line",
        choice::<StartAtLine>(),
        "What the control does when told to start at a line",
        "\"scans\"",
    ),
    key("table.over_water", Kind::Flag, "Whether plates lie over or in water", "false").or("false"),
    key(
        "table.delays_pierce",
        Kind::Flag,
        "Whether the control by itself waits between transfer and motion, so that programs need no dwell at a start",
        "false",
    ),
    key("table.decimals", Kind::Table, "Decimals the control takes", "{ mm = 3, inch = 4 }"),
    key("table.decimals.mm", Kind::Count { least: 0, most: 9 }, "In millimetre programs", "3").or("3"),
    key("table.decimals.inch", Kind::Count { least: 0, most: 9 }, "In inch programs", "4").or("4"),
    key("table.arc_tolerance", LENGTH, "How far the radii at both ends of an arc may differ", "\"0.05 mm\"")
        .or("0.05 mm (common practice)"),
    key(
        "table.longest_line",
        Kind::Count { least: 8, most: u32::MAX },
        "Longest line the control reads, in characters",
        "256",
    )
    .or("no limit"),
    // Its words.
    key(
        "table.words",
        Kind::Table,
        "The words in which this control differs from others; copy them from its manual and from programs that ran well",
        "",
    ),
    key(
        "table.words.base",
        choice::<Base>(),
        "What the words below are added to or put in place of",
        "\"common\"",
    )
    .or("common"),
    key("table.words.torch_on", Kind::Texts, "Codes that start the torch", "[\"M3\"]").or("M3 and M4"),
    key("table.words.torch_off", Kind::Texts, "Codes that end the cut", "[\"M5\"]").or("M5"),
    key(
        "table.words.torch_off_acts",
        choice::<TorchOffActs>(),
        "When a torch-off in the block of a motion acts",
        "\"before-motion\"",
    )
    .or("before-motion (NISTIR 6556, table 8)"),
    key(
        "table.words.probe",
        Kind::Texts,
        "Codes of a straight probing motion; the torch stands on the plate after it",
        "[\"G38.2\"]",
    )
    .or("G38.2 (NISTIR 6556, 3.5.9)"),
    key(
        "table.words.touch_off",
        Kind::Texts,
        "Other ways in which the plate's surface is found: a code of the control (`\"M7\"`), a subprogram (`\"subprogram 100\"`), or `\"torch-on\"` if the control touches off by itself before each start",
        "[\"torch-on\"]",
    ),
    key(
        "table.words.touch_off_leaves",
        LENGTH_OR_NONE,
        "Height above the plate at which a touch-off by the control or by a subprogram of its own leaves the torch",
        "\"4 mm\"",
    ),
    key(
        "table.words.probe_travel",
        LENGTH_OR_NONE,
        "How far the head travels on, after the torch has met the plate, until its probe trips",
        "\"1.5 mm\"",
    )
    .or("0 mm: the tip itself is the probe"),
    key("table.words.height_control_on", Kind::Texts, "Codes that let height control steer", "[\"M21\"]"),
    key("table.words.height_control_off", Kind::Texts, "Codes that hold height control", "[\"M20\"]"),
    key(
        "table.words.process_letter",
        Kind::Text,
        "Letter whose number names the process; `\"none\"` if programs do not choose it",
        "\"T\"",
    )
    .or("T"),
    key("table.words.call", Kind::Text, "Code that calls a subprogram", "\"M98\"").or("M98"),
    key("table.words.call_target", Kind::Text, "Letter of the subprogram's number in a call", "\"P\"")
        .or("P"),
    key("table.words.call_repeats", Kind::Text, "Letter of the number of repeats in a call", "\"L\"").or("L"),
    key("table.words.call_return", Kind::Text, "Code that returns from a subprogram", "\"M99\"").or("M99"),
    key("table.words.subprogram_letter", Kind::Text, "Letter that begins a subprogram's block", "\"O\"")
        .or("O"),
    key(
        "table.words.arc_centers",
        choice::<ArcCenters>(),
        "How I and J are meant until a word says otherwise",
        "\"from-start\"",
    )
    .or("from-start (NISTIR 6556, 3.5.3)"),
    key(
        "table.words.arc_centers_absolute",
        Kind::Text,
        "Code after which I and J are coordinates; `\"none\"` if there is none",
        "\"G90.1\"",
    )
    .or("G90.1"),
    key(
        "table.words.arc_centers_from_start",
        Kind::Text,
        "Code after which I and J are offsets from the arc's start; `\"none\"` if there is none",
        "\"G91.1\"",
    )
    .or("G91.1"),
    key(
        "table.words.comp_widths",
        Kind::Table,
        "Width that cutter compensation allows for, by the number of the D word that chooses it",
        "{ 1 = \"1.5 mm\" }",
    ),
    key("table.words.comp_widths.*", LENGTH_OR_NONE, "Width for the D word of this number", "\"1.5 mm\""),
    key("table.words.dwell", Kind::Text, "Code that waits", "\"G4\"").or("G4 (NISTIR 6556, 3.5.4)"),
    key("table.words.dwell_letter", Kind::Text, "Letter of the time to wait", "\"P\"")
        .or("P (NISTIR 6556, 3.5.4)"),
    key("table.words.dwell_unit", choice::<TimeUnit>(), "What the number of a dwell counts", "\"s\"")
        .or("s (NISTIR 6556, 3.5.4)"),
    key(
        "table.words.comments",
        Kind::Texts,
        "How comments are written: `\"()\"`, or a character from which the rest of the line is one",
        "[\"()\", \";\"]",
    )
    .or("both of these"),
    key(
        "table.words.no_bearing",
        Kind::Texts,
        "Codes this control knows that have no bearing on the cut",
        "[\"M8\", \"M9\"]",
    ),
    key("table.words.block_delete", Kind::Flag, "Whether lines that begin with `/` are skipped", "true")
        .or("true"),
    // The source.
    key("source", Kind::Table, "The power source", ""),
    key("source.name", Kind::Text, "The shop's name for it", "\"Example source\"").required(),
    key(
        "source.standing_start",
        choice::<StandingStart>(),
        "What a start command does that stands when the source is switched on",
        "\"latches\"",
    )
    .or("fires, the cautious one"),
    key("source.pressure_min", PRESSURE, "Least pressure at its inlet while air flows", "\"4.5 bar\""),
    key(
        "source.isolation_wait",
        TIME,
        "How long its manual says to wait after isolating it before torch parts are touched",
        "\"5 min\"",
    ),
    key("source.preflow", TIME, "How long gas flows before the pilot arc", "\"0.5 s\""),
    key(
        "source.transfer_time",
        TIME,
        "How long the pilot arc burns until transfer at a sound start",
        "\"0.2 s\"",
    ),
    key("source.post_flow", TIME, "How long gas flows after the arc has ended", "\"15 s\""),
    key(
        "source.efficiency",
        Kind::Number { least: 0.05, most: 1.0 },
        "Share of the power from the mains that reaches the arc",
        "0.85",
    ),
    key("source.duty", Kind::Tables, "Rated points of the duty cycle", ""),
    key("source.duty.share", SHARE, "Share of ten minutes", "0.6").required(),
    key("source.duty.current", CURRENT, "Current at which it holds", "\"60 A\"").required(),
    key("source.fault", Kind::Tables, "Fault codes, from its manual", ""),
    key("source.fault.code", Kind::Text, "The code as shown", "\"WORK-LEAD\"").required(),
    key("source.fault.cause", Kind::Text, "What it means", "\"no current through the work lead\"").required(),
    key(
        "source.fault.remedy",
        Kind::Text,
        "What to do about it",
        "\"clean the plate and clamp the work lead on bare metal\"",
    )
    .required(),
    key(
        "source.fault.clears_by",
        choice::<ClearsBy>(),
        "How it clears once its cause is gone",
        "\"new-start\"",
    )
    .required(),
    key(
        "source.fault.points_at",
        Kind::Text,
        "Name of the cause in the table of causes that it points at",
        "\"work-lead-loose\"",
    ),
    // Processes.
    key(
        "process",
        Kind::Tables,
        "A process: consumable set, current and gas on one material, with its chart",
        "",
    ),
    key("process.name", Kind::Text, "The shop's name for it", "\"fine 45\"").required(),
    key("process.number", COUNT, "Its number in programs, if programs choose it", "2"),
    key("process.material", choice::<Material>(), "Material it is for", "\"mild-steel\"").required(),
    key("process.current", CURRENT, "Current", "\"45 A\""),
    key("process.consumables", Kind::Text, "Name of the consumable set", "\"fine\""),
    key("process.marks", Kind::Flag, "Whether it marks instead of cutting through", "false").or("false"),
    key(
        "process.chart",
        Kind::Tables,
        "A row of its chart, for one thickness; copy it from the manual of the source",
        "",
    ),
    key("process.chart.thickness", Kind::Thickness, "Thickness", "\"3 mm\"").required(),
    key(
        "process.chart.pierce",
        Kind::Table,
        "Values of the start",
        "{ height = \"3.8 mm\", delay = \"0.3 s\" }",
    ),
    key("process.chart.pierce.height", LENGTH, "Height at which the arc is started", "\"3.8 mm\""),
    key("process.chart.pierce.delay", TIME, "Wait between transfer and motion", "\"0.3 s\""),
    key(
        "process.chart.cut",
        Kind::Table,
        "Values of the cut",
        "{ height = \"1.5 mm\", volts = \"110 V\", speed = \"2600 mm/min\", kerf = \"1.5 mm\" }",
    ),
    key("process.chart.cut.height", LENGTH, "Height of the torch while cutting", "\"1.5 mm\""),
    key("process.chart.cut.volts", VOLTAGE, "Arc voltage while cutting", "\"110 V\""),
    key("process.chart.cut.speed", SPEED, "Speed", "\"2600 mm/min\""),
    key("process.chart.cut.kerf", LENGTH, "Width of the kerf", "\"1.5 mm\""),
    // What is fitted.
    key("fitted", Kind::Table, "What is fitted in the torch now", ""),
    key("fitted.process", Kind::Text, "Name of the process or of the consumable set fitted", "\"fine 45\"")
        .required(),
    key("fitted.starts", COUNT, "Starts on the set so far", "120"),
    key("fitted.arc_time", TIME, "Arc time on the set so far", "\"45 min\""),
    key("fitted.life_starts", NUMBER, "Starts after which the shop changes a set", "400"),
    // Air.
    key("air", Kind::Table, "Compressed air", ""),
    key("air.delivery", FLOW, "Free-air delivery of the compressor", "\"400 l/min\""),
    key("air.receiver", VOLUME, "Volume of the receiver", "\"270 l\""),
    key("air.cut_in", PRESSURE, "Pressure at which the compressor starts", "\"7 bar\""),
    key("air.cut_out", PRESSURE, "Pressure at which it stops", "\"9 bar\""),
    key("air.regulator", PRESSURE, "Setting of the regulator at the source", "\"6 bar\""),
    key("air.hose_length", LENGTH, "Length of the hose between receiver and source", "\"15 m\""),
    key("air.hose_bore", LENGTH, "Its bore", "\"10 mm\""),
    key("air.altitude", LENGTH_OR_NONE, "Height of the shop above the sea", "\"300 m\""),
    key("air.torch_flow", FLOW, "Flow of the torch while cutting", "\"180 l/min\""),
    key(
        "air.gas_flow",
        FLOW,
        "Flow while gas runs without the cutting arc, before and after it",
        "\"150 l/min\"",
    )
    .or("that while cutting"),
    // Wear.
    key("wear", Kind::Table, "How sets of consumables wear, from the shop's own record", ""),
    key("wear.life", MORE_THAN_NONE, "Starts' worth of wear by which 63 of 100 sets are spent", "520.0")
        .required(),
    key(
        "wear.shape",
        Kind::Number { least: 0.1, most: 50.0 },
        "How sharply sets end about their life: the shape of the Weibull law, over 1 for parts that wear out",
        "3.0",
    )
    .required(),
    key("wear.per_arc_minute", PRICE, "Starts' worth of wear of one minute of arc", "1.5").or("0"),
    key(
        "wear.per_snap",
        PRICE,
        "Starts' worth of wear of one arc that snaps off the edge of the plate",
        "4.0",
    )
    .or("0"),
    // Stock.
    key("stock", Kind::Tables, "A plate or remnant in stock", ""),
    key("stock.name", Kind::Text, "The shop's mark on it", "\"R-17\"").required(),
    key("stock.material", choice::<Material>(), "Material", "\"mild-steel\"").required(),
    key("stock.thickness", Kind::Thickness, "Thickness", "\"10 mm\"").required(),
    key("stock.plate", Kind::Plate, "Its size or outline", "\"1200x800 mm\"").required(),
    key(
        "stock.plate.outline",
        Kind::Points,
        "Corners of the outside in order",
        "[\"0x0 mm\", \"1200x0 mm\", \"1200x500 mm\", \"0x800 mm\"]",
    )
    .required(),
    key(
        "stock.plate.holes",
        Kind::Rings,
        "Corners of each hole in order",
        "[[\"100x100 mm\", \"300x100 mm\", \"200x300 mm\"]]",
    ),
    // Money.
    key("money", Kind::Table, "Prices in the shop's own currency", ""),
    key("money.currency", Kind::Text, "Name of the currency, for print", "\"EUR\""),
    key("money.hour", PRICE, "An hour of the table and its operator", "60.0"),
    key("money.plate_kg", PRICE, "A kilogram of plate", "1.4"),
    key("money.consumable_set", PRICE, "A set of consumables", "35.0"),
    key("money.kwh", PRICE, "A kilowatt-hour", "0.3"),
    key("money.gas_m3", PRICE, "A cubic metre of gas or of free air", "0.02"),
    // Causes.
    key("causes", Kind::Table, "Causes of failed starts, where the shop knows better than the defaults", ""),
    key("causes.*", Kind::Table, "A cause under its name, such as `[causes.work-lead-loose]`", ""),
    key("causes.*.prior", PRICE, "How likely it is before any evidence, against the other causes", "2.0"),
    key(
        "causes.*.seen",
        Kind::Table,
        "How likely each observation is if this is the cause",
        "{ pilot-full = 0.9 }",
    ),
    key("causes.*.seen.*", SHARE, "Probability of the observation of this name", "0.9"),
    // Thresholds.
    key("thresholds", Kind::Table, "Limits that programs are held against", ""),
    key("thresholds.speed_share", SHARE, "Share by which speed may differ from the chart", "0.15")
        .or("0.15 (common practice)"),
    key("thresholds.speed_share_thin", SHARE, "The same for sheet up to 2 mm", "0.3")
        .or("0.30 (common practice)"),
    key("thresholds.volts", VOLTAGE, "By how much the arc voltage may differ from the chart", "\"5 V\"")
        .or("5 V (common practice)"),
    key("thresholds.void_along", LENGTH, "How far the arc survives along a void", "\"5 mm\"")
        .or("5 mm (common practice)"),
    key("thresholds.void_across", LENGTH, "How far the arc survives across a void", "\"3 mm\"")
        .or("3 mm (common practice)"),
    key(
        "thresholds.kerf_along",
        LENGTH,
        "How far the arc survives along a kerf of its own, with metal on both sides",
        "\"8 mm\"",
    )
    .or("8 mm (common practice)"),
    key(
        "thresholds.edge_delay",
        TIME,
        "Longest wait, torch at rest, at a start on a kerf's end wall",
        "\"0.3 s\"",
    )
    .or("0.3 s (common practice)"),
    key(
        "thresholds.second_pass_speed",
        SHARE,
        "Share of its speed at which a groove is gone over a second time",
        "0.8",
    )
    .or("0.80 (common practice)"),
    key(
        "thresholds.touch_off_reach",
        LENGTH_OR_NONE,
        "Farthest XY travel between a touch-off and its start",
        "\"25 mm\"",
    )
    .or("25 mm (common practice)"),
    key(
        "thresholds.touch_off_footprint",
        LENGTH,
        "Diameter of sound plate that a touch-off needs",
        "\"10 mm\"",
    )
    .or("10 mm (common practice)"),
    key(
        "thresholds.pierce_delay_min",
        TIME,
        "Shortest pierce delay where no chart says otherwise, on plate over 3 mm",
        "\"0.1 s\"",
    )
    .or("0.1 s (common practice)"),
];
