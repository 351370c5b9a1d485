//! A server in a process of its own, to be killed, and a visitor of it.

use ledger::Ledger;
use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::channel;
use std::time::Duration;
use web::Options;

/// Names the folder, for the server.
const FOLDER: &str = "WEB_TEST_FOLDER";
/// Before the address that the server says, among what the test harness prints.
const AT: &str = "the page is at ";
/// The longest time from the first answer to the kill.
const MOST_MS: u64 = 40;

/// Not a test by itself: without a word in the environment it does nothing.
#[test]
fn server() {
    let Ok(folder) = std::env::var(FOLDER) else { return };
    let folder = Path::new(&folder);
    let options = Options {
        ledger: Ledger::open(&folder.join("ledger.db")).unwrap(),
        shop: folder.join("shop.toml"),
        secret: b"of a test".to_vec(),
        passphrase: None,
        blink: web::BLINK,
    };
    let tell = |listening: web::Listening| {
        let mut out = std::io::stdout();
        writeln!(out, "{AT}{}", listening.address).and_then(|()| out.flush()).unwrap();
    };
    web::serve(options, ([127, 0, 0, 1], 0).into(), tell).unwrap();
}

/// Starts the server, and says where it is.
pub(crate) fn start(folder: &Path) -> (Child, String) {
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "server::server", "--nocapture"])
        .env(FOLDER, folder)
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut said = BufReader::new(child.stdout.take().unwrap()).lines();
    let at = said.find_map(|line| line.unwrap().split_once(AT).map(|(_, at)| at.to_owned()));
    let at = at.expect("the server starts after a kill");
    (child, at.trim_start_matches("http://").trim_end_matches('/').to_owned())
}

/// A visitor with a session.
pub(crate) struct Visitor {
    host: String,
    cookie: String,
    form: String,
}

/// Sends a request on a connection of its own; the whole answer, or nothing if the server died under way.
fn ask(host: &str, request: &str) -> Option<String> {
    let mut socket = TcpStream::connect(host).ok()?;
    socket.write_all(request.as_bytes()).ok()?;
    let mut answer = String::new();
    socket.read_to_string(&mut answer).ok()?;
    answer.contains("\r\n\r\n").then_some(answer)
}

impl Visitor {
    /// Comes to the page.
    pub(crate) fn to(host: &str) -> Self {
        let list =
            ask(host, &format!("GET / HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n")).unwrap();
        let cookie = list.lines().find_map(|line| line.strip_prefix("set-cookie: ")).unwrap();
        let form = list.split("name=\"form\" value=\"").nth(1).unwrap().split('"').next().unwrap();
        let cookie = cookie.split(';').next().unwrap().to_owned();
        Self { host: host.to_owned(), cookie, form: form.to_owned() }
    }

    /// Sends a form under the name `entry`; whether the server answered that it is kept.
    pub(crate) fn enters(&self, path: &str, entry: u64, fields: &str) -> bool {
        let Self { host, cookie, form } = self;
        let body = format!("form={form}&entry={entry:032x}&{fields}");
        let answer = ask(
            host,
            &format!(
                "POST {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\nCookie: {cookie}\r\nContent-Type: \
                 application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n{body}",
                body.len()
            ),
        );
        let Some(answer) = answer else { return false };
        assert!(answer.starts_with("HTTP/1.1 303"), "{answer}");
        true
    }
}

/// Kills the server while `enter` is called for one number after the other, from 0 on, until it says that nothing was
/// answered: the numbers that were. `nth` chooses the moment, which looks like chance and is the same each time.
pub(crate) fn killed_while(child: &mut Child, nth: u64, enter: impl Fn(u64) -> bool + Send) -> Vec<u64> {
    let after = Duration::from_millis((nth.wrapping_mul(0x9E37_79B9_7F4A_7C15) >> 32) % MOST_MS);
    let (tell, told) = channel();
    let mut answered = Vec::new();
    std::thread::scope(|scope| {
        scope.spawn(move || {
            for n in (0..).take_while(|n| enter(*n)) {
                tell.send(n).unwrap();
            }
        });
        answered.push(told.recv().expect("something is answered for before the kill"));
        std::thread::sleep(after);
        child.kill().unwrap();
        child.wait().unwrap();
        answered.extend(told.iter());
    });
    answered
}
