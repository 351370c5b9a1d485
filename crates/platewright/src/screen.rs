//! The terminal: how wide, in colour or not, and text broken into lines that fit.

use std::io::{IsTerminal, Write};
use std::path::Path;

/// Columns where the output is not a terminal, as in a log or a snapshot.
const WIDTH_ELSEWHERE: usize = 100;
/// Fewest columns that text is fitted to: below, lines are left to wrap as they will.
const WIDTH_LEAST: usize = 60;
/// Most columns that text is fitted to: longer lines are hard to read.
const WIDTH_MOST: usize = 120;

/// Columns of a bar that shows how far a long piece of work has got.
const BAR: usize = 40;

/// Where output goes.
pub struct Screen<'a> {
    out: &'a mut dyn Write,
    err: &'a mut dyn Write,
    /// Columns to fit text to.
    pub width: usize,
    /// Whether to colour.
    pub colour: bool,
    /// Whether someone watches standard error as it is written.
    watched: bool,
}

/// How a piece of text stands out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Tone {
    /// A heading.
    Heading,
    /// Something is wrong.
    Bad,
    /// Something is proven or clean.
    Good,
    /// Less important.
    Quiet,
}

impl<'a> Screen<'a> {
    /// A screen of fixed width without colour, for logs and tests.
    pub fn plain(out: &'a mut dyn Write, err: &'a mut dyn Write) -> Self {
        Self { out, err, width: WIDTH_ELSEWHERE, colour: false, watched: false }
    }

    /// The terminal this process was started from. Colour only on a terminal, and never where `NO_COLOR` is set
    /// (no-color.org) or `TERM` is `dumb`.
    pub fn of_process(out: &'a mut dyn Write, err: &'a mut dyn Write) -> Self {
        let on_terminal = std::io::stdout().is_terminal();
        let width = terminal_size::terminal_size()
            .filter(|_| on_terminal)
            .map_or(WIDTH_ELSEWHERE, |(width, _)| usize::from(width.0).clamp(WIDTH_LEAST, WIDTH_MOST));
        let set = |name: &str| std::env::var_os(name).filter(|value| !value.is_empty());
        let colour =
            on_terminal && set("NO_COLOR").is_none() && set("TERM").is_none_or(|term| term != "dumb");
        Self { out, err, width, colour, watched: std::io::stderr().is_terminal() }
    }

    /// Writes a line to the output. A reader that has gone away, as behind `| head`, is no fault.
    pub fn line(&mut self, text: &str) {
        let _ = writeln!(self.out, "{text}");
    }

    /// Writes text to the output as it is.
    pub fn raw(&mut self, text: &str) {
        let _ = self.out.write_all(text.as_bytes());
    }

    /// Writes a paragraph, broken to fit, each line after the first begun with `indent` blanks.
    pub fn paragraph(&mut self, text: &str, indent: usize) {
        let wrapped = wrap(text, self.width, indent);
        self.line(&wrapped);
    }

    /// Says which files were written into a folder, each with what it is.
    pub(crate) fn files(&mut self, folder: &Path, names: &[String], about: impl Fn(&str) -> &'static str) {
        let heading = self.toned(Tone::Heading, &format!("Written into {}", folder.display()));
        self.line("");
        self.line(&heading);
        let long = names.iter().map(String::len).max().unwrap_or_default();
        for name in names {
            self.paragraph(&format!("  {name:<long$}  {}", about(name)), long + 4);
        }
    }

    /// Shows at once what was written so far.
    pub(crate) fn flush(&mut self) {
        let _ = self.out.flush();
    }

    /// Writes a line to standard error.
    pub fn complain(&mut self, text: &str) {
        let _ = writeln!(self.err, "{text}");
    }

    /// Shows how far a long piece of work has got, on a terminal only; with all of it done the line is taken away.
    pub(crate) fn progress(&mut self, done: usize, all: usize) {
        if !self.watched {
            return;
        }
        let bar = |done: usize| "#".repeat((done * BAR).checked_div(all).unwrap_or(BAR));
        let shown = if done < all {
            format!("\r[{:<BAR$}] {done} of {all}", bar(done))
        } else {
            "\r\x1b[2K".to_owned()
        };
        let _ = self.err.write_all(shown.as_bytes());
        let _ = self.err.flush();
    }

    /// `text` in a tone, where there is colour.
    #[must_use]
    pub(crate) fn toned(&self, tone: Tone, text: &str) -> String {
        if !self.colour {
            return text.to_owned();
        }
        let code = match tone {
            Tone::Heading => "1",
            Tone::Bad => "1;91",
            Tone::Good => "1;92",
            Tone::Quiet => "2",
        };
        format!("\x1b[{code}m{text}\x1b[0m")
    }
}

/// `text` broken at blanks into lines of at most `width` columns, each after the first begun with `indent` blanks.
/// Line ends in `text` stay, and so do several blanks in a row where the line is not broken; a word longer than a line
/// stays whole.
#[must_use]
pub(crate) fn wrap(text: &str, width: usize, indent: usize) -> String {
    let mut wrapped = String::with_capacity(text.len() + text.len() / 16);
    for (k, line) in text.lines().enumerate() {
        let mut column = 0;
        if k > 0 {
            begin_line(&mut wrapped, indent);
            column = indent;
        }
        let mut first = true;
        let mut rest = line;
        while !rest.is_empty() {
            let blanks = rest.len() - rest.trim_start().len();
            let (gap, after) = rest.split_at(blanks);
            let (word, after) = after.split_at(after.find(char::is_whitespace).unwrap_or(after.len()));
            rest = after;
            if word.is_empty() {
                break;
            }
            let long = columns(word);
            if !first && column + blanks + long > width {
                begin_line(&mut wrapped, indent);
                column = indent;
            } else {
                wrapped.push_str(gap);
                column += blanks;
            }
            wrapped.push_str(word);
            column += long;
            first = false;
        }
    }
    wrapped
}

fn begin_line(text: &mut String, indent: usize) {
    text.push('\n');
    text.extend(std::iter::repeat_n(' ', indent));
}

/// Columns that `word` takes: its letters, without the codes that colour it.
fn columns(word: &str) -> usize {
    let mut in_code = false;
    word.chars()
        .filter(|&letter| {
            let shown = !in_code && letter != '\x1b';
            in_code = if in_code { letter != 'm' } else { letter == '\x1b' };
            shown
        })
        .count()
}

#[cfg(test)]
mod tests {
    use super::wrap;

    #[test]
    fn text_is_broken_at_blanks() {
        assert_eq!(wrap("the arc did not come", 12, 2), "the arc did\n  not come");
        assert_eq!(wrap("  keep the lead", 9, 2), "  keep\n  the\n  lead");
        assert_eq!(wrap("one\ntwo", 9, 1), "one\n two");
        assert_eq!(wrap("unbreakable", 4, 2), "unbreakable");
        assert_eq!(wrap("", 4, 2), "");
        assert_eq!(wrap("a    b c", 8, 2), "a    b c");
        assert_eq!(wrap("a    b c", 7, 2), "a    b\n  c");
        assert_eq!(wrap("\x1b[1mab\x1b[0m cd ", 5, 2), "\x1b[1mab\x1b[0m cd");
    }
}
