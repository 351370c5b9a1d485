//! Cutter compensation (NISTIR 6556, appendix B).

use crate::run::{check_in, rules, run, run_from};
use nc::{Comp, Dialect, Start};
use units::Length;

fn dialect(strict: bool, width_mm: f64) -> Dialect {
    let base = if strict { Dialect::strict() } else { Dialect::common() };
    Dialect { comp_widths: vec![(1, Length::from_mm(width_mm))], ..base }
}

/// NISTIR 6556, table 12: the contour of the material's edge.
const MATERIAL_EDGE: &str = "G0 X1 Y5
G41 D1 G1 Y4
G3 X2 Y3 I1
G2 X3 Y2 J-1
G1 Y-1
G2 X2 Y-2 I-1
G1 X-2
G2 X-2.6 Y-0.2 J1
G1 X1.4 Y2.8
G2 X2 Y3 I0.6 J-0.8
G40
M2";

/// NISTIR 6556, tables 12 and 13: the edge under a tool of diameter 1 gives the printed nominal path. The first motion
/// follows B.6 and was worked out.
#[test]
fn tables_12_and_13() {
    check_in(
        &dialect(true, 1.0),
        MATERIAL_EDGE,
        "rapid 1,5; feed 1.433013,4.25; cw 1.5,4 about 1,4; ccw 2,3.5 about 2,4; cw 3.5,2 about 2,2; feed 3.5,-1; \
         cw 2,-2.5 about 2,-1; feed -2,-2.5; cw -2.9,0.2 about -2,-1; feed 1.1,3.2; cw 2,3.5 about 2,2; end",
    );
}

/// NISTIR 6556, tables 12 and 13: lengths of the closed contour as programmed and beside it, worked out.
#[test]
fn lengths_of_the_closed_contour() {
    let length = |dialect: &Dialect| {
        let (motions, _) = run(MATERIAL_EDGE, dialect);
        let count = motions.motions().len();
        (count - 7..count).map(|k| motions.curve(k).length_mm()).sum::<f64>()
    };
    assert!((length(&dialect(true, 0.0)) - 18.283_185).abs() < 1e-6);
    assert!((length(&dialect(true, 1.0)) - 21.424_778).abs() < 1e-6);
}

/// NISTIR 6556, B.6: after the first straight motion the torch is r from the programmed end, at a right angle.
#[test]
fn the_first_motion() {
    arbtest::arbtest(|u| {
        let mut number = |from: i32, to: i32| u.int_in_range(from..=to).map(|n| f64::from(n) / 10.0);
        let (cx, cy, px, py, width) =
            (number(-500, 500)?, number(-500, 500)?, number(-500, 500)?, number(-500, 500)?, number(1, 200)?);
        let right = u.arbitrary()?;
        if (cx - px).hypot(cy - py) <= width / 2.0 {
            return Ok(());
        }
        let code = if right { "G42" } else { "G41" };
        let (motions, _) = run(&format!("G0 X{cx} Y{cy}\n{code} D1 G1 X{px} Y{py}"), &dialect(true, width));
        let (c, d) = (motions.from(1), motions.motions()[1].to);
        let p = geometry::Point::new(px, py);
        assert!(((d - p).length() - width / 2.0).abs() < 1e-9);
        assert!((d - p).dot(d - c).abs() < 1e-6, "a right angle at the torch");
        let side = (p - c).cross(d - c);
        assert!((side < 0.0) == right, "G41 runs left of the path, G42 right");
        Ok(())
    });
}

