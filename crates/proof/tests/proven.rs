//! Restarts that are sound are proven.

mod plates;

use nests::{Habits, Hand, Nest, Order, Shape};
use plates::{Plate, shown};

/// The hands whose programs run straight through and can be restarted by their own lines.
fn hands() -> Vec<Hand> {
    vec![
        Hand::metric_probing(),
        Hand::inch(),
        Hand::control_touch_off(),
        Hand::increments(),
        Hand::radius_arcs(),
        Hand::strict(),
    ]
}

/// A roomy nest of several shapes.
fn roomy(thickness_mm: f64) -> Nest {
    let flange = Shape::Flange { outer: 60.0, bore: 25.0, bolts: 4, bolt: 9.0 };
    let orders = [
        Order::plain(flange, 3, 20.0),
        Order::plain(Shape::Rectangle { width: 80.0, height: 45.0, corner: 0.0 }, 4, 20.0),
        Order::plain(Shape::Polygon { radius: 30.0, corners: 24, wobble: 0.02, seed: 7 }, 2, 20.0),
    ];
    Nest::of(&orders, &Habits::usual(thickness_mm, 700.0), 3)
}

#[test]
fn every_cut_of_a_roomy_nest_can_be_restarted() {
    for thickness_mm in [3.0, 10.0] {
        let nest = roomy(thickness_mm);
        for hand in hands() {
            let plate = Plate::of(&nest, &hand);
            assert_eq!(plate.list.cuts.len(), nest.cuts.len());
            for k in 0..plate.list.cuts.len() {
                let text = plate.restart(k);
                let proof = plate.prove(text.as_bytes(), k);
                let place = format!("{} mm, {}, cut {}", thickness_mm, plate.name, k + 1);
                assert!(proof.holds(), "{place}\n{}", shown(&proof, text.as_bytes()));
                assert!(!proof.figures.is_empty() && !proof.preconditions.is_empty(), "{place}");
                for figure in proof.figures.iter().filter(|figure| figure.unit == "mm" && figure.limit > 0.0)
                {
                    assert!(figure.worst.is_finite(), "{place}: {figure:?}");
                }
            }
        }
    }
}

#[test]
fn burns_in_pieces_are_the_same_burns() {
    let nest = roomy(6.0);
    for hand in
        [Hand::metric_probing(), Hand::copies(), Hand::compensated(), Hand::untidy(), Hand::parameters()]
    {
        let plate = Plate::of(&nest, &hand);
        for (k, pieces) in [(0, 1), (3, 2), (7, 3), (7, 1)] {
            let text = plate.flat_in_pieces(k, pieces);
            let proof = plate.prove(text.as_bytes(), k);
            let place = format!("{}, cut {} in {pieces}", plate.name, k + 1);
            assert!(proof.holds(), "{place}\n{}\n{text}", shown(&proof, text.as_bytes()));
        }
    }
}

/// Whatever the hand and the nest: a restart that does the same is never refused for doing something else.
#[test]
fn the_same_motions_are_known_as_the_same() {
    let (mut tried, mut proven) = (0, 0);
    for seed in 0..60 {
        let (nest, hand) = (Nest::random(seed), Hand::random(seed));
        let plate = Plate::of(&nest, &hand);
        // Increments from where an unseen touch-off has left the torch cannot be written as heights.
        let unknown = |motion: &nc::Motion| motion.z.base == nc::HeightBase::Unknown;
        if plate.moves_z() && plate.motions.motions().iter().any(unknown) {
            continue;
        }
        tried += 3;
        let cuts = plate.list.cuts.len();
        for k in [0, cuts / 3, cuts - 1] {
            let text = plate.flat(k);
            let proof = plate.prove(text.as_bytes(), k);
            proven += u32::from(proof.holds());
            let same = proof.refused.as_ref().is_none_or(|reason| reason.point != 2);
            assert!(same, "seed {seed}, cut {}\n{}\n{text}", k + 1, shown(&proof, text.as_bytes()));
        }
    }
    assert!(tried > 100 && proven * 3 > tried * 2, "{proven} of {tried} proven");
}
