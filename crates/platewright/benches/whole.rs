//! Whole commands on large plates: time, peak memory, and how time grows with the plate.
//!
//! Each measurement runs in a process of its own, so that its peak memory (`VmHWM` of `/proc/self/status`) is its own.
//! The plates are invented: half of the contours circles of two arcs, half polylines of 64 corners, on a square grid.

use std::ffi::OsString;
use std::fmt::Write as _;
use std::io::Write as _;
use std::path::Path;
use std::process::Command;
use std::time::Instant;

/// Times each measurement is taken; the best counts, as what else runs on the machine only ever adds.
const TAKES: usize = 3;
/// Contours of the plate on which the bounds are set.
const CONTOURS: usize = 10_000;
/// Most seconds for a check of that plate.
const CHECK_S: f64 = 1.0;
/// Most megabytes for it.
const CHECK_MB: f64 = 400.0;
/// Most times that 100,000 contours may take as long as 1,000.
const GROWTH: f64 = 170.0;

fn main() {
    let args: Vec<String> = std::env::args().collect();
    if let Some(at) = args.iter().position(|arg| arg == "measure") {
        return measure(&args[at + 1..]);
    }
    let folder = tempfile::tempdir().expect("a temporary folder can be made");
    say("command                    contours   size MB      time s   peak MB");
    let times: Vec<f64> = [1_000, CONTOURS, 100_000].map(|contours| check(folder.path(), contours)).to_vec();
    rescue(folder.path());
    let growth = times[2] / times[0];
    say(&format!("check: time(100,000) / time(1,000) = {growth:.0} (at most {GROWTH})"));
}

/// Measures a check and gives its seconds.
fn check(folder: &Path, contours: usize) -> f64 {
    let file = plate(folder, contours);
    let taken = best(&["check", &file, "--thickness", "10 mm", "--json"], contours, &file);
    if contours == CONTOURS {
        let within = |value: f64, most: f64| if value <= most { "within" } else { "OVER" };
        say(&format!(
            "check: {} {CHECK_S} s, {} {CHECK_MB} MB",
            within(taken.seconds, CHECK_S),
            within(taken.megabytes, CHECK_MB)
        ));
    }
    taken.seconds
}

/// Measures a rescue of the large plate, stopped half way.
fn rescue(folder: &Path) {
    let file = plate(folder, CONTOURS);
    let (out, cut) = (folder.join("out").display().to_string(), (CONTOURS / 2).to_string());
    best(&["rescue", &file, "--thickness", "10 mm", "--cut", &cut, "--out", &out, "--json"], CONTOURS, &file);
}

struct Taken {
    seconds: f64,
    megabytes: f64,
}

/// The best of several runs in processes of their own.
fn best(command: &[&str], contours: usize, file: &str) -> Taken {
    let takes = (0..TAKES).map(|_| take(command));
    let best = takes.reduce(|a, b| if b.seconds < a.seconds { b } else { a }).expect("there is one take");
    let size = std::fs::metadata(file).map_or(0, |found| found.len());
    #[expect(clippy::cast_precision_loss, reason = "a file's size, for people")]
    let size_mb = size as f64 / 1e6;
    say(&format!(
        "{:<25} {contours:>9} {size_mb:>9.1} {:>11.3} {:>9.0}",
        command[0], best.seconds, best.megabytes
    ));
    best
}

fn take(command: &[&str]) -> Taken {
    let own = std::env::current_exe().expect("this program has a path");
    let done = Command::new(own).arg("measure").args(command).output().expect("it can be started again");
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    let told = String::from_utf8(done.stdout).expect("figures are text");
    let mut figures = told.split_whitespace().map(|figure| figure.parse().expect("a figure"));
    let mut next = || figures.next().expect("two figures");
    Taken { seconds: next(), megabytes: next() }
}

/// Runs one command here and prints seconds and megabytes.
fn measure(command: &[String]) {
    let args: Vec<OsString> =
        std::iter::once("platewright".into()).chain(command.iter().map(OsString::from)).collect();
    let (mut out, mut err) = (std::io::sink(), Vec::new());
    let began = Instant::now();
    let exit = platewright::run(args, &mut platewright::Screen::plain(&mut out, &mut err));
    let seconds = began.elapsed().as_secs_f64();
    assert!(exit.code() <= 1, "status {}: {}", exit.code(), String::from_utf8_lossy(&err));
    say(&format!("{seconds} {}", peak_megabytes()));
}

/// The most memory this process has held so far.
fn peak_megabytes() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:")).unwrap_or_default();
    line.trim().trim_end_matches(" kB").parse::<f64>().unwrap_or(f64::NAN) / 1000.0
}

/// Writes a plate of so many contours and gives its path.
fn plate(folder: &Path, contours: usize) -> String {
    let path = folder.join(format!("plate-{contours}.nc"));
    if !path.exists() {
        std::fs::write(&path, program(contours)).expect("a file can be written");
    }
    path.display().to_string()
}

/// Distance between neighbours.
const PITCH_MM: f64 = 60.0;
/// Radius of each contour.
const RADIUS_MM: f64 = 20.0;
/// Length of each lead-in.
const LEAD_MM: f64 = 10.0;

/// A program of so many contours, each with a touch-off of its own.
fn program(contours: usize) -> String {
    let mut text = "G21 G90 G40 G17 G94\n".to_owned();
    #[expect(
        clippy::cast_precision_loss,
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "the side of a grid of at most some thousands"
    )]
    let side = (contours as f64).sqrt().ceil() as usize;
    for k in 0..contours {
        #[expect(clippy::cast_precision_loss, reason = "places on a grid of at most some thousands")]
        let (x, y) = ((k % side) as f64 * PITCH_MM + 40.0, (k / side) as f64 * PITCH_MM + 40.0);
        let from = x - RADIUS_MM;
        let _ = write!(
            text,
            "G0 Z40\nG0 X{:.3} Y{y:.3}\nG38.2 Z-10 F300\nG0 Z4\nM3\nG4 P0.6\nG1 Z1.5 F1000\nG1 X{from:.3} F1400\n",
            from - LEAD_MM
        );
        if k % 2 == 0 {
            let _ = write!(
                text,
                "G2 X{:.3} Y{y:.3} I{RADIUS_MM} J0\nG2 X{from:.3} Y{y:.3} I-{RADIUS_MM} J0\n",
                x + RADIUS_MM
            );
        } else {
            for corner in 1..=64 {
                let angle = std::f64::consts::PI * (1.0 - f64::from(corner) / 32.0);
                let _ = writeln!(
                    text,
                    "G1 X{:.3} Y{:.3}",
                    x + RADIUS_MM * angle.cos(),
                    y + RADIUS_MM * angle.sin()
                );
            }
        }
        text.push_str("M5\n");
    }
    text.push_str("G0 Z40\nM30\n");
    text
}

fn say(line: &str) {
    let _ = writeln!(std::io::stdout(), "{line}");
}
