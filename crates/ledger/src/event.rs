//! One event: who it belongs to, when it was added, what it says.

use crate::{Entry, Id};

/// A moment: milliseconds since 1970-01-01 00:00 UTC, as the writer's clock has it. Clocks may be wrong; the order of
/// events is that in which they were added.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Moment(pub i64);

/// Something that was entered or done.
#[derive(Clone, Debug, PartialEq)]
pub struct Event {
    /// Its name, made by the writer: adding it again changes nothing.
    pub id: Id,
    /// The job, or the practice session, that it belongs to.
    pub of: Id,
    /// When.
    pub at: Moment,
    /// What.
    pub entry: Entry,
}
