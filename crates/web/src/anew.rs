//! Lost parts made anew: on the sheet they were lost on, once what was started last has run, or on a remnant.

use crate::address::{AtStop, OfStop};
use crate::app::App;
use crate::facts::{quoted, with_unit};
use crate::fields::{Fields, escaped};
use crate::opened::{Manner, Read};
use crate::planned::known_by;
use crate::problem::Problem;
use crate::report;
use crate::works::{Met, Patience, Task, Work};
use cuts::PartId;
use desk::{Inputs, Lost, PlateFile, Reading, Salvaged};
use ledger::{JobRecord, StopRecord, TextId};
use serde::Deserialize;
use shop::Job;
use std::sync::Arc;
use units::{Length, System};

/// What is asked for: it travels in the address, so that a reload loses nothing.
#[derive(Clone, Debug, Default, Deserialize)]
pub(crate) struct Ask {
    /// Parts, by number; none: those given up.
    #[serde(default)]
    pub(crate) parts: String,
    /// `remnant`, or else the same sheet.
    #[serde(default)]
    pub(crate) sheet: String,
    /// The remnant: width × height, or its corners.
    #[serde(default)]
    pub(crate) remnant: String,
    /// Cuts whose pieces stand up, by number.
    #[serde(default)]
    pub(crate) standing: String,
    /// Unit of bare numbers.
    #[serde(default, rename = "in")]
    pub(crate) unit: String,
    /// Whether it is to be worked out.
    #[serde(default)]
    go: String,
}

impl Ask {
    /// The address's part that asks for the same.
    pub(crate) fn query(&self) -> String {
        let told = [
            ("parts", &self.parts),
            ("sheet", &self.sheet),
            ("remnant", &self.remnant),
            ("standing", &self.standing),
            ("in", &self.unit),
            ("go", &self.go),
        ];
        let pairs: Vec<String> =
            told.iter().map(|(name, value)| format!("{name}={}", escaped(value.trim()))).collect();
        pairs.join("&")
    }

    /// The same from a form.
    pub(crate) fn of(fields: &Fields) -> Self {
        let get = |name| fields.get(name).unwrap_or_default().to_owned();
        Self {
            parts: get("parts"),
            sheet: get("sheet"),
            remnant: get("remnant"),
            standing: get("standing"),
            unit: get("in"),
            go: "yes".to_owned(),
        }
    }

    /// Whether it is to be worked out.
    pub(crate) const fn is_asked(&self) -> bool {
        !self.go.is_empty()
    }

    pub(crate) fn is_on_remnant(&self) -> bool {
        self.sheet == "remnant"
    }
}

/// By what it is known: everything it is made from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct AnewKey(TextId);

/// What came of it.
#[derive(Debug)]
pub(crate) struct Anew {
    pub(crate) read: Read,
    pub(crate) salvaged: Salvaged,
    /// The remnant's facts, as a job file has them.
    pub(crate) remnant: Option<String>,
}

impl Anew {
    pub(crate) fn system(&self) -> System {
        self.read.system()
    }

    pub(crate) fn program_name(&self) -> String {
        let on = if self.remnant.is_some() { "remnant" } else { "salvage" };
        format!("{}-{on}.nc", self.read.inputs.stem())
    }
}

impl AtStop {
    /// The job as it stands now, and lost parts made anew.
    pub(crate) async fn made_anew(
        &self,
        ask: &Ask,
        patience: Patience,
    ) -> Result<(JobRecord, Met<Arc<Anew>>), Problem> {
        let ask = ask.clone();
        let (job, stop, units) = (self.job.job, self.stop, self.job.visit.units);
        let begun = self.job.app.work(move |app| {
            let record = app.job(job)?;
            let of = record.stop(stop).ok_or_else(Problem::no_such_job)?;
            let task = app.making_anew(&record, of, ask, units)?;
            Ok((record, task))
        });
        let (record, task) = begun.await?;
        Ok((record, task.met(patience).await?))
    }

    /// Does something once lost parts are made anew.
    pub(crate) async fn with_made_anew<R: Send + 'static>(
        mut self,
        ask: Ask,
        does: impl FnOnce(OfStop<'_>, &Anew) -> Result<R, Problem> + Send + 'static,
    ) -> Result<R, Problem> {
        let (record, met) = self.made_anew(&ask, Patience::Whole).await?;
        match met {
            Met::Made(done) => {
                self.job.visit.units = Some(done.system());
                self.with(record, move |of| does(of, &done)).await
            }
            Met::Waits(_) => Err(Problem::called_off()),
        }
    }
}

impl App {
    /// What the way that was taken last at a stop leaves: its plate file.
    pub(crate) fn left_at(&self, stop: &StopRecord) -> Result<PlateFile, Problem> {
        let chosen = stop.chosen.as_ref().ok_or_else(|| {
            Problem::unfit(
                "No way to go on was taken at this stop yet.",
                "Go back to the stop and take one: what it leaves is what there is to salvage on.",
            )
        })?;
        let text = String::from_utf8_lossy(&self.ledger().text(chosen.plate)?).into_owned();
        PlateFile::parse(&text).map_err(|why| Problem::ours(&why))
    }

