//! The centre of a round hole, by places round its edge.

use super::super::circle::{NoCircle, fit_circle};
use super::super::fit::{Sighting, Spread};
use super::super::metal::Metal;
use super::{BESIDE_MM, Reader, SNAP_MM, shown};
use cuts::{Contour, CutId, Depth};
use geometry::{Arc, Point, Program};
use shop::Lip;
use std::ops::Range;
use units::{Length, System};

/// A contour is round if none of its points leaves the circle by more than this, in millimetres: a circle written as
/// short straight lines is one too.
const ROUND_MM: f64 = 0.1;

/// A hole measured may be wider or narrower than the program has it by this, in millimetres, before it is doubted:
/// taper and dross of an ordinary edge (common practice).
const RADIUS_DOUBT_MM: f64 = 2.0;

/// A round contour: its centre and the radius of the kerf's centre line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in super::super) struct Round {
    pub(in super::super) center: Point<Program>,
    pub(in super::super) radius_mm: f64,
}

/// A round end turns by this at least, in radians: the centre by places on much less than half a circle is told badly along
/// its middle.
const END_RAD: f64 = 2.6;

/// Least radius of a round end's path, in millimetres: round less, the errors of a pointer are no longer small.
const END_LEAST_MM: f64 = 2.0;

/// The round end of a slot or of a tongue, as far as it is through.
#[derive(Clone, Copy, Debug)]
pub(in super::super) struct RoundEnd {
    cut: CutId,
    /// The kerf's centre line.
    arc: Arc<Program>,
}

impl RoundEnd {
    /// What it is called.
    pub(in super::super) fn name(&self, system: System) -> String {
        let Point { x, y, .. } = self.arc.center;
        format!("the round end of cut {} about {}", self.cut.number(), shown(x, y, system))
    }

    pub(in super::super) fn round(&self) -> Round {
        Round { center: self.arc.center, radius_mm: self.arc.radius_mm() }
    }

    /// This many places spread evenly over it, so far outside of the kerf's centre line.
    pub(in super::super) fn places(&self, count: u32, out_mm: f64) -> Vec<Point<Program>> {
        let along = |k: u32| self.arc.length_mm() * f64::from(k) / f64::from(count - 1);
        let place = |k: u32| {
            let at = self.arc.point_at(along(k));
            (at - self.arc.center).unit().map_or(at, |out| at + out * out_mm)
        };
        (0..count).map(place).collect()
    }

    fn is_held(&self, metal: &Metal<'_>) -> bool {
        let lip = self.places(END_LOOKS, metal.half_kerf_mm() + BESIDE_MM);
        lip.into_iter().all(|at| metal.is_held(at))
    }
}

/// Places of a round end's lip at which it is looked whether it is held.
const END_LOOKS: u32 = 3;

/// The round ends of a contour that is no circle, whose outer lip is held.
pub(in super::super) fn round_ends<'a>(
    metal: &'a Metal<'a>,
    contour: &'a Contour,
) -> impl Iterator<Item = RoundEnd> + 'a {
    let path = &metal.list.cut(contour.cut).path;
    let arcs = if round(contour).is_none() { path.arcs(ROUND_MM) } else { Vec::new() };
    let of_contour = arcs.into_iter().filter(|(from_mm, arc)| {
        arc.radius_mm() >= END_LEAST_MM
            && contour.along_mm.start <= from_mm + geometry::SAME_POINT_MM
            && from_mm + arc.length_mm() <= contour.along_mm.end + geometry::SAME_POINT_MM
    });
    let ends = of_contour.filter_map(|(from_mm, arc)| {
        let made = metal.state.made_mm(contour.cut, Depth::Through).iter();
        let within =
            made.map(|made| (made.start - from_mm).max(0.0)..(made.end - from_mm).min(arc.length_mm()));
        let longest = within.max_by(|a, b| (a.end - a.start).total_cmp(&(b.end - b.start)))?;
        (longest.end > longest.start)
            .then(|| RoundEnd { cut: contour.cut, arc: arc.piece(longest.start, longest.end) })
    });
    ends.filter(|end| end.arc.sweep_rad.abs() >= END_RAD && end.is_held(metal))
}

