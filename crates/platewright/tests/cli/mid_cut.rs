//! Stops in mid-cut by flags, as a user would tell them, and flags that cannot be.

use crate::folder::Folder;
use serde_json::Value;

const BRACKET: [&str; 6] = ["rescue", "bracket.nc", "--thickness", "10 mm", "--plate", "400x300 mm"];

fn rescue(folder: &Folder, flags: &[&str]) -> crate::folder::Ran {
    folder.run_with(&[&BRACKET[..], flags].concat())
}

fn plan(folder: &Folder, out: &str) -> Value {
    serde_json::from_str(&folder.text(&format!("{out}/plan.json"))).expect("it is JSON")
}

#[test]
fn a_lost_arc_is_taken_up_and_every_way_on_is_written() {
    let folder = Folder::with_bracket();
    let flags =
        ["--cut", "3", "--kind", "arc-lost", "--kerf-to", "90 mm", "--kerf-within", "1 mm", "--out", "out"];
    let ran = rescue(&folder, &flags);
    assert_eq!(ran.status, 0, "{}", ran.told());
    let plan = plan(&folder, "out");
    let choices = plan["choices"].as_array().expect("a list");
    assert_eq!(choices[0]["file"], "rescue.nc");
    assert_eq!(choices[0]["joins"][0]["cut"], 3, "{plan:#}");
    for choice in choices {
        let file = choice["file"].as_str().expect("each is written");
        assert!(!folder.text(&format!("out/{file}")).is_empty());
        assert!(choice["proof"]["holds"].as_bool().expect("it is told"));
    }
    for choice in &choices[1..] {
        let kind = choice["kind"].as_str().expect("a word");
        assert_eq!(choice["file"], format!("rescue-{kind}.nc"));
        let plate: Value =
            serde_json::from_str(&folder.text(&format!("out/plate-{kind}.json"))).expect("JSON");
        assert_eq!(plate["restart"]["name"], format!("rescue-{kind}.nc"));
        assert_eq!(choice["trace_file"], format!("trace-{kind}.nc"));
        assert_eq!(choice["picture_file"], format!("plan-{kind}.svg"));
    }
    // Each has its own picture.
    let pictures: std::collections::BTreeSet<String> = choices
        .iter()
        .map(|choice| folder.text(&format!("out/{}", choice["picture_file"].as_str().expect("each has one"))))
        .collect();
    assert_eq!(pictures.len(), choices.len());
    // Each goes its own way with the torch off first.
    let traces: std::collections::BTreeSet<String> = choices
        .iter()
        .map(|choice| folder.text(&format!("out/{}", choice["trace_file"].as_str().expect("each has one"))))
        .collect();
    assert!(choices.len() >= 3 && traces.len() == choices.len(), "{traces:?}");
    assert!(traces.iter().all(|trace| !trace.contains("M3") && trace.contains("frame of what is left")));
    assert!(choices.iter().all(|choice| choice["trace_preconditions"][0].is_string()), "{plan:#}");
    // The join stops again: its plate file knows where it began.
    let flags = [
        "--after",
        "out/plate.json",
        "--cut",
        "3",
        "--kind",
        "arc-lost",
        "--kerf-to",
        "150 mm",
        "--kerf-within",
        "1 mm",
        "--out",
        "again",
    ];
    let ran = rescue(&folder, &flags);
    assert_eq!(ran.status, 0, "{}", ran.told());
    // Told by a line of the restart that lies beside the plate file, the place within the cut is known as well; where
    // another program lies there, it is not.
    let restart = folder.text("out/rescue.nc");
    let torch_off = restart.lines().position(|line| line.trim() == "M5").expect("the join ends");
    let line = torch_off.to_string();
    let flags = ["--after", "out/plate.json", "--line", &line, "--kind", "by-hand", "--json"];
    let along = |folder: &Folder| {
        let ran = rescue(folder, &flags);
        let plan: Value = serde_json::from_str(&ran.out).expect("it is JSON");
        assert_eq!(plan["stop"]["cut"], 3, "{}", ran.told());
        plan["stop"]["along_mm"].as_f64()
    };
    assert!(along(&folder).is_some_and(|mm| mm > 90.0), "{:?}", along(&folder));
    folder.put("out/rescue.nc", format!("{restart}(edited)\n"));
    assert_eq!(along(&folder), None);
    // Another rescue into the same folder leaves no program of the first behind.
    let ran = rescue(&folder, &["--cut", "1", "--out", "out"]);
    assert_eq!(ran.status, 0, "{}", ran.told());
    assert!(folder.all().iter().all(|file| !file.starts_with("out/rescue-kerf-end")), "{:?}", folder.all());
    assert!(folder.all().iter().all(|file| !file.starts_with("out/rescue-fresh")), "{:?}", folder.all());
    assert!(folder.all().iter().all(|file| !file.starts_with("out/trace-")), "{:?}", folder.all());
    assert!(folder.all().iter().all(|file| !file.starts_with("out/plan-")), "{:?}", folder.all());
}

