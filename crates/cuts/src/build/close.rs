//! From paths to contours: what each cut closes by itself, and what several close together.

use super::Waited;
use super::ground::Ground;
use super::measure::{length_mm, pieces, signed_area_mm2};
use super::net::{Face, Groups, Side, Strand, faces};
use super::trace::{MEET_MM, Over, Trace, Tracer};
use crate::{Cut, CutId, Overlap, Reading, Stretch, Turn};
use geometry::{Bounds, Contour, Curve, Path, Program, SAME_POINT_MM};
use rstar::{AABB, RTree, primitives::GeomWithData, primitives::Rectangle};
use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::atomic::{AtomicUsize, Ordering};

/// A loop of a corner (the path overshoots a sharp corner and comes round to it again) encloses less than this share
/// of what its contour does. Common practice: loops of some millimetres on parts of some centimetres and more.
const LOOP_SHARE: f64 = 0.05;

/// What lies enclosed between chained contours is smaller than this share of the largest of them.
const POCKET_SHARE: f64 = 0.5;

/// A contour before it is known what it lies in.
pub(crate) struct Found {
    /// Index of the cut it belongs to.
    pub(crate) cut: usize,
    pub(crate) along_mm: Range<f64>,
    pub(crate) closed: Option<Contour<Program>>,
    pub(crate) boundary: Vec<Stretch>,
    pub(crate) gap_mm: f64,
    pub(crate) turn: Option<Turn>,
    pub(crate) closed_by: Vec<CutId>,
    /// Scrap beside the contour of a part, by the way the cut runs round it.
    pub(crate) is_scrap: bool,
}

/// What a cut closes, and what it runs over.
#[derive(Default)]
struct Outcome {
    found: Vec<Found>,
    overlaps: Vec<Overlap>,
}

/// The contours of `cuts`, in order of cutting, and for each cut its overlaps; none if it was called off. Marks close
/// nothing for others.
pub(crate) fn contours(
    cuts: &[Cut],
    reading: &Reading,
    waited: Waited<'_>,
) -> Option<(Vec<Found>, Vec<Vec<Overlap>>)> {
    let reach_mm = reading.kerf.mm() / 2.0;
    let mut by_cut = each_alone(cuts, reach_mm, waited)?;
    let is_open = |(cut, outcome): (&Cut, &Outcome)| {
        !cut.is_mark && !cut.path.curves().is_empty() && outcome.found.is_empty()
    };
    let open: Vec<bool> = cuts.iter().zip(&by_cut).map(is_open).collect();
    if open.contains(&true) {
        together(&Shared { cuts, open: &open, reach_mm }, &mut by_cut, waited)?;
    }
    let mut all = Vec::with_capacity(cuts.len());
    let mut overlaps = Vec::with_capacity(cuts.len());
    for (cut, outcome) in cuts.iter().zip(by_cut) {
        if outcome.found.is_empty() && !cut.path.curves().is_empty() {
            all.push(open_path(cut));
        }
        all.extend(outcome.found);
        overlaps.push(outcome.overlaps);
    }
    all.sort_by(|a, b| a.cut.cmp(&b.cut).then(a.along_mm.end.total_cmp(&b.along_mm.end)));
    Some((all, overlaps))
}

fn open_path(cut: &Cut) -> Found {
    let gap_mm = match (cut.path.from(), cut.path.to()) {
        (Some(from), Some(to)) => from.distance(to),
        _ => 0.0,
    };
    Found {
        cut: cut.id.0 as usize,
        along_mm: 0.0..cut.path.length_mm(),
        closed: None,
        boundary: Vec::new(),
        gap_mm,
        turn: None,
        closed_by: Vec::new(),
        is_scrap: false,
    }
}

/// Shorter runs along older ground than this, in millimetres, are crossings, or joints made within the tolerance of
/// meeting.
const LEAST_OVERLAP_MM: f64 = 0.2;

/// Lists with fewer cuts than this are not worth a second thread.
const TWO_THREADS_FROM: usize = 500;