impl Reader<'_> {
    pub(super) fn hole(&self, remarks: &mut Vec<String>) -> Result<Vec<Sighting>, String> {
        let cut = self.cut()?;
        let end = self.round_end_of(cut.id);
        let name =
            end.map_or_else(|| format!("the hole of cut {}", cut.number()), |end| end.name(self.system));
        let round = end.map_or_else(|| self.round_of(cut.id), |end| Ok(end.round()))?;
        if self.row.lip.is_some_and(|lip| lip != Lip::Scrap && lip != Lip::Part) {
            return Err("a hole's edge is sighted on the metal round it, not midway in the kerf".to_owned());
        }
        let places: Vec<_> = self.row.found.iter().map(|found| self.torch_at(*found)).collect();
        if let [center] = places[..] {
            return Ok(vec![Sighting {
                name,
                plan: round.center,
                found: center,
                spread: Spread::Round(self.sigma_mm),
            }]);
        }
        let fit = fit_circle(&places).map_err(|why| match why {
            NoCircle::TooFew => format!("{name} needs three places round its edge, or its centre alone"),
            NoCircle::OnALine => {
                format!("the places on {name} lie nearly in a line; take three all round it")
            }
        })?;
        let (measured, wanted) = (fit.radius_mm, round.radius_mm + self.metal.half_kerf_mm());
        if (measured - wanted).abs() > RADIUS_DOUBT_MM.max(wanted / 10.0) {
            remarks.push(format!(
                "The places on {name} lie on a circle of {} across, and by the program it is {}: is it this hole?",
                Length::from_mm(2.0 * measured).show(self.system),
                Length::from_mm(2.0 * wanted).show(self.system)
            ));
        }
        let covariance = fit.center_cofactor * (self.sigma_mm * self.sigma_mm);
        Ok(vec![Sighting {
            name,
            plan: round.center,
            found: fit.center,
            spread: Spread::Elliptic(covariance),
        }])
    }

    /// The round end of the cut about `plan`, unless a round contour of it lies there.
    fn round_end_of(&self, cut: CutId) -> Option<RoundEnd> {
        let (metal, plan) = (self.metal, self.plan()?);
        let contours = || metal.list.cut(cut).contours.iter().map(|id| metal.list.contour(*id));
        let off = |end: &RoundEnd| end.arc.center.distance(plan);
        let ends =
            contours().flat_map(|contour| round_ends(metal, contour)).filter(|end| off(end) <= SNAP_MM);
        let nearest = ends.min_by(|a, b| off(a).total_cmp(&off(b)))?;
        let mut whole = contours().filter_map(round);
        whole.all(|whole| off(&nearest) < whole.center.distance(plan)).then_some(nearest)
    }

    /// The cut's round contour whose rim is still held; the one nearest to `plan` if there are several.
    fn round_of(&self, cut: CutId) -> Result<Round, String> {
        let metal = self.metal;
        let contours = metal.list.cut(cut).contours.iter().map(|id| metal.list.contour(*id));
        let all: Vec<(&Contour, Round)> = contours.filter_map(|of| Some((of, round(of)?))).collect();
        if all.is_empty() {
            return Err(format!(
                "cut {} makes no round hole; measure a corner or an edge of it, or tell with `plan` the centre of a round end \
                 that is through",
                cut.number()
            ));
        }
        let made = all.into_iter().filter(|(contour, _)| is_half_made(metal, contour));
        let mut round: Vec<Round> = made.map(|(_, round)| round).collect();
        if round.is_empty() {
            return Err(format!(
                "less than half of the hole of cut {} is made, too little to tell its centre",
                cut.number()
            ));
        }
        match (self.plan(), round.len()) {
            (_, 1) => {}
            (Some(plan), _) => {
                round.sort_by(|a, b| a.center.distance(plan).total_cmp(&b.center.distance(plan)));
            }
            (None, several) => {
                return Err(format!(
                    "cut {} makes {several} round holes: tell with `plan` where the program has this one",
                    cut.number()
                ));
            }
        }
        let hole = round[0];
        if let Some(freed_by) = hole.rim_loose(metal) {
            return Err(format!(
                "the metal round it came loose after cut {freed_by} and need not have moved with the plate; measure \
                 something on the skeleton"
            ));
        }
        Ok(hole)
    }
}

impl Round {
    /// Number of the cut that freed the metal round the hole; none if it is held.
    pub(in super::super) fn rim_loose(&self, metal: &Metal<'_>) -> Option<u32> {
        let out = self.radius_mm + metal.half_kerf_mm() + BESIDE_MM;
        metal.loose_cut(Point::new(self.center.x + out, self.center.y))
    }
}

/// Whether half of a contour is through at least: so much of a circle tells its centre.
pub(in super::super) fn is_half_made(metal: &Metal<'_>, contour: &Contour) -> bool {
    let made = metal.state.made_mm(contour.cut, Depth::Through).iter();
    let within = |made: &Range<f64>| {
        (made.end.min(contour.along_mm.end) - made.start.max(contour.along_mm.start)).max(0.0)
    };
    made.map(within).sum::<f64>() >= (contour.along_mm.end - contour.along_mm.start) / 2.0
}

/// The circle that a closed contour is, if it is one.
pub(in super::super) fn round(contour: &Contour) -> Option<Round> {
    let path = contour.closed.as_ref()?.path();
    let mut points: Vec<Point<Program>> = Vec::new();
    for curve in path.curves() {
        // A whole circle may be one arc: four places tell it.
        points.extend([0.0, 0.25, 0.5, 0.75].map(|share| curve.point_at(share * curve.length_mm())));
    }
    let fit = fit_circle(&points).ok()?;
    let strays = points.iter().map(|p| (p.distance(fit.center) - fit.radius_mm).abs()).fold(0.0, f64::max);
    (strays <= ROUND_MM).then_some(Round { center: fit.center, radius_mm: fit.radius_mm })
}
