//! The whole answer to "where is the plate now?": the pose, how well each remaining cut will land by it, what becomes of
//! each part, and what to measure next.

use super::candidates::candidates;
use super::features::{Sighted, shown, sighted};
use super::fit::{NoFit, PoseFit, Sighting, Spread};
use super::judge::{GrowthLimits, Judgement, Verdict, judge, laid_elsewhere};
use super::metal::Metal;
use super::offset;
use super::pose::{landing_at, pose_of, surely_at_mm, worst_at_mm};
use super::predict::{Candidate, Gain, Landing, hull, next_to_measure};
use super::sentences;
use cuts::{Cut, CutId, Depth, PartId};
use geometry::{Placement, Point, Program, Table};
use nalgebra::Matrix2;
use proof::Pose;
use shop::{Material, Measured, Pointer, SightedBy};
use std::collections::{BTreeMap, BTreeSet};
use units::{Length, System};

/// What is asked.
#[derive(Clone, Copy, Debug)]
pub struct Question<'a> {
    /// The plate as it stands.
    pub metal: Metal<'a>,
    /// What was measured.
    pub measured: &'a [Measured],
    /// The pointer, if told.
    pub pointer: Option<&'a Pointer>,
    /// The plate's material, if told: how much it grows when warm.
    pub material: Option<Material>,
    /// How far off its place a cut may land.
    pub tolerance: Length,
    /// Where the plate lay before, if it had moved already.
    pub before: Option<&'a Pose>,
    /// Parts given up before.
    pub given_up: &'a [PartId],
    /// Only the plate's own corners and edges tell: its cuts were made with a wrong datum.
    pub only_plate: bool,
    /// Units to speak in.
    pub system: System,
}

/// How well a remaining cut will land.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CutLanding {
    /// The cut.
    pub cut: CutId,
    /// The worst 95 % landing over its path.
    pub landing: Landing,
    /// Where the interrupted kerf goes on, the landing there; none if nothing of the cut is made.
    pub at_join: Option<Landing>,
    /// How far off it may land, in millimetres: the tolerance, and where nothing of its parts was cut before the move
    /// also the room to what was.
    pub limit_mm: f64,
    /// Whether it lands within the tolerance itself 9,999 times in 10,000, whatever room there is besides.
    pub sure: bool,
}

/// What becomes of a part.
#[derive(Clone, Debug, PartialEq)]
pub enum Fate {
    /// All its remaining cuts land within the tolerance.
    Safe,
    /// They will, if these are measured as well, in this order.
    SafeIfAlso(Vec<Next>),
    /// They do not, whatever of the plate is measured besides.
    Lost,
}

/// A part with cuts left.
#[derive(Clone, Debug, PartialEq)]
pub struct PartLanding {
    /// The part.
    pub part: PartId,
    /// The worst 95 % landing of its remaining cuts, in millimetres.
    pub worst_mm: f64,
    /// Whether something of it is cut already, so that what follows must fit to that.
    pub begun: bool,
    /// What becomes of it.
    pub fate: Fate,
    /// Whether all its remaining cuts land within the tolerance 9,999 times in 10,000.
    pub sure: bool,
}

/// What measuring one more feature brings.
#[derive(Clone, Debug, PartialEq)]
pub struct Next {
    /// The feature.
    pub name: String,
    /// Where the program has it.
    pub plan: Point<Program>,
    /// About where the control will show it, by the present pose; none where there is none yet.
    pub expected: Option<Point<Table>>,
    /// The worst landing of all remaining cuts afterwards, in millimetres; none where there is no pose yet.
    pub worst_mm: Option<f64>,
}

impl Next {
    /// What to measure and where the program has it, in words.
    #[must_use]
    pub fn placed(&self, system: System) -> String {
        let at = shown(self.plan.x, self.plan.y, system);
        if self.name.contains(&at) {
            return self.name.clone();
        }
        format!("{}, by the program at {at}", self.name)
    }

