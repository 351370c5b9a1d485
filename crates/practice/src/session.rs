//! A session: a person's acts on a stopped table, and what comes of each.

use crate::act::Act;
use crate::bed::Plate;
use crate::setting::Setting;
use crate::slip::Slip;
use crate::table::{Halt, Table};
use crate::ways::{self, Way};
use desk::{NotPlanned, Rescued};
use geometry::{Point, Program};
use rescue::Earlier;
use shop::{Cure, Measured, StopReport};
use std::collections::BTreeSet;

mod doing;
mod going_on;
mod measuring;
mod order;
mod running;
mod scored;

/// What came of an act.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Answer {
    /// What is seen.
    pub see: Vec<String>,
    /// What is heard.
    pub hear: Vec<String>,
    /// What was done, or why it could not be.
    pub did: Vec<String>,
}

/// How a session ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ended {
    /// Hands were in danger.
    Hands,
    /// The last program ran to its end.
    Ran,
    /// Whoever practised ended it.
    Given,
}

impl Ended {
    /// It in a plain sentence.
    #[must_use]
    pub const fn says(self) -> &'static str {
        match self {
            Self::Hands => "The session ended at once: hands were in danger.",
            Self::Ran => "The program ran to its end.",
            Self::Given => "The session was ended before the plate was done.",
        }
    }

    /// Its name, as it is kept.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Hands => "hands",
            Self::Ran => "ran",
            Self::Given => "given",
        }
    }
}

/// What has been found out and done since the last stop.
#[derive(Clone, Debug, Default)]
struct Since {
    stopped: bool,
    light: bool,
    noted: bool,
    /// What the control showed when it was written down.
    noted_at: Option<Point<Program>>,
    raised: bool,
    /// Whether the control has power.
    control_on: bool,
    /// When the source was isolated, in seconds, if it is.
    isolated_s: Option<f64>,
    fire: bool,
    slag: bool,
    code: Option<String>,
    plate_seen: bool,
    kerf: Option<KerfRead>,
    measured: Vec<Measured>,
    marked: bool,
    traced: bool,
    chosen: Option<String>,
    /// Observations by their names in the stop report.
    seen: Vec<String>,
}

/// What was read of the stopped cut's kerf.
#[derive(Clone, Copy, Debug, PartialEq)]
struct KerfRead {
    through_mm: f64,
    groove_mm: Option<f64>,
}

/// Most acts that a session takes: past it nobody practises any more.
const ACTS_MOST: usize = 200;

/// A session.
#[derive(Debug)]
pub struct Session<'s> {
    setting: &'s Setting,
    seed: u64,
    acts: Vec<Act>,
    answers: Vec<Answer>,
    table: Table<'s>,
    halt: Option<Halt>,
    since: Since,
    cured: BTreeSet<Cure>,
    earlier: Option<Earlier>,
    planned: Option<(StopReport, Result<Rescued, NotPlanned>)>,
    slips: Vec<Slip>,
    ended: Option<Ended>,
    /// Seconds in which programs ran.
    run_s: f64,
    /// When the first stop was.
    from_s: f64,
    restarts: u32,
}

impl<'s> Session<'s> {
    /// The table as it stands when the program has stopped. The same setting and seed give the same session.
    #[must_use]
    pub fn begin(setting: &'s Setting, seed: u64) -> Self {
        let mut table = Table::new(setting, seed);
        let faults = setting.faults(0, 0, |number| {
            let cuts = &setting.reading.list.cuts;
            cuts.iter().position(|cut| cut.number() == number)
        });
        table.cell.add_faults(&faults);
        let ran = table.run();
        let mut session = Self {
            setting,
            seed,
            acts: Vec::new(),
            answers: Vec::new(),
            from_s: table.cell.now_s(),
            table,
            halt: None,
            since: Since::default(),
            cured: BTreeSet::new(),
            earlier: None,
            planned: None,
            slips: Vec::new(),
            ended: None,
            run_s: 0.0,
            restarts: 0,
        };
        session.stands(&ran);
        let opening = session.opening();
        session.answers.push(opening);
        session
    }

