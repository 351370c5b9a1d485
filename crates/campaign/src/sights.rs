//! What of the true plate can be sighted to find it again: its corners, the craters, lips of kerfs and marks left in it.

use crate::bench::Bench;
use crate::fault::index_of_share;
use crate::judge::Rig;
use crate::judge::physics::CRATER_KERFS;
use crate::judge::raster::PIXEL_MM;
use cuts::{Contour, Hand};
use geometry::{Arc, Point, Program, Vector};
use shop::{Lip, PlateSide};

/// Error of a place sighted by pointer, one standard deviation in each direction (common practice).
pub(crate) const SIGHT_SIGMA_MM: f64 = 0.5;

/// How far about a crater's middle its lip is looked at, in millimetres, and the share that must be held metal for its
/// middle to be seen.
const LIP_MM: f64 = 4.0;
const LIP_SHARE: f64 = 0.3;

/// Places about a crater at which its rim is looked for, how many of them tell its middle (a third of the circle), how far off the
/// circle each may lie, and how far out they are looked for at most, in millimetres: as wide as a hole that is blown.
const RIM_LOOKS: usize = 24;
const RIM_PLACES: usize = 8;
const RIM_MM: f64 = 0.25;
const RIM_MOST_MM: f64 = 6.0;

/// A path turns by more than this at a corner that is sighted, in radians, and the lip is looked at so far within its metal.
const CORNER_RAD: f64 = 0.35;
const LIP_HELD_MM: f64 = 0.5;

/// Something of the plate that can be sighted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Mark {
    /// A corner of the plate.
    Corner(PlateSide),
    /// The crater of a cut's pierce.
    Crater(usize),
    /// A corner of a cut's kerf, on the lip that is held.
    KerfCorner(usize, Lip),
    /// An end of a mark.
    LineEnd,
    /// A place on the lip of a straight edge of a cut's kerf.
    KerfEdge(usize),
    /// The centre of a round kerf, or of the round end of one, by places on the lip that holds.
    Round(usize, [[f64; 2]; ROUND_PLACES]),
}

/// What can be sighted, each with its place in the program's frame: the plate's corners, and the craters that can be seen
/// in the skeleton; those in pieces that have dropped out are gone.
pub(crate) fn features(bench: &Bench, rig: &Rig<'_>) -> Vec<(Mark, [f64; 2])> {
    features_as_laid(bench, rig, &|_| false)
}

/// The same, with the craters of these cuts whether or not they can be seen where the program has them.
pub(crate) fn features_as_laid(
    bench: &Bench,
    rig: &Rig<'_>,
    anyway: &dyn Fn(usize) -> bool,
) -> Vec<(Mark, [f64; 2])> {
    let [x, y] = bench.layout.corner;
    let [wide, tall] = bench.layout.size_mm;
    let [left, below] = [x + rig.corners_off_mm[0], y + rig.corners_off_mm[1]];
    let corners = [
        (PlateSide::LowerLeft, [left, below]),
        (PlateSide::LowerRight, [left + wide, below]),
        (PlateSide::UpperRight, [left + wide, below + tall]),
        (PlateSide::UpperLeft, [left, below + tall]),
    ];
    let lines = bench.layout.lines.iter().enumerate();
    let craters = lines
        .filter(|(cut, line)| !line.marks && (anyway(*cut) || can_be_seen(rig, line.places[0], line.kerf_mm)))
        .map(|(cut, line)| (Mark::Crater(cut), [line.places[0][0] + x, line.places[0][1] + y]));
    corners.map(|(side, place)| (Mark::Corner(side), place)).into_iter().chain(craters).collect()
}

/// Places that are sighted round a round kerf, and those that are looked at for them.
const ROUND_PLACES: usize = 4;
const ROUND_LOOKS: usize = 24;

/// A contour is round if it leaves the circle by no more than this, in millimetres.
const ROUND_MM: f64 = 0.1;

/// Centres of round contours that are through by half at least, in the program's frame, with places on the lip that holds.
pub(crate) fn round_kerfs(bench: &Bench, rig: &Rig<'_>) -> Vec<(Mark, [f64; 2])> {
    contours(bench).filter_map(|(cut, contour)| round_kerf(bench, rig, cut, contour)).collect()
}

