//! Parameters and expressions (NISTIR 6556, 3.3.2.2 to 3.3.2.4, 3.3.3 and C.2), in the strict dialect.

use crate::run::{check, check_in, check_x};
use nc::Dialect;

/// NISTIR 6556, 3.3.2.3, 3.3.2.4 and C.2: printed values; where marked, worked out from the rule.
#[test]
#[expect(clippy::approx_constant, reason = "as printed")]
fn values() {
    for (expression, value, tolerance) in [
        ("[2.0 / 3 * 1.5 - 5.5 / 11.0]", 0.5, 1e-12),
        // Worked out: operators of one rank from left to right, so 64 and not 512.
        ("[2 ** 3 ** 2]", 64.0, 0.0),
        ("SIN[90]", 1.0, 1e-6),
        ("ATAN[2]/[1+3]", 26.565_051, 1e-6),
        ("[1 + 2]", 3.0, 0.0),
        ("[1 - 2]", -1.0, 0.0),
        ("[1 --3]", 4.0, 0.0),
        ("[2/5]", 0.40, 1e-12),
        ("[3.0 * 5]", 15.0, 1e-12),
        ("[0 OR 0]", 0.0, 0.0),
        ("[0 OR 1]", 1.0, 0.0),
        ("[2 or 2]", 1.0, 0.0),
        ("[0 AND 0]", 0.0, 0.0),
        ("[0 AND 1]", 0.0, 0.0),
        ("[2 and 2]", 1.0, 0.0),
        ("[0 XOR 0]", 0.0, 0.0),
        ("[0 XOR 1]", 1.0, 0.0),
        ("[2 xor 2]", 0.0, 0.0),
        ("[15 MOD 4.0]", 3.0, 0.0),
        ("[1 + 2 * 3 - 4 / 5]", 6.2, 1e-12),
        ("sin[30]", 0.5, 5e-5),
        ("cos[0.0]", 1.0, 5e-5),
        ("tan[60.0]", 1.7321, 5e-5),
        ("sqrt[3]", 1.7321, 5e-5),
        ("sqrt[3**2 + 4**2]", 5.0, 5e-5),
        ("atan[1.7321]/[1.0]", 60.0, 1e-3),
        ("asin[1.0]", 90.0, 1e-4),
        ("acos[0.707107]", 45.0, 1e-4),
        ("abs[20.0]", 20.0, 0.0),
        ("abs[-1.23]", 1.23, 0.0),
        ("round[-0.499]", 0.0, 0.0),
        ("round[-0.5001]", -1.0, 0.0),
        ("round[2.444]", 2.0, 0.0),
        ("round[9.975]", 10.0, 0.0),
        ("fix[-0.499]", -1.0, 0.0),
        ("fix[-0.5001]", -1.0, 0.0),
        ("fix[2.444]", 2.0, 0.0),
        ("fix[9.975]", 9.0, 0.0),
        ("fup[-0.499]", 0.0, 0.0),
        ("fup[-0.5001]", 0.0, 0.0),
        ("fup[2.444]", 3.0, 0.0),
        ("fup[9.975]", 10.0, 0.0),
        ("FIX[2.8]", 2.0, 0.0),
        ("FIX[-2.8]", -3.0, 0.0),
        ("FUP[2.8]", 3.0, 0.0),
        ("FUP[-2.8]", -2.0, 0.0),
        ("exp[2.3026]", 10.0, 1e-3),
        ("ln[10.0]", 2.3026, 1e-3),
        // The report prints the expression; its value was worked out apart.
        ("[2 + asin[1/2.1+-0.345] / [atan[fix[4.4] * 2.1 * sqrt[16.8]] /[-18]]**2]", 2.000_545_077_939, 1e-9),
        ("- 1 2 . 5", -12.5, 0.0),
        ("a b s [ - 3 ]", 3.0, 0.0),
    ] {
        check_x(&format!("G1 x {expression}"), value, tolerance);
    }
}

/// NISTIR 6556, 3.3.2.3: the form is printed; the value is worked out from it.
#[test]
fn expression_with_a_parameter() {
    check_x("#3=3\nG1 x[1 + acos[0] - [#3 ** [4.0/2]]]", 82.0, 1e-9);
}

