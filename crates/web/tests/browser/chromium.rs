//! Debian's Chromium, started without a window and told what to do over a pipe in the protocol that browsers have for
//! it: JSON messages, each ended by a zero byte. Neither a port nor another program stands between.

use serde_json::{Value, json};
use std::cell::{Cell, RefCell};
use std::collections::VecDeque;
use std::io::{BufRead as _, BufReader, Write as _};
use std::path::Path;
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};
use tempfile::TempDir;

/// How long anything may take before the test fails: a busy machine of two cores takes seconds to start a browser.
const PATIENCE: Duration = Duration::from_secs(30);

/// How the browser reads its orders from file 3 and answers on file 4, whatever its own input and output are.
const PLUMBING: &str = "exec chromium \"$@\" 3<&0 4>&1 </dev/null >/dev/null 2>/dev/null";

/// What it is started with.
const FLAGS: [&str; 13] = [
    "--headless=new",
    // It shows pages of ours alone, and a machine that tests may have only root, as whom its sandbox refuses to start.
    "--no-sandbox",
    "--remote-debugging-pipe",
    // What it asks of its maker's hosts by itself is no business of a test, and no name leads anywhere but here.
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",
    "--disable-dev-shm-usage",
    "--disable-gpu",
    "--force-color-profile=srgb",
    "--hide-scrollbars",
    "--lang=en-US",
];

/// A running browser with a folder of its own.
pub(crate) struct Chromium {
    child: RefCell<Child>,
    orders: RefCell<Option<ChildStdin>>,
    answers: Receiver<Value>,
    events: RefCell<VecDeque<Value>>,
    last: Cell<u64>,
    folder: TempDir,
}

impl Chromium {
    /// Starts it.
    pub(crate) fn start() -> Self {
        let found = Command::new("chromium").arg("--version").stderr(Stdio::null()).output();
        assert!(
            found.is_ok_and(|found| found.status.success()),
            "Chromium is needed to test the page in a browser: `cargo xtask test` installs it on Debian as root; \
             elsewhere install it so that the command `chromium` is found"
        );
        let folder = tempfile::tempdir().unwrap();
        let mut child = Command::new("sh")
            .args(["-c", PLUMBING, "sh"])
            .args(FLAGS)
            .arg(format!("--user-data-dir={}", folder.path().join("profile").display()))
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let orders = child.stdin.take().unwrap();
        let mut output = BufReader::new(child.stdout.take().unwrap());
        let (heard, answers) = channel();
        std::thread::spawn(move || {
            let mut message = Vec::new();
            while output.read_until(0, &mut message).is_ok_and(|length| length > 0) {
                message.pop();
                let Ok(value) = serde_json::from_slice(&message) else { return };
                message.clear();
                if heard.send(value).is_err() {
                    return;
                }
            }
        });
        Self {
            child: RefCell::new(child),
            orders: RefCell::new(Some(orders)),
            answers,
            events: RefCell::default(),
            last: Cell::new(0),
            folder,
        }
    }

    /// A folder that is gone when the browser is.
    pub(crate) fn folder(&self) -> &Path {
        self.folder.path()
    }

    /// Has something done, in a tab if `session` names one, and waits for the answer.
    pub(crate) fn ask(&self, session: Option<&str>, method: &str, params: Value) -> Value {
        self.tries(session, method, params).unwrap_or_else(|why| panic!("{method}: {why}"))
    }

    /// The same where the browser may refuse: then what it says.
    pub(crate) fn tries(&self, session: Option<&str>, method: &str, params: Value) -> Result<Value, Value> {
        let id = self.last.get() + 1;
        self.last.set(id);
        let mut order = json!({ "id": id, "method": method });
        order["params"] = params;
        if let Some(session) = session {
            order["sessionId"] = json!(session);
        }
        let mut bytes = serde_json::to_vec(&order).unwrap();
        bytes.push(0);
        let mut orders = self.orders.borrow_mut();
        orders.as_mut().unwrap().write_all(&bytes).and_then(|()| orders.as_mut().unwrap().flush()).unwrap();
        drop(orders);
        let until = Instant::now() + PATIENCE;
        loop {
            let message = self.hear(until, method);
            if message["id"] != json!(id) {
                self.events.borrow_mut().push_back(message);
                continue;
            }
            return message
                .get("error")
                .map_or_else(|| Ok(message["result"].clone()), |why| Err(why.clone()));
        }
    }

    /// Waits for an event of this name, past those heard before it.
    pub(crate) fn event(&self, session: Option<&str>, name: &str) -> Value {
        let is_it =
            |event: &Value| event["method"] == name && session.is_none_or(|s| event["sessionId"] == s);
        let mut heard = self.events.borrow_mut();
        if let Some(k) = heard.iter().position(is_it) {
            return heard.remove(k).unwrap()["params"].take();
        }
        let until = Instant::now() + PATIENCE;
        loop {
            let mut event = self.hear(until, name);
            if is_it(&event) {
                return event["params"].take();
            }
            heard.push_back(event);
        }
    }

    /// Events of this name that were heard so far and not waited for; they are taken out.
    pub(crate) fn heard(&self, name: &str) -> Vec<Value> {
        let mut events = self.events.borrow_mut();
        let (of_it, others) = events.drain(..).partition(|event| event["method"] == name);
        *events = others;
        let of_it: VecDeque<Value> = of_it;
        of_it.into_iter().map(|mut event| event["params"].take()).collect()
    }

    fn hear(&self, until: Instant, what: &str) -> Value {
        let left = until.saturating_duration_since(Instant::now());
        self.answers
            .recv_timeout(left)
            .unwrap_or_else(|why| panic!("{what}: the browser says nothing: {why}"))
    }
}

impl Drop for Chromium {
    fn drop(&mut self) {
        // Its orders end with the pipe: it closes by itself, all its processes with it, and what is left is ended.
        drop(self.orders.borrow_mut().take());
        let mut child = self.child.borrow_mut();
        let until = Instant::now() + Duration::from_secs(5);
        while Instant::now() < until && matches!(child.try_wait(), Ok(None)) {
            std::thread::sleep(Duration::from_millis(20));
        }
        let _ = child.kill();
        let _ = child.wait();
    }
}
