//! Lead-in, contour, lead-out; outline, hole, slot; shared edges; chains.

use crate::account::{account, read};
use expect_test::{Expect, expect};

fn check(text: &str, expected: &Expect) {
    expected.assert_eq(&account(&read(text)));
}

#[test]
fn a_square_with_a_straight_lead_in() {
    check(
        "G21 G90\nG0 X-5 Y0\nM3\nG4 P0.5\nG1 X0 F2000\nX100\nY100\nX0\nY0\nM5\nM30\n",
        &expect![[r#"
            c0 cut 1 outline ccw 5.00..405.00 lead 5.00 area 10000.0 depth 0
            part 1: c0, holes, others
        "#]],
    );
}

#[test]
fn an_overlap_and_a_lead_out_that_bends_away() {
    check(
        "G21 G90\nG0 X-5 Y5\nM3\nG1 X0 F2000\nY100\nX100\nY0\nX0\nY8\nG3 X-3 Y11 I-3 J0\nM5\nM30\n",
        &expect![[r#"
            c0 cut 1 outline cw 5.00..405.00 lead 5.00 area 10000.0 depth 0
            part 1: c0, holes, others
        "#]],
    );
}

#[test]
fn a_smooth_lead_in_meets_the_contour_at_its_end() {
    check(
        "G21 G90\nG0 X45 Y-5\nM3\nG2 X50 Y0 I5 J0 F2000\nG1 X100\nY100\nX0\nY0\nX53\nM5\nM30\n",
        &expect![[r#"
            c0 cut 1 outline ccw 7.85..407.85 lead 7.85 area 10000.0 depth 0
            part 1: c0, holes, others
        "#]],
    );
}

#[test]
fn a_contour_that_begins_at_the_pierce() {
    check(
        "G21 G90\nG0 X0 Y0\nM3\nG1 X100 F2000\nY100\nX0\nY0\nM5\nM30\n",
        &expect![[r#"
        c0 cut 1 outline ccw 0.00..400.00 lead 0.00 area 10000.0 depth 0
        part 1: c0, holes, others
    "#]],
    );
}

#[test]
fn a_full_circle_with_a_lead_from_its_centre() {
    check(
        "G21 G90\nG0 X50 Y50\nM3\nG1 X60 F2000\nG3 I-10 J0\nM5\nM30\n",
        &expect![[r#"
        c0 cut 1 hole ccw 10.00..72.83 lead 10.00 area 314.2 depth 0
        side-at-odds: the lead-in lies inside a contour that lies in no part: taken for a hole in the plate
    "#]],
    );
}

#[test]
fn two_half_circles_from_the_pierce() {
    check(
        "G21 G90\nG0 X60 Y50\nM3\nG3 X40 Y50 I-10 J0 F2000\nG3 X60 I10\nM5\nM30\n",
        &expect![[r#"
        c0 cut 1 outline ccw 0.00..62.83 lead 0.00 area 314.2 depth 0
        part 1: c0, holes, others
    "#]],
    );
}

#[test]
fn an_arc_of_nearly_a_full_circle() {
    check(
        "G21 G90\nG0 X60 Y50\nM3\nG3 X60 Y49.999 I-10 J0 F2000\nM5\nM30\n",
        &expect![[r#"
        c0 cut 1 outline ccw 0.00..62.83 lead 0.00 area 314.2 depth 0
        part 1: c0, holes, others
    "#]],
    );
}

#[test]
fn a_gap_as_wide_as_the_tolerance_closes() {
    check(
        "G21 G90\nG0 X-5 Y0\nM3\nG1 X0 F2000\nX100\nY100\nX0\nY0.05\nM5\nM30\n",
        &expect![[r#"
        c0 cut 1 outline ccw 5.00..404.95 lead 5.00 area 10000.0 depth 0
        part 1: c0, holes, others
    "#]],
    );
}

#[test]
fn a_gap_narrower_than_half_a_kerf_is_closed_by_the_kerf() {
    check(
        "G21 G90\nG0 X-5 Y0\nM3\nG1 X0 F2000\nX100\nY100\nX0\nY0.7\nM5\nM30\n",
        &expect![[r#"
        c0 cut 1 outline ccw 5.00..404.30 lead 5.00 area 10000.0 depth 0
        part 1: c0, holes, others
    "#]],
    );
}

#[test]
fn a_gap_wider_than_that_stays_open() {
    check(
        "G21 G90\nG0 X-5 Y0\nM3\nG1 X0 F2000\nX100\nY100\nX0\nY3\nM5\nM30\n",
        &expect![[r#"
        c0 cut 1 slot 0.00..402.00 lead 0.00 area 0.0 depth 0
    "#]],
    );
}

#[test]
fn the_lead_in_runs_on_into_the_first_edge() {
    check(
        "G21 G90\nG0 X-5 Y0\nM3\nG1 X100 F2000\nY100\nX0\nY-2\nM5\nM30\n",
        &expect![[r#"
        c0 cut 1 outline ccw 5.00..405.00 lead 5.00 area 10000.0 depth 0
        part 1: c0, holes, others
    "#]],
    );
}

#[test]
fn hole_then_outline_in_one_burn() {
    check(
        "G21 G90\nG0 X20 Y50\nM3\nG1 X30 F2000\nG3 I-10 J0\nG1 X80 Y-10\nY0\nX100\nY100\nX0\nY0\nX82\nM5\nM30\n",
        &expect![[r#"
            c0 cut 1 hole ccw 10.00..72.83 lead 10.00 area 314.2 depth 1 in c2
            c1 cut 1 outline cw 137.92..560.93 lead 65.09 area 41.7 depth 0
            c2 cut 1 outline ccw 160.93..560.93 lead 88.10 area 10000.0 depth 0
            part 1: c1, holes, others
            part 2: c2, holes c0, others
        "#]],
    );
}

#[test]
fn a_square_with_loops_at_its_corners() {
    check(
        "G21 G90\nG0 X50 Y-5\nM3\nG1 Y0 F2000\nX105\nG2 X100 Y-5 I0 J-5\nG1 Y105\nG2 X105 Y100 I5 J0\nG1 X0\nY0\nX52\nM5\nM30\n",
        &expect![[r#"
            c0 cut 1 hole cw 55.00..88.56 lead 55.00 area 83.9 depth 0
            c1 cut 1 hole cw 188.56..222.12 lead 100.00 area 83.9 depth 0
            c2 cut 1 outline ccw 5.00..472.12 lead 5.00 area 10000.0 depth 0
            part 1: c2, holes, others
        "#]],
    );
}

#[test]
fn an_edge_shared_by_two_parts() {
    check(
        "G21 G90\nG0 X-5 Y0\nM3\nG1 X100 F2000\nY100\nX0\nY0\nM5\nG0 X100.4 Y100\nM3\nG1 X200\nY0\nX100.5\nM5\nM30\n",
        &expect![[r#"
            c0 cut 1 outline ccw 5.00..405.00 lead 5.00 area 10000.0 depth 0
            c1 cut 2 outline cw 0.00..299.10 lead 0.00 area 10000.0 depth 0 closed by 1
            part 1: c0, holes, others
            part 2: c1, holes, others
        "#]],
    );
}

#[test]
fn a_grid_of_straight_cuts() {
    let mut text = String::from("G21 G90 F2000\n");
    for k in 0..4 {
        text += &format!("G0 X-5 Y{}\nM3\nG1 X305\nM5\n", 100 * k);
    }
    for k in 0..3 {
        text += &format!("G0 X{} Y-5\nM3\nG1 Y305\nM5\n", 150 * k);
    }
    check(
        &text,
        &expect![[r#"
        c0 cut 1 slot 0.00..310.00 lead 0.00 area 0.0 depth 0
        c1 cut 2 slot 0.00..310.00 lead 0.00 area 0.0 depth 0
        c2 cut 3 slot 0.00..310.00 lead 0.00 area 0.0 depth 0
        c3 cut 4 slot 0.00..310.00 lead 0.00 area 0.0 depth 0
        c4 cut 5 slot 0.00..310.00 lead 0.00 area 0.0 depth 0
        c5 cut 6 outline ccw 5.00..105.00 lead 5.00 area 15000.0 depth 0 closed by 1 2 5
        c6 cut 6 outline ccw 105.00..205.00 lead 0.00 area 15000.0 depth 0 closed by 2 3 5
        c7 cut 6 outline ccw 205.00..305.00 lead 0.00 area 15000.0 depth 0 closed by 3 4 5
        c8 cut 7 outline ccw 5.00..105.00 lead 5.00 area 15000.0 depth 0 closed by 1 2 6
        c9 cut 7 outline ccw 105.00..205.00 lead 0.00 area 15000.0 depth 0 closed by 2 3 6
        c10 cut 7 outline ccw 205.00..305.00 lead 0.00 area 15000.0 depth 0 closed by 3 4 6
        part 1: c5, holes, others
        part 2: c6, holes, others
        part 3: c7, holes, others
        part 4: c8, holes, others
        part 5: c9, holes, others
        part 6: c10, holes, others
    "#]],
    );
}
