//! Units, distance modes, coordinate systems, offsets, homing and probing (NISTIR 6556, 3.5), in the strict dialect.

use crate::run::{check, check_in, run};
use nc::{Comp, Dialect, Distance, MotionKind};

/// NISTIR 6556, 3.5.7.
#[test]
fn units() {
    check("G20 G1 X1 Y-0.5", "feed 25.4,-12.7");
    check("G1 X1\nG20\nG1 Y1\nG21\nG1 X2", "feed 1,0; feed 1,25.4; feed 2,25.4");
    check("G20 G91 G1 X1\nX1", "feed 25.4,0; feed 50.8,0");
}

/// NISTIR 6556, B.5 and 3.5.7: units do not change while compensation is on.
#[test]
fn units_under_compensation() {
    check("G41 D0\nG20", "!word-misplaced");
    check("G41 D0\nG21\nG40\nG20", "");
}

/// NISTIR 6556, 3.5.17.
#[test]
fn distance_modes() {
    check("G91 G1 X1 Y2\nX1\nG90 X0", "feed 1,2; feed 2,2; feed 0,2");
}

/// NISTIR 6556, 3.5.13 and 3.5.5: nine systems, whose origins G10 L2 sets outright.
#[test]
fn coordinate_systems() {
    let words = ["G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3"];
    for (k, word) in words.iter().enumerate() {
        let system = k + 1;
        let (motions, findings) =
            run(&format!("G10 L2 P{system} X10 Y{system}\n{word}\nG1 X1 Y0"), &Dialect::common());
        assert!(findings.is_empty(), "{findings:?}");
        let motion = motions.motions()[0];
        assert_eq!(
            [motion.to.x, motion.to.y],
            [11.0, f64::from(motions.modal(motion.modal).system)],
            "{word}"
        );
        assert_eq!(usize::from(motions.modal(motion.modal).system), system);
    }
    check("G10 L2 P2 X3.5 Y17.2\nG55 G1 X1 Y1", "datum 3.5,17.2; feed 4.5,18.2");
    check("G10 L2 P1 X3.5 Y17.2\nG10 L2 P1 Y1\nG1 X1 Y1", "datum 3.5,17.2; datum 3.5,1; feed 4.5,2");
    check("G10 L2 P0 X1", "!number-out-of-range");
    check("G10 L2 P10 X1", "!number-out-of-range");
    check("G10 L2 X1", "!word-missing");
    check("G41 D0\nG55", "datum 0,0; !word-misplaced");
}

/// Parameters 5221 and on hold the origins (NISTIR 6556, 3.2.1); one set there acts when its system is next chosen.
#[test]
fn origins_in_parameters() {
    check("G10 L2 P3 X3.5 Y17.2\nG1 X#5261 Y#5262", "feed 3.5,17.2");
    check("#5241=100 #5242=50\nG55\nG1 X1 Y1", "datum 100,50; feed 101,51");
    check("#5221=100\nG1 X1\nG54\nG1 X1", "feed 1,0; datum 100,0; feed 101,0");
    check("G56\nG1 X#5220", "datum 0,0; feed 3,0");
}

/// A system that is chosen on the way but never set lies nobody knows where.
#[test]
fn systems_not_set() {
    check("G55\nG1 X1", "datum 0,0; feed 1,0");
    check("G1 X1\nG55\nG1 X2", "feed 1,0; datum 0,0; feed 2,0; !datum-unknown");
}

/// NISTIR 6556, 3.5.18: the printed example.
#[test]
fn g92() {
    check("G0 X4\nG92 X7\nG0 X7", "rapid 4,0; datum -3,0; rapid 4,0");
    check("G0 X4\nG92 X7\nG92 X9\nG0 X9", "rapid 4,0; datum -3,0; datum -5,0; rapid 4,0");
    check("G0 X4\nG92 X7\nG1 X#5211", "rapid 4,0; datum -3,0; feed -6,0");
    check("G0 X4\nG92 X7\nG92 X9\nG1 X#5211", "rapid 4,0; datum -3,0; datum -5,0; feed -10,0");
}

/// NISTIR 6556, 3.5.18: G92.1 to G92.3.
#[test]
fn taking_offsets_away_and_back() {
    let start = "G0 X4\nG92 X7";
    let shown = "rapid 4,0; datum -3,0; datum 0,0";
    check(&format!("{start}\nG92.1\nG1 X1\nG92.3\nG1 X1"), &format!("{shown}; feed 1,0; feed 1,0"));
    check(&format!("{start}\nG92.1\nG1 X#5211"), &format!("{shown}; feed 0,0"));
    check(
        &format!("{start}\nG92.2\nG1 X1\nG92.3\nG1 X1"),
        &format!("{shown}; feed 1,0; datum -3,0; feed -2,0"),
    );
    check(&format!("{start}\nG92.2\nG1 X#5211"), &format!("{shown}; feed -3,0"));
}

/// NISTIR 6556, 3.5.18: no other mode changes G92, it lies over every system, and wants an axis word.
#[test]
fn g92_beside_other_modes() {
    check("G91\nG1 X4\nG92 X7\nG90 X7", "feed 4,0; datum -3,0; feed 4,0");
    check("G0 X4\nG92 X7\nG10 L2 P2 X100\nG55\nG1 X0", "rapid 4,0; datum -3,0; datum 97,0; feed 97,0");
    check("G20 G0 X1\nG92 X0\nG1 X1", "rapid 25.4,0; datum 25.4,0; feed 50.8,0");
    check("G92", "!word-missing");
}

