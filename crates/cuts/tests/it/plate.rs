//! What has been made of a plate, what is loose on it, and what lies at a place.

use crate::account::{KERF, Read, read};
use cuts::{
    ContourId, CutId, Depth, Ends, Ground, Lies, Made, PieceKind, PlateIndex, PlateState, Progress, Said,
};
use geometry::{Curve, Point, Program};
use units::{Duration, Length};

/// A ring (hole of 40 mm, outline of 100 mm about X50 Y50), with a disc of 20 mm cut inside its hole first, and a
/// square beside it. Cuts: 1 disc, 2 hole, 3 ring, 4 square.
const RING: &str = "G21 G90 F2000\nG0 X62 Y50\nM3\nG1 X60\nG2 I-10\nM5\nG0 X65 Y50\nM3\nG1 X70\nG3 I-20\nM5\nG0 X105 Y50\nM3\nG1 X100\nG2 I-50\nM5\nG0 X115 Y0\nM3\nG1 X120\nX180\nY60\nX120\nY0\nM5\nM30\n";

struct Plate {
    read: Read,
    index: PlateIndex,
}

impl Plate {
    fn new(text: &str) -> Self {
        let read = read(text);
        let index = PlateIndex::new(&read.list);
        Self { read, index }
    }

    fn after(&self, progress: Progress) -> PlateState {
        PlateState::after(&self.read.list, progress, KERF)
    }

    fn before(&self, number: u32) -> PlateState {
        self.after(Progress::before(&self.read.list, CutId(number - 1)))
    }

    fn ground(&self, state: &PlateState, x: f64, y: f64) -> Ground {
        state.ground_at(&self.read.list, &self.index, Point::new(x, y), Length::from_mm(2.0))
    }
}

fn kinds(state: &PlateState) -> Vec<PieceKind> {
    state.loose().iter().map(|piece| piece.kind).collect()
}

#[test]
fn pieces_come_loose_in_order() {
    let plate = Plate::new(RING);
    let list = &plate.read.list;
    let [disc, ring] = [0, 1].map(|part| PieceKind::Part(cuts::PartId(part)));
    assert_eq!(kinds(&plate.before(1)), []);
    assert_eq!(kinds(&plate.before(2)), [disc]);
    assert_eq!(kinds(&plate.before(3)), [disc, PieceKind::Slug(ContourId(1))]);
    assert_eq!(kinds(&plate.before(4)), [disc, PieceKind::Slug(ContourId(1)), ring]);
    assert_eq!(list.part(cuts::PartId(1)).holes, [ContourId(1)]);
    assert_eq!(list.contour(ContourId(0)).depth, 2);
}

#[test]
fn a_part_is_held_until_its_contour_is_through_all_the_way() {
    let plate = Plate::new(RING);
    let list = &plate.read.list;
    let ring = CutId(2);
    let whole = list.cut(ring).path.length_mm();
    let mut state = plate.before(3);
    let made = |from, to, depth| Made { cut: ring, along_mm: from..to, depth, ends: Ends::KNOWN };
    assert_eq!(state.make(list, made(0.0, 100.0, Depth::Through)), []);
    assert_eq!(state.make(list, made(100.0, whole, Depth::Groove)), [], "a groove holds it");
    assert_eq!(state.left_mm(list, ring, Depth::Through), [100.0..whole]);
    assert_eq!(state.left_mm(list, ring, Depth::Groove), []);
    assert_eq!(state.make(list, made(150.0, whole, Depth::Through)), []);
    assert!(!state.is_whole(list, ring));
    let freed = state.make(list, made(99.0, 151.0, Depth::Through)).to_vec();
    assert_eq!(freed.len(), 1);
    assert_eq!(freed[0].freed_by, ring);
    assert!(state.is_whole(list, ring));
    assert!(state.is_free(list, cuts::PartId(1)));
    assert_eq!(state.made_mm(ring, Depth::Through), [0.0..whole]);
}

