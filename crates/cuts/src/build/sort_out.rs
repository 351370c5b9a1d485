//! Outline or hole, and which part each contour belongs to.

use super::Waited;
use super::close::Found;
use super::nest::{Nest, Ring};
use super::trace::MEET_MM;
use crate::{Contour, ContourId, Cut, CutList, Part, PartId, Shape};
use finding::{Finding, Level, Place};
use geometry::{Point, Program};
use units::Length;

/// How far before a contour's beginning its lead-in is looked at to see from which side it comes, where the lead-in
/// does not begin at the pierce; in millimetres. Long enough to be clear of the contour, short enough not to reach the
/// contour before.
const LOOK_BACK_MM: f64 = 3.0;

/// The list of `cuts` with the contours `found` on them, nested and sorted into parts; and findings where nesting and
/// lead-in disagree. None if it was called off.
pub(crate) fn sort_out(
    cuts: Vec<Cut>,
    found: Vec<Found>,
    waited: Waited<'_>,
) -> Option<(CutList, Vec<Finding>)> {
    let (places, leads) = nest(&cuts, &found, waited)?;
    let (shapes, at_odds) = shapes(&cuts, &found, &places, &leads);
    let findings = at_odds.iter().map(|odd| finding(odd, &cuts, &found)).collect();
    Some((assemble(cuts, found, &places, &shapes), findings))
}

/// On which side of its contour a lead-in lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Lead {
    Inside,
    Outside,
    /// There is none, or it runs along the contour, or the contour is open.
    Unknown,
}

/// From which side contour `k` is led into.
fn lead_side(cuts: &[Cut], found: &[Found], k: usize, ring: &Ring<'_>) -> Lead {
    match led_from(cuts, found, k) {
        Some(from) if ring.distance_mm(from) > MEET_MM => {
            if ring.contains(from) {
                Lead::Inside
            } else {
                Lead::Outside
            }
        }
        _ => Lead::Unknown,
    }
}

/// A place on the lead-in of contour `k`: the pierce, or, on the way from an earlier contour of the same cut, a place
/// some way before its beginning.
fn led_from(cuts: &[Cut], found: &[Found], k: usize) -> Option<Point<Program>> {
    let contour = &found[k];
    let cut = &cuts[contour.cut];
    let own_before = found[..k].iter().rev().take_while(|before| before.cut == contour.cut);
    let ends = own_before.map(|before| before.along_mm.end).filter(|end| *end <= contour.along_mm.start);
    match ends.reduce(f64::max) {
        Some(end) => {
            let back = LOOK_BACK_MM.min((contour.along_mm.start - end) / 2.0);
            cut.path.point_at(contour.along_mm.start - back)
        }
        None => Some(cut.pierce.at),
    }
}

/// Where a contour lies among the others, by their positions in the list.
#[derive(Clone, Copy, Debug, Default)]
struct Lies {
    within: Option<usize>,
    repeats: Option<usize>,
    depth: u32,
}

/// Where each contour lies, and from which side it is led into; none if it was called off.
fn nest(cuts: &[Cut], found: &[Found], waited: Waited<'_>) -> Option<(Vec<Lies>, Vec<Lead>)> {
    let is_ring = |contour: &Found| contour.closed.is_some() && !cuts[contour.cut].is_mark;
    let ringed: Vec<usize> = (0..found.len()).filter(|k| is_ring(&found[*k])).collect();
    let rings = ringed
        .iter()
        .filter_map(|k| found[*k].closed.as_ref())
        .map(|closed| Ring::new(closed.path().curves()));
    let nest = Nest::new(rings.collect(), waited)?;
    let mut places = vec![Lies::default(); found.len()];
    let mut leads = vec![Lead::Unknown; found.len()];
    for (ring, k) in ringed.iter().enumerate() {
        places[*k] = Lies {
            within: nest.within[ring].map(|around| ringed[around]),
            repeats: nest.repeats[ring].map(|first| ringed[first]),
            depth: nest.depth(ring),
        };
        leads[*k] = lead_side(cuts, found, *k, &nest.rings[ring]);
    }
    let edges = shared_edges(cuts.len(), found);
    for (k, contour) in found.iter().enumerate().filter(|(_, contour)| !is_ring(contour)) {
        if let Some(bounded) = edges[contour.cut] {
            places[k] = Lies { repeats: None, ..places[bounded] };
            continue;
        }
        let middle = f64::midpoint(contour.along_mm.start, contour.along_mm.end);
        let Some(middle) = cuts[contour.cut].path.point_at(middle) else { continue };
        if let Some(around) = nest.smallest_around(middle, |_| true) {
            places[k] = Lies { within: Some(ringed[around]), repeats: None, depth: nest.depth(around) + 1 };
        }
    }
    Some((places, leads))
}

/// For each cut a contour of another that it helps to close: it lies where that one lies.
fn shared_edges(cuts: usize, found: &[Found]) -> Vec<Option<usize>> {
    let mut edges = vec![None; cuts];
    for (k, contour) in found.iter().enumerate() {
        for cut in &contour.closed_by {
            edges[cut.0 as usize].get_or_insert(k);
        }
    }
    edges
}

/// A contour whose lead-in lies on the side where its nesting has the part.
struct AtOdds {
    contour: usize,
    taken_for: Shape,
    lead: Lead,
}

