//! In which order a program's blocks ran, and what its computed words came to: what is needed to write a program out
//! flat, without calls and expressions.

use crate::compile::Compiler;
use crate::program::{Word, WordKind};
use crate::value::Value;
use crate::{CallId, Dialect, Motions, Program, Start, number};
use finding::Span;

/// One running of a block.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ran {
    /// Its index.
    pub block: u32,
    /// The calls that led to it.
    pub call: CallId,
    /// How many events had happened before it.
    pub event: u32,
    /// Its first value in [`Trail::values`].
    values: u32,
}

/// The runnings of all blocks in order.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Trail {
    ran: Vec<Ran>,
    values: Vec<Option<f64>>,
    settings: Vec<Setting>,
}

/// A parameter that was set.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Setting {
    /// By which running, an index.
    by: u32,
    place: u32,
    value: Option<f64>,
}

impl Trail {
    /// Runs the program as [`Motions::run`] does, and keeps which blocks ran. Blocks without words are in it; those
    /// that are skipped are not.
    #[must_use]
    pub fn of(program: &Program, dialect: &Dialect, start: &Start) -> Self {
        crate::interpreter::trail(program, dialect, start, Motions::MOST)
    }

    /// The runnings in order.
    #[must_use]
    pub fn ran(&self) -> &[Ran] {
        &self.ran
    }

    /// What the computed words of running `k` came to, in the order of the words: numbers in the program's units;
    /// none where one hangs on a probe or could not be worked out.
    #[must_use]
    pub fn values(&self, k: usize) -> &[Option<f64>] {
        let end = self.ran.get(k + 1).map_or(self.values.len(), |next| next.values as usize);
        self.ran.get(k).map_or(&[], |ran| &self.values[ran.values as usize..end])
    }

    /// The parameters that the program had set before running `k`, by rising number, each with its value: none where
    /// it hangs on a probe.
    #[must_use]
    pub fn parameters_before(&self, k: usize) -> Vec<(u32, Option<f64>)> {
        let before = self.settings.iter().take_while(|setting| (setting.by as usize) < k);
        let all: std::collections::BTreeMap<u32, Option<f64>> =
            before.map(|setting| (setting.place, setting.value)).collect();
        all.into_iter().collect()
    }

    pub(crate) fn runs(&mut self, block: usize, call: CallId, events: usize) {
        let values = narrow(self.values.len());
        self.ran.push(Ran { block: narrow(block), call, event: narrow(events), values });
    }

    pub(crate) fn computes(&mut self, value: Option<Value>) {
        self.values.push(value.and_then(known));
    }

    pub(crate) fn sets(&mut self, place: usize, value: Value) {
        let by = narrow(self.ran.len()).saturating_sub(1);
        self.settings.push(Setting { by, place: narrow(place), value: known(value) });
    }
}

fn known(value: Value) -> Option<f64> {
    value.is_known().then_some(value.number)
}

fn narrow(k: usize) -> u32 {
    u32::try_from(k).unwrap_or(u32::MAX)
}

/// What stands after a word's letter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum WordIs {
    /// This number.
    Plain(f64),
    /// An expression, a function, or a parameter's value.
    Computed,
    /// It is no word but the setting of a parameter, `#… = …`.
    Setting,
}

/// A word of a block.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WordText {
    /// Its letter in upper case; `#` for the setting of a parameter.
    pub letter: u8,
    /// All of it, letter included.
    pub span: Span,
    /// What stands after the letter.
    pub is: WordIs,
}

