//! Proven restarts, spoiled one change at a time: whatever changes the plate, the order or the safety is refused.
//!
//! Whether a change changes anything is judged by [`effect`], which reads motions and events from two starts and
//! knows nothing of the proof. Kinds that it cannot judge (how the torch comes to the first start) say themselves
//! what is to become of them.

mod effect;
mod plates;
mod spoil;

use effect::Effect;
use nests::{Habits, Hand, Nest, Order, Random, Shape};
use plates::{Plate, shown};
use spoil::{Fate, Kind, Spoiled, kinds};
use std::collections::BTreeMap;

/// Sites that are tried of each kind in each restart.
const SITES: usize = 2;

/// Few but different parts, so that a proof is quick and every kind of line is there.
fn nests() -> Vec<Nest> {
    let flange = Shape::Flange { outer: 45.0, bore: 18.0, bolts: 3, bolt: 7.0 };
    let rectangle = Shape::Rectangle { width: 60.0, height: 40.0, corner: 6.0 };
    let plate = Shape::Polygon { radius: 25.0, corners: 9, wobble: 0.02, seed: 3 };
    vec![
        Nest::of(
            &[Order::plain(flange, 1, 20.0), Order::plain(rectangle.clone(), 2, 20.0)],
            &Habits::usual(10.0, 400.0),
            1,
        ),
        Nest::of(
            &[Order::plain(rectangle, 2, 20.0), Order::plain(plate, 2, 20.0)],
            &Habits::usual(4.0, 400.0),
            2,
        ),
    ]
}

/// A proven restart and what it does.
struct Restart {
    name: String,
    plate: std::rc::Rc<Plate>,
    cut: usize,
    text: String,
    effect: Effect,
}

fn restarts() -> Vec<Restart> {
    let mut restarts = Vec::new();
    for (number, nest) in nests().iter().enumerate() {
        for hand in Hand::all() {
            let straight = !["parameters", "copies", "compensated", "untidy"].contains(&hand.name);
            let plate = std::rc::Rc::new(Plate::of(nest, &hand));
            let cuts = plate.list.cuts.len();
            for cut in [0, 1, cuts / 2, cuts - 1] {
                let written = straight.then(|| ("its own lines", plate.restart(cut)));
                for (way, text) in written.into_iter().chain([("flat", plate.flat(cut))]) {
                    let name = format!("nest {number}, {}, {way}, cut {}", plate.name, cut + 1);
                    let proof = plate.prove(text.as_bytes(), cut);
                    assert!(proof.holds(), "{name}\n{}\n{text}", shown(&proof, text.as_bytes()));
                    let effect = Effect::of(text.as_bytes(), &plate.dialect);
                    restarts.push(Restart { name, plate: plate.clone(), cut, text, effect });
                }
            }
        }
    }
    restarts
}

/// How often each kind was tried, refused, and proven because it changes nothing.
#[derive(Debug, Default)]
struct Tally {
    tried: usize,
    refused: usize,
    harmless: usize,
}

#[test]
fn whatever_changes_the_plate_the_order_or_the_safety_is_refused() {
    let mut tallies: BTreeMap<&str, Tally> = BTreeMap::new();
    let mut wrong = Vec::new();
    for (number, restart) in restarts().iter().enumerate() {
        for kind in kinds() {
            let mut random = Random::new(number as u64 * 1000 + 7);
            for spoiled in
                spoil::some(&kind, restart.text.as_str(), &restart.plate.dialect, SITES, &mut random)
            {
                let tally = tallies.entry(kind.name).or_default();
                tally.tried += 1;
                match judge(restart, &kind, &spoiled) {
                    Ok(true) => tally.harmless += 1,
                    Ok(false) => tally.refused += 1,
                    Err(what) => wrong.push(format!("{} in {}: {what}", kind.name, restart.name)),
                }
            }
        }
    }
    let tried: usize = tallies.values().map(|tally| tally.tried).sum();
    assert!(
        wrong.is_empty(),
        "{} of {tried} are wrong, such as\n{}",
        wrong.len(),
        wrong[..wrong.len().min(5)].join("\n")
    );
    assert!(tallies.len() >= 25 && tried >= 5000, "{} kinds, {tried} cases", tallies.len());
    for (kind, tally) in &tallies {
        let neutral = kinds().iter().any(|other| other.name == *kind && other.fate == Fate::Proven);
        assert!(neutral || tally.refused > 0, "{kind} was never refused: {tally:?}");
    }
}

/// What one proof leaves for the next changes nothing: spoiled texts, each proven by an original that sound and spoiled ones
/// were proven by before, get the proof that they get by one of their own, figures and refusals included.
#[test]
fn many_texts_proven_by_one_original_get_the_proofs_that_each_gets_alone() {
    let (mut held, mut refused) = (0, 0);
    for (number, restart) in restarts().iter().enumerate().step_by(3) {
        let (plate, cut) = (&restart.plate, restart.cut);
        let original = plate.original();
        let sound = plate.prove_by(&original, restart.text.as_bytes(), cut);
        assert!(sound.holds(), "{}", restart.name);
        for kind in kinds() {
            let mut random = Random::new(number as u64 * 1000 + 11);
            for spoiled in spoil::some(&kind, restart.text.as_str(), &plate.dialect, 1, &mut random) {
                let alone = plate.prove(spoiled.text.as_bytes(), cut);
                let after_others = plate.prove_by(&original, spoiled.text.as_bytes(), cut);
                assert_eq!(alone, after_others, "{} in {}: {}", kind.name, restart.name, spoiled.told);
                if alone.holds() { held += 1 } else { refused += 1 }
            }
        }
        assert_eq!(sound, plate.prove_by(&original, restart.text.as_bytes(), cut), "{}", restart.name);
    }
    assert!(held > 50 && refused > 500, "{held} held, {refused} refused");
}

/// Whether a spoiled restart is proven.
fn judge(restart: &Restart, kind: &Kind, spoiled: &Spoiled) -> Result<bool, String> {
    let proof = restart.plate.prove(spoiled.text.as_bytes(), restart.cut);
    let told = || format!("{}\n{}\n{}", spoiled.told, shown(&proof, spoiled.text.as_bytes()), spoiled.text);
    match kind.fate {
        Fate::Refused if proof.holds() => Err(format!("proven though it must be refused: {}", told())),
        Fate::Proven if !proof.holds() => Err(format!("refused though nothing is changed: {}", told())),
        Fate::ByEffect if proof.holds() => {
            let effect = Effect::of(spoiled.text.as_bytes(), &restart.plate.dialect);
            match restart.effect.difference(&effect) {
                None => Ok(true),
                Some(difference) => Err(format!("proven though {difference}: {}", told())),
            }
        }
        _ => Ok(proof.holds()),
    }
}
