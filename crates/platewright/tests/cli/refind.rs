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
    // Its place is the one that the control showed, in the head as in the steps.
    let head =
        ran.out.split_once(&format!("stopped at cut {cut}, at ")).and_then(|(_, rest)| rest.lines().next());
    let shown = head.unwrap_or_else(|| panic!("{}", ran.out));
    let words = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains(&format!("of the restart program, {shown}.")), "{shown}: {words}");
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
    let files = folder.all();
    let has = |name: &str| files.iter().any(|file| file == &format!("out/{name}"));
    assert_eq!(has("dimples.nc"), has("dimples-trace.nc"), "{files:?}");
    if has("dimples-trace.nc") {
        let trace = folder.text("out/dimples-trace.nc");
        assert!(trace.contains("(dimple 3)") && !trace.contains("M3") && !trace.contains("G38"), "{trace}");
    }
    let ran = folder.run_with(&["refind", "rings.nc", "--witness"]);
    assert!(ran.status == 1 && ran.out.contains("size is not told"), "{}", ran.told());
}

fn spaced(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Every kind of measurement as it is typed, by pointer and tip, on either lip: all agree on the one true pose.
#[test]
fn each_measurement_as_it_is_typed() {
    let folder = folder();
    let rim = [0.3f64, 1.9, 3.4, 5.0].map(|t| at("", 100.0 + 40.9 * t.cos(), 150.0 + 40.9 * t.sin()));
    let rim: Vec<&str> =
        rim.iter().map(|place| place.trim_start_matches(" at ").trim_end_matches(" mm")).collect();
    let two = |what: &str, x: f64| {
        let (a, b) = (at("", x, 0.0), at("", x + 600.0, 0.0));
        format!("{what}{} {}", a.trim_end_matches(" mm"), b.trim_start_matches(" at "))
    };
    let measured = [
        format!("hole of 2 at {} mm", rim.join(" ")),
        at("crater of 4", 270.0, 150.0) + " by tip",
        at("corner lower-left", 0.0, 0.0),
        two("edge bottom", 300.0),
        at("point 20,280", 20.0, 280.0),
        at("dimple 1380,20", 1380.0, 20.0) + " sigma 0.2 mm",
        // The skeleton's lip of ring 1, half a kerf beside the path.
        at("point 140,150", 140.9, 150.0) + " lip scrap",
    ];
    let ran = folder.run_with(&args(&["--cut", "9", "--pointer", "0,0 mm", "--json"], &measured));
    assert_eq!(ran.status, 0, "{}", ran.told());
    let json: Value = serde_json::from_str(&ran.out).expect("it is JSON");
    let found = &json["refound"];
    assert_eq!((&found["verdict"], &found["left_out"]), (&Value::from("agree"), &Value::Array(Vec::new())));
    let sightings = found["sightings"].as_array().expect("a list");
    assert_eq!(sightings.len(), 8, "the edge counts twice: {sightings:#?}");
    for sighting in sightings {
        for off in ["off_x_mm", "off_y_mm"] {
            assert!(sighting[off].as_f64().expect("a figure").abs() < 0.02, "{sighting:#?}");
        }
    }
    assert!((found["pose"]["turn_deg"].as_f64().expect("a turn") - 5.0).abs() < 0.001, "{found:#?}");
    // The lip of the ring itself came loose with it.
    let loose = [at("point 140,150", 139.1, 150.0) + " lip part"];
    let ran = folder.run_with(&args(&["--cut", "9"], &loose));
    assert!(spaced(&ran.out).contains("Left out:"), "{}", ran.out);
}

#[test]
fn two_places_check_their_distance() {
    let folder = folder();
    let two = [at("corner lower-left", 0.0, 0.0), at("corner lower-right", 1400.0, 0.0)];
    let ran = folder.run_with(&args(&["--cut", "1", "--pointer", "0,0 mm"], &two));
    assert_eq!(ran.status, 0, "{}", ran.told());
    let said = spaced(&ran.out);
    assert!(said.contains("1400 mm apart by the program and 1400 mm by the readings"), "{said}");
    assert!(said.contains("measure a third place"), "{said}");
    let off = [two[0].clone(), at("corner lower-right", 1412.0, 0.0)];
    let ran = folder.run_with(&args(&["--cut", "1", "--pointer", "0,0 mm"], &off));
    assert_eq!(ran.status, 1, "{}", ran.told());
    let said = spaced(&ran.out);
    assert!(
        said.contains("1400 mm apart by the program and 1412") && said.contains("one of them is misread"),
        "{said}"
    );
}

#[test]
fn entries_mixed_up_or_mirrored_are_told_and_no_program_is_written() {
    let folder = folder();
    let mut mixed = corners();
    mixed.swap(1, 3);
    // The places found change hands, the names stay.
    let names = corners();
    let name = |text: &str| text.split(" at ").next().expect("a name").to_owned();
    let place = |text: &str| text.split(" at ").nth(1).expect("a place").to_owned();
    let mixed: Vec<String> =
        names.iter().zip(&mixed).map(|(a, b)| format!("{} at {}", name(a), place(b))).collect();
    let ran = folder.run_with(&args(&["--cut", "9", "--pointer", "0,0 mm", "--out", "out"], &mixed));
    assert_eq!(ran.status, 1, "{}", ran.told());
    assert!(
        spaced(&ran.out)
            .contains("agree if those of the plate's lower right corner and of the crater of cut 4")
    );
    let mirrored: Vec<String> =
        names.iter().map(|text| format!("{} at -{}", name(text), place(text))).collect();
    let ran = folder.run_with(&args(&["--cut", "9", "--pointer", "0,0 mm", "--out", "out"], &mirrored));
    assert_eq!(ran.status, 1, "{}", ran.told());
    assert!(spaced(&ran.out).contains("agree only if the plate is mirrored"), "{}", ran.out);
    assert!(!folder.all().iter().any(|name| name.ends_with("refind.nc")), "{:?}", folder.all());
}

/// A pointer 62 mm beside the torch fits as well as a moved plate: sighted on a mark, the offset shows.
#[test]
fn a_pointer_s_offset_is_checked_on_a_known_mark() {
    let folder = folder();
    let aside = |x: f64, y: f64| {
        let (sin, cos) = 5f64.to_radians().sin_cos();
        format!("[\"{:.2} mm\", \"{:.2} mm\"]", 18.0 + cos * x - sin * y, -40.0 + sin * x + cos * y)
    };
    let stop = |pointer: &str| {
        let rows = [("corner", "lower-left", 0.0, 0.0), ("corner", "lower-right", 1400.0, 0.0)];
        let mut text = format!("cut = 9\n{pointer}");
        for (feature, side, x, y) in rows {
            let found = aside(x, y);
            text += &format!("[[measured]]\nfeature = \"{feature}\"\nside = \"{side}\"\nfound = {found}\n");
        }
        text + &format!("[[measured]]\nfeature = \"crater\"\ncut = 4\nfound = {}\n", aside(270.0, 150.0))
    };
    let zero_x = |pointer: &str| {
        folder.put("stop.toml", stop(pointer));
        let ran = folder.run_with(&args(&["--stop", "stop.toml", "--json"], &[]));
        let json: Value =
            serde_json::from_str(&ran.out).unwrap_or_else(|why| panic!("{why}: {}", ran.told()));
        (json["refound"]["pose"]["zero"]["x_mm"].as_f64(), json["refound"].to_string())
    };
    let mark = "spot = [\"338 mm\", \"120 mm\"]\ntip = [\"400 mm\", \"120 mm\"]\n";
    let (checked, _) = zero_x(&format!("[pointer]\n{mark}"));
    assert!((checked.expect("a pose") - 80.0).abs() < 0.1, "{checked:?}");
    let (unchecked, said) = zero_x("");
    assert!((unchecked.expect("a pose") - 18.0).abs() < 0.1 && said.contains("never checked"), "{said}");
    let (wrong, said) = zero_x(&format!("[pointer]\noffset = [\"20 mm\", \"0 mm\"]\n{mark}"));
    assert!(wrong.is_none() && said.contains("as told and as checked on the mark differ by 42 mm"), "{said}");
}

/// Each part is safe, safe if something is measured as well, or lost; and what to measure next comes in the order of what
/// it brings.
#[test]
fn each_part_has_its_fate_and_what_brings_most_comes_first() {
    let folder = folder();
    let near = [
        at("corner lower-left", 0.0, 0.0),
        at("corner upper-left", 0.0, 300.0),
        at("crater of 4", 270.0, 150.0),
    ];
    let fate = |tolerance: &str| {
        let ran =
            folder.run_with(&args(&["--cut", "10", "--pointer", "0,0 mm", "--tolerance", tolerance], &near));
        spaced(&ran.out)
    };
    let said = fate("1.2 mm");
    assert!(said.contains("Safe if you also measure the plate's lower right corner: part 5."), "{said}");
    assert!(said.contains("Safe, for nothing of it was cut before"), "{said}");
    let said = fate("0.05 mm");
    assert!(said.contains("Lost by this tolerance, whatever is measured besides: part 5."), "{said}");
    assert!(fate("5 mm").contains("Safe: part 5–10."));
    let ran = folder.run_with(&args(&["--cut", "10", "--pointer", "0,0 mm", "--json"], &near));
    let json: Value = serde_json::from_str(&ran.out).expect("it is JSON");
    let next = json["refound"]["next"].as_array().expect("a list");
    let worst: Vec<f64> = next.iter().map(|next| next["worst_mm"].as_f64().expect("a figure")).collect();
    assert!(worst.len() >= 3 && worst.is_sorted(), "{worst:?}");
    // Measured as told, it comes out as was foretold.
    let more: Vec<String> = near.iter().cloned().chain([at("corner lower-right", 1400.0, 0.0)]).collect();
    let ran = folder.run_with(&args(&["--cut", "10", "--pointer", "0,0 mm", "--tolerance", "1.2 mm"], &more));
    assert!(spaced(&ran.out).contains("Safe: part 5"), "{}", ran.out);
}

/// The picture shows old and new place, residuals and landing errors, and by how much they are enlarged.
#[test]
fn the_picture_shows_where_it_lies_and_where_it_lay() {
    let folder = folder();
    let ran = folder.run_with(&args(&["--cut", "9", "--pointer", "0,0 mm", "--out", "out"], &corners()));
    assert_eq!(ran.status, 0, "{}", ran.told());
    assert!(spaced(&ran.out).contains("`rescue` with the same stop writes it"), "{}", ran.out);
    let picture = folder.text("out/refind.svg");
    for said in
        ["where the plate lay before it moved", "reading off the fit", "lands within, 95 of 100", "enlarged"]
    {
        assert!(picture.contains(said), "{said}");
    }
    assert!(picture.contains("<ellipse"));
}

/// A piece that stands up is kept off, or taken out first; `plate.json` keeps the word.
#[test]
fn what_was_seen_of_a_piece_is_kept() {
    let folder = folder();
    let known = ["rescue", "rings.nc", "--thickness", "10 mm", "--plate", "1400x300 mm", "--kerf=1.8 mm"];
    let ran =
        folder.run_with(&[&known[..], &["--cut", "9", "--piece", "4=standing", "--out", "out"]].concat());
    assert_eq!(ran.status, 0, "{}", ran.told());
    let said = spaced(&ran.out);
    assert!(said.contains("is clear of what stands up"), "{said}");
    assert!(said.contains("take out what stands up (freed by cut 4)"), "{said}");
    let plate: Value = serde_json::from_str(&folder.text("out/plate.json")).expect("it is JSON");
    assert_eq!(plate["pieces"][0]["is"], "standing", "{:#}", plate["pieces"]);
    assert_eq!(plate["version"], 4);
}
