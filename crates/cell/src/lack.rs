//! Facts that a forecast may want and that nobody has told, and where each is told.

/// A fact that is missing. In the order in which facts are asked for where two would add as much.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Lack {
    /// How thick the plate is.
    Thickness,
    /// Which process is run.
    Process,
    /// Speed of rapids.
    Rapid,
    /// Acceleration of the axes.
    Acceleration,
    /// How long a touch-off by the control takes.
    TouchOffTime,
    /// Speed of rapids up and down.
    RapidZ,
    /// Flow of the torch.
    TorchFlow,
    /// Free-air delivery.
    Delivery,
    /// Volume of the receiver.
    ReceiverVolume,
    /// Pressures at which the compressor starts and stops.
    CutInCutOut,
    /// Regulator setting.
    Regulator,
    /// Length and bore of the hose.
    Hose,
    /// Least inlet pressure.
    PressureMin,
    /// Rated points of the source.
    Duty,
    /// Current of the process.
    Current,
    /// Starts on the fitted set.
    StartsOnSet,
    /// Starts after which a set is changed.
    LifeStarts,
    /// An hour's price.
    HourPrice,
    /// Arc voltage in the chart.
    Volts,
    /// Gas before the pilot.
    Preflow,
    /// Pilot until transfer.
    TransferTime,
    /// Gas after the arc.
    PostFlow,
    /// How far corners are rounded off.
    PathTolerance,
    /// Blocks read in a second.
    BlocksPerSecond,
    /// How sets wear.
    WearLaw,
    /// A set's price.
    SetPrice,
    /// A kilowatt-hour's price.
    PowerPrice,
    /// Share of the mains' power that reaches the arc.
    Efficiency,
    /// A cubic metre's price.
    GasPrice,
}

impl Lack {
    /// The fact, as the user would name it.
    #[must_use]
    pub const fn fact(self) -> &'static str {
        match self {
            Self::Thickness => "thickness of the plate",
            Self::Process => "which process is run",
            Self::Acceleration => "acceleration of the table",
            Self::Rapid => "speed of rapid motion",
            Self::PathTolerance => "how far the control rounds off corners",
            Self::RapidZ => "speed of rapid motion up and down",
            Self::TouchOffTime => "how long a touch-off takes",
            Self::BlocksPerSecond => "how many blocks the control reads in a second",
            Self::Preflow => "how long gas flows before the pilot arc",
            Self::TransferTime => "how long the pilot arc burns until transfer",
            Self::PostFlow => "how long gas flows after the arc",
            Self::Duty => "rated duty cycle of the source",
            Self::Current => "current of the process",
            Self::Volts => "arc voltage in the chart",
            Self::TorchFlow => "flow of the torch",
            Self::PressureMin => "least inlet pressure of the source",
            Self::Delivery => "free-air delivery of the compressor",
            Self::ReceiverVolume => "volume of the receiver",
            Self::CutInCutOut => "pressures at which the compressor starts and stops",
            Self::Regulator => "setting of the regulator",
            Self::Hose => "length and bore of the hose",
            Self::StartsOnSet => "starts on the fitted set",
            Self::LifeStarts => "starts after which a set is changed",
            Self::WearLaw => "how sets of consumables wear",
            Self::HourPrice => "price of an hour",
            Self::Efficiency => "share of the mains' power that reaches the arc",
            Self::PowerPrice => "price of a kilowatt-hour",
            Self::GasPrice => "price of a cubic metre of gas or air",
            Self::SetPrice => "price of a set of consumables",
        }
    }

    /// Where it is told.
    #[must_use]
    pub const fn told_by(self) -> &'static str {
        match self {
            Self::Thickness => "`thickness` in the job file",
            Self::Process => "`process` in the job file",
            Self::Acceleration => "`[table] acceleration` in the shop file",
            Self::Rapid => "`[table] rapid` in the shop file",
            Self::PathTolerance => "`[table] path_tolerance` in the shop file",
            Self::RapidZ => "`[table] rapid_z` in the shop file",
            Self::TouchOffTime => "`[table] touch_off_time` in the shop file",
            Self::BlocksPerSecond => "`[table] blocks_per_second` in the shop file",
            Self::Preflow => "`[source] preflow` in the shop file",
            Self::TransferTime => "`[source] transfer_time` in the shop file",
            Self::PostFlow => "`[source] post_flow` in the shop file",
            Self::Duty => "`[[source.duty]]` in the shop file",
            Self::Current => "`current` of the process in the shop file",
            Self::Volts => "`volts` in `[[process.chart]]` in the shop file",
            Self::TorchFlow => "`[air] torch_flow` in the shop file",
            Self::PressureMin => "`[source] pressure_min` in the shop file",
            Self::Delivery => "`[air] delivery` in the shop file",
            Self::ReceiverVolume => "`[air] receiver` in the shop file",
            Self::CutInCutOut => "`[air] cut_in` and `cut_out` in the shop file",
            Self::Regulator => "`[air] regulator` in the shop file",
            Self::Hose => "`[air] hose_length` and `hose_bore` in the shop file",
            Self::StartsOnSet => "`[fitted] starts` in the shop file",
            Self::LifeStarts => "`[fitted] life_starts` in the shop file",
            Self::WearLaw => "`[wear]` in the shop file",
            Self::HourPrice => "`[money] hour` in the shop file",
            Self::Efficiency => "`[source] efficiency` in the shop file",
            Self::PowerPrice => "`[money] kwh` in the shop file",
            Self::GasPrice => "`[money] gas_m3` in the shop file",
            Self::SetPrice => "`[money] consumable_set` in the shop file",
        }
    }
}
