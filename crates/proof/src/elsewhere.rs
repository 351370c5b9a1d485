//! Cuts that are made elsewhere on the plate than in the original: what the original would be if it had them there.
//!
//! From the promise's placements the proof works out by itself the motions and cuts of an original that has the moved
//! cuts at their new places, and a plate on which all that had been made of them before lies as strays. Against these
//! the five points are held as they are against any other restart: path, feed, heights, waits, process, height
//! control, direction and order of a moved cut are the original's, seen through its placement. What is left to be
//! looked at besides is that it lies clear of everything ([`crate::points::clear`]).
//!
//! A placement turns and shifts; a mirrored part cannot be told to the proof.

use crate::pieces::is_taken_out;
use crate::{Case, Moved, Original, Promise, Reason, reason};
use cuts::{CutId, CutList, Depth, Ends, Lies, Made, PartId, Progress, Reading, Rearrangement, Said, Stray};
use geometry::{Path, Point, Program, SAME_POINT_MM};
use nc::Motions;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

/// What the original would be with its cuts where they lie now.
#[derive(Debug)]
pub(crate) struct Elsewhere {
    motions: Motions,
    list: CutList,
    progress: Progress,
    promise: Promise,
}

impl Elsewhere {
    /// None if every cut lies where the original has it, and nothing else has been cut loose.
    ///
    /// # Errors
    /// Point 1, if a part does not move as a whole, or would no longer be the part it was.
    pub(crate) fn of(case: &Case<'_>) -> Result<Option<Self>, Reason> {
        let loose: Vec<&Stray> =
            case.progress.strays.iter().filter(|stray| closes_itself(case, stray)).collect();
        if case.promise.moved.is_empty() && loose.is_empty() {
            return Ok(None);
        }
        let placements = placements(case)?;
        whole_parts(case, &placements)?;
        let left = left_behind(case, &placements);
        let through = left.iter().filter(|stray| stray.depth == Depth::Through);
        let ghosts = through.chain(loose).cloned().collect();
        let to = Rearrangement {
            moved: placements.values().map(|moved| (moved.cut, moved.placement)).collect(),
            absent: absent(case, &placements),
            strays: ghosts,
        };
        let list = case.original.list.rearranged(&to, &Reading::with_kerf(case.ground.kerf));
        let list = list.map_err(|why| reason(1, why.message, None))?;
        let mut progress = Progress {
            made: case
                .progress
                .made
                .iter()
                .filter(|made| !placements.contains_key(&made.cut))
                .cloned()
                .collect(),
            strays: case.progress.strays.iter().cloned().chain(left).collect(),
            pieces: left_lying(case, &placements)?,
            held: Vec::new(),
        };
        let ghosts = list.cuts[case.original.list.cuts.len()..].iter().zip(&to.strays);
        progress.made.extend(ghosts.map(|(cut, stray)| Made {
            cut: cut.id,
            along_mm: 0.0..stray.path.length_mm(),
            depth: stray.depth,
            ends: Ends::KNOWN,
        }));
        let mut promise = case.promise.clone();
        promise.moved.sort_by_key(|moved| moved.cut);
        promise.given_up.extend(list.parts[case.original.list.parts.len()..].iter().map(|part| part.id));
        Ok(Some(Self { motions: motions(case, &placements)?, list, progress, promise }))
    }

    /// The original as it would be.
    pub(crate) fn original<'a>(&'a self, case: &Case<'a>) -> Original<'a> {
        Original::new(case.original.program, &self.motions, &self.list, case.original.dialect).for_one_proof()
    }

    /// The case against which the points are held.
    pub(crate) fn case<'a>(&'a self, case: &Case<'a>, original: &'a Original<'a>) -> Case<'a> {
        Case { original, progress: &self.progress, promise: &self.promise, ..*case }
    }
}

/// The parts that a cut serves.
pub(crate) fn parts_of(list: &CutList, cut: CutId) -> BTreeSet<PartId> {
    let cut = list.cut(cut);
    cut.contours.iter().chain(&cut.bounds).filter_map(|contour| list.contour(*contour).part).collect()
}

