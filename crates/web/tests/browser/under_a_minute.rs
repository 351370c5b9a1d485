//! From *Stopped* to an answer, walked by the everyday stops on a phone: how many screens, taps, keys and words that is, and
//! how long it takes by published figures somebody who reads every word on every screen before he presses what fits; and, told
//! beside it, somebody who reads each screen from its top down to what fits, and then what to do first.
//!
//! `--nocapture` prints the figures.
#![expect(clippy::print_stdout, reason = "what was counted")]

use crate::chromium::Chromium;
use crate::main_job::drop_the_plate;
use crate::served::{PROGRAM, SHOP, Served};
use crate::tab::{PHONE, Tab};
use desk::{Inputs, Reading};
use serde_json::json;
use std::time::{Duration, Instant};

/// What is allowed, without the server's own time, from pressing *Stopped* until the answer is there, every word read.
const ALLOWED_S: f64 = 60.0;

/// Pointing at something on a screen. Source: S. K. Card, T. P. Moran, A. Newell, "The keystroke-level model for user
/// performance time with interactive systems", Communications of the ACM 23 (1980), 396-410: operator P, 1.10 s; value
/// from memory. It is that of a mouse at a desk, longer than a finger's on a small screen.
const POINTS_S: f64 = 1.1;
/// Pressing what is pointed at. Source: the same, operator K of a good typist, 0.20 s; value from memory.
const PRESSES_S: f64 = 0.2;
/// A key of a number that is typed. Source: the same, operator K of an average typist who is no secretary, 0.28 s; value from
/// memory.
const KEY_S: f64 = 0.28;
/// Making up one's mind before something is pressed or a field is filled in, but not before what is fully foreseen (the
/// paper's rule 1). Source: the same, operator M, 1.35 s; value from memory.
const PREPARES_S: f64 = 1.35;
/// Words that are read silently in a minute. Source: M. Brysbaert, "How many words do we read per minute? A review and
/// meta-analysis of reading rate", Journal of Memory and Language 109 (2019), 104047: 238 for English non-fiction; value from
/// memory.
const WORDS_PER_MIN: f64 = 238.0;

/// Words from the top of the page down to an element, it with them, and all: what somebody reads who stops reading at what
/// fits. What stands on the picture's own buttons is not read by who does not look closer, nor is a list that is not opened, nor
/// what leads back.
const WORDS_DOWN_TO: &str = r"(() => {
  const last = LAST;
  const texts = document.createTreeWalker(document.querySelector('main') || document.body, NodeFilter.SHOW_TEXT);
  let [down, all] = [0, 0];
  while (texts.nextNode()) {
    const text = texts.currentNode;
    const range = document.createRange();
    range.selectNodeContents(text);
    const aside = text.parentElement.closest('.tools, option, noscript, .back, .trail');
    if (range.getBoundingClientRect().height === 0 || !seen(text.parentElement) || aside) { continue; }
    const words = text.textContent.split(/\s+/).filter((word) => /[\p{L}\p{N}]/u.test(word)).length;
    all += words;
    const above = text.compareDocumentPosition(last) & Node.DOCUMENT_POSITION_FOLLOWING;
    if (above || last.contains(text)) { down += words; }
  }
  return [down, all];
})()";

/// From the press to the last byte of the page, redirects and all, by the browser's own clock.
const ANSWERED_MS: &str = "(() => { const page = performance.getEntriesByType('navigation')[0]; return page.responseEnd - page.startTime; })()";

/// A walk, counted.
struct Walk<'a> {
    tab: &'a Tab<'a>,
    screens: u32,
    taps: u32,
    fields: u32,
    keys: u32,
    words: u32,
    all_words: u32,
    /// Presses that nobody has to make up his mind for: what is filled in is sent.
    foreseen: u32,
    waited: Duration,
}

impl<'a> Walk<'a> {
    /// Begins on the page that is shown.
    fn of(tab: &'a Tab<'a>) -> Self {
        Self {
            tab,
            screens: 0,
            taps: 0,
            fields: 0,
            keys: 0,
            words: 0,
            all_words: 0,
            foreseen: 0,
            waited: Duration::ZERO,
        }
    }

    /// Reads down to what leads to the next screen, and presses it.
    fn follow(&mut self, words: &str) {
        self.reads(&format!("pressed({})", json!(words)));
        let begun = Instant::now();
        self.tab.follow(words);
        // The answer may be worked out on a page of its own; that of any other screen is what the browser waited for.
        let is_answer = self.tab.value("Boolean(document.querySelector('.step .order'))") == json!(true);
        let answered_ms = self.tab.value(ANSWERED_MS).as_f64().unwrap();
        self.waited +=
            if is_answer { begun.elapsed() } else { Duration::from_secs_f64(answered_ms / 1000.0) };
        (self.screens, self.taps) = (self.screens + 1, self.taps + 1);
    }

