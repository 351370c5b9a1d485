//! Point 1 for parts made elsewhere: they lie on whole plate, clear of everything that is cut, has been cut or will be,
//! so that nothing of them or of their neighbours is missing.
//!
//! What has been made counts at the most that may have been made, grooves too: a groove in a part is a fault of the
//! part, though the arc burns over it.

use super::effect::KeptLeg;
use super::starts::crater_mm;
use crate::elsewhere::parts_of;
use crate::record::Record;
use crate::timeline::Timeline;
use crate::tolerance::{NOISE_MM, PATH_MM};
use crate::view::View;
use crate::{Case, Moved, Reason, reason};
use cuts::{CutId, PartId, Shape};
use geometry::{Curve, CurveIndex, Path, Point, Program, SAME_POINT_MM, Side};
use std::collections::{BTreeMap, BTreeSet};

/// How far beyond touching is looked for the nearest metal edge, in millimetres; farther off it is not measured.
const LOOK_MM: f64 = 10.0;

/// Holds every moved cut against every other kerf and crater, whenever made, and the plate's edges; and looks that none
/// of them lies within a moved part.
///
/// # Errors
/// Point 1, at the first moved cut that is not clear.
pub(crate) fn moved(
    case: &Case<'_>,
    written: &View<'_>,
    kept: &[KeptLeg],
    timeline: &Timeline,
    record: &mut Record,
) -> Result<(), Reason> {
    if case.promise.moved.is_empty() {
        return Ok(());
    }
    let field = Field::of(case, written, kept);
    let mut least = f64::INFINITY;
    for kin in Kin::all(case) {
        for leg in kept.iter().filter(|leg| kin.cuts.contains(&leg.cut)) {
            let mut metal = kin.metal_around(case, &field, leg.cut);
            metal.mm -= off_mm(case, leg.cut);
            if metal.mm <= NOISE_MM {
                let message = format!("cut {} at its new place {}", leg.cut.number(), metal.told());
                return Err(reason(1, message, written.event_span(leg.written.on as usize)));
            }
            least = least.min(metal.mm);
        }
        let parts: BTreeSet<PartId> =
            kin.cuts.iter().flat_map(|cut| parts_of(case.original.list, *cut)).collect();
        for part in parts {
            kin.nothing_within(case, &field, timeline, part)?;
        }
    }
    if case.ground.plate.is_none() {
        record.lacks("That every moved part lies on the plate: the plate's outline was not told.");
    }
    if least.is_finite() {
        record.figure("least metal beside what is moved", least, 0.0, "mm");
    }
    Ok(())
}

/// How far from where it is meant a moved cut may land on a plate that moved: what was cut before lies so much nearer.
fn off_mm(case: &Case<'_>, cut: CutId) -> f64 {
    case.pose.map_or(0.0, |pose| super::landing::cut_mm(case, pose, cut))
}

/// Whose a kerf or crater is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Whose {
    Cut(CutId),
    /// On no cut's path.
    Nobodys,
}

/// All kerfs and craters that are on the plate in the end.
struct Field {
    kerfs: CurveIndex<Program, Whose>,
    /// The middle of each crater; tag: whose, and its number.
    craters: CurveIndex<Program, (Whose, u32)>,
    radii_mm: Vec<f64>,
    widest_mm: f64,
}

