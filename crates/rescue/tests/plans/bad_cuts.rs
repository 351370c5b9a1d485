//! Bad cuts: what was cut badly is given up, and nothing else.

use crate::table::Table;
use cuts::{CutId, PartId};
use nc::Dialect;
use rescue::Fact;
use shop::{StopKind, StopReport};
use units::Length;

/// Two plates 60 × 60 that share an edge, the second of three cuts of its own. The first cut runs 8 mm in, its left edge
/// to 68 mm, its top to 128 mm, the shared edge to 188 mm, its bottom to 248 mm.
pub(crate) fn shared_edge() -> Table {
    let cut = |at: &str, corners: &str| {
        let burn: String =
            corners.split(' ').map(|corner| format!("G1 {} F2000\n", corner.replace(',', " Y"))).collect();
        format!("G0 {at}\nG38.2 Z-40 F500\nG92 Z0\nG0 Z3.8\nM3\nG4 P0.5\nG1 Z1.5 F900\n{burn}M5\nG0 Z25\n")
    };
    let text = format!(
        "G21 G90 G17 G40 G94 G91.1\n{}{}M30\n",
        cut("X12 Y20", "X20,20 X20,80 X80,80 X80,20 X20,20 X20,23"),
        cut("X90 Y90", "X80,80 X140,80 X140,20 X80,20"),
    );
    let table = Table::new(text.as_bytes(), Dialect::common(), 1.5, 6.0);
    assert_eq!((table.list.cuts.len(), table.list.parts.len()), (2, 2));
    table
}

/// Bad up to `to_mm` along the first cut.
fn bad(to_mm: f64, bad_from_mm: Option<f64>) -> StopReport {
    StopReport {
        kind: Some(StopKind::BadCut),
        cut: Some(1),
        kerf_to: Some(Length::from_mm(to_mm)),
        bad_from: bad_from_mm.map(Length::from_mm),
        ..StopReport::default()
    }
}

/// The parts that the first choice gives up, and whether it takes up the first cut.
fn given_up(stop: &StopReport) -> (Vec<PartId>, bool) {
    let plan = shared_edge().plan(stop).unwrap_or_else(|none| panic!("{}", none.message));
    let first = plan.choices.first().unwrap_or_else(|| panic!("{:?}", plan.none_because));
    assert!(first.proof.holds());
    (first.promise.given_up.clone(), first.promise.join(CutId(0)).is_some())
}

/// The edge that both parts share is still to be cut when the top of the first is found bad.
#[test]
fn a_part_of_which_nothing_was_cut_badly_is_kept() {
    assert_eq!(given_up(&bad(100.0, None)), (vec![PartId(0)], true));
    assert_eq!(given_up(&bad(100.0, Some(90.0))), (vec![PartId(0)], true));
}

#[test]
fn a_part_is_given_up_with_a_bad_edge_that_it_shares() {
    for stop in [bad(150.0, None), bad(150.0, Some(100.0)), bad(150.0, Some(150.0))] {
        let table = shared_edge();
        let plan = table.plan(&stop).unwrap_or_else(|none| panic!("{}", none.message));
        for choice in &plan.choices {
            assert_eq!(choice.promise.given_up, [PartId(0), PartId(1)], "{:?}", choice.title);
        }
    }
}

/// What was good when it was looked at stays good: only from there on it is bad.
#[test]
fn what_was_cut_before_it_went_bad_is_kept() {
    assert_eq!(given_up(&bad(230.0, Some(200.0))), (vec![PartId(0)], true));
    // Three millimetres back from there lies the shared edge, and nobody knows it to that.
    let close =
        shared_edge().plan(&bad(230.0, Some(190.0))).unwrap_or_else(|none| panic!("{}", none.message));
    assert!(close.choices.iter().all(|choice| choice.promise.given_up.len() == 2));
}

/// The lead-in is bad, and the left edge perhaps: how far it was cut is asked for before the part is given up for good.
#[test]
fn where_a_bad_stretch_ends_is_asked_for() {
    let bad = |to_mm: f64, within_mm: Option<f64>| {
        let stop = StopReport { kerf_within: within_mm.map(Length::from_mm), ..bad(to_mm, Some(2.0)) };
        shared_edge().plan(&stop).unwrap_or_else(|none| panic!("{}", none.message))
    };
    let plan = bad(6.0, None);
    assert_eq!(plan.choices[0].promise.given_up, [PartId(0)]);
    let wanted = plan.wanted.expect("a fact");
    assert_eq!(wanted.fact, Fact::KerfEnd(CutId(0)), "{}", wanted.says);
    assert!(wanted.says.contains("bad_from") && wanted.says.contains("now 3.0 mm"), "{}", wanted.says);
    // Told with less doubt, it is the lead-in alone; and where it surely reaches the edge, nothing is asked.
    let plan = bad(6.0, Some(1.0));
    assert!(plan.choices[0].promise.given_up.is_empty() && plan.wanted.is_none(), "{:?}", plan.wanted);
    let plan = bad(40.0, None);
    assert_eq!(plan.choices[0].promise.given_up, [PartId(0)]);
    assert!(plan.wanted.is_none(), "{:?}", plan.wanted);
}

/// Told as good farther than the torch got: nothing was cut there, so nothing is bad, however far that is off.
#[test]
fn what_was_never_cut_is_not_bad() {
    let stop = StopReport { kerf_within: Some(Length::from_mm(1.0)), ..bad(100.0, Some(110.0)) };
    assert_eq!(given_up(&stop), (Vec::new(), true));
    // It may be bad at its very end if both are off.
    let near = StopReport { kerf_within: Some(Length::from_mm(1.0)), ..bad(100.0, Some(101.0)) };
    let plan = shared_edge().plan(&near).unwrap_or_else(|none| panic!("{}", none.message));
    assert_eq!(plan.choices[0].promise.given_up, [PartId(0)]);
    assert!(plan.wanted.is_some());
}
