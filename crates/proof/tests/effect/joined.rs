//! What a join does, read from two starts, held against its rules dot by dot: the test's own criterion, which knows
//! nothing of the proof.

use super::path::Burn;
use super::{Effect, hostile, plain, same_height};
use crate::plates::Plate;
use crate::plates::posed::Lies;
use crate::plates::taken_up::{Piece, TakenUp, WITHIN_MM};
use cuts::{Cut, CutId};
use geometry::{Point, Program};
use nc::{EventKind, HeightBase, MotionKind, Motions, Start, TouchOff};
use proof::JoinStart;
use std::ops::Range;

/// How far an arc's burn may lie from the path.
const PATH_MM: f64 = 0.06;
/// From how far past the old kerf a join runs as the original.
const RESUME_MM: f64 = 10.0;

/// Where height control must be held, and where it may be.
struct Held {
    must: Vec<Range<f64>>,
    may: Vec<Range<f64>>,
}

/// The rules of one join.
pub(crate) struct Rules<'a> {
    plate: &'a Plate,
    cut: &'a Cut,
    taken_up: &'a TakenUp,
    pieces: Vec<Piece>,
    rest: Effect,
    /// From the control's frame to the plate's, if that has moved.
    to_plate: Option<Lies>,
}

impl<'a> Rules<'a> {
    pub(crate) fn of(plate: &'a Plate, taken_up: &'a TakenUp, lies: Option<&Lies>) -> Self {
        let cut = plate.list.cut(taken_up.plan.join.cut);
        let pieces = plate.pieces(cut, &taken_up.plan);
        let own_way = taken_up.plan.join.start == JoinStart::Backwards;
        let rest = Effect::of(taken_up.text.as_bytes(), &plate.dialect).after_first_cut(own_way);
        Self { plate, cut, taken_up, pieces, rest, to_plate: lies.map(Lies::inverse) }
    }

    /// The first rule that a text breaks.
    pub(crate) fn broken_by(&self, text: &[u8]) -> Option<String> {
        let (program, _) = nc::Program::parse(text, &self.plate.dialect);
        for start in [Start::usual(&self.plate.dialect), hostile(&self.plate.dialect)] {
            let mut motions = Motions::run(&program, &self.plate.dialect, &start).0;
            if let Some(to_plate) = self.to_plate {
                let all = u32::try_from(motions.motions().len()).expect("few motions");
                motions = motions.placed(&[(0..all, to_plate)]);
            }
            if let Err(broken) = self.holds(&motions) {
                return Some(broken);
            }
        }
        let own_way = self.taken_up.plan.join.start == JoinStart::Backwards;
        let rest = Effect::of(text, &self.plate.dialect).after_first_cut(own_way);
        self.rest.difference(&rest).map(|difference| format!("after the join {difference}"))
    }

    fn holds(&self, motions: &Motions) -> Result<(), String> {
        let events = motions.events();
        let on = events.iter().position(|event| event.kind == EventKind::TorchOn).ok_or("no torch-on")?;
        let off = events[on..].iter().position(|event| event.kind == EventKind::TorchOff);
        let off = on + off.ok_or("no torch-off")?;
        let lit = events[on].before as usize;
        let burn = lit..events[off].before as usize;
        self.set_up(motions, on)?;
        self.lit(motions, on, burn.clone())?;
        self.burns(motions, burn)
    }

    fn set_up(&self, motions: &Motions, on: usize) -> Result<(), String> {
        let events = motions.events();
        let touches = |e: &usize| matches!(events[*e].kind, EventKind::TouchOff(_));
        let Some(touch) = (0..on).rev().find(touches) else { return Err("no touch-off".into()) };
        let (from, to) = (events[touch].before as usize, events[on].before as usize);
        let way: f64 = (from..to).map(|k| motions.curve(k).length_mm()).sum();
        if way > 25.0 + 1e-6 {
            return Err(format!("{way} mm from the touch-off to the start"));
        }
        let clear_mm = 5.0 + self.plate.ground.kerf.mm() / 2.0;
        let at = motions.from(from);
        // The tip straddles the kerf in which an edge start is lit.
        let straddles = !self.taken_up.plan.pierces && at.distance(self.taken_up.plan.lit) <= PATH_MM;
        let in_the_way = |cut: CutId| !(straddles && cut == self.cut.id);
        if self.made_dots(in_the_way).any(|dot| dot.distance(at) < clear_mm - 0.3) {
            return Err("touches off over a kerf".into());
        }
        let pierced = self.cut.pierce.height;
        for k in (from..to).filter(|k| motions.curve(*k).length_mm() > 1e-4) {
            let z = motions.motions()[k].z;
            if z.base != pierced.base || z.mm < pierced.mm - 0.003 {
                return Err(format!("travels low to its start: {z:?}"));
            }
        }
        Ok(())
    }

