//! Single plates worked through.

use crate::plate::{Plate, rectangle};
use cuts::{CutId, Depth, Ends, Lies, Made, PlateState, Progress, Said, Stray};
use geometry::{Curve, Path, Point};
use rescue::lead::{Lead, fresh_leads, touch_off_place};
use shop::Clamp;
use units::Length;

/// A square of 100 mm, clockwise from the middle of its left side with a straight lead-in of 10 mm, then a disc of
/// 60 mm to its right, then a slit above both. Cuts: 1 square, 2 disc, 3 slit.
const TEXT: &str = "G21 G90 F2000\nG0 X90 Y150\nM3\nG4 P0.5\nG1 X100\nY200\nX200\nY100\nX100\nY153\nM5\nG0 X220 Y150\n\
                    M3\nG4 P0.5\nG1 X230\nG2 I30\nM5\nG0 X100 Y230\nM3\nG4 P0.5\nG1 X200\nM5\nM30\n";

/// Cut 1 begins its contour here and has its corners 50, 150, 250 and 350 mm farther on.
const LEAD_IN_MM: f64 = 10.0;

fn plate() -> Plate {
    let mut plate = Plate::read(TEXT.as_bytes(), &nc::Dialect::common(), 1.5, 6.0);
    plate.ground.plate = rectangle([0.0, 0.0], [400.0, 300.0]);
    plate
}

fn made(plate: &Plate, cut: u32, to_mm: f64, within_mm: f64) -> PlateState {
    let made = Made {
        cut: CutId(cut),
        along_mm: 0.0..to_mm,
        depth: Depth::Through,
        ends: Ends::to_within(within_mm),
    };
    let mut progress = Progress::before(&plate.list, CutId(cut));
    progress.made.push(made);
    PlateState::after(&plate.list, progress, plate.ground.kerf)
}

/// The best lead into cut 1 through to 100 mm after its contour's beginning.
fn lead_at_the_top(plate: &Plate, state: &PlateState) -> Option<Lead> {
    fresh_leads(&plate.site(state), CutId(0), LEAD_IN_MM + 95.0..LEAD_IN_MM + 97.0).into_iter().next()
}

#[test]
fn a_lead_comes_from_outside_an_outline_along_the_cut() {
    let plate = plate();
    let lead = lead_at_the_top(&plate, &made(&plate, 0, LEAD_IN_MM + 100.0, 3.0)).unwrap();
    assert!(lead.pierce.y > 205.0 && lead.pierce.x < 150.0, "{lead:?}");
    assert_eq!(lead.touch_off, lead.pierce);
    let usual = 6.0;
    assert!(
        (usual..2.0 * usual).contains(&lead.path.length_mm()),
        "as long as plate of 6 mm wants it: {lead:?}"
    );
    assert!(lead.from_mm > LEAD_IN_MM + 96.9, "as near to the kerf's end as the window allows");
}

#[test]
fn a_disc_is_led_into_from_outside_and_the_plate_s_edge_turns_the_lead() {
    let mut plate = plate();
    // The disc's path is about 260, 150; it is through to its right end.
    let through = 10.0 + std::f64::consts::PI * 30.0;
    let find = |plate: &Plate| {
        let state = made(plate, 1, through, 1.0);
        fresh_leads(&plate.site(&state), CutId(1), through - 2.0..through - 1.0).into_iter().next()
    };
    let lead = find(&plate).unwrap();
    assert!(lead.pierce.x > 290.0 && lead.pierce.y > 150.0, "{lead:?}");
    plate.ground.plate = rectangle([0.0, 0.0], [296.0, 300.0]);
    let beside = find(&plate).unwrap();
    assert!(beside.pierce.x < 294.5 && beside.pierce.y > lead.pierce.y, "{beside:?}");
    plate.ground.plate = rectangle([0.0, 0.0], [291.0, 300.0]);
    let above = find(&plate).unwrap();
    assert!(
        above.pierce.y > 165.0 && above.pierce.x < 289.0,
        "a millimetre of plate is left beside: {above:?}"
    );
}

#[test]
fn a_hole_blown_at_the_pierce_moves_the_pierce() {
    let plate = plate();
    let progress = Progress {
        strays: vec![Stray {
            at: Point::new(90.0, 150.0),
            crater_mm: 5.0,
            path: Path::new(Vec::new()),
            depth: Depth::Through,
        }],
        ..Progress::default()
    };
    let state = PlateState::after(&plate.list, progress, plate.ground.kerf);
    let leads = fresh_leads(&plate.site(&state), CutId(0), LEAD_IN_MM..LEAD_IN_MM);
    let lead = leads.first().unwrap();
    assert!(lead.pierce.distance(Point::new(90.0, 150.0)) > 5.0 + 1.5, "{lead:?}");
    assert!(lead.pierce.x < 100.0 && lead.pierce.y < 150.0, "up along the left side, from outside: {lead:?}");
}

