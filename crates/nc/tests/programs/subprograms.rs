//! Subprograms by the words of a dialect (common practice; not part of NISTIR 6556).

use crate::run::{check, check_in, rules};
use nc::{Code, Dialect, Motions, Program, Start, TouchOffBy};

const SQUARE: &str = "O100\nG91 G1 X10\nY10\nG90\nM99\n";

/// NISTIR 6556, tables 5 and 7, have neither M98 nor M99.
#[test]
fn the_standard_has_none() {
    check("M98 P100", "!word-unknown");
    check("O100", "!word-unknown");
}

#[test]
fn a_call_and_its_return() {
    check_in(
        &Dialect::common(),
        &format!("G0 X5\nM98 P100\nG0 X0\nM30\n{SQUARE}"),
        "rapid 5,0; call 100 pass 1; feed 15,0; feed 15,10; return 100 pass 1; rapid 0,10; end",
    );
}

/// A call comes after the motion of its block.
#[test]
fn a_call_after_a_motion() {
    check_in(
        &Dialect::common(),
        "G0 X5 M98 P1\nM30\nO1\nM3\nM99",
        "rapid 5,0; call 1 pass 1; on; return 1 pass 1; end",
    );
}

#[test]
fn repeats() {
    let text = |repeats: &str| format!("M98 P1 {repeats}\nM30\nO1\nG91 G1 X1\nM99");
    let once = "call 1 pass 1; feed 1,0; return 1 pass 1; end";
    check_in(&Dialect::common(), &text("L1"), once);
    check_in(&Dialect::common(), &text(""), once);
    check_in(&Dialect::common(), &text("L0"), "end");
    check_in(
        &Dialect::common(),
        &text("L2"),
        "call 1 pass 1; feed 1,0; return 1 pass 1; call 1 pass 2; feed 2,0; return 1 pass 2; end",
    );
    check_in(&Dialect::common(), &text("L-1"), "end; !number-out-of-range");
    check_in(&Dialect::common(), &text("L1.5"), "end; !number-out-of-range");
}

#[test]
fn calls_within_calls() {
    let text = "M98 P1 L2\nM30\nO1\nM98 P2\nM99\nO2\nG91 G1 X1\nM99";
    let dialect = Dialect::common();
    let (program, _) = Program::parse(text.as_bytes(), &dialect);
    let (motions, findings) = Motions::run(&program, &dialect, &Start::usual(&dialect));
    assert!(findings.is_empty());
    let paths: Vec<_> = motions
        .motions()
        .iter()
        .map(|motion| {
            let inner = motions.call(motion.call).expect("called");
            let outer = motions.call(inner.parent.expect("called from a call")).expect("called");
            assert_eq!(outer.parent, None);
            [(outer.subprogram, outer.pass, outer.block), (inner.subprogram, inner.pass, inner.block)]
        })
        .collect();
    assert_eq!(paths, [[(1, 1, 0), (2, 1, 3)], [(1, 2, 0), (2, 1, 3)]]);
    assert_eq!(motions.of_block(6).collect::<Vec<_>>(), [0, 1]);
    assert!(!motions.is_straight());
}

/// Where subprograms stand, and what the main program is.
#[test]
fn places_of_subprograms() {
    let body = "O1\nG91 G1 X1\nM99\n";
    let run = "call 1 pass 1; feed 1,0; return 1 pass 1";
    let common = Dialect::common();
    // After the main program, before it, within it.
    check_in(&common, &format!("M98 P1\nM30\n{body}"), &format!("{run}; end"));
    check_in(&common, &format!("{body}M98 P1\nM30\n"), &format!("{run}; end"));
    check_in(&common, &format!("G0 X0\n{body}M98 P1\nM30\n"), &format!("rapid 0,0; {run}; end"));
    // A label without a return is the main program's name.
    check_in(&common, &format!("%\nO5 (PLATE)\nM98 P1\nM30\n{body}%"), &format!("{run}; end"));
    // A text that is one subprogram is the main program.
    check_in(&common, "\nO1\nG91 G1 X1\nM99", "feed 1,0; !return-without-call");
    // Number and first words may share a block.
    check_in(&common, "M98 P1\nM30\nO1 G91 G1 X1\nM99", &format!("{run}; end"));
    // A skipped label is none.
    check_in(&common, &format!("M98 P1\nM30\n/O1\nG1 X5\nM99\n{body}"), &format!("{run}; end"));
}

