//! Proven restarts and joins of plates that moved, spoiled one change at a time, and held against other places of the
//! plate: what is refused on a plate as it was begun is refused on one that lies elsewhere.

use super::joins::{Restart, WAYS, nest, sound, spoiled};
use super::{Fate, kinds, some};
use crate::effect::Effect;
use crate::plates::posed::{Lies, carried, pose};
use crate::plates::scribe::Manner;
use crate::plates::taken_up::Odd;
use crate::plates::{Plate, shown};
use cuts::Progress;
use geometry::Point;
use nests::{Hand, Random};
use proof::{Pose, Promise};
use std::collections::BTreeMap;
use std::rc::Rc;

/// Sites that are tried of each kind in each restart.
const SITES: usize = 1;

/// Kinds that change nothing here: the texts are written in absolute millimetres, every motion with its own G word.
const AS_IT_IS: [&str; 3] = ["motion mode taken away", "absolute put in force", "millimetres put in force"];

/// A turn of up to 15° and a shift of up to 200 mm.
fn somewhere(random: &mut Random) -> Pose {
    let shift = [random.between(-200.0, 200.0), random.between(-200.0, 200.0)];
    pose(random.between(-15.0, 15.0).to_radians(), shift)
}

/// The plate of a hand; how far the table reaches is not told, so that it may be moved anywhere.
fn plate(hand: &Hand) -> Rc<Plate> {
    let mut plate = Plate::of(&nest(), hand);
    plate.ground.travel = None;
    Rc::new(plate)
}

/// A cut run again whole on a plate that moved.
struct Whole {
    name: String,
    plate: Rc<Plate>,
    cut: usize,
    pose: Pose,
    text: String,
}

impl Whole {
    fn holds(&self, text: &str, pose: &Pose) -> bool {
        let promise = Promise::of(self.plate.cuts_from(self.cut));
        let progress = Progress::before(&self.plate.list, self.plate.cut(self.cut));
        self.plate.prove_lying(text.as_bytes(), &progress, &promise, Some(pose)).holds()
    }
}

fn wholes() -> Vec<Whole> {
    let mut random = Random::new(29);
    let mut wholes = Vec::new();
    for hand in Hand::all() {
        let plate = plate(&hand);
        for cut in [0, plate.list.cuts.len() - 1] {
            let pose = somewhere(&mut random);
            let text = carried(&plate.flat(cut), &plate.dialect, &pose.placement);
            let name = format!("{}, cut {}", plate.name, cut + 1);
            let whole = Whole { name, plate: plate.clone(), cut, pose, text };
            // Where the original sets its datum on the way, nothing is proven on a plate that moved.
            if whole.holds(&whole.text, &whole.pose) {
                wholes.push(whole);
            }
        }
    }
    wholes
}

#[test]
fn whatever_changes_a_moved_plate_is_refused() {
    let wholes = wholes();
    assert!(wholes.len() >= 14, "{} restarts", wholes.len());
    let (mut tried, mut refused) = (0, BTreeMap::<&str, usize>::new());
    for (number, whole) in wholes.iter().enumerate() {
        let effect = Effect::of(whole.text.as_bytes(), &whole.plate.dialect);
        for kind in kinds() {
            let mut random = Random::new(number as u64 * 1000 + 5);
            for spoiled in some(&kind, &whole.text, &whole.plate.dialect, 2 * SITES, &mut random) {
                let told = || format!("{} in {}: {}\n{}", kind.name, whole.name, spoiled.told, spoiled.text);
                tried += 1;
                if !whole.holds(&spoiled.text, &whole.pose) {
                    assert_ne!(kind.fate, Fate::Proven, "refused though nothing is changed: {}", told());
                    *refused.entry(kind.name).or_default() += 1;
                    continue;
                }
                assert_ne!(kind.fate, Fate::Refused, "proven though it must be refused: {}", told());
                let now = Effect::of(spoiled.text.as_bytes(), &whole.plate.dialect);
                let differs = if kind.fate == Fate::Proven { None } else { effect.difference(&now) };
                assert_eq!(differs, None, "proven though it does something else: {}", told());
            }
        }
    }
    assert!(tried >= 800 && refused.len() >= 25, "{tried} cases, {refused:?}");
}

