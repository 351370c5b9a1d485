//! The cell itself: its state between and during runs.

use crate::CellFacts;
use crate::air::{AirPlant, Receiver};
use crate::duty::Burn;
use crate::event::{Code, Control, Log, Source};
use crate::fault::{Fault, Trouble};
use crate::metal::Metal;
use crate::operator::{Act, Operator};
use crate::random::Random;
use crate::running::Running;
use cuts::CutList;
use geometry::{Placement, Program};
use nc::Motions;
use std::ops::ControlFlow;

/// What is run.
#[derive(Clone, Copy)]
pub struct Work<'a> {
    /// The program's motions.
    pub motions: &'a Motions,
    /// Its cuts.
    pub list: &'a CutList,
    /// Whether every motion is kept in the log, with its speeds.
    pub keep_motions: bool,
    /// Told now and then how many motions have been run; may end the run there.
    pub watch: Option<&'a Watch<'a>>,
}

/// Somebody who waits for a run: is told how many motions have been run, and ends it by what it gives back.
pub type Watch<'w> = dyn Fn(usize) -> ControlFlow<()> + 'w;

impl<'a> Work<'a> {
    /// These motions and cuts, without keeping motions.
    #[must_use]
    pub const fn new(motions: &'a Motions, list: &'a CutList) -> Self {
        Self { motions, list, keep_motions: false, watch: None }
    }
}

impl std::fmt::Debug for Work<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Work").field("motions", &self.motions.motions().len()).finish_non_exhaustive()
    }
}

/// Table, source, air and torch together. Several programs can be run on it one after the other: what ails it, the air
/// in the receiver, the heat of the source and where the plate lies stay from one run to the next.
#[derive(Clone, Debug)]
pub struct Cell {
    pub(crate) facts: CellFacts,
    pub(crate) random: Random,
    /// Whether the plant's own limits trip the source: pressure, duty cycle, a set that is not the process's.
    pub(crate) trips: bool,
    pub(crate) now_s: f64,
    pub(crate) starts: u32,
    pub(crate) pending: Vec<Fault>,
    pub(crate) ails: Vec<Trouble>,
    /// From where the control believes the torch to be to where it is on the plate.
    pub(crate) lies: Placement<Program, Program>,
    pub(crate) high_mm: f64,
    pub(crate) source: Source,
    pub(crate) control: Control,
    pub(crate) start_command: bool,
    pub(crate) dry_cuts: u32,
    pub(crate) groove_mm: f64,
    pub(crate) blown_mm: Option<f64>,
    pub(crate) stays_on_mm: Option<f64>,
    pub(crate) misreports: Option<(f64, i32)>,
    pub(crate) receiver: Option<Receiver>,
    pub(crate) burns: Vec<Burn>,
}

impl Cell {
    /// A cell at rest: source on, receiver at its cut-in (the least it can stand at), nothing amiss yet. `faults` strike
    /// when they are due.
    #[must_use]
    pub fn new(facts: CellFacts, seed: u64, faults: &[Fault]) -> Self {
        let receiver = facts.plant.map(|plant| plant.receiver_at(plant.cut_in_bar));
        Self {
            facts,
            random: Random::new(seed),
            trips: true,
            now_s: 0.0,
            starts: 0,
            pending: faults.to_vec(),
            ails: Vec::new(),
            lies: Placement::IDENTITY,
            high_mm: 0.0,
            source: Source::Ready,
            control: Control::AtRest,
            start_command: false,
            dry_cuts: 0,
            groove_mm: 0.0,
            blown_mm: None,
            stays_on_mm: None,
            misreports: None,
            receiver,
            burns: Vec::new(),
        }
    }

    /// The cell with a plant that never trips: the forecast runs on, and says where the plant falls short.
    #[must_use]
    pub const fn that_never_trips(mut self) -> Self {
        self.trips = false;
        self
    }

