//! The page is killed at random moments while things are being entered, a few hundred times: whatever it had answered for
//! is there, and it starts again each time.
//!
//! The server is this very test program, started anew with a word in its environment.
#![expect(clippy::unwrap_used, reason = "helpers of tests fail the test")]

use ledger::{Entry, Event, Id, JobOpened, Ledger, Moment, Text};
use std::collections::BTreeMap;
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
/// Kills.
const KILLS: u64 = 200;
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
    };
    let tell = |listening: web::Listening| {
        let mut out = std::io::stdout();
        writeln!(out, "{AT}{}", listening.address).and_then(|()| out.flush()).unwrap();
    };
    web::serve(options, ([127, 0, 0, 1], 0).into(), tell).unwrap();
}

/// Starts the server, and says where it is.
fn start(folder: &Path) -> (Child, String) {
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "server", "--nocapture"])
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
struct Visitor {
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

fn visit(host: &str) -> Visitor {
    let list = ask(host, &format!("GET / HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n")).unwrap();
    let cookie = list.lines().find_map(|line| line.strip_prefix("set-cookie: ")).unwrap();
    let form = list.split("name=\"form\" value=\"").nth(1).unwrap().split('"').next().unwrap();
    Visitor { cookie: cookie.split(';').next().unwrap().to_owned(), form: form.to_owned() }
}

/// Enters the `n`-th thing; whether the server answered that it is kept.
fn enter(host: &str, visitor: &Visitor, n: u64) -> bool {
    let body = format!("form={}&entry={n:032x}&item=thing+{n}&done=true", visitor.form);
    let answer = ask(
        host,
        &format!(
            "POST /jobs/{}/tick HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\nCookie: {}\r\nContent-Type: \
             application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n{body}",
            job(),
            visitor.cookie,
            body.len()
        ),
    );
    let Some(answer) = answer else { return false };
    assert!(answer.starts_with("HTTP/1.1 303"), "{answer}");
    true
}

fn job() -> Id {
    Id::new([9; 16])
}

#[test]
fn what_was_answered_for_outlives_every_kill() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("ledger.db");
    let program = Text::new(b"G21\nM3\nG1 X5 F1000\nM5\nM30\n".to_vec());
    let opened = JobOpened { name: "a.nc".into(), program: program.id(), facts: String::new() };
    let opened = Event { id: job(), of: job(), at: Moment(0), entry: Entry::JobOpened(opened) };
    Ledger::open(&file).unwrap().append(&[opened], &[program]).unwrap();
    let (mut answered, mut n) = (Vec::new(), 0_u64);
    for kill in 0..KILLS {
        let (mut child, host) = start(folder.path());
        let visitor = visit(&host);
        // Moments that look like chance and are the same each time, from the first answer on.
        let after = Duration::from_millis((kill.wrapping_mul(0x9E37_79B9_7F4A_7C15) >> 32) % MOST_MS);
        let (tell, told) = channel();
        std::thread::scope(|scope| {
            scope.spawn(|| {
                loop {
                    n += 1;
                    if !enter(&host, &visitor, n) {
                        drop(tell);
                        return;
                    }
                    tell.send(n).unwrap();
                }
            });
            answered.push(told.recv().expect("something is answered for before the kill"));
            std::thread::sleep(after);
            child.kill().unwrap();
            child.wait().unwrap();
            answered.extend(told.iter());
        });
    }
    assert!(answered.len() as u64 >= KILLS);
    let events = Ledger::open(&file).unwrap().events(job()).unwrap();
    let kept: BTreeMap<Id, &Entry> = events.iter().map(|event| (event.id, &event.entry)).collect();
    for n in answered {
        let id: Id = format!("{n:032x}").parse().unwrap();
        let Some(Entry::Tick(tick)) = kept.get(&id) else {
            panic!("thing {n} was answered for and is not there")
        };
        assert_eq!(tick.item, format!("thing {n}"));
    }
}
