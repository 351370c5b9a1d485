//! Bad files beside the program and bad flags get a clear message with place and remedy and their exit status, and leave
//! nothing half-written.

use crate::folder::{Folder, Ran};
use expect_test::{Expect, expect};

/// The plate of most tests.
pub(crate) const PLATE: [&str; 4] = ["--thickness", "10 mm", "--plate", "400x300 mm"];

/// A sound program.
pub(crate) const BRACKET: &str = include_str!("data/bracket.nc");

pub(crate) fn check(folder: &Folder, command: &[&str], expected: &Expect) -> Ran {
    let before = folder.all();
    let ran = folder.run_with(&[command, &PLATE].concat());
    expected.assert_eq(&ran.told());
    assert_eq!(folder.all(), before, "nothing must be left");
    ran
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
fn a_value_below_zero() {
    let folder = Folder::with_bracket();
    for flag in [["--cut", "-1"], ["--time", "-3 min"], ["--thickness", "-.5 in"]] {
        let ran = folder.run_with(&[&["rescue", "bracket.nc"], &flag[..]].concat());
        assert!(
            ran.told().contains("a value below zero follows its option with an equals sign"),
            "{}",
            ran.told()
        );
        assert!(!ran.told().contains("-- -"), "{}", ran.told());
    }
    // What is no number gets the usual answer.
    let ran = folder.run_with(&["rescue", "bracket.nc", "--cuts", "3"]);
    assert!(ran.told().contains("'--cut'") && !ran.told().contains("below zero"), "{}", ran.told());
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
