//! The torch-off trace: round the frame of what is left, round the clamps, then along the restart's first cut, all at
//! safe height and without a single word for torch, probe or touch-off.

use crate::restart::{Retract, go_up, retracts};
use crate::{RanCut, RanJoin, Situation, Trace};
use cuts::{ContourId, Cut, CutId};
use geometry::{Bounds, Curve, Path, Placement, Point, Program as ProgramFrame};
use nc::{Distance, EventKind, Height, HeightBase, MotionKind, Motions, Program, Start, Style, Writer};
use proof::JoinStart;
use shop::Clamp;
use units::System;

/// Speed of the trace. Slow enough to stop by hand (common practice), and the same everywhere on it.
const SPEED_MM_PER_MIN: f64 = 3000.0;

/// What must be so before anything here is run.
const NO_ARC: &str = "The source is off or the start command is locked out: nothing here starts an arc.";

/// How far outside a clamp the trace goes round it: the torch is about as wide as twice this (common practice).
const ROUND_CLAMP_MM: f64 = 25.0;

/// What a trace goes along.
#[derive(Clone, Debug)]
pub(crate) struct Along<'a> {
    /// The cuts of the restart, in order.
    pub(crate) cuts: &'a [CutId],
    /// How it takes up those that were begun.
    pub(crate) joins: &'a [RanCut],
    /// A cut whose crater is visited before anything else, where the position may be lost.
    pub(crate) visit: Option<CutId>,
    /// Pieces that stand up and stay, by their outer contours.
    pub(crate) standing: Vec<ContourId>,
}

/// The trace of a restart, or why none can be written.
pub(crate) fn trace(
    situation: &Situation<'_>,
    along: &Along<'_>,
    style: Style,
    system: System,
) -> Result<Trace, String> {
    let cuts = along.cuts;
    let first = situation.list.cut(*cuts.first().ok_or("nothing is left to cut")?);
    let frame = frame(situation, cuts).ok_or("what is left to cut has no extent")?;
    let mut way = Way::new(situation, style);
    way.in_the_way.extend(along.standing.iter().filter_map(|id| room_of_standing(situation, *id)));
    let mut preconditions = vec![NO_ARC.to_owned()];
    way.writer.comment(TRACES);
    way.writer.header();
    height(&mut way.writer, situation, system, &mut preconditions);
    let lies = situation.pose.map(|pose| &pose.placement);
    if let Some(visit) = along.visit.map(|cut| situation.list.cut(cut)) {
        way.writer.comment(&format!("known mark: the crater of cut {}", visit.number()));
        way.go(lies.map_or(visit.pierce.at, |lies| lies.point(visit.pierce.at)));
        preconditions.push(format!(
            "A hand on the stop: the first place is the crater of cut {}. If the torch does not stand over it, the \
             position is lost: stop, and find the plate again.",
            visit.number()
        ));
    }
    way.around_frame_and_clamps(situation, "frame of what is left", frame);
    let joins = along.joins.iter().filter_map(|ran| ran.join.as_ref());
    let joined: Vec<&RanJoin> = joins.collect();
    if joined.iter().all(|ran| ran.join.cut != first.id) {
        way.along(&format!("restart: cut {}", first.number()), first.pierce.at, &first.path, lies);
    }
    for ran in joined {
        let what = format!("join of cut {}", ran.join.cut.number());
        way.along(&what, ran.lit, &path_of_join(situation.list.cut(ran.join.cut), ran), lies);
    }
    finished(situation, way, preconditions, along.standing.is_empty())
}

/// The trace of a program that only comes to `places`, one after another: their frame, the clamps beside it, each place.
///
/// # Errors
/// Why none can be written, in words.
pub(crate) fn trace_of_places(
    situation: &Situation<'_>,
    places: &[Point<ProgramFrame>],
    what: &str,
    style: Style,
    system: System,
) -> Result<Trace, String> {
    let frame = Bounds::around(places.iter().copied()).ok_or("there is nowhere to go")?;
    let mut way = Way::new(situation, style);
    let mut preconditions = vec![NO_ARC.to_owned()];
    way.writer.comment(TRACES);
    way.writer.header();
    height(&mut way.writer, situation, system, &mut preconditions);
    way.around_frame_and_clamps(situation, &format!("frame of every {what}"), frame);
    for (k, place) in places.iter().enumerate() {
        way.visit(&format!("{what} {}", k + 1), *place);
    }
    finished(situation, way, preconditions, true)
}

