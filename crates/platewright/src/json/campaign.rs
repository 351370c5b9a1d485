//! A campaign, as `campaign --json` prints it.

use super::ProgramRow;
use campaign::{Count, FaultKind, MOMENTS, Operator, Row, Tally, TallyRow};
use serde::Serialize;

/// The document.
#[derive(Debug, Serialize)]
pub(crate) struct CampaignDocument<'a> {
    schema: &'static str,
    version: u32,
    seed: u64,
    runs: usize,
    program: Option<&'a ProgramRow>,
    faults: Vec<FaultRow>,
    all: FaultRow,
    twice: FaultRow,
    failures: Vec<FailureRow>,
}

#[derive(Debug, Serialize)]
struct FaultRow {
    fault: Option<&'static str>,
    stops: usize,
    at_risk_parts: usize,
    operators: Vec<OperatorRow>,
}

#[derive(Debug, Serialize)]
struct OperatorRow {
    operator: &'static str,
    savable_parts: usize,
    saved_parts: usize,
    interrupted_savable_parts: usize,
    interrupted_saved_parts: usize,
    backwards_saved_parts: usize,
    made_anew_parts: usize,
    stops_with_savable: usize,
    stops_all_saved: usize,
    saved_not_savable_parts: usize,
    saved_by_luck_parts: usize,
    unsafe_moments: Vec<MomentRow>,
    unsafe_moments_after_wrong_reports: usize,
}

#[derive(Debug, Serialize)]
struct MomentRow {
    moment: &'static str,
    times: usize,
}

/// A failure of the planner, made small.
#[derive(Debug, Serialize)]
pub(crate) struct FailureRow {
    case: String,
    replay: String,
    stops: usize,
    fault: &'static str,
    savable_parts: usize,
    saved_parts: usize,
    unsafe_moments: Vec<&'static str>,
    ended: String,
}

impl<'a> CampaignDocument<'a> {
    /// The document of a campaign.
    #[must_use]
    pub(crate) fn new(
        seed: u64,
        program: Option<&'a ProgramRow>,
        tally: &Tally,
        failures: Vec<FailureRow>,
    ) -> Self {
        Self {
            schema: "platewright.campaign",
            version: 2,
            seed,
            runs: tally.all.stops,
            program,
            faults: tally.rows.iter().map(FaultRow::new).collect(),
            all: FaultRow::new(&tally.all),
            twice: FaultRow::new(&tally.twice),
            failures,
        }
    }
}

impl FaultRow {
    fn new(row: &TallyRow) -> Self {
        let operators = row.operators.iter().zip(Operator::ALL);
        Self {
            fault: row.kind.map(FaultKind::word),
            stops: row.stops,
            at_risk_parts: row.at_risk,
            operators: operators.map(|(count, who)| OperatorRow::new(count, who)).collect(),
        }
    }
}

impl OperatorRow {
    fn new(count: &Count, who: Operator) -> Self {
        let moments = MOMENTS.iter().zip(count.moments);
        Self {
            operator: match who {
                Operator::Planner => "planner",
                Operator::Skilled => "skilled",
                Operator::Plain => "plain",
            },
            savable_parts: count.savable,
            saved_parts: count.saved,
            interrupted_savable_parts: count.interrupted_savable,
            interrupted_saved_parts: count.interrupted_saved,
            backwards_saved_parts: count.backwards,
            made_anew_parts: count.anew,
            stops_with_savable: count.stops,
            stops_all_saved: count.clean,
            saved_not_savable_parts: count.saved_not_savable,
            saved_by_luck_parts: count.by_luck,
            unsafe_moments: moments.map(|((_, moment), times)| MomentRow { moment, times }).collect(),
            unsafe_moments_after_wrong_reports: count.misled,
        }
    }
}

impl FailureRow {
    /// The row of a case that stands for so many that failed in its way. `given` are the words of the command that name
    /// the program, with a blank after them.
    #[must_use]
    pub(crate) fn new(row: &Row, stops: usize, given: &str) -> Self {
        let (savable_parts, saved_parts) = row.count(Operator::Planner, false);
        let word = |moment: &campaign::judge::Unsafe| {
            MOMENTS.iter().find(|(other, _)| other == moment).map_or("", |(_, word)| word)
        };
        Self {
            case: row.case.to_string(),
            replay: format!("platewright campaign {given}--case '{}'", row.case),
            stops,
            fault: row.case.fault.word(),
            savable_parts,
            saved_parts,
            unsafe_moments: row.moments(Operator::Planner).iter().map(word).collect(),
            ended: row.of(Operator::Planner).did.ended.clone(),
        }
    }

    /// What failed, in a sentence or two.
    #[must_use]
    pub(crate) fn in_words(&self) -> String {
        let moments = if self.unsafe_moments.is_empty() {
            String::new()
        } else {
            format!(" Unsafe: {}.", self.unsafe_moments.join(", "))
        };
        format!(
            "{} × {}; made small, {} of {} parts that could be saved.{moments} It ended: {}",
            self.stops, self.fault, self.saved_parts, self.savable_parts, self.ended
        )
    }

    /// The command that runs it again.
    #[must_use]
    pub(crate) fn replay(&self) -> &str {
        &self.replay
    }
}
