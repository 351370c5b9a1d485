//! Where joins are begun and end: surely in the old kerf, the first of two burns surely in a void; and height control held
//! until metal is even on both sides.

use super::HOLE_RAGGED_MM;
use crate::nib::cuts_nib;
use crate::plate_edge::{BeyondEdge, before_edge_start, between_burns, edge_opens_mm, past_edge_mm};
use crate::points::effect::{Joined, KeptLeg, Ran};
use crate::record::Record;
use crate::timeline::Timeline;
use crate::tolerance::{NOISE_MM, PATH_MM, RESUME_MM};
use crate::view::View;
use crate::{Case, JoinStart, Reason, reason};
use cuts::{Depth, Stray};
use geometry::SAME_POINT_MM;
use nc::HeightBase;
use std::ops::Range;

/// Step in which the void under a start is measured, in millimetres; what it may be off by is part of a kerf's width.
const STEP_MM: f64 = 0.25;

/// Looks at every join.
///
/// # Errors
/// Point 4.
pub(super) fn sound(
    case: &Case<'_>,
    written: &View<'_>,
    kept: &[KeptLeg],
    timeline: &Timeline,
    record: &mut Record,
) -> Result<(), Reason> {
    let mut overlap_mm = f64::INFINITY;
    let mut within_mm: f64 = 0.0;
    for (n, leg) in kept.iter().enumerate() {
        let Some(join) = &leg.join else { continue };
        let look = Look { case, written, timeline, n, leg, join };
        overlap_mm = overlap_mm.min(look.overlap_mm()?);
        look.leaves_in_void(record)?;
        within_mm = within_mm.max(look.end_within_mm());
        look.height_control_is_held()?;
        look.tell(record);
    }
    if overlap_mm.is_finite() {
        record.figure("overlap of a join with the old kerf, its end at the nearest", overlap_mm, 0.0, "mm");
        record.figure(
            "how far off the end of a joined kerf may lie",
            within_mm,
            case.ground.thresholds.kerf_along.mm() / 2.0,
            "mm",
        );
    }
    Ok(())
}

struct Look<'a> {
    case: &'a Case<'a>,
    written: &'a View<'a>,
    timeline: &'a Timeline<'a>,
    n: usize,
    leg: &'a KeptLeg,
    join: &'a Joined,
}

