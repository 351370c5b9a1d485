//! Where the torch is slower than the program wants it.

use crate::event::Log;
use crate::motion::{Run, Slowed};
use crate::steps::wanted_feed;
use cuts::{CutId, CutList};
use nc::Motions;

/// Below this share of the wanted speed the torch is slow: the kerf widens, and a height control that steers by the
/// arc's voltage should be held (common practice: 80 to 95 %).
pub const SLOW_SHARE: f64 = 0.8;

/// A cut with a stretch over which the torch is slow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SlowCut {
    /// The cut.
    pub cut: CutId,
    /// Its longest slow stretch, in millimetres.
    pub longest_mm: f64,
    /// The motion in which that stretch begins.
    pub motion: u32,
    /// Lowest speed in that stretch, in millimetres a minute.
    pub lowest_mm_per_min: f64,
    /// The speed wanted there.
    pub wanted_mm_per_min: f64,
    /// What holds the torch back there most.
    pub why: Slowed,
    /// All slow stretches of the cut together, in millimetres.
    pub all_mm: f64,
}

/// A cut in which blocks are so short that the control cannot read them fast enough.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StarvedCut {
    /// The cut.
    pub cut: CutId,
    /// The first motion that starves.
    pub motion: u32,
    /// How many do.
    pub motions: u32,
    /// Over what length together, in millimetres.
    pub length_mm: f64,
    /// Lowest speed, in millimetres a minute.
    pub lowest_mm_per_min: f64,
    /// The speed wanted there.
    pub wanted_mm_per_min: f64,
}

/// Cuts with slow stretches, and cuts that starve. That a cut begins and ends at rest does not count.
pub(super) fn find(motions: &Motions, list: &CutList, log: &Log) -> (Vec<SlowCut>, Vec<StarvedCut>) {
    let (mut slow, mut starved) = (Vec::new(), Vec::new());
    for cut in &list.cuts {
        let mut look = Look {
            cut: cut.id,
            slow: None,
            starved: None,
            open: None,
            most_mm: 0.0,
            begins: true,
            ends: false,
        };
        let last = cut.path_motions.len().saturating_sub(1);
        for (k, motion) in cut.path_motions.iter().enumerate() {
            (look.begins, look.ends) = (k == 0, k == last);
            let run = log.motions.get(*motion as usize).and_then(|motion| motion.run);
            let wanted = wanted_feed(motions, *motion as usize);
            if let (Some(run), Some(wanted)) = (run, wanted) {
                look.at(*motion, &run, wanted);
            }
        }
        look.close();
        slow.extend(look.slow);
        starved.extend(look.starved);
    }
    (slow, starved)
}

struct Look {
    cut: CutId,
    slow: Option<SlowCut>,
    starved: Option<StarvedCut>,
    /// The slow stretch that reaches to where the look is.
    open: Option<SlowCut>,
    /// Its longest piece, in millimetres.
    most_mm: f64,
    /// Whether the motion is the cut's first, which begins at rest whatever the table can do.
    begins: bool,
    /// Whether it is the last, which ends at rest.
    ends: bool,
}

impl Look {
    fn at(&mut self, motion: u32, run: &Run, wanted: f64) {
        self.starves(motion, run, wanted);
        let limit = SLOW_SHARE * wanted;
        // A short first or last motion that is slow because the cut begins and ends at rest.
        if run.top_mm_per_s < limit && run.slowed == Slowed::Short && (self.begins || self.ends) {
            return;
        }
        if run.top_mm_per_s < limit {
            self.grows(motion, wanted, run.slowed, (run.length_mm, run.top_mm_per_s));
            return;
        }
        // Until it is fast, and from where it brakes. Source: v² = v₀² + 2 a s.
        let slow_mm = |end: f64| {
            let mm = (limit * limit - end * end).max(0.0) / (2.0 * run.acceleration_mm_per_s2);
            if run.acceleration_mm_per_s2.is_finite() { mm.min(run.length_mm) } else { 0.0 }
        };
        let (first_mm, last_mm) = (slow_mm(run.entry_mm_per_s), slow_mm(run.exit_mm_per_s));
        if first_mm > 0.0 && !self.begins {
            self.grows(motion, wanted, Slowed::Short, (first_mm, run.entry_mm_per_s));
        }
        self.close();
        if last_mm > 0.0 && !self.ends {
            self.grows(motion, wanted, Slowed::Short, (last_mm, run.exit_mm_per_s));
        }
    }

    /// The open stretch gets longer by so many millimetres, with this lowest speed in a second. What holds the torch
    /// back over most of it counts.
    fn grows(&mut self, motion: u32, wanted: f64, why: Slowed, (mm, lowest_mm_per_s): (f64, f64)) {
        let new = SlowCut {
            cut: self.cut,
            longest_mm: 0.0,
            motion,
            lowest_mm_per_min: f64::INFINITY,
            wanted_mm_per_min: wanted * 60.0,
            why,
            all_mm: 0.0,
        };
        let open = self.open.get_or_insert(new);
        open.longest_mm += mm;
        open.lowest_mm_per_min = open.lowest_mm_per_min.min(lowest_mm_per_s * 60.0);
        if mm > self.most_mm {
            (self.most_mm, open.why) = (mm, why);
        }
    }

    /// The slow stretch ends here.
    fn close(&mut self) {
        self.most_mm = 0.0;
        let Some(open) = self.open.take() else { return };
        let all_mm = self.slow.map_or(0.0, |slow| slow.all_mm) + open.longest_mm;
        let longest = match self.slow {
            Some(slow) if slow.longest_mm >= open.longest_mm => slow,
            _ => open,
        };
        self.slow = Some(SlowCut { all_mm, ..longest });
    }

    fn starves(&mut self, motion: u32, run: &Run, wanted: f64) {
        if run.slowed != Slowed::Blocks || run.top_mm_per_s >= SLOW_SHARE * wanted {
            return;
        }
        let new = StarvedCut {
            cut: self.cut,
            motion,
            motions: 0,
            length_mm: 0.0,
            lowest_mm_per_min: f64::INFINITY,
            wanted_mm_per_min: wanted * 60.0,
        };
        let starved = self.starved.get_or_insert(new);
        starved.motions += 1;
        starved.length_mm += run.length_mm;
        starved.lowest_mm_per_min = starved.lowest_mm_per_min.min(run.top_mm_per_s * 60.0);
    }
}
