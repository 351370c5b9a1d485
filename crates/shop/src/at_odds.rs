//! Facts of the shop file that cannot be true together.

use crate::decode::Reader;
use crate::model::Shop;
use units::Pressure;

pub(crate) fn find(top: &Reader<'_, '_>, shop: &Shop) {
    find_in_air(top, shop);
    find_in_duty(top, shop);
    find_in_travel(top, shop);
}

fn find_in_air(top: &Reader<'_, '_>, shop: &Shop) {
    let (Some(air), Some(table)) = (&shop.air, top.table_again("air")) else { return };
    let above = |key: &str, lower: Option<Pressure>, what: &str, upper: Option<Pressure>, than: &str| {
        if let (Some(lower), Some(upper)) = (lower, upper)
            && lower > upper
        {
            let message = format!("{what} ({lower}) is above {than} ({upper})");
            table.sink().error(
                "facts-at-odds",
                table.span(key),
                message,
                "read both off the gauges again".into(),
            );
        }
    };
    above(
        "cut_in",
        air.cut_in,
        "the pressure at which the compressor starts",
        air.cut_out,
        "the one at which it stops",
    );
    above(
        "regulator",
        air.regulator,
        "the regulator's setting",
        air.cut_out,
        "the most the compressor delivers",
    );
    let least = shop.source.as_ref().and_then(|source| source.pressure_min);
    if air.regulator.is_some() {
        above(
            "regulator",
            least,
            "the least pressure the source needs",
            air.regulator,
            "the regulator's setting",
        );
    }
}

/// A higher current cannot be held for a greater share of the time.
fn find_in_duty(top: &Reader<'_, '_>, shop: &Shop) {
    let (Some(source), Some(table)) = (&shop.source, top.table_again("source")) else { return };
    let mut points = source.duty.clone();
    points.sort_by(|a, b| a.current.a().total_cmp(&b.current.a()));
    if let Some(pair) = points.windows(2).find(|pair| pair[1].share > pair[0].share) {
        let message = format!(
            "the duty cycle is {} at {} but {} at the higher {}",
            pair[0].share, pair[0].current, pair[1].share, pair[1].current
        );
        table.sink().error(
            "facts-at-odds",
            table.span("duty"),
            message,
            "look the points up on the rating plate".into(),
        );
    }
}

fn find_in_travel(top: &Reader<'_, '_>, shop: &Shop) {
    let (Some(travel), Some(table)) = (shop.table.travel, top.table_again("table")) else { return };
    if travel.iter().any(|axis| axis.mm() <= 0.0) {
        let message =
            format!("the table's travel of {} by {} leaves nothing to cut on", travel[0], travel[1]);
        table.sink().error(
            "value-out-of-range",
            table.span("travel"),
            message,
            "write two lengths, X and Y".into(),
        );
    }
}
