//! Keys of the stop report.

use super::{File, Key, Kind, LENGTH, LENGTH_OR_NONE, NUMBER, TIME, choice, key};
use crate::stop::{CutIs, Feature, Lip, PieceIs, PlateSide, SightedBy, StopKind};

/// The stop report.
pub static STOP: File = File { name: "stop report", keys: KEYS };

static KEYS: &[Key] = &[
    key("kind", choice::<StopKind>(), "What kind of stop it was", "\"no-transfer\""),
    key("cut", NUMBER, "Number of the cut, as on the picture", "37"),
    key(
        "from_cut",
        NUMBER,
        "Number of the cut from which on it went wrong, if that is earlier than where it stopped: it ran dry, was not \
         through or cut badly; `kerf_to` and `kerf_at` then speak of that cut",
        "12",
    ),
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
    key(
        "kerf_within",
        LENGTH,
        "How far off the kerf's end may be, at most, either way; of a hole told as `blown`, how far off its radius",
        "\"1 mm\"",
    )
    .or("3 mm, for a hole's radius 0.5 mm"),
    key("blown", LENGTH, "Diameter of the hole blown at the pierce", "\"6 mm\""),
    key(
        "bad_from",
        LENGTH_OR_NONE,
        "For a bad cut: how far along it, from the pierce, it is good; what was cut from there on is bad. It speaks of \
         `from_cut` where that is told",
        "\"80 mm\"",
    )
    .or("0 mm"),
    key("fault", Kind::Text, "Fault code that the source shows", "\"WORK-LEAD\""),
    key("seen", Kind::Texts, "What was seen and heard, by the names of the observations", "[\"pilot-full\"]"),
    key("moved", Kind::Flag, "Whether plate, torch or table moved", "false"),
    key(
        "measured",
        Kind::Tables,
        "Something measured on the plate after it moved, on what the skeleton still holds; all places as the control \
         shows them, with the datum as it was when the plate was begun",
        "",
    ),
    key("measured.feature", choice::<Feature>(), "What was measured", "\"hole\"").required(),
    key(
        "measured.cut",
        NUMBER,
        "Number of the cut whose crater, hole or edge it is, as on the picture",
        "12",
    ),
    key("measured.side", choice::<PlateSide>(), "Which edge or corner of the plate it is", "\"lower-left\""),
    key(
        "measured.plan",
        Kind::Point,
        "Where the program has it, in program coordinates; for an edge of a cut any place near that edge, for the round end of a \
         slot a place near its centre",
        "[\"100 mm\", \"200 mm\"]",
    ),
    key(
        "measured.to",
        Kind::Point,
        "Where the program has the other end of an edge that begins at `plan`",
        "[\"100 mm\", \"800 mm\"]",
    ),
    key(
        "measured.found",
        Kind::Point,
        "What the control showed there, if it is one place",
        "[\"151.2 mm\", \"250.4 mm\"]",
    ),
    key(
        "measured.points",
        Kind::Points,
        "What the control showed at several places on it: three or more round a hole's edge, two or more along a \
         straight edge",
        "[\"146.2x250.4 mm\", \"156.2x250.4 mm\", \"151.2x255.4 mm\"]",
    ),
    key("measured.lip", choice::<Lip>(), "Which lip of the kerf was sighted", "\"scrap\"")
        .or("the lip of the metal that is still held, where only one is; else it must be told"),
    key("measured.by", choice::<SightedBy>(), "With what it was sighted", "\"tip\"").or("pointer"),
    key("measured.sigma", LENGTH, "Uncertainty of each reading, one standard deviation", "\"0.5 mm\"")
        .or("0.5 mm by pointer, 1 mm by the torch's tip"),
    key(
        "pointer",
        Kind::Table,
        "The pointer used for sighting, and how far its spot lies from the torch",
        "",
    ),
    key(
        "pointer.offset",
        Kind::Point,
        "How far the spot lies from the torch in X and Y; zero where the control shows where the spot is",
        "[\"62 mm\", \"0 mm\"]",
    ),
    key(
        "pointer.spot",
        Kind::Point,
        "What the control showed with the spot on a mark: the offset is then known, or checked",
        "[\"338 mm\", \"120 mm\"]",
    ),
    key(
        "pointer.tip",
        Kind::Point,
        "What it showed with the torch's tip on the same mark",
        "[\"400 mm\", \"120 mm\"]",
    ),
    key("pointer.sigma", LENGTH, "How well the offset is known, one standard deviation", "\"0.2 mm\"")
        .or("exact where it is told, 1.1 mm where it comes from one mark alone"),
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
    key("piece", Kind::Tables, "A piece that was looked at: loose, or cut round and still held", ""),
    key("piece.cut", NUMBER, "Number of the cut that freed it, or was to free it", "12").required(),
    key("piece.is", choice::<PieceIs>(), "What it does", "\"standing\"").required(),
    key(
        "stray",
        Kind::Tables,
        "A hole or kerf that lies on no cut's path, as one that was cut while the plate lay elsewhere than the control \
         took it to; or on one, and wider than its kerf should be",
        "",
    ),
    key(
        "stray.places",
        Kind::Points,
        "What the control shows with the torch over its two ends and wherever it bends; for a hole its middle",
        "[\"146.2x250.4 mm\", \"156.2x250.4 mm\"]",
    )
    .required(),
    key("stray.wide", LENGTH, "How wide it is at its widest", "\"4 mm\"").or("as wide as a pierce's crater"),
    key("stray.within", LENGTH, "How far off the places may be, at most, either way", "\"2 mm\"").or("1 mm"),
];
