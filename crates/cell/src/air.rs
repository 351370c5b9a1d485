//! Compressed air through a job: receiver, compressor, regulator and hose, piecewise in closed form.
//!
//! Isothermal: free air drawn at `Q` from a receiver of volume `V` lowers its pressure at `Q p_a / V`. Source: receiver
//! sizing, t = V (p₁ - p₂) / (C p_a), as in common compressed-air handbooks. Flows are free air, pressures gauge.

/// Pressure of the standard atmosphere at sea level, in bar (ISO 2533).
pub const ATMOSPHERE_BAR: f64 = 1.013_25;

/// The plant that feeds the torch. All values positive.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AirPlant {
    /// Free-air delivery at sea level, in litres a minute.
    pub delivery_l_per_min: f64,
    /// Receiver, in litres.
    pub receiver_l: f64,
    /// The compressor starts when the receiver falls to this, in bar.
    pub cut_in_bar: f64,
    /// It stops when the receiver reaches this, in bar.
    pub cut_out_bar: f64,
    /// Regulator setting at the source, in bar.
    pub regulator_bar: f64,
    /// Length of hose between receiver and source, in metres.
    pub hose_m: f64,
    /// Its bore, in millimetres.
    pub bore_mm: f64,
    /// Height above the sea, in metres.
    pub altitude_m: f64,
}

/// A stretch of time in which the torch draws air.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Draw {
    /// When it begins, in seconds.
    pub from_s: f64,
    /// When it ends.
    pub to_s: f64,
    /// Flow, in litres a minute.
    pub flow_l_per_min: f64,
}

/// A stretch of time over which the receiver's pressure runs in a straight line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Piece {
    /// When it begins, in seconds.
    pub from_s: f64,
    /// When it ends.
    pub to_s: f64,
    /// Receiver at its beginning, in bar.
    pub from_bar: f64,
    /// Receiver at its end.
    pub to_bar: f64,
    /// Whether the compressor runs.
    pub compressor: bool,
    /// Flow drawn, in litres a minute; 0 between draws.
    pub flow_l_per_min: f64,
    /// Lowest pressure at the source's inlet in it, in bar; only while air flows.
    pub inlet_bar: Option<f64>,
    /// Index of the draw, while air flows.
    pub draw: Option<usize>,
}

/// The receiver at a moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Receiver {
    /// The moment, in seconds.
    pub at_s: f64,
    /// Its pressure, in bar.
    pub bar: f64,
    /// Whether the compressor runs.
    pub compressor: bool,
}

/// The first draw that falls short.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shortfall {
    /// Index of the draw.
    pub draw: usize,
    /// When the inlet first falls below the least pressure, in seconds.
    pub at_s: f64,
    /// Lowest inlet pressure during that draw, in bar.
    pub lowest_bar: f64,
}

/// Pressure of the air outside at a height, in bar. Source: standard atmosphere, p = p₀ (1 - 2.25577e-5 h)^5.25588.
#[must_use]
pub fn atmosphere_bar(altitude_m: f64) -> f64 {
    ATMOSPHERE_BAR * libm::pow((1.0 - 2.255_77e-5 * altitude_m).max(0.0), 5.255_88)
}

/// Density of the air outside against that at sea level. Source: standard atmosphere, T = 288.15 - 0.0065 h; pressure
/// ratio over temperature ratio.
#[must_use]
pub fn density_ratio(altitude_m: f64) -> f64 {
    let temperature_ratio = 1.0 - 0.0065 * altitude_m / 288.15;
    if temperature_ratio > 0.0 {
        atmosphere_bar(altitude_m) / ATMOSPHERE_BAR / temperature_ratio
    } else {
        0.0
    }
}

/// Loss along a hose, in bar. Source: the empirical Δp = 450 Q^1.85 L / (d⁵ p) with Q in litres of free air a second,
/// L in metres, d in millimetres and p in bar absolute where it begins (compressed-air handbooks, from memory).
#[must_use]
pub fn hose_loss_bar(flow_l_per_min: f64, hose_m: f64, bore_mm: f64, from_bar_abs: f64) -> f64 {
    let flow_l_per_s = flow_l_per_min.max(0.0) / 60.0;
    450.0 * libm::pow(flow_l_per_s, 1.85) * hose_m / (libm::pow(bore_mm, 5.0) * from_bar_abs)
}

