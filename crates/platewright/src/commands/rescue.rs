//! `rescue`: what to do after a stop, and a restart program that is proven before it is written.

use crate::args::RescueArgs;
use crate::error::Error;
use crate::exit::Exit;
use crate::files::{FileSet, RealDisk, write_all};
use crate::inputs::{Files, gather, stop, thickness, thickness_untold};
use crate::json::{self, ChoiceFiles, PlanDocument, PlanFrame, ProgramRow};
use crate::screen::Screen;
use crate::words;
use desk::{Fingerprint, Inputs, NotPlanned, Reading, Rescued, kind_word};
use rescue::{Choice, ChoiceKind, Earlier, RescuePlan};
use shop::StopReport;
use std::path::{Path, PathBuf};
use units::System;

pub(crate) mod account;

/// Names of the files of a plan.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Names {
    /// The restart program.
    pub(crate) program: &'static str,
    /// The same way with the torch off.
    pub(crate) trace: &'static str,
    /// The plan as JSON.
    pub(crate) document: &'static str,
    /// The plate, for a second stop.
    pub(crate) plate: &'static str,
    /// The picture.
    pub(crate) picture: &'static str,
    /// What to do in which order.
    pub(crate) steps: &'static str,
    /// The difference to the original.
    pub(crate) changes: &'static str,
}

impl Names {
    /// All of them.
    pub(crate) const fn all(&self) -> [&'static str; 7] {
        [self.program, self.trace, self.document, self.plate, self.picture, self.steps, self.changes]
    }

    /// What a file is.
    pub(crate) fn about(&self, name: &str) -> &'static str {
        let of = [
            (self.program, "the restart program, proven"),
            (self.trace, "the same way at safe height, torch off: run it first"),
            (self.steps, "what to do, in which order: print it or take it to the table"),
            (self.picture, "the plate: what is cut, where it stopped, where it goes on"),
            (self.changes, "how the restart program differs from the original"),
            (self.plate, "the plate's state, for a second stop: --after"),
        ];
        let known = of.iter().find(|(other, _)| *other == name).map(|(_, about)| *about);
        known.unwrap_or(match name {
            other if other.starts_with("rescue-") => "another way to go on, proven as well",
            other if other.starts_with("trace-") => "that way with the torch off: run it first",
            other if other.starts_with("plan-") => "the plate, going on that way",
            other if other.starts_with("plate-") => "the plate's state for a second stop while that one runs",
            _ => "all of this as JSON",
        })
    }
}

/// Names of the files that the command writes.
pub(crate) const FILES: Names = Names {
    program: "rescue.nc",
    trace: "trace.nc",
    document: "plan.json",
    plate: "plate.json",
    picture: "plan.svg",
    steps: "steps.md",
    changes: "changes.diff",
};

/// Name of the program of a way that is not the first, by its kind.
fn other_program(kind: &str) -> String {
    format!("rescue-{kind}.nc")
}

/// Name of the same way with the torch off.
fn other_trace(kind: &str) -> String {
    format!("trace-{kind}.nc")
}

/// Name of its picture.
fn other_picture(kind: &str) -> String {
    format!("plan-{kind}.svg")
}

/// Name of the plate's state for a second stop while that runs.
fn other_plate(kind: &str) -> String {
    format!("plate-{kind}.json")
}

/// Every kind of way to go on.
const KINDS: [ChoiceKind; 8] = [
    ChoiceKind::RestartBlock,
    ChoiceKind::KerfEnd,
    ChoiceKind::FreshPierce,
    ChoiceKind::SecondPass,
    ChoiceKind::Backwards,
    ChoiceKind::LeaveOutUnproven,
    ChoiceKind::SkipPart,
    ChoiceKind::Salvage,
];

/// Runs the command.
pub(crate) fn run(args: &RescueArgs, screen: &mut Screen<'_>) -> Result<Exit, Error> {
    let (mut inputs, mut files) = gather(&args.job)?;
    let stop = stop(&args.stop, &mut files)?;
    thickness(&inputs)?;
    let before = args.after.as_deref().map(|path| files.plate_file(path, &mut inputs)).transpose()?;
    let mut reading = Reading::of(&mut inputs);
    let before = before.as_ref().map(|file| file.earlier(&inputs, &mut reading)).transpose()?;
    let folder = args.out.clone().unwrap_or_else(|| PathBuf::from(format!("{}-rescue", inputs.stem())));
    let rescued = planned(&inputs, &reading, &stop, before.as_ref())?;
    let written = write(&rescued, &inputs, &reading, (&folder, &files))?;
    if args.json {
        screen.raw(&written.document);
    } else {
        super::remarks(&files, screen);
        account::print(&rescued, &inputs, &reading, screen);
        account::print_files(&rescued.plan, &folder, &written.names, &FILES, screen);
    }
    Ok(exit(&rescued))
}

/// What was written.
#[derive(Debug)]
pub(crate) struct Written {
    /// The plan as JSON.
    pub(crate) document: String,
    /// Names of the files.
    pub(crate) names: Vec<String>,
}

