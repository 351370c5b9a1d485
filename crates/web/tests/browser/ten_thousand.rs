//! A plate of 10,000 contours: on the screen soon, and smooth while it is moved.
//!
//! `--nocapture` prints how soon and how smooth; how busy the machine is does not decide whether this passes.
#![expect(clippy::print_stdout, reason = "what was measured")]

use crate::chromium::Chromium;
use crate::served::{SHOP, Served};
use crate::tab::{DESKTOP, PHONE, Tab};
use std::time::Instant;

const CONTOURS: u32 = 10_000;

/// Moves the plate to and fro for two seconds as a finger does, and counts the frames and the longest wait for one.
const MOVED: &str = "(async () => {
  const canvas = document.querySelector('canvas[data-strokes]');
  const box = canvas.getBoundingClientRect();
  const at = (k) => ({ pointerId: 1, isPrimary: true, bubbles: true, clientX: box.x + box.width / 2 + 90 * Math.sin(k / 9), clientY: box.y + box.height / 2 + k % 40 });
  canvas.setPointerCapture = () => {};
  canvas.dispatchEvent(new PointerEvent('pointerdown', at(0)));
  const waits = [];
  let last = performance.now();
  const begun = last;
  for (let k = 1; performance.now() - begun < 2000; k += 1) {
    canvas.dispatchEvent(new PointerEvent('pointermove', at(k)));
    await new Promise(requestAnimationFrame);
    const now = performance.now();
    waits.push(now - last);
    last = now;
  }
  canvas.dispatchEvent(new PointerEvent('pointerup', at(0)));
  const settled = performance.now();
  await new Promise((done) => setTimeout(done, 150));
  await new Promise(requestAnimationFrame);
  return [waits.length / 2, Math.max(...waits), performance.now() - settled - 150];
})()";

#[test]
fn a_plate_of_ten_thousand_contours_is_smooth() {
    let (served, chromium) = (Served::new(SHOP), Chromium::start());
    let tab = Tab::new(&chromium, &served.address, DESKTOP);
    let (text, _) = nests::program_of(CONTOURS, 7);
    tab.go("/");
    tab.drop_file(&served.program("nest.nc", text.as_bytes()));
    tab.fill("Thickness", "10 mm");
    let begun = Instant::now();
    tab.follow("Open this plate");
    println!("dropped, read and painted: {:.2} s", begun.elapsed().as_secs_f64());
    let job = tab.path();
    let begun = Instant::now();
    tab.go(&job);
    let shown_s = begun.elapsed().as_secs_f64();
    println!("on the screen once it is read: {shown_s:.2} s");
    tab.picture("ten-thousand");
    for zoom in ["Whole plate", "Larger"] {
        tab.press(zoom);
        tab.press(zoom);
        std::thread::sleep(std::time::Duration::from_millis(1500));
        let told = tab.value(MOVED);
        println!("moved after {zoom}: frames a second, longest wait in ms, painted anew in ms: {told}");
        assert!(told[0].as_f64().unwrap() > 0.0, "the plate stood still after {zoom}");
    }
    tab.picture("ten-thousand-near");
    tab.is_in_order();
}

/// A million blocks take seconds to read: it is surely not through before it is called off.
#[test]
fn what_takes_long_is_called_off() {
    let (served, chromium) = (Served::at_once(SHOP), Chromium::start());
    let tab = Tab::new(&chromium, &served.address, PHONE);
    tab.go("/");
    tab.drop_file(&served.program("million.nc", nests::million_blocks(7).as_bytes()));
    tab.fill("Thickness", "10 mm");
    tab.shows(|| tab.press("Open this plate"));
    tab.reads("Reading the program");
    tab.picture("waiting");
    tab.shows(|| tab.press("Call it off"));
    tab.reads("Called off");
    tab.picture("called-off");
    tab.shows(|| tab.press("Work it out after all"));
    tab.reads("Reading the program");
    tab.shows(|| tab.press("Call it off"));
    tab.is_in_order();
}

/// A page that holds nothing back tells of the reading, however fast the machine is.
#[test]
fn what_takes_long_says_how_far_it_is_and_comes_by_itself() {
    let (served, chromium) = (Served::at_once(SHOP), Chromium::start());
    let tab = Tab::new(&chromium, &served.address, PHONE);
    let other = Tab::new(&chromium, &served.address, DESKTOP);
    let (text, _) = nests::program_of(CONTOURS, 8);
    tab.go("/");
    tab.drop_file(&served.program("nest.nc", text.as_bytes()));
    tab.fill("Thickness", "10 mm");
    tab.told();
    tab.shows(|| tab.press("Open this plate"));
    tab.reads("Reading the program");
    // A second tab meets the same work, and both come to the page by themselves.
    let job = tab.value(
        "new URL(document.querySelector('[data-then]').dataset.then, location).searchParams.get('to')",
    );
    other.go(job.as_str().unwrap());
    tab.settles();
    for tab in [&tab, &other] {
        tab.reads("nest.nc");
    }
    let told = tab.told();
    let reached = |row: &str| serde_json::from_str::<serde_json::Value>(row).unwrap();
    let counted = told.iter().filter(|(name, row)| name == "reached" && reached(row)["of"].is_u64());
    assert!(counted.count() > 0, "{told:?}");
    assert!(told.iter().any(|(name, _)| name == "ended"), "{told:?}");
    tab.is_in_order();
}
