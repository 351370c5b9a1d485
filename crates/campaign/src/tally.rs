//! From rows to the table of what was saved.

use crate::case::{KINDS, kind_word};
use crate::judge::Unsafe;
use crate::operators::Operator;
use crate::run::Row;
use shop::StopKind;
use std::fmt::Write as _;

/// What was saved, by kind of stop.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tally {
    /// Rows in the order of [`KINDS`]; kinds that did not come are left out.
    pub rows: Vec<TallyRow>,
    /// All kinds together.
    pub all: TallyRow,
    /// All kinds, where a second stop came.
    pub twice: TallyRow,
}

/// Counts of one kind of stop.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct TallyRow {
    /// The kind; none for several together.
    pub kind: Option<StopKind>,
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
    /// Stops after which every part that could be saved was.
    pub clean: usize,
    /// Parts saved that could not be.
    pub saved_not_savable: usize,
    /// Unsafe moments: starts over a void, starts without a touch-off, low travel over a loose piece, torch left on,
    /// parts cut into.
    pub moments: [usize; 5],
}

impl Count {
    /// All unsafe moments together.
    #[must_use]
    pub fn all_moments(&self) -> usize {
        self.moments.iter().sum()
    }
}

/// Kinds of unsafe moment in the order of [`Count::moments`].
pub const MOMENTS: [(Unsafe, &str); 5] = [
    (Unsafe::StartOverVoid, "start over a void"),
    (Unsafe::StartUnfound, "start without a touch-off"),
    (Unsafe::LowOverLoose, "low travel over a loose piece"),
    (Unsafe::LeftOn, "torch left on"),
    (Unsafe::IntoPart, "part cut into"),
];

impl Tally {
    /// The tally of all rows.
    #[must_use]
    pub fn of(rows: &[Row]) -> Self {
        let kinds = KINDS.iter().filter_map(|kind| {
            let own = rows.iter().filter(|row| row.case.kind == *kind);
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
        self.clean += usize::from(savable == saved);
        let (savable, saved) = row.count(who, true);
        self.interrupted_savable += savable;
        self.interrupted_saved += saved;
        self.saved_not_savable += row.saved_not_savable(who).count();
        for moment in row.moments(who) {
            let k = MOMENTS.iter().position(|(other, _)| other == moment);
            self.moments[k.unwrap_or(0)] += 1;
        }
    }
}

/// The table of parts saved by kind of stop, as Markdown.
#[must_use]
pub fn markdown(tally: &Tally) -> String {
    let mut text = String::from(
        "| stop | stops | parts that could be saved | planner | skilled hand | plain hand |\n|---|--:|--:|--:|--:|--:|\n",
    );
    for row in &tally.rows {
        push_row(&mut text, row.kind.map_or("", kind_word), row, false);
    }
    push_row(&mut text, "**all**", &tally.all, false);
    push_row(&mut text, "of them, parts with an interrupted cut", &tally.all, true);
    push_row(&mut text, "stopped twice", &tally.twice, false);
    let unsafe_of = |k: usize| tally.all.operators[k].all_moments();
    let _ = writeln!(text, "| unsafe moments | | | {} | {} | {} |", unsafe_of(0), unsafe_of(1), unsafe_of(2));
    text
}

fn push_row(text: &mut String, name: &str, row: &TallyRow, interrupted: bool) {
    let pick = |count: &Count| {
        if interrupted {
            (count.interrupted_savable, count.interrupted_saved)
        } else {
            (count.savable, count.saved)
        }
    };
    let _ = write!(text, "| {name} | {} | {} |", row.stops, pick(&row.operators[0]).0);
    for count in &row.operators {
        let (savable, saved) = pick(count);
        let _ = write!(text, " {} |", share(saved, savable));
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
