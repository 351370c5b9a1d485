//! Pieces of a text fit to be shown under a finding: a few lines, long ones cut to a window, bytes that cannot be
//! shown replaced. However long the text, only what is shown is copied.

use std::ops::Range;

/// Longest line that is shown whole, in bytes.
const LINE_WHOLE: usize = 160;
/// Bytes of a longer line shown before what is pointed at.
const WINDOW_BEFORE: usize = 40;
/// Bytes of a longer line shown after the beginning of what is pointed at.
const WINDOW_AFTER: usize = 80;
/// Lines between two labels up to which both are shown in one piece.
const GAP_SHOWN: u32 = 2;

/// A text with a line index.
pub trait Lined {
    /// The whole text.
    fn bytes(&self) -> &[u8];
    /// Number of the line that holds byte `at`, from 1.
    fn line_of(&self, at: u32) -> u32;
    /// Bytes of line `line` (from 1) without its end; none past the end.
    fn line_range(&self, line: u32) -> Option<Range<usize>>;
}

impl Lined for nc::Program {
    fn bytes(&self) -> &[u8] {
        self.text()
    }

    fn line_of(&self, at: u32) -> u32 {
        Self::line_of(self, at)
    }

    fn line_range(&self, line: u32) -> Option<Range<usize>> {
        let block = self.blocks().get(line.checked_sub(1)? as usize)?;
        Some(block.span.range())
    }
}

/// A short text, such as a shop file, with its lines.
#[derive(Debug)]
pub struct ShortText<'a> {
    text: &'a str,
    lines: Vec<Range<usize>>,
}

impl<'a> ShortText<'a> {
    /// Indexes `text`.
    #[must_use]
    pub fn new(text: &'a str) -> Self {
        let mut start = 0;
        let lines = text
            .split('\n')
            .map(|line| {
                let range = start..start + line.trim_end_matches('\r').len();
                start += line.len() + 1;
                range
            })
            .collect();
        Self { text, lines }
    }
}

impl Lined for ShortText<'_> {
    fn bytes(&self) -> &[u8] {
        self.text.as_bytes()
    }

    fn line_of(&self, at: u32) -> u32 {
        let after = self.lines.partition_point(|line| line.start <= at as usize);
        u32::try_from(after.max(1)).unwrap_or(u32::MAX)
    }

    fn line_range(&self, line: u32) -> Option<Range<usize>> {
        self.lines.get(line.checked_sub(1)? as usize).cloned()
    }
}

/// Something to point at: a stretch of the text and what to say there.
#[derive(Clone, Copy, Debug)]
pub struct Pointer<'a> {
    /// The stretch.
    pub span: finding::Span,
    /// What to say; may be empty.
    pub text: &'a str,
    /// Whether the finding is about this place.
    pub primary: bool,
}

/// A piece of the text to show, with what is pointed at in it.
#[derive(Debug, PartialEq, Eq)]
pub struct Piece {
    /// Its text, fit to be shown.
    pub text: String,
    /// Number of its first line, from 1.
    pub line: u32,
    /// Column of its first byte where a long line was cut, from 1; none if it begins with its line.
    pub cut_at_column: Option<usize>,
    /// Places in `text`: the pointers' indexes and their stretches.
    pub places: Vec<(usize, Range<usize>)>,
}

