//! A rescue plan, as `rescue --json` prints it and `plan.json` keeps it.

use super::summary::rounded_s;
use super::{PlaceRow, ProgramRow, RefoundRow, rounded_mm};
use desk::kind_word;
use proof::{JoinStart, Proof};
use rescue::{Choice, Price, RankedCause, RescuePlan, Step};
use serde::Serialize;
use std::collections::BTreeMap;

/// The document.
#[derive(Debug, Serialize)]
pub(crate) struct PlanDocument {
    schema: &'static str,
    version: u32,
    program: ProgramRow,
    proven: bool,
    stop: StopRow,
    steps: Vec<StepRow>,
    causes: Vec<CauseRow>,
    next_looks: Vec<LookRow>,
    not_understood: Vec<String>,
    choices: Vec<ChoiceRow>,
    refused: Vec<RefusedRow>,
    none_because: Option<String>,
    wanted: Option<String>,
    refound: Option<RefoundRow>,
    by_hand: Vec<StepRow>,
    trace_preconditions: Vec<String>,
    start_at_line: Option<StartAtRow>,
    cautions: Vec<String>,
    unchecked: Vec<String>,
    assumed: Vec<String>,
    files: Vec<String>,
}

#[derive(Debug, Serialize)]
struct StopRow {
    cut: u32,
    at: Option<PlaceRow>,
    why: String,
    probability: f64,
    sure: bool,
    at_odds: Vec<String>,
    along_mm: Option<f64>,
    along_within_mm: Option<f64>,
    along_from: Option<String>,
    not_begun: Option<String>,
}

#[derive(Debug, Serialize)]
pub(super) struct StepRow {
    order: String,
    why: String,
}

#[derive(Debug, Serialize)]
struct CauseRow {
    name: String,
    title: String,
    probability: f64,
    evidence_for: Vec<String>,
    evidence_against: Vec<String>,
    look: String,
    fix: String,
}

#[derive(Debug, Serialize)]
struct LookRow {
    question: String,
    answers: Vec<AnswerRow>,
    tells_bits: f64,
}

#[derive(Debug, Serialize)]
struct AnswerRow {
    word: String,
    meaning: String,
}

#[derive(Debug, Serialize)]
pub(super) struct ChoiceRow {
    kind: &'static str,
    title: String,
    file: Option<String>,
    trace_file: Option<String>,
    picture_file: Option<String>,
    trace_preconditions: Vec<String>,
    word_for_word: bool,
    cuts: Vec<u32>,
    joins: Vec<JoinRow>,
    given_up_parts: Vec<u32>,
    parts_at_risk: Vec<u32>,
    restarts_at: PlaceRow,
    starts: u32,
    nominal_time_s: f64,
    price: Option<PriceRow>,
    risks: Vec<String>,
    lines_kept: u32,
    lines_left_out: u32,
    lines_added: u32,
    proof: ProofRow,
}

#[derive(Debug, Serialize)]
struct RefusedRow {
    name: String,
    why: String,
}

#[derive(Debug, Serialize)]
struct JoinRow {
    cut: u32,
    start: &'static str,
    from_mm: f64,
    until_mm: f64,
    lit: PlaceRow,
}

#[derive(Debug, Serialize)]
pub(super) struct ProofRow {
    holds: bool,
    refused: Option<String>,
    figures: Vec<FigureRow>,
    preconditions: Vec<String>,
    unproven: Vec<String>,
}

#[derive(Debug, Serialize)]
struct FigureRow {
    name: String,
    worst: f64,
    limit: f64,
    unit: String,
}

#[derive(Debug, Serialize)]
struct StartAtRow {
    line: u32,
    holds_for: String,
    preconditions: Vec<String>,
}

/// What a plan document needs beside the plan.
#[derive(Debug)]
pub(crate) struct PlanFrame {
    /// The program.
    pub program: ProgramRow,
    /// What was assumed where nothing was told.
    pub assumed: Vec<String>,
    /// Names of the files written with it.
    pub files: Vec<String>,
    /// Names of each choice's files.
    pub choice_files: Vec<ChoiceFiles>,
}

/// Names of the files of a choice.
#[derive(Clone, Debug)]
pub(crate) struct ChoiceFiles {
    /// Its program.
    pub program: String,
    /// Its trace, if one could be written.
    pub trace: Option<String>,
    /// Its picture.
    pub picture: Option<String>,
}

impl PlanDocument {
    /// Name of the schema.
    pub(crate) const SCHEMA: &'static str = "platewright.plan";
    /// Its version.
    pub(crate) const VERSION: u32 = 4;

    /// The document of `plan`.
    #[must_use]
    pub(crate) fn new(plan: &RescuePlan, frame: PlanFrame) -> Self {
        let choices = plan.choices.iter().zip(&frame.choice_files);
        Self {
            schema: Self::SCHEMA,
            version: Self::VERSION,
            program: frame.program,
            proven: !plan.choices.is_empty(),
            stop: StopRow {
                cut: plan.stop.cut.number(),
                at: plan.stopped_at.map(PlaceRow::of),
                why: plan.stop.why.clone(),
                probability: rounded_share(plan.stop.probability),
                sure: plan.stop.sure,
                at_odds: plan.stop.at_odds.clone(),
                along_mm: plan.stop.along.as_ref().map(|along| rounded_mm(along.along_mm)),
                along_within_mm: plan.stop.along.as_ref().map(|along| rounded_mm(along.within_mm)),
                along_from: plan.stop.along.as_ref().map(|along| along.why.clone()),
                not_begun: plan.stop.not_begun.clone(),
            },
            steps: plan.steps.iter().map(StepRow::new).collect(),
            causes: plan.triage.causes.iter().map(CauseRow::new).collect(),
            next_looks: plan.triage.next_looks.iter().map(LookRow::new).collect(),
            not_understood: plan.triage.not_understood.clone(),
            choices: choices.map(|(choice, file)| ChoiceRow::new(choice, Some(file))).collect(),
            refused: plan
                .refused
                .iter()
                .map(|refused| RefusedRow { name: refused.name.clone(), why: refused.why.clone() })
                .collect(),
            none_because: plan.none_because.clone(),
            refound: plan.refound.as_ref().map(RefoundRow::new),
            wanted: plan.wanted.as_ref().map(|wanted| wanted.says.clone()),
            by_hand: plan.by_hand.iter().map(StepRow::new).collect(),
            trace_preconditions: plan.choices.first().into_iter().flat_map(trace_preconditions).collect(),
            start_at_line: plan.start_at_line.as_ref().map(|start| StartAtRow {
                line: start.line,
                holds_for: start.holds_for.clone(),
                preconditions: start.preconditions.clone(),
            }),
            cautions: plan.cautions.clone(),
            unchecked: plan.unchecked.clone(),
            assumed: frame.assumed,
            files: frame.files,
        }
    }
}