fn shapes(cuts: &[Cut], found: &[Found], places: &[Lies], leads: &[Lead]) -> (Vec<Shape>, Vec<AtOdds>) {
    let plate_is_part = only_holes(cuts, found, places, leads);
    let mut order: Vec<usize> = (0..found.len()).collect();
    order.sort_by_key(|k| (places[*k].depth, places[*k].repeats.is_some(), *k));
    let mut shapes = vec![Shape::Slot; found.len()];
    let mut at_odds = Vec::new();
    for k in order {
        let contour = &found[k];
        let around = places[k].within.map(|around| shapes[around]);
        shapes[k] = match () {
            () if cuts[contour.cut].is_mark => Shape::Mark,
            () if contour.closed.is_none() => Shape::Slot,
            () if places[k].repeats.is_some() => {
                places[k].repeats.map_or(Shape::Outline, |first| shapes[first])
            }
            () if contour.is_scrap => Shape::Hole,
            () => {
                let by_nesting = if around == Some(Shape::Outline) { Shape::Hole } else { Shape::Outline };
                let led_from_inside = by_nesting == Shape::Outline && leads[k] == Lead::Inside;
                let shared = !contour.closed_by.is_empty();
                let taken =
                    if led_from_inside && (shared || plate_is_part) { Shape::Hole } else { by_nesting };
                if disagree(by_nesting, leads[k]) && !shared {
                    at_odds.push(AtOdds { contour: k, taken_for: taken, lead: leads[k] });
                }
                taken
            }
        };
    }
    at_odds.sort_by_key(|odd| odd.contour);
    (shapes, at_odds)
}

fn disagree(by_nesting: Shape, lead: Lead) -> bool {
    matches!((by_nesting, lead), (Shape::Outline, Lead::Inside) | (Shape::Hole, Lead::Outside))
}

/// Whether every contour that lies in no other, as far as its lead-in tells, is led into from inside: then none of them
/// is an outline, and the plate itself is the part.
fn only_holes(cuts: &[Cut], found: &[Found], places: &[Lies], leads: &[Lead]) -> bool {
    let outermost = (0..found.len()).filter(|k| {
        places[*k].within.is_none()
            && found[*k].closed.is_some()
            && !cuts[found[*k].cut].is_mark
            && !found[*k].is_scrap
    });
    let sides: Vec<Lead> = outermost.map(|k| leads[k]).collect();
    sides.contains(&Lead::Inside) && !sides.contains(&Lead::Outside)
}

fn finding(odd: &AtOdds, cuts: &[Cut], found: &[Found]) -> Finding {
    let cut = &cuts[found[odd.contour].cut];
    let message = match (odd.lead, odd.taken_for) {
        (Lead::Inside, Shape::Hole) => {
            "the lead-in lies inside a contour that lies in no part: taken for a hole in the plate"
        }
        (Lead::Inside, _) => "the lead-in lies inside the outline of a part",
        _ => "the lead-in of a hole lies outside it, in the part",
    };
    let place = Place { x: Length::from_mm(cut.pierce.at.x), y: Length::from_mm(cut.pierce.at.y) };
    Finding::new("side-at-odds", Level::Warning, message)
        .at(cut.torch_on_span, "this start")
        .on_plate(place)
        .of_cut(cut.number())
        .because("crater and lead-in lie in the part, or an outline is missing and the contours are taken for what they are not")
        .remedy("lead in from the scrap side; if the plate itself is the part, nothing need be done")
}

fn assemble(mut cuts: Vec<Cut>, found: Vec<Found>, places: &[Lies], shapes: &[Shape]) -> CutList {
    let mut contours = Vec::with_capacity(found.len());
    for (k, contour) in found.into_iter().enumerate() {
        let id = id(k);
        cuts[contour.cut].contours.push(id);
        assert_eq!(contour.boundary.is_empty(), contour.closed.is_none(), "a closed contour has a boundary");
        for stretch in &contour.boundary {
            let bounds = &mut cuts[stretch.cut.0 as usize].bounds;
            if bounds.last() != Some(&id) {
                bounds.push(id);
            }
        }
        contours.push(Contour {
            id,
            cut: cuts[contour.cut].id,
            along_mm: contour.along_mm,
            closed: contour.closed,
            boundary: contour.boundary,
            gap_mm: contour.gap_mm,
            shape: shapes[k],
            turn: contour.turn,
            within: places[k].within.map(self::id),
            depth: places[k].depth,
            part: None,
            closed_by: contour.closed_by,
            repeats: places[k].repeats.map(self::id),
        });
    }
    let parts = parts(&mut contours);
    CutList { cuts, contours, parts }
}

fn id(k: usize) -> ContourId {
    ContourId(u32::try_from(k).expect("contours are counted in 32 bits"))
}

/// Parts in order of their outlines; tells each contour its part.
fn parts(contours: &mut [Contour]) -> Vec<Part> {
    let mut parts: Vec<Part> = Vec::new();
    for contour in
        contours.iter_mut().filter(|contour| contour.shape == Shape::Outline && contour.repeats.is_none())
    {
        let id = PartId(u32::try_from(parts.len()).expect("parts are counted in 32 bits"));
        contour.part = Some(id);
        parts.push(Part { id, outline: contour.id, holes: Vec::new(), others: Vec::new() });
    }
    for k in 0..contours.len() {
        let part = match (contours[k].shape, contours[k].repeats, contours[k].within) {
            (Shape::Outline, None, _) => continue,
            (_, Some(first), _) if contours[k].shape == Shape::Outline => contours[first.0 as usize].part,
            (_, _, Some(around)) => {
                let around = &contours[around.0 as usize];
                around.part.filter(|_| around.shape == Shape::Outline)
            }
            _ => None,
        };
        contours[k].part = part;
        let Some(part) = part else { continue };
        let (part, id) = (&mut parts[part.0 as usize], contours[k].id);
        match contours[k].shape {
            Shape::Hole if contours[k].repeats.is_none() => part.holes.push(id),
            Shape::Slot | Shape::Mark => part.others.push(id),
            Shape::Hole | Shape::Outline => {}
        }
    }
    parts
}
