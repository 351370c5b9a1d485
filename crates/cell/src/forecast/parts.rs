//! Each cut, each part, and when pieces come loose.

use super::cost::{Amounts, Cost, Energy, Rates, energy_of};
use super::{Planned, Times};
use crate::event::{Happening, Log};
use crate::facts::CellFacts;
use cuts::{ContourId, Cut, CutId, CutList, Made, PartId, PieceKind, PlateState, Progress};

/// A cut as forecast.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CutForecast {
    /// The cut.
    pub cut: CutId,
    /// When its approach begins, in seconds; 0 if it is not reached.
    pub from_s: f64,
    /// When its torch is told to start.
    pub on_s: f64,
    /// When the torch goes off.
    pub off_s: f64,
    /// Where its time goes, approach included.
    pub times: Times,
    /// How long the arc burns, in seconds.
    pub arc_s: f64,
    /// Gas of the start, the arc and the post-flow, in seconds.
    pub gas_s: GasTimes,
}

/// How long gas flows, in seconds.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct GasTimes {
    /// While the arc burns.
    pub arc_s: f64,
    /// Before and after it.
    pub idle_s: f64,
}

/// A part as forecast. What a cut makes for several parts is shared out by the length that each takes of it.
#[derive(Clone, Debug, PartialEq)]
pub struct PartForecast {
    /// The part.
    pub part: PartId,
    /// Where its time goes.
    pub times: Times,
    /// Starts; a share where a start serves several parts.
    pub starts: f64,
    /// How long the arc burns for it, in seconds.
    pub arc_s: f64,
    /// Energy.
    pub energy: Option<Energy>,
    /// Gas, in litres of free air.
    pub gas_l: Option<f64>,
    /// Money.
    pub cost: Cost,
    /// When it comes loose, in seconds; none if it never does.
    pub loose_at_s: Option<f64>,
}

/// A piece that comes loose.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Loosened {
    /// What it is.
    pub kind: PieceKind,
    /// Its outer contour.
    pub outline: ContourId,
    /// The cut that frees it.
    pub freed_by: CutId,
    /// When, in seconds.
    pub at_s: f64,
}

/// Each cut of the log.
pub(super) fn cuts(list: &CutList, log: &Log) -> Vec<CutForecast> {
    let empty = |cut: &Cut| CutForecast {
        cut: cut.id,
        from_s: 0.0,
        on_s: 0.0,
        off_s: 0.0,
        times: Times::default(),
        arc_s: 0.0,
        gas_s: GasTimes::default(),
    };
    let mut cuts: Vec<CutForecast> = list.cuts.iter().map(empty).collect();
    for spell in &log.spells {
        let Some(cut) = spell.cut.and_then(|cut| cuts.get_mut(cut.0 as usize)) else { continue };
        if cut.times.total_s() <= 0.0 {
            cut.from_s = spell.from_s;
        }
        cut.times.add(spell.kind, spell.to_s - spell.from_s);
        cut.off_s = spell.to_s;
    }
    for event in &log.events {
        if let Happening::Start { cut: Some(cut), .. } = event.what {
            cuts[cut.0 as usize].on_s = event.at_s;
        }
    }
    for gas in &log.gas {
        let Some(cut) = gas.cut.and_then(|cut| cuts.get_mut(cut.0 as usize)) else { continue };
        let seconds = gas.to_s - gas.from_s;
        if gas.arc {
            cut.arc_s += seconds;
            cut.gas_s.arc_s += seconds;
        } else {
            cut.gas_s.idle_s += seconds;
        }
    }
    cuts
}

/// When pieces come loose.
pub(super) fn loose(planned: &Planned<'_>, log: &Log) -> Vec<Loosened> {
    let list = planned.list;
    let mut state = PlateState::after(list, Progress::default(), planned.kerf);
    let mut loose = Vec::new();
    for cut in list.cuts.iter().filter(|cut| !cut.is_mark) {
        for piece in state.make(list, Made::whole(cut)) {
            let contour = list.contour(piece.outline);
            // A contour that another cut has closed comes free at the end of this one.
            let along_mm = if contour.cut == cut.id { contour.along_mm.end } else { cut.path.length_mm() };
            let Some(at_s) = time_at(log, cut, along_mm) else { continue };
            loose.push(Loosened { kind: piece.kind, outline: piece.outline, freed_by: cut.id, at_s });
        }
    }
    loose
}