impl AirPlant {
    /// Pressure at the source's inlet while `flow` runs from a receiver at `receiver_bar`: never above the regulator.
    #[must_use]
    pub fn inlet_bar(&self, receiver_bar: f64, flow_l_per_min: f64) -> f64 {
        let outside = atmosphere_bar(self.altitude_m);
        let loss = hose_loss_bar(flow_l_per_min, self.hose_m, self.bore_mm, receiver_bar + outside);
        (receiver_bar - loss).min(self.regulator_bar).max(0.0)
    }

    /// Receiver pressure at which the inlet stands at `inlet_bar` while `flow` runs; the inverse of
    /// [`AirPlant::inlet_bar`] below the regulator. Source: p - loss(p) = inlet, a quadratic in p.
    #[must_use]
    pub fn receiver_needed_bar(&self, inlet_bar: f64, flow_l_per_min: f64) -> f64 {
        let outside = atmosphere_bar(self.altitude_m);
        let loss_times_p = hose_loss_bar(flow_l_per_min, self.hose_m, self.bore_mm, 1.0);
        let base = inlet_bar + outside;
        f64::midpoint(base, (base * base + 4.0 * loss_times_p).sqrt()) - outside
    }

    /// The receiver at `bar` and time 0, the compressor running if that is at or below its cut-in.
    #[must_use]
    pub fn receiver_at(&self, bar: f64) -> Receiver {
        Receiver { at_s: 0.0, bar, compressor: bar <= self.cut_in_bar }
    }

    /// The receiver from `start_bar` at time 0 through all `draws` (sorted, not overlapping), compressor at rest at
    /// first. Linear in the number of draws and compressor changes.
    #[must_use]
    pub fn run(&self, start_bar: f64, draws: &[Draw]) -> Vec<Piece> {
        let mut pieces = Vec::new();
        let mut state = self.receiver_at(start_bar);
        for (k, draw) in draws.iter().enumerate() {
            self.step(&mut state, draw.from_s, None, &mut pieces);
            self.step(&mut state, draw.to_s, Some((k, draw.flow_l_per_min)), &mut pieces);
        }
        pieces
    }

    /// Brings `state` to `until_s`, with nothing drawn or, for a draw of this index, its flow; adds the pieces.
    pub fn step(
        &self,
        state: &mut Receiver,
        until_s: f64,
        draw: Option<(usize, f64)>,
        out: &mut impl Extend<Piece>,
    ) {
        let outside = atmosphere_bar(self.altitude_m);
        let flow = draw.map_or(0.0, |(_, flow)| flow);
        while until_s - state.at_s > TIME_STEP_MIN_S {
            if state.bar <= self.cut_in_bar {
                state.compressor = true;
            }
            let supply =
                if state.compressor { self.delivery_l_per_min * density_ratio(self.altitude_m) } else { 0.0 };
            let rate = (supply - flow) / 60.0 * outside / self.receiver_l;
            let turn_at = if state.compressor && rate > 0.0 {
                Some((self.cut_out_bar - state.bar) / rate)
            } else if !state.compressor && rate < 0.0 {
                Some((self.cut_in_bar - state.bar) / rate)
            } else {
                None
            };
            let empty_at = if rate < 0.0 { -state.bar / rate } else { f64::INFINITY };
            let span = (until_s - state.at_s).min(turn_at.unwrap_or(f64::INFINITY).max(0.0));
            let to_bar = (state.bar + rate * span.min(empty_at)).max(0.0);
            let inlet_bar = draw.map(|_| self.inlet_bar(state.bar.min(to_bar), flow));
            out.extend([Piece {
                from_s: state.at_s,
                to_s: state.at_s + span,
                from_bar: state.bar,
                to_bar,
                compressor: state.compressor,
                flow_l_per_min: flow,
                inlet_bar,
                draw: draw.map(|(k, _)| k),
            }]);
            let turned = turn_at.is_some_and(|at| at <= span);
            *state =
                Receiver { at_s: state.at_s + span, bar: to_bar, compressor: state.compressor != turned };
        }
        state.at_s = state.at_s.max(until_s);
    }

