//! What could be measured next: features on metal that is still held, and that exist now.

use super::circle::fit_circle;
use super::features::{
    Round, corner_of_plate, edge_name, edge_of_plate, inset, is_half_made, round, round_ends, shown,
    single_edges, single_lips,
};
use super::fit::{Sighting, Spread};
use super::metal::Metal;
use super::predict::{Candidate, hull};
use cuts::Depth;
use geometry::{Bounds, Point, Program};
use nalgebra::Matrix2;
use shop::PlateSide;
use std::collections::BTreeMap;
use units::System;

/// A feature that lies this near to one that was measured is that one, in millimetres.
const SAME_MM: f64 = 2.0;

/// Places that are taken round a hole's edge, evenly.
const ROUND_A_HOLE: f64 = 4.0;

/// How near to an edge's end a place on it is proposed, as a share of its length.
const NEAR_END: f64 = 0.1;

/// Cells in each axis from which one feature each is weighed beside those farthest out. What a feature brings hangs on
/// where it lies, and neighbours bring the same.
const CELLS: f64 = 8.0;

/// Features that could be measured next, by pointer or tip of standard deviation `sigma_mm`, without those already
/// `used`, named in `system`. Of many that lie together one stands for all, so that there are at most some two hundred.
#[must_use]
pub fn candidates(metal: &Metal<'_>, used: &[Sighting], sigma_mm: f64, system: System) -> Vec<Candidate> {
    let of_plate = plate_corners(metal, sigma_mm).chain(plate_edges(metal, sigma_mm));
    let free = |candidate: &Candidate| {
        used.iter().all(|sighting| !sighting.is_point() || sighting.plan.distance(candidate.plan) > SAME_MM)
    };
    let mut all: Vec<Candidate> = of_plate.filter(free).collect();
    let mut of_cuts: Vec<Candidate> =
        holes(metal, sigma_mm).chain(craters(metal, sigma_mm)).filter(free).collect();
    let sighted =
        used.iter().filter(|sighting| sighting.is_point() && !metal.is_on_edge(sighting.plan)).count();
    if of_cuts.len() + sighted < CUT_LEAST {
        let few = round_kerfs(metal, sigma_mm)
            .chain(ends_of_slots(metal, sigma_mm, system))
            .chain(kerf_corners(metal, sigma_mm, system))
            .chain(ends_of_marks(metal, sigma_mm, system))
            .chain(kerf_edges(metal, sigma_mm, system));
        of_cuts.extend(few.filter(free));
    }
    all.extend(thinned(of_cuts));
    all
}

/// Round kerfs whose slug is still there, round ends of slots, corners and straight edges of kerfs and ends of marks are
/// proposed where fewer craters and holes than this are left: two show each other's slips, a third tells which.
const CUT_LEAST: usize = 3;

fn kerf_corners(metal: &Metal<'_>, sigma_mm: f64, system: System) -> impl Iterator<Item = Candidate> {
    let lips = metal.list.cuts.iter().filter(|cut| !cut.is_mark).flat_map(move |cut| single_lips(metal, cut));
    lips.map(move |(corner, plan)| Candidate {
        name: corner.name(system),
        plan,
        spread: Spread::Round(sigma_mm),
    })
}

fn kerf_edges(metal: &Metal<'_>, sigma_mm: f64, system: System) -> impl Iterator<Item = Candidate> {
    let cuts = metal.list.cuts.iter().filter(|cut| !cut.is_mark);
    let edges = cuts.flat_map(move |cut| single_edges(metal, cut).map(move |edge| (cut.id, edge)));
    edges.map(move |(cut, edge)| Candidate {
        name: edge_name(cut, edge.at, system),
        plan: edge.lip,
        spread: Spread::Across { direction: edge.direction, sigma_mm },
    })
}

/// Round kerfs that are half made at least, with the slug still in them: places on the lip round them tell the centre.
fn round_kerfs(metal: &Metal<'_>, sigma_mm: f64) -> impl Iterator<Item = Candidate> {
    let list = metal.list;
    let contours = list.cuts.iter().flat_map(|cut| cut.contours.iter().map(|id| list.contour(*id)));
    let begun = contours.filter(|contour| !metal.state.made_mm(contour.cut, Depth::Through).is_empty());
    begun.filter_map(move |contour| {
        let round: Round = round(contour).filter(|_| is_half_made(metal, contour))?;
        let is_gone = metal
            .state
            .loose()
            .iter()
            .any(|piece| piece.is_gone() && list.contour(piece.outline).cut == contour.cut);
        (!is_gone && round.rim_loose(metal).is_none()).then(|| Candidate {
            name: format!(
                "the hole of cut {} by three places or more on its outer lip",
                contour.cut.number()
            ),
            plan: round.center,
            // Places round half a circle tell its centre about as well as one reading does.
            spread: Spread::Round(sigma_mm),
        })
    })
}

/// Round ends of slots and tongues: places on the outer lip tell the centre.
fn ends_of_slots(metal: &Metal<'_>, sigma_mm: f64, system: System) -> impl Iterator<Item = Candidate> {
    let list = metal.list;
    let contours = list.cuts.iter().flat_map(|cut| cut.contours.iter().map(|id| list.contour(*id)));
    contours.flat_map(|contour| round_ends(metal, contour)).filter_map(move |end| {
        let places = end.places(ROUND_AN_END, metal.half_kerf_mm());
        // How the plate is turned is not known here: as badly as in the direction that is told worst.
        let worst = fit_circle(&places).ok()?.center_cofactor.symmetric_eigenvalues().max();
        Some(Candidate {
            name: format!("{} by four places or more on its outer lip", end.name(system)),
            plan: end.round().center,
            spread: Spread::Round(sigma_mm * worst.sqrt()),
        })
    })
}

