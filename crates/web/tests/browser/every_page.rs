//! Every page, on a wide screen and on a phone, in light and dark: usable by everyone as far as an engine can judge it,
//! no wider than the screen, and in order.

use crate::chromium::Chromium;
use crate::main_job::{drop_the_plate, report_the_stop};
use crate::practice;
use crate::served::{SHOP, Served};
use crate::tab::{PHONE, Screen, Tab};
use serde_json::json;
use std::path::Path;

/// The engine, as `cargo xtask test` puts it there.
const ENGINE: &str = "target/accessibility/axe_playwright_python/axe.min.js";

/// What it holds pages against: WCAG 2.2 at level AA, and common practice.
const RULES: [&str; 6] = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];

fn engine() -> String {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").join(ENGINE);
    std::fs::read_to_string(&file).unwrap_or_else(|why| {
        panic!("the engine that judges accessibility is not there ({ENGINE}: {why}): `cargo xtask test` installs it")
    })
}

/// A screen at a desk as narrow as they come.
const DESK: Screen = Screen { width: 1280, height: 800, is_phone: false };
/// A tablet, held upright.
const TABLET: Screen = Screen { width: 800, height: 1180, is_phone: true };

/// What there is to be looked at.
struct Looked {
    job: String,
    stop: String,
    /// A stop with a slug that fell before its contour closed.
    seam: String,
    /// A stop after which a way was taken that gives up a part.
    given_up: String,
    /// A practice session under way, and one that has ended.
    sessions: [String; 2],
}

/// The pages of a plate that stopped, and those of no plate.
fn pages(of: &Looked) -> Vec<(&'static str, String)> {
    let Looked { job, stop, seam, given_up, sessions: [session, ended] } = of;
    let id = job.trim_start_matches("/jobs/");
    vec![
        ("plates", "/".to_owned()),
        ("job", job.to_owned()),
        ("stopped", format!("/stopped?job={id}")),
        ("lit", format!("/stopped/lit?job={id}")),
        ("note", format!("/stopped/note?job={id}")),
        ("which", format!("/stopped/which?job={id}")),
        ("ask-kind", format!("{stop}/ask?about=kind")),
        ("ask-kind-bad", format!("{stop}/ask?about=kind&head=bad")),
        ("ask-where", format!("{stop}/ask?about=where")),
        ("ask-kerf", format!("{stop}/ask?about=kerf")),
        ("ask-fault", format!("{stop}/ask?about=fault")),
        ("ask-moved", format!("{stop}/ask?about=moved")),
        ("ask-since", format!("{stop}/ask?about=since")),
        ("ask-good", format!("{stop}/ask?about=good")),
        ("ask-kerf-place", format!("{stop}/ask?about=kerf&how=place")),
        ("ask-reached", format!("{stop}/ask?about=reached")),
        ("ask-blown", format!("{stop}/ask?about=blown")),
        ("ask-thickness", format!("{stop}/ask?about=thickness")),
        ("ask-cuts", format!("{stop}/ask?about=cuts")),
        ("ask-cut", format!("{stop}/ask?about=cut&of=36")),
        ("ask-groove", format!("{stop}/ask?about=cut&of=36&is=groove")),
        ("ask-pieces", format!("{stop}/ask?about=pieces")),
        ("ask-piece", format!("{stop}/ask?about=piece&of=36")),
        ("ask-strays", format!("{stop}/ask?about=strays")),
        ("ask-noted", format!("{stop}/ask?about=noted")),
        ("where", format!("{stop}/where")),
        ("measure", format!("{stop}/measure")),
        ("measure-near", format!("{stop}/measure?x=2&y=2&within=30")),
        ("measure-edge", format!("{stop}/measure?feature=edge&side=left")),
        ("measure-mark", format!("{stop}/measure?how=type")),
        ("pointer", format!("{stop}/pointer")),
        ("stop", stop.to_owned()),
        ("dimples", format!("{job}/dimples")),
        ("seam", seam.to_owned()),
        ("given-up", given_up.to_owned()),
        ("salvage", format!("{given_up}/salvage")),
        ("salvage-sheet", format!("{given_up}/salvage?go=yes&parts=5&sheet=same")),
        ("salvage-remnant", format!("{given_up}/salvage?go=yes&parts=5&sheet=remnant&remnant=400x400&in=mm")),
        ("salvage-none", format!("{given_up}/salvage?go=yes&parts=5&sheet=remnant&remnant=90x90&in=mm")),
        ("practice", "/practice".to_owned()),
        ("practice-session", session.to_owned()),
        ("practice-result", ended.to_owned()),
        ("practice-results", "/practice/results".to_owned()),
        ("shop", "/shop".to_owned()),
        ("rule", "/rules/pierce-on-void".to_owned()),
        ("sign-in", "/sign-in".to_owned()),
        ("problem", "/nowhere".to_owned()),
    ]
}

