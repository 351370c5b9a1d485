//! Plate and table in program coordinates, as far as they are told.

use crate::Inputs;
use crate::Reading;
use geometry::Point;
use proof::Ground;
use shop::{ChartRow, Clamp, Lookup, Thresholds};
use units::Length;

impl Inputs {
    /// The chart's values at the job's thickness, if process, chart and thickness are told.
    #[must_use]
    pub fn chart_row(&self) -> Option<ChartRow> {
        let shop = self.shop.as_ref()?;
        let process = match &self.job.process {
            Some(name) => shop.process(name)?,
            // Where one process alone can run with what is fitted, it is the one.
            None => {
                let mut fitted = shop.processes_fitted();
                fitted.next().filter(|_| fitted.next().is_none())?
            }
        };
        match process.chart.at(self.job.thickness?) {
            Lookup::Row(row) => Some(row),
            _ => None,
        }
    }

    /// Facts that a proof holds a restart against.
    #[must_use]
    pub fn ground(&self, reading: &Reading, thickness: Length) -> Ground {
        let shop = self.shop.as_ref();
        let plate = self.job.placed_plate();
        Ground {
            kerf: reading.kerf.width,
            crater_radius: None,
            thickness,
            safe_height: shop.and_then(|shop| shop.table.safe_height),
            travel: shop.and_then(|shop| shop.reach(&self.job)),
            surely_plate: None,
            edges: None,
            plate_holes: plate.as_ref().map_or_else(Vec::new, |plate| plate.holes.clone()),
            plate: plate.map(|plate| plate.outline),
            clamps: self.clamps(),
            thresholds: shop.map_or_else(Thresholds::default, |shop| shop.thresholds.clone()),
        }
    }

    /// Clamps in program coordinates; none if it is not told where the plate lies, since they are told on the table.
    fn clamps(&self) -> Vec<Clamp> {
        let Some(from_table) = self.job.program_on_table().map(|place| place.inverse()) else {
            return Vec::new();
        };
        let placed = |corner: [Length; 2]| {
            let p = from_table.point(Point::new(corner[0].mm(), corner[1].mm()));
            [Length::from_mm(p.x), Length::from_mm(p.y)]
        };
        let clamps = self.job.clamps.iter();
        clamps
            .map(|clamp| Clamp { from: placed(clamp.from), to: placed(clamp.to), ..clamp.clone() })
            .collect()
    }
}
