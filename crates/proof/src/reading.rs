//! The written text read from scratch: its motions from the usual start, and whether any other start changes them.

mod hostile;
mod words;

pub(crate) use words::has_letter;

use crate::{Case, Reason, legs::Legs, reason, record::Record, tolerance::NOISE_MM, view::View};
use nc::{EventKind, Motions, Program, Start};

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
        let datum = datum_of_original(case)?;
        let reading = Self { program, motions, datum_mm: datum.shift_mm };
        datum_kept(&reading, &datum, record)?;
        hostile::same_from_every_start(case, &reading, record)?;
        Ok(reading)
    }
}

/// Under which datum the original cut what is promised.
struct DatumOf {
    /// Shift in X and Y since its start.
    shift_mm: [f64; 2],
    /// Its coordinate system.
    system: u8,
}

/// The datum under which the original cut what is promised; the same for all of it.
fn datum_of_original(case: &Case<'_>) -> Result<DatumOf, Reason> {
    let mut datum: Option<DatumOf> = None;
    for cut in &case.promise.cuts {
        let event = &case.motions.events()[case.list.cut(*cut).torch_on as usize];
        let modal = case.motions.modal(event.modal);
        let now = DatumOf { shift_mm: modal.shift_mm, system: modal.system };
        let first = datum.get_or_insert(DatumOf { ..now });
        if apart(first.shift_mm, now.shift_mm) || first.system != now.system {
            let message = format!(
                "the original sets its datum anew before cut {}, and a restart cannot know where it then lay",
                cut.number()
            );
            return Err(reason(2, message, None));
        }
    }
    Ok(datum.unwrap_or(DatumOf { shift_mm: [0.0; 2], system: 1 }))
}

/// The written program leaves the datum in X and Y as it is. It may choose the coordinate system that the original
/// cut in, which does not set it.
fn datum_kept(reading: &Reading, datum: &DatumOf, record: &mut Record) -> Result<(), Reason> {
    let motions = &reading.motions;
    let span = |e: usize| {
        let block = motions.events()[e].block as usize;
        reading.program.blocks().get(block).map(|block| block.span)
    };
    if let Some(block) =
        reading.program.datum_setting_blocks().find(|block| motions.modal_before(*block).is_some())
    {
        let message =
            "this sets a datum, or one that the control keeps: a restart must leave them all as they are";
        return Err(reason(2, message, reading.program.blocks().get(block as usize).map(|block| block.span)));
    }
    let mut system = 1;
    for (e, event) in motions.events().iter().enumerate() {
        let modal = motions.modal(event.modal);
        match event.kind {
            EventKind::DatumSet(shift) => {
                if modal.system == system || apart(shift, [0.0; 2]) {
                    let message = "the datum is set again here: the plate lies where it lay, so a restart must \
                                   not move it";
                    return Err(reason(2, message, span(e)));
                }
                system = modal.system;
            }
            EventKind::TorchOn if modal.system != datum.system => {
                let message = format!(
                    "this start is in coordinate system {} and the original's was in {}",
                    modal.system, datum.system
                );
                return Err(reason(2, message, span(e)));
            }
            _ => {}
        }
    }
    record.needs(
        "Program zero lies where it lay when the plate was begun: the same offsets, and the machine not homed anew \
         without checking a known place.",
    );
    if apart(datum.shift_mm, [0.0; 2]) {
        let [x, y] = datum.shift_mm;
        record.needs(format!(
            "The datum that the original set itself, at X{x:.3} Y{y:.3} from where its zero lay before, is still in \
             force."
        ));
    }
    Ok(())
}

fn apart(a: [f64; 2], b: [f64; 2]) -> bool {
    (a[0] - b[0]).abs() > NOISE_MM || (a[1] - b[1]).abs() > NOISE_MM
}

/// The legs of the original, for whoever needs them besides the motions.
pub(crate) fn original_legs(case: &Case<'_>) -> Legs {
    Legs::of_original(&View::original(case))
}
