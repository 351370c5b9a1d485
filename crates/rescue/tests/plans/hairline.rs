//! Shapes at the edge of what arithmetic tells apart: contours that coincide to a hundred-thousandth of a millimetre,
//! arcs that are not quite full circles, contours that only the kerf closes. Stopped anywhere, they must be rescued as
//! their plain likenesses are, or the plan says why not.

use crate::table::Table;
use nc::Dialect;
use rescue::ChoiceKind;
use shop::{StopKind, StopReport};
use std::fmt::Write as _;
use units::Length;

const KERF_MM: f64 = 1.5;

/// Approach, touch-off, pierce and burn of one cut.
fn cut(text: &mut String, at: [f64; 2], burn: &[String]) {
    let [x, y] = at;
    let _ = write!(text, "G0 X{x} Y{y}\nG38.2 Z-40 F500\nG92 Z0\nG0 Z3.8\nM3\nG4 P0.5\nG1 Z1.5 F900\n");
    for block in burn {
        let _ = writeln!(text, "{block} F2000");
    }
    text.push_str("M5\nG0 Z25\n");
}

fn corners(corners: &[[f64; 2]]) -> Vec<String> {
    corners.iter().map(|[x, y]| format!("G1 X{x:.6} Y{y:.6}")).collect()
}

fn table(cuts: &[([f64; 2], Vec<String>)]) -> Table {
    let mut text = String::from("G21 G90 G17 G40 G94 G91.1\n");
    for (at, burn) in cuts {
        cut(&mut text, *at, burn);
    }
    text.push_str("G0 X0 Y0\nM30\n");
    Table::new(text.as_bytes(), Dialect::common(), KERF_MM, 6.0)
}

/// Two rectangles side by side: the second is closed by an edge of the first, off by `off_mm`.
fn shared_edge(off_mm: f64) -> Table {
    let first = corners(&[[20.0, 80.0], [80.0, 80.0], [80.0, 20.0], [20.0, 20.0], [20.0, 23.0]]);
    let edge = 80.0 + off_mm;
    let second = corners(&[[edge, 80.0], [140.0, 80.0], [140.0, 20.0], [edge, 20.0]]);
    table(&[([12.0, 20.0], [corners(&[[20.0, 20.0]]), first].concat()), ([90.0, 90.0], second)])
}

/// A ring whose hole and outline are arcs that stop short of a full circle by `short_deg`.
fn nearly_full(short_deg: f64) -> Table {
    let arc = |word: &str, r: f64, way: f64| {
        let angle = (way * (360.0 - short_deg)).to_radians();
        let (x, y) = (100.0 + r * angle.cos(), 100.0 + r * angle.sin());
        format!("{word} X{x:.7} Y{y:.7} I{:.6} J0", -r)
    };
    let hole = vec!["G1 X115 Y100".to_owned(), arc("G3", 15.0, 1.0)];
    let outline = vec!["G1 X140 Y100".to_owned(), arc("G2", 40.0, -1.0)];
    table(&[([106.0, 100.0], hole), ([149.0, 100.0], outline)])
}

/// A square whose end stops short of its beginning by `gap_mm`.
fn with_gap(gap_mm: f64) -> Table {
    let burn = corners(&[[20.0, 20.0], [20.0, 80.0], [80.0, 80.0], [80.0, 20.0], [20.0 + gap_mm, 20.0]]);
    table(&[([12.0, 20.0], burn)])
}

/// Stops `table` all along each cut. Gives how many stops were saved whole, of how many; what is offered is proven.
fn saved(table: &Table) -> (usize, usize) {
    let (mut whole, mut stops) = (0, 0);
    for cut in &table.list.cuts {
        let length_mm = cut.path.length_mm();
        let corners = (0..=cut.path.curves().len()).map(|k| cut.path.start_of_mm(k));
        let places =
            corners.chain([1e-5, 0.4, length_mm / 3.0, length_mm / 2.0, length_mm - 0.5, length_mm - 1e-5]);
        for along_mm in places.filter(|along| (0.0..=length_mm).contains(along)) {
            let stop = StopReport {
                kind: Some(StopKind::ArcLost),
                cut: Some(cut.number()),
                kerf_to: Some(Length::from_mm(along_mm)),
                kerf_within: Some(Length::from_mm(1.0)),
                ..StopReport::default()
            };
            stops += 1;
            match table.plan(&stop) {
                // Made to its very end: nothing is left of this cut.
                Err(none) => assert!(
                    none.message.contains("whole") || none.message.contains("made"),
                    "{}",
                    none.message
                ),
                Ok(plan) => {
                    assert!(plan.choices.iter().all(|choice| choice.proof.holds()));
                    let all = |choice: &rescue::Choice| {
                        choice.promise.given_up.is_empty() && choice.kind != ChoiceKind::SkipPart
                    };
                    whole += usize::from(plan.choices.iter().any(all));
                    // Just before a contour closes nobody can tell whether its piece is loose: then that is asked.
                    assert!(plan.choices.iter().any(all) || plan.wanted.is_some(), "{:?}", plan.none_because);
                }
            }
        }
    }
    (whole, stops)
}

#[test]
fn edges_that_coincide_to_a_hundred_thousandth_are_one_edge() {
    let exact = saved(&shared_edge(0.0));
    assert!(exact.0 * 10 >= exact.1 * 6, "{exact:?}");
    for off_mm in [1e-5, -1e-5] {
        assert_eq!(saved(&shared_edge(off_mm)), exact, "off by {off_mm}");
    }
}

#[test]
fn an_arc_short_of_a_full_circle_is_a_full_circle() {
    let full = saved(&nearly_full(0.0));
    assert!(full.0 * 10 >= full.1 * 6, "{full:?}");
    for short_deg in [0.001, 0.01] {
        assert_eq!(saved(&nearly_full(short_deg)), full, "short by {short_deg} degrees");
    }
}

#[test]
fn a_gap_that_the_kerf_closes_is_closed() {
    let closed = saved(&with_gap(0.0));
    assert!(closed.0 * 10 >= closed.1 * 6, "{closed:?}");
    for gap_mm in [1e-5, 0.01, 0.4] {
        assert_eq!(saved(&with_gap(gap_mm)), closed, "a gap of {gap_mm} mm");
    }
}
