//! Text forms of quantities: `3 mm`, `1 1/2 in`, `95 in/min`, `6 bar`, `7 ga`.
//!
//! A text is a number and a unit, with or without a blank between. The number is a decimal (`2.5`), a fraction
//! (`1/4`) or a whole number and a fraction (`1 1/2`, `1-1/2`), with a sign before it if it has one. A number without
//! a unit is refused: nobody should have to guess whether `3` is millimetres or inches.

use crate::gauge::{self, Series};
use crate::quantity::{
    Acceleration, Angle, Current, Duration, Flow, Length, MM_PER_INCH, Pressure, Speed, Voltage, Volume,
};
use std::fmt;
use std::str::FromStr;

/// Why a text is not a quantity.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ParseError {
    /// The text as it was given, without blanks around it; long ones are cut short.
    pub read: String,
    /// What was expected: the quantity's name and the units that may follow the number.
    pub expected: Expected,
    /// What is wrong with the text.
    pub problem: Problem,
}

/// What a text should have been.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Expected {
    /// The quantity with its article, such as `a length`.
    pub quantity: &'static str,
    /// Units that may follow the number, the usual ones first.
    pub units: &'static [&'static str],
    /// A text that would have been right.
    pub example: &'static str,
}

/// What is wrong with a text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Problem {
    /// There is nothing.
    Empty,
    /// It does not begin with a number.
    NumberMissing,
    /// It holds a decimal comma.
    DecimalComma,
    /// A fraction has a denominator of zero.
    ZeroDenominator,
    /// The number has more digits than a machine number can hold, or is no number at all (`nan`, `inf`).
    NotFinite,
    /// A number without a unit.
    UnitMissing,
    /// The unit is not one of this quantity's.
    UnitUnknown(String),
    /// The value is too small or too large for what it is to be.
    OutOfRange,
    /// A gauge was given, but the material that says which series it is in is not told.
    GaugeWithoutMaterial,
    /// A gauge number that the series does not have.
    GaugeUnknown(String),
}

impl fmt::Display for ParseError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { read, expected, problem } = self;
        match problem {
            Problem::Empty => write!(f, "nothing stands where {} belongs", expected.quantity)?,
            Problem::NumberMissing => write!(f, "`{read}` does not begin with a number")?,
            Problem::DecimalComma => write!(f, "`{read}` has a comma in its number: write a point")?,
            Problem::ZeroDenominator => write!(f, "`{read}` divides by zero")?,
            Problem::NotFinite => write!(f, "`{read}` is not a number that can be reckoned with")?,
            Problem::UnitMissing => write!(f, "`{read}` has no unit")?,
            Problem::UnitUnknown(unit) => write!(f, "`{unit}` is not a unit of {}", expected.quantity)?,
            Problem::OutOfRange => write!(f, "`{read}` is too small or too large for {}", expected.quantity)?,
            Problem::GaugeWithoutMaterial => write!(
                f,
                "`{read}` means a different thickness for each material, and the material is not told"
            )?,
            Problem::GaugeUnknown(number) => write!(
                f,
                "there is no gauge `{number}` here: gauges from {} to {} are known",
                gauge::LEAST,
                gauge::MOST
            )?,
        }
        write!(
            f,
            "; {} is a number with one of {}, such as \"{}\"",
            expected.quantity,
            listed(expected.units),
            expected.example
        )
    }
}

impl std::error::Error for ParseError {}

/// The plate thickness that `text` tells: a length, or a gauge (`7 ga`) in the given series.
///
/// # Errors
/// As for [`Length`]; and a gauge without a series, or one that the series does not have.
///
/// # Example
/// ```
/// use units::{gauge::Series, parse::thickness};
/// assert_eq!(thickness("10 mm", None).unwrap().mm(), 10.0);
/// assert!((thickness("7 ga", Some(Series::ManufacturersStandard)).unwrap().inch() - 0.1793).abs() < 1e-4);
/// ```
pub fn thickness(text: &str, series: Option<Series>) -> Result<Length, ParseError> {
    let error = |problem| ParseError { read: shortened(text), expected: THICKNESS, problem };
    let Some(number) = gauge_number(text) else {
        return quantity(text, &THICKNESS, LENGTH_UNITS).map(Length::from_mm);
    };
    let series = series.ok_or_else(|| error(Problem::GaugeWithoutMaterial))?;
    number
        .parse()
        .ok()
        .and_then(|number| gauge::thickness(series, number))
        .ok_or_else(|| error(Problem::GaugeUnknown(shortened(number))))
}

