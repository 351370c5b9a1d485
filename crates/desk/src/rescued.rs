//! A rescue plan with what it was made from, and the texts that are handed out with it.

use crate::price::price;
use crate::reading::begin;
use crate::{Assumption, Fingerprint, Inputs, MovedPlate, PlateFile, Reading};
use cuts::{CutId, CutList, Lies, PlateState};
use draw::{Picture, Sketch, Start};
use proof::Moved;
use rescue::{Choice, ChoiceKind, Earlier, NoSuchStop, RescuePlan, Situation, Watch};
use shop::StopReport;

/// A plan and what it was made from.
#[derive(Clone, Debug)]
pub struct Rescued {
    /// The plan. Every choice in it is proven.
    pub plan: RescuePlan,
    /// What was assumed where nothing was told of the job, most worth telling first; the plan has what it assumed of the
    /// plate itself.
    pub assumed: Vec<Assumption>,
    /// Cuts that an earlier salvage moved.
    moved: Vec<Moved>,
    /// Where the plate lay before the stop, if it had moved already.
    lay: Option<proof::Pose>,
}

/// Why there is no plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NotPlanned {
    /// The thickness of the plate is not told, and what is safe depends on it.
    ThicknessUntold,
    /// The stop report matches no cut, or several.
    NoSuchStop(NoSuchStop),
}

impl Rescued {
    /// Plans the rescue.
    ///
    /// # Errors
    /// If thickness is not told, or the stop fits no cut or several.
    ///
    /// # Panics
    /// If a choice that is not proven were offered: it must never be.
    pub fn plan(
        inputs: &Inputs,
        reading: &Reading,
        stop: &StopReport,
        earlier: Option<&Earlier>,
    ) -> Result<Self, NotPlanned> {
        Self::plan_watched(inputs, reading, stop, earlier, None).expect("nobody calls it off")
    }

    /// The same while somebody waits; none if it was called off: a plan that was broken off is never given.
    ///
    /// # Errors
    /// As above.
    ///
    /// # Panics
    /// As above.
    #[must_use]
    pub fn plan_watched(
        inputs: &Inputs,
        reading: &Reading,
        stop: &StopReport,
        earlier: Option<&Earlier>,
        watch: Option<&dyn Watch>,
    ) -> Option<Result<Self, NotPlanned>> {
        let Some(thickness) = inputs.job.thickness else { return Some(Err(NotPlanned::ThicknessUntold)) };
        let ground = inputs.ground(reading, thickness);
        let situation = Situation { watch, ..reading.situation(inputs, &ground, earlier) };
        let planned = rescue::plan(&situation, stop);
        if watch.is_some_and(Watch::is_called_off) {
            return None;
        }
        let mut plan = match planned {
            Ok(plan) => plan,
            Err(none) => return Some(Err(NotPlanned::NoSuchStop(none))),
        };
        let ways = plan.choices.len();
        for (k, choice) in plan.choices.iter_mut().enumerate() {
            begin(watch, k, ways, "prices")?;
            choice.price = price(inputs, reading, choice);
        }
        let unproven = plan.choices.iter().find(|choice| !choice.proof.holds());
        assert!(unproven.is_none(), "a choice that is not proven must never be offered: {unproven:?}");
        let mut assumed = reading.assumed(inputs);
        if stop.kind.is_none() {
            assumed.insert(0, Assumption::NoTransfer);
        }
        let moved = earlier.map(|earlier| earlier.moved.clone()).unwrap_or_default();
        let lay = earlier.and_then(|earlier| earlier.pose.clone());
        Some(Ok(Self { plan, assumed, moved, lay }))
    }

    /// The plate as it stands before the program of `choice` is run, for a second stop while that runs; `program` is the
    /// name of that program's file. None where the plate moved and nobody knows where to: it must not seem to lie where
    /// it was begun.
    #[must_use]
    pub fn plate_file(
        &self,
        inputs: &Inputs,
        reading: &Reading,
        of: Option<(&Choice, &str)>,
    ) -> Option<PlateFile> {
        let plan = &self.plan;
        let lost = plan.refound.as_ref().is_some_and(|found| !found.is_usable()) && !plan.datum_was_wrong;
        if lost {
            return None;
        }
        let original = Fingerprint::of(&inputs.name, reading.program.text());
        let choice = of.map(|(choice, _)| choice);
        let restart = of.map(|(choice, program)| Fingerprint::of(program, &choice.text));
        // A salvage begins with what was made of its parts as strays, and with their cuts moved.
        let is_salvage = choice.is_some_and(|choice| choice.kind == ChoiceKind::Salvage);
        let salvage = plan.salvage.as_ref().filter(|_| is_salvage);
        let mut progress = salvage.map_or(&plan.progress, |salvage| &salvage.progress).clone();
        // What is taken out before the program is started is gone once it runs.
        let taken_out = choice.map_or(&[][..], |choice| &choice.promise.taken_out);
        for said in progress.pieces.iter_mut().filter(|said| taken_out.contains(&said.outline)) {
            said.lies = Lies::Removed;
        }
        let earlier = Earlier {
            moved: salvage.map_or(&self.moved, |salvage| &salvage.moved).clone(),
            progress,
            given_up: choice.map(|choice| choice.promise.given_up.clone()).unwrap_or_default(),
            ran: choice.map(|choice| choice.lines.clone()).unwrap_or_default(),
            text: None,
            pose: plan.pose.clone(),
            edges: plan.edges,
        };
        Some(PlateFile::new(original, restart, reading.kerf.width, &earlier))
    }

