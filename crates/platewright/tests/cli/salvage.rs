//! `salvage` as a new user would try it: on the sheet, on a remnant, with nothing free, and with what makes no sense.

use crate::folder::{Folder, Ran};
use expect_test::{Expect, expect};
use serde_json::Value;

/// The plate of most tests: the bracket takes 160 × 80 mm of it.
const PLATE: [&str; 4] = ["--thickness", "10 mm", "--plate", "400x300 mm"];

fn run(folder: &Folder, more: &[&str]) -> Ran {
    folder.run_with(&[&["salvage", "bracket.nc"], &PLATE[..], more].concat())
}

/// Three plates of 100 × 60 mm in a row, no holes: cuts and parts 1 to 3.
fn three_plates() -> Folder {
    let one = |k: u32| {
        let x = 30 + 140 * k;
        let start = format!("G0 X{} Y40\nG38.2 Z-10 F300\nG0 Z4\nM3\nG4 P0.6\nG1 Z1.5 F1000\n", x - 8);
        let right = x + 100;
        let round = format!("X{x} Y40 F1400\nX{x} Y90\nX{right} Y90\nX{right} Y30\nX{x} Y30\nX{x} Y40\n");
        format!("{start}{round}M5\nG0 Z40\n")
    };
    let cuts: String = (0..3).map(one).collect();
    let folder = Folder::new();
    folder.put("plates.nc", format!("G21 G90 G40 G17 G94\nT1\nG0 Z40\n{cuts}M30\n"));
    folder
}

fn document(ran: &Ran) -> Value {
    serde_json::from_str(&ran.out).unwrap_or_else(|why| panic!("{why}: {}", ran.told()))
}

#[test]
fn a_bad_part_is_made_anew_on_the_same_sheet() {
    let folder = Folder::with_bracket();
    let ran = run(&folder, &["--ran", "--part", "1", "--out", "s"]);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""), "{}", ran.out);
    for said in ["Part 1: from", "by area", "of metal around it", "Proven", "hand on the stop", "salvage.nc"]
    {
        assert!(ran.out.contains(said), "{said:?} is missing:\n{}", ran.out);
    }
    let files = folder.all();
    for name in ["salvage.nc", "trace.nc", "steps.md", "salvage.svg", "changes.diff", "salvage.json"] {
        assert!(files.contains(&format!("s/{name}")), "{name} is missing: {files:?}");
    }
    let steps = folder.text("s/steps.md");
    assert!(steps.contains("## What to do, in this order") && steps.contains("manual"), "{steps}");
    // A control that is off goes nowhere: it is switched on before the torch is sent to a crater (common practice).
    let at = |words: &str| steps.find(words).unwrap_or_else(|| panic!("{words:?} is missing:\n{steps}"));
    assert!(at("Switch on the control") < at("With the torch off go to"), "{steps}");
    assert!(!folder.text("s/trace.nc").contains("M3"));
    // What is printed as JSON is what was kept.
    let json = run(&folder, &["--ran", "--part", "1", "--out", "s", "--json"]);
    assert_eq!(json.out, folder.text("s/salvage.json"));
    let document = document(&json);
    assert_eq!(document["schema"], "platewright.salvage");
    assert_eq!((&document["proven"], &document["worth_by"]), (&Value::from(true), &Value::from("area")));
    assert_eq!(document["placed"][0]["parts"], Value::from(vec![1]));
    assert!(document["placed"][0]["metal_mm"].as_f64().is_some_and(|mm| mm >= 10.0));
    assert_eq!(document["choice"]["kind"], "salvage");
    assert_eq!(document["choice"]["proof"]["holds"], true);
}