/// NISTIR 6556, 3.5.10: D0 is a width of zero, and a second G41 without G40 between is an error.
#[test]
fn words_of_compensation() {
    check_in(&dialect(true, 1.0), "G41 D0 G1 X10\nY10\nG40\nM2", "feed 10,0; feed 10,10; end");
    let on_while_on = rules(b"G41 D0 G1 X1\nG42 D0 X2\nG40\nM2", &dialect(true, 1.0));
    assert_eq!(on_while_on, ["word-misplaced"]);
    assert_eq!(rules(b"G18\nG41 D0\nM2", &dialect(true, 1.0)), ["plane-unused", "word-misplaced"]);
    assert_eq!(rules(b"G41 D9 G1 X1\nG40\nM2", &dialect(true, 1.0)), ["comp-width-unknown"]);
    // Without D the width is that of the process.
    check_in(
        &dialect(false, 2.0),
        "T1\nG0 Y-10\nG42 G1 X0 Y0\nX10",
        "process 1; rapid 0,-10; feed 0,-1; feed 10,-1",
    );
}

/// NISTIR 6556, B.5.1: errors of the standard's compensation.
#[test]
fn what_the_standard_refuses() {
    let strict = dialect(true, 2.0);
    let inside_corner = "G0 Y-10\nG41 D1 G1 X10 Y0\nX20\nY10\nG40\nM2";
    assert_eq!(rules(inside_corner.as_bytes(), &strict), ["comp-corner"]);
    let small_arc = "G0 Y-10\nG41 D1 G1 X10 Y0\nX20\nG3 X20.5 Y0.5 J0.5\nG40\nM2";
    assert_eq!(rules(small_arc.as_bytes(), &strict), ["comp-arc-small"]);
    let short_lead_in = "G0 X9.5\nG41 D1 G1 X10 Y0\nX20\nG40\nM2";
    assert_eq!(rules(short_lead_in.as_bytes(), &strict), ["comp-lead-in-short"]);
}

/// Inside corners are cut short where the offset curves meet: common practice.
#[test]
fn inside_corners() {
    // Two lines at a right angle.
    check_in(
        &dialect(false, 2.0),
        "G0 X0 Y-10\nG41 D1 G1 X0 Y0\nX20\nY20\nG40 X30",
        "rapid 0,-10; feed -0.994987,-0.1; cw 0,1 about 0,0; feed 19,1; feed 19,20; feed 30,20",
    );
    // A line into an arc: the circle of radius 4 about (20, 5) and the line y = 1 touch at (20, 1), so a slot with a
    // steeper wall is taken: the arc begins square to the line.
    check_in(
        &dialect(false, 2.0),
        "G0 X-10 Y1\nG41 D1 G1 X0 Y0\nX20\nG3 X10 Y10 I-10 J0\nG40 G1 X-30",
        "rapid -10,1; feed 0,1; feed 18.944272,1; ccw 10,9 about 10,0; feed -30,10",
    );
}

#[test]
fn a_space_too_narrow() {
    let narrow = "G0 X0 Y-10\nG41 D1 G1 X10 Y0\nX20\nX19.9 Y0.1\nX0 Y0.2\nG40 Y20";
    assert!(rules(narrow.as_bytes(), &dialect(false, 2.0)).contains(&"comp-gouge"));
}

/// Heights, torch and waits keep their place among the motions.
#[test]
fn events_keep_their_place() {
    check_in(
        &dialect(false, 2.0),
        "G0 X-10 Y-1 Z5\nG41 D1 G1 X0 Y0\nM3\nG4 P1\nG1 Z1\nG1 X0 Y10\nM5\nG40 G0 X-20",
        "rapid -10,-1 z 5; feed -1,0; on; dwell 1; feed -1,0 z 1; feed -1,10; off; rapid -20,10",
    );
}

/// Compensation that is on at power-up acts until the program turns it off.
#[test]
fn on_at_the_start() {
    let strict = Dialect::strict();
    let mut start = Start::usual(&strict);
    start.modal.comp = Comp::Right(1.0);
    let (motions, _) = run_from("G1 X0 Y-10\nY-20\nM2", &strict, &start);
    assert!((motions.motions()[1].to.x + 1.0).abs() < 1e-9);
    let (motions, _) = run_from("G40 G1 X0 Y-10\nY-20\nM2", &strict, &start);
    assert!(motions.motions()[1].to.x.abs() < 1e-12);
}
