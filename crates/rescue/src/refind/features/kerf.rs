//! Corners and edges of kerfs: which of a kerf's two lips was sighted, and where that lies.

use super::super::fit::Sighting;
use super::super::metal::Metal;
use super::{BESIDE_MM, Reader, SNAP_MM, shown};
use cuts::{Contour, Cut, CutId, Depth, Hand};
use geometry::{Curve, Point, Program, Vector};
use shop::Lip;
use units::System;

/// A corner turns by more than this, in radians; less is a curve written as short lines.
const CORNER_RAD: f64 = 0.35;

/// A place on a kerf's centre line.
struct OnKerf<'a> {
    cut: &'a Cut,
    along_mm: f64,
    at: Point<Program>,
}

/// A corner of a kerf's centre line.
pub(in super::super) struct KerfCorner {
    pub(in super::super) at: Point<Program>,
    cut: CutId,
    along_mm: f64,
    /// Directions of travel before and after it.
    travel: [Vector<Program>; 2],
}

impl KerfCorner {
    /// The corner at the end of a cut's curve with this index, if the path turns there.
    fn after(cut: &Cut, k: usize) -> Option<Self> {
        let curves = cut.path.curves();
        let (before, after) = (curves.get(k)?, curves.get(k + 1)?);
        let travel = [before.tangent_at(before.length_mm())?, after.tangent_at(0.0)?];
        let turn = travel[0].cross(travel[1]).atan2(travel[0].dot(travel[1])).abs();
        let along_mm = cut.path.start_of_mm(k + 1);
        (turn > CORNER_RAD).then(|| Self { at: before.to(), cut: cut.id, along_mm, travel })
    }

    /// What it is called.
    pub(in super::super) fn name(&self, system: System) -> String {
        format!("the corner of cut {} at {}", self.cut.number(), shown(self.at.x, self.at.y, system))
    }

    /// Where the two straight lips on one side of it meet: left of the travel for +1, right for -1; the corner itself for 0.
    fn lip(&self, side: f64, half_kerf_mm: f64) -> Point<Program> {
        let (a, b) = (self.travel[0].left() * side, self.travel[1].left() * side);
        self.at + (a + b) * (half_kerf_mm / (1.0 + a.dot(b)).max(f64::EPSILON))
    }

    /// Where on the cut both lips are looked at: just before the corner, clear of it.
    fn looked_at_mm(&self, half_kerf_mm: f64) -> f64 {
        (self.along_mm - 2.0 * (half_kerf_mm + BESIDE_MM)).max(0.0)
    }
}

/// The corners of a cut's kerf of which one lip alone is held, with that lip's place: nobody can take the other for it.
pub(in super::super) fn single_lips<'a>(
    metal: &'a Metal<'a>,
    cut: &'a Cut,
) -> impl Iterator<Item = (KerfCorner, Point<Program>)> + 'a {
    let half_kerf_mm = metal.half_kerf_mm();
    let corners = (0..cut.path.curves().len()).filter_map(|k| KerfCorner::after(cut, k));
    let made = corners.filter(|corner| metal.state.depth_at(cut.id, corner.along_mm) == Some(Depth::Through));
    made.filter_map(move |corner| {
        let at = cut.path.point_at(corner.looked_at_mm(half_kerf_mm))?;
        let side = held_side(metal, at, corner.travel[0])?.dot(corner.travel[0].left());
        let lip = corner.lip(side, half_kerf_mm);
        Some((corner, lip))
    })
}

/// A straight edge of a kerf is proposed from this length on, in millimetres: a shorter one ends before a pointer has run along it
/// (common practice).
const EDGE_LEAST_MM: f64 = 10.0;

/// A straight edge of a kerf of which one lip alone is held.
pub(in super::super) struct SingleEdge {
    /// Its middle on the kerf's centre line.
    pub(in super::super) at: Point<Program>,
    /// The same on the lip.
    pub(in super::super) lip: Point<Program>,
    /// Of length one.
    pub(in super::super) direction: Vector<Program>,
}

