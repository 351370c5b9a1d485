//! Bad input gets a clear message with place and remedy and its exit status, and leaves nothing half-written.

use crate::folder::{Folder, Ran};
use expect_test::{Expect, expect};

/// The plate of most tests.
const PLATE: [&str; 4] = ["--thickness", "10 mm", "--plate", "400x300 mm"];

fn check(folder: &Folder, command: &[&str], expected: &Expect) -> Ran {
    let before = folder.all();
    let ran = folder.run_with(&[command, &PLATE].concat());
    expected.assert_eq(&ran.told());
    assert_eq!(folder.all(), before, "nothing must be left");
    ran
}

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

#[test]
fn a_file_that_is_not_there() {
    check(
        &Folder::new(),
        &["check", "plate.nc"],
        &expect![[r#"
        status 3
        --- err
        error: failed to read the program plate.nc: no such file or directory
        remedy: check the path of the program; it is taken from the current folder
    "#]],
    );
}

#[test]
fn a_folder_instead_of_a_file() {
    let folder = Folder::new();
    std::fs::create_dir(folder.path().join("plate.nc")).expect("a folder can be made");
    check(
        &folder,
        &["check", "plate.nc"],
        &expect![[r#"
            status 3
            --- err
            error: failed to read the program plate.nc: is a directory
            remedy: name the file itself, not its folder
        "#]],
    );
}

#[test]
fn wrong_units_in_the_shop_file() {
    let folder = Folder::with_bracket();
    folder.put("shop.toml", "[table]\nrapid = \"15 mm\"\nsafe_height = \"40\"\n");
    check(
        &folder,
        &["check", "bracket.nc", "--shop", "shop.toml"],
        &expect![[r#"
            status 3
            --- err
            error[unit-unknown]: `mm` is not a unit of a speed
             --> shop.toml:2:9
              |
            2 | rapid = "15 mm"
              |         ^^^^^^^
              |
              = remedy: write it so: a speed is a number with one of mm/min, m/min, mm/s, in/min or ft/min, such
                        as "2400 mm/min"
              = more: platewright explain unit-unknown

            error[unit-missing]: `40` has no unit
             --> shop.toml:3:15
              |
            3 | safe_height = "40"
              |               ^^^^
              |
              = remedy: write it so: a length is a number with one of mm, cm, m, in or ft, such as "3 mm"
              = more: platewright explain unit-missing

            error: the shop file shop.toml has 2 mistakes
            remedy: mend the shop file as said above and run the command again
        "#]],
    );
}

#[test]
fn a_shop_file_that_is_no_text() {
    let folder = Folder::with_bracket();
    folder.put("shop.toml", b"name = \"\xE9\"\n");
    check(
        &folder,
        &["check", "bracket.nc", "--shop", "shop.toml"],
        &expect![[r#"
        status 3
        --- err
        error: the shop file shop.toml: it is not UTF-8 text from line 1 on
        remedy: save it as UTF-8
    "#]],
    );
}

#[test]
fn a_job_file_without_a_program() {
    let folder = Folder::new();
    folder.put("job.toml", "material = \"mild-steel\"\n");
    check(
        &folder,
        &["check", "job.toml"],
        &expect![[r#"
        status 3
        --- err
        error: the job file job.toml: it names no program
        remedy: add `program = "plate.nc"`, the path from where the job file lies
    "#]],
    );
}

#[test]
fn a_process_without_a_shop_file() {
    check(
        &Folder::with_bracket(),
        &["check", "bracket.nc", "--process", "fine"],
        &expect![[r#"
        status 2
        --- err
        error: process "fine" is named, and there is no shop file that says what it is
        remedy: name the shop file with --shop FILE; `platewright shop init` writes a starter
    "#]],
    );
}

#[test]
fn a_process_that_the_shop_does_not_have() {
    let folder = Folder::with_bracket();
    folder.put("shop.toml", "[[process]]\nname = \"fine 45\"\nmaterial = \"mild-steel\"\n");
    check(
        &folder,
        &["check", "bracket.nc", "--shop", "shop.toml", "--process", "fine"],
        &expect![[r#"
        status 2
        --- err
        error: there is no process "fine" in the shop file
        remedy: name one of its processes: "fine 45"
    "#]],
    );
}

#[test]
fn a_gauge_without_a_material() {
    let folder = Folder::with_bracket();
    let ran = folder.run_with(&["check", "bracket.nc", "--thickness", "7 ga"]);
    expect![[r#"
        status 2
        --- err
        error: --thickness: "7 ga" means a different thickness for each material
        remedy: name the material with --material, or tell the thickness as a length
    "#]]
    .assert_eq(&ran.told());
}

#[test]
fn a_plate_without_a_unit() {
    let folder = Folder::with_bracket();
    let ran = folder.run_with(&["check", "bracket.nc", "--plate", "400x300"]);
    expect![[r#"
        status 2
        --- err
        error: --plate: `300` has no unit
        remedy: a plate size is a number with one of mm, cm, m, in or ft, such as "2500x1250 mm"
    "#]]
    .assert_eq(&ran.told());
}

#[test]
fn a_stop_that_says_nothing() {
    check(
        &Folder::with_bracket(),
        &["rescue", "bracket.nc"],
        &expect![[r#"
        status 2
        --- err
        error: nothing says where it stopped
        remedy: give one of --cut N (its number on the picture), --line N (of the program) or --at X,Y
          (where the torch stands), or a stop report with --stop STOP.toml
    "#]],
    );
}

#[test]
fn a_stop_report_with_mistakes() {
    let folder = Folder::with_bracket();
    folder.put("stop.toml", "kind = \"no-transfr\"\ncut = \"three\"\nat = [\"10\", \"20 mm\"]\n");
    check(
        &folder,
        &["rescue", "bracket.nc", "--stop", "stop.toml", "--out", "out"],
        &expect![[r#"
            status 3
            --- err
            error[word-not-in-list]: `no-transfr` is no kind of stop known here
             --> stop.toml:1:8
              |
            1 | kind = "no-transfr"
              |        ^^^^^^^^^^^^
              |
              = remedy: write `"no-transfer"`; known: no-transfer, arc-lost, no-motion, ran-dry, not-through,
                        arc-stays-on, by-hand, struck, control-froze, bad-cut, plate-moved or wrong-datum
              = more: platewright explain word-not-in-list

            error[value-unfit]: `cut` is a text, but it takes a whole number without quotes
             --> stop.toml:2:7
              |
            2 | cut = "three"
              |       ^^^^^^^
              |
              = remedy: write `cut = 37` with your own value
              = more: platewright explain value-unfit

            error[unit-missing]: `10` has no unit
             --> stop.toml:3:7
              |
            3 | at = ["10", "20 mm"]
              |       ^^^^
              |
              = remedy: write it so: a length is a number with one of mm, cm, m, in or ft, such as "3 mm"
              = more: platewright explain unit-missing

            error: the stop report stop.toml has 3 mistakes
            remedy: mend the stop report as said above and run the command again
        "#]],
    );
}

#[test]
fn a_rescue_without_a_thickness() {
    let folder = Folder::with_bracket();
    let ran = folder.run_with(&["rescue", "bracket.nc", "--cut", "2"]);
    expect![[r#"
        status 2
        --- err
        error: the thickness of the plate is not told, and what is safe depends on it
        remedy: give it with --thickness '10 mm', or in the job file
    "#]]
    .assert_eq(&ran.told());
    assert_eq!(folder.all(), ["bracket.nc"]);
}

#[test]
fn a_rule_that_is_not_there() {
    let ran = Folder::new().run("explain touch-of-missing");
    expect![[r#"
        status 2
        --- err
        error: there is no rule "touch-of-missing"
        remedy: perhaps cuts-missing or end-missing or key-missing or motion-mode-missing or
          pierce-delay-missing or return-missing or subprogram-missing or touch-off-missing or unit-missing
          or word-missing; `platewright explain` lists all
    "#]]
    .assert_eq(&ran.told());
}

#[test]
fn a_starter_is_not_written_over_a_shop_file() {
    let folder = Folder::new();
    folder.put("shop.toml", "name = \"ours\"\n");
    let ran = folder.run("shop init");
    expect![[r#"
        status 2
        --- err
        error: shop.toml is there already, and it may hold what you have told so far
        remedy: name another file with --out FILE
    "#]]
    .assert_eq(&ran.told());
    assert_eq!(folder.text("shop.toml"), "name = \"ours\"\n");
}

/// Runs check on a program and takes the answer.
fn answer(bytes: impl AsRef<[u8]>) -> Ran {
    let folder = Folder::new();
    folder.put("plate.nc", bytes);
    folder.run_with(&[&["check", "plate.nc"][..], &PLATE].concat())
}

const BRACKET: &str = include_str!("data/bracket.nc");

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

#[test]
fn a_stop_that_matches_no_cut() {
    check(
        &Folder::with_bracket(),
        &["rescue", "bracket.nc", "--cut", "9", "--out", "out"],
        &expect![[r#"
        status 3
        --- err
        error: the stop could not be placed: the stop report matches no cut that can have been running:
          there is no cut 9. Give `cut`, its number on the picture (1 to 3)
        remedy: look up the cut's number on the picture (`platewright show PROGRAM`) and give it with --cut
    "#]],
    );
    check(
        &Folder::with_bracket(),
        &["rescue", "bracket.nc", "--line", "999", "--out", "out"],
        &expect![[r#"
            status 3
            --- err
            error: the stop could not be placed: the stop report matches no cut that can have been running: line
              999 stands in no cut. Give `cut`, its number on the picture (1 to 3)
            remedy: look up the cut's number on the picture (`platewright show PROGRAM`) and give it with --cut
        "#]],
    );
}

#[test]
fn a_stop_that_matches_several_cuts() {
    let folder = Folder::new();
    let hole = "O7\nG38.2 Z-10 F300\nG0 Z4\nM3\nG4 P0.6\nG1 Z1.5 F1000\nG91\nG1 X8 F1400\nG3 X0 Y0 I-8 J0\nG90\nM5\nG0 Z40\nM99\n";
    folder.put(
        "plate.nc",
        format!("G21 G90 G40 G17 G94\nG0 Z40\nG0 X30 Y40\nM98 P7\nG0 X90 Y40\nM98 P7\nM30\n{hole}"),
    );
    check(
        &folder,
        &["rescue", "plate.nc", "--line", "11", "--out", "out"],
        &expect![[r#"
        status 3
        --- err
        error: the stop could not be placed: line 11 is run by cuts 1 and 2: give `cut` (its number on the
          picture) or `at` (the place) as well
        remedy: look up the cut's number on the picture (`platewright show PROGRAM`) and give it with --cut
    "#]],
    );
}

#[test]
fn an_output_folder_that_cannot_be_written() {
    let folder = Folder::with_bracket();
    check(
        &folder,
        &["rescue", "bracket.nc", "--cut", "2", "--out", "bracket.nc/out"],
        &expect![[r#"
        status 3
        --- err
        error: failed to make the folder bracket.nc/out: not a directory
        remedy: choose a folder you may write into with --out; nothing was changed
    "#]],
    );
    check(
        &folder,
        &["show", "bracket.nc", "--out", "bracket.nc/out.svg"],
        &expect![[r#"
        status 3
        --- err
        error: failed to write into the folder bracket.nc: not a directory
        remedy: choose a folder you may write into with --out; nothing was changed
    "#]],
    );
}

#[test]
fn a_plate_file_that_is_none() {
    let folder = Folder::with_bracket();
    folder.put("plate.json", "G21\n");
    let command = ["rescue", "bracket.nc", "--cut", "2", "--after", "plate.json", "--out", "out"];
    check(
        &folder,
        &command,
        &expect![[r#"
        status 3
        --- err
        error: the plate file plate.json: it is not a file that a rescue wrote (expected value at line 1
          column 1)
        remedy: name the plate.json that the last rescue of this plate wrote, unchanged
    "#]],
    );
}

#[test]
fn a_plate_file_of_another_program() {
    let folder = Folder::with_bracket();
    let ran =
        folder.run_with(&[&["rescue", "bracket.nc", "--cut", "2", "--out", "first"][..], &PLATE].concat());
    assert_eq!(ran.status, 0, "{}", ran.told());
    folder.put("other.nc", BRACKET.replace("X68", "X67.9"));
    let command = ["rescue", "other.nc", "--cut", "3", "--after", "first/plate.json", "--out", "out"];
    check(
        &folder,
        &command,
        &expect![[r#"
        status 3
        --- err
        error: the plate file first/plate.json: it belongs to bracket.nc of 453 bytes, and other.nc is
          another text of 455 bytes
        remedy: name the original program, bracket.nc, as it was when the plate was begun; a line given with
          --line counts in the restart program, a cut given with --cut as on the picture
    "#]],
    );
}
