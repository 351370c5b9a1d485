//! The written text read from scratch: its motions from the usual start, and whether any other start changes them.

mod datum;
mod hostile;
mod words;

pub(crate) use words::has_letter;

use crate::{Case, Reason, legs::Legs, reason, record::Record, view::View};
use nc::{Motions, Program, Start};

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
}

impl Reading {
    /// Reads the text and holds it against itself from every start.
    ///
    /// # Errors
    /// If it cannot be read soundly, sets the datum, or means something else on a control that stands otherwise.
    pub(crate) fn of(case: &Case<'_>, record: &mut Record) -> Result<Self, Reason> {
        let (program, found) = Program::parse(case.written, case.dialect);
        let (motions, more) = Motions::run(&program, case.dialect, &Start::usual(case.dialect));
        if let Some(finding) = words::first_new_error(case, &program, found.iter().chain(&more)) {
            let message = format!("the text cannot be relied on: {}", finding.message);
            return Err(reason(2, message, finding.primary.as_ref().map(|label| label.span)));
        }
        let datum_mm = datum::kept(case, &program, &motions, record)?;
        let reading = Self { program, motions, datum_mm };
        hostile::same_from_every_start(case, &reading, record)?;
        Ok(reading)
    }
}

/// The legs of the original, for whoever needs them besides the motions.
pub(crate) fn original_legs(case: &Case<'_>) -> Legs {
    Legs::of_original(&View::original(case))
}
