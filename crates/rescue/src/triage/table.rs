//! The table of causes in force: the defaults, changed and added to by the shop, with the probability of every answer
//! given every cause.

use super::questions::{AskedOf, QUESTIONS, Question};
use super::rows::ROWS;
use super::trouble::Trouble;
use shop::{Cause, Fault, Shop};

/// Least probability of any answer given any cause. Nothing that was seen rules a cause out for good: people mishear,
/// and gauges stick. A tenth of it would let one slip outweigh three sound observations.
const LEAST: f64 = 0.002;

/// Share of failed starts in which an observation that only the shop's own table knows is made, where a cause does
/// not name it. Assumed: seen now and then, whatever the cause.
const USUAL_OF_OWN: f64 = 0.1;

/// Share, among a hundred failed starts, of a cause that the shop names without saying how likely it is. Assumed: a
/// rare one, but one that has been met.
const OWN_PRIOR: f64 = 1.0;

/// Probability that the source shows one of the codes that point at a cause, if that cause is so. Assumed: sources
/// tell the cause of a failed start more often than not.
const FAULT_HITS: f64 = 0.6;

/// Probability that some code is shown that points at another cause than the true one. Assumed: a source sees that no
/// arc came, and most causes look like that to it.
const FAULT_MISLEADS: f64 = 0.3;

/// A cause in force.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct TableCause {
    pub(crate) name: String,
    pub(crate) title: String,
    pub(crate) prior: f64,
    /// Its default share among failed starts, which is what a shop's own figure is held against.
    usual_prior: f64,
    pub(crate) look: String,
    pub(crate) fix: String,
    gives: Vec<(String, f64)>,
}

/// An answer in force.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct TableAnswer {
    pub(crate) word: String,
    pub(crate) means: String,
    usual: f64,
}

/// A question in force.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct TableQuestion {
    pub(crate) ask: String,
    pub(crate) of: AskedOf,
    pub(crate) answers: Vec<TableAnswer>,
    /// Probability of each answer (inner) given each cause (outer); each inner row sums to 1.
    pub(crate) given: Vec<Vec<f64>>,
}

/// Causes and questions in force.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Table {
    pub(crate) causes: Vec<TableCause>,
    pub(crate) questions: Vec<TableQuestion>,
}

impl Table {
    /// The table in force in `shop` for a stop of this trouble; the defaults where no shop is told.
    pub(crate) fn of(shop: Option<&Shop>, trouble: Trouble) -> Self {
        let own = shop.map_or(&[][..], |shop| &shop.causes);
        let faults = shop.and_then(|shop| shop.source.as_ref()).map_or(&[][..], |source| &source.faults);
        let mut causes = defaults(trouble);
        for cause in own {
            take_own(&mut causes, cause);
        }
        // A cause that never leads to such a stop is not one of them.
        causes.retain(|cause| cause.prior > 0.0);
        let mut questions = default_questions(|_| true);
        questions.extend(own_questions(&questions, own));
        let asked = default_questions(|question| question.about.contains(&trouble));
        questions.retain(|question| {
            asked.iter().any(|other| other.ask == question.ask)
                || !QUESTIONS.iter().any(|known| known.ask == question.ask)
        });
        for question in &mut questions {
            question.given = causes.iter().map(|cause| shares(question, cause)).collect();
        }
        questions.extend(fault_question(faults, &causes));
        Self { causes, questions }
    }

    /// Question and answer of an observation's word.
    pub(crate) fn answer(&self, word: &str) -> Option<(usize, usize)> {
        self.questions.iter().enumerate().find_map(|(q, question)| {
            question.answers.iter().position(|answer| answer.word == word).map(|a| (q, a))
        })
    }
}

/// The word under which a fault code stands in the table.
pub(crate) fn fault_word(code: &str) -> String {
    format!("fault {code}")
}

fn defaults(trouble: Trouble) -> Vec<TableCause> {
    ROWS.iter()
        .map(|row| TableCause {
            name: row.name.into(),
            title: row.title.into(),
            prior: row.shares[trouble as usize],
            usual_prior: row.shares[Trouble::NoStart as usize],
            look: row.look.into(),
            fix: row.fix.into(),
            gives: row.gives.iter().map(|(word, p)| ((*word).into(), *p)).collect(),
        })
        .collect()
}

/// Puts a cause of the shop's own in place: its prior and single figures replace the default's.
fn take_own(causes: &mut Vec<TableCause>, own: &Cause) {
    let known = causes.iter().position(|cause| cause.name == own.name).unwrap_or_else(|| {
        causes.push(TableCause {
            name: own.name.clone(),
            title: own.name.replace('-', " "),
            prior: OWN_PRIOR,
            usual_prior: OWN_PRIOR,
            look: "what the shop's own table says of it".into(),
            fix: "do what the shop does about it".into(),
            gives: Vec::new(),
        });
        causes.len() - 1
    });
    let cause = &mut causes[known];
    if let Some(prior) = own.prior.filter(|prior| prior.is_finite() && *prior >= 0.0) {
        // A shop counts failed starts; where an arc is lost a cause is as much commoner than usual as there.
        cause.prior = if cause.usual_prior > 0.0 { cause.prior * prior / cause.usual_prior } else { prior };
    }
    for (word, p) in &own.seen {
        if !p.is_finite() {
            continue;
        }
        let p = p.clamp(0.0, 1.0);
        match cause.gives.iter_mut().find(|(given, _)| given == word) {
            Some(given) => given.1 = p,
            None => cause.gives.push((word.clone(), p)),
        }
    }
}

