//! `salvage`: parts that are lost where they were, made anew on free plate or on a remnant.

use super::rescue::account;
use crate::args::SalvageArgs;
use crate::error::Error;
use crate::exit::Exit;
use crate::files::{FileSet, RealDisk, write_all};
use crate::flags::with_flags;
use crate::inputs::{gather, thickness};
use crate::json::{self, ChoiceFiles, PlanFrame, ProgramRow, SalvageDocument};
use crate::screen::Screen;
use crate::words::all_assumed;
use cuts::{CutId, PartId};
use desk::{Fingerprint, Inputs, Lost, Reading, Salvaged, ran};
use rescue::salvage::SalvagePlan;
use std::path::{Path, PathBuf};

/// The program.
const PROGRAM: &str = "salvage.nc";
/// The same way with the torch off.
const TRACE: &str = "trace.nc";
/// The answer as JSON.
const DOCUMENT: &str = "salvage.json";
/// The plate, for a stop in it.
const PLATE: &str = "plate.json";
/// The picture.
const PICTURE: &str = "salvage.svg";
/// What to do in which order.
const STEPS: &str = "steps.md";
/// The difference to the original.
const CHANGES: &str = "changes.diff";

/// All of them.
const FILES: [&str; 7] = [PROGRAM, TRACE, DOCUMENT, PLATE, PICTURE, STEPS, CHANGES];

/// Runs the command.
pub(crate) fn run(args: &SalvageArgs, screen: &mut Screen<'_>) -> Result<Exit, Error> {
    let (mut inputs, mut files) = gather(&args.job)?;
    if args.after.is_none() && !args.ran && args.remnant.is_none() {
        return Err(Error::usage(
            "nothing says what has been cut on the plate",
            "give the plate.json of the last rescue with --after, or say with --ran that the program ran to its end, or \
             name another sheet with --remnant",
        ));
    }
    if let Some(remnant) = &args.remnant {
        files.lay_on_remnant(remnant, &mut inputs)?;
    }
    let thickness = thickness(&inputs)?;
    let before = args.after.as_deref().map(|path| files.plate_file(path, &mut inputs)).transpose()?;
    let mut reading = Reading::of(&mut inputs);
    let before = before.as_ref().map(|file| file.earlier(&inputs, &mut reading)).transpose()?;
    let parts = numbered(&args.part, reading.list.parts.len(), "--part", "part")?;
    let standing = numbered(&args.standing, reading.list.cuts.len(), "--standing", "cut")?;
    let before = if args.ran { Some(ran(&reading, before)) } else { before };
    let folder = args.out.clone().unwrap_or_else(|| PathBuf::from(format!("{}-salvage", inputs.stem())));
    let lost = Lost {
        parts: &parts.into_iter().map(PartId).collect::<Vec<_>>(),
        standing: &standing.into_iter().map(CutId).collect::<Vec<_>>(),
        on_remnant: args.remnant.is_some(),
    };
    let salvaged = Salvaged::plan(&inputs, &reading, thickness, before.as_ref(), lost);
    let plan = &salvaged.plan;
    files.spare(&folder, FILES.map(str::to_owned))?;
    let told = Told { inputs: &inputs, reading: &reading, salvaged: &salvaged };
    let (set, document, names) = told.files();
    write_all(&RealDisk, &folder, &set)?;
    if args.json {
        screen.raw(&document);
    } else {
        super::remarks(&files, screen);
        told.print(screen);
        print_files(plan, &folder, &names, screen);
    }
    Ok(if plan.choice.is_some() { Exit::CLEAN } else { Exit::FOUND })
}

/// Numbers on the picture, from 1, as indices.
fn numbered(numbers: &[u32], most: usize, flag: &str, what: &str) -> Result<Vec<u32>, Error> {
    let unfit = numbers.iter().find(|number| **number == 0 || **number as usize > most);
    match unfit {
        None => Ok(numbers.iter().map(|number| number - 1).collect()),
        Some(number) => Err(Error::usage(
            format!("{flag} {number}: there is no such {what}"),
            format!("{what}s are numbered from 1 to {most}, as on the picture (`platewright show`)"),
        )),
    }
}

