//! A stop's plan: the report, the measurements and what earlier rescues left, put to the planner.

use crate::app::App;
use crate::opened::{Opened, Read};
use crate::problem::Problem;
use crate::report;
use axum::http::StatusCode;
use desk::{NotPlanned, PlateFile, Rescued};
use ledger::{JobRecord, StopRecord, TextId};
use rescue::{Choice, NoSuchStop};
use shop::StopReport;
use std::sync::Arc;
use units::Length;

/// By what a plan is known: everything it was made from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct PlannedKey(TextId);

/// A plan with what it was made from.
#[derive(Debug)]
pub(crate) struct Planned {
    opened: Arc<Opened>,
    /// The program read anew with what an earlier rescue left, at a second stop.
    again: Option<Read>,
    /// The stop as reported, measurements included.
    pub(crate) stop: StopReport,
    /// The plan, or why the stop cannot be placed.
    pub(crate) outcome: Result<Rescued, NoSuchStop>,
}

impl Planned {
    /// The program as read for this stop.
    pub(crate) fn read(&self) -> &Read {
        self.again.as_ref().unwrap_or(&self.opened.read)
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
}

impl App {
    /// The plan of a stop.
    pub(crate) fn plan(&self, job: &JobRecord, stop: &StopRecord) -> Result<Arc<Planned>, Problem> {
        let opened = self.open(job)?;
        let before = earlier(job, stop).and_then(|stop| stop.chosen.as_ref());
        let shop = self.shop_now()?;
        let measured: Vec<&str> = stop.measured.iter().map(|(_, text)| text.as_str()).collect();
        let of = [
            job.name.clone(),
            job.program.to_string(),
            job.facts.clone(),
            shop.text.clone().unwrap_or_default(),
            stop.report.clone(),
            measured.join("\n"),
            before.map(|chosen| chosen.plate.to_string()).unwrap_or_default(),
        ];
        let key = PlannedKey(TextId::of(of.map(|part| format!("{}:{part}", part.len())).concat().as_bytes()));
        self.planned.get(key, || {
            let told = report::told(stop)?;
            let (mut again, mut left) = (None, None);
            if let Some(chosen) = before {
                let text = String::from_utf8_lossy(&self.ledger().text(chosen.plate)?).into_owned();
                let file = PlateFile::parse(&text).map_err(|why| Problem::ours(&why))?;
                let mut read = self.read(job, &shop, Some(Length::from_mm(file.kerf_mm)))?;
                let ran = self.ledger().text(chosen.program)?;
                left = Some(desk::earlier(&file, Some(ran), &read.inputs, &mut read.reading).map_err(
                    |why| {
                        Problem::unfit(
                            format!("What the last restart left cannot be held against this program: {why}."),
                            "See whether the shop file's words were changed since.",
                        )
                    },
                )?);
                again = Some(read);
            }
            let read = again.as_ref().unwrap_or(&opened.read);
            let outcome = match Rescued::plan(&read.inputs, &read.reading, &told, left.as_ref()) {
                Ok(rescued) => Ok(rescued),
                Err(NotPlanned::NoSuchStop(none)) => Err(none),
                Err(NotPlanned::ThicknessUntold) => {
                    return Err(Problem::unfit(
                        "The thickness of the plate is not told, and what is safe depends on it.",
                        "Go to the job's page and tell it.",
                    ));
                }
            };
            Ok(Arc::new(Planned { opened: Arc::clone(&opened), again, stop: told, outcome }))
        })
    }
}

/// The stop before this one after which a restart was taken.
fn earlier<'a>(job: &'a JobRecord, stop: &StopRecord) -> Option<&'a StopRecord> {
    let before = job.stops.iter().take_while(|other| other.id != stop.id);
    before.filter(|other| other.chosen.is_some()).last()
}