fn default_questions(asked: impl Fn(&Question) -> bool) -> Vec<TableQuestion> {
    QUESTIONS
        .iter()
        .filter(|question| asked(question))
        .map(|question| TableQuestion {
            ask: question.ask.into(),
            of: question.of,
            answers: question
                .answers
                .iter()
                .map(|answer| TableAnswer {
                    word: answer.word.into(),
                    means: answer.means.into(),
                    usual: answer.usual,
                })
                .collect(),
            given: Vec::new(),
        })
        .collect()
}

/// One yes-or-no question for each observation that only the shop's table knows.
fn own_questions(known: &[TableQuestion], own: &[Cause]) -> Vec<TableQuestion> {
    let mut words: Vec<&str> = own
        .iter()
        .flat_map(|cause| &cause.seen)
        .map(|(word, _)| word.strip_prefix("no-").unwrap_or(word))
        .filter(|word| {
            let no = format!("no-{word}");
            !known.iter().flat_map(|q| &q.answers).any(|answer| answer.word == *word || answer.word == no)
        })
        .collect();
    words.sort_unstable();
    words.dedup();
    words
        .into_iter()
        .map(|word| TableQuestion {
            ask: format!("Was \"{}\" seen?", word.replace('-', " ")),
            of: AskedOf::Eye,
            answers: vec![
                TableAnswer {
                    word: word.into(),
                    means: format!("\"{}\" was seen", word.replace('-', " ")),
                    usual: USUAL_OF_OWN,
                },
                TableAnswer {
                    word: format!("no-{word}"),
                    means: format!("\"{}\" was not seen", word.replace('-', " ")),
                    usual: 1.0 - USUAL_OF_OWN,
                },
            ],
            given: Vec::new(),
        })
        .collect()
}

/// Probability of each answer to `question` if `cause` is so: what the cause names, the rest shared out among the
/// other answers as usual; none below [`LEAST`]; summing to 1.
fn shares(question: &TableQuestion, cause: &TableCause) -> Vec<f64> {
    let named = |word: &str| cause.gives.iter().find(|(given, _)| given == word).map(|(_, p)| *p);
    let listed: f64 = question.answers.iter().filter_map(|answer| named(&answer.word)).sum();
    let others: f64 = question
        .answers
        .iter()
        .filter(|answer| named(&answer.word).is_none())
        .map(|answer| answer.usual)
        .sum();
    let left = (1.0 - listed).max(0.0);
    let raw: Vec<f64> = question
        .answers
        .iter()
        .map(|answer| {
            named(&answer.word).unwrap_or_else(|| left * answer.usual / others.max(f64::MIN_POSITIVE))
        })
        .map(|p| p.max(LEAST))
        .collect();
    let sum: f64 = raw.iter().sum();
    raw.into_iter().map(|p| p / sum).collect()
}

/// "Which fault code does the source show?", if any code of the shop's table points at a cause.
fn fault_question(faults: &[Fault], causes: &[TableCause]) -> Option<TableQuestion> {
    let target = |fault: &Fault| {
        let name = fault.points_at.as_ref()?;
        causes.iter().position(|cause| cause.name == *name)
    };
    let pointing: Vec<(&Fault, usize)> =
        faults.iter().filter_map(|fault| target(fault).map(|cause| (fault, cause))).collect();
    if pointing.is_empty() {
        return None;
    }
    let mut answers: Vec<TableAnswer> = pointing
        .iter()
        .map(|(fault, _)| TableAnswer {
            word: fault_word(&fault.code),
            means: format!("the source shows {} ({})", fault.code, fault.cause),
            usual: 0.0,
        })
        .collect();
    answers.push(TableAnswer {
        word: "no-such-fault".into(),
        means: "the source shows none of these codes".into(),
        usual: 0.0,
    });
    let given = (0..causes.len()).map(|cause| fault_shares(&pointing, cause)).collect();
    Some(TableQuestion {
        ask: "Which fault code does the source show?".into(),
        of: AskedOf::Eye,
        answers,
        given,
    })
}

fn fault_shares(pointing: &[(&Fault, usize)], cause: usize) -> Vec<f64> {
    #[expect(clippy::cast_precision_loss, reason = "a handful of codes")]
    let (here, elsewhere) = {
        let here = pointing.iter().filter(|(_, target)| *target == cause).count();
        (here as f64, (pointing.len() - here) as f64)
    };
    let mut shares: Vec<f64> = pointing
        .iter()
        .map(|(_, target)| if *target == cause { FAULT_HITS / here } else { FAULT_MISLEADS / elsewhere })
        .collect();
    let shown: f64 = shares.iter().sum();
    shares.push(1.0 - shown);
    shares
}
