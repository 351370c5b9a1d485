//! Arcs (NISTIR 6556, 3.5.3), in the strict dialect.

use crate::run::{check, check_in, run};
use nc::{ArcCenters, Dialect};

/// An arc as printed in the report or worked out from it: length and sweep with the centre.
#[track_caller]
fn check_arc(text: &str, center: [f64; 2], sweep_deg: f64, length_mm: f64, tolerance: f64) {
    let (motions, findings) = run(&format!("{text}\nM2"), &Dialect::strict());
    assert!(findings.is_empty(), "{text}: {findings:?}");
    let k = motions.motions().len() - 1;
    let geometry::Curve::Arc(arc) = motions.curve(k) else { panic!("{text}: no arc") };
    let figures = [
        ("centre x", arc.center.x, center[0]),
        ("centre y", arc.center.y, center[1]),
        ("sweep", arc.sweep_rad.to_degrees(), sweep_deg),
        ("length", arc.length_mm(), length_mm),
    ];
    for (name, found, expected) in figures {
        assert!((found - expected).abs() <= tolerance, "{text}: {name} is {found}, not {expected}");
    }
}

/// NISTIR 6556, 3.5.3.2 (the printed example) and C.1 (figures worked out from its lines).
#[test]
fn arcs_by_their_centre() {
    check_arc("G0 X7 Y7 Z9\nG17 G2 x10 y16 i3 j4 z9", [10.0, 11.0], -143.130_102, 12.490_458, 1e-6);
    check_arc("G0 X16 Y2.5\ng3 x13.5 y0 i-2.5", [13.5, 2.5], 270.0, 11.780_972, 1e-6);
    check_arc("G0 X32.5 Y0\ng2 x32.5 j2.5", [32.5, 2.5], -360.0, 15.707_963, 1e-6);
    check_arc("G0 X79.5 Y0\ng2 j2.5 y5", [79.5, 2.5], -180.0, 7.853_982, 1e-6);
}

/// NISTIR 6556, 3.5.3.1, C.1 and table 10; centres worked out.
#[test]
fn arcs_by_their_radius() {
    check("G17 G2 x10 y15 r20", "cw 10,15 about 19.855069,-2.403379");
    check("G17 G2 x10 y15 r-20", "cw 10,15 about -9.855069,17.403379");
    check("G17 G3 x10 y15 r20", "ccw 10,15 about -9.855069,17.403379");
    check_arc("G0 X64 Y4\ng2 x69 r4", [66.5, 0.877_501], -77.364_375, 5.401_052, 1e-6);
}

/// NISTIR 6556, table 10: a helical arc; centre and sweep printed or worked out.
#[test]
fn the_helix_of_the_printed_session() {
    check(
        "g1 x3 y1 f20.0\ng2 x[6-[4*3/2]] r 7.01 z0.5",
        "feed 3,1; cw 0,1 about 1.5,7.847635 z 0.5; !helix-unused",
    );
}

/// NISTIR 6556, 3.5.3.1: a positive radius gives at most half a circle, a negative one the rest.
#[test]
fn radius_signs() {
    for (text, least, most) in
        [("G2 X10 R6", 0.0, 180.0), ("G2 X10 R-6", 180.0, 359.999), ("G3 X10 R6", 0.0, 180.0)]
    {
        let (motions, _) = run(text, &Dialect::common());
        let geometry::Curve::Arc(arc) = motions.curve(0) else { panic!("no arc") };
        let sweep = arc.sweep_rad.to_degrees().abs();
        assert!((least..=most).contains(&sweep), "{text}: {sweep}");
    }
}

/// NISTIR 6556, 3.5.3.2: the radii may differ by 0.002 mm or 0.0002 inch.
#[test]
fn tolerance_of_the_centre() {
    check("G2 X10.0019 I5", "cw 10.0019,0 about 5,0");
    check("G2 X10.0021 I5", "cw 10.0021,0 about 5,0; !arc-inexact");
    check("G20\nG2 X2.00019 I1", "cw 50.804826,0 about 25.4,0");
    check("G20\nG2 X2.00021 I1", "cw 50.805334,0 about 25.4,0; !arc-inexact");
    check_in(&Dialect::common(), "G2 X10.049 I5", "cw 10.049,0 about 5,0");
    check_in(&Dialect::common(), "G2 X10.051 I5", "cw 10.051,0 about 5,0; !arc-inexact");
}

/// NISTIR 6556, 3.5.3.2 and 3.5.17: I and J are offsets from the start, under G90 as well.
#[test]
fn centres_are_offsets() {
    check("G90 G0 X10 Y10\nG3 X20 Y10 I5 J0", "rapid 10,10; ccw 20,10 about 15,10");
    check("G0 X10 Y10\nG91 G3 X10 Y0 I5 J0", "rapid 10,10; ccw 20,10 about 15,10");
}

/// NISTIR 6556, 3.5.3.1: errors of the radius form.
#[test]
fn radii_that_cannot_be() {
    check("G2 X0 Y0 R5", "feed 0,0; !arc-impossible");
    check("G2 X10 R4", "feed 10,0; !arc-impossible");
    check("G2 X10 R0", "feed 10,0; !arc-zero-radius");
    check("G2 X10 R5", "cw 10,0 about 5,0");
    // Half a circle whose radius was rounded down.
    check("G2 X10 R4.9995", "cw 10,0 about 5,0");
}

/// NISTIR 6556, 3.5.3: the words an arc must have.
#[test]
fn words_of_an_arc() {
    check("G2 I5 J0", "!word-missing");
    check("G2 X10", "feed 10,0; !word-missing");
    check("G2 Z1 I5", "cw 0,0 about 5,0 z 1; !helix-unused; !word-missing");
    check("G2 X10 I0 J0", "feed 10,0; !arc-zero-radius");
    // Most controls take a centre alone for a full circle.
    check_in(&Dialect::common(), "G2 I5 J0", "cw 0,0 about 5,0");
}

/// Centres as coordinates, by the control's habit or by its words.
#[test]
fn centres_as_coordinates() {
    let absolute = Dialect { arc_centers: ArcCenters::Absolute, ..Dialect::common() };
    let text = "G0 X10 Y10\nG3 X20 Y10 I15 J10";
    check_in(&absolute, text, "rapid 10,10; ccw 20,10 about 15,10");
    check_in(&Dialect::common(), &format!("G90.1\n{text}"), "rapid 10,10; ccw 20,10 about 15,10");
    check_in(
        &absolute,
        &format!("G91.1\n{}", text.replace("I15 J10", "I5 J0")),
        "rapid 10,10; ccw 20,10 about 15,10",
    );
    check_in(
        &Dialect::common(),
        "G90.1 G20\nG2 I1 J0\nG91.1\nG2 I1 J0",
        "cw 0,0 about 25.4,0; cw 0,0 about 25.4,0",
    );
}

/// NISTIR 6556, 3.5.6: other planes are recognised and said to be out of use.
#[test]
fn other_planes() {
    check("G18\nG2 X10 Z0 I5 K0", "feed 10,0; !plane-unused; !plane-unused");
    check("G18\nG1 X10\nG17\nG2 X20 I5", "feed 10,0; cw 20,0 about 15,0; !plane-unused");
}

#[test]
fn words_of_arcs_in_other_motions() {
    check("G1 X10 I5", "feed 10,0; !word-idle");
    check("G2 X10 I5 R5", "cw 10,0 about 5,0; !word-idle");
}
