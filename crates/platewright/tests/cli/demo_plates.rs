//! Every command on every demo plate, and on spoiled ones, as a new user would try them.

use crate::folder::{Folder, Ran};
use serde_json::Value;

/// A demo plate: its folder, its cuts, and the status with which a check of it ends.
struct Plate {
    name: &'static str,
    files: [(&'static str, &'static [u8]); 4],
    cuts: u64,
    check: i32,
    rescue: i32,
}

macro_rules! plate {
    ($name:literal, $cuts:literal, check $check:literal, rescue $rescue:literal) => {
        Plate {
            name: $name,
            files: [
                ("program.nc", include_bytes!(concat!("../../../../demo/", $name, "/program.nc"))),
                ("shop.toml", include_bytes!(concat!("../../../../demo/", $name, "/shop.toml"))),
                ("job.toml", include_bytes!(concat!("../../../../demo/", $name, "/job.toml"))),
                ("stop.toml", include_bytes!(concat!("../../../../demo/", $name, "/stop.toml"))),
            ],
            cuts: $cuts,
            check: $check,
            rescue: $rescue,
        }
    };
}

const PLATES: [Plate; 6] = [
    plate!("post-bases", 64, check 0, rescue 0),
    plate!("gate-hinges", 115, check 0, rescue 0),
    plate!("fence-brackets", 360, check 0, rescue 0),
    plate!("machine-feet", 35, check 0, rescue 0),
    plate!("handrail-flanges", 260, check 0, rescue 0),
    // Fourteen were meant; at one of them the torch is started twice.
    plate!("first-try", 15, check 1, rescue 1),
];

/// Files of a rescue with a proven restart program.
const RESCUE: [&str; 7] =
    ["changes.diff", "plan.json", "plan.svg", "plate.json", "rescue.nc", "steps.md", "trace.nc"];

impl Plate {
    fn folder(&self) -> Folder {
        let folder = Folder::new();
        for (name, bytes) in self.files {
            folder.put(name, bytes);
        }
        folder
    }
}

/// The JSON that a run printed.
fn json(ran: &Ran) -> Value {
    serde_json::from_str(&ran.out).unwrap_or_else(|why| panic!("{why}: {}", ran.told()))
}

#[test]
fn check_finds_all_cuts_and_ends_with_its_status() {
    for plate in &PLATES {
        let ran = plate.folder().run("check job.toml --json");
        let told = json(&ran);
        assert_eq!(ran.status, plate.check, "{}: {}", plate.name, ran.told());
        assert_eq!(told["summary"]["cuts"], plate.cuts, "{}", plate.name);
        let errors =
            told["findings"].as_array().expect("a list").iter().filter(|f| f["level"] == "error").count();
        assert_eq!(errors > 0, plate.check == 1, "{}", plate.name);
    }
}

#[test]
fn check_says_as_much_in_words_as_in_json() {
    for plate in &PLATES {
        let folder = plate.folder();
        let (words, told) = (folder.run("check job.toml --all"), json(&folder.run("check job.toml --json")));
        assert_eq!(words.err, "", "{}", plate.name);
        for finding in told["findings"].as_array().expect("a list") {
            let rule = finding["rule"].as_str().expect("a name");
            assert!(words.out.contains(&format!("[{rule}]")), "{}: {rule}", plate.name);
            assert_eq!(folder.run(&format!("explain {rule}")).status, 0, "{rule} has a page");
        }
    }
}

/// The times of a forecast add up, parts come loose in order, and the same bytes come each time.
#[test]
fn forecast_adds_up_on_every_plate() {
    for plate in &PLATES {
        let folder = plate.folder();
        let ran = folder.run("forecast job.toml --json --out chart.svg");
        let told = json(&ran);
        assert_eq!(ran.status, i32::from(told["stops_the_job"] == true), "{}: {}", plate.name, ran.told());
        assert_eq!(told["starts"], plate.cuts, "{}", plate.name);
        let number = |value: &Value| value.as_f64().expect("a number");
        let times = told["times"].as_object().expect("an object");
        let sum: f64 = times.values().map(number).sum();
        assert!((sum - number(&told["total_s"])).abs() < 0.01, "{}: {sum}", plate.name);
        let cuts = told["cuts"].as_array().expect("a list");
        let of_cuts: f64 = cuts
            .iter()
            .flat_map(|cut| cut["times"].as_object().expect("an object").values())
            .map(number)
            .sum();
        assert!(of_cuts <= sum + 0.5, "{}: cuts take {of_cuts} of {sum}", plate.name);
        let loose: Vec<f64> =
            told["loose"].as_array().expect("a list").iter().map(|piece| number(&piece["at_s"])).collect();
        assert!(loose.windows(2).all(|pair| pair[0] <= pair[1]), "{}", plate.name);
        let svg = folder.text("chart.svg");
        assert!(svg.starts_with("<svg") && svg.trim_end().ends_with("</svg>"), "{}", plate.name);
        assert_eq!(
            folder.run("forecast job.toml --out -").out,
            svg,
            "{}: the same on the screen",
            plate.name
        );
        assert_eq!(folder.run("forecast job.toml --json --out chart.svg").out, ran.out, "{}", plate.name);
    }
}