/// What each cut does by itself, in the order of the cuts; half of a long list on a thread of its own. None if it was
/// called off.
fn each_alone(cuts: &[Cut], reach_mm: f64, waited: Waited<'_>) -> Option<Vec<Outcome>> {
    let (through, all) = (AtomicUsize::new(0), cuts.len());
    let run = |cuts: &[Cut]| -> Option<Vec<Outcome>> {
        let mut ground = Ground::new();
        let one = |cut| {
            waited.tell(through.fetch_add(1, Ordering::Relaxed), all, "cuts followed")?;
            Some(alone(cut, reach_mm, &mut ground))
        };
        cuts.iter().map(one).collect()
    };
    if cuts.len() < TWO_THREADS_FROM {
        return run(cuts);
    }
    let (first, second) = cuts.split_at(cuts.len() / 2);
    std::thread::scope(|scope| {
        let second = scope.spawn(|| run(second));
        let first = run(first);
        let second = second.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic));
        let mut outcomes = first?;
        outcomes.extend(second?);
        Some(outcomes)
    })
}

/// What a cut does by itself; it closes nothing if its path stays open.
fn alone(cut: &Cut, reach_mm: f64, ground: &mut Ground) -> Outcome {
    let Some(bounds) = cut.path.bounds() else { return Outcome::default() };
    ground.clear(bounds, cut.path.curves().len());
    let traced = trace(cut, reach_mm, ground, |_| false);
    let meets: Vec<_> = traced.fresh.iter().filter_map(|fresh| fresh.to.map(|to| (fresh, to))).collect();
    let found = match meets.as_slice() {
        [] => Vec::new(),
        [(fresh, to)] if fresh.from.is_none() => {
            one_loop(cut, to.at..fresh.along.end, reach_mm).into_iter().collect()
        }
        _ => {
            let strand = Strand { owner: cut.id.0, path: &cut.path, fresh: &traced.fresh };
            of_faces(faces(&[strand]), reach_mm)
        }
    };
    Outcome { found, overlaps: traced.over.iter().filter_map(overlap).collect() }
}

fn trace(cut: &Cut, reach_mm: f64, ground: &mut Ground, sees: impl Fn(u32) -> bool) -> Trace {
    Tracer { owner: cut.id.0, path: &cut.path, end_reach_mm: reach_mm, sees }.trace(ground)
}

/// An overlap worth speaking of: crossings are none.
fn overlap(over: &Over) -> Option<Overlap> {
    let (from, to) = over.at;
    let backwards = to < from;
    let over_mm = if backwards { to..from } else { from..to };
    let is_long = over.along.end - over.along.start > LEAST_OVERLAP_MM;
    is_long.then(|| Overlap { along_mm: over.along.clone(), over: CutId(over.owner), over_mm, backwards })
}

/// The everyday case: the path closes once.
fn one_loop(cut: &Cut, along_mm: Range<f64>, reach_mm: f64) -> Option<Found> {
    let curves = pieces(&cut.path, along_mm.start, along_mm.end);
    let area = signed_area_mm2(&curves);
    let gap_mm = curves.last()?.to().distance(curves.first()?.from());
    let least = if gap_mm > MEET_MM { reach_mm.max(MEET_MM) } else { MEET_MM };
    if is_sliver(area, length_mm(&curves), least) {
        return None;
    }
    let boundary = vec![Stretch { cut: cut.id, along_mm: along_mm.clone() }];
    let turn = if area > 0.0 { Turn::CounterClockwise } else { Turn::Clockwise };
    Some(Found {
        cut: cut.id.0 as usize,
        along_mm,
        closed: Contour::close(Path::new(curves)),
        boundary,
        gap_mm,
        turn: Some(turn),
        closed_by: Vec::new(),
        is_scrap: false,
    })
}

/// Whether a loop encloses no more than a strip `width_mm` wide, there and back, would.
fn is_sliver(area_mm2: f64, length_mm: f64, width_mm: f64) -> bool {
    area_mm2.abs() <= length_mm / 2.0 * width_mm
}

/// Contours of the faces of one net. What lies between the stretches of several, and the kerf consumes, is left out.
fn of_faces(faces: Vec<Face>, reach_mm: f64) -> Vec<Found> {
    let is_piece = |face: &Face| {
        !is_sliver(face.area_mm2, length_mm(&face.curves), MEET_MM)
            && (face.sides.len() == 1 || !is_consumed(face, reach_mm))
    };
    let kept: Vec<Face> = faces.into_iter().filter(is_piece).collect();
    let scrap = scrap(&kept);
    kept.into_iter().zip(scrap).map(|(face, is_scrap)| of_face(face, is_scrap)).collect()
}

