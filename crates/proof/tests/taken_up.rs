//! Cuts of whole nests taken up in mid-cut in every way, the original in every hand and the restart in several manners
//! of writing: sound ones are proven.

mod plates;

use nests::{Habits, Hand, Nest, Order, Shape};
use plates::scribe::Manner;
use plates::taken_up::Odd;
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
                    assert!(
                        proof.holds(),
                        "{place}\n{}\n{}",
                        shown(&proof, restart.text.as_bytes()),
                        restart.text
                    );
                    let minded = start != JoinStart::FreshPierce && !plate.moves_z();
                    let says = proof.unproven.iter().any(|lacks| lacks.contains("is lit at the cut height"));
                    assert_eq!(minded, says, "{place}: {:?}", proof.unproven);
                    *proven.entry(format!("{start:?}")).or_default() += 1;
                }
            }
        }
    }
    assert!(proven.len() == 4 && proven.values().all(|count| *count >= 60), "{proven:?}");
}

/// With how much uncertainty each of these texts is proven: the more, the less.
#[test]
fn more_uncertainty_never_turns_a_refusal_into_a_proof() {
    let (mut proven, mut refused, mut turned) = (0, 0, 0);
    let nest = roomy(6.0);
    for hand in [Hand::control_touch_off(), Hand::metric_probing()] {
        let plate = Plate::of(&nest, &hand);
        for (k, cut) in plate.list.cuts.iter().enumerate().step_by(2) {
            for (start, odd) in WAYS.into_iter().flat_map(|start| odds().map(move |odd| (start, odd))) {
                let stop_mm = cut.path.length_mm() * 0.45;
                let Some(mut restart) = plate.taken_up_oddly(k, stop_mm, start, Manner::ALL[0], odd) else {
                    continue;
                };
                let mut before: Option<f64> = None;
                for within_mm in [0.0, 0.5, 1.0, 2.0, 3.0, 3.5, 4.0, 5.0, 8.0, 12.0, 30.0, 200.0] {
                    for made in restart.progress.made.iter_mut().filter(|made| made.cut == cut.id) {
                        made.ends.to_within_mm = within_mm;
                        if made.along_mm.start > 0.0 {
                            made.ends.from_within_mm = within_mm;
                        }
                    }
                    let proof = restart.prove(&plate);
                    if proof.holds() {
                        proven += 1;
                        assert!(
                            before.is_none(),
                            "{}, cut {}, {start:?}, {odd:?}: refused within {before:?} mm, proven within {within_mm} mm",
                            plate.name,
                            k + 1
                        );
                    } else {
                        refused += 1;
                        turned += usize::from(before.is_none() && within_mm > 0.0);
                        before = before.or(Some(within_mm));
                    }
                }
            }
        }
    }
    assert!(
        proven >= 100 && refused >= 100 && turned >= 20,
        "{proven} proven, {refused} refused, {turned} turned"
    );
}

/// Ways to be off, one thing at a time.
fn odds() -> impl Iterator<Item = Odd> {
    let later = [-4.0, -2.0, 0.0, 1.0, 2.5, 6.0].map(|later_mm| Odd { later_mm, ..Odd::default() });
    let steers = [-3.0, -1.0, 4.0, 7.0, 9.0].map(|steers_later_mm| Odd { steers_later_mm, ..Odd::default() });
    let slow = [-8.0, -2.0, 3.0, 6.5, 10.0].map(|slow_longer_mm| Odd { slow_longer_mm, ..Odd::default() });
    later.into_iter().chain(steers).chain(slow)
}

/// Whatever the nest (tight webs, chained cuts and parts in holes among it) and whatever the hand: a join that does what
/// it must is never refused for doing something else.
#[test]
fn joins_of_any_nest_are_known_as_what_they_are() {
    let mut proven: BTreeMap<String, usize> = BTreeMap::new();
    let mut tried = 0;
    for seed in 0..40 {
        let (nest, hand) = (Nest::random(seed), Hand::random(seed));
        let mut plate = Plate::of(&nest, &hand);
        plate.ground.safe_height = Some(Length::from_mm(nest.safe_height_mm - 0.1));
        // Increments from where an unseen touch-off has left the torch cannot be written as heights.
        let unknown = |motion: &nc::Motion| motion.z.base == nc::HeightBase::Unknown;
        if plate.moves_z() && plate.motions.motions().iter().any(unknown) {
            continue;
        }
        // Nor can they be by increments in the restart.
        let touches_unseen = |event: &nc::Event| matches!(event.kind, nc::EventKind::TouchOff(how) if how != nc::TouchOff::Probed);
        let unseen = plate.moves_z() && plate.motions.events().iter().any(touches_unseen);
        let cuts = plate.list.cuts.len();
        for k in (0..cuts).step_by(cuts.div_ceil(12)) {
            for (nth, start) in WAYS.into_iter().enumerate() {
                let cut = &plate.list.cuts[k];
                let manner = Manner::ALL[(k + nth) % Manner::ALL.len()];
                let manner = Manner { incremental: manner.incremental && !unseen, ..manner };
                let Some(restart) = plate.taken_up(k, cut.path.length_mm() * 0.5, start, manner) else {
                    continue;
                };
                tried += 1;
                let proof = restart.prove(&plate);
                let place = format!("seed {seed}, cut {}, {start:?}, {manner:?}", k + 1);
                if let Some(reason) = &proof.refused {
                    // This maker brings the torch to the height of its start before the torch-on, which then finds the
                    // plate from another height than in the original.
                    let finds_plate = plate.dialect.touch_off.contains(&nc::TouchOffBy::TorchOn);
                    assert!(
                        reason.point != 2 || (start != JoinStart::FreshPierce && finds_plate),
                        "{place}\n{}\n{}",
                        shown(&proof, restart.text.as_bytes()),
                        restart.text
                    );
                } else {
                    *proven.entry(format!("{start:?}")).or_default() += 1;
                }
            }
        }
    }
    let all: usize = proven.values().sum();
    assert!(proven.len() == 4 && all * 2 > tried, "{proven:?} of {tried}");
}
