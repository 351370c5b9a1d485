//! What has been made of one cut.

use super::progress::{Depth, Made};
use crate::Cut;
use std::ops::Range;

/// Stretches of a path that come this near to each other, in millimetres, are one: what is left between is far less
/// than the arc is wide.
const JOIN_MM: f64 = 0.05;

/// Stretches of one cut that have been made, sorted and apart from each other.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Cover {
    /// Made at any depth, however far off the ends may be.
    any: Vec<Range<f64>>,
    /// Surely made, at any depth.
    sure: Vec<Range<f64>>,
    /// Made through.
    through: Vec<Range<f64>>,
    /// Parted: made through, or gone over by a stretch that is.
    parted: Vec<Range<f64>>,
}

impl Cover {
    /// Adds a stretch of `cut`: what is surely made as deep as it is, what may be made besides as a groove.
    pub(crate) fn add(&mut self, cut: &Cut, made: &Made) {
        merge(&mut self.any, &made.at_most_mm(cut.path.length_mm()));
        let Some(sure) = made.surely_mm() else { return };
        merge(&mut self.sure, &sure);
        if made.depth == Depth::Through {
            merge(&mut self.through, &sure);
            merge(&mut self.parted, &sure);
        }
    }

    /// Another stretch, made through, runs over this one.
    pub(crate) fn gone_over(&mut self, stretch: &Range<f64>) {
        merge(&mut self.parted, stretch);
    }

    pub(crate) fn at(&self, depth: Depth) -> &[Range<f64>] {
        match depth {
            Depth::Groove => &self.any,
            Depth::Through => &self.through,
        }
    }

    pub(crate) fn is_dry(&self) -> bool {
        self.any.is_empty()
    }

    /// Whether all of `cut` is made, through unless it only marks.
    pub(crate) fn is_whole(&self, cut: &Cut) -> bool {
        let made = if cut.is_mark { &self.sure } else { &self.through };
        holds(made, &(0.0..cut.path.length_mm()))
    }

    /// Whether the plate is parted along a stretch.
    pub(crate) fn is_parted(&self, stretch: &Range<f64>) -> bool {
        holds(&self.parted, stretch)
    }

    pub(crate) fn depth_at(&self, along_mm: f64) -> Option<Depth> {
        let holds = |depth| self.at(depth).iter().any(|made| made.start <= along_mm && along_mm <= made.end);
        [Depth::Through, Depth::Groove].into_iter().find(|depth| holds(*depth))
    }

    /// Whether its pierce has left a crater.
    pub(crate) fn has_crater(&self) -> bool {
        self.any.first().is_some_and(|made| made.start <= 0.0)
    }
}

/// Whether a sorted list of stretches that lie apart holds a stretch, but for what [`JOIN_MM`] leaves at its ends.
fn holds(made: &[Range<f64>], stretch: &Range<f64>) -> bool {
    let after = made.partition_point(|made| made.start <= stretch.start + JOIN_MM);
    after > 0 && stretch.end - JOIN_MM <= made[after - 1].end
}

/// Adds a stretch to a sorted list of stretches that lie apart.
fn merge(into: &mut Vec<Range<f64>>, new: &Range<f64>) {
    let first = into.partition_point(|made| made.end + JOIN_MM < new.start);
    let last = into.partition_point(|made| made.start <= new.end + JOIN_MM);
    if first >= last {
        into.insert(first, new.clone());
        return;
    }
    let joined = into[first].start.min(new.start)..into[last - 1].end.max(new.end);
    into.splice(first..last, [joined]);
}

/// What of `0..length_mm` a sorted list of stretches leaves, without crumbs shorter than [`JOIN_MM`].
pub(crate) fn left(made: &[Range<f64>], length_mm: f64) -> Vec<Range<f64>> {
    let ends = std::iter::once(0.0).chain(made.iter().map(|made| made.end));
    let starts = made.iter().map(|made| made.start).chain([length_mm]);
    ends.zip(starts).filter(|(from, to)| to - from > JOIN_MM).map(|(from, to)| from..to).collect()
}
