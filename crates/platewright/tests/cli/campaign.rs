//! `campaign`: the table, its JSON, one case again, and a program of one's own.

use crate::folder::Folder;
use nests::demo::{DemoFile, files};

#[test]
fn the_same_seed_prints_the_same_table_on_any_number_of_threads() {
    let folder = Folder::new();
    let alone = folder.run("campaign --runs 8 --seed 5 --failures 0 --threads 1");
    let many = folder.run("campaign --runs 8 --seed 5 --failures 0 --threads 3");
    assert_eq!((alone.status, alone.err.as_str()), (0, ""), "{}", alone.out);
    assert_eq!(alone.out, many.out);
    for word in ["| fault | stops |", "| **all** | 8 |", "skilled hand", "unsafe moment"] {
        assert!(alone.out.contains(word), "{word:?} is missing:\n{}", alone.out);
    }
}

#[test]
fn json_holds_the_table() {
    let ran = Folder::new().run("campaign --runs 4 --seed 2 --failures 1 --json");
    assert_eq!((ran.status, ran.err.as_str()), (0, ""), "{}", ran.out);
    let document: serde_json::Value = serde_json::from_str(&ran.out).expect("it is JSON");
    assert_eq!(document["schema"], "platewright.campaign");
    assert_eq!(document["runs"], 4);
    let stops = document["faults"].as_array().expect("rows").iter().map(|row| row["stops"].as_u64());
    assert_eq!(stops.map(Option::unwrap_or_default).sum::<u64>(), 4);
    assert_eq!(document["all"]["operators"].as_array().map(Vec::len), Some(3));
}

#[test]
fn a_case_is_run_again_by_its_words() {
    let folder = Folder::new();
    let ran = folder.run("campaign --case nest=7,families=2,copies=2,kind=no-transfer,cut=0.5");
    assert_eq!((ran.status, ran.err.as_str()), (0, ""), "{}", ran.out);
    assert!(ran.out.contains("could still be saved") && ran.out.contains("planner: saved"), "{}", ran.out);
    let wrong = folder.run("campaign --case nest=7,kind=bang");
    assert_eq!((wrong.status, wrong.out.as_str()), (2, ""));
    assert!(wrong.err.contains("`bang` is no kind of fault"), "{}", wrong.err);
}

#[test]
fn a_program_of_ones_own_is_stopped() {
    let folder = Folder::new();
    folder.put("program.nc", include_bytes!("../../../../demo/machine-feet/program.nc"));
    folder.put("shop.toml", include_bytes!("../../../../demo/machine-feet/shop.toml"));
    folder.put("job.toml", include_bytes!("../../../../demo/machine-feet/job.toml"));
    let ran = folder.run("campaign --program job.toml --runs 2 --failures 0");
    assert_eq!((ran.status, ran.err.as_str()), (0, ""), "{}", ran.out);
    assert!(ran.out.contains("| **all** | 2 |"), "{}", ran.out);
}

/// Stops on a demo plate after which the planner lost a part that could have been saved: whether it is by now or not, nothing
/// unsafe comes of them.
#[test]
fn what_is_lost_on_a_demo_plate_is_lost_safely() {
    let folder = Folder::new();
    std::fs::create_dir(folder.path().join("machine-feet")).expect("a folder can be made");
    for DemoFile { path, text } in files().into_iter().filter(|file| file.path.starts_with("machine-feet")) {
        folder.put(&path, text);
    }
    for case in [
        "nest=1362275821,families=1,copies=1,hand=0,fault=by-hand,cut=0.3497,share=0.896,amount=0,noise=187620313",
        "nest=2132036012,families=1,copies=1,hand=0,fault=groove,cut=0,end=9.3666,amount=0,noise=1777437835",
        "nest=3468021594,families=1,copies=1,hand=0,fault=arc-lost,cut=0.1048,corner=0.8617,amount=0,noise=3903910870",
        "nest=1686253406,families=1,copies=1,hand=0,fault=arc-stays-on,cut=0,share=0.5,amount=0,noise=2438825575,\
         second=hose-kinked@2@0.8903",
    ] {
        let ran = folder.run(&format!("campaign --program machine-feet/job.toml --case {case}"));
        let (_, planner) = ran.out.split_once("planner: ").unwrap_or_else(|| panic!("{}", ran.told()));
        // What is unsafe stands between him and the next operator.
        let (planner, _) = planner.split_once("skilled hand: ").expect("the next operator");
        assert!(planner.starts_with("saved [") && planner.contains("; done"), "{planner}");
        assert!(!planner.contains("unsafe"), "{planner}");
    }
}
