//! Proven joins, spoiled one change at a time: whatever breaks a rule of the join, or changes what comes after it, is
//! refused.
//!
//! Whether a rule is broken is judged by [`crate::effect::joined`], dot by dot and from two starts; it knows nothing of the
//! proof. A join leaves its text some freedom (where it touches off, when height control is let go), so that not every
//! change that is proven is without effect.

use super::{Fate, Kind, Spoiled, kinds, some};
use crate::effect::joined::Rules;
use crate::plates::scribe::Manner;
use crate::plates::taken_up::TakenUp;
use crate::plates::{Plate, shown};
use nests::{Habits, Hand, Nest, Order, Random, Shape};
use proof::{JoinStart, Pose, Proof};
use std::collections::BTreeMap;
use std::rc::Rc;

/// Sites that are tried of each kind in each restart.
const SITES: usize = 3;

/// Kinds that change nothing here: every motion is written with its own G word.
const SPELLED_OUT: [&str; 1] = ["motion mode taken away"];

pub(super) struct Restart {
    pub(super) name: String,
    pub(super) plate: Rc<Plate>,
    pub(super) taken_up: TakenUp,
    /// Where the plate lies, if it has moved.
    pub(super) pose: Option<Pose>,
}

impl Restart {
    pub(super) fn prove(&self, text: &[u8]) -> Proof {
        let (progress, promise) = (&self.taken_up.progress, &self.taken_up.promise);
        self.plate.prove_lying(text, progress, promise, self.pose.as_ref())
    }

    pub(super) fn rules(&self) -> Rules<'_> {
        Rules::of(&self.plate, &self.taken_up, self.pose.as_ref().map(|pose| &pose.placement))
    }
}

/// A ring and a rectangle, roomy enough for every way of taking a cut up.
pub(super) fn nest() -> Nest {
    let rectangle = Shape::Rectangle { width: 80.0, height: 60.0, corner: 8.0 };
    let flange = Shape::Flange { outer: 80.0, bore: 45.0, bolts: 0, bolt: 0.0 };
    Nest::of(
        &[Order::plain(flange, 1, 30.0), Order::plain(rectangle, 1, 30.0)],
        &Habits::usual(6.0, 400.0),
        1,
    )
}

pub(super) const WAYS: [JoinStart; 4] =
    [JoinStart::KerfEnd, JoinStart::FreshPierce, JoinStart::SecondPass, JoinStart::Backwards];

fn restarts() -> Vec<Restart> {
    let nest = nest();
    let mut restarts = Vec::new();
    for hand in Hand::all() {
        let plate = Rc::new(Plate::of(&nest, &hand));
        for (k, cut) in plate.list.cuts.iter().enumerate() {
            for (nth, start) in WAYS.into_iter().enumerate() {
                let manner = Manner::ALL[(k + nth) % Manner::ALL.len()];
                let Some(taken_up) = plate.taken_up(k, cut.path.length_mm() * 0.4, start, manner) else {
                    continue;
                };
                let name = format!("{}, cut {}, {start:?}, {manner:?}", plate.name, k + 1);
                let restart = Restart { name, plate: plate.clone(), taken_up, pose: None };
                restarts.extend(sound(restart));
            }
        }
    }
    restarts
}

/// The restart, if it is proven; then it breaks no rule of the criterion.
pub(super) fn sound(restart: Restart) -> Option<Restart> {
    let text = restart.taken_up.text.as_str();
    if !restart.prove(text.as_bytes()).holds() {
        return None;
    }
    assert_eq!(restart.rules().broken_by(text.as_bytes()), None, "{}\n{text}", restart.name);
    Some(restart)
}

#[derive(Debug, Default)]
struct Tally {
    refused: usize,
    proven: usize,
}

#[test]
fn whatever_breaks_a_rule_of_a_join_is_refused() {
    let restarts = restarts();
    assert!(restarts.len() >= 60, "{} restarts", restarts.len());
    assert!(spoiled(&restarts, SITES, &SPELLED_OUT) >= 5000);
}

/// Spoils every restart in every way, at most at so many sites each, and gives how many cases that were. All kinds but
/// the `harmless` must be refused somewhere.
pub(super) fn spoiled(restarts: &[Restart], sites: usize, harmless: &[&str]) -> usize {
    let mut tallies: BTreeMap<&str, Tally> = BTreeMap::new();
    let mut wrong = Vec::new();
    for (number, restart) in restarts.iter().enumerate() {
        let rules = restart.rules();
        for kind in kinds() {
            let mut random = Random::new(number as u64 * 1000 + 11);
            let text = restart.taken_up.text.as_str();
            for spoiled in some(&kind, text, &restart.plate.dialect, sites, &mut random) {
                let tally = tallies.entry(kind.name).or_default();
                match judge(restart, &rules, &kind, &spoiled) {
                    Ok(true) => tally.proven += 1,
                    Ok(false) => tally.refused += 1,
                    Err(what) => wrong.push(format!("{} in {}: {what}", kind.name, restart.name)),
                }
            }
        }
    }
    let tried: usize =
        tallies.values().map(|tally| tally.proven + tally.refused).sum::<usize>() + wrong.len();
    assert!(
        wrong.is_empty(),
        "{} of {tried} are wrong, such as\n{}",
        wrong.len(),
        wrong[..wrong.len().min(4)].join("\n")
    );
    assert!(tallies.len() >= 25, "{} kinds, {tried} cases", tallies.len());
    for (kind, tally) in &tallies {
        let neutral = kinds().iter().any(|other| other.name == *kind && other.fate == Fate::Proven);
        assert!(
            neutral || harmless.contains(kind) || tally.refused > 0,
            "{kind} was never refused: {tally:?}"
        );
    }
    tried
}

/// Whether a spoiled restart is proven.
fn judge(restart: &Restart, rules: &Rules<'_>, kind: &Kind, spoiled: &Spoiled) -> Result<bool, String> {
    let text = spoiled.text.as_bytes();
    let proof = restart.prove(text);
    let told = || format!("{}\n{}\n{}", spoiled.told, shown(&proof, text), spoiled.text);
    match kind.fate {
        Fate::Proven if !proof.holds() => Err(format!("refused though nothing is changed: {}", told())),
        Fate::Refused if proof.holds() => Err(format!("proven though it must be refused: {}", told())),
        _ if !proof.holds() => Ok(false),
        _ => match rules.broken_by(text) {
            None => Ok(true),
            Some(broken) => Err(format!("proven though {broken}: {}", told())),
        },
    }
}