/// A plan and what it was made from.
struct Told<'a> {
    inputs: &'a Inputs,
    reading: &'a Reading,
    salvaged: &'a Salvaged,
}

impl Told<'_> {
    /// The files, the document among them, and their names.
    fn files(&self) -> (FileSet, String, Vec<String>) {
        let plan = &self.salvaged.plan;
        let choice = plan.choice.as_ref();
        let original = Fingerprint::of(&self.inputs.name, self.reading.program.text());
        let trace = choice.and_then(|choice| choice.trace.as_ref());
        let mut set = FileSet::default();
        set.add_or_leave_out(PROGRAM, choice.map(|choice| choice.text.clone()));
        set.add_or_leave_out(TRACE, trace.map(|trace| trace.text.clone().into_bytes()));
        set.add(STEPS, self.salvaged.steps.clone());
        set.add(PICTURE, self.salvaged.picture(self.inputs, self.reading));
        set.add_or_leave_out(CHANGES, choice.map(|choice| choice.diff.shown.clone().into_bytes()));
        set.add_or_leave_out(
            PLATE,
            choice.map(|_| self.salvaged.plate_file(self.inputs, self.reading, PROGRAM).text().into_bytes()),
        );
        let names: Vec<String> = set.names().map(str::to_owned).chain([DOCUMENT.to_owned()]).collect();
        let frame = PlanFrame {
            program: ProgramRow::new(&original, self.reading.program.blocks().len()),
            assumed: all_assumed(self.reading, self.inputs),
            files: names.clone(),
            choice_files: vec![ChoiceFiles {
                program: PROGRAM.to_owned(),
                trace: trace.map(|_| TRACE.to_owned()),
                picture: Some(PICTURE.to_owned()),
            }],
        };
        let document = json::text(&SalvageDocument::new(plan, frame));
        set.add(DOCUMENT, document.clone());
        (set, document, names)
    }

    fn print(&self, screen: &mut Screen<'_>) {
        let plan = &self.salvaged.plan;
        let system = self.reading.system(self.inputs);
        account::heading("Lost parts, made anew", screen);
        let worth = with_flags(&format!("in order of worth, {}", plan.worth.told()));
        screen.paragraph(&format!("  Placed {worth}."), 2);
        for line in plan.told(self.salvaged.pose(), system) {
            screen.paragraph(&format!("  {line}"), 4);
        }
        match &plan.choice {
            None => {
                account::heading("No program can be proven", screen);
                screen.paragraph(
                    &format!("  {}.", with_flags(plan.none_because.as_deref().unwrap_or_default())),
                    2,
                );
            }
            Some(choice) => {
                account::heading("What to do, in this order", screen);
                for (k, step) in plan.steps.iter().enumerate() {
                    screen.paragraph(&format!("  {:>2}. {}", k + 1, step.order), 6);
                }
                account::heading("The program", screen);
                account::print_choice(choice, self.salvaged.pose(), system, screen);
            }
        }
        let assumed = all_assumed(self.reading, self.inputs);
        account::print_lists(&[("Take care", &plan.cautions[..]), ("Assumed", &assumed)], screen);
    }
}

fn print_files(plan: &SalvagePlan, folder: &Path, names: &[String], screen: &mut Screen<'_>) {
    let about = |name: &str| match name {
        PROGRAM => "the program, proven",
        TRACE => "frame, clamps and first cut at safe height, torch off: run it first",
        STEPS => "what to do, in which order: print it or take it to the table",
        PICTURE => "the plate: old kerfs, new places",
        CHANGES => "how the program differs from the original",
        PLATE => "the plate's state, for a stop in it: --after",
        _ => "all of this as JSON",
    };
    screen.files(folder, names, about);
    if plan.choice.is_none() {
        screen.paragraph("  There is no salvage.nc: a program that is not proven is not written.", 2);
    }
}
