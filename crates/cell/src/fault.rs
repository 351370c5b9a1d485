//! Faults as data: what goes wrong, and when.

use cuts::CutId;
use geometry::{Placement, Program};

/// Something that goes wrong during a run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fault {
    /// What.
    pub what: Trouble,
    /// When.
    pub when: When,
}

/// When a fault strikes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum When {
    /// At the start of this number, from 1, counted over all runs of the cell.
    Start(u32),
    /// At this time on the cell's clock, in seconds.
    Time(f64),
    /// When the torch is this far along a cut's path, in millimetres.
    Place {
        /// The cut of the program that runs.
        cut: CutId,
        /// How far along it.
        along_mm: f64,
    },
}

/// What goes wrong.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Trouble {
    /// No air arrives at the source.
    NoAir,
    /// The compressor fails: what the receiver holds is all there is.
    AirFalling,
    /// A kink in the hose: its loss is so many times what it was.
    HoseKinked {
        /// Times the loss.
        loss: f64,
    },
    /// The source is off.
    SourceOff,
    /// The work lead is off.
    WorkLeadOff,
    /// Consumables are worn: each start fails with this probability, and an arc that burns goes out.
    ConsumablesWorn {
        /// Probability, 0 to 1.
        fails: f64,
    },
    /// The wrong consumables are fitted.
    ConsumablesWrong,
    /// The touch-off is fooled: the torch stands this much higher than it should, or lower.
    TouchOffFooled {
        /// Millimetres, higher positive.
        high_mm: f64,
    },
    /// Thin sheet gives way under the touch-off and springs back: the torch stands this much lower.
    SheetFlexes {
        /// Millimetres.
        by_mm: f64,
    },
    /// The plate moves.
    PlateMoved(Placement<Program, Program>),
    /// The axes lose steps.
    StepsLost {
        /// Where the torch is from where the control believes, in millimetres.
        by_mm: [f64; 2],
    },
    /// The torch strikes a piece that stands up: it stops, and steps are lost.
    TipUpStruck {
        /// Where the torch is from where the control believes, in millimetres.
        by_mm: [f64; 2],
    },
    /// Power is cut. Without switches or memory the position is lost.
    PowerCut {
        /// Where the torch then is from where the control believes, in millimetres; nothing where the table finds its
        /// zero again.
        lost_mm: [f64; 2],
    },
    /// The datum is set in a wrong place.
    WrongDatum {
        /// Where the torch is from where it should be, in millimetres.
        by_mm: [f64; 2],
    },
    /// The arc is lost.
    ArcLost,
    /// The arc is lost, and the bottom of the kerf lags behind.
    ArcLostBottomLagging {
        /// By how much, in millimetres.
        lag_mm: f64,
    },
    /// The cut does not come through for so long a way.
    Groove {
        /// Millimetres.
        for_mm: f64,
    },
    /// The pierce blows a hole.
    BlownHole {
        /// Its diameter, in millimetres.
        diameter_mm: f64,
    },
    /// The arc goes out or does not come for so many cuts, and the control believes in it.
    RunsDry {
        /// Cuts.
        cuts: u32,
    },
    /// The kerf gets wider than it should be.
    CutsWide {
        /// By how much on either side, in millimetres.
        by_mm: f64,
    },
    /// The arc does not go out at the end of the cut, and blows a hole.
    ArcStaysOn {
        /// Its diameter, in millimetres.
        diameter_mm: f64,
    },
    /// Somebody stops the program.
    StoppedByHand,
    /// The operator's report is wrong.
    WrongReport {
        /// By how much the end of the kerf is told wrong, in millimetres.
        kerf_mm: f64,
        /// By how many cuts the wrong one is named.
        cuts: i32,
    },
}

impl Trouble {
    /// Whether it lasts until it is mended, rather than striking once.
    #[must_use]
    pub const fn lasts(self) -> bool {
        matches!(
            self,
            Self::NoAir
                | Self::AirFalling
                | Self::HoseKinked { .. }
                | Self::SourceOff
                | Self::WorkLeadOff
                | Self::ConsumablesWorn { .. }
                | Self::ConsumablesWrong
                | Self::CutsWide { .. }
        )
    }

    /// Whether it needs an arc to strike.
    pub(crate) const fn needs_arc(self) -> bool {
        matches!(self, Self::ArcLost | Self::ArcLostBottomLagging { .. } | Self::Groove { .. })
    }
}