impl Look<'_> {
    fn refuse(&self, what: &str) -> Reason {
        let message = format!("cut {}: {what}", self.leg.cut.number());
        reason(4, message, self.written.event_span(self.leg.written.on as usize))
    }

    /// The place of the join on its old kerf: where it is begun on it, backwards where it ends in it.
    fn on_old_kerf_mm(&self) -> f64 {
        match self.join.start {
            JoinStart::Backwards => self.join.until_mm,
            _ => self.join.from_mm,
        }
    }

    fn end_within_mm(&self) -> f64 {
        self.join.old.end_within_mm(self.on_old_kerf_mm())
    }

    /// How far from where it is meant a place along its path may land on a plate that moved.
    fn off_mm(&self, along_mm: f64) -> f64 {
        let at = self.case.original.list.cut(self.leg.cut).path.point_at(along_mm);
        self.case.pose.zip(at).map_or(0.0, |(pose, at)| crate::points::landing::worst_mm(pose, at))
    }

    /// Whether a place lies where an earlier burn of the same text has been: wherever the plate lies, both land alike.
    fn is_burnt_before(&self, along_mm: f64) -> bool {
        let before = self.join.burnt_before_mm.as_ref();
        before.is_some_and(|before| (before.start..=before.end + SAME_POINT_MM).contains(&along_mm))
    }

    /// The first of two burns leaves its path where the whole width of its kerf surely lies in a void: in an old kerf of its
    /// cut, or in a blown hole; or out over the plate's edge. In metal the kerf's bottom lags behind its top, and nobody knows how far it is through; and
    /// the second burn would have no wall ahead.
    fn leaves_in_void(&self, record: &mut Record) -> Result<(), Reason> {
        if let Some(beyond) = between_burns(self.case, self.leg.cut) {
            return self.leaves_plate(&beyond);
        }
        if !self.join.ends_early {
            return Ok(());
        }
        let (number, at_mm) = (self.leg.cut.number(), self.join.until_mm);
        if let Some(sure) = self.join.old.sure_at(at_mm) {
            let spare_mm = at_mm - sure.start - self.off_mm(at_mm);
            if spare_mm >= 0.0 {
                record.needs(format!(
                    "Cut {number} is through about {at_mm:.1} mm along it already, as was told."
                ));
                return Ok(());
            }
        }
        match self.hole_about(at_mm) {
            Some(hole) => {
                record.needs(format!(
                    "The hole at X{:.1} Y{:.1} is {:.1} mm wide, within {:.1} mm, as was told: the first burn of cut {number} \
                     ends in it.",
                    hole.at.x,
                    hole.at.y,
                    2.0 * hole.crater_mm,
                    2.0 * HOLE_RAGGED_MM
                ));
                Ok(())
            }
            None => Err(self.refuse(&format!(
                "its first burn ends {at_mm:.1} mm along its path, and there is surely no void as wide as its kerf there"
            ))),
        }
    }

    /// A burn that ends or begins past the plate's edge reaches so far over it that its bottom is out over it, too. One that
    /// begins there is lit on the edge, and not on the plate.
    fn leaves_plate(&self, beyond: &BeyondEdge) -> Result<(), Reason> {
        let sure = &beyond.sure_mm;
        let (what, past_mm) = match self.join.start {
            JoinStart::Backwards => ("ends", sure.end - self.join.until_mm),
            _ if self.join.ends_early => ("ends", self.join.until_mm - sure.start),
            _ => ("begins", sure.end - self.join.from_mm),
        };
        let lags_mm = edge_opens_mm(self.case.ground.thickness);
        if past_mm < lags_mm - PATH_MM {
            return Err(self.refuse(&format!(
                "a burn of it {what} only {past_mm:.1} mm past where its kerf opens over the plate's edge; its bottom may lag by \
                 {lags_mm:.1} mm"
            )));
        }
        let lit = self.written.from(self.leg.written.on_at.motion as usize);
        if what == "begins" && past_edge_mm(self.case, lit).is_none() {
            return Err(self.refuse("its second burn is lit on the plate, and not past its edge"));
        }
        Ok(())
    }

    /// A blown hole in which the whole width of the kerf surely lies at a place along its path.
    fn hole_about(&self, along_mm: f64) -> Option<&Stray> {
        let path = &self.case.original.list.cut(self.leg.cut).path;
        let (at, along) = path.point_at(along_mm).zip(path.tangent_at(along_mm))?;
        let half_kerf = along.left() * (self.case.ground.kerf.mm() / 2.0);
        let off_mm = self.off_mm(along_mm);
        let mut blown = self.case.progress.strays.iter().filter(|stray| stray.path.curves().is_empty());
        blown.find(|hole| {
            let surely_mm = hole.crater_mm - HOLE_RAGGED_MM - off_mm + NOISE_MM;
            hole.depth == Depth::Through
                && [half_kerf, -half_kerf].iter().all(|edge| hole.at.distance(at + *edge) <= surely_mm)
        })
    }

    /// By how much the join overlaps the old kerf if that ends as early as it can and the plate lies as unluckily as it
    /// may; infinite for a pierce that is led to where no kerf has been.
    fn overlap_mm(&self) -> Result<f64, Reason> {
        if self.join.start == JoinStart::Backwards {
            self.lit_in_kerf()?;
        }
        let at_mm = self.on_old_kerf_mm();
        match self.sure_at(at_mm) {
            Some(sure) => {
                let in_hole_mm = self.in_pierce_mm(at_mm, sure).max(self.in_blown_mm(at_mm, sure));
                let off_mm = if self.is_burnt_before(at_mm) { 0.0 } else { self.off_mm(at_mm) };
                let overlap_mm = (sure.end - at_mm).max(in_hole_mm) - off_mm;
                if overlap_mm < 0.0 {
                    return Err(self.refuse(&format!(
                        "may miss its old kerf by {:.1} mm: its end is not known well enough for where the plate lies",
                        -overlap_mm
                    )));
                }
                Ok(overlap_mm)
            }
            None if self.join.on_edge => Err(self.refuse(&self.not_in_kerf(at_mm))),
            None => Ok(f64::INFINITY),
        }
    }

    /// How far about a place the hole of the cut's own pierce surely reaches, if it is lit in its middle: an arc that has
    /// gone through is as wide as its kerf at least, and whatever lies past the hole is cut by the join itself.
    fn in_pierce_mm(&self, at_mm: f64, sure: &Range<f64>) -> f64 {
        let is_pierce =
            at_mm <= SAME_POINT_MM && sure.start <= SAME_POINT_MM && self.join.start != JoinStart::Backwards;
        if is_pierce { self.case.ground.kerf.mm() / 2.0 - PATH_MM } else { 0.0 }
    }

    /// The stretch that is surely there and holds a place, or ends before it in a hole that does.
    fn sure_at(&self, at_mm: f64) -> Option<&Range<f64>> {
        let old = &self.join.old;
        let before = || old.sure.iter().rev().find(|sure| sure.start <= at_mm);
        old.sure_at(at_mm).or_else(|| before().filter(|sure| self.in_blown_mm(at_mm, sure) >= 0.0))
    }

    /// How much metal is surely missing about a place that lies in the same blown hole as the end of a stretch that is
    /// surely there. Where all of the kerf's width lies in the hole ends that stretch; the arc is begun on the hole's wall
    /// as on any edge, as long as its middle does not lie past it.
    fn in_blown_mm(&self, at_mm: f64, sure: &Range<f64>) -> f64 {
        let path = &self.case.original.list.cut(self.leg.cut).path;
        let places = path.point_at(at_mm).zip(path.point_at(sure.end)).zip(path.tangent_at(sure.end));
        let Some(((at, ends), along)) = places.filter(|_| self.join.on_edge) else {
            return f64::NEG_INFINITY;
        };
        let half_kerf = along.left() * (self.case.ground.kerf.mm() / 2.0);
        let blown = self.case.progress.strays.iter().filter(|stray| stray.path.curves().is_empty());
        let surely_mm = blown.filter_map(|hole| {
            let reaches_mm = hole.at.distance(ends + half_kerf).max(hole.at.distance(ends + -half_kerf));
            let holds = reaches_mm <= hole.crater_mm + NOISE_MM;
            holds.then(|| reaches_mm - PATH_MM - hole.at.distance(at))
        });
        surely_mm.fold(f64::NEG_INFINITY, f64::max)
    }

    fn not_in_kerf(&self, at_mm: f64) -> String {
        let old = &self.join.old;
        let sure = old.sure.iter().rev().find(|sure| sure.start <= at_mm);
        let known = sure.map_or("nothing of it is surely through there".to_owned(), |sure| {
            format!("it is surely through only to {:.1} mm", sure.end)
        });
        let verb = if self.join.start == JoinStart::Backwards { "ends" } else { "is lit" };
        format!("{verb} {at_mm:.1} mm along its path on no old kerf: {known}")
    }

    /// Backwards, it is lit on a wall somewhere else: in a kerf that is surely there by then. In one of its own cut, wherever on
    /// it the torch may land.
    fn lit_in_kerf(&self) -> Result<(), Reason> {
        let from_mm = self.join.from_mm;
        let may_miss_mm =
            self.join.old.sure_at(from_mm).map_or(0.0, |sure| sure.start + self.off_mm(from_mm) - from_mm);
        if may_miss_mm > 0.0 {
            return Err(self.refuse(&format!(
                "may miss the kerf in which it is lit by {may_miss_mm:.1} mm: its end is not known well enough for where the \
                 plate lies"
            )));
        }
        let at = self.written.from(self.leg.written.on_at.motion as usize);
        let before = self.timeline.of_leg(self.n).start;
        let near = self.timeline.nearest_mm(at, PATH_MM, before, |kerf| kerf.through && kerf.sure);
        if near.is_some() {
            return Ok(());
        }
        Err(self.refuse("is lit at the far end of its path, and no kerf is surely there to begin on"))
    }

    /// Held from the torch-on until the old kerf is surely left, one kerf's width past its farthest end, and over it
    /// again where the join runs back into it; as in the original everywhere else, from a little later on.
    fn height_control_is_held(&self) -> Result<(), Reason> {
        let motions = self.written.motions;
        let steers = |modal: nc::ModalId| motions.modal(modal).height_control;
        let on = &motions.events()[self.leg.written.on as usize];
        if steers(on.modal) || self.leg.lead_in().any(|k| self.written.modal(k).height_control) {
            return Err(self.refuse("height control may steer while the arc is begun; a join holds it"));
        }
        let held = self.held_mm();
        for ran in &self.join.ran {
            self.steers_as_it_may(ran, &held)?;
        }
        Ok(())
    }

    fn steers_as_it_may(&self, ran: &Ran, held: &Held) -> Result<(), Reason> {
        let steers = self.written.modal(ran.motion).height_control;
        let refuse = |what: String| {
            let message = format!("cut {}: {what}", self.leg.cut.number());
            Err(reason(4, message, self.written.span(ran.motion)))
        };
        let span = &ran.path_mm;
        if steers && held.must.iter().any(|must| meets(must, span)) {
            return refuse(format!(
                "height control may steer {:.1} to {:.1} mm along its path, over or beside an old kerf",
                span.start, span.end
            ));
        }
        if steers != ran.steers_in_original && !within(span, &held.may) {
            let (is, was) = if steers { ("on", "held") } else { ("held", "on") };
            return refuse(format!(
                "height control is {is} {:.1} to {:.1} mm along its path and in the original {was}: away from the old \
                 kerf it is as in the original",
                span.start, span.end
            ));
        }
        Ok(())
    }

    fn held_mm(&self) -> Held {
        let (old, kerf_mm) = (&self.join.old, self.case.ground.kerf.mm());
        let (from, until) = (self.join.from_mm, self.join.until_mm);
        let mut held = self.held_at_start_mm();
        if self.join.ends_early {
            let in_hole = self.in_hole_mm(until).start;
            held.must.push(old.at_most_start_mm(until).min(in_hole).max(from)..until);
            held.may.push(old.told_start_mm(until).min(in_hole) - kerf_mm - RESUME_MM..until);
        }
        if self.join.burnt_before_mm.is_some() {
            let in_hole = self.in_hole_mm(from).end;
            held.must.push(from..in_hole + kerf_mm);
            held.may.push(from..in_hole + kerf_mm + RESUME_MM);
        }
        held
    }

    /// The stretch of its path about a place on it that lies in blown holes, as wide as they may be; the place itself if none
    /// is there.
    fn in_hole_mm(&self, along_mm: f64) -> Range<f64> {
        let path = &self.case.original.list.cut(self.leg.cut).path;
        let blown = || self.case.progress.strays.iter().filter(|stray| stray.path.curves().is_empty());
        let holds = |mm: f64| {
            let Some(at) = path.point_at(mm) else { return false };
            let wider_mm = HOLE_RAGGED_MM + self.off_mm(mm);
            blown().any(|hole| hole.at.distance(at) <= hole.crater_mm + wider_mm)
        };
        let (mut from, mut to) = (along_mm, along_mm);
        while from > 0.0 && holds(from) {
            from = (from - STEP_MM).max(0.0);
        }
        while to < path.length_mm() && holds(to) {
            to = (to + STEP_MM).min(path.length_mm());
        }
        from..to
    }

    /// The same without where one of two burns ends and the other begins.
    fn held_at_start_mm(&self) -> Held {
        let (old, kerf_mm) = (&self.join.old, self.case.ground.kerf.mm());
        let (from, until) = (self.join.from_mm, self.join.until_mm);
        // The cut's own pierce is lit as in the original.
        if self.join.start == JoinStart::OwnPierce {
            return Held { must: Vec::new(), may: Vec::new() };
        }
        if self.join.start == JoinStart::Backwards {
            let begins = from - self.void_at_start_mm() - kerf_mm;
            let at_most = self.case.ground.thresholds.kerf_along.mm() + kerf_mm + RESUME_MM;
            let ends = old.at_most_end_mm(until);
            let resumes = old.grooves.iter().map(|groove| groove.end).fold(old.told_end_mm(until), f64::max);
            return Held {
                must: vec![begins..from, until..ends],
                may: vec![from - at_most..from, until..resumes + kerf_mm + RESUME_MM],
            };
        }
        // Where the slug is gone, metal is never even on both sides again.
        if cuts_nib(self.case, self.leg) {
            return Held { must: vec![from..until], may: vec![from..until] };
        }
        let ends = old.at_most_end_mm(from) + kerf_mm;
        let groove = if self.join.start == JoinStart::SecondPass {
            old.grooves.iter().map(|groove| groove.end).fold(from, f64::max)
        } else {
            from
        };
        let may = old.told_end_mm(from).max(groove) + kerf_mm + RESUME_MM;
        Held { must: vec![from..ends], may: vec![from..may] }
    }

    /// How far the join runs, from where it is lit, over kerfs that may be there before it.
    fn void_at_start_mm(&self) -> f64 {
        let half_kerf = self.case.ground.kerf.mm() / 2.0;
        let before = self.timeline.of_leg(self.n).start;
        let mut void_mm = 0.0;
        for k in self.leg.written.burn() {
            let curve = self.written.curve(k);
            let (length, mut at) = (curve.length_mm(), 0.0);
            while at < length {
                let p = curve.point_at(at);
                if self.timeline.nearest_mm(p, half_kerf, before, |kerf| kerf.through).is_none() {
                    return void_mm;
                }
                at += STEP_MM;
                void_mm += STEP_MM;
            }
        }
        void_mm
    }

    /// Whether the text does not bring the torch to where it is lit: nothing in it says how high that is.
    fn control_minds_height(&self) -> bool {
        let lit_at =
            self.written.height_at(self.leg.written.on_at.motion as usize, self.leg.written.on as usize);
        lit_at.base == HeightBase::Unknown
            || !self.written.motions.motions().iter().any(|motion| motion.z.mm != 0.0)
    }

    /// That the plate's edge is built on where the cut is taken up on it.
    fn tell_edge_start(&self, record: &mut Record) {
        let Some(beyond) = before_edge_start(self.case, self.leg.cut) else { return };
        let within_mm = self.case.ground.edges.map_or(0.0, |edges| edges.within.mm());
        record.needs(format!(
            "From {:.1} to {:.1} mm along cut {} there is no plate any more: its edge lies where it was measured, within \
             {within_mm:.1} mm.",
            beyond.gap_mm.start,
            beyond.gap_mm.end,
            self.leg.cut.number()
        ));
    }

    /// What was told and is built on; what cannot be proven for want of words.
    fn tell(&self, record: &mut Record) {
        let at_mm = self.on_old_kerf_mm();
        let old = &self.join.old;
        let on_edge = between_burns(self.case, self.leg.cut).is_some_and(|beyond| beyond.holds(at_mm));
        self.tell_edge_start(record);
        if self.sure_at(at_mm).is_some() && !self.is_burnt_before(at_mm) && !on_edge {
            record.needs(format!(
                "The kerf of cut {} is through to {:.1} mm along it, within {:.1} mm, as was told.",
                self.leg.cut.number(),
                old.told_end_mm(at_mm),
                old.end_within_mm(at_mm)
            ));
        }
        if self.join.on_edge && self.control_minds_height() {
            record.lacks(
                "That an edge start is lit at the cut height: the control by itself brings the torch to where it is \
                 lit, and may bring it to the pierce height.",
            );
            record.needs(format!(
                "For the edge start of cut {} the height at which the control lights the arc is set to the cut height, \
                 and back for the next pierce.",
                self.leg.cut.number()
            ));
        }
        let words = &self.case.original.dialect;
        if words.height_control_on.is_empty() || words.height_control_off.is_empty() {
            record.lacks(
                "That height control is held at a join: its words were not told ([table.words] height_control_on, \
                 height_control_off).",
            );
            record.needs("Height control is held by hand until each join has left the old kerf.");
        } else if !self.join.ran.iter().any(|ran| ran.steers_in_original) {
            record.needs(
                "Height control is held, as in the original, which never switches it on where this joins it.",
            );
        }
    }
}

/// Where height control must be held, and where it may be though the original has it on, in millimetres along the path.
struct Held {
    must: Vec<Range<f64>>,
    may: Vec<Range<f64>>,
}

/// Whether two stretches share more than a rounding.
fn meets(a: &Range<f64>, b: &Range<f64>) -> bool {
    a.start + PATH_MM < b.end && b.start + PATH_MM < a.end
}

fn within(stretch: &Range<f64>, of: &[Range<f64>]) -> bool {
    let slack = PATH_MM + NOISE_MM;
    of.iter().any(|of| of.start - slack <= stretch.start && stretch.end <= of.end + slack)
}
