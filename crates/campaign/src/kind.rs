//! The kinds of fault that a campaign strikes with.

use shop::StopKind;

/// A kind of fault.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum FaultKind {
    /// No air arrives.
    NoAir,
    /// The compressor fails, and the receiver empties.
    AirFalls,
    /// The hose is kinked.
    HoseKinked,
    /// The source is off.
    SourceOff,
    /// The work lead is off.
    WorkLeadOff,
    /// The consumables are worn.
    ConsumablesWorn,
    /// The wrong consumables are fitted.
    ConsumablesWrong,
    /// The touch-off is fooled: the torch stands too high.
    TouchOffFooled,
    /// Thin sheet flexes under the touch-off: the nozzle is on the plate.
    SheetFlexes,
    /// The plate moves, and the torch cuts on.
    PlateMoved,
    /// Steps are lost, and the torch cuts on.
    StepsLost,
    /// A tip-up is struck, and the plate moves.
    Struck,
    /// Power is cut, and the offsets are lost.
    PowerCut,
    /// The datum was set in a wrong place.
    WrongDatum,
    /// The arc is lost.
    ArcLost,
    /// The arc is lost, and the bottom of the kerf lags behind.
    BottomLags,
    /// The cut is only a groove.
    Groove,
    /// A hole is blown at the pierce.
    BlownHole,
    /// The control runs on dry over several cuts.
    RanDry,
    /// The arc is lost, and the report names the wrong cut and a wrong end of the kerf.
    WrongReport,
    /// The arc does not go out.
    ArcStaysOn,
    /// Somebody stops the program.
    ByHand,
    /// The cut is bad from a place on.
    BadCut,
}

/// All kinds of fault with their words, in the order in which tables list them.
pub const FAULTS: [(FaultKind, &str); 23] = [
    (FaultKind::NoAir, "no-air"),
    (FaultKind::AirFalls, "air-falls"),
    (FaultKind::HoseKinked, "hose-kinked"),
    (FaultKind::SourceOff, "source-off"),
    (FaultKind::WorkLeadOff, "work-lead-off"),
    (FaultKind::ConsumablesWorn, "consumables-worn"),
    (FaultKind::ConsumablesWrong, "consumables-wrong"),
    (FaultKind::TouchOffFooled, "touch-off-fooled"),
    (FaultKind::SheetFlexes, "sheet-flexes"),
    (FaultKind::PlateMoved, "plate-moved"),
    (FaultKind::StepsLost, "steps-lost"),
    (FaultKind::Struck, "struck"),
    (FaultKind::PowerCut, "power-cut"),
    (FaultKind::WrongDatum, "wrong-datum"),
    (FaultKind::ArcLost, "arc-lost"),
    (FaultKind::BottomLags, "bottom-lags"),
    (FaultKind::Groove, "groove"),
    (FaultKind::BlownHole, "blown-hole"),
    (FaultKind::RanDry, "ran-dry"),
    (FaultKind::WrongReport, "wrong-report"),
    (FaultKind::ArcStaysOn, "arc-stays-on"),
    (FaultKind::ByHand, "by-hand"),
    (FaultKind::BadCut, "bad-cut"),
];

/// Words of kinds of stop that stand for a fault where a case was told by its stop.
pub(crate) const BY_STOP: [(&str, FaultKind); 4] = [
    ("no-transfer", FaultKind::WorkLeadOff),
    ("no-motion", FaultKind::BlownHole),
    ("not-through", FaultKind::Groove),
    ("control-froze", FaultKind::PowerCut),
];

/// Kinds that may come as a second fault, at a start of the rescue or along what it burns. A wrong datum does not: it was
/// wrong from the beginning, and is found at the first stop.
pub const SECOND: [FaultKind; 22] = [
    FaultKind::NoAir,
    FaultKind::HoseKinked,
    FaultKind::SourceOff,
    FaultKind::WorkLeadOff,
    FaultKind::ConsumablesWorn,
    FaultKind::ConsumablesWrong,
    FaultKind::TouchOffFooled,
    FaultKind::SheetFlexes,
    FaultKind::ArcLost,
    FaultKind::BottomLags,
    FaultKind::BlownHole,
    FaultKind::ByHand,
    FaultKind::PlateMoved,
    FaultKind::StepsLost,
    FaultKind::Struck,
    FaultKind::PowerCut,
    FaultKind::AirFalls,
    FaultKind::Groove,
    FaultKind::RanDry,
    FaultKind::WrongReport,
    FaultKind::ArcStaysOn,
    FaultKind::BadCut,
];

impl FaultKind {
    /// Its word.
    #[must_use]
    pub fn word(self) -> &'static str {
        FAULTS.iter().find(|(kind, _)| *kind == self).map_or("", |(_, word)| word)
    }

    /// The kind with this word.
    #[must_use]
    pub fn of_word(word: &str) -> Option<Self> {
        let own = FAULTS.iter().find(|(_, own)| *own == word).map(|(kind, _)| *kind);
        own.or_else(|| BY_STOP.iter().find(|(own, _)| *own == word).map(|(_, kind)| *kind))
    }

    /// Whether it lies in what the torch is fed by: it strikes at a start as well as in a cut.
    #[must_use]
    pub const fn is_of_supply(self) -> bool {
        matches!(
            self,
            Self::NoAir
                | Self::HoseKinked
                | Self::SourceOff
                | Self::WorkLeadOff
                | Self::ConsumablesWorn
                | Self::ConsumablesWrong
        )
    }

    /// Whether it strikes at a start only.
    #[must_use]
    pub const fn is_of_start(self) -> bool {
        matches!(self, Self::TouchOffFooled | Self::SheetFlexes | Self::BlownHole)
    }

    /// Whether the plate may lie elsewhere under the control afterwards.
    #[must_use]
    pub const fn moves(self) -> bool {
        matches!(self, Self::PlateMoved | Self::StepsLost | Self::Struck | Self::PowerCut)
    }

    /// What an operator reports who has stopped the program because of it.
    pub(crate) const fn seen_as(self) -> StopKind {
        match self {
            Self::PlateMoved | Self::StepsLost => StopKind::PlateMoved,
            Self::WrongDatum => StopKind::WrongDatum,
            Self::Groove => StopKind::NotThrough,
            Self::RanDry => StopKind::RanDry,
            Self::BadCut => StopKind::BadCut,
            Self::Struck => StopKind::Struck,
            Self::PowerCut => StopKind::ControlFroze,
            _ => StopKind::ByHand,
        }
    }
}
