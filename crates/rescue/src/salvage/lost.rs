//! What is to be made anew: parts with all their cuts, several together where they share cuts; and what of them lies on
//! the plate already.

use crate::Situation;
use crate::promise::parts_of;
use cuts::{CutId, CutList, Depth, Made, PartId, PlateState, Stray};
use geometry::{Path, Point, Program, SAME_POINT_MM};
use std::collections::BTreeSet;
use std::ops::Range;

/// Parts that can only be moved together, and every cut they need.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Piece {
    pub(super) parts: BTreeSet<PartId>,
    pub(super) cuts: BTreeSet<CutId>,
}

/// The pieces that hold `parts`, each once, in the order of the parts.
pub(super) fn pieces(list: &CutList, parts: &[PartId]) -> Vec<Piece> {
    let mut pieces: Vec<Piece> = Vec::new();
    for part in parts {
        if pieces.iter().all(|piece| !piece.parts.contains(part)) {
            pieces.push(Piece::of(list, *part));
        }
    }
    pieces
}

impl Piece {
    fn of(list: &CutList, part: PartId) -> Self {
        let mut piece = Self { parts: BTreeSet::new(), cuts: BTreeSet::new() };
        let mut open = vec![part];
        while let Some(part) = open.pop() {
            if !piece.parts.insert(part) {
                continue;
            }
            for cut in cuts_of(list, part) {
                if piece.cuts.insert(cut) {
                    open.extend(parts_of(list, list.cut(cut)));
                }
            }
        }
        piece
    }

    /// Why it cannot be made anew, if so: a part of it that nobody asked for is made already.
    pub(super) fn hindered(&self, state: &PlateState, list: &CutList, asked: &[PartId]) -> Option<String> {
        let made = self.parts.iter().find(|part| state.is_free(list, **part) && !asked.contains(part))?;
        Some(format!("it shares a cut with part {}, which is cut free already", made.number()))
    }

    /// Its area less its holes, in square millimetres.
    pub(super) fn area_mm2(&self, list: &CutList) -> f64 {
        let area = |id: &cuts::ContourId| {
            let closed = list.contour(*id).closed.as_ref();
            closed.map_or(0.0, |closed| closed.signed_area_mm2().abs())
        };
        let of_part = |part: &PartId| {
            let part = list.part(*part);
            area(&part.outline) - part.holes.iter().map(area).sum::<f64>()
        };
        self.parts.iter().map(of_part).sum()
    }
}

/// Every cut that a part needs.
fn cuts_of(list: &CutList, part: PartId) -> BTreeSet<CutId> {
    let part = list.part(part);
    let contours = [part.outline].into_iter().chain(part.holes.iter().chain(&part.others).copied());
    let cuts = contours.flat_map(|contour| {
        let contour = list.contour(contour);
        std::iter::once(contour.cut).chain(contour.boundary.iter().map(|stretch| stretch.cut))
    });
    cuts.collect()
}

/// What has been made of `cuts`, at the most that may have been, as kerfs on no cut's path: that is what it becomes
/// once they are made elsewhere. Marks are no kerfs.
pub(super) fn left_behind(situation: &Situation<'_>, made: &[Made], cuts: &BTreeSet<CutId>) -> Vec<Stray> {
    let list = situation.list;
    let mut left = Vec::new();
    for cut in cuts.iter().map(|cut| list.cut(*cut)).filter(|cut| !cut.is_mark) {
        for depth in [Depth::Through, Depth::Groove] {
            let of_it = made.iter().filter(|made| made.cut == cut.id && made.depth == depth);
            for along in together(of_it.map(|made| made.at_most_mm(cut.path.length_mm())).collect()) {
                let pierced = along.start <= SAME_POINT_MM;
                let crater = situation.ground.crater_radius.unwrap_or(situation.ground.kerf).mm();
                let path = cut.path.piece(along.start, along.end);
                left.push(Stray {
                    at: path.from().unwrap_or(cut.pierce.at),
                    crater_mm: if pierced { crater } else { 0.0 },
                    path,
                    depth,
                });
            }
        }
    }
    left
}

/// Stretches that touch put together.
fn together(mut ranges: Vec<Range<f64>>) -> Vec<Range<f64>> {
    ranges.sort_by(|a, b| a.start.total_cmp(&b.start));
    let mut together: Vec<Range<f64>> = Vec::new();
    for range in ranges {
        match together.last_mut() {
            Some(last) if range.start <= last.end + SAME_POINT_MM => last.end = last.end.max(range.end),
            _ => together.push(range),
        }
    }
    together
}

/// The middle of the box around a piece, for people to find it.
pub(super) fn middle(list: &CutList, piece: &Piece) -> Point<Program> {
    let paths = piece.cuts.iter().filter_map(|cut| list.cut(*cut).path.bounds());
    let bounds = paths.reduce(geometry::Bounds::union);
    bounds.map_or(Point::ORIGIN, |bounds| bounds.min.lerp(bounds.max, 0.5))
}

/// The paths of a piece's cuts.
pub(super) fn paths<'l>(list: &'l CutList, piece: &Piece) -> Vec<&'l Path<Program>> {
    piece.cuts.iter().map(|cut| &list.cut(*cut).path).collect()
}
