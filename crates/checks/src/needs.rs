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
    /// How fast the axes gather speed.
    Acceleration,
    /// How fast the control reads.
    BlocksPerSecond,
    /// How far apart slats lie.
    SlatPitch,
    /// Compressor, receiver, regulator, hose and torch.
    Air,
    /// Least pressure at the source's inlet.
    PressureMin,
    /// What the source may burn in ten minutes.
    Duty,
    /// Current of the process.
    Current,
    /// How far the fitted set is through its life.
    SetUse,
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
            Self::Acceleration => "acceleration of the table",
            Self::BlocksPerSecond => "how many blocks the control reads in a second",
            Self::SlatPitch => "distance from slat to slat",
            Self::Air => "compressor, receiver, regulator, hose and flow of the torch",
            Self::PressureMin => "least inlet pressure of the source",
            Self::Duty => "rated duty cycle of the source",
            Self::Current => "current of the process",
            Self::SetUse => "starts on the fitted set and how many it lasts",
        }
    }

    /// Where it is told.
    pub(crate) const fn told_by(self) -> &'static str {
        match self {
            Self::Thickness => "`thickness` in the job file",
            Self::Plate => "`plate` in the job file",
            Self::Process => "`process` in the job file",
            Self::Chart => "`[[process.chart]]` in the shop file",
            Self::Fitted => "`[fitted] process` in the shop file",
            Self::Travel => "`[table] travel` in the shop file",
            Self::PlateAt => "`plate_at` in the job file",
            Self::SafeHeight => "`[table] safe_height` in the shop file",
            Self::DelaysPierce => "`[table] delays_pierce` in the shop file",
            Self::Acceleration => "`[table] acceleration` in the shop file",
            Self::BlocksPerSecond => "`[table] blocks_per_second` in the shop file",
            Self::SlatPitch => "`[table] slat_pitch` in the shop file",
            Self::Air => "`[air]` in the shop file",
            Self::PressureMin => "`[source] pressure_min` in the shop file",
            Self::Duty => "`[[source.duty]]` in the shop file",
            Self::Current => "`current` of the process in the shop file",
            Self::SetUse => "`[fitted] starts` and `life_starts` in the shop file",
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
            Self::Acceleration => context.shop.table.acceleration.is_some(),
            Self::BlocksPerSecond => context.shop.table.blocks_per_second.is_some(),
            Self::SlatPitch => context.shop.table.slat_pitch.is_some(),
            Self::Air => context.shop.air.as_ref().is_some_and(is_whole),
            Self::PressureMin => {
                context.shop.source.as_ref().is_some_and(|source| source.pressure_min.is_some())
            }
            Self::Duty => context.shop.source.as_ref().is_some_and(|source| !source.duty.is_empty()),
            Self::Current => context.shop.processes.iter().any(|process| process.current.is_some()),
            Self::SetUse => context.shop.fitted.as_ref().is_some_and(|fitted| {
                fitted.starts.is_some() && (fitted.life_starts.is_some() || context.shop.wear.is_some())
            }),
        }
    }
}

/// Whether all of the air plant is told that pressure at the inlet depends on; a shop that does not tell its height
/// lies at that of the sea.
const fn is_whole(air: &shop::Air) -> bool {
    air.delivery.is_some()
        && air.receiver.is_some()
        && air.cut_in.is_some()
        && air.cut_out.is_some()
        && air.regulator.is_some()
        && air.hose_length.is_some()
        && air.hose_bore.is_some()
        && air.torch_flow.is_some()
}
