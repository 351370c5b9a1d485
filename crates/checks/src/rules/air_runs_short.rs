//! ## What it checks
//! That the pressure at the source's inlet stays at or above its least while gas flows, through the whole job.
//!
//! ## Why it matters
//! Pressure that reads well at rest falls when gas flows, and falls further with every cut that follows the last too
//! soon. Below its least the source trips in the middle of a cut, or the arc wanders and eats the nozzle first.
//!
//! ## Example
//! ```nc
//! (a receiver of 50 l, a torch of 190 l/min, a compressor of 60 l/min)
//! M3
//! G1 X2400 F2400
//! M5
//! M3
//! ```
//!
//! ## Use instead
//! ```nc
//! M5
//! G4 P60 (or a larger receiver, a wider hose, a stronger compressor)
//! M3
//! ```
//!
//! ## Settings
//! `[air]` and `[source] pressure_min` in the shop file.
//!
//! ## Limits
//! Only the first start or cut that falls short is told; `platewright forecast` names what cures it. The receiver is
//! taken to stand at its cut-in pressure when the program begins, which is the least it can. What else draws air in the
//! shop is not known. Filters, fittings and dryers take pressure that is not reckoned with.
//!
//! ## Source
//! Receiver sizing, t = V (p1 - p2) / (C pa), as in common compressed-air handbooks; loss along a hose by an empirical
//! formula of such handbooks, from memory.

use crate::context::Context;
use crate::needs::Need;
use crate::rule::Rule;
use crate::sink::Found;
use cell::{AirForecast, Cures, Short};
use finding::{Finding, Level};
use units::{Duration, Flow, Length, Pressure, Volume};

pub(crate) const RULE: Rule = Rule {
    name: "air-runs-short",
    source: include_str!("air_runs_short.rs"),
    needs: &[Need::Air, Need::PressureMin],
    check,
};

fn check(context: &Context<'_>, found: &mut Found) {
    let Some(air) = context.facts.forecast.and_then(|forecast| forecast.air.as_ref()) else { return };
    if let Some(short) = &air.short {
        found.add(tell(context, air, short));
    }
}

fn tell(context: &Context<'_>, air: &AirForecast, short: &Short) -> Finding {
    let cut = short.cut.map(|cut| context.facts.list.cut(cut));
    let when = if short.in_cut { "while it cuts" } else { "before the arc comes" };
    let named = cut.map_or(format!("start {}", short.start), |cut| format!("cut {}", cut.number()));
    let least = air.least_bar.map(Pressure::from_bar).unwrap_or_default();
    let message = format!(
        "{named}: the air falls short {when}, {} after the beginning: {} at the inlet, the source wants {least}",
        Duration::from_s(short.at_s),
        Pressure::from_bar(short.lowest_bar),
    );
    let finding = Finding::new(RULE.name, Level::Warning, message)
        .because("the source trips in the cut, or the arc wanders and eats the nozzle")
        .remedy(remedy(air.cures.as_ref()));
    match cut {
        Some(cut) => finding
            .at(cut.torch_on_span, "starts here")
            .on_plate(crate::context::place(cut.pierce.at))
            .of_cut(cut.number()),
        None => finding,
    }
}

/// What cures it, each way by itself.
fn remedy(cures: Option<&Cures>) -> String {
    let Some(cures) = cures else { return "let the receiver fill before it".to_owned() };
    let pauses = cures.pauses.as_ref().and_then(|pauses| {
        let first = pauses.first()?;
        let whole: u32 = pauses.iter().map(|pause| pause.seconds).sum();
        Some(match pauses.len() {
            1 => format!("a pause of {} s before start {}", first.seconds, first.start),
            n => format!(
                "{n} pauses, {whole} s in all, the first of {} s before start {}",
                first.seconds, first.start
            ),
        })
    });
    let ways = [
        pauses,
        cures.receiver_l.map(|litres| format!("a receiver of {}", Volume::from_l(litres))),
        cures.bore_mm.map(|mm| format!("a hose of {} bore", Length::from_mm(mm))),
        cures.hose_m.map(|m| format!("a hose of {m} m")),
        cures.delivery_l_per_min.map(|flow| format!("a compressor of {}", Flow::from_l_per_min(flow))),
    ];
    let ways: Vec<String> = ways.into_iter().flatten().collect();
    if ways.is_empty() {
        return "cut shorter, or ask for more air than one change of the plant gives".to_owned();
    }
    format!("any one of: {}", ways.join("; "))
}
