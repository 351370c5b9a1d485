//! Air through the job: inlet pressure, the first start that falls short, and what cures it.

use crate::air::{AirPlant, Draw, Piece};
use crate::event::{Gas, Log};
use crate::facts::CellFacts;
use cuts::CutId;

/// Air through a job.
#[derive(Clone, Debug, PartialEq)]
pub struct AirForecast {
    /// The plant.
    pub plant: AirPlant,
    /// Receiver and inlet, piece by piece, from the job's beginning to the end of the last gas.
    pub pieces: Vec<Piece>,
    /// Lowest pressure at the inlet while gas flows.
    pub lowest: Option<LowestInlet>,
    /// Least pressure that the source wants, in bar.
    pub least_bar: Option<f64>,
    /// The first start or cut that falls short of it.
    pub short: Option<Short>,
    /// What cures it, if something falls short.
    pub cures: Option<Cures>,
}

/// The lowest inlet pressure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LowestInlet {
    /// In bar.
    pub bar: f64,
    /// When, in seconds.
    pub at_s: f64,
    /// The cut.
    pub cut: Option<CutId>,
}

/// What falls short.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Short {
    /// Number of the start, from 1.
    pub start: u32,
    /// The cut.
    pub cut: Option<CutId>,
    /// When, in seconds.
    pub at_s: f64,
    /// Whether the arc burns by then; else it is the start itself.
    pub in_cut: bool,
    /// Lowest inlet pressure from there to the end of that gas, in bar.
    pub lowest_bar: f64,
}

/// Ways to keep the inlet above its least, each by itself; none where that way does not help.
#[derive(Clone, Debug, PartialEq)]
pub struct Cures {
    /// Pauses that together let the whole job run.
    pub pauses: Option<Vec<Pause>>,
    /// A receiver of so many litres.
    pub receiver_l: Option<f64>,
    /// A hose of so many millimetres bore.
    pub bore_mm: Option<f64>,
    /// A hose of so many metres.
    pub hose_m: Option<f64>,
    /// A compressor that delivers so many litres of free air a minute.
    pub delivery_l_per_min: Option<f64>,
}

/// A pause before a start.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pause {
    /// Number of the start, from 1.
    pub start: u32,
    /// Its cut.
    pub cut: Option<CutId>,
    /// Whole seconds.
    pub seconds: u32,
}

/// Sizes of receivers that are made, in litres (common practice).
const RECEIVERS_L: [f64; 14] =
    [50.0, 100.0, 150.0, 200.0, 270.0, 300.0, 500.0, 750.0, 900.0, 1000.0, 1500.0, 2000.0, 3000.0, 5000.0];
/// Bores of hoses that are made, in millimetres (common practice).
const BORES_MM: [f64; 8] = [6.0, 8.0, 9.5, 10.0, 13.0, 16.0, 19.0, 25.0];
/// Deliveries worth naming, in litres of free air a minute: in steps of about a quarter.
const DELIVERIES_L_PER_MIN: [f64; 12] =
    [100.0, 150.0, 200.0, 250.0, 300.0, 400.0, 500.0, 600.0, 800.0, 1000.0, 1500.0, 2000.0];
/// Longest single pause that is proposed, in seconds: the same bound as for one start.
const PAUSE_MAX_S: u32 = crate::air::PAUSE_MAX_S;

/// Longest job whose pressure is followed, in seconds: ten days. Longer ones come of a slip in a dwell or feed, and each
/// time the compressor starts would be a piece of its own.
const LONGEST_S: f64 = 864_000.0;

/// Gas used, in litres of free air; none if the torch's flow is not told.
pub(super) fn used_l(facts: &CellFacts, log: &Log) -> Option<f64> {
    let (arc, idle) = (facts.cut_flow_l_per_min?, facts.gas_flow_l_per_min?);
    let litres = |gas: &Gas| (gas.to_s - gas.from_s) / 60.0 * if gas.arc { arc } else { idle };
    Some(log.gas.iter().map(litres).fold(0.0, |sum, litres| sum + litres))
}

