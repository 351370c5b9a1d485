//! Sheet gauges: a number that means a different thickness in each of four series.
//!
//! All four are closed forms. Three go back to the weight of a square foot of sheet in ounces, which the US Standard
//! Gauge fixed by law; the fourth is geometric.

use crate::Length;

/// The lowest (thickest) gauge known here.
pub const LEAST: u32 = 7;
/// The highest (thinnest) gauge known here.
pub const MOST: u32 = 26;

/// A series of gauges.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Series {
    /// US Standard Gauge, by which stainless sheet is sold. Source: 15 U.S.C. 206.
    UsStandard,
    /// Manufacturers' Standard Gauge, for uncoated steel sheet: 41.82 lb a square foot for each inch.
    ManufacturersStandard,
    /// Galvanised Sheet Gauge: the same, with 2.5 oz a square foot of zinc counted in.
    Galvanised,
    /// Brown & Sharpe, by which aluminium sheet is sold; the same as American Wire Gauge.
    BrownAndSharpe,
}

impl Series {
    /// All four.
    pub const ALL: [Self; 4] =
        [Self::UsStandard, Self::ManufacturersStandard, Self::Galvanised, Self::BrownAndSharpe];

    /// Its name for messages.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::UsStandard => "US Standard Gauge",
            Self::ManufacturersStandard => "Manufacturers' Standard Gauge",
            Self::Galvanised => "Galvanised Sheet Gauge",
            Self::BrownAndSharpe => "Brown & Sharpe gauge",
        }
    }
}

/// The thickness of gauge `number` in `series`; none outside [`LEAST`] to [`MOST`].
///
/// **Accuracy**: the closed form, not rounded; printed tables round to 0.0001 in or 0.001 mm.
///
/// **Source**: US Standard: 15 U.S.C. 206, weight over 640 oz a square foot and inch. Manufacturers' Standard:
/// 41.82 lb a square foot and inch. Galvanised: the same with 2.5 oz of zinc. Brown & Sharpe: 0.005 in × 92^((36 − n) / 39).
#[must_use]
pub fn thickness(series: Series, number: u32) -> Option<Length> {
    let inch = match series {
        Series::UsStandard => ounces(number)? / 640.0,
        Series::ManufacturersStandard => ounces(number)? / 16.0 / POUNDS_PER_FOOT2_INCH,
        Series::Galvanised => (ounces(number)? + ZINC_OUNCES) / 16.0 / POUNDS_PER_FOOT2_INCH,
        Series::BrownAndSharpe => {
            ounces(number)?;
            0.005 * 92_f64.powf((36.0 - f64::from(number)) / 39.0)
        }
    };
    Some(Length::from_inch(inch))
}

/// Weight of steel sheet in pounds a square foot for each inch of thickness, as the trade fixed it for its gauge: a
/// little above the true density, to allow for sheets that are thicker in the middle than at the edge.
const POUNDS_PER_FOOT2_INCH: f64 = 41.82;

/// Zinc on both sides of a galvanised sheet in ounces a square foot, as its gauge assumes.
const ZINC_OUNCES: f64 = 2.5;

/// Ounces a square foot of each gauge from [`LEAST`] on. Source: 15 U.S.C. 206.
const OUNCES: [f64; 20] = [
    120.0, 110.0, 100.0, 90.0, 80.0, 70.0, 60.0, 50.0, 45.0, 40.0, 36.0, 32.0, 28.0, 24.0, 22.0, 20.0, 18.0,
    16.0, 14.0, 12.0,
];

