//! The bounds held against points along the curves.

use super::{off_circle, same_way, strays_mm};
use geometry::{Arc, Curve, Point, Program};
use nests::Random;
use std::f64::consts::{PI, TAU};

type P = Point<Program>;

fn sampled_mm(a: &Curve<Program>, b: &Curve<Program>) -> f64 {
    let points = (0..=400).map(|k| a.point_at(a.length_mm() * f64::from(k) / 400.0));
    points.map(|p| b.nearest(p).distance_mm).fold(0.0, f64::max)
}

fn arc(center: P, radius: f64, from_rad: f64, sweep_rad: f64) -> Curve<Program> {
    let at = |angle: f64| P::new(center.x + radius * angle.cos(), center.y + radius * angle.sin());
    Curve::Arc(Arc { from: at(from_rad), to: at(from_rad + sweep_rad), center, sweep_rad })
}

fn random_curve(random: &mut Random) -> Curve<Program> {
    let at = P::new(random.between(-20.0, 20.0), random.between(-20.0, 20.0));
    if random.chance(0.4) {
        return Curve::line(at, P::new(random.between(-20.0, 20.0), random.between(-20.0, 20.0)));
    }
    let sweep = random.between(-TAU, TAU);
    let sweep = if random.chance(0.2) { TAU.copysign(sweep) } else { sweep };
    arc(at, random.between(0.5, 30.0), random.between(-PI, PI), sweep)
}

#[test]
fn what_lies_off_a_circle_lies_off_its_arc() {
    let mut random = Random::new(17);
    let (mut off, mut near) = (0, 0);
    for _ in 0..4000 {
        let curve = random_curve(&mut random);
        let curve = like(&curve, &mut random);
        let p = P::new(random.between(-25.0, 25.0), random.between(-25.0, 25.0));
        let reach_mm = random.between(0.0, 6.0);
        let distance = curve.nearest(p).distance_mm;
        if off_circle(&curve, p, reach_mm) {
            off += 1;
            assert!(distance > reach_mm, "{curve:?} {p:?}: {distance} within {reach_mm}");
        } else {
            near += usize::from(distance <= reach_mm);
        }
    }
    assert!(off > 500 && near > 100, "{off} {near}");
}

/// The curve moved, cut and turned a little, as rounding or another division would.
fn like(curve: &Curve<Program>, random: &mut Random) -> Curve<Program> {
    let off = 10f64.powf(random.between(-4.0, 0.5));
    let mut near = |p: P| P::new(p.x + random.between(-off, off), p.y + random.between(-off, off));
    let moved = match curve {
        Curve::Segment(segment) => Curve::line(near(segment.from), near(segment.to)),
        Curve::Arc(arc) => {
            let (from, to) = (near(arc.from), near(arc.to));
            Curve::Arc(Arc::about(from, to, near(arc.center), arc.is_ccw()))
        }
    };
    let length = moved.length_mm();
    let piece = moved.piece(random.between(0.0, 0.4) * length, random.between(0.5, 1.0) * length);
    if random.chance(0.5) { piece.reversed() } else { moved }
}

#[test]
fn bounds_are_never_too_small() {
    let mut random = Random::new(11);
    let (mut near, mut close) = (0, 0);
    for case in 0..20_000 {
        let b = random_curve(&mut random);
        let a = if random.chance(0.7) { like(&b, &mut random) } else { random_curve(&mut random) };
        let (bound, true_mm) = (strays_mm(&a, &b), sampled_mm(&a, &b));
        assert!(bound >= true_mm - 1e-9, "case {case}: {bound} < {true_mm}\n{a:?}\n{b:?}");
        near += usize::from(true_mm < 0.02);
        close += usize::from(true_mm < 0.02 && bound < 2.0 * true_mm + 1e-3);
    }
    // And they are of use: where curves lie along each other, nearly all are near the truth.
    assert!(near > 1_500 && close * 10 > near * 9, "{close} of {near}");
}

#[test]
fn bounds_of_equal_curves_are_nothing() {
    let mut random = Random::new(12);
    for _ in 0..2_000 {
        let curve = random_curve(&mut random);
        let length = curve.length_mm();
        let piece = curve.piece(random.between(0.0, 0.5) * length, random.between(0.5, 1.0) * length);
        for piece in [curve, piece, piece.reversed()] {
            assert!(
                strays_mm(&piece, &curve) < 1e-6,
                "{piece:?} of {curve:?}: {}",
                strays_mm(&piece, &curve)
            );
        }
    }
}

#[test]
fn the_other_way_round_is_no_cover() {
    let zero = P::new(0.0, 0.0);
    let (short, long) = (arc(zero, 10.0, 0.0, PI / 2.0), arc(zero, 10.0, 0.0, PI / 2.0 - TAU));
    assert!(strays_mm(&long, &short) > 1.0, "the long way between the same ends");
    assert!(strays_mm(&short, &long) > 1.0);
    let gap_in_the_middle = arc(zero, 10.0, PI + 0.2, TAU - 0.4);
    assert!(strays_mm(&arc(zero, 10.0, 0.1, TAU - 0.2), &gap_in_the_middle) > 1.0);
    assert!(strays_mm(&arc(zero, 10.0, 0.1, TAU - 0.2), &arc(zero, 10.0, 2.0, -TAU)) < 1e-6);
}

#[test]
fn direction_is_told_at_the_middle() {
    let mut random = Random::new(13);
    for _ in 0..500 {
        let curve = random_curve(&mut random);
        if curve.length_mm() > 0.1 {
            assert!(same_way(&curve, &curve));
            assert!(!same_way(&curve.reversed(), &curve));
        }
    }
}
