//! Every manner of writing must make the same cuts: text is read by `nc` and held against the nest it was written
//! from.

use geometry::{Path, Point, Program};
use nc::{EventKind, Motions, Start};
use nests::{Hand, Mix, Nest, write};

/// Motions with the torch on, one path for each start, and their feeds.
fn burns(motions: &Motions) -> Vec<(Path<Program>, Vec<f64>)> {
    let mut burns = Vec::new();
    let mut events = motions.events().iter().peekable();
    let mut on = false;
    let (mut curves, mut feeds) = (Vec::new(), Vec::new());
    for k in 0..=motions.motions().len() {
        while let Some(event) = events.next_if(|event| event.before as usize == k) {
            match event.kind {
                EventKind::TorchOn => on = true,
                EventKind::TorchOff if on => {
                    on = false;
                    burns.push((Path::new(std::mem::take(&mut curves)), std::mem::take(&mut feeds)));
                }
                _ => {}
            }
        }
        if on && k < motions.motions().len() && motions.curve(k).length_mm() > 1e-6 {
            curves.push(motions.curve(k));
            feeds.push(motions.modal(motions.motions()[k].modal).feed_mm_per_min.unwrap_or(0.0));
        }
    }
    burns
}

/// How far a program may stray from its nest: one last decimal each way, and what arcs by radius lose.
fn allowed_mm(hand: &Hand) -> f64 {
    let of_mm = 10f64.powi(-i32::from(hand.dialect.decimals_mm));
    let of_inch = 25.4 * 10f64.powi(-i32::from(hand.dialect.decimals_inch));
    let step = match hand.manner.units {
        _ if hand.manner.dress.mixed_units => of_mm.max(of_inch),
        nc::Units::Millimetres => of_mm,
        nc::Units::Inches => of_inch,
    };
    // An origin is rounded too.
    let step = if hand.manner.moves_datum { 2.0 * step } else { step };
    // A centre computed from a rounded radius is off by some last decimals.
    let arcs = if hand.manner.arcs == nests::ArcWords::Radius { 2.0 } else { 1.0 };
    4.0 * step * arcs
}

fn check(hand: &Hand, nest: &Nest, name: &str) {
    let dialect = hand.dialect_for(nest);
    let text = write(nest, &hand.manner, &dialect);
    let (program, findings) = nc::Program::parse(text.as_bytes(), &dialect);
    assert!(findings.is_empty(), "{name}: {findings:?}\n{text}");
    let (motions, findings) = Motions::run(&program, &dialect, &Start::usual(&dialect));
    assert!(findings.is_empty(), "{name}: {findings:?}\n{text}");
    let burns = burns(&motions);
    assert_eq!(burns.len(), nest.cuts.len(), "{name}");
    let allowed = allowed_mm(hand);
    for (k, ((path, feeds), cut)) in burns.iter().zip(&nest.cuts).enumerate() {
        for (one, other) in [(path, &cut.path), (&cut.path, path)] {
            for p in ends_and_middles(one) {
                let off = other.nearest(p).expect("curves").distance_mm;
                assert!(off <= allowed, "{name}, cut {}: {p:?} is off by {off}", k + 1);
            }
        }
        let length_off = (path.length_mm() - cut.path.length_mm()).abs();
        assert!(
            length_off < allowed * 10.0 * path.curves().len() as f64,
            "{name}, cut {}: {length_off}",
            k + 1
        );
        assert!(path.from().expect("curves").distance(cut.pierce()) <= allowed, "{name}, cut {}", k + 1);
        let feed_off = |feed: &f64| (feed - cut.cutting.feed_mm_per_min).abs();
        assert!(feeds.iter().all(|feed| feed_off(feed) < 0.01), "{name}, cut {}: {feeds:?}", k + 1);
    }
}

fn ends_and_middles(path: &Path<Program>) -> Vec<Point<Program>> {
    path.curves()
        .iter()
        .flat_map(|curve| [0.0, 0.3, 0.5, 0.9, 1.0].map(|t| curve.point_at(t * curve.length_mm())))
        .collect()
}

/// All hands.
fn hands() -> Vec<Hand> {
    Hand::all().into_iter().chain([Hand::datums()]).collect()
}

#[test]
fn every_hand_makes_the_cuts_of_the_nest() {
    for seed in 0..150 {
        let mix = Mix { compensable: seed % 3 == 0, ..Mix::default() };
        let nest = Nest::random_of(seed, &mix);
        for hand in hands() {
            check(&hand.clone().seeded(seed), &nest, &format!("{} of nest {seed}", hand.name));
        }
    }
}

#[test]
fn hands_mixed_at_random_too() {
    for seed in 0..600 {
        let nest = Nest::random_of(seed, &Mix { families: 2, ..Mix::default() });
        check(&Hand::random(seed), &nest, &format!("random hand of nest {seed}"));
    }
}

#[test]
fn mirrored_nests_too() {
    for seed in 0..30 {
        let nest = Nest::random_of(seed, &Mix { compensable: true, ..Mix::default() }).mirrored();
        for hand in hands() {
            check(&hand.clone().seeded(seed), &nest, &format!("{} of mirrored nest {seed}", hand.name));
        }
    }
}

#[test]
fn moved_nests_too() {
    let placement = geometry::Placement::new(0.7, Point::new(300.0, -80.0));
    for seed in 0..30 {
        let nest = Nest::random(seed).moved(&placement);
        for hand in hands() {
            check(&hand.clone().seeded(seed), &nest, &format!("{} of moved nest {seed}", hand.name));
        }
    }
}
