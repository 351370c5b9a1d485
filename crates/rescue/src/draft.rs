//! A program being written, line by line, each line with where it comes from, so that it can be laid beside the
//! original afterwards.

use crate::RanCut;
use cuts::CutId;
use nc::Program;

/// Where a written line comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum From {
    /// Word for word from this line of the original, from 1.
    Kept(u32),
    /// Written anew.
    Own,
}

/// A program being written.
#[derive(Clone, Debug)]
pub(crate) struct Draft<'a> {
    original: &'a Program,
    line_end: &'static [u8],
    text: Vec<u8>,
    lines: Vec<From>,
    /// Where each line begins in `text`.
    starts: Vec<usize>,
    cuts: Vec<RanCut>,
}

impl<'a> Draft<'a> {
    /// An empty draft in the line ends of `original`.
    pub(crate) fn new(original: &'a Program) -> Self {
        let text = original.text();
        let first_end = text.iter().position(|byte| matches!(byte, b'\n' | b'\r'));
        let line_end: &[u8] = match first_end.map(|at| &text[at..]) {
            Some([b'\r', b'\n', ..]) => b"\r\n",
            Some([b'\r', ..]) => b"\r",
            _ => b"\n",
        };
        // What a restart adds is little beside what it keeps; what is reserved and not used takes no memory.
        let (bytes, lines) = (text.len() + text.len() / 8, original.blocks().len());
        Self {
            original,
            line_end,
            text: Vec::with_capacity(bytes),
            lines: Vec::with_capacity(lines + lines / 8),
            starts: Vec::with_capacity(lines + lines / 8),
            cuts: Vec::new(),
        }
    }

    /// Writes lines of its own.
    pub(crate) fn own(&mut self, lines: &str) {
        for line in lines.lines() {
            self.push(line.as_bytes(), From::Own);
        }
    }

    /// Writes one line of its own, of any bytes.
    pub(crate) fn own_bytes(&mut self, line: &[u8]) {
        self.push(line, From::Own);
    }

    /// Keeps blocks `from..to` of the original word for word.
    pub(crate) fn keep(&mut self, from: u32, to: u32) {
        let original = self.original;
        for block in from..to {
            let span = original.blocks()[block as usize].span;
            self.push(&original.text()[span.range()], From::Kept(block + 1));
        }
    }

    /// Says that the next lines belong to `cut`.
    pub(crate) fn begin_cut(&mut self, cut: CutId) {
        let next = self.next_line();
        self.end_cut();
        self.cuts.push(RanCut { cut, lines: next..u32::MAX, join: None });
    }

    /// Says that the next lines belong to no cut.
    pub(crate) fn end_cut(&mut self) {
        let next = self.next_line();
        if let Some(open) = self.cuts.last_mut().filter(|last| last.lines.end == u32::MAX) {
            open.lines.end = next;
        }
    }

    fn push(&mut self, line: &[u8], from: From) {
        self.starts.push(self.text.len());
        self.text.extend_from_slice(line);
        self.text.extend_from_slice(self.line_end);
        self.lines.push(from);
    }

    /// Number of the line that is written next, from 1.
    pub(crate) fn next_line(&self) -> u32 {
        u32::try_from(self.lines.len()).unwrap_or(u32::MAX - 2) + 1
    }

    /// The text, where its lines come from, and the lines of its cuts.
    pub(crate) fn finish(mut self) -> Written {
        self.end_cut();
        Written { text: self.text, lines: self.lines, starts: self.starts, cuts: self.cuts }
    }
}

/// A program written.
#[derive(Clone, Debug)]
pub(crate) struct Written {
    pub(crate) text: Vec<u8>,
    pub(crate) lines: Vec<From>,
    starts: Vec<usize>,
    pub(crate) cuts: Vec<RanCut>,
}

impl Written {
    /// The text of line `k`, counted from 0, without its end.
    pub(crate) fn line(&self, k: usize) -> &[u8] {
        let from = self.starts.get(k).copied().unwrap_or(self.text.len());
        let line = &self.text[from..self.starts.get(k + 1).copied().unwrap_or(self.text.len())];
        let line = line.strip_suffix(b"\n").unwrap_or(line);
        line.strip_suffix(b"\r").unwrap_or(line)
    }
}
