//! `rescue`: what to do after a stop, and a restart program that is proven before it is written.

use crate::args::RescueArgs;
use crate::error::Error;
use crate::exit::Exit;
use crate::files::{FileSet, RealDisk, write_all};
use crate::inputs::{Inputs, earlier, stop};
use crate::json::{self, PlanDocument, PlanFrame, ProgramRow, kind_word};
use crate::plate_file::{Fingerprint, PlateFile};
use crate::reading::Reading;
use crate::screen::Screen;
use cuts::PlateState;
use draw::Picture;
use rescue::{Choice, ChoiceKind, Earlier, RescuePlan};
use shop::StopReport;
use std::path::{Path, PathBuf};

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
    let mut inputs = Inputs::gather(&args.job)?;
    let stop = stop(&args.stop, &mut inputs)?;
    inputs.thickness()?;
    let before = args.after.as_deref().map(|path| inputs.plate_file(path)).transpose()?;
    let mut reading = Reading::of(&mut inputs);
    let before = before.as_ref().map(|file| earlier(file, &inputs, &mut reading)).transpose()?;
    let folder = args.out.clone().unwrap_or_else(|| PathBuf::from(format!("{}-rescue", inputs.stem())));
    let rescued = Rescued::plan(&inputs, &reading, &stop, before.as_ref())?;
    let written = rescued.write(&inputs, &reading, &folder)?;
    if args.json {
        screen.raw(&written.document);
    } else {
        super::remarks(&inputs, screen);
        account::print(&rescued, &inputs, &reading, screen);
        account::print_files(&rescued.plan, &folder, &written.names, &FILES, screen);
    }
    Ok(rescued.exit())
}

/// A plan and what it was made from.
#[derive(Debug)]
pub(crate) struct Rescued {
    /// The plan.
    pub(crate) plan: RescuePlan,
    /// What was assumed where nothing was told, a sentence each.
    pub(crate) assumed: Vec<String>,
    /// Cuts that an earlier salvage moved.
    moved: Vec<proof::Moved>,
}

/// What was written.
#[derive(Debug)]
pub(crate) struct Written {
    /// The plan as JSON.
    pub(crate) document: String,
    /// Names of the files.
    pub(crate) names: Vec<String>,
}

impl Rescued {
    /// Plans the rescue.
    ///
    /// # Errors
    /// If thickness is not told, or the stop fits no cut or several.
    pub(crate) fn plan(
        inputs: &Inputs,
        reading: &Reading,
        stop: &StopReport,
        earlier: Option<&Earlier>,
    ) -> Result<Self, Error> {
        let thickness = inputs.thickness()?;
        let ground = inputs.ground(reading, thickness);
        let situation = reading.situation(inputs, &ground, earlier);
        let plan = rescue::plan(&situation, stop).map_err(|none| Error::NoSuchStop(none.message))?;
        let unproven = plan.choices.iter().find(|choice| !choice.proof.holds());
        assert!(unproven.is_none(), "a choice that is not proven must never be offered: {unproven:?}");
        let mut assumed = reading.assumed(inputs);
        assumed.extend(plan.assumed.iter().cloned());
        if stop.kind.is_none() {
            assumed.insert(
                0,
                "the arc did not come at this start: tell another kind of stop with --kind".to_owned(),
            );
        }
        let moved = earlier.map(|earlier| earlier.moved.clone()).unwrap_or_default();
        Ok(Self { plan, assumed, moved })
    }

    /// The exit status.
    pub(crate) const fn exit(&self) -> Exit {
        if self.plan.choices.is_empty() { Exit::FOUND } else { Exit::CLEAN }
    }

    /// Writes everything into `folder`, or nothing.
    ///
    /// # Errors
    /// If the disk refuses, or a file would be written over that this was made from.
    pub(crate) fn write(&self, inputs: &Inputs, reading: &Reading, folder: &Path) -> Result<Written, Error> {
        let others =
            KINDS.map(kind_word).into_iter().flat_map(|kind| [other_program(kind), other_plate(kind)]);
        inputs.spare(folder, FILES.all().map(str::to_owned).into_iter().chain(others))?;
        let (set, written) = self.files(inputs, reading);
        write_all(&RealDisk, folder, &set)?;
        Ok(written)
    }