/// What a length text should be, for messages of whoever reads pairs of lengths.
pub const LENGTH: Expected =
    Expected { quantity: "a length", units: &["mm", "cm", "m", "in", "ft"], example: "3 mm" };
/// What a thickness text should be.
pub const THICKNESS: Expected =
    Expected { quantity: "a thickness", units: &["mm", "in", "ga"], example: "10 mm" };

macro_rules! from_text {
    ($quantity:ident, $from:ident, $expected:expr, $units:expr) => {
        impl $quantity {
            /// What a text of this quantity should be, for messages.
            pub const EXPECTED: Expected = $expected;
        }

        impl FromStr for $quantity {
            type Err = ParseError;

            /// Reads a number and a unit.
            fn from_str(text: &str) -> Result<Self, ParseError> {
                quantity(text, &Self::EXPECTED, $units).map(Self::$from)
            }
        }
    };
}

from_text!(Length, from_mm, LENGTH, LENGTH_UNITS);
from_text!(
    Speed,
    from_mm_per_min,
    Expected {
        quantity: "a speed",
        units: &["mm/min", "m/min", "mm/s", "in/min", "ft/min"],
        example: "2400 mm/min"
    },
    &[
        ("mm/min", 1.0),
        ("cm/min", 10.0),
        ("m/min", 1000.0),
        ("mm/s", 60.0),
        ("m/s", 60_000.0),
        ("in/min", MM_PER_INCH),
        ("ipm", MM_PER_INCH),
        ("in/s", MM_PER_INCH * 60.0),
        ("ft/min", MM_PER_INCH * 12.0),
    ]
);
from_text!(
    Acceleration,
    from_mm_per_s2,
    Expected { quantity: "an acceleration", units: &["mm/s2", "m/s2", "in/s2"], example: "800 mm/s2" },
    &[
        ("mm/s2", 1.0),
        ("mm/s^2", 1.0),
        ("mm/s²", 1.0),
        ("m/s2", 1000.0),
        ("m/s^2", 1000.0),
        ("m/s²", 1000.0),
        ("in/s2", MM_PER_INCH),
        ("in/s^2", MM_PER_INCH),
        ("in/s²", MM_PER_INCH),
    ]
);
from_text!(
    Duration,
    from_s,
    Expected { quantity: "a time", units: &["s", "ms", "min", "h"], example: "0.4 s" },
    &[("s", 1.0), ("ms", 0.001), ("min", 60.0), ("h", 3600.0)]
);
from_text!(
    Pressure,
    from_bar,
    Expected { quantity: "a pressure", units: &["bar", "kPa", "MPa", "psi"], example: "6 bar" },
    &[("bar", 1.0), ("mbar", 0.001), ("kPa", 0.01), ("MPa", 10.0), ("psi", BAR_PER_PSI)]
);
from_text!(
    Current,
    from_a,
    Expected { quantity: "a current", units: &["A"], example: "45 A" },
    &[("A", 1.0), ("amps", 1.0)]
);
from_text!(
    Voltage,
    from_v,
    Expected { quantity: "a voltage", units: &["V"], example: "120 V" },
    &[("V", 1.0), ("volts", 1.0)]
);
from_text!(
    Flow,
    from_l_per_min,
    Expected { quantity: "a flow of air", units: &["l/min", "m3/min", "m3/h", "cfm"], example: "220 l/min" },
    &[
        ("l/min", 1.0),
        ("m3/min", 1000.0),
        ("m³/min", 1000.0),
        ("m3/h", 1000.0 / 60.0),
        ("m³/h", 1000.0 / 60.0),
        ("cfm", LITRES_PER_CUBIC_FOOT),
        ("ft3/min", LITRES_PER_CUBIC_FOOT),
    ]
);
from_text!(
    Volume,
    from_l,
    Expected { quantity: "a volume", units: &["l", "m3", "gal", "ft3"], example: "100 l" },
    &[
        ("l", 1.0),
        ("m3", 1000.0),
        ("m³", 1000.0),
        ("gal", LITRES_PER_US_GALLON),
        ("ft3", LITRES_PER_CUBIC_FOOT)
    ]
);
from_text!(
    Angle,
    from_deg,
    Expected { quantity: "an angle", units: &["deg", "°"], example: "1.5 deg" },
    &[("deg", 1.0), ("°", 1.0)]
);

