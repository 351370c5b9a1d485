//! A forecast, as JSON names it.

use super::summary::rounded_s;
use super::{ProgramRow, rounded_mm};
use crate::flags::with_flags;
use cell::{
    AirForecast, Cost, CutForecast, DutyForecast, Energy, Forecast, PartForecast, Pause, Times, Unforecast,
};
use cuts::{CutId, PieceKind};
use desk::{Fingerprint, Inputs, Reading};
use serde::Serialize;

/// Decimals kept of what is neither a length nor a time.
const PLACES: f64 = 1e4;

/// What `forecast --json` prints.
#[derive(Debug, Serialize)]
pub(crate) struct ForecastDocument {
    schema: &'static str,
    version: u32,
    program: ProgramRow,
    stops_the_job: bool,
    total_s: f64,
    times: TimesRow,
    starts: u32,
    arc_s: f64,
    slow_cuts: Vec<SlowRow>,
    starved_cuts: Vec<StarvedRow>,
    gas_l: Option<f64>,
    air: Option<AirRow>,
    duty: Option<DutyRow>,
    wear: WearRow,
    energy: Option<EnergyRow>,
    currency: Option<String>,
    cost: CostRow,
    cuts: Vec<CutRow>,
    parts: Vec<PartRow>,
    loose: Vec<LooseRow>,
    chart: Option<String>,
    unforecast: Vec<UnforecastRow>,
    assumed: Vec<String>,
}

#[derive(Debug, Serialize)]
struct TimesRow {
    cut_s: f64,
    pierce_s: f64,
    touch_off_s: f64,
    travel_s: f64,
    wait_s: f64,
}

#[derive(Debug, Serialize)]
struct SlowRow {
    cut: u32,
    line: u32,
    longest_mm: f64,
    all_mm: f64,
    lowest_mm_per_min: f64,
    wanted_mm_per_min: f64,
}

#[derive(Debug, Serialize)]
struct StarvedRow {
    cut: u32,
    line: u32,
    motions: u32,
    length_mm: f64,
    lowest_mm_per_min: f64,
    wanted_mm_per_min: f64,
}

#[derive(Debug, Serialize)]
struct AirRow {
    lowest_bar: Option<f64>,
    lowest_at_s: Option<f64>,
    lowest_cut: Option<u32>,
    least_bar: Option<f64>,
    short: Option<ShortRow>,
}

#[derive(Debug, Serialize)]
struct ShortRow {
    start: u32,
    cut: Option<u32>,
    at_s: f64,
    in_cut: bool,
    lowest_bar: f64,
    pauses: Option<Vec<PauseRow>>,
    receiver_l: Option<f64>,
    hose_bore_mm: Option<f64>,
    hose_m: Option<f64>,
    delivery_l_per_min: Option<f64>,
}

#[derive(Debug, Serialize)]
struct PauseRow {
    before_start: u32,
    cut: Option<u32>,
    seconds: u32,
}

#[derive(Debug, Serialize)]
struct DutyRow {
    current_a: f64,
    highest: f64,
    allowed: Option<f64>,
    trips_at_s: Option<f64>,
    trips_in_cut: Option<u32>,
    pauses: Option<Vec<PauseRow>>,
}

#[derive(Debug, Serialize)]
struct WearRow {
    starts: f64,
    arc_min: f64,
    starts_before: Option<f64>,
    life_starts: Option<f64>,
    spent_at_start: Option<u32>,
    lasts: Option<f64>,
}

#[derive(Debug, Serialize)]
struct EnergyRow {
    arc_kwh: f64,
    mains_kwh: Option<f64>,
}

#[derive(Debug, Serialize)]
struct CostRow {
    sum: Option<f64>,
    time: Option<f64>,
    power: Option<f64>,
    gas: Option<f64>,
    consumables: Option<f64>,
}

#[derive(Debug, Serialize)]
struct CutRow {
    cut: u32,
    from_s: f64,
    on_s: f64,
    off_s: f64,
    arc_s: f64,
    times: TimesRow,
}

