//! Holes and kerfs beside the cuts, as the stop report tells them: nothing is lit over them.

use crate::table::{Table, misfire};
use cuts::{CutId, Ends, Made, PlateIndex, PlateState, Progress};
use geometry::{Contour, Point};
use nc::{Dialect, TouchOffBy};
use proof::JoinStart;
use rescue::{ChoiceKind, Earlier, RescuePlan};
use shop::{CutIs, CutState, Feature, Measured, PlateSide, Pointer, StopKind, StopReport, StrayTold};
use units::Length;

/// Two holes of radius 20 mm, pierced in their middle.
fn two_holes() -> Table {
    let hole = |x: f64| {
        format!(
            "G0 X{x} Y50\nG38.2 Z-40 F500\nG92 Z0\nG0 Z3.8\nM3\nG4 P0.5\nG1 Z1.5 F900\nG1 X{} Y50 F1800\nG3 X{} Y50 I-20 \
             J0\nM5\nG0 Z25\n",
            x + 20.0,
            x + 20.0
        )
    };
    let outline = "G0 X12 Y12\nG38.2 Z-40 F500\nG92 Z0\nG0 Z3.8\nM3\nG4 P0.5\nG1 Z1.5 F900\nG1 X20 Y20 F2400\nG1 X20 Y80\nG1 \
                   X150 Y80\nG1 X150 Y20\nG1 X20 Y20\nM5\nG0 Z25\n";
    let text = format!("G21 G90 G17 G40 G94 G91.1\nG0 Z25\n{}{}{outline}M30\n", hole(50.0), hole(110.0));
    Table::new(text.as_bytes(), Dialect::common(), 1.5, 6.0)
}

fn mm(value: f64) -> Length {
    Length::from_mm(value)
}

fn stray(places: &[[f64; 2]], wide_mm: f64) -> StrayTold {
    let places = places.iter().map(|at| at.map(mm)).collect();
    StrayTold { places, wide: Some(mm(wide_mm)), within: None }
}

fn planned(table: &Table, stop: &StopReport) -> RescuePlan {
    let plan = table.plan(stop).unwrap_or_else(|none| panic!("{}", none.message));
    assert!(plan.choices.iter().all(|choice| choice.proof.holds()));
    plan
}

/// A start that failed over a hole which lies beside every cut would fail there for ever.
#[test]
fn a_cut_whose_pierce_is_spoilt_is_pierced_elsewhere() {
    let table = two_holes();
    let stop = StopReport { strays: vec![stray(&[[53.0, 50.0]], 4.0)], ..misfire(1) };
    let plan = planned(&table, &stop);
    let first = plan.choices.first().expect("a way on");
    assert!(
        first.kind == ChoiceKind::RestartBlock && first.promise.given_up.is_empty(),
        "{:?}",
        plan.refused
    );
    assert_eq!(first.promise.join(CutId(0)).map(|join| join.start), Some(JoinStart::FreshPierce));
    let lit = first.lines.iter().find_map(|ran| ran.join.as_ref()).expect("it is led in").lit;
    // The hole as wide as it may be, and the crater of the pierce.
    let apart = lit.distance(Point::new(53.0, 50.0));
    assert!(apart > 2.0 + 1.0 + 1.5, "{apart}");
    assert!(
        first.risks.iter().any(|risk| risk.starts_with("Cut 1 is pierced at another place")),
        "{:?}",
        first.risks
    );
    // Without it the pierce is as good as it was.
    assert!(planned(&table, &misfire(1)).choices[0].promise.joins.is_empty());
}

/// A slot narrower than the tip, on a table whose torch-on touches off: its own line is metal until it is pierced, and what
/// is cut around it comes after it.
#[test]
fn a_tip_may_stand_on_the_line_of_the_cut_that_it_pierces() {
    let slot = |x: f64| {
        let (left, right) = (x - 4.725, x + 4.725);
        format!(
            "G0 X{x} Y106.9\nM3\nG4 P0.7\nG1 X{left} Y106.9 F2045\nG1 X{left} Y75.275\nG3 X{right} Y75.275 R4.725\nG1 \
             X{right} Y138.525\nG3 X{left} Y138.525 R4.725\nG1 X{left} Y106.9\nG1 X{left} Y103.9\nM5\n"
        )
    };
    let outline = "G0 X59.7 Y32.75\nM3\nG4 P0.7\nG1 X49.7 Y42.75 F2045\nG1 X15.05 Y42.75\nG1 X15.05 Y171.05\nG1 X84.35 \
                   Y171.05\nG1 X84.35 Y42.75\nG1 X49.7 Y42.75\nG1 X46.7 Y42.75\nM5\n";
    let text = format!("G21 G90 G17 G40 G94\n{}{}{outline}M30\n", slot(60.95), slot(38.45));
    let by_torch_on = Dialect { touch_off: vec![TouchOffBy::TorchOn], ..Dialect::common() };
    let table = Table::new(text.as_bytes(), by_torch_on, 1.8, 6.0);
    let hole = Point::new(40.0, 105.5);
    let stop = StopReport { strays: vec![stray(&[[hole.x, hole.y]], 3.0)], ..misfire(1) };
    let plan = planned(&table, &stop);
    let first = plan.choices.first().expect("a way on");
    assert!(first.promise.given_up.is_empty(), "{:?} {:?}", first.risks, plan.refused);
    let lit = first.lines.iter().find_map(|ran| ran.join.as_ref()).expect("cut 2 is led in").lit;
    let foot_mm = table.ground.thresholds.touch_off_footprint.mm() / 2.0;
    // The hole as wide as it may be, and the slot beside, which is cut before.
    assert!(lit.distance(hole) > foot_mm + 1.5 + 1.0, "{lit:?}");
    assert!(60.95 - 4.725 - 0.9 - lit.x > foot_mm, "{lit:?}");
    // Narrower than the tip: whatever the place, some of it stands on the slot's own line.
    assert!(lit.distance(Point::new(lit.x, 106.9)) < 60.0 && (lit.x - 38.45).abs() < 4.725, "{lit:?}");
}

