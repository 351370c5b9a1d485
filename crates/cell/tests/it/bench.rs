//! A small program on a told shop, and hands that act as they are told.

use cell::{Act, Cell, CellFacts, Event, Fault, Happening, Log, Metal, Operator, Plated, Stopped, Work};
use cuts::{CutList, PlateIndex, PlateState, Progress, Reading};
use nc::{Motions, Program, Start};
use shop::{Job, Shop};
use units::Length;

/// Width of the kerf.
pub(crate) const KERF: Length = Length::from_mm(1.5);

/// Three slits of 60 mm side by side, each with touch-off, pierce height, dwell and cut height.
pub(crate) const THREE: &str = "\
G21 G90 G17 G40
G0 Z20
G0 X10 Y10
G38.2 Z-50 F600
G92 Z0
G0 Z4
M3
G4 P0.5
G1 Z1.5 F1500
G1 X70 F2400
M5
G0 Z20
G0 X10 Y50
G38.2 Z-50 F600
G92 Z0
G0 Z4
M3
G4 P0.5
G1 Z1.5 F1500
G1 X70 F2400
M5
G0 Z20
G0 X10 Y90
G38.2 Z-50 F600
G92 Z0
G0 Z4
M3
G4 P0.5
G1 Z1.5 F1500
G1 X70 F2400
M5
G0 Z20
M30
";

/// A shop that tells everything a run makes use of; `awaits` as in its file.
pub(crate) fn shop(awaits: &str, more: &str) -> Shop {
    let text = format!(
        "[table]\nrapid = \"12 m/min\"\nrapid_z = \"3 m/min\"\nacceleration = \"500 mm/s2\"\n\
         path_tolerance = \"0.1 mm\"\nblocks_per_second = 200.0\nawaits_arc = \"{awaits}\"\n\
         [source]\nname = \"s\"\npressure_min = \"4.5 bar\"\npreflow = \"0.5 s\"\ntransfer_time = \"0.2 s\"\n\
         post_flow = \"4 s\"\n{more}\
         [[source.duty]]\nshare = 0.6\ncurrent = \"45 A\"\n\
         [[process]]\nname = \"p\"\nmaterial = \"mild-steel\"\ncurrent = \"45 A\"\n\
         [[process.chart]]\nthickness = \"6 mm\"\n\
         cut = {{ height = \"1.5 mm\", volts = \"110 V\", speed = \"2400 mm/min\", kerf = \"1.5 mm\" }}\n\
         [fitted]\nprocess = \"p\"\nstarts = 10\nlife_starts = 400\n\
         [air]\ndelivery = \"300 l/min\"\nreceiver = \"200 l\"\ncut_in = \"7 bar\"\ncut_out = \"9 bar\"\n\
         regulator = \"6 bar\"\nhose_length = \"10 m\"\nhose_bore = \"10 mm\"\naltitude = \"0 m\"\n\
         torch_flow = \"180 l/min\"\n"
    );
    let (shop, findings) = Shop::parse(&text);
    assert_eq!(findings, vec![], "{text}");
    shop
}

pub(crate) fn job() -> Job {
    let (job, findings) = Job::parse("material = \"mild-steel\"\nthickness = \"6 mm\"\nprocess = \"p\"\n");
    assert_eq!(findings, vec![]);
    job
}

/// A program, read.
pub(crate) struct Read {
    pub(crate) motions: Motions,
    pub(crate) list: CutList,
    pub(crate) index: PlateIndex,
}

impl Read {
    pub(crate) fn of(text: &str, dialect: &nc::Dialect) -> Self {
        let (program, _) = Program::parse(text.as_bytes(), dialect);
        let (motions, _) = Motions::run(&program, dialect, &Start::usual(dialect));
        let (list, _) = CutList::build(&program, &motions, &Reading::with_kerf(KERF));
        let index = PlateIndex::new(&list);
        Self { motions, list, index }
    }

    pub(crate) fn three() -> Self {
        Self::of(THREE, &nc::Dialect::common())
    }

    pub(crate) fn plate(&self) -> Plated<'_> {
        Plated::new(&self.list, &self.index, PlateState::after(&self.list, Progress::default(), KERF), 5.0)
    }

    /// Runs it on a new cell and a new plate.
    pub(crate) fn run(&self, shop: &Shop, faults: &[Fault], hands: &mut dyn Operator) -> (Cell, Log) {
        self.run_on(shop, faults, hands, &mut self.plate())
    }

    pub(crate) fn run_on(
        &self,
        shop: &Shop,
        faults: &[Fault],
        hands: &mut dyn Operator,
        metal: &mut dyn Metal,
    ) -> (Cell, Log) {
        let mut cell = Cell::new(CellFacts::of(shop, &job()), 1, faults);
        let work = Work { keep_motions: true, ..Work::new(&self.motions, &self.list) };
        let log = cell.run(&work, metal, hands);
        holds(&log, &self.list);
        (cell, log)
    }
}

/// What holds of every log: times do not fall, spells follow one another without gaps and make up the whole, and what
/// is burnt lies on the cuts.
pub(crate) fn holds(log: &Log, list: &CutList) {
    assert!(log.events.windows(2).all(|pair| pair[0].at_s <= pair[1].at_s), "events are in order");
    let mut at_s = log.from_s;
    for spell in &log.spells {
        assert!(
            (spell.from_s - at_s).abs() < 1e-9 && spell.to_s >= spell.from_s,
            "{spell:?} begins at {at_s}"
        );
        at_s = spell.to_s;
    }
    assert!((at_s - log.to_s).abs() < 1e-9, "the spells are the whole: {at_s} of {}", log.to_s);
    assert!(log.gas.windows(2).all(|pair| pair[0].to_s <= pair[1].from_s + 1e-9), "gas does not overlap");
    for burnt in &log.burnt {
        let length = list.cut(burnt.cut).path.length_mm();
        assert!(
            burnt.along_mm.start >= -1e-6 && burnt.along_mm.end <= length + 1e-6,
            "{burnt:?} of {length}"
        );
    }
}

/// Hands that do a list of things at each stop, one after the other, and then end the program.
pub(crate) struct Hands {
    acts: Vec<Act>,
    done: usize,
    /// What they were asked.
    pub(crate) asked: Vec<Stopped>,
}

impl Hands {
    pub(crate) fn doing(acts: &[Act]) -> Self {
        Self { acts: acts.to_vec(), done: 0, asked: Vec::new() }
    }
}

impl Operator for Hands {
    fn acts(&mut self, stopped: &Stopped, _: &Log) -> Act {
        self.asked.push(*stopped);
        self.done += 1;
        self.acts.get(self.done - 1).copied().unwrap_or(Act::End)
    }
}

pub(crate) fn has(log: &Log, wanted: impl Fn(&Happening) -> bool) -> bool {
    log.events.iter().any(|event: &Event| wanted(&event.what))
}
