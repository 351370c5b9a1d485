//! The whole answer to a stop, and how it is put together.

use crate::{RanCut, Situation};
use cuts::{CutId, Progress};
use geometry::{Point, Program};
use proof::{Promise, Proof};
use shop::StopReport;

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
    /// Its name in kebab-case, as in the shop file's `[causes]`.
    pub name: String,
    /// What it is, in plain words.
    pub title: String,
    /// Probability given the evidence, 0 to 1; all causes together 1.
    pub probability: f64,
    /// Evidence for it, in words.
    pub evidence_for: Vec<String>,
    /// Evidence against it, in words.
    pub evidence_against: Vec<String>,
    /// What to look at to tell it apart.
    pub look: String,
    /// What to do about it.
    pub fix: String,
}

/// A question whose answer would tell causes apart.
#[derive(Clone, Debug, PartialEq)]
pub struct NextLook {
    /// What to look at, as a question.
    pub question: String,
    /// The words with which the stop report's `seen` takes the answer, each with what it means.
    pub answers: Vec<(String, String)>,
    /// How much the answer is expected to tell, in bits.
    pub tells_bits: f64,
}

/// Causes ranked from the evidence.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Triage {
    /// Causes, likeliest first; probabilities sum to 1.
    pub causes: Vec<RankedCause>,
    /// The questions not yet answered that would tell most, best first.
    pub next_looks: Vec<NextLook>,
    /// Words of the report that are no observation's name, each with a hint in a sentence.
    pub not_understood: Vec<String>,
}

/// Which cut the stop was taken to be at, why, and how sure.
#[derive(Clone, Debug, PartialEq)]
pub struct TakenStop {
    /// The cut.
    pub cut: CutId,
    /// Why this one, in a sentence.
    pub why: String,
    /// Probability that it is this cut, given all that was reported, 0 to 1.
    pub probability: f64,
    /// Whether everything reported agrees.
    pub sure: bool,
    /// What was reported and does not fit, a sentence each.
    pub at_odds: Vec<String>,
}

/// What kind of way on it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ChoiceKind {
    /// Run again from the cut's restart block: everything that is left.
    RestartBlock,
    /// Leave out the part that was being cut, and carry on.
    SkipPart,
}

/// How a restart program differs from the original.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Diff {
    /// Lines of the original kept word for word.
    pub kept: u32,
    /// Lines of the original left out.
    pub left_out: u32,
    /// Lines that are not in the original.
    pub added: u32,
    /// The difference for reading: `-` before lines left out, `+` before lines added, a few kept lines around, long
    /// stretches summed up.
    pub shown: String,
}

/// A way to go on.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// What kind.
    pub kind: ChoiceKind,
    /// What it is, as an order.
    pub title: String,
    /// The restart program. Bytes, since comments of the original may hold any.
    pub text: Vec<u8>,
    /// Whether untouched blocks stand in it word for word; if not, it was written anew from the motions.
    pub word_for_word: bool,
    /// What it promises.
    pub promise: Promise,
    /// Its proof.
    pub proof: Proof,
    /// Where its first start is.
    pub restarts_at: Point<Program>,
    /// Its cuts and the lines on which they stand in its text.
    pub lines: Vec<RanCut>,
    /// Starts it makes.
    pub starts: u32,
    /// Nominal time it takes, in seconds.
    pub time_s: f64,
    /// What could go wrong with it, a sentence each.
    pub risks: Vec<String>,
    /// How it differs from the original.
    pub diff: Diff,
}

/// The torch-off trace for the first choice.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Trace {
    /// The program; no torch, probe or touch-off word stands in it.
    pub text: String,
    /// What must be so before it is run, a sentence each.
    pub preconditions: Vec<String>,
}

/// "Start at line N", proven.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StartAt {
    /// The line of the original, from 1.
    pub line: u32,
    /// For which controls it is proven, in words.
    pub holds_for: String,
    /// What must be so before the start.
    pub preconditions: Vec<String>,
}

/// The whole answer.
#[derive(Clone, Debug, PartialEq)]
pub struct RescuePlan {
    /// Where it stopped.
    pub stop: TakenStop,
    /// Where the torch stood, as far as it is known.
    pub stopped_at: Option<Point<Program>>,
    /// What has been made on the plate.
    pub progress: Progress,
    /// The safe order of work.
    pub steps: Vec<Step>,
    /// Causes, likeliest first, and the next look.
    pub triage: Triage,
    /// Ways to go on that are proven, best first; empty if none can be.
    pub choices: Vec<Choice>,
    /// Why there is none, if so, and what would make one provable.
    pub none_because: Option<String>,
    /// Where there is no proven choice: what can be done by hand, unproven.
    pub by_hand: Vec<Step>,
    /// The torch-off trace for the first choice.
    pub trace: Option<Trace>,
    /// Whether and how "start at line N" may be used instead.
    pub start_at_line: Option<StartAt>,
    /// Cautions that apply.
    pub cautions: Vec<String>,
    /// What went unchecked for want of a fact, each with the fact.
    pub unchecked: Vec<String>,
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

/// The plan as a page to read at the table (Markdown): the safe order of work first, then causes with the next look,
/// then the restart, what to check before it, and the difference to the original in short.
#[must_use]
pub fn steps_markdown(plan: &RescuePlan) -> String {
    let _ = plan;
    todo!("rescue")
}
