//! The text's words as such: which letters it uses, and which words the reader does not know.

use crate::{Case, Reason, record::Record};
use finding::{Finding, Level, Span};
use nc::{CommentForm, Dialect, Program};
use std::collections::BTreeSet;

/// What reading the original found.
#[derive(Debug)]
pub(super) struct Known {
    found: Vec<Finding>,
    /// Spans of unknown words in the original, sorted.
    unknown: Vec<Span>,
}

/// The rule under which the reader reports a word it does not know.
const UNKNOWN: &str = "word-unknown";

impl Known {
    /// Reads the original again, for its findings.
    pub(super) fn of(case: &Case<'_>) -> Self {
        let (_, found) = Program::parse(case.original.text(), case.dialect);
        let unknown = unknown(&found);
        Self { found, unknown }
    }

    /// The first finding at error level that the original did not have in a block of the same text.
    pub(super) fn first_new<'f>(
        &self,
        case: &Case<'_>,
        program: &Program,
        found: impl Iterator<Item = &'f Finding>,
    ) -> Option<&'f Finding> {
        let mut errors = found.filter(|finding| finding.level == Level::Error).peekable();
        errors.peek()?;
        let (_, more) = nc::Motions::run(case.original, case.dialect, &nc::Start::usual(case.dialect));
        let had: BTreeSet<_> =
            self.found.iter().chain(&more).filter_map(|finding| key(case.original, finding)).collect();
        errors.find(|finding| !key(program, finding).is_some_and(|key| had.contains(&key)))
    }
}

/// A finding's rule and the text of its block.
fn key(program: &Program, finding: &Finding) -> Option<(&'static str, Vec<u8>)> {
    let span = finding.primary.as_ref()?.span;
    let block = block_around(program, span)?;
    Some((finding.rule, program.text()[block.range()].to_vec()))
}

fn block_around(program: &Program, span: Span) -> Option<Span> {
    let blocks = program.blocks();
    let k = blocks.partition_point(|block| block.span.start <= span.start).checked_sub(1)?;
    Some(blocks[k].span)
}

fn unknown(found: &[Finding]) -> Vec<Span> {
    let mut spans: Vec<Span> = found
        .iter()
        .filter(|finding| finding.rule == UNKNOWN)
        .filter_map(|finding| finding.primary.as_ref().map(|label| label.span))
        .collect();
    spans.sort();
    spans
}

/// Holds the unknown words of the written text against those of the original.
///
/// # Errors
/// If the written text has one that the original does not have.
pub(super) fn kept(
    case: &Case<'_>,
    program: &Program,
    found: &[Finding],
    of_original: &Known,
    record: &mut Record,
) -> Result<(), Reason> {
    let text = |program: &Program, span: Span| program.text()[span.range()].to_ascii_uppercase();
    let in_original: BTreeSet<Vec<u8>> =
        of_original.unknown.iter().map(|span| text(case.original, *span)).collect();
    let in_written = unknown(found);
    for span in &in_written {
        if !in_original.contains(&text(program, *span)) {
            return Err(Reason {
                point: 2,
                message: "this word is not known to the reader and not in the original: what it does cannot be told"
                    .to_owned(),
                at: Some(*span),
            });
        }
    }
    let written: BTreeSet<Vec<u8>> = in_written.iter().map(|span| text(program, *span)).collect();
    for word in &in_original {
        let word_shown = String::from_utf8_lossy(word);
        record.lacks(format!(
            "What the word {word_shown} does is not known{}; tell it in [table.words] if it has a bearing on the cut.",
            if written.contains(word) { "" } else { ", and the restart does not have it" }
        ));
    }
    Ok(())
}

/// Whether a letter stands anywhere in a text outside its comments.
pub(crate) fn has_letter(text: &[u8], dialect: &Dialect, letter: u8) -> bool {
    let parentheses = dialect.comments.contains(&CommentForm::Parentheses);
    let to_end = |byte: u8| dialect.comments.contains(&CommentForm::ToEndOfLine(byte));
    let mut comment = None;
    for byte in text.iter().copied() {
        match (comment, byte) {
            (_, b'\n' | b'\r') | (Some(b')'), b')') => comment = None,
            (Some(_), _) => {}
            (None, b'(') if parentheses => comment = Some(b')'),
            (None, byte) if to_end(byte) => comment = Some(b'\n'),
            (None, byte) if byte.to_ascii_uppercase() == letter => return true,
            (None, _) => {}
        }
    }
    false
}
