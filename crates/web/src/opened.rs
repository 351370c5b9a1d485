//! A job as read: program, facts and shop put together, and what the checks say.

use crate::app::App;
use crate::problem::Problem;
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
use std::sync::{Arc, OnceLock};
use units::System;

/// By what a job as read is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct OpenedKey {
    /// Two jobs may have the same text under two names, and what is handed out bears the job's own.
    name: TextId,
    program: TextId,
    facts: TextId,
    shop: Option<TextId>,
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
    pub(crate) pre_start: Vec<PreStart>,
    strokes: OnceLock<Bytes>,
    run: OnceLock<Bytes>,
}

impl Opened {
    /// None if it was called off.
    fn of(read: Read, work: &Work) -> Option<Self> {
        let Read { inputs, reading } = &read;
        let motions = reading.motions.motions().len();
        let run = |done| work.tell(done, motions, "motions of the forecast");
        let forecast = desk::forecast(inputs, reading, Some(&run));
        if work.is_called_off() {
            return None;
        }
        work.tell(0, 1, "checks");
        // Without a shop no rule has the facts that would make it ask the forecast.
        let report = desk::report_with(inputs, reading, inputs.shop.is_some().then_some(&forecast));
        let pre_start = desk::pre_start(inputs, reading, &forecast);
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

    /// The unit of bare numbers that are typed for it: that of its program.
    pub(crate) fn unit(&self) -> &'static str {
        match self.read.reading.system(&self.read.inputs) {
            System::Metric => "mm",
            System::Inch => "in",
        }
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
    pub(crate) fn opening(self: &Arc<Self>, job: &JobRecord) -> Result<Arc<Task<Arc<Opened>>>, Problem> {
        let shop = self.shop_now()?;
        let key = OpenedKey {
            name: TextId::of(job.name.as_bytes()),
            program: job.program,
            facts: TextId::of(job.facts.as_bytes()),
            shop: shop.text.as_ref().map(|text| TextId::of(text.as_bytes())),
        };
        let job = job.clone();
        self.opened.meet(self, key, "Reading the program", move |app, work| {
            let read = app.read(&job, &shop, None, work)?;
            Opened::of(read, work).map(Arc::new).ok_or_else(Problem::called_off)
        })
    }

    /// Reads a job's program with its facts; `kerf_before` is the kerf as an earlier rescue took it.
    pub(crate) fn read(
        &self,
        job: &JobRecord,
        shop: &ShopNow,
        kerf_before: Option<units::Length>,
        work: &Work,
    ) -> Result<Read, Problem> {
        let mut inputs = self.inputs(job, shop, kerf_before)?;
        let reading = Reading::watched(&mut inputs, Some(work)).ok_or_else(Problem::called_off)?;
        Ok(Read { inputs, reading })
    }

    /// A job's program, facts and shop, not yet read.
    pub(crate) fn inputs(
        &self,
        job: &JobRecord,
        shop: &ShopNow,
        kerf_before: Option<units::Length>,
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
            units: None,
        })
    }
}
