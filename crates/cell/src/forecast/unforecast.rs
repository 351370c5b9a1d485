//! What could not be forecast, and the fact that would add most.

use super::Planned;
use crate::event::Log;
use crate::facts::CellFacts;
use crate::lack::Lack;
use nc::{EventKind, HeightBase, MotionKind, TouchOff};
use shop::ProcessOf;
use std::collections::BTreeMap;

/// A fact that nobody has told, and what could not be told for want of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Unforecast {
    /// The fact.
    pub lack: Lack,
    /// Figures that want it, as the user would name them.
    pub figures: Vec<&'static str>,
}

/// Figures and the facts each wants.
const FIGURES: &[(&str, &[Lack])] = &[
    ("travel time", &[Lack::Rapid]),
    ("slowing at starts, corners and arcs", &[Lack::Acceleration]),
    ("slowing at corners", &[Lack::Acceleration, Lack::PathTolerance]),
    ("time up and down", &[Lack::RapidZ]),
    ("touch-off time", &[Lack::TouchOffTime]),
    ("time of starts", &[Lack::Preflow, Lack::TransferTime]),
    ("blocks that come too fast", &[Lack::BlocksPerSecond]),
    ("duty cycle", &[Lack::Duty, Lack::Process, Lack::Current]),
    ("energy", &[Lack::Process, Lack::Thickness, Lack::Current, Lack::Volts]),
    ("gas used", &[Lack::TorchFlow]),
    ("gas after the arc", &[Lack::TorchFlow, Lack::PostFlow]),
    (
        "inlet pressure",
        &[
            Lack::TorchFlow,
            Lack::Delivery,
            Lack::ReceiverVolume,
            Lack::CutInCutOut,
            Lack::Regulator,
            Lack::Hose,
        ],
    ),
    ("starts that run short of air", &[Lack::PressureMin]),
    ("starts left on the set", &[Lack::StartsOnSet, Lack::LifeStarts]),
    ("chance that the set lasts", &[Lack::StartsOnSet, Lack::WearLaw]),
    ("cost of time", &[Lack::HourPrice]),
    ("cost of power", &[Lack::Efficiency, Lack::PowerPrice]),
    ("cost of gas", &[Lack::GasPrice]),
    ("cost of consumables", &[Lack::SetPrice, Lack::LifeStarts]),
];

/// What went unforecast, the fact that would add most first, and what was assumed.
pub(super) fn list(
    planned: &Planned<'_>,
    facts: &CellFacts,
    log: &Log,
    air: bool,
) -> (Vec<Unforecast>, Vec<&'static str>) {
    let lacking = lacking(planned, facts);
    let mut wanting: BTreeMap<Lack, (usize, Vec<&'static str>)> = BTreeMap::new();
    for (figure, wants) in FIGURES {
        let missing: Vec<Lack> = wants.iter().copied().filter(|lack| lacking.contains(lack)).collect();
        for lack in &missing {
            let (alone, figures) = wanting.entry(*lack).or_default();
            *alone += usize::from(missing.len() == 1);
            figures.push(figure);
        }
    }
    let mut list: Vec<(usize, Unforecast)> =
        wanting.into_iter().map(|(lack, (alone, figures))| (alone, Unforecast { lack, figures })).collect();
    // First what would add a figure by itself; then what several figures want.
    list.sort_by_key(|(alone, unforecast)| {
        (usize::MAX - alone, usize::MAX - unforecast.figures.len(), unforecast.lack)
    });
    let assumed = assumed(planned, log, air);
    (list.into_iter().map(|(_, unforecast)| unforecast).collect(), assumed)
}

/// Facts that are missing and of which this program makes use.
fn lacking(planned: &Planned<'_>, facts: &CellFacts) -> Vec<Lack> {
    let mut lacking = facts.lacking.clone();
    let moves_z = |kind: MotionKind, k: usize| {
        let (from, to) = (planned.motions.z_from(k), planned.motions.motions()[k].z);
        kind == MotionKind::Rapid && from.base == to.base && (from.mm - to.mm).abs() > 0.0
    };
    let rises = planned.motions.motions().iter().enumerate().any(|(k, motion)| moves_z(motion.kind, k));
    if !rises {
        lacking.retain(|lack| *lack != Lack::RapidZ);
    }
    if !touches_off_untold(planned) {
        lacking.retain(|lack| *lack != Lack::TouchOffTime);
    }
    if planned.job.thickness.is_none() {
        lacking.push(Lack::Thickness);
    }
    let told = planned.list.cuts.iter().map(|cut| planned.shop.process_of(planned.job, cut.process));
    let mut told = told.peekable();
    if told.peek().is_none() || told.any(|process| !matches!(process, ProcessOf::Known(_))) {
        lacking.push(Lack::Process);
    } else {
        let processes = || planned.list.cuts.iter().map(|cut| facts.process(cut.process));
        if processes().any(|process| process.current_a.is_none()) {
            lacking.push(Lack::Current);
        }
        if planned.job.thickness.is_some() && processes().any(|process| process.volts.is_none()) {
            lacking.push(Lack::Volts);
        }
    }
    lacking
}

/// Whether the plate is found in a way whose time the program does not tell.
fn touches_off_untold(planned: &Planned<'_>) -> bool {
    let motions = planned.motions;
    let by_control = motions
        .events()
        .iter()
        .any(|event| matches!(event.kind, EventKind::TouchOff(TouchOff::ByControl | TouchOff::ByCall)));
    let from_nowhere = |k: usize| {
        motions.motions()[k].kind == MotionKind::Probe && motions.z_from(k).base == HeightBase::Unknown
    };
    by_control || (0..motions.motions().len()).any(from_nowhere)
}

fn assumed(planned: &Planned<'_>, log: &Log, air: bool) -> Vec<&'static str> {
    let mut assumed = vec!["every start transfers, and nothing goes wrong"];
    if air {
        assumed.push("the receiver stands at its cut-in pressure when the program begins");
        if planned.shop.air.as_ref().is_some_and(|air| air.altitude.is_none()) {
            assumed.push("the shop lies at the height of the sea: tell yours by `[air] altitude`");
        }
    }
    let stops = log.events.iter().any(|event| event.what == crate::Happening::ProgramStop);
    if stops {
        assumed.push("stops at which the program waits for the operator take no time");
    }
    assumed
}