    /// What to measure, in words: the first few by name.
    #[must_use]
    pub fn several(all: &[Self]) -> String {
        let (named, more) = all.split_at(all.len().min(NAMED_MOST));
        let named: Vec<&str> = named.iter().map(|next| next.name.as_str()).collect();
        let more = match more.len() {
            0 => String::new(),
            1 => ", then one more that is named after these".to_owned(),
            count => format!(", then {count} more that are named after these"),
        };
        named.join(" and ") + &more
    }
}

/// The pose as it is keyed in at the control.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KeyIn {
    /// Turn of the plate, counter-clockwise, in degrees.
    pub turn_deg: f64,
    /// Where the program's zero lies now, as the control shows it.
    pub zero: Point<Table>,
    /// How far the farthest remaining cut would land off its place if only the zero were moved and nothing turned, in
    /// millimetres.
    pub unturned_mm: f64,
}

/// A known place to visit with the torch before the start.
#[derive(Clone, Debug, PartialEq)]
pub struct Visit {
    /// The feature.
    pub name: String,
    /// What the control must show with the torch's tip on it.
    pub shows: Point<Table>,
    /// How far off that may be, in millimetres: the landing there and the tip's own error.
    pub within_mm: f64,
}

/// The answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Refound {
    /// What the measurements came to.
    pub sighted: Sighted,
    /// The fit and what the sightings say together; none if they fix no pose.
    pub judgement: Option<Judgement>,
    /// The pose, if a program may be written on it.
    pub pose: Option<Pose>,
    /// Where the plate's edges lie, seen from where they were told, if the readings show that it never lay there.
    pub edges: Option<Placement<Program, Program>>,
    /// What the sightings say, in plain words.
    pub verdict: String,
    /// What to do about it.
    pub to_do: String,
    /// What to beware of, a sentence each.
    pub warnings: Vec<String>,
    /// The pose to key in.
    pub key_in: Option<KeyIn>,
    /// The remaining cuts, in order.
    pub cuts: Vec<CutLanding>,
    /// The parts with cuts left, in order.
    pub parts: Vec<PartLanding>,
    /// What to measure next, what brings most first.
    pub next: Vec<Next>,
    /// A known place to visit before the start.
    pub visit: Option<Visit>,
    /// How far off a cut may land.
    pub tolerance: Length,
}

/// Features of a list that are called by their names in a sentence.
const NAMED_MOST: usize = 4;

/// Features proposed.
const NEXT_MOST: usize = 5;

/// Room that is not counted on, in millimetres: what rounding may take.
const ROOM_MM: f64 = 0.05;

/// Further features that a part is given before all is taken once more: as many as a patient hand sights in a quarter of an
/// hour.
const FURTHER_MOST: usize = 16;

/// How often each reading is taken once more before a part counts as lost.
const AGAIN_MOST: usize = 2;

/// Finds the plate.
///
/// **Cost**: n log n in the cuts and features; some hundred features are weighed, however many there are.
#[must_use]
pub fn refind(question: &Question<'_>) -> Refound {
    let Question { metal, measured, pointer, system, .. } = *question;
    let usable: Vec<Measured> =
        measured.iter().filter(|row| !question.only_plate || row.side.is_some()).cloned().collect();
    let mut sighted = sighted(&metal, &usable, pointer, system);
    if usable.len() < measured.len() {
        sighted.refused.push(
            "After a wrong datum only the plate's own corners and edges tell where it lies; what was cut is left out."
                .to_owned(),
        );
    }
    let sigma_mm = sigma_of(measured);
    let mut features = candidates(&metal, &sighted.sightings, sigma_mm, system);
    if question.only_plate {
        features.retain(|feature| feature.name.starts_with("the plate's"));
    }
    let before = question.before.map_or(Placement::IDENTITY, |pose| in_control(&pose.placement));
    let limits = limits_of(question.material);
    let is_of_plate = |sighting: &Sighting| metal.is_on_edge(sighting.plan);
    let mut edges = None;
    let judged = judge(&sighted.sightings, &before, &limits).map(|judgement| {
        let judgement = offset::pointer_off(&sighted, &judgement, &before).unwrap_or(judgement);
        let elsewhere = laid_elsewhere(&sighted.sightings, &is_of_plate, &judgement, &before);
        let Some((judgement, lie)) = elsewhere.filter(|_| !question.only_plate) else { return judgement };
        edges = Some(lie);
        judgement
    });
    let is_looked_at = judged.as_ref().is_ok_and(|judgement| offset::is_looked_at(&sighted, judgement));
    let beware = (sighted.pointer_unchecked && !is_looked_at).then(|| offset::UNCHECKED.to_owned());
    let sound = !sighted.offset_at_odds;
    let mut found = Refound {
        verdict: String::new(),
        to_do: String::new(),
        warnings: beware.into_iter().chain(sighted.remarks.clone()).collect(),
        judgement: None,
        pose: None,
        edges,
        key_in: None,
        cuts: Vec::new(),
        parts: Vec::new(),
        next: Vec::new(),
        visit: None,
        tolerance: question.tolerance,
        sighted,
    };
    match judged {
        Err(none) => without_fit(&mut found, none, &features),
        Ok(judgement) => with_fit(question, &mut found, judgement, &features, sound),
    }
    found
}

