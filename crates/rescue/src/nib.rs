//! A nib: the wedge of metal that stays on a part at the seam, where a slug was parted before its contour closed.

use crate::Situation;
use crate::closing::may_part_from_mm;
use cuts::{Contour, CutId, CutList, Depth, Made, Progress, Shape};
use units::Length;

/// What a slug that was seen loose has left at its contour's seam.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Seam {
    /// Nothing that puts the part out of tolerance, wherever within what was told the kerf ends.
    Closed,
    /// A nib, wherever the kerf ends.
    Nib,
    /// One or the other.
    Unknown,
}

/// How high a nib may stand out of a part that has no tolerance told, in millimetres: as much as a join shows (common practice).
const BORNE_MM: f64 = 1.0;

/// Least height of a nib that is one for sure, in millimetres: less than that an arc may find nothing of.
const LEAST_MM: f64 = 0.1;

/// Step in which a seam is looked along, in millimetres: a twentieth of a narrow kerf.
const STEP_MM: f64 = 0.05;

/// What the slug of `cut` has left at the seam by what is told of its kerf. Only a hole has a nib, and only one that its own
/// cut alone goes round: what is seen loose within an outline is the part, at which nothing can be cut any more.
pub(crate) fn seam(situation: &Situation<'_>, progress: &Progress, cut: CutId) -> Seam {
    let Some(contour) = hole(situation, cut) else { return Seam::Closed };
    let length_mm = situation.list.cut(cut).path.length_mm();
    let through = |made: &&Made| made.cut == cut && made.depth == Depth::Through;
    let made = || progress.made.iter().filter(through);
    let most_mm = made().map(|made| made.at_most_mm(length_mm).end).fold(0.0, f64::max);
    let sure_mm = made().filter_map(Made::surely_mm).map(|sure| sure.end).fold(0.0, f64::max);
    // A kerf that has not come around has parted nothing: what was told of it is wrong, by a little or altogether.
    let Some(most_mm) = may_part_from_mm(situation, cut, sure_mm)
        .and_then(|parts_mm| come_around_mm((sure_mm, most_mm), parts_mm))
    else {
        return Seam::Closed;
    };
    let bears_mm = situation.job.tolerance.map_or(BORNE_MM, Length::mm);
    match (nib_mm(situation, contour, sure_mm) > bears_mm, nib_mm(situation, contour, most_mm) > LEAST_MM) {
        (false, _) => Seam::Closed,
        (true, true) => Seam::Nib,
        (true, false) => Seam::Unknown,
    }
}

/// How far, at most, a kerf has come that has parted its slug, and so must have come to `parts_mm`, though it was told to end from
/// `sure_mm` to `most_mm`: nobody reads a kerf's end off by more than twice what he says. None if it was.
fn come_around_mm((sure_mm, most_mm): (f64, f64), parts_mm: f64) -> Option<f64> {
    let within_mm = (most_mm - sure_mm) / 2.0;
    (parts_mm <= most_mm + within_mm).then(|| most_mm.max(parts_mm + PARTED_MM))
}

/// How far past the place from which on it may have parted its slug a kerf is taken to have come, in millimetres: more than
/// that place is worked out to.
const PARTED_MM: f64 = 0.1;

/// What is known of a kerf that was told to end before it can have parted its slug, which is loose: it has come around.
pub(crate) fn comes_around(situation: &Situation<'_>, progress: &mut Progress, cut: CutId) {
    let length_mm = situation.list.cut(cut).path.length_mm();
    let through = |made: &&mut Made| made.cut == cut && made.depth == Depth::Through;
    for made in progress.made.iter_mut().filter(through) {
        let (Some(sure), most_mm) = (made.surely_mm(), made.at_most_mm(length_mm).end) else { continue };
        let parts_mm = may_part_from_mm(situation, cut, sure.end);
        let come_mm = parts_mm.and_then(|parts_mm| come_around_mm((sure.end, most_mm), parts_mm));
        if let Some(come_mm) = come_mm.filter(|come_mm| *come_mm > most_mm) {
            made.along_mm.end = f64::midpoint(sure.end, come_mm);
            made.ends.to_within_mm = come_mm - made.along_mm.end;
        }
    }
}

/// Whether a cut has left a nib, as it is taken to be on the plate: its slug is loose, and it is not whole.
pub(crate) fn has_nib(list: &CutList, progress: &Progress, cut: CutId) -> bool {
    let is_loose = progress.pieces.iter().any(|said| list.contour(said.outline).cut == cut);
    is_loose && progress.made.iter().any(|made| made.cut == cut) && !progress.is_whole(list, cut)
}

/// The hole that a cut by itself goes round, and nothing besides.
fn hole<'a>(situation: &'a Situation<'_>, cut: CutId) -> Option<&'a Contour> {
    let [id] = situation.list.cut(cut).bounds[..] else { return None };
    let contour = situation.list.contour(id);
    let own = contour.cut == cut && contour.boundary.iter().all(|edge| edge.cut == cut);
    (own && contour.shape == Shape::Hole && contour.closed.is_some()).then_some(contour)
}

/// How far the nib stands out of the part at its highest, in millimetres, if the arc went out so far along the cut: what
/// neither the round end of its kerf nor the lead-in's kerf has taken of the strip that the rest of the contour takes.
fn nib_mm(situation: &Situation<'_>, contour: &Contour, ends_mm: f64) -> f64 {
    let path = &situation.list.cut(contour.cut).path;
    let kerf_mm = situation.ground.kerf.mm();
    let lead_in = situation.list.lead_in_mm(contour.id);
    let lead_in = path.piece(lead_in.start, lead_in.end);
    let half_mm = kerf_mm / 2.0;
    let height_mm = |along_mm: f64| {
        let place = path.point_at(along_mm)?;
        let closes = path.point_at(contour.along_mm.start)?.distance(place);
        let by_lead_in_mm = lead_in.nearest(place).map_or(closes, |near| near.distance_mm.min(closes));
        let past_mm = along_mm - ends_mm;
        let by_kerf_mm = if past_mm < half_mm {
            half_mm - (half_mm * half_mm - past_mm * past_mm).sqrt()
        } else {
            kerf_mm
        };
        Some(by_lead_in_mm.min(by_kerf_mm))
    };
    let (mut along_mm, mut highest_mm) = (ends_mm, 0.0_f64);
    while along_mm < contour.along_mm.end {
        highest_mm = highest_mm.max(height_mm(along_mm).unwrap_or_default());
        along_mm += STEP_MM;
    }
    highest_mm
}
