//! Parts that a hole beside the cuts has spoilt: given up with the reason, and made anew; and where nothing is spoilt, nothing
//! is.

use crate::table::Table;
use cuts::PartId;
use geometry::Point;
use nc::Dialect;
use rescue::{ChoiceKind, RescuePlan};
use shop::{StopKind, StopReport, StrayTold};
use units::Length;

/// Plates 40 × 40 in a row, 30 mm apart, the corner of each at Y 20; each is begun 8 mm below it and ended `lead_out` below
/// it. The first two are one cut, the third has its own.
pub(crate) fn chain(lead_out: &str) -> Table {
    let square = |x: f64| {
        let (left, right) = (x, x + 40.0);
        format!(
            "G1 X{left} Y20 F2000\nG1 X{left} Y60\nG1 X{right} Y60\nG1 X{right} Y20\nG1 X{left} Y20\n{lead_out}"
        )
    };
    let starts =
        |x: f64| format!("G0 X{x} Y12\nG38.2 Z-40 F500\nG92 Z0\nG0 Z3.8\nM3\nG4 P0.5\nG1 Z1.5 F900\n");
    let between = "G1 X65 Y12\n";
    let text = format!(
        "G21 G90 G17 G40 G94 G91.1\n{}{}{between}{}M5\nG0 Z25\n{}{}M5\nG0 Z25\nM30\n",
        starts(20.0),
        square(20.0),
        square(90.0),
        starts(160.0),
        square(160.0),
    );
    let mut table = Table::new(text.as_bytes(), Dialect::common(), 1.5, 6.0);
    assert_eq!((table.list.cuts.len(), table.list.parts.len()), (2, 3), "{text}");
    let corners = [(0.0, 0.0), (400.0, 0.0), (400.0, 300.0), (0.0, 300.0)];
    table.ground.plate = geometry::Contour::polygon(&corners.map(|(x, y)| Point::new(x, y)));
    table
}

fn stays_on(cut: u32, blown_mm: f64) -> StopReport {
    StopReport {
        kind: Some(StopKind::ArcStaysOn),
        cut: Some(cut),
        blown: Some(Length::from_mm(blown_mm)),
        ..StopReport::default()
    }
}

fn planned(table: &Table, stop: &StopReport) -> RescuePlan {
    table.plan(stop).unwrap_or_else(|none| panic!("{}", none.message))
}

#[test]
fn only_the_part_that_the_hole_reaches_is_given_up() {
    let table = chain("");
    let plan = planned(&table, &stays_on(1, 9.0));
    let first = plan.choices.first().unwrap_or_else(|| panic!("{:?}", plan.none_because));
    assert_eq!(first.promise.given_up, [PartId(1)]);
    // 4.5 mm, of which half a millimetre is in doubt, less half a kerf.
    assert!(
        first.risks.iter().any(|risk| risk.contains("part 2, since a hole") && risk.contains("3.25 mm")),
        "{:?}",
        first.risks
    );
    // It was cut with one start with a part that is sound: the cut goes nowhere without that one.
    let why = "part 1, 2: it shares a cut with part 1, which is cut free already";
    assert!(plan.refused.iter().any(|refused| refused.why.contains(why)), "{:?}", plan.refused);
}

#[test]
fn a_hole_in_scrap_or_within_the_tolerance_spoils_nothing() {
    for (table, blown_mm) in [(chain("G1 Y8\n"), 9.0), (chain(""), 5.0)] {
        let plan = planned(&table, &stays_on(1, blown_mm));
        assert!(plan.choices[0].promise.given_up.is_empty(), "{blown_mm} mm");
    }
}

/// Nobody has measured it: it may be no wider than the kerf that it ended.
#[test]
fn a_hole_that_nobody_measured_spoils_nothing_for_sure() {
    let mut table = chain("");
    table.job.tolerance = Some(Length::from_mm(0.5));
    let plan = planned(&table, &StopReport { blown: None, ..stays_on(1, 9.0) });
    assert!(plan.choices[0].promise.given_up.is_empty(), "{:?}", plan.choices[0].promise.given_up);
}

#[test]
fn after_the_last_cut_nothing_is_made_anew_that_is_sound() {
    let plan = planned(&chain("G1 Y8\n"), &stays_on(2, 9.0));
    assert!(plan.choices.is_empty() && plan.by_hand.is_empty() && plan.all_is_made);
    // Nothing is traced, started or gone to.
    let goes =
        |step: &rescue::Step| ["trace", "restart", "pierce"].iter().any(|word| step.order.contains(word));
    assert!(!plan.steps.iter().any(goes), "{:?}", plan.steps);
    assert_eq!(plan.none_because.as_deref(), Some("Nothing is left to cut: every cut has been made."));
    let plan = planned(&chain(""), &stays_on(2, 9.0));
    let [anew] = &plan.choices[..] else { panic!("{:?}", plan.none_because) };
    assert_eq!((anew.kind, &anew.parts_at_risk[..]), (ChoiceKind::Salvage, &[PartId(2)][..]));
}

#[test]
fn a_hole_told_beside_the_cuts_spoils_what_it_surely_reaches() {
    let told = |wide_mm: f64| StopReport {
        kind: Some(StopKind::NoTransfer),
        cut: Some(2),
        strays: vec![StrayTold {
            places: vec![[Length::from_mm(40.0), Length::from_mm(64.0)]],
            wide: Some(Length::from_mm(wide_mm)),
            within: Some(Length::from_mm(1.0)),
        }],
        ..StopReport::default()
    };
    // Without its width it may be a dimple.
    let unmeasured = told(40.0);
    let strays = unmeasured.strays.iter().map(|stray| StrayTold { wide: None, ..stray.clone() }).collect();
    let plan = planned(&chain(""), &StopReport { strays, ..unmeasured });
    assert!(plan.choices[0].promise.given_up.is_empty());
    // 4 mm off the path: what is told as 14 mm wide reaches 6 mm for sure, and half a kerf was never part.
    for (wide_mm, given_up) in [(14.0, &[][..]), (16.0, &[PartId(0)][..])] {
        let plan = planned(&chain(""), &told(wide_mm));
        assert_eq!(plan.choices[0].promise.given_up, given_up, "{wide_mm} mm");
    }
}

/// A kerf is told as wide as it is at its widest, which is somewhere along it: elsewhere it is surely no wider than a kerf.
#[test]
fn a_kerf_told_beside_the_cuts_spoils_only_what_any_kerf_reaches() {
    let told = |x: f64, wide_mm: f64| StopReport {
        kind: Some(StopKind::NoTransfer),
        cut: Some(2),
        strays: vec![StrayTold {
            places: vec![[x, 30.0], [x, 50.0]].into_iter().map(|at| at.map(Length::from_mm)).collect(),
            wide: Some(Length::from_mm(wide_mm)),
            within: Some(Length::from_mm(0.1)),
        }],
        ..StopReport::default()
    };
    // Beside the first part, whose right edge is cut at X 60; the last runs 3 mm within it.
    for (x, wide_mm, given_up) in [(64.0, 16.0, &[][..]), (57.0, 1.5, &[PartId(0)][..])] {
        let plan = planned(&chain(""), &told(x, wide_mm));
        assert_eq!(plan.choices[0].promise.given_up, given_up, "{x} {wide_mm} mm");
    }
}
