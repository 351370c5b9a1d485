//! How well the edges of a plate are known that was begun with a wrong datum, and whether more readings of them may save a part.

use crate::joins::needed_mm;
use crate::refind::within_across_mm;
use crate::{Edges, Fact, Situation, Wanted};
use cuts::{Cut, CutList, PlateState};
use geometry::{Contour, Curve, Placement, Point, Program, Side};
use proof::{EDGE_HOLDS_SHARE, Ground, Pose};
use std::ops::Range;
use units::Length;

/// An edge of the plate may lie so far from where it was measured, in millimetres: two readings by pointer.
const EDGE_WITHIN_MM: f64 = 1.0;

/// Step in which a cut is held against the edges of the plate, in millimetres: far less than an edge is long.
const ALONG_EDGE_MM: f64 = 1.0;

/// Doubt of an edge, in millimetres, below which no more readings are asked for: what a pointer that is set up by eye has for
/// its own, and more readings take little away.
const LEAST_DOUBT_MM: f64 = 0.15;

/// By so many times its doubt an edge is off in no more than 1 reading of 10,000 (a bell curve: 3.89 deviations for 1.96): as
/// sure as is asked for before a part is given up for what was read.
const SURELY_TIMES: f64 = 3.89 / 1.96;

/// How far off an edge may lie that was measured, 95 times in 100, where it is worst of all places at which a cut runs by it or
/// over it. The plate lies by `pose`, and its edges `lies` from where they were told, seen from the frame of the cuts.
pub(crate) fn within(situation: &Situation<'_>, pose: &Pose, lies: &Placement<Program, Program>) -> Length {
    let told = situation.ground.plate.as_ref();
    let Some(outline) = told.and_then(|told| Contour::close(told.path().placed(lies))) else {
        return Edges::MEASURED_WITHIN;
    };
    let (as_told, kerf_mm) = (lies.inverse(), situation.ground.kerf.mm());
    let doubt_mm = |p: Point<Program>| {
        let near = outline.path().nearest(p).filter(|_| outline.depth_mm(p) <= kerf_mm)?;
        let along = outline.path().tangent_at(near.along_mm)?;
        Some(within_across_mm(pose, as_told.point(near.point), as_told.vector(along.left())))
    };
    let cuts = situation.list.cuts.iter().filter(|cut| is_near(cut, &outline, kerf_mm));
    let worst_mm =
        cuts.flat_map(|cut| places(cut, 0.0..cut.path.length_mm()).filter_map(doubt_mm)).reduce(f64::max);
    worst_mm.map_or(Edges::MEASURED_WITHIN, Length::from_mm)
}

/// That the edges are to be measured once more, where a cut that is left hangs on how well they were: on whether its arc has
/// metal there, or on whether what it frees is long enough where the edge ends it. The first such cut.
pub(crate) fn edge_in_doubt(list: &CutList, state: &PlateState, ground: &Ground) -> Option<Wanted> {
    let outline = ground.plate.as_ref()?;
    let left = list
        .cuts
        .iter()
        .filter(|cut| !state.is_whole(list, cut.id) && is_near(cut, outline, ground.kerf.mm()));
    let doubt = |cut: &Cut| {
        bears_in_doubt(cut, ground, outline).or_else(|| length_in_doubt(list, cut, ground, outline))
    };
    let (cut, hangs) = left.into_iter().find_map(|cut| Some((cut, doubt(cut)?)))?;
    let says = format!(
        "Where the plate's edge lies beside cut {}, which runs along it: {hangs}. Measure the plate's corners once more, or \
         several places on that edge, and tell them together with what was measured before.",
        cut.number()
    );
    Some(Wanted { fact: Fact::Place, says })
}

/// What hangs on the edge where a cut runs about as far beyond it as an arc bears.
fn bears_in_doubt(cut: &Cut, ground: &Ground, outline: &Contour<Program>) -> Option<String> {
    let holds_mm = ground.kerf.mm() * (0.5 - EDGE_HOLDS_SHARE);
    let most_mm = beyond_mm(cut, 0.0..cut.path.length_mm(), outline);
    let says = "whether the arc has metal there hangs on less than a pointer reads wrong by";
    ((most_mm - holds_mm).abs() <= EDGE_WITHIN_MM).then(|| says.to_owned())
}

/// What hangs on the edge where it ends what a cut frees, and that may be long enough.
fn length_in_doubt(list: &CutList, cut: &Cut, ground: &Ground, outline: &Contour<Program>) -> Option<String> {
    let edges = ground.edges.filter(|edges| edges.within.mm() > LEAST_DOUBT_MM)?;
    let stretches = needed_mm(list, cut.id, &[]).into_iter();
    let most_mm = stretches.map(|stretch| beyond_mm(cut, stretch, outline)).fold(f64::NEG_INFINITY, f64::max);
    let short_mm = most_mm - ground.kerf.mm() / 2.0;
    let hangs = most_mm > 0.0 && short_mm <= edges.tolerance.mm() + SURELY_TIMES * edges.within.mm();
    hangs.then(|| {
        format!(
            "whether what it frees is long enough where the edge ends it hangs on the {:.2} mm by which the edge may lie off",
            edges.within.mm()
        )
    })
}

/// How far a stretch of a cut's path runs beyond the plate's outline, in millimetres; negative if it stays on the plate.
fn beyond_mm(cut: &Cut, stretch_mm: Range<f64>, outline: &Contour<Program>) -> f64 {
    let beyond = |p: Point<Program>| {
        let distance_mm = outline.path().nearest(p).map_or(f64::INFINITY, |near| near.distance_mm);
        if outline.side_of(p, 0.0) == Side::Outside { distance_mm } else { -distance_mm }
    };
    places(cut, stretch_mm).map(beyond).fold(f64::NEG_INFINITY, f64::max)
}

fn places(cut: &Cut, stretch_mm: Range<f64>) -> impl Iterator<Item = Point<Program>> + '_ {
    let along = std::iter::successors(Some(stretch_mm.start), |mm| Some(mm + ALONG_EDGE_MM));
    along.take_while(move |mm| *mm <= stretch_mm.end).filter_map(|mm| cut.path.point_at(mm))
}

/// Whether a cut may run by an edge or over it.
fn is_near(cut: &Cut, outline: &Contour<Program>, kerf_mm: f64) -> bool {
    let bounds = cut.path.bounds().map(|bounds| bounds.grown(kerf_mm + EDGE_WITHIN_MM));
    let meets = |curve: &Curve<Program>| bounds.is_some_and(|bounds| bounds.meets(&curve.bounds()));
    outline.path().curves().iter().any(meets)
}
