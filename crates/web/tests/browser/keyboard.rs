//! The main job with the keyboard alone.

use crate::chromium::Chromium;
use crate::main_job::is_proven;
use crate::served::{PROGRAM, SHOP, Served};
use crate::tab::{DESKTOP, Tab};
use serde_json::json;

/// Most steps from one control to any other of a page.
const STEPS_MOST: usize = 60;

/// Steps on with Tab until the control with these words has the focus, which can always be seen.
fn step_to(tab: &Tab<'_>, words: &str) {
    let mut passed = Vec::new();
    for _ in 0..STEPS_MOST {
        tab.key("Tab");
        let seen = "(() => { const e = document.activeElement; const s = getComputedStyle(e); \
                    return [e.labels?.[0]?.querySelector('span')?.innerText || words(e), \
                    e === document.body || s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 2]; })()";
        let told = tab.value(seen);
        let name = told[0].as_str().unwrap().to_owned();
        assert_eq!(told[1], json!(true), "the focus cannot be seen on {name:?}");
        if name.starts_with(words) {
            return;
        }
        passed.push(name);
    }
    panic!("Tab never comes to {words:?}, only to {passed:?}");
}

fn go_on_by(tab: &Tab<'_>, words: &str) {
    step_to(tab, words);
    tab.loads(|| tab.key("Enter"));
}

#[test]
fn the_main_job_with_the_keyboard_alone() {
    let (served, chromium) = (Served::new(SHOP), Chromium::start());
    let tab = Tab::new(&chromium, &served.address, DESKTOP);
    tab.go("/");
    step_to(&tab, "To the content");
    step_to(&tab, "The cutting program");
    tab.choose_file(&served.program("post-bases.nc", PROGRAM), || tab.key("Enter"));
    step_to(&tab, "Thickness");
    tab.write("10 mm");
    step_to(&tab, "Plate");
    tab.write("1500x750 mm");
    go_on_by(&tab, "Open this plate");
    tab.reads("64");
    go_on_by(&tab, "Stopped what now?");
    for words in ["It is out", "Go on", "The arc did not come"] {
        go_on_by(&tab, words);
    }
    step_to(&tab, "Cut");
    tab.write("37");
    tab.loads(|| tab.key("Enter"));
    for words in ["NO-TRANSFER", "Nothing", "Take this way"] {
        go_on_by(&tab, words);
    }
    step_to(&tab, "Keep the restart program");
    let (_, text) = tab.kept(|| tab.key("Enter"));
    is_proven(&text);
    // The plate is moved and enlarged by keys, too.
    step_to_plate(&tab);
    tab.is_in_order();
}

/// The plate takes the focus, and its picture changes when a key moves it.
fn step_to_plate(tab: &Tab<'_>) {
    let picture = "document.querySelector('canvas[data-strokes]').toDataURL()";
    let before = tab.value(picture);
    tab.value("(document.querySelector('canvas[data-strokes]').focus(), true)");
    tab.key("ArrowRight");
    tab.until(&format!("{picture} !== {before}"));
}