#[test]
fn faults_of_calls() {
    let common = Dialect::common();
    check_in(&common, "M98 P7\nG1 X1\nM30", "feed 1,0; end; !subprogram-missing");
    check_in(&common, "M98\nG1 X1\nM30", "feed 1,0; end; !word-missing");
    check_in(&common, "M98 P1.5\nM30", "end; !number-out-of-range");
    check_in(&common, "G1 X1\nM99\nG1 X2", "feed 1,0; !return-without-call");
    check_in(
        &common,
        "M98 P1\nM30\nO1\nG1 X1\nO2\nG1 X2\nM99",
        "call 1 pass 1; feed 1,0; return 1 pass 1; end; !return-missing",
    );
    check_in(
        &common,
        "M98 P1\nM30\nO1\nG1 X1",
        "call 1 pass 1; feed 1,0; return 1 pass 1; end; !return-missing",
    );
    check_in(
        &common,
        "M98 P1\nM30\nO1\nG1 X1\nM99\nO1\nG1 X2\nM99",
        "call 1 pass 1; feed 1,0; return 1 pass 1; end; !subprogram-twice",
    );
}

#[test]
fn recursion() {
    let common = Dialect::common();
    check_in(
        &common,
        "M98 P1\nM30\nO1\nG1 X1\nM98 P1\nM99",
        "call 1 pass 1; feed 1,0; return 1 pass 1; end; !subprogram-recursive",
    );
    let round = "M98 P1\nM30\nO1\nM98 P2\nM99\nO2\nG91 G1 X1\nM98 P1\nM99";
    check_in(
        &common,
        round,
        "call 1 pass 1; call 2 pass 1; feed 1,0; return 2 pass 1; return 1 pass 1; end; !subprogram-recursive",
    );
}

/// Ten subprograms that each call the next ten times over, with and without motions in the innermost.
#[test]
fn expansion_bombs() {
    let bomb = |innermost: &str| {
        let levels: String =
            (1..10).map(|k| format!("O{k}\n{}M99\n", format!("M98 P{}\n", k + 1).repeat(10))).collect();
        format!("M98 P1\nM30\n{levels}O10\n{innermost}M99\n")
    };
    for text in
        [bomb(""), "M98 P1 L900000000\nM30\nO1\nM99".into(), "M98 P1 L900000000\nM30\nO1\n\n\n\nM99".into()]
    {
        assert_eq!(rules(text.as_bytes(), &Dialect::common()), ["expansion-too-long"]);
    }
}

/// Words of another control: its own call and return, letters for number and repeats.
#[test]
fn other_words() {
    let dialect = Dialect {
        call: Code::new(b'G', 65),
        call_target: b'Q',
        call_repeats: b'K',
        call_return: Code::new(b'M', 17),
        subprogram_letter: b'L',
        ..Dialect::common()
    };
    check_in(
        &dialect,
        "G65 Q3 K2\nM30\nL3\nG91 G1 X1\nM17",
        "call 3 pass 1; feed 1,0; return 3 pass 1; call 3 pass 2; feed 2,0; return 3 pass 2; end",
    );
}

/// A subprogram that finds the plate: in the text, or only in the control.
#[test]
fn touch_off_subprograms() {
    let dialect = Dialect { touch_off: vec![TouchOffBy::Subprogram(900)], ..Dialect::common() };
    check_in(&dialect, "M98 P900\nG0 Z4\nM30", "touched by call; rapid 0,0 top+4; end");
    check_in(
        &dialect,
        "M98 P900\nM30\nO900\nG38.2 Z-50 F100\nG92 Z0\nM99",
        "call 900 pass 1; probe 0,0 top+0; touched; return 900 pass 1; end",
    );
    check_in(
        &dialect,
        "M98 P900\nG0 Z4\nM30\nO900\n(the control does it)\nM99",
        "call 900 pass 1; touched by call; return 900 pass 1; rapid 0,0 top+4; end",
    );
}
