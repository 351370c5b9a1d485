//! Energy and money.

use super::CutForecast;
use crate::facts::CellFacts;
use shop::Shop;

/// Energy, in kilowatt-hours.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Energy {
    /// In the arc: current times voltage times time.
    pub arc_kwh: f64,
    /// From the mains; none if the source's efficiency is not told.
    pub mains_kwh: Option<f64>,
}

/// Money in the shop's own currency; each item none if its price or amount is not told.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Cost {
    /// Table and operator.
    pub time: Option<f64>,
    /// Power of the source.
    pub power: Option<f64>,
    /// Gas or air.
    pub gas: Option<f64>,
    /// Consumables worn off.
    pub consumables: Option<f64>,
}

impl Cost {
    /// All that is told; none if nothing is.
    #[must_use]
    pub fn sum(&self) -> Option<f64> {
        let told = [self.time, self.power, self.gas, self.consumables];
        told.iter().any(Option::is_some).then(|| told.into_iter().flatten().fold(0.0, |sum, item| sum + item))
    }

    /// Whether every item is told.
    #[must_use]
    pub const fn is_whole(&self) -> bool {
        self.time.is_some() && self.power.is_some() && self.gas.is_some() && self.consumables.is_some()
    }
}

/// What is paid for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Amounts {
    pub(super) time_s: f64,
    pub(super) energy: Option<Energy>,
    pub(super) gas_l: Option<f64>,
    pub(super) starts: f64,
}

/// Prices, as far as they are told.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Rates {
    hour: Option<f64>,
    kwh: Option<f64>,
    gas_m3: Option<f64>,
    start: Option<f64>,
}

const SECONDS_PER_HOUR: f64 = 3600.0;
const LITRES_PER_M3: f64 = 1000.0;
/// Watt-seconds in a kilowatt-hour.
const JOULES_PER_KWH: f64 = 3.6e6;

impl Rates {
    pub(super) fn of(shop: &Shop, facts: &CellFacts) -> Self {
        let money = shop.money.as_ref();
        let set = money.and_then(|money| money.consumable_set);
        Self {
            hour: money.and_then(|money| money.hour),
            kwh: money.and_then(|money| money.kwh),
            gas_m3: money.and_then(|money| money.gas_m3),
            start: set.zip(facts.life_starts.filter(|life| *life > 0.0)).map(|(set, life)| set / life),
        }
    }

    pub(super) fn cost(&self, amounts: &Amounts) -> Cost {
        let times = |price: Option<f64>, amount: Option<f64>| Some(price? * amount?);
        Cost {
            time: times(self.hour, Some(amounts.time_s / SECONDS_PER_HOUR)),
            power: times(self.kwh, amounts.energy.and_then(|energy| energy.mains_kwh)),
            gas: times(self.gas_m3, amounts.gas_l.map(|litres| litres / LITRES_PER_M3)),
            consumables: times(self.start, Some(amounts.starts)),
        }
    }
}

/// Energy of all cuts together; none if current or voltage of one is not told.
pub(super) fn energy(facts: &CellFacts, list: &cuts::CutList, cuts: &[CutForecast]) -> Option<Energy> {
    let mut whole = Energy { arc_kwh: 0.0, mains_kwh: facts.efficiency.map(|_| 0.0) };
    for (cut, forecast) in list.cuts.iter().zip(cuts) {
        let energy = energy_of(facts, cut.process, forecast.arc_s, facts.efficiency)?;
        whole.arc_kwh += energy.arc_kwh;
        whole.mains_kwh = whole.mains_kwh.zip(energy.mains_kwh).map(|(sum, more)| sum + more);
    }
    Some(whole)
}

/// Energy of an arc of so long: P = U I.
pub(super) fn energy_of(
    facts: &CellFacts,
    process: Option<u32>,
    arc_s: f64,
    efficiency: Option<f64>,
) -> Option<Energy> {
    let process = facts.process(process);
    let arc_kwh = process.current_a? * process.volts? * arc_s / JOULES_PER_KWH;
    Some(Energy { arc_kwh, mains_kwh: efficiency.map(|share| arc_kwh / share) })
}
