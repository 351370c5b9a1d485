//! One case, run to its end by every operator.

use crate::bench::Bench;
use crate::case::Case;
use crate::fault::Fault;
use crate::judge::{Differs, Lost, Rig, Unsafe, savable};
use crate::operators::{Did, Operator, hands, planner};
use crate::report::Stop;
use crate::stand::{Halt, Stand};
use cell::{Cell, StoppedBy};
use rescue::RescuePlan;
use shop::{AwaitsArc, StopReport};

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
    /// Parts at risk that the second fault itself has ruined.
    pub excused: Vec<usize>,
    /// Parts at risk that were lost and made anew at another place, as they should be.
    pub anew: Vec<usize>,
    /// What is wrong with each part at risk that is not as it should be, by index.
    pub differs: Vec<(usize, Differs)>,
    /// What he did.
    pub did: Did,
}

impl Row {
    /// Parts at risk that could still be saved.
    pub fn savable(&self) -> impl Iterator<Item = usize> + '_ {
        self.at_risk.iter().filter(|(_, can)| can.is_ok()).map(|(part, _)| *part)
    }

    /// Parts that could be saved, so far as this operator's second fault did not ruin them, and how many of them were.
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
        self.saved_though(who, |why| why != Lost::NotFindable)
    }

    /// Parts that landed within the tolerance although nobody could be sure of it: luck.
    pub fn saved_by_luck(&self, who: Operator) -> impl Iterator<Item = usize> + '_ {
        self.saved_though(who, |why| why == Lost::NotFindable)
    }

    fn saved_though(&self, who: Operator, lost: fn(Lost) -> bool) -> impl Iterator<Item = usize> + '_ {
        let outcome = self.of(who);
        let lost = self.at_risk.iter().filter(move |(_, can)| can.is_err_and(lost));
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

/// Runs a case on a bench and shows `see` every report that the planner is given, with the plan it led to.
pub fn watch(case: &Case, bench: &Bench, see: &mut dyn FnMut(&StopReport, &RescuePlan)) -> Row {
    let fault = Fault::of(case, bench);
    let (stand, halt) = stopped(case, bench, &fault);
    let halt = halt.unwrap_or(Halt {
        by: StoppedBy::Hand,
        cut: bench.starts.len() - 1,
        at: [0.0; 2],
        hole_mm: None,
        misreports: None,
    });
    let mut stop =
        Stop::of(&halt, Some(fault.kind), ((fault.since.min(halt.cut)..=halt.cut).collect(), halt.cut));
    stop.goes_bad(bench, &stand.rig, fault.bad_from_mm());
    stop.moves_on(bench, &stand.rig, Some(halt.cut + 1).filter(|next| *next < bench.starts.len()));
    stop.sees_no_plate(bench, &stand.rig, &stand.lie());
    let findable = fault.findable(bench, &stand.rig);
    let (lie, rig) = (stand.lie(), &stand.rig);
    let parts = 0..bench.layout.parts.len();
    let at_risk: Vec<_> = parts
        .filter(|part| !bench.layout.differs(&rig.plate, *part).nowhere())
        .map(|part| (part, savable(&bench.layout, rig, part, (&lie, findable.as_ref()))))
        .collect();
    let touched = |part: &usize| stop.since.iter().any(|cut| bench.parts_of(*cut).any(|of| of == *part));
    let interrupted = at_risk.iter().map(|(part, _)| *part).filter(touched).collect();
    let stopped = Stopped { case, bench, stand: &stand, stop: &stop, at_risk: &at_risk };
    let outcomes = Operator::ALL.map(|who| stopped.outcome(who, see));
    Row { case: case.clone(), at_risk, interrupted, outcomes }
}

/// The table after the fault has struck the program, and how it stopped; none if it ran to its end.
fn stopped<'b>(case: &Case, bench: &'b Bench, fault: &Fault) -> (Stand<'b>, Option<Halt>) {
    let mut facts = bench.facts.clone();
    if bench.given.shop.is_none() && case.noise.is_multiple_of(2) {
        facts.awaits_arc = AwaitsArc::TimesOut(TIMES_OUT);
    }
    let run = |strikes: &[cell::Fault]| {
        let cell = Cell::new(facts.clone(), case.noise, strikes);
        // On a told table nothing but the fault stops the program: a forecast says what the plant would stop.
        let cell = if bench.given.shop.is_some() { cell.that_never_trips() } else { cell };
        let rig = Rig::laid_off(&bench.layout, fault.datum_mm);
        let mut stand = Stand { cell, rig, datum_mm: fault.datum_mm, beside: Vec::new() };
        let ran = stand.run(&bench.runs());
        (stand, ran.stopped)
    };
    let (stand, halt) = run(&fault.strikes);
    if halt.is_some() || fault.otherwise.is_empty() { (stand, halt) } else { run(&fault.otherwise) }
}

/// After how long a control that does not wait for ever gives up on a start.
const TIMES_OUT: units::Duration = units::Duration::from_s(5.0);

/// A stopped plate.
struct Stopped<'a> {
    case: &'a Case,
    bench: &'a Bench,
    stand: &'a Stand<'a>,
    stop: &'a Stop,
    at_risk: &'a [(usize, Result<(), Lost>)],
}

impl Stopped<'_> {
    /// What an operator makes of it.
    fn outcome(&self, who: Operator, see: &mut dyn FnMut(&StopReport, &RescuePlan)) -> Outcome {
        let Self { case, bench, stop, .. } = *self;
        let mut stand = self.stand.clone();
        let second = case.second.as_ref();
        let did = match who {
            Operator::Planner => planner::go_on(bench, &mut stand, stop, second, case.noise, see),
            _ => hands::go_on(who, bench, &mut stand, stop, second, case.noise),
        };
        let rig = &stand.rig;
        let parts = || self.at_risk.iter().map(|(part, _)| *part);
        let saved: Vec<usize> = parts().filter(|part| rig.is_made(*part)).collect();
        let made = |part: &usize| {
            let mut places = did.anew.iter().filter(|(other, _)| other == part);
            places.any(|(_, to)| bench.layout.is_made_at(&rig.plate, *part, to))
        };
        let anew = parts().filter(|part| !saved.contains(part) && made(part)).collect();
        let spoiled = |part: &usize| did.ruined.contains(part);
        let lost = parts().filter(|part| !saved.contains(part));
        let differs = lost.map(|part| (part, bench.layout.differs(&rig.plate, part))).collect();
        Outcome { saved, excused: parts().filter(spoiled).collect(), anew, differs, did }
    }
}
