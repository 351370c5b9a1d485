//! Cutter compensation: motions of the programmed path become motions of the torch beside it (NISTIR 6556, appendix
//! B).
//!
//! The first motion runs to where the torch touches the path's first corner, tangent to the way it comes (B.6). At
//! corners whose outside the torch rounds, an arc about the corner is put in. Inside corners, which the standard
//! refuses, are cut short where the two offset curves meet.

use crate::report::Report;
use crate::{Comp, Dialect, Motion, MotionKind, Motions, Program};
use geometry::{Arc, Curve, Point, SAME_POINT_MM, Vector};

type Place = Point<geometry::Program>;
type Direction = Vector<geometry::Program>;
type Line = Curve<geometry::Program>;

/// Directions that differ by less (as the sine of the angle) run straight on: on a radius of some millimetres the gap
/// is below what any table resolves, and no arc is put in.
const STRAIGHT_ON: f64 = 1e-6;

/// The motions with compensation worked in; events stay where they were.
pub(crate) fn compensated(
    mut motions: Motions,
    program: &Program,
    dialect: &Dialect,
    report: &mut Report,
) -> Motions {
    let mut pass = Pass {
        source: &motions,
        program,
        strict: dialect.strict,
        report,
        out: Vec::with_capacity(motions.motions.len()),
        tip: motions.at_start,
        beside: None,
    };
    let mut first_piece = Vec::with_capacity(motions.motions.len() + 1);
    for k in 0..motions.motions.len() {
        first_piece.push(crate::interpreter::narrow(pass.out.len()));
        pass.motion(k);
    }
    first_piece.push(crate::interpreter::narrow(pass.out.len()));
    let out = pass.out;
    motions.motions = out;
    for event in &mut motions.events {
        event.before = first_piece[event.before as usize];
    }
    motions
}

struct Pass<'a> {
    source: &'a Motions,
    program: &'a Program,
    strict: bool,
    report: &'a mut Report,
    out: Vec<Motion>,
    /// Where the torch stands.
    tip: Place,
    /// The last motion that was moved aside; none at first and where compensation is off.
    beside: Option<Beside>,
}

/// A motion that was moved aside.
#[derive(Clone, Copy)]
struct Beside {
    /// Its index among those put out.
    out: usize,
    /// The path's direction at its end.
    direction: Direction,
    offset_mm: f64,
    /// It led from the uncompensated path to the compensated one.
    leads_in: bool,
}