fn round_kerf(bench: &Bench, rig: &Rig<'_>, cut: usize, contour: &Contour) -> Option<(Mark, [f64; 2])> {
    let bounds = contour.closed.as_ref()?.bounds();
    let (middle, radius_mm) = (bounds.min.lerp(bounds.max, 0.5), (bounds.max.x - bounds.min.x) / 2.0);
    let path = &bench.given.list.cuts[cut].path;
    let (from, to) = (contour.along_mm.start, contour.along_mm.end);
    let place = |k: usize| path.point_at(from + (to - from) * share_of(k, ROUND_LOOKS));
    let places: Vec<Point<Program>> = (0..ROUND_LOOKS).filter_map(place).collect();
    if places.iter().any(|at| (at.distance(middle) - radius_mm).abs() > ROUND_MM) {
        return None;
    }
    let half_mm = bench.starts[cut].kerf_mm / 2.0;
    let there = |at: Point<Program>| bench.layout.on_plate([at.x, at.y]);
    let out = |at: Point<Program>, mm: f64| (at - middle).unit().map(|out| at + out * mm);
    let holds = |at: &&Point<Program>| {
        let held = out(**at, half_mm + LIP_HELD_MM).is_some_and(|at| rig.plate.is_metal(there(at)));
        held && rig.plate.is_void(there(**at))
    };
    let seen: Vec<Point<Program>> = places.iter().filter(holds).filter_map(|at| out(*at, half_mm)).collect();
    if seen.len() < ROUND_LOOKS / 2 {
        return None;
    }
    // A whole circle begins and ends at the same place.
    let picked = |k: usize| seen[index_of_share(share_of(k, ROUND_PLACES), seen.len())];
    let lip = std::array::from_fn(|k| [picked(k).x, picked(k).y]);
    Some((Mark::Round(cut, lip), [middle.x, middle.y]))
}

/// A round end turns by this at least, in radians, and has this radius at least, in millimetres.
const END_RAD: f64 = 2.6;
const END_LEAST_MM: f64 = 2.0;

/// Centres of the round ends of slots that are through, in the program's frame, with places on the outer lip that holds.
pub(crate) fn round_ends(bench: &Bench, rig: &Rig<'_>) -> Vec<(Mark, [f64; 2])> {
    let arcs = contours(bench).flat_map(|(cut, contour)| {
        let arcs = bench.given.list.cuts[cut].path.arcs(ROUND_MM).into_iter();
        arcs.filter(|(from_mm, arc)| contour.along_mm.contains(&(from_mm + arc.length_mm() / 2.0)))
            .map(move |(_, arc)| (cut, arc))
    });
    arcs.filter_map(|(cut, arc)| round_end(bench, rig, cut, &arc)).collect()
}

fn round_end(bench: &Bench, rig: &Rig<'_>, cut: usize, arc: &Arc<Program>) -> Option<(Mark, [f64; 2])> {
    let is_end = (END_RAD..std::f64::consts::TAU).contains(&arc.sweep_rad.abs());
    if !is_end || arc.radius_mm() < END_LEAST_MM {
        return None;
    }
    let half_mm = bench.starts[cut].kerf_mm / 2.0;
    let there = |at: Point<Program>| bench.layout.on_plate([at.x, at.y]);
    let out = |at: Point<Program>, mm: f64| (at - arc.center).unit().map(|out| at + out * mm);
    let holds = |at: &Point<Program>| {
        let held = out(*at, half_mm + LIP_HELD_MM).is_some_and(|at| rig.plate.is_metal(there(at)));
        held && rig.plate.is_void(there(*at))
    };
    let place = |k: usize| arc.point_at(arc.length_mm() * share_of(k, ROUND_LOOKS - 1));
    let places: Vec<Point<Program>> = (0..ROUND_LOOKS).map(place).take_while(holds).collect();
    // As far as it is through, it must be an end of its own.
    let turns = arc.sweep_rad.abs() * share_of(places.len().saturating_sub(1), ROUND_LOOKS - 1);
    if turns < END_RAD {
        return None;
    }
    let last = places.len() - 1;
    let picked = |k: usize| out(places[index_of_share(share_of(k, ROUND_PLACES - 1), last + 1)], half_mm);
    let lip = [0, 1, 2, 3].map(picked);
    let [Some(a), Some(b), Some(c), Some(d)] = lip else { return None };
    Some((Mark::Round(cut, [a, b, c, d].map(|at| [at.x, at.y])), [arc.center.x, arc.center.y]))
}

#[expect(clippy::cast_precision_loss, reason = "a small number of places")]
fn share_of(k: usize, count: usize) -> f64 {
    k as f64 / count as f64
}

/// Ends of the marks that are made, with their places in the program's frame.
pub(crate) fn ends_of_marks(bench: &Bench, rig: &Rig<'_>) -> Vec<(Mark, [f64; 2])> {
    let [x, y] = bench.layout.corner;
    let marks = bench.layout.lines.iter().filter(|line| line.marks);
    let ends = marks.flat_map(|line| [line.places.first(), line.places.last()]).flatten();
    let seen = ends.filter(|at| rig.plate.is_cut(**at) && !rig.plate.is_loose(**at));
    seen.map(|at| (Mark::LineEnd, [at[0] + x, at[1] + y])).collect()
}

/// Corners of the kerfs that are through, where one lip is held, each with that lip's place in the program's frame.
pub(crate) fn kerf_corners(bench: &Bench, rig: &Rig<'_>) -> Vec<(Mark, [f64; 2])> {
    contours(bench).flat_map(|(cut, contour)| corners_of(bench, rig, cut, contour)).collect()
}

