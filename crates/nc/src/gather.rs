//! Reading a block's words before anything of it is carried out: expressions are worked out, codes looked up, parameters
//! set last (NISTIR 6556, 3.3.2.3, 3.3.3 and 3.3.5).

use crate::codes::{Act, group};
use crate::expression;
use crate::interpreter::{Run, tenths};
use crate::parameters;
use crate::program::{Word, WordKind, flag};
use crate::value::Value;
use crate::words::bit;

/// Largest number a word may have: a thousand kilometres, in millimetres. Larger ones are slips, and squares of what
/// is smaller stay finite.
pub(crate) const NUMBER_MOST: f64 = 1e9;

/// Most M words of a block (NISTIR 6556, 3.3.5).
const M_WORDS_MOST: usize = 4;

impl Run<'_> {
    pub(crate) fn gather(&mut self) {
        self.words.clear();
        self.axes_taken = false;
        let program = self.program;
        self.left_out = program.blocks()[self.here].has(flag::FAULTY);
        for word in program.words(self.here) {
            let number = match word.kind {
                WordKind::Plain => word.number(),
                WordKind::Computed => match self.computed(word) {
                    Some(number) => number,
                    None => continue,
                },
                WordKind::Setting => {
                    self.setting(word);
                    continue;
                }
            };
            let letter = bit(word.letter);
            if letter & self.codes.letters != 0 {
                self.code(word, number);
            } else if self.words.has(letter) || number.abs() > NUMBER_MOST {
                self.word_fault(word, number);
            } else {
                self.words.put(word.letter, number);
            }
        }
        if program.blocks()[self.here].has(flag::EVALUATED) {
            self.settings_act();
        }
        if self.dialect.strict {
            self.check_counts();
        }
    }

    /// What the standard says of the number of codes in a block (NISTIR 6556, 3.3.5 and table 4).
    fn check_counts(&mut self) {
        let words = self.program.words(self.here);
        let m_words = words.iter().filter(|word| word.letter == b'M').count();
        if m_words > M_WORDS_MOST {
            self.report.error(
                "words-too-many",
                self.block_span(),
                || format!("the block has {m_words} M words; the standard allows {M_WORDS_MOST}"),
                "spread them over several blocks",
            );
        }
        let group_0 = 1 << group::NON_MODAL | 1 << group::DWELL;
        if self.words.groups & group_0 == group_0 {
            self.report.error(
                "codes-clash",
                self.block_span(),
                || "the dwell belongs to the same group as another code of the block".into(),
                "put it into a block of its own (NISTIR 6556, table 4)",
            );
        }
    }

    #[inline]
    fn code(&mut self, word: &Word, number: f64) {
        let entry = tenths(number).map(|tenths| self.codes.look_up(word.letter, tenths));
        let Some(entry) = entry.filter(|entry| entry.act != Act::Unknown) else {
            self.report_unknown_code(word, number);
            return;
        };
        if entry.group == group::FREE {
            return;
        }
        if self.words.act(entry.group).is_some() {
            self.report_clash(word);
            return;
        }
        self.words.put_act(entry.group, entry.act);
    }

    /// The number of a computed word; none if it goes without, or is a Z that has been put already.
    #[cold]
    fn computed(&mut self, word: &Word) -> Option<f64> {
        let value = self.evaluate(word.ops(), word);
        if let Some(trail) = &mut self.trail {
            trail.computes(value);
        }
        let Some(value) = value else {
            self.left_out = true;
            return None;
        };
        if value.is_known() {
            return Some(value.number);
        }
        self.left_out |= word.letter != b'Z';
        match word.letter {
            b'Z' if !self.words.has(bit(b'Z')) => self.words.put_z(value),
            b'X' | b'Y' | b'I' | b'J' | b'R' => self.report.error(
                "xy-from-probe",
                self.word_span(word),
                || format!("{} depends on where a probe found the plate", char::from(word.letter)),
                "X and Y must be known before the program runs; the word was left out",
            ),
            _ => self.report.error(
                "value-from-probe",
                self.word_span(word),
                || {
                    format!(
                        "the number after {} depends on where a probe found the plate",
                        char::from(word.letter)
                    )
                },
                "only Z may depend on a probe; the word was left out",
            ),
        }
        None
    }

    #[cold]
    fn setting(&mut self, word: &Word) {
        let (index, value) = word.setting_ops();
        let Some(index) = self.evaluate(index, word) else { return };
        let Some(value) = self.evaluate(value, word) else { return };
        match parameters::place(index) {
            Ok(place) => self.words.settings.push((place, value)),
            Err(fault) => self.report_fault(word, fault),
        }
    }

    fn evaluate(&mut self, ops: usize, word: &Word) -> Option<Value> {
        let value = expression::evaluate(self.program.ops(), ops, &mut self.parameters, &mut self.stack);
        if let Some(unset) = self.parameters.take_unset_read() {
            self.report.warning(
                "parameter-unset",
                self.word_span(word),
                || format!("parameter #{unset} is read before the program has set it"),
                "set it in the program, so that the run does not depend on what the control holds",
            );
        }
        match value {
            Ok(value) => Some(value),
            Err(fault) => {
                self.report_fault(word, fault);
                None
            }
        }
    }

    #[cold]
    fn settings_act(&mut self) {
        for (place, value) in std::mem::take(&mut self.words.settings) {
            if let Some(trail) = &mut self.trail {
                trail.sets(place, value);
            }
            self.parameters.set(place, value);
            self.datum.parameter_set(place, value, self.scale);
        }
    }
}
