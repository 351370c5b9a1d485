//! Words that the reader reads over: what they do shows in no motion, so each must stand where the original has it.

use super::KeptLeg;
use super::items::acts;
use crate::legs::Item;
use crate::record::Record;
use crate::view::View;
use crate::{Case, Reason, reason};
use finding::Span;
use nc::{Dialect, IdleWord, Start, Trail};
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

/// Holds the words read over against each other, cut by cut.
///
/// # Errors
/// Point 2, where a cut has other such words than in the original, or the text has one of its own that nobody knows.
pub(super) fn same(
    case: &Case<'_>,
    original: &View<'_>,
    written: &View<'_>,
    kept: &[KeptLeg],
    record: &mut Record,
) -> Result<(), Reason> {
    let (before, after) = (case.original.idle(), &Idle::of(case.original.dialect, written));
    if before.words.is_empty() && after.words.is_empty() {
        return Ok(());
    }
    if let Some(strange) = after.words.iter().find(|word| !word.is_known && !before.has(&word.text)) {
        let message =
            "this word is not known to the reader and not in the original: what it does cannot be told";
        return Err(reason(2, message, Some(strange.span)));
    }
    for leg in kept {
        for (of_original, of_written) in stretches(leg) {
            let (was, now) = (before.within(of_original.clone()), after.within(of_written.clone()));
            let places = |view: &View<'_>, range: Range<u32>, words: &mut dyn Iterator<Item = &Ran>| {
                words
                    .map(|word| (word.text.clone(), acting(view, range.start..word.event)))
                    .collect::<Vec<_>>()
            };
            let was_at = places(original, of_original, &mut was.clone());
            let now_at = places(written, of_written, &mut now.clone());
            if was_at != now_at {
                return Err(differs(written, leg, was, now));
            }
        }
    }
    tell(before, after, kept, record);
    Ok(())
}

/// The stretches of a leg whose words must be the same, by their events in the original and in the text: all of it,
/// without a way of the restart's own, and without what a join leaves out.
fn stretches(leg: &KeptLeg) -> Vec<(Range<u32>, Range<u32>)> {
    let begins = |of: &crate::legs::Leg| if leg.own_way { first_acts(of) } else { of.begins.event };
    let (was, now) = (&leg.original, &leg.written);
    match &leg.join {
        None => vec![(begins(was)..was.ends.event, begins(now)..now.ends.event)],
        Some(join) => vec![
            (begins(was)..was.on, begins(now)..now.on),
            (was.on..was.on, now.on..join.resumes.1),
            (join.resumes.0..was.ends.event, join.resumes.1..now.ends.event),
        ],
    }
}

fn differs<'r>(
    written: &View<'_>,
    leg: &KeptLeg,
    was: impl Iterator<Item = &'r Ran>,
    now: impl Iterator<Item = &'r Ran>,
) -> Reason {
    let (was, now): (Vec<&Ran>, Vec<&Ran>) = (was.collect(), now.collect());
    let list = |words: &[&Ran]| {
        let words: Vec<&str> = words.iter().map(|word| word.text.as_str()).collect();
        if words.is_empty() { "none".to_owned() } else { words.join(", ") }
    };
    let message = format!(
        "cut {}: words that are read over are {} here and in the original {}",
        leg.cut.number(),
        list(&now),
        list(&was)
    );
    let at = now.first().map(|word| word.span);
    reason(2, message, at.or_else(|| written.event_span(leg.written.on as usize)))
}

/// How many events that act lie in a range: where in a cut a word stands.
fn acting(view: &View<'_>, events: Range<u32>) -> usize {
    events.filter(|event| acts(view, Item::Event(*event as usize))).count()
}

/// What is left to whoever starts the program.
fn tell(before: &Idle, after: &Idle, kept: &[KeptLeg], record: &mut Record) {
    let Some(first) = kept.first() else { return };
    let earlier: BTreeSet<&str> =
        before.within(0..first_acts(&first.original)).map(|word| word.text.as_str()).collect();
    let stands: BTreeSet<&str> = after.words.iter().map(|word| word.text.as_str()).collect();
    let known: BTreeMap<&str, bool> =
        before.words.iter().map(|word| (word.text.as_str(), word.is_known)).collect();
    for (word, is_known) in known {
        match (is_known, stands.contains(word), earlier.contains(word)) {
            (true, true, _) | (_, false, false) => {}
            (true, false, true) => record.needs(format!("What {word} of the original switched is as it was then.")),
            (false, true, _) => record.lacks(format!(
                "What the word {word} does is not known; it stands where the original has it. Tell it in \
                 [table.words]."
            )),
            (false, false, true) => record.lacks(format!(
                "What the word {word} does is not known, and the restart does not have it. Tell it in [table.words]."
            )),
        }
    }
}

/// The first event of the leg's touch-off or start: what comes before is the restart's own.
fn first_acts(leg: &crate::legs::Leg) -> u32 {
    leg.touch.unwrap_or(leg.on)
}

/// A word read over, when a run comes to it.
#[derive(Clone, Debug)]
struct Ran {
    text: String,
    span: Span,
    is_known: bool,
    /// How many events had happened before its block.
    event: u32,
}

/// Words read over in the order in which a run comes to them.
#[derive(Debug)]
pub(crate) struct Idle {
    words: Vec<Ran>,
}

impl Idle {
    /// Those of a program.
    pub(crate) fn of(dialect: &Dialect, view: &View<'_>) -> Self {
        let idle: Vec<IdleWord> = view.program.idle_words(dialect).collect();
        let ran = |word: &IdleWord, event: u32| Ran {
            text: spelled(&view.program.text()[word.span.range()]),
            span: word.span,
            is_known: word.is_known,
            event,
        };
        let motions = view.motions;
        if idle.is_empty() || motions.is_straight() {
            let comes_to = idle.iter().filter(|word| motions.modal_before(word.block).is_some());
            let before = |block: u32| motions.events().partition_point(|event| event.block < block);
            let words = comes_to.map(|word| ran(word, crate::legs::index(before(word.block)))).collect();
            return Self { words };
        }
        let trail = Trail::of(view.program, dialect, &Start::usual(dialect));
        let of_block = |block: u32| {
            let first = idle.partition_point(|word| word.block < block);
            idle[first..].iter().take_while(move |word| word.block == block)
        };
        let runs = trail.ran().iter();
        let words = runs.flat_map(|run| of_block(run.block).map(|word| ran(word, run.event))).collect();
        Self { words }
    }

    fn has(&self, text: &str) -> bool {
        self.words.iter().any(|word| word.text == text)
    }

    /// Those between two events; words are in the order of events.
    fn within(&self, events: Range<u32>) -> impl Iterator<Item = &Ran> + Clone {
        let from = self.words.partition_point(|word| word.event < events.start);
        let to = self.words.partition_point(|word| word.event < events.end);
        self.words[from..to.max(from)].iter()
    }
}

/// A word in capitals without blanks, its number without needless zeros.
fn spelled(word: &[u8]) -> String {
    let bare: String =
        word.iter().filter(|byte| !byte.is_ascii_whitespace()).map(|byte| char::from(*byte)).collect();
    let bare = bare.to_ascii_uppercase();
    match bare.get(1..).and_then(|number| number.parse::<f64>().ok()) {
        Some(number) => format!("{}{number}", &bare[..1]),
        None => bare,
    }
}
