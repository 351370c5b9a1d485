//! Reading a million blocks, beside the `gcode` crate's parse in the same run; and how the time grows with the plate.
//!
//! Rounds take turns, so that whatever else the machine does falls on all alike; the best round of each counts.

use nc::{Dialect, Motions, Program, Start};
use std::hint::black_box;
use std::sync::Arc;

/// Rounds of each measurement: enough for a quiet one among them, few enough to be done within a minute.
const ROUNDS: usize = 9;

/// Contours of the small and the large plate whose times are compared.
const CONTOURS: [u32; 2] = [1_000, 100_000];

fn main() {
    against_the_peer();
    growth();
}

fn against_the_peer() {
    let text = nests::million_blocks(1);
    let bytes: Arc<[u8]> = Arc::from(text.as_bytes());
    let dialect = Dialect::common();
    let start = Start::usual(&dialect);
    let (program, findings) = Program::parse(bytes.clone(), &dialect);
    let (motions, more) = Motions::run(&program, &dialect, &start);
    assert!(findings.is_empty() && more.is_empty(), "{findings:?} {more:?}");
    let mut best = [f64::INFINITY; 4];
    for _ in 0..ROUNDS {
        let round = [
            seconds(|| gcode::parse(&text)),
            seconds(|| Program::parse(bytes.clone(), &dialect)),
            seconds(|| Motions::run(&program, &dialect, &start)),
            seconds(|| {
                let (program, _) = Program::parse(bytes.clone(), &dialect);
                Motions::run(&program, &dialect, &start)
            }),
        ];
        best = [0, 1, 2, 3].map(|k: usize| best[k].min(round[k]));
    }
    say(&format!(
        "{} blocks, {:.1} MB, {} motions",
        program.blocks().len(),
        megabytes(&text),
        motions.motions().len()
    ));
    for (what, time) in ["gcode crate, parse", "parse", "motions", "parse and motions"].into_iter().zip(best)
    {
        say(&format!(
            "{what:20} {:7.1} ms {:7.0} MB/s {:6.1} x",
            time * 1e3,
            megabytes(&text) / time,
            best[0] / time
        ));
    }
}

fn growth() {
    let [small, large] = CONTOURS.map(|contours| {
        let (text, hand) = nests::program_of(contours, 7);
        let bytes: Arc<[u8]> = Arc::from(text.as_bytes());
        let start = Start::usual(&hand.dialect);
        let read = || {
            let (program, _) = Program::parse(bytes.clone(), &hand.dialect);
            Motions::run(&program, &hand.dialect, &start)
        };
        let time = (0..ROUNDS).map(|_| seconds(read)).fold(f64::INFINITY, f64::min);
        let size = megabytes(&text);
        say(&format!("{contours:7} contours {:9.2} ms {:7.0} MB/s", time * 1e3, size / time));
        (time, size)
    });
    say(&format!("time {:.0} x, text {:.0} x", large.0 / small.0, large.1 / small.1));
}

fn megabytes(text: &str) -> f64 {
    f64::from(u32::try_from(text.len()).expect("less than 4 GiB")) / 1e6
}

/// Time of one run. What it gives is dropped after the clock has stopped, on both sides alike.
#[expect(clippy::disallowed_methods, reason = "a benchmark asks the clock")]
fn seconds<T>(run: impl FnOnce() -> T) -> f64 {
    let begun = std::time::Instant::now();
    let made = black_box(run());
    let time = begun.elapsed().as_secs_f64();
    drop(made);
    time
}

#[expect(clippy::print_stdout, reason = "a benchmark tells its figures")]
fn say(line: &str) {
    println!("{line}");
}