/// Joins a little farther back and held a little longer than need be: where the plate lies is known only so well.
fn joins() -> Vec<Restart> {
    let odd = Odd { later_mm: -0.5, steers_later_mm: 0.5, slow_longer_mm: 0.5 };
    let mut random = Random::new(31);
    let mut restarts = Vec::new();
    for hand in [Hand::control_touch_off(), Hand::metric_probing(), Hand::increments(), Hand::untidy()] {
        let plate = plate(&hand);
        for (k, cut) in plate.list.cuts.iter().enumerate() {
            for start in WAYS {
                let stop_mm = cut.path.length_mm() * 0.4;
                let taken_up = plate.taken_up_oddly(k, stop_mm, start, Manner::ALL[0], odd);
                let Some(mut taken_up) = taken_up else { continue };
                let pose = somewhere(&mut random);
                taken_up.text = carried(&taken_up.text, &plate.dialect, &pose.placement);
                let name = format!("{}, cut {}, {start:?}, moved", plate.name, k + 1);
                let restart = Restart { name, plate: plate.clone(), taken_up, pose: Some(pose) };
                restarts.extend(sound(restart));
            }
        }
    }
    restarts
}

#[test]
fn whatever_breaks_a_rule_of_a_join_on_a_moved_plate_is_refused() {
    let restarts = joins();
    let of = |start: &str| restarts.iter().filter(|restart| restart.name.contains(start)).count();
    let found = ["KerfEnd", "FreshPierce", "SecondPass", "Backwards"].map(of);
    assert!(found.iter().all(|found| *found >= 3), "{found:?}");
    assert!(spoiled(&restarts, SITES, &AS_IT_IS) >= 800);
}

/// A text is proven for the place for which it was written, and for no other.
#[test]
fn a_text_for_another_place_of_the_plate_is_refused() {
    let elsewhere = |pose: &Pose| {
        let by = |turn: f64, x: f64, y: f64| Pose {
            placement: pose.placement.then(&Lies::new(turn, Point::new(x, y))),
            ..pose.clone()
        };
        [by(0.0, 0.1, 0.0), by(0.0, 0.0, -0.1), by(0.0, 80.0, 40.0), by(0.003, 0.0, 0.0), by(-0.2, 0.0, 0.0)]
    };
    for whole in wholes().iter().step_by(3) {
        for other in elsewhere(&whole.pose) {
            assert!(!whole.holds(&whole.text, &other), "{} at {:?}", whole.name, other.placement);
        }
        let unmoved = pose(0.0, [0.0; 2]);
        assert!(!whole.holds(&whole.text, &unmoved), "{}", whole.name);
    }
    for restart in joins() {
        let text = restart.taken_up.text.as_bytes();
        let pose = restart.pose.as_ref().expect("it moved");
        let (progress, promise) = (&restart.taken_up.progress, &restart.taken_up.promise);
        for other in elsewhere(pose) {
            let proof = restart.plate.prove_lying(text, progress, promise, Some(&other));
            assert!(!proof.holds(), "{} at {:?}", restart.name, other.placement);
        }
        assert!(!restart.plate.prove_lying(text, progress, promise, None).holds(), "{}", restart.name);
    }
}

/// The less well known where the plate lies, the less is proven.
#[test]
fn more_doubt_about_the_place_never_turns_a_refusal_into_a_proof() {
    let (mut proven, mut turned) = (0, 0);
    for restart in joins() {
        let text = restart.taken_up.text.as_bytes();
        let pose = restart.pose.as_ref().expect("it moved");
        let (progress, promise) = (&restart.taken_up.progress, &restart.taken_up.promise);
        let mut refused: Option<f64> = None;
        for times in [0.0, 0.5, 1.0, 3.0, 6.0, 12.0, 20.0, 50.0, 200.0, 5000.0] {
            let covariance = pose.covariance.map(|row| row.map(|value| value * times * times));
            let doubted = Pose { covariance, ..pose.clone() };
            let proof = restart.plate.prove_lying(text, progress, promise, Some(&doubted));
            if proof.holds() {
                proven += 1;
                assert_eq!(
                    refused,
                    None,
                    "{}: proven at {times} times\n{}",
                    restart.name,
                    shown(&proof, text)
                );
            } else {
                turned += usize::from(refused.is_none() && times > 0.0);
                refused = refused.or(Some(times));
            }
        }
    }
    assert!(proven >= 40 && turned >= 12, "{proven} proven, {turned} turned");
}