    /// The work that makes lost parts anew.
    fn making_anew(
        self: &Arc<Self>,
        job: &JobRecord,
        stop: &StopRecord,
        ask: Ask,
        units: Option<System>,
    ) -> Result<Arc<Task<Arc<Anew>>>, Problem> {
        let file = self.left_at(stop)?;
        let shop = self.shop_now()?;
        let key = AnewKey(known_by(&[
            job.name.clone(),
            job.program.to_string(),
            job.facts.clone(),
            shop.text.clone().unwrap_or_default(),
            stop.chosen.as_ref().map(|chosen| chosen.plate.to_string()).unwrap_or_default(),
            ask.query(),
            units.map(report::unit).unwrap_or_default().to_owned(),
        ]));
        let job = job.clone();
        self.anew.meet(self, key, "Making lost parts anew", move |app, work| {
            let kerf_before = Some(Length::from_mm(file.kerf_mm));
            let inputs = app.inputs(&job, &shop, Manner { units, kerf_before })?;
            make_anew(inputs, &file, &ask, work).map(Arc::new)
        })
    }
}

fn make_anew(mut inputs: Inputs, file: &PlateFile, ask: &Ask, work: &Work) -> Result<Anew, Problem> {
    let thickness = inputs.job.thickness.ok_or_else(|| {
        Problem::unfit("The thickness of the plate is not told.", "Go to the job's page and tell it.")
    })?;
    let remnant = ask.is_on_remnant().then(|| remnant(&ask.remnant, &ask.unit)).transpose()?;
    if let Some(facts) = &remnant {
        inputs.lay_on(Job::parse(facts).0).map_err(|why| {
            Problem::unfit(format!("The remnant does not do: {}.", why.what), "Go back and tell its size.")
        })?;
    }
    let mut reading = Reading::watched(&mut inputs, Some(work)).ok_or_else(Problem::called_off)?;
    let earlier = desk::earlier(file, None, &inputs, &mut reading).map_err(|why| {
        Problem::unfit(
            format!("What the last restart left cannot be held against this program: {why}."),
            "See whether the shop file's words were changed since.",
        )
    })?;
    let parts = numbers(&ask.parts, reading.list.parts.len(), "part")?;
    let standing = numbers(&ask.standing, reading.list.cuts.len(), "cut")?;
    let earlier = desk::ran(&reading, Some(earlier));
    let lost = Lost {
        parts: &parts.into_iter().map(|number| PartId(number - 1)).collect::<Vec<_>>(),
        standing: &standing.into_iter().map(|number| cuts::CutId(number - 1)).collect::<Vec<_>>(),
        on_remnant: remnant.is_some(),
    };
    let salvaged = Salvaged::plan_watched(&inputs, &reading, thickness, Some(&earlier), lost, Some(work));
    let salvaged = salvaged.ok_or_else(Problem::called_off)?;
    Ok(Anew { read: Read { inputs, reading }, salvaged, remnant })
}

/// Numbers on the picture, as they are typed.
fn numbers(text: &str, most: usize, what: &str) -> Result<Vec<u32>, Problem> {
    let words = text.split([',', ' ', ';']).filter(|word| !word.is_empty());
    let number = |word: &str| {
        let number = word.parse().ok().filter(|number| (1..=most).contains(&(*number as usize)));
        number.ok_or_else(|| {
            Problem::unfit(
                format!("There is no {what} {word:?}."),
                format!("Go back: {what}s are numbered from 1 to {most}, as on the picture."),
            )
        })
    };
    words.map(number).collect()
}

/// A remnant's facts, as a job file has them: from a width and a height, or from corners one after the other.
fn remnant(told: &str, unit: &str) -> Result<String, Problem> {
    let unit = if unit == "in" { "in" } else { "mm" };
    let told = told.trim();
    let is_outline = told.contains(',');
    let plate = if is_outline {
        let corner = |word: &str| {
            let (x, y) = word.split_once(',')?;
            Some(format!("[{}, {}]", quoted(&with_unit(x, unit)), quoted(&with_unit(y, unit))))
        };
        let corners: Option<Vec<String>> = told.split_whitespace().map(corner).collect();
        corners.map(|corners| format!("{{ outline = [{}] }}", corners.join(", ")))
    } else {
        Some(quoted(&with_unit(told, unit)))
    };
    let facts = plate.map(|plate| format!("plate = {plate}\n"));
    let sound = facts.filter(|facts| {
        let (job, findings) = Job::parse(facts);
        job.plate.is_some() && findings.is_empty()
    });
    sound.ok_or_else(|| {
        Problem::unfit(
            "The remnant's size cannot be understood.",
            "Go back and write width x height, such as 600x400, or its corners in order, such as 0,0 600,0 0,400.",
        )
    })
}

