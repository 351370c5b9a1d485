//! The words of one block, read and sorted before anything of it is carried out (NISTIR 6556, 3.3.2.3).

use crate::codes::{Act, group};
use crate::value::Value;

/// The words of the block that is being run.
#[derive(Debug)]
pub(crate) struct Words {
    /// One bit a letter that stands in the block, codes left out.
    pub(crate) present: u32,
    /// One bit a modal group of which a code stands in the block.
    pub(crate) groups: u32,
    numbers: [f64; 26],
    /// How much Z depends on the plate's top; no other word may.
    z_top: f64,
    acts: [Act; group::COUNT],
    /// Parameter settings, which act after all reads.
    pub(crate) settings: Vec<(usize, Value)>,
}

/// The bit of `letter`, which must be upper case.
pub(crate) const fn bit(letter: u8) -> u32 {
    1 << (letter - b'A')
}

impl Words {
    pub(crate) fn new() -> Self {
        Self {
            present: 0,
            groups: 0,
            numbers: [0.0; 26],
            z_top: 0.0,
            acts: [Act::NoBearing; group::COUNT],
            settings: Vec::new(),
        }
    }

    #[inline]
    pub(crate) fn clear(&mut self) {
        self.present = 0;
        self.groups = 0;
        self.z_top = 0.0;
    }

    #[inline]
    pub(crate) fn put(&mut self, letter: u8, number: f64) {
        self.numbers[(letter - b'A') as usize] = number;
        self.present |= bit(letter);
    }

    pub(crate) fn put_z(&mut self, value: Value) {
        self.put(b'Z', value.number);
        self.z_top = value.top;
    }

    #[inline]
    pub(crate) fn put_act(&mut self, group: u8, act: Act) {
        self.acts[group as usize] = act;
        self.groups |= 1 << group;
    }

    #[inline]
    pub(crate) fn has(&self, letters: u32) -> bool {
        self.present & letters != 0
    }

    /// The number of the word with `letter`, if it stands in the block.
    #[inline]
    pub(crate) fn get(&self, letter: u8) -> Option<f64> {
        let known = letter.is_ascii_uppercase() && self.has(bit(letter));
        known.then(|| self.numbers[(letter - b'A') as usize])
    }

    pub(crate) fn z(&self) -> Option<Value> {
        self.get(b'Z').map(|number| Value { number, top: self.z_top })
    }

    #[inline]
    pub(crate) fn act(&self, group: u8) -> Option<Act> {
        (self.groups >> group & 1 != 0).then(|| self.acts[group as usize])
    }
}