/// A program alone is enough; what is not told is listed, and a program without cuts is none to fail on.
#[test]
fn forecast_works_from_little() {
    let folder = Folder::new();
    folder.put("empty.nc", b"G21 G90\nM30\n");
    folder.put("program.nc", PLATES[0].files[0].1);
    for name in ["empty.nc", "program.nc"] {
        let ran = folder.run(&format!("forecast {name}"));
        assert_eq!((ran.status, ran.err.as_str()), (0, ""), "{name}: {}", ran.told());
        assert!(ran.out.contains("What would add most:"), "{name}: {}", ran.out);
    }
    let dry = folder.run("forecast empty.nc").out;
    assert!(dry.contains("nothing in the program starts the torch"), "{dry}");
    assert!(dry.contains("What would add most: the word that starts the torch"), "{dry}");
    // Slips in a dwell or a feed make a job of centuries, and no more.
    let shop = String::from_utf8_lossy(PLATES[0].files[1].1).into_owned();
    folder.put("shop.toml", shop.as_bytes());
    for slip in ["G4 P1e12", "G4 P9999999999999", "G1 X20 F0.000001", "G1 X20 F0"] {
        folder.put("slip.nc", format!("G21 G90\nG0 X0 Y0\nT2\nM3\n{slip}\nG1 X100\nM5\nM30\n").as_bytes());
        let ran = folder.run("forecast slip.nc --shop shop.toml --thickness 10mm --out slip.svg");
        assert!(ran.status <= 1, "{slip}: {}", ran.told());
        assert!(folder.text("slip.svg").ends_with("</svg>\n"), "{slip}");
    }
    let spared = folder.run("forecast program.nc --out program.nc");
    assert_eq!(spared.status, 2, "the program is not written over: {}", spared.told());
}

#[test]
fn show_writes_a_picture() {
    for plate in &PLATES {
        let folder = plate.folder();
        let ran = folder.run("show job.toml --findings");
        assert_eq!((ran.status, ran.err.as_str()), (0, ""), "{}", plate.name);
        let svg = folder.text("program.svg");
        assert!(svg.starts_with("<svg") || svg.starts_with("<?xml"), "{}", plate.name);
        assert!(svg.trim_end().ends_with("</svg>"), "{}", plate.name);
        assert_eq!(folder.run("show job.toml --findings --out -").out, svg, "the same on the screen");
    }
}

#[test]
fn rescue_writes_a_whole_set_and_the_same_bytes_each_time() {
    for plate in &PLATES {
        let folder = plate.folder();
        let ran = folder.run("rescue job.toml --stop stop.toml --out first");
        assert_eq!(ran.status, plate.rescue, "{}: {}", plate.name, ran.told());
        folder.run("rescue job.toml --stop stop.toml --out second");
        if plate.rescue == 0 {
            for name in RESCUE {
                let text = folder.text(&format!("first/{name}"));
                assert!(!text.is_empty(), "{}: {name}", plate.name);
                assert_eq!(text, folder.text(&format!("second/{name}")), "{}: {name}", plate.name);
            }
        } else {
            assert!(
                !folder.all().contains(&"first/rescue.nc".to_owned()),
                "{}: nothing unproven",
                plate.name
            );
        }
        assert!(folder.all().iter().all(|name| !name.contains("/.")), "{:?}", folder.all());
    }
}

#[test]
fn a_rescue_checks_as_clean_as_its_original() {
    for plate in PLATES.iter().filter(|plate| plate.rescue == 0) {
        let folder = plate.folder();
        folder.run("rescue job.toml --stop stop.toml --out out");
        let job = String::from_utf8_lossy(plate.files[2].1).replace("program.nc", "out/rescue.nc");
        folder.put("rest.toml", job);
        let (whole, rest) =
            (json(&folder.run("check job.toml --json")), json(&folder.run("check rest.toml --json")));
        let left = plan(&folder, "out")["choices"][0]["cuts"].as_array().expect("a list").len() as u64;
        assert_eq!(rest["summary"]["cuts"], left, "{}", plate.name);
        assert!(left < whole["summary"]["cuts"].as_u64().expect("a number"), "{}", plate.name);
        let rules = |told: &Value| -> Vec<String> {
            let findings = told["findings"].as_array().expect("a list").iter();
            findings.filter(|f| f["level"] == "error").map(|f| f["rule"].to_string()).collect()
        };
        assert_eq!(rules(&rest), Vec::<String>::new(), "{}: {rest:#}", plate.name);
    }
}

