//! How a job stands: its events, folded one after the other.

use crate::{Entry, Event, Id, JobOpened, Moment, Outcome, PlanChosen, TextId};
use std::collections::BTreeMap;

/// How a job stands.
#[derive(Clone, Debug, PartialEq)]
pub struct JobRecord {
    /// The job.
    pub id: Id,
    /// When it was opened.
    pub opened: Moment,
    /// When the last event was added.
    pub touched: Moment,
    /// How many events it has: it has changed if this has.
    pub events: usize,
    /// The program's name, for people.
    pub name: String,
    /// The program's text.
    pub program: TextId,
    /// What was told of the job: the text of a job file.
    pub facts: String,
    /// Ticks by list and item; true if ticked.
    pub ticks: BTreeMap<(String, String), bool>,
    /// Stops, in the order in which they were first reported.
    pub stops: Vec<StopRecord>,
    /// What became of it, as last told.
    pub outcome: Option<Outcome>,
}

/// How a stop stands.
#[derive(Clone, Debug, PartialEq)]
pub struct StopRecord {
    /// The stop.
    pub id: Id,
    /// When it was first reported.
    pub reported: Moment,
    /// The report as last told: the text of a stop report.
    pub report: String,
    /// Measurements, in the order in which they were first made; those taken back are left out.
    pub measured: Vec<(Id, String)>,
    /// The way to go on that was taken last, if one was.
    pub chosen: Option<PlanChosen>,
}

impl JobRecord {
    /// The job whose events these are, in the order in which they were added; none if it was never opened. Events that
    /// came before it was opened, or that speak of stops that were never reported, are passed over.
    #[must_use]
    pub fn fold(events: &[Event]) -> Option<Self> {
        let opens = |event: &&Event| matches!(event.entry, Entry::JobOpened(_));
        let first = events.iter().position(|event| opens(&event))?;
        let Entry::JobOpened(opened) = &events[first].entry else { return None };
        let mut job = Self::opened(&events[first], opened);
        for event in &events[first + 1..] {
            job.add(event);
        }
        job.events = events.len();
        Some(job)
    }

    /// The stop that is being dealt with: the last one.
    #[must_use]
    pub fn stop(&self, id: Id) -> Option<&StopRecord> {
        self.stops.iter().find(|stop| stop.id == id)
    }

    /// Whether `item` of `list` is ticked.
    #[must_use]
    pub fn is_ticked(&self, list: &str, item: &str) -> bool {
        self.ticks.get(&(list.to_owned(), item.to_owned())).copied().unwrap_or_default()
    }

    fn opened(event: &Event, opened: &JobOpened) -> Self {
        Self {
            id: event.of,
            opened: event.at,
            touched: event.at,
            events: 1,
            name: opened.name.clone(),
            program: opened.program,
            facts: opened.facts.clone(),
            ticks: BTreeMap::new(),
            stops: Vec::new(),
            outcome: None,
        }
    }

    fn add(&mut self, event: &Event) {
        self.touched = event.at;
        match &event.entry {
            Entry::FactsTold(told) => self.facts.clone_from(&told.facts),
            Entry::Tick(tick) => {
                self.ticks.insert((tick.list.clone(), tick.item.clone()), tick.done);
            }
            Entry::StopReported(told) => match self.stop_mut(told.stop) {
                Some(stop) => stop.report.clone_from(&told.report),
                None => self.stops.push(StopRecord {
                    id: told.stop,
                    reported: event.at,
                    report: told.report.clone(),
                    measured: Vec::new(),
                    chosen: None,
                }),
            },
            Entry::Measured(measured) => {
                if let Some(stop) = self.stop_mut(measured.stop) {
                    stop.measure(measured.measurement, measured.text.as_ref());
                }
            }
            Entry::PlanChosen(chosen) => {
                if let Some(stop) = self.stop_mut(chosen.stop) {
                    stop.chosen = Some(chosen.clone());
                }
            }
            Entry::Outcome(outcome) => self.outcome = Some(outcome.clone()),
            // A job is opened once; a second opening of the same would be a mistake of the writer's.
            Entry::JobOpened(_) | Entry::Practice(_) => {}
        }
    }

    fn stop_mut(&mut self, id: Id) -> Option<&mut StopRecord> {
        self.stops.iter_mut().find(|stop| stop.id == id)
    }
}

impl StopRecord {
    fn measure(&mut self, id: Id, text: Option<&String>) {
        let at = self.measured.iter().position(|(other, _)| *other == id);
        match (at, text) {
            (Some(k), Some(text)) => self.measured[k].1.clone_from(text),
            (Some(k), None) => {
                self.measured.remove(k);
            }
            (None, Some(text)) => self.measured.push((id, text.clone())),
            (None, None) => {}
        }
    }
}
