//! Before a start, on the screen: ticks are kept at once and where they are, and the plate follows the slider of time.

use crate::chromium::Chromium;
use crate::main_job::drop_the_plate;
use crate::served::{SHOP, Served};
use crate::tab::{DESKTOP, Tab};
use serde_json::json;

#[test]
fn a_tick_is_kept_where_it_is_made() {
    let (served, chromium) = (Served::new(SHOP), Chromium::start());
    let tab = Tab::new(&chromium, &served.address, DESKTOP);
    drop_the_plate(&tab, &served);
    tab.reads("0 of 10 seen");
    tab.value("(window.untouched = true)");
    tab.press("The work lead");
    tab.until("document.querySelector('#start').innerText.includes('1 of 10 seen')");
    let state = "[window.untouched, document.activeElement.innerText.includes('The work lead'), \
                 document.activeElement.getAttribute('aria-pressed')]";
    assert_eq!(tab.value(state), json!([true, true, "true"]), "not loaded anew, focus kept, ticked");
    tab.key(" ");
    tab.until("document.querySelector('#start').innerText.includes('0 of 10 seen')");
    tab.key("Enter");
    tab.until("document.querySelector('#start').innerText.includes('1 of 10 seen')");
    let job = tab.path();
    tab.go(&job);
    tab.reads("1 of 10 seen");
    // Without scripts the page does the same, one page load a tick.
    tab.ask("Emulation.setScriptExecutionDisabled", json!({ "value": true }));
    tab.ask("Page.reload", json!({}));
    std::thread::sleep(std::time::Duration::from_secs(2));
    tab.ask("Emulation.setScriptExecutionDisabled", json!({ "value": false }));
    assert_eq!(
        tab.value("[...document.querySelectorAll('img.still')].some((still) => !still.hidden && still.naturalWidth > 0)"),
        json!(true),
        "the plate is a picture then"
    );
    tab.loads(|| tab.press("Program zero"));
    tab.reads("2 of 10 seen");
    tab.is_in_order();
}

#[test]
fn the_plate_follows_the_time() {
    let (served, chromium) = (Served::new(SHOP), Chromium::start());
    let tab = Tab::new(&chromium, &served.address, DESKTOP);
    drop_the_plate(&tab, &served);
    tab.until("!document.querySelector('.run').hidden");
    let at = |share: u32| {
        tab.value(&format!(
            "(() => {{ const s = document.querySelector('.run input'); s.value = {share}; \
             s.dispatchEvent(new Event('input', {{ bubbles: true }})); return true; }})()"
        ));
        tab.until(
            "new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => done(true))))",
        );
        let dark = "(() => { const c = document.querySelector('canvas[data-strokes]'); \
                    const d = c.getContext('2d').getImageData(0, 0, c.width, c.height).data; let n = 0; \
                    for (let k = 0; k < d.length; k += 4) if (d[k] + d[k + 1] + d[k + 2] < 240) n += 1; return n; })()";
        tab.value(dark).as_u64().unwrap()
    };
    let shares: Vec<u64> = [1, 250, 500, 750, 1000].map(at).to_vec();
    // Kerf that is made is the darkest ink of the picture: there is more and more of it.
    assert!(shares.windows(2).all(|pair| pair[0] < pair[1]), "{shares:?}");
    tab.reads("The plate after");
    tab.picture("job-at-the-end");
    // The keyboard moves it, too, and what it says is heard.
    tab.value("(document.querySelector('.run input').focus(), true)");
    tab.value("(document.querySelector('.run input').value = 500, true)");
    tab.key("ArrowRight");
    let said = tab.value("document.querySelector('.run input').getAttribute('aria-valuetext')");
    assert!(said.as_str().unwrap().ends_with(" s"), "{said}");
    tab.print("job");
    tab.is_in_order();
}