/// Plans the rescue.
///
/// # Errors
/// If thickness is not told, or the stop fits no cut or several.
pub(crate) fn planned(
    inputs: &Inputs,
    reading: &Reading,
    stop: &StopReport,
    earlier: Option<&Earlier>,
) -> Result<Rescued, Error> {
    Rescued::plan(inputs, reading, stop, earlier).map_err(|why| match why {
        NotPlanned::ThicknessUntold => thickness_untold(),
        NotPlanned::NoSuchStop(none) => Error::NoSuchStop(none.message),
    })
}

/// The exit status.
pub(crate) const fn exit(rescued: &Rescued) -> Exit {
    if rescued.plan.choices.is_empty() { Exit::FOUND } else { Exit::CLEAN }
}

/// What was assumed, of job and plate, a sentence each.
pub(crate) fn assumed(rescued: &Rescued, system: System) -> Vec<String> {
    let of_job = rescued.assumed.iter().map(|assumption| words::assumed(*assumption, system));
    of_job.chain(rescued.plan.assumed.iter().cloned()).collect()
}

/// Writes everything into `folder`, or nothing.
fn write(
    rescued: &Rescued,
    inputs: &Inputs,
    reading: &Reading,
    (folder, read): (&Path, &Files),
) -> Result<Written, Error> {
    let of_kind = |kind| [other_program(kind), other_trace(kind), other_picture(kind), other_plate(kind)];
    let others = KINDS.map(kind_word).into_iter().flat_map(of_kind);
    read.spare(folder, FILES.all().map(str::to_owned).into_iter().chain(others))?;
    let (set, written) = files(rescued, inputs, reading);
    write_all(&RealDisk, folder, &set)?;
    Ok(written)
}

/// The files of the plan, and what there is to say about them.
pub(crate) fn files(rescued: &Rescued, inputs: &Inputs, reading: &Reading) -> (FileSet, Written) {
    let original = Fingerprint::of(&inputs.name, reading.program.text());
    let mut set = file_set(rescued, inputs, reading, &FILES);
    let others = rescued.plan.choices.get(1..).unwrap_or_default();
    for kind in KINDS {
        let choice = others.iter().find(|choice| choice.kind == kind);
        let program = other_program(kind_word(kind));
        let plate = choice.and_then(|choice| rescued.plate_file(inputs, reading, Some((choice, &program))));
        set.add_or_leave_out(&program, choice.map(|choice| choice.text.clone()));
        let trace = choice.and_then(|choice| choice.trace.as_ref());
        set.add_or_leave_out(
            &other_trace(kind_word(kind)),
            trace.map(|trace| trace.text.clone().into_bytes()),
        );
        let picture = choice.map(|choice| rescued.picture(inputs, reading, Some(choice)));
        set.add_or_leave_out(&other_picture(kind_word(kind)), picture.map(String::into_bytes));
        set.add_or_leave_out(&other_plate(kind_word(kind)), plate.map(|plate| plate.text().into_bytes()));
    }
    let names: Vec<String> = set.names().map(str::to_owned).chain([FILES.document.to_owned()]).collect();
    let frame = PlanFrame {
        program: ProgramRow::new(&original, reading.program.blocks().len()),
        assumed: assumed(rescued, reading.system(inputs)),
        files: names.clone(),
        choice_files: choice_files(&rescued.plan),
    };
    let document = json::text(&PlanDocument::new(&rescued.plan, frame));
    set.add(FILES.document, document.clone());
    (set, Written { document, names })
}

/// The files of the plan by these names, without the document.
pub(crate) fn file_set(rescued: &Rescued, inputs: &Inputs, reading: &Reading, names: &Names) -> FileSet {
    let plan = &rescued.plan;
    let choice = plan.choices.first();
    let mut set = FileSet::default();
    set.add_or_leave_out(names.program, choice.map(|choice| choice.text.clone()));
    set.add_or_leave_out(names.trace, plan.trace().map(|trace| trace.text.clone().into_bytes()));
    set.add(names.steps, rescue::steps_markdown(plan));
    set.add(names.picture, rescued.picture(inputs, reading, choice));
    set.add_or_leave_out(names.changes, choice.map(|choice| choice.diff.shown.clone().into_bytes()));
    let plate = rescued.plate_file(inputs, reading, choice.map(|choice| (choice, names.program)));
    set.add_or_leave_out(names.plate, plate.map(|plate| plate.text().into_bytes()));
    set
}

/// Names of the files of a plan's choices.
pub(crate) fn choice_files(plan: &RescuePlan) -> Vec<ChoiceFiles> {
    let name = |(k, choice): (usize, &Choice)| {
        let kind = kind_word(choice.kind);
        let (program, trace, picture) = match k {
            0 => (FILES.program.to_owned(), FILES.trace.to_owned(), FILES.picture.to_owned()),
            _ => (other_program(kind), other_trace(kind), other_picture(kind)),
        };
        ChoiceFiles { program, trace: choice.trace.is_some().then_some(trace), picture: Some(picture) }
    };
    plan.choices.iter().enumerate().map(name).collect()
}
