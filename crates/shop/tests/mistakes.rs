//! Mistakes in files: each is told at its place, with what to write instead, and none hides the others.

use finding::Finding;
use shop::{Job, Lip, PlateSide, Shop, SightedBy, StopReport};
use units::Length;

/// Reads `text` and compares what is told, each as `rule: text it points at`, in the order of the text.
#[track_caller]
fn check(read: impl Fn(&str) -> Vec<Finding>, text: &str, expected: &[&str]) {
    let findings = read(text);
    let told: Vec<_> = findings
        .iter()
        .map(|finding| {
            let span = finding.primary.as_ref().expect("every mistake has a place").span;
            format!("{}: {}", finding.rule, &text[span.range()])
        })
        .collect();
    assert_eq!(told, expected, "{findings:#?}");
    assert!(findings.iter().all(|finding| !finding.remedy.is_empty() && !finding.message.is_empty()));
}

fn shop(text: &str) -> Vec<Finding> {
    Shop::parse(text).1
}
fn job(text: &str) -> Vec<Finding> {
    Job::parse(text).1
}
fn stop(text: &str) -> Vec<Finding> {
    StopReport::parse(text).1
}

#[test]
fn a_file_of_many_mistakes_tells_all() {
    check(
        shop,
        r#"
name = ""
[table]
rapid = 15
acceleration = "800 mm"
travel = ["3 m", "x"]
safe_heigt = "40 mm"
home_switches = "yes"
this is no line
start_at_line = "scan"
arc_tolerance = "-0.05 mm"
[air]
receiver = "270 l"
rapid = "15 m/min"
"#,
        &[
            "value-unfit: \"\"",
            "unit-missing: 15",
            "unit-unknown: \"800 mm\"",
            "value-unfit: \"x\"",
            "key-unknown: safe_heigt",
            "value-unfit: \"yes\"",
            "file-unreadable: this is no line",
            "word-not-in-list: \"scan\"",
            "value-out-of-range: \"-0.05 mm\"",
            "key-unknown: rapid",
        ],
    );
}

#[test]
fn a_bare_number_is_told_its_units_and_a_slip_its_key() {
    let findings = shop("[table]\nrapid = 15\nsafe_heigt = \"40 mm\"\n[air]\nrapid = \"15 m/min\"");
    let remedies: Vec<_> = findings.iter().map(|finding| finding.remedy.as_str()).collect();
    assert_eq!(
        remedies,
        [
            "write number and unit in quotes, such as \"15 m/min\"; units: mm/min, m/min, mm/s, in/min or ft/min",
            "write `safe_height`",
            "it belongs in `[table]`",
        ]
    );
}

#[test]
fn words_that_clash() {
    let words = |words: &str| format!("[table.words]\n{words}");
    for (text, told) in [
        ("torch_on = [\"M3\", \"M5\"]", &["words-clash: \"M5\""][..]),
        ("torch_on = \"M7\"\ntorch_off = \"M7\"", &["words-clash: \"M7\""]),
        ("torch_on = \"M7\"\ntorch_off = \"M8\"", &[]),
        ("torch_on = \"M5\"\ntorch_off = \"M3\"", &[]),
        ("probe = \"G1\"", &["words-clash: \"G1\""]),
        ("no_bearing = [\"M98\"]", &["words-clash: \"M98\""]),
        ("height_control_on = \"M21\"\nheight_control_off = \"M21\"", &["words-clash: \"M21\""]),
        ("touch_off = [\"M7\", \"subprogram 100\", \"torch-on\"]", &[]),
        ("touch_off = [\"subprogram x\"]", &["value-unfit: \"subprogram x\""]),
        ("process_letter = \"X\"", &["words-clash: \"X\""]),
        ("process_letter = \"O\"", &["words-clash: \"O\""]),
        ("process_letter = \"none\"\nsubprogram_letter = \"T\"", &[]),
        ("subprogram_letter = \"T\"", &["words-clash: \"T\""]),
        ("call_repeats = \"P\"", &["words-clash: \"P\""]),
        ("dwell_letter = \"X\"", &["words-clash: \"X\""]),
        ("dwell_letter = \"F\"", &[]),
        ("torch_on = \"3\"", &["value-unfit: \"3\""]),
        ("torch_on = \"M3.25\"", &["value-unfit: \"M3.25\""]),
        ("comments = [\"M\", \"(\", \"'\"]", &["value-unfit: \"M\"", "value-unfit: \"(\""]),
    ] {
        check(shop, &words(text), told);
    }
}

