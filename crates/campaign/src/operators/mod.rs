//! Who goes on after a stop: the planner, and two hands.

pub(crate) mod hands;
pub(crate) mod planner;

use crate::judge::{Deeds, Lie, Unsafe};
use crate::stand::Stand;
use cell::Act;

/// Who goes on after a stop.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Operator {
    /// Follows the rescue plan.
    Planner,
    /// A practised hand: back along the path with an overlap and an edge start, a moved plate set again from two points.
    Skilled,
    /// Back to the previous torch-off, and start again from there.
    Plain,
}

impl Operator {
    /// All of them, in the order of tables.
    pub const ALL: [Self; 3] = [Self::Planner, Self::Skilled, Self::Plain];

    /// Its name in tables.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Planner => "planner",
            Self::Skilled => "skilled hand",
            Self::Plain => "plain hand",
        }
    }
}

/// Most programs that one operator runs after one stop: past it he gives up.
const PROGRAMS_MOST: u32 = 8;

/// What an operator did.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Did {
    /// How it ended, in a few words.
    pub ended: String,
    /// Programs he ran.
    pub programs: u32,
    /// Unsafe moments.
    pub moments: Vec<Unsafe>,
    /// Unsafe moments of programs that rest on a wrong report of which cut it was.
    pub misled: Vec<Unsafe>,
    /// Whether the second fault came about.
    pub second: bool,
    /// Parts that the second fault itself has ruined, by index.
    pub ruined: Vec<usize>,
    /// Parts that were finished by a cut run backwards, by index.
    pub backwards: Vec<usize>,
    /// Parts that were made anew, by index, with where.
    pub anew: Vec<(usize, Lie)>,
}

impl Did {
    /// Notes a program that was run; `misled` if it rests on a wrong report of which cut it was.
    fn ran(&mut self, deeds: &Deeds, misled: bool) {
        self.programs += 1;
        let moments = if misled { &mut self.misled } else { &mut self.moments };
        moments.extend(&deeds.moments);
        self.ruined.extend(&deeds.ruined);
    }
}

/// How long the air has to come back and the source to cool before anybody starts again, in seconds.
const REST_S: f64 = 600.0;

/// Everything that ails the cell is found and mended.
fn mending(stand: &Stand<'_>) -> impl Iterator<Item = Act> {
    let ails: Vec<Act> = stand.cell.ails().iter().map(|ail| Act::Mend(*ail)).collect();
    ails.into_iter().chain([Act::Wait(REST_S)])
}
