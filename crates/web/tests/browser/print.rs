//! What is printed is of use on paper: no navigation, nothing to press, the picture, every step with a box to tick.

use crate::chromium::Chromium;
use crate::main_job::{drop_the_plate, report_the_stop};
use crate::served::{SHOP, Served};
use crate::tab::{Screen, Tab};
use serde_json::json;

/// A sheet of A4 within its margins, at 96 pixels an inch.
const PAPER: Screen = Screen { width: 720, height: 1040, is_phone: false };

/// What must not be on paper: where to go, what to press, dark ground, and a link that says nothing by itself.
const NOT_ON_PAPER: &str = "(() => { \
    const all = [...document.querySelectorAll('header, nav, canvas, input, select, textarea, .button, .tools, figcaption, button:not(.see)')]; \
    const found = all.filter(seen).map((e) => e.tagName + ' ' + words(e)); \
    for (const e of [document.documentElement, document.body, ...document.querySelectorAll('.card, .callout, details, pre')].filter(seen)) { \
      const c = getComputedStyle(e).backgroundColor; \
      if (!['rgb(255, 255, 255)', 'rgba(0, 0, 0, 0)'].includes(c)) found.push(`${e.tagName}.${e.className} on ${c}`); \
    } \
    for (const a of [...document.querySelectorAll('main a')].filter(seen)) if (!a.closest('.trail, .jobs')) found.push('a link: ' + words(a)); \
    return found; })()";

/// The picture of the plate is there, and no wider than the paper.
const PICTURE: &str = "[...document.querySelectorAll('.still')].some((still) => seen(still) && still.naturalWidth > 0 \
    && still.getBoundingClientRect().right <= innerWidth && still.getBoundingClientRect().width > innerWidth / 2)";

/// The page as it is on paper is in order.
fn prints(tab: &Tab<'_>, name: &str) {
    tab.is_paper(true);
    assert_eq!(tab.value(NOT_ON_PAPER), json!([]), "{name}");
    assert_eq!(tab.value("document.documentElement.scrollWidth <= innerWidth"), json!(true), "{name}");
    tab.long_picture(&format!("paper-{name}"));
    let printed = std::fs::read(tab.print(&format!("paper-{name}"))).unwrap();
    assert!(printed.starts_with(b"%PDF"), "{name}");
    tab.is_paper(false);
}

#[test]
fn what_is_printed_is_of_use_on_paper() {
    let (served, chromium) = (Served::new(SHOP), Chromium::start());
    let tab = Tab::new(&chromium, &served.address, PAPER);
    drop_the_plate(&tab, &served);
    let job = tab.path();
    tab.is_dark(true);
    tab.is_paper(true);
    tab.until(PICTURE);
    for wanted in ["post-bases.nc", "See for yourself before you start", "The work lead", "Not checked"] {
        tab.reads(wanted);
    }
    prints(&tab, "job");

    report_the_stop(&tab);
    tab.follow("Done: next step");
    tab.reads("Step 2 of");
    tab.is_paper(true);
    tab.until(PICTURE);
    for wanted in ["post-bases.nc", "Stopped at cut 37", "Why it may have stopped", "Proven", "Take care"] {
        tab.reads(wanted);
    }
    // Every step is there once, each with its box; the first is ticked.
    let steps = tab.value(
        "[...document.querySelectorAll('.all-steps li')].filter(seen).map((li) => getComputedStyle(li, '::before').content)",
    );
    let boxes = steps.as_array().unwrap();
    assert!(boxes.len() > 8, "{steps}");
    assert_eq!(boxes.iter().filter(|is| is.as_str().unwrap().contains('☑')).count(), 1, "{steps}");
    assert_eq!(boxes.iter().filter(|is| is.as_str().unwrap().contains('☐')).count(), boxes.len() - 1);
    prints(&tab, "stop");

    for (name, path) in
        [("plates", "/"), ("dimples", &format!("{job}/dimples")), ("rule", "/rules/pierce-on-void")]
    {
        tab.go(path);
        prints(&tab, name);
    }
    tab.is_in_order();
}
