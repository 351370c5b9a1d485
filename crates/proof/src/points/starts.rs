//! Point 4: each start has sound metal under its crater and its touch-off, the plate is found before it, and the arc
//! then never runs over a void for longer than it lives.

mod bearing;
mod joins;
pub(crate) mod voids;

use super::effect::KeptLeg;
use crate::legs::Moment;
use crate::plate_edge::past_edge_mm;
use crate::record::Record;
use crate::timeline::{Crater, Kerf, Timeline};
use crate::tolerance::PATH_MM;
use crate::view::View;
use crate::{Case, JoinStart, Reason, reason};
use bearing::{Bearing, OPEN_MOST, Place, degrees};
use cuts::CutId;
use geometry::{Point, Program, Side};
use nc::{EventKind, Height, HeightBase, TouchOffBy};
use std::collections::BTreeSet;

/// How much wider or narrower than told a blown hole may be, in radius, in millimetres: its edge is ragged by so much
/// (common practice).
const HOLE_RAGGED_MM: f64 = 0.5;

/// Radius of a crater: as told, else the width of the kerf (see [`crate::Ground::crater_radius`]). A mark has none but
/// the spot that it begins with.
pub(crate) fn crater_mm(case: &Case<'_>, cut: CutId) -> f64 {
    if case.original.list.cut(cut).is_mark { case.ground.kerf.mm() / 2.0 } else { full_crater_mm(case) }
}

/// Radius of the crater of a pierce.
pub(crate) fn full_crater_mm(case: &Case<'_>) -> f64 {
    case.ground.crater_radius.unwrap_or(case.ground.kerf).mm()
}

/// Looks at every start; the burns are looked at by [`voids`].
///
/// # Errors
/// Point 4.
pub(crate) fn sound(
    case: &Case<'_>,
    written: &View<'_>,
    kept: &[KeptLeg],
    timeline: &Timeline,
    record: &mut Record,
) -> Result<(), Reason> {
    let mut starts = Starts {
        case,
        written,
        timeline,
        clear_mm: f64::INFINITY,
        foot_clear_mm: f64::INFINITY,
        open: None,
        lips_of: BTreeSet::new(),
        freed_by: BTreeSet::new(),
        flat_from: BTreeSet::new(),
    };
    for (n, leg) in kept.iter().enumerate() {
        starts.one(n, leg)?;
    }
    if starts.clear_mm.is_finite() {
        record.figure("least metal between a crater and a void", starts.clear_mm, 0.0, "mm");
    }
    if starts.foot_clear_mm.is_finite() {
        record.figure(
            "least metal between a touch-off's footprint and a void",
            starts.foot_clear_mm,
            0.0,
            "mm",
        );
    }
    if let Some(open) = starts.open {
        record.figure(
            "most of a tip's rim in one piece without plate under it, the torch off as it may be",
            degrees(open),
            degrees(OPEN_MOST),
            "degrees",
        );
    }
    for cut in &starts.lips_of {
        record.needs(format!(
            "No slag stands on the lips of cut {}'s old kerf where the torch comes down on it to find the plate.",
            cut.number()
        ));
    }
    for cut in &starts.freed_by {
        record.needs(format!(
            "What cut {} has freed does not come up under the tip: it lies below, is taken out, or lies flat and does not tip \
             when pushed at.",
            cut.number()
        ));
    }
    for cut in &starts.flat_from {
        record.needs(format!(
            "What cut {} has freed still lies flat when the torch comes down beside it, as high as the plate, and does not tip \
             when pushed at: the tip may rest on it.",
            cut.number()
        ));
    }
    if case.ground.plate.is_none() && !kept.is_empty() {
        record.lacks(match case.ground.surely_plate {
            None => "That every start and cut lies on the plate: the plate's outline was not told.",
            Some(_) => {
                "That every start and cut lies on the plate: the plate's outline lies elsewhere than told, and was not measured."
            }
        });
    }
    joins::sound(case, written, kept, timeline, record)?;
    touched_off(case, written, kept, record)
}

/// How far a pilot arc reaches to a wall at most, in millimetres, from a torch at cut height. Common practice is half a
/// millimetre more, by which a hole may be wider than it was told.
const PILOT_MM: f64 = 2.0;

/// How far it surely reaches at the lowest heights: a cut height of 1.5 mm and a pierce from one and a half cut heights (common practice;
/// 1.68 mm by Pythagoras).
const PILOT_LOWEST_MM: f64 = 1.6;