    /// Dots along what surely was made before of the cuts to `keep`.
    fn made_dots(&self, keep: impl Fn(CutId) -> bool) -> impl Iterator<Item = Point<Program>> {
        let made = self.taken_up.progress.made.iter().filter(move |made| keep(made.cut));
        made.flat_map(|made| {
            let path = &self.plate.list.cut(made.cut).path;
            let until = made.along_mm.end;
            let count = (until / 0.2).ceil().max(1.0);
            let dots = std::iter::successors(Some(0.0), move |k| (*k < count).then_some(k + 1.0));
            dots.filter_map(move |k| path.point_at(until * k / count))
        })
    }

    fn lit(&self, motions: &Motions, on: usize, burn: Range<usize>) -> Result<(), String> {
        let (events, plan) = (motions.events(), &self.taken_up.plan);
        let at = motions.from(burn.start);
        if !plan.pierces && at.distance(plan.lit) > PATH_MM {
            return Err("lit elsewhere".into());
        }
        let height =
            if burn.start == 0 { return Err("lit at once".into()) } else { motions.z_from(burn.start) };
        let wanted = if plan.pierces { self.cut.pierce.height } else { self.cut.cut_height };
        let minded = height.base == HeightBase::Unknown
            || events[..on].iter().any(|event| {
                event.before as usize == burn.start
                    && matches!(event.kind, EventKind::TouchOff(TouchOff::ByControl | TouchOff::ByCall))
            });
        if self.plate.moves_z() && !minded && !same_height(height, wanted) {
            return Err(format!("lit at {height:?} and not at {wanted:?}"));
        }
        let moves = burn.clone().find(|k| motions.curve(*k).length_mm() > 1e-4).unwrap_or(burn.end);
        let waits: f64 = events[on..]
            .iter()
            .take_while(|event| event.before as usize <= moves)
            .filter_map(|event| match event.kind {
                EventKind::Dwell(seconds) => Some(seconds),
                _ => None,
            })
            .sum();
        let original = self.cut.pierce.delay.map_or(0.0, units::Duration::s);
        if plan.pierces && (waits - original).abs() > 0.002 {
            return Err(format!("waits {waits} s at its pierce"));
        }
        if !plan.pierces && waits > 0.302 {
            return Err(format!("waits {waits} s on an edge"));
        }
        if motions.modal(events[on].modal).process != self.cut.process {
            return Err("another process".into());
        }
        let later = events[on + 1..].iter().take_while(|event| event.kind != EventKind::TorchOff);
        let later = later.filter(|event| event.before as usize > moves);
        if let Some(other) = later.into_iter().find(|event| {
            !matches!(event.kind, EventKind::HeightControl(_) | EventKind::Process(_) | EventKind::Call(_))
        }) {
            return Err(format!("{:?} while it burns", other.kind));
        }
        Ok(())
    }

