//! A program's text cut into blocks and words, in one pass over the bytes.

use crate::expression::Op;
use crate::report::Report;
use crate::{CommentForm, Dialect, lexer, parameters};
use finding::{Finding, Span};
use std::borrow::Cow;
use std::sync::Arc;

/// Marks of a block.
pub(crate) mod flag {
    /// It is skipped (block delete).
    pub(crate) const DELETED: u8 = 1;
    /// It has expressions or sets parameters.
    pub(crate) const EVALUATED: u8 = 2;
    /// A subprogram begins in it.
    pub(crate) const LABEL: u8 = 4;
    /// It has a comment.
    pub(crate) const COMMENT: u8 = 8;
    /// It has no words.
    pub(crate) const EMPTY: u8 = 16;
    /// A word of it could not be read and was left out.
    pub(crate) const FAULTY: u8 = 32;
}

/// One line of the program: its text and its words.
#[derive(Clone, Copy, Debug)]
pub struct Block {
    /// Its bytes in the text, without the line end.
    pub span: Span,
    /// Its first word; the last is the one before the next block's first.
    words: u32,
    flags: u8,
}

impl Block {
    pub(crate) fn new(span: Span, words: u32, flags: u8) -> Self {
        Self { span, words, flags }
    }

    /// Whether it is skipped, because it begins with `/` and the table skips such blocks.
    #[must_use]
    pub fn is_skipped(&self) -> bool {
        self.has(flag::DELETED)
    }

    /// Whether it has no words: blank, a comment, a line number alone, or past the program's closing `%`.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.has(flag::EMPTY)
    }

    pub(crate) fn has(&self, flags: u8) -> bool {
        self.flags & flags != 0
    }
}

/// What a word's bits mean.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum WordKind {
    /// The number itself.
    Plain,
    /// Where its expression begins.
    Computed,
    /// A parameter is set: where the expressions of its index and of its value begin.
    Setting,
}

/// A letter and its value, or a parameter setting.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Word {
    bits: u64,
    /// Where it begins in the text.
    pub(crate) at: u32,
    /// Upper-case letter; `#` for a setting.
    pub(crate) letter: u8,
    pub(crate) kind: WordKind,
}

impl Word {
    #[expect(clippy::cast_possible_truncation, reason = "texts are cut off at 4 GiB")]
    pub(crate) fn plain(letter: u8, at: usize, value: f64) -> Self {
        Self { bits: value.to_bits(), at: at as u32, letter, kind: WordKind::Plain }
    }

    #[expect(clippy::cast_possible_truncation, reason = "texts are cut off at 4 GiB")]
    pub(crate) fn computed(letter: u8, at: usize, ops: usize) -> Self {
        Self { bits: ops as u64, at: at as u32, letter, kind: WordKind::Computed }
    }

    #[expect(clippy::cast_possible_truncation, reason = "texts are cut off at 4 GiB")]
    pub(crate) fn setting(at: usize, index_ops: usize, value_ops: usize) -> Self {
        let bits = (index_ops as u64) << 32 | value_ops as u64;
        Self { bits, at: at as u32, letter: b'#', kind: WordKind::Setting }
    }

    /// The number of a plain word.
    pub(crate) fn number(self) -> f64 {
        f64::from_bits(self.bits)
    }

    /// Where the operations of a computed word begin.
    #[expect(clippy::cast_possible_truncation, reason = "no more operations than bytes of text")]
    pub(crate) fn ops(self) -> usize {
        self.bits as usize
    }

    /// Where the operations of a setting's index and of its value begin.
    pub(crate) fn setting_ops(self) -> (usize, usize) {
        ((self.bits >> 32) as usize, (self.bits & 0xffff_ffff) as usize)
    }
}

/// A block in which a subprogram begins.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Label {
    pub(crate) number: u32,
    pub(crate) block: u32,
}

/// What reading makes of the text.
#[derive(Clone, Debug, Default)]
pub(crate) struct Parts {
    pub(crate) blocks: Vec<Block>,
    pub(crate) words: Vec<Word>,
    pub(crate) ops: Vec<Op>,
    /// In the order of the text.
    pub(crate) labels: Vec<Label>,
    pub(crate) comments: Vec<CommentForm>,
    /// A second `%` ends the program.
    pub(crate) ended: bool,
}

/// A program's text and its blocks; block `k` is line `k + 1`.
///
/// **Shape**: every line is a block, blank ones too. A value: equal texts and dialects give equal programs.
#[derive(Clone, Debug)]
pub struct Program {
    text: Arc<[u8]>,
    parts: Parts,
}

