//! Keys of the scenario file.

use super::{COUNT, File, Key, Kind, LENGTH, LENGTH_OR_NONE, NUMBER, choice, key};
use crate::model::{ClearsBy, StandingStart};
use crate::scenario::{Cure, Look, Strikes};

/// The scenario file.
pub static SCENARIO: File = File { name: "scenario file", keys: KEYS };

static KEYS: &[Key] = &[
    key("name", Kind::Text, "The scenario's name, in small letters with hyphens", "\"loose-lead\"")
        .required(),
    key("title", Kind::Text, "Its title, as the list shows it", "\"The arc does not come\"").required(),
    key("level", Kind::Count { least: 1, most: 5 }, "How hard it is, from 1 (easy) to 5", "1").or("1"),
    key(
        "story",
        Kind::Text,
        "What whoever practises knows before, in a sentence or two; not the cause",
        "\"A plate of post bases. You come back from the saw.\"",
    )
    .required(),
    key("plate", Kind::Text, "The bundled plate that is cut", "\"post-bases\"")
        .or("post-bases, where `job` is not told either"),
    key(
        "job",
        Kind::Text,
        "Path of a job file, relative to this file, in place of a bundled plate; it names program and shop file",
        "\"job.toml\"",
    ),
    key(
        "awaits_arc",
        Kind::Text,
        "What the control does while the arc does not come, as `[table] awaits_arc` of the shop file",
        "\"for ever\"",
    )
    .or("as the shop file says"),
    key(
        "standing_start",
        choice::<StandingStart>(),
        "What the source does when it is switched on while a start command stands",
        "\"fires\"",
    )
    .or("as the shop file says"),
    key(
        "no_transfer_clears_by",
        choice::<ClearsBy>(),
        "How the source's fault clears that it shows when the arc does not come",
        "\"off-and-on\"",
    )
    .or("as the shop file says"),
    key("keeps_position", Kind::Flag, "Whether the control keeps its position over a power cut", "false")
        .or("as the shop file says"),
    key("fault", Kind::Tables, "Something that goes wrong", ""),
    key("fault.what", choice::<Strikes>(), "What goes wrong", "\"work-lead-off\"").required(),
    key("fault.cut", NUMBER, "At which cut, as numbered on the picture", "37").required(),
    key("fault.along", LENGTH_OR_NONE, "How far along the cut, from its pierce", "\"120 mm\"")
        .or("at the cut's start"),
    key(
        "fault.restart",
        COUNT,
        "In which program: 0 in the original, 1 in the first program that is started after a stop, and so on",
        "1",
    )
    .or("0"),
    key(
        "fault.by",
        Kind::Point,
        "How far the plate is shifted, or the control's position is off, in X and Y",
        "[\"8 mm\", \"-5 mm\"]",
    )
    .or("nothing"),
    key(
        "fault.turn",
        Kind::Number { least: -5.0, most: 5.0 },
        "By how many degrees the plate is turned, counter-clockwise",
        "0.8",
    )
    .or("0"),
    key("fault.diameter", LENGTH, "Diameter of the hole that is blown", "\"9 mm\""),
    key("fault.length", LENGTH, "How long the groove gets until somebody sees it", "\"140 mm\""),
    key("fault.piece", NUMBER, "Which piece stands up, by the number of the cut that freed it", "36"),
    key("fault.cure", choice::<Cure>(), "What has to be fixed so that it does not come again", "\"slag\"")
        .or("what mends this fault; for those that come of nothing in particular, nothing"),
    key(
        "sign",
        Kind::Tables,
        "What is seen where somebody looks, in the trainer's own words, added to what the fault itself shows",
        "",
    ),
    key("sign.look", choice::<Look>(), "Where", "\"lead\"").required(),
    key("sign.text", Kind::Text, "What is seen there", "\"The clamp sits on a painted spot.\"").required(),
];
