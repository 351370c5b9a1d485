//! Whether the committed demo files are what their generator makes, and whether each says what it should.

use finding::Finding;
use nc::{Dialect, EventKind, Motions, Start};
use nests::demo::{Demo, demos, files, worked_stops};
use shop::{Job, Shop, StopReport};
use std::path::Path;

/// The one demo that is wrong on purpose.
const SPOILED: &str = "first-try";

fn text(folder: &str, name: &str) -> String {
    let path = format!("{folder}/{name}");
    files().into_iter().find(|file| file.path == path).expect("the demo has this file").text
}

fn none(findings: &[Finding], of: &str) {
    assert!(findings.is_empty(), "{of}: {findings:#?}");
}

fn shop_of(demo: &Demo) -> Shop {
    let (shop, findings) = Shop::parse(&text(demo.folder, "shop.toml"));
    none(&findings, demo.folder);
    shop
}

#[test]
fn committed_files_are_fresh() {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("the crate lies in demo/");
    for file in files() {
        let committed = std::fs::read_to_string(demo.join(&file.path)).unwrap_or_default();
        assert!(committed == file.text, "demo/{} is stale: run `cargo xtask demo`", file.path);
    }
}

#[test]
fn nothing_else_lies_in_the_folders() {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("the crate lies in demo/");
    let ours: Vec<_> = files().into_iter().map(|file| demo.join(file.path)).collect();
    for folder in demos() {
        for entry in std::fs::read_dir(demo.join(folder.folder)).expect("it is committed") {
            let path = entry.expect("readable").path();
            assert!(ours.contains(&path), "{} is not made by the generator", path.display());
        }
    }
}

#[test]
fn a_folder_of_a_worked_stop_holds_its_report_and_its_picture() {
    let stops =
        Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("the crate lies in demo/").join("stops");
    let mut folders: Vec<_> = std::fs::read_dir(&stops)
        .expect("it is committed")
        .map(|entry| entry.expect("readable").path())
        .filter(|path| path.is_dir())
        .collect();
    folders.sort();
    let mut worked = worked_stops();
    worked.sort_by_key(|stop| stop.name);
    assert_eq!(folders, worked.iter().map(|stop| stops.join(stop.name)).collect::<Vec<_>>());
    for (folder, stop) in folders.iter().zip(&worked) {
        let held =
            std::fs::read_dir(folder).expect("readable").map(|entry| entry.expect("readable").file_name());
        let mut held: Vec<_> = held.collect();
        held.sort();
        let mut expected = vec!["plan.svg".into(), "stop.toml".into()];
        expected.extend(stop.pictured.iter().map(|way| std::ffi::OsString::from(format!("plan-{way}.svg"))));
        expected.extend(stop.then.map(|then| then.picture.into()));
        expected.sort_unstable();
        assert_eq!(held, expected, "{}", folder.display());
    }
}

#[test]
fn every_kind_of_stop_is_worked_and_read_without_findings() {
    let reports = worked_stops().into_iter().map(|stop| (stop.name, StopReport::parse(&stop.report())));
    let kinds: Vec<_> = reports
        .map(|(name, (report, findings))| {
            none(&findings, name);
            report.kind.expect("it tells its kind")
        })
        .collect();
    for (word, kind, _) in <shop::StopKind as shop::Worded>::WORDS {
        assert!(kinds.contains(kind), "no worked stop of the kind {word}");
    }
}

#[test]
fn every_file_says_that_it_is_invented() {
    for file in files() {
        assert!(
            file.text.lines().take(6).any(|line| line.to_lowercase().contains("invented")),
            "{}",
            file.path
        );
    }
}

#[test]
fn shop_files_hold_the_words_their_programs_use() {
    for demo in demos() {
        let read = shop_of(&demo).table.dialect;
        let plain = |dialect: Dialect| Dialect { comp_widths: Vec::new(), ..dialect };
        assert_eq!(plain(read), plain(demo.hand.dialect.clone()), "{}", demo.folder);
    }
}

#[test]
fn job_files_fit_their_plates() {
    for demo in demos() {
        let (job, findings) = Job::parse(&text(demo.folder, "job.toml"));
        none(&findings, demo.folder);
        let thickness = job.thickness.expect("told").mm();
        assert!((thickness - demo.nest.thickness_mm).abs() < 1e-9, "{}: {thickness}", demo.folder);
        let shop = shop_of(&demo);
        let process = shop.processes.iter().find(|process| Some(&process.name) == job.process.as_ref());
        let process = process.expect("the job names a process of the shop");
        assert_eq!(Some(process.material), job.material, "{}", demo.folder);
        let used = demo.nest.cuts.iter().map(|cut| cut.cutting.process).filter(|number| *number != 9);
        assert!(used.into_iter().all(|number| process.number == Some(number)), "{}", demo.folder);
        assert_eq!(shop.fitted.map(|fitted| fitted.process), job.process, "{}", demo.folder);
    }
}

/// Motions of a demo's program, and what reading found.
fn motions(demo: &Demo) -> (nc::Program, Motions, Vec<Finding>) {
    let dialect = shop_of(demo).table.dialect;
    let (program, mut findings) = nc::Program::parse(demo.program().into_bytes(), &dialect);
    let (motions, more) = Motions::run(&program, &dialect, &Start::usual(&dialect));
    findings.extend(more);
    (program, motions, findings)
}

