//! Why did the arc not come, or not stay? Causes ranked by Bayes from what was seen, the fault code, and what can be worked out.
//!
//! What is not known has no weight: a question without an answer leaves the ranking as it is.

mod bayes;
mod evidence;
mod questions;
mod rows;
mod table;
mod trouble;

pub(crate) use evidence::process_of;
pub use questions::{Answer, AskedOf, QUESTIONS, Question};
pub use rows::{CauseRow, ROWS};
pub use trouble::Trouble;

use crate::{NextLook, RankedCause, Situation, Triage};
use bayes::{Seen, likelihood_ratio, posterior, tells_bits};
use cuts::{CutId, PlateState};
use shop::StopReport;
use table::{Table, fault_word};

/// An answer is named as evidence if it is at least this many times likelier under a cause than it usually is, or the
/// other way round. Below it a reader gains nothing from being told.
const WORTH_NAMING: f64 = 1.5;

/// How many looks are proposed: more than a handful is not looked at.
const LOOKS: usize = 5;

/// A look that tells less than this is not worth the walk.
const LEAST_BITS: f64 = 0.01;

/// Ranks the causes of a stop at `cut`. Where the arc had no part in the stop there is nothing to rank.
pub(crate) fn triage(
    situation: &Situation<'_>,
    stop: &StopReport,
    cut: CutId,
    state: &PlateState,
) -> (Triage, Vec<String>) {
    let Some(trouble) = Trouble::of(stop) else { return (Triage::default(), Vec::new()) };
    let table = Table::of(situation.shop, trouble);
    let (computed, missing) = evidence::evidence(situation, stop, cut, state);
    let mut not_understood = Vec::new();
    let mut known = Known::default();
    for word in &stop.seen {
        known.say(&table, word.trim(), &mut not_understood);
    }
    if let Some(code) = &stop.fault {
        match table.answer(&fault_word(code.trim())) {
            Some(seen) => known.put(&table, seen, None),
            None => not_understood.push(unknown_fault(situation, code)),
        }
    }
    for fact in computed {
        if let Some(seen) = table.answer(fact.word) {
            known.put(&table, seen, Some(fact.because));
        }
    }
    let seen = known.seen();
    let (priors, p) = (posterior(&table, &[]), posterior(&table, &seen));
    let triage = Triage {
        causes: ranked(&table, &priors, &p, &known),
        next_looks: next_looks(&table, &p, &seen),
        not_understood,
    };
    (triage, missing)
}

/// Answers known so far, with what they mean in words.
#[derive(Debug, Default)]
struct Known {
    answers: Vec<(Seen, String)>,
    /// Questions answered in two ways at once: neither answer counts.
    muddled: Vec<usize>,
}

impl Known {
    fn say(&mut self, table: &Table, word: &str, not_understood: &mut Vec<String>) {
        let Some(seen) = table.answer(word) else {
            not_understood.push(unknown_word(table, word));
            return;
        };
        let other = self.answers.iter().position(|((q, a), _)| *q == seen.0 && *a != seen.1);
        if let Some(other) = other {
            let (before, _) = self.answers.remove(other);
            self.muddled.push(seen.0);
            not_understood.push(format!(
                "\"{}\" and \"{word}\" cannot both be so, and neither was used: leave out the one that was not seen",
                table.questions[before.0].answers[before.1].word
            ));
        } else if !self.muddled.contains(&seen.0) {
            self.put(table, seen, None);
        }
    }

    /// Puts an answer on record unless its question has one.
    fn put(&mut self, table: &Table, seen: Seen, because: Option<String>) {
        if self.answers.iter().all(|((q, _), _)| *q != seen.0) {
            let words = because.unwrap_or_else(|| table.questions[seen.0].answers[seen.1].means.clone());
            self.answers.push((seen, words));
        }
    }

    fn seen(&self) -> Vec<Seen> {
        self.answers.iter().map(|(seen, _)| *seen).collect()
    }
}

fn unknown_word(table: &Table, word: &str) -> String {
    if QUESTIONS.iter().flat_map(|question| question.answers).any(|answer| answer.word == word) {
        return format!("\"{word}\" says nothing about a stop of this kind, and had no weight");
    }
    let near = table
        .questions
        .iter()
        .flat_map(|question| &question.answers)
        .map(|answer| (edits(word, &answer.word), answer.word.as_str()))
        .min()
        .filter(|(edits, _)| *edits <= 2 + word.len() / 4);
    match near {
        Some((_, near)) => format!("\"{word}\" is no observation's name; did you mean \"{near}\"?"),
        None => format!("\"{word}\" is no observation's name, and had no weight"),
    }
}

