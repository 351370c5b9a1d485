//! States in which a control may stand before the first block; each makes its difference, and the program's own words
//! take it away.

use crate::run::{run_from, trace_of};
use nc::{ArcCenters, Dialect, Distance, Height, HeightBase, MotionKind, Start, Units};

/// A program that sets nothing itself.
const BARE: &str = "G1 X10 Y5 Z2 F100\nX20\nG2 X30 I5";
/// The same with all that it needs.
const SAFE: &str = "G21\nG17 G40 G90 G91.1 G94 G54\nG92.1\nG1 X10 Y5 Z2 F100\nX20\nG2 X30 I5";

#[track_caller]
fn check(spoil: impl Fn(&mut Start), bare: &str) {
    let dialect = Dialect::common();
    let mut start = Start::usual(&dialect);
    spoil(&mut start);
    let trace = |text: &str| {
        let (motions, findings) = run_from(text, &dialect, &start);
        trace_of(&motions, &findings)
    };
    assert_eq!(trace(BARE), bare);
    let safe = trace(SAFE);
    assert!(safe.ends_with("feed 10,5 z 2; feed 20,5; cw 30,5 about 25,5"), "{safe}");
}

#[test]
fn every_field_acts() {
    check(|_| {}, "feed 10,5 z 2; feed 20,5; cw 30,5 about 25,5");
    check(
        |start| start.modal.units = Units::Inches,
        "feed 254,127 z 50.8; feed 508,127; cw 762,127 about 635,127",
    );
    check(
        |start| {
            start.modal.distance = Distance::Incremental;
            start.at = geometry::Point::new(1.0, 2.0);
        },
        "feed 11,7 z 2; feed 31,7; cw 61,7 about 36,7; !arc-inexact",
    );
    check(
        |start| start.modal.arc_centers = ArcCenters::Absolute,
        "feed 10,5 z 2; feed 20,5; cw 30,5 about 5,5; !arc-inexact",
    );
    check(|start| start.plane = 18, "feed 10,5 z 2; feed 20,5; feed 30,5; !plane-unused");
    check(
        |start| {
            start.modal.shift_mm = [100.0, 0.0];
            start.z_shift_mm = 3.0;
        },
        "feed 110,5 z 5; feed 120,5; cw 130,5 about 125,5",
    );
    check(
        |start| {
            start.modal.system = 2;
            start.origins_mm[1] = [100.0, 50.0];
            start.modal.shift_mm = [100.0, 50.0];
        },
        "feed 110,55 z 2; feed 120,55; cw 130,55 about 125,55",
    );
    check(
        |start| start.inverse_time = true,
        "feed 10,5 z 2; feed 20,5; cw 30,5 about 25,5; !word-missing; !word-missing",
    );
}

#[test]
fn motion_in_force() {
    let dialect = Dialect::common();
    for (motion, expected) in [
        (Some(MotionKind::Rapid), "rapid 10,0"),
        (Some(MotionKind::Feed), "feed 10,0"),
        (Some(MotionKind::ArcCw), "feed 10,0; !word-missing"),
        (Some(MotionKind::Probe), "probe 10,0; !xy-from-probe"),
        (None, "!motion-mode-missing"),
    ] {
        let mut start = Start::usual(&dialect);
        start.modal.motion = motion;
        let (motions, findings) = run_from("X10", &dialect, &start);
        assert_eq!(trace_of(&motions, &findings), expected);
    }
}

#[test]
fn feeds_heights_and_parameters() {
    let dialect = Dialect::common();
    let mut start = Start::usual(&dialect);
    start.modal.feed_mm_per_min = Some(1234.0);
    start.z = Height { base: HeightBase::PlateTop, mm: 4.0 };
    start.unset_parameter = 7.0;
    start.modal.torch = true;
    start.modal.height_control = true;
    start.modal.process = Some(3);
    let (motions, _) = run_from("G91 G1 X#100 Z1", &dialect, &start);
    let motion = motions.motions()[0];
    assert_eq!([motion.to.x, motion.to.y], [7.0, 0.0]);
    assert_eq!(motion.z, Height { base: HeightBase::PlateTop, mm: 5.0 });
    let modal = motions.modal(motion.modal);
    assert_eq!(modal.feed_mm_per_min, Some(1234.0));
    assert!(modal.torch && modal.height_control);
    assert_eq!(modal.process, Some(3));
    start.z = Height { base: HeightBase::Unknown, mm: 0.0 };
    let (motions, _) = run_from("G91 G1 Z25", &dialect, &start);
    assert_eq!(motions.motions()[0].z, Height { base: HeightBase::Unknown, mm: 25.0 });
}

/// What the program has set itself is told apart from what it found.
#[test]
fn known_values() {
    let dialect = Dialect::common();
    let (motions, _) = run_from(SAFE, &dialect, &Start::usual(&dialect));
    let before = |line: u32| *motions.modal_before(line - 1).expect("the line runs");
    assert_eq!(before(1).known, nc::Known::default());
    assert!(before(2).known.units && !before(2).known.distance);
    let third = before(3).known;
    assert!(third.distance && third.plane && third.comp && third.arc_centers && third.feed_mode);
    assert!(!third.feed && !third.motion && !third.x && !third.y);
    let fifth = before(5).known;
    assert!(fifth.feed && fifth.motion && fifth.x && fifth.y);
    assert!(motions.modal_before(6).is_none(), "there is no line 7");
}

#[test]
fn the_state_before_a_line() {
    let dialect = Dialect::common();
    let text = "G21 G90\nT1\nF100 G0 X1\nM3\n\nG20 M5\nM30\nG1 X9";
    let (motions, _) = run_from(text, &dialect, &Start::usual(&dialect));
    let before = |line: u32| motions.modal_before(line - 1);
    assert_eq!(before(3).and_then(|modal| modal.process), Some(1));
    assert_eq!(before(4).and_then(|modal| modal.feed_mm_per_min), Some(100.0));
    assert_eq!(before(4).and_then(|modal| modal.motion), Some(MotionKind::Rapid));
    assert_eq!(before(5).map(|modal| modal.torch), Some(true));
    assert_eq!(before(7).map(|modal| (modal.torch, modal.units)), Some((false, Units::Inches)));
    assert!(before(8).is_none(), "what stands after the end never runs");
}