/// A practice session that has begun, and one that has ended.
fn practised(tab: &Tab<'_>) -> [String; 2] {
    let ended = practice::begin(tab, "Lee", "Not even a pilot");
    tab.loads(|| tab.press("End the session here"));
    [practice::begin(tab, "Kim", "The pilot comes"), ended]
}

/// From the job's page: the arc went out at this cut, and how far its kerf got is not known.
fn arc_lost(tab: &Tab<'_>, job: &str, cut: &str) -> String {
    tab.go(job);
    tab.follow("Stopped what now?");
    tab.follow("It is out");
    tab.follow("Go on");
    tab.follow("The arc went out");
    tab.fill("Cut", cut);
    tab.follow("This one");
    tab.follow("Not known yet");
    tab.follow("None");
    tab.follow("Nothing");
    tab.path()
}

/// A stop with a slug that fell before its contour closed, as far as anybody knows.
fn with_a_seam(tab: &Tab<'_>, job: &str) -> String {
    let stop = arc_lost(tab, job, "38");
    tab.go(&format!("{stop}/ask?about=piece&of=38"));
    tab.follow("It fell through between the slats");
    tab.go(&stop);
    tab.reads("Is a nib left on the part at the seam of cut 38");
    stop
}

/// A stop after which a way was taken that gives up a part.
fn with_a_part_given_up(tab: &Tab<'_>, job: &str) -> String {
    let stop = arc_lost(tab, job, "30");
    tab.follow("Take this way");
    tab.reads("make them anew");
    stop
}

/// Something that takes long, while it is waited for and once it is called off.
fn waited_for(tab: &Tab<'_>, served: &Served, look: &mut impl FnMut(&str)) {
    tab.go("/");
    tab.drop_file(&served.program("million.nc", nests::million_blocks(7).as_bytes()));
    tab.fill("Thickness", "10 mm");
    tab.shows(|| tab.press("Open this plate"));
    tab.reads("Reading the program");
    look("waiting");
    tab.shows(|| tab.press("Call it off"));
    tab.reads("Called off");
    look("called-off");
}

/// What the engine finds on the page as it is shown.
fn unusable(tab: &Tab<'_>, name: &str) -> Vec<String> {
    let run = format!(
        "axe.run(document, {{ runOnly: {}, resultTypes: ['violations'] }}).then((r) => \
         r.violations.map((v) => v.id + ': ' + v.nodes.map((n) => n.html + ' (' + n.failureSummary + ')').join(' | ')))",
        json!(RULES)
    );
    let found = tab.value(&run);
    found.as_array().unwrap().iter().map(|found| format!("{name}: {}", found.as_str().unwrap())).collect()
}

/// Opens everything on the page that can be opened, so that all of it is judged.
fn open_all(tab: &Tab<'_>) {
    tab.value("document.querySelectorAll('details').forEach((d) => { d.open = true; })");
}

const fn shade(is_dark: bool) -> &'static str {
    if is_dark { "dark" } else { "light" }
}

/// Shows every page on this screen, once as it comes, and once with all that is on it opened.
fn every_page(screen: Screen, of: &str) {
    let (served, chromium, engine) = (Served::new(SHOP), Chromium::start(), engine());
    let tab = Tab::new(&chromium, &served.address, screen);
    drop_the_plate(&tab, &served);
    let job = tab.path();
    report_the_stop(&tab);
    let stop = tab.path();
    let (seam, given_up) = (with_a_seam(&tab, &job), with_a_part_given_up(&tab, &job));
    let looked = Looked { seam, given_up, sessions: practised(&tab), job, stop };
    let mut unfit = Vec::new();
    let mut look = |name: &str| {
        for dark in [true, false] {
            tab.is_dark(dark);
            tab.picture(&format!("{name}-{of}-{}", shade(dark)));
        }
        tab.long_picture(&format!("{name}-{of}-long"));
        open_all(&tab);
        let width = tab.value("document.documentElement.scrollWidth");
        if width != json!(screen.width) {
            unfit.push(format!("{name} is {width} wide on a {of}"));
        }
        tab.run(&engine);
        for dark in [false, true] {
            tab.is_dark(dark);
            unfit.extend(unusable(&tab, &format!("{name}, {of}, {}", shade(dark))));
        }
    };
    for (name, path) in pages(&looked) {
        tab.go(&path);
        look(name);
    }
    waited_for(&tab, &served, &mut look);
    assert!(unfit.is_empty(), "{unfit:#?}");
    tab.is_in_order();
}

#[test]
fn every_page_is_usable_and_fits_a_desk() {
    every_page(DESK, "desktop");
}

#[test]
fn every_page_is_usable_and_fits_a_tablet() {
    every_page(TABLET, "tablet");
}

#[test]
fn every_page_is_usable_and_fits_a_phone() {
    every_page(PHONE, "phone");
}
