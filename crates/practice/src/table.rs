//! The table under practice: the cell and, under its torch, the plate.

use crate::bed::{Bears, Bed, Deeds, Hurt, Plate};
use crate::setting::Setting;
use crate::ways::Loaded;
use cell::{
    Act, Cell, Code, Fault, Happening, Log, Onlooker, Random, Sound, Source, Stopped, StoppedBy, Trouble,
    When, Work,
};
use cuts::{ContourId, CutId};
use geometry::{Point, Program};
use shop::{ClearsBy, Feature, Measured, PieceIs, PlateSide, SightedBy, Strikes};
use units::Length;

/// How a program stopped.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Halt {
    pub(crate) by: StoppedBy,
    /// The plate's own cut.
    pub(crate) cut: CutId,
    /// Where the control shows the torch.
    pub(crate) at: Point<Program>,
    /// The line at which the program stands, if it is the original.
    pub(crate) line: Option<u32>,
    /// Whether a hole was blown at its pierce.
    pub(crate) blown: bool,
    /// What struck last, if that says more than how it stopped.
    pub(crate) struck: Option<Strikes>,
}

/// What a run came to.
#[derive(Clone, Debug)]
pub(crate) struct Ran {
    /// How it stopped; none if it ran to its end.
    pub(crate) halt: Option<Halt>,
    pub(crate) deeds: Deeds,
    /// What struck, in order.
    pub(crate) log_struck: Vec<Trouble>,
}

/// The table.
#[derive(Debug)]
pub(crate) struct Table<'s> {
    setting: &'s Setting,
    pub(crate) cell: Cell,
    pub(crate) plate: Plate,
    /// The program that is run; the original if none.
    pub(crate) loaded: Option<Loaded>,
    /// Whether it is one of those begun by hand.
    pub(crate) plain: bool,
    original: Vec<CutId>,
    /// The source, as its lights show it.
    pub(crate) source: Source,
    start_command: bool,
    gas_until_s: f64,
    random: Random,
}

impl<'s> Table<'s> {
    /// The table before the program.
    pub(crate) fn new(setting: &'s Setting, seed: u64) -> Self {
        let list = &setting.reading.list;
        Self {
            setting,
            cell: Cell::new(setting.facts.clone(), seed, &[]).that_never_trips(),
            plate: Plate::new(list, setting.reading.kerf.width),
            loaded: None,
            plain: false,
            original: list.cuts.iter().map(|cut| cut.id).collect(),
            source: Source::Ready,
            start_command: false,
            gas_until_s: 0.0,
            random: Random::new(seed ^ 0x9_7AC7),
        }
    }

    fn bears(&self) -> Bears {
        let shop = self.setting.inputs.shop.as_ref();
        let thresholds = shop.map(|shop| shop.thresholds.clone()).unwrap_or_default();
        Bears {
            void_along_mm: thresholds.void_along.mm(),
            kerf_along_mm: thresholds.kerf_along.mm(),
            tolerance_mm: self.setting.tolerance_mm(),
        }
    }

    /// Runs what is loaded until it ends or stops.
    pub(crate) fn run(&mut self) -> Ran {
        let reading = &self.setting.reading;
        let loaded = self.loaded.take();
        let (motions, list, of) = match &loaded {
            Some(loaded) => (&loaded.motions, &loaded.list, loaded.of.as_slice()),
            None => (&reading.motions, &reading.list, self.original.as_slice()),
        };
        let laid = std::mem::replace(&mut self.plate, Plate::new(&reading.list, reading.kerf.width));
        let bears = self.bears();
        let mut bed = Bed::lay(laid, (&reading.list, &reading.index), of, bears);
        let mut onlooker = Onlooker::default();
        let log = self.cell.run(&Work::new(motions, list), &mut bed, &mut onlooker);
        let (plate, deeds) = bed.lift();
        self.plate = plate;
        self.cell.forget_faults();
        let halt = onlooker.saw().map(|stopped| self.halt(stopped, &log, of, loaded.is_none()));
        self.follow(&log);
        let struck = |event: &cell::Event| match event.what {
            Happening::Strikes(what) => Some(what),
            _ => None,
        };
        let log_struck = log.events.iter().filter_map(struck).collect();
        self.loaded = loaded;
        Ran { halt, deeds, log_struck }
    }

    fn halt(&self, stopped: &Stopped, log: &Log, of: &[CutId], original: bool) -> Halt {
        let nth = stopped.cut.map_or(of.len(), |cut| cut.0 as usize).min(of.len().saturating_sub(1));
        let cut = of.get(nth).copied().unwrap_or(CutId(0));
        let reading = &self.setting.reading;
        let line = original.then(|| reading.program.line_of(reading.list.cut(cut).torch_on_span.start));
        let blown = log.events.iter().any(|event| matches!(event.what, Happening::HoleBlown { .. }));
        Halt { by: stopped.by, cut, at: stopped.at, line, blown, struck: None }
    }