/// The same hole, told as a kerf that bends, leaves no gap between its places.
#[test]
fn a_kerf_beside_the_cuts_is_a_void_all_along() {
    let table = two_holes();
    let bent = stray(&[[90.0, 60.0], [112.0, 60.0], [112.0, 45.0]], 1.5);
    let plan = planned(&table, &StopReport { strays: vec![bent], ..misfire(2) });
    let on_kerf = [[96.0, 60.0], [107.3, 60.0], [112.0, 52.1]].map(|[x, y]| Point::new(x, y));
    let state = PlateState::after(&table.list, plan.progress, table.ground.kerf);
    for at in on_kerf {
        let under = state.progress().strays.iter().any(|dot| dot.at.distance(at) <= dot.crater_mm);
        assert!(under, "{at:?}");
    }
}

/// What lies beside the cuts is jogged to when everything else is measured, after the plate has moved.
#[test]
fn a_stray_lies_where_the_plate_was_found() {
    let mut table = two_holes();
    let corners = [[0.0, 0.0], [170.0, 0.0], [170.0, 100.0], [0.0, 100.0]];
    let edge = Contour::polygon(&corners.map(|[x, y]| Point::new(x, y))).expect("a plate");
    table.index = PlateIndex::new(&table.list).on_plate(edge.clone(), Vec::new());
    table.ground.plate = Some(edge);
    let sides = [PlateSide::LowerLeft, PlateSide::LowerRight, PlateSide::UpperRight, PlateSide::UpperLeft];
    let corner = |(side, [x, y]): (PlateSide, [f64; 2])| Measured {
        feature: Feature::Corner,
        side: Some(side),
        found: vec![[mm(x - 4.0), mm(y - 7.0)]],
        cut: None,
        plan: None,
        to: None,
        lip: None,
        by: None,
        sigma: None,
    };
    let bare = corner((PlateSide::LowerLeft, [50.0, 50.0]));
    let crater = Measured { feature: Feature::Crater, side: None, cut: Some(1), ..bare };
    let moved = StopReport {
        kind: Some(StopKind::PlateMoved),
        cut: Some(1),
        at: Some([mm(50.0), mm(50.0)]),
        kerf_to: Some(Length::ZERO),
        measured: sides.into_iter().zip(corners).map(corner).chain([crater]).collect(),
        pointer: Some(Pointer { offset: Some([Length::ZERO; 2]), ..Pointer::default() }),
        strays: vec![stray(&[[50.0, 50.0]], 4.2)],
        ..StopReport::default()
    };
    let plan = planned(&table, &moved);
    let at = plan.progress.strays.first().expect("a hole").at;
    assert!(at.distance(Point::new(54.0, 57.0)) < 0.01, "{at:?} {:?}", plan.none_because);
    assert!(plan.assumed.iter().all(|line| !line.contains("beside the cuts")), "{:?}", plan.assumed);
    let untold = planned(&table, &StopReport { strays: Vec::new(), kerf_to: Some(mm(5.0)), ..moved });
    assert!(
        untold.assumed.iter().any(|line| line.contains("taken to lie beside the cuts")),
        "{:?}",
        untold.assumed
    );
}

/// A cut that was led into 12 mm along it has no kerf before that, whatever is told of its end.
#[test]
fn a_kerf_begins_where_it_was_taken_up() {
    let mut table = two_holes();
    let made = vec![Made { ends: Ends::to_within(3.0), ..Made::through(CutId(0), 12.0..60.0) }];
    table.earlier = Some(Earlier { progress: Progress::of(made), ..Earlier::default() });
    let state = |kerf_mm: f64| CutState {
        cut: 1,
        is: CutIs::Partial,
        from: None,
        kerf_to: Some(mm(kerf_mm)),
        within: Some(mm(1.0)),
    };
    let begins_mm = |kerf_mm: f64| {
        let plan = planned(&table, &StopReport { state: vec![state(kerf_mm)], ..misfire(1) });
        let made = plan.progress.made.iter().find(|made| made.cut == CutId(0)).expect("it is begun");
        made.along_mm.start
    };
    assert!((begins_mm(61.0) - 12.0).abs() < 1e-9);
    assert!(begins_mm(5.0).abs() < 1e-9, "whoever tells of a kerf before that has seen one there");
}

#[test]
fn a_stray_that_cannot_be_is_told() {
    let table = two_holes();
    let nowhere = StopReport { strays: vec![stray(&[[f64::NAN, 0.0]], 4.0)], ..misfire(1) };
    let told = &planned(&table, &nowhere).triage.not_understood;
    assert!(told.iter().any(|line| line.contains("beside the cuts")), "{told:?}");
    // A slip of the finger asks for no end of work.
    let far = StopReport { strays: vec![stray(&[[0.0, -50.0], [1e9, -50.0]], 4.0)], ..misfire(1) };
    assert!(!planned(&table, &far).choices.is_empty());
}