/// What stands at the head of a trace.
const TRACES: &str = "TRACE WITH THE TORCH OFF - NOTHING IS CUT";

/// A trace that has gone everywhere, read once more; with what is left to whoever runs it.
fn finished(
    situation: &Situation<'_>,
    mut way: Way<'_>,
    mut preconditions: Vec<String>,
    nothing_stands: bool,
) -> Result<Trace, String> {
    way.writer.end();
    let in_the_way = if nothing_stands { "a clamp" } else { "a clamp or a standing piece" };
    preconditions.extend(way.left_out.iter().map(|what| {
        format!("Looked at by eye, since the raised torch may not clear {in_the_way} on the way: the {what}.")
    }));
    let of_all = if nothing_stands { "clamps" } else { "clamps and standing pieces" };
    preconditions.push(format!(
        "The way from where the torch stands to the trace's first place is clear of {of_all}."
    ));
    let text = way.writer.finish();
    checked(situation, &text)?;
    Ok(Trace { text, preconditions })
}

/// What a join runs: its own lead-in, then what is left of the cut's path.
fn path_of_join(cut: &Cut, ran: &RanJoin) -> Path<ProgramFrame> {
    let join = &ran.join;
    let rest = match join.start {
        JoinStart::Backwards => cut.path.piece(join.until_mm, join.from_mm).reversed(),
        _ => cut.path.piece(join.from_mm, join.until_mm),
    };
    Path::new(ran.lead.curves().iter().chain(rest.curves()).copied().collect())
}

/// A program that goes from one of `places` to the next with the torch off and stops at each for something to be done by
/// hand, which `what` names; or why none can be written.
pub(crate) fn visits(
    situation: &Situation<'_>,
    places: &[Point<ProgramFrame>],
    what: &str,
    style: Style,
    system: System,
) -> Result<Trace, String> {
    let mut way = Way::new(situation, style);
    let mut preconditions = vec![NO_ARC.to_owned()];
    way.writer.comment(&format!("{what} - THE TORCH STAYS OFF"));
    way.writer.header();
    for (k, place) in places.iter().enumerate() {
        if way.at.is_some_and(|at| !way.is_clear(at, *place)) {
            return Err(format!("a clamp lies on the way to place {}", k + 1));
        }
        if k == 0 {
            height(&mut way.writer, situation, system, &mut preconditions);
        }
        way.writer.comment(&format!("{what} {}", k + 1));
        way.go(*place);
        way.writer.block("M0");
    }
    way.writer.end();
    preconditions
        .push("Whoever moves the torch by hand at a stop raises it again before going on.".to_owned());
    preconditions
        .push("The way from where the torch stands to the first place is clear of clamps.".to_owned());
    let text = way.writer.finish();
    checked(situation, &text)?;
    Ok(Trace { text, preconditions })
}

/// The box round all cuts, as the control shows it.
fn frame(situation: &Situation<'_>, cuts: &[CutId]) -> Option<Bounds<ProgramFrame>> {
    let bounds = |cut: &CutId| {
        let path = &situation.list.cut(*cut).path;
        match situation.pose {
            Some(pose) => path.placed(&pose.placement).bounds(),
            None => path.bounds(),
        }
    };
    cuts.iter().filter_map(bounds).reduce(Bounds::union)
}

/// Clamps that the raised torch is not known to clear, wider by the torch's tip.
fn in_the_way(situation: &Situation<'_>) -> Vec<Bounds<ProgramFrame>> {
    let tip_mm = situation.ground.thresholds.touch_off_footprint.mm() / 2.0;
    let cleared = |clamp: &Clamp| {
        clamp.height.zip(situation.ground.safe_height).is_some_and(|(clamp, safe)| clamp < safe)
    };
    let clamps = situation.ground.clamps.iter().filter(|clamp| !cleared(clamp));
    clamps.filter_map(box_of).map(|bounds| bounds.grown(tip_mm)).collect()
}

