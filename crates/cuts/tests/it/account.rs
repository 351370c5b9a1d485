//! What a program was read as, in lines that can be compared.

use cuts::{Contour, CutList, Reading, Shape, Turn};
use finding::Finding;
use nc::{Dialect, Motions, Program, Start};
use std::fmt::Write;
use units::Length;

/// Width of the kerf in these tests.
pub(crate) const KERF: Length = Length::from_mm(1.5);

/// What was read.
pub(crate) struct Read {
    pub(crate) motions: Motions,
    pub(crate) list: CutList,
    pub(crate) findings: Vec<Finding>,
}

/// Reads `text` in the common dialect with [`KERF`].
pub(crate) fn read(text: &str) -> Read {
    read_with(text, &Dialect::common(), &Reading::with_kerf(KERF))
}

pub(crate) fn read_with(text: &str, dialect: &Dialect, reading: &Reading) -> Read {
    let (program, read) = Program::parse(text.as_bytes(), dialect);
    assert!(read.is_empty(), "the text itself is sound: {read:?}");
    let (motions, run) = Motions::run(&program, dialect, &Start::usual(dialect));
    assert!(run.is_empty(), "the text runs without findings: {run:?}");
    let (list, findings) = CutList::build(&program, &motions, reading);
    Read { motions, list, findings }
}

/// One line a contour, one a part, one a finding.
pub(crate) fn account(read: &Read) -> String {
    let mut out = String::new();
    for contour in &read.list.contours {
        let _ = writeln!(out, "{}", line(&read.list, contour));
    }
    for part in &read.list.parts {
        let ids = |ids: &[cuts::ContourId]| ids.iter().map(|id| format!(" c{}", id.0)).collect::<String>();
        let _ = writeln!(
            out,
            "part {}: c{}, holes{}, others{}",
            part.id.number(),
            part.outline.0,
            ids(&part.holes),
            ids(&part.others)
        );
    }
    for finding in &read.findings {
        let _ = writeln!(out, "{}: {}", finding.rule, finding.message);
    }
    out
}

fn line(list: &CutList, contour: &Contour) -> String {
    let shape = match contour.shape {
        Shape::Outline => "outline",
        Shape::Hole => "hole",
        Shape::Slot => "slot",
        Shape::Mark => "mark",
    };
    let turn = match contour.turn {
        Some(Turn::Clockwise) => " cw",
        Some(Turn::CounterClockwise) => " ccw",
        None => "",
    };
    let area = contour.closed.as_ref().map_or(0.0, |closed| closed.signed_area_mm2().abs());
    let lead_in = list.lead_in_mm(contour.id);
    let mut line = format!(
        "c{} cut {} {shape}{turn} {:.2}..{:.2} lead {:.2} area {area:.1} depth {}",
        contour.id.0,
        contour.cut.number(),
        contour.along_mm.start,
        contour.along_mm.end,
        lead_in.end - lead_in.start,
        contour.depth,
    );
    if let Some(within) = contour.within {
        let _ = write!(line, " in c{}", within.0);
    }
    if !contour.closed_by.is_empty() {
        let by: Vec<String> = contour.closed_by.iter().map(|cut| cut.number().to_string()).collect();
        let _ = write!(line, " closed by {}", by.join(" "));
    }
    if let Some(first) = contour.repeats {
        let _ = write!(line, " repeats c{}", first.0);
    }
    line
}
