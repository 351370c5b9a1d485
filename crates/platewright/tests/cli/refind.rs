//! `refind` as someone beside the table would try it: what to measure, what the readings say, the program, and a second
//! stop on the plate where it lies now.

use crate::folder::Folder;
use serde_json::Value;

/// A nest of ten rings in a row, each with a hole, as plain as can be.
fn program() -> String {
    let mut text = "G21 G90 G17 G40 G94\n".to_owned();
    for k in 0..10u32 {
        let x = 100 + 120 * k;
        text += &format!("G0 Z25\nG0 X{} Y150\nM3\nG4 P0.5\nG1 X{} F2000\nG2 I-15 J0\nM5\n", x + 8, x + 15);
        text += &format!("G0 Z25\nG0 X{} Y150\nM3\nG4 P0.5\nG1 X{} F2000\nG2 I-40 J0\nM5\n", x + 50, x + 40);
    }
    text + "G0 Z25\nG0 X0 Y0\nM30\n"
}

const KNOWN: [&str; 7] =
    ["refind", "rings.nc", "--thickness", "10 mm", "--plate", "1400x300 mm", "--kerf=1.8 mm"];

fn folder() -> Folder {
    let folder = Folder::new();
    folder.put("rings.nc", program());
    folder
}

/// A measurement of a place of the plate, which lies turned by 5° and shifted by 80, -40 mm.
fn at(what: &str, x: f64, y: f64) -> String {
    let (sin, cos) = 5f64.to_radians().sin_cos();
    format!("{what} at {:.2},{:.2} mm", 80.0 + cos * x - sin * y, -40.0 + sin * x + cos * y)
}

fn corners() -> Vec<String> {
    [
        ("corner lower-left", 0.0, 0.0),
        ("corner lower-right", 1400.0, 0.0),
        ("corner upper-right", 1400.0, 300.0),
    ]
    .iter()
    .map(|(what, x, y)| at(what, *x, *y))
    .chain([at("crater of 4", 270.0, 150.0)])
    .collect()
}

fn args<'a>(more: &[&'a str], measured: &'a [String]) -> Vec<&'a str> {
    let rows = measured.iter().flat_map(|row| ["--measure", row.as_str()]);
    KNOWN.iter().copied().chain(more.iter().copied()).chain(rows).collect()
}

#[test]
fn without_a_measurement_it_says_what_to_measure_and_writes_no_program() {
    let folder = folder();
    let ran = folder.run_with(&args(&["--cut", "9", "--out", "out"], &[]));
    assert_eq!(ran.status, 1, "{}", ran.told());
    assert!(ran.out.contains("What to measure next") && ran.out.contains("corner"), "{}", ran.out);
    // Neither a program nor a plate that seems to lie where it was begun.
    assert!(!folder.all().iter().any(|name| name.ends_with(".nc") && name.starts_with("out")));
    assert!(!folder.all().contains(&"out/plate.json".to_owned()), "{:?}", folder.all());
}

#[test]
fn a_moved_plate_gets_its_program_and_a_second_stop_starts_from_there() {
    let folder = folder();
    let measured = corners();
    let ran = folder.run_with(&args(&["--cut", "9", "--pointer", "0,0 mm", "--out", "out"], &measured));
    assert_eq!(ran.status, 0, "{}", ran.told());
    assert!(ran.out.contains("turned by 5.0") && ran.out.contains("counter-clockwise"), "{}", ran.out);
    assert!(!ran.out.contains("never checked"), "{}", ran.out);
    let text = folder.text("out/refind.nc");
    assert!(text.contains("FOR THE PLATE AS IT LIES NOW"), "{text}");
    // The second stop: in the program that ran, by its own line; nothing is measured again.
    let plate: Value = serde_json::from_str(&folder.text("out/plate.json")).expect("it is JSON");
    let turned = plate["pose"]["turned_rad"].as_f64().expect("a pose");
    assert!((turned.to_degrees() - 5.0).abs() < 0.01, "{turned}");
    let line = plate["runs"][3]["line_first"].to_string();
    let cut = plate["runs"][3]["cut"].as_u64().expect("a cut");
    let again = [
        "rescue",
        "rings.nc",
        "--thickness",
        "10 mm",
        "--plate",
        "1400x300 mm",
        "--kerf=1.8 mm",
        "--after",
        "out/plate.json",
        "--line",
        &line,
        "--out",
        "again",
    ];
    let ran = folder.run_with(&again);
    assert_eq!(ran.status, 0, "{}", ran.told());
    assert!(ran.out.contains(&format!("stopped at cut {cut}")), "{}", ran.out);
    assert!(folder.text("again/rescue.nc").contains("FOR THE PLATE AS IT LIES NOW"));
    let plate: Value = serde_json::from_str(&folder.text("again/plate.json")).expect("it is JSON");
    assert_eq!(plate["pose"]["turned_rad"].as_f64(), Some(turned));
}

#[test]
fn slips_and_wrong_words_are_told_with_what_to_do() {
    let folder = folder();
    let mut measured = corners();
    measured.push(at("corner upper-left", 0.0, 300.0));
    measured[1] = at("corner lower-right", 1300.0, 0.0);
    let ran = folder.run_with(&args(&["--cut", "9"], &measured));
    assert!(
        ran.out
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
            .contains("All agree but one: the plate's lower right"),
        "{}",
        ran.out
    );
    assert!(ran.out.contains("never checked"), "the pointer was not: {}", ran.out);
    let wrong = |measure: &str, told: &str| {
        let ran = folder.run_with(&args(&["--cut", "9"], &[measure.to_owned()]));
        assert_eq!(ran.status, 2, "{}", ran.told());
        assert!(ran.complains(told) && ran.err.contains("remedy:"), "{}", ran.told());
    };
    wrong("dent of 3 at 1,2 mm", "known are");
    wrong("crater of 3", "what the control showed");
    wrong("crater of 3 at 1,2", "unit");
    let nowhere = folder.run_with(&args(&["--cut", "9"], &["crater of 3 at 1,2 mm".to_owned()]));
    assert!(nowhere.status == 1 && nowhere.out.contains("Left out:"), "{}", nowhere.told());
    let none = folder.run_with(&args(&[], &corners()));
    assert!(none.status == 2 && none.complains("nothing says where it stopped"), "{}", none.told());
}

#[test]
fn witnesses_are_proposed_and_their_program_is_written() {
    let folder = folder();
    let ran = folder.run_with(&args(&["--witness", "--out", "out"], &[]));
    assert_eq!(ran.status, 0, "{}", ran.told());
    let text = folder.text("out/witness.nc");
    assert_eq!(text.matches("M0\n").count(), 3, "{text}");
    assert!(!text.contains("M3"), "{text}");
    let ran = folder.run_with(&["refind", "rings.nc", "--witness"]);
    assert!(ran.status == 1 && ran.out.contains("size is not told"), "{}", ran.told());
}