/// The plan that was written into `out`.
fn plan(folder: &Folder, out: &str) -> Value {
    serde_json::from_str(&folder.text(&format!("{out}/plan.json"))).expect("it is JSON")
}

#[test]
fn a_second_stop_goes_on_from_the_first_rescue() {
    for plate in PLATES.iter().filter(|plate| plate.rescue == 0) {
        let folder = plate.folder();
        folder.run("rescue job.toml --stop stop.toml --out first");
        let left = plan(&folder, "first")["choices"][0]["cuts"].clone();
        let left = left.as_array().expect("a list");
        let next = &left[left.len() / 2];
        let ran = folder.run(&format!("rescue job.toml --after first/plate.json --cut {next} --out second"));
        assert_eq!(ran.status, 0, "{}: {}", plate.name, ran.told());
        let after = plan(&folder, "second")["choices"][0]["cuts"].clone();
        assert_eq!(after.as_array().expect("a list"), &left[left.len() / 2..], "{}", plate.name);
        let ran = folder.run("show job.toml --after second/plate.json --out now.svg");
        assert_eq!(ran.status, 0, "{}", ran.told());
    }
}

#[test]
fn the_restart_program_is_not_taken_for_the_original() {
    let folder = PLATES[0].folder();
    folder.run("rescue job.toml --stop stop.toml --out first");
    let ran = folder.run_with(&[
        "rescue",
        "first/rescue.nc",
        "--thickness",
        "10 mm",
        "--cut",
        "1",
        "--after",
        "first/plate.json",
    ]);
    assert_eq!(ran.status, 3);
    assert!(ran.complains("rescue.nc is the restart program"), "{}", ran.told());
    let ran = folder.run("rescue job.toml --cut 40 --after first/plate.json --out first");
    assert_eq!(ran.status, 2, "{}", ran.told());
    assert!(ran.complains("would be written over"), "{}", ran.told());
}

#[test]
fn program_thickness_and_plate_alone_are_enough() {
    // The words of this plate's table are the common ones.
    let folder = PLATES[0].folder();
    let known = ["--thickness", "10 mm", "--plate", "1500x750 mm"];
    let ran = folder.run_with(&[&["check", "program.nc"][..], &known].concat());
    assert_eq!(ran.status, 0, "{}", ran.told());
    assert!(ran.out.contains("What would add most"), "{}", ran.told());
    let ran =
        folder.run_with(&[&["rescue", "program.nc", "--cut", "37", "--out", "out"][..], &known].concat());
    assert_eq!(ran.status, 0, "{}", ran.told());
    assert!(folder.text("out/rescue.nc").contains("M3"));
}

#[test]
fn the_demo_leaves_a_folder_in_which_its_commands_work() {
    let folder = Folder::new();
    let ran = folder.run("demo");
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    for name in RESCUE {
        assert!(folder.all().contains(&format!("platewright-demo/{name}")), "{name}");
    }
    let again = folder.run("rescue platewright-demo/job.toml --stop platewright-demo/stop.toml --out again");
    assert_eq!(again.status, 0, "{}", again.told());
    for name in RESCUE {
        assert_eq!(
            folder.text(&format!("again/{name}")),
            folder.text(&format!("platewright-demo/{name}")),
            "{name}: the demo is nothing but the two commands"
        );
    }
    assert_eq!(folder.run("demo").status, 0, "a second run takes the place of the first");
}

/// Gives a spoiled text from a good one.
type Spoiler = fn(&str) -> String;

/// Ways to spoil a program.
const SPOILERS: [(&str, Spoiler); 12] = [
    ("cut off in the middle", |text| text[..text.len() / 2].to_owned()),
    ("no torch-off", |text| text.replace("M5", "")),
    ("no torch-on", |text| text.replace("M3", "").replace("M4", "")),
    ("numbers that are none", |text| text.replace("X1", "Xnan").replace("Y2", "Y--2").replace("F", "F.")),
    ("numbers too large", |text| text.replace("X1", "X1e9").replace("Y1", "Y99999999999999999999999999")),
    ("arcs without a radius", |text| text.replace("I-", "I0 (-").replace("J-", "J0 (-")),
    ("arcs turned", |text| text.replace("G3", "G2")),
    ("units changed", |text| text.replace("G21", "G20")),
    ("increments", |text| text.replace("G90", "G91")),
    ("an unclosed comment", |text| text.replacen("G21", "(G21", 1)),
    ("every line twice", |text| text.lines().flat_map(|line| [line, "\n", line, "\n"]).collect()),
    ("lines backwards", |text| text.lines().rev().flat_map(|line| [line, "\r\n"]).collect()),
];

