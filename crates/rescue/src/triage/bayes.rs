//! Bayes over the table of causes, each question taken as independent of the others given the cause.
//!
//! Source: Bayes' rule, p(c | e) ∝ p(c) Π p(e | c); what an answer is expected to tell is the mutual information
//! between it and the cause, Σ p(a) [H(cause) - H(cause | a)], in bits.

use super::table::Table;

/// Question and answer, by index.
pub(crate) type Seen = (usize, usize);

/// Probability of each cause given `seen`; sums to 1. All causes alike if every prior is zero.
pub(crate) fn posterior(table: &Table, seen: &[Seen]) -> Vec<f64> {
    let logs: Vec<f64> = table
        .causes
        .iter()
        .enumerate()
        .map(|(c, cause)| {
            cause.prior.ln() + seen.iter().map(|(q, a)| table.questions[*q].given[c][*a].ln()).sum::<f64>()
        })
        .collect();
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> =
        logs.iter().map(|log| if top.is_finite() { (log - top).exp() } else { 1.0 }).collect();
    let sum: f64 = weights.iter().sum();
    weights.into_iter().map(|weight| weight / sum).collect()
}

/// How many times likelier answer `(q, a)` is if cause `c` is so than it is before anything is known of the cause.
pub(crate) fn likelihood_ratio(table: &Table, priors: &[f64], c: usize, (q, a): Seen) -> f64 {
    let given = &table.questions[q].given;
    let usual: f64 = priors.iter().zip(given).map(|(p, given)| p * given[a]).sum();
    if usual > 0.0 { given[c][a] / usual } else { 1.0 }
}

/// How much the answer to question `q` is expected to tell about the cause, in bits, where causes have the
/// probabilities `p`.
pub(crate) fn tells_bits(table: &Table, p: &[f64], q: usize) -> f64 {
    let given = &table.questions[q].given;
    let before = entropy_bits(p.iter().copied());
    let after: f64 = (0..table.questions[q].answers.len())
        .map(|a| {
            let joint: Vec<f64> = p.iter().zip(given).map(|(p, given)| p * given[a]).collect();
            let share: f64 = joint.iter().sum();
            if share > 0.0 { share * entropy_bits(joint.into_iter().map(|joint| joint / share)) } else { 0.0 }
        })
        .sum();
    (before - after).max(0.0)
}

fn entropy_bits(p: impl Iterator<Item = f64>) -> f64 {
    -p.filter(|p| *p > 0.0).map(|p| p * p.log2()).sum::<f64>()
}

#[cfg(test)]
mod tests {
    use super::super::Trouble;
    use super::super::questions::AskedOf;
    use super::super::table::{Table, TableQuestion};
    use super::*;

    /// Two causes with priors 3 and 1, and one question that is answered "a" with 0.2 and 0.8.
    fn two_causes() -> Table {
        let mut table = Table::of(None, Trouble::NoStart);
        table.causes.truncate(2);
        table.causes[0].prior = 3.0;
        table.causes[1].prior = 1.0;
        let answers = table.questions[0].answers.clone();
        table.questions = vec![TableQuestion {
            ask: "a or b?".into(),
            of: AskedOf::Eye,
            answers,
            given: vec![vec![0.2, 0.8], vec![0.8, 0.2]],
        }];
        table
    }

    #[test]
    fn one_answer_turns_three_to_one_into_three_to_four() {
        // By hand: 3 × 0.2 : 1 × 0.8 = 0.6 : 0.8, so 3/7 and 4/7.
        let p = posterior(&two_causes(), &[(0, 0)]);
        assert!((p[0] - 3.0 / 7.0).abs() < 1e-12 && (p[1] - 4.0 / 7.0).abs() < 1e-12, "{p:?}");
        // And without any answer, the priors.
        let p = posterior(&two_causes(), &[]);
        assert!((p[0] - 0.75).abs() < 1e-12, "{p:?}");
    }

    #[test]
    fn what_an_answer_tells_is_the_mutual_information() {
        // By hand: p(a) = 0.75 × 0.2 + 0.25 × 0.8 = 0.35, p(b) = 0.65; H = 0.811278 bits before;
        // given a: 3/7, 4/7 → 0.985228; given b: 12/13, 1/13 → 0.391244; 0.811278 - 0.35 × 0.985228
        // - 0.65 × 0.391244 = 0.212140 bits.
        let table = two_causes();
        let bits = tells_bits(&table, &[0.75, 0.25], 0);
        assert!((bits - 0.212_140).abs() < 1e-5, "{bits}");
        // Where the cause is known, no answer tells anything.
        assert!(tells_bits(&table, &[1.0, 0.0], 0) < 1e-12);
    }

    #[test]
    fn the_ratio_compares_a_cause_with_what_is_usual() {
        // By hand: 0.8 against 0.75 × 0.2 + 0.25 × 0.8 = 0.35.
        let table = two_causes();
        assert!((likelihood_ratio(&table, &[0.75, 0.25], 1, (0, 0)) - 0.8 / 0.35).abs() < 1e-12);
    }

    #[test]
    fn priors_of_zero_throughout_leave_all_causes_alike() {
        let mut table = two_causes();
        for cause in &mut table.causes {
            cause.prior = 0.0;
        }
        assert_eq!(posterior(&table, &[]), [0.5, 0.5]);
    }
}