#[test]
fn a_stop_in_a_salvage_goes_on_from_its_plate_file() {
    let folder = Folder::with_bracket();
    let ran = run(&folder, &["--ran", "--part", "1", "--out", "s"]);
    assert_eq!(ran.status, 0, "{}", ran.told());
    // The second hole at its new place did not start.
    let rescue = [
        &["rescue", "bracket.nc", "--after", "s/plate.json", "--cut", "2", "--out", "r", "--json"],
        &PLATE[..],
    ];
    let rescued = folder.run_with(&rescue.concat());
    assert_eq!(rescued.status, 0, "{}", rescued.told());
    let plan = document(&rescued);
    assert_eq!(plan["choices"][0]["cuts"], Value::from(vec![2, 3]), "{plan}");
    // It goes on where the salvage has the cut, not where the original has it.
    let at = |text: &str| {
        let starts: Vec<String> =
            text.lines().filter(|line| line.starts_with("G0 X")).map(str::to_owned).collect();
        starts
    };
    let (salvage, restart) = (at(&folder.text("s/salvage.nc")), at(&folder.text("r/rescue.nc")));
    assert!(salvage.contains(&restart[0]), "{restart:?} is not among {salvage:?}");
    let shown = folder.run_with(
        &[&["show", "bracket.nc", "--after", "r/plate.json", "--out", "now.svg"], &PLATE[..]].concat(),
    );
    assert_eq!(shown.status, 0, "{}", shown.told());
    // And is lost again: then it is made a third time, elsewhere.
    let again = run(&folder, &["--after", "r/plate.json", "--ran", "--part", "1", "--out", "t"]);
    assert!(again.status == 0 || again.out.contains("largest free disc"), "{}", again.told());
}

#[test]
fn a_remnant_is_cut_instead() {
    let folder = Folder::with_bracket();
    folder.put(
        "offcut.toml",
        "plate = { outline = [[\"0 mm\", \"0 mm\"], [\"300 mm\", \"0 mm\"], [\"300 mm\", \"140 mm\"], [\"0 mm\", \"220 mm\"]] }\n",
    );
    let ran = run(&folder, &["--part", "1", "--remnant", "offcut.toml", "--out", "s"]);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""), "{}", ran.out);
    assert!(ran.out.contains("anew on the remnant"), "{}", ran.out);
    assert!(folder.text("s/steps.md").contains("Set program zero for it"));
}

#[test]
fn where_nothing_fits_nothing_is_written_but_why() {
    let folder = Folder::with_bracket();
    folder.put("offcut.toml", "plate = \"150x90 mm\"\n");
    let ran = run(&folder, &["--part", "1", "--remnant", "offcut.toml", "--out", "s"]);
    assert_eq!((ran.status, ran.err.as_str()), (1, ""), "{}", ran.out);
    assert!(
        ran.out.contains("there is no free place for it") && ran.out.contains("largest free disc"),
        "{}",
        ran.out
    );
    assert!(
        !folder.all().contains(&"s/salvage.nc".to_owned()) && folder.all().contains(&"s/steps.md".to_owned())
    );
}

/// Where nobody has told prices nothing is said of money; where the shop has, the program says what running it costs, and
/// where the job tells values, what is at stake: the part made anew, if it goes wrong.
#[test]
fn a_salvage_says_what_it_costs_where_prices_are_told() {
    let folder = Folder::with_bracket();
    let untold = run(&folder, &["--ran", "--part", "1", "--out", "s"]);
    assert!(untold.status == 0 && !untold.out.contains("costs"), "{}", untold.told());
    assert!(untold.out.contains("At risk, if it does not go as it should: part 1."), "{}", untold.out);
    assert!(folder.text("s/salvage.json").contains("\"price\": null"), "{}", folder.text("s/salvage.json"));
    folder.put("shop.toml", "[money]\ncurrency = \"EUR\"\nhour = 60.0\n");
    folder.put(
        "job.toml",
        "program = \"bracket.nc\"\nshop = \"shop.toml\"\nthickness = \"10 mm\"\nplate = \"400x300 mm\"\n\
         values = { 1 = 20.0 }\n",
    );
    let args = ["salvage", "job.toml", "--ran", "--part", "1", "--out", "s"];
    let told = folder.run_with(&args);
    let price = &document(&folder.run_with(&[&args[..], &["--json"]].concat()))["choice"]["price"];
    let (sum, time) = (price["sum"].as_f64(), price["items"]["time"].as_f64());
    assert!(sum == time && sum.is_some_and(|sum| sum > 0.0), "{price}");
    assert_eq!((&price["currency"], &price["is_whole"]), (&Value::from("EUR"), &Value::from(false)));
    assert_eq!((&price["at_risk"], &price["given_up"]), (&Value::from(20.0), &Value::Null));
    let steps = folder.text("s/steps.md");
    for text in [&told.out, &steps] {
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
        for said in ["Running it costs EUR", "as far as prices are told", "it may spoil is worth EUR 20.00"] {
            assert!(text.contains(said), "{said:?} is missing:\n{text}");
        }
    }
}

