//! Metric and inch on the screen: one press, at a desk and on a phone.

use crate::chromium::Chromium;
use crate::main_job::{drop_the_plate, report_the_stop};
use crate::served::{SHOP, Served};
use crate::tab::{DESKTOP, PHONE, Screen, Tab};
use serde_json::json;

fn switched(screen: Screen, of: &str) {
    let (served, chromium) = (Served::new(SHOP), Chromium::start());
    let tab = Tab::new(&chromium, &served.address, screen);
    drop_the_plate(&tab, &served);
    tab.reads("1500 mm × 750 mm");
    tab.follow("in");
    tab.reads("59.055 in × 29.528 in");
    tab.picture(&format!("inches-job-{of}"));
    report_the_stop(&tab);
    // The switch stands where one is, and the page that was looked at comes again.
    tab.reads(" in");
    tab.picture(&format!("inches-stop-{of}"));
    let stop = tab.path();
    tab.follow("mm");
    assert_eq!(tab.path(), stop);
    let pressed = tab.value("[...document.querySelectorAll('.units [aria-pressed=true]')].map(words)");
    assert_eq!(pressed, json!(["mm"]));
    tab.is_in_order();
}

#[test]
fn the_unit_is_switched_at_a_desk() {
    switched(DESKTOP, "desktop");
}

#[test]
fn the_unit_is_switched_on_a_phone() {
    switched(PHONE, "phone");
}