/// Every cut that a part needs.
fn cuts_of(list: &CutList, part: PartId) -> BTreeSet<CutId> {
    let part = list.part(part);
    let contours = [part.outline].into_iter().chain(part.holes.iter().chain(&part.others).copied());
    contours
        .flat_map(|contour| {
            let contour = list.contour(contour);
            std::iter::once(contour.cut).chain(contour.boundary.iter().map(|stretch| stretch.cut))
        })
        .collect()
}

type Placements<'a> = BTreeMap<CutId, &'a Moved>;

/// The placement of each moved cut.
fn placements<'a>(case: &Case<'a>) -> Result<Placements<'a>, Reason> {
    let promised: BTreeSet<CutId> = case.promise.cuts.iter().copied().collect();
    let mut placements = Placements::new();
    for moved in &case.promise.moved {
        let number = moved.cut.number();
        let refuse = |what: &str| Err(reason(1, format!("cut {number} is said to be moved {what}"), None));
        let corner = moved.placement.point(Point::new(1.0, 1.0));
        if placements.insert(moved.cut, moved).is_some() {
            return refuse("twice");
        }
        if !promised.contains(&moved.cut) {
            return refuse("and is not promised");
        }
        if case.promise.join(moved.cut).is_some() {
            return refuse(
                "and to go on where it was left: of a cut that is moved nothing is made at its new place",
            );
        }
        if !corner.is_finite() {
            return refuse("to no place");
        }
    }
    Ok(placements)
}

/// A part moves with all its cuts, or not at all.
fn whole_parts(case: &Case<'_>, placements: &Placements<'_>) -> Result<(), Reason> {
    for moved in placements.values() {
        let number = moved.cut.number();
        let parts = parts_of(case.original.list, moved.cut);
        if parts.is_empty() {
            return Err(reason(1, format!("cut {number} is moved, but it belongs to no part"), None));
        }
        for part in parts {
            let along =
                |cut: &CutId| placements.get(cut).is_some_and(|other| other.placement == moved.placement);
            if let Some(behind) = cuts_of(case.original.list, part).into_iter().find(|cut| !along(cut)) {
                let message = format!(
                    "part {} is moved with cut {number}, and cut {} of it is not moved with it",
                    part.number(),
                    behind.number()
                );
                return Err(reason(1, message, None));
            }
        }
    }
    Ok(())
}

/// What had been made of the moved cuts at their old places, at the most that may have been made.
fn left_behind(case: &Case<'_>, placements: &Placements<'_>) -> Vec<Stray> {
    let mut made: BTreeMap<(CutId, Depth), Vec<Range<f64>>> = BTreeMap::new();
    for stretch in case.progress.made.iter().filter(|made| placements.contains_key(&made.cut)) {
        let length = case.original.list.cut(stretch.cut).path.length_mm();
        made.entry((stretch.cut, stretch.depth)).or_default().push(stretch.at_most_mm(length));
    }
    let unmarked = made.into_iter().filter(|((cut, _), _)| !case.original.list.cut(*cut).is_mark);
    unmarked.flat_map(|((cut, depth), ranges)| strays_of(case, cut, depth, ranges)).collect()
}

/// The pieces spoken of that stay where they are. One whose cuts are made elsewhere leaves its old kerf, which holds
/// nothing: what stands there must be taken out.
fn left_lying(case: &Case<'_>, placements: &Placements<'_>) -> Result<Vec<Said>, Reason> {
    let is_moved = |said: &Said| placements.contains_key(&case.original.list.contour(said.outline).cut);
    let stays =
        |said: &&Said| is_moved(said) && said.lies == Lies::Standing && !is_taken_out(case, said.outline);
    if let Some(said) = case.progress.pieces.iter().find(stays) {
        let message = format!(
            "what cut {} freed stands up: it is made anew elsewhere only once that is taken out",
            case.original.list.contour(said.outline).cut.number()
        );
        return Err(reason(3, message, None));
    }
    Ok(case.progress.pieces.iter().filter(|said| !is_moved(said)).copied().collect())
}

