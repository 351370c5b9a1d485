//! What controls differ in, each as data of the dialect (common practice).

use crate::run::{check_in, rules};
use nc::{Code, CommentForm, Dialect, Dwell, TorchOffActs};

#[test]
fn torch_words() {
    let dialect = Dialect {
        torch_on: vec![Code::new(b'M', 7), Code::tenth(b'G', 60, 1)],
        torch_off: vec![Code::new(b'M', 8)],
        ..Dialect::common()
    };
    check_in(&dialect, "M7\nG1 X1\nM8\nG60.1\nM08", "on; feed 1,0; off; on; off");
    check_in(&dialect, "M3\nG1 X1\nM5", "feed 1,0; !spindle-unused; !spindle-unused");
    check_in(&dialect, "M7 M8", "on; !codes-clash");
}

#[test]
fn torch_off_after_its_motion() {
    let dialect = Dialect { torch_off_acts: TorchOffActs::AfterMotion, ..Dialect::common() };
    check_in(&dialect, "M3\nG1 X1 M5\nG0 X2", "on; feed 1,0; off; rapid 2,0");
    check_in(&dialect, "M3\nM5 M30", "on; off; end");
}

#[test]
fn words_of_three_digits_and_other_letters() {
    let dialect = Dialect {
        torch_on: vec![Code::new(b'M', 150)],
        height_control_on: vec![Code::new(b'H', 1)],
        height_control_off: vec![Code::new(b'H', 0)],
        no_bearing: vec![Code::new(b'M', 800), Code::new(b'E', 5)],
        ..Dialect::common()
    };
    check_in(&dialect, "M150\nH1 G1 X1\nH0 M800 E5\nM800 M800", "on; height control; feed 1,0; height held");
    check_in(&dialect, "H2 E6", "!word-unknown; !word-unknown");
}

#[test]
fn dwell_words() {
    let dialect = Dialect {
        dwell: Dwell { code: Code::new(b'G', 9), letter: b'X', seconds_per_unit: 0.001 },
        ..Dialect::common()
    };
    check_in(&dialect, "G1 X1\nG9 X500\nX2", "feed 1,0; dwell 0.5; feed 2,0");
    check_in(&dialect, "G4 P1", "!word-unknown");
}

#[test]
fn process_words() {
    check_in(&Dialect::common(), "T3 M6\nG1 X1", "process 3; feed 1,0");
    let by_d = Dialect { process_letter: Some(b'd'), ..Dialect::common() };
    check_in(&by_d, "D12\nT3\nD1.5", "process 12; !number-out-of-range");
    let unnamed = Dialect { process_letter: None, ..Dialect::common() };
    check_in(&unnamed, "T3\nG1 X1", "feed 1,0");
}

#[test]
fn comment_forms() {
    check_in(&Dialect::common(), "G1 X1 ; to the end (and on\nX2 (mid) Y1 ;", "feed 1,0; feed 2,1");
    let own = Dialect { comments: vec![CommentForm::ToEndOfLine(b'\'')], ..Dialect::common() };
    check_in(&own, "G1 X1 'note ;(\nX2", "feed 1,0; feed 2,0");
    assert_eq!(rules(b"G1 X1 (a)", &own), ["character-unknown", "number-unreadable"]);
    let both = Dialect::common();
    let (program, _) = nc::Program::parse(&b"G1 (one) X1 ; two ( \xff"[..], &both);
    assert_eq!(program.comment(0).as_deref(), Some(" two ( \u{fffd}"));
}

#[test]
fn tool_lengths() {
    check_in(&Dialect::common(), "G43 H1\nG49\nG0 Z5", "rapid 0,0 z 5; !tool-length-unused");
}

/// A byte-order mark and the end-of-file mark of old systems are read over.
#[test]
fn marks_of_old_and_new_systems() {
    check_in(&Dialect::common(), "\u{feff}G1 X1\n\u{1a}", "feed 1,0");
}
