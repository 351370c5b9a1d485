//! Inlet pressure over time, with the receiver's and the least that the source wants.

use super::lanes::{GAP_PX, LANE_PX, Labels, Lanes};
use super::time::lowest_by_column;
use cell::AirForecast;
use units::{Pressure, System};

impl Lanes<'_> {
    /// Pressure at the inlet while gas flows, the receiver's, and the least that the source wants.
    pub(super) fn pressure(&mut self, air: &AirForecast, system: System) {
        self.name("Pressure at the inlet while gas flows");
        let highest = air.pieces.iter().flat_map(|piece| [piece.from_bar, piece.to_bar]).fold(1.0, f64::max);
        let in_units = |bar: f64| match system {
            System::Metric => bar,
            System::Inch => Pressure::from_bar(bar).psi(),
        };
        let unit = if system == System::Metric { "bar" } else { "psi" };
        let upright = self.upright(in_units(highest), unit);
        let receiver =
            air.pieces.iter().flat_map(|piece| [(piece.from_s, piece.from_bar), (piece.to_s, piece.to_bar)]);
        let receiver = lowest_by_column(self.scale, receiver, in_units);
        self.curve("thin", &receiver, upright);
        let inlet = air.pieces.iter().filter(|piece| piece.inlet_bar.is_some()).flat_map(|piece| {
            let at = |bar: f64| air.plant.inlet_bar(bar, piece.flow_l_per_min);
            [(piece.from_s, at(piece.from_bar)), (piece.to_s, at(piece.to_bar))]
        });
        let inlet = lowest_by_column(self.scale, inlet, in_units);
        self.curve("inlet", &inlet, upright);
        let mut labels = Labels::default();
        if let Some(least) = air.least_bar {
            self.limit(in_units(least), upright);
            labels.add(
                format!("least: {}", Pressure::from_bar(least).show(system)),
                upright.y(in_units(least)),
            );
        }
        let last = |curve: &[Option<f64>]| curve.iter().rev().find_map(|value| *value);
        labels.extend(last(&inlet).map(|value| ("inlet".to_owned(), upright.y(value))));
        labels.extend(last(&receiver).map(|value| ("receiver".to_owned(), upright.y(value))));
        self.labels(labels);
        if let Some(short) = &air.short {
            let text = format!("start {} falls short", short.start);
            self.trouble(short.at_s, upright.y(in_units(air.least_bar.unwrap_or(0.0))), &text);
        }
        self.top += LANE_PX + GAP_PX;
    }
}