fn corners_of(bench: &Bench, rig: &Rig<'_>, cut: usize, contour: &Contour) -> Vec<(Mark, [f64; 2])> {
    let Some(scrap) = contour.scrap_side() else { return Vec::new() };
    let path = &bench.given.list.cuts[cut].path;
    let half_mm = bench.starts[cut].kerf_mm / 2.0;
    let there = |at: Point<Program>| bench.layout.on_plate([at.x, at.y]);
    let mut seen = Vec::new();
    for (k, pair) in path.curves().windows(2).enumerate() {
        let [from, to] = [pair[0].tangent_at(pair[0].length_mm()), pair[1].tangent_at(0.0)];
        let (Some(from), Some(to)) = (from, to) else { continue };
        let is_corner = from.cross(to).atan2(from.dot(to)).abs() > CORNER_RAD;
        let along_mm = path.start_of_mm(k + 1);
        // Where a contour begins and ends, a lead runs into it.
        let is_within =
            contour.along_mm.start + half_mm < along_mm && along_mm + half_mm < contour.along_mm.end;
        if !is_corner || !is_within {
            continue;
        }
        let at = pair[0].to();
        let lips = [(1.0, Hand::Left), (-1.0, Hand::Right)].map(|(side, hand)| {
            let out = (from.left() + to.left()) * (side / (1.0 + from.dot(to)));
            (out, if hand == scrap { Lip::Scrap } else { Lip::Part })
        });
        let is_held = |out: &Vector<Program>| rig.plate.is_metal(there(at + *out * (half_mm + LIP_HELD_MM)));
        let held = lips.into_iter().find(|(out, _)| rig.plate.is_void(there(at)) && is_held(out));
        if let Some((out, lip)) = held {
            let place = at + out * half_mm;
            seen.push((Mark::KerfCorner(cut, lip), [place.x, place.y]));
        }
    }
    seen
}

/// How near to a lip a place must be to be on it, in millimetres.
const ON_LIP_MM: f64 = 0.2;

/// The straight edge of a kerf at a place on its lip, in the program's frame, if the kerf is through there and the lip holds.
pub(crate) fn kerf_edge(bench: &Bench, rig: &Rig<'_>, place: [f64; 2]) -> Option<(Mark, [f64; 2])> {
    let at = Point::<Program>::new(place[0], place[1]);
    let there = |at: Point<Program>| bench.layout.on_plate([at.x, at.y]);
    let is_lip = |(cut, curve): &(usize, &geometry::Curve<Program>)| {
        let near = curve.nearest(at);
        let half_mm = bench.starts[*cut].kerf_mm / 2.0;
        let is_straight = matches!(curve, geometry::Curve::Segment(_));
        let held =
            (at - near.point).unit().is_some_and(|out| rig.plate.is_metal(there(at + out * LIP_HELD_MM)));
        is_straight
            && (near.distance_mm - half_mm).abs() <= ON_LIP_MM
            && held
            && rig.plate.is_void(there(near.point))
    };
    let cuts = bench.given.list.cuts.iter().enumerate();
    let mut curves = cuts.flat_map(|(cut, of)| of.path.curves().iter().map(move |curve| (cut, curve)));
    curves.find(is_lip).map(|(cut, _)| (Mark::KerfEdge(cut), place))
}

/// Whether the crater of a kerf so wide can be seen at a place of the plate: much of what lies about it is there still, or enough of
/// its own rim that the eye finds the middle, be it blown wide.
pub(crate) fn can_be_seen(rig: &Rig<'_>, place: [f64; 2], kerf_mm: f64) -> bool {
    let about = || rig.plate.metal_share(place, LIP_MM) > LIP_SHARE;
    rig.plate.is_void(place) && (about() || rim_is_seen(rig, place, kerf_mm * CRATER_KERFS))
}

/// Whether so many places of the rim of a crater or of the hole that was blown there lie on one circle about its middle.
fn rim_is_seen(rig: &Rig<'_>, place: [f64; 2], crater_mm: f64) -> bool {
    let rim = |k: usize| {
        let (sin, cos) = libm::sincos(std::f64::consts::TAU * share_of(k, RIM_LOOKS));
        let out = std::iter::successors(Some(PIXEL_MM), |mm| Some(mm + PIXEL_MM));
        let mut out = out.take_while(|mm| *mm <= RIM_MOST_MM);
        out.find(|mm| rig.plate.is_metal([place[0] + cos * mm, place[1] + sin * mm]))
    };
    let rims: Vec<f64> = (0..RIM_LOOKS).filter_map(rim).collect();
    let like = |radius_mm: f64| rims.iter().filter(|mm| (**mm - radius_mm).abs() <= RIM_MM).count();
    rims.iter().any(|mm| *mm >= crater_mm - RIM_MM && like(*mm) >= RIM_PLACES)
}

/// The contours that are cut, each with its cut.
fn contours(bench: &Bench) -> impl Iterator<Item = (usize, &Contour)> {
    let list = &bench.given.list;
    let cuts = list.cuts.iter().enumerate().filter(|(cut, _)| !bench.layout.lines[*cut].marks);
    cuts.flat_map(move |(cut, of)| of.contours.iter().map(move |id| (cut, list.contour(*id))))
}