impl Program {
    /// Cuts `text` into blocks. Findings: `word-unknown`, unreadable numbers, unclosed comments and the like, each
    /// at its place; the block is kept without the unreadable word. Texts over 4 GiB keep their first 4 GiB, with a
    /// finding.
    ///
    /// Lines end in LF, CR LF or CR. Comments may hold any bytes. One pass; nothing is allocated for a block.
    #[must_use]
    pub fn parse(text: impl Into<Arc<[u8]>>, dialect: &Dialect) -> (Self, Vec<Finding>) {
        let mut text: Arc<[u8]> = text.into();
        let mut report = Report::default();
        if text.len() > LONGEST_TEXT {
            text = Arc::from(&text[..LONGEST_TEXT]);
            report.of_text(
                "text-too-long",
                || "the text is longer than 4 GiB; the rest was not read".into(),
                "split the program",
            );
        }
        report_no_program(&text, &mut report);
        let parts = lexer::lex(&text, dialect, &mut report);
        (Self { text, parts }, report.finish())
    }

    /// The whole text, as read.
    #[must_use]
    pub fn text(&self) -> &[u8] {
        &self.text
    }

    /// Its blocks in order; block `k` is line `k + 1`.
    #[must_use]
    pub fn blocks(&self) -> &[Block] {
        &self.parts.blocks
    }

    /// Number of the line that holds byte `at`, from 1. A line end belongs to the line it ends; past the end of the
    /// text it is the last line, and 1 where there is none.
    #[must_use]
    pub fn line_of(&self, at: u32) -> u32 {
        let line = self.parts.blocks.partition_point(|block| block.span.start <= at);
        u32::try_from(line).unwrap_or(u32::MAX).max(1)
    }