pub(super) fn forecast(facts: &CellFacts, log: &Log) -> Option<AirForecast> {
    let (plant, arc, idle) = (facts.plant?, facts.cut_flow_l_per_min?, facts.gas_flow_l_per_min?);
    if log.to_s - log.from_s > LONGEST_S {
        return None;
    }
    let draw = |gas: &Gas| Draw {
        from_s: gas.from_s,
        to_s: gas.to_s,
        flow_l_per_min: if gas.arc { arc } else { idle },
    };
    let draws: Vec<Draw> = log.gas.iter().map(draw).collect();
    let from_bar = plant.cut_in_bar;
    let pieces = plant.run(from_bar, &draws);
    let least_bar = facts.pressure_min_bar;
    let short = least_bar.and_then(|least| plant.shortfall(&pieces, least)).map(|short| {
        let gas = &log.gas[short.draw];
        Short {
            start: gas.start,
            cut: gas.cut,
            at_s: short.at_s,
            in_cut: gas.arc,
            lowest_bar: short.lowest_bar,
        }
    });
    let cures = short.zip(least_bar).map(|(_, least)| cures(&plant, from_bar, &draws, &log.gas, least));
    Some(AirForecast { plant, lowest: lowest(&pieces, &log.gas), pieces, least_bar, short, cures })
}

fn lowest(pieces: &[Piece], gas: &[Gas]) -> Option<LowestInlet> {
    let flowing = pieces.iter().filter_map(|piece| Some((piece.inlet_bar?, piece)));
    let (bar, piece) = flowing.min_by(|a, b| a.0.total_cmp(&b.0))?;
    let at_s = if piece.to_bar < piece.from_bar { piece.to_s } else { piece.from_s };
    Some(LowestInlet { bar, at_s, cut: piece.draw.and_then(|draw| gas[draw].cut) })
}

fn cures(plant: &AirPlant, from_bar: f64, draws: &[Draw], gas: &[Gas], least_bar: f64) -> Cures {
    let larger =
        |sizes: &[f64], own: f64| sizes.iter().copied().filter(|size| *size > own).collect::<Vec<_>>();
    let smallest = |sizes: &[f64], change: fn(&mut AirPlant, f64)| {
        plant.smallest_that_cures(from_bar, draws, least_bar, sizes, change)
    };
    // The longest hose first: the least that has to be changed.
    let hoses: Vec<f64> = [0.75, 0.5, 0.25].iter().map(|share| (plant.hose_m * share).floor()).collect();
    let hoses: Vec<f64> = hoses.into_iter().filter(|hose| *hose >= 1.0).collect();
    Cures {
        pauses: pauses(plant, from_bar, draws, gas, least_bar),
        receiver_l: smallest(&larger(&RECEIVERS_L, plant.receiver_l), |plant, l| plant.receiver_l = l),
        bore_mm: smallest(&larger(&BORES_MM, plant.bore_mm), |plant, mm| plant.bore_mm = mm),
        hose_m: smallest(&hoses, |plant, m| plant.hose_m = m),
        delivery_l_per_min: smallest(
            &larger(&DELIVERIES_L_PER_MIN, plant.delivery_l_per_min),
            |plant, flow| {
                plant.delivery_l_per_min = flow;
            },
        ),
    }
}

/// The shortest pauses, start by start in whole seconds, with which no start falls short; none if at some start no pause
/// helps. The receiver begins where it does in the forecast. Longer post-flow because of a pause is left out of account.
fn pauses(
    plant: &AirPlant,
    from_bar: f64,
    draws: &[Draw],
    gas: &[Gas],
    least_bar: f64,
) -> Option<Vec<Pause>> {
    let (mut receiver, mut later_s) = (plant.receiver_at(from_bar), 0.0);
    let (mut pauses, mut k) = (Vec::new(), 0);
    while k < draws.len() {
        let end = k + gas[k..].iter().take_while(|other| other.start == gas[k].start).count();
        let run = |pause_s: f64| {
            let (mut state, mut pieces) = (receiver, Vec::new());
            for draw in &draws[k..end] {
                let shift_s = later_s + pause_s;
                plant.step(&mut state, draw.from_s + shift_s, None, &mut pieces);
                plant.step(&mut state, draw.to_s + shift_s, Some((0, draw.flow_l_per_min)), &mut pieces);
            }
            let enough = pieces.iter().all(|piece| piece.inlet_bar.is_none_or(|bar| bar >= least_bar));
            enough.then_some(state)
        };
        let found = (0..=PAUSE_MAX_S).find_map(|pause| Some((pause, run(f64::from(pause))?)));
        let (seconds, state) = found?;
        if seconds > 0 {
            pauses.push(Pause { start: gas[k].start, cut: gas[k].cut, seconds });
            later_s += f64::from(seconds);
        }
        (receiver, k) = (state, end);
    }
    Some(pauses)
}
