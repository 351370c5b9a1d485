//! A stop's plan: the report, the measurements and what earlier rescues left, put to the planner.

use crate::app::App;
use crate::left::{Left, earlier};
use crate::opened::{Opened, Read};
use crate::problem::Problem;
use crate::report;
use crate::works::Task;
use axum::http::StatusCode;
use desk::{NotPlanned, Rescued};
use ledger::{JobRecord, StopRecord, TextId};
use rescue::{Choice, NoSuchStop};
use shop::StopReport;
use std::sync::Arc;
use units::System;

/// By what a plan is known: everything it was made from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct PlannedKey(TextId);

/// A plan with what it was made from.
#[derive(Debug)]
pub(crate) struct Planned {
    opened: Arc<Opened>,
    /// What an earlier rescue left, at a second stop.
    left: Option<Arc<Left>>,
    /// The stop as reported, measurements included.
    pub(crate) stop: StopReport,
    /// The plan, or why the stop cannot be placed.
    pub(crate) outcome: Result<Rescued, NoSuchStop>,
}

impl Planned {
    /// The units in which it is read and typed.
    pub(crate) fn system(&self) -> System {
        self.read().system()
    }

    /// The job as read, whatever an earlier rescue left of it.
    pub(crate) fn opened(&self) -> &Opened {
        &self.opened
    }

    /// The program as read for this stop.
    pub(crate) fn read(&self) -> &Read {
        self.left.as_ref().map_or(&self.opened.read, |left| &left.read)
    }

    /// The plan.
    pub(crate) fn rescued(&self) -> Result<&Rescued, Problem> {
        self.outcome.as_ref().map_err(|none| Problem::unfit(none.message.clone(), "Tell which cut it was."))
    }

    /// The way to go on with this word.
    pub(crate) fn way(&self, word: &str) -> Result<&Choice, Problem> {
        let choices = &self.rescued()?.plan.choices;
        choices.iter().find(|choice| desk::kind_word(choice.kind) == word).ok_or_else(|| {
            Problem::new(
                StatusCode::NOT_FOUND,
                "This way to go on is not offered any more.",
                "Load the page of the stop again: what is proven now stands there.",
            )
        })
    }

    /// The program of a way: its name.
    pub(crate) fn program_name(&self, way: &str) -> String {
        format!("{}-{way}.nc", self.read().inputs.stem())
    }

    /// The trace of a way: its name.
    pub(crate) fn trace_name(&self, way: &str) -> String {
        format!("{}-{way}-trace.nc", self.read().inputs.stem())
    }
}

impl App {
    /// The work that plans how to go on after a stop.
    pub(crate) fn planning(
        self: &Arc<Self>,
        job: &JobRecord,
        stop: &StopRecord,
        opened: Arc<Opened>,
        left: Option<Arc<Left>>,
    ) -> Result<Arc<Task<Arc<Planned>>>, Problem> {
        let shop = self.shop_now()?;
        let measured: Vec<&str> = stop.measured.iter().map(|(_, text)| text.as_str()).collect();
        let of = [
            job.name.clone(),
            job.program.to_string(),
            job.facts.clone(),
            shop.text.clone().unwrap_or_default(),
            stop.report.clone(),
            measured.join("\n"),
            earlier(job, stop).map(|chosen| chosen.plate.to_string()).unwrap_or_default(),
            opened.read.inputs.units.map(report::unit).unwrap_or_default().to_owned(),
        ];
        let key = PlannedKey(known_by(&of));
        let told = report::told(stop)?;
        self.planned.meet(self, key, "Working out how to go on", move |_, work| {
            let read = left.as_ref().map_or(&opened.read, |left| &left.read);
            let earlier = left.as_ref().map(|left| &left.earlier);
            let planned = Rescued::plan_watched(&read.inputs, &read.reading, &told, earlier, Some(work));
            let outcome = match planned.ok_or_else(Problem::called_off)? {
                Ok(rescued) => Ok(rescued),
                Err(NotPlanned::NoSuchStop(none)) => Err(none),
                Err(NotPlanned::ThicknessUntold) => {
                    return Err(Problem::unfit(
                        "The thickness of the plate is not told, and what is safe depends on it.",
                        "Go to the job's page and tell it.",
                    ));
                }
            };
            Ok(Arc::new(Planned { opened, left, stop: told, outcome }))
        })
    }
}

/// By what something made of these texts is known: two that are parted otherwise are not the same.
pub(crate) fn known_by(texts: &[String]) -> TextId {
    let parted: String = texts.iter().map(|text| format!("{}:{text}", text.len())).collect();
    TextId::of(parted.as_bytes())
}
