//! Modal states, each kept once.

use crate::{Modal, ModalId, MotionKind};
use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hasher};

/// The modal states met so far, each once.
///
/// Motion modes change at nearly every block, other values seldom: the states that differ from the present one only
/// in their motion mode are remembered by it.
#[derive(Debug, Default)]
pub(crate) struct States {
    modals: Vec<Modal>,
    by_hash: HashMap<u64, u32, BuildHasherDefault<Ready>>,
    by_motion: [Option<ModalId>; MOTIONS],
}

/// Motion kinds, and none.
const MOTIONS: usize = 7;

impl States {
    /// A value other than the motion mode has changed.
    pub(crate) fn touch(&mut self) {
        self.by_motion = [None; MOTIONS];
    }

    /// The number of state `modal`, which is the present one.
    #[inline]
    pub(crate) fn id(&mut self, modal: &Modal) -> ModalId {
        let slot = modal.motion.map_or(MOTIONS - 1, |kind| kind as usize);
        match self.by_motion[slot] {
            Some(id) => id,
            None => self.find(modal, slot),
        }
    }

    pub(crate) fn finish(self) -> Vec<Modal> {
        self.modals
    }

    fn find(&mut self, modal: &Modal, slot: usize) -> ModalId {
        let hash = hash(modal);
        let known = self.by_hash.get(&hash).copied().filter(|k| self.modals[*k as usize] == *modal);
        let id = ModalId(known.unwrap_or_else(|| {
            let id = u32::try_from(self.modals.len()).unwrap_or(u32::MAX);
            self.modals.push(*modal);
            self.by_hash.insert(hash, id);
            id
        }));
        self.by_motion[slot] = Some(id);
        id
    }
}

/// A hash that is the number itself.
#[derive(Default)]
pub(crate) struct Ready(u64);

impl Hasher for Ready {
    fn finish(&self) -> u64 {
        self.0
    }
    fn write(&mut self, _: &[u8]) {
        debug_assert!(false, "only u64 is hashed");
    }
    fn write_u64(&mut self, hash: u64) {
        self.0 = hash;
    }
}

fn hash(modal: &Modal) -> u64 {
    let comp = match modal.comp {
        crate::Comp::Off => 0,
        crate::Comp::Left(radius) => radius.to_bits().rotate_left(1) ^ 1,
        crate::Comp::Right(radius) => radius.to_bits().rotate_left(2) ^ 2,
    };
    let known = modal.known;
    let flags = [
        modal.torch,
        modal.height_control,
        known.units,
        known.distance,
        known.plane,
        known.comp,
        known.arc_centers,
        known.feed,
        known.motion,
        known.feed_mode,
        known.x,
        known.y,
    ];
    let flags = flags.iter().fold(0_u64, |bits, flag| bits << 1 | u64::from(*flag));
    let small = [
        modal.units as u64,
        modal.distance as u64,
        modal.arc_centers as u64,
        modal.motion.map_or(9, |kind: MotionKind| kind as u64),
        u64::from(modal.system),
        flags,
    ];
    let small = small.iter().fold(0_u64, |bits, value| bits << 12 ^ *value);
    let numbers = [
        small,
        comp,
        modal.feed_mm_per_min.map_or(1, f64::to_bits),
        modal.shift_mm[0].to_bits(),
        modal.shift_mm[1].to_bits(),
        modal.process.map_or(u64::MAX, u64::from),
    ];
    numbers.iter().fold(0x9e37_79b9_7f4a_7c15, |hash: u64, number| {
        let mixed = (hash ^ number).wrapping_mul(0xff51_afd7_ed55_8ccd);
        mixed ^ mixed >> 32
    })
}
