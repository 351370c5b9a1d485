//! One pass over the bytes: lines become blocks, letters and what follows them become words.

use crate::compile::{Compiler, Unreadable};
use crate::expression::Op;
use crate::number;
use crate::program::{Block, Label, Parts, Word, flag};
use crate::report::Report;
use crate::{CommentForm, Dialect};
use finding::Span;

/// Longest line number by the standard (NISTIR 6556, 3.3.1).
const LINE_NUMBER_DIGITS: usize = 5;

/// What a byte is outside comments.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Class {
    Letter,
    LineNumber,
    Blank,
    LineEnd,
    Parenthesis,
    CommentToEnd,
    Hash,
    Slash,
    Percent,
    OfNumber,
    Other,
}

/// Cuts `text` into blocks and words; faults go to `report`.
pub(crate) fn lex(text: &[u8], dialect: &Dialect, report: &mut Report) -> Parts {
    let mut lexer = Lexer {
        text,
        strict: dialect.strict,
        skips_marked: dialect.block_delete,
        longest_line: dialect.longest_line,
        label_letter: if dialect.subprograms { dialect.subprogram_letter.to_ascii_uppercase() } else { 0 },
        known: known_letters(dialect),
        classes: classes(dialect),
        parts: Parts { comments: dialect.comments.clone(), ..Parts::default() },
        report,
        opened: None,
        ended: false,
        faulty: false,
    };
    // Programs have about 25 bytes a line and seven a word. What is reserved and not used takes no memory.
    lexer.parts.blocks.reserve(text.len() / 20);
    lexer.parts.words.reserve(text.len() / 6);
    lexer.run();
    lexer.parts
}

struct Lexer<'a> {
    text: &'a [u8],
    strict: bool,
    skips_marked: bool,
    longest_line: usize,
    label_letter: u8,
    /// One bit a letter that may begin a word.
    known: u32,
    classes: [Class; 256],
    parts: Parts,
    report: &'a mut Report,
    /// The `%` that stands first in the text, once the first line that is not blank has been read: its place or none.
    opened: Option<Option<usize>>,
    /// A second `%` has been read; the rest of the text does not count.
    ended: bool,
    /// Something of the line could not be read.
    faulty: bool,
}

