//! A tab, used as a person uses one: what is pressed and filled in is found by the words that stand on it, pressed where
//! it is on the screen, and has to be what lies there.

use crate::chromium::Chromium;
use serde_json::{Value, json};
use std::cell::RefCell;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// How long a page may take to become what is waited for.
const SETTLES: Duration = Duration::from_secs(30);

/// Finds what a person would find by its words; in every script that is run.
const FINDERS: &str = r#"
const seen = (e) => {
  const box = e.getBoundingClientRect();
  return box.width > 0 && box.height > 0 && getComputedStyle(e).visibility !== "hidden";
};
const words = (e) => (e.getAttribute("aria-label") || e.innerText || e.value || "").replace(/\s+/g, " ").trim();
const first = (all, text) => all.find((e) => words(e) === text) || all.find((e) => words(e).startsWith(text));
const pressed = (text) => first([...document.querySelectorAll("a, button, summary, label.tick")].filter(seen), text);
const field = (text) => {
  const labels = [...document.querySelectorAll("label")].filter(seen);
  const named = labels.map((l) => [l.querySelector("span")?.innerText.replace(/\s+/g, " ").trim(), l]);
  const label = (named.find(([name]) => name === text) || named.find(([name]) => name?.startsWith(text)))?.[1];
  return label?.querySelector("input, select, textarea");
};
"#;

/// How the value of an expression, which may be a promise, is asked for.
fn asked(expression: &str) -> Value {
    json!({
        "expression": format!("(async () => {{ {FINDERS}\nreturn {expression}; }})()"),
        "awaitPromise": true, "returnByValue": true,
    })
}

/// A screen.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Screen {
    pub(crate) width: u32,
    pub(crate) height: u32,
    pub(crate) is_phone: bool,
}

pub(crate) const DESKTOP: Screen = Screen { width: 1360, height: 850, is_phone: false };
pub(crate) const PHONE: Screen = Screen { width: 360, height: 740, is_phone: true };

/// A tab of a browser at one server.
pub(crate) struct Tab<'a> {
    chromium: &'a Chromium,
    session: String,
    server: String,
    asked: RefCell<Vec<String>>,
}

impl<'a> Tab<'a> {
    /// A new tab; nothing is shown in it yet. `server` is the address of the plates, with a slash at the end.
    pub(crate) fn new(chromium: &'a Chromium, server: &str, screen: Screen) -> Self {
        let target = chromium.ask(None, "Target.createTarget", json!({ "url": "about:blank" }));
        let attach = json!({ "targetId": target["targetId"], "flatten": true });
        let session = chromium.ask(None, "Target.attachToTarget", attach)["sessionId"].clone();
        let session = session.as_str().unwrap().to_owned();
        let tab = Self { chromium, session, server: server.to_owned(), asked: RefCell::default() };
        for domain in ["Page.enable", "Network.enable", "Runtime.enable", "Log.enable"] {
            tab.ask(domain, json!({}));
        }
        let folder = chromium.folder().join("kept");
        let keep = json!({ "behavior": "allow", "downloadPath": folder, "eventsEnabled": true });
        chromium.ask(None, "Browser.setDownloadBehavior", keep);
        tab.screen(screen);
        tab.is_dark(false);
        tab
    }

    pub(crate) fn ask(&self, method: &str, params: Value) -> Value {
        self.chromium.ask(Some(&self.session), method, params)
    }

    /// Shows the page on this screen.
    pub(crate) fn screen(&self, screen: Screen) {
        let Screen { width, height, is_phone } = screen;
        let metrics = json!({
            "width": width, "height": height, "deviceScaleFactor": if is_phone { 2 } else { 1 }, "mobile": is_phone,
        });
        self.ask("Emulation.setDeviceMetricsOverride", metrics);
        self.ask("Emulation.setTouchEmulationEnabled", json!({ "enabled": is_phone }));
    }

