//! `show`: writes the plate's picture.

use crate::args::ShowArgs;
use crate::error::Error;
use crate::exit::Exit;
use crate::files::{RealDisk, write_one};
use crate::inputs::gather;
use crate::json::{self, ProgramRow, ShowDocument, SummaryRow};
use crate::screen::Screen;
use crate::words::all_assumed;
use cuts::Progress;
use desk::{Fingerprint, Reading, Summary};
use std::path::{Path, PathBuf};

/// Runs the command.
pub(crate) fn run(args: &ShowArgs, screen: &mut Screen<'_>) -> Result<Exit, Error> {
    let (mut inputs, mut files) = gather(&args.job)?;
    let before = args.after.as_deref().map(|path| files.plate_file(path, &mut inputs)).transpose()?;
    let mut reading = Reading::of(&mut inputs);
    let progress = match &before {
        None => Progress::default(),
        Some(file) => file.earlier(&inputs, &mut reading)?.progress,
    };
    let findings = if args.findings { desk::report(&inputs, &reading).findings } else { Vec::new() };
    let out = args.out.clone().unwrap_or_else(|| PathBuf::from(format!("{}.svg", inputs.stem())));
    if out == Path::new("-") {
        screen.raw(&desk::picture(&inputs, &reading, progress, &findings));
        return Ok(Exit::CLEAN);
    }
    files.spare(Path::new(""), [out.to_string_lossy().into_owned()])?;
    let svg = desk::picture(&inputs, &reading, progress, &findings);
    write_one(&RealDisk, &out, svg)?;
    let summary = Summary::of(&reading);
    if args.json {
        let print = Fingerprint::of(&inputs.name, reading.program.text());
        let program = ProgramRow::new(&print, reading.program.blocks().len());
        let row = SummaryRow::new(&summary);
        screen.raw(&json::text(&ShowDocument::new(
            program,
            row,
            out.display().to_string(),
            all_assumed(&reading, &inputs),
        )));
    } else {
        super::remarks(&files, screen);
        screen.line(&format!("The picture is in {}; any web browser opens it.", out.display()));
        super::check::print_summary(&summary, reading.system(&inputs), screen);
    }
    Ok(Exit::CLEAN)
}
