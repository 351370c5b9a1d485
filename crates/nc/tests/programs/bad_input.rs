//! Texts that are wrong, large or no programs at all: a finding with its place, and reading goes on.

use crate::run::{check_in, rules, run};
use nc::{Dialect, Motions, Program, Start};

#[test]
fn no_program() {
    let common = Dialect::common();
    for text in ["", "\n\n", " \t\r\n"] {
        assert_eq!(rules(text.as_bytes(), &common), ["program-empty"], "{text:?}");
    }
    let binary: Vec<u8> = (0..=255).cycle().take(100_000).collect();
    let found = rules(&binary, &common);
    assert!(found.contains(&"program-binary"));
    assert!(found.len() < 2000, "a binary file gives {} findings", found.len());
}

/// Comments may hold any bytes, and so may the rest of the text without stopping the reading.
#[test]
fn other_bytes_than_text() {
    let common = Dialect::common();
    let text = b"G1 X1 (\xff\xfe\x80 caf\xc3\xa9) Y2\nX3 ; \xff\xfe\xc0\x80\n\xffG1 X4";
    let (program, findings) = Program::parse(&text[..], &common);
    assert_eq!(findings.iter().map(|finding| finding.rule).collect::<Vec<_>>(), ["character-unknown"]);
    let (motions, _) = Motions::run(&program, &common, &Start::usual(&common));
    assert_eq!(motions.motions().iter().map(|motion| motion.to.x).collect::<Vec<_>>(), [1.0, 3.0, 4.0]);
    assert_eq!(program.line(2).as_deref(), Some("X3 ; \u{fffd}\u{fffd}\u{fffd}\u{fffd}"));
}

/// Each finding points at its place and says what to do.
#[test]
fn findings_point_at_their_place() {
    let text = "G1 X10\nG1 X12..5 Y3 (fine)\nG1 Q7 M777 X1\nG2 X5 I[1/0] (open";
    let (_, findings) = run(text, &Dialect::common());
    let told: Vec<_> = findings
        .iter()
        .map(|finding| {
            assert!(!finding.remedy.is_empty() && !finding.message.is_empty());
            let label = finding.primary.as_ref().expect("a place");
            (finding.rule, &text[label.span.range()])
        })
        .collect();
    assert_eq!(
        told,
        [
            ("number-unreadable", "X12..5 "),
            ("comment-unclosed", "(open"),
            ("word-unknown", "M777"),
            ("expression-undefined", "I[1/0]"),
        ]
    );
}

#[test]
fn numbers_that_are_none() {
    let common = Dialect::common();
    for word in ["nan", "NaN", "inf", "-inf", "Infinity", "0x10", "1e5", "#nan", "[0/0]", "1_000", "１"] {
        let text = format!("G1 X{word} Y5");
        let found = rules(text.as_bytes(), &common);
        assert!(!found.is_empty(), "{text}");
        let (motions, _) = run(&text, &common);
        assert!(motions.motions().iter().all(|motion| motion.to.is_finite()), "{text}");
        assert!(motions.motions().iter().any(|motion| motion.to.y == 5.0), "{text}: the rest is read");
    }
    let long = format!("G1 X{} Y5", "1".repeat(50));
    check_in(&common, &long, "feed 0,5; !number-unreadable");
    check_in(&common, "G1 X99999999999 Y5", "feed 0,5; !number-out-of-range");
    check_in(&common, "G1 X[10**200] Y[10**300*10**300]", "!number-out-of-range; !expression-undefined");
}

/// A fault a million times over is told a hundred times, and then how many more there are.
#[test]
fn a_fault_in_every_line() {
    let text = "G1 X1 V5\n".repeat(10_000);
    let (_, findings) = Program::parse(text.as_bytes(), &Dialect::common());
    assert_eq!(findings.len(), 101);
    assert_eq!(
        findings.last().map(|finding| finding.message.as_str()),
        Some("9900 more of the same are not listed")
    );
}

/// A fault in a subprogram is told once, however often it runs.
#[test]
fn a_fault_that_runs_often() {
    check_in(
        &Dialect::common(),
        "M98 P1 L3\nM30\nO1\nG2 X0 Y0 R5\nM99",
        "call 1 pass 1; feed 0,0; return 1 pass 1; call 1 pass 2; feed 0,0; return 1 pass 2; call 1 pass 3; \
         feed 0,0; return 1 pass 3; end; !arc-impossible",
    );
}

/// A line of ten megabytes is read, be it comment, blanks, words, brackets or digits.
#[test]
fn long_lines() {
    let common = Dialect::common();
    let long = 10_000_000;
    for (line, rules_found) in [
        (format!("({})", "x".repeat(long)), vec![]),
        (" ".repeat(long), vec![]),
        ("X1".repeat(long / 2), vec!["word-twice"]),
        ("[".repeat(long), vec!["character-unknown"]),
        (format!("X{}", "[".repeat(long)), vec!["expression-unreadable"]),
        (format!("X{}", "1".repeat(long)), vec!["number-unreadable"]),
        (format!("X{}1", " ".repeat(long)), vec![]),
        ("#".repeat(long), vec!["expression-unreadable"]),
        ("-".repeat(long), vec!["number-unreadable"]),
        ("Q".repeat(long), vec!["number-unreadable"]),
        (format!("#1={}1", "1+".repeat(long / 2)), vec!["number-unreadable"]),
        (format!("#1=[{}1]", "1+".repeat(long / 2)), vec![]),
        ("%".repeat(long), vec!["percent-misplaced"]),
        ("/".repeat(long), vec!["slash-misplaced"]),
    ] {
        let mut found = rules(format!("G1 X1\n{line}\nG1 X2").as_bytes(), &common);
        found.dedup();
        let shown: String = line.chars().take(10).collect();
        assert_eq!(found, rules_found, "{shown}…");
    }
}

/// A million blocks and more are ordinary.
#[test]
fn a_large_program() {
    let text = "G1 X10 Y5\nG2 X20 Y5 I5 J0\nG1 X0 Y0\n".repeat(400_000);
    let (motions, findings) = run(&text, &Dialect::common());
    assert!(findings.is_empty());
    assert_eq!(motions.motions().len(), 1_200_000);
    assert!(motions.is_straight());
    assert_eq!(motions.of_block(700_000).collect::<Vec<_>>(), [700_000]);
}
