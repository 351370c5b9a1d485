//! Findings as they are printed, whole.

use super::{Manner, tally, told};
use crate::screen::Screen;
use desk::ShortText;
use expect_test::{Expect, expect};
use finding::{Finding, Level, Mend, MendSafety, Place, Span};
use units::{Length, System};

fn check(text: &str, findings: &[Finding], expected: &Expect) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let screen = Screen::plain(&mut out, &mut err);
    let manner = Manner { name: "bracket.nc", system: System::Metric, all: false, explained: true };
    let told = told(&screen, findings, &ShortText::new(text), manner);
    expected.assert_eq(&format!("{told}{}\n", tally(&screen, findings)));
}

#[test]
fn a_finding_shows_its_lines_the_plate_why_and_what_to_do() {
    let finding = Finding::new("torch-left-on", Level::Error, "the torch is still on when the program ends")
        .at(Span::new(30, 33), "ends here")
        .and_at(Span::new(4, 6), "torch on")
        .on_plate(Place { x: Length::from_mm(412.3), y: Length::from_mm(88.0) })
        .of_cut(2)
        .because("The arc burns on where the torch stands and takes the nozzle with it, and whoever reaches for the plate reaches into it.")
        .remedy("End the cut with the torch-off word of your control.")
        .mend(Mend {
            title: "insert a torch-off before the end".to_owned(),
            edits: Vec::new(),
            safety: MendSafety::Safe,
        });
    check(
        "G21\nM3\nG1 X5 F900\nG1 Y5\nG1 X0\nM30\n",
        &[finding],
        &expect![[r#"
            error[torch-left-on]: the torch is still on when the program ends
             --> bracket.nc:6:1
              |
            6 | M30
              | ^^^ ends here
              |
             ::: bracket.nc:2:1
              |
            2 | M3
              | -- torch on
              |
              = on the plate: cut 2, at X 412.3 Y 88 mm
              = why: The arc burns on where the torch stands and takes the nozzle with it, and whoever reaches
                     for the plate reaches into it.
              = remedy: End the cut with the torch-off word of your control.
              = mend: insert a torch-off before the end (the parts stay the same)
              = more: platewright explain torch-left-on

            1 error
        "#]],
    );
}

#[test]
fn a_finding_without_a_place_in_the_text_is_a_title_and_remarks() {
    let finding =
        Finding::new("program-unended", Level::Warning, "nothing ends the program").remedy("End with M30.");
    check(
        "G21\n",
        &[finding],
        &expect![[r#"
        warning[program-unended]: nothing ends the program
         |
         = remedy: End with M30.
         = more: platewright explain program-unended

        1 warning
    "#]],
    );
}

#[test]
fn what_repeats_is_counted() {
    let text = "M3\n".repeat(9);
    let findings: Vec<Finding> = (0..9)
        .map(|k| {
            Finding::new(
                "touch-off-missing",
                Level::Warning,
                format!("cut {} starts without a touch-off", k + 1),
            )
            .at(Span::new(3 * k, 3 * k + 2), "")
            .of_cut(k + 1)
        })
        .collect();
    check(
        &text,
        &findings,
        &expect![[r#"
            warning[touch-off-missing]: cut 1 starts without a touch-off
             --> bracket.nc:1:1
              |
            1 | M3
              | ^^
              |
              = on the plate: cut 1
              = more: platewright explain touch-off-missing

            warning[touch-off-missing]: cut 2 starts without a touch-off
             --> bracket.nc:2:1
              |
            2 | M3
              | ^^
              |
              = on the plate: cut 2

            warning[touch-off-missing]: cut 3 starts without a touch-off
             --> bracket.nc:3:1
              |
            3 | M3
              | ^^
              |
              = on the plate: cut 3

            … and 6 more findings of touch-off-missing, at cuts 4–9. Print them all with --all.

            9 warnings
        "#]],
    );
}

#[test]
fn a_long_line_and_foreign_bytes_are_fit_to_be_shown() {
    let text = format!("(Blech\u{1b}[2J)\n{}M3 X5 {}\n", "Y1 ".repeat(500), "Z2 ".repeat(500));
    let at = u32::try_from(13 + 1500).expect("a small number");
    let finding = Finding::new("torch-unpaired", Level::Error, "the torch is on already")
        .at(Span::new(at, at + 2), "on again")
        .and_at(Span::new(0, 3), "a comment");
    check(
        &text,
        &[finding],
        &expect![[r#"
        error[torch-unpaired]: the torch is on already
         --> bracket.nc:2:41
          |
        2 | Y1 Y1 Y1 Y1 Y1 Y1 Y1 Y1 Y1 Y1 Y1 Y1 Y1 M3 X5 Z2 Z2 Z2 Z2 Z2 Z2 Z2 Z2 Z2 Z2 Z2 Z2 Z2 Z2 Z2 Z2 ...
          |                                         ^^ on again
          |
         ::: bracket.nc:1:1
          |
        1 | (Blech�[2J)
          | --- a comment
          |
          = shown: a window of a long line, from its column 1462
          = more: platewright explain torch-unpaired

        1 error
    "#]],
    );
}