#[test]
fn a_kerf_whose_end_is_uncertain_is_a_void_as_far_as_it_may_reach_and_through_as_far_as_it_must() {
    let plate = Plate::new(RING);
    let list = &plate.read.list;
    let ring = CutId(2);
    let whole = list.cut(ring).path.length_mm();
    let up_to = |end: f64| {
        let ends = Ends::to_within(3.0);
        plate.after(Progress::of(vec![Made { cut: ring, along_mm: 0.0..end, depth: Depth::Through, ends }]))
    };
    let state = up_to(100.0);
    assert_eq!(state.made_mm(ring, Depth::Through), [0.0..97.0]);
    assert_eq!(state.made_mm(ring, Depth::Groove), [0.0..103.0]);
    assert_eq!(state.depth_at(ring, 102.0), Some(Depth::Groove));
    let state = up_to(whole - 1.0);
    assert_eq!(state.made_mm(ring, Depth::Groove), [0.0..whole]);
    assert!(!state.is_whole(list, ring) && state.loose().is_empty(), "nothing is built on what may be");
}

#[test]
fn the_lead_in_need_not_be_through_for_a_part_to_be_free() {
    let plate = Plate::new(RING);
    let list = &plate.read.list;
    let contour = list.contour(ContourId(2)).along_mm.clone();
    let progress = Progress::of(vec![Made::through(CutId(2), contour)]);
    assert_eq!(kinds(&plate.after(progress)), [PieceKind::Part(cuts::PartId(1))]);
}

#[test]
fn ground_at_each_kind_of_place() {
    let plate = Plate::new(RING);
    let state = plate.before(4);
    assert_eq!(plate.ground(&state, 150.0, 30.0), Ground::Metal);
    assert_eq!(plate.ground(&state, 50.0, 50.0), Ground::Loose(ContourId(0)));
    assert_eq!(plate.ground(&state, 50.0, 65.0), Ground::Loose(ContourId(1)));
    assert_eq!(plate.ground(&state, 50.0, 85.0), Ground::Loose(ContourId(2)));
    assert_eq!(plate.ground(&state, 100.5, 50.0), Ground::Kerf(CutId(2)));
    assert_eq!(plate.ground(&state, 102.5, 30.0), Ground::Metal);
    assert_eq!(
        plate.ground(&state, 50.0, 102.0),
        Ground::Kerf(CutId(2)),
        "the kerf reaches into the disc asked about"
    );
    assert_eq!(plate.ground(&state, 106.0, 53.0), Ground::Kerf(CutId(2)), "so does the crater of the pierce");
    assert_eq!(plate.ground(&plate.before(1), 50.0, 50.0), Ground::Metal);
    assert_eq!(plate.ground(&plate.before(2), 50.0, 85.0), Ground::Metal);
}

#[test]
fn the_operator_s_word_overrides() {
    let plate = Plate::new(RING);
    let said = |outline: u32, lies| Said { outline: ContourId(outline), lies };
    let state = plate.before(4).with_said(&plate.read.list, &[said(1, Lies::Fell), said(2, Lies::Flat)]);
    assert_eq!(plate.ground(&state, 50.0, 65.0), Ground::Void(ContourId(1)));
    assert_eq!(plate.ground(&state, 50.0, 50.0), Ground::Void(ContourId(1)), "what lay in it went with it");
    assert_eq!(plate.ground(&state, 50.0, 85.0), Ground::Loose(ContourId(2)));
    let state = state.with_said(&plate.read.list, &[said(0, Lies::Standing)]);
    assert_eq!(plate.ground(&state, 50.0, 50.0), Ground::Loose(ContourId(0)));
    let torn = plate.before(4).with_said(&plate.read.list, &[said(3, Lies::Removed)]);
    assert_eq!(plate.ground(&torn, 150.0, 30.0), Ground::Void(ContourId(3)), "loose because said so");
}

#[test]
fn beyond_the_plate() {
    let plate = Plate::new(RING);
    let corner = |x, y| Point::<Program>::new(x, y);
    let outline = [corner(-10.0, -10.0), corner(200.0, -10.0), corner(200.0, 120.0), corner(-10.0, 120.0)];
    let hole = [corner(185.0, 100.0), corner(195.0, 100.0), corner(195.0, 110.0), corner(185.0, 110.0)];
    let contour = |corners: &[_]| geometry::Contour::polygon(corners).expect("it has corners");
    let index = PlateIndex::new(&plate.read.list).on_plate(contour(&outline), vec![contour(&hole)]);
    let state = plate.before(1);
    let ground = |x, y| state.ground_at(&plate.read.list, &index, Point::new(x, y), Length::from_mm(2.0));
    assert_eq!(ground(100.0, 5.0), Ground::Metal);
    assert_eq!(ground(199.0, 5.0), Ground::OutsidePlate);
    assert_eq!(ground(190.0, 105.0), Ground::OutsidePlate);
    assert_eq!(ground(183.5, 105.0), Ground::OutsidePlate);
    assert_eq!(ground(182.5, 105.0), Ground::Metal);
}