/// Units of length and the millimetres in each.
const LENGTH_UNITS: &[(&str, f64)] = &[
    ("mm", 1.0),
    ("cm", 10.0),
    ("m", 1000.0),
    ("in", MM_PER_INCH),
    ("inch", MM_PER_INCH),
    ("inches", MM_PER_INCH),
    ("\"", MM_PER_INCH),
    ("ft", MM_PER_INCH * 12.0),
    ("'", MM_PER_INCH * 12.0),
];

/// Bar in a pound-force a square inch: 4.448 221 615 260 5 N over (0.0254 m)², in units of 100 kPa.
/// Source: definitions of the pound (1959) and of standard gravity (1901).
pub(crate) const BAR_PER_PSI: f64 = 4.448_221_615_260_5 / (0.0254 * 0.0254) / 1e5;
/// Litres in a cubic foot: 3.048³, exact by the definition of the inch.
pub(crate) const LITRES_PER_CUBIC_FOOT: f64 = 3.048 * 3.048 * 3.048;
/// Litres in a US liquid gallon: 231 cubic inches, exact by definition.
pub(crate) const LITRES_PER_US_GALLON: f64 = 231.0 * 0.254 * 0.254 * 0.254;

/// The value of `text` in the quantity's own unit; `units` holds each unit and the own units in it.
fn quantity(text: &str, expected: &Expected, units: &[(&str, f64)]) -> Result<f64, ParseError> {
    let error = |problem| ParseError { read: shortened(text), expected: *expected, problem };
    let (number, rest) = number(text.trim()).map_err(error)?;
    let unit = rest.trim();
    if unit.is_empty() {
        return Err(error(Problem::UnitMissing));
    }
    let (_, factor) = units
        .iter()
        .find(|(name, _)| same_unit(name, unit))
        .ok_or_else(|| error(Problem::UnitUnknown(shortened(unit))))?;
    let value = number * factor;
    if value.is_finite() { Ok(value) } else { Err(error(Problem::NotFinite)) }
}

/// Whether two spellings are the same unit: letters of either case, and blanks around the stroke, do not matter.
fn same_unit(name: &str, unit: &str) -> bool {
    let letters = |text: &str| {
        text.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase).collect::<String>()
    };
    letters(name) == letters(unit)
}

/// The number that `text` begins with, and what follows it.
fn number(text: &str) -> Result<(f64, &str), Problem> {
    if text.is_empty() {
        return Err(Problem::Empty);
    }
    let (negative, rest) = match text.strip_prefix('-') {
        Some(rest) => (true, rest.trim_start()),
        None => (false, text.strip_prefix('+').unwrap_or(text)),
    };
    let (size, rest) = unsigned(rest)?;
    if !size.is_finite() {
        return Err(Problem::NotFinite);
    }
    Ok((if negative { -size } else { size }, rest))
}

/// A decimal, a fraction, or a whole number and a fraction.
fn unsigned(text: &str) -> Result<(f64, &str), Problem> {
    let (first, rest) = decimal(text)?;
    if rest.starts_with(',') {
        return Err(Problem::DecimalComma);
    }
    if let Some(denominator) = rest.trim_start().strip_prefix('/') {
        return match decimal(denominator.trim_start()) {
            Ok((denominator, rest)) => Ok((divided(first, denominator)?, rest)),
            // `3 /min` is a number before a unit that begins with a stroke: the unit is what is wrong then.
            Err(_) => Ok((first, rest)),
        };
    }
    Ok(mixed(first, rest)?.unwrap_or((first, rest)))
}

/// The value of a whole number followed by a fraction; none if no fraction follows.
fn mixed(whole: f64, rest: &str) -> Result<Option<(f64, &str)>, Problem> {
    let joined = rest.trim_start();
    let joined = joined.strip_prefix('-').unwrap_or(joined);
    if joined.len() == rest.len() {
        return Ok(None);
    }
    let Ok((numerator, after)) = decimal(joined) else { return Ok(None) };
    let Some(after) = after.strip_prefix('/') else { return Ok(None) };
    let Ok((denominator, after)) = decimal(after) else { return Ok(None) };
    Ok(Some((whole + divided(numerator, denominator)?, after)))
}

