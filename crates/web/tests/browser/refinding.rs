//! A plate that moved, found again on the picture itself: after each reading what it says is seen there.

use crate::chromium::Chromium;
use crate::main_job::drop_the_plate;
use crate::served::{SHOP, Served};
use crate::tab::{DESKTOP, PHONE, Screen, Tab};
use serde_json::{Value, json};

/// How many points of the picture have this ink, within a little.
fn inked(tab: &Tab<'_>, ink: &str) -> u64 {
    let count = format!(
        "(() => {{ const c = document.querySelector('canvas'); \
         const told = getComputedStyle(c).getPropertyValue('--ink-{ink}').trim(); \
         const [r, g, b] = [1, 3, 5].map((k) => parseInt(told.slice(k, k + 2), 16)); \
         const d = c.getContext('2d').getImageData(0, 0, c.width, c.height).data; let n = 0; \
         for (let k = 0; k < d.length; k += 4) \
           if (Math.abs(d[k] - r) + Math.abs(d[k + 1] - g) + Math.abs(d[k + 2] - b) < 24) n += 1; return n; }})()"
    );
    tab.value(&count).as_u64().unwrap()
}

/// Fills in the form at an address below `measure`, and keeps it.
fn measured(tab: &Tab<'_>, stop: &str, query: &str, places: &[(&str, &str)]) {
    tab.go(&format!("{stop}/measure?{query}"));
    for (name, text) in places {
        let put = format!("(document.querySelector('input[name={name}]').value = {})", json!(text));
        assert_eq!(tab.value(&put), Value::from(*text));
    }
    tab.follow("Keep this");
    tab.until("document.querySelector('canvas') && !document.querySelector('canvas').hidden");
}

fn found_again(screen: Screen, of: &str) {
    let (served, chromium) = (Served::new(SHOP), Chromium::start());
    let tab = Tab::new(&chromium, &served.address, screen);
    drop_the_plate(&tab, &served);
    for press in
        ["Stopped what now?", "It is out", "Go on", "The plate moved, or lies wrong", "The plate moved"]
    {
        tab.follow(press);
    }
    tab.fill("Cut", "43");
    tab.follow("This one");
    tab.follow("Nothing of it is cut");
    tab.follow("The plate, or I am not sure");
    let stop = tab.path();
    tab.go(&format!("{stop}/where"));
    assert_eq!(inked(&tab, "landing-stroke"), 0, "nothing was measured");
    // As in `demo/stops/plate-moved`.
    measured(&tab, &stop, "feature=crater&cut=6", &[("x1", "112.1"), ("y1", "29.6")]);
    measured(&tab, &stop, "feature=crater&cut=36", &[("x1", "962.0"), ("y1", "36.5")]);
    let two = tab.text();
    measured(
        &tab,
        &stop,
        "feature=edge&side=left",
        &[("x1", "6.0"), ("y1", "56.1"), ("x2", "0.7"), ("y2", "696.0")],
    );
    tab.reads("times as large");
    assert_ne!(tab.text(), two, "each reading says something more");
    let (sights, landings) = (inked(&tab, "sight-stroke"), inked(&tab, "landing-stroke"));
    assert!(sights > 50 && landings > 50, "residuals {sights}, ellipses {landings}");
    tab.picture(&format!("refind-{of}-light"));
    tab.is_dark(true);
    tab.picture(&format!("refind-{of}-dark"));
    tab.is_dark(false);
    // A slip of a digit is seen on the picture: the longest line of all, and its scale changes with it.
    let scale = tab.value("document.querySelector('.scale').innerText");
    measured(&tab, &stop, "feature=crater&cut=30", &[("x1", "791.8"), ("y1", "54.9")]);
    tab.reads("does not fit: left out");
    assert_ne!(tab.value("document.querySelector('.scale').innerText"), scale);
    tab.picture(&format!("refind-slip-{of}"));
    tab.is_in_order();
}

#[test]
fn a_plate_is_found_again_on_the_picture_at_a_desk() {
    found_again(DESKTOP, "desktop");
}

#[test]
fn a_plate_is_found_again_on_the_picture_on_a_phone() {
    found_again(PHONE, "phone");
}