/// When the torch is `along_mm` along `cut`.
pub(super) fn time_at(log: &Log, cut: &Cut, along_mm: f64) -> Option<f64> {
    let (curve, within_mm) = cut.path.locate(along_mm)?;
    let motion = log.motions.get(*cut.path_motions.get(curve)? as usize)?;
    Some(motion.from_s + motion.run.map_or(0.0, |run| run.time_at_s(within_mm)))
}

/// Each part.
pub(super) fn parts(
    list: &CutList,
    facts: &CellFacts,
    cuts: &[CutForecast],
    loose: &[Loosened],
    rates: &Rates,
) -> Vec<PartForecast> {
    let mut sums: Vec<Sum> = vec![Sum::default(); list.parts.len()];
    for (cut, forecast) in list.cuts.iter().zip(cuts) {
        let energy = energy_of(facts, cut.process, forecast.arc_s, facts.efficiency);
        let gas_l = gas_l(facts, &forecast.gas_s);
        for (part, share) in shares(list, cut) {
            sums[part.0 as usize].add(forecast, share, energy, gas_l);
        }
    }
    let mut loose_at: Vec<Option<f64>> = vec![None; list.parts.len()];
    for piece in loose {
        if let PieceKind::Part(part) = piece.kind {
            loose_at[part.0 as usize] = Some(piece.at_s);
        }
    }
    let finished = |(part, (sum, loose_at_s)): (&cuts::Part, (Sum, Option<f64>))| {
        let amounts = Amounts {
            time_s: sum.times.total_s(),
            energy: sum.energy(),
            gas_l: sum.gas_l,
            starts: sum.starts,
        };
        PartForecast {
            part: part.id,
            times: sum.times,
            starts: sum.starts,
            arc_s: sum.arc_s,
            energy: amounts.energy,
            gas_l: sum.gas_l,
            cost: rates.cost(&amounts),
            loose_at_s,
        }
    };
    list.parts.iter().zip(sums.into_iter().zip(loose_at)).map(finished).collect()
}

/// What a part adds up to. A figure that one of its cuts lacks, the part lacks.
#[derive(Clone, Copy, Debug)]
struct Sum {
    times: Times,
    starts: f64,
    arc_s: f64,
    arc_kwh: Option<f64>,
    mains_kwh: Option<f64>,
    gas_l: Option<f64>,
}

impl Default for Sum {
    fn default() -> Self {
        Self {
            times: Times::default(),
            starts: 0.0,
            arc_s: 0.0,
            arc_kwh: Some(0.0),
            mains_kwh: Some(0.0),
            gas_l: Some(0.0),
        }
    }
}

impl Sum {
    fn add(&mut self, cut: &CutForecast, share: f64, energy: Option<Energy>, gas_l: Option<f64>) {
        let with = |sum: Option<f64>, more: Option<f64>| Some(sum? + more? * share);
        self.times.add_share(&cut.times, share);
        self.starts += share;
        self.arc_s += cut.arc_s * share;
        self.arc_kwh = with(self.arc_kwh, energy.map(|energy| energy.arc_kwh));
        self.mains_kwh = with(self.mains_kwh, energy.and_then(|energy| energy.mains_kwh));
        self.gas_l = with(self.gas_l, gas_l);
    }

    fn energy(&self) -> Option<Energy> {
        Some(Energy { arc_kwh: self.arc_kwh?, mains_kwh: self.mains_kwh })
    }
}

fn gas_l(facts: &CellFacts, gas: &GasTimes) -> Option<f64> {
    let (arc, idle) = (facts.cut_flow_l_per_min?, facts.gas_flow_l_per_min?);
    Some((gas.arc_s * arc + gas.idle_s * idle) / 60.0)
}

/// The parts that a cut serves, each with its share; empty if it serves none.
fn shares(list: &CutList, cut: &Cut) -> Vec<(PartId, f64)> {
    let mut lengths: Vec<(PartId, f64)> = Vec::new();
    for id in &cut.contours {
        let contour = list.contour(*id);
        let Some(part) = contour.part else { continue };
        let length = (contour.along_mm.end - contour.along_mm.start).max(0.0);
        match lengths.iter_mut().find(|(of, _)| *of == part) {
            Some((_, sum)) => *sum += length,
            None => lengths.push((part, length)),
        }
    }
    let whole: f64 = lengths.iter().map(|(_, length)| length).sum();
    lengths.iter().map(|(part, length)| (*part, if whole > 0.0 { length / whole } else { 0.0 })).collect()
}
