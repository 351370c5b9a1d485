//! Facts that rules need and that may not be told, and where each is told.

use crate::context::Context;

/// A fact that a rule may need. In the order in which they are asked for where two would add as much.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Need {
    /// How thick the plate is.
    Thickness,
    /// How large it is.
    Plate,
    /// Which process is run.
    Process,
    /// The chart of the process.
    Chart,
    /// What is fitted in the torch.
    Fitted,
    /// How far the table reaches.
    Travel,
    /// Where the plate lies on it.
    PlateAt,
    /// Height at which loose pieces may be crossed.
    SafeHeight,
    /// Whether the control waits at a start by itself.
    DelaysPierce,
}

impl Need {
    /// The fact, as the user would name it.
    pub(crate) const fn fact(self) -> &'static str {
        match self {
            Self::Thickness => "thickness of the plate",
            Self::Plate => "size of the plate",
            Self::Process => "which process is run",
            Self::Chart => "chart of the process",
            Self::Fitted => "what is fitted in the torch",
            Self::Travel => "travel of the table",
            Self::PlateAt => "where the plate lies on the table",
            Self::SafeHeight => "height at which the torch may cross loose pieces",
            Self::DelaysPierce => "whether the control waits at a start by itself",
        }
    }

    /// Where it is told.
    pub(crate) const fn told_by(self) -> &'static str {
        match self {
            Self::Thickness => "`--thickness`, or `thickness` in the job file",
            Self::Plate => "`--plate`, or `plate` in the job file",
            Self::Process => "`--process`, or `process` in the job file",
            Self::Chart => "`[[process.chart]]` in the shop file",
            Self::Fitted => "`[fitted] process` in the shop file",
            Self::Travel => "`[table] travel` in the shop file",
            Self::PlateAt => "`plate_at` in the job file",
            Self::SafeHeight => "`[table] safe_height` in the shop file",
            Self::DelaysPierce => "`[table] delays_pierce` in the shop file",
        }
    }

    /// Whether it is told.
    pub(crate) fn is_told(self, context: &Context<'_>) -> bool {
        let job = context.facts.job;
        match self {
            Self::Thickness => job.thickness.is_some(),
            Self::Plate => job.plate.is_some(),
            Self::Process => context.is_process_told(),
            Self::Chart => context.shop.processes.iter().any(|process| !process.chart.rows().is_empty()),
            Self::Fitted => context.shop.fitted.is_some(),
            Self::Travel => context.shop.table.travel.is_some(),
            Self::PlateAt => job.plate_at.is_some(),
            Self::SafeHeight => context.shop.table.safe_height.is_some(),
            Self::DelaysPierce => context.shop.table.delays_pierce.is_some(),
        }
    }
}