/// Whether kerf of half width `reach_mm` along the boundary of `face` leaves nothing of it.
fn is_consumed(face: &Face, reach_mm: f64) -> bool {
    if !is_sliver(face.area_mm2, length_mm(&face.curves), 2.0 * reach_mm) {
        return false;
    }
    let inner = Contour::close(Path::new(bridged(face.curves.clone())));
    inner.is_none_or(|contour| contour.depth_mm(contour.inner_point()) <= reach_mm)
}

/// Which of `faces` are scrap that a cut encloses beside the contour of a part, which lies on the other hand of the
/// torch all the way: the loop of a corner, or what lies between chained contours and the ways from one to the next. The
/// latter is not run round in one go, as a part is.
fn scrap(faces: &[Face]) -> Vec<bool> {
    let mut largest: BTreeMap<(u32, bool), f64> = BTreeMap::new();
    for (face, hand) in faces.iter().filter_map(|face| Some((face, hand(face)?))) {
        let area = largest.entry(hand).or_insert(0.0);
        *area = area.max(face.area_mm2);
    }
    let is_scrap = |face: &Face| {
        let share = if face.sides.len() == 1 { LOOP_SHARE } else { POCKET_SHARE };
        let beside = hand(face).and_then(|(owner, forward)| largest.get(&(owner, !forward)));
        beside.is_some_and(|area| face.area_mm2 < area * share)
    };
    faces.iter().map(is_scrap).collect()
}

/// The cut that goes all round a face, and whether it does so counter-clockwise; none if there are several, or it goes
/// now this way, now that.
fn hand(face: &Face) -> Option<(u32, bool)> {
    let first = face.sides[0];
    let alike = |side: &Side| (side.owner, side.forward) == (first.owner, first.forward);
    face.sides.iter().all(alike).then_some((first.owner, first.forward))
}

fn of_face(face: Face, is_scrap: bool) -> Found {
    let last = face.sides.iter().max_by(|a, b| a.owner.cmp(&b.owner).then(a.to.total_cmp(&b.to)));
    let Side { owner, forward, .. } = *last.expect("a face has sides");
    let own = face.sides.iter().filter(|side| side.owner == owner);
    let along_mm = own.fold(f64::INFINITY..f64::NEG_INFINITY, |range, side| {
        range.start.min(side.from)..range.end.max(side.to)
    });
    let (mut sides, mut curves) = (face.sides, bridged(face.curves));
    if !forward {
        sides.reverse();
        curves.reverse();
        curves.iter_mut().for_each(|curve| *curve = curve.reversed());
    }
    let gap_mm = curves.iter().zip(curves.iter().cycle().skip(1)).map(|(a, b)| a.to().distance(b.from()));
    let gap_mm = gap_mm.fold(0.0, f64::max);
    let mut closed_by: Vec<CutId> =
        sides.iter().filter(|side| side.owner != owner).map(|side| CutId(side.owner)).collect();
    closed_by.sort_unstable();
    closed_by.dedup();
    let stretch = |side: &Side| Stretch { cut: CutId(side.owner), along_mm: side.from..side.to };
    Found {
        cut: owner as usize,
        along_mm,
        closed: Contour::close(Path::new(curves)),
        boundary: sides.iter().map(stretch).collect(),
        gap_mm,
        turn: Some(if forward { Turn::CounterClockwise } else { Turn::Clockwise }),
        closed_by,
        is_scrap,
    }
}

/// `curves` with straight lines over the gaps between them, where kerfs that meet side by side have their centre lines
/// apart.
fn bridged(curves: Vec<Curve<Program>>) -> Vec<Curve<Program>> {
    let mut whole: Vec<Curve<Program>> = Vec::with_capacity(curves.len());
    for curve in curves {
        let gap = whole.last().map(|last| Curve::line(last.to(), curve.from()));
        whole.extend(gap.filter(|gap| gap.length_mm() >= SAME_POINT_MM));
        whole.push(curve);
    }
    whole
}

/// What is needed to find the boundaries that several cuts share.
struct Shared<'a> {
    cuts: &'a [Cut],
    /// Which cuts close nothing by themselves.
    open: &'a [bool],
    reach_mm: f64,
}

