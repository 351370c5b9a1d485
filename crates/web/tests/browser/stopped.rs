//! *Stopped* on a phone at the table: nothing scrolls, everything is as large as a gloved finger, and what is tapped on the
//! picture is what is told.

use crate::chromium::Chromium;
use crate::main_job::{drop_the_plate, report_the_stop};
use crate::served::{SHOP, Served};
use crate::tab::{Screen, Tab};
use serde_json::{Value, json};

/// The smallest phone that is thought of.
const SMALL: Screen = Screen { width: 360, height: 640, is_phone: true };

/// The least size of what is tapped, in pixels: 44 by the guidelines for touch.
const FINGER_PX: u64 = 44;

/// Questions, each a screen of its own.
const QUESTIONS: [&str; 23] = [
    "ask?about=kind",
    "ask?about=kind&head=bad",
    "ask?about=kind&head=halted",
    "ask?about=kind&head=moved",
    "ask?about=where",
    "ask?about=since",
    "ask?about=good",
    "ask?about=kerf",
    "ask?about=kerf&how=place",
    "ask?about=reached",
    "ask?about=blown",
    "ask?about=fault",
    "ask?about=thickness",
    "ask?about=moved",
    "ask?about=cuts",
    "ask?about=cut&of=36",
    "ask?about=cut&of=36&is=groove",
    "ask?about=pieces",
    "ask?about=piece&of=36",
    "ask?about=strays",
    "ask?about=noted",
    "measure?feature=edge&side=left",
    "pointer",
];

/// The picture is there to be tapped.
fn painted(tab: &Tab<'_>) {
    tab.until("[...document.querySelectorAll('canvas[data-strokes]')].every((canvas) => !canvas.hidden)");
}

/// What is too small to be tapped, and whether the page is longer or wider than the screen.
fn misfits(tab: &Tab<'_>, name: &str) -> Vec<String> {
    let small = tab.value(&format!(
        "[...document.querySelectorAll('main a, main button, main select, main label.tick, main input:not([type=hidden], [type=radio])')]\
         .filter(seen).map((e) => [words(e) || e.name, e.getBoundingClientRect()])\
         .filter(([, box]) => box.width < {FINGER_PX} || box.height < {FINGER_PX})\
         .map(([name, box]) => `${{name}} is ${{box.width}} by ${{box.height}}`)"
    ));
    let mut unfit: Vec<String> = small
        .as_array()
        .unwrap()
        .iter()
        .map(|small| format!("{name}: {}", small.as_str().unwrap()))
        .collect();
    let over = tab.value(
        "[document.documentElement.scrollHeight - innerHeight, document.documentElement.scrollWidth - innerWidth]",
    );
    if over != json!([0, 0]) {
        unfit.push(format!("{name} is longer or wider than the screen by {over}"));
    }
    unfit
}

#[test]
fn no_question_scrolls_and_all_is_as_large_as_a_finger() {
    let (served, chromium) = (Served::new(SHOP), Chromium::start());
    let tab = Tab::new(&chromium, &served.address, SMALL);
    drop_the_plate(&tab, &served);
    report_the_stop(&tab);
    let stop = tab.path();
    let mut unfit = Vec::new();
    for first in ["/stopped", "/stopped/lit", "/stopped/note", "/stopped/which"] {
        tab.go(first);
        unfit.extend(misfits(&tab, first));
    }
    for question in QUESTIONS.into_iter().chain(["measure", "measure?x=2&y=2&within=30", "measure?how=type"])
    {
        tab.go(&format!("{stop}/{question}"));
        painted(&tab);
        unfit.extend(misfits(&tab, question));
    }
    assert!(unfit.is_empty(), "{unfit:#?}");
    tab.is_in_order();
}

/// Taps where the picture of the whole plate, 1500 mm by 750 mm, shows this place.
fn tap_at(tab: &Tab<'_>, x: f64, y: f64) {
    let place = tab.value(&format!(
        "(() => {{ const box = document.querySelector('canvas').getBoundingClientRect(); \
         const scale = Math.min((box.width - 44) / 1500, (box.height - 44) / 750); \
         return [box.left + box.width / 2 + scale * ({x} - 750), box.top + box.height / 2 - scale * ({y} - 375)]; }})()"
    ));
    let number = |k: usize| place[k].as_f64().unwrap();
    tab.press_at([number(0), number(1)]);
}

/// Fills in a field by the name that a reader of the screen hears.
fn put(tab: &Tab<'_>, name: &str, text: &str) {
    let put = format!(
        "(() => {{ const field = document.querySelector('input[aria-label=\"{name}\"]'); field.value = {}; return field.value; }})()",
        json!(text)
    );
    assert_eq!(tab.value(&put), Value::from(text));
}

#[test]
fn a_stop_and_a_moved_plate_are_told_by_taps() {
    let (served, chromium) = (Served::new(SHOP), Chromium::start());
    let tab = Tab::new(&chromium, &served.address, SMALL);
    drop_the_plate(&tab, &served);
    tab.follow("Stopped what now?");
    tab.follow("It is out");
    tab.follow("Go on");
    tab.follow("The plate moved, or lies wrong");
    tab.follow("The plate moved");
    // On the upper side of the last base, cut 48.
    painted(&tab);
    tap_at(&tab, 1285.0, 208.0);
    tab.until("document.querySelector('input[name=cut]').value === '48'");
    tab.follow("This one");
    painted(&tab);
    let middle = tab.value(
        "(() => { const box = document.querySelector('canvas').getBoundingClientRect(); \
         return [box.left + box.width / 2 - 0.35 * box.height, box.top + box.height / 2]; })()",
    );
    // The cut fills the picture: its left side is tapped.
    tab.press_at([middle[0].as_f64().unwrap(), middle[1].as_f64().unwrap()]);
    tab.until("parseFloat(document.querySelector('input[name=kerf_to]').value) > 0");
    tab.follow("Go on");
    tab.follow("The plate, or I am not sure");
    tab.follow("Measure a place");
    painted(&tab);
    tab.loads(|| tap_at(&tab, 2.0, 2.0));
    tab.follow("The plate's lower left corner");
    put(&tab, "X", "6.5");
    put(&tab, "Y", "-4");
    tab.follow("Keep this");
    tab.reads("corner lower-left at 6.5,-4 mm by tip");
    tab.reads("One measurement is not enough");
    tab.follow("Tap it on the picture");
    painted(&tab);
    tab.loads(|| tap_at(&tab, 1498.0, 748.0));
    tab.follow("The plate's upper right corner");
    put(&tab, "X", "1500.5");
    put(&tab, "Y", "757");
    tab.follow("Keep this");
    tab.reads("Off the fit");
    tab.follow("Take back");
    tab.reads("One measurement is not enough");
    tab.is_in_order();
}