#[test]
fn spoiled_programs_get_an_answer() {
    for plate in &PLATES {
        let text = String::from_utf8_lossy(plate.files[0].1);
        for (how, spoil) in SPOILERS {
            let folder = plate.folder();
            folder.put("program.nc", spoil(&text));
            let before = folder.all();
            for command in ["check job.toml --json", "check job.toml", "show job.toml --out -"] {
                let ran = folder.run(command);
                assert!((0..=1).contains(&ran.status), "{}, {how}: {}", plate.name, ran.told());
            }
            assert_eq!(folder.all(), before);
            let ran = folder.run("rescue job.toml --stop stop.toml --out out");
            assert!((0..=3).contains(&ran.status), "{}, {how}: {}", plate.name, ran.told());
            let has_program = folder.all().contains(&"out/rescue.nc".to_owned());
            assert_eq!(has_program, ran.status == 0, "{}, {how}: {}", plate.name, ran.told());
            if ran.status > 1 {
                assert!(ran.err.contains("remedy:"), "{}, {how}: {}", plate.name, ran.told());
            }
        }
    }
}

#[test]
fn every_field_of_every_document_is_described() {
    const PAGE: &str = include_str!("../../../../docs/json.md");
    fn names(value: &Value, found: &mut Vec<String>) {
        match value {
            Value::Object(fields) => fields.iter().for_each(|(name, value)| {
                found.push(name.clone());
                names(value, found);
            }),
            Value::Array(rows) => rows.iter().for_each(|row| names(row, found)),
            _ => {}
        }
    }
    let folder = PLATES[5].folder();
    let mut documents: Vec<Value> = [
        "check job.toml --json",
        "forecast job.toml --json",
        "show job.toml --json",
        "shop check --json",
        "explain --json",
    ]
    .iter()
    .map(|command| json(&folder.run(command)))
    .collect();
    let folder = PLATES[0].folder();
    documents.push(json(&folder.run("rescue job.toml --stop stop.toml --out out --json")));
    assert_eq!(documents[5], plan(&folder, "out"), "the file is what is printed");
    documents.push(serde_json::from_str(&folder.text("out/plate.json")).expect("it is JSON"));
    let moved = [
        "refind",
        "job.toml",
        "--cut",
        "37",
        "--tolerance",
        "2 mm",
        "--pointer",
        "0,0 mm",
        "--json",
        "--measure",
        "corner lower-left at 20,5 mm",
        "--measure",
        "corner upper-right at 1520,755 mm",
        "--measure",
        "corner lower-right at 1520,5 mm",
    ];
    documents.push(json(&folder.run_with(&moved)));
    for document in &documents {
        let (schema, version) = (document["schema"].as_str().expect("a name"), &document["version"]);
        assert!(PAGE.contains(&format!("`{schema}`")), "{schema}");
        assert!(version.as_u64().is_some_and(|version| version > 0), "{schema}");
        let mut found = Vec::new();
        names(document, &mut found);
        found.sort_unstable();
        found.dedup();
        for name in found {
            assert!(
                PAGE.contains(&format!("`{name}`")) || PAGE.contains(&format!("`{name}[]`")),
                "{schema}: {name}"
            );
        }
    }
}

/// What the look that would tell most asks for is told by the flag that takes it: a code by `--fault`, anything else by
/// `--seen`.
#[test]
fn the_next_look_names_the_flag_that_tells_it() {
    let folder = PLATES[0].folder();
    let stop =
        ["rescue", "job.toml", "--cut", "42", "--kind", "arc-lost", "--kerf-to", "300 mm", "--out", "r"];
    let ran = folder.run_with(&stop);
    let out = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
    for said in ["Tell it with --fault: NO-TRANSFER (the arc did not", "; or with --seen: no-such-fault ("] {
        assert!(out.contains(said), "{said:?} is missing:\n{}", ran.out);
    }
    let told = folder.run_with(&[&stop[..], &["--fault", "NO-TRANSFER"]].concat());
    assert!(told.status == 0 && !told.out.contains("--fault"), "{}", told.out);
}