    /// When, from `state` on and before `until_s`, the inlet falls below `least_bar` while `flow` runs; none if it
    /// does not.
    #[must_use]
    pub fn falls_short_at(&self, state: Receiver, until_s: f64, flow: f64, least_bar: f64) -> Option<f64> {
        let mut pieces = Vec::new();
        self.step(&mut state.clone(), until_s, Some((0, flow)), &mut pieces);
        self.shortfall(&pieces, least_bar).map(|short| short.at_s)
    }

    /// The first draw in which the inlet falls below `least_bar` while flowing; none if none does.
    #[must_use]
    pub fn shortfall(&self, pieces: &[Piece], least_bar: f64) -> Option<Shortfall> {
        let first = pieces.iter().find(|p| p.inlet_bar.is_some_and(|bar| bar < least_bar))?;
        let draw = first.draw?;
        let needed = self.receiver_needed_bar(least_bar, first.flow_l_per_min);
        let fall = first.from_bar - first.to_bar;
        let share = if fall > 0.0 { ((first.from_bar - needed) / fall).clamp(0.0, 1.0) } else { 0.0 };
        let lowest_bar = pieces
            .iter()
            .filter(|p| p.draw == Some(draw))
            .filter_map(|p| p.inlet_bar)
            .fold(f64::INFINITY, f64::min);
        Some(Shortfall { draw, at_s: first.from_s + share * (first.to_s - first.from_s), lowest_bar })
    }

    /// The shortest pause before draw `k` (rounded up to whole seconds) with which that draw does not fall short, at
    /// most [`PAUSE_MAX_S`]; none if no pause helps.
    #[must_use]
    pub fn pause_before(&self, start_bar: f64, draws: &[Draw], k: usize, least_bar: f64) -> Option<u32> {
        let suffices = |pause: u32| {
            let mut shifted = draws[..=k].to_vec();
            shifted[k].from_s += f64::from(pause);
            shifted[k].to_s += f64::from(pause);
            let pieces = self.run(start_bar, &shifted);
            pieces
                .iter()
                .filter(|p| p.draw == Some(k))
                .all(|p| p.inlet_bar.is_none_or(|bar| bar >= least_bar))
        };
        // With the compressor's hysteresis a longer pause is not always better, so the answer is looked for upwards.
        (0..=PAUSE_MAX_S).find(|pause| suffices(*pause))
    }

    /// The smallest of `candidates` for which the whole job never falls short when put in place by `change`.
    pub fn smallest_that_cures(
        &self,
        start_bar: f64,
        draws: &[Draw],
        least_bar: f64,
        candidates: &[f64],
        change: impl Fn(&mut Self, f64),
    ) -> Option<f64> {
        candidates.iter().copied().find(|value| {
            let mut plant = *self;
            change(&mut plant, *value);
            plant.shortfall(&plant.run(start_bar, draws), least_bar).is_none()
        })
    }
}

/// Longest pause that is proposed, in seconds: after ten minutes the operator would rather mend the plant.
pub const PAUSE_MAX_S: u32 = 600;

/// Stretches of time shorter than this, in seconds, are taken as over: they come from rounding alone.
const TIME_STEP_MIN_S: f64 = 1e-9;

#[cfg(test)]
mod tests {
    use super::*;

    const LITRES_PER_GALLON: f64 = 3.785_411_784;
    const BAR_PER_PSI: f64 = 0.068_947_572_931_683_6;
    const LITRES_PER_CUBIC_FOOT: f64 = 28.316_846_592;

    fn plant() -> AirPlant {
        AirPlant {
            delivery_l_per_min: 200.0,
            receiver_l: 270.0,
            cut_in_bar: 7.0,
            cut_out_bar: 10.0,
            regulator_bar: 6.0,
            hose_m: 15.0,
            bore_mm: 9.5,
            altitude_m: 0.0,
        }
    }

