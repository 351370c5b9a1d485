//! Slugs that fell before their contour closed: the nib that one leaves on its part is cut off, where there is one and it is told.

use crate::table::Table;
use cuts::CutId;
use nc::{Code, Dialect};
use proof::JoinStart;
use rescue::{Earlier, Fact, RescuePlan};
use shop::{CutIs, CutState, PieceIs, StopKind, StopReport};
use units::Length;

const KERF_MM: f64 = 1.5;

/// How long the way to the hole's contour is: 4 mm straight and a quarter of a circle of radius 6 that runs in along it.
const LEAD_MM: f64 = 4.0 + 3.0 * std::f64::consts::PI;

/// The contour, a square of 50.
const CLOSES_MM: f64 = LEAD_MM + 200.0;

/// A frame, good to half a millimetre: its hole, whose lead-in runs in along the contour, with 4 mm of overlap, and its outline.
fn table() -> Table {
    let mut text = String::from("G21 G90 G17 G40 G94\nG91.1\nT2\n");
    let mut cut = |x: f64, y: f64, burn: &str| {
        text += &format!(
            "G0 X{x} Y{y}\nG38.2 Z-40 F500\nG92 Z0\nG0 Z3.8\nM3\nG4 P0.5\nG1 Z1.5 F900\n{burn}M53\nM5\nG0 Z25\n"
        );
    };
    cut(
        94.0,
        90.0,
        "G1 X94 Y86 F2000\nG3 X100 Y80 I6 J0\nM52\nG1 X125 Y80\nG1 X125 Y130\nG1 X75 Y130\nG1 X75 Y80\nG1 X100 Y80\n\
         G1 X104 Y80\n",
    );
    cut(
        100.0,
        42.0,
        "G1 X100 Y50 F2000\nM52\nG1 X45 Y50\nG1 X45 Y160\nG1 X155 Y160\nG1 X155 Y50\nG1 X100 Y50\nG1 X97 Y50\n",
    );
    let dialect = Dialect {
        height_control_on: vec![Code::new(b'M', 52)],
        height_control_off: vec![Code::new(b'M', 53)],
        ..Dialect::common()
    };
    let mut table = Table::new(format!("{text}M30\n").as_bytes(), dialect, KERF_MM, 6.0);
    table.job.tolerance = Some(Length::from_mm(0.5));
    table
}

/// The arc went out in the hole's cut, and the slug lies so; its kerf is told to end so far before its contour closes.
fn lost(before_mm: Option<f64>, within_mm: f64, is: PieceIs) -> StopReport {
    StopReport {
        kind: Some(StopKind::ArcLost),
        cut: Some(1),
        kerf_to: before_mm.map(|before| Length::from_mm(CLOSES_MM - before)),
        kerf_within: Some(Length::from_mm(within_mm)),
        pieces: vec![(1, is)],
        ..StopReport::default()
    }
}

fn plan(table: &Table, stop: &StopReport) -> RescuePlan {
    let plan = table.plan(stop).unwrap_or_else(|none| panic!("{}", none.message));
    assert!(plan.choices.iter().all(|choice| choice.proof.holds()));
    plan
}

fn cuts(plan: &RescuePlan) -> Vec<u32> {
    let first = plan.choices.first().unwrap_or_else(|| panic!("{:?}", plan.none_because));
    assert!(first.promise.given_up.is_empty(), "{:?}", first.risks);
    first.promise.cuts.iter().map(|cut| cut.number()).collect()
}

fn asks_for_the_seam(plan: &RescuePlan) -> bool {
    plan.wanted.as_ref().is_some_and(|wanted| wanted.fact == Fact::Seam(CutId(0)))
}

#[test]
fn a_nib_that_is_told_is_cut_off_from_its_end_wall() {
    let table = table();
    assert!((table.list.cuts[0].path.length_mm() - CLOSES_MM - 4.0).abs() < 1e-6);
    for is in [PieceIs::Flat, PieceIs::Fell, PieceIs::Removed, PieceIs::Standing] {
        for (before_mm, within_mm) in [(4.0, 1.0), (3.0, 1.0), (4.0, 0.5)] {
            let plan = plan(&table, &lost(Some(before_mm), within_mm, is));
            assert_eq!(cuts(&plan), [1, 2], "{is:?} {before_mm} mm before the end: {:?}", plan.assumed);
            let choice = &plan.choices[0];
            assert_eq!(choice.promise.joins[0].start, JoinStart::KerfEnd);
            assert!(choice.promise.joins[0].from_mm <= CLOSES_MM - before_mm - within_mm + 1e-9);
            let text = String::from_utf8_lossy(&choice.text);
            let joined = text.split("M5\n").find(|burn| burn.contains("M3\n")).expect("a start");
            assert!(!joined.contains("M52"), "height control is held to the end:\n{joined}");
            let needs = &choice.proof.preconditions;
            assert!(needs.iter().any(|what| what.contains("does not come up beside the nib")), "{needs:?}");
            assert!(plan.steps.iter().any(|step| step.order.contains("Look at the seam of cut 1")));
            assert!(plan.assumed.iter().any(|what| what.contains("left a nib on the part at the seam")));
        }
    }
}