/// How well a further feature will be read: as those before were.
fn sigma_of(measured: &[Measured]) -> f64 {
    let of = |row: &Measured| row.sigma.unwrap_or(row.by.unwrap_or(SightedBy::Pointer).sigma()).mm();
    measured.iter().map(of).reduce(f64::max).unwrap_or_else(|| SightedBy::Pointer.sigma().mm())
}

fn in_control(placement: &Placement<Program, Program>) -> Placement<Program, Table> {
    Placement::new(placement.angle_rad(), Point::new(placement.origin().x, placement.origin().y))
}

/// Linear expansion by material, per kelvin (values from memory, as handbooks give them for 20 to 100 °C), and how far a
/// plate as a whole is taken to warm while it is cut (common practice: too hot to touch, not glowing).
fn limits_of(material: Option<Material>) -> GrowthLimits {
    let expansion_per_k = match material {
        Some(Material::Stainless) => 17e-6,
        Some(Material::Aluminium) => 23e-6,
        Some(Material::MildSteel | Material::Galvanised) | None => 12e-6,
    };
    GrowthLimits { expansion_per_k, warmed_k_max: 80.0 }
}

fn without_fit(found: &mut Refound, none: NoFit, features: &[Candidate]) {
    (found.verdict, found.to_do) = sentences::of_no_fit(&found.sighted, none);
    found.next = far_apart(&found.sighted.sightings, features)
        .into_iter()
        .map(|candidate| Next {
            name: candidate.name.clone(),
            plan: candidate.plan,
            expected: None,
            worst_mm: None,
        })
        .collect();
}

/// Features that lie as far from each other and from what was measured as can be: the first ones to measure.
fn far_apart<'c>(used: &[Sighting], features: &'c [Candidate]) -> Vec<&'c Candidate> {
    let points: Vec<&Candidate> =
        features.iter().filter(|c| !matches!(c.spread, Spread::Across { .. })).collect();
    let mut taken: Vec<Point<Program>> = used.iter().filter(|s| s.is_point()).map(|s| s.plan).collect();
    let mut chosen: Vec<&Candidate> = Vec::new();
    while chosen.len() < 3 {
        let lonely = |c: &&&Candidate| match taken.iter().map(|p| p.distance(c.plan)).reduce(f64::min) {
            Some(nearest) => nearest,
            // The first of all: the farthest from the middle of all.
            None => c.plan.distance(middle_of(&points)),
        };
        let next = points.iter().max_by(|a, b| lonely(a).total_cmp(&lonely(b)));
        let Some(next) = next.filter(|c| !taken.contains(&c.plan)) else { break };
        taken.push(next.plan);
        chosen.push(next);
    }
    chosen
}

fn middle_of(points: &[&Candidate]) -> Point<Program> {
    let bounds = geometry::Bounds::around(points.iter().map(|c| c.plan));
    bounds.map_or(Point::ORIGIN, |bounds| bounds.min.lerp(bounds.max, 0.5))
}