/// NISTIR 6556, 3.5.8: G28 goes by way of the block's place to the stored one.
#[test]
fn homing() {
    check("G28 X5 Y6", "rapid 5,6; home 5,6 z ?");
    check("G28\nG0 X1 Y1\nG1 X2", "home 0,0 z ?; rapid 1,1; feed 2,1");
    check("G28\nG1 X2", "home 0,0 z ?; feed 2,0; !place-unknown");
    check("G30 X5\nG91 G1 X2", "rapid 5,0; home 5,0 z ?; feed 7,0; !place-unknown");
    // Tables send only the axes named: common practice.
    check_in(
        &Dialect::common(),
        "G0 X1 Y2\nG28 G91 Z0\nG1 X2",
        "rapid 1,2; rapid 1,2; home 1,2 z ?; feed 3,2",
    );
}

/// NISTIR 6556, 3.5.12: G53 takes coordinates of the machine, which the program does not tell.
#[test]
fn machine_coordinates() {
    check("G53 G0 Z0\nG0 X1", "rapid 0,0 z ?; rapid 1,0");
    check("G53 G0 X100 Y100\nG1 X1", "home 0,0; feed 1,0; !place-unknown");
    check("G53 G0 X100 Y100\nG0 X1 Y1\nG1 X2", "home 0,0; rapid 1,1; feed 2,1");
}

/// NISTIR 6556, 3.5.9.1: what stands against a probe, and where it stops.
#[test]
fn probing() {
    check("G38.2 Z-50 F100", "probe 0,0 top+0; touched");
    check("G38.2 F100", "!word-missing");
    check("G38.2 Z-0.2 F100", "probe 0,0 top+0; touched; !number-out-of-range");
    check("G38.2 Z-0.26 F100", "probe 0,0 top+0; touched");
    check("G41 D0\nG38.2 Z-50 F100", "probe 0,0 top+0; touched; !word-misplaced");
    check("G93\nG38.2 Z-50 F100", "probe 0,0 top+0; touched; !feed-mode-unused; !word-misplaced");
    check("G0 X3 Y4\nG38.2 Z-50 F100\nG1 X#5061 Y#5062", "rapid 3,4; probe 3,4 top+0; touched; feed 3,4");
}

/// NISTIR 6556, 3.5.19: under G93 a motion takes 1/F minutes, and each has its own F.
#[test]
fn inverse_time() {
    let (motions, _) = run("G93 G1 X30 F2\nG2 X50 I10 F2\nG94 F100 G1 X0", &Dialect::strict());
    let feeds: Vec<_> = motions.motions().iter().map(|m| motions.modal(m.modal).feed_mm_per_min).collect();
    let half_circle = 10.0 * std::f64::consts::PI;
    // Half a minute each: length over speed.
    assert!((30.0 / feeds[0].expect("a feed") - 0.5).abs() < 1e-12);
    assert!((half_circle / feeds[1].expect("a feed") - 0.5).abs() < 1e-12);
    assert_eq!(feeds[2], Some(100.0));
    check("G93 G1 X1", "feed 1,0; !feed-mode-unused; !word-missing");
    check("G93 G0 X1", "rapid 1,0; !feed-mode-unused");
}

/// NISTIR 6556, 3.5.4: seconds, and not negative.
#[test]
fn dwells() {
    check("G4 P0.5", "dwell 0.5");
    check("G4 P-0.5", "!number-out-of-range");
    check("G4", "!word-missing");
}

/// NISTIR 6556, 3.6.1: what M2 and M30 leave behind.
#[test]
fn effects_of_the_end() {
    for end in ["M2", "M30"] {
        let text = format!("G10 L2 P2 X7\nG55 G18 G91 G93 G41 D0\nG92 X9\nM3\nG0\n{end}");
        let (motions, _) = run(&text, &Dialect::strict());
        let last = motions.events().last().expect("the end is an event");
        assert_eq!(last.kind, nc::EventKind::End);
        let modal = motions.modal(last.modal);
        assert_eq!(modal.system, 1);
        assert_eq!(modal.shift_mm, [0.0, 0.0]);
        assert_eq!(modal.distance, Distance::Absolute);
        assert_eq!(modal.comp, Comp::Off);
        assert_eq!(modal.motion, Some(MotionKind::Feed));
        assert!(!modal.torch);
    }
}

/// NISTIR 6556, 3.5.16.2: canned cycles are recognised; the way in X and Y is that of the printed drill examples.
#[test]
fn canned_cycles() {
    let end = |text: &str| {
        let (motions, findings) = run(text, &Dialect::strict());
        assert!(findings.iter().any(|finding| finding.rule == "cycle-unused"), "{findings:?}");
        let to = motions.motions().last().expect("a motion").to;
        [to.x, to.y]
    };
    assert_eq!(end("G0 X1 Y2 Z3\nG90 G81 G98 X4 Y5 Z1.5 R2.8"), [4.0, 5.0]);
    assert_eq!(end("G0 X1 Y2 Z3\nG91 G81 G98 X4 Y5 Z-0.6 R1.8 L3"), [13.0, 17.0]);
    assert_eq!(end("G1 X30 Y1\ng91 g81 g98 x3 y2 z-0.8 r1.5 l2"), [36.0, 5.0]);
}

/// NISTIR 6556, 3.5.15: G80 ends the motion in force.
#[test]
fn no_motion_in_force() {
    check("G1 X1\nG80\nX2", "feed 1,0; !motion-mode-missing");
    check("G1 X1\nG80\nG92 X2", "feed 1,0; datum -1,0");
}
