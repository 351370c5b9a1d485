//! Covering one path by others, however they are divided.

use super::{cover_by, left_of};
use crate::grid::Grid;
use crate::tolerance::PATH_MM;
use geometry::{Arc, Curve, Point, Program};
use nests::Random;

type P = Point<Program>;

/// The worst distance of `curve` from `others`, none if they do not cover it.
fn covered(curve: &Curve<Program>, others: &[Curve<Program>]) -> Option<f64> {
    let grid = Grid::of_curves(&others.iter());
    cover_by(curve, &|bounds, see| grid.near(bounds, PATH_MM, |n| see(&others[n as usize])))
}

fn circle(center: P, radius: f64) -> Curve<Program> {
    let from = P::new(center.x + radius, center.y);
    Curve::Arc(Arc::about(from, from, center, true))
}

#[test]
fn pieces_in_any_order_and_direction_cover() {
    let mut random = Random::new(31);
    for _ in 0..200 {
        let whole = if random.chance(0.5) {
            Curve::line(P::new(0.0, 0.0), P::new(random.between(1.0, 90.0), random.between(-90.0, 90.0)))
        } else {
            circle(P::new(5.0, -3.0), random.between(2.0, 40.0))
        };
        let length = whole.length_mm();
        let mut cuts: Vec<f64> = (0..random.below(5)).map(|_| random.between(0.0, length)).collect();
        cuts.extend([0.0, length]);
        cuts.sort_by(f64::total_cmp);
        let mut pieces: Vec<_> = cuts.windows(2).map(|ends| whole.piece(ends[0], ends[1])).collect();
        pieces.iter_mut().filter(|_| random.chance(0.5)).for_each(|piece| *piece = piece.reversed());
        random.shuffle(&mut pieces);
        assert!(covered(&whole, &pieces).is_some_and(|worst| worst <= PATH_MM), "{pieces:?}");
        // Leave out a stretch longer than the tolerance on either side.
        let gap = random.between(4.0 * PATH_MM, 0.8);
        let at = random.between(0.0, length - gap);
        let open = [whole.piece(0.0, at), whole.piece(at + gap, length)];
        assert_eq!(covered(&whole, &open), None, "{gap} at {at} of {whole:?}");
    }
}

#[test]
fn the_tolerance_is_held() {
    let line = |y: f64| Curve::line(P::new(0.0, y), P::new(100.0, y));
    assert!(covered(&line(0.0), &[line(0.049)]).is_some_and(|worst| (worst - 0.049).abs() < 1e-9));
    assert_eq!(covered(&line(0.0), &[line(0.051)]), None);
    assert_eq!(covered(&line(0.0), &[line(0.1), line(-0.1)]), None);
    // Chords of an arc, fine enough and too coarse.
    let arc = circle(P::ORIGIN, 50.0);
    let chords = |count: u32| {
        let at = |k: u32| arc.point_at(arc.length_mm() * f64::from(k) / f64::from(count));
        (0..count).map(|k| Curve::line(at(k), at(k + 1))).collect::<Vec<_>>()
    };
    // Sagitta r (1 - cos(half the angle)): 100 chords 0.0247 mm, 60 chords 0.0685 mm.
    assert!(covered(&arc, &chords(100)).is_some_and(|worst| worst > 0.024 && worst <= PATH_MM));
    assert_eq!(covered(&arc, &chords(60)), None);
    assert!(covered(&chords(100)[7], &[arc]).is_some());
}

#[test]
fn what_is_left_of_a_stretch() {
    let check = |made: &[std::ops::Range<f64>], left: &[std::ops::Range<f64>]| {
        assert_eq!(left_of(made, 10.0..20.0), left, "{made:?}");
    };
    check(&[], &[10.0..20.0]);
    check(&[0.0..30.0], &[]);
    check(&[0.0..12.0, 15.0..16.0], &[12.0..15.0, 16.0..20.0]);
    check(&[0.0..5.0, 25.0..30.0], &[10.0..20.0]);
    check(&[10.0..20.0], &[]);
    check(&[5.0..13.0, 12.0..25.0], &[]);
}
