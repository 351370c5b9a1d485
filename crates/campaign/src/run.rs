//! One case, run to its end by every operator.

use crate::bench::Bench;
use crate::case::Case;
use crate::fault::Fault;
use crate::judge::{Ended, Lost, Rig, Unsafe, Why, savable};
use crate::operators::{Did, Operator, hands, planner};
use crate::report::Stop;
use shop::StopReport;

/// What became of a case.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// The case.
    pub case: Case,
    /// Parts not finished at the stop, by index, each with whether it could still be saved, and why not.
    pub at_risk: Vec<(usize, Result<(), Lost>)>,
    /// Those of them of which a cut was interrupted.
    pub interrupted: Vec<usize>,
    /// What each operator made of it, in the order of [`Operator::ALL`].
    pub outcomes: [Outcome; 3],
}

/// What an operator made of a case.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Outcome {
    /// Parts at risk that are as they should be in the end, by index.
    pub saved: Vec<usize>,
    /// Parts at risk that the second stop itself has spoiled.
    pub excused: Vec<usize>,
    /// What he did.
    pub did: Did,
}

impl Row {
    /// Parts at risk that could still be saved.
    pub fn savable(&self) -> impl Iterator<Item = usize> + '_ {
        self.at_risk.iter().filter(|(_, can)| can.is_ok()).map(|(part, _)| *part)
    }

    /// Parts that could be saved, so far as this operator's second stop did not spoil them, and how many of them were.
    #[must_use]
    pub fn count(&self, who: Operator, interrupted: bool) -> (usize, usize) {
        let outcome = self.of(who);
        let counts = |part: &usize| {
            !outcome.excused.contains(part) && (!interrupted || self.interrupted.contains(part))
        };
        let savable: Vec<usize> = self.savable().filter(counts).collect();
        let saved = savable.iter().filter(|part| outcome.saved.contains(part)).count();
        (savable.len(), saved)
    }

    /// Parts that were saved and could not be: the judge would be wrong.
    pub fn saved_not_savable(&self, who: Operator) -> impl Iterator<Item = usize> + '_ {
        let outcome = self.of(who);
        let lost = self.at_risk.iter().filter(|(_, can)| can.is_err());
        lost.map(|(part, _)| *part).filter(|part| outcome.saved.contains(part))
    }

    /// What this operator made of it.
    ///
    /// # Panics
    /// Never: every operator has an outcome.
    #[must_use]
    pub fn of(&self, who: Operator) -> &Outcome {
        let k = Operator::ALL.iter().position(|other| *other == who).expect("all operators are in the list");
        &self.outcomes[k]
    }

    /// Whether the planner lost a part that could be saved, or brought about an unsafe moment.
    #[must_use]
    pub fn is_failure(&self) -> bool {
        let (savable, saved) = self.count(Operator::Planner, false);
        saved < savable || !self.of(Operator::Planner).did.moments.is_empty()
    }

    /// Unsafe moments of an operator.
    #[must_use]
    pub fn moments(&self, who: Operator) -> &[Unsafe] {
        &self.of(who).did.moments
    }
}

/// Runs a case on a bench.
#[must_use]
pub fn run(case: &Case, bench: &Bench) -> Row {
    watch(case, bench, &mut |_, _| ())
}

/// Runs a case on a bench and shows `see` every report that the planner is given, with the program it led to; empty where
/// nothing could be proven.
pub fn watch(case: &Case, bench: &Bench, see: &mut dyn FnMut(&StopReport, &[u8])) -> Row {
    let fault = Fault::of(case, bench);
    let mut rig = Rig::new(&bench.layout);
    rig.plate.take_corner(fault.missing_mm);
    let ran = rig.run(&bench.tape, Some(fault.mishap));
    let mut stop = Stop { at: Some(ran.at), ..Stop::of(&fault) };
    if let Ended::Stopped { start, why: Why::ArcDied | Why::NoMetal, .. } = ran.ended {
        // The plate itself stopped it before the mishap could.
        stop.cut = start;
        stop.since = vec![start];
    }
    if let Some(lie) = fault.moves {
        rig.lie = lie;
    }
    stop.moves_on(bench, &rig);
    let findable = fault.findable(bench, &rig);
    let parts = 0..bench.layout.parts.len();
    let at_risk: Vec<_> = parts
        .filter(|part| !bench.layout.differs(&rig.plate, *part).nowhere())
        .map(|part| (part, savable(&bench.layout, &rig, part, findable.as_ref())))
        .collect();
    let touched = |part: &usize| stop.since.iter().any(|cut| bench.parts_of(*cut).any(|of| of == *part));
    let interrupted = at_risk.iter().map(|(part, _)| *part).filter(touched).collect();
    let stopped = Stopped { case, bench, rig: &rig, stop: &stop, at_risk: &at_risk };
    let outcomes = Operator::ALL.map(|who| stopped.outcome(who, see));
    Row { case: case.clone(), at_risk, interrupted, outcomes }
}

/// A stopped plate.
struct Stopped<'a> {
    case: &'a Case,
    bench: &'a Bench,
    rig: &'a Rig<'a>,
    stop: &'a Stop,
    at_risk: &'a [(usize, Result<(), Lost>)],
}

impl Stopped<'_> {
    /// What an operator makes of it.
    fn outcome(&self, who: Operator, see: &mut dyn FnMut(&StopReport, &[u8])) -> Outcome {
        let Self { case, bench, stop, .. } = *self;
        let mut rig = self.rig.clone();
        let second = case.second.as_ref();
        let did = match who {
            Operator::Planner => planner::go_on(bench, &mut rig, stop, second, case.noise, see),
            _ => hands::go_on(who, bench, &mut rig, stop, second, case.noise),
        };
        let as_it_should = |part: &usize| {
            let kept = rig.freed[*part] == Some(bench.layout.lost(&rig.plate, *part));
            kept && bench.layout.differs(&rig.plate, *part).nowhere()
        };
        let parts = || self.at_risk.iter().map(|(part, _)| *part);
        let saved = parts().filter(as_it_should).collect();
        let spoiled = |part: &usize| did.blown_by_second && bench.layout.is_gouged(&rig.plate, *part);
        Outcome { saved, excused: parts().filter(spoiled).collect(), did }
    }
}