impl Lexer<'_> {
    fn run(&mut self) {
        let mut at = if self.text.starts_with(b"\xEF\xBB\xBF") { 3 } else { 0 };
        while at < self.text.len() {
            let start = at;
            let words = self.parts.words.len();
            let (end, flags) = if self.ended { (self.line_end(at), 0) } else { self.block(at) };
            self.finish_block(start, end, words, flags);
            at = self.past_line_end(end);
        }
        self.parts.ended = self.ended;
        if let (Some(Some(at)), true, false) = (self.opened, self.strict, self.ended) {
            self.report.error(
                "percent-unclosed",
                span(at, at + 1),
                || "the program begins with `%` but no second `%` ends it".into(),
                "end the text with a line `%`, or take the first away (NISTIR 6556, 3.1)",
            );
        }
    }

    fn finish_block(&mut self, start: usize, end: usize, words: usize, flags: u8) {
        if end - start > self.longest_line {
            self.report.warning(
                "line-too-long",
                span(start, end),
                || format!("the line has {} bytes; this control reads {}", end - start, self.longest_line),
                "split it, or correct `longest_line` in the shop file",
            );
        }
        let empty = if self.parts.words.len() == words { flag::EMPTY } else { 0 };
        let faulty = if std::mem::take(&mut self.faulty) { flag::FAULTY } else { 0 };
        let flags = flags | empty | faulty;
        self.parts.blocks.push(Block::new(span(start, end), narrow(words), flags));
    }

    /// Reads the line that begins at `at`; gives where its end stands and its flags.
    fn block(&mut self, mut at: usize) -> (usize, u8) {
        let mut flags = 0;
        let first_word = self.parts.words.len();
        while let Some(&byte) = self.text.get(at) {
            match self.classes[byte as usize] {
                Class::Letter => at = self.word(at, &mut flags),
                Class::Blank => at += 1,
                Class::LineEnd => break,
                Class::Parenthesis => {
                    flags |= flag::COMMENT;
                    at = self.comment(at);
                }
                Class::CommentToEnd => {
                    flags |= flag::COMMENT;
                    at = self.line_end(at);
                }
                Class::LineNumber => at = self.line_number(at, first_word),
                Class::Hash => at = self.setting(at, &mut flags),
                Class::Slash => {
                    let first = flags == 0 && self.parts.words.len() == first_word;
                    at = self.slash(at, first, &mut flags);
                }
                Class::Percent => at = self.percent(at, self.parts.words.len() == first_word),
                Class::OfNumber => at = self.stray_number(at),
                Class::Other => at = self.stray_byte(at),
            }
        }
        if self.opened.is_none() && (flags != 0 || self.parts.words.len() > first_word) {
            self.opened = Some(None);
        }
        (at, flags)
    }

    /// A letter and its value. Gives where reading goes on.
    #[inline]
    fn word(&mut self, at: usize, flags: &mut u8) -> usize {
        let letter = self.text[at] & !0x20;
        let mut end = at + 1;
        while matches!(self.text.get(end), Some(b' ' | b'\t')) {
            end += 1;
        }
        if self.known >> (letter - b'A') & 1 == 0 {
            return self.unknown_word(at, letter);
        }
        let Some(value) = number::read(self.text, &mut end) else {
            return self.word_of_expression(at, letter, flags);
        };
        if letter == self.label_letter {
            self.label(at, value, flags);
        }
        self.parts.words.push(Word::plain(letter, at, value));
        end
    }

    #[cold]
    fn label(&mut self, at: usize, value: f64, flags: &mut u8) {
        let Some(number) = crate::parameters::whole(value) else {
            self.number_fault(at, at + 1, "the number of a subprogram is a whole number");
            return;
        };
        *flags |= flag::LABEL;
        self.parts.labels.push(Label { number: narrow(number), block: narrow(self.parts.blocks.len()) });
    }

    #[cold]
    fn word_of_expression(&mut self, at: usize, letter: u8, flags: &mut u8) -> usize {
        let start = self.parts.ops.len();
        let mut compiler = Compiler::new(self.text, at + 1, &mut self.parts.ops, self.strict);
        let first = compiler.peek();
        match compiler.real_value() {
            Ok(()) => {
                let end = compiler.at;
                self.parts.ops.push(Op::End);
                *flags |= flag::EVALUATED;
                self.parts.words.push(Word::computed(letter, at, start));
                end
            }
            Err(fault) => {
                self.parts.ops.truncate(start);
                // Letters without brackets are no expression but a word whose number is missing.
                let end = self.after_fault(at + 1);
                let rest = &self.text[at + 1..end.max(at + 1)];
                if matches!(first, b'[' | b'#') || rest.contains(&b'[') {
                    self.expression_fault(at, end, fault);
                } else {
                    self.number_fault(at, end, "the letter has no readable number after it");
                }
                end
            }
        }
    }

    /// `# number = value` (NISTIR 6556, 3.3.3).
    #[cold]
    fn setting(&mut self, at: usize, flags: &mut u8) -> usize {
        let start = self.parts.ops.len();
        match self.setting_parts(at) {
            Ok((value, end)) => {
                *flags |= flag::EVALUATED;
                self.parts.words.push(Word::setting(at, start, value));
                end
            }
            Err(fault) => {
                self.parts.ops.truncate(start);
                let end = self.after_fault(at + 1);
                self.expression_fault(at, end, fault);
                end
            }
        }
    }

    /// Compiles both sides of a setting; gives where the value's operations begin, and where the text goes on.
    fn setting_parts(&mut self, at: usize) -> Result<(usize, usize), Unreadable> {
        let mut compiler = Compiler::new(self.text, at + 1, &mut self.parts.ops, self.strict);
        compiler.real_value()?;
        if compiler.peek() != b'=' {
            return Err(Unreadable { at: compiler.at, why: "a parameter here must be set: `=` is missing" });
        }
        let at = compiler.at + 1;
        self.parts.ops.push(Op::End);
        let value = self.parts.ops.len();
        let mut compiler = Compiler::new(self.text, at, &mut self.parts.ops, self.strict);
        compiler.real_value()?;
        let end = compiler.at;
        self.parts.ops.push(Op::End);
        Ok((value, end))
    }

    /// From `( ` to past the `)`.
    fn comment(&mut self, at: usize) -> usize {
        let found = memchr::memchr3(b')', b'\n', b'\r', &self.text[at + 1..]);
        let stop = found.map_or(self.text.len(), |found| at + 1 + found);
        if self.text.get(stop) != Some(&b')') {
            return self.comment_unclosed(at, stop);
        }
        if self.strict && self.text[at + 1..stop].contains(&b'(') {
            self.report.error(
                "comment-nested",
                span(at, stop + 1),
                || "a comment stands within a comment".into(),
                "take the inner parentheses away (NISTIR 6556, 3.3.4)",
            );
        }
        stop + 1
    }

    #[cold]
    fn comment_unclosed(&mut self, at: usize, end: usize) -> usize {
        self.report.error(
            "comment-unclosed",
            span(at, end),
            || "the comment has no closing `)` on its line".into(),
            "close it: what follows it on this line was not read",
        );
        end
    }

    /// `N` and its digits; only echoed, so nothing is kept.
    fn line_number(&mut self, at: usize, first_word: usize) -> usize {
        let mut end = at + 1;
        let mut digits = 0;
        while let Some(&byte) = self.text.get(end) {
            match byte {
                b'0'..=b'9' => digits += 1,
                b' ' | b'\t' => {}
                _ => break,
            }
            end += 1;
        }
        let broken = matches!(self.text.get(end), Some(b'.' | b'-' | b'+' | b'['));
        if digits == 0 || broken || digits > LINE_NUMBER_DIGITS || self.parts.words.len() > first_word {
            return self.line_number_fault(at, end, digits, first_word);
        }
        end
    }

    #[cold]
    fn line_number_fault(&mut self, at: usize, end: usize, digits: usize, first_word: usize) -> usize {
        if digits == 0 || matches!(self.text.get(end), Some(b'.' | b'-' | b'+' | b'[')) {
            let end = self.after_fault(at + 1);
            self.number_fault(at, end, "a line number is a row of digits after N");
            return end;
        }
        if self.strict && digits > LINE_NUMBER_DIGITS {
            self.report.error(
                "line-number-long",
                span(at, end),
                || format!("the line number has {digits} digits; the standard allows five"),
                "number the lines from N1 to N99999 (NISTIR 6556, 3.3.1)",
            );
        }
        if self.strict && self.parts.words.len() > first_word {
            self.report.error(
                "word-misplaced",
                span(at, end),
                || "the line number does not stand first".into(),
                "put N before all other words (NISTIR 6556, 3.3)",
            );
        }
        end
    }

    #[cold]
    fn slash(&mut self, at: usize, first: bool, flags: &mut u8) -> usize {
        if first {
            if self.skips_marked {
                *flags |= flag::DELETED;
            }
        } else {
            self.report.error(
                "slash-misplaced",
                span(at, at + 1),
                || "`/` stands within the block".into(),
                "it marks a block to be skipped and stands first in it",
            );
        }
        at + 1
    }

    #[cold]
    fn percent(&mut self, at: usize, first: bool) -> usize {
        match self.opened {
            None if first => self.opened = Some(Some(at)),
            Some(Some(_)) if first => self.ended = true,
            _ => self.report.warning(
                "percent-misplaced",
                span(at, at + 1),
                || "`%` stands where no program begins or ends; it was read over".into(),
                "begin the text with a line `%` and end it with one, or use none",
            ),
        }
        let end = self.line_end(at);
        if self.strict && self.text[at + 1..end].iter().any(|byte| !matches!(byte, b' ' | b'\t')) {
            self.report.error(
                "percent-misplaced",
                span(at, end),
                || "something else stands on the line of `%`".into(),
                "leave `%` alone on its line (NISTIR 6556, 3.1)",
            );
        }
        end
    }

    #[cold]
    fn unknown_word(&mut self, at: usize, letter: u8) -> usize {
        self.faulty = true;
        let end = self.after_fault(at + 1);
        let exponent = letter == b'E' && at > 0 && matches!(self.text[at - 1], b'0'..=b'9' | b'.');
        let remedy = if exponent {
            "write the number out: numbers have no exponent form"
        } else {
            "correct the letter; if this control knows the word, name it in `[table.words]`"
        };
        self.report.warning(
            "word-unknown",
            span(at, end),
            || format!("`{}` begins no word that this control knows", char::from(letter)),
            remedy,
        );
        end
    }

    #[cold]
    fn stray_number(&mut self, at: usize) -> usize {
        let mut end = at;
        while matches!(self.text.get(end), Some(b'0'..=b'9' | b'.' | b'+' | b'-' | b' ' | b'\t')) {
            end += 1;
        }
        self.number_fault(at, end, "the number has no letter before it, or a sign or point too many");
        end
    }

    #[cold]
    fn stray_byte(&mut self, at: usize) -> usize {
        let byte = self.text[at];
        self.report.error(
            "character-unknown",
            span(at, at + 1),
            || match byte {
                b'!'..=b'~' => format!("`{}` has no meaning here", char::from(byte)),
                _ => format!("a byte of value {byte} has no meaning outside a comment"),
            },
            "take it away; if it begins a comment on this control, say so under `comments` in `[table.words]`",
        );
        at + 1
    }

    #[cold]
    fn number_fault(&mut self, at: usize, end: usize, why: &'static str) {
        self.faulty = true;
        let text = &self.text[at..end.min(at + 24)];
        let shown = String::from_utf8_lossy(text).trim_end().to_owned();
        self.report.error(
            "number-unreadable",
            span(at, end),
            || format!("`{shown}`: {why}"),
            "write the word as a letter and a number such as X12.5; the word was left out",
        );
    }

    #[cold]
    fn expression_fault(&mut self, at: usize, end: usize, fault: Unreadable) {
        self.faulty = true;
        let place = fault.at.min(end);
        self.report.error(
            "expression-unreadable",
            span(at, end),
            || {
                let rest = String::from_utf8_lossy(&self.text[place..end.min(place + 12)]);
                match rest.trim_end() {
                    "" => format!("{} at the end", fault.why),
                    rest => format!("{} at `{rest}`", fault.why),
                }
            },
            "correct the expression; the word was left out",
        );
    }

    /// Where reading goes on after something unreadable: at the next letter outside brackets that looks like the
    /// beginning of a word, at a comment, or at the end of the line.
    fn after_fault(&self, mut at: usize) -> usize {
        let mut depth = 0_u32;
        let mut in_name = false;
        let mut last = self.text[at - 1];
        while let Some(&byte) = self.text.get(at) {
            match self.classes[byte as usize] {
                Class::LineEnd => break,
                Class::Parenthesis | Class::CommentToEnd if depth == 0 => break,
                // One of a row of `#` cannot be told from the next: the row is one fault.
                Class::Hash if depth == 0 && last != b'#' => break,
                Class::Letter | Class::LineNumber if depth == 0 => {
                    let next = self.next_byte(at + 1);
                    if next.is_ascii_digit() || b"+-.#".contains(&next) || (next == b'[' && !in_name) {
                        break;
                    }
                    in_name = true;
                }
                Class::Blank => {}
                _ if byte == b'[' => depth += 1,
                _ if byte == b']' => {
                    depth = depth.saturating_sub(1);
                    in_name = false;
                }
                _ => in_name = false,
            }
            if self.classes[byte as usize] != Class::Blank {
                last = byte;
            }
            at += 1;
        }
        at
    }

    /// The next byte that is no blank; a line feed at the end of the text.
    fn next_byte(&self, at: usize) -> u8 {
        self.text[at..].iter().copied().find(|byte| !matches!(byte, b' ' | b'\t')).unwrap_or(b'\n')
    }

    /// Where the next line begins, if a line ends at `at`.
    fn past_line_end(&self, at: usize) -> usize {
        match self.text.get(at..) {
            Some([b'\r', b'\n', ..]) => at + 2,
            Some([_, ..]) => at + 1,
            _ => at,
        }
    }

    fn line_end(&self, at: usize) -> usize {
        memchr::memchr2(b'\n', b'\r', &self.text[at..]).map_or(self.text.len(), |found| at + found)
    }
}