fn with_fit(
    question: &Question<'_>,
    found: &mut Refound,
    judgement: Judgement,
    features: &[Candidate],
    offset_sound: bool,
) {
    let metal = question.metal;
    let anchored = question.only_plate || is_anchored(question, found, &judgement);
    // Once the plate lies elsewhere than told, or nobody knows whether it does, only what was cut tells where the rest goes.
    let only_cuts = found.edges.is_some() || !anchored;
    let features: Vec<Candidate> =
        features.iter().filter(|feature| !only_cuts || !metal.is_on_edge(feature.plan)).cloned().collect();
    let used =
        found.sighted.sightings.iter().filter(|sighting| !only_cuts || !metal.is_on_edge(sighting.plan));
    let used: Vec<Sighting> = used.cloned().collect();
    let remaining = remaining(question);
    let corners: Vec<Point<Program>> = remaining.iter().flat_map(|cut| corners_of(cut)).collect();
    let outer = hull(&corners);
    let shared_mm2 = found.sighted.shared_mm2;
    let fit = &judgement.fit;
    let pose_by = |fit: &PoseFit| pose_of(fit, shared_mm2, question.tolerance);
    let worst_by = |fit: &PoseFit, targets: &[Point<Program>]| {
        pose_by(fit).map_or(f64::INFINITY, |pose| worst_of(&pose, targets))
    };
    (found.verdict, found.to_do) =
        sentences::of_judgement(&found.sighted, &judgement, question.system, &limits_of(question.material));
    let places = judgement.verdict.places();
    let mut gains = next_to_measure(fit, &features, |fit| worst_by(fit, &outer));
    if !anchored {
        // First what ties it to what was cut in both directions, with what was sighted of that already.
        let told = told_of_cuts(question, found, &judgement);
        let untied_mm =
            |gain: &Gain| untied_mm(told + told_of_shift(&features[gain.candidate].spread, &fit.placement()));
        gains.sort_by(|a, b| untied_mm(a).total_cmp(&untied_mm(b)));
    }
    found.next = gains
        .into_iter()
        .take(NEXT_MOST)
        .map(|gain| Next {
            name: features[gain.candidate].name.clone(),
            plan: features[gain.candidate].plan,
            expected: places.then(|| fit.map(features[gain.candidate].plan)),
            worst_mm: (places && gain.worst_mm.is_finite()).then_some(gain.worst_mm),
        })
        .collect();
    if !anchored && judgement.usable {
        found.to_do = sentences::of_unanchored(&found.next, question.system);
        if let Verdict::OneBad { which, off_mm } = judgement.verdict {
            let name = &found.sighted.sightings[which].name;
            found.verdict = sentences::of_torn(name, off_mm, question.system);
        }
    }
    found.pose = pose_by(fit).filter(|_| judgement.usable && offset_sound && anchored);
    if let Some(pose) = found.pose.clone() {
        found.cuts = remaining.iter().map(|cut| landing_of(question, &pose, cut)).collect();
        found.parts = fates(question, &found.cuts, fit, (&used, &features), &pose_by);
        found.key_in = Some(key_in(&pose, &outer));
        found.visit = visit(&pose, &used, &found.next, &features);
        if found.cuts.is_empty() {
            found.warnings.push("Nothing is left to cut on this plate.".to_owned());
        }
    }
    found.judgement = Some(judgement);
}

/// Whether what the pose goes by ties it to what was cut, in both directions as well as the rest must land: the plate's own
/// corners and edges do not, since the datum may have been off by as much as nobody saw, and an edge of a kerf says nothing
/// along itself. Where nothing is cut there is nothing to be tied to.
fn is_anchored(question: &Question<'_>, found: &Refound, judgement: &Judgement) -> bool {
    let Metal { list, state, .. } = question.metal;
    let is_begun = |cut: &Cut| !state.made_mm(cut.id, Depth::Groove).is_empty();
    let enough_mm = question.tolerance.mm().max(SightedBy::Pointer.sigma().mm()) + ROOM_MM;
    !list.cuts.iter().any(is_begun) || untied_mm(told_of_cuts(question, found, judgement)) <= enough_mm
}