#[test]
fn programs_are_read_without_findings_and_start_as_often_as_planned() {
    for demo in demos().iter().filter(|demo| demo.folder != SPOILED) {
        let (_, motions, findings) = motions(demo);
        none(&findings, demo.folder);
        let starts = motions.events().iter().filter(|event| event.kind == EventKind::TorchOn).count();
        assert_eq!(starts, demo.nest.cuts.len(), "{}", demo.folder);
        assert!((10..=400).contains(&starts), "{}", demo.folder);
    }
    assert_eq!(demos()[0].nest.cuts.len(), 64);
}

#[test]
fn the_spoiled_program_trips_the_reader_where_it_was_spoiled() {
    let demo = demos().into_iter().find(|demo| demo.folder == SPOILED).expect("it is there");
    let (program, _, findings) = motions(&demo);
    let at = |rule: &str| {
        let finding = findings.iter().find(|finding| finding.rule == rule)?;
        let span = finding.primary.as_ref()?.span;
        program.line(program.line_of(span.start)).map(std::borrow::Cow::into_owned)
    };
    assert_eq!(at("word-unknown").as_deref(), Some("M77"), "{findings:#?}");
    assert!(at("arc-inexact").is_some_and(|line| line.starts_with("G2 ")), "{findings:#?}");
}

/// Names of the rules that speak about a demo, each once, sorted.
fn rules_that_speak(demo: &Demo) -> Vec<&'static str> {
    let shop = shop_of(demo);
    let (job, _) = Job::parse(&text(demo.folder, "job.toml"));
    let (program, motions, mut read) = motions(demo);
    let reading = cuts::Reading {
        kerf: units::Length::from_mm(demo.nest.cuts[0].cutting.kerf_mm),
        mark_processes: shop
            .processes
            .iter()
            .filter(|process| process.marks)
            .filter_map(|p| p.number)
            .collect(),
        rapid: shop.table.rapid,
    };
    let (list, found) = cuts::CutList::build(&program, &motions, &reading);
    read.extend(found);
    let planned =
        cell::Planned { motions: &motions, list: &list, shop: &shop, job: &job, kerf: reading.kerf };
    let forecast = cell::Forecast::of(&planned);
    let facts = checks::Facts {
        program: &program,
        dialect: &shop.table.dialect,
        motions: &motions,
        list: &list,
        index: &cuts::PlateIndex::new(&list),
        read: &read,
        shop: Some(&shop),
        job: &job,
        kerf: reading.kerf,
        forecast: Some(&forecast),
    };
    let mut rules: Vec<_> = checks::check(&facts).findings.iter().map(|finding| finding.rule).collect();
    rules.sort_unstable();
    rules.dedup();
    rules
}

#[test]
fn the_spoiled_program_trips_every_rule_it_was_spoiled_for() {
    let demo = demos().into_iter().find(|demo| demo.folder == SPOILED).expect("it is there");
    let speak = rules_that_speak(&demo);
    for rule in [
        "air-runs-short",
        "arc-inexact",
        "contour-open",
        "corner-slow",
        "datum-set-midway",
        "low-travel",
        "outline-before-hole",
        "outside-plate",
        "outside-table",
        "pierce-delay-missing",
        "pierce-on-void",
        "process-not-fitted",
        "program-unended",
        "relies-on-power-up-state",
        "restart-unsafe",
        "speed-off-chart",
        "torch-left-on",
        "torch-unpaired",
        "touch-off-missing",
        "travel-over-loose-piece",
        "word-unknown",
    ] {
        assert!(speak.contains(&rule), "{rule} does not speak; these do: {speak:?}");
    }
}

/// Rules that speak of what this shop's plant and set make of a program that is sound in itself.
const OF_THE_SHOP: [&str; 3] = ["consumables-spent", "duty-cycle-over", "travel-over-loose-piece"];

/// Increments and subprograms lean on earlier blocks by their nature; nothing else is amiss with the other plates.
#[test]
fn the_other_programs_are_fit_to_cut() {
    for demo in demos().iter().filter(|demo| demo.folder != SPOILED) {
        let mut speak = rules_that_speak(demo);
        speak.retain(|rule| !OF_THE_SHOP.contains(rule));
        let leans = demo.hand.manner.copies == nests::Copies::Subprogram
            || demo.hand.manner.distance == nc::Distance::Incremental;
        let expected: &[&str] = if leans { &["restart-unsafe"] } else { &[] };
        assert_eq!(speak, expected, "{}", demo.folder);
    }
}

#[test]
fn stops_are_at_starts_of_their_programs() {
    for demo in demos() {
        let (stop, findings) = StopReport::parse(&text(demo.folder, "stop.toml"));
        none(&findings, demo.folder);
        if let Some(line) = stop.line {
            let (program, motions, _) = motions(&demo);
            let mut starts = motions.events().iter().filter(|event| event.kind == EventKind::TorchOn);
            assert!(starts.any(|event| event.block + 1 == line), "{}: {:?}", demo.folder, program.line(line));
        }
        if let Some([x, y]) = stop.at {
            let pierced =
                |cut: &nests::PlannedCut| (cut.pierce().x - x.mm()).hypot(cut.pierce().y - y.mm()) < 0.1;
            assert_eq!(demo.nest.cuts.iter().filter(|cut| pierced(cut)).count(), 1, "{}", demo.folder);
        }
        if let Some(code) = stop.fault {
            let source = shop_of(&demo).source.expect("the demo shop has one");
            assert!(source.faults.iter().any(|fault| fault.code == code), "{}: {code}", demo.folder);
        }
    }
}
