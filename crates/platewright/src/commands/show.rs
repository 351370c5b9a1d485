//! `show`: writes the plate's picture.

use crate::args::ShowArgs;
use crate::error::Error;
use crate::exit::Exit;
use crate::files::{RealDisk, write_one};
use crate::inputs::{Inputs, earlier};
use crate::json::{self, ProgramRow, ShowDocument, SummaryRow};
use crate::plate_file::Fingerprint;
use crate::reading::Reading;
use crate::screen::Screen;
use crate::summary::Summary;
use cuts::{PlateState, Progress};
use draw::Picture;
use finding::Finding;
use std::path::{Path, PathBuf};

/// Runs the command.
pub(crate) fn run(args: &ShowArgs, screen: &mut Screen<'_>) -> Result<Exit, Error> {
    let mut inputs = Inputs::gather(&args.job)?;
    let before = args.after.as_deref().map(|path| inputs.plate_file(path)).transpose()?;
    let mut reading = Reading::of(&mut inputs);
    let progress = match &before {
        None => Progress::default(),
        Some(file) => earlier(file, &inputs, &mut reading)?.progress,
    };
    let findings = if args.findings { super::check::report(&inputs, &reading).findings } else { Vec::new() };
    let out = args.out.clone().unwrap_or_else(|| PathBuf::from(format!("{}.svg", inputs.stem())));
    if out == Path::new("-") {
        screen.raw(&picture(&inputs, &reading, progress, &findings));
        return Ok(Exit::CLEAN);
    }
    inputs.spare(Path::new(""), [out.to_string_lossy().into_owned()])?;
    let svg = picture(&inputs, &reading, progress, &findings);
    write_one(&RealDisk, &out, svg)?;
    let summary = Summary::of(&reading);
    if args.json {
        let print = Fingerprint::of(&inputs.program_name(), reading.program.text());
        let program = ProgramRow::new(&print, reading.program.blocks().len());
        let row = SummaryRow::new(&summary);
        screen.raw(&json::text(&ShowDocument::new(
            program,
            row,
            out.display().to_string(),
            reading.assumed(&inputs),
        )));
    } else {
        super::remarks(&inputs, screen);
        screen.line(&format!("The picture is in {}; any web browser opens it.", out.display()));
        super::check::print_summary(&summary, reading.system(&inputs), screen);
    }
    Ok(Exit::CLEAN)
}

/// The picture of the plate after `progress`.
fn picture(inputs: &Inputs, reading: &Reading, progress: Progress, findings: &[Finding]) -> String {
    let plate = inputs.job.placed_plate();
    let state = PlateState::after(&reading.list, progress, reading.kerf.width);
    draw::plate_svg(&Picture {
        plate: plate.as_ref().map(|plate| &plate.outline),
        plate_holes: plate.as_ref().map_or(&[], |plate| &plate.holes),
        findings,
        ..Picture::new(&inputs.program_name(), &reading.list, &reading.motions, &state)
    })
}
