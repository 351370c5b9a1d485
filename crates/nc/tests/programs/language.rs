//! Lines, words, numbers and comments (NISTIR 6556, 3.1 and 3.3), in the strict dialect.

use crate::run::{check, check_in, check_x, rules, trace};
use nc::{Dialect, Program};

/// NISTIR 6556, 3.3: blanks and tabs may stand anywhere outside comments.
#[test]
fn blanks_mean_nothing() {
    check("g0 x+0.1234 y7", "rapid 0.1234,7");
    check("g0x +0. 12 34y 7", "rapid 0.1234,7");
    check("G\t0 X\t+ 0 .12\t34 Y7", "rapid 0.1234,7");
}

/// NISTIR 6556, 3.3: case is ignored outside comments.
#[test]
fn case_means_nothing() {
    check("g1x1y2", "feed 1,2");
    check("G1X1Y2", "feed 1,2");
}

/// NISTIR 6556, 3.3: blank lines are allowed and ignored.
#[test]
fn blank_lines_mean_nothing() {
    check("\n  \t\nG1 X1\n\n", "feed 1,0");
}

/// NISTIR 6556, 3.3.1: a line number is N and at most five digits, and may repeat or be out of order.
#[test]
fn line_numbers() {
    check("N99999 G1 X1\nN5 X2\nN5 X3", "feed 1,0; feed 2,0; feed 3,0");
    check("n000009 G1 X1", "feed 1,0; !line-number-long");
    check("G1 X1 N5", "feed 1,0; !word-misplaced");
    check("N1.5 G1 X1", "feed 1,0; !number-unreadable");
}

/// NISTIR 6556, 3.3: a line has at most 256 characters.
#[test]
fn line_length() {
    let line = |length: usize| format!("G1 X1{}", " ".repeat(length - 5));
    check(&line(256), "feed 1,0");
    check(&line(257), "feed 1,0; !line-too-long");
}

/// NISTIR 6556, table 3 and E.3: E, O, U, V and W are no letters of the language; the others are.
#[test]
fn letters() {
    for letter in "EOUVW".chars() {
        check(&format!("G1 X1 {letter}2"), "feed 1,0; !word-unknown");
    }
    for letter in "DFHKLPQRST".chars() {
        check(&format!("G1 X1 {letter}2"), "feed 1,0");
    }
}

/// NISTIR 6556, 3.3.2.1: digits with at most one point and at least one digit; no exponent.
#[test]
fn numbers() {
    for (text, x) in
        [("1", 1.0), ("+1.", 1.0), ("-.5", -0.5), ("007.250", 7.25), ("0.1", 0.1), ("12345.6789", 12345.6789)]
    {
        check_x(&format!("G1 X{text}"), x, 0.0);
    }
    for text in ["", "+", "-", ".", "1.2.3", "--1", "+-1"] {
        check(&format!("G1 X{text} Y5"), "feed 0,5; !number-unreadable");
    }
    check("G1 X1E2 Y5", "feed 1,5; !word-unknown");
}

/// NISTIR 6556, 3.3.2.1: a number that must be whole may be off by 0.0001.
#[test]
fn whole_numbers() {
    check("G1.00001 X1", "feed 1,0");
    check("G0.99999 X1", "feed 1,0");
    check("G1.001 X1", "feed 1,0; !word-unknown");
    check("G10 L1.99995 P1 X3", "datum 3,0");
    check("G10 L1.9 P1 X3", "!number-out-of-range");
}

/// NISTIR 6556, 3.3.5: any number of G words, but not two of one modal group; every other letter once.
#[test]
fn words_of_a_block() {
    check("G21 G90 G17 G40 G94 G54 G61 G1 X1", "feed 1,0");
    check("G0 G1 X1", "rapid 1,0; !codes-clash");
    check("G1 X1 X2", "feed 1,0; !word-twice");
    check("M3 M4", "on; !codes-clash");
    check("M3 M8 M48 M6", "on");
    check("M3 M8 M48 M6 M0", "on; stop; !words-too-many");
}

/// NISTIR 6556, table 4: every pair of one group clashes; words of different groups do not.
#[test]
fn modal_groups() {
    let groups = [
        "G0 G1 G2 G3 G38.2 G80 G81 G89",
        "G17 G18 G19",
        "G90 G91",
        "G93 G94",
        "G20 G21",
        "G40 G41 G42",
        "G43 G49",
        "G98 G99",
        "G54 G55 G56 G57 G58 G59 G59.1 G59.2 G59.3",
        "G61 G61.1 G64",
        "G10 G28 G30 G53 G92 G92.1 G92.2 G92.3",
        "M0 M1 M2 M30 M60",
        "M3 M4 M5",
        "M7 M8 M9",
        "M48 M49",
    ];
    let strict = Dialect::strict();
    let clash = |a: &str, b: &str| rules(format!("{a} {b}").as_bytes(), &strict).contains(&"codes-clash");
    for (k, group) in groups.iter().enumerate() {
        let members: Vec<_> = group.split(' ').collect();
        for pair in members.windows(2) {
            assert!(clash(pair[0], pair[1]), "{} {}", pair[0], pair[1]);
        }
        for other in &groups[k + 1..] {
            let other = other.split(' ').next().unwrap_or_default();
            assert!(!clash(members[0], other), "{} {other}", members[0]);
        }
    }
    assert!(clash("G4 P1", "G92 X1"), "G4 belongs to group 0");
}