/// What the pose goes by tells of where what was cut is shifted to, as information in 1/mm², in the table's axes.
fn told_of_cuts(question: &Question<'_>, found: &Refound, judgement: &Judgement) -> Matrix2<f64> {
    let left_out = match judgement.verdict {
        Verdict::OneBad { which, .. } => Some(which),
        _ => None,
    };
    let gone_by = found.sighted.sightings.iter().enumerate().filter(|(k, _)| Some(*k) != left_out);
    let of_cuts = gone_by.filter(|(_, sighting)| !question.metal.is_on_edge(sighting.plan));
    of_cuts.fold(Matrix2::zeros(), |told, (_, sighting)| {
        told + told_of_shift(&sighting.spread, &judgement.fit.placement())
    })
}

/// One standard deviation of a shift of which so much is told, in millimetres, in the direction in which it is told least.
fn untied_mm(told: Matrix2<f64>) -> f64 {
    told.symmetric_eigenvalues().min().max(0.0).sqrt().recip()
}

/// What a sighting tells of where a plate that lies so is shifted to besides, as information in 1/mm², in the table's axes.
fn told_of_shift(spread: &Spread, placement: &Placement<Program, Table>) -> Matrix2<f64> {
    match *spread {
        Spread::Round(sigma_mm) => Matrix2::identity() / sigma_mm.powi(2),
        Spread::Elliptic(covariance) => covariance.try_inverse().unwrap_or_default(),
        Spread::Across { direction, sigma_mm } => {
            let across = placement.vector(direction).left();
            let across = nalgebra::Vector2::new(across.x, across.y);
            across * across.transpose() / sigma_mm.powi(2)
        }
    }
}

/// Cuts not yet whole, without those that serve only parts given up.
fn remaining<'a>(question: &Question<'a>) -> Vec<&'a Cut> {
    let list = question.metal.list;
    let given_up: BTreeSet<PartId> = question.given_up.iter().copied().collect();
    let only_given_up = |cut: &Cut| {
        let mut parts = question.metal.parts_of(cut).peekable();
        parts.peek().is_some() && parts.all(|part| given_up.contains(&part))
    };
    let open = list.cuts.iter().filter(|cut| !question.metal.state.is_whole(list, cut.id));
    open.filter(|cut| !only_given_up(cut)).collect()
}

/// Corners of the box round a cut, its pierce included. Landing errors are convex in the place, so that no point of the
/// cut lands worse.
fn corners_of(cut: &Cut) -> [Point<Program>; 4] {
    let pierce = geometry::Bounds { min: cut.pierce.at, max: cut.pierce.at };
    let bounds = cut.path.bounds().map_or(pierce, |bounds| bounds.union(pierce));
    let (min, max) = (bounds.min, bounds.max);
    [min, Point::new(max.x, min.y), max, Point::new(min.x, max.y)]
}

fn worst_of(pose: &Pose, targets: &[Point<Program>]) -> f64 {
    targets.iter().map(|p| worst_at_mm(pose, *p)).fold(0.0, f64::max)
}

fn landing_of(question: &Question<'_>, pose: &Pose, cut: &Cut) -> CutLanding {
    let worst =
        corners_of(cut).into_iter().max_by(|a, b| worst_at_mm(pose, *a).total_cmp(&worst_at_mm(pose, *b)));
    let made = question.metal.state.made_mm(cut.id, Depth::Groove).last();
    let join = made.filter(|made| made.end > 0.0).and_then(|made| cut.path.point_at(made.end));
    let landing = landing_at(pose, worst.unwrap_or(cut.pierce.at));
    let tolerance_mm = question.tolerance.mm();
    let limit_mm = |worst_mm: f64| {
        let over_mm = worst_mm - tolerance_mm;
        let room = if over_mm > 0.0 { question.metal.room_mm(cut, over_mm + ROOM_MM) } else { None };
        tolerance_mm + room.map_or(0.0, |room| (room - ROOM_MM).max(0.0))
    };
    let surely_mm = corners_of(cut).into_iter().map(|p| surely_at_mm(pose, p)).fold(0.0, f64::max);
    CutLanding {
        cut: cut.id,
        landing,
        at_join: join.map(|at| landing_at(pose, at)),
        limit_mm: limit_mm(landing.worst_mm),
        sure: surely_mm <= tolerance_mm,
    }
}