/// Places in the text fit 32 bits: longer texts are cut off before they are read.
fn narrow(place: usize) -> u32 {
    u32::try_from(place).unwrap_or(u32::MAX)
}

fn span(start: usize, end: usize) -> Span {
    Span::new(narrow(start), narrow(end))
}

/// Letters that may begin a word: those of the standard (NISTIR 6556, table 3) and those of the dialect.
fn known_letters(dialect: &Dialect) -> u32 {
    let bit = |letter: u8| match letter.to_ascii_uppercase() {
        letter @ b'A'..=b'Z' => 1 << (letter - b'A'),
        _ => 0_u32,
    };
    let standard = b"ABCDFGHIJKLMPQRSTXYZ".iter().fold(0, |known, &letter| known | bit(letter));
    let words = [dialect.call_target, dialect.call_repeats, dialect.subprogram_letter];
    let own = words.iter().filter(|_| dialect.subprograms).chain(&dialect.process_letter);
    let own = own.fold(standard | bit(dialect.dwell.letter), |known, &letter| known | bit(letter));
    dialect.codes().fold(own, |known, code| known | bit(code.letter))
}

fn classes(dialect: &Dialect) -> [Class; 256] {
    let mut classes = [Class::Other; 256];
    for letter in b'A'..=b'Z' {
        classes[letter as usize] = Class::Letter;
        classes[letter.to_ascii_lowercase() as usize] = Class::Letter;
    }
    classes[b'N' as usize] = Class::LineNumber;
    classes[b'n' as usize] = Class::LineNumber;
    for byte in b"0123456789.+-" {
        classes[*byte as usize] = Class::OfNumber;
    }
    classes[b'#' as usize] = Class::Hash;
    classes[b'/' as usize] = Class::Slash;
    classes[b'%' as usize] = Class::Percent;
    if !dialect.strict {
        // Form feed, vertical tab, and the end-of-file mark of old systems.
        for byte in [0x0b, 0x0c, 0x1a] {
            classes[byte] = Class::Blank;
        }
    }
    for form in &dialect.comments {
        match form {
            CommentForm::Parentheses => classes[b'(' as usize] = Class::Parenthesis,
            CommentForm::ToEndOfLine(byte) => classes[*byte as usize] = Class::CommentToEnd,
        }
    }
    for byte in *b" \t" {
        classes[byte as usize] = Class::Blank;
    }
    for byte in *b"\r\n" {
        classes[byte as usize] = Class::LineEnd;
    }
    classes
}
