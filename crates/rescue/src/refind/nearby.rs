//! What could be measured near a place: for whoever points at the picture instead of naming a feature.

use super::features::{corner_of_plate, edge_of_plate, is_half_made, round, round_ends, sighted};
use super::fit::Sighting;
use super::metal::Metal;
use geometry::{Point, Program};
use shop::{Feature, Lip, Measured, PlateSide, SightedBy};
use units::{Length, System};

/// A feature, named as a measurement names it.
#[derive(Clone, Debug, PartialEq)]
pub struct Named {
    /// What it is.
    pub feature: Feature,
    /// The cut whose it is, by number; none if it is the plate's.
    pub cut: Option<u32>,
    /// The side of the plate that it is; none if it is a cut's.
    pub side: Option<PlateSide>,
    /// Where the program has it; for an edge a place near it. None where `cut` or `side` says it all.
    pub plan: Option<Point<Program>>,
    /// It in words.
    pub name: String,
    /// Lips of its kerf that can be sighted, on metal that is held; empty where there is no kerf.
    pub lips: Vec<Lip>,
    /// How many places of it must be sighted at least.
    pub places: usize,
    /// How far from the place asked about it lies, in millimetres.
    pub distance_mm: f64,
}

/// Features named at most.
const NAMED_MOST: usize = 6;

/// Corners and cuts tried at most: those nearest.
const TRIED_MOST: usize = 8;

/// Lips of a kerf, in the order in which they are offered: the scrap's is that of the skeleton.
const LIPS: [Lip; 3] = [Lip::Scrap, Lip::Part, Lip::Middle];

/// Places round a hole's edge that fix its centre.
const PLACES_OF_HOLE: usize = 3;

/// Places of an edge that fix its direction as well.
const PLACES_OF_EDGE: usize = 2;

/// Features within `within_mm` of `at` that can be measured now: single places before edges, the nearest first.
#[must_use]
pub fn nearby(metal: &Metal<'_>, at: Point<Program>, within_mm: f64, system: System) -> Vec<Named> {
    let near = Near { metal, at, within_mm, system };
    let mut points = near.plate_corners();
    points.extend(near.craters());
    points.extend(near.holes());
    points.extend(near.ends_of_marks());
    points.extend(near.kerf_corners());
    let mut edges = near.plate_edges();
    edges.extend(near.kerf_edges());
    for named in [&mut points, &mut edges] {
        named.sort_by(|a, b| a.distance_mm.total_cmp(&b.distance_mm));
    }
    let names: Vec<Named> = points.into_iter().chain(edges).collect();
    let mut all: Vec<Named> = Vec::new();
    for named in names {
        if !all.iter().any(|other| other.name == named.name) {
            all.push(named);
        }
    }
    all.truncate(NAMED_MOST);
    all
}

/// The feature at `plan` that is called `name`, as it is proposed for measuring; none if it cannot be measured there.
#[must_use]
pub fn proposed(metal: &Metal<'_>, plan: Point<Program>, name: &str, system: System) -> Option<Named> {
    // A corner of a kerf is proposed by its lip, and named by where its centre lines meet.
    let all = nearby(metal, plan, SAME_MM + LIP_KERFS * metal.half_kerf_mm(), system);
    // What is proposed says besides where on an edge, or by which places.
    let says = |named: &Named| {
        name.strip_prefix(&named.name).is_some_and(|more| !more.starts_with(|c: char| c.is_ascii_digit()))
    };
    all.into_iter().find(says)
}

/// The feature that a measurement speaks of, wherever it was found; none if it cannot be measured on the plate as it stands.
#[must_use]
pub fn named(metal: &Metal<'_>, row: &Measured, system: System) -> Option<Named> {
    let at = row.plan.map_or(Point::ORIGIN, |[x, y]| Point::new(x.mm(), y.mm()));
    let near = Near { metal, at, within_mm: SAME_MM, system };
    let row = Measured { lip: None, ..row.clone() };
    let row = Measured { found: vec![[Length::ZERO; 2]], by: Some(SightedBy::Tip), ..row };
    near.named(&row, 0.0)
}