#[test]
fn facts_at_odds() {
    for (text, told) in [
        ("[air]\ncut_in = \"9 bar\"\ncut_out = \"7 bar\"", "facts-at-odds: \"9 bar\""),
        ("[air]\nregulator = \"140 psi\"\ncut_out = \"9 bar\"", "facts-at-odds: \"140 psi\""),
        (
            "[source]\nname = \"s\"\npressure_min = \"6 bar\"\n[air]\nregulator = \"5 bar\"",
            "facts-at-odds: \"5 bar\"",
        ),
        (
            "[[process]]\nname = \"p\"\nmaterial = \"steel\"\n[[process.chart]]\nthickness = \"3 mm\"\n\
             pierce.height = \"1 mm\"\ncut.height = \"1.5 mm\"",
            "facts-at-odds: \"1 mm\"",
        ),
        ("table.travel = [\"3 m\", \"0 m\"]", "value-out-of-range: [\"3 m\", \"0 m\"]"),
        ("fitted.process = \"fine\"", "name-unknown: \"fine\""),
    ] {
        check(shop, text, &[told]);
    }
}

#[test]
fn a_duty_cycle_that_rises_with_the_current() {
    let duty = "duty = [{ share = 0.6, current = \"40 A\" }, { share = 1.0, current = \"60 A\" }]";
    let told = format!("facts-at-odds: {}", &duty["duty = ".len()..]);
    check(shop, &format!("[source]\nname = \"s\"\n{duty}"), &[&told]);
}

#[test]
fn nothing_is_told_twice() {
    let process = "[[process]]\nname = \"a\"\nnumber = 1\nmaterial = \"steel\"\n";
    check(shop, &format!("{process}{process}"), &["name-twice: \"a\""]);
    check(shop, &format!("{process}{}", process.replace("\"a\"", "\"b\"")), &["name-twice: 1"]);
    check(shop, "name = \"a\"\nname = \"b\"", &["name-twice: name"]);
    let chart = |thickness: &str| format!("[[process.chart]]\nthickness = \"{thickness}\"\n");
    let twice = format!("{process}{}{}", chart("12.7 mm"), chart("1/2 in"));
    check(shop, &twice, &["thickness-twice: \"1/2 in\""]);
    let (read, _) = Shop::parse(&twice);
    assert_eq!(read.processes[0].chart.rows().len(), 1);
    check(stop, "state = [{ cut = 3, is = \"dry\" }, { cut = 3, is = \"whole\" }]", &["name-twice: 3"]);
}

#[test]
fn gauges_need_the_material_of_their_table() {
    check(job, "thickness = \"7 ga\"", &["value-unfit: \"7 ga\""]);
    check(job, "thickness = \"7 ga\"\nmaterial = \"stainless\"", &[]);
    check(job, "thickness = \"0 mm\"", &["value-out-of-range: \"0 mm\""]);
    let (read, _) = Job::parse("thickness = \"7 ga\"\nmaterial = \"stainless\"");
    // Source: 15 U.S.C. 206: 7 gauge is 3/16 in.
    assert!((read.thickness.expect("told").inch() - 0.1875).abs() < 1e-12);
}

