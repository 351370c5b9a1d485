//! Where brute force finds a lead, the search finds one too.
//!
//! Brute force goes the other way: from pierces on a grid over the scrap, along the line that touches a circle which
//! touches the cut's path. It asks for a little more room than the search must keep.

use crate::plain::Around;
use crate::plate::{Plate, Stop};
use geometry::{Point, Program, Vector};
use nests::Nest;
use rescue::lead::fresh_leads;

/// More room than must be, in millimetres.
const MARGIN_MM: f64 = 0.4;

#[test]
fn where_brute_force_finds_a_lead_the_search_finds_one() {
    let (mut without, mut missed) = (0, Vec::new());
    for seed in 100..112 {
        let plate = Plate::of(&Nest::random(seed));
        for stop in plate.stops(&[0.6]) {
            let state = plate.after(&stop);
            let window = stop.window_mm(&plate);
            if !fresh_leads(&plate.site(&state), stop.cut, window.clone()).is_empty() {
                continue;
            }
            without += 1;
            if let Some(pierce) = brute_force(&plate, stop, f64::midpoint(window.start, window.end)) {
                missed.push((seed, stop, pierce));
            }
        }
    }
    assert!(without > 10, "{without}");
    assert!(missed.is_empty(), "of {without} stops without a lead, brute force finds one at {missed:?}");
}

/// The pierce of a lead that meets the cut at `from_mm`, if one is found.
fn brute_force(plate: &Plate, stop: Stop, from_mm: f64) -> Option<Point<Program>> {
    let path = &plate.list.cut(stop.cut).path;
    let (at, along) = (path.point_at(from_mm)?, path.tangent_at(from_mm)?);
    let around = Around::of(plate, stop, at, 60.0);
    let steps = -16..=16;
    let grid = steps.clone().flat_map(|row| steps.clone().map(move |column| (row, column)));
    let pierces = grid.map(|(row, column)| at + Vector::new(f64::from(row), f64::from(column)) * 1.5);
    let mut pierces = pierces.filter(|p| {
        around.crater_clear_mm(*p) >= MARGIN_MM && around.depth_in_part_mm(*p) <= 0.0 && around.is_held(*p)
    });
    pierces.find(|pierce| {
        [along.left(), -along.left()].into_iter().any(|aside| {
            let mut radii = (2..=16).map(f64::from).filter(|radius| *radius >= plate.ground.kerf.mm());
            radii.any(|radius| {
                let lead = tangential(*pierce, at, along, aside, radius);
                lead.is_some_and(|lead| stays_in_scrap(plate, &around, &lead))
            })
        })
    })
}

/// Points, a quarter of a millimetre apart, of the way from the join back to the pierce: along the circle of this radius
/// that touches the path at `at`, then along its tangent. None if the pierce lies within the circle or it is too long.
fn tangential(
    pierce: Point<Program>,
    at: Point<Program>,
    along: Vector<Program>,
    aside: Vector<Program>,
    radius: f64,
) -> Option<Vec<Point<Program>>> {
    let center = at + aside * radius;
    let away = center.distance(pierce);
    if away <= radius {
        return None;
    }
    // The torch turns about the centre in the sense in which `along` goes about it.
    let sense = (at - center).cross(along).signum();
    let to_pierce = (pierce - center).unit()?;
    let touches = to_pierce.rotated(sense * (radius / away).acos());
    let begin = center + touches * radius;
    let turn = (sense * touches.cross(-aside)).atan2(touches.dot(-aside)).rem_euclid(std::f64::consts::TAU);
    if turn > std::f64::consts::PI * 1.2 || turn * radius + begin.distance(pierce) > 40.0 {
        return None;
    }
    let count = |length: f64| (1..).map(f64::from).map(|k| k * 0.25).take_while(move |l| *l < length);
    let arc = count(turn * radius).map(|back| center + (-aside).rotated(-sense * back / radius) * radius);
    let line = count(begin.distance(pierce)).map(|back| begin.lerp(pierce, back / begin.distance(pierce)));
    Some(arc.chain(line).collect())
}

fn stays_in_scrap(plate: &Plate, around: &Around<'_>, back: &[Point<Program>]) -> bool {
    let kerf = plate.ground.kerf.mm();
    let mut parted = false;
    back.iter().all(|p| {
        let web = around.off_voids_mm(*p).min(around.off_contours_mm(*p)) - kerf / 2.0;
        parted |= web > 0.5 + MARGIN_MM;
        let clear = if parted { web > 0.5 + MARGIN_MM / 2.0 } else { around.depth_in_part_mm(*p) <= 0.02 };
        clear && around.keeps_off_later_mm(*p) > kerf / 2.0 + MARGIN_MM
    })
}