fn strays_of(case: &Case<'_>, cut: CutId, depth: Depth, ranges: Vec<Range<f64>>) -> Vec<Stray> {
    let cut = case.original.list.cut(cut);
    let stray = |along: Range<f64>| {
        let pierced = along.start <= SAME_POINT_MM;
        let path = if pierced && along.end >= cut.path.length_mm() {
            cut.path.clone()
        } else {
            cut.path.piece(along.start, along.end)
        };
        Stray {
            at: path.from().unwrap_or(cut.pierce.at),
            crater_mm: if pierced { case.ground.crater_radius.unwrap_or(case.ground.kerf).mm() } else { 0.0 },
            path,
            depth,
        }
    };
    joined(ranges).into_iter().map(stray).collect()
}

/// Stretches that touch put together.
fn joined(mut ranges: Vec<Range<f64>>) -> Vec<Range<f64>> {
    ranges.sort_by(|a, b| a.start.total_cmp(&b.start));
    let mut joined: Vec<Range<f64>> = Vec::new();
    for range in ranges {
        match joined.last_mut() {
            Some(last) if range.start <= last.end + SAME_POINT_MM => last.end = last.end.max(range.end),
            _ => joined.push(range),
        }
    }
    joined
}

/// Whether a kerf on no cut's path comes round to itself: then what it encloses is loose.
fn closes_itself(case: &Case<'_>, stray: &Stray) -> bool {
    let Some(end) = stray.path.to().filter(|_| stray.depth == Depth::Through) else { return false };
    let reach = case.ground.kerf.mm() / 2.0;
    // What lies so far back cannot be near merely because the path has just left it.
    let before = stray.path.piece(0.0, stray.path.length_mm() - ROUND_KERFS * case.ground.kerf.mm());
    near(&before, end, reach) || !stray.path.self_crossings(ROUND_KERFS * case.ground.kerf.mm()).is_empty()
}

/// The shortest way round that a torch can go and leave metal within, in kerf widths.
const ROUND_KERFS: f64 = 4.0;

fn near(path: &Path<Program>, p: Point<Program>, reach_mm: f64) -> bool {
    path.nearest(p).is_some_and(|nearest| nearest.distance_mm <= reach_mm)
}

/// Cuts that leave nothing on the plate: not begun, not promised, and of no part with a cut that is either.
fn absent(case: &Case<'_>, placements: &Placements<'_>) -> Vec<CutId> {
    if placements.is_empty() {
        return Vec::new();
    }
    let mut there = vec![false; case.original.list.cuts.len()];
    case.progress.made.iter().for_each(|made| there[made.cut.0 as usize] = true);
    case.promise.cuts.iter().for_each(|cut| there[cut.0 as usize] = true);
    // What shares a cut with something that is there stays, so that shared edges are found again as they were.
    let mut open: Vec<CutId> =
        case.original.list.cuts.iter().map(|cut| cut.id).filter(|cut| there[cut.0 as usize]).collect();
    let mut seen = BTreeSet::new();
    while let Some(cut) = open.pop() {
        for part in parts_of(case.original.list, cut) {
            if !placements.contains_key(&cut) && seen.insert(part) {
                for other in cuts_of(case.original.list, part) {
                    if !std::mem::replace(&mut there[other.0 as usize], true) {
                        open.push(other);
                    }
                }
            }
        }
    }
    let absent = case.original.list.cuts.iter().map(|cut| cut.id).filter(|cut| !there[cut.0 as usize]);
    absent.filter(|cut| !parts_of(case.original.list, *cut).is_empty()).collect()
}

/// The original's motions with those of moved cuts at their new places.
fn motions(case: &Case<'_>, placements: &Placements<'_>) -> Result<Motions, Reason> {
    let legs = case.original.legs();
    let mut ranges = Vec::with_capacity(placements.len());
    for moved in placements.values() {
        let number = moved.cut.number();
        let Some(leg) = legs.started_by(case.original.list.cut(moved.cut).torch_on) else {
            return Err(reason(2, format!("the original does not start cut {number}"), None));
        };
        if leg.begins.motion == leg.set_up.motion {
            let message =
                format!("cut {number} begins where the one before it ends, so it cannot be moved by itself");
            return Err(reason(1, message, None));
        }
        ranges.push((leg.begins.motion..leg.ends.motion, moved.placement));
    }
    ranges.sort_by_key(|(range, _)| range.start);
    Ok(case.original.motions.placed(&ranges))
}