impl Program {
    /// The words of block `block` in the order of the text, line number and unreadable words left out.
    pub fn words_of(&self, block: u32) -> impl Iterator<Item = WordText> + '_ {
        let words = self.blocks().get(block as usize).map_or(&[][..], |_| self.words(block as usize));
        words.iter().map(|word| WordText {
            letter: word.letter,
            span: Span::new(word.at, narrow(self.end_of(*word))),
            is: match word.kind {
                WordKind::Plain => WordIs::Plain(word.number()),
                WordKind::Computed => WordIs::Computed,
                WordKind::Setting => WordIs::Setting,
            },
        })
    }

    /// Letters and numbers of the words of block `block` in the order of the text, if all of them are plain; none if
    /// one is computed or sets a parameter. Quicker than [`Program::words_of`], which looks up where each word ends.
    #[must_use]
    pub fn plain_words(&self, block: u32) -> Option<impl Iterator<Item = (u8, f64)> + '_> {
        let words = self.blocks().get(block as usize).map_or(&[][..], |_| self.words(block as usize));
        let plain = words.iter().all(|word| word.kind == WordKind::Plain);
        plain.then(|| words.iter().map(|word| (word.letter, word.number())))
    }

    /// Where a word ends: words do not keep it, so its value is read over once more.
    fn end_of(&self, word: Word) -> usize {
        let text = self.text();
        let value = word.at as usize + 1;
        let mut ops = Vec::new();
        let mut after_value = |at: usize| {
            let mut compiler = Compiler::new(text, at, &mut ops, false);
            let read = compiler.real_value();
            compiler.peek();
            (read.is_ok(), compiler.at)
        };
        let end = match word.kind {
            WordKind::Plain => {
                let mut end = value;
                while matches!(text.get(end), Some(b' ' | b'\t')) {
                    end += 1;
                }
                number::read(text, &mut end);
                end
            }
            WordKind::Computed => after_value(value).1,
            WordKind::Setting => {
                let (_, equals) = after_value(value);
                after_value(equals + 1).1
            }
        };
        let blanks = text[..end].iter().rev().take_while(|byte| matches!(byte, b' ' | b'\t')).count();
        (end - blanks).max(value)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "%\nN1 G21 G90\n#1=[2*3] #[3+4] = 5\nG0 X[#1 + 1] Y 1 2.5 (to the place)\nM98 P7 L2\nM30\nO7\n\
                        #1=[#1+1]\nG91 G1 X#1 F100 ; on\nM99\n%\n";

    fn read() -> (Program, Dialect) {
        let dialect = Dialect::common();
        (Program::parse(TEXT.as_bytes(), &dialect).0, dialect)
    }

    fn words(program: &Program, block: u32) -> Vec<String> {
        let text = |word: WordText| String::from_utf8_lossy(&program.text()[word.span.range()]).into_owned();
        program.words_of(block).map(text).collect()
    }

    #[test]
    fn words_are_found_with_all_their_text() {
        let (program, _) = read();
        assert_eq!(words(&program, 1), ["G21", "G90"]);
        assert_eq!(words(&program, 2), ["#1=[2*3]", "#[3+4] = 5"]);
        assert_eq!(words(&program, 3), ["G0", "X[#1 + 1]", "Y 1 2.5"]);
        assert_eq!(words(&program, 8), ["G91", "G1", "X#1", "F100"]);
        assert_eq!(words(&program, 99), [] as [&str; 0]);
        let plain = |block: u32| program.plain_words(block).map(Iterator::collect::<Vec<_>>);
        assert_eq!(plain(1), Some(vec![(b'G', 21.0), (b'G', 90.0)]));
        assert_eq!(plain(0), Some(Vec::new()));
        assert_eq!((plain(2), plain(3), plain(8)), (None, None, None));
    }

    #[test]
    fn the_trail_follows_calls_and_keeps_values() {
        let (program, dialect) = read();
        let trail = Trail::of(&program, &dialect, &Start::usual(&dialect));
        let blocks: Vec<u32> = trail.ran().iter().map(|ran| ran.block).collect();
        assert_eq!(blocks, [0, 1, 2, 3, 4, 6, 7, 8, 9, 6, 7, 8, 9, 5]);
        assert_eq!(trail.values(3), [Some(7.0)]);
        let on_passes: Vec<_> =
            (0..blocks.len()).filter(|k| blocks[*k] == 8).map(|k| trail.values(k)).collect();
        assert_eq!(on_passes, [[Some(7.0)], [Some(8.0)]]);
        assert_eq!(trail.parameters_before(3), [(1, Some(6.0)), (7, Some(5.0))]);
        assert_eq!(trail.parameters_before(blocks.len()), [(1, Some(8.0)), (7, Some(5.0))]);
        assert_ne!(trail.ran()[5].call, trail.ran()[9].call, "each pass is a call of its own");
    }

    #[test]
    fn a_value_that_hangs_on_a_probe_is_not_told() {
        let dialect = Dialect::common();
        let (program, _) =
            Program::parse(&b"G21 G90\nG38.2 Z-30 F100\n#5=#5063\nG0 Z[#5+3]\nM2\n"[..], &dialect);
        let trail = Trail::of(&program, &dialect, &Start::usual(&dialect));
        assert_eq!(trail.values(3), [None]);
        assert_eq!(trail.parameters_before(4), [(5, None)]);
    }
}