/// The box round a standing piece that the torch's body keeps out of, at any height, as the control shows it.
fn room_of_standing(situation: &Situation<'_>, outline: ContourId) -> Option<Bounds<ProgramFrame>> {
    let path = situation.list.contour(outline).closed.as_ref()?.path();
    let moved = situation.pose.map(|pose| path.placed(&pose.placement));
    Some(moved.as_ref().unwrap_or(path).bounds()?.grown(ROUND_CLAMP_MM))
}

fn box_of(clamp: &Clamp) -> Option<Bounds<ProgramFrame>> {
    Bounds::around([clamp.from, clamp.to].map(|[x, y]| Point::new(x.mm(), y.mm())))
}

/// The way of the trace, which goes straight at one speed and keeps off the clamps.
struct Way<'d> {
    writer: Writer<'d>,
    at: Option<Point<ProgramFrame>>,
    in_the_way: Vec<Bounds<ProgramFrame>>,
    /// What could not be gone round.
    left_out: Vec<String>,
}

impl<'d> Way<'d> {
    /// Nowhere yet.
    fn new(situation: &Situation<'d>, style: Style) -> Self {
        let upright = Style { distance: Distance::Absolute, ..style };
        Self {
            writer: Writer::new(situation.dialect, upright, Point::ORIGIN),
            at: None,
            in_the_way: in_the_way(situation),
            left_out: Vec::new(),
        }
    }

    /// Goes straight to a place; the first place of all by a rapid, since nobody knows from where.
    fn go(&mut self, to: Point<ProgramFrame>) {
        match self.at {
            None => self.writer.rapid(to),
            Some(from) => self.writer.feed(&Curve::line(from, to), Some(SPEED_MM_PER_MIN)),
        }
        self.at = Some(to);
    }

    /// Once round a box from a corner that can be reached and left again, back to where it came from; or not at all.
    fn around(&mut self, what: &str, bounds: Bounds<ProgramFrame>) {
        let (min, max) = (bounds.min, bounds.max);
        let corners = [min, Point::new(max.x, min.y), max, Point::new(min.x, max.y)];
        let from_corner = |first: usize| -> Vec<Point<ProgramFrame>> {
            let round = (0..=corners.len()).map(|k| corners[(first + k) % corners.len()]);
            self.at.into_iter().chain(round).chain(self.at).collect()
        };
        let rounds = (0..corners.len()).map(from_corner);
        let Some(round) =
            rounds.into_iter().find(|round| round.windows(2).all(|leg| self.is_clear(leg[0], leg[1])))
        else {
            self.left_out.push(what.to_owned());
            return;
        };
        self.writer.comment(what);
        for place in round.into_iter().skip(usize::from(self.at.is_some())) {
            self.go(place);
        }
    }

    /// Round a frame, and round the clamps beside it.
    fn around_frame_and_clamps(
        &mut self,
        situation: &Situation<'_>,
        what: &str,
        frame: Bounds<ProgramFrame>,
    ) {
        self.around(what, frame);
        for clamp in &situation.ground.clamps {
            let around_it = box_of(clamp).map(|bounds| bounds.grown(ROUND_CLAMP_MM));
            if let Some(around_it) = around_it.filter(|bounds| bounds.meets(&frame.grown(ROUND_CLAMP_MM))) {
                self.around(&format!("clamp {}", clamp.name), around_it);
            }
        }
    }

    /// To a place, if the way there is clear.
    fn visit(&mut self, what: &str, place: Point<ProgramFrame>) {
        if self.at.is_some_and(|at| !self.is_clear(at, place)) {
            self.left_out.push(what.to_owned());
            return;
        }
        self.writer.comment(what);
        self.go(place);
    }