impl Field {
    fn of(case: &Case<'_>, written: &View<'_>, kept: &[KeptLeg]) -> Self {
        let mut kerfs: Vec<(Curve<Program>, Whose)> = Vec::new();
        let mut craters: Vec<(Point<Program>, f64, Whose)> = Vec::new();
        for made in &case.progress.made {
            let cut = case.original.list.cut(made.cut);
            let whose = if cut.torch_off.is_some() { Whose::Cut(cut.id) } else { Whose::Nobodys };
            let along = made.at_most_mm(cut.path.length_mm());
            if along.start <= SAME_POINT_MM {
                craters.push((cut.pierce.at, crater_mm(case, cut.id), whose));
            }
            kerfs.extend(curves(&cut.path.piece(along.start, along.end)).map(|curve| (curve, whose)));
        }
        for stray in &case.progress.strays {
            craters.push((stray.at, stray.crater_mm, Whose::Nobodys));
            kerfs.extend(curves(&stray.path).map(|curve| (curve, Whose::Nobodys)));
        }
        for leg in kept {
            let at = written.from(leg.written.on_at.motion as usize);
            craters.push((at, crater_mm(case, leg.cut), Whose::Cut(leg.cut)));
            let burn = leg.written.burn().filter(|k| written.travels(*k));
            kerfs.extend(burn.map(|k| (written.curve(k), Whose::Cut(leg.cut))));
        }
        let radii_mm: Vec<f64> = craters.iter().map(|crater| crater.1).collect();
        let dots = (0..).zip(&craters).map(|(k, (at, _, whose))| (Curve::line(*at, *at), (*whose, k)));
        Self {
            kerfs: CurveIndex::new(kerfs),
            craters: CurveIndex::new(dots.collect()),
            widest_mm: radii_mm.iter().copied().fold(0.0, f64::max),
            radii_mm,
        }
    }
}

fn curves(path: &Path<Program>) -> impl Iterator<Item = Curve<Program>> + use<> {
    path.curves().to_vec().into_iter()
}

/// The least metal beside a cut, and what lies there.
struct Metal {
    mm: f64,
    beside: Beside,
}

#[derive(Clone, Copy)]
enum Beside {
    Kerf(Whose),
    Crater(Whose),
    Edge,
}

impl Metal {
    fn nearer(&mut self, mm: f64, beside: Beside) {
        if mm < self.mm {
            *self = Self { mm, beside };
        }
    }

    fn told(&self) -> String {
        let by = -self.mm;
        match self.beside {
            Beside::Kerf(whose) => format!("runs into {} by {by:.2} mm", named("kerf", whose)),
            Beside::Crater(whose) => format!("runs into {} by {by:.2} mm", named("crater", whose)),
            Beside::Edge => format!("passes the plate's edge by {by:.2} mm"),
        }
    }
}

fn named(what: &str, whose: Whose) -> String {
    match whose {
        Whose::Cut(cut) => format!("the {what} of cut {}", cut.number()),
        Whose::Nobodys => format!("an old {what}"),
    }
}

/// Cuts that move by one placement: they lie to each other as they did.
struct Kin {
    cuts: BTreeSet<CutId>,
}

impl Kin {
    fn all(case: &Case<'_>) -> Vec<Self> {
        let place = |moved: &Moved| {
            let origin = moved.placement.origin();
            [moved.placement.angle_rad(), origin.x, origin.y].map(f64::to_bits)
        };
        let mut all: BTreeMap<[u64; 3], BTreeSet<CutId>> = BTreeMap::new();
        for moved in &case.promise.moved {
            all.entry(place(moved)).or_default().insert(moved.cut);
        }
        all.into_values().map(|cuts| Self { cuts }).collect()
    }

    fn is_kin(&self, whose: Whose) -> bool {
        matches!(whose, Whose::Cut(cut) if self.cuts.contains(&cut))
    }

    fn metal_around(&self, case: &Case<'_>, field: &Field, cut: CutId) -> Metal {
        let mut metal = Metal { mm: f64::INFINITY, beside: Beside::Edge };
        let kerf_mm = case.ground.kerf.mm();
        let cut = case.original.list.cut(cut);
        for curve in cut.path.curves() {
            self.beside(field, curve, kerf_mm / 2.0, kerf_mm / 2.0, &mut metal);
            edges(case, curve, kerf_mm / 2.0, &mut metal);
        }
        let pierce = Curve::line(cut.pierce.at, cut.pierce.at);
        let crater_mm = crater_mm(case, cut.id);
        self.beside(field, &pierce, crater_mm, kerf_mm / 2.0, &mut metal);
        edges(case, &pierce, crater_mm, &mut metal);
        metal
    }

