//! A job as read: program, facts and shop put together, and what the checks say.

use crate::app::App;
use crate::problem::Problem;
use crate::report;
use crate::wire;
use crate::works::{Task, Work};
use axum::body::Bytes;
use cell::Forecast;
use checks::Report;
use cuts::Progress;
use desk::{Inputs, PreStart, Reading, Watch as _};
use finding::Level;
use ledger::{JobRecord, TextId};
use shop::{Job, Shop};
use std::io;
use std::ops::ControlFlow;
use std::sync::{Arc, OnceLock};
use units::{Length, System};

/// By what a job as read is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct OpenedKey {
    /// Two jobs may have the same text under two names, and what is handed out bears the job's own.
    name: TextId,
    program: TextId,
    facts: TextId,
    shop: Option<TextId>,
    units: Option<System>,
}

/// A program read with what is known.
#[derive(Debug)]
pub(crate) struct Read {
    pub(crate) inputs: Inputs,
    pub(crate) reading: Reading,
}

/// A job as read.
#[derive(Debug)]
pub(crate) struct Opened {
    pub(crate) read: Read,
    pub(crate) report: Report,
    pub(crate) forecast: Forecast,
    /// What is to be seen before a start.
    pub(crate) pre_start: Vec<ToSee>,
    strokes: OnceLock<Bytes>,
    run: OnceLock<Bytes>,
}

/// Something to see before a start.
#[derive(Debug)]
pub(crate) struct ToSee {
    pub(crate) check: PreStart,
    /// By what it is known when it is ticked: its own words in the program's units, whoever reads it in whichever.
    pub(crate) item: String,
}

impl Opened {
    /// None if it was called off.
    fn of(mut read: Read, work: &Work) -> Option<Self> {
        let Read { inputs, reading } = &read;
        let motions = reading.motions.motions().len();
        let run = |done| {
            work.tell(done, motions, "motions of the forecast");
            if work.is_called_off() { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
        };
        let forecast = desk::forecast_watched(inputs, reading, &run)?;
        let report = desk::report_watched(inputs, reading, &forecast, work)?;
        let pre_start = to_see(&mut read, &forecast);
        Some(Self { report, forecast, pre_start, strokes: OnceLock::new(), run: OnceLock::new(), read })
    }

    /// The plate as strokes, as JSON: everybody who looks at the job asks for it.
    pub(crate) fn strokes(&self) -> Bytes {
        let Read { inputs, reading } = &self.read;
        let sketch = || desk::sketch(inputs, reading, Progress::default(), &self.report.findings);
        self.strokes.get_or_init(|| wire::strokes_text(&sketch())).clone()
    }

    /// How the forecast run unfolds on the plate, as JSON.
    pub(crate) fn run(&self) -> Bytes {
        let run = || desk::unfolding(&self.read.reading, &self.forecast);
        self.run.get_or_init(|| wire::run_text(&run())).clone()
    }

    /// The units in which it is read and typed: as the visitor chose, else those of its program.
    pub(crate) fn system(&self) -> System {
        self.read.system()
    }

    /// The unit of bare numbers that are typed for it.
    pub(crate) fn unit(&self) -> &'static str {
        report::unit(self.system())
    }
}

/// What is to be seen before a start, each with its words in the program's units.
fn to_see(read: &mut Read, forecast: &Forecast) -> Vec<ToSee> {
    let told = desk::pre_start(&read.inputs, &read.reading, forecast);
    let units = read.inputs.units.take();
    let known = desk::pre_start(&read.inputs, &read.reading, forecast);
    read.inputs.units = units;
    let items = known.iter().map(|check| format!("{}: {}", check.name, check.what));
    told.into_iter().zip(items).map(|(check, item)| ToSee { check, item }).collect()
}

impl Read {
    /// The units in which it is read and typed.
    pub(crate) fn system(&self) -> System {
        self.reading.system(&self.inputs)
    }
}

/// The shop file as it is now.
#[derive(Clone, Debug)]
pub(crate) struct ShopNow {
    /// Its text; none if there is no such file.
    pub(crate) text: Option<String>,
}

impl ShopNow {
    /// The shop, if the file is there.
    ///
    /// # Errors
    /// If it has mistakes.
    pub(crate) fn shop(&self) -> Result<Option<Shop>, Problem> {
        let Some(text) = &self.text else { return Ok(None) };
        let (shop, findings) = Shop::parse(text);
        if findings.iter().any(|finding| finding.level == Level::Error) {
            return Err(Problem::unfit(
                "The shop file has mistakes, and nothing is worked out from a file with mistakes.",
                "Go to Shop: each mistake stands there with its line and what to do.",
            ));
        }
        Ok(Some(shop))
    }
}

/// In which manner a job is read.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Manner {
    /// The units that the visitor chose.
    pub(crate) units: Option<System>,
    /// The kerf as an earlier rescue took it.
    pub(crate) kerf_before: Option<Length>,
}

impl App {
    /// The shop file as it is now.
    pub(crate) fn shop_now(&self) -> Result<ShopNow, Problem> {
        match std::fs::read(&self.shop) {
            Ok(bytes) => {
                let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").map_or(bytes.clone(), <[u8]>::to_vec);
                let text = String::from_utf8(bytes)
                    .map_err(|_| Problem::unfit("The shop file is not UTF-8 text.", "Save it as UTF-8."))?;
                Ok(ShopNow { text: Some(text) })
            }
            Err(why) if why.kind() == io::ErrorKind::NotFound => Ok(ShopNow { text: None }),
            Err(why) => Err(Problem {
                log: Some(format!("failed to read the shop file {}: {why}", self.shop.display())),
                ..Problem::unfit(
                    "The shop file cannot be read.",
                    "See whether it can be opened by whoever started this page.",
                )
            }),
        }
    }

    /// The work that reads a job.
    pub(crate) fn opening(
        self: &Arc<Self>,
        job: &JobRecord,
        units: Option<System>,
    ) -> Result<Arc<Task<Arc<Opened>>>, Problem> {
        let shop = self.shop_now()?;
        let key = OpenedKey {
            name: TextId::of(job.name.as_bytes()),
            program: job.program,
            facts: TextId::of(job.facts.as_bytes()),
            shop: shop.text.as_ref().map(|text| TextId::of(text.as_bytes())),
            units,
        };
        let job = job.clone();
        self.opened.meet(self, key, "Reading the program", move |app, work| {
            let read = app.read(&job, &shop, Manner { units, kerf_before: None }, work)?;
            Opened::of(read, work).map(Arc::new).ok_or_else(Problem::called_off)
        })
    }

    /// Reads a job's program with its facts.
    pub(crate) fn read(
        &self,
        job: &JobRecord,
        shop: &ShopNow,
        manner: Manner,
        work: &Work,
    ) -> Result<Read, Problem> {
        let mut inputs = self.inputs(job, shop, manner)?;
        let reading = Reading::watched(&mut inputs, Some(work)).ok_or_else(Problem::called_off)?;
        Ok(Read { inputs, reading })
    }

    /// A job's program, facts and shop, not yet read.
    pub(crate) fn inputs(
        &self,
        job: &JobRecord,
        shop: &ShopNow,
        Manner { units, kerf_before }: Manner,
    ) -> Result<Inputs, Problem> {
        let text = self.ledger().text(job.program)?;
        let (facts, _) = Job::parse(&job.facts);
        Ok(Inputs {
            name: job.name.clone(),
            text,
            shop: shop.shop()?,
            job: facts,
            kerf: None,
            kerf_before,
            units,
        })
    }
}