/// What a straight edge of a cut is called.
pub(in super::super) fn edge_name(cut: CutId, at: Point<Program>, system: System) -> String {
    format!("the edge of cut {} near {}", cut.number(), shown(at.x, at.y, system))
}

/// The straight edges of a cut's kerf of which one lip alone is held.
pub(in super::super) fn single_edges<'a>(
    metal: &'a Metal<'a>,
    cut: &'a Cut,
) -> impl Iterator<Item = SingleEdge> + 'a {
    let curves = cut.path.curves().iter().enumerate();
    let straight =
        curves.filter(|(_, curve)| matches!(curve, Curve::Segment(_)) && curve.length_mm() >= EDGE_LEAST_MM);
    straight.filter_map(move |(k, curve)| {
        let middle_mm = curve.length_mm() / 2.0;
        if metal.state.depth_at(cut.id, cut.path.start_of_mm(k) + middle_mm) != Some(Depth::Through) {
            return None;
        }
        let (at, direction) = (curve.point_at(middle_mm), curve.tangent_at(middle_mm)?);
        let out = held_side(metal, at, direction)?;
        Some(SingleEdge { at, lip: at + out * metal.half_kerf_mm(), direction })
    })
}

/// Direction from a kerf's centre line to the one of its lips that is held, of length one; none if both are, or neither.
fn held_side(metal: &Metal<'_>, at: Point<Program>, travel: Vector<Program>) -> Option<Vector<Program>> {
    let reach_mm = metal.half_kerf_mm() + BESIDE_MM;
    let out = travel.left();
    match (metal.is_held(at + out * reach_mm), metal.is_held(at - out * reach_mm)) {
        (true, false) => Some(out),
        (false, true) => Some(-out),
        _ => None,
    }
}