    fn draw(from_s: f64, to_s: f64, flow_l_per_min: f64) -> Draw {
        Draw { from_s, to_s, flow_l_per_min }
    }

    /// Source: t = V (p₁ - p₂) / (C p_a), 270 L from 10 to 7 bar at a net draw of 200 L/min: 239.822 s.
    #[test]
    fn a_receiver_empties_in_its_closed_form_time() {
        let pieces = plant().run(10.0, &[draw(0.0, 400.0, 200.0)]);
        assert!((pieces[0].to_s - 239.822).abs() < 0.01, "{pieces:?}");
        assert!(!pieces[0].compressor && pieces[1].compressor, "{pieces:?}");
        assert!((pieces[1].from_bar - pieces[1].to_bar).abs() < 1e-9, "delivery meets the draw: {pieces:?}");
    }

    /// Source: same formula, 80 US gal, FAD 14 cfm: 90 to 125 psig without demand 109.127 s; 125 to 90 psig against a
    /// demand of 20 cfm 254.630 s (p_a 14.7 psi).
    #[test]
    fn pump_up_and_draw_down_in_inch_units() {
        let pumped = AirPlant {
            delivery_l_per_min: 14.0 * LITRES_PER_CUBIC_FOOT,
            receiver_l: 80.0 * LITRES_PER_GALLON,
            cut_in_bar: 90.0 * BAR_PER_PSI,
            cut_out_bar: 125.0 * BAR_PER_PSI,
            ..plant()
        };
        // The handbook's atmosphere is 14.7 psi, ours 14.696: within 0.03 %.
        let pieces = pumped.run(90.0 * BAR_PER_PSI, &[draw(200.0, 201.0, 1.0)]);
        assert!((pieces[0].to_s / 109.127 - 1.0).abs() < 5e-4, "{pieces:?}");
        let drawn =
            AirPlant { cut_in_bar: 124.999 * BAR_PER_PSI, cut_out_bar: 200.0 * BAR_PER_PSI, ..pumped };
        let flow = 20.0 * LITRES_PER_CUBIC_FOOT;
        let pieces = drawn.run(124.999 * BAR_PER_PSI, &[draw(0.0, 254.630, flow)]);
        let end = pieces.last().expect("pieces").to_bar / BAR_PER_PSI;
        assert!((end - 90.0).abs() < 0.05, "{end}");
    }

    /// Source: public worksheet on sizing receivers (5 min at 350 cfm out and 250 in, 100 to 60 psig: 183.75 ft³), and the
    /// usable capacities of the unit tests of a public laboratory's calculator for compressed air (p_a 14.7 psi).
    #[test]
    fn receivers_hold_what_worksheets_say() {
        let gallon_ft3 = LITRES_PER_GALLON / LITRES_PER_CUBIC_FOOT;
        for (receiver_ft3, free_ft3, from_psi, to_psi) in [
            (183.75, 500.0, 100.0, 60.0),
            (660.0 * gallon_ft3, 60.024_01, 110.0, 100.0),
            (760.0 * gallon_ft3, 69.118_56, 110.0, 100.0),
            (760.0 * gallon_ft3, 345.592_8, 150.0, 100.0),
            (760.0 * gallon_ft3, 138.237_1, 150.0, 130.0),
        ] {
            let plant = AirPlant {
                delivery_l_per_min: 0.0,
                receiver_l: receiver_ft3 * LITRES_PER_CUBIC_FOOT,
                cut_in_bar: 0.0,
                cut_out_bar: 1.0,
                ..plant()
            };
            let flow = free_ft3 * LITRES_PER_CUBIC_FOOT;
            let pieces = plant.run(from_psi * BAR_PER_PSI, &[draw(0.0, 60.0, flow)]);
            let end = pieces.last().expect("pieces").to_bar / BAR_PER_PSI;
            // Their atmosphere is 14.7 psi, ours 14.696; their gallon 1 / 7.48 ft³.
            assert!((end - to_psi).abs() < 0.001 * (from_psi - to_psi), "{end} {to_psi}");
        }
    }