    /// The picture of the plate as it stands: what is cut, where it stopped, where `choice` goes on. An SVG document.
    #[must_use]
    pub fn picture(&self, inputs: &Inputs, reading: &Reading, choice: Option<&Choice>) -> String {
        self.pictured(inputs, reading, choice, draw::plate_svg)
    }

    /// The same as strokes, for a screen that paints them itself.
    #[must_use]
    pub fn sketch(&self, inputs: &Inputs, reading: &Reading, choice: Option<&Choice>) -> Sketch {
        self.pictured(inputs, reading, choice, draw::plate_sketch)
    }

    fn pictured<R>(
        &self,
        inputs: &Inputs,
        reading: &Reading,
        choice: Option<&Choice>,
        draw: fn(&Picture<'_>) -> R,
    ) -> R {
        let plan = &self.plan;
        let plate = inputs.job.placed_plate();
        let title = format!("{}, stopped at cut {}", inputs.name, plan.stop.cut.number());
        let moved = MovedPlate::of(plan, &reading.list, self.lay.as_ref());
        let state = PlateState::after(&reading.list, plan.progress.clone(), reading.kerf.width);
        let joined = choice.and_then(|choice| choice.lines.iter().find_map(|ran| ran.join.as_ref()));
        let starts = choice.map(|choice| {
            // What an earlier salvage moved lies in the list where it was moved to.
            let anew = |moved: &&Moved| self.moved.iter().all(|earlier| earlier.cut != moved.cut);
            let moved: Vec<&Moved> = choice.promise.moved.iter().filter(anew).collect();
            starts_of(choice, &reading.list, &moved)
        });
        let starts = starts.unwrap_or_default();
        draw(&Picture {
            plate: plate.as_ref().map(|plate| &plate.outline),
            plate_holes: plate.as_ref().map_or(&[], |plate| &plate.holes),
            stop: plan.stopped_at,
            restart: choice.map(|choice| joined.map_or(choice.restarts_at, |ran| ran.lit)),
            lead_in: joined.map(|ran| &ran.lead),
            starts: &starts,
            moved: moved.as_ref().map(MovedPlate::picture),
            system: reading.system(inputs),
            ..Picture::new(&title, &reading.list, &reading.motions, &state)
        })
    }
}

/// Where a way on lights its torch and where it then ends, start by start in its own order, for a picture. `moved` are the
/// cuts that it makes elsewhere than `list` has them.
pub(crate) fn starts_of(choice: &Choice, list: &CutList, moved: &[&Moved]) -> Vec<Start> {
    let start = |(nth, id): (usize, &CutId)| {
        let cut = list.cuts.get(id.0 as usize)?;
        let moved = moved.iter().find(|moved| moved.cut == *id);
        let at = |p| moved.map_or(p, |moved| moved.placement.point(p));
        let ran = choice.lines.get(nth).filter(|ran| ran.cut == *id).and_then(|ran| ran.join.as_ref());
        let lit = ran.map_or(cut.pierce.at, |ran| ran.lit);
        let ends = match ran {
            Some(ran) => cut.path.point_at(ran.join.until_mm),
            None => cut.path.to(),
        };
        Some(Start { cut: *id, lit: at(lit), ends: at(ends.unwrap_or(cut.pierce.at)) })
    };
    choice.promise.cuts.iter().enumerate().filter_map(start).collect()
}

/// The word for a kind of choice, in files and in their names.
#[must_use]
pub const fn kind_word(kind: ChoiceKind) -> &'static str {
    match kind {
        ChoiceKind::RestartBlock => "restart-block",
        ChoiceKind::KerfEnd => "kerf-end",
        ChoiceKind::FreshPierce => "fresh-pierce",
        ChoiceKind::SecondPass => "second-pass",
        ChoiceKind::Backwards => "backwards",
        ChoiceKind::LeaveOutUnproven => "leave-out-unproven",
        ChoiceKind::SkipPart => "skip-part",
        ChoiceKind::Salvage => "salvage",
    }
}
