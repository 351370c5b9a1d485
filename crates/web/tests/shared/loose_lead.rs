//! Practice with a loose work lead, done right: for whoever sends its acts and for whoever presses their buttons.

/// A right order of work after a loose work lead.
pub(crate) const RIGHT: [&str; 18] = [
    "stop",
    "look light",
    "read",
    "note",
    "raise",
    "wait 15 s",
    "isolate",
    "wait 5 min",
    "look fire",
    "look lead",
    "fix work-lead",
    "fix slag",
    "power",
    "measure mark",
    "ways",
    "choose restart-block",
    "trace",
    "start",
];