#[derive(Debug, Serialize)]
struct PartRow {
    part: u32,
    total_s: f64,
    times: TimesRow,
    starts: f64,
    arc_s: f64,
    energy: Option<EnergyRow>,
    gas_l: Option<f64>,
    cost: CostRow,
    loose_at_s: Option<f64>,
}

#[derive(Debug, Serialize)]
struct LooseRow {
    part: Option<u32>,
    freed_by_cut: u32,
    at_s: f64,
}

#[derive(Debug, Serialize)]
struct UnforecastRow {
    fact: &'static str,
    told_by: String,
    figures: Vec<&'static str>,
}

impl ForecastDocument {
    /// The document of `forecast`; `chart` is where the charts were written.
    #[must_use]
    pub(crate) fn new(
        inputs: &Inputs,
        reading: &Reading,
        forecast: &Forecast,
        chart: Option<String>,
    ) -> Self {
        let print = Fingerprint::of(&inputs.name, reading.program.text());
        let air = forecast.air.as_ref().map(AirRow::new);
        let duty = forecast.duty.as_ref().map(DutyRow::new);
        let stops = air.as_ref().is_some_and(|air| air.short.is_some())
            || duty.as_ref().is_some_and(|duty| duty.trips_at_s.is_some());
        let line_of = |motion: u32| {
            reading.program.line_of(reading.motions.span(motion as usize, &reading.program).start)
        };
        let money = inputs.shop.as_ref().and_then(|shop| shop.money.as_ref());
        let wear = &forecast.wear;
        Self {
            schema: "platewright.forecast",
            version: 1,
            program: ProgramRow::new(&print, reading.program.blocks().len()),
            stops_the_job: stops,
            total_s: rounded_s(forecast.times.total_s()),
            times: TimesRow::new(&forecast.times),
            starts: forecast.starts,
            arc_s: rounded_s(forecast.arc_s),
            slow_cuts: forecast
                .slow
                .iter()
                .map(|slow| SlowRow {
                    cut: slow.cut.number(),
                    line: line_of(slow.motion),
                    longest_mm: rounded_mm(slow.longest_mm),
                    all_mm: rounded_mm(slow.all_mm),
                    lowest_mm_per_min: rounded(slow.lowest_mm_per_min),
                    wanted_mm_per_min: rounded(slow.wanted_mm_per_min),
                })
                .collect(),
            starved_cuts: forecast
                .starved
                .iter()
                .map(|starved| StarvedRow {
                    cut: starved.cut.number(),
                    line: line_of(starved.motion),
                    motions: starved.motions,
                    length_mm: rounded_mm(starved.length_mm),
                    lowest_mm_per_min: rounded(starved.lowest_mm_per_min),
                    wanted_mm_per_min: rounded(starved.wanted_mm_per_min),
                })
                .collect(),
            gas_l: forecast.gas_l.map(rounded),
            air,
            duty,
            wear: WearRow {
                starts: wear.job.starts,
                arc_min: rounded(wear.job.arc_min),
                starts_before: wear.before.map(|before| before.starts),
                life_starts: wear.life_starts,
                spent_at_start: wear.spent_at_start,
                lasts: wear.lasts.map(rounded),
            },
            energy: forecast.energy.as_ref().map(EnergyRow::new),
            currency: money.map(|money| money.currency.clone()).filter(|name| !name.is_empty()),
            cost: CostRow::new(&forecast.cost),
            cuts: forecast.cuts.iter().map(CutRow::new).collect(),
            parts: forecast.parts.iter().map(PartRow::new).collect(),
            loose: forecast
                .loose
                .iter()
                .map(|piece| LooseRow {
                    part: match piece.kind {
                        PieceKind::Part(part) => Some(part.number()),
                        PieceKind::Slug(_) => None,
                    },
                    freed_by_cut: piece.freed_by.number(),
                    at_s: rounded_s(piece.at_s),
                })
                .collect(),
            chart,
            unforecast: forecast.unforecast.iter().map(UnforecastRow::new).collect(),
            assumed: forecast
                .assumed
                .iter()
                .map(|&text| text.to_owned())
                .chain(crate::words::all_assumed(reading, inputs))
                .collect(),
        }
    }
}