/// Metal this far beyond a crater or footprint is looked at, in millimetres; farther off it is not measured.
const LOOK_MM: f64 = 1.0;

struct Starts<'a> {
    case: &'a Case<'a>,
    written: &'a View<'a>,
    timeline: &'a Timeline<'a>,
    clear_mm: f64,
    foot_clear_mm: f64,
    /// The most of a tip's rim in one piece, in directions, that has no plate under it where it comes down on gaps.
    open: Option<usize>,
    /// The cuts on whose kerfs a tip comes down.
    lips_of: BTreeSet<CutId>,
    /// The cuts that have freed what may lie loose under a tip.
    freed_by: BTreeSet<CutId>,
    /// The cuts that have freed what lies flat under a tip and may bear it.
    flat_from: BTreeSet<CutId>,
}

impl Starts<'_> {
    fn one(&mut self, n: usize, leg: &KeptLeg) -> Result<(), Reason> {
        if leg.on_edge() {
            self.wall(leg)?;
        } else {
            self.crater(n, leg)?;
        }
        leg.written.touch.map_or(Ok(()), |touch| self.touch_off(n, leg, touch))
    }

    /// The pilot arc reaches the walls of a kerf and of a pierce's crater, not those of a hole much wider than that, nor a
    /// plate's edge much farther off.
    fn wall(&self, leg: &KeptLeg) -> Result<(), Reason> {
        let lit = self.written.from(leg.written.on_at.motion as usize);
        let holes = self.case.progress.strays.iter().map(|hole| hole.crater_mm - hole.at.distance(lit));
        let wall_mm = holes.filter(|wall_mm| *wall_mm > 0.0).fold(0.0, |farthest: f64, wall_mm| {
            farthest.max(wall_mm + self.case.pose.map_or(0.0, |pose| super::landing::worst_mm(pose, lit)))
        });
        let reach_mm = self.pilot_mm(leg.cut);
        let edge_mm = past_edge_mm(self.case, lit).map_or(0.0, |(past_mm, within_mm)| past_mm + within_mm);
        let number = leg.cut.number();
        let message = if wall_mm > reach_mm + PATH_MM {
            format!(
                "cut {number}: its arc is begun in a hole whose nearest wall is {wall_mm:.1} mm away; the pilot arc reaches \
                 {reach_mm:.1} mm"
            )
        } else if edge_mm > reach_mm + PATH_MM {
            format!(
                "cut {number}: its arc is begun up to {edge_mm:.1} mm past the plate's edge; the pilot arc reaches \
                 {reach_mm:.1} mm"
            )
        } else {
            return Ok(());
        };
        Err(reason(4, message, self.written.event_span(leg.written.on as usize)))
    }

    /// How far the pilot arc of a torch at cut height surely reaches to a wall. At each pierce the same pilot takes on the
    /// plate from the pierce height: it takes on the lip of a wall, too, that is no farther from the nozzle. Whatever the
    /// heights are, it reaches the wall of a pierce's crater.
    fn pilot_mm(&self, cut: CutId) -> f64 {
        let cut = self.case.original.list.cut(cut);
        let above_plate = |height: Height| (height.base == HeightBase::PlateTop).then_some(height.mm);
        let heights = above_plate(cut.pierce.height).zip(above_plate(cut.cut_height));
        let lip_mm = heights.map_or(0.0, |(pierce, cut)| (pierce * pierce - cut * cut).max(0.0).sqrt());
        lip_mm.max(full_crater_mm(self.case)).clamp(PILOT_LOWEST_MM, PILOT_MM)
    }

    fn crater(&mut self, n: usize, leg: &KeptLeg) -> Result<(), Reason> {
        let pierce = self.written.from(leg.written.on_at.motion as usize);
        let crater_mm = crater_mm(self.case, leg.cut);
        let clear_mm =
            self.clear_around(n, pierce, crater_mm, |kerf| kerf.through || kerf.cut.is_none(), |_| true);
        if clear_mm < 0.0 {
            let number = leg.cut.number();
            let message = format!("cut {number}: its crater is not wholly on metal; {}", short_by(clear_mm));
            return Err(reason(4, message, self.written.event_span(leg.written.on as usize)));
        }
        self.clear_mm = self.clear_mm.min(clear_mm);
        self.on_sure_plate(leg, pierce, "is pierced", leg.written.on)
    }

    /// Where the plate is known to lie elsewhere than told, a pierce and a touch-off of our own choice are made amid what has
    /// been cut.
    fn on_sure_plate(
        &self,
        leg: &KeptLeg,
        place: Point<Program>,
        happens: &str,
        event: u32,
    ) -> Result<(), Reason> {
        let ground = self.case.ground;
        let in_doubt = leg.join.is_some() && ground.plate.is_none();
        if ground.surely_plate.is_none_or(|sure| !in_doubt || sure.contains(place)) {
            return Ok(());
        }
        let message = format!(
            "cut {}: nobody knows whether there is plate where it {happens}: the plate's edges lie elsewhere than told, and \
             were not measured",
            leg.cut.number()
        );
        Err(reason(4, message, self.written.event_span(event as usize)))
    }

    /// A touch-off finds the plate only on metal that does not give way. Where a join chooses the place, it is clear of
    /// grooves, too: their slag stands up. Where it can be nowhere else, plate around the gaps bears the tip.
    fn touch_off(&mut self, n: usize, leg: &KeptLeg, touch: u32) -> Result<(), Reason> {
        let number = leg.cut.number();
        let at = self.written.event_span(touch as usize);
        let refused = |why: String| reason(4, format!("cut {number}: its touch-off {why}"), at);
        let place = self.written.from(self.written.motions.events()[touch as usize].before as usize);
        let foot_mm = self.case.ground.thresholds.touch_off_footprint.mm() / 2.0;
        let grooves_too = leg.join.is_some();
        let keep = |kerf: &Kerf| kerf.through || kerf.cut.is_none() || (grooves_too && self.is_groove(kerf));
        let clear_mm = self.clear_around(n, place, foot_mm, keep, |_| true);
        if clear_mm < 0.0 && !self.has_no_choice(leg, place) {
            return Err(refused(format!("is not wholly on metal; {}", short_by(clear_mm))));
        }
        self.on_sure_plate(leg, place, "touches off", touch)?;
        if super::order::loose_around(self.case, self.timeline, n, None, place).is_some() {
            return Err(refused("is on a piece that may be loose".to_owned()));
        }
        if clear_mm >= 0.0 {
            self.foot_clear_mm = self.foot_clear_mm.min(clear_mm);
            return Ok(());
        }
        let Bearing { open, lips_of, freed_by, flat_from } =
            self.place(n, leg, place).bearing(keep).map_err(refused)?;
        self.open = self.open.max(Some(open));
        self.lips_of.extend(lips_of);
        self.freed_by.extend(freed_by);
        self.flat_from.extend(flat_from);
        Ok(())
    }

    /// Whether a touch-off at `place` can be nowhere else: the arc is lit there, and the torch-on itself finds the plate, or
    /// the arc is begun in a kerf or groove of its own, amid which no other place may be sound.
    fn has_no_choice(&self, leg: &KeptLeg, place: Point<Program>) -> bool {
        let by_torch_on = self.case.original.dialect.touch_off.contains(&TouchOffBy::TorchOn);
        let lit = self.written.from(leg.written.on_at.motion as usize);
        (by_torch_on || leg.on_edge() || is_in_dimple(leg)) && place.distance(lit) <= PATH_MM
    }

    /// Where a tip comes down. A second pass that pierces its groove anew comes down over the dimple of the first pierce.
    fn place(&self, n: usize, leg: &KeptLeg, at: Point<Program>) -> Place<'_> {
        Place {
            case: self.case,
            timeline: self.timeline,
            before: (self.timeline.of_leg(n).start, n),
            at,
            foot_mm: self.case.ground.thresholds.touch_off_footprint.mm() / 2.0,
            off_mm: self.case.pose.map_or(0.0, |pose| super::landing::worst_mm(pose, at)),
            dimple_mm: if is_in_dimple(leg) { 2.0 * full_crater_mm(self.case) } else { 0.0 },
        }
    }

    fn is_groove(&self, kerf: &Kerf) -> bool {
        !kerf.through && kerf.cut.is_some_and(|cut| !self.case.original.list.cut(cut).is_mark)
    }

    /// Metal between a disc and the nearest kerf or crater (of those to be kept) or edge of the plate before leg `n`;
    /// negative where it overlaps, infinite where nothing is near. What was on the plate when it moved may lie nearer by
    /// what the pose is uncertain.
    fn clear_around(
        &self,
        n: usize,
        p: Point<Program>,
        radius_mm: f64,
        keep: impl Fn(&Kerf) -> bool,
        keep_crater: impl Fn(&Crater) -> bool,
    ) -> f64 {
        let half_kerf = self.case.ground.kerf.mm() / 2.0;
        let off_mm = self.case.pose.map_or(0.0, |pose| super::landing::worst_mm(pose, p));
        let kerf = |legs: usize, off_mm: f64| {
            let before = self.timeline.of_leg(legs).start;
            let radius_mm = radius_mm + half_kerf + off_mm;
            let nearest = self.timeline.nearest_mm(p, radius_mm + LOOK_MM, before, &keep);
            nearest.map(|distance| distance - radius_mm)
        };
        let crater = |legs: usize, off_mm: f64| {
            let radius_mm = radius_mm + off_mm;
            let nearest = self.timeline.nearest_crater_mm(p, radius_mm + LOOK_MM, legs, &keep_crater);
            nearest.map(|edge| edge - radius_mm)
        };
        let before_move = if off_mm > 0.0 { [kerf(0, off_mm), crater(0, off_mm)] } else { [None; 2] };
        let edge = self.edge_clear(p, radius_mm + off_mm);
        let clear = [kerf(n, 0.0), crater(n, 0.0), edge].into_iter().chain(before_move);
        clear.flatten().fold(f64::INFINITY, f64::min)
    }

    /// Metal between a disc and the plate's edges, where they are near or the disc lies beyond them.
    fn edge_clear(&self, p: Point<Program>, radius_mm: f64) -> Option<f64> {
        let outline = self.case.ground.plate.as_ref().map(|outline| (outline, Side::Inside));
        let holes = self.case.ground.plate_holes.iter().map(|hole| (hole, Side::Outside));
        let clear = outline.into_iter().chain(holes).filter_map(|(edge, wanted)| {
            let distance = edge.path().nearest(p)?.distance_mm;
            if edge.side_of(p, 0.0) != wanted {
                return Some(-distance - radius_mm);
            }
            (distance < radius_mm + LOOK_MM).then_some(distance - radius_mm)
        });
        clear.min_by(f64::total_cmp)
    }
}

