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
