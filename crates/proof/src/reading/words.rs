//! The text as such: which letters it uses, and what reading it finds.

use crate::Case;
use finding::{Finding, Level, Span};
use nc::{CommentForm, Dialect, Program};
use std::collections::BTreeSet;

/// The first finding at error level that the original did not have in a block of the same text.
pub(super) fn first_new_error<'f>(
    case: &Case<'_>,
    program: &Program,
    found: impl Iterator<Item = &'f Finding>,
) -> Option<&'f Finding> {
    let mut errors = found.filter(|finding| finding.level == Level::Error).peekable();
    errors.peek()?;
    let (original, had) = Program::parse(case.original.program.text(), case.original.dialect);
    let (_, more) =
        nc::Motions::run(&original, case.original.dialect, &nc::Start::usual(case.original.dialect));
    let had: BTreeSet<_> = had.iter().chain(&more).map(|finding| key(&original, finding)).collect();
    errors.find(|finding| !had.contains(&key(program, finding)))
}

/// A finding's rule and the text of its block, nothing where it is about the whole text.
fn key(program: &Program, finding: &Finding) -> (&'static str, Vec<u8>) {
    let span = finding.primary.as_ref().and_then(|label| block_around(program, label.span));
    (finding.rule, span.map_or(Vec::new(), |span| program.text()[span.range()].to_vec()))
}

fn block_around(program: &Program, span: Span) -> Option<Span> {
    let blocks = program.blocks();
    let k = blocks.partition_point(|block| block.span.start <= span.start).checked_sub(1)?;
    Some(blocks[k].span)
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