/// Places that are taken on the lip of a round end, evenly from where it begins to where it ends.
const ROUND_AN_END: u32 = 4;

fn ends_of_marks(metal: &Metal<'_>, sigma_mm: f64, system: System) -> impl Iterator<Item = Candidate> {
    let list = metal.list;
    let marks = list.cuts.iter().filter(|cut| cut.is_mark && metal.state.is_whole(list, cut.id));
    let ends = marks.flat_map(|cut| [(cut, "start", 0.0), (cut, "end", cut.path.length_mm())]);
    ends.filter_map(move |(cut, which, along_mm)| {
        let plan = cut.path.point_at(along_mm).filter(|at| metal.is_held(*at))?;
        let at = shown(plan.x, plan.y, system);
        let name = format!("the point at {at}, the {which} of mark {}", cut.number());
        Some(Candidate { name, plan, spread: Spread::Round(sigma_mm) })
    })
}

fn plate_corners(metal: &Metal<'_>, sigma_mm: f64) -> impl Iterator<Item = Candidate> {
    const CORNERS: [PlateSide; 4] =
        [PlateSide::LowerLeft, PlateSide::LowerRight, PlateSide::UpperLeft, PlateSide::UpperRight];
    let curves = metal.plate.map_or(&[][..], |plate| plate.path().curves());
    let bounds = metal.plate.map(geometry::Contour::bounds);
    CORNERS.into_iter().filter_map(move |side| {
        let (name, plan) = corner_of_plate(curves, side)?;
        let held = metal.is_held(inset(plan, bounds?));
        held.then(|| Candidate { name: name.to_owned(), plan, spread: Spread::Round(sigma_mm) })
    })
}

fn plate_edges(metal: &Metal<'_>, sigma_mm: f64) -> impl Iterator<Item = Candidate> {
    const EDGES: [(PlateSide, [&str; 2]); 4] = [
        (PlateSide::Left, ["lower", "upper"]),
        (PlateSide::Right, ["lower", "upper"]),
        (PlateSide::Bottom, ["left", "right"]),
        (PlateSide::Top, ["left", "right"]),
    ];
    let curves = metal.plate.map_or(&[][..], |plate| plate.path().curves());
    let bounds = metal.plate.map(geometry::Contour::bounds);
    EDGES.into_iter().flat_map(move |(side, [low, high])| {
        let edge = edge_of_plate(curves, side);
        [(low, NEAR_END), (high, 1.0 - NEAR_END)].into_iter().filter_map(move |(end, share)| {
            let (name, edge) = edge?;
            let (mut from, mut to) = (edge.from(), edge.to());
            if from.x + from.y > to.x + to.y {
                (from, to) = (to, from);
            }
            let plan = from.lerp(to, share);
            let direction = (to - from).unit()?;
            metal.is_held(inset(plan, bounds?)).then(|| Candidate {
                name: format!("{name} near its {end} end"),
                plan,
                spread: Spread::Across { direction, sigma_mm },
            })
        })
    })
}

fn craters(metal: &Metal<'_>, sigma_mm: f64) -> impl Iterator<Item = Candidate> {
    let made = metal.state.craters(metal.list).filter(|crater| !metal.list.cut(crater.cut).is_mark);
    made.filter(|crater| metal.is_held(crater.at)).map(move |crater| Candidate {
        name: format!("the crater of cut {}", crater.cut.number()),
        plan: crater.at,
        spread: Spread::Round(sigma_mm),
    })
}

/// Round holes that are open: made whole, and what was in them gone.
fn holes(metal: &Metal<'_>, sigma_mm: f64) -> impl Iterator<Item = Candidate> {
    let gone = metal.state.loose().iter().filter(|piece| piece.is_gone());
    gone.filter_map(move |piece| {
        let contour = metal.list.contour(piece.outline);
        let hole: Round = round(contour)?;
        hole.rim_loose(metal).is_none().then(|| Candidate {
            name: format!("the hole of cut {}", contour.cut.number()),
            plan: hole.center,
            // The centre of n places spread evenly round a circle has 2/n of a reading's variance in each axis.
            spread: Spread::Elliptic(Matrix2::identity() * (sigma_mm * sigma_mm * 2.0 / ROUND_A_HOLE)),
        })
    })
}

/// Those farthest out, and one from each cell of a grid over all.
fn thinned(all: Vec<Candidate>) -> Vec<Candidate> {
    let places: Vec<Point<Program>> = all.iter().map(|candidate| candidate.plan).collect();
    let Some(bounds) = Bounds::around(places.iter().copied()) else { return all };
    let outer = hull(&places);
    let cell = |p: Point<Program>| {
        let of = |at: f64, min: f64, max: f64| (CELLS * (at - min) / (max - min).max(1.0)).floor();
        let (x, y) = (of(p.x, bounds.min.x, bounds.max.x), of(p.y, bounds.min.y, bounds.max.y));
        (x.to_bits(), y.to_bits())
    };
    let mut first: BTreeMap<(u64, u64), usize> = BTreeMap::new();
    for (k, p) in places.iter().enumerate() {
        first.entry(cell(*p)).or_insert(k);
    }
    let far_out: std::collections::BTreeSet<(u64, u64)> =
        outer.iter().map(|p| (p.x.to_bits(), p.y.to_bits())).collect();
    let keep = |k: usize, p: Point<Program>| {
        far_out.contains(&(p.x.to_bits(), p.y.to_bits())) || first.get(&cell(p)) == Some(&k)
    };
    all.into_iter().enumerate().filter(|(k, candidate)| keep(*k, candidate.plan)).map(|(_, c)| c).collect()
}