#[test]
fn plates_as_size_and_as_outline() {
    check(job, "plate = \"2500x1250\"", &["unit-missing: \"2500x1250\""]);
    check(job, "plate = \"0x1250 mm\"", &["value-unfit: \"0x1250 mm\""]);
    check(job, "plate = 3", &["value-unfit: 3"]);
    check(job, "plate.holes = []", &["key-missing: plate"]);
    let (read, findings) = Job::parse(
        "[plate]\noutline = [\"0x0 mm\", \"1200x0 mm\", [\"1200 mm\", \"500 mm\"], \"0x800 mm\"]\n\
         holes = [[\"100x100 mm\", \"300x100 mm\", \"200x300 mm\"]]",
    );
    assert_eq!(findings, vec![]);
    let plate = read.plate.expect("told");
    // A trapezium of 1200 × (800 + 500) / 2, less a triangle of 200 × 200 / 2.
    assert!((plate.area_mm2() - (780_000.0 - 20_000.0)).abs() < 1e-6);
    let crossing = "plate.outline = [\"0x0 mm\", \"100x100 mm\", \"100x0 mm\", \"0x50 mm\"]";
    check(job, crossing, &[&format!("value-unfit: {}", &crossing["plate.outline = ".len()..])]);
}

#[test]
fn jobs() {
    check(job, "[values]\n1 = 40\nx = 3\n2 = -1", &["value-unfit: x", "value-out-of-range: -1"]);
    check(
        job,
        "clamps = [{ from = [\"10 mm\", \"10 mm\"], to = [\"5 mm\", \"20 mm\"] }]",
        &["facts-at-odds: [\"5 mm\", \"20 mm\"]"],
    );
    check(job, "datum = [\"10 mm\"]", &["value-unfit: [\"10 mm\"]"]);
    check(job, "datum = [1, \"x\"]", &["unit-missing: 1", "value-unfit: \"x\""]);
}

#[test]
fn stop_reports() {
    check(stop, "kind = \"no-transfer\"\ncut = 0", &["value-out-of-range: 0"]);
    check(stop, "kind = \"no transfer\"\nkerf_to = \"35 mm\"", &["facts-at-odds: \"35 mm\""]);
    check(stop, "kerf_to = \"35 mm\"\nstopped_along = \"30 mm\"", &["facts-at-odds: \"35 mm\""]);
    check(stop, "kerf_within = \"3 mm\"", &["facts-at-odds: \"3 mm\""]);
    check(stop, "kind = \"no-motion\"\nblown = \"9 mm\"\nkerf_within = \"1 mm\"", &[]);
    check(
        stop,
        "measured = [{ feature = \"hole\", plan = \"1x2 mm\" }]",
        &["key-missing: { feature = \"hole\", plan = \"1x2 mm\" }"],
    );
    let found = "found = \"1x2 mm\"";
    for lacking in [
        "feature = \"point\"",
        "feature = \"dimple\", cut = 3",
        "feature = \"crater\", plan = \"1x2 mm\"",
        "feature = \"hole\", side = \"left\"",
        "feature = \"corner\", cut = 3",
        "feature = \"edge\"",
        "feature = \"edge\", cut = 3",
        "feature = \"edge\", plan = \"1x2 mm\"",
    ] {
        let row = format!("{{ {lacking}, {found} }}");
        check(stop, &format!("measured = [{row}]"), &[&format!("key-missing: {row}")]);
    }
    check(stop, "pointer = { spot = \"1x2 mm\" }", &["facts-at-odds: { spot = \"1x2 mm\" }"]);
    check(stop, "pointer = { sigma = \"1 mm\" }", &["facts-at-odds: { sigma = \"1 mm\" }"]);
    let (report, findings) = StopReport::parse(
        "[pointer]\nspot = \"338x120 mm\"\ntip = \"400x120 mm\"\n[[measured]]\nfeature = \"edge\"\nside = \"left\"\n\
         points = [\"1x2 mm\", \"2x9 in\"]\nlip = \"scrap\"\nby = \"tip\"",
    );
    assert_eq!(findings, vec![]);
    let row = &report.measured[0];
    assert_eq!((row.side, row.lip, row.by), (Some(PlateSide::Left), Some(Lip::Scrap), Some(SightedBy::Tip)));
    assert_eq!(row.found[1], [Length::from_mm(50.8), Length::from_mm(228.6)]);
    let mark = report.pointer.and_then(|pointer| pointer.mark).expect("a mark");
    assert_eq!(mark.tip[0], Length::from_mm(400.0));
    let (report, findings) = StopReport::parse(
        "kind = \"NO_TRANSFER\"\ncut = 37\nline = 0x10\nseen = \"pilot-full\"\nmoved = false\n\
         [[piece]]\ncut = 3\nis = \"standing\"",
    );
    assert_eq!(findings, vec![]);
    assert_eq!(
        (report.kind, report.cut, report.line),
        (Some(shop::StopKind::NoTransfer), Some(37), Some(16))
    );
    assert_eq!(report.pieces, [(3, shop::PieceIs::Standing)]);
}