/// What becomes of each part: further features are measured in thought, each time the one that helps the worst of what
/// is not yet safe, then those that were used once more, until all is safe or nothing helps.
fn fates(
    question: &Question<'_>,
    cuts: &[CutLanding],
    fit: &PoseFit,
    (used, features): (&[Sighting], &[Candidate]),
    pose_by: &dyn Fn(&PoseFit) -> Option<Pose>,
) -> Vec<PartLanding> {
    let parts = by_part(question, cuts);
    let is_safe = |landing: &CutLanding, worst_mm: f64| worst_mm <= landing.limit_mm;
    let mut fate: Vec<Option<Fate>> = parts
        .iter()
        .map(|(_, of_it)| of_it.iter().all(|cut| is_safe(cut, cut.landing.worst_mm)).then_some(Fate::Safe))
        .collect();
    let corners = |landing: &CutLanding| corners_of(question.metal.list.cut(landing.cut));
    let (mut further, mut also, mut left) = (fit.clone(), Vec::new(), features.to_vec());
    let again = once_more(used);
    for further_one in 0..FURTHER_MOST + again.len() {
        if further_one == FURTHER_MOST || left.is_empty() && also.len() < FURTHER_MOST {
            left.clone_from(&again);
        }
        let open: Vec<usize> = (0..parts.len()).filter(|k| fate[*k].is_none()).collect();
        if open.is_empty() {
            break;
        }
        let targets = open.iter().flat_map(|k| parts[*k].1.iter().flat_map(|cut| corners(cut)));
        let outer = hull(&targets.collect::<Vec<_>>());
        let worst = |fit: &PoseFit| pose_by(fit).map_or(f64::INFINITY, |pose| worst_of(&pose, &outer));
        let gains = next_to_measure(&further, &left, worst);
        let Some(gain) = gains.first() else { break };
        let feature = left.remove(gain.candidate);
        let Some(next) = further.if_also_measured(&feature) else { break };
        further = next;
        also.push(Next {
            expected: Some(further.map(feature.plan)),
            name: feature.name,
            plan: feature.plan,
            worst_mm: gain.worst_mm.is_finite().then_some(gain.worst_mm),
        });
        let Some(pose) = pose_by(&further) else { break };
        for k in open {
            if parts[k].1.iter().all(|cut| is_safe(cut, worst_of(&pose, &corners(cut)))) {
                fate[k] = Some(Fate::SafeIfAlso(also.clone()));
            }
        }
    }
    let with_fate = parts.iter().zip(fate);
    with_fate
        .map(|((part, of_it), fate)| PartLanding {
            part: *part,
            worst_mm: of_it.iter().map(|cut| cut.landing.worst_mm).fold(0.0, f64::max),
            begun: question.metal.is_begun(*part),
            fate: fate.unwrap_or(Fate::Lost),
            sure: of_it.iter().all(|cut| cut.sure),
        })
        .collect()
}

/// What was sighted, to be read once more, as often as that is asked for.
fn once_more(used: &[Sighting]) -> Vec<Candidate> {
    let again = |sighting: &Sighting| Candidate {
        name: format!("{} once more", sighting.name),
        plan: sighting.plan,
        spread: sighting.spread,
    };
    let rounds = (0..AGAIN_MOST).flat_map(|_| used.iter());
    rounds.map(again).collect()
}

/// The remaining cuts of each part, parts in order.
fn by_part<'c>(question: &Question<'_>, cuts: &'c [CutLanding]) -> Vec<(PartId, Vec<&'c CutLanding>)> {
    let mut parts: BTreeMap<PartId, Vec<&CutLanding>> = BTreeMap::new();
    for landing in cuts {
        let serves: BTreeSet<PartId> =
            question.metal.parts_of(question.metal.list.cut(landing.cut)).collect();
        for part in serves {
            parts.entry(part).or_default().push(landing);
        }
    }
    parts.into_iter().collect()
}