fn unknown_fault(situation: &Situation<'_>, code: &str) -> String {
    let source = situation.shop.and_then(|shop| shop.source.as_ref());
    match source.and_then(|source| source.faults.iter().find(|fault| fault.code == code.trim())) {
        Some(fault) => format!(
            "fault {code} ({}) points at no cause of the table and had no weight: give it `points_at` in the shop file",
            fault.cause
        ),
        None => {
            format!("fault {code} is not in the shop file and had no weight: add it from the source's manual")
        }
    }
}

/// Letters to change, add or drop to make one word of the other (Levenshtein).
fn edits(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.chars().enumerate() {
        let mut corner = row[0];
        row[0] = i + 1;
        for (j, y) in b.iter().enumerate() {
            let change = corner + usize::from(x != *y);
            corner = row[j + 1];
            row[j + 1] = change.min(row[j] + 1).min(corner + 1);
        }
    }
    row[b.len()]
}

fn ranked(table: &Table, priors: &[f64], p: &[f64], known: &Known) -> Vec<RankedCause> {
    let mut order: Vec<usize> = (0..p.len()).collect();
    order.sort_by(|a, b| {
        p[*b].total_cmp(&p[*a]).then_with(|| table.causes[*a].name.cmp(&table.causes[*b].name))
    });
    order.into_iter().map(|c| ranked_cause(table, priors, p[c], known, c)).collect()
}

fn ranked_cause(table: &Table, priors: &[f64], probability: f64, known: &Known, c: usize) -> RankedCause {
    let mut ratios: Vec<(f64, &String)> = known
        .answers
        .iter()
        .map(|(seen, words)| (likelihood_ratio(table, priors, c, *seen), words))
        .collect();
    ratios.sort_by(|a, b| b.0.total_cmp(&a.0));
    let cause = &table.causes[c];
    RankedCause {
        name: cause.name.clone(),
        title: cause.title.clone(),
        probability,
        evidence_for: ratios.iter().filter(|(r, _)| *r >= WORTH_NAMING).map(|(_, w)| (*w).clone()).collect(),
        evidence_against: ratios
            .iter()
            .rev()
            .filter(|(r, _)| *r <= 1.0 / WORTH_NAMING)
            .map(|(_, w)| (*w).clone())
            .collect(),
        look: cause.look.clone(),
        fix: cause.fix.clone(),
    }
}

