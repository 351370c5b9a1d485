//! The grid held against looking at everything.

use super::{Grid, pieces};
use geometry::{Arc, Bounds, Curve, Point, Program};
use nests::Random;

type P = Point<Program>;

fn curves(random: &mut Random, count: usize, spread: f64) -> Vec<Curve<Program>> {
    (0..count)
        .map(|_| {
            let from = P::new(random.between(-spread, spread), random.between(-spread, spread));
            let reach = 10f64.powf(random.between(-2.0, 2.0));
            let to = P::new(from.x + random.between(-reach, reach), from.y + random.between(-reach, reach));
            if random.chance(0.5) {
                return Curve::line(from, to);
            }
            let center =
                P::new(from.x + random.between(-reach, reach), from.y + random.between(-reach, reach));
            Curve::Arc(Arc::about(
                from,
                if random.chance(0.2) { from } else { to },
                center,
                random.chance(0.5),
            ))
        })
        .collect()
}

#[test]
fn whatever_is_near_is_given() {
    let mut random = Random::new(21);
    for (count, spread) in [(1, 5.0), (40, 30.0), (300, 100.0), (50, 1e6)] {
        let curves = curves(&mut random, count, spread);
        let grid = Grid::of_curves(&curves.iter());
        for _ in 0..300 {
            let p = P::new(random.between(-spread, spread), random.between(-spread, spread));
            let reach = random.between(0.0, 8.0);
            let mut given = vec![false; count];
            grid.near(Bounds { min: p, max: p }, reach, |number| given[number as usize] = true);
            for (curve, given) in curves.iter().zip(given) {
                assert!(given || curve.nearest(p).distance_mm > reach, "{curve:?} at {p:?}");
            }
        }
    }
}

#[test]
fn boxes_are_given_too() {
    let mut random = Random::new(22);
    let boxes: Vec<Bounds<Program>> = curves(&mut random, 200, 200.0).iter().map(Curve::bounds).collect();
    let grid = Grid::of_boxes(&boxes);
    for _ in 0..500 {
        let p = P::new(random.between(-250.0, 250.0), random.between(-250.0, 250.0));
        let mut given = vec![false; boxes.len()];
        grid.near(Bounds { min: p, max: p }, 0.0, |number| given[number as usize] = true);
        for (bounds, given) in boxes.iter().zip(given) {
            assert!(given || !bounds.contains(p));
        }
    }
}

#[test]
fn memory_stays_in_proportion() {
    let far: Vec<_> =
        (0..100).map(|k| Curve::line(P::new(0.0, 0.0), P::new(1e9, f64::from(k) * 1e7))).collect();
    let grid = Grid::of_curves(&far.iter());
    assert!(grid.entries.len() < 100_000 && grid.starts.len() < 100_000);
    let none = Grid::of_curves(&[].iter());
    none.near(Bounds { min: P::ORIGIN, max: P::ORIGIN }, 10.0, |_| panic!("there is nothing"));
    let unreal = [Curve::line(P::new(f64::NAN, 0.0), P::new(f64::INFINITY, 1.0))];
    assert!(Grid::of_curves(&unreal.iter()).entries.is_empty());
}

#[test]
fn pieces_make_up_the_curve_and_lie_in_their_boxes() {
    let mut random = Random::new(23);
    for curve in curves(&mut random, 300, 50.0) {
        let mut reached = 0.0;
        pieces(&curve, 3.0, |bounds, along| {
            assert!((along.start - reached).abs() < 1e-9 && along.end - along.start <= 3.0 + 1e-9);
            reached = along.end;
            for k in 0..=10 {
                let p = curve.point_at(along.start + (along.end - along.start) * f64::from(k) / 10.0);
                assert!(bounds.grown(1e-6).contains(p), "{p:?} of {curve:?} in {bounds:?}");
            }
        });
        assert!((reached - curve.length_mm()).abs() < 1e-9);
    }
}