fn divided(numerator: f64, denominator: f64) -> Result<f64, Problem> {
    if denominator > 0.0 { Ok(numerator / denominator) } else { Err(Problem::ZeroDenominator) }
}

/// Digits with at most one point among them.
fn decimal(text: &str) -> Result<(f64, &str), Problem> {
    let mut points = 0;
    let end = text
        .find(|c: char| {
            points += u32::from(c == '.');
            !(c.is_ascii_digit() || c == '.' && points == 1)
        })
        .unwrap_or(text.len());
    let (digits, rest) = text.split_at(end);
    let lower = text.get(..3).unwrap_or_default().to_ascii_lowercase();
    if lower == "nan" || lower == "inf" && !text.to_ascii_lowercase().starts_with("inch") {
        return Err(Problem::NotFinite);
    }
    let value = digits.parse().map_err(|_| Problem::NumberMissing)?;
    Ok((value, rest))
}

/// The number of a gauge text such as `7 ga`, `7ga` or `7 gauge`; none if it is not one.
fn gauge_number(text: &str) -> Option<&str> {
    let text = text.trim();
    let unit = text.find(|c: char| c.is_ascii_alphabetic())?;
    let (number, unit) = text.split_at(unit);
    ["ga", "gauge"].iter().any(|name| same_unit(name, unit)).then(|| number.trim())
}

/// A text fit for a message: at most this many characters, so that a megabyte of rubbish does not fill a screen.
const LONGEST_QUOTE: usize = 40;

fn shortened(text: &str) -> String {
    let text = text.trim();
    match text.char_indices().nth(LONGEST_QUOTE) {
        Some((end, _)) => format!("{} …", &text[..end]),
        None => text.to_owned(),
    }
}

