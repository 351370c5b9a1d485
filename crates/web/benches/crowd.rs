//! Fifty people on five jobs over a real socket: how long pages take, and how much memory all of it takes.
#![expect(clippy::print_stdout, reason = "what was measured")]

use ledger::{Entry, Event, Id, JobOpened, Ledger, Moment, Text};
use std::io::{Read as _, Write as _};
use std::net::TcpStream;
use std::path::Path;
use std::sync::mpsc::channel;
use std::time::{Duration, Instant};
use web::Options;

const PEOPLE: usize = 50;
const JOBS: u8 = 5;
/// Pages that each person looks at.
const PAGES: usize = 12;
/// How long a person looks at a page before the next.
const LOOKS: Duration = Duration::from_millis(900);

fn main() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut ledger = Ledger::open(&folder.path().join("ledger.db")).expect("a ledger");
    for number in 1..=JOBS {
        // One of 10,000 contours, the others as plates usually are.
        let (text, _) = nests::program_of(if number == 1 { 10_000 } else { 200 }, u64::from(number));
        let program = Text::new(text.into_bytes());
        let facts = "thickness = \"10 mm\"\n".to_owned();
        let opened = JobOpened { name: format!("{number}.nc"), program: program.id(), facts };
        let id = Id::new([number; 16]);
        let event = Event { id, of: id, at: Moment(0), entry: Entry::JobOpened(opened) };
        ledger.append(&[event], &[program]).expect("kept");
    }
    let (shop, secret) = (folder.path().join("shop.toml"), b"of a bench".to_vec());
    let options = Options { ledger, shop, secret, passphrase: None, blink: web::BLINK };
    let (tell, told) = channel();
    std::thread::spawn(move || {
        let any_port = ([127, 0, 0, 1], 0).into();
        web::serve(options, any_port, |at| tell.send(at.address).expect("somebody listens")).expect("served");
    });
    let at = told.recv().expect("served");
    let host = at.trim_start_matches("http://").trim_end_matches('/').to_owned();
    let begun = Instant::now();
    for number in 1..=JOBS {
        get(&host, &format!("/jobs/{}", Id::new([number; 16])));
    }
    println!("five jobs read one after the other: {:.2} s", begun.elapsed().as_secs_f64());
    let mut took: Vec<f64> = std::thread::scope(|scope| {
        let people: Vec<_> = (0..PEOPLE)
            .map(|person| {
                scope.spawn({
                    let host = &host;
                    move || look_around(host, person)
                })
            })
            .collect();
        people.into_iter().flat_map(|person| person.join().expect("a person")).collect()
    });
    took.sort_by(f64::total_cmp);
    let share = |of_a_hundred: usize| took[(took.len() - 1) * of_a_hundred / 100];
    println!(
        "{} pages: half within {:.0} ms, 99 of 100 within {:.0} ms, all within {:.0} ms",
        took.len(),
        share(50),
        share(99),
        share(100)
    );
    println!("most memory, the fifty people's included: {} MB", most_memory_mb());
}

/// How long each page took, in milliseconds.
fn look_around(host: &str, person: usize) -> Vec<f64> {
    // Not all at one instant, as people do not.
    std::thread::sleep(LOOKS * u32::try_from(person).expect("few") / u32::try_from(PEOPLE).expect("few"));
    (0..PAGES)
        .map(|page| {
            let job = Id::new([u8::try_from((person + page) % usize::from(JOBS)).expect("few") + 1; 16]);
            let path = if page % 4 == 3 { "/".to_owned() } else { format!("/jobs/{job}") };
            let begun = Instant::now();
            get(host, &path);
            let took = begun.elapsed();
            std::thread::sleep(LOOKS);
            took.as_secs_f64() * 1000.0
        })
        .collect()
}

/// A page, once what it says is worked out.
fn get(host: &str, path: &str) {
    loop {
        let answer = look(host, path);
        if !answer.starts_with(b"HTTP/1.1 202") {
            let head = String::from_utf8_lossy(&answer[..80.min(answer.len())]);
            assert!(answer.starts_with(b"HTTP/1.1 200"), "{path}: {head}");
            return;
        }
        std::thread::sleep(Duration::from_millis(20));
    }
}

fn look(host: &str, path: &str) -> Vec<u8> {
    let mut socket = TcpStream::connect(host).expect("a connection");
    let request = format!("GET {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n");
    socket.write_all(request.as_bytes()).expect("sent");
    let mut answer = Vec::new();
    socket.read_to_end(&mut answer).expect("answered");
    answer
}

/// The most that this process had in memory, as Linux tells it; 0 elsewhere.
fn most_memory_mb() -> u64 {
    let status = std::fs::read_to_string(Path::new("/proc/self/status")).unwrap_or_default();
    let most = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    most.and_then(|kb| kb.trim().trim_end_matches(" kB").parse::<u64>().ok()).unwrap_or_default() / 1024
}
