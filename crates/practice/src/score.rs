//! The score: what was got of each area, and for each lost point why.

use crate::slip::Slip;

/// What is scored.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Area {
    /// The order of work, above all.
    Order,
    /// Parts finished.
    Parts,
    /// What became of plate and torch besides.
    Plate,
    /// Time at the table.
    Time,
}

impl Area {
    /// All of them, in the order in which they are told.
    pub const ALL: [Self; 4] = [Self::Order, Self::Parts, Self::Plate, Self::Time];

    /// Most points there are for it; all together 100.
    #[must_use]
    pub const fn of(self) -> u32 {
        match self {
            Self::Order => 50,
            Self::Parts => 25,
            Self::Plate => 15,
            Self::Time => 10,
        }
    }

    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Order => "order of work",
            Self::Parts => "parts",
            Self::Plate => "plate",
            Self::Time => "time",
        }
    }
}

/// Points from which on a session is passed, if nobody's hands were in danger.
pub(crate) const PASS: u32 = 70;

/// A score.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Score {
    /// What was lost: in which area, points, why. In the order in which areas are told, then as it happened.
    pub lost: Vec<(Area, u32, String)>,
    /// Whether hands were in danger: then it is not passed, whatever else.
    pub hands: bool,
    /// Whether a program ran to its end: a session that is given up is not passed.
    pub ran: bool,
}

impl Score {
    /// Points got in an area, not below 0.
    #[must_use]
    pub fn got(&self, area: Area) -> u32 {
        let lost: u32 = self.lost.iter().filter(|(of, ..)| *of == area).map(|(_, points, _)| points).sum();
        area.of().saturating_sub(lost)
    }

    /// Points got, 0 to 100.
    #[must_use]
    pub fn total(&self) -> u32 {
        Area::ALL.into_iter().map(|area| self.got(area)).sum()
    }

    /// Whether it is passed: enough points, a program that ran to its end, and nobody's hands in danger.
    #[must_use]
    pub fn passed(&self) -> bool {
        self.ran && !self.hands && self.total() >= PASS
    }

    pub(crate) fn slip(&mut self, slip: Slip) {
        self.hands |= matches!(slip, Slip::HandsUnderStart | Slip::HandsNotIsolated | Slip::HandsTooSoon);
        self.lose(slip.area(), slip.points(), slip.why().to_owned());
    }

    pub(crate) fn lose(&mut self, area: Area, points: u32, why: String) {
        if points > 0 {
            self.lost.push((area, points, why));
        }
    }

    pub(crate) fn sorted(mut self) -> Self {
        self.lost.sort_by_key(|(area, ..)| *area);
        self
    }
}