    /// Light or dark. Nothing moves by itself, so that what is pressed stays where it was found.
    pub(crate) fn is_dark(&self, dark: bool) {
        let scheme = json!({ "name": "prefers-color-scheme", "value": if dark { "dark" } else { "light" } });
        let still = json!({ "name": "prefers-reduced-motion", "value": "reduce" });
        self.ask("Emulation.setEmulatedMedia", json!({ "media": "", "features": [scheme, still] }));
    }

    /// Events that the page was told by the server since this was asked last: their names and what they say.
    pub(crate) fn told(&self) -> Vec<(String, String)> {
        let heard = self.chromium.heard("Network.eventSourceMessageReceived");
        let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
        heard.iter().map(|event| (text(&event["eventName"]), text(&event["data"]))).collect()
    }

    /// As on a sheet of paper, or on the screen again.
    pub(crate) fn is_paper(&self, paper: bool) {
        let still = json!({ "name": "prefers-reduced-motion", "value": "reduce" });
        let media = if paper { "print" } else { "" };
        self.ask("Emulation.setEmulatedMedia", json!({ "media": media, "features": [still] }));
    }

    /// Goes to a page.
    pub(crate) fn go(&self, path: &str) {
        let url = format!("{}{}", self.server, path.trim_start_matches('/'));
        self.loads(|| {
            self.ask("Page.navigate", json!({ "url": url }));
        });
    }

    /// Does something that leads to another page, and waits until that is there.
    pub(crate) fn loads(&self, does: impl FnOnce()) {
        self.shows(does);
        self.settles();
    }

    /// Waits until the page that is there waits for nothing any more.
    pub(crate) fn settles(&self) {
        // A page of something that is waited for leads on by itself, so that no script may be answered meanwhile.
        let settled = asked(
            "document.readyState === 'complete' && !document.querySelector('[data-work]') && \
             [...document.querySelectorAll('canvas[data-strokes]')].every((c) => !c.hidden)",
        );
        let until = Instant::now() + SETTLES;
        let is_settled = || {
            let told = self.chromium.tries(Some(&self.session), "Runtime.evaluate", settled.clone());
            told.is_ok_and(|told| told["result"]["value"] == json!(true))
        };
        while !is_settled() {
            assert!(Instant::now() < until, "no page came; there stands:\n{}", self.text());
            std::thread::sleep(Duration::from_millis(20));
        }
    }

    /// Does something that leads to another page, and waits until that is loaded, be it one of something that is waited
    /// for.
    pub(crate) fn shows(&self, does: impl FnOnce()) {
        self.chromium.heard("Page.loadEventFired");
        does();
        self.chromium.event(Some(&self.session), "Page.loadEventFired");
    }

    /// The value of an expression, which may be a promise.
    pub(crate) fn value(&self, expression: &str) -> Value {
        let told = self.ask("Runtime.evaluate", asked(expression));
        assert!(told.get("exceptionDetails").is_none(), "{expression}: {told}");
        told["result"]["value"].clone()
    }

    /// Runs a script on the page.
    pub(crate) fn run(&self, script: &str) {
        let told = self.ask("Runtime.evaluate", json!({ "expression": script }));
        assert!(told.get("exceptionDetails").is_none(), "{told}");
    }

    /// Waits until an expression is true.
    pub(crate) fn until(&self, expression: &str) {
        let until = Instant::now() + SETTLES;
        while self.value(expression) != json!(true) {
            assert!(Instant::now() < until, "never true: {expression}; on the page stands:\n{}", self.text());
            std::thread::sleep(Duration::from_millis(20));
        }
    }

    /// What can be read on the page.
    pub(crate) fn text(&self) -> String {
        self.value("document.body.innerText").as_str().unwrap_or_default().to_owned()
    }

    /// Fails unless this can be read on the page.
    pub(crate) fn reads(&self, wanted: &str) {
        let text = self.text();
        assert!(text.contains(wanted), "no {wanted:?} on the page:\n{text}");
    }

    /// The path at which it is.
    pub(crate) fn path(&self) -> String {
        self.value("location.pathname").as_str().unwrap().to_owned()
    }

    /// Presses what has these words on it and leads to another page.
    pub(crate) fn follow(&self, words: &str) {
        self.loads(|| self.press(words));
    }

