//! Bad programs get a clear message with place and remedy and their exit status, and leave nothing half-written.

use crate::bad_input::{BRACKET, PLATE, check};
use crate::folder::{Folder, Ran};
use expect_test::{Expect, expect};

fn check_program(bytes: &[u8], expected: &Expect) {
    let folder = Folder::new();
    folder.put("plate.nc", bytes);
    check(&folder, &["rescue", "plate.nc", "--cut", "1", "--out", "out"], expected);
}

#[test]
fn an_empty_file() {
    check_program(
        b"",
        &expect![[r#"
        status 3
        --- err
        error: the program plate.nc: the file is empty
        remedy: write it again from the CAM program and see that its disk is not full
    "#]],
    );
}

#[test]
fn a_binary_file() {
    let bytes: Vec<u8> = (0..4096_u32).map(|k| u8::try_from(k * k % 251).expect("below 251")).collect();
    check_program(
        &bytes,
        &expect![[r#"
        status 3
        --- err
        error: the program plate.nc: it is a binary file, not a program's text
        remedy: name the program that the control runs, not a drawing, a job of the CAM program or an
          archive
    "#]],
    );
}

#[test]
fn a_file_saved_in_two_bytes_a_letter() {
    check_program(
        b"\xFF\xFEG\x002\x001\x00",
        &expect![[r#"
        status 3
        --- err
        error: the program plate.nc: it is UTF-16 text
        remedy: save it as plain text (ASCII or UTF-8), as a control reads it
    "#]],
    );
}

/// Runs check on a program and takes the answer.
fn answer(bytes: impl AsRef<[u8]>) -> Ran {
    let folder = Folder::new();
    folder.put("plate.nc", bytes);
    folder.run_with(&[&["check", "plate.nc"][..], &PLATE].concat())
}

#[test]
fn two_hundred_megabytes_are_read() {
    let filler = format!("({})\n", "filler ".repeat(140));
    let filler = filler.repeat(200_000_000 / filler.len() + 1);
    let ran = answer(format!("{filler}{BRACKET}"));
    assert_eq!(ran.status, 0, "{}", ran.told());
    assert!(ran.out.contains("3 cuts"), "{}", ran.out);
}

#[test]
fn a_line_of_ten_megabytes_is_read_and_shown_cut() {
    let ran = answer(BRACKET.replacen("M5\n", &format!("{}Q0 M5\n", "G1 F1400 ".repeat(1_200_000)), 1));
    assert!(ran.out.contains("3 cuts"), "{}", &ran.out[..ran.out.len().min(4000)]);
    assert!(ran.out.len() < 20_000, "the line is not printed whole");
}

#[test]
fn an_unclosed_comment() {
    let ran = answer(BRACKET.replacen("(cut 1: hole)", "(cut 1: hole", 1));
    expect![[r#"
        status 1
        --- out
        error[comment-unclosed]: the comment has no closing `)` on its line
         --> plate.nc:4:1
          |
        4 | (cut 1: hole
          | ^^^^^^^^^^^^
          |
          = remedy: close it: what follows it on this line was not read
          = more: platewright explain comment-unclosed

        plate.nc: 1 error

          Cuts     3 cuts: 1 outline, 2 holes; 1 part
          Way      0.60 m cut, 0.33 m travelled
          Time     28.16 s at the program's feeds, without acceleration and rapids
          Kerf     1.5 mm, assumed; measure yours and give it with --kerf

        Not checked, because nobody has told:
          height at which the torch may cross loose pieces (`[table] safe_height` in the shop file):
            low-travel, travel-over-loose-piece
          acceleration of the table (`[table] acceleration` in the shop file): corner-slow
          how many blocks the control reads in a second (`[table] blocks_per_second` in the shop file):
            blocks-starve-control
          starts on the fitted set and how many it lasts (`[fitted] starts` and `life_starts` in the shop
            file): consumables-spent
          which process is run (`--process`, or `process` in the job file): duty-cycle-over,
            process-not-fitted, speed-off-chart
          chart of the process (`[[process.chart]]` in the shop file): speed-off-chart
          and 8 more facts; --json lists them

        What would add most: height at which the torch may cross loose pieces, told by `[table] safe_height`
          in the shop file.
    "#]]
    .assert_eq(&ran.told());
}

#[test]
fn a_subprogram_that_calls_itself() {
    let ran = answer(format!("M98 P7\n{BRACKET}O7\nM98 P7\nM99\n"));
    expect![[r#"
        status 1
        --- out
        error[subprogram-recursive]: subprogram 7 calls itself, directly or through others
          --> plate.nc:45:1
           |
        45 | M98 P7
           | ^^^^^^
           |
           = remedy: take the call away; it was left out
           = more: platewright explain subprogram-recursive

        plate.nc: 1 error

          Cuts     3 cuts: 1 outline, 2 holes; 1 part
          Way      0.60 m cut, 0.33 m travelled
          Time     28.16 s at the program's feeds, without acceleration and rapids
          Kerf     1.5 mm, assumed; measure yours and give it with --kerf

        Not checked, because nobody has told:
          height at which the torch may cross loose pieces (`[table] safe_height` in the shop file):
            low-travel, travel-over-loose-piece
          acceleration of the table (`[table] acceleration` in the shop file): corner-slow
          how many blocks the control reads in a second (`[table] blocks_per_second` in the shop file):
            blocks-starve-control
          starts on the fitted set and how many it lasts (`[fitted] starts` and `life_starts` in the shop
            file): consumables-spent
          which process is run (`--process`, or `process` in the job file): duty-cycle-over,
            process-not-fitted, speed-off-chart
          chart of the process (`[[process.chart]]` in the shop file): speed-off-chart
          and 8 more facts; --json lists them

        What would add most: height at which the torch may cross loose pieces, told by `[table] safe_height`
          in the shop file.
    "#]]
    .assert_eq(&ran.told());
}

#[test]
fn an_expansion_bomb() {
    let level = |k: u32| format!("O{k}\n{}M99\n", format!("M98 P{} L99\n", k + 1).repeat(9));
    let bomb: String = (1..12).map(level).collect();
    let ran = answer(format!("G21 G90 G40 G17 G94\nM98 P1\nM30\n{bomb}O12\nG91 G1 X0.1 F100\nM99\n"));
    expect![[r#"
        status 1
        --- out
        error[cuts-missing]: nothing in the program starts the torch: there is no M3 or M4
         --> plate.nc:1:1
          |
        1 | G21 G90 G40 G17 G94
          | ^^^^^^^^^^^^^^^^^^^ the program begins here
          |
          = why: it is the wrong file, or it is written with other words than were told
          = remedy: name the cutting program; or tell the word that starts the torch in `[table.words]
                    torch_on`
          = more: platewright explain cuts-missing

        error[expansion-too-long]: the program runs to more than 20000000 motions or calls; the rest was not read
           --> plate.nc:127:1
            |
        127 | M99
            | ^^^
            |
            = remedy: look for a subprogram that is repeated too often, or calls others many times over
            = more: platewright explain expansion-too-long

        warning[program-unended]: the program does not end with M2 or M30
           --> plate.nc:127:1
            |
        127 | M99
            | ^^^ the last line that does something
            |
            = why: a control may wait for more or begin again; or the copy broke off
            = remedy: see that the copy is whole, then put M30 at its end
            = more: platewright explain program-unended

        plate.nc: 2 errors, 1 warning

          Cuts     0 cuts; 0 parts
          Way      0.00 m cut, 199.77 m travelled
          Time     0 s at the program's feeds, without acceleration and rapids
          Kerf     1.5 mm, assumed; measure yours and give it with --kerf

        Not checked, because nobody has told:
          height at which the torch may cross loose pieces (`[table] safe_height` in the shop file):
            low-travel, travel-over-loose-piece
          acceleration of the table (`[table] acceleration` in the shop file): corner-slow
          how many blocks the control reads in a second (`[table] blocks_per_second` in the shop file):
            blocks-starve-control
          starts on the fitted set and how many it lasts (`[fitted] starts` and `life_starts` in the shop
            file): consumables-spent
          which process is run (`--process`, or `process` in the job file): duty-cycle-over,
            process-not-fitted, speed-off-chart
          chart of the process (`[[process.chart]]` in the shop file): speed-off-chart
          and 8 more facts; --json lists them

        What would add most: height at which the torch may cross loose pieces, told by `[table] safe_height`
          in the shop file.
    "#]].assert_eq(&ran.told());
}

#[test]
fn numbers_that_are_none() {
    let ran = answer(BRACKET.replacen("X68 Y60", "Xnan Yinf", 1).replacen("X168 Y60", "X1e400 Y--40", 1));
    expect![[r#"
        status 1
        --- out
        error[number-unreadable]: `Xnan Yinf`: the letter has no readable number after it
          --> plate.nc:12:4
           |
        12 | G1 Xnan Yinf F1400
           |    ^^^^^^^^^^
           |
           = remedy: write the word as a letter and a number such as X12.5; the word was left out
           = more: platewright explain number-unreadable

        warning[word-unknown]: `E` begins no word that this control knows
          --> plate.nc:23:6
           |
        23 | G1 X1e400 Y--40 F1400
           |      ^^^^^
           |
           = remedy: write the number out: numbers have no exponent form
           = more: platewright explain word-unknown

        error[number-unreadable]: `Y--40`: the letter has no readable number after it
          --> plate.nc:23:11
           |
        23 | G1 X1e400 Y--40 F1400
           |           ^^^^^^
           |
           = remedy: write the word as a letter and a number such as X12.5; the word was left out

        error[outside-plate]: cut 2 leaves the plate, by up to 14.99 mm
          --> plate.nc:24:1
           |
        24 | G3 I-8 J0
           | ^^^^^^^^^ off the plate here
           |
           = on the plate: cut 2, at X -14.99 Y 60.4 mm
           = why: what it bounds will not be whole
           = remedy: tell where program zero lies on the plate by `--datum`, if not on its lower left
                     corner; or take another plate
           = more: platewright explain outside-plate

        plate.nc: 3 errors, 1 warning

          Cuts     3 cuts: 2 outlines, 1 hole; 2 parts
          Way      0.75 m cut, 0.22 m travelled
          Time     34.29 s at the program's feeds, without acceleration and rapids
          Kerf     1.5 mm, assumed; measure yours and give it with --kerf

        Not checked, because nobody has told:
          height at which the torch may cross loose pieces (`[table] safe_height` in the shop file):
            low-travel, travel-over-loose-piece
          acceleration of the table (`[table] acceleration` in the shop file): corner-slow
          how many blocks the control reads in a second (`[table] blocks_per_second` in the shop file):
            blocks-starve-control
          starts on the fitted set and how many it lasts (`[fitted] starts` and `life_starts` in the shop
            file): consumables-spent
          which process is run (`--process`, or `process` in the job file): duty-cycle-over,
            process-not-fitted, speed-off-chart
          chart of the process (`[[process.chart]]` in the shop file): speed-off-chart
          and 8 more facts; --json lists them

        What would add most: height at which the torch may cross loose pieces, told by `[table] safe_height`
          in the shop file.
    "#]]
    .assert_eq(&ran.told());
}

#[test]
fn an_arc_without_a_radius() {
    let ran = answer(BRACKET.replacen("I-8 J0", "I0 J0", 1));
    expect![[r#"
        status 1
        --- out
        error[arc-zero-radius]: the arc's centre is its beginning; it was read as a straight line
          --> plate.nc:13:1
           |
        13 | G3 I0 J0
           | ^^^^^^^^
           |
           = remedy: export the program again, or correct the arc
           = more: platewright explain arc-zero-radius

        plate.nc: 1 error

          Cuts     3 cuts: 1 outline, 1 hole, 1 open cut; 1 part
          Way      0.55 m cut, 0.33 m travelled
          Time     26 s at the program's feeds, without acceleration and rapids
          Kerf     1.5 mm, assumed; measure yours and give it with --kerf

        Not checked, because nobody has told:
          height at which the torch may cross loose pieces (`[table] safe_height` in the shop file):
            low-travel, travel-over-loose-piece
          acceleration of the table (`[table] acceleration` in the shop file): corner-slow
          how many blocks the control reads in a second (`[table] blocks_per_second` in the shop file):
            blocks-starve-control
          starts on the fitted set and how many it lasts (`[fitted] starts` and `life_starts` in the shop
            file): consumables-spent
          which process is run (`--process`, or `process` in the job file): duty-cycle-over,
            process-not-fitted, speed-off-chart
          chart of the process (`[[process.chart]]` in the shop file): speed-off-chart
          and 8 more facts; --json lists them

        What would add most: height at which the torch may cross loose pieces, told by `[table] safe_height`
          in the shop file.
    "#]]
    .assert_eq(&ran.told());
}

#[test]
fn a_program_without_cuts() {
    let ran = answer("G21 G90 G40 G17 G94\nG0 X10 Y10\nM30\n");
    expect![[r#"
        status 1
        --- out
        error[cuts-missing]: nothing in the program starts the torch: there is no M3 or M4
         --> plate.nc:1:1
          |
        1 | G21 G90 G40 G17 G94
          | ^^^^^^^^^^^^^^^^^^^ the program begins here
          |
          = why: it is the wrong file, or it is written with other words than were told
          = remedy: name the cutting program; or tell the word that starts the torch in `[table.words]
                    torch_on`
          = more: platewright explain cuts-missing

        plate.nc: 1 error

          Cuts     0 cuts; 0 parts
          Way      0.00 m cut, 0.01 m travelled
          Time     0 s at the program's feeds, without acceleration and rapids
          Kerf     1.5 mm, assumed; measure yours and give it with --kerf

        Not checked, because nobody has told:
          height at which the torch may cross loose pieces (`[table] safe_height` in the shop file):
            low-travel, travel-over-loose-piece
          acceleration of the table (`[table] acceleration` in the shop file): corner-slow
          how many blocks the control reads in a second (`[table] blocks_per_second` in the shop file):
            blocks-starve-control
          starts on the fitted set and how many it lasts (`[fitted] starts` and `life_starts` in the shop
            file): consumables-spent
          which process is run (`--process`, or `process` in the job file): duty-cycle-over,
            process-not-fitted, speed-off-chart
          chart of the process (`[[process.chart]]` in the shop file): speed-off-chart
          and 8 more facts; --json lists them

        What would add most: height at which the torch may cross loose pieces, told by `[table] safe_height`
          in the shop file.
    "#]]
    .assert_eq(&ran.told());
    let folder = Folder::new();
    folder.put("plate.nc", "G21 G90 G40 G17 G94\nG0 X10 Y10\nM30\n");
    check(
        &folder,
        &["rescue", "plate.nc", "--cut", "1", "--out", "out"],
        &expect![[r#"
            status 3
            --- err
            error: the stop could not be placed: the program has no cuts: no start of the torch was found in it,
              so nothing can have stopped; if it has starts, tell the words of your table under `[table.words]`
              in the shop file
            remedy: look up the cut's number on the picture (`platewright show PROGRAM`) and give it with --cut
        "#]],
    );
}
