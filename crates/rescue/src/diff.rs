//! How a restart program differs from the original, line by line. Exact and linear: each written line knows which
//! line of the original it was kept from.

use crate::{
    Diff,
    draft::{From, Written},
};
use nc::Program;
use std::fmt::Write as _;

/// Lines shown at each end of a long stretch; what lies between is summed up.
const SHOWN_AT_ENDS: usize = 12;

/// Kept lines shown on each side of a difference.
const AROUND: usize = 3;

/// The difference between `original` and `written`.
pub(crate) fn diff(original: &Program, written: &Written) -> Diff {
    let runs = runs(original, written);
    let mut diff = Diff::default();
    for (k, run) in runs.iter().enumerate() {
        let (first, last) = (k == 0, k + 1 == runs.len());
        show(&mut diff, original, written, run, Ends { first, last });
    }
    diff
}

/// A stretch of lines of one kind.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Run {
    /// Lines of the original, from 1, end not included.
    LeftOut { from: u32, to: u32 },
    /// Written lines by index.
    Added { from: usize, to: usize },
    /// Written lines by index, kept from the original.
    Kept { from: usize, to: usize },
}

#[derive(Clone, Copy)]
struct Ends {
    first: bool,
    last: bool,
}

fn runs(original: &Program, written: &Written) -> Vec<Run> {
    let mut runs: Vec<Run> = Vec::new();
    let mut next = 1;
    for (k, from) in written.lines.iter().enumerate() {
        match (*from, runs.last_mut()) {
            (From::Own, Some(Run::Added { to, .. })) => *to = k + 1,
            (From::Own, _) => runs.push(Run::Added { from: k, to: k + 1 }),
            (From::Kept(line), last) => {
                match last {
                    Some(Run::Kept { to, .. }) if line == next => *to = k + 1,
                    _ => {
                        if line > next {
                            leave_out(&mut runs, next, line);
                        }
                        runs.push(Run::Kept { from: k, to: k + 1 });
                    }
                }
                next = line + 1;
            }
        }
    }
    let end = u32::try_from(original.blocks().len()).unwrap_or(u32::MAX).saturating_add(1);
    if next < end {
        leave_out(&mut runs, next, end);
    }
    runs
}

/// Lines left out come before the lines that stand in their place, as readers of differences expect.
fn leave_out(runs: &mut Vec<Run>, from: u32, to: u32) {
    let added = runs.pop_if(|last| matches!(last, Run::Added { .. }));
    runs.push(Run::LeftOut { from, to });
    runs.extend(added);
}

fn show(diff: &mut Diff, original: &Program, written: &Written, run: &Run, ends: Ends) {
    match *run {
        Run::LeftOut { from, to } => {
            diff.left_out += to - from;
            let line = |k: usize| {
                original.line(from + u32::try_from(k).unwrap_or(0)).unwrap_or_default().into_owned()
            };
            stretch(&mut diff.shown, "-", (to - from) as usize, "left out", line, Clip::Middle);
        }
        Run::Added { from, to } => {
            diff.added += u32::try_from(to - from).unwrap_or(u32::MAX);
            let line = |k: usize| String::from_utf8_lossy(written.line(from + k)).into_owned();
            stretch(&mut diff.shown, "+", to - from, "added", line, Clip::Middle);
        }
        Run::Kept { from, to } => {
            diff.kept += u32::try_from(to - from).unwrap_or(u32::MAX);
            let line = |k: usize| String::from_utf8_lossy(written.line(from + k)).into_owned();
            stretch(&mut diff.shown, " ", to - from, "kept word for word", line, Clip::Around(ends));
        }
    }
}

/// What of a long stretch is left out of the picture.
#[derive(Clone, Copy)]
enum Clip {
    /// Its middle.
    Middle,
    /// All but a few lines where it meets a difference.
    Around(Ends),
}

fn stretch(
    shown: &mut String,
    mark: &str,
    lines: usize,
    what: &str,
    line: impl Fn(usize) -> String,
    clip: Clip,
) {
    let (head, tail) = match clip {
        Clip::Middle => (SHOWN_AT_ENDS, SHOWN_AT_ENDS),
        Clip::Around(Ends { first, last }) => (if first { 0 } else { AROUND }, if last { 0 } else { AROUND }),
    };
    let hidden = lines.saturating_sub(head + tail);
    for k in 0..lines {
        if hidden > 1 && k == head {
            let _ = writeln!(shown, "  … {hidden} lines {what}");
        }
        if hidden <= 1 || k < head || k >= lines - tail {
            let _ = writeln!(shown, "{mark} {}", line(k));
        }
    }
}
