//! With what an arc is in trouble: causes have other shares, and other questions make sense, where it never came, where
//! it was lost, and where it cuts badly.

use shop::{StopKind, StopReport};

/// What the arc did.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trouble {
    /// It did not come, or came without the machine's knowing.
    NoStart,
    /// It was lost on the way.
    Lost,
    /// It burned and did not cut as it should.
    BadCut,
}

impl Trouble {
    /// All of them, in the order of [`crate::triage::CauseRow::shares`].
    pub const ALL: [Self; 3] = [Self::NoStart, Self::Lost, Self::BadCut];

    /// What a stop says about the arc; none if the arc had no part in it, so that there is nothing to rank. A stop of
    /// which no kind is told is a start that failed; and so is one where the control ran on dry and no kerf was left.
    #[must_use]
    pub const fn of(stop: &StopReport) -> Option<Self> {
        let has_kerf = stop.kerf_to.is_some() || stop.kerf_at.is_some();
        match stop.kind {
            None | Some(StopKind::NoTransfer | StopKind::NoMotion) => Some(Self::NoStart),
            Some(StopKind::RanDry) if !has_kerf => Some(Self::NoStart),
            Some(StopKind::ArcLost | StopKind::RanDry) => Some(Self::Lost),
            Some(StopKind::NotThrough | StopKind::BadCut) => Some(Self::BadCut),
            Some(
                StopKind::ArcStaysOn
                | StopKind::ByHand
                | StopKind::Struck
                | StopKind::ControlFroze
                | StopKind::PlateMoved
                | StopKind::WrongDatum,
            ) => None,
        }
    }

    /// In words, after "of a hundred".
    #[must_use]
    pub const fn in_words(self) -> &'static str {
        match self {
            Self::NoStart => "failed starts",
            Self::Lost => "arcs lost on the way",
            Self::BadCut => "cuts that are bad or not through",
        }
    }
}
