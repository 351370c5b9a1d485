//! A restart for a plate that has moved: a program written for the plate as it lay is read again, and every motion up to
//! the last torch-off is carried to where the plate lies now. Whatever way the first was written in, the second has its
//! starts, waits, heights and feeds.
//!
//! What comes after the last torch-off, such as parking, belongs to the table and stays where it was.

use super::begin::shift_of;
use super::block::{Flat, Place};
use super::header;
use crate::RanCut;
use crate::Situation;
use crate::draft::{Draft, From, Written};
use cuts::CutId;
use geometry::{Placement, Point, Program as Frame, Vector};
use nc::{EventKind, Motions, Program, Ran, Start, Style, Trail, Writer};
use proof::Promise;

/// `written` carried by `placement`, in its own units, distance modes and manner of arc centres. Where the original had
/// set a datum of its own, the text counts from the one at the original's start instead: the plate was measured in that.
///
/// # Errors
/// Why it cannot be, in words.
pub(crate) fn posed(
    situation: &Situation<'_>,
    promise: &Promise,
    written: &Written,
    placement: &Placement<Frame, Frame>,
) -> Result<Written, String> {
    let dialect = situation.dialect;
    let (program, _) = Program::parse(written.text.as_slice(), dialect);
    let start = Start::usual(dialect);
    let (motions, _) = Motions::run(&program, dialect, &start);
    let trail = Trail::of(&program, dialect, &start);
    let last = motions.events().iter().rev().find(|event| event.kind == EventKind::TorchOff);
    let last = last.ok_or("the program never ends a cut")?;
    let carried = last.before;
    let own_datum = own_datum(situation, promise);
    let count = u32::try_from(motions.motions().len()).unwrap_or(u32::MAX);
    let from_own = Placement::new(0.0, Point::ORIGIN + own_datum.unwrap_or(Vector::new(0.0, 0.0)));
    let placed =
        motions.placed(&[(0..carried, from_own.then(placement)), (carried..count.max(carried), from_own)]);
    // The motion after those goes where it went, but comes from elsewhere.
    let end = if own_datum.is_some() { count } else { carried.saturating_add(1) };
    let elsewhere: Vec<_> = std::iter::once(0..end).collect();
    let there = Situation { program: &program, motions: &placed, ..*situation };
    let mut draft = Draft::new(&program);
    if header::begins_with_percent(&there) {
        draft.own("%");
    }
    let mut modal = placed.modal(last.modal);
    draft.own(&remark(situation, Style::of(modal), placement));
    let mut flat = Flat::new(&there, &trail, &elsewhere);
    if own_datum.is_some() {
        flat.leave_out_systems();
    }
    flat.go_to(Place { ran: 0, motion: 0, event: 0 });
    flat.stands_at(Point::ORIGIN);
    let mut lines = Lines::of(&program, draft.next_line());
    for (k, ran) in trail.ran().iter().enumerate() {
        lines.begins(ran, draft.next_line());
        modal = flat.write_until(&mut draft, k + 1, modal)?;
    }
    lines.ends(draft.next_line());
    flat.write_subprograms(&mut draft);
    if header::begins_with_percent(&there) {
        draft.own("%");
    }
    let mut posed = draft.finish();
    posed.cuts = written.cuts.iter().map(|ran| lines.carried(ran)).collect();
    for from in &mut posed.lines {
        if let From::Kept(line) = *from {
            *from = written.lines.get(line as usize - 1).copied().unwrap_or(From::Own);
        }
    }
    Ok(posed)
}

/// How far the datum in which the promised cuts were made lies from the one at the original's start; none if it is that
/// one.
fn own_datum(situation: &Situation<'_>, promise: &Promise) -> Option<Vector<Frame>> {
    let motions = situation.motions;
    let modal =
        |cut: &CutId| motions.modal(motions.events()[situation.list.cut(*cut).torch_on as usize].modal);
    let first = promise.cuts.first().map(modal)?;
    let moves = |cut: &CutId| {
        let [x, y] = modal(cut).shift_mm;
        x.hypot(y) > geometry::SAME_POINT_MM || modal(cut).system != first.system
    };
    promise.cuts.iter().any(moves).then(|| shift_of(first))
}

/// Says on the text itself that its numbers are those of the plate's new place.
fn remark(situation: &Situation<'_>, style: Style, placement: &Placement<Frame, Frame>) -> String {
    let mut writer = Writer::new(situation.dialect, style, Point::ORIGIN);
    let zero = placement.origin();
    writer.comment(&format!(
        "FOR THE PLATE AS IT LIES NOW: ZERO AT X{:.2} Y{:.2} MM, TURNED {:.4} DEGREES",
        zero.x,
        zero.y,
        placement.angle_rad().to_degrees()
    ));
    writer.finish()
}

/// Where the lines of the first text came to stand in the second.
struct Lines {
    /// For each line, from 1: the first line written for it or for one after it.
    first: Vec<Option<u32>>,
    end: u32,
}

impl Lines {
    fn of(program: &Program, begin: u32) -> Self {
        Self { first: vec![None; program.blocks().len() + 2], end: begin }
    }

    fn begins(&mut self, ran: &Ran, line: u32) {
        let place = &mut self.first[ran.block as usize + 1];
        *place = Some(place.unwrap_or(line));
    }

    fn ends(&mut self, line: u32) {
        self.end = line;
        let mut next = line;
        for place in self.first.iter_mut().rev() {
            next = place.unwrap_or(next);
            *place = Some(next);
        }
    }

    fn carried(&self, ran: &RanCut) -> RanCut {
        let line = |line: u32| self.first.get(line as usize).copied().flatten().unwrap_or(self.end);
        RanCut { lines: line(ran.lines.start)..line(ran.lines.end), ..ran.clone() }
    }
}