    /// The same with what sends the fields that were filled in.
    fn send(&mut self, words: &str) {
        self.foreseen += 1;
        self.follow(words);
    }

    /// Reads down to an element.
    fn reads(&mut self, last: &str) {
        let read = self.tab.value(&WORDS_DOWN_TO.replace("LAST", last));
        let words = |k: usize| read[k].as_u64().and_then(|words| u32::try_from(words).ok()).unwrap();
        println!("{:3} of {:3} words down to {last}", words(0), words(1));
        (self.words, self.all_words) = (self.words + words(0), self.all_words + words(1));
    }

    fn fill(&mut self, label: &str, text: &str) {
        self.tab.fill(label, text);
        self.fields += 1;
        self.keys += u32::try_from(text.chars().count()).unwrap();
    }

    /// Taps the end of the kerf on the picture, which the cut fills: somewhere on its left side.
    fn tap_along_the_cut(&mut self) {
        let place = self.tab.value(
            "(() => { const box = document.querySelector('canvas').getBoundingClientRect(); \
             return [box.left + box.width / 2 - 0.35 * box.height, box.top + box.height / 2]; })()",
        );
        self.tab.press_at([0, 1].map(|k| place[k].as_f64().unwrap()));
        self.tab.until("parseFloat(document.querySelector('input[name=kerf_to]').value) > 0");
        self.taps += 1;
    }

    /// How long all of it takes somebody with so many words read, without what the server takes.
    fn seconds(&self, words: u32) -> f64 {
        let reads = f64::from(words) / WORDS_PER_MIN * 60.0;
        let acts = f64::from(self.taps + self.fields) * (POINTS_S + PRESSES_S);
        let prepares = f64::from(self.taps + self.fields - self.foreseen) * PREPARES_S;
        reads + acts + prepares + f64::from(self.keys) * KEY_S
    }

    /// The answer is there: what to do first is read.
    fn ends_soon_enough(mut self, of: &str) {
        let before = self.all_words;
        self.reads("document.querySelector('.step .order')");
        let Self { screens, taps, fields, keys, words, waited, .. } = self;
        let (seconds, every) = (self.seconds(words), self.seconds(before));
        println!(
            "{of}: {screens} screens, {taps} taps, {fields} fields of {keys} keys; every word on every screen until the answer \
             comes ({before}): {every:.1} s, and {:.1} s of the server's; down to what fits ({words}): {seconds:.1} s",
            waited.as_secs_f64()
        );
        // What the server takes hangs on what else the machine does: it is told above, and decides nothing here.
        assert!(every < ALLOWED_S, "{of}: {every:.1} s");
    }

    /// From *Stopped* to what the stop was; it stands there.
    fn reports_the_stop(&mut self, [x, y]: [f64; 2]) {
        self.tab.follow("Stopped what now?");
        self.screens += 1;
        self.follow("It is out");
        self.fill("X", &format!("{x:.1}"));
        self.fill("Y", &format!("{y:.1}"));
        self.send("Go on");
    }
}

/// What the control shows where the torch stands so far along a cut.
fn shown_at(cut: u32, along_mm: f64) -> [f64; 2] {
    let mut inputs = Inputs::bundled("post-bases.nc", PROGRAM, SHOP, "");
    let list = Reading::of(&mut inputs).list;
    let at = list.by_number(cut).unwrap().path.point_at(along_mm).unwrap();
    [at.x, at.y]
}

#[test]
fn a_start_that_failed_is_answered_within_a_minute() {
    let (served, chromium) = (Served::new(SHOP), Chromium::start());
    let tab = Tab::new(&chromium, &served.address, PHONE);
    drop_the_plate(&tab, &served);
    let mut walk = Walk::of(&tab);
    walk.reports_the_stop(shown_at(37, 0.0));
    walk.follow("The arc did not come");
    tab.reads("Was it cut 37, as X and Y say?");
    walk.follow("This one");
    walk.follow("NO-TRANSFER");
    walk.follow("Nothing");
    tab.reads("Stopped at cut 37");
    tab.reads("First, in this order");
    walk.ends_soon_enough("a start that failed");
}

#[test]
fn a_lost_arc_is_answered_within_a_minute() {
    let (served, chromium) = (Served::new(SHOP), Chromium::start());
    let tab = Tab::new(&chromium, &served.address, PHONE);
    drop_the_plate(&tab, &served);
    let mut walk = Walk::of(&tab);
    walk.reports_the_stop(shown_at(48, 121.0));
    walk.follow("The arc went out");
    // X and Y lie on one cut alone: it is shown, and its number is not asked for.
    tab.reads("How far is cut 48 through?");
    tab.picture("ask-kerf-noted-phone-light");
    walk.tap_along_the_cut();
    walk.send("Go on");
    walk.follow("NO-TRANSFER");
    walk.follow("Nothing");
    tab.reads("Stopped at cut 48");
    tab.reads("First, in this order");
    walk.ends_soon_enough("an arc that was lost");
}