    /// To where a cut is begun, where the plate lies, along it, and back; or not at all.
    fn along(
        &mut self,
        what: &str,
        begins: Point<ProgramFrame>,
        path: &Path<ProgramFrame>,
        lies: Option<&Placement<ProgramFrame, ProgramFrame>>,
    ) {
        let moved = lies.map(|lies| path.placed(lies));
        let path = moved.as_ref().unwrap_or(path);
        let begins = lies.map_or(begins, |lies| lies.point(begins));
        if self.at.is_some_and(|at| !self.is_clear(at, begins)) {
            self.left_out.push(what.to_owned());
            return;
        }
        self.writer.comment(what);
        self.go(begins);
        self.writer.feed_path(path, Some(SPEED_MM_PER_MIN));
        self.at = path.to().or(self.at);
        self.go(begins);
    }

    fn is_clear(&self, from: Point<ProgramFrame>, to: Point<ProgramFrame>) -> bool {
        let leg = Curve::line(from, to);
        self.in_the_way.iter().all(|clamp| {
            let (min, max) = (clamp.min, clamp.max);
            let corners = [min, Point::new(max.x, min.y), max, Point::new(min.x, max.y)];
            let sides = (0..corners.len()).map(|k| Curve::line(corners[k], corners[(k + 1) % corners.len()]));
            !clamp.contains(from)
                && !clamp.contains(to)
                && sides.into_iter().all(|side| leg.crossings(&side).is_empty())
        })
    }
}

/// Goes up to safe height, if it is told and the program has a Z of its own.
fn height(
    writer: &mut Writer<'_>,
    situation: &Situation<'_>,
    system: System,
    preconditions: &mut Vec<String>,
) {
    let by = retracts(situation).first().copied().unwrap_or(Retract::None);
    let Some(safe) = situation.ground.safe_height.filter(|_| by != Retract::None) else {
        let why = match situation.ground.safe_height {
            Some(_) => "the program has no Z of its own",
            None => "the shop file has no `safe_height`",
        };
        preconditions.push(format!(
            "The torch is raised by hand clear of plate, pieces and clamps: {why}, so the trace does not move Z."
        ));
        return;
    };
    let (by, precondition) = match by {
        Retract::By(_) => (
            Retract::By(safe.mm()),
            format!(
                "The torch stands at or above the plate's top, with {} of room above it.",
                safe.show(system)
            ),
        ),
        // A trace goes no higher than it must: a place in machine coordinates may be the axis' end.
        Retract::To(_) | Retract::Machine(_) | Retract::None => (
            Retract::To(safe.mm()),
            format!(
                "Z zero is the plate's top, as the last touch-off left it, so that Z {} is the safe height; if in \
                 doubt, raise the torch by hand and leave the Z block out.",
                safe.show(system)
            ),
        ),
    };
    go_up(writer, situation.program, by);
    preconditions.push(precondition);
}

/// Reads the trace as the control will: it must neither start nor touch anything, nor come below safe height.
fn checked(situation: &Situation<'_>, text: &str) -> Result<(), String> {
    let (program, _) = Program::parse(text.as_bytes(), situation.dialect);
    let unknown = Height { base: HeightBase::Unknown, mm: 0.0 };
    let start = Start { z: unknown, ..Start::usual(situation.dialect) };
    let (motions, _) = Motions::run(&program, situation.dialect, &start);
    let starts = motions.events().iter().any(|event| {
        matches!(event.kind, EventKind::TorchOn | EventKind::TouchOff(_) | EventKind::HeightControl(_))
    });
    let probes =
        motions.motions().iter().any(|motion| matches!(motion.kind, MotionKind::Probe | MotionKind::Home));
    if starts || probes {
        return Err("the table's words make a start or a touch-off of the trace's plainest blocks".into());
    }
    let safe = situation.ground.safe_height.map_or(0.0, units::Length::mm);
    if motions.motions().iter().any(|motion| motion.z.mm < safe - geometry::SAME_POINT_MM) {
        return Err("the trace would come below the safe height".into());
    }
    Ok(())
}
