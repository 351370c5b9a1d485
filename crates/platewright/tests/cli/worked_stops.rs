//! The worked stops of the demo, by the very commands their list tells: which ways on come out, that all is proven, and
//! that the pictures beside them are fresh.

use crate::folder::Folder;
use expect_test::expect_file;
use nests::demo::{DemoFile, Then, WorkedStop, files, worked_stops};
use serde_json::Value;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

#[test]
fn each_worked_stop_gives_the_ways_on_that_its_list_tells() {
    let mut others = Vec::new();
    for stop in worked_stops() {
        let plan = Worked::of(&stop).plan;
        if ways(&plan) != stop.ways {
            others.push(format!("{}: {:?}", stop.name, ways(&plan)));
        }
        assert_eq!(plan["proven"], true, "{}", stop.name);
        assert_eq!(plan["not_understood"], Value::Array(Vec::new()), "{}", stop.name);
    }
    assert!(others.is_empty(), "the lists tell other ways on: {others:#?}");
}

#[test]
fn what_was_told_is_not_asked_for() {
    for stop in worked_stops().iter().filter(|stop| ["plate-moved", "wrong-datum"].contains(&stop.name)) {
        assert_eq!(Worked::of(stop).plan["wanted"], Value::Null, "{}", stop.name);
    }
}

/// What is made anew is pictured by the command that makes it, too.
#[test]
fn every_way_on_has_a_worked_stop_with_its_picture() {
    let stops = worked_stops();
    let offered: BTreeSet<&str> = stops.iter().flat_map(|stop| stop.ways.iter().copied()).collect();
    let first = stops.iter().filter_map(|stop| stop.ways.first().copied());
    let others = stops.iter().flat_map(|stop| stop.pictured.iter().copied());
    let anew = stops.iter().filter(|stop| stop.then.is_some_and(|then| then.picture == "salvage.svg"));
    let pictured: BTreeSet<&str> = first.chain(others).chain(anew.map(|_| "salvage")).collect();
    for way in
        ["restart-block", "kerf-end", "fresh-pierce", "second-pass", "backwards", "skip-part", "salvage"]
    {
        assert!(offered.contains(way) && pictured.contains(way), "{way}");
    }
}

/// Pictures are written by `cargo xtask bless`.
#[test]
fn pictures_of_worked_stops_are_fresh() {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo");
    for stop in worked_stops() {
        let committed = demo.join("stops").join(stop.name).join("plan.svg");
        let worked = Worked::of(&stop);
        expect_file![committed].assert_eq(&worked.picture);
        for way in stop.pictured {
            let name = format!("plan-{way}.svg");
            let picture = worked.folder.text(&format!("{}/{name}", worked.out));
            expect_file![demo.join("stops").join(stop.name).join(name)].assert_eq(&picture);
        }
        if let Some(then) = stop.then {
            let committed = demo.join("stops").join(stop.name).join(then.picture);
            expect_file![committed].assert_eq(&worked.then(&then));
        }
    }
}

/// What came of a worked stop.
struct Worked {
    folder: Folder,
    plan: Value,
    picture: String,
    /// The folder that the last rescue wrote into.
    out: String,
}

impl Worked {
    /// Types the commands of a worked stop in a folder with the demo in it.
    fn of(stop: &WorkedStop) -> Self {
        let folder = Folder::new();
        for DemoFile { path, text } in files() {
            let file = PathBuf::from("demo").join(path);
            let above = file.parent().expect("it lies in a folder");
            std::fs::create_dir_all(folder.path().join(above)).expect("a folder can be made");
            folder.put(&file.display().to_string(), text);
        }
        let mut last = None;
        for command in stop.commands() {
            let arguments = command.strip_prefix("platewright ").expect("it is one of ours");
            let ran = folder.run(&format!("{arguments} --json"));
            assert_eq!(ran.status, 0, "{}: {}", stop.name, ran.told());
            let out = arguments.split(' ').next_back().expect("the folder comes last").to_owned();
            last = Some((out, ran.out));
        }
        let (out, told) = last.expect("there is a command");
        Self {
            plan: serde_json::from_str(&told).expect("it is JSON"),
            picture: folder.text(&format!("{out}/plan.svg")),
            folder,
            out,
        }
    }

    /// Types the command that helps besides; gives its picture.
    fn then(&self, then: &Then) -> String {
        let arguments = then.command.strip_prefix("platewright ").expect("it is one of ours");
        let ran = self.folder.run(arguments);
        assert_eq!(ran.status, 0, "{}: {}", then.command, ran.told());
        let out = arguments.split_whitespace().next_back().expect("the folder comes last");
        assert!(!self.folder.text(&format!("{out}/{}", then.program)).is_empty());
        self.folder.text(&format!("{out}/{}", then.picture))
    }
}

/// Words of the ways on, in order.
fn ways(plan: &Value) -> Vec<&str> {
    let choices = plan["choices"].as_array().expect("a list");
    choices.iter().map(|choice| choice["kind"].as_str().expect("a word")).collect()
}