    /// Runs a program from its beginning until it ends or `operator` ends it. The same cell, work, metal and acts give
    /// the same log, bit for bit. Takes time in proportion to the program, if no one stops it.
    pub fn run(&mut self, work: &Work<'_>, metal: &mut dyn Metal, operator: &mut dyn Operator) -> Log {
        Running::new(self, *work, metal, operator).run()
    }

    /// Does things at a cell that stands, as it was left by [`Act::Leave`]: start command, source and control are as they
    /// were. Acts that let a program go on do nothing.
    pub fn attend(&mut self, work: &Work<'_>, metal: &mut dyn Metal, acts: &[Act]) -> Log {
        Running::new(self, *work, metal, &mut crate::operator::Nobody).attend(acts)
    }

    /// The facts it stands on.
    #[must_use]
    pub const fn facts(&self) -> &CellFacts {
        &self.facts
    }

    /// The time on its clock, in seconds.
    #[must_use]
    pub const fn now_s(&self) -> f64 {
        self.now_s
    }

    /// How many starts there have been.
    #[must_use]
    pub const fn starts(&self) -> u32 {
        self.starts
    }

    /// What ails it now.
    #[must_use]
    pub fn ails(&self) -> &[Trouble] {
        &self.ails
    }

    /// Where the torch really is on the plate for where the control believes it to be.
    #[must_use]
    pub const fn lies(&self) -> &Placement<Program, Program> {
        &self.lies
    }

    /// Puts right where the control believes the torch to be: homed, datum set anew, or a program written for where the
    /// plate lies.
    pub const fn set_lies(&mut self, lies: Placement<Program, Program>) {
        self.lies = lies;
    }

    /// More faults for what is still to come.
    pub fn add_faults(&mut self, faults: &[Fault]) {
        self.pending.extend_from_slice(faults);
    }

    /// Takes back what has not struck yet, and what has struck and had nothing to act on.
    pub fn forget_faults(&mut self) {
        self.pending.clear();
        (self.dry_cuts, self.groove_mm, self.blown_mm, self.stays_on_mm) = (0, 0.0, None, None);
        (self.high_mm, self.misreports) = (0.0, None);
    }

    /// By how much the kerf is wider than it should be, in millimetres on either side.
    pub(crate) fn wider_mm(&self) -> f64 {
        let wide = |ail: &Trouble| if let Trouble::CutsWide { by_mm } = ail { Some(*by_mm) } else { None };
        self.ails.iter().filter_map(wide).fold(0.0, f64::max)
    }

    /// Mends every trouble of this kind that lasts.
    pub fn mend(&mut self, trouble: Trouble) {
        let kind = std::mem::discriminant(&trouble);
        self.ails.retain(|ail| std::mem::discriminant(ail) != kind);
        if matches!(trouble, Trouble::SourceOff) && self.source == Source::Off {
            self.source = Source::Ready;
        }
    }

    /// The air plant as it is now, with what ails it; none if it is not told.
    pub(crate) fn plant_now(&self) -> Option<AirPlant> {
        let mut plant = self.facts.plant?;
        for ail in &self.ails {
            match ail {
                Trouble::AirFalling => plant.delivery_l_per_min = 0.0,
                Trouble::HoseKinked { loss } => plant.hose_m *= loss.max(1.0),
                _ => {}
            }
        }
        Some(plant)
    }

    /// Whether air is short whatever is drawn: none arrives, or it falls and nobody has told from how much.
    pub(crate) fn no_air(&self) -> bool {
        self.ails.iter().any(|ail| match ail {
            Trouble::NoAir => true,
            Trouble::AirFalling | Trouble::HoseKinked { .. } => {
                self.facts.plant.is_none() || self.facts.pressure_min_bar.is_none()
            }
            _ => false,
        })
    }

    /// How the latched fault `code` clears.
    pub(crate) const fn clears_by(&self, code: Code) -> shop::ClearsBy {
        match code {
            Code::Air => self.facts.clears.air,
            Code::NoTransfer => self.facts.clears.no_transfer,
            Code::Hot => self.facts.clears.hot,
            Code::Stood => self.facts.clears.stood,
        }
    }
}