    /// Follows what the cell says of source and start command, and how long gas flows on.
    fn follow(&mut self, log: &Log) {
        for event in &log.events {
            match event.what {
                Happening::Source(source) => self.source = source,
                Happening::StartCommand(given) => self.start_command = given,
                _ => {}
            }
        }
        let flowed =
            log.gas.last().is_some_and(|gas| (gas.to_s - log.to_s).abs() < 1e-9 || gas.to_s > log.to_s);
        if flowed {
            self.gas_until_s = log.to_s + self.setting.facts.post_flow_s;
        }
    }

    /// Does things at the table; says whether the torch fired unasked.
    pub(crate) fn attend(&mut self, acts: &[Act]) -> bool {
        let reading = &self.setting.reading;
        let log = self.cell.attend(&Work::new(&reading.motions, &reading.list), &mut Sound, acts);
        self.follow(&log);
        // What ails it shows at once.
        if self.cell.ails().iter().any(|ail| matches!(ail, Trouble::SourceOff)) {
            self.source = Source::Off;
        } else if acts.iter().any(|act| matches!(act, Act::Mend(Trouble::SourceOff)))
            && self.source == Source::Off
        {
            // Mended, it stands as the cell has it: on, unless somebody has isolated it.
            self.source = Source::Ready;
        }
        log.events.iter().any(|event| matches!(event.what, Happening::FiresUnasked))
    }

    /// Lets time go by.
    pub(crate) fn waits(&mut self, seconds: f64) {
        self.attend(&[Act::Wait(seconds)]);
    }

    /// Whether gas still flows at the torch.
    pub(crate) fn gas_flows(&self) -> bool {
        self.cell.now_s() < self.gas_until_s
    }

    /// Whether a start command stands.
    pub(crate) const fn cell_start_command(&self) -> bool {
        self.start_command
    }

    /// Whether hands at the torch would be in danger by the cell's own word.
    pub(crate) fn hands_in_danger(&mut self) -> bool {
        let reading = &self.setting.reading;
        let log = self.cell.attend(&Work::new(&reading.motions, &reading.list), &mut Sound, &[Act::HandsOn]);
        log.events.iter().any(|event| event.what == Happening::HandsInDanger)
    }

    /// How a code clears.
    pub(crate) const fn clears_by(&self, code: Code) -> ClearsBy {
        let clears = self.setting.facts.clears;
        match code {
            Code::Air => clears.air,
            Code::NoTransfer => clears.no_transfer,
            Code::Hot => clears.hot,
            Code::Stood => clears.stood,
        }
    }

    /// A torch that fired where it stands has burnt a hole.
    pub(crate) fn burns_hole(&mut self, at: Point<Program>) {
        let at = self.cell.lies().point(at);
        self.plate.burnt(&self.setting.reading.list, at, self.setting.tolerance_mm());
    }

    /// The torch is bent: its set is spoilt.
    pub(crate) fn bends_torch(&mut self) {
        let when = When::Time(self.cell.now_s());
        self.cell.add_faults(&[Fault { what: Trouble::ConsumablesWorn { fails: 1.0 }, when }]);
    }

    /// Where the torch stands on the plate when the control shows `at`.
    pub(crate) fn stands_at(&self, at: Point<Program>) -> Point<Program> {
        self.cell.lies().point(at)
    }

    /// A number within `most` of nothing, either way.
    pub(crate) fn noise(&mut self, most: f64) -> f64 {
        (2.0 * self.random.share() - 1.0) * most
    }

    /// Craters that the skeleton holds, in order of cutting: number of the cut, place.
    pub(crate) fn craters(&self) -> Vec<(u32, Point<Program>)> {
        let reading = &self.setting.reading;
        let state = &self.plate.state;
        let held = |at: Point<Program>| {
            let around = reading.index.around(&reading.list, at);
            around.iter().all(|contour| state.piece(*contour).is_none())
        };
        let craters = state.craters(&reading.list).filter(|crater| held(crater.at));
        craters.map(|crater| (crater.cut.0 + 1, crater.at)).collect()
    }

