//! From rows to the table of what was saved.

use crate::judge::Unsafe;
use crate::kind::{FAULTS, FaultKind};
use crate::operators::Operator;
use crate::run::Row;
use std::fmt::Write as _;

/// What was saved, by kind of fault.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tally {
    /// Rows in the order of [`FAULTS`]; kinds that did not come are left out.
    pub rows: Vec<TallyRow>,
    /// All kinds together.
    pub all: TallyRow,
    /// All kinds, where a second fault came.
    pub twice: TallyRow,
}

/// Counts of one kind of fault.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct TallyRow {
    /// The kind; none for several together.
    pub kind: Option<FaultKind>,
    /// Stops.
    pub stops: usize,
    /// Parts not finished at the stop.
    pub at_risk: usize,
    /// Counts of each operator, in the order of [`Operator::ALL`].
    pub operators: [Count; 3],
}

/// Counts of one operator.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Count {
    /// Parts that could be saved.
    pub savable: usize,
    /// Of those, saved.
    pub saved: usize,
    /// Parts with an interrupted cut that could be saved.
    pub interrupted_savable: usize,
    /// Of those, saved.
    pub interrupted_saved: usize,
    /// Stops at which some part could be saved.
    pub stops: usize,
    /// Of those, the ones after which every such part was.
    pub clean: usize,
    /// Of the parts saved, those finished by a cut run backwards, whose square side is the other.
    pub backwards: usize,
    /// Parts at risk that were lost and made anew at another place of the plate; not counted as saved.
    pub anew: usize,
    /// Parts saved that could not be: must be none, or the judge is wrong.
    pub saved_not_savable: usize,
    /// Parts that landed within the tolerance although nobody could be sure of it; not counted as saved.
    pub by_luck: usize,
    /// Unsafe moments: starts over a void, starts without a touch-off, low travel over a loose piece, a start command
    /// standing, torch left on, parts cut into.
    pub moments: [usize; 6],
    /// Unsafe moments of programs that rest on a report that named the wrong cut.
    pub misled: usize,
}

impl Count {
    /// All unsafe moments together.
    #[must_use]
    pub fn all_moments(&self) -> usize {
        self.moments.iter().sum()
    }
}

/// Kinds of unsafe moment in the order of [`Count::moments`].
pub const MOMENTS: [(Unsafe, &str); 6] = [
    (Unsafe::StartOverVoid, "start over a void"),
    (Unsafe::StartUnfound, "start without a touch-off"),
    (Unsafe::StartStands, "start command standing"),
    (Unsafe::LowOverLoose, "low travel over a loose piece"),
    (Unsafe::LeftOn, "torch left on"),
    (Unsafe::IntoPart, "part cut into"),
];

impl Tally {
    /// The tally of all rows.
    #[must_use]
    pub fn of(rows: &[Row]) -> Self {
        let kinds = FAULTS.iter().filter_map(|(kind, _)| {
            let own = rows.iter().filter(|row| row.case.fault == *kind);
            let row = TallyRow { kind: Some(*kind), ..TallyRow::of(own) };
            (row.stops > 0).then_some(row)
        });
        let second = |row: &&Row| row.of(Operator::Planner).did.second;
        Self {
            rows: kinds.collect(),
            all: TallyRow::of(rows.iter()),
            twice: TallyRow::of(rows.iter().filter(second)),
        }
    }
}

impl TallyRow {
    fn of<'r>(rows: impl Iterator<Item = &'r Row>) -> Self {
        let mut all = Self::default();
        for row in rows {
            all.stops += 1;
            all.at_risk += row.at_risk.len();
            for (count, who) in all.operators.iter_mut().zip(Operator::ALL) {
                count.add(row, who);
            }
        }
        all
    }
}

impl Count {
    fn add(&mut self, row: &Row, who: Operator) {
        let (savable, saved) = row.count(who, false);
        self.savable += savable;
        self.saved += saved;
        self.stops += usize::from(savable > 0);
        self.clean += usize::from(savable > 0 && savable == saved);
        let (savable, saved) = row.count(who, true);
        self.interrupted_savable += savable;
        self.interrupted_saved += saved;
        let outcome = row.of(who);
        self.backwards += outcome.saved.iter().filter(|part| outcome.did.backwards.contains(part)).count();
        self.anew += outcome.anew.len();
        self.saved_not_savable += row.saved_not_savable(who).count();
        self.by_luck += row.saved_by_luck(who).count();
        self.misled += outcome.did.misled.len();
        for moment in row.moments(who) {
            let k = MOMENTS.iter().position(|(other, _)| other == moment);
            self.moments[k.unwrap_or(0)] += 1;
        }
    }
}

/// The tables of what was saved by kind of fault, as Markdown: parts, then stops after which all of them were. Of the
/// planner's, parts finished by a cut run backwards (among those saved) and parts made anew elsewhere (not among them) stand
/// in columns of their own.
#[must_use]
pub fn markdown(tally: &Tally) -> String {
    let mut text = String::from(
        "| fault | stops | parts that could be saved | planner | of them backwards | made anew besides | \
         skilled hand | plain hand |\n|---|--:|--:|--:|--:|--:|--:|--:|\n",
    );
    let parts = |count: &Count| (count.savable, count.saved);
    let own = |count: &Count| format!(" {} | {} |", count.backwards, count.anew);
    for row in tally.rows.iter().chain([&tally.all]) {
        push_row(&mut text, row.name(), row, parts, own);
    }
    let interrupted = |count: &Count| (count.interrupted_savable, count.interrupted_saved);
    push_row(&mut text, "with an interrupted cut", &tally.all, interrupted, |_| " | |".to_owned());
    push_row(&mut text, "struck twice", &tally.twice, parts, own);
    text.push_str(
        "\n| fault | stops | where a part could be saved | planner | skilled hand | plain hand |\n\
         |---|--:|--:|--:|--:|--:|\n",
    );
    for row in tally.rows.iter().chain([&tally.all]) {
        push_row(&mut text, row.name(), row, |count| (count.stops, count.clean), |_| String::new());
    }
    text
}

impl TallyRow {
    fn name(&self) -> &'static str {
        self.kind.map_or("**all**", FaultKind::word)
    }
}

/// A row: the name, stops, and each operator's share; after the planner's what `own` says of his.
fn push_row(
    text: &mut String,
    name: &str,
    row: &TallyRow,
    pick: impl Fn(&Count) -> (usize, usize),
    own: impl Fn(&Count) -> String,
) {
    let _ = write!(text, "| {name} | {} | {} |", row.stops, pick(&row.operators[0]).0);
    for (k, count) in row.operators.iter().enumerate() {
        let (savable, saved) = pick(count);
        let _ = write!(text, " {} |", share(saved, savable));
        if k == 0 {
            text.push_str(&own(count));
        }
    }
    text.push('\n');
}

/// A share in per cent with one decimal, rounded down so that 100.0 % means all.
#[must_use]
pub(crate) fn share(of: usize, all: usize) -> String {
    match (of * 1000).checked_div(all) {
        None => "–".to_owned(),
        Some(tenths) => format!("{}.{} %", tenths / 10, tenths % 10),
    }
}
