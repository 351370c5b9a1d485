//! Where along a cut its kerf parts what it was to free: before its contour closes, for the kerf is as wide as it is.

use crate::Situation;
use cuts::{Contour, CutId};

/// Step in which a contour is followed back from its end, in millimetres: a twentieth of a narrow kerf.
const STEP_MM: f64 = 0.05;

/// The first place, in millimetres along the cut, from which on its kerf may have parted one of its contours: all that is
/// left of the contour lies within a kerf of the lead-in, or of the contour's end, so that no metal is left between. Of
/// contours that close by `sure_mm` nothing is asked any more. None if the cut closes no other.
pub(crate) fn parts_from_mm(situation: &Situation<'_>, cut: CutId, sure_mm: f64) -> Option<f64> {
    let contours = situation.list.cut(cut).contours.iter().map(|id| situation.list.contour(*id));
    let open = contours.filter(|contour| contour.closed.is_some() && contour.along_mm.end > sure_mm);
    open.map(|contour| met_from_mm(situation, contour)).min_by(f64::total_cmp)
}

fn met_from_mm(situation: &Situation<'_>, contour: &Contour) -> f64 {
    let path = &situation.list.cut(contour.cut).path;
    let kerf_mm = situation.ground.kerf.mm();
    let lead_in = situation.list.lead_in_mm(contour.id);
    let lead_in = path.piece(lead_in.start, lead_in.end);
    let meets = |along_mm: f64| {
        let near = path.point_at(along_mm).and_then(|p| lead_in.nearest(p));
        contour.along_mm.end - along_mm <= kerf_mm || near.is_some_and(|near| near.distance_mm <= kerf_mm)
    };
    let mut from_mm = contour.along_mm.end;
    while from_mm - STEP_MM > contour.along_mm.start && meets(from_mm - STEP_MM) {
        from_mm -= STEP_MM;
    }
    from_mm - STEP_MM
}