#[test]
fn nearest_kerf_of_a_cut_made_in_part() {
    let plate = Plate::new(RING);
    let list = &plate.read.list;
    let square = CutId(3);
    let mut state = plate.before(4);
    for (along_mm, depth) in [(0.0..25.0, Depth::Through), (35.0..45.0, Depth::Groove)] {
        state.make(list, Made { cut: square, along_mm, depth, ends: Ends::KNOWN });
    }
    let near = |x: f64| state.nearest_kerf(list, &plate.index, Point::new(x, 3.0), Length::from_mm(8.0));
    let at = |x: f64| near(x).map(|kerf| (kerf.along_mm, kerf.depth, kerf.to_center.mm()));
    assert_eq!(at(130.0), Some((15.0, Depth::Through, 3.0)));
    assert_eq!(at(144.0), Some((25.0, Depth::Through, 5.0)));
    assert_eq!(at(155.0), Some((40.0, Depth::Groove, 3.0)));
    assert_eq!(at(170.0), None);
    let kerf = near(130.0).expect("as above");
    assert!((kerf.to_edge.mm() - 2.25).abs() < 1e-9);
    assert_eq!((kerf.cut, kerf.curve_number), (square, 1));
    assert_eq!(state.depth_at(square, 30.0), None);
    assert_eq!(state.depth_at(square, 45.0), Some(Depth::Groove));
}

#[test]
fn what_travel_passes_over() {
    let plate = Plate::new(RING);
    let list = &plate.read.list;
    let state = plate.before(4);
    let under = |state: &PlateState, from: (f64, f64), to: (f64, f64), margin: f64| {
        let curve = Curve::line(Point::new(from.0, from.1), Point::new(to.0, to.1));
        state.loose_under(list, &plate.index, &curve, Length::from_mm(margin))
    };
    let [disc, slug, ring] = [0, 1, 2].map(ContourId);
    assert_eq!(under(&state, (-20.0, 50.0), (200.0, 50.0), 0.0), [disc, slug, ring]);
    assert_eq!(under(&state, (-20.0, 85.0), (200.0, 85.0), 0.0), [ring]);
    assert_eq!(under(&state, (20.0, 40.0), (20.0, 60.0), 0.0), [ring], "all within it");
    assert_eq!(under(&state, (-20.0, 103.0), (200.0, 103.0), 1.0), []);
    assert_eq!(under(&state, (-20.0, 103.0), (200.0, 103.0), 4.0), [ring]);
    assert_eq!(under(&state, (110.0, 0.0), (200.0, 30.0), 0.0), []);
    let gone = state.with_said(list, &[Said { outline: ring, lies: Lies::Removed }]);
    assert_eq!(under(&gone, (-20.0, 85.0), (200.0, 85.0), 0.0), []);
}

#[test]
fn progress_by_cut_and_by_time() {
    let plate = Plate::new(RING);
    let list = &plate.read.list;
    assert!(Progress::whole(list).is_whole(list, CutId(3)));
    let within = Progress::within(list, CutId(2), Length::from_mm(40.0));
    assert!(within.is_whole(list, CutId(1)) && !within.is_whole(list, CutId(2)) && within.is_dry(CutId(3)));
    for cut in &list.cuts {
        for share in [0.1, 0.5, 0.9] {
            let along = cut.path.length_mm() * share;
            let by_time = Progress::by_time(list, cut.time_at(along));
            let made = by_time.made.last().expect("something is made");
            assert_eq!(made.cut, cut.id);
            assert!((made.along_mm.end - along).abs() < 1e-6, "{:?} for {along}", made.along_mm);
        }
    }
    assert_eq!(Progress::by_time(list, Duration::ZERO), Progress::default());
}

