//! The written text read from scratch: its motions from the usual start, and whether any other start changes them.

mod datum;
mod hostile;
mod words;

pub(crate) use datum::tells_its_datums;
pub(crate) use words::has_letter;

use crate::{Case, Reason, reason, record::Record};
use nc::{Event, EventKind, Motions, Program, Start, TouchOff};

/// The written text, read.
#[derive(Debug)]
pub(crate) struct Reading {
    /// Its blocks.
    pub(crate) program: Program,
    /// Its motions from the usual start.
    pub(crate) motions: Motions,
    /// What is added to its X and Y to get the original's: how far the original had shifted its datum when it cut
    /// what is promised.
    pub(crate) datum_mm: [f64; 2],
    /// The motions before which the control finds the plate by itself, rising.
    pub(crate) found_before: Vec<u32>,
}

impl Reading {
    /// Reads the text and holds it against itself from every start.
    ///
    /// # Errors
    /// If it cannot be read soundly, sets the datum, or means something else on a control that stands otherwise.
    pub(crate) fn of(case: &Case<'_>, record: &mut Record) -> Result<Self, Reason> {
        let (program, found) = Program::parse(case.written, case.original.dialect);
        let (motions, more) =
            Motions::run(&program, case.original.dialect, &Start::usual(case.original.dialect));
        if let Some(finding) = words::first_new_error(case, &program, found.iter().chain(&more)) {
            let message = format!("the text cannot be relied on: {}", finding.message);
            return Err(reason(2, message, finding.primary.as_ref().map(|label| label.span)));
        }
        let datum_mm = datum::kept(case, &program, &motions, record)?;
        let found_before = found_before(&motions);
        let reading = Self { program, motions, datum_mm, found_before };
        hostile::same_from_every_start(case, &reading, record)?;
        Ok(reading)
    }
}

/// The motions before which the control finds the plate by itself: a touch-off that no motion shows lies between them and
/// the motions before.
pub(crate) fn found_before(motions: &Motions) -> Vec<u32> {
    let by_itself =
        |event: &&Event| matches!(event.kind, EventKind::TouchOff(TouchOff::ByControl | TouchOff::ByCall));
    let mut found: Vec<u32> = motions.events().iter().filter(by_itself).map(|event| event.before).collect();
    found.dedup();
    found
}