fn ounces(number: u32) -> Option<f64> {
    OUNCES.get(number.checked_sub(LEAST)? as usize).copied()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Printed thicknesses in inches by gauge: US Standard (stainless), Manufacturers' Standard, galvanised, Brown & Sharpe.
    /// Sources: 15 U.S.C. 206 for the first column, exact in binary and decimal fractions; the printed tables of
    /// the Manufacturers' Standard, Galvanised and Brown & Sharpe series for the others, to ±0.0001 in. Galvanised tables
    /// begin at 8; the figure for 7 is the formula's.
    const PRINTED_INCH: [(u32, [f64; 4]); 20] = [
        (7, [0.1875, 0.1793, 0.1831, 0.1443]),
        (8, [0.171_875, 0.1644, 0.1681, 0.1285]),
        (9, [0.15625, 0.1495, 0.1532, 0.1144]),
        (10, [0.140_625, 0.1345, 0.1382, 0.1019]),
        (11, [0.125, 0.1196, 0.1233, 0.0907]),
        (12, [0.109_375, 0.1046, 0.1084, 0.0808]),
        (13, [0.09375, 0.0897, 0.0934, 0.0720]),
        (14, [0.078_125, 0.0747, 0.0785, 0.0641]),
        (15, [0.070_312_5, 0.0673, 0.0710, 0.0571]),
        (16, [0.0625, 0.0598, 0.0635, 0.0508]),
        (17, [0.05625, 0.0538, 0.0575, 0.0453]),
        (18, [0.05, 0.0478, 0.0516, 0.0403]),
        (19, [0.04375, 0.0418, 0.0456, 0.0359]),
        (20, [0.0375, 0.0359, 0.0396, 0.0320]),
        (21, [0.034_375, 0.0329, 0.0366, 0.0285]),
        (22, [0.03125, 0.0299, 0.0336, 0.0253]),
        (23, [0.028_125, 0.0269, 0.0306, 0.0226]),
        (24, [0.025, 0.0239, 0.0276, 0.0201]),
        (25, [0.021_875, 0.0209, 0.0247, 0.0179]),
        (26, [0.01875, 0.0179, 0.0217, 0.0159]),
    ];

    /// The same in millimetres, which the tables print from the unrounded inch to 0.001 mm (0.0001 mm for US Standard).
    const PRINTED_MM: [(u32, [f64; 4]); 20] = [
        (7, [4.7625, 4.555, 4.650, 3.665]),
        (8, [4.3656, 4.176, 4.271, 3.264]),
        (9, [3.9688, 3.796, 3.891, 2.906]),
        (10, [3.5719, 3.416, 3.511, 2.588]),
        (11, [3.1750, 3.037, 3.132, 2.305]),
        (12, [2.7781, 2.657, 2.752, 2.053]),
        (13, [2.3812, 2.278, 2.373, 1.828]),
        (14, [1.9844, 1.898, 1.993, 1.628]),
        (15, [1.7859, 1.708, 1.803, 1.450]),
        (16, [1.5875, 1.518, 1.613, 1.291]),
        (17, [1.4288, 1.367, 1.461, 1.150]),
        (18, [1.2700, 1.215, 1.310, 1.024]),
        (19, [1.1113, 1.063, 1.158, 0.912]),
        (20, [0.9525, 0.911, 1.006, 0.812]),
        (21, [0.8731, 0.835, 0.930, 0.723]),
        (22, [0.7938, 0.759, 0.854, 0.644]),
        (23, [0.7144, 0.683, 0.778, 0.573]),
        (24, [0.6350, 0.607, 0.702, 0.511]),
        (25, [0.5556, 0.531, 0.626, 0.455]),
        (26, [0.4763, 0.456, 0.550, 0.405]),
    ];

    fn agrees(table: &[(u32, [f64; 4])], get: impl Fn(Length) -> f64, tolerance: f64) {
        for (number, row) in table {
            for (series, printed) in Series::ALL.into_iter().zip(row) {
                let value = get(thickness(series, *number).expect("a gauge of the table"));
                assert!(
                    (value - printed).abs() <= tolerance,
                    "{} {number}: {value}, printed {printed}",
                    series.name()
                );
            }
        }
    }

    #[test]
    fn closed_forms_agree_with_the_printed_tables() {
        agrees(&PRINTED_INCH, Length::inch, 0.0001);
        agrees(&PRINTED_MM, Length::mm, 0.000_501);
    }

    #[test]
    fn the_us_standard_is_exact() {
        for (number, row) in PRINTED_INCH {
            let inch = thickness(Series::UsStandard, number).expect("a gauge of the table").inch();
            assert!((inch - row[0]).abs() < 1e-12, "{number}: {inch}");
        }
    }

    #[test]
    fn there_is_nothing_beyond_the_table() {
        for series in Series::ALL {
            for number in [0, LEAST - 1, MOST + 1, u32::MAX] {
                assert_eq!(thickness(series, number), None);
            }
        }
    }
}