impl TimesRow {
    fn new(times: &Times) -> Self {
        Self {
            cut_s: rounded_s(times.cut_s),
            pierce_s: rounded_s(times.pierce_s),
            touch_off_s: rounded_s(times.touch_off_s),
            travel_s: rounded_s(times.travel_s),
            wait_s: rounded_s(times.wait_s),
        }
    }
}

impl AirRow {
    fn new(air: &AirForecast) -> Self {
        let short = air.short.as_ref().map(|short| {
            let cures = air.cures.as_ref();
            let pauses = cures.and_then(|cures| cures.pauses.as_ref());
            ShortRow {
                start: short.start,
                cut: number(short.cut),
                at_s: rounded_s(short.at_s),
                in_cut: short.in_cut,
                lowest_bar: rounded(short.lowest_bar),
                pauses: pauses.map(|pauses| pauses.iter().map(PauseRow::new).collect()),
                receiver_l: cures.and_then(|cures| cures.receiver_l),
                hose_bore_mm: cures.and_then(|cures| cures.bore_mm),
                hose_m: cures.and_then(|cures| cures.hose_m),
                delivery_l_per_min: cures.and_then(|cures| cures.delivery_l_per_min),
            }
        });
        Self {
            lowest_bar: air.lowest.map(|lowest| rounded(lowest.bar)),
            lowest_at_s: air.lowest.map(|lowest| rounded_s(lowest.at_s)),
            lowest_cut: air.lowest.and_then(|lowest| number(lowest.cut)),
            least_bar: air.least_bar.map(rounded),
            short,
        }
    }
}

impl PauseRow {
    fn new(pause: &Pause) -> Self {
        Self { before_start: pause.start, cut: number(pause.cut), seconds: pause.seconds }
    }
}

impl DutyRow {
    fn new(duty: &DutyForecast) -> Self {
        Self {
            current_a: duty.current_a,
            highest: rounded(duty.highest),
            allowed: duty.allowed.map(rounded),
            trips_at_s: duty.trip.map(|trip| rounded_s(trip.at_s)),
            trips_in_cut: duty.trip.and_then(|trip| number(trip.cut)),
            pauses: duty.pauses.as_ref().map(|pauses| pauses.iter().map(PauseRow::new).collect()),
        }
    }
}

impl EnergyRow {
    fn new(energy: &Energy) -> Self {
        Self { arc_kwh: rounded(energy.arc_kwh), mains_kwh: energy.mains_kwh.map(rounded) }
    }
}

impl CostRow {
    fn new(cost: &Cost) -> Self {
        Self {
            sum: cost.sum().map(rounded),
            time: cost.time.map(rounded),
            power: cost.power.map(rounded),
            gas: cost.gas.map(rounded),
            consumables: cost.consumables.map(rounded),
        }
    }
}

impl CutRow {
    fn new(cut: &CutForecast) -> Self {
        Self {
            cut: cut.cut.number(),
            from_s: rounded_s(cut.from_s),
            on_s: rounded_s(cut.on_s),
            off_s: rounded_s(cut.off_s),
            arc_s: rounded_s(cut.arc_s),
            times: TimesRow::new(&cut.times),
        }
    }
}

impl PartRow {
    fn new(part: &PartForecast) -> Self {
        Self {
            part: part.part.number(),
            total_s: rounded_s(part.times.total_s()),
            times: TimesRow::new(&part.times),
            starts: rounded(part.starts),
            arc_s: rounded_s(part.arc_s),
            energy: part.energy.as_ref().map(EnergyRow::new),
            gas_l: part.gas_l.map(rounded),
            cost: CostRow::new(&part.cost),
            loose_at_s: part.loose_at_s.map(rounded_s),
        }
    }
}

impl UnforecastRow {
    fn new(missing: &Unforecast) -> Self {
        Self {
            fact: missing.lack.fact(),
            told_by: with_flags(missing.lack.told_by()),
            figures: missing.figures.clone(),
        }
    }
}

fn number(cut: Option<CutId>) -> Option<u32> {
    cut.map(CutId::number)
}

fn rounded(value: f64) -> f64 {
    (value * PLACES).round() / PLACES
}