    fn burns(&self, motions: &Motions, burn: Range<usize>) -> Result<(), String> {
        let mut burnt = Burn::default();
        for k in burn.clone() {
            let motion = &motions.motions()[k];
            let modal = motions.modal(motion.modal);
            if !matches!(motion.kind, MotionKind::Feed | MotionKind::ArcCw | MotionKind::ArcCcw)
                || !modal.torch
                || modal.process != self.cut.process
            {
                return Err(format!("{:?} while it burns", motion.kind));
            }
            let curve = motions.curve(k);
            if curve.length_mm() < 1e-4 {
                continue;
            }
            if self.plate.moves_z() && !same_height(motion.z, self.cut.cut_height) {
                return Err(format!("burns at {:?}", motion.z));
            }
            burnt.along(&curve, modal.feed_mm_per_min);
        }
        let mut wanted = Burn::default();
        self.pieces.iter().for_each(|piece| wanted.along(&piece.curve, piece.feed));
        let joins_at = plain(self.pieces[0].curve.from());
        let Some((lead, on_path)) = burnt.split_at(joins_at, PATH_MM + 0.15) else {
            return Err("never comes to its join".into());
        };
        self.lead_is_clear(&lead)?;
        if !on_path.is_like(&wanted, 0.25) {
            return Err(format!("it burns {on_path:?} and not {wanted:?}"));
        }
        self.height_control(motions, burn, burnt.length_mm() - wanted.length_mm())
    }

    fn lead_is_clear(&self, lead: &[[f64; 2]]) -> Result<(), String> {
        if !self.taken_up.plan.pierces && !lead.is_empty() {
            return Err("a lead-in of its own".into());
        }
        for at in lead {
            let p = Point::new(at[0], at[1]);
            let contours = &self.plate.list.contours;
            let around = contours
                .iter()
                .filter(|contour| contour.closed.as_ref().is_some_and(|closed| closed.depth_mm(p) > 0.06));
            let inmost = around.max_by_key(|contour| contour.depth);
            let edge = contours.iter().filter_map(|contour| contour.closed.as_ref());
            let near = edge.map(|closed| closed.depth_mm(p).abs()).fold(f64::INFINITY, f64::min);
            if inmost.is_some_and(|contour| contour.shape == cuts::Shape::Outline) && near > 0.06 {
                return Err(format!("leads through a part at {at:?}"));
            }
        }
        Ok(())
    }

    /// Held in the lead-in and until the old kerf is left, as in the original later; backwards, held over the kerf on
    /// which it is begun and again from the old kerf's farthest end on, as in the original between.
    fn height_control(&self, motions: &Motions, burn: Range<usize>, lead_mm: f64) -> Result<(), String> {
        let join = &self.taken_up.plan.join;
        let backwards = join.start == JoinStart::Backwards;
        let held = self.held_mm();
        let original = self.pieces.iter().all(|piece| piece.steers_in_original);
        let mut at_mm = if backwards { join.from_mm } else { join.from_mm - lead_mm };
        for k in burn {
            let length = motions.curve(k).length_mm();
            let ends_mm = if backwards { at_mm - length } else { at_mm + length };
            let (from, to) = (at_mm.min(ends_mm), at_mm.max(ends_mm));
            let steers = motions.modal(motions.motions()[k].modal).height_control;
            let meets = |must: &Range<f64>| from < must.end - 0.2 && to > must.start + 0.2;
            if steers && length > 0.2 && held.must.iter().any(meets) {
                return Err(format!("height control steers from {from} to {to}"));
            }
            let lies_in = |may: &Range<f64>| from > may.start - 0.3 && to < may.end + 0.3;
            if original && !steers && length > 0.5 && !held.may.iter().any(lies_in) {
                return Err(format!("height control is held from {from} to {to}"));
            }
            at_mm = ends_mm;
        }
        Ok(())
    }

    /// Where height control must be held and where it may be, in millimetres along the cut's path.
    fn held_mm(&self) -> Held {
        let plan = &self.taken_up.plan;
        let kerf_mm = self.plate.ground.kerf.mm();
        let old_ends = plan.stop_mm + WITHIN_MM;
        let (from, until) = (plan.join.from_mm, plan.join.until_mm);
        if plan.join.start == JoinStart::Backwards {
            let lives_mm = self.plate.ground.thresholds.kerf_along.mm();
            return Held {
                must: vec![from - kerf_mm..from, until..old_ends],
                may: vec![
                    from - lives_mm - kerf_mm - RESUME_MM..from,
                    until..plan.stop_mm + kerf_mm + RESUME_MM,
                ],
            };
        }
        let may = plan.slow.end.max(plan.stop_mm) + kerf_mm + RESUME_MM;
        Held { must: vec![f64::NEG_INFINITY..old_ends + kerf_mm], may: vec![f64::NEG_INFINITY..may] }
    }
}