fn next_looks(table: &Table, p: &[f64], seen: &[Seen]) -> Vec<NextLook> {
    let mut looks: Vec<NextLook> = table
        .questions
        .iter()
        .enumerate()
        .filter(|(q, _)| seen.iter().all(|(answered, _)| answered != q))
        .map(|(q, question)| NextLook {
            question: match question.of {
                AskedOf::Hands => format!("{} (source isolated first)", question.ask),
                AskedOf::Eye | AskedOf::Facts => question.ask.clone(),
            },
            answers: question.answers.iter().map(|a| (a.word.clone(), a.means.clone())).collect(),
            tells_bits: tells_bits(table, p, q),
        })
        .filter(|look| look.tells_bits >= LEAST_BITS)
        .collect();
    // Stable: of two that tell alike the one answered at a glance, which stands first in the table, comes first.
    looks.sort_by(|a, b| b.tells_bits.total_cmp(&a.tells_bits));
    looks.truncate(LOOKS);
    looks
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn edits_are_counted_as_one_would_by_hand() {
        assert_eq!(edits("pilot", "pilot"), 0);
        assert_eq!(edits("no-pilto", "no-pilot"), 2);
        assert_eq!(edits("", "gas"), 3);
    }

    #[test]
    fn a_slip_of_the_pen_is_met_with_a_hint() {
        let hint = unknown_word(&Table::of(None, Trouble::NoStart), "no-pilto");
        assert!(hint.contains("did you mean \"no-pilot\""), "{hint}");
        let hint = unknown_word(&Table::of(None, Trouble::NoStart), "the dog barked all night long");
        assert!(hint.contains("no weight"), "{hint}");
    }

    fn causes_after(words: &[&str]) -> Vec<(String, f64)> {
        causes_of(Trouble::NoStart, words)
    }

    fn causes_of(trouble: Trouble, words: &[&str]) -> Vec<(String, f64)> {
        let table = Table::of(None, trouble);
        let mut known = Known::default();
        let mut muddled = Vec::new();
        for word in words {
            known.say(&table, word, &mut muddled);
        }
        assert!(muddled.is_empty(), "{muddled:?}");
        let (priors, p) = (posterior(&table, &[]), posterior(&table, &known.seen()));
        ranked(&table, &priors, &p, &known).into_iter().map(|cause| (cause.name, cause.probability)).collect()
    }

    /// What an experienced hand would say first (common practice).
    #[test]
    fn telling_signs_put_their_cause_first() {
        for (signs, cause) in [
            (&["pilot-full", "gas-heard", "later-start", "fails-on-scrap"][..], "work-lead-loose"),
            (&["no-pilot", "no-gas", "pressure-static-none"], "no-air"),
            (&["pressure-static-good", "pressure-flowing-low", "hose-free", "filter-dry"], "low-air-flowing"),
            (&["void-under-pierce", "no-dimple"], "void-under-pierce"),
            (&["source-dark"], "source-off"),
            (&["process-not-fitted", "first-start-of-program"], "consumables-wrong"),
            (&["arc-on-plate", "dimple", "stopped-right", "gas-heard"], "transfer-signal-lost"),
            (&["start-light-off", "source-ready", "no-gas"], "start-signal-lost"),
            (&["electrode-pitted", "later-start", "work-lead-tight"], "consumables-worn"),
            (&["source-hot", "source-fault", "not-first-today"], "duty-or-heat"),
            (&["stopped-high", "pilot-full", "pierce-height-on-chart", "plate-coated"], "touch-off-fooled"),
            (&["fails-in-one-area", "no-pilot"], "cable-broken"),
        ] {
            let ranking = causes_after(signs);
            assert_eq!(ranking[0].0, cause, "{signs:?}: {:?}", &ranking[..3]);
        }
    }

    /// What an experienced hand would say first (common practice).
    #[test]
    fn an_arc_that_burned_tells_its_cause_in_its_own_way() {
        for (trouble, signs, cause) in [
            (Trouble::Lost, &["over-void", "arc-stretched"][..], "void-under-pierce"),
            (Trouble::Lost, &["over-edge", "torch-dived"], "plate-edge-run-off"),
            (Trouble::Lost, &["work-lead-slack", "cut-clean"], "work-lead-loose"),
            (Trouble::Lost, &["source-hot", "source-fault"], "duty-or-heat"),
            (Trouble::Lost, &[], "consumables-worn"),
            (Trouble::BadCut, &["cut-lagging", "speed-over-chart"], "wrong-speed-or-current"),
            (Trouble::BadCut, &["came-slowly", "cut-bevelled"], "consumables-worn"),
            (Trouble::BadCut, &["pressure-flowing-low", "hose-free"], "low-air-flowing"),
        ] {
            let ranking = causes_of(trouble, signs);
            assert_eq!(ranking[0].0, cause, "{trouble:?} {signs:?}: {:?}", &ranking[..3]);
        }
    }

    #[test]
    fn a_sign_of_a_start_says_nothing_about_an_arc_that_was_lost() {
        let hint = unknown_word(&Table::of(None, Trouble::Lost), "no-pilot");
        assert!(hint.contains("says nothing about a stop of this kind"), "{hint}");
    }

    #[test]
    fn what_is_not_known_has_no_weight() {
        let ranking = causes_after(&[]);
        let worn = ranking.iter().find(|(name, _)| name == "consumables-worn").unwrap();
        assert!((worn.1 - 0.14).abs() < 1e-12);
        assert!((ranking.iter().map(|(_, p)| p).sum::<f64>() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn two_answers_to_one_question_cancel_and_are_told() {
        let table = Table::of(None, Trouble::NoStart);
        let mut known = Known::default();
        let mut told = Vec::new();
        for word in ["no-pilot", "pilot-full", "no-pilot"] {
            known.say(&table, word, &mut told);
        }
        assert!(known.seen().is_empty());
        assert_eq!(told.len(), 1);
    }
}
