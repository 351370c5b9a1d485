//! The original, with what a proof reads off it: made once, however many texts are then held against it.
//!
//! Nothing here is of any text but the original's. What depends on the written text, on what it promises or on how the
//! plate lies is worked out anew for each proof.

use crate::laid::Laid;
use crate::legs::Legs;
use crate::points::effect::Idle;
use crate::points::starts::voids::Worst;
use crate::points::travel::{Safe, safe_as_the_original_goes};
use crate::reading::{found_before, has_letter, tells_its_datums};
use crate::view::View;
use cuts::{CutId, CutList};
use nc::{Dialect, Motions, Program};
use std::sync::OnceLock;
use std::sync::atomic::{AtomicUsize, Ordering};
use units::Length;

/// An original program as every proof of a text against it needs it.
///
/// Whoever makes several texts for one plate makes this once and proves them all by it: what a proof works out from the
/// original alone is then worked out once. Which text is proven first makes no difference to any proof.
#[derive(Debug)]
pub struct Original<'a> {
    /// The program's text and blocks.
    pub(crate) program: &'a Program,
    /// What it does from the usual start.
    pub(crate) motions: &'a Motions,
    /// Its cuts.
    pub(crate) list: &'a CutList,
    /// The words of the control.
    pub(crate) dialect: &'a Dialect,
    found_before: OnceLock<Vec<u32>>,
    legs: OnceLock<Legs>,
    has_z: OnceLock<bool>,
    safe: OnceLock<Safe>,
    idle: OnceLock<Idle>,
    tells_its_datums: OnceLock<bool>,
    laid: OnceLock<Laid>,
    /// By width of the kerf, for each cut: see [`Original::alone`].
    alone: OnceLock<Alone>,
    /// Whether several texts are proven against it.
    is_shared: bool,
    /// How many have taken their turn.
    turns: AtomicUsize,
}

/// How each cut burns where nothing else comes near it, for one width of the kerf.
#[derive(Debug)]
struct Alone {
    kerf: Length,
    cuts: Vec<OnceLock<Option<Worst>>>,
}

impl<'a> Original<'a> {
    /// The original `program` in the words of `dialect`, its motions from the usual start and its cuts.
    ///
    /// **Cost**: none yet; each thing is worked out when a proof first asks for it.
    #[must_use]
    pub fn new(program: &'a Program, motions: &'a Motions, list: &'a CutList, dialect: &'a Dialect) -> Self {
        Self {
            program,
            motions,
            list,
            dialect,
            found_before: OnceLock::new(),
            legs: OnceLock::new(),
            has_z: OnceLock::new(),
            safe: OnceLock::new(),
            idle: OnceLock::new(),
            tells_its_datums: OnceLock::new(),
            laid: OnceLock::new(),
            alone: OnceLock::new(),
            is_shared: true,
            turns: AtomicUsize::new(0),
        }
    }

    /// The same for a single proof.
    pub(crate) fn for_one_proof(self) -> Self {
        Self { is_shared: false, ..self }
    }

    /// Its motions before which the control finds the plate by itself, rising.
    pub(crate) fn found_before(&self) -> &[u32] {
        self.found_before.get_or_init(|| found_before(self.motions))
    }

    /// Its legs.
    pub(crate) fn legs(&self) -> &Legs {
        self.legs.get_or_init(|| Legs::of_original(&View::original(self)))
    }

    /// Whether it has a word for Z.
    pub(crate) fn has_z(&self) -> bool {
        *self.has_z.get_or_init(|| has_letter(self.program.text(), self.dialect, b'Z'))
    }

    /// What counts as safe to travel at where nobody has told.
    pub(crate) fn safe(&self) -> Safe {
        *self.safe.get_or_init(|| safe_as_the_original_goes(&View::original(self)))
    }

    /// Its words that are read over.
    pub(crate) fn idle(&self) -> &Idle {
        self.idle.get_or_init(|| Idle::of(self.dialect, &View::original(self)))
    }

    /// Whether it sets the origins of all coordinate systems that it goes over to.
    pub(crate) fn tells_its_datums(&self) -> bool {
        *self.tells_its_datums.get_or_init(|| tells_its_datums(self))
    }

    /// Where an earlier proof can leave, for the next, how `cut` burns over voids if it runs as in the original and no
    /// kerf but its own comes near. None inside if kerfs of other cuts do, so that it must be looked at each time.
    pub(crate) fn alone(&self, cut: CutId, kerf: Length) -> Option<&OnceLock<Option<Worst>>> {
        if !self.is_shared {
            return None;
        }
        let cuts = self.list.cuts.len();
        let alone =
            self.alone.get_or_init(|| Alone { kerf, cuts: (0..cuts).map(|_| OnceLock::new()).collect() });
        (alone.kerf == kerf).then(|| &alone.cuts[cut.0 as usize])
    }

    /// Every other time: true. Proofs that run side by side then begin at different ends.
    pub(crate) fn takes_turns(&self) -> bool {
        self.turns.fetch_add(1, Ordering::Relaxed) % 2 == 1
    }

    /// The centre lines of all that it burns.
    pub(crate) fn laid(&self) -> &Laid {
        self.laid.get_or_init(|| Laid::of(self))
    }
}