#[test]
fn numbers_that_cannot_be_reckoned_with() {
    check(
        shop,
        "[money]\nhour = nan\nkwh = inf\nplate_kg = 1e999",
        &["value-out-of-range: nan", "value-out-of-range: inf", "value-out-of-range: 1e999"],
    );
    check(stop, "cut = 99999999999999999999", &["value-out-of-range: 99999999999999999999"]);
    check(stop, "cut = -1", &["value-out-of-range: -1"]);
    check(job, "thickness = \"inf mm\"", &["value-unfit: \"inf mm\""]);
}

#[test]
fn a_file_that_is_none() {
    assert_eq!(shop(&"x".repeat(5 << 20)).len(), 1);
    let rubbish = "\u{1}\u{2} rubbish \u{fffd}\n".repeat(1000);
    let findings = shop(&rubbish);
    assert!(!findings.is_empty() && findings.len() < 100, "{}", findings.len());
    assert_eq!(shop(""), vec![]);
    assert_eq!(Shop::parse("").0, Shop::unknown());
}

/// Whatever the text, reading ends, does not panic, and points into the text.
#[test]
fn spoiled_files_are_read_to_the_end() {
    let line =
        |line: &str| line.strip_prefix('#').filter(|rest| !rest.starts_with(' ')).unwrap_or(line).to_owned();
    let whole = shop::starter().lines().map(line).collect::<Vec<_>>().join("\n");
    arbtest::arbtest(|u| {
        let mut text: Vec<char> = whole.chars().collect();
        for _ in 0..u.int_in_range(1..=8)? {
            let at = u.choose_index(text.len())?;
            match u.int_in_range(0..=3)? {
                0 => drop(text.remove(at)),
                1 => text
                    .insert(at, *u.choose(&['"', '[', ']', '=', '\n', '.', '-', '9', 'é', '{', '}', '#'])?),
                2 => text.truncate(at.max(1)),
                _ => text.swap(at, 0),
            }
        }
        let text: String = text.into_iter().collect();
        for finding in [shop(&text), job(&text), stop(&text)].concat() {
            let span = finding.primary.expect("every mistake has a place").span;
            assert!(text.get(span.range()).is_some(), "{span:?} in {text}");
        }
        Ok(())
    })
    .budget_ms(2000);
}

#[test]
fn what_stands_under_a_free_name_is_called_by_it() {
    let findings = shop("[causes]\ndogs = \"yes\"\n[causes.cats]\nprior = 3\nseen = { mew = 7 }\n");
    let told: Vec<(&str, &str)> =
        findings.iter().map(|finding| (finding.message.as_str(), finding.remedy.as_str())).collect();
    let expected = [
        ("`dogs` is a text, but it takes a table", "write it under a heading of its own: `[causes.dogs]`"),
        ("`mew` must be from 0 to 1", "write a value that is from 0 to 1"),
    ];
    assert_eq!(told, expected);
}
