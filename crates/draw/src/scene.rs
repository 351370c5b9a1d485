//! What there is to show, in millimetres: kerfs by their state, travel, pierces, pieces, parts, findings.

use crate::moved::{Moved, bounds_at};
use crate::{Picture, Start};
use cuts::{Contour, Cut, Depth, Lies, Shape, Stray};
use finding::Level;
use geometry::{Bounds, Path, Placement, Point, Program};
use std::borrow::Cow;
use std::collections::BTreeSet;
use units::System;

/// What to show and how it stands. Marks (pierces, stop, restart, findings) lie where the plate lies; all else is in the
/// plate's own frame.
#[derive(Clone, Debug, Default)]
pub(crate) struct Scene<'a> {
    pub(crate) title: &'a str,
    pub(crate) system: System,
    pub(crate) plate: Option<&'a geometry::Contour<Program>>,
    pub(crate) plate_holes: &'a [geometry::Contour<Program>],
    pub(crate) kerf_mm: f64,
    pub(crate) bands: Vec<Band<'a>>,
    /// What has been cut beside the program's path.
    pub(crate) strays: &'a [Stray],
    /// Ways with the torch off: the restart's between its starts, else the program's to the cuts of which nothing is made.
    pub(crate) travel: Vec<Path<Program>>,
    pub(crate) pierces: Vec<Pierce>,
    pub(crate) pieces: Vec<Piece<'a>>,
    pub(crate) parts: Vec<Part<'a>>,
    pub(crate) stop: Option<Point<Program>>,
    pub(crate) restart: Option<Point<Program>>,
    /// Where the second burns of cuts in two are lit.
    pub(crate) second_burns: Vec<Point<Program>>,
    pub(crate) lead_in: Option<&'a Path<Program>>,
    pub(crate) findings: Vec<Found<'a>>,
    pub(crate) cuts_whole: usize,
    pub(crate) moved: Option<Moved<'a>>,
}

/// How far a stretch of a cut has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Stage {
    /// Nothing of it is made.
    ToCut,
    /// Not through.
    Groove,
    /// Through.
    Cut,
    /// It is to be marked, not cut.
    ToMark,
    /// It is marked.
    Marked,
}

/// A stretch of a cut.
#[derive(Clone, Debug)]
pub(crate) struct Band<'a> {
    /// Number of the cut, from 1.
    pub(crate) cut: u32,
    pub(crate) path: Cow<'a, Path<Program>>,
    pub(crate) stage: Stage,
}

/// A place where the arc is started.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Pierce {
    pub(crate) at: Point<Program>,
    /// Number of its cut, from 1.
    pub(crate) number: u32,
    pub(crate) made: bool,
    /// Whether its number matters more than others': the stop or a finding names it.
    pub(crate) named: bool,
}

/// A piece that no skeleton holds.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Piece<'a> {
    pub(crate) outline: &'a geometry::Contour<Program>,
    pub(crate) rest: Rest,
}

/// What became of a loose piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Rest {
    /// It lies in its place, or nobody said.
    Lies,
    /// It stands up.
    Stands,
    /// It fell or was taken away.
    Gone,
}

/// A part to be numbered.
#[derive(Clone, Debug)]
pub(crate) struct Part<'a> {
    pub(crate) number: u32,
    pub(crate) outline: &'a geometry::Contour<Program>,
    pub(crate) holes: Vec<&'a geometry::Contour<Program>>,
}

/// A finding to be flagged and listed.
#[derive(Clone, Debug)]
pub(crate) struct Found<'a> {
    /// Its number, from 1.
    pub(crate) number: usize,
    pub(crate) level: Level,
    pub(crate) rule: &'a str,
    pub(crate) cuts: &'a [u32],
    pub(crate) places: Vec<Point<Program>>,
}

