//! A writer is killed at random moments, a few hundred times: whatever it had acknowledged is there.
//!
//! The writer is this very test program, started anew with a word in its environment.

use ledger::{Entry, Event, Id, JobOpened, Ledger, Moment, Text, Tick};
use std::collections::BTreeMap;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc;
use std::time::Duration;

/// Names the file, for the writer.
const FILE: &str = "LEDGER_TEST_FILE";
/// Says from which number on the writer counts.
const FROM: &str = "LEDGER_TEST_FROM";
/// Kills. Each takes some milliseconds.
const KILLS: u64 = 250;
/// Numbers a writer has for itself.
const EACH: u64 = 1_000_000;
/// Before what the writer says, among what the test harness prints.
const KEPT: &str = "kept ";

fn event(n: u64, entry: Entry) -> Event {
    let mut id = [0; 16];
    id[8..].copy_from_slice(&n.to_be_bytes());
    Event { id: Id::new(id), of: Id::new([9; 16]), at: Moment(0), entry }
}

/// The `n`-th thing that a writer adds: now and then a job with its text, else a tick.
fn entry(n: u64) -> (Event, Vec<Text>) {
    if n.is_multiple_of(7) {
        let text = Text::new(format!("(program {n})\n").repeat(40).into_bytes());
        let opened = JobOpened { name: format!("{n}.nc"), program: text.id(), facts: String::new() };
        return (event(n, Entry::JobOpened(opened)), vec![text]);
    }
    (event(n, Entry::Tick(Tick { list: "before".into(), item: n.to_string(), done: true })), Vec::new())
}

/// Not a test by itself: without a word in the environment it does nothing.
#[test]
fn writer() {
    let (Ok(file), Ok(from)) = (std::env::var(FILE), std::env::var(FROM)) else { return };
    let from: u64 = from.parse().expect("a number");
    let mut ledger = Ledger::open(Path::new(&file)).expect("the ledger opens after a kill");
    let mut out = std::io::stdout();
    for n in from.. {
        let (event, texts) = entry(n);
        ledger.append(&[event], &texts).expect("added");
        writeln!(out, "{KEPT}{n}").and_then(|()| out.flush()).expect("the one who kills is listening");
    }
}

fn start(file: &Path, from: u64) -> Child {
    Command::new(std::env::current_exe().expect("this program has a path"))
        .args(["--exact", "writer", "--nocapture"])
        .env(FILE, file)
        .env(FROM, from.to_string())
        .stdout(Stdio::piped())
        .spawn()
        .expect("the writer starts")
}

#[test]
fn whatever_was_acknowledged_is_there() {
    let folder = tempfile::tempdir().expect("a folder for the test");
    let file = folder.path().join("ledger.db");
    // A small generator of our own: the moments need no better one.
    let mut seed = 0x2545_F491_4F6C_DD1D_u64;
    let mut wait_us = || {
        seed ^= seed << 13;
        seed ^= seed >> 7;
        seed ^= seed << 17;
        seed % 8_000
    };
    let mut acknowledged = Vec::new();
    for kill in 0..KILLS {
        let mut writer = start(&file, kill * EACH);
        let out = BufReader::new(writer.stdout.take().expect("it is piped"));
        let (told, listens) = mpsc::channel();
        let reader = std::thread::spawn(move || {
            let number = |line: String| line.split(KEPT).nth(1)?.parse::<u64>().ok();
            for n in out.lines().map_while(Result::ok).filter_map(number) {
                let _ = told.send(n);
            }
        });
        // Every other one is killed while it writes, the rest also while they open the file.
        if kill % 2 == 0 {
            acknowledged.extend(listens.recv_timeout(Duration::from_secs(20)));
        }
        std::thread::sleep(Duration::from_micros(wait_us()));
        writer.kill().expect("it runs until it is killed");
        writer.wait().expect("it has ended");
        reader.join().expect("the reader ends with the pipe");
        acknowledged.extend(listens);
    }
    assert!(acknowledged.len() as u64 > KILLS / 2, "the writers wrote too little: {}", acknowledged.len());
    let ledger = Ledger::open(&file).expect("the ledger opens");
    let found: BTreeMap<Id, Event> =
        ledger.all().expect("every event reads back").into_iter().map(|event| (event.id, event)).collect();
    for n in &acknowledged {
        let (wanted, texts) = entry(*n);
        assert_eq!(found.get(&wanted.id), Some(&wanted), "event {n} was acknowledged");
        for text in texts {
            assert_eq!(ledger.text(text.id()).expect("its text is kept"), text.bytes());
        }
    }
}
