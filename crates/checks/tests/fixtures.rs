//! Every rule against the programs of its page in `fixtures/`: one that trips it, one that nearly does, one that is
//! fine. A page's programs say in comments where the page's rule must speak: `(error: [torch-left-on])`.

use checks::{Facts, Report};
use cuts::{CutList, PlateIndex, Reading};
use expect_test::expect_file;
use finding::{Finding, Level, Mend};
use nc::{Motions, Program, Start};
use shop::{Job, Lookup, Shop};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use units::Length;

/// Width of the kerf where the page's shop has no chart for it.
const KERF: Length = Length::from_mm(1.5);

/// A program of a page, with the shop and the job in force for it.
struct Case {
    title: String,
    /// `trips`, `nearly` or `fine`.
    kind: String,
    shop: Option<String>,
    job: String,
    program: String,
}

#[test]
fn every_rule_speaks_where_its_page_says() {
    let mut wrong = String::new();
    for rule in checks_of_programs() {
        for case in cases(&rule) {
            let mut told: Vec<_> = checked(&case, |facts, report| {
                own(&report, &rule).map(|finding| (line_of(facts, finding), finding.level)).collect()
            });
            told.sort_unstable();
            let expected = expected(&case.program, &rule);
            assert_eq!(case.kind == "trips", !expected.is_empty(), "{rule}: {}", case.title);
            if told != expected {
                let _ = writeln!(wrong, "{rule}: {}: told {told:?}, not {expected:?}", case.title);
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

#[test]
fn every_page_has_all_three_kinds_of_program() {
    for rule in checks_of_programs() {
        for kind in ["trips", "nearly", "fine"] {
            assert!(
                cases(&rule).iter().any(|case| case.kind == kind),
                "{rule} must have a program that is `{kind}`"
            );
        }
    }
}

#[test]
fn what_is_told_reads_well() {
    for rule in checks_of_programs() {
        let mut told = String::new();
        for case in cases(&rule).iter().filter(|case| case.kind == "trips") {
            checked(case, |facts, report| {
                let _ = writeln!(told, "{}", case.title);
                own(&report, &rule).for_each(|finding| told.push_str(&rendered(facts, finding)));
            });
        }
        expect_file![fixture(&rule).with_extension("txt")].assert_eq(&told);
    }
}

/// A mend settles its finding and leaves every motion as it was.
#[test]
fn mends_settle_their_findings() {
    let mut mended = 0;
    for rule in checks_of_programs() {
        for case in cases(&rule) {
            let (found, curves) = checked(&case, |facts, report| {
                (own(&report, &rule).cloned().collect::<Vec<_>>(), curves_of(facts.motions))
            });
            for (k, mend) in
                found.iter().enumerate().filter_map(|(k, finding)| Some((k, finding.mend.as_ref()?)))
            {
                let program = apply(&case.program, mend);
                let after = Case { program, title: case.title.clone(), kind: String::new(), ..copy(&case) };
                checked(&after, |facts, report| {
                    let left = own(&report, &rule).count();
                    assert_eq!(
                        left,
                        found.len() - 1,
                        "{rule}: mend {k} must settle its finding:\n{}",
                        after.program
                    );
                    assert_eq!(
                        curves_of(facts.motions),
                        curves,
                        "{rule}: a mend must leave the motions as they are"
                    );
                });
                mended += 1;
            }
        }
    }
    assert!(mended >= 3, "only {mended} mends were tried");
}

#[test]
fn pages_are_whole() {
    for name in checks::names() {
        let page = checks::explain(name).expect("every name has a page");
        for part in
            ["What it checks", "Why it matters", "Example", "Use instead", "Settings", "Limits", "Source"]
        {
            assert!(page.contains(&format!("## {part}\n")), "{name} must have a part `{part}`");
        }
        assert!(page.starts_with(&format!("# {name}\n")));
    }
    assert_eq!(checks::explain("no-such-rule"), None);
}

/// Rules that look at programs: those with a page in `fixtures/`.
fn checks_of_programs() -> Vec<String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures");
    let files = std::fs::read_dir(folder).expect("there are fixtures");
    let mut rules: Vec<_> = files
        .map(|file| file.expect("a readable folder").path())
        .filter(|file| file.extension().is_some_and(|kind| kind == "md"))
        .map(|file| file.file_stem().expect("a name").to_string_lossy().into_owned())
        .collect();
    rules.sort();
    assert!(!rules.is_empty());
    rules
}

#[test]
fn every_rule_of_programs_has_a_page_of_programs() {
    // What reading a file or a single line finds is tested where it is read.
    let of_reading: Vec<_> = nc::RULES.iter().chain(shop::RULES).map(|(name, _)| *name).collect();
    let pages = checks_of_programs();
    for name in checks::names().into_iter().filter(|name| !of_reading.contains(name)) {
        assert!(pages.iter().any(|page| page == name), "fixtures/{name}.md must be there");
    }
    for page in &pages {
        assert!(checks::names().contains(&page.as_str()), "fixtures/{page}.md is about no rule");
    }
}

fn fixture(rule: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures").join(format!("{rule}.md"))
}

#[expect(clippy::disallowed_methods, reason = "a test reads its own fixtures")]
fn page(rule: &str) -> String {
    std::fs::read_to_string(fixture(rule)).unwrap_or_else(|error| panic!("{rule}: {error}"))
}

/// The programs of a page, in order. A fence `toml shop` or `toml job` holds for all programs after it.
fn cases(rule: &str) -> Vec<Case> {
    let text = page(rule);
    let (mut shop, mut job, mut title, mut cases) = (None, String::new(), String::new(), Vec::new());
    let mut lines = text.lines();
    while let Some(line) = lines.next() {
        if let Some(heading) = line.strip_prefix("## ") {
            heading.clone_into(&mut title);
        }
        let Some(info) = line.strip_prefix("```") else { continue };
        let body: String =
            lines.by_ref().take_while(|line| *line != "```").map(|line| format!("{line}\n")).collect();
        match info.split_whitespace().collect::<Vec<_>>()[..] {
            ["toml", "shop"] => shop = Some(body).filter(|body| !body.trim().is_empty()),
            ["toml", "job"] => job = body,
            ["nc", kind] => cases.push(Case {
                title: format!("{title} ({kind})"),
                kind: kind.to_owned(),
                shop: shop.clone(),
                job: job.clone(),
                program: body,
            }),
            _ => panic!(
                "{rule}: a fence is `toml shop`, `toml job`, `nc trips`, `nc nearly` or `nc fine`, not `{info}`"
            ),
        }
    }
    cases
}

fn copy(case: &Case) -> Case {
    Case {
        title: case.title.clone(),
        kind: case.kind.clone(),
        shop: case.shop.clone(),
        job: case.job.clone(),
        program: case.program.clone(),
    }
}

/// Reads a case's program all the way and hands the facts and the report to `look`.
fn checked<T>(case: &Case, look: impl FnOnce(&Facts<'_>, Report) -> T) -> T {
    let shop = case.shop.as_deref().map(|text| {
        let (shop, findings) = Shop::parse(text);
        assert_eq!(findings, vec![], "{}", case.title);
        shop
    });
    let (job, findings) = Job::parse(&case.job);
    assert_eq!(findings, vec![], "{}", case.title);
    let dialect = shop.as_ref().map_or_else(nc::Dialect::common, |shop| shop.table.dialect.clone());
    let (program, mut read) = Program::parse(case.program.as_bytes(), &dialect);
    let (motions, more) = Motions::run(&program, &dialect, &Start::usual(&dialect));
    read.extend(more);
    let kerf = kerf(shop.as_ref(), &job);
    let (list, more) = CutList::build(&program, &motions, &Reading::with_kerf(kerf));
    read.extend(more);
    let index = PlateIndex::new(&list);
    let unknown = Shop::unknown();
    let planned = cell::Planned {
        motions: &motions,
        list: &list,
        shop: shop.as_ref().unwrap_or(&unknown),
        job: &job,
        kerf,
    };
    let forecast = cell::Forecast::of(&planned);
    let facts = Facts {
        program: &program,
        dialect: &dialect,
        motions: &motions,
        list: &list,
        index: &index,
        read: &read,
        shop: shop.as_ref(),
        job: &job,
        kerf,
        forecast: Some(&forecast),
    };
    look(&facts, checks::check(&facts))
}

fn kerf(shop: Option<&Shop>, job: &Job) -> Length {
    let process = shop.and_then(|shop| shop.process(job.process.as_deref()?));
    match process.and_then(|process| Some(process.chart.at(job.thickness?))) {
        Some(Lookup::Row(row)) => row.kerf.unwrap_or(KERF),
        _ => KERF,
    }
}

fn own<'r>(report: &'r Report, rule: &'r str) -> impl Iterator<Item = &'r Finding> {
    report.findings.iter().filter(move |finding| finding.rule == rule)
}

/// Line of a finding's place in the text, from 1; 0 if it has none.
fn line_of(facts: &Facts<'_>, finding: &Finding) -> u32 {
    finding.primary.as_ref().map_or(0, |label| facts.program.line_of(label.span.start))
}

/// Lines and levels at which the program's comments expect `rule`, sorted. A comment that begins with `anywhere` is
/// for a finding without a place.
fn expected(program: &str, rule: &str) -> Vec<(u32, Level)> {
    let mut expected = Vec::new();
    for (line, number) in program.lines().zip(1..) {
        for (level, name) in [(Level::Error, "error"), (Level::Warning, "warning"), (Level::Note, "note")] {
            let here = line.matches(&format!("({name}: [{rule}])")).count();
            expected.extend(std::iter::repeat_n((number, level), here));
            let anywhere = line.matches(&format!("(anywhere {name}: [{rule}])")).count();
            expected.extend(std::iter::repeat_n((0, level), anywhere));
        }
    }
    expected.sort_unstable();
    expected
}

fn rendered(facts: &Facts<'_>, finding: &Finding) -> String {
    let mut out = format!("  {:?}: {}\n", finding.level, finding.message);
    for label in finding.primary.iter().chain(&finding.secondary) {
        let line = facts.program.line_of(label.span.start);
        let text = String::from_utf8_lossy(&facts.program.text()[label.span.range()]).into_owned();
        let _ = writeln!(out, "    {line}: {} <- {}", text.trim_end(), label.text);
    }
    if !finding.cuts.is_empty() || !finding.places.is_empty() {
        let places = finding.places.iter().map(|place| format!("({:.2}, {:.2})", place.x.mm(), place.y.mm()));
        let _ = writeln!(out, "    cuts {:?} at {}", finding.cuts, places.collect::<Vec<_>>().join(" "));
    }
    let _ = writeln!(out, "    why: {}\n    remedy: {}", finding.why, finding.remedy);
    if let Some(mend) = &finding.mend {
        let _ = writeln!(out, "    mend ({:?}): {}", mend.safety, mend.title);
    }
    out
}

fn apply(program: &str, mend: &Mend) -> String {
    let mut text = program.to_owned();
    for edit in mend.edits.iter().rev() {
        text.replace_range(edit.span.range(), &edit.text);
    }
    text
}

fn curves_of(motions: &Motions) -> Vec<String> {
    (0..motions.motions().len())
        .map(|k| format!("{:?} {:?}", motions.motions()[k].kind, motions.curve(k)))
        .collect()
}
