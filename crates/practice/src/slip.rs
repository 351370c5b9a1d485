//! What costs points besides parts and time: steps of the safe order left out or turned round, and harm to the plate.
//!
//! The order is that of the rescue plan's safe order of work (common practice).

use crate::score::Area;

/// Something that was not done as it should be. Each counts once in a session, but for failed starts and harm.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Slip {
    /// Hands went to the torch while a start command stood and the source was live.
    HandsUnderStart,
    /// Hands went to torch, clamp or plate before the source was isolated.
    HandsNotIsolated,
    /// Hands went in before the wait after isolating was over.
    HandsTooSoon,
    /// Something else came before the stop.
    NotStopped,
    /// Nobody looked whether the start light was out.
    LightNotSeen,
    /// The place was not written down before it could be lost.
    NotNoted,
    /// The torch was low when work began under it.
    TorchLow,
    /// The source was switched off while gas still flowed.
    GasFlowed,
    /// Power came back while a start command stood.
    PowerUnderStart,
    /// The fault was cleared in a way that is not its own.
    ClearedWrongly,
    /// It was started onto the same cause.
    CauseLeft,
    /// Nobody chipped the slag off.
    SlagLeft,
    /// Nobody looked for fire.
    FireNotLooked,
    /// Nobody saw whether the position holds.
    NoMark,
    /// The way on was not traced.
    NoTrace,
    /// A start failed for a cause that could have been seen.
    StartFailed,
    /// The torch went down into a hole.
    TorchInHole,
    /// The plate was cut where nothing is to be cut.
    CutBeside,
    /// The torch struck again what it had struck.
    StruckAgain,
    /// The torch fired by itself.
    Fired,
    /// The session was ended with the program never stopped.
    NeverStopped,
    /// The session was ended before the plate was done.
    GivenUp,
}

impl Slip {
    /// What it counts in: [`Area::Order`] or [`Area::Plate`].
    #[must_use]
    pub const fn area(self) -> Area {
        match self {
            Self::StartFailed | Self::TorchInHole | Self::CutBeside | Self::StruckAgain | Self::Fired => {
                Area::Plate
            }
            _ => Area::Order,
        }
    }

    /// Points it costs.
    #[must_use]
    pub const fn points(self) -> u32 {
        match self {
            Self::HandsUnderStart | Self::HandsNotIsolated | Self::HandsTooSoon => Area::Order.of(),
            Self::NotStopped | Self::NeverStopped | Self::PowerUnderStart | Self::CauseLeft | Self::Fired => {
                10
            }
            Self::GivenUp => 20,
            Self::NotNoted | Self::TorchInHole | Self::CutBeside | Self::StruckAgain => 8,
            Self::LightNotSeen | Self::ClearedWrongly | Self::NoMark | Self::NoTrace => 5,
            Self::GasFlowed | Self::FireNotLooked | Self::StartFailed => 4,
            Self::TorchLow => 3,
            Self::SlagLeft => 2,
        }
    }

    /// Why it costs points, in a plain sentence.
    #[must_use]
    pub const fn why(self) -> &'static str {
        match self {
            Self::HandsUnderStart => {
                "Your hands were at the torch while a start command stood and the source was live: it may fire at any moment."
            }
            Self::HandsNotIsolated => {
                "Your hands went to torch, clamp or plate while the source was not isolated: it can fire, and it carries some hundred volts."
            }
            Self::HandsTooSoon => {
                "Your hands went in before the wait after isolating was over: parts of torch and source stay live for a while."
            }
            Self::NotStopped => {
                "Something else was done before the program was stopped; in a pause a start command may stand, and the torch may fire by itself."
            }
            Self::LightNotSeen => "Nobody looked whether the start light was out before going on.",
            Self::NotNoted => {
                "Line, X and Y were not written down before something was done that may lose them."
            }
            Self::TorchLow => "The torch was not raised before work began under it.",
            Self::GasFlowed => {
                "The source was switched off while gas still flowed: the hot consumables were not cooled."
            }
            Self::PowerUnderStart => {
                "The source was switched on while a start command stood: it may fire, latch a fault, or do nothing."
            }
            Self::ClearedWrongly => "The fault was cleared in a way that is not its own.",
            Self::CauseLeft => "It was started again with its cause still there.",
            Self::SlagLeft => {
                "Slag and spatter were not chipped off: the touch-off must find the plate itself."
            }
            Self::FireNotLooked => "Nobody looked under the slats and into the duct for fire.",
            Self::NoMark => "Nobody went to a known pierce to see whether the position holds.",
            Self::NoTrace => "The way on was not traced with the torch off.",
            Self::StartFailed => "A start failed that could have been known to fail: each costs consumables.",
            Self::TorchInHole => {
                "The torch was sent down into a hole: it is bent, and its arc ate the hole wider."
            }
            Self::CutBeside => "The plate was cut where nothing is to be cut.",
            Self::StruckAgain => "The torch struck again what it had struck before.",
            Self::Fired => "The torch fired by itself and burnt a hole.",
            Self::NeverStopped => {
                "The program was never stopped: the torch may fire by itself at any moment."
            }
            Self::GivenUp => "The stop was not seen through to the end of the plate.",
        }
    }
}
