//! What a way on costs, where the shop has told prices: from a forecast of the very program that is handed out.

use crate::{Inputs, Reading};
use cell::{Forecast, Planned};
use cuts::{CutList, PartId};
use nc::{Motions, Program, Start};
use rescue::{Choice, Price};

/// Prices of `choice`; none if the shop tells none that count, and the job no values of parts that are given up or at risk.
pub(crate) fn price(inputs: &Inputs, reading: &Reading, choice: &Choice) -> Option<Price> {
    let money = inputs.shop.as_ref().and_then(|shop| shop.money.as_ref());
    let items = money.map(|_| items(inputs, reading, choice)).unwrap_or_default();
    let value = |parts: &[PartId]| {
        let told = inputs.job.values.iter();
        let told = told.filter(|(number, _)| parts.iter().any(|part| part.number() == *number));
        let worth = told.map(|(_, value)| *value).fold(0.0, |sum, value| sum + value);
        (worth > 0.0).then_some(worth)
    };
    let price = Price {
        currency: money.map(|money| money.currency.clone()).unwrap_or_default(),
        is_whole: items.len() == ITEMS,
        items,
        given_up: value(&choice.given_up),
        at_risk: value(&choice.parts_at_risk),
    };
    let says_nothing = price.items.is_empty() && price.given_up.is_none() && price.at_risk.is_none();
    (!says_nothing).then_some(price)
}

/// Things that a run is paid for.
const ITEMS: usize = 4;

/// What running the program of `choice` costs, each thing by its name, as far as its price is told.
fn items(inputs: &Inputs, reading: &Reading, choice: &Choice) -> Vec<(&'static str, f64)> {
    let Some(shop) = &inputs.shop else { return Vec::new() };
    let (program, _) = Program::parse(choice.text.as_slice(), &reading.dialect);
    let (motions, _) = Motions::run(&program, &reading.dialect, &Start::usual(&reading.dialect));
    let (list, _) = CutList::build(&program, &motions, &crate::reading::manner(inputs, reading.kerf.width));
    let planned =
        Planned { motions: &motions, list: &list, shop, job: &inputs.job, kerf: reading.kerf.width };
    let cost = Forecast::of(&planned).cost;
    let named =
        [("time", cost.time), ("power", cost.power), ("gas", cost.gas), ("consumables", cost.consumables)];
    named.into_iter().filter_map(|(name, item)| Some((name, item?))).collect()
}
