//! Order of execution within a block (NISTIR 6556, table 8), in the strict dialect.

use crate::run::{check, check_in, run};
use nc::Dialect;

/// Consequences of table 8, worked out.
#[test]
fn consequences() {
    check("M3\nG1 X10 M5", "on; off; feed 10,0");
    check("G1 X10 M3", "on; feed 10,0");
    check("G1 X1\nX10 G91", "feed 1,0; feed 11,0");
    check("G0 X1 G20", "rapid 25.4,0");
    check("M3 G4 P1", "on; dwell 1");
    check("G4 P1 M3", "on; dwell 1");
    check_in(&Dialect::strict(), "G1 X1 M2\nG1 X2", "feed 1,0; end");
    check("G1 X1 M0", "feed 1,0; stop");
    check("G1 X1 G55", "datum 0,0; feed 1,0");
    check("G2 X10 I5 G17 G90 M3 F100", "on; cw 10,0 about 5,0");
}

/// NISTIR 6556, table 8: F (step 3) acts before a change of units (step 12). Other controls know one unit a block.
#[test]
fn feed_and_units_in_one_block() {
    let feed = |dialect: &Dialect| {
        let (motions, findings) = run("G20 G1 X1 F10", dialect);
        assert!(findings.iter().any(|finding| finding.rule == "feed-before-units"));
        motions.modal(motions.motions()[0].modal).feed_mm_per_min
    };
    assert_eq!(feed(&Dialect::strict()), Some(10.0));
    assert_eq!(feed(&Dialect::common()), Some(254.0));
}

/// NISTIR 6556, B.2.3: compensation changes before the motion of its block.
#[test]
fn compensation_acts_first() {
    let dialect = Dialect { comp_widths: vec![(1, units::Length::from_mm(1.0))], ..Dialect::strict() };
    check_in(&dialect, "G41 D1 G1 Y4\nG40 G1 Y10\nM2", "feed -0.496078,3.9375; feed 0,10; end");
}

/// Words of this tool's trade come after what table 8 puts before them: touch-off, torch, height control, dwell.
#[test]
fn words_of_the_trade() {
    let dialect = Dialect {
        touch_off: vec![nc::TouchOffBy::Code(nc::Code::new(b'M', 20))],
        height_control_on: vec![nc::Code::new(b'M', 21)],
        ..Dialect::common()
    };
    check_in(
        &dialect,
        "G1 X5 M21 G4 P1 M3 M20 T2",
        "process 2; touched by control; on; height control; dwell 1; feed 5,0 z ?",
    );
}