    /// Presses what has these words on it.
    pub(crate) fn press(&self, words: &str) {
        let at = self.place(&format!("pressed({})", json!(words)), words);
        self.press_at(at);
    }

    /// Fills in the field with this label.
    pub(crate) fn fill(&self, label: &str, text: &str) {
        let at = self.place(&format!("field({})", json!(label)), label);
        self.press_at(at);
        let cleared = format!("(field({}).select?.(), true)", json!(label));
        self.value(&cleared);
        self.write(text);
        let there = self.value(&format!("field({}).value", json!(label)));
        assert_eq!(there, json!(text), "what is typed stands in {label:?}");
    }

    /// Types.
    pub(crate) fn write(&self, text: &str) {
        for letter in text.chars() {
            self.ask("Input.dispatchKeyEvent", json!({ "type": "keyDown", "text": letter, "key": letter }));
            self.ask("Input.dispatchKeyEvent", json!({ "type": "keyUp", "key": letter }));
        }
    }

    /// Presses a key that writes nothing.
    pub(crate) fn key(&self, key: &str) {
        let (code, text) = match key {
            "Enter" => (13, "\r"),
            "Tab" => (9, ""),
            " " => (32, " "),
            "ArrowRight" => (39, ""),
            "ArrowDown" => (40, ""),
            other => panic!("the code of {other} is not told here"),
        };
        let mut down =
            json!({ "type": "rawKeyDown", "key": key, "code": key, "windowsVirtualKeyCode": code });
        if !text.is_empty() {
            down["type"] = json!("keyDown");
            down["text"] = json!(text);
        }
        self.ask("Input.dispatchKeyEvent", down);
        let up = json!({ "type": "keyUp", "key": key, "code": key, "windowsVirtualKeyCode": code });
        self.ask("Input.dispatchKeyEvent", up);
    }

    /// Where on the screen something is, scrolled into view; it must not be covered by anything.
    fn place(&self, element: &str, name: &str) -> [f64; 2] {
        self.until(&format!("Boolean({element})"));
        let place = format!(
            "(() => {{ const e = {element}; e.scrollIntoView({{ block: 'center', behavior: 'instant' }}); \
             const b = e.getBoundingClientRect(); const at = [b.x + b.width / 2, b.y + b.height / 2]; \
             const top = document.elementFromPoint(...at); \
             return [...at, e.contains(top) || top?.contains(e) || top?.closest('label')?.contains(e)]; }})()"
        );
        let at = self.value(&place);
        assert_eq!(at[2], json!(true), "{name:?} is covered or off the screen: {at}");
        [at[0].as_f64().unwrap(), at[1].as_f64().unwrap()]
    }

    /// Presses a place of the screen.
    pub(crate) fn press_at(&self, [x, y]: [f64; 2]) {
        for kind in ["mouseMoved", "mousePressed", "mouseReleased"] {
            let button = if kind == "mouseMoved" { "none" } else { "left" };
            let event = json!({ "type": kind, "x": x, "y": y, "button": button, "clickCount": 1 });
            self.ask("Input.dispatchMouseEvent", event);
        }
    }

    /// Drops a file onto the page.
    pub(crate) fn drop_file(&self, file: &Path) {
        let data = json!({ "items": [], "files": [file], "dragOperationsMask": 1 });
        for kind in ["dragEnter", "dragOver", "drop"] {
            self.ask("Input.dispatchDragEvent", json!({ "type": kind, "x": 200, "y": 300, "data": data }));
        }
    }

    /// Does something that asks for a file, and chooses this one.
    pub(crate) fn choose_file(&self, file: &Path, does: impl FnOnce()) {
        self.ask("Page.setInterceptFileChooserDialog", json!({ "enabled": true }));
        does();
        let asked = self.chromium.event(Some(&self.session), "Page.fileChooserOpened");
        let chosen = json!({ "files": [file], "backendNodeId": asked["backendNodeId"] });
        self.ask("DOM.setFileInputFiles", chosen);
    }

