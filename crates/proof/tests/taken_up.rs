//! Cuts of whole nests taken up in mid-cut in every way, the original in every hand and the restart in several manners
//! of writing: sound ones are proven.

mod plates;

use nests::{Habits, Hand, Nest, Order, Shape};
use plates::scribe::Manner;
use plates::{Plate, shown};
use proof::JoinStart;
use std::collections::BTreeMap;
use units::Length;

const WAYS: [JoinStart; 4] =
    [JoinStart::KerfEnd, JoinStart::FreshPierce, JoinStart::SecondPass, JoinStart::Backwards];

/// Roomy enough that a simple maker finds places for touch-offs and lead-ins.
fn roomy(thickness_mm: f64) -> Nest {
    let flange = Shape::Flange { outer: 90.0, bore: 50.0, bolts: 3, bolt: 12.0 };
    let orders = [
        Order::plain(flange, 1, 30.0),
        Order::plain(Shape::Rectangle { width: 80.0, height: 45.0, corner: 8.0 }, 2, 30.0),
        Order::plain(Shape::Polygon { radius: 30.0, corners: 9, wobble: 0.02, seed: 7 }, 1, 30.0),
    ];
    Nest::of(&orders, &Habits::usual(thickness_mm, 500.0), 3)
}

/// Where a torch-on touches off by itself, it would do so over the kerf: no start on an edge.
fn touches_off_itself(plate: &Plate) -> bool {
    plate.dialect.touch_off.contains(&nc::TouchOffBy::TorchOn)
}

#[test]
fn cuts_are_taken_up_in_every_way_by_every_hand() {
    let mut proven: BTreeMap<String, usize> = BTreeMap::new();
    let nest = roomy(6.0);
    for hand in Hand::all() {
        let mut plate = Plate::of(&nest, &hand);
        // Heights in inches are rounded, some of them down.
        plate.ground.safe_height = Some(Length::from_mm(nest.safe_height_mm - 0.1));
        for (k, cut) in plate.list.cuts.iter().enumerate() {
            for (nth, share) in [0.3, 0.62].into_iter().enumerate() {
                for start in WAYS {
                    let manner = Manner::ALL[(k + nth) % Manner::ALL.len()];
                    let stop_mm = cut.path.length_mm() * share;
                    let Some(restart) = plate.taken_up(k, stop_mm, start, manner) else { continue };
                    let proof = restart.prove(&plate);
                    let place =
                        format!("{}, cut {}, {start:?} at {stop_mm:.1}, {manner:?}", plate.name, k + 1);
                    if start != JoinStart::FreshPierce && touches_off_itself(&plate) {
                        assert!(!proof.holds(), "{place}");
                        continue;
                    }
                    assert!(
                        proof.holds(),
                        "{place}\n{}\n{}",
                        shown(&proof, restart.text.as_bytes()),
                        restart.text
                    );
                    *proven.entry(format!("{start:?}")).or_default() += 1;
                }
            }
        }
    }
    assert!(proven.len() == 4 && proven.values().all(|count| *count >= 60), "{proven:?}");
}
