//! After a stop: the safe order of work, causes ranked from the evidence, and restart programs, each proven before it
//! is handed out.

use cuts::{CutId, CutList, PlateIndex, Progress};
use nc::{Motions, Program};
use proof::{Ground, Promise, Proof};
use shop::{Job, Shop, StopReport};

/// What is known when the plate stops.
#[derive(Debug)]
pub struct Situation<'a> {
    /// The program that was running.
    pub program: &'a Program,
    /// Its words.
    pub dialect: &'a nc::Dialect,
    /// Its motions.
    pub motions: &'a Motions,
    /// Its cuts.
    pub list: &'a CutList,
    /// Its cuts, indexed.
    pub index: &'a PlateIndex,
    /// The shop, if told.
    pub shop: Option<&'a Shop>,
    /// The job.
    pub job: &'a Job,
    /// What earlier rescues left on the plate; none on the first stop.
    pub earlier: Option<&'a Progress>,
    /// Facts of plate and table.
    pub ground: &'a Ground,
}

/// One step of the safe order of work.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Step {
    /// What to do, as an order.
    pub order: String,
    /// Why, in a sentence.
    pub why: String,
}

/// A possible cause.
#[derive(Clone, Debug, PartialEq)]
pub struct RankedCause {
    /// Its name.
    pub name: String,
    /// What it is, in plain words.
    pub title: String,
    /// Probability given the evidence, 0 to 1; all causes together 1.
    pub probability: f64,
    /// Evidence for it.
    pub evidence_for: Vec<String>,
    /// Evidence against it.
    pub evidence_against: Vec<String>,
    /// What to look at to tell it apart.
    pub look: String,
    /// What to do about it.
    pub fix: String,
}

/// Which cut the stop was taken to be at, why, and how sure.
#[derive(Clone, Debug, PartialEq)]
pub struct TakenStop {
    /// The cut.
    pub cut: CutId,
    /// Why this one, in a sentence.
    pub why: String,
    /// Whether everything reported agrees.
    pub sure: bool,
}

/// A way to go on.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// What it is, as an order.
    pub title: String,
    /// The restart program.
    pub text: String,
    /// What it promises.
    pub promise: Promise,
    /// Its proof.
    pub proof: Proof,
    /// Starts it makes.
    pub starts: u32,
    /// Nominal time it takes, in seconds.
    pub time_s: f64,
    /// What could go wrong with it.
    pub risks: Vec<String>,
}

/// The whole answer.
#[derive(Clone, Debug, PartialEq)]
pub struct RescuePlan {
    /// Where it stopped.
    pub stop: TakenStop,
    /// What has been made on the plate.
    pub progress: Progress,
    /// The safe order of work.
    pub steps: Vec<Step>,
    /// Causes, likeliest first.
    pub causes: Vec<RankedCause>,
    /// Ways to go on that are proven, best first; empty if none can be.
    pub choices: Vec<Choice>,
    /// Why there is none, if so, and what would make one provable.
    pub none_because: Option<String>,
    /// The torch-off trace for the first choice.
    pub trace: Option<String>,
    /// Whether and how "start at line N" may be used instead.
    pub start_at_line: Option<StartAt>,
    /// Cautions that apply.
    pub cautions: Vec<String>,
    /// What went unchecked for want of a fact.
    pub unchecked: Vec<String>,
}

/// "Start at line N", proven.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StartAt {
    /// The line, from 1.
    pub line: u32,
    /// For which controls it is proven.
    pub holds_for: String,
}

/// Why no cut could be taken from a stop report.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NoSuchStop {
    /// What is wrong and what to tell instead, in a sentence.
    pub message: String,
    /// Numbers of the cuts it could be, if several.
    pub candidates: Vec<u32>,
}

/// Plans the rescue.
///
/// # Errors
/// If the report matches no cut, or several that cannot be told apart.
pub fn plan(situation: &Situation<'_>, stop: &StopReport) -> Result<RescuePlan, NoSuchStop> {
    let _ = (situation, stop);
    todo!("rescue")
}