impl Pass<'_> {
    fn motion(&mut self, k: usize) {
        let motion = self.source.motions[k];
        let programmed = self.source.curve(k);
        let offset_mm = self.offset_mm(&motion);
        if programmed.length_mm() < SAME_POINT_MM {
            self.put(motion, motion.kind, self.tip, self.tip);
        } else if offset_mm == 0.0 {
            self.beside_ends(&motion, &programmed);
            self.put(motion, motion.kind, motion.to, motion.center);
        } else {
            self.beside(&motion, &programmed, offset_mm);
        }
    }

    /// How far left of the path the torch runs; less than 0 to the right, 0 on it.
    fn offset_mm(&self, motion: &Motion) -> f64 {
        match self.source.modal(motion.modal).comp {
            _ if motion.kind == MotionKind::Home => 0.0,
            Comp::Off => 0.0,
            Comp::Left(radius) => radius,
            Comp::Right(radius) => -radius,
        }
    }

    /// A motion on the path itself after one beside it.
    fn beside_ends(&mut self, motion: &Motion, programmed: &Line) {
        if self.beside.take().is_some() && matches!(programmed, Curve::Arc(_)) {
            self.fault(
                "comp-ends-in-arc",
                motion,
                "compensation ends in an arc, which does not begin where the torch stands",
                "end compensation in a straight motion",
            );
        }
    }

    fn beside(&mut self, motion: &Motion, programmed: &Line, offset_mm: f64) {
        let (Some(begins), Some(ends)) =
            (programmed.tangent_at(0.0), programmed.tangent_at(programmed.length_mm()))
        else {
            self.put(*motion, motion.kind, motion.to, motion.center);
            return;
        };
        let start = programmed.from() + begins.left() * offset_mm;
        match self.beside {
            None if matches!(programmed, Curve::Segment(_)) => {
                self.lead_in(motion, programmed.to(), offset_mm);
                return;
            }
            None => self.put_in(motion, MotionKind::Feed, start, start),
            Some(before) => self.corner(motion, before, programmed, begins, offset_mm),
        }
        let end = programmed.to() + ends.left() * offset_mm;
        let kind =
            if self.turns_inside_out(motion, programmed, offset_mm) { MotionKind::Feed } else { motion.kind };
        let center = if matches!(kind, MotionKind::ArcCw | MotionKind::ArcCcw) { motion.center } else { end };
        self.beside = Some(Beside { out: self.out.len(), direction: ends, offset_mm, leads_in: false });
        self.put(*motion, kind, end, center);
    }

    /// The first motion: to where the torch touches the circle about the programmed end, at a right angle.
    fn lead_in(&mut self, motion: &Motion, programmed: Place, offset_mm: f64) {
        let back = self.tip - programmed;
        let ratio = offset_mm.abs() / back.length();
        let Some(back) = back.unit().filter(|_| ratio < 1.0) else {
            self.fault(
                "comp-lead-in-short",
                motion,
                "the motion that turns compensation on is shorter than half the width",
                "begin compensation farther from the contour",
            );
            self.put(*motion, motion.kind, programmed, programmed);
            return;
        };
        let turn = if offset_mm > 0.0 { -ratio.acos() } else { ratio.acos() };
        let to = programmed + back.rotated(turn) * offset_mm.abs();
        let direction = (to - self.tip).unit().unwrap_or(-back);
        self.beside = Some(Beside { out: self.out.len(), direction, offset_mm, leads_in: true });
        self.put(*motion, motion.kind, to, to);
    }

    /// Joins the curve put out last to the one that begins beside `programmed`.
    fn corner(
        &mut self,
        motion: &Motion,
        before: Beside,
        programmed: &Line,
        begins: Direction,
        offset_mm: f64,
    ) {
        let corner = programmed.from();
        let start = corner + begins.left() * offset_mm;
        let gap = self.tip.distance(start);
        let turn = before.direction.cross(begins);
        let straight_on = turn.abs() < STRAIGHT_ON && before.direction.dot(begins) > 0.0;
        if gap < SAME_POINT_MM || straight_on {
            return;
        }
        if (before.offset_mm - offset_mm).abs() > SAME_POINT_MM {
            self.put_in(motion, MotionKind::Feed, start, start);
        } else if (turn < 0.0) == (offset_mm > 0.0) || turn.abs() < STRAIGHT_ON {
            if motion.kind != MotionKind::Rapid {
                let kind = if offset_mm > 0.0 { MotionKind::ArcCw } else { MotionKind::ArcCcw };
                self.put_in(motion, kind, start, corner);
            }
        } else {
            self.inside_corner(motion, before, programmed, start, offset_mm);
        }
    }

    /// Cuts the curve put out last short where the next one crosses it.
    fn inside_corner(
        &mut self,
        motion: &Motion,
        before: Beside,
        programmed: &Line,
        start: Place,
        offset_mm: f64,
    ) {
        if self.strict {
            self.fault(
                "comp-corner",
                motion,
                "the path has an inside corner under cutter compensation (NISTIR 6556, B.5.1)",
                "round the corner by more than half the width",
            );
        }
        let meeting =
            if before.leads_in { Some(start) } else { self.meeting(before, programmed, start, offset_mm) };
        let Some(meeting) = meeting else {
            self.fault(
                "comp-gouge",
                motion,
                "the path turns in a space narrower than the kerf: cutter compensation cannot follow it",
                "open the corner, or draw the path as it is to be cut, without compensation",
            );
            self.put_in(motion, MotionKind::Feed, start, start);
            return;
        };
        for cut_short in &mut self.out[before.out..] {
            if cut_short.center == cut_short.to {
                cut_short.center = meeting;
            }
            cut_short.to = meeting;
        }
        self.tip = meeting;
    }

    /// Where the curve put out last meets the one beside `programmed`, nearest to their corner.
    fn meeting(&self, before: Beside, programmed: &Line, start: Place, offset_mm: f64) -> Option<Place> {
        let from = before.out.checked_sub(1).map_or(self.source.at_start, |k| self.out[k].to);
        let last = self.out[before.out].curve_from(from);
        let next = offset_curve(programmed, start, offset_mm)?;
        let corner = programmed.from();
        let places = last.crossings(&next).into_iter().map(|crossing| crossing.point);
        places.min_by(|a, b| a.distance(corner).total_cmp(&b.distance(corner)))
    }

    /// Whether the arc's radius is too small for the torch to run on its inside.
    fn turns_inside_out(&mut self, motion: &Motion, programmed: &Line, offset_mm: f64) -> bool {
        let Curve::Arc(arc) = programmed else { return false };
        let inward = if arc.is_ccw() { offset_mm } else { -offset_mm };
        let too_small = arc.radius_mm() - inward < SAME_POINT_MM;
        if too_small {
            self.fault(
                "comp-arc-small",
                motion,
                "the arc's radius is not larger than half the width, and the torch runs inside it",
                "make the radius larger (NISTIR 6556, B.5.1)",
            );
        }
        too_small
    }

    fn put(&mut self, motion: Motion, kind: MotionKind, to: Place, center: Place) {
        self.out.push(Motion { kind, to, center, ..motion });
        self.tip = to;
    }

    /// Puts a piece in before `motion`, at the height at which that begins.
    fn put_in(&mut self, motion: &Motion, kind: MotionKind, to: Place, center: Place) {
        let z = self.out.last().map_or(self.source.z_at_start, |before| before.z);
        self.put(Motion { z, ..*motion }, kind, to, center);
    }

    fn fault(&mut self, rule: &'static str, motion: &Motion, message: &'static str, remedy: &'static str) {
        let span = self.program.blocks()[motion.block as usize].span;
        self.report.error(rule, span, || message.into(), remedy);
    }
}

/// The curve that runs `offset_mm` left of `programmed`, beginning at `start`.
fn offset_curve(programmed: &Line, start: Place, offset_mm: f64) -> Option<Line> {
    let ends = programmed.tangent_at(programmed.length_mm())?;
    let end = programmed.to() + ends.left() * offset_mm;
    Some(match programmed {
        Curve::Segment(_) => Curve::line(start, end),
        Curve::Arc(arc) => Curve::Arc(Arc { from: start, to: end, ..*arc }),
    })
}