/// NISTIR 6556, 3.3.2.2: how far a `#` reaches.
#[test]
fn parameter_numbers() {
    check_x("#1=10 #3=30\nG1 x[#1+2]", 12.0, 0.0);
    check_x("#1=10 #3=30\nG1 x#[1+2]", 30.0, 0.0);
    check_x("#2=7 #7=70\nG1 x##2", 70.0, 0.0);
}

/// NISTIR 6556, 3.3.3: settings act after all reads of the line.
#[test]
fn settings_act_after_reads() {
    check_x("#3=15\n#3=6 G1 x#3", 15.0, 0.0);
    check_x("#3=15\n#3=6 G1 x#3\nx#3", 6.0, 0.0);
}

/// NISTIR 6556, 3.3.6: settings of one line act in their order.
#[test]
fn settings_act_in_order() {
    check_x("#3=15 #3=6\nG1 x#3", 6.0, 0.0);
    check_x("#3=6 #3=15\nG1 x#3", 15.0, 0.0);
}

/// NISTIR 6556, C.2: the printed session of settings.
#[test]
fn printed_settings() {
    let first = "G1 x [2 ** 3.0] #1=2.0";
    check_x(first, 8.0, 0.0);
    check_x(&format!("{first}\nx#1"), 2.0, 0.0);
    check_x(&format!("{first}\n##1 = 0.375\nx #2"), 0.375, 0.0);
    let second = "#3=7.0\nG1 #3=5.0 x #3";
    check_x(second, 7.0, 0.0);
    check_x(&format!("{second}\nx #3 #3=1.1"), 5.0, 0.0);
    check_x(&format!("{second}\nx #3 #3=1.1\nx#3"), 1.1, 0.0);
}

/// NISTIR 6556, 3.2.1: parameters 1 to 5399 may be used.
#[test]
fn parameters_that_exist() {
    check("#1=4 #5399=5\nG1 X#1 Y#5399", "feed 4,5");
    for index in ["0", "5400", "-1", "1.5", "[1/3]", "99999999999"] {
        check(&format!("#{index}=5\nG1 X3"), "feed 3,0; !expression-undefined");
    }
}

#[test]
fn expressions_without_a_value() {
    for expression in [
        "[1/0]",
        "[5 mod 0]",
        "sqrt[-1]",
        "ln[0]",
        "acos[1.01]",
        "asin[-2]",
        "[-8 ** 0.5]",
        "[0 ** -1]",
        "exp[999]",
    ] {
        check(&format!("G1 X{expression} Y5"), "feed 0,5; !expression-undefined");
    }
}

/// NISTIR 6556, table 10: `asim` is no function of the language.
#[test]
fn expressions_that_cannot_be_read() {
    for expression in [
        "asim[0.5]",
        "[1+",
        "[1 2 +]",
        "[]",
        "[1+2",
        "sin 30",
        "atan[1]",
        "[1 nor 2]",
        "#",
        "##",
        "[1]]",
        "-[5]",
    ] {
        let text = format!("G1 Y5 X{expression}");
        let findings = crate::run::rules(text.as_bytes(), &Dialect::strict());
        assert!(!findings.is_empty(), "{text}");
    }
    check("G1 X asim[0.5] Y5", "feed 0,5; !expression-unreadable");
    check("#3 5\nG1 X1", "feed 1,0; !expression-unreadable");
}

/// A minus before what is no number is not of the standard, but common.
#[test]
fn minus_before_a_bracket() {
    check_in(&Dialect::common(), "#1=5\nG1 X-#1 Y-[2+3]\nX-sin[90]", "feed -5,-5; feed -1,-5");
    check("G1 X-[5]", "!expression-unreadable");
}

/// A parameter that the program has not set hangs on what the control holds.
#[test]
fn parameters_never_set() {
    check("G1 X#100", "feed 0,0; !parameter-unset");
    check("G1 X#5220", "feed 1,0");
}

/// Nesting deeper than anyone needs ends in a finding, not in a stack that overflows.
#[test]
fn deep_nesting() {
    for text in [
        format!("G1 X{}1", "[".repeat(100_000)),
        format!("G1 X{}1", "#".repeat(100_000)),
        format!("G1 X{}1", "sin[".repeat(100_000)),
        format!("G1 X{}1{}", "[".repeat(60), "]".repeat(60)),
    ] {
        let deep = text.len() > 1000;
        let findings = crate::run::rules(text.as_bytes(), &Dialect::common());
        assert_eq!(findings.contains(&"expression-unreadable"), deep, "{findings:?}");
    }
}
