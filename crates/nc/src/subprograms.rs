//! Where the subprograms of a text lie.

use crate::codes::{Act, Codes};
use crate::program::{Program, WordKind};

/// The subprograms of a text, by number.
#[derive(Debug, Default)]
pub(crate) struct Subprograms {
    all: Vec<Subprogram>,
    /// Places in `all`, sorted by number, then by place in the text.
    by_number: Vec<u32>,
}

#[derive(Clone, Copy, Debug)]
pub(crate) struct Subprogram {
    pub(crate) number: u32,
    /// The block it begins in.
    pub(crate) block: u32,
    /// The block after its return; none if no return stands before the next subprogram.
    pub(crate) after: Option<u32>,
    /// It is being run.
    pub(crate) running: bool,
}

impl Subprograms {
    pub(crate) fn of(program: &Program, codes: &Codes) -> Self {
        let labels: Vec<_> =
            program.labels().iter().filter(|label| !is_skipped(program, label.block)).collect();
        let blocks = program.blocks().len();
        let all: Vec<_> = labels
            .iter()
            .enumerate()
            .map(|(k, label)| {
                let end = labels.get(k + 1).map_or(blocks, |next| next.block as usize);
                let returns = (label.block as usize..end).find(|block| is_return(program, codes, *block));
                let after = returns.and_then(|block| u32::try_from(block + 1).ok());
                Subprogram { number: label.number, block: label.block, after, running: false }
            })
            .collect();
        let mut by_number: Vec<u32> = (0..).take(all.len()).collect();
        by_number.sort_by_key(|k| all[*k as usize].number);
        Self { all, by_number }
    }

    /// The first subprogram of this number.
    pub(crate) fn find(&self, number: u32) -> Option<usize> {
        let at = self.by_number.partition_point(|k| self.all[*k as usize].number < number);
        let k = *self.by_number.get(at)? as usize;
        (self.all[k].number == number).then_some(k)
    }

    /// The subprogram that begins in `block`.
    pub(crate) fn at(&self, block: usize) -> Option<usize> {
        self.all.binary_search_by_key(&block, |subprogram| subprogram.block as usize).ok()
    }

    pub(crate) fn get(&self, k: usize) -> Subprogram {
        self.all[k]
    }

    pub(crate) fn set_running(&mut self, k: usize, running: bool) {
        self.all[k].running = running;
    }

    /// Subprograms whose number another one had before, with that other.
    pub(crate) fn doubles(&self) -> impl Iterator<Item = (Subprogram, Subprogram)> + '_ {
        self.by_number.windows(2).filter_map(|pair| {
            let (first, second) = (self.all[pair[0] as usize], self.all[pair[1] as usize]);
            (first.number == second.number).then_some((first, second))
        })
    }

    /// Where the main program begins: past subprograms that stand before it. A text that consists of nothing but one
    /// of these is the main program itself.
    pub(crate) fn main_start(&self, program: &Program) -> MainStart {
        let mut block = 0;
        loop {
            let rest = program.blocks().get(block..).unwrap_or_default();
            let Some(first) = rest.iter().position(|block| !block.is_empty()) else {
                return MainStart { block: 0, label: self.all.first().map(|_| 0) };
            };
            match self.at(block + first).and_then(|k| self.all[k].after) {
                Some(after) => block = after as usize,
                None => return MainStart { block, label: None },
            }
        }
    }
}

/// Where the main program begins.
#[derive(Clone, Copy, Debug)]
pub(crate) struct MainStart {
    pub(crate) block: usize,
    /// The subprogram that is the main program.
    pub(crate) label: Option<usize>,
}

fn is_skipped(program: &Program, block: u32) -> bool {
    program.blocks()[block as usize].is_skipped()
}

fn is_return(program: &Program, codes: &Codes, block: usize) -> bool {
    !program.blocks()[block].is_skipped()
        && program.words(block).iter().any(|word| {
            word.kind == WordKind::Plain
                && crate::interpreter::tenths(word.number())
                    .is_some_and(|tenths| codes.look_up(word.letter, tenths).act == Act::Return)
        })
}
