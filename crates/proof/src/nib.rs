//! A nib: the wedge of metal that stays on a part at the seam, where a slug was parted before its contour closed.
//!
//! A lead-in that runs in along the contour is met by the contour's kerf some millimetres before the end. If the arc goes out
//! there, the slug is loose and the contour is open: between both kerfs a wedge stands out of the part. It hangs on the part,
//! not on the slug, and can be cut off from its end wall for as long as the part is held.

use crate::Case;
use crate::JoinStart;
use crate::pieces::is_said_loose;
use crate::points::effect::KeptLeg;
use crate::timeline::may_part_mm;
use cuts::{Contour, Depth, Shape};

/// Whether a leg does no more to a contour that something was seen loose in than to cut off the nib at its seam: a hole's,
/// whose slug is scrap, that its own cut alone goes round, and whose kerf may have met its lead-in; begun on the kerf's end
/// wall, for a pierce and a second pass have no metal there. That no void is too long for the arc, that the touch-off has
/// metal, and that whatever the hole lies in is held, is for the other rules as with any join.
pub(crate) fn is_nib(case: &Case<'_>, leg: &KeptLeg, contour: &Contour) -> bool {
    let by_its_own = contour.cut == leg.cut && contour.boundary.iter().all(|edge| edge.cut == leg.cut);
    let on_end_wall = leg.join.as_ref().is_some_and(|join| join.start == JoinStart::KerfEnd);
    contour.shape == Shape::Hole && by_its_own && on_end_wall && may_have_parted(case, contour)
}

/// Whether a leg cuts off a nib: metal on one side of it only, all the way to its end.
pub(crate) fn cuts_nib(case: &Case<'_>, leg: &KeptLeg) -> bool {
    let own = case.original.list.cut(leg.cut).contours.iter().map(|id| case.original.list.contour(*id));
    own.into_iter().any(|contour| is_said_loose(case, contour) && is_nib(case, leg, contour))
}

/// Whether what is told of the kerf about a contour lets it have come around to its lead-in.
fn may_have_parted(case: &Case<'_>, contour: &Contour) -> bool {
    let through =
        case.progress.made.iter().filter(|made| made.cut == contour.cut && made.depth == Depth::Through);
    through.into_iter().any(|made| may_part_mm(case, made).end >= contour.along_mm.end)
}
