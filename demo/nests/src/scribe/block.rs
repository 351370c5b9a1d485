//! The words of a block, and the dress in which it is written.

use crate::Random;
use crate::manner::Dress;

/// Words of one block, each a letter and what follows it, or a setting of a parameter.
#[derive(Clone, Debug, Default)]
pub(super) struct Block {
    words: Vec<String>,
}

impl Block {
    pub(super) fn of(word: &str) -> Self {
        Self { words: vec![word.into()] }
    }

    pub(super) fn and(mut self, word: &str) -> Self {
        self.push(word);
        self
    }

    pub(super) fn push(&mut self, word: &str) {
        self.words.push(word.into());
    }

    pub(super) fn is_only(&self, words: &[&str]) -> bool {
        self.words.iter().map(String::as_str).eq(words.iter().copied())
    }

    /// Takes X and Y out again.
    pub(super) fn drop_places(&mut self) {
        self.words.retain(|word| !word.starts_with(['X', 'Y']));
    }
}

/// The block as a line, in the dress of the manner. Only what NISTIR 6556 says makes no difference is touched:
/// order of words (3.3.6), case and blanks (3.3), line numbers (3.3.1).
pub(super) fn dressed(block: Block, number: Option<u32>, dress: &Dress, random: &mut Random) -> String {
    let mut words = block.words;
    if dress.any_order {
        random.shuffle(&mut words);
    }
    if let Some(number) = number {
        words.insert(0, format!("N{number}"));
    }
    let mut line = words.join(if dress.no_blanks { "" } else { " " });
    if dress.lower_case {
        line.make_ascii_lowercase();
    }
    if dress.odd_blanks {
        line = with_odd_blanks(&line, random);
    }
    line
}

/// Blanks and tabs wherever they may stand.
fn with_odd_blanks(line: &str, random: &mut Random) -> String {
    let mut out = String::with_capacity(2 * line.len());
    for letter in line.chars() {
        if letter != ' ' || random.chance(0.3) {
            out.push(letter);
        }
        if random.chance(0.1) {
            out.push(random.one_of(&[' ', '\t']));
        }
    }
    out
}
