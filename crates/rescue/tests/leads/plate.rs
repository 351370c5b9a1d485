//! A nest on its plate, stopped in mid-cut.

use cuts::{CutId, CutList, Depth, Ends, Made, PlateIndex, PlateState, Progress, Reading};
use geometry::{Contour, Point, Program};
use nests::{Hand, Nest};
use proof::Ground;
use rescue::lead::Site;
use shop::Thresholds;
use std::ops::Range;
use units::Length;

/// A nest on its plate.
pub(crate) struct Plate {
    pub(crate) list: CutList,
    pub(crate) index: PlateIndex,
    pub(crate) ground: Ground,
}

/// A cut interrupted at a place known within so much.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stop {
    pub(crate) cut: CutId,
    pub(crate) through_mm: f64,
    pub(crate) within_mm: f64,
}

impl Plate {
    pub(crate) fn of(nest: &Nest) -> Self {
        let hand = Hand::metric_probing();
        let dialect = hand.dialect_for(nest);
        let text = nests::write(nest, &hand.manner, &dialect);
        let mut plate =
            Self::read(text.as_bytes(), &dialect, nest.cuts[0].cutting.kerf_mm, nest.thickness_mm);
        plate.ground.plate = rectangle([0.0, 0.0], nest.plate_mm);
        plate
    }

    /// The program `text` on plate of this thickness without an outline, cut with this kerf.
    pub(crate) fn read(text: &[u8], dialect: &nc::Dialect, kerf_mm: f64, thickness_mm: f64) -> Self {
        let (program, _) = nc::Program::parse(text, dialect);
        let (motions, _) = nc::Motions::run(&program, dialect, &nc::Start::usual(dialect));
        let kerf = Length::from_mm(kerf_mm);
        let reading = Reading { mark_processes: vec![9], ..Reading::with_kerf(kerf) };
        let (list, _) = CutList::build(&program, &motions, &reading);
        let ground = Ground {
            kerf,
            crater_radius: None,
            thickness: Length::from_mm(thickness_mm),
            safe_height: None,
            travel: None,
            plate: None,
            surely_plate: None,
            edges: None,
            plate_holes: Vec::new(),
            clamps: Vec::new(),
            thresholds: Thresholds::default(),
        };
        Self { index: PlateIndex::new(&list), list, ground }
    }

    /// The plate after all cuts before the stop's are made whole and that one up to the stop.
    pub(crate) fn after(&self, stop: &Stop) -> PlateState {
        let mut progress = Progress::before(&self.list, stop.cut);
        progress.made.push(Made {
            cut: stop.cut,
            along_mm: 0.0..stop.through_mm,
            depth: Depth::Through,
            ends: Ends::to_within(stop.within_mm),
        });
        PlateState::after(&self.list, progress, self.ground.kerf)
    }

    pub(crate) fn site<'a>(&'a self, state: &'a PlateState) -> Site<'a> {
        Site {
            list: &self.list,
            index: &self.index,
            state,
            ground: &self.ground,
            spare_mm: 0.0,
            touches_where_lit: false,
            before: &[],
        }
    }

    /// Stops in mid-cut at these shares of each cut's length, known within 3 mm; marks left out.
    pub(crate) fn stops(&self, shares: &[f64]) -> Vec<Stop> {
        let cuts = self.list.cuts.iter().filter(|cut| !cut.is_mark);
        let at = |share: f64, cut: &cuts::Cut| Stop {
            cut: cut.id,
            through_mm: cut.path.length_mm() * share,
            within_mm: 3.0,
        };
        cuts.flat_map(|cut| shares.iter().map(|share| at(*share, cut))).collect()
    }
}

impl Stop {
    /// Where a lead may meet the cut: surely in old kerf, and not farther from its end than the arc lives along it.
    pub(crate) fn window_mm(&self, plate: &Plate) -> Range<f64> {
        let lives = plate.ground.thresholds.kerf_along.mm() - MERGING_MM;
        self.through_mm + self.within_mm - lives..self.through_mm - self.within_mm
    }
}

/// Length of a lead's end that runs wholly in old kerf, in millimetres, at most of the arcs.
const MERGING_MM: f64 = 0.8;

pub(crate) fn rectangle(from: [f64; 2], to: [f64; 2]) -> Option<Contour<Program>> {
    let corners = [from, [to[0], from[1]], to, [from[0], to[1]]].map(|[x, y]| Point::new(x, y));
    Contour::polygon(&corners)
}