    /// The files of the plan, and what there is to say about them.
    pub(crate) fn files(&self, inputs: &Inputs, reading: &Reading) -> (FileSet, Written) {
        let original = Fingerprint::of(&inputs.program_name(), reading.program.text());
        let mut set = self.set(inputs, reading, &FILES);
        let others = self.plan.choices.get(1..).unwrap_or_default();
        for kind in KINDS {
            let choice = others.iter().find(|choice| choice.kind == kind);
            let program = other_program(kind_word(kind));
            let plate = choice.map(|choice| self.plate_file(&original, Some(choice), &program, reading));
            set.add_or_leave_out(&program, choice.map(|choice| choice.text.clone()));
            set.add_or_leave_out(&other_plate(kind_word(kind)), plate.map(|plate| plate.text().into_bytes()));
        }
        let names: Vec<String> = set.names().map(str::to_owned).chain([FILES.document.to_owned()]).collect();
        let frame = PlanFrame {
            program: ProgramRow::new(&original, reading.program.blocks().len()),
            assumed: self.assumed.clone(),
            files: names.clone(),
            choice_files: choice_files(&self.plan),
        };
        let document = json::text(&PlanDocument::new(&self.plan, frame));
        set.add(FILES.document, document.clone());
        (set, Written { document, names })
    }

    /// The files of the plan by these names, without the document.
    pub(crate) fn set(&self, inputs: &Inputs, reading: &Reading, names: &Names) -> FileSet {
        let plan = &self.plan;
        let choice = plan.choices.first();
        let original = Fingerprint::of(&inputs.program_name(), reading.program.text());
        let mut set = FileSet::default();
        set.add_or_leave_out(names.program, choice.map(|choice| choice.text.clone()));
        set.add_or_leave_out(names.trace, plan.trace.as_ref().map(|trace| trace.text.clone().into_bytes()));
        set.add(names.steps, rescue::steps_markdown(plan));
        set.add(names.picture, self.picture(inputs, reading));
        set.add_or_leave_out(names.changes, choice.map(|choice| choice.diff.shown.clone().into_bytes()));
        // A plate that moved, nobody knows where to, must not seem to lie where it was begun at the next stop.
        let lost = plan.refound.as_ref().is_some_and(|found| !found.is_usable()) && !plan.datum_was_wrong;
        let plate = self.plate_file(&original, choice, names.program, reading);
        set.add_or_leave_out(names.plate, (!lost).then(|| plate.text().into_bytes()));
        set
    }

    /// The plate as it stands before the program of this choice is run.
    fn plate_file(
        &self,
        original: &Fingerprint,
        choice: Option<&Choice>,
        program: &str,
        reading: &Reading,
    ) -> PlateFile {
        let restart = choice.map(|choice| Fingerprint::of(program, &choice.text));
        // A salvage begins with what was made of its parts as strays, and with their cuts moved.
        let salvage = self
            .plan
            .salvage
            .as_ref()
            .filter(|_| choice.is_some_and(|choice| choice.kind == ChoiceKind::Salvage));
        let earlier = Earlier {
            moved: salvage.map_or(&self.moved, |salvage| &salvage.moved).clone(),
            progress: salvage.map_or(&self.plan.progress, |salvage| &salvage.progress).clone(),
            given_up: choice.map(|choice| choice.promise.given_up.clone()).unwrap_or_default(),
            ran: choice.map(|choice| choice.lines.clone()).unwrap_or_default(),
            pose: self.plan.pose.clone(),
        };
        PlateFile::new(original.clone(), restart, reading.kerf.width, &earlier)
    }

    fn picture(&self, inputs: &Inputs, reading: &Reading) -> String {
        let plan = &self.plan;
        let plate = inputs.job.placed_plate();
        let title = format!("{}, stopped at cut {}", inputs.program_name(), plan.stop.cut.number());
        let state = PlateState::after(&reading.list, plan.progress.clone(), reading.kerf.width)
            .with_said(&reading.list, &plan.pieces);
        let joined =
            plan.choices.first().and_then(|choice| choice.lines.iter().find_map(|ran| ran.join.as_ref()));
        draw::plate_svg(&Picture {
            plate: plate.as_ref().map(|plate| &plate.outline),
            plate_holes: plate.as_ref().map_or(&[], |plate| &plate.holes),
            stop: plan.stopped_at,
            restart: plan.choices.first().map(|choice| joined.map_or(choice.restarts_at, |ran| ran.lit)),
            lead_in: joined.map(|ran| &ran.lead),
            ..Picture::new(&title, &reading.list, &reading.motions, &state)
        })
    }
}

/// Names of the files with the programs of a plan's choices.
pub(crate) fn choice_files(plan: &RescuePlan) -> Vec<String> {
    let name = |(k, choice): (usize, &Choice)| {
        if k == 0 { FILES.program.to_owned() } else { other_program(kind_word(choice.kind)) }
    };
    plan.choices.iter().enumerate().map(name).collect()
}