/// On a remnant nothing of the first sheet is made, and nothing of it is given up by that.
#[test]
fn on_a_remnant_only_what_was_to_be_made_there_can_be_given_up() {
    let folder = three_plates();
    folder.put("offcut.toml", "plate = \"150x100 mm\"\n");
    let ran = folder.run(
        "salvage plates.nc --thickness 10mm --plate 600x200mm --part 3 --remnant offcut.toml --out s --json",
    );
    assert_eq!(ran.status, 0, "{}", ran.told());
    assert_eq!(document(&ran)["choice"]["given_up_parts"], Value::Array(Vec::new()));
    // What has no place there is given up.
    let ran = folder.run(
        "salvage plates.nc --thickness 10mm --plate 600x200mm --part 3 --part 2 --remnant offcut.toml --out s --json",
    );
    let document = document(&ran);
    assert_eq!(document["choice"]["given_up_parts"], document["not_placed"][0]["parts"], "{document}");
    assert_eq!(document["not_placed"].as_array().map(Vec::len), Some(1), "{document}");
    assert!(!folder.text("s/steps.md").contains("old kerfs"), "there are none on a remnant");
}

/// A remnant lies where its file says, wherever the first sheet was found after it moved.
#[test]
fn a_plate_that_moved_moves_no_remnant() {
    let folder = three_plates();
    folder.put("offcut.toml", "plate = \"150x100 mm\"\n");
    let plate = "--thickness 10mm --plate 600x200mm";
    let found = folder.run_with(&[
        "refind",
        "plates.nc",
        "--thickness",
        "10 mm",
        "--plate",
        "600x200 mm",
        "--cut",
        "2",
        "--out",
        "r",
        "--measure",
        "corner lower-left at 31,17 mm",
        "--measure",
        "corner lower-right at 631,19 mm",
        "--measure",
        "corner upper-left at 30.333,217 mm",
        "--measure",
        "crater of 1 at 52.87,57.07 mm",
    ]);
    assert!(found.status == 0 && folder.all().contains(&"r/plate.json".to_owned()), "{}", found.told());
    let on_remnant = |more: &str| {
        let ran =
            folder.run(&format!("salvage plates.nc {plate} --part 3 --remnant offcut.toml --out s {more}"));
        assert_eq!(ran.status, 0, "{}", ran.told());
        folder.text("s/salvage.nc")
    };
    assert_eq!(on_remnant("--after r/plate.json"), on_remnant(""));
}

/// On a plate that moved, the places told are those that the control shows.
#[test]
fn on_a_plate_that_moved_the_steps_lead_to_where_things_lie() {
    let folder = three_plates();
    let plate = ["--thickness", "10 mm", "--plate", "600x200 mm"];
    let found = folder.run_with(
        &[
            &["refind", "plates.nc", "--cut", "2", "--out", "r"][..],
            &["--measure", "corner lower-left at 31,17 mm", "--measure", "corner lower-right at 631,17 mm"],
            &["--measure", "corner upper-left at 31,217 mm", "--measure", "crater of 1 at 53,57 mm"],
            &plate,
        ]
        .concat(),
    );
    assert_eq!(found.status, 0, "{}", found.told());
    let ran = folder.run_with(
        &[
            &["salvage", "plates.nc", "--after", "r/plate.json", "--ran", "--part", "3", "--out", "s"],
            &plate[..],
        ]
        .concat(),
    );
    assert_eq!(ran.status, 0, "{}", ran.told());
    // The crater of cut 2, X 162 Y 40 in the program, lies 31 mm and 17 mm farther.
    let steps = folder.text("s/steps.md");
    assert!(steps.contains("go to X 193 Y 57 mm: it must stand over the crater"), "{steps}");
}