/// The pieces to show for `pointers`, in the order of the text but that with the primary first.
#[must_use]
pub fn pieces(source: &dyn Lined, pointers: &[Pointer<'_>]) -> Vec<Piece> {
    let mut places: Vec<(u32, usize)> = pointers
        .iter()
        .enumerate()
        .map(|(k, pointer)| (source.line_of(pointer.span.start.min(last_byte(source))), k))
        .collect();
    places.sort_unstable();
    let mut pieces: Vec<Piece> = Vec::new();
    let mut rest = places.as_slice();
    while let Some(&(line, _)) = rest.first() {
        let together =
            1 + (1..rest.len()).take_while(|&k| may_join(source, rest[k - 1].0, rest[k].0)).count();
        let together = if is_long(source, line) { 1 } else { together };
        let (now, later) = rest.split_at(together);
        pieces.extend(piece(source, pointers, now));
        rest = later;
    }
    let of_primary = |piece: &Piece| piece.places.iter().any(|&(k, _)| pointers[k].primary);
    pieces.sort_by_key(|piece| !of_primary(piece));
    pieces
}

fn last_byte(source: &dyn Lined) -> u32 {
    u32::try_from(source.bytes().len().saturating_sub(1)).unwrap_or(u32::MAX)
}

fn is_long(source: &dyn Lined, line: u32) -> bool {
    source.line_range(line).is_some_and(|range| range.len() > LINE_WHOLE)
}

fn may_join(source: &dyn Lined, before: u32, line: u32) -> bool {
    line - before <= GAP_SHOWN + 1 && (before..=line).all(|line| !is_long(source, line))
}

/// The piece for pointers at lines near each other, or at one long line.
fn piece(source: &dyn Lined, pointers: &[Pointer<'_>], now: &[(u32, usize)]) -> Option<Piece> {
    let (first, last) = (now.first()?.0, now.last()?.0);
    let (range, end) = (source.line_range(first)?, source.line_range(last)?.end);
    let focus = pointers[now[0].1].span.range();
    let shown = if range.len() > LINE_WHOLE { window(&range, focus.start) } else { range.start..end };
    let (text, at) = fit_to_show(&source.bytes()[shown.clone()]);
    let places = now
        .iter()
        .map(|&(line, k)| {
            // What runs over a line's end is shown to the line's end: the beginning is what matters.
            let line = source.line_range(line).unwrap_or(shown.clone());
            let span = pointers[k].span.range();
            let limit = line.end.min(shown.end);
            let start = span.start.clamp(shown.start, limit);
            let end = span.end.clamp(start, limit);
            (k, at[start - shown.start]..at[end - shown.start])
        })
        .collect();
    let cut_at_column = (shown.start > range.start).then(|| shown.start - range.start + 1);
    Some(Piece { text, line: first, cut_at_column, places })
}

fn window(line: &Range<usize>, focus: usize) -> Range<usize> {
    let focus = focus.clamp(line.start, line.end);
    let start = focus.saturating_sub(WINDOW_BEFORE).max(line.start);
    start..(focus + WINDOW_AFTER).min(line.end)
}

/// `bytes` as text of as many lines, with the place in it of each byte and of the end. What is not UTF-8 and what
/// would move the cursor is replaced by U+FFFD, tabs by one blank.
fn fit_to_show(bytes: &[u8]) -> (String, Vec<usize>) {
    let mut text = String::with_capacity(bytes.len() + 16);
    let mut at = Vec::with_capacity(bytes.len() + 1);
    for chunk in bytes.utf8_chunks() {
        for letter in chunk.valid().chars() {
            at.extend(std::iter::repeat_n(text.len(), letter.len_utf8()));
            match letter {
                '\n' => text.push('\n'),
                '\t' | '\r' => text.push(' '),
                hidden if is_hidden(hidden) => text.push(char::REPLACEMENT_CHARACTER),
                seen => text.push(seen),
            }
        }
        if !chunk.invalid().is_empty() {
            at.extend(std::iter::repeat_n(text.len(), chunk.invalid().len()));
            text.push(char::REPLACEMENT_CHARACTER);
        }
    }
    at.push(text.len());
    (text, at)
}

/// Letters that a terminal obeys rather than shows, or that turn the direction of writing.
fn is_hidden(letter: char) -> bool {
    letter.is_control()
        || matches!(letter, '\u{200B}'..='\u{200F}' | '\u{2028}'..='\u{202E}' | '\u{2066}'..='\u{2069}' | '\u{FEFF}')
}

#[cfg(test)]
mod tests {
    use super::{Piece, Pointer, ShortText, fit_to_show, pieces};
    use finding::Span;

    fn check(text: &str, spans: &[(u32, u32)]) -> Vec<(u32, String, Vec<String>)> {
        let pointers: Vec<Pointer<'_>> = spans
            .iter()
            .enumerate()
            .map(|(k, &(start, end))| Pointer { span: Span::new(start, end), text: "", primary: k == 0 })
            .collect();
        let marked = |piece: &Piece| {
            piece.places.iter().map(|(_, range)| piece.text[range.clone()].to_owned()).collect::<Vec<_>>()
        };
        pieces(&ShortText::new(text), &pointers)
            .iter()
            .map(|piece| (piece.line, piece.text.clone(), marked(piece)))
            .collect()
    }

    fn expect(line: u32, text: &str, marked: &[&str]) -> (u32, String, Vec<String>) {
        (line, text.to_owned(), marked.iter().map(|&mark| mark.to_owned()).collect())
    }

    #[test]
    fn lines_near_each_other_are_shown_together() {
        let text = "G21\nM3\nG4 P1\nG1 X5\nM5\nG0 X9\nM3\n";
        assert_eq!(check(text, &[(4, 6)]), [expect(2, "M3", &["M3"])]);
        assert_eq!(check(text, &[(4, 6), (19, 21)]), [expect(2, "M3\nG4 P1\nG1 X5\nM5", &["M3", "M5"])]);
        assert_eq!(check(text, &[(28, 30), (4, 6)]), [expect(7, "M3", &["M3"]), expect(2, "M3", &["M3"])]);
    }

    #[test]
    fn what_runs_over_a_line_end_is_marked_to_the_line_end() {
        assert_eq!(check("G1 X5\nM5\n", &[(3, 8)]), [expect(1, "G1 X5", &["X5"])]);
    }

    #[test]
    fn spans_at_and_past_the_end_are_shown_on_the_last_line() {
        assert_eq!(check("M3", &[(2, 2)]), [expect(1, "M3", &[""])]);
        assert_eq!(check("M3", &[(900, 901)]), [expect(1, "M3", &[""])]);
        assert_eq!(check("", &[(0, 0)]), [expect(1, "", &[""])]);
    }

    #[test]
    fn a_long_line_is_cut_to_a_window() {
        let text = format!("G1 {}X5 {}\nM5", "Y1 ".repeat(400), "Z2 ".repeat(400));
        let found = check(&text, &[(1203, 1205)]);
        assert_eq!(found[0].2, ["X5"]);
        assert_eq!(found[0].1.len(), 120);
    }

    #[test]
    fn bytes_that_cannot_be_shown_are_replaced_and_places_kept() {
        let (text, at) = fit_to_show(b"(B\xE9\x1b[2J\xC3\xA9)\tM3");
        assert_eq!(text, "(B\u{FFFD}\u{FFFD}[2J\u{E9}) M3");
        assert_eq!(&text[at[11]..at[13]], "M3");
    }
}
