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
    }
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
    // Another rescue into the same folder leaves no program of the first behind.
    let ran = rescue(&folder, &["--cut", "1", "--out", "out"]);
    assert_eq!(ran.status, 0, "{}", ran.told());
    assert!(folder.all().iter().all(|file| !file.starts_with("out/rescue-kerf-end")), "{:?}", folder.all());
    assert!(folder.all().iter().all(|file| !file.starts_with("out/rescue-fresh")), "{:?}", folder.all());
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
        (&["--cut", "2", "--kind", "arc-lost", "--kerf-to", "-3 mm"], "less than nothing"),
        (
            &["--cut", "2", "--kind", "arc-lost", "--kerf-to", "30 mm", "--along", "20 mm"],
            "the kerf is through to 30 mm, but the torch stopped at 20 mm",
        ),
        (&["--cut", "2", "--kind", "arc-lost", "--kerf-to", "30"], "--kerf-to"),
        (&["--cut", "2", "--kind", "arc-gone"], "arc-lost"),
    ] {
        let before = folder.all();
        let ran = rescue(&folder, flags);
        assert_eq!(ran.status, 2, "{flags:?}: {}", ran.told());
        assert!(ran.err.replace('\n', " ").contains(told), "{flags:?}: {}", ran.told());
        assert_eq!(folder.all(), before, "nothing must be left");
    }
}