    /// Source: the 450 form, worked: 100 L/s, 100 m, 50 mm, 8 bar abs 0.090214 bar; 5 L/s, 15 m, 9.5 and 12.7 mm at
    /// 7.5 bar abs 0.228412 and 0.053496 bar.
    #[test]
    fn hose_loss_follows_the_empirical_formula() {
        for (flow_l_per_s, hose, bore, p, loss) in [
            (100.0, 100.0, 50.0, 8.0, 0.090_214),
            (5.0, 15.0, 9.5, 7.5, 0.228_412),
            (5.0, 15.0, 12.7, 7.5, 0.053_496),
        ] {
            assert!((hose_loss_bar(flow_l_per_s * 60.0, hose, bore, p) - loss).abs() < 1e-5);
        }
    }

    /// Source: standard atmosphere, pressure and density ratios by height.
    #[test]
    fn air_thins_with_height() {
        for (h, p_kpa, density) in [
            (0.0, 101.325, 1.0),
            (500.0, 95.461, 0.9529),
            (1000.0, 89.875, 0.9075),
            (1500.0, 84.556, 0.8637),
            (2000.0, 79.495, 0.8216),
            (3000.0, 70.109, 0.7421),
        ] {
            assert!((atmosphere_bar(h) * 100.0 - p_kpa).abs() < 0.05, "{h}");
            assert!((density_ratio(h) - density).abs() < 1e-3, "{h} {}", density_ratio(h));
        }
    }

    #[test]
    fn receiver_needed_undoes_inlet() {
        let needed = plant().receiver_needed_bar(5.0, 180.0);
        assert!((plant().inlet_bar(needed, 180.0) - 5.0).abs() < 1e-12);
    }

    #[test]
    fn a_shortfall_is_found_and_cured() {
        let small = AirPlant { delivery_l_per_min: 90.0, receiver_l: 50.0, ..plant() };
        let draws: Vec<Draw> =
            (0..12).map(|k| draw(70.0 * f64::from(k), 70.0 * f64::from(k) + 60.0, 180.0)).collect();
        let short = small.shortfall(&small.run(10.0, &draws), 5.0).expect("it falls short");
        assert!(short.draw < 12 && short.lowest_bar < 5.0, "{short:?}");
        assert!((draws[short.draw].from_s..draws[short.draw].to_s).contains(&short.at_s));
        let pause = small.pause_before(10.0, &draws, short.draw, 5.0).expect("a pause helps");
        assert!(pause > 0);
        let receivers = [50.0, 100.0, 200.0, 300.0, 500.0, 1000.0, 5000.0];
        let cured = small
            .smallest_that_cures(10.0, &draws, 5.0, &receivers, |plant, litres| plant.receiver_l = litres);
        assert!(cured.is_some_and(|litres| litres > 50.0), "{cured:?}");
    }

    /// Brute force: the same plant in steps of 10 ms.
    #[test]
    fn closed_form_agrees_with_small_steps() {
        let plant = AirPlant { delivery_l_per_min: 150.0, receiver_l: 100.0, ..plant() };
        let draws: Vec<Draw> =
            (0..8).map(|k| draw(50.0 * f64::from(k) + 5.0, 50.0 * f64::from(k) + 40.0, 170.0)).collect();
        let pieces = plant.run(9.0, &draws);
        let (mut bar, mut on, step) = (9.0f64, false, 0.01);
        let (mut at, mut worst) = (0u32, 0.0f64);
        for piece in &pieces {
            while f64::from(at) * step < piece.to_s {
                let now = f64::from(at) * step;
                let flow =
                    draws.iter().find(|d| d.from_s <= now && now < d.to_s).map_or(0.0, |d| d.flow_l_per_min);
                on = if bar <= plant.cut_in_bar {
                    true
                } else if bar >= plant.cut_out_bar {
                    false
                } else {
                    on
                };
                bar += (if on { 150.0 } else { 0.0 } - flow) / 60.0 * ATMOSPHERE_BAR / 100.0 * step;
                at += 1;
            }
            worst = worst.max((bar - piece.to_bar).abs());
        }
        assert!(worst < 0.02, "{worst}");
    }
}
