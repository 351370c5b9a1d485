//! Lost parts made anew after what was started last has run, or on another sheet: the plan, and the texts handed out
//! with it.

use crate::price::price;
use crate::{Fingerprint, Inputs, MovedPlate, PlateFile, Reading};
use cuts::{CutId, PartId, PlateState};
use draw::Picture;
use proof::{Ground, Pose};
use rescue::salvage::{SalvageAsk, SalvagePlan, all_ran, salvage, salvage_markdown};
use rescue::{Earlier, Edges, Situation, Watch};
use shop::Job;
use std::mem::take;
use units::Length;

/// A plan and what it was made from.
#[derive(Clone, Debug)]
pub struct Salvaged {
    /// The plan. Its program, if there is one, is proven.
    pub plan: SalvagePlan,
    /// What to do in which order, to print.
    pub steps: String,
    ground: Ground,
    pose: Option<Pose>,
    edges: Option<Edges>,
}

/// Why another sheet cannot be taken: what is wrong, and what to do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NotFit {
    /// What is wrong with it.
    pub what: &'static str,
    /// What to do about it.
    pub remedy: &'static str,
}

impl Inputs {
    /// Lays the program on another sheet: what is told of plate, its place and its clamps is that one's.
    ///
    /// # Errors
    /// If it tells no plate, or one of another thickness or material.
    pub fn lay_on(&mut self, sheet: Job) -> Result<(), NotFit> {
        if sheet.plate.is_none() {
            let remedy = "add `plate = \"600x400 mm\"`, or a table with `outline` and `holes`";
            return Err(NotFit { what: "it tells no plate", remedy });
        }
        let differs = |a: Option<Length>, b: Option<Length>| {
            a.zip(b).is_some_and(|(a, b)| (a - b).mm().abs() > SAME_THICKNESS_MM)
        };
        if differs(sheet.thickness, self.job.thickness) {
            return Err(NotFit {
                what: "it is of another thickness than the job",
                remedy: "take another remnant",
            });
        }
        if sheet.material.zip(self.job.material).is_some_and(|(a, b)| a != b) {
            return Err(NotFit {
                what: "it is of another material than the job",
                remedy: "take another remnant",
            });
        }
        self.job = Job {
            plate: sheet.plate,
            plate_at: sheet.plate_at,
            datum: sheet.datum,
            clamps: sheet.clamps,
            thickness: self.job.thickness.or(sheet.thickness),
            material: self.job.material.or(sheet.material),
            ..take(&mut self.job)
        };
        Ok(())
    }
}

/// Two thicknesses told are the same within this, in millimetres: what converting from inches loses.
const SAME_THICKNESS_MM: f64 = 0.01;

/// What to make anew, and where.
#[derive(Clone, Copy, Debug, Default)]
pub struct Lost<'a> {
    /// The parts; if none is named, those given up before.
    pub parts: &'a [PartId],
    /// Cuts whose loose pieces stand up.
    pub standing: &'a [CutId],
    /// Whether `inputs` tell another sheet than the one the job was begun on.
    pub on_remnant: bool,
}

/// What is on the plate once the program that was started last has run to its end: the restart that `earlier` tells of,
/// else the original.
#[must_use]
pub fn ran(reading: &Reading, earlier: Option<Earlier>) -> Earlier {
    let progress = all_ran(&reading.list, earlier.as_ref(), reading.kerf.width);
    Earlier { progress, ran: Vec::new(), text: None, ..earlier.unwrap_or_default() }
}

impl Salvaged {
    /// Plans it, on the plate as `earlier` left it.
    ///
    /// # Panics
    /// If a program that is not proven were offered: it must never be.
    #[must_use]
    pub fn plan(
        inputs: &Inputs,
        reading: &Reading,
        thickness: Length,
        earlier: Option<&Earlier>,
        lost: Lost<'_>,
    ) -> Self {
        Self::plan_watched(inputs, reading, thickness, earlier, lost, None).expect("nobody calls it off")
    }

    /// The same while somebody waits; none if it was called off.
    ///
    /// # Panics
    /// As above.
    #[must_use]
    pub fn plan_watched(
        inputs: &Inputs,
        reading: &Reading,
        thickness: Length,
        earlier: Option<&Earlier>,
        lost: Lost<'_>,
        watch: Option<&dyn Watch>,
    ) -> Option<Self> {
        let ground = inputs.ground(reading, thickness);
        let Lost { parts, standing, on_remnant } = lost;
        // A remnant lies as its own file says, wherever the first sheet went.
        let pose = earlier.filter(|_| !on_remnant).and_then(|earlier| earlier.pose.clone());
        let edges = earlier.filter(|_| !on_remnant).and_then(|earlier| earlier.edges);
        let situation =
            Situation { pose: pose.as_ref(), watch, ..reading.situation(inputs, &ground, earlier) };
        let mut plan = salvage(&situation, &SalvageAsk { parts, standing, on_remnant });
        if watch.is_some_and(Watch::is_called_off) {
            return None;
        }
        if let Some(choice) = &mut plan.choice {
            choice.price = price(inputs, reading, choice);
        }
        let proven = plan.choice.as_ref().is_none_or(|choice| choice.proof.holds());
        assert!(proven, "a program that is not proven must never be offered");
        let steps = salvage_markdown(&situation, &plan);
        Some(Self { plan, steps, ground, pose, edges })
    }

    /// Where the plate lies, if it had moved.
    #[must_use]
    pub const fn pose(&self) -> Option<&Pose> {
        self.pose.as_ref()
    }

    /// The plate as it stands before the program, named `program`, is run.
    #[must_use]
    pub fn plate_file(&self, inputs: &Inputs, reading: &Reading, program: &str) -> PlateFile {
        let plan = &self.plan;
        let choice = plan.choice.as_ref();
        let earlier = Earlier {
            progress: plan.progress.clone(),
            given_up: choice.map(|choice| choice.promise.given_up.clone()).unwrap_or_default(),
            ran: choice.map(|choice| choice.lines.clone()).unwrap_or_default(),
            text: None,
            moved: plan.moved.clone(),
            pose: self.pose.clone(),
            edges: self.edges,
        };
        let original = Fingerprint::of(&inputs.name, reading.program.text());
        let restart = choice.map(|choice| Fingerprint::of(program, &choice.text));
        PlateFile::new(original, restart, reading.kerf.width, &earlier)
    }

    /// The picture of the plate with the parts at their new places. An SVG document.
    #[must_use]
    pub fn picture(&self, inputs: &Inputs, reading: &Reading) -> String {
        let scene = &self.plan.scene;
        let title = format!("{}, lost parts made anew", inputs.name);
        let moved = self.pose.as_ref().map(MovedPlate::lying);
        let state = PlateState::after(&scene.list, scene.progress.clone(), self.ground.kerf);
        // The scene has every cut where it is made.
        let starts =
            self.plan.choice.as_ref().map(|choice| crate::rescued::starts_of(choice, &scene.list, &[]));
        let starts = starts.unwrap_or_default();
        draw::plate_svg(&Picture {
            starts: &starts,
            plate: self.ground.plate.as_ref(),
            plate_holes: &self.ground.plate_holes,
            restart: self.plan.choice.as_ref().map(|choice| choice.restarts_at),
            moved: moved.as_ref().map(MovedPlate::picture),
            system: reading.system(inputs),
            ..Picture::new(&title, &scene.list, &scene.motions, &state)
        })
    }
}
