//! The pictures of the README, taken anew: `cargo xtask pictures` puts them in their place.

use crate::chromium::Chromium;
use crate::main_job::{drop_the_plate, report_the_stop};
use crate::served::{SHOP, Served};
use crate::tab::{DESKTOP, PHONE, Tab};

/// Largest picture, in bytes: who reads the README on a phone pays for them.
const BYTES_MOST: u64 = 150_000;

#[test]
fn pictures_for_the_readme() {
    let (served, chromium) = (Served::new(SHOP), Chromium::start());
    let tab = Tab::new(&chromium, &served.address, DESKTOP);
    drop_the_plate(&tab, &served);
    // The plate in the middle of its forecast.
    tab.until("!document.querySelector('.run').hidden");
    tab.value(
        "(() => { const s = document.querySelector('.run input'); s.value = 450; \
         s.dispatchEvent(new Event('input', { bubbles: true })); return true; })()",
    );
    tab.until("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => done(true))))");
    tab.value("(scrollTo(0, 0), true)");
    let mut pictures = vec![tab.small_picture("page-plate-light")];
    report_the_stop(&tab);
    tab.is_dark(true);
    tab.value("(scrollTo(0, 0), true)");
    pictures.push(tab.small_picture("page-stop-dark"));
    let stop = tab.path();
    tab.screen(PHONE);
    tab.is_dark(false);
    tab.go("/stopped");
    pictures.push(tab.small_picture("page-stopped-phone-light"));
    tab.is_dark(true);
    tab.go(&stop);
    pictures.push(tab.small_picture("page-stop-phone-dark"));
    for picture in pictures {
        let bytes = std::fs::metadata(&picture).unwrap().len();
        assert!(bytes < BYTES_MOST, "{} has {bytes} bytes", picture.display());
    }
}
