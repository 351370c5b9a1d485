//! Charts: cutting values by thickness, monotone between the rows, silent beyond them.

use crate::pchip;
use units::{Duration, Length, Speed, Voltage};

/// One row of a chart: the values for one thickness.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChartRow {
    /// Thickness.
    pub thickness: Length,
    /// Height at which the arc is started.
    pub pierce_height: Option<Length>,
    /// Wait between transfer and motion.
    pub pierce_delay: Option<Duration>,
    /// Height of the torch while cutting.
    pub cut_height: Option<Length>,
    /// Arc voltage while cutting.
    pub cut_voltage: Option<Voltage>,
    /// Speed.
    pub cut_speed: Option<Speed>,
    /// Width of the kerf.
    pub kerf: Option<Length>,
}

/// Rows sorted by thickness, no two alike.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Chart {
    rows: Vec<ChartRow>,
}

/// What a chart says for a thickness.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Lookup {
    /// It has a row for it, or rows on both sides: the values.
    Row(ChartRow),
    /// It has rows, but the thickness lies outside them; the nearest row's thickness.
    Outside {
        /// The thickness of the nearest row.
        nearest: Length,
    },
    /// It has no rows.
    Empty,
}

impl Chart {
    /// A chart of `rows`, sorted here.
    #[must_use]
    pub fn new(mut rows: Vec<ChartRow>) -> Self {
        rows.sort_by(|a, b| a.thickness.mm().total_cmp(&b.thickness.mm()));
        Self { rows }
    }

    /// Its rows, by rising thickness.
    #[must_use]
    pub fn rows(&self) -> &[ChartRow] {
        &self.rows
    }

    /// The values for `thickness`: a monotone cubic through the rows (Fritsch and Butland 1984), never beyond them.
    /// A value that some rows lack is drawn through the rows that have it, and none beyond those.
    ///
    /// A thickness within [`AT_A_ROW`] of a row is that row's.
    #[must_use]
    pub fn at(&self, thickness: Length) -> Lookup {
        let distance = |row: &ChartRow| (row.thickness - thickness).abs();
        let nearest = self.rows.iter().min_by(|a, b| distance(a).mm().total_cmp(&distance(b).mm()));
        let (Some(nearest), Some(first), Some(last)) = (nearest, self.rows.first(), self.rows.last()) else {
            return Lookup::Empty;
        };
        let x = if distance(nearest) <= AT_A_ROW { nearest.thickness } else { thickness };
        if x < first.thickness || x > last.thickness || !x.mm().is_finite() {
            return Lookup::Outside { nearest: nearest.thickness };
        }
        Lookup::Row(ChartRow {
            thickness,
            pierce_height: self.column(x, |row| row.pierce_height.map(Length::mm)).map(Length::from_mm),
            pierce_delay: self.column(x, |row| row.pierce_delay.map(Duration::s)).map(Duration::from_s),
            cut_height: self.column(x, |row| row.cut_height.map(Length::mm)).map(Length::from_mm),
            cut_voltage: self.column(x, |row| row.cut_voltage.map(Voltage::v)).map(Voltage::from_v),
            cut_speed: self.column(x, |row| row.cut_speed.map(Speed::mm_per_min)).map(Speed::from_mm_per_min),
            kerf: self.column(x, |row| row.kerf.map(Length::mm)).map(Length::from_mm),
        })
    }

    fn column(&self, thickness: Length, value: impl Fn(&ChartRow) -> Option<f64>) -> Option<f64> {
        let knots: Vec<_> =
            self.rows.iter().filter_map(|row| Some((row.thickness.mm(), value(row)?))).collect();
        pchip::at(&knots, thickness.mm())
    }
}

/// A thickness this near to a row of the chart is the row's own: 0.05 mm, less than any plate is rolled to, so that a
/// chart for 3/8 in (9.525 mm) answers for a plate measured as 9.5 mm, and one that ends at 10 mm for a 10.02 mm plate.
pub const AT_A_ROW: Length = Length::from_mm(0.05);

#[cfg(test)]
mod tests {
    use super::*;

    fn chart(rows: &[(f64, Option<f64>, Option<f64>)]) -> Chart {
        let row = |(thickness, speed, kerf): &(f64, Option<f64>, Option<f64>)| ChartRow {
            thickness: Length::from_mm(*thickness),
            pierce_height: None,
            pierce_delay: None,
            cut_height: None,
            cut_voltage: None,
            cut_speed: speed.map(Speed::from_mm_per_min),
            kerf: kerf.map(Length::from_mm),
        };
        Chart::new(rows.iter().map(row).collect())
    }

    fn speed(chart: &Chart, thickness: f64) -> Option<f64> {
        match chart.at(Length::from_mm(thickness)) {
            Lookup::Row(row) => row.cut_speed.map(Speed::mm_per_min),
            Lookup::Outside { .. } | Lookup::Empty => None,
        }
    }

    /// The third set of the reference in `pchip`, as a chart (scipy 1.17.1, `PchipInterpolator`).
    #[test]
    fn draws_a_monotone_curve_through_the_rows() {
        let rows = [(16.0, 1.2), (1.0, 10.0), (2.0, 6.0), (4.0, 3.5), (8.0, 2.0)];
        let chart = chart(&rows.map(|(x, y)| (x, Some(y), None)));
        assert!((speed(&chart, 3.0).expect("within the rows") - 4.397_791_113_4).abs() < 1e-9);
        assert_eq!(speed(&chart, 4.0), Some(3.5));
    }

    #[test]
    fn is_silent_beyond_the_rows() {
        let chart = chart(&[(3.0, Some(2600.0), None), (6.0, Some(1400.0), None)]);
        let outside = |thickness: f64, nearest: f64| {
            let lookup = chart.at(Length::from_mm(thickness));
            assert_eq!(lookup, Lookup::Outside { nearest: Length::from_mm(nearest) });
        };
        outside(2.9, 3.0);
        outside(6.2, 6.0);
        assert_eq!(speed(&chart, 6.04), Some(1400.0));
        assert_eq!(Chart::default().at(Length::from_mm(3.0)), Lookup::Empty);
    }

    #[test]
    fn a_value_that_some_rows_lack_goes_as_far_as_its_own_rows() {
        let chart =
            chart(&[(3.0, Some(2600.0), Some(1.5)), (6.0, None, Some(1.8)), (10.0, Some(900.0), None)]);
        let Lookup::Row(row) = chart.at(Length::from_mm(8.0)) else { panic!("within the rows") };
        assert!(row.cut_speed.is_some());
        assert_eq!(row.kerf, None);
    }
}