    /// The text of line `line` (from 1) without its end, other bytes than UTF-8 replaced; none past the end.
    #[must_use]
    pub fn line(&self, line: u32) -> Option<Cow<'_, str>> {
        let block = self.parts.blocks.get((line as usize).checked_sub(1)?)?;
        Some(String::from_utf8_lossy(&self.text[block.span.range()]))
    }

    /// Whether any expression reads a parameter.
    #[must_use]
    pub fn reads_parameters(&self) -> bool {
        self.parts.ops.iter().any(|op| matches!(op, Op::Parameter))
    }

    /// Whether nothing in the text can set, choose or read a datum in X and Y: no G10, G54 to G59.3 or G92 family
    /// (but G92 with Z alone), no code that is computed, and no parameter that the control itself keeps. Then a run
    /// from another datum is the same run moved.
    ///
    /// It may say no where the truth is yes, never the reverse.
    #[must_use]
    pub fn leaves_datum_alone(&self) -> bool {
        let mut before = None;
        let reads = self.parts.ops.iter().any(|op| {
            let free = matches!(before, Some(Op::Number(n)) if is_free(n));
            before = Some(*op);
            matches!(op, Op::Parameter) && !free
        });
        !reads && (0..self.parts.blocks.len()).all(|block| self.leaves_datum_alone_in(self.words(block)))
    }

    /// The blocks that may set a datum in X or Y, or change one that is stored: G10, the G92 family (but G92 with Z
    /// alone), and settings of parameters that the control itself keeps. Blocks that only choose a coordinate system
    /// are not among them. Blocks may be named that do not, never the reverse, but for codes that are computed.
    pub fn datum_setting_blocks(&self) -> impl Iterator<Item = u32> + '_ {
        let is_choice = |word: &Word| {
            word.kind == WordKind::Plain && word.letter == b'G' && (53.5..60.0).contains(&word.number())
        };
        let sets =
            move |words: &[Word]| words.iter().any(|word| !is_choice(word) && !self.is_no_datum(word, words));
        (0u32..)
            .zip(&self.parts.blocks)
            .filter(move |(block, _)| sets(self.words(*block as usize)))
            .map(|(k, _)| k)
    }

    fn leaves_datum_alone_in(&self, words: &[Word]) -> bool {
        words.iter().all(|word| self.is_no_datum(word, words))
    }

    /// Whether a word of the block `words` has nothing to do with the datum in X and Y.
    fn is_no_datum(&self, word: &Word, words: &[Word]) -> bool {
        let sideways = || words.iter().any(|word| matches!(word.letter, b'X' | b'Y'));
        match word.kind {
            WordKind::Plain if word.letter != b'G' || !is_datum_code(word.number()) => true,
            WordKind::Plain => (word.number() - 92.0).abs() < parameters::WHOLE && !sideways(),
            WordKind::Computed => word.letter != b'G',
            WordKind::Setting => {
                let (index, _) = word.setting_ops();
                matches!(self.parts.ops.get(index..index + 2), Some([Op::Number(n), Op::End]) if is_free(*n))
            }
        }
    }

    /// The text of the last comment of block `block`; none if it has none or does not exist.
    #[must_use]
    pub fn comment(&self, block: usize) -> Option<Cow<'_, str>> {
        let block = self.parts.blocks.get(block).filter(|block| block.has(flag::COMMENT))?;
        let mut rest = &self.text[block.span.range()];
        let mut last = None;
        while let Some(at) = rest.iter().position(|byte| self.begins_comment(*byte)) {
            let inside = &rest[at + 1..];
            let closing = if rest[at] == b'(' { inside.iter().position(|byte| *byte == b')') } else { None };
            last = Some(&inside[..closing.unwrap_or(inside.len())]);
            rest = closing.map_or(&[], |closing| &inside[closing + 1..]);
        }
        last.map(String::from_utf8_lossy)
    }

    /// What block `block` tells the operator: the text after `MSG,` in its last comment (NISTIR 6556, 3.3.4).
    #[must_use]
    pub fn message(&self, block: usize) -> Option<Cow<'_, str>> {
        let comment = self.comment(block)?;
        let mut sign = b"MSG,".iter();
        let mut wanted = sign.next();
        for (at, byte) in comment.bytes().enumerate() {
            let Some(letter) = wanted else { return Some(Cow::Owned(comment[at..].to_owned())) };
            match byte {
                b' ' | b'\t' => {}
                _ if byte.eq_ignore_ascii_case(letter) => wanted = sign.next(),
                _ => return None,
            }
        }
        wanted.is_none().then(|| Cow::Owned(String::new()))
    }

    fn begins_comment(&self, byte: u8) -> bool {
        self.parts.comments.iter().any(|form| match form {
            CommentForm::Parentheses => byte == b'(',
            CommentForm::ToEndOfLine(sign) => byte == *sign,
        })
    }

    /// The words of all blocks, in order.
    pub(crate) fn all_words(&self) -> &[Word] {
        &self.parts.words
    }

    /// The block in which a word stands that is the `nth` of all; none if the block is skipped.
    pub(crate) fn block_of_word(&self, nth: usize) -> Option<u32> {
        let blocks = &self.parts.blocks;
        let block = blocks.partition_point(|block| block.words as usize <= nth).checked_sub(1)?;
        u32::try_from(block).ok().filter(|_| !blocks[block].is_skipped())
    }

    pub(crate) fn words(&self, block: usize) -> &[Word] {
        let blocks = &self.parts.blocks;
        let start = blocks[block].words as usize;
        let end = blocks.get(block + 1).map_or(self.parts.words.len(), |next| next.words as usize);
        &self.parts.words[start..end]
    }

    /// Whether a second `%` ends the program.
    pub(crate) fn has_closing_percent(&self) -> bool {
        self.parts.ended
    }

    pub(crate) fn ops(&self) -> &[Op] {
        &self.parts.ops
    }

    pub(crate) fn labels(&self) -> &[Label] {
        &self.parts.labels
    }
}

/// Whether a G number belongs to a code that sets or chooses a datum.
fn is_datum_code(number: f64) -> bool {
    let near = |code: f64| (number - code).abs() < 0.5;
    near(10.0) || near(92.0) || (53.5..60.0).contains(&number)
}

/// Whether a parameter of this number is the program's own, not the control's.
fn is_free(number: f64) -> bool {
    number < f64::from(parameters::KEPT_BY_CONTROL) - 0.5
}

/// Places in the text are 32 bits wide.
const LONGEST_TEXT: usize = u32::MAX as usize;

/// How many bytes from the start are looked at to tell a binary file from a program.
const BINARY_PROBE: usize = 4096;

/// A text that is no program at all is said to be so once, before the faults of its bytes.
fn report_no_program(text: &[u8], report: &mut Report) {
    if text.iter().all(|byte| matches!(byte, b' ' | b'\t' | b'\r' | b'\n')) {
        report.of_text(
            "program-empty",
            || "the text holds no program: it is empty or blank".into(),
            "export the program again and see that the copy to this machine was finished",
        );
    } else if text[..text.len().min(BINARY_PROBE)].contains(&0) {
        report.of_text(
            "program-binary",
            || "this is no program text: it holds bytes of value 0".into(),
            "choose the program itself, not a drawing, an archive or a project file",
        );
    }
}