fn refused(folder: &Folder, more: &[&str], expected: &Expect) {
    let before = folder.all();
    let ran = run(folder, more);
    expected.assert_eq(&ran.told());
    assert_eq!(folder.all(), before, "nothing must be left");
}

#[test]
fn what_makes_no_sense_is_told_with_a_remedy() {
    let folder = Folder::with_bracket();
    refused(
        &folder,
        &["--part", "1"],
        &expect![[r#"
        status 2
        --- err
        error: nothing says what has been cut on the plate
        remedy: give the plate.json of the last rescue with --after, or say with --ran that the program ran
          to its end, or name another sheet with --remnant
    "#]],
    );
    refused(
        &folder,
        &["--ran", "--part", "4"],
        &expect![[r#"
        status 2
        --- err
        error: --part 4: there is no such part
        remedy: parts are numbered from 1 to 1, as on the picture (`platewright show`)
    "#]],
    );
    refused(
        &folder,
        &["--ran", "--part", "1", "--standing", "0"],
        &expect![[r#"
        status 2
        --- err
        error: --standing 0: there is no such cut
        remedy: cuts are numbered from 1 to 3, as on the picture (`platewright show`)
    "#]],
    );
    refused(
        &folder,
        &["--part", "1", "--remnant", "gone.toml"],
        &expect![[r#"
        status 3
        --- err
        error: failed to read the remnant file gone.toml: no such file or directory
        remedy: check the path of the remnant file; it is taken from the current folder
    "#]],
    );
    folder.put("empty.toml", "");
    refused(
        &folder,
        &["--part", "1", "--remnant", "empty.toml"],
        &expect![[r#"
        status 3
        --- err
        error: the remnant file empty.toml: it tells no plate
        remedy: add `plate = "600x400 mm"`, or a table with `outline` and `holes`
    "#]],
    );
    folder.put("thin.toml", "plate = \"600x400 mm\"\nthickness = \"3 mm\"\n");
    refused(
        &folder,
        &["--part", "1", "--remnant", "thin.toml"],
        &expect![[r#"
        status 3
        --- err
        error: the remnant file thin.toml: it is of another thickness than the job
        remedy: take another remnant
    "#]],
    );
    folder.put("crossed.toml", "plate = { outline = [[\"0 mm\", \"0 mm\"], [\"10 mm\", \"0 mm\"]] }\n");
    refused(
        &folder,
        &["--part", "1", "--remnant", "crossed.toml"],
        &expect![[r#"
        status 3
        --- err
        error[value-unfit]: the outline has fewer than three corners
         --> crossed.toml:1:21
          |
        1 | plate = { outline = [["0 mm", "0 mm"], ["10 mm", "0 mm"]] }
          |                     ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
          |
          = remedy: write the corners in order around the plate, each once
          = more: platewright explain value-unfit

        error: the remnant file crossed.toml has 1 mistake
        remedy: mend the remnant file as said above and run the command again
    "#]],
    );
    folder.put("plate.json", "{\"schema\": \"platewright.plate\", \"version\": 99}");
    let ran = run(&folder, &["--after", "plate.json"]);
    assert!(ran.status == 3 && ran.err.contains("version 99"), "{}", ran.told());
}

#[test]
fn without_a_lost_part_there_is_nothing_to_do() {
    let folder = Folder::with_bracket();
    let ran = run(&folder, &["--ran", "--out", "s"]);
    assert_eq!(ran.status, 1, "{}", ran.told());
    assert!(ran.out.contains("say which parts are lost, by `--part`"), "{}", ran.out);
}
