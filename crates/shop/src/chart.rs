//! Charts: cutting values by thickness, monotone between the rows, silent beyond them.

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
    #[must_use]
    pub fn at(&self, thickness: Length) -> Lookup {
        let _ = thickness;
        todo!("shop")
    }
}