/// Finds what open cuts close together with others, and puts it in place of what each of them closes alone. None if it
/// was called off.
fn together(shared: &Shared<'_>, by_cut: &mut [Outcome], waited: Waited<'_>) -> Option<()> {
    let members = shared.members();
    let traces = shared.traced(&members, &mut Ground::new(), waited)?;
    for (k, trace) in members.iter().zip(&traces) {
        by_cut[*k].overlaps = trace.over.iter().filter_map(overlap).collect();
    }
    let nets = nets(&members, &traces);
    for (done, net) in nets.iter().enumerate() {
        waited.tell(done, nets.len(), "cuts that close together")?;
        let strands: Vec<Strand<'_>> = net
            .iter()
            .map(|k| Strand {
                owner: shared.cuts[members[*k]].id.0,
                path: &shared.cuts[members[*k]].path,
                fresh: &traces[*k].fresh,
            })
            .collect();
        for k in net {
            by_cut[members[*k]].found.clear();
        }
        for found in of_faces(faces(&strands), shared.reach_mm) {
            by_cut[found.cut].found.push(found);
        }
    }
    Some(())
}

impl Shared<'_> {
    /// The open cuts, and those whose boxes come near one: in order of cutting.
    fn members(&self) -> Vec<usize> {
        let margin = self.reach_mm + 2.0 * MEET_MM;
        let boxes = self.cuts.iter().enumerate().filter(|(_, cut)| !cut.is_mark);
        let boxes = boxes.filter_map(|(k, cut)| cut.path.bounds().map(|bounds| (k, bounds)));
        let boxes: Vec<_> = boxes.map(|(k, b)| GeomWithData::new(corners(b), k)).collect();
        let boxes = RTree::bulk_load(boxes);
        let mut chosen = vec![false; self.cuts.len()];
        for k in (0..self.cuts.len()).filter(|k| self.open[*k]) {
            chosen[k] = true;
            if let Some(bounds) = self.cuts[k].path.bounds() {
                let near = bounds.grown(margin);
                let near = AABB::from_corners([near.min.x, near.min.y], [near.max.x, near.max.y]);
                boxes.locate_in_envelope_intersecting(near).for_each(|boxed| chosen[boxed.data] = true);
            }
        }
        (0..self.cuts.len()).filter(|k| chosen[*k]).collect()
    }

    /// What each member does. Open cuts look at all others, closed ones at open ones only: closed contours
    /// that touch or repeat each other are pieces each by itself. None if it was called off.
    fn traced(&self, members: &[usize], ground: &mut Ground, waited: Waited<'_>) -> Option<Vec<Trace>> {
        let bounds = members.iter().filter_map(|k| self.cuts[*k].path.bounds()).reduce(Bounds::union);
        let Some(bounds) = bounds else { return Some(Vec::new()) };
        ground.clear(bounds, members.iter().map(|k| self.cuts[*k].path.curves().len()).sum());
        let mut traces = Vec::with_capacity(members.len());
        for (done, k) in members.iter().enumerate() {
            waited.tell(done, members.len(), "cuts held against each other")?;
            let sees = |owner: u32| self.open[*k] || self.open[owner as usize];
            traces.push(trace(&self.cuts[*k], self.reach_mm, ground, sees));
        }
        Some(traces)
    }
}

fn corners(bounds: Bounds<Program>) -> Rectangle<[f64; 2]> {
    Rectangle::from_corners([bounds.min.x, bounds.min.y], [bounds.max.x, bounds.max.y])
}

/// Members that touch each other, directly or through others, as positions in `members`: two and more of them.
fn nets(members: &[usize], traces: &[Trace]) -> Vec<Vec<usize>> {
    let mut groups = Groups::new(members.len());
    for (k, trace) in traces.iter().enumerate() {
        for foot in trace.fresh.iter().flat_map(|fresh| [fresh.from, fresh.to]).flatten() {
            if let Ok(other) = members.binary_search(&(foot.owner as usize)) {
                groups.join(k, other);
            }
        }
    }
    let (numbers, count) = groups.numbered();
    let mut nets = vec![Vec::new(); count];
    for (k, number) in numbers.iter().enumerate() {
        nets[*number].push(k);
    }
    nets.retain(|net| net.len() > 1);
    nets
}