fn key_in(pose: &Pose, outer: &[Point<Program>]) -> KeyIn {
    let (turn, zero) = (pose.placement.angle_rad(), pose.placement.origin());
    // A turn left out moves a place by twice its distance from zero times the sine of half the turn.
    let farthest = outer.iter().map(|p| p.distance(Point::ORIGIN)).fold(0.0, f64::max);
    KeyIn {
        turn_deg: turn.to_degrees(),
        zero: Point::new(zero.x, zero.y),
        unturned_mm: 2.0 * farthest * (turn / 2.0).sin().abs(),
    }
}

/// A known place to visit: what was not measured and tells most; else what was measured farthest out.
fn visit(pose: &Pose, used: &[Sighting], next: &[Next], features: &[Candidate]) -> Option<Visit> {
    let is_point =
        |name: &str| features.iter().any(|c| c.name == name && !matches!(c.spread, Spread::Across { .. }));
    let fresh = next.iter().find(|next| is_point(&next.name)).map(|next| (next.name.clone(), next.plan));
    let known = || {
        let points = used.iter().filter(|sighting| sighting.is_point());
        let far = points.max_by(|a, b| {
            let of = |s: &Sighting| s.plan.distance(pose.pivot);
            of(a).total_cmp(&of(b))
        });
        far.map(|sighting| (sighting.name.clone(), sighting.plan))
    };
    let (name, plan) = fresh.or_else(known)?;
    let at = pose.placement.point(plan);
    let tip_mm = super::predict::CHI2_95_2D.sqrt() * SightedBy::Tip.sigma().mm();
    Some(Visit { name, shows: Point::new(at.x, at.y), within_mm: worst_at_mm(pose, plan).hypot(tip_mm) })
}

impl Refound {
    /// Turns the answer to that of a wrong datum: the plate's place is told, but nothing is written for it; `to_do` is what to
    /// measure, if nobody knows its edges.
    pub(crate) fn say_wrong_datum(&mut self, edges_known: bool, to_do: Option<String>) {
        let onto = if edges_known {
            "as far as it lies on the plate, whose edges are taken where they were measured"
        } else {
            "and nobody has told where the plate's edges lie: that it stays on the plate is not proven"
        };
        self.verdict = format!(
            "{} The plate has not moved: what is cut and what is left still fit each other. The rest goes on in the \
             datum that the plate was begun with, {onto}.",
            self.verdict
        );
        if let Some(to_do) = to_do {
            self.to_do = to_do;
        }
        self.cuts.clear();
        self.parts.clear();
        self.pose = None;
        self.key_in = None;
        self.visit = None;
    }

    /// What becomes of a part, in words.
    #[must_use]
    pub fn fate_in_words(&self, part: &PartLanding) -> String {
        match &part.fate {
            Fate::Safe if part.worst_mm <= self.tolerance.mm() => "Safe".to_owned(),
            Fate::Safe => {
                "Safe, for nothing of it was cut before: it comes out true, and there is room for its place to be off"
                    .to_owned()
            }
            Fate::SafeIfAlso(also) => format!("Safe if you also measure {}", Next::several(also)),
            Fate::Lost => "Lost by this tolerance, whatever is measured besides".to_owned(),
        }
    }

    /// Whether the sightings were judged to hold together.
    #[must_use]
    pub fn is_usable(&self) -> bool {
        self.pose.is_some()
    }

    /// How far off the fit a sighting was found, as the control shows it; across itself only for an edge. None where
    /// there is no fit. A sighting that was left out is held against the fit all the same.
    #[must_use]
    pub fn off_mm(&self, sighting: &Sighting) -> Option<geometry::Vector<Table>> {
        let fit = &self.judgement.as_ref()?.fit;
        let off = sighting.found - fit.map(sighting.plan);
        let Spread::Across { direction, .. } = sighting.spread else { return Some(off) };
        let along = fit.placement().vector(direction).unit()?;
        Some(off + along * -off.dot(along))
    }

    /// What the sightings say together, if they fix a pose.
    #[must_use]
    pub fn said(&self) -> Option<Verdict> {
        self.judgement.as_ref().map(|judgement| judgement.verdict)
    }
}
