//! What follows from the facts and several rules want: plate and table in program coordinates, the process of a cut.

use crate::{Facts, Watch};
use cuts::{Cut, Ground, Made, NearKerf, PlateState, Progress, Shape};
use finding::Place;
use geometry::{Bounds, Point, Program};
use shop::{PlacedPlate, ProcessOf, Shop};
use std::borrow::Cow;
use std::cell::{Cell, OnceCell};
use std::ops::ControlFlow;
use units::Length;

/// The facts, and what follows from them.
pub(crate) struct Context<'a> {
    /// The facts as told.
    pub facts: &'a Facts<'a>,
    /// The shop; one that has told nothing if there is none.
    pub shop: Cow<'a, Shop>,
    /// The plate in program coordinates.
    pub plate: Option<PlacedPlate>,
    /// What the torch can reach, in program coordinates.
    pub reach: Option<Bounds<Program>>,
    pierces: OnceCell<Vec<UnderPierce>>,
    watch: Option<&'a Watch<'a>>,
    called_off: Cell<bool>,
}

impl<'a> Context<'a> {
    pub(crate) fn new(facts: &'a Facts<'a>, watch: Option<&'a Watch<'a>>) -> Self {
        let shop = facts.shop.map_or_else(|| Cow::Owned(Shop::unknown()), Cow::Borrowed);
        let (plate, reach) = (facts.job.placed_plate(), shop.reach(facts.job));
        let (pierces, called_off) = (OnceCell::new(), Cell::new(false));
        Self { facts, shop, plate, reach, pierces, watch, called_off }
    }

    /// Tells whoever waits how many of how many are through, of what. A rule that loops over much with much to do breaks
    /// off where this does; what it has found by then counts for nothing.
    pub(crate) fn tell(&self, done: usize, of: usize, of_what: &'static str) -> ControlFlow<()> {
        let flow = self.watch.map_or(ControlFlow::Continue(()), |watch| watch(done, of, of_what));
        if flow.is_break() {
            self.called_off.set(true);
        }
        flow
    }

    /// Whether it has not been called off.
    pub(crate) fn is_waited_for(&self) -> bool {
        !self.called_off.get()
    }

    /// The process that `cut` runs with: as the program chooses it, else as the job names it, else the only one that
    /// fits what is fitted.
    pub(crate) fn process_of(&self, cut: &Cut) -> ProcessOf<'_> {
        self.shop.process_of(self.facts.job, cut.process)
    }

    /// Whether it is known for some cut which process it runs with.
    pub(crate) fn is_process_told(&self) -> bool {
        let mut numbers: Vec<_> = self.facts.list.cuts.iter().collect();
        numbers.dedup_by_key(|cut| cut.process);
        self.shop.process_of(self.facts.job, None) != ProcessOf::Untold
            || numbers.iter().any(|cut| self.process_of(cut) != ProcessOf::Untold)
    }

    /// Whether `cut` marks instead of cutting through.
    pub(crate) fn marks(&self, cut: &Cut) -> bool {
        let mut shapes = cut.contours.iter().map(|id| self.facts.list.contour(*id).shape);
        let all_marks = !cut.contours.is_empty() && shapes.all(|shape| shape == Shape::Mark);
        all_marks || matches!(self.process_of(cut), ProcessOf::Known(process) if process.marks)
    }
}

/// A point of the plate for a finding.
pub(crate) fn place(p: Point<Program>) -> Place {
    Place { x: Length::from_mm(p.x), y: Length::from_mm(p.y) }
}

/// What lies under a pierce when it is made.
#[derive(Clone, Copy, Debug)]
pub(crate) struct UnderPierce {
    /// What lies under the torch itself.
    pub ground: Ground,
    /// The kerf nearest to it that is there by then, if its edge lies within a kerf's width.
    pub kerf: Option<NearKerf>,
}

impl Context<'_> {
    /// What lies under the pierce of each cut when it is made, in the order of the cuts. Worked out once.
    pub(crate) fn pierces(&self) -> &[UnderPierce] {
        self.pierces.get_or_init(|| {
            let facts = self.facts;
            let mut state = PlateState::after(facts.list, Progress::default(), facts.kerf);
            let under = |cut: &Cut| {
                let at = cut.pierce.at;
                let under = UnderPierce {
                    ground: state.ground_at(facts.list, facts.index, at, Length::ZERO),
                    kerf: state.nearest_kerf(facts.list, facts.index, at, facts.kerf * 1.5),
                };
                if !self.marks(cut) {
                    state.make(facts.list, whole(cut));
                }
                under
            };
            facts.list.cuts.iter().map(under).collect()
        })
    }
}

/// All of a cut, through.
pub(crate) fn whole(cut: &Cut) -> Made {
    Made::through(cut.id, 0.0..cut.path.length_mm())
}