#[test]
fn without_the_kerfs_end_the_plan_asks_for_it() {
    let folder = Folder::with_bracket();
    let ran = rescue(&folder, &["--cut", "2", "--kind", "arc-lost", "--out", "out"]);
    assert!(ran.out.contains("kerf_to"), "{}", ran.told());
    assert!(plan(&folder, "out")["wanted"].as_str().expect("a sentence").contains("kerf_at"));
}

#[test]
fn flags_that_cannot_be_are_refused_with_a_remedy() {
    let folder = Folder::with_bracket();
    for (flags, told) in [
        (
            &["--cut", "2", "--state", "1=melted"][..],
            "is no state of a cut; known: dry, partial, groove, whole",
        ),
        (&["--cut", "2", "--state", "1"], "a cut's number and a word with = between"),
        (&["--cut", "2", "--state", "0=dry"], "a cut's number and a word with = between"),
        (&["--cut", "2", "--state", "1=dry@5mm"], "has no place after @"),
        (&["--cut", "2", "--state", "1=groove@50mm..20mm"], "ends before it begins"),
        (&["--cut", "2", "--piece", "1=gone"], "is no state of a piece"),
        (&["--cut", "2", "--kerf-to", "30 mm"], "the arc did not come, but a kerf is told"),
        (&["--cut", "2", "--kerf-to", "30 mm"], "`--kind arc-lost`"),
        (&["--cut", "2", "--kind", "arc-lost", "--kerf-to", "-3 mm"], "less than nothing"),
        (
            &["--cut", "2", "--kind", "arc-lost", "--kerf-to", "30 mm", "--along", "20 mm"],
            "the kerf is through to 30 mm, but the torch stopped at 20 mm",
        ),
        (&["--cut", "2", "--kind", "arc-lost", "--kerf-to", "30"], "--kerf-to"),
        (&["--cut", "2", "--kind", "arc-lost", "--bad-from", "30 mm"], "but not that the cut is bad"),
        (&["--cut", "2", "--bad-from", "30 mm"], "`--bad-from` is told, but not that the cut is bad"),
        (&["--cut", "2", "--bad-from", "30 mm"], "`--kind bad-cut`"),
        (&["--cut", "2", "--kind", "bad-cut", "--bad-from", "-3 mm"], "less than nothing"),
        (&["--cut", "2", "--stray", "6 mm"], "it begins with no place; write a hole as"),
        (&["--cut", "2", "--stray", "1,2"], "unit"),
        (&["--cut", "2", "--stray", "1,2 mm wide 0 mm"], "must be more than nothing"),
        (&["--cut", "2", "--stray", "1,2 mm deep 3 mm"], "is neither a place nor `wide` nor `within`"),
        (&["--cut", "2", "--kind", "arc-gone"], "arc-lost"),
    ] {
        let before = folder.all();
        let ran = rescue(&folder, flags);
        assert_eq!(ran.status, 2, "{flags:?}: {}", ran.told());
        assert!(ran.err.replace('\n', " ").contains(told), "{flags:?}: {}", ran.told());
        assert_eq!(folder.all(), before, "nothing must be left");
    }
}

