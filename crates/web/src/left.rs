//! What the restart that was taken at an earlier stop leaves on the plate, and the program read with it.

use crate::app::App;
use crate::opened::{Manner, Read};
use crate::planned::known_by;
use crate::problem::Problem;
use crate::report;
use crate::works::Task;
use desk::PlateFile;
use ledger::{JobRecord, PlanChosen, StopRecord, TextId};
use rescue::Earlier;
use std::sync::Arc;
use units::{Length, System};

/// By what it is known: everything it is made from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct LeftKey(TextId);

/// What an earlier rescue left.
#[derive(Debug)]
pub(crate) struct Left {
    /// The program as read with it: what was moved lies where it is made.
    pub(crate) read: Read,
    pub(crate) earlier: Earlier,
}

/// The way that was taken last before this stop: what it leaves is what the stop begins with.
pub(crate) fn earlier<'a>(job: &'a JobRecord, stop: &StopRecord) -> Option<&'a PlanChosen> {
    let before = job.stops.iter().take_while(|other| other.id != stop.id);
    before.filter_map(|other| other.chosen.as_ref()).last()
}

impl App {
    /// The work that reads what an earlier rescue left; none at the first stop.
    pub(crate) fn reading_left(
        self: &Arc<Self>,
        job: &JobRecord,
        stop: &StopRecord,
        units: Option<System>,
    ) -> Result<Option<Arc<Task<Arc<Left>>>>, Problem> {
        let Some(chosen) = earlier(job, stop).cloned() else { return Ok(None) };
        let shop = self.shop_now()?;
        let key = LeftKey(known_by(&[
            job.name.clone(),
            job.program.to_string(),
            job.facts.clone(),
            shop.text.clone().unwrap_or_default(),
            chosen.plate.to_string(),
            chosen.program.to_string(),
            units.map(report::unit).unwrap_or_default().to_owned(),
        ]));
        let job = job.clone();
        let task = self.left.meet(self, key, "Reading what the last restart left", move |app, work| {
            let text = String::from_utf8_lossy(&app.ledger().text(chosen.plate)?).into_owned();
            let file = PlateFile::parse(&text).map_err(|why| Problem::ours(&why))?;
            let kerf_before = Some(Length::from_mm(file.kerf_mm));
            let mut read = app.read(&job, &shop, Manner { units, kerf_before }, work)?;
            let ran = app.ledger().text(chosen.program)?;
            let left = desk::earlier(&file, Some(ran), &read.inputs, &mut read.reading);
            let earlier = left.map_err(|why| {
                Problem::unfit(
                    format!("What the last restart left cannot be held against this program: {why}."),
                    "See whether the shop file's words were changed since.",
                )
            })?;
            Ok(Arc::new(Left { read, earlier }))
        })?;
        Ok(Some(task))
    }
}
