//! Proves a written program against the plate it is to run on.
//!
//! It reads the text that will be handed out, not the plan in memory, and shares no code with whoever made it: it
//! depends on `nc`, `cuts` and `geometry` to read and to measure, never on `rescue` or `checks`. From the text it
//! rebuilds the starts and burns by itself and holds them against the original's motions, the plate as it is and the
//! promise.
//!
//! ```text
//! written text ─ reading ▶ Motions from many starts ─ legs ▶ starts and burns ─ points 1 to 5 ▶ Proof
//! ```
//!
//! Each point of the proof is one file in [`points`].

mod case;
mod dimples;
mod elsewhere;
mod grid;
mod laid;
mod legs;
mod nearness;
mod nib;
mod old_kerf;
mod original;
mod pieces;
mod plate_edge;
mod points;
mod reading;
mod record;
mod side_by_side;
mod timeline;
mod tolerance;
mod view;

pub use case::{Case, Figure, FoundEdges, Ground, Join, JoinStart, Moved, Pose, Promise, Proof, Reason};
pub use dimples::{ARC_S_MOST, ARC_SHARE_MOST, THICKNESS_MM_LEAST, prove_dimples};
pub use original::Original;
pub use plate_edge::edge_opens_mm;
pub use points::starts::voids::EDGE_HOLDS_SHARE;

use legs::Legs;
use points::starts::voids::Voids;
use record::Record;
use side_by_side::both;
use view::View;

/// Proves `case.written`.
///
/// **Cost**: n log n in the number of motions. Never panics, whatever the text holds.
#[must_use]
pub fn prove(case: &Case<'_>) -> Proof {
    let mut record = Record::default();
    let refused = points_in_order(case, &mut record).err();
    record.into_proof(refused)
}

/// A refusal.
pub(crate) fn reason(point: u8, message: impl Into<String>, at: Option<finding::Span>) -> Reason {
    Reason { point, message: message.into(), at }
}

/// The five points, in the order in which one needs what another has settled: what the text says (2) before where it
/// cuts (1), where it cuts before what is loose when (5, 4, 3).
fn points_in_order(case: &Case<'_>, record: &mut Record) -> Result<(), Reason> {
    points::promise::settled(case)?;
    let ground = pieces::without_gone(case, record)?;
    let case = &Case { ground: ground.as_ref().unwrap_or(case.ground), ..*case };
    match elsewhere::Elsewhere::of(case)? {
        Some(there) => where_they_lie(&there.case(case, &there.original(case)), record),
        None => where_they_lie(case, record),
    }
}

/// The points for a settled promise, every cut lying where it is to be made.
fn where_they_lie(case: &Case<'_>, record: &mut Record) -> Result<(), Reason> {
    points::landing::within_tolerance(case, record)?;
    let reading = reading::Reading::of(case, record)?;
    let written = View::written(case, &reading);
    let original = View::original(case.original);
    let legs = Legs::of(&written)?;
    let kept = points::effect::same(case, &original, &written, &legs, record)?;
    let (pairs, timeline) = both(
        || points::coverage::Pairs::of(case, &written, &kept),
        || timeline::Timeline::of(case, &written, &kept),
    );
    points::clear::moved(case, &written, &kept, &timeline, record)?;
    points::coverage::complete(case, &written, &kept, &timeline, &pairs, record)?;
    let voids = Voids::of(case, &written, &kept, &timeline);
    let (second, (first, more, outcome)) = both(
        || voids.look(),
        || {
            let mut more = Record::default();
            let outcome = on_the_way(case, &written, &kept, &timeline, &mut more);
            (if outcome.is_ok() { voids.look() } else { Ok(Default::default()) }, more, outcome)
        },
    );
    record.absorb(more);
    outcome?;
    voids.settle([first, second], record)
}

/// What is loose when (5), starts (4) and ways (3).
fn on_the_way(
    case: &Case<'_>,
    written: &View<'_>,
    kept: &[points::effect::KeptLeg],
    timeline: &timeline::Timeline,
    record: &mut Record,
) -> Result<(), Reason> {
    points::order::attached(case, written, kept, timeline, record)?;
    points::starts::sound(case, written, kept, timeline, record)?;
    points::travel::safe(case, written, kept, timeline, record)
}
