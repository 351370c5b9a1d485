//! Runs a text and writes down what it does, one step after another.

use finding::Finding;
use nc::{Dialect, EventKind, Height, HeightBase, MotionKind, Motions, Program, Start, TouchOff};
use std::fmt::Write as _;

/// What the text does in the strict dialect, from the usual start. `M2` is put after it.
#[track_caller]
pub(crate) fn check(text: &str, expected: &str) {
    let text = format!("{text}\nM2");
    let trace = trace(&text, &Dialect::strict());
    let trace = trace.replace("; end", "").replace("end; ", "").replace("end", "");
    assert_eq!(trace, expected, "\n{text}");
}

/// What the text does in `dialect`, from the usual start.
#[track_caller]
pub(crate) fn check_in(dialect: &Dialect, text: &str, expected: &str) {
    assert_eq!(trace(text, dialect), expected, "\n{text}");
}

/// Where the text takes the torch in X by the strict dialect, to within `tolerance`.
#[track_caller]
pub(crate) fn check_x(text: &str, x: f64, tolerance: f64) {
    let (motions, findings) = run(&format!("{text}\nM2"), &Dialect::strict());
    let motion = motions.motions().last().unwrap_or_else(|| panic!("no motion: {findings:?}\n{text}"));
    let found: Vec<_> = findings.iter().map(|finding| finding.rule).collect();
    assert!((motion.to.x - x).abs() <= tolerance, "{text}: {} instead of {x}, {found:?}", motion.to.x);
}

pub(crate) fn run(text: &str, dialect: &Dialect) -> (Motions, Vec<Finding>) {
    run_from(text, dialect, &Start::usual(dialect))
}

pub(crate) fn run_from(text: &str, dialect: &Dialect, start: &Start) -> (Motions, Vec<Finding>) {
    let (program, mut findings) = Program::parse(text.as_bytes(), dialect);
    let (motions, more) = Motions::run(&program, dialect, start);
    findings.extend(more);
    (motions, findings)
}

/// The rules of what reading and running `text` finds, each once a finding.
pub(crate) fn rules(text: &[u8], dialect: &Dialect) -> Vec<&'static str> {
    let (program, mut findings) = Program::parse(text, dialect);
    findings.extend(Motions::run(&program, dialect, &Start::usual(dialect)).1);
    findings.iter().map(|finding| finding.rule).collect()
}

pub(crate) fn trace(text: &str, dialect: &Dialect) -> String {
    let (motions, findings) = run(text, dialect);
    trace_of(&motions, &findings)
}

/// Motions and events in order, then `!rule` for each finding: `rapid 10,5; torch on; cw 20,5 about 15,5; !word-idle`.
/// Heights stand where they change: `z 3`, `top+3.8`, `z ?`.
pub(crate) fn trace_of(motions: &Motions, findings: &[Finding]) -> String {
    let mut steps = Vec::new();
    let mut z = motions.z_from(0);
    for k in 0..=motions.motions().len() {
        steps.extend(motions.events_before(k).iter().map(|event| event_name(motions, event)));
        let Some(motion) = motions.motions().get(k) else { break };
        let kind = match motion.kind {
            MotionKind::Rapid => "rapid",
            MotionKind::Feed => "feed",
            MotionKind::ArcCw => "cw",
            MotionKind::ArcCcw => "ccw",
            MotionKind::Probe => "probe",
            MotionKind::Home => "home",
        };
        let mut step = format!("{kind} {},{}", short(motion.to.x), short(motion.to.y));
        if motion.center != motion.to {
            let _ = write!(step, " about {},{}", short(motion.center.x), short(motion.center.y));
        }
        if motion.z != z {
            step.push(' ');
            step.push_str(&height(motion.z));
            z = motion.z;
        }
        steps.push(step);
    }
    steps.extend(findings.iter().map(|finding| format!("!{}", finding.rule)));
    steps.join("; ")
}

fn event_name(motions: &Motions, event: &nc::Event) -> String {
    let called = |kind: &str| {
        let call = motions.call(event.call).expect("a call has begun");
        format!("{kind} {} pass {}", call.subprogram, call.pass)
    };
    match event.kind {
        EventKind::TorchOn => "on".into(),
        EventKind::TorchOff => "off".into(),
        EventKind::Dwell(seconds) => format!("dwell {}", short(seconds)),
        EventKind::TouchOff(TouchOff::Probed) => "touched".into(),
        EventKind::TouchOff(TouchOff::ByControl) => "touched by control".into(),
        EventKind::TouchOff(TouchOff::ByCall) => "touched by call".into(),
        EventKind::HeightControl(on) => if on { "height control" } else { "height held" }.into(),
        EventKind::Process(number) => format!("process {number}"),
        EventKind::DatumSet([x, y]) => format!("datum {},{}", short(x), short(y)),
        EventKind::Stop => "stop".into(),
        EventKind::End => "end".into(),
        EventKind::Call(true) => called("call"),
        EventKind::Call(false) => called("return"),
    }
}

fn height(height: Height) -> String {
    match height.base {
        HeightBase::Program => format!("z {}", short(height.mm)),
        HeightBase::PlateTop if height.mm < 0.0 => format!("top{}", short(height.mm)),
        HeightBase::PlateTop => format!("top+{}", short(height.mm)),
        HeightBase::Unknown => "z ?".into(),
    }
}

/// At most six decimals, none that are zero.
pub(crate) fn short(number: f64) -> String {
    let text = format!("{number:.6}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".into() } else { text.into() }
}
