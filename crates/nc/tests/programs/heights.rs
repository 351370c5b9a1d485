//! Heights that hang on the plate's top, which a probe or a touch-off finds (NISTIR 6556, 3.5.9; common practice).

use crate::run::{check_in, trace};
use nc::{Code, Dialect, TouchOffBy};
use units::Length;

/// The ways in which programs take up the plate's top after a probe.
#[test]
fn after_a_probe() {
    let common = Dialect::common();
    let probed = "probe 0,0 top+0; touched";
    for (text, then) in [
        ("G92 Z0\nG0 Z3.8\nZ1.5", "rapid 0,0 top+3.8; rapid 0,0 top+1.5"),
        ("G0 Z[#5063+3.8]", "rapid 0,0 top+3.8"),
        ("#100=#5063\nG0 Z[#100+3.8]", "rapid 0,0 top+3.8"),
        ("#100=[#5063+2]\nG0 Z[#100-[1+#100]+#100]", "rapid 0,0 top+1"),
        ("G91 G0 Z3.8", "rapid 0,0 top+3.8"),
        ("G10 L2 P1 Z#5063\nG0 Z3.8", "rapid 0,0 top+3.8"),
        ("G92 Z-1\nG0 Z3", "rapid 0,0 top+4"),
        // A switch that trips 1 mm below: zero is set that far above the trip.
        ("G0 Z[2*#5063]", "rapid 0,0 z ?"),
        ("G0 Z[sin[#5063]]", "rapid 0,0 z ?"),
        ("G0 Z5", "rapid 0,0 z 5"),
    ] {
        check_in(&common, &format!("G38.2 Z-50 F100\n{text}"), &format!("{probed}; {then}"));
    }
}

/// Program Z set by G92 stays with the plate until it is taken away.
#[test]
fn datums_in_z() {
    check_in(
        &Dialect::common(),
        "G38.2 Z-50 F100\nG92 Z0\nG0 Z5\nG92.1\nG0 Z5",
        "probe 0,0 top+0; touched; rapid 0,0 top+5; rapid 0,0 z 5",
    );
    check_in(&Dialect::common(), "G0 Z10\nG92 Z0\nG0 Z5", "rapid 0,0 z 10; rapid 0,0 z 15");
}

#[test]
fn inches() {
    check_in(
        &Dialect::common(),
        "G20\nG38.2 Z-2 F10\n#1=#5063\nG0 Z[#1+0.1]",
        "probe 0,0 top+0; touched; rapid 0,0 top+2.54",
    );
}

/// A head that floats travels on after the tip has met the plate.
#[test]
fn probe_travel() {
    let dialect = Dialect { probe_travel: Length::from_mm(1.5), ..Dialect::common() };
    check_in(
        &dialect,
        "G38.2 Z-50 F100\nG92 Z-1.5\nG0 Z3.8",
        "probe 0,0 top-1.5; touched; rapid 0,0 top+3.8",
    );
}

/// X and Y must be known before the program runs.
#[test]
fn x_and_y_from_a_probe() {
    let common = Dialect::common();
    let probed = "probe 0,0 top+0; touched";
    check_in(&common, "G38.2 Z-50 F100\nG1 X#5063 Y2", &format!("{probed}; feed 0,2; !xy-from-probe"));
    check_in(&common, "G38.2 Z-50 F100\nG4 P#5063", &format!("{probed}; !value-from-probe"));
    check_in(&common, "G38.2 Z-50 F100\n#[#5063]=1", &format!("{probed}; !expression-undefined"));
    check_in(&common, "G38.2 X9 F100\nG1 X#5061", "probe 9,0; !xy-from-probe; !xy-from-probe");
    check_in(&common, "G38.2 X9 F100\nG1 Y#5062", "probe 9,0; feed 9,0; !xy-from-probe");
}

/// Touch-off by a word of the control, or by the torch-on word itself.
#[test]
fn touch_off_by_the_control() {
    let by_word = Dialect { touch_off: vec![TouchOffBy::Code(Code::new(b'M', 20))], ..Dialect::common() };
    check_in(&by_word, "M20\nG0 Z3.8\nM3", "touched by control; rapid 0,0 top+3.8; on");
    check_in(&by_word, "M20\nG1 X1", "touched by control; feed 1,0 z ?");
    let by_torch_on = Dialect {
        touch_off: vec![TouchOffBy::TorchOn],
        touch_off_leaves: Some(Length::from_mm(1.5)),
        ..Dialect::common()
    };
    check_in(
        &by_torch_on,
        "G0 Z20\nM3\nG1 X1\nM5",
        "rapid 0,0 z 20; touched by control; on; feed 1,0 top+1.5; off",
    );
}

/// Other words for probing: not modal.
#[test]
fn other_probe_words() {
    let dialect = Dialect { probe: vec![Code::new(b'G', 31)], ..Dialect::common() };
    check_in(&dialect, "G0 X5\nG31 Z-50 F100\nX6", "rapid 5,0; probe 5,0 top+0; touched; rapid 6,0");
    assert!(trace("G38.2 Z-50", &dialect).contains("!word-unknown"));
}