#[test]
fn what_bears_no_nib_out_of_tolerance_is_whole() {
    let mut table = table();
    for before_mm in [0.5, 0.0, -2.0] {
        let plan = plan(&table, &lost(Some(before_mm), 0.5, PieceIs::Flat));
        assert_eq!(cuts(&plan), [2], "{before_mm} mm before the end");
        assert!(!asks_for_the_seam(&plan));
        assert!(plan.assumed.iter().any(|what| what.contains("Cut 1 is whole")), "{:?}", plan.assumed);
    }
    // 0.8 mm high: out of half a millimetre, and no more than any join shows where nobody has told how good the part must be.
    let low = lost(Some(3.0), 1.0, PieceIs::Flat);
    assert_eq!(cuts(&plan(&table, &low)), [1, 2]);
    table.job.tolerance = None;
    assert_eq!(cuts(&plan(&table, &low)), [2]);
}

#[test]
fn where_nobody_can_tell_whether_a_nib_is_left_that_is_asked() {
    let table = table();
    for stop in [lost(None, 1.0, PieceIs::Fell), lost(Some(2.5), 2.5, PieceIs::Fell)] {
        let vague = plan(&table, &stop);
        assert_eq!(cuts(&vague), [2]);
        assert!(asks_for_the_seam(&vague), "{:?}", vague.wanted);
        // None is left.
        let state = |is, before_mm: Option<f64>| CutState {
            cut: 1,
            is,
            from: None,
            kerf_to: before_mm.map(|before| Length::from_mm(CLOSES_MM - before)),
            within: Some(Length::from_mm(0.5)),
        };
        let whole = plan(&table, &StopReport { state: vec![state(CutIs::Whole, None)], ..stop.clone() });
        assert_eq!(cuts(&whole), [2]);
        assert!(!asks_for_the_seam(&whole));
        // One is, from here on.
        let told = StopReport { state: vec![state(CutIs::Partial, Some(3.5))], ..stop };
        assert_eq!(cuts(&plan(&table, &told)), [1, 2]);
    }
}

/// The kerf meets its lead-in 4.5 mm before its contour closes. Told to end a little before that, it was read a little short: the
/// slug lies loose.
#[test]
fn a_kerf_read_a_little_short_of_where_it_parts_its_slug_leaves_a_nib() {
    for (before_mm, within_mm) in [(5.8, 1.0), (6.3, 1.0), (5.2, 0.5)] {
        let plan = plan(&table(), &lost(Some(before_mm), within_mm, PieceIs::Flat));
        assert_eq!(cuts(&plan), [1, 2], "{before_mm} mm before the end: {:?}", plan.assumed);
        let made = plan.progress.made.iter().find(|made| made.cut == CutId(0)).expect("it was begun");
        let most_mm = made.at_most_mm(CLOSES_MM + 4.0).end;
        assert!((CLOSES_MM - 4.5..CLOSES_MM - 4.0).contains(&most_mm), "{made:?}");
    }
    // Twice as far off nobody reads.
    assert_eq!(cuts(&plan(&table(), &lost(Some(7.0), 1.0, PieceIs::Flat))), [2]);
}

/// What is told of its kerf cannot have parted the slug: then it is not a nib that is left.
#[test]
fn a_kerf_that_cannot_have_parted_its_slug_leaves_no_nib() {
    let plan = plan(&table(), &lost(Some(60.0), 1.0, PieceIs::Fell));
    assert_eq!(cuts(&plan), [2]);
}

#[test]
fn where_the_part_itself_is_loose_nothing_is_cut_at_its_seam() {
    let table = table();
    let length_mm = table.list.cuts[1].path.length_mm();
    for before_mm in [2.0, 4.0, 6.0] {
        let stop = StopReport {
            cut: Some(2),
            kerf_to: Some(Length::from_mm(length_mm - 3.0 - before_mm)),
            pieces: vec![(2, PieceIs::Flat)],
            ..lost(None, 1.0, PieceIs::Flat)
        };
        let joined = |plan: &RescuePlan| {
            plan.choices.iter().any(|choice| choice.promise.cuts.iter().any(|cut| cut.number() == 2))
        };
        assert!(table.plan(&stop).map_or(true, |plan| !joined(&plan)), "{before_mm} mm before the end");
    }
}

/// A stop while the nib is cut off: what is left of it then is known by the same account.
#[test]
fn a_nib_is_gone_once_the_program_has_cut_it_off() {
    let mut table = table();
    let first = plan(&table, &lost(Some(4.0), 1.0, PieceIs::Flat));
    table.earlier = Some(Earlier {
        progress: first.progress.clone(),
        ran: first.choices[0].lines.clone(),
        ..Earlier::default()
    });
    let after =
        plan(&table, &StopReport { kind: Some(StopKind::NoTransfer), cut: Some(2), ..StopReport::default() });
    assert_eq!(cuts(&after), [2]);
    let again = plan(&table, &StopReport { pieces: Vec::new(), ..lost(Some(3.0), 0.5, PieceIs::Flat) });
    assert_eq!(cuts(&again), [1, 2]);
}