#[test]
fn a_shared_edge_frees_a_part_when_all_of_it_is_made() {
    let plate = Plate::new(
        "G21 G90 F2000\nG0 X-5 Y0\nM3\nG1 X100\nY100\nX0\nY0\nM5\nG0 X100.4 Y100\nM3\nG1 X200\nY0\nX100.5\nM5\nM30\n",
    );
    let list = &plate.read.list;
    let [first, second] = [0, 1].map(CutId);
    let whole = |cut| Made::whole(list.cut(cut));
    let mut state = plate.before(1);
    assert_eq!(state.make(list, whole(second)), [], "without its neighbour's edge it hangs on");
    let freed: Vec<PieceKind> = state.make(list, whole(first)).iter().map(|piece| piece.kind).collect();
    assert_eq!(freed, [PieceKind::Part(cuts::PartId(0)), PieceKind::Part(cuts::PartId(1))]);
    assert_eq!(list.cut(first).bounds, [ContourId(0), ContourId(1)]);
}

#[test]
fn areas_of_kerf_part_and_skeleton() {
    let plate = Plate::new(RING);
    let list = &plate.read.list;
    let close =
        |area: f64, expected: f64| assert!((area / expected - 1.0).abs() < 2e-3, "{area} for {expected}");
    let pi = std::f64::consts::PI;
    let tolerance = geometry::FLATTEN_MM;
    // The ring, each edge half a kerf in from its centre line.
    let ring = list.part_region(cuts::PartId(1), KERF, tolerance);
    close(ring.area_mm2(), pi * (49.25f64.powi(2) - 20.75f64.powi(2)));
    // Kerf of the disc: its circle and the lead-in beyond it.
    let kerf = list.kerf_of(CutId(0), KERF, tolerance).area_mm2();
    let circle = pi * (10.75f64.powi(2) - 9.25f64.powi(2));
    assert!(kerf > circle && kerf < circle + 2.0 * 1.5 + pi * 0.75f64.powi(2), "{kerf}");
    let state = plate.before(4);
    let corners =
        [(-10.0, -10.0), (200.0, -10.0), (200.0, 120.0), (-10.0, 120.0)].map(|(x, y)| Point::new(x, y));
    let outline = geometry::Contour::polygon(&corners).expect("it has corners");
    let skeleton = state.skeleton_region(list, &outline, tolerance).area_mm2();
    let gone = pi * 50.75f64.powi(2);
    let leads = 210.0 * 130.0 - gone - skeleton;
    assert!((3.0..8.0).contains(&leads), "only a lead-in is taken from the skeleton besides: {leads}");
    let made = state.kerf_region(list, None, tolerance).area_mm2();
    let here = geometry::Bounds { min: Point::new(115.0, -10.0), max: Point::new(200.0, 80.0) };
    assert!(made > 700.0 && state.kerf_region(list, Some(here), tolerance).is_empty());
}

#[test]
fn an_overlap_makes_good_what_was_not_cut_at_the_beginning() {
    let plate = Plate::new("G21 G90 F2000\nG0 X-5 Y0\nM3\nG1 X0\nX100\nY100\nX0\nY0\nX4\nM5\nM30\n");
    let list = &plate.read.list;
    let cut = list.cut(CutId(0));
    let [overlap] = cut.overlaps.as_slice() else { panic!("one overlap: {:?}", cut.overlaps) };
    assert_eq!((overlap.over, overlap.backwards), (CutId(0), false));
    let near = |a: f64, b: f64| assert!((a - b).abs() < 0.06, "{a} for {b}");
    near(overlap.along_mm.start, 405.0);
    near(overlap.over_mm.start, 5.0);
    near(overlap.over_mm.end, 9.0);
    let from = |from: f64| {
        let made = vec![Made::through(cut.id, from..cut.path.length_mm())];
        plate.after(Progress::of(made))
    };
    assert_eq!(kinds(&from(8.9)), [PieceKind::Part(cuts::PartId(0))], "parted by the overlap");
    assert_eq!(kinds(&from(10.0)), [], "a web of one millimetre is left between");
    assert!(!from(8.9).is_whole(list, cut.id), "it is free, and not all of its path is made");
}