impl<'a> Scene<'a> {
    /// What a picture shows.
    pub(crate) fn of(picture: &Picture<'a>) -> Self {
        let Picture { list, state, .. } = *picture;
        let named: BTreeSet<u32> =
            picture.findings.iter().flat_map(|finding| finding.cuts.iter().copied()).collect();
        let lies = picture.moved.as_ref().map_or(Placement::IDENTITY, |moved| moved.lies);
        let at_stop = |cut: &Cut| picture.stop.is_some_and(|stop| stop.distance(cut.pierce.at) < 1.0);
        Self {
            title: picture.title,
            system: picture.system,
            plate: picture.plate,
            plate_holes: picture.plate_holes,
            kerf_mm: state.kerf().mm(),
            bands: list.cuts.iter().flat_map(|cut| bands(picture, cut)).collect(),
            strays: &state.progress().strays,
            travel: if picture.starts.is_empty() {
                let dry = list.cuts.iter().filter(|cut| state.is_dry(cut.id));
                dry.filter_map(|cut| travel(picture.motions, cut)).collect()
            } else {
                travel_between(picture)
            },
            pierces: list
                .cuts
                .iter()
                .filter(|cut| !cut.is_stray() && !cut.is_absent())
                .map(|cut| Pierce {
                    at: lies.point(cut.pierce.at),
                    number: cut.number(),
                    made: !state.is_dry(cut.id),
                    named: named.contains(&cut.number()) || at_stop(cut),
                })
                .collect(),
            pieces: state
                .loose()
                .iter()
                .filter_map(|piece| {
                    let outline = list.contour(piece.outline).closed.as_ref()?;
                    Some(Piece { outline, rest: rest(piece.lies) })
                })
                .collect(),
            parts: parts(list),
            stop: picture.stop.map(|at| lies.point(at)),
            restart: picture.restart.map(|at| lies.point(at)),
            second_burns: second_burns(picture.starts).map(|at| lies.point(at)).collect(),
            lead_in: picture.lead_in,
            findings: findings(picture),
            cuts_whole: list
                .cuts
                .iter()
                .filter(|cut| !cut.is_stray() && state.is_whole(list, cut.id))
                .count(),
            moved: picture.moved,
        }
    }

    /// From the plate's own frame to where it lies.
    pub(crate) fn lies(&self) -> Placement<Program, Program> {
        self.moved.as_ref().map_or(Placement::IDENTITY, |moved| moved.lies)
    }

    /// The box around the plate where it lies, and where it lay; none if its outline is not told.
    pub(crate) fn plate_bounds(&self) -> Option<Bounds<Program>> {
        let bounds = self.plate?.bounds();
        let Some(moved) = &self.moved else { return Some(bounds) };
        [moved.lies, moved.lay].iter().filter_map(|lies| bounds_at(bounds, lies)).reduce(Bounds::union)
    }

    /// The box around all that is cut, where the plate lies; none if nothing is.
    pub(crate) fn cut_bounds(&self) -> Option<Bounds<Program>> {
        let lies = self.lies();
        let at = |bounds| if self.moved.is_some() { bounds_at(bounds, &lies) } else { Some(bounds) };
        let paths = self.bands.iter().filter_map(|band| band.path.bounds()).filter_map(at);
        let pierces = self.pierces.iter().map(|pierce| Bounds { min: pierce.at, max: pierce.at });
        paths.chain(pierces).reduce(Bounds::union)
    }

    /// Whether any loose piece came to this.
    pub(crate) fn has_rest(&self, rest: Rest) -> bool {
        self.pieces.iter().any(|piece| piece.rest == rest)
    }

    /// Whether any stretch is at this stage.
    pub(crate) fn has_stage(&self, stage: Stage) -> bool {
        self.bands.iter().any(|band| band.stage == stage)
    }
}

/// The stretches of a cut by how far they have come.
fn bands<'a>(picture: &Picture<'a>, cut: &'a Cut) -> Vec<Band<'a>> {
    let Picture { list, state, .. } = *picture;
    let marks = is_mark(list, cut);
    let (to_do, done) = if marks { (Stage::ToMark, Stage::Marked) } else { (Stage::ToCut, Stage::Cut) };
    if state.is_dry(cut.id) {
        return vec![Band { cut: cut.number(), path: Cow::Borrowed(&cut.path), stage: to_do }];
    }
    if state.is_whole(list, cut.id) {
        return vec![Band { cut: cut.number(), path: Cow::Borrowed(&cut.path), stage: done }];
    }
    let made = state.made_mm(cut.id, Depth::Groove);
    let through = state.made_mm(cut.id, Depth::Through);
    let uncut = gaps(0.0..cut.path.length_mm(), made);
    let grooves = made.iter().flat_map(|range| gaps(range.clone(), through)).collect();
    let groove_stage = if marks { Stage::Marked } else { Stage::Groove };
    [(uncut, to_do), (grooves, groove_stage), (through.to_vec(), done)]
        .into_iter()
        .flat_map(|(ranges, stage)| ranges.into_iter().map(move |range| (range, stage)))
        .map(|(range, stage)| Band {
            cut: cut.number(),
            path: Cow::Owned(cut.path.piece(range.start, range.end)),
            stage,
        })
        .collect()
}