/// How far a bad cut is good, and what was cut beside the cuts, can be typed as well as written into a stop file: the plan is
/// the same.
#[test]
fn a_bad_cut_and_strays_are_told_by_flags_as_by_a_file() {
    let folder = Folder::with_bracket();
    let stop = "kind = \"bad-cut\"\ncut = 3\nstopped_along = \"120 mm\"\nbad_from = \"60 mm\"\n\
                [[stray]]\nplaces = [\"250x150 mm\"]\nwide = \"6 mm\"\n\
                [[stray]]\nplaces = [\"260x150 mm\", \"300x150 mm\"]\nwithin = \"2 mm\"\n";
    folder.put("stop.toml", stop);
    let place = ["--cut", "3", "--kind", "bad-cut", "--along", "120 mm"];
    let bad_from = ["--bad-from", "60 mm"];
    let strays = ["--stray", "250,150 mm wide 6 mm", "--stray", "260,150 300,150 mm within 2 mm"];
    let told = |flags: &[&[&str]]| {
        let ran = rescue(&folder, &[&flags.concat()[..], &["--out", "out", "--json"]].concat());
        assert!(ran.err.is_empty(), "{}", ran.told());
        (ran.out, folder.text("out/plate.json"))
    };
    let by_file = told(&[&["--stop", "stop.toml"]]);
    assert_eq!(told(&[&place, &bad_from, &strays]), by_file);
    let plate: Value = serde_json::from_str(&by_file.1).expect("it is JSON");
    assert!(plate["strays"].as_array().is_some_and(|strays| strays.len() >= 2), "{}", by_file.1);
    // Each counts: what is added to a file counts with it.
    assert_ne!(told(&[&place, &bad_from]), by_file);
    // Bad only in its lead-out, which begins 328 mm from the pierce, a cut spoils nothing; bad all along it spoils its part.
    folder.put(
        "run-on.nc",
        "G21 G90 G40 G17 G94\nT1\nG0 Z40\nG0 X22 Y40\nG38.2 Z-10 F300\nG0 Z4\nM3\nG4 P0.6\nG1 Z1.5 F1000\nX30 Y40 F1400\n\
         Y90\nX130\nY30\nX30\nY40\nY60\nM5\nG0 Z40\nM30\n",
    );
    let status = |more: &str| {
        let stop = "--cut 1 --kind bad-cut --along 345mm --out out";
        folder.run(&format!("rescue run-on.nc --thickness 10mm --plate 400x300mm {stop} {more}")).status
    };
    assert_eq!((status("--bad-from 335mm"), status("")), (0, 1));
    assert_ne!(told(&[&["--stop", "stop.toml", "--stray", "350,250 mm"]]), by_file);
}

/// Where nobody has told prices nothing is said of money; where the shop has, each way on says what running it costs, and where
/// the job tells values, what is at stake.
#[test]
fn a_way_on_says_what_it_costs_where_prices_are_told() {
    let folder = Folder::with_bracket();
    let flags = ["--cut", "3", "--kind", "arc-lost", "--kerf-to", "90 mm", "--kerf-within", "1 mm"];
    let ran = rescue(&folder, &flags);
    assert!(ran.status == 0 && !ran.out.contains("costs") && !ran.out.contains("worth"), "{}", ran.told());
    let prices = |more: &[&str]| {
        let ran = rescue(&folder, &[&flags[..], more, &["--json"]].concat());
        let plan: Value = serde_json::from_str(&ran.out).unwrap_or_else(|_| panic!("{}", ran.told()));
        plan["choices"]
            .as_array()
            .expect("a list")
            .iter()
            .map(|choice| choice["price"].clone())
            .collect::<Vec<_>>()
    };
    assert!(prices(&[]).iter().all(Value::is_null));
    folder.put("shop.toml", "[money]\ncurrency = \"EUR\"\nhour = 60.0\n");
    let told = prices(&["--shop", "shop.toml"]);
    for price in &told {
        let (sum, time) = (price["sum"].as_f64(), price["items"]["time"].as_f64());
        assert!(sum == time && sum.is_some_and(|sum| sum > 0.0), "{price}");
        assert_eq!((&price["currency"], &price["is_whole"]), (&Value::from("EUR"), &Value::from(false)));
    }
    let ran = rescue(&folder, &[&flags[..], &["--shop", "shop.toml"]].concat());
    assert!(
        ran.out.contains("Running it costs EUR") && ran.out.contains("as far as prices are told"),
        "{}",
        ran.out
    );
}
