//! Three dimples in the skeleton, made before the first cut, by which a plate is found again whatever happens to it.

use super::metal::Metal;
use geometry::{Bounds, Point, Program};
use shop::{Clamp, Thresholds};
use units::Length;

/// What dimples must keep clear of besides cuts and parts.
#[derive(Clone, Copy, Debug)]
pub struct Around<'a> {
    /// Holes that the plate has already.
    pub holes: &'a [geometry::Contour<Program>],
    /// Clamps, program coordinates.
    pub clamps: &'a [Clamp],
    /// What the torch can reach, program coordinates.
    pub travel: Option<Bounds<Program>>,
    /// Limits.
    pub thresholds: &'a Thresholds,
}

/// A place for a dimple.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dimple {
    /// Where.
    pub at: Point<Program>,
    /// Distance to the nearest edge of any cut's kerf or crater, in millimetres.
    pub clear_of_cuts_mm: f64,
    /// Distance to the plate's edge, in millimetres.
    pub clear_of_edge_mm: f64,
}

/// Metal that a dimple keeps between itself and any kerf, in millimetres: heat and spatter of a cut reach a few, and a
/// dimple must still be round when it is sighted (common practice).
pub const CLEAR_OF_CUTS_MM: f64 = 8.0;

/// The same for the plate's edge: the tip needs room to be seen beside (common practice).
pub const CLEAR_OF_EDGE_MM: f64 = 15.0;

/// The same for clamps: hand and pointer must get there (common practice).
pub const CLEAR_OF_CLAMPS_MM: f64 = 30.0;

/// Step in which places are tried, in millimetres; wider on plates with more than [`TRIED_MOST`] steps.
const STEP_MM: f64 = 10.0;

/// Most places tried.
const TRIED_MOST: f64 = 40_000.0;

/// Dimples nearer to each other than this share of the plate's diagonal tell the turn too badly to be worth making.
const APART_SHARE: f64 = 0.2;

/// Three places for dimples, far apart, on metal that stays skeleton to the end.
///
/// The first two are the farthest from each other, the third the farthest from the line through them.
///
/// # Errors
/// Why there are none, in words.
pub fn witnesses(metal: &Metal<'_>, around: &Around<'_>) -> Result<[Dimple; 3], String> {
    let plate =
        metal.plate.ok_or("the plate's size is not told, so that nobody knows where its skeleton ends")?;
    let places = places(metal, plate, around);
    let corners = super::predict::hull(&places.iter().map(|dimple| dimple.at).collect::<Vec<_>>());
    let bounds = plate.bounds();
    let apart_mm = APART_SHARE * bounds.min.distance(bounds.max);
    let none = || {
        format!(
            "the skeleton has no three places far apart that keep {CLEAR_OF_CUTS_MM:.0} mm from every kerf, \
             {CLEAR_OF_EDGE_MM:.0} mm from the edge and {CLEAR_OF_CLAMPS_MM:.0} mm from clamps"
        )
    };
    let pairs = corners.iter().enumerate().flat_map(|(k, a)| corners[k + 1..].iter().map(move |b| (*a, *b)));
    let (a, b) = pairs
        .max_by(|(a, b), (c, d)| a.distance(*b).total_cmp(&c.distance(*d)))
        .filter(|(a, b)| a.distance(*b) >= apart_mm)
        .ok_or_else(none)?;
    let line = (b - a).unit().ok_or_else(none)?;
    let off = |p: Point<Program>| line.cross(p - a).abs();
    // Where all lie on a strip, between the two: it then checks them, if it cannot widen them.
    let third = |p: Point<Program>| {
        let nearer = p.distance(a).min(p.distance(b));
        if nearer < apart_mm / 2.0 { f64::NEG_INFINITY } else { off(p) + nearer / 1000.0 }
    };
    let third = places
        .iter()
        .max_by(|p, q| third(p.at).total_cmp(&third(q.at)))
        .filter(|p| third(p.at).is_finite())
        .ok_or_else(none)?;
    let of = |at: Point<Program>| places.iter().copied().find(|dimple| dimple.at == at);
    Ok([of(a).ok_or_else(none)?, of(b).ok_or_else(none)?, *third])
}

/// All places of a grid that will do.
fn places(metal: &Metal<'_>, plate: &geometry::Contour<Program>, around: &Around<'_>) -> Vec<Dimple> {
    let bounds = plate.bounds().grown(-CLEAR_OF_EDGE_MM);
    let (width, height) = (bounds.max.x - bounds.min.x, bounds.max.y - bounds.min.y);
    if width <= 0.0 || height <= 0.0 {
        return Vec::new();
    }
    let step = STEP_MM.max((width * height / TRIED_MOST).sqrt());
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "some hundred steps")]
    let steps = |length: f64| (length / step).floor().max(1.0) as u32;
    let (columns, rows) = (steps(width), steps(height));
    let at = |k: u32, of: u32, length: f64| length * f64::from(k) / f64::from(of);
    let grid = (0..=rows).flat_map(|row| (0..=columns).map(move |column| (column, row)));
    grid.filter_map(|(column, row)| {
        let p = Point::new(bounds.min.x + at(column, columns, width), bounds.min.y + at(row, rows, height));
        place(metal, plate, around, p)
    })
    .collect()
}

/// The dimple at `p`, if it will do.
fn place(
    metal: &Metal<'_>,
    plate: &geometry::Contour<Program>,
    around: &Around<'_>,
    p: Point<Program>,
) -> Option<Dimple> {
    let tip_mm = around.thresholds.touch_off_footprint.mm() / 2.0;
    let reached = around.travel.is_none_or(|travel| travel.contains(p));
    let clamped = around.clamps.iter().any(|clamp| {
        let corner = |[x, y]: [Length; 2]| Point::new(x.mm(), y.mm());
        Bounds::around([corner(clamp.from), corner(clamp.to)])
            .is_none_or(|bounds| bounds.distance_to(p) < CLEAR_OF_CLAMPS_MM + tip_mm)
    });
    if !reached || clamped {
        return None;
    }
    let edge = -around.holes.iter().map(|hole| hole.depth_mm(p)).fold(-plate.depth_mm(p), f64::max);
    if edge < CLEAR_OF_EDGE_MM {
        return None;
    }
    let half_kerf = metal.half_kerf_mm().max(metal.state.crater().mm());
    let near = metal.index.curves.nearest(p, |_| true).map_or(f64::INFINITY, |hit| hit.distance_mm);
    // Within no closed contour: what lies in one comes loose, or is a part.
    let skeleton = metal.index.around(metal.list, p).is_empty();
    let clear_of_cuts_mm = near - half_kerf;
    (skeleton && clear_of_cuts_mm >= CLEAR_OF_CUTS_MM).then_some(Dimple {
        at: p,
        clear_of_cuts_mm,
        clear_of_edge_mm: edge,
    })
}
