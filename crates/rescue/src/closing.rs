//! Where along a cut its kerf parts what it was to free: before its contour closes, for the kerf is as wide as it is.

use crate::Situation;
use cuts::{Contour, CutId};

/// Step in which a contour is followed back from its end, in millimetres: a twentieth of a narrow kerf.
const STEP_MM: f64 = 0.05;

/// The first place, in millimetres along the cut, from which on its kerf has parted one of its contours whatever the crater
/// of its pierce is like: all that is left of the contour lies within a kerf of the lead-in, or of the contour's end, so that no
/// metal is left between. Of contours that close by `sure_mm` nothing is asked any more. None if the cut closes no other.
pub(crate) fn parts_from_mm(situation: &Situation<'_>, cut: CutId, sure_mm: f64) -> Option<f64> {
    earliest(situation, cut, sure_mm, situation.ground.kerf.mm() / 2.0)
}

/// The first place from which on it may have, the crater with which a lead-in begins being as wide as it is taken to be.
pub(crate) fn may_part_from_mm(situation: &Situation<'_>, cut: CutId, sure_mm: f64) -> Option<f64> {
    let crater = situation.ground.crater_radius.unwrap_or(situation.ground.kerf);
    earliest(situation, cut, sure_mm, crater.mm())
}

fn earliest(situation: &Situation<'_>, cut: CutId, sure_mm: f64, crater_mm: f64) -> Option<f64> {
    let contours = situation.list.cut(cut).contours.iter().map(|id| situation.list.contour(*id));
    let open = contours.filter(|contour| contour.closed.is_some() && contour.along_mm.end > sure_mm);
    open.map(|contour| met_from_mm(situation, contour, crater_mm)).min_by(f64::total_cmp)
}

fn met_from_mm(situation: &Situation<'_>, contour: &Contour, crater_mm: f64) -> f64 {
    let path = &situation.list.cut(contour.cut).path;
    let kerf_mm = situation.ground.kerf.mm();
    let lead_in = situation.list.lead_in_mm(contour.id);
    let pierce = path.point_at(lead_in.start);
    let lead_in = path.piece(lead_in.start, lead_in.end);
    let meets = |along_mm: f64| {
        let Some(p) = path.point_at(along_mm) else { return false };
        contour.along_mm.end - along_mm <= kerf_mm
            || lead_in.nearest(p).is_some_and(|near| near.distance_mm <= kerf_mm)
            || pierce.is_some_and(|pierce| pierce.distance(p) <= crater_mm + kerf_mm / 2.0)
    };
    let mut from_mm = contour.along_mm.end;
    while from_mm - STEP_MM > contour.along_mm.start && meets(from_mm - STEP_MM) {
        from_mm -= STEP_MM;
    }
    from_mm - STEP_MM
}