impl Reader<'_> {
    /// Where the lip that was sighted lies at the kerf nearest to `plan`.
    pub(super) fn beside_kerf(&self, plan: Point<Program>) -> Result<Point<Program>, String> {
        let on = self.on_kerf(plan)?;
        let travel = on.cut.path.tangent_at(on.along_mm).ok_or("the cut has no direction there")?;
        let out = self.lip(on.cut, on.along_mm, on.at, travel)?;
        Ok(plan + out * self.metal.half_kerf_mm())
    }

    /// Sightings along a straight edge of a cut, near `plan`.
    pub(super) fn edge_of_cut(&self, plan: Point<Program>) -> Result<Vec<Sighting>, String> {
        let on = self.on_kerf(plan)?;
        let (k, _) = on.cut.path.locate(on.along_mm).ok_or("the cut has no length")?;
        let Curve::Segment(segment) = on.cut.path.curves()[k] else {
            return Err(format!("cut {} is not straight there; measure a straight edge", on.cut.number()));
        };
        let direction = (segment.to - segment.from).unit().ok_or("the edge has no length")?;
        let out = self.lip(on.cut, on.along_mm, on.at, direction)?;
        let name = edge_name(on.cut.id, on.at, self.system);
        Ok(self.along_edge(&name, on.at + out * self.metal.half_kerf_mm(), direction))
    }

    /// The place on the kerf that `plan` speaks of: of the cut told, or of the nearest.
    fn on_kerf(&self, plan: Point<Program>) -> Result<OnKerf<'_>, String> {
        let metal = self.metal;
        let (cut, along_mm, at) = if self.row.cut.is_some() {
            let cut = self.cut()?;
            let near = cut.path.nearest(plan).ok_or("the cut has no length")?;
            if near.distance_mm > SNAP_MM {
                return Err(format!("cut {} does not come near {}", cut.number(), self.place(plan)));
            }
            (cut, near.along_mm, near.point)
        } else {
            let reach = units::Length::from_mm(SNAP_MM);
            let near = metal.state.nearest_kerf(metal.list, metal.index, plan, reach);
            let near = near.ok_or_else(|| format!("there is no kerf near {}", self.place(plan)))?;
            (metal.list.cut(near.cut), near.along_mm, near.at)
        };
        if metal.state.depth_at(cut.id, along_mm).is_none() {
            return Err(format!("cut {} is not made yet at {}", cut.number(), self.place(at)));
        }
        Ok(OnKerf { cut, along_mm, at })
    }

    /// Direction from the centre line to the lip that was sighted, of length one; of length zero for the middle.
    fn lip(
        &self,
        cut: &Cut,
        along_mm: f64,
        at: Point<Program>,
        travel: Vector<Program>,
    ) -> Result<Vector<Program>, String> {
        let reach = self.metal.half_kerf_mm() + BESIDE_MM;
        let held = |out: Vector<Program>| self.metal.is_held(at + out * reach);
        let (left, right) = (travel.left(), -travel.left());
        let still = "a loose piece need not have moved with the plate";
        if self.row.lip == Some(Lip::Middle) {
            let both = held(left) && held(right);
            return if both {
                Ok(Vector::new(0.0, 0.0))
            } else {
                Err(format!("one side of the kerf is loose, and {still}; sight the lip of the other"))
            };
        }
        let scrap = self.contour_at(cut, along_mm).and_then(Contour::scrap_side).map(|hand| match hand {
            Hand::Left => left,
            Hand::Right => right,
        });
        let out = match (self.row.lip, scrap) {
            (Some(Lip::Scrap), Some(scrap)) => scrap,
            (Some(_), Some(scrap)) => -scrap,
            (Some(_), None) => {
                return Err(format!(
                    "on cut {} neither side is scrap; sight the middle of the kerf and say `lip = \"middle\"`",
                    cut.number()
                ));
            }
            (None, _) => match (held(left), held(right)) {
                (true, false) => left,
                (false, true) => right,
                _ => {
                    return Err(format!(
                        "it is not told which lip of the kerf of cut {} was sighted, and they lie {:.1} mm apart: add \
                         `lip`",
                        cut.number(),
                        2.0 * self.metal.half_kerf_mm()
                    ));
                }
            },
        };
        if held(out) { Ok(out) } else { Err(format!("that lip is loose, and {still}; sight the other")) }
    }

    /// The contour on which a place of the cut lies.
    fn contour_at(&self, cut: &Cut, along_mm: f64) -> Option<&Contour> {
        let mut contours = cut.contours.iter().map(|id| self.metal.list.contour(*id));
        contours.find(|c| c.along_mm.start <= along_mm && along_mm <= c.along_mm.end)
    }

    /// The corner of a kerf nearest to `plan`.
    pub(super) fn kerf_corner(&self, plan: Point<Program>) -> Option<KerfCorner> {
        let (list, index) = (self.metal.list, self.metal.index);
        let wanted = |cut: CutId| self.row.cut.is_none_or(|number| cut.number() == number);
        let near = index.curves.near_point(plan, SNAP_MM).filter(|hit| wanted(hit.tag.0));
        let corners = near.filter_map(|hit| {
            let (cut, k) = hit.tag;
            KerfCorner::after(list.cut(cut), k as usize).filter(|corner| corner.at.distance(plan) <= SNAP_MM)
        });
        let by_distance = |c: &KerfCorner| (c.at.distance(plan), c.cut);
        corners.min_by(|a, b| {
            let (a, b) = (by_distance(a), by_distance(b));
            a.0.total_cmp(&b.0).then(a.1.cmp(&b.1))
        })
    }

    /// Where the sighted lip of a corner lies: where its two straight lips meet.
    pub(super) fn lip_of_corner(&self, corner: &KerfCorner) -> Result<(String, Point<Program>), String> {
        let cut = self.metal.list.cut(corner.cut);
        if self.metal.state.depth_at(cut.id, corner.along_mm).is_none() {
            return Err(format!("cut {} is not made yet at {}", cut.number(), self.place(corner.at)));
        }
        let half_kerf_mm = self.metal.half_kerf_mm();
        let at = cut.path.point_at(corner.looked_at_mm(half_kerf_mm)).unwrap_or(corner.at);
        let out = self.lip(cut, corner.along_mm, at, corner.travel[0])?;
        // The middle has no side: the corner itself.
        let side = out.dot(corner.travel[0].left());
        Ok((corner.name(self.system), corner.lip(side, half_kerf_mm)))
    }
}
