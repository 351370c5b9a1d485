//! Leads and touch-offs on random nests, each held against a plain look at every curve of the plate.

use super::{Site, fresh_leads, touch_off_place};
use cuts::{CutList, Depth, Ends, Made, PlateIndex, PlateState, Progress, Reading};
use geometry::Point;
use nests::{Hand, Nest};
use proof::Ground;
use shop::Thresholds;
use units::Length;

struct Plate {
    list: CutList,
    index: PlateIndex,
    ground: Ground,
}

impl Plate {
    fn of(nest: &Nest) -> Self {
        let hand = Hand::metric_probing();
        let dialect = hand.dialect_for(nest);
        let text = nests::write(nest, &hand.manner, &dialect);
        let (program, _) = nc::Program::parse(text.as_bytes(), &dialect);
        let (motions, _) = nc::Motions::run(&program, &dialect, &nc::Start::usual(&dialect));
        let kerf = Length::from_mm(nest.cuts[0].cutting.kerf_mm);
        let reading = Reading { mark_processes: vec![9], ..Reading::with_kerf(kerf) };
        let (list, _) = CutList::build(&program, &motions, &reading);
        let index = PlateIndex::new(&list);
        let [w, h] = nest.plate_mm;
        let corners = [[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]].map(|[x, y]| Point::new(x, y));
        let ground = Ground {
            kerf,
            crater_radius: None,
            thickness: Length::from_mm(nest.thickness_mm),
            safe_height: None,
            travel: None,
            plate: geometry::Contour::polygon(&corners),
            plate_holes: Vec::new(),
            clamps: Vec::new(),
            thresholds: Thresholds::default(),
        };
        Self { list, index, ground }
    }

    fn stopped(&self, cut: usize, through_mm: f64, within_mm: f64) -> PlateState {
        let mut progress = Progress::before(&self.list, self.list.cuts[cut].id);
        progress.made.push(Made {
            cut: self.list.cuts[cut].id,
            along_mm: 0.0..through_mm,
            depth: Depth::Through,
            ends: Ends::to_within(within_mm),
        });
        PlateState::after(&self.list, progress, self.ground.kerf)
    }

    fn site<'a>(&'a self, state: &'a PlateState) -> Site<'a> {
        Site { list: &self.list, index: &self.index, state, ground: &self.ground, spare_mm: 0.0 }
    }
}

/// Of all stops in mid-cut on random nests, most have a place for a touch-off beside the kerf's end and a lead into it.
#[test]
fn most_stops_in_mid_cut_have_a_lead_and_a_touch_off() {
    let (mut stops, mut with_lead, mut with_touch_off) = (0, 0, 0);
    for seed in 0..20 {
        let plate = Plate::of(&Nest::random(seed));
        for cut in plate.list.cuts.iter().filter(|cut| !cut.is_mark) {
            let through_mm = cut.path.length_mm() / 2.0;
            let state = plate.stopped(cut.id.0 as usize, through_mm, 3.0);
            let site = plate.site(&state);
            let leads = fresh_leads(&site, cut.id, through_mm - 4.2..through_mm - 3.0);
            let begin = cut.path.point_at(through_mm - 3.0).unwrap();
            stops += 1;
            with_lead += usize::from(!leads.is_empty());
            with_touch_off += usize::from(touch_off_place(&site, begin).is_some());
        }
    }
    assert!(
        stops > 50 && with_lead * 2 > stops && with_touch_off * 10 > stops * 9,
        "{stops} {with_lead} {with_touch_off}"
    );
}
