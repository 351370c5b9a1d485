//! `refind`: where the plate lies now, and the rest of the program written for there.

use super::rescue::{Names, assumed, exit, file_set, planned};
use crate::args::RefindArgs;
use crate::error::Error;
use crate::exit::Exit;
use crate::files::{RealDisk, write_all};
use crate::inputs::{gather, stop, thickness};
use crate::json::{self, ProgramRow, RefindDocument};
use crate::screen::Screen;
use ::rescue::refind::Refound;
use desk::{Fingerprint, Inputs, Reading, Rescued, measured};
use shop::{Pointer, StopKind, StopReport};

pub(crate) mod account;
mod witness;

/// Names of the files that the command writes.
const FILES: Names = Names {
    program: "refind.nc",
    trace: "trace.nc",
    document: "refind.json",
    plate: "plate.json",
    picture: "refind.svg",
    steps: "steps.md",
    changes: "changes.diff",
};

/// Runs the command.
pub(crate) fn run(args: &RefindArgs, screen: &mut Screen<'_>) -> Result<Exit, Error> {
    if args.witness {
        return witness::run(args, screen);
    }
    let (mut inputs, mut files) = gather(&args.job)?;
    inputs.job.tolerance = args.tolerance.or(inputs.job.tolerance);
    let stop = with_measurements(stop(&args.stop, &mut files)?, args)?;
    thickness(&inputs)?;
    let before = args.after.as_deref().map(|path| files.plate_file(path, &mut inputs)).transpose()?;
    let mut reading = Reading::of(&mut inputs);
    let before = before.as_ref().map(|file| file.earlier(&inputs, &mut reading)).transpose()?;
    let rescued = planned(&inputs, &reading, &stop, before.as_ref())?;
    let refound = rescued.plan.refound.as_ref().expect("a plate that moved is looked for");
    let mut names = Vec::new();
    let document = |names: Vec<String>| document(&rescued, refound, &inputs, &reading, names);
    if let Some(folder) = &args.out {
        files.spare(folder, FILES.all().map(str::to_owned))?;
        let mut set = file_set(&rescued, &inputs, &reading, &FILES);
        names = set.names().map(str::to_owned).chain([FILES.document.to_owned()]).collect();
        set.add(FILES.document, document(names.clone()));
        write_all(&RealDisk, folder, &set)?;
    }
    if args.json {
        screen.raw(&document(names));
    } else {
        super::remarks(&files, screen);
        account::print(refound, reading.system(&inputs), screen);
        super::rescue::account::print_way_on_and_rest(&rescued, reading.system(&inputs), screen);
        match &args.out {
            Some(folder) => {
                super::rescue::account::print_files(&rescued.plan, folder, &names, &FILES, screen);
            }
            None => account::print_no_files(&rescued.plan, screen),
        }
    }
    Ok(exit(&rescued))
}

/// The stop with what was measured: from the file, then from the command line. Without any the plate is taken to have
/// moved, so that the answer says what to measure.
fn with_measurements(mut stop: StopReport, args: &RefindArgs) -> Result<StopReport, Error> {
    for text in &args.measure {
        stop.measured
            .push(measured(text).map_err(|why| Error::usage(format!("--measure {why}"), desk::FORM))?);
    }
    if let Some(offset) = args.pointer {
        let told = stop.pointer.unwrap_or_default();
        stop.pointer = Some(Pointer { offset: Some(offset.0), ..told });
    }
    if stop.measured.is_empty() {
        stop.kind = Some(StopKind::PlateMoved);
    }
    Ok(stop)
}

fn document(
    rescued: &Rescued,
    refound: &Refound,
    inputs: &Inputs,
    reading: &Reading,
    names: Vec<String>,
) -> String {
    let print = Fingerprint::of(&inputs.name, reading.program.text());
    let program = ProgramRow::new(&print, reading.program.blocks().len());
    json::text(&RefindDocument::new(
        &rescued.plan,
        refound,
        program,
        assumed(rescued, reading.system(inputs)),
        names,
    ))
}
