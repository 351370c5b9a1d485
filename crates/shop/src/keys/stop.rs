//! Keys of the stop report.

use super::{File, Key, Kind, LENGTH, LENGTH_OR_NONE, NUMBER, TIME, choice, key};
use crate::stop::{CutIs, Feature, PieceIs, StopKind};

/// The stop report.
pub static STOP: File = File { name: "stop report", keys: KEYS };

static KEYS: &[Key] = &[
    key("kind", choice::<StopKind>(), "What kind of stop it was", "\"no-transfer\""),
    key("cut", NUMBER, "Number of the cut, as on the picture", "37"),
    key("line", NUMBER, "Line of the program's text at which the control stood", "1204"),
    key("at", Kind::Point, "Where the torch stood, in program coordinates", "[\"412.3 mm\", \"88 mm\"]"),
    key("stopped_along", LENGTH_OR_NONE, "How far along the cut it stopped, from the pierce", "\"120 mm\""),
    key("time", TIME, "Time since the program began", "\"12.5 min\""),
    key(
        "kerf_to",
        LENGTH_OR_NONE,
        "How far along the cut, from the pierce, the kerf is through",
        "\"35 mm\"",
    ),
    key(
        "kerf_at",
        Kind::Point,
        "The same as a place: where the torch stands when jogged to the kerf's end, in program coordinates",
        "[\"412.3 mm\", \"88 mm\"]",
    ),
    key("kerf_within", LENGTH, "How far off the kerf's end may be, at most, either way", "\"1 mm\"")
        .or("3 mm"),
    key("blown", LENGTH, "Diameter of the hole blown at the pierce", "\"6 mm\""),
    key("fault", Kind::Text, "Fault code that the source shows", "\"WORK-LEAD\""),
    key("seen", Kind::Texts, "What was seen and heard, by the names of the observations", "[\"pilot-full\"]"),
    key("moved", Kind::Flag, "Whether plate, torch or table moved", "false"),
    key("measured", Kind::Tables, "Something measured on the plate after the stop", ""),
    key("measured.feature", choice::<Feature>(), "What was measured", "\"hole\"").required(),
    key(
        "measured.plan",
        Kind::Point,
        "Where the program has it, in program coordinates",
        "[\"100 mm\", \"200 mm\"]",
    )
    .required(),
    key(
        "measured.found",
        Kind::Point,
        "Where it was found, in table coordinates, if it is one place",
        "[\"151.2 mm\", \"250.4 mm\"]",
    ),
    key(
        "measured.points",
        Kind::Points,
        "Several places found on it, in table coordinates, such as three points on a hole's edge",
        "[\"146.2x250.4 mm\", \"156.2x250.4 mm\", \"151.2x255.4 mm\"]",
    ),
    key("measured.sigma", LENGTH, "Uncertainty of each reading, one standard deviation", "\"0.5 mm\""),
    key("state", Kind::Tables, "A cut whose state was looked at", ""),
    key("state.cut", NUMBER, "Number of the cut, as on the picture", "12").required(),
    key("state.is", choice::<CutIs>(), "What it is", "\"whole\"").required(),
    key(
        "state.from",
        LENGTH_OR_NONE,
        "For a groove: how far along the cut it begins; what lies before it is through",
        "\"40 mm\"",
    )
    .or("0 mm"),
    key(
        "state.kerf_to",
        LENGTH_OR_NONE,
        "How far along the cut the kerf is through, or, for a groove, how far it reaches",
        "\"120 mm\"",
    ),
    key("state.within", LENGTH, "How far off `from` and `kerf_to` may be, at most, either way", "\"1 mm\"")
        .or("3 mm"),
    key("piece", Kind::Tables, "A loose piece that was looked at", ""),
    key("piece.cut", NUMBER, "Number of the cut that freed it", "12").required(),
    key("piece.is", choice::<PieceIs>(), "What it does", "\"standing\"").required(),
];