    /// The session of these acts.
    #[must_use]
    pub fn replay(setting: &'s Setting, seed: u64, acts: &[Act]) -> Self {
        let mut session = Self::begin(setting, seed);
        for act in acts {
            session.act(act);
        }
        session
    }

    /// The setting it stands on.
    #[must_use]
    pub const fn setting(&self) -> &'s Setting {
        self.setting
    }

    /// The seed it was begun with.
    #[must_use]
    pub const fn seed(&self) -> u64 {
        self.seed
    }

    /// What has been done, in order.
    #[must_use]
    pub fn acts(&self) -> &[Act] {
        &self.acts
    }

    /// What came of each act; the first is what there was before any.
    #[must_use]
    pub fn answers(&self) -> &[Answer] {
        &self.answers
    }

    /// How it ended, if it has.
    #[must_use]
    pub const fn ended(&self) -> Option<Ended> {
        self.ended
    }

    /// Seconds since the first stop.
    #[must_use]
    pub const fn time_s(&self) -> f64 {
        self.table.cell.now_s() - self.from_s
    }

    /// What is on the plate now.
    #[must_use]
    pub fn progress(&self) -> cuts::Progress {
        self.plate().progress()
    }

    /// Where the control shows the torch, and the number of the cut at which it stands; none once a program has run to
    /// its end.
    #[must_use]
    pub fn torch(&self) -> Option<(Point<Program>, u32)> {
        self.halt.as_ref().map(|halt| (halt.at, halt.cut.number()))
    }

    /// The ways to go on, once somebody has asked for them.
    #[must_use]
    pub fn ways(&self) -> Vec<Way> {
        let Some((_, planned)) = self.planned.as_ref().filter(|_| self.ended.is_none()) else {
            return Vec::new();
        };
        let Some(halt) = &self.halt else { return Vec::new() };
        ways::ways(self.setting, planned.as_ref().ok(), halt.cut)
    }

    /// The way that is chosen.
    #[must_use]
    pub fn chosen(&self) -> Option<&str> {
        self.since.chosen.as_deref()
    }

    fn plate(&self) -> &Plate {
        &self.table.plate
    }

    /// Does something. After the end nothing happens any more.
    pub fn act(&mut self, act: &Act) -> &Answer {
        if self.ended.is_none() && self.acts.len() < ACTS_MOST {
            self.acts.push(act.clone());
            let mut answer = Answer::default();
            self.does(act, &mut answer);
            self.answers.push(answer);
            if self.acts.len() == ACTS_MOST && self.ended.is_none() {
                self.gives_up();
            }
        }
        self.answers.last().expect("there is an answer before any act")
    }

    fn does(&mut self, act: &Act, answer: &mut Answer) {
        self.order(act);
        if act.needs_hands() && self.hands(answer) {
            return;
        }
        if !matches!(act, Act::Start) {
            self.table.waits(act.takes_s());
        }
        match act {
            Act::Stop => self.stop(answer),
            Act::Look(what) => self.look(*what, answer),
            Act::Listen => self.listen(answer),
            Act::Read => self.read(answer),
            Act::Note => self.note(answer),
            Act::Raise => self.raise(answer),
            Act::Wait(_) => answer.did.push("You waited.".to_owned()),
            Act::Isolate => self.isolate(answer),
            Act::Fix(cure) => self.fix(*cure, answer),
            Act::Clear(how) => self.clear(*how, answer),
            Act::Power => self.power(answer),
            Act::Measure(what) => self.measure(*what, answer),
            Act::Ways => self.asks_ways(answer),
            Act::Choose(way) => self.choose(way, answer),
            Act::Trace => self.trace(answer),
            Act::Start => self.start(answer),
            Act::Done => {
                self.gives_up();
                answer.did.push(Ended::Given.says().to_owned());
            }
        }
    }

    fn slip(&mut self, slip: Slip) {
        let again =
            matches!(slip, Slip::StartFailed | Slip::TorchInHole | Slip::CutBeside | Slip::StruckAgain);
        if again || !self.slips.contains(&slip) {
            self.slips.push(slip);
        }
    }
}