    /// Places of the plate sighted with a pointer, as far apart as can be.
    pub(crate) fn sighted(&mut self, most: usize, sigma_mm: f64) -> Vec<Measured> {
        let mut features: Vec<Sightable> = Vec::new();
        if let Some(plate) = self.setting.inputs.job.placed_plate()
            && let Some(bounds) = plate.outline.path().bounds()
            && plate.outline.path().curves().len() == CORNERS.len()
        {
            let corner = |(side, right, top): &(PlateSide, bool, bool)| {
                let x = if *right { bounds.max.x } else { bounds.min.x };
                let y = if *top { bounds.max.y } else { bounds.min.y };
                (Point::new(x, y), Feature::Corner, None, Some(*side))
            };
            features.extend(CORNERS.iter().map(corner));
        }
        features.extend(self.craters().into_iter().map(|(cut, at)| (at, Feature::Crater, Some(cut), None)));
        let places: Vec<Point<Program>> = features.iter().map(|(at, ..)| *at).collect();
        let chosen = far_apart(&places, most);
        chosen
            .into_iter()
            .map(|k| {
                let (plan, feature, cut, side) = features[k];
                let shown = self.cell.lies().inverse().point(plan);
                let found = [shown.x, shown.y].map(|value| Length::from_mm(value + self.noise(sigma_mm)));
                Measured {
                    feature,
                    cut,
                    side,
                    plan: None,
                    to: None,
                    found: vec![found],
                    lip: None,
                    by: Some(SightedBy::Pointer),
                    sigma: Some(Length::from_mm(sigma_mm)),
                }
            })
            .collect()
    }

    /// Pieces that stand up in the scenario once their fault has struck.
    pub(crate) fn stand_up(&mut self, restart: u32, halt: Option<&Halt>) {
        if halt.is_none_or(|halt| halt.by != StoppedBy::Struck) {
            return;
        }
        let list = &self.setting.reading.list;
        let faults = self.setting.scenario.faults.iter().filter(|fault| fault.restart <= restart);
        for number in faults.filter_map(|fault| fault.piece) {
            let freed = self.plate.state.loose().iter().filter(|piece| piece.freed_by.number() == number);
            let outlines: Vec<ContourId> = freed.map(|piece| piece.outline).collect();
            let new = outlines.into_iter().filter(|outline| list.contour(*outline).closed.is_some());
            for outline in new {
                if !self.plate.standing.contains(&outline) {
                    self.plate.standing.push(outline);
                }
            }
        }
    }

    /// Takes out what stands up.
    pub(crate) fn take_out(&mut self) {
        let standing = std::mem::take(&mut self.plate.standing);
        self.plate.removed.extend(standing);
    }

    /// Whether anything stands up.
    pub(crate) fn has_standing(&self) -> bool {
        !self.plate.standing.is_empty()
    }

    /// Pieces that somebody who looks at the plate tells of.
    pub(crate) fn pieces(&self) -> Vec<(u32, PieceIs)> {
        let of = |outlines: &[ContourId], is: PieceIs| -> Vec<(u32, PieceIs)> {
            let freed = outlines.iter().filter_map(|outline| self.plate.state.piece(*outline));
            freed.map(|piece| (piece.freed_by.number(), is)).collect()
        };
        let mut pieces = of(&self.plate.standing, PieceIs::Standing);
        pieces.extend(of(&self.plate.removed, PieceIs::Removed));
        pieces
    }

    /// Parts spoilt, with why, and parts not finished, by number.
    pub(crate) fn lost_parts(&self) -> (Vec<(u32, &'static str)>, Vec<u32>) {
        let list = &self.setting.reading.list;
        let state = &self.plate.state;
        let (mut spoilt, mut unfinished) = (Vec::new(), Vec::new());
        for part in &list.parts {
            let cut = |contour: &ContourId| {
                let contour = list.contour(*contour);
                state.piece(contour.repeats.unwrap_or(contour.id)).is_some()
                    || state.is_whole(list, contour.cut)
            };
            match self.plate.hurt[part.id.0 as usize] {
                Some(Hurt::Hole) => spoilt.push((part.id.number(), "a hole was burnt into it")),
                Some(Hurt::Cut) => spoilt.push((part.id.number(), "it was cut into")),
                None if ![part.outline].iter().chain(&part.holes).chain(&part.others).all(cut) => {
                    unfinished.push(part.id.number());
                }
                None => {}
            }
        }
        (spoilt, unfinished)
    }
}

/// Something that can be sighted: where the program has it, what it is, of which cut or which corner.
type Sightable = (Point<Program>, Feature, Option<u32>, Option<PlateSide>);

/// Corners of a rectangle: whether at its right, whether at its top.
const CORNERS: [(PlateSide, bool, bool); 4] = [
    (PlateSide::LowerLeft, false, false),
    (PlateSide::LowerRight, true, false),
    (PlateSide::UpperRight, true, true),
    (PlateSide::UpperLeft, false, true),
];

/// Up to `most` of the places by index, each next one as far from those before as can be.
fn far_apart(places: &[Point<Program>], most: usize) -> Vec<usize> {
    let mut chosen: Vec<usize> = (!places.is_empty()).then_some(0).into_iter().collect();
    while chosen.len() < most.min(places.len()) {
        let nearest = |k: usize| {
            chosen.iter().map(|other| places[k].distance(places[*other])).fold(f64::INFINITY, f64::min)
        };
        let Some(far) = (0..places.len()).max_by(|a, b| nearest(*a).total_cmp(&nearest(*b))) else { break };
        chosen.push(far);
    }
    chosen
}