/// `a, b or c`.
fn listed(names: &[&str]) -> String {
    match names {
        [] => String::new(),
        [only] => (*only).to_owned(),
        [first @ .., last] => format!("{} or {last}", first.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Reads `text` as `Q` and compares it in the quantity's own unit.
    fn reads<Q: FromStr<Err = ParseError>>(text: &str, get: impl Fn(Q) -> f64, expected: f64) {
        let value = get(text.parse().unwrap_or_else(|error| panic!("{text}: {error}")));
        assert!(
            (value - expected).abs() <= 1e-9 * expected.abs().max(1.0),
            "{text}: {value}, not {expected}"
        );
    }

    #[test]
    fn lengths_in_all_their_forms() {
        for (text, mm) in [
            ("3 mm", 3.0),
            ("3mm", 3.0),
            ("  3 MM ", 3.0),
            ("+3 mm", 3.0),
            ("-0.5 mm", -0.5),
            ("- 0.5 mm", -0.5),
            (".5 mm", 0.5),
            ("12 cm", 120.0),
            ("15 m", 15_000.0),
            ("1/4 in", 6.35),
            ("1/4in", 6.35),
            ("1 / 4 in", 6.35),
            ("1 1/2 in", 38.1),
            ("1-1/2 in", 38.1),
            ("-1 1/2 in", -38.1),
            ("0.25\"", 6.35),
            ("8 ft", 2438.4),
            ("8'", 2438.4),
            ("2 inches", 50.8),
        ] {
            reads(text, Length::mm, mm);
        }
    }

    /// Conversions that are exact by definition: the inch of 1959, the pound of 1959, standard gravity, the US gallon
    /// of 231 cubic inches. The factor of the psi is the one printed in NIST SP 811, appendix B.
    #[test]
    fn other_quantities_in_all_their_units() {
        reads("2400 mm/min", Speed::mm_per_min, 2400.0);
        reads("2.4 m/min", Speed::mm_per_min, 2400.0);
        reads("40 mm/s", Speed::mm_per_min, 2400.0);
        reads("95 in/min", Speed::mm_per_min, 2413.0);
        reads("95 in / min", Speed::mm_per_min, 2413.0);
        reads("95 ipm", Speed::mm_per_min, 2413.0);
        reads("800 mm/s2", Acceleration::mm_per_s2, 800.0);
        reads("0.8 m/s²", Acceleration::mm_per_s2, 800.0);
        reads("0.4 s", Duration::s, 0.4);
        reads("400 ms", Duration::s, 0.4);
        reads("12.5 min", Duration::s, 750.0);
        reads("6 bar", Pressure::bar, 6.0);
        reads("0.6 MPa", Pressure::bar, 6.0);
        reads("600 kPa", Pressure::bar, 6.0);
        reads("90 psi", Pressure::bar, 90.0 * 0.068_947_572_931_683_6);
        reads("45 A", Current::a, 45.0);
        reads("120 V", Voltage::v, 120.0);
        reads("220 l/min", Flow::l_per_min, 220.0);
        reads("8 cfm", Flow::l_per_min, 8.0 * 28.316_846_592);
        reads("50 l", Volume::l, 50.0);
        reads("80 gal", Volume::l, 80.0 * 3.785_411_784);
        reads("180 deg", Angle::rad, std::f64::consts::PI);
        reads("90°", Angle::rad, std::f64::consts::FRAC_PI_2);
    }

    #[test]
    fn refused_texts_say_why() {
        let long = format!("{} mm", "9".repeat(400));
        for (text, problem) in [
            ("", Problem::Empty),
            ("   ", Problem::Empty),
            ("mm", Problem::NumberMissing),
            (".", Problem::NumberMissing),
            ("-", Problem::NumberMissing),
            ("3", Problem::UnitMissing),
            ("1/4", Problem::UnitMissing),
            ("1 1/2", Problem::UnitMissing),
            ("3 bar", Problem::UnitUnknown("bar".into())),
            ("3 mm mm", Problem::UnitUnknown("mm mm".into())),
            ("3 4 mm", Problem::UnitUnknown("4 mm".into())),
            ("1.2.3 mm", Problem::UnitUnknown(".3 mm".into())),
            ("1e3 mm", Problem::UnitUnknown("e3 mm".into())),
            ("2,5 mm", Problem::DecimalComma),
            ("1/0 in", Problem::ZeroDenominator),
            ("1 1/0 in", Problem::ZeroDenominator),
            ("nan mm", Problem::NotFinite),
            ("inf mm", Problem::NotFinite),
            ("-Infinity mm", Problem::NotFinite),
            (&long, Problem::NotFinite),
            ("inch", Problem::NumberMissing),
            ("3 µ", Problem::UnitUnknown("µ".into())),
        ] {
            let error = text.parse::<Length>().expect_err(text);
            assert_eq!(error.problem, problem, "{text}");
            assert!(error.to_string().contains("such as \"3 mm\""), "{error}");
        }
    }

    #[test]
    fn a_bare_number_is_told_which_units_may_follow() {
        let error = "95".parse::<Speed>().expect_err("no unit");
        assert_eq!(
            error.to_string(),
            "`95` has no unit; a speed is a number with one of mm/min, m/min, mm/s, in/min or ft/min, such as \
             \"2400 mm/min\""
        );
    }

    #[test]
    fn gauges_need_a_material_and_a_number_of_the_series() {
        let steel = Some(Series::ManufacturersStandard);
        assert!((thickness("7 ga", steel).unwrap().inch() - 0.1793).abs() < 1e-4);
        assert_eq!(thickness("7ga", steel), thickness("7 gauge", steel));
        assert_eq!(thickness("1/4 in", steel).unwrap(), Length::from_inch(0.25));
        let problem = |text, series| thickness(text, series).expect_err(text).problem;
        assert_eq!(problem("7 ga", None), Problem::GaugeWithoutMaterial);
        assert_eq!(problem("99 ga", steel), Problem::GaugeUnknown("99".into()));
        assert_eq!(problem("7.5 ga", steel), Problem::GaugeUnknown("7.5".into()));
        assert_eq!(problem("ga", steel), Problem::GaugeUnknown(String::new()));
        assert_eq!(problem("7", steel), Problem::UnitMissing);
    }

    #[test]
    fn a_long_text_is_quoted_short() {
        let error = format!("3 {}", "ü".repeat(10_000)).parse::<Length>().expect_err("no such unit");
        assert!(error.to_string().len() < 400, "{error}");
    }
}