/// What of `range` is in none of `taken`, which are sorted and apart.
fn gaps(range: std::ops::Range<f64>, taken: &[std::ops::Range<f64>]) -> Vec<std::ops::Range<f64>> {
    let mut at = range.start;
    let mut found = Vec::new();
    for stretch in taken.iter().filter(|stretch| stretch.end > range.start && stretch.start < range.end) {
        if stretch.start > at {
            found.push(at..stretch.start);
        }
        at = at.max(stretch.end);
    }
    if at < range.end {
        found.push(at..range.end);
    }
    found
}

fn is_mark(list: &cuts::CutList, cut: &Cut) -> bool {
    let mut contours = cut.contours.iter().map(|id| list.contour(*id).shape).peekable();
    contours.peek().is_some() && contours.all(|shape| shape == Shape::Mark)
}

/// The way with the torch off to a cut; none if it has no length.
fn travel(motions: &nc::Motions, cut: &Cut) -> Option<Path<Program>> {
    let curves = cut.approach.clone().map(|k| motions.curve(k as usize));
    let moves: Vec<_> = curves.filter(|curve| curve.length_mm() > geometry::SAME_POINT_MM).collect();
    (!moves.is_empty()).then(|| Path::new(moves))
}

/// Where cuts that are begun twice, one start after the other, are lit for the second time.
fn second_burns(starts: &[Start]) -> impl Iterator<Item = Point<Program>> + '_ {
    starts.windows(2).filter(|pair| pair[0].cut == pair[1].cut).map(|pair| pair[1].lit)
}

/// The ways of a restart from where one of its cuts ends to the next start: the program's own where it begins the cuts in
/// the program's order and at their own pierces, else straight.
fn travel_between(picture: &Picture<'_>) -> Vec<Path<Program>> {
    let pairs = picture.starts.windows(2).map(|pair| (pair[0], pair[1]));
    let way = |(from, to): (Start, Start)| {
        let cut = picture.list.cut(to.cut);
        let begins_as_programmed = cut.pierce.at.distance(to.lit) <= geometry::SAME_POINT_MM;
        let ended = picture.list.cut(from.cut).path.to();
        let ends_as_programmed = ended.is_some_and(|end| end.distance(from.ends) <= geometry::SAME_POINT_MM);
        if from.cut.0 + 1 == to.cut.0 && begins_as_programmed && ends_as_programmed {
            return travel(picture.motions, cut);
        }
        let straight = geometry::Curve::line(from.ends, to.lit);
        (straight.length_mm() > geometry::SAME_POINT_MM).then(|| Path::new(vec![straight]))
    };
    pairs.filter_map(way).collect()
}

fn rest(lies: Option<Lies>) -> Rest {
    match lies {
        None | Some(Lies::Flat) => Rest::Lies,
        Some(Lies::Standing) => Rest::Stands,
        Some(Lies::Fell | Lies::Removed) => Rest::Gone,
    }
}

fn parts(list: &cuts::CutList) -> Vec<Part<'_>> {
    let closed = |contour: &'_ Contour| contour.closed.is_some();
    list.parts
        .iter()
        .filter(|part| closed(list.contour(part.outline)))
        .filter_map(|part| {
            Some(Part {
                number: part.id.number(),
                outline: list.contour(part.outline).closed.as_ref()?,
                holes: part.holes.iter().filter_map(|id| list.contour(*id).closed.as_ref()).collect(),
            })
        })
        .collect()
}

/// Findings with their places; one that names cuts but no place stands at their pierces.
fn findings<'a>(picture: &Picture<'a>) -> Vec<Found<'a>> {
    let numbered = picture.findings.iter().enumerate();
    numbered
        .map(|(k, finding)| {
            let mut places: Vec<Point<Program>> =
                finding.places.iter().map(|place| Point::new(place.x.mm(), place.y.mm())).collect();
            if places.is_empty() {
                let cuts = finding.cuts.iter().filter_map(|number| picture.list.by_number(*number));
                places.extend(cuts.map(|cut| cut.pierce.at));
            }
            Found { number: k + 1, level: finding.level, rule: finding.rule, cuts: &finding.cuts, places }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::gaps;

    #[test]
    fn gaps_are_what_is_left() {
        assert_eq!(gaps(0.0..10.0, &[]), vec![0.0..10.0]);
        assert_eq!(gaps(0.0..10.0, &[0.0..3.0, 5.0..10.0]), vec![3.0..5.0]);
        assert_eq!(gaps(2.0..8.0, &[0.0..3.0, 7.0..12.0]), vec![3.0..7.0]);
        assert_eq!(gaps(2.0..8.0, &[0.0..9.0]), vec![]);
    }
}
