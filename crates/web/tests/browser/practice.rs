//! Practice in a browser: a session passed and one failed, by buttons alone.

use crate::chromium::Chromium;
use crate::loose_lead::RIGHT;
use crate::served::{SHOP, Served};
use crate::tab::{DESKTOP, PHONE, Screen, Tab};

/// Presses the button of this act, or else the first whose words begin so.
fn press(tab: &Tab<'_>, words: &str) {
    let find = format!(
        "(() => {{ const all = [...document.querySelectorAll('main button')]; const said = (b) => b.innerText.trim(); \
         const b = all.find((b) => b.value === {words:?}) ?? all.find((b) => said(b).startsWith({words:?})); \
         b.scrollIntoView(); setTimeout(() => b.click(), 0); return true; }})()"
    );
    tab.loads(|| {
        tab.value(&find);
    });
}

/// Begins a session.
pub(crate) fn begin(tab: &Tab<'_>, who: &str, title: &str) -> String {
    tab.go("/practice");
    tab.fill("Who practises", who);
    press(tab, title);
    tab.reads("nothing here moves a machine");
    tab.path()
}

fn practised(screen: Screen, of: &str) {
    let (served, chromium) = (Served::new(SHOP), Chromium::start());
    let tab = Tab::new(&chromium, &served.address, screen);
    begin(&tab, "Kim", "The pilot comes");
    for words in RIGHT {
        press(&tab, words);
    }
    tab.reads("100 of 100 points: passed");
    tab.picture(&format!("practice-passed-{of}"));
    begin(&tab, "Lee", "Not even a pilot");
    press(&tab, "fix slag");
    tab.reads("not passed");
    tab.reads("not isolated");
    tab.picture(&format!("practice-failed-{of}"));
    tab.go("/practice/results");
    for who in ["Kim", "Lee"] {
        tab.reads(who);
    }
    tab.is_in_order();
}

#[test]
fn a_session_is_passed_and_one_failed_at_a_desk() {
    practised(DESKTOP, "desktop");
}

#[test]
fn a_session_is_passed_and_one_failed_on_a_phone() {
    practised(PHONE, "phone");
}