#[cfg(test)]
mod tests {
    use super::{Ask, numbers, remnant};
    use crate::app::{App, Options, new_id};
    use crate::works::BLINK;
    use crate::works::{Met, Patience};
    use desk::{Inputs, Reading, Rescued};
    use ledger::{Entry, Event, Id, JobOpened, Ledger, Moment, PlanChosen, StopReported, Text};
    use shop::{Job, StopReport};
    use std::sync::Arc;

    const PROGRAM: &[u8] = include_bytes!("../../../demo/post-bases/program.nc");
    const FACTS: &str = "thickness = \"10 mm\"\nplate = \"1500x750 mm\"\n";
    const STOP: &str = "kind = \"no-transfer\"\ncut = 37\n";

    /// A job of which a restart was taken at its only stop.
    fn restarted() -> (tempfile::TempDir, Arc<App>, Id) {
        let folder = tempfile::tempdir().expect("a folder");
        let mut ledger = Ledger::open(&folder.path().join("ledger.db")).expect("a ledger");
        let mut inputs = Inputs::bundled("post-bases.nc", PROGRAM, "", FACTS);
        let reading = Reading::of(&mut inputs);
        let planned = Rescued::plan(&inputs, &reading, &StopReport::parse(STOP).0, None).expect("a plan");
        let choice = &planned.plan.choices[0];
        let plate = planned.plate_file(&inputs, &reading, Some((choice, "a.nc"))).expect("it did not move");
        let [original, restart, plate] =
            [PROGRAM.to_vec(), choice.text.clone(), plate.text().into_bytes()].map(Text::new);
        let (job, stop) = (new_id(), new_id());
        let entries = [
            Entry::JobOpened(JobOpened { name: "a.nc".into(), program: original.id(), facts: FACTS.into() }),
            Entry::StopReported(StopReported { stop, report: STOP.into() }),
            Entry::PlanChosen(PlanChosen {
                stop,
                way: "restart-block".into(),
                program: restart.id(),
                plate: plate.id(),
            }),
        ];
        let events = entries.map(|entry| Event { id: new_id(), of: job, at: Moment(0), entry });
        ledger.append(&events, &[original, restart, plate]).expect("kept");
        let shop = folder.path().join("shop.toml");
        let options = Options { ledger, shop, secret: b"of a test".to_vec(), passphrase: None, blink: BLINK };
        (folder, App::new(options, Arc::new(|| 0)), job)
    }

    /// What is downloaded is what was shown, and comes at once.
    #[test]
    fn what_is_asked_for_again_is_not_worked_out_again() {
        let (_folder, app, job) = restarted();
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().expect("threads");
        runtime.block_on(async {
            let ask = |parts: &str| Ask { parts: parts.into(), go: "yes".into(), ..Ask::default() };
            let record = app.job(job).expect("it is there");
            let making = |ask| app.making_anew(&record, &record.stops[0], ask, None).expect("begun");
            let shown = making(ask("5"));
            let Ok(Met::Made(done)) = shown.met(Patience::Whole).await else { panic!("it is worked out") };
            assert!(done.salvaged.plan.choice.is_some(), "{:?}", done.salvaged.plan.none_because);
            assert_eq!(making(ask(" 5 ")).work.id, shown.work.id);
            assert_ne!(making(ask("6")).work.id, shown.work.id);
        });
    }

    #[test]
    fn a_remnant_is_a_size_or_its_corners() {
        for (told, unit, area) in
            [("600x400", "mm", 240_000.0), ("0,0 600,0 0,400", "mm", 120_000.0), ("10x10", "in", 64_516.0)]
        {
            let plate = Job::parse(&remnant(told, unit).unwrap()).0.plate.unwrap();
            let ring: Vec<[f64; 2]> = plate.ring.iter().map(|corner| corner.map(units::Length::mm)).collect();
            let next = ring.iter().cycle().skip(1);
            let found: f64 = ring.iter().zip(next).map(|(a, b)| (a[0] * b[1] - b[0] * a[1]) / 2.0).sum();
            assert!((found - area).abs() < 1e-6, "{told}: {found}");
        }
        for wrong in ["", "wide", "600", "0,0 600,0", "600x400\"\nthickness = \"1 mm", "1,a 2,b 3,c"] {
            assert!(remnant(wrong, "mm").is_err(), "{wrong}");
        }
    }

    #[test]
    fn numbers_are_those_on_the_picture() {
        assert_eq!(numbers("5, 7;9 ", 9, "part"), Ok(vec![5, 7, 9]));
        assert_eq!(numbers("", 9, "part"), Ok(vec![]));
        for wrong in ["0", "10", "x", "-1"] {
            assert!(numbers(wrong, 9, "part").is_err(), "{wrong}");
        }
    }
}