#[test]
fn strays_are_voids() {
    let plate = plate();
    let free = made(&plate, 0, LEAD_IN_MM + 100.0, 3.0);
    let lead = lead_at_the_top(&plate, &free).unwrap();
    let across = Curve::line(Point::new(100.0, lead.pierce.y), Point::new(200.0, lead.pierce.y));
    let mut progress = free.progress().clone();
    progress.strays.push(Stray {
        at: across.from(),
        crater_mm: 1.5,
        path: Path::new(vec![across]),
        depth: Depth::Through,
    });
    let state = PlateState::after(&plate.list, progress, plate.ground.kerf);
    let other = lead_at_the_top(&plate, &state).unwrap();
    assert!((other.pierce.y - lead.pierce.y).abs() > 1.5 + 0.75, "{other:?}");
}

#[test]
fn clamps_and_slits_are_kept_off() {
    let mut plate = plate();
    let state = made(&plate, 0, LEAD_IN_MM + 100.0, 3.0);
    let mm = |x, y| [Length::from_mm(x), Length::from_mm(y)];
    plate.ground.clamps.push(Clamp {
        name: "left".into(),
        from: mm(100.0, 204.0),
        to: mm(170.0, 228.0),
        height: None,
    });
    assert_eq!(lead_at_the_top(&plate, &state), None, "a torch has no room beside the clamp");
    let slit = made(&plate, 2, 50.0, 3.0);
    assert_eq!(fresh_leads(&plate.site(&slit), CutId(2), 40.0..47.0), [], "a slit has no scrap side");
}

#[test]
fn what_may_be_loose_is_not_pierced() {
    // A hole of 60 mm in a square, led into from its middle.
    let text = "G21 G90 F2000\nG0 X50 Y50\nM3\nG4 P0.5\nG1 X80\nG3 I-30\nM5\nG0 X-10 Y50\nM3\nG4 P0.5\nG1 X0\nY100\n\
                X100\nY0\nX0\nY50\nM5\nM30\n";
    let plate = Plate::read(text.as_bytes(), &nc::Dialect::common(), 1.5, 6.0);
    let whole = plate.list.cut(CutId(0)).path.length_mm();
    let leads = |through: f64| {
        let state = made(&plate, 0, through, 3.0);
        fresh_leads(&plate.site(&state), CutId(0), through - 4.2..through - 3.0)
    };
    let half_way = leads(whole / 2.0);
    assert!(half_way.iter().all(|lead| lead.pierce.distance(Point::new(50.0, 50.0)) < 28.0), "{half_way:?}");
    assert!(!half_way.is_empty() && !leads(whole - 7.0).is_empty());
    assert_eq!(leads(whole - 5.0), [], "two millimetres hold the slug, perhaps");
    assert_eq!(leads(whole - 2.0), [], "perhaps none");
}

#[test]
fn a_touch_off_lies_beside_the_kerf_in_scrap_first() {
    let plate = plate();
    let state = made(&plate, 0, LEAD_IN_MM + 100.0, 3.0);
    let near = Point::new(147.0, 200.0);
    let place = touch_off_place(&plate.site(&state), near).unwrap();
    // Footprint, half a kerf and the spare.
    let least = 200.0 + 5.0 + 0.75 + 0.1;
    assert!((least..least + 0.5).contains(&place.y) && (place.x - near.x).abs() < 1.5, "{place:?}");
}

#[test]
fn a_touch_off_lies_on_the_part_where_there_is_no_scrap() {
    let mut plate = plate();
    plate.ground.plate = rectangle([0.0, 0.0], [400.0, 205.0]);
    let state = made(&plate, 0, LEAD_IN_MM + 100.0, 3.0);
    let place = touch_off_place(&plate.site(&state), Point::new(147.0, 200.0)).unwrap();
    assert!(place.y < 200.0 - 5.75, "{place:?}");
}

#[test]
fn the_way_from_a_touch_off_leads_around_what_is_loose() {
    let plate = plate();
    // The disc is whole; the start lies beside it, on its right.
    let state = made(&plate, 1, f64::INFINITY, 0.0);
    let near = Point::new(293.0, 150.0);
    let place = touch_off_place(&plate.site(&state), near).unwrap();
    assert!(place.x > 293.0, "{place:?}");
    // It stands: then nothing within a footprint of it may be passed.
    let disc = plate.list.parts.iter().map(|part| part.outline).max().unwrap();
    let stands = state.with_said(&plate.list, &[Said { outline: disc, lies: Lies::Standing }]);
    assert_eq!(touch_off_place(&plate.site(&stands), near), None);
    let farther = Point::new(300.0, 150.0);
    assert!(touch_off_place(&plate.site(&stands), farther).is_some_and(|place| place.x > 295.0));
}
