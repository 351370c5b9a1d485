//! A program on its plate, with everything derived from it.

use cuts::{CutList, PlateIndex, Reading};
use nc::{Dialect, Motions, Program, Start};
use nests::{Hand, Nest};
use proof::Ground;
use rescue::{Earlier, NoSuchStop, RescuePlan, Situation};
use shop::{Job, Shop, StopKind, StopReport, Thresholds};
use units::Length;

/// A program on its plate.
pub(crate) struct Table {
    pub(crate) program: Program,
    pub(crate) dialect: Dialect,
    pub(crate) motions: Motions,
    pub(crate) list: CutList,
    pub(crate) index: PlateIndex,
    pub(crate) job: Job,
    pub(crate) ground: Ground,
    pub(crate) shop: Option<Shop>,
    pub(crate) earlier: Option<Earlier>,
}

impl Table {
    /// The program `text` on plate of this thickness, cut with this kerf; nothing else is told.
    pub(crate) fn new(text: &[u8], dialect: Dialect, kerf_mm: f64, thickness_mm: f64) -> Self {
        let (program, _) = Program::parse(text, &dialect);
        let (motions, _) = Motions::run(&program, &dialect, &Start::usual(&dialect));
        let kerf = Length::from_mm(kerf_mm);
        let (list, _) = CutList::build(&program, &motions, &Reading::with_kerf(kerf));
        let index = PlateIndex::new(&list);
        let thickness = Length::from_mm(thickness_mm);
        let ground = Ground {
            kerf,
            crater_radius: None,
            thickness,
            safe_height: None,
            travel: None,
            plate: None,
            surely_plate: None,
            edges: None,
            plate_holes: Vec::new(),
            clamps: Vec::new(),
            thresholds: Thresholds::default(),
        };
        let job = Job { thickness: Some(thickness), ..Job::default() };
        Self { program, dialect, motions, list, index, job, ground, shop: None, earlier: None }
    }

    /// `nest` as this hand writes it.
    pub(crate) fn of(hand: &Hand, nest: &Nest) -> Self {
        let dialect = hand.dialect_for(nest);
        let text = nests::write(nest, &hand.manner, &dialect);
        Self::new(text.as_bytes(), dialect, nest.cuts[0].cutting.kerf_mm, nest.thickness_mm)
    }

    pub(crate) fn situation(&self) -> Situation<'_> {
        Situation {
            program: &self.program,
            dialect: &self.dialect,
            motions: &self.motions,
            list: &self.list,
            index: &self.index,
            shop: self.shop.as_ref(),
            job: &self.job,
            earlier: self.earlier.as_ref(),
            ground: &self.ground,
            pose: None,
            told_in: None,
            watch: None,
        }
    }

    /// The plan after this stop.
    pub(crate) fn plan(&self, stop: &StopReport) -> Result<RescuePlan, NoSuchStop> {
        rescue::plan(&self.situation(), stop)
    }

    /// The plan after a start of this cut that did not transfer.
    pub(crate) fn misfire(&self, cut: u32) -> RescuePlan {
        self.plan(&misfire(cut)).unwrap_or_else(|none| panic!("{}", none.message))
    }
}

/// A report of a start of this cut that did not transfer.
pub(crate) fn misfire(cut: u32) -> StopReport {
    StopReport { kind: Some(StopKind::NoTransfer), cut: Some(cut), ..StopReport::default() }
}