/// Whether a second pass pierces its groove anew.
fn is_in_dimple(leg: &KeptLeg) -> bool {
    !leg.on_edge() && leg.join.as_ref().is_some_and(|join| join.start == JoinStart::SecondPass)
}

fn short_by(clear_mm: f64) -> String {
    format!("it overlaps a kerf, a crater or the plate's edge by {:.2} mm", -clear_mm)
}

/// The plate is found before each start, near by.
fn touched_off(
    case: &Case<'_>,
    written: &View<'_>,
    kept: &[KeptLeg],
    record: &mut Record,
) -> Result<(), Reason> {
    let touches = |event: &nc::Event| matches!(event.kind, EventKind::TouchOff(_));
    if !case.original.motions.events().iter().any(touches) {
        record.lacks(
            "That the torch finds the plate before each start: the original has no touch-off that is known; tell \
             its word in [table.words] if the control does it.",
        );
        record.needs(
            "The plate's top lies where the heights of the program count from, everywhere on the plate.",
        );
        return Ok(());
    }
    let limit = case.ground.thresholds.touch_off_reach.mm();
    let mut worst: f64 = 0.0;
    let mut touched: Option<Moment> = None;
    for leg in kept {
        touched = leg.written.touch.map(|e| moment_of(written, e)).or(touched);
        let at = written.event_span(leg.written.on as usize);
        let number = leg.cut.number();
        let Some(touched) = touched else {
            return Err(reason(4, format!("cut {number}: no touch-off comes before its start"), at));
        };
        let gone = written.way_mm(touched.motion as usize..leg.written.on_at.motion as usize, limit);
        if gone > limit {
            let message =
                format!("cut {number}: its start lies more than {limit:.0} mm of travel from its touch-off");
            return Err(reason(4, message, at));
        }
        worst = worst.max(gone);
    }
    record.figure("travel between a touch-off and its start", worst, limit, "mm");
    Ok(())
}

fn moment_of(written: &View<'_>, e: u32) -> Moment {
    Moment { motion: written.motions.events()[e as usize].before, event: e }
}
