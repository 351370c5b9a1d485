//! Quantities written for people, in metric or in inch units.

use crate::parse::{BAR_PER_PSI, LITRES_PER_CUBIC_FOOT, LITRES_PER_US_GALLON};
use crate::quantity::{
    Acceleration, Angle, Current, Duration, Flow, Length, MM_PER_INCH, Pressure, Speed, Voltage, Volume,
};
use std::fmt;

/// Which units people in the shop read.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum System {
    /// Millimetres, bar, litres.
    #[default]
    Metric,
    /// Inches, psi, cubic feet.
    Inch,
}

/// A value, its decimals at most, and its unit.
struct Shown(f64, usize, &'static str);

impl fmt::Display for Shown {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self(value, decimals, unit) = self;
        let fixed = format!("{value:.decimals$}");
        let short =
            if fixed.contains('.') { fixed.trim_end_matches('0').trim_end_matches('.') } else { &fixed };
        // A value that rounds to nothing has no sign.
        let short = if short == "-0" { "0" } else { short };
        write!(f, "{short} {unit}")
    }
}

macro_rules! shown {
    ($quantity:ident, $doc:literal, |$q:ident| $metric:expr, $inch:expr) => {
        impl $quantity {
            #[doc = $doc]
            #[must_use]
            pub fn show(self, system: System) -> String {
                let $q = self;
                match system {
                    System::Metric => $metric.to_string(),
                    System::Inch => $inch.to_string(),
                }
            }
        }

        impl fmt::Display for $quantity {
            /// As [`Self::show`] in metric units.
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.pad(&self.show(System::Metric))
            }
        }
    };
}

shown!(
    Length,
    "Written to 0.01 mm or 0.001 in, what a plasma table can hold to and a little more: `412.3 mm`, `16.232 in`.",
    |q| Shown(q.mm(), 2, "mm"),
    Shown(q.inch(), 3, "in")
);
shown!(
    Speed,
    "Written to 1 mm/min or 0.1 in/min: `2400 mm/min`, `94.5 in/min`.",
    |q| Shown(q.mm_per_min(), 0, "mm/min"),
    Shown(q.mm_per_min() / MM_PER_INCH, 1, "in/min")
);
shown!(
    Acceleration,
    "Written to 1 mm/s2 or 0.1 in/s2.",
    |q| Shown(q.mm_per_s2(), 0, "mm/s2"),
    Shown(q.mm_per_s2() / MM_PER_INCH, 1, "in/s2")
);
shown!(
    Duration,
    "Written to 0.01 s below a minute (`0.4 s`), else in minutes and seconds (`12 min 30 s`) or hours and minutes.",
    |q| Clock(q),
    Clock(q)
);
shown!(
    Pressure,
    "Written to 0.01 bar or 1 psi: `6 bar`, `87 psi`.",
    |q| Shown(q.bar(), 2, "bar"),
    Shown(q.bar() / BAR_PER_PSI, 0, "psi")
);
shown!(Current, "Written to 0.1 A.", |q| Shown(q.a(), 1, "A"), Shown(q.a(), 1, "A"));
shown!(Voltage, "Written to 0.1 V.", |q| Shown(q.v(), 1, "V"), Shown(q.v(), 1, "V"));
shown!(
    Flow,
    "Written to 1 l/min or 0.1 cfm: `220 l/min`, `7.8 cfm`.",
    |q| Shown(q.l_per_min(), 0, "l/min"),
    Shown(q.l_per_min() / LITRES_PER_CUBIC_FOOT, 1, "cfm")
);
shown!(
    Volume,
    "Written to 0.1 l or 0.1 US gallon: `270 l`, `71.3 gal`.",
    |q| Shown(q.l(), 1, "l"),
    Shown(q.l() / LITRES_PER_US_GALLON, 1, "gal")
);
shown!(Angle, "Written to 0.01 degree.", |q| Shown(q.deg(), 2, "deg"), Shown(q.deg(), 2, "deg"));

/// A time as people read it.
struct Clock(Duration);

impl fmt::Display for Clock {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let s = self.0.s();
        let whole = s.abs().round();
        let sign = if s < 0.0 { "-" } else { "" };
        if s.abs() >= 59.995 && whole.is_finite() {
            let (hours, minutes, seconds) =
                ((whole / 3600.0).floor(), (whole % 3600.0 / 60.0).floor(), whole % 60.0);
            return if hours > 0.0 {
                write!(f, "{sign}{hours} h {minutes} min")
            } else {
                write!(f, "{sign}{minutes} min {seconds} s")
            };
        }
        Shown(s, 2, "s").fmt(f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn people_read_short_numbers() {
        for (shown, expected) in [
            (Length::from_mm(3.0).to_string(), "3 mm"),
            (Length::from_mm(412.300_01).to_string(), "412.3 mm"),
            (Length::from_mm(-0.001).to_string(), "0 mm"),
            (Length::from_mm(1200.0).to_string(), "1200 mm"),
            (Length::from_inch(0.25).show(System::Inch), "0.25 in"),
            (Speed::from_mm_per_min(2413.0).show(System::Inch), "95 in/min"),
            (Speed::from_mm_per_min(2400.4).to_string(), "2400 mm/min"),
            (Pressure::from_bar(6.205).show(System::Inch), "90 psi"),
            (Flow::from_l_per_min(226.5).show(System::Inch), "8 cfm"),
            (Volume::from_l(270.0).to_string(), "270 l"),
            (Duration::from_s(0.4).to_string(), "0.4 s"),
            (Duration::from_s(59.999).to_string(), "1 min 0 s"),
            (Duration::from_s(750.0).to_string(), "12 min 30 s"),
            (Duration::from_s(3725.0).to_string(), "1 h 2 min"),
            (Duration::from_s(-90.0).to_string(), "-1 min 30 s"),
            (Angle::from_deg(1.5).to_string(), "1.5 deg"),
            (format!("{:>8}", Length::from_mm(3.0)), "    3 mm"),
        ] {
            assert_eq!(shown, expected);
        }
    }

    /// What is written in metric units is read again as the same, within what was written.
    #[test]
    fn what_is_written_can_be_read() {
        for tenth in -50..2000_i32 {
            let length = Length::from_mm(f64::from(tenth) * 0.37);
            for system in [System::Metric, System::Inch] {
                let again: Length = length.show(system).parse().expect("what we write we read");
                assert!((again - length).abs().mm() < 0.0128, "{length}");
            }
        }
    }
}