    /// Metal between a band of this half width along `curve` and all other kerfs and craters.
    fn beside(&self, field: &Field, curve: &Curve<Program>, half_mm: f64, half_kerf: f64, metal: &mut Metal) {
        for hit in field.kerfs.near_curve(curve, half_mm + half_kerf + LOOK_MM) {
            if !self.is_kin(hit.tag) {
                metal.nearer(hit.distance_mm - half_mm - half_kerf, Beside::Kerf(hit.tag));
            }
        }
        for hit in field.craters.near_curve(curve, half_mm + field.widest_mm + LOOK_MM) {
            let (whose, k) = hit.tag;
            if !self.is_kin(whose) {
                metal.nearer(hit.distance_mm - half_mm - field.radii_mm[k as usize], Beside::Crater(whose));
            }
        }
    }

    /// No kerf and no crater of anything else lies within a moved part's metal, holes of it aside.
    fn nothing_within(
        &self,
        case: &Case<'_>,
        field: &Field,
        timeline: &Timeline,
        part: PartId,
    ) -> Result<(), Reason> {
        let outline = case.original.list.contour(case.original.list.part(part).outline).closed.as_ref();
        let Some(bounds) = outline.map(geometry::Contour::bounds) else { return Ok(()) };
        let lies_within = |whose: Whose, p: Point<Program>| {
            !self.is_kin(whose) && bounds.contains(p) && lies_in_metal(case, timeline, part, p)
        };
        // Nothing crosses the part's own edges, as has been seen: one place of each curve tells.
        let kerf = field.kerfs.in_bounds(bounds).find(|(curve, whose)| lies_within(*whose, curve.from()));
        let kerf = kerf.map(|(_, whose)| named("kerf", whose));
        let hole = || {
            let mut places = case.ground.plate_holes.iter().filter_map(|hole| hole.path().from());
            let within = places.any(|p| bounds.contains(p) && lies_in_metal(case, timeline, part, p));
            within.then(|| "a hole of the plate".to_owned())
        };
        let crater = || {
            let mut craters = field.craters.in_bounds(bounds);
            let crater = craters.find(|(dot, (whose, _))| lies_within(*whose, dot.from()));
            crater.map(|(_, (whose, _))| named("crater", whose))
        };
        let Some(what) = kerf.or_else(crater).or_else(hole) else { return Ok(()) };
        let message = format!("part {} at its new place has {what} within it", part.number());
        Err(reason(1, message, None))
    }
}

fn edges(case: &Case<'_>, curve: &Curve<Program>, half_mm: f64, metal: &mut Metal) {
    let outline = case.ground.plate.iter().map(|outline| (outline, Side::Inside));
    let holes = case.ground.plate_holes.iter().map(|hole| (hole, Side::Outside));
    for (edge, wanted) in outline.chain(holes) {
        let apart = edge.path().curves().iter().map(|edge| edge.distance_to(curve).distance_mm);
        let apart = apart.fold(f64::INFINITY, f64::min);
        // A curve that touches no edge lies on one side of it with both its ends.
        let beyond = edge.side_of(curve.from(), 0.0) != wanted;
        metal.nearer(if beyond { -apart } else { apart } - half_mm, Beside::Edge);
    }
}

/// Whether a place lies in the metal of `part`: of all closed contours around it, the innermost is the part's outline.
fn lies_in_metal(case: &Case<'_>, timeline: &Timeline, part: PartId, p: Point<Program>) -> bool {
    let mut around = timeline.around(case, p, |_| true);
    // What lies on its own edge counts as outside it: a kerf that closes there is not around itself.
    around.retain(|id| {
        let closed = case.original.list.contour(*id).closed.as_ref();
        closed.and_then(|closed| closed.path().nearest(p)).is_some_and(|near| near.distance_mm > PATH_MM)
    });
    let innermost = around.into_iter().max_by_key(|id| (case.original.list.contour(*id).depth, *id));
    innermost.is_some_and(|id| {
        let contour = case.original.list.contour(id);
        contour.shape == Shape::Outline && contour.part == Some(part)
    })
}
