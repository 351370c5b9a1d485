//! What a place is part of: scrap or a part, and whether the skeleton surely holds it.

use super::Site;
use cuts::{Contour, ContourId, CutId, Depth, Shape};
use geometry::{Point, Program, Side};
use shop::Clamp;
use std::ops::Range;
use units::Length;

/// Least length of a contour's boundary, in millimetres, that must surely be uncut for what it encloses to count as
/// held. As much as a hand jogs wrong by (common practice); less, and the bridge bends or burns through with the heat
/// of the next pierce.
const HELD_BY_MM: f64 = 3.0;

/// Share of its length by which a groove holds as uncut metal does. Assumed: where the floor of a groove is thinner than a
/// tenth of the plate, light shows through it, and whoever looks calls it through.
const GROOVE_HOLDS: f64 = 0.1;

impl Site<'_> {
    /// Whether `p` lies in scrap: in the plate around all parts, or in what will drop out of a hole.
    pub(super) fn is_scrap(&self, p: Point<Program>) -> bool {
        self.index.around(self.list, p).first().is_none_or(|id| self.list.contour(*id).shape == Shape::Hole)
    }

    /// Whether `p` lies on the plate, off the clamps, on metal that the skeleton surely holds.
    pub(super) fn is_attached(&self, p: Point<Program>) -> bool {
        self.is_on_plate(p) && self.index.around(self.list, p).iter().all(|id| !self.may_be_loose(*id))
    }

    fn is_on_plate(&self, p: Point<Program>) -> bool {
        let ground = self.ground;
        ground.plate.as_ref().map_or_else(
            || ground.surely_plate.is_none_or(|sure| sure.contains(p)),
            |plate| plate.side_of(p, 0.0) == Side::Inside,
        ) && ground.plate_holes.iter().all(|hole| hole.side_of(p, 0.0) == Side::Outside)
            && ground.clamps.iter().all(|clamp| !within(clamp, p))
    }

    /// Whether what a contour encloses may have come loose: too little of its boundary surely holds.
    pub(super) fn may_be_loose(&self, id: ContourId) -> bool {
        let contour = self.list.contour(id);
        let piece = self.state.piece(contour.repeats.unwrap_or(id));
        piece.is_some() || self.held_by_mm(contour) < HELD_BY_MM
    }

    /// Length of uncut metal that holds what a contour encloses, however far kerfs may reach; a groove counts by its
    /// share.
    fn held_by_mm(&self, contour: &Contour) -> f64 {
        let uncut_mm = self.left_mm(contour, |cut| self.state.made_mm(cut, Depth::Groove).to_vec());
        // Where nothing is a groove both are one.
        let parted = |cut| self.parted_at_most_mm(cut);
        let grooved_mm = if uncut_mm < HELD_BY_MM { self.left_mm(contour, parted) - uncut_mm } else { 0.0 };
        uncut_mm + GROOVE_HOLDS * grooved_mm.max(0.0)
    }

    /// Stretches of a cut that are through if kerfs reach as far as they may.
    fn parted_at_most_mm(&self, cut: CutId) -> Vec<Range<f64>> {
        let length_mm = self.list.cut(cut).path.length_mm();
        let through =
            self.state.progress().made.iter().filter(|made| made.cut == cut && made.depth == Depth::Through);
        through.map(|made| made.at_most_mm(length_mm)).collect()
    }

    /// Length of a contour's boundary that is left by what `made` says of each cut.
    fn left_mm(&self, contour: &Contour, made: impl Fn(CutId) -> Vec<Range<f64>>) -> f64 {
        let left = contour.boundary.iter().map(|stretch| {
            let mut left = vec![stretch.along_mm.clone()];
            for made in made(stretch.cut).iter().chain(&self.gone_over(contour, stretch.cut, &made)) {
                take_away(&mut left, made);
            }
            left.iter().map(|left| left.end - left.start).sum::<f64>()
        });
        left.sum()
    }

    /// Stretches of `cut` that other cuts of the contour have gone over.
    fn gone_over(
        &self,
        contour: &Contour,
        cut: CutId,
        made: &impl Fn(CutId) -> Vec<Range<f64>>,
    ) -> Vec<Range<f64>> {
        let others = contour.boundary.iter().map(|stretch| stretch.cut);
        let over = others.flat_map(|other| {
            let overlaps = self.list.cut(other).overlaps.iter().filter(|overlap| overlap.over == cut);
            overlaps.map(move |overlap| (other, overlap))
        });
        over.flat_map(|(other, overlap)| {
            made(other).into_iter().filter_map(|made| overlap.covered_mm(&made)).collect::<Vec<_>>()
        })
        .collect()
    }
}

/// Takes a stretch away from stretches.
fn take_away(from: &mut Vec<Range<f64>>, away: &Range<f64>) {
    let left = from.iter().flat_map(|stretch| {
        [stretch.start..stretch.end.min(away.start), stretch.start.max(away.end)..stretch.end]
    });
    *from = left.filter(|stretch| stretch.start < stretch.end).collect();
}

/// The corners of a clamp, counter-clockwise from the lower left.
pub(super) fn corners(clamp: &Clamp) -> [Point<Program>; 4] {
    let [from, to] = [clamp.from, clamp.to].map(|at| at.map(Length::mm));
    let (min, max) = ([from[0].min(to[0]), from[1].min(to[1])], [from[0].max(to[0]), from[1].max(to[1])]);
    [
        Point::new(min[0], min[1]),
        Point::new(max[0], min[1]),
        Point::new(max[0], max[1]),
        Point::new(min[0], max[1]),
    ]
}

fn within(clamp: &Clamp, p: Point<Program>) -> bool {
    let [min, _, max, _] = corners(clamp);
    min.x <= p.x && p.x <= max.x && min.y <= p.y && p.y <= max.y
}