/// NISTIR 6556, 3.4: a motion and another code that both use the axis words of one line.
#[test]
fn two_codes_that_want_the_axes() {
    for code in ["G10 L2 P1", "G28", "G30", "G92"] {
        let text = format!("G1 {code} X1");
        assert!(rules(text.as_bytes(), &Dialect::strict()).contains(&"codes-clash"), "{text}");
    }
    check("G1\nG92 X1", "datum -1,0; !word-missing");
}

/// NISTIR 6556, 3.3.6: the order of words on a line means nothing.
#[test]
fn order_of_words() {
    let items = ["g40", "g1", "#3=15", "(foo)", "#4=-7.0"];
    let mut orders = vec![Vec::new()];
    for item in items {
        orders = orders
            .into_iter()
            .flat_map(|order: Vec<&str>| {
                (0..=order.len()).map(move |place| {
                    let mut longer = order.clone();
                    longer.insert(place, item);
                    longer
                })
            })
            .collect();
    }
    assert_eq!(orders.len(), 120);
    for order in orders {
        check(&format!("{}\nx#3 y#4", order.join(" ")), "feed 15,-7; !word-missing");
    }
}

/// NISTIR 6556, 3.3.4: comments do not nest and close on their line; two on a line are both checked.
#[test]
fn comments() {
    check("(left) G1 (in the middle) X1 (at the end)", "feed 1,0");
    check("G1 X(1)2", "!number-unreadable; !number-unreadable");
    check("G1 X1 (a (b) Y2", "feed 1,2; !comment-nested");
    check("G1 X1 (open\nX2", "feed 1,0; feed 2,0; !comment-unclosed");
    check("G1 X1 (good) (open", "feed 1,0; !comment-unclosed");
    check("G1 X1 ;", "feed 1,0; !character-unknown");
}

/// NISTIR 6556, 3.3.4 and 3.3.5: a message begins with `MSG,`, blanks and case mean nothing; the last comment counts.
#[test]
fn messages() {
    let message = |text: &str| {
        let (program, _) = Program::parse(text.as_bytes(), &Dialect::strict());
        program.message(0).map(std::borrow::Cow::into_owned)
    };
    assert_eq!(message("(MSG,turn the plate)").as_deref(), Some("turn the plate"));
    assert_eq!(message("( m s G , turn) G1 X1").as_deref(), Some(" turn"));
    assert_eq!(message("(MSG,first) (not one)"), None);
    assert_eq!(message("(first) (MSG,second)").as_deref(), Some("second"));
    assert_eq!(message("(a MSG, b)"), None);
}

/// NISTIR 6556, 3.1: a first `%` wants a second; past it nothing is read. Without either the program ends with M2 or
/// M30.
#[test]
fn percent_signs() {
    let strict = Dialect::strict();
    check_in(&strict, "\n%\nG1 X1\nM2\n%\nrubbish ((\nG1 X9", "feed 1,0; end");
    check_in(&strict, "%\nG1 X1\n%\n", "feed 1,0");
    check_in(&strict, "%\nG1 X1\nM2\n", "feed 1,0; end; !percent-unclosed");
    check_in(&strict, "G1 X1\n", "feed 1,0; !end-missing");
    check_in(&strict, "G1 X1\nM30\nG1 X2\n", "feed 1,0; end");
}

/// NISTIR 6556, 3.3: `/` first in a line marks it to be skipped.
#[test]
fn block_delete() {
    check("/ G1 X1\nG1 X2", "feed 2,0");
    let reads_all = Dialect { block_delete: false, ..Dialect::strict() };
    check_in(&reads_all, "/ G1 X1\nM2", "feed 1,0; end");
    check("G1 / X1", "feed 1,0; !slash-misplaced");
}

/// LF, CR LF and CR each end a line; block `k` is line `k + 1`.
#[test]
fn line_ends() {
    let dialect = Dialect::common();
    for text in ["G1 X1\nX2\n\nX3", "G1 X1\r\nX2\r\n\r\nX3\r\n", "G1 X1\rX2\r\rX3\r"] {
        let (program, _) = Program::parse(text.as_bytes(), &dialect);
        let lines: Vec<_> =
            (1..=5).map(|line| program.line(line).map(std::borrow::Cow::into_owned)).collect();
        let some = |text: &str| Some(text.to_owned());
        assert_eq!(lines, [some("G1 X1"), some("X2"), some(""), some("X3"), None], "{text:?}");
        assert_eq!(trace(text, &dialect), "feed 1,0; feed 2,0; feed 3,0");
        for (k, block) in program.blocks().iter().enumerate() {
            let line = u32::try_from(k + 1).expect("a few lines");
            assert_eq!(program.line_of(block.span.start), line);
            assert_eq!(program.line_of(block.span.end), line, "the line end belongs to its line");
        }
    }
}

/// Every number of a drawing's size is read as the nearest double, however it is written.
#[test]
fn numbers_are_exact() {
    arbtest::arbtest(|u| {
        let (mantissa, decimals): (u64, usize) = (u.arbitrary()?, u.int_in_range(0..=25)?);
        let mantissa = mantissa >> u.int_in_range(35..=63)?;
        let digits = format!("{mantissa:0>width$}", width = decimals + 1);
        let (whole, rest) = digits.split_at(digits.len() - decimals);
        let text = format!("{whole}.{rest}");
        if text.len() <= 40 {
            check_x(&format!("G1 X{text}"), text.parse().expect("a number"), 0.0);
        }
        Ok(())
    });
}