/// How many places of a feature must be sighted at least.
const fn places_of(feature: Feature) -> usize {
    match feature {
        Feature::Hole => PLACES_OF_HOLE,
        Feature::Edge => PLACES_OF_EDGE,
        Feature::Point | Feature::Crater | Feature::Dimple | Feature::Corner => 1,
    }
}

/// A feature proposed at a place lies there within this, in millimetres.
const SAME_MM: f64 = 0.5;

/// How far from the corner of its centre lines a kerf's lip lies at most, in half kerfs: that of a corner of 30 degrees.
const LIP_KERFS: f64 = 4.0;

struct Near<'a> {
    metal: &'a Metal<'a>,
    at: Point<Program>,
    within_mm: f64,
    system: System,
}

impl Near<'_> {
    fn distance_mm(&self, p: Point<Program>) -> Option<f64> {
        let distance = p.distance(self.at);
        (distance <= self.within_mm).then_some(distance)
    }

    /// What a measurement of `row` would be a sighting of; none if it cannot be measured.
    fn sighting(&self, row: Measured) -> Option<Sighting> {
        let all = sighted(self.metal, &[row], None, self.system);
        // A remark says that another corner nearby was taken.
        all.sightings.into_iter().next().filter(|_| all.remarks.is_empty())
    }

    /// The feature that `row` speaks of, if it can be measured on the plate as it stands.
    fn named(&self, row: &Measured, distance_mm: f64) -> Option<Named> {
        let places = places_of(row.feature);
        let has_lips = row.cut.is_some() && matches!(row.feature, Feature::Corner | Feature::Edge);
        let can_be_sighted = |lip: &Lip| self.sighting(Measured { lip: Some(*lip), ..row.clone() }).is_some();
        let lips: Vec<Lip> = LIPS.into_iter().filter(|lip| has_lips && can_be_sighted(lip)).collect();
        let lip = lips.first().copied();
        let sighting = self.sighting(Measured { lip, ..row.clone() })?;
        let plan = row.plan.map(|[x, y]| Point::new(x.mm(), y.mm()));
        let Measured { feature, cut, side, .. } = *row;
        Some(Named { feature, cut, side, plan, name: sighting.name, lips, places, distance_mm })
    }

    fn plate_corners(&self) -> Vec<Named> {
        const CORNERS: [PlateSide; 4] =
            [PlateSide::LowerLeft, PlateSide::LowerRight, PlateSide::UpperLeft, PlateSide::UpperRight];
        let curves = self.metal.plate.map_or(&[][..], |plate| plate.path().curves());
        let corner = |side| {
            let (_, at) = corner_of_plate(curves, side)?;
            let row = Measured { side: Some(side), ..row(Feature::Corner) };
            self.named(&row, self.distance_mm(at)?)
        };
        CORNERS.into_iter().filter_map(corner).collect()
    }

    fn plate_edges(&self) -> Vec<Named> {
        const EDGES: [PlateSide; 4] = [PlateSide::Left, PlateSide::Right, PlateSide::Bottom, PlateSide::Top];
        let curves = self.metal.plate.map_or(&[][..], |plate| plate.path().curves());
        let edge = |side| {
            let (_, edge) = edge_of_plate(curves, side)?;
            let distance_mm = edge.nearest(self.at).distance_mm;
            let row = Measured { side: Some(side), ..row(Feature::Edge) };
            (distance_mm <= self.within_mm).then(|| self.named(&row, distance_mm))?
        };
        EDGES.into_iter().filter_map(edge).collect()
    }

    fn craters(&self) -> Vec<Named> {
        let made = self.metal.state.craters(self.metal.list);
        let near = made.filter_map(|crater| Some((self.distance_mm(crater.at)?, crater.cut)));
        let rows = near.map(|(distance, cut)| (distance, of_cut(Feature::Crater, cut.number(), None)));
        self.nearest(rows.collect())
    }

    fn holes(&self) -> Vec<Named> {
        let Metal { list, state, .. } = *self.metal;
        let gone = state.loose().iter().map(|piece| list.contour(piece.outline));
        let near = list.cuts.iter().filter(|cut| self.is_near(cut));
        let contours = near.flat_map(|cut| cut.contours.iter().map(|id| list.contour(*id)));
        let half_made = contours.clone().filter(|contour| is_half_made(self.metal, contour));
        let rounds = gone.chain(half_made).filter_map(|contour| Some((contour.cut, round(contour)?)));
        let ends = contours
            .flat_map(|contour| round_ends(self.metal, contour).map(|end| (contour.cut, end.round())));
        let near = rounds.chain(ends).filter_map(|(cut, round)| {
            let distance = round.center.distance(self.at);
            (distance <= self.within_mm.max(round.radius_mm))
                .then(|| (distance, of_cut(Feature::Hole, cut.number(), Some(round.center))))
        });
        self.nearest(near.collect())
    }

    fn ends_of_marks(&self) -> Vec<Named> {
        let list = self.metal.list;
        let marks = list.cuts.iter().filter(|cut| cut.is_mark && self.metal.state.is_whole(list, cut.id));
        let ends =
            marks.flat_map(|cut| [0.0, cut.path.length_mm()].map(|along_mm| cut.path.point_at(along_mm)));
        let near = ends.flatten().filter_map(|end| {
            let plan = Some([Length::from_mm(end.x), Length::from_mm(end.y)]);
            Some((self.distance_mm(end)?, Measured { plan, ..row(Feature::Point) }))
        });
        self.nearest(near.collect())
    }

    fn kerf_corners(&self) -> Vec<Named> {
        let cuts = self.metal.list.cuts.iter().filter(|cut| self.is_near(cut));
        let corners = cuts.flat_map(|cut| cut.path.curves().iter().map(move |curve| (cut, curve.from())));
        let near = corners.filter_map(|(cut, corner)| {
            Some((self.distance_mm(corner)?, of_cut(Feature::Corner, cut.number(), Some(corner))))
        });
        self.nearest(near.collect())
    }

    fn kerf_edges(&self) -> Vec<Named> {
        let cuts = self.metal.list.cuts.iter().filter(|cut| self.is_near(cut));
        let near = cuts.filter_map(|cut| {
            let near = cut.path.nearest(self.at).filter(|near| near.distance_mm <= self.within_mm)?;
            Some((near.distance_mm, of_cut(Feature::Edge, cut.number(), Some(near.point))))
        });
        self.nearest(near.collect())
    }

    fn is_near(&self, cut: &cuts::Cut) -> bool {
        let bounds = cut.path.bounds().map(|bounds| bounds.grown(self.within_mm));
        !cut.is_mark && bounds.is_some_and(|bounds| bounds.contains(self.at))
    }

    /// Those of `rows` that can be measured, the nearest first.
    fn nearest(&self, mut rows: Vec<(f64, Measured)>) -> Vec<Named> {
        rows.sort_by(|a, b| a.0.total_cmp(&b.0));
        let nearest = rows.into_iter().take(TRIED_MOST);
        nearest.filter_map(|(distance_mm, row)| self.named(&row, distance_mm)).collect()
    }
}

fn of_cut(feature: Feature, cut: u32, plan: Option<Point<Program>>) -> Measured {
    let plan = plan.map(|p| [Length::from_mm(p.x), Length::from_mm(p.y)]);
    Measured { cut: Some(cut), plan, ..row(feature) }
}

/// A measurement of a feature, found somewhere.
fn row(feature: Feature) -> Measured {
    Measured {
        feature,
        cut: None,
        side: None,
        plan: None,
        to: None,
        found: vec![[Length::ZERO; 2]],
        lip: None,
        // The tip has no offset that could be asked for.
        by: Some(SightedBy::Tip),
        sigma: None,
    }
}