    /// Does something that hands out a file, and reads that.
    pub(crate) fn kept(&self, does: impl FnOnce()) -> (String, Vec<u8>) {
        does();
        let begun = self.chromium.event(None, "Browser.downloadWillBegin");
        loop {
            let told = self.chromium.event(None, "Browser.downloadProgress");
            match told["state"].as_str().unwrap() {
                "completed" => break,
                "canceled" => panic!("the file was not handed out: {told}"),
                _ => {}
            }
        }
        let name = begun["suggestedFilename"].as_str().unwrap().to_owned();
        let bytes = std::fs::read(self.chromium.folder().join("kept").join(&name)).unwrap();
        (name, bytes)
    }

    /// A picture of the screen, as a PNG below `target/screens`, for a person to look at.
    pub(crate) fn picture(&self, name: &str) -> PathBuf {
        self.shot(&format!("{name}.png"), &json!({ "format": "png" }))
    }

    /// The same as a small file, for a page to show.
    pub(crate) fn small_picture(&self, name: &str) -> PathBuf {
        self.shot(&format!("{name}.webp"), &json!({ "format": "webp", "quality": 82 }))
    }

    fn shot(&self, file: &str, how: &Value) -> PathBuf {
        let shot = self.ask("Page.captureScreenshot", how.clone());
        self.keep(file, &shot)
    }

    /// A picture of all of the page, however long, as a PNG below `target/screens`.
    pub(crate) fn long_picture(&self, name: &str) -> PathBuf {
        let how = json!({ "format": "png", "captureBeyondViewport": true, "clip": {
            "x": 0, "y": 0, "scale": 1,
            "width": self.value("document.documentElement.scrollWidth"),
            "height": self.value("document.documentElement.scrollHeight"),
        } });
        self.shot(&format!("{name}.png"), &how)
    }

    /// The page as it is printed, below `target/screens`.
    pub(crate) fn print(&self, name: &str) -> PathBuf {
        let sheet = json!({ "paperWidth": 8.27, "paperHeight": 11.69, "printBackground": true });
        let printed = self.ask("Page.printToPDF", sheet);
        self.keep(&format!("{name}.pdf"), &printed)
    }

    fn keep(&self, file: &str, shot: &Value) -> PathBuf {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../target/screens");
        std::fs::create_dir_all(&folder).unwrap();
        let file = folder.join(file);
        std::fs::write(&file, bytes_of(shot["data"].as_str().unwrap())).unwrap();
        file
    }

    /// Every address that was asked for so far.
    pub(crate) fn asked(&self) -> Vec<String> {
        let new = self.chromium.heard("Network.requestWillBeSent");
        let mut asked = self.asked.borrow_mut();
        asked.extend(new.iter().map(|event| event["request"]["url"].as_str().unwrap_or_default().to_owned()));
        asked.clone()
    }

    /// Fails if anything was asked of another host, a script failed, or the browser refused anything for the page's own
    /// policy.
    pub(crate) fn is_in_order(&self) {
        for url in self.asked() {
            let own = url.starts_with(&self.server) || url.starts_with("data:") || url == "about:blank";
            assert!(own, "asked of another host: {url}");
        }
        let failed = self.chromium.heard("Runtime.exceptionThrown");
        assert!(failed.is_empty(), "a script failed: {failed:?}");
        let told = self.chromium.heard("Log.entryAdded");
        let refused = told.iter().filter(|told| told["entry"]["source"] == "security").collect::<Vec<_>>();
        assert!(refused.is_empty(), "refused: {refused:?}");
    }
}

/// The bytes of a text in base 64 (RFC 4648).
fn bytes_of(text: &str) -> Vec<u8> {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let (mut bytes, mut held, mut bits) = (Vec::new(), 0_u32, 0);
    for letter in text.bytes().take_while(|letter| *letter != b'=') {
        let value = LETTERS.iter().position(|other| *other == letter).unwrap();
        held = held << 6 | u32::try_from(value).unwrap();
        bits += 6;
        if bits >= 8 {
            bits -= 8;
            bytes.push(u8::try_from(held >> bits & 0xFF).unwrap());
        }
    }
    bytes
}