impl StepRow {
    pub(super) fn new(step: &Step) -> Self {
        Self { order: step.order.clone(), why: step.why.clone() }
    }
}

impl CauseRow {
    fn new(cause: &RankedCause) -> Self {
        Self {
            name: cause.name.clone(),
            title: cause.title.clone(),
            probability: rounded_share(cause.probability),
            evidence_for: cause.evidence_for.clone(),
            evidence_against: cause.evidence_against.clone(),
            look: cause.look.clone(),
            fix: cause.fix.clone(),
        }
    }
}

impl LookRow {
    fn new(look: &rescue::NextLook) -> Self {
        let answers = look.answers.iter();
        Self {
            question: look.question.clone(),
            answers: answers
                .map(|(word, meaning)| AnswerRow { word: word.clone(), meaning: meaning.clone() })
                .collect(),
            tells_bits: rounded_share(look.tells_bits),
        }
    }
}

/// What a way on costs.
#[derive(Debug, Serialize)]
struct PriceRow {
    currency: Option<String>,
    sum: Option<f64>,
    is_whole: bool,
    items: BTreeMap<&'static str, f64>,
    given_up: Option<f64>,
    at_risk: Option<f64>,
}

impl PriceRow {
    fn new(price: &Price) -> Self {
        let rounded = |amount: f64| (amount * 100.0).round() / 100.0;
        Self {
            currency: Some(price.currency.clone()).filter(|name| !name.is_empty()),
            sum: (!price.items.is_empty()).then(|| rounded(price.sum())),
            is_whole: price.is_whole,
            items: price.items.iter().map(|(name, item)| (*name, rounded(*item))).collect(),
            given_up: price.given_up.map(rounded),
            at_risk: price.at_risk.map(rounded),
        }
    }
}

impl ChoiceRow {
    pub(super) fn new(choice: &Choice, files: Option<&ChoiceFiles>) -> Self {
        Self {
            kind: kind_word(choice.kind),
            title: choice.title.clone(),
            file: files.map(|files| files.program.clone()),
            trace_file: files.and_then(|files| files.trace.clone()),
            picture_file: files.and_then(|files| files.picture.clone()),
            trace_preconditions: trace_preconditions(choice),
            word_for_word: choice.word_for_word,
            cuts: choice.promise.cuts.iter().map(|cut| cut.number()).collect(),
            joins: choice.lines.iter().filter_map(|ran| ran.join.as_ref()).map(JoinRow::new).collect(),
            parts_at_risk: choice.parts_at_risk.iter().map(|part| part.number()).collect(),
            given_up_parts: choice.given_up.iter().map(|part| part.number()).collect(),
            restarts_at: PlaceRow::of(choice.restarts_at),
            starts: choice.starts,
            nominal_time_s: rounded_s(choice.time_s),
            price: choice.price.as_ref().map(PriceRow::new),
            risks: choice.risks.clone(),
            lines_kept: choice.diff.kept,
            lines_left_out: choice.diff.left_out,
            lines_added: choice.diff.added,
            proof: ProofRow::new(&choice.proof),
        }
    }
}

/// What must be so before the trace of `choice`.
pub(super) fn trace_preconditions(choice: &Choice) -> Vec<String> {
    choice.trace.iter().flat_map(|trace| trace.preconditions.clone()).collect()
}

impl JoinRow {
    fn new(ran: &rescue::RanJoin) -> Self {
        Self {
            cut: ran.join.cut.number(),
            start: match ran.join.start {
                JoinStart::OwnPierce => "own-pierce",
                JoinStart::KerfEnd => "kerf-end",
                JoinStart::FreshPierce => "fresh-pierce",
                JoinStart::SecondPass => "second-pass",
                JoinStart::Backwards => "backwards",
            },
            from_mm: rounded_mm(ran.join.from_mm),
            until_mm: rounded_mm(ran.join.until_mm),
            lit: PlaceRow::of(ran.lit),
        }
    }
}

impl ProofRow {
    pub(super) fn new(proof: &Proof) -> Self {
        let figure = |figure: &proof::Figure| FigureRow {
            name: figure.name.to_owned(),
            worst: rounded_mm(figure.worst),
            limit: rounded_mm(figure.limit),
            unit: figure.unit.to_owned(),
        };
        Self {
            holds: proof.holds(),
            refused: proof.refused.as_ref().map(|reason| reason.message.clone()),
            figures: proof.figures.iter().map(figure).collect(),
            preconditions: proof.preconditions.clone(),
            unproven: proof.unproven.clone(),
        }
    }
}

/// A probability or the like, rounded to what means something.
fn rounded_share(share: f64) -> f64 {
    (share * 1e4).round() / 1e4
}
