//! A cut that is taken up where an earlier attempt left it: a declared start, then the original's burn from there.
//!
//! ```text
//! set-up: the original's touch-off, then travel | start | lead-in, if it pierces anew | the original's path from there
//! ```
//!
//! How height control is held at a join is for point 4: what is written down here of each stretch serves it.

use super::Worst;
use super::items::{
    self, Heights, Sides, acts, lit_height, name, place, same_deed, same_feed, same_height, same_process,
    same_rise, same_state,
};
use super::walk::{self, Move, Rests, Step, steps};
use crate::legs::{Item, Leg, index, items as items_of};
use crate::old_kerf::OldKerf;
use crate::tolerance::{PATH_MM, RESUME_MM, TANGENT_RAD, WAIT_S};
use crate::view::View;
use crate::{Case, Join, JoinStart, Reason};
use geometry::{Path, Point, Program, SAME_POINT_MM};
use nc::{EventKind, HeightBase, Modal, MotionKind};
use std::collections::VecDeque;
use std::ops::Range;

/// A join as the text makes it.
#[derive(Clone, Debug)]
pub(crate) struct Joined {
    /// How it is begun.
    pub(crate) start: JoinStart,
    /// Whether it is begun on a wall of an old kerf, not pierced.
    pub(crate) on_edge: bool,
    /// Where it comes upon its cut's path, in millimetres along it.
    pub(crate) from_mm: f64,
    /// How far the path it runs, in millimetres along it.
    pub(crate) until_mm: f64,
    /// Its first burning motion on the path; what burns before is its lead-in.
    pub(crate) path_from: usize,
    /// Its burn on the path, stretch by stretch.
    pub(crate) ran: Vec<Ran>,
    /// Whether it leaves the path before its end, as the first of two burns does.
    pub(crate) ends_early: bool,
    /// What had been made of its cut before.
    pub(crate) old: OldKerf,
    /// What of that an earlier burn of the cut has burnt in the same text.
    pub(crate) burnt_before_mm: Option<Range<f64>>,
    /// The events of the original and of the text from which on both do the same again.
    pub(crate) resumes: (u32, u32),
}

/// A stretch of a join's burn.
#[derive(Clone, Debug)]
pub(crate) struct Ran {
    /// The written motion.
    pub(crate) motion: usize,
    /// The stretch, in millimetres along the cut's path; not reversed.
    pub(crate) path_mm: Range<f64>,
    /// Whether height control may steer there in the original.
    pub(crate) steers_in_original: bool,
}

impl Joined {
    /// Whether it ends where there was a void before: in its old kerf, or in a hole.
    pub(crate) fn ends_in_void(&self) -> bool {
        self.start == JoinStart::Backwards || self.ends_early
    }

    /// The stretch of the cut's path that it burns, not reversed.
    pub(crate) fn burns_mm(&self) -> Range<f64> {
        match self.start {
            JoinStart::Backwards => self.until_mm..self.from_mm,
            _ => self.from_mm..self.until_mm,
        }
    }
}

/// Holds a leg against the join that is promised for its cut, but for its ending. `old` is what has been made of the cut
/// before.
///
/// # Errors
/// Point 2, at the first difference.
pub(super) fn same(
    case: &Case<'_>,
    sides: &Sides<'_>,
    legs: (&Leg, &Leg),
    (join, old): (&Join, OldKerf),
    heights: Heights,
    worst: &mut Worst,
) -> Result<Joined, Reason> {
    let (original, written) = legs;
    items::only_travels(sides, written)?;
    let check = Check { case, sides, original, written, join, old };
    check.set_up(heights, worst)?;
    check.burn(worst)
}

/// Where a join is begun on an edge and the control lights it by itself: how much higher than the cut height the original
/// is lit by the control, as its own text goes down from there. That height is then set by hand to the cut height, and
/// heights that count from where the control leaves the torch count from there.
pub(super) fn lit_by_control(
    sides: &Sides<'_>,
    (original, written): (&Leg, &Leg),
    join: &Join,
) -> Option<f64> {
    let by_control = original.lit_by_control(sides.original) && written.lit_by_control(sides.written);
    let cuts =
        original.burn().find(|k| sides.original.travels(*k)).filter(|_| by_control && on_edge(join))?;
    let (lit_at, cuts_at) = (lit_height(sides.original, original), sides.original.height_from(cuts));
    (lit_at.base == HeightBase::Unknown && cuts_at.base == lit_at.base).then_some(lit_at.mm - cuts_at.mm)
}

/// Whether a join is begun on a wall of an old kerf, not pierced.
fn on_edge(join: &Join) -> bool {
    match join.start {
        JoinStart::KerfEnd | JoinStart::Backwards => true,
        JoinStart::OwnPierce | JoinStart::FreshPierce => false,
        JoinStart::SecondPass => join.from_mm > SAME_POINT_MM,
    }
}

struct Check<'a> {
    case: &'a Case<'a>,
    sides: &'a Sides<'a>,
    original: &'a Leg,
    written: &'a Leg,
    join: &'a Join,
    old: OldKerf,
}

/// What the original does on its path from the join on.
#[derive(Clone, Copy, Debug)]
struct Wanted {
    step: Step,
    /// Where it begins, in millimetres along the path.
    at_mm: f64,
}

impl Check<'_> {
    fn on_edge(&self) -> bool {
        on_edge(self.join)
    }

    fn path(&self) -> &Path<Program> {
        &self.case.original.list.cut(self.join.cut).path
    }

    fn refuse(&self, what: &str) -> Reason {
        self.sides.differs(what, self.sides.written.event_span(self.written.on as usize))
    }

    fn refuse_at(&self, what: &str, k: usize) -> Reason {
        self.sides.differs(what, self.sides.written.span(k))
    }

    /// The original's touch-off and heights, at a place of the join's own; after it, travel no lower than the original
    /// starts, and down to the height of the start.
    fn set_up(&self, heights: Heights, worst: &mut Worst) -> Result<(), Reason> {
        let original = self.sides.original;
        let mut before = items_of(original.motions, self.original.set_up, self.original.on_at).filter(
            |item| match *item {
                Item::Motion(k) => !self.is_level_way(original, k),
                Item::Event(_) => acts(original, *item),
            },
        );
        let mut touched = false;
        let by_control = [(self.original, original), (self.written, self.sides.written)]
            .iter()
            .all(|(leg, view)| leg.found_by_control(view).is_some());
        for item in items_of(self.sides.written.motions, self.written.set_up, self.written.on_at) {
            match item {
                Item::Motion(k) if self.is_level_way(self.sides.written, k) => {
                    self.way_is_high(k, touched)?;
                }
                Item::Event(_) if !acts(self.sides.written, item) => {}
                _ => {
                    touched |= is_touch_off(self.sides, item);
                    let heights = if by_control && !touched { Heights::FoundLater } else { heights };
                    match before.next() {
                        Some(was) => self.same_set_up_item(was, item, heights, worst)?,
                        None => self.is_only_height(item)?,
                    }
                }
            }
        }
        match before.next() {
            None => Ok(()),
            Some(missing) => Err(self.refuse(&format!(
                "before this start the original has {}, and the text has not",
                name(original, missing)
            ))),
        }
    }

    /// Whether a motion goes from place to place without changing its height.
    fn is_level_way(&self, view: &View<'_>, k: usize) -> bool {
        let (from, to) = (view.height_from(k), view.motion(k).z);
        let level = from.base == to.base && (from.mm - to.mm).abs() <= self.sides.height_mm;
        level && view.travels(k) && matches!(view.motion(k).kind, MotionKind::Rapid | MotionKind::Feed)
    }

    fn way_is_high(&self, k: usize, touched: bool) -> Result<(), Reason> {
        if !touched {
            return Err(self.refuse_at("this travels after the set-up has begun, before it touches off", k));
        }
        let (height, start) = (self.sides.written.motion(k).z, self.start_height_of_original());
        if height.base == start.base && height.mm >= start.mm - self.sides.height_mm {
            return Ok(());
        }
        let what = format!(
            "this travels from the touch-off to the start at {:.2} mm; the original starts at {:.2} mm, and no lower is \
             safe",
            height.mm, start.mm
        );
        Err(self.refuse_at(&what, k))
    }

    fn start_height_of_original(&self) -> nc::Height {
        lit_height(self.sides.original, self.original)
    }

    fn same_set_up_item(
        &self,
        was: Item,
        now: Item,
        heights: Heights,
        worst: &mut Worst,
    ) -> Result<(), Reason> {
        let sides = self.sides;
        let compared = match (was, now) {
            (Item::Motion(j), Item::Motion(k)) => {
                let (a, b) = (sides.original.motion(j), sides.written.motion(k));
                if a.kind == b.kind && !sides.written.travels(k) {
                    let rises = |view: &View<'_>, k: usize| (view.height_from(k), view.motion(k).z);
                    let (was, is) = (rises(sides.original, j), rises(sides.written, k));
                    same_rise(sides, was, is, heights, worst).and_then(|()| {
                        same_state(sides.original.modal(j), sides.written.modal(k), a.kind, worst)
                    })
                } else {
                    Err(format!(
                        "{} here, where the original has {}",
                        name(sides.written, now),
                        name(sides.original, was)
                    ))
                }
            }
            (Item::Event(j), Item::Event(k)) => same_deed(sides, j, k, worst),
            _ => Err(format!(
                "{} here, where the original has {}",
                name(sides.written, now),
                name(sides.original, was)
            )),
        };
        compared.map_err(|what| sides.differs(&what, sides.span(Some(now))))
    }

    /// After the original's set-up only motions in Z may follow: they bring the torch to where it is lit.
    fn is_only_height(&self, item: Item) -> Result<(), Reason> {
        let view = self.sides.written;
        let fits = match item {
            Item::Motion(k) => {
                matches!(view.motion(k).kind, MotionKind::Rapid | MotionKind::Feed) && !view.travels(k)
            }
            Item::Event(_) => false,
        };
        if fits {
            return Ok(());
        }
        let what = format!("{} here is not in the original's set-up", name(view, item));
        Err(self.sides.differs(&what, self.sides.span(Some(item))))
    }

    fn burn(&self, worst: &mut Worst) -> Result<Joined, Reason> {
        let (view, joins_at) = (self.sides.written, self.joins_at()?);
        let wanted = self.wanted()?;
        let mut now: VecDeque<Step> = steps(view, (self.written.on_at, self.written.burn_ends)).into();
        self.torch_on(now.pop_front())?;
        let lit_at = view.from(self.written.on_at.motion as usize);
        let must_be_lit_at = match (self.join.start, self.on_edge()) {
            (JoinStart::FreshPierce, _) => None,
            (_, true) => Some(joins_at),
            (_, false) => Some(self.case.original.list.cut(self.join.cut).pierce.at),
        };
        if let Some(wanted) = must_be_lit_at.filter(|wanted| wanted.distance(lit_at) > PATH_MM) {
            return Err(self.refuse(&format!(
                "is lit at {}; its join is declared at {}",
                place(lit_at),
                place(wanted)
            )));
        }
        if self.on_edge() {
            self.lit_on_edge(&wanted, &mut now, worst)?;
        } else {
            self.pierced(&mut now, worst)?;
        }
        if self.join.start == JoinStart::FreshPierce {
            self.lead_in(joins_at, &wanted, &mut now)?;
        }
        let path_from = now.iter().find_map(|step| match step {
            Step::Move(now) => Some(now.motion),
            Step::Event(_) => None,
        });
        let path_from = path_from.unwrap_or(self.written.burn().end);
        let resumes = self.resumes(&wanted, path_from);
        let ran = self.path_from_there(wanted, now, worst)?;
        Ok(Joined {
            start: self.join.start,
            on_edge: self.on_edge(),
            from_mm: self.join.from_mm,
            until_mm: self.until_mm(),
            path_from,
            ran,
            ends_early: self.ends_early(),
            old: self.old.clone(),
            burnt_before_mm: None,
            resumes,
        })
    }

    /// Backwards, nothing of the burn comes in the original's order, and where it ends early not all: the ending does.
    fn resumes(&self, wanted: &VecDeque<Wanted>, path_from: usize) -> (u32, u32) {
        match (self.join.start, first_move(wanted).filter(|_| !self.ends_early())) {
            (JoinStart::Backwards, _) | (_, None) => {
                (self.original.burn_ends.event, self.written.burn_ends.event)
            }
            (_, Some(was)) => (
                first_event_of(self.sides.original, was.motion),
                first_event_of(self.sides.written, path_from),
            ),
        }
    }

    fn joins_at(&self) -> Result<Point<Program>, Reason> {
        self.path()
            .point_at(self.join.from_mm)
            .ok_or_else(|| self.refuse("its path is empty: it cannot be joined"))
    }

    fn ends_early(&self) -> bool {
        self.join.ends_early(self.path().length_mm())
    }

    fn until_mm(&self) -> f64 {
        match self.join.start {
            JoinStart::Backwards => self.join.until_mm,
            _ if self.ends_early() => self.join.until_mm,
            _ => self.path().length_mm(),
        }
    }

    fn torch_on(&self, first: Option<Step>) -> Result<(), Reason> {
        let events = (self.sides.original.motions.events(), self.sides.written.motions.events());
        let modal =
            |view: &View<'_>, e: u32, events: &[nc::Event]| *view.motions.modal(events[e as usize].modal);
        let was = modal(self.sides.original, self.original.on, events.0);
        let is = modal(self.sides.written, self.written.on, events.1);
        let on = matches!(first, Some(Step::Event(e)) if events.1[e].kind == EventKind::TorchOn);
        debug_assert!(on, "a burn begins with its torch-on");
        same_process(&was, &is).map_err(|what| self.refuse(&what))
    }

    /// Lit on a wall: at the height at which the original cuts there, and no longer at rest than an edge bears.
    fn lit_on_edge(
        &self,
        wanted: &VecDeque<Wanted>,
        now: &mut VecDeque<Step>,
        worst: &mut Worst,
    ) -> Result<(), Reason> {
        let cuts_at = wanted.iter().find_map(|wanted| match wanted.step {
            Step::Move(was) => Some(was.from),
            Step::Event(_) => None,
        });
        let lit_at = lit_height(self.sides.written, self.written);
        let by_control = self.written.lit_by_control(self.sides.written);
        if let Some(cuts_at) = cuts_at.filter(|_| !by_control) {
            same_height(self.sides, cuts_at, lit_at, Heights::SameBase, worst).map_err(|what| {
                self.refuse(&format!("an edge start is lit at the cut height, but {what}"))
            })?;
        }
        let (mut waits_s, limit_s) = (0.0, self.case.ground.thresholds.edge_delay.s());
        loop {
            match (now.front(), cuts_at) {
                (Some(Step::Event(e)), _) => {
                    let event = self.sides.written.motions.events()[*e].kind;
                    let EventKind::Dwell(seconds) = event else { break };
                    waits_s += seconds;
                }
                (Some(Step::Move(is)), Some(cuts_at)) if by_control => {
                    if !self.comes_to_cut_height(*is, cuts_at, worst) {
                        break;
                    }
                }
                _ => break,
            }
            now.pop_front();
        }
        if waits_s > limit_s + WAIT_S {
            return Err(self.refuse(&format!(
                "waits {waits_s:.2} s with the arc on the end wall of a kerf; an edge start waits {limit_s:.2} s at most"
            )));
        }
        Ok(())
    }

    /// Whether a motion brings the torch, from where the control has lit it, to the cut height and nowhere else.
    fn comes_to_cut_height(&self, is: Move, cuts_at: nc::Height, worst: &mut Worst) -> bool {
        let (view, counted) = (self.sides.written, cuts_at.base == HeightBase::PlateTop);
        let feeds = view.motion(is.motion).kind == MotionKind::Feed && !view.travels(is.motion);
        counted && feeds && same_height(self.sides, cuts_at, is.to, Heights::SameBase, worst).is_ok()
    }

    /// Pierced as the original pierces: every wait and every motion in Z up to the first in X and Y.
    fn pierced(&self, now: &mut VecDeque<Step>, worst: &mut Worst) -> Result<(), Reason> {
        let sides = self.sides;
        let (was, is) = (self.start_height_of_original(), lit_height(sides.written, self.written));
        same_height(sides, was, is, Heights::SameBase, worst)
            .map_err(|what| self.refuse(&format!("a pierce is begun at the pierce height, but {what}")))?;
        let original = steps(sides.original, (self.original.on_at, self.original.burn_ends));
        let at_rest = original.into_iter().skip(1).take_while(|step| match step {
            Step::Move(was) => !sides.original.travels(was.motion),
            Step::Event(e) => sides.original.motions.events()[*e].kind != EventKind::TorchOff,
        });
        for was in at_rest {
            let compared = match (was, now.pop_front()) {
                (Step::Event(j), Some(Step::Event(k))) => same_deed(sides, j, k, worst),
                (Step::Move(was), Some(Step::Move(is))) if !sides.written.travels(is.motion) => {
                    self.same_coming_down(was, is, worst)
                }
                _ => Err(
                    "the pierce is not the original's: its wait or its way down to the cut height is missing"
                        .to_owned(),
                ),
            };
            compared.map_err(|what| self.refuse(&what))?;
        }
        Ok(())
    }

    fn same_coming_down(&self, was: Move, is: Move, worst: &mut Worst) -> Result<(), String> {
        let (original, written) = (self.sides.original, self.sides.written);
        let kinds = (original.motion(was.motion).kind, written.motion(is.motion).kind);
        if !walk::alike(kinds.0, kinds.1) {
            let (was, is) = (Item::Motion(was.motion), Item::Motion(is.motion));
            return Err(format!(
                "{} here, where the original has {}",
                name(written, is),
                name(original, was)
            ));
        }
        if kinds.0 != MotionKind::Rapid {
            let feed = |modal: &Modal| modal.feed_mm_per_min;
            same_feed(feed(original.modal(was.motion)), feed(written.modal(is.motion)), worst)?;
        }
        same_height(self.sides, was.to, is.to, Heights::SameBase, worst)
    }

    /// A lead-in of the join's own: with the torch on and nothing else happening, to the place where it is declared to
    /// meet the path, along the path's own direction there.
    fn lead_in(
        &self,
        joins_at: Point<Program>,
        wanted: &VecDeque<Wanted>,
        now: &mut VecDeque<Step>,
    ) -> Result<(), Reason> {
        let view = self.sides.written;
        if view.from(self.written.on_at.motion as usize).distance(joins_at) <= PATH_MM {
            return Ok(());
        }
        let feeds = self.feeds_of_lead_in(wanted);
        loop {
            let Some(Step::Move(piece)) = now.pop_front() else {
                return Err(self.refuse(&format!("its lead-in does not come to {}", place(joins_at))));
            };
            let k = piece.motion;
            if !walk::alike(MotionKind::Feed, view.motion(k).kind) {
                return Err(self.refuse_at("a lead-in is cut by feeds and arcs", k));
            }
            let feed = view.modal(k).feed_mm_per_min;
            if feeds.iter().all(|known| same_feed(*known, feed, &mut Worst::default()).is_err()) {
                let shown = feed.map_or("no feed".to_owned(), |feed| format!("{feed:.1} mm/min"));
                return Err(self.refuse_at(
                    &format!("its lead-in runs at {shown}, and the original never does here"),
                    k,
                ));
            }
            if piece.curve.to().distance(joins_at) <= PATH_MM {
                return self.meets_path(&piece, wanted);
            }
        }
    }

    /// The feed of the original's own lead-in, and that at the place of the join.
    fn feeds_of_lead_in(&self, wanted: &VecDeque<Wanted>) -> [Option<f64>; 2] {
        let original = self.sides.original;
        let feed = |k: usize| original.modal(k).feed_mm_per_min;
        let own = self.original.burn().find(|k| original.travels(*k)).and_then(feed);
        [own, first_move(wanted).and_then(|was| feed(was.motion))]
    }

    fn meets_path(&self, piece: &Move, wanted: &VecDeque<Wanted>) -> Result<(), Reason> {
        let Some(was) = first_move(wanted) else { return Ok(()) };
        same_height(self.sides, was.from, piece.to, Heights::SameBase, &mut Worst::default())
            .map_err(|what| self.refuse_at(&format!("where its lead-in ends, {what}"), piece.motion))?;
        let ends = piece.curve.tangent_at(piece.curve.length_mm());
        if let (Some(ends), Some(runs)) = (ends, was.curve.tangent_at(0.0)) {
            let turn = ends.cross(runs).atan2(ends.dot(runs)).abs();
            if turn > TANGENT_RAD {
                let what = format!(
                    "its lead-in meets the path at an angle of {:.0}°; it must run into it along its direction",
                    turn.to_degrees()
                );
                return Err(self.refuse_at(&what, piece.motion));
            }
        }
        Ok(())
    }

    /// What the original does on the path from the join on, in the order in which the join must do it.
    fn wanted(&self) -> Result<VecDeque<Wanted>, Reason> {
        let kept = self.join_range();
        let mut wanted = VecDeque::new();
        let mut ends = Vec::new();
        let mut at_mm = 0.0;
        for step in steps(self.sides.original, (self.original.on_at, self.original.burn_ends)) {
            match step {
                Step::Event(e) if self.sides.original.motions.events()[e].kind == EventKind::TorchOff => {
                    ends.push(Wanted { step, at_mm });
                }
                Step::Event(_) if kept.start + SAME_POINT_MM < at_mm && at_mm < kept.end + SAME_POINT_MM => {
                    wanted.push_back(Wanted { step, at_mm });
                }
                Step::Event(_) => {}
                Step::Move(was) => {
                    let length = was.curve.length_mm();
                    wanted.extend(clipped(was, at_mm, &kept));
                    at_mm += length;
                }
            }
        }
        if !wanted.iter().any(|wanted| matches!(wanted.step, Step::Move(_))) {
            return Err(self.refuse("its join leaves nothing of its path to be cut"));
        }
        if self.join.start == JoinStart::Backwards {
            wanted = wanted.into_iter().rev().map(reversed).collect();
        }
        wanted.extend(ends);
        Ok(wanted)
    }

    /// The stretch of the path that the join burns.
    fn join_range(&self) -> Range<f64> {
        match self.join.start {
            JoinStart::Backwards => self.join.until_mm..self.join.from_mm,
            _ => self.join.from_mm..self.until_mm(),
        }
    }

    /// Walks along the original's path and the text's.
    fn path_from_there(
        &self,
        mut wanted: VecDeque<Wanted>,
        mut now: VecDeque<Step>,
        worst: &mut Worst,
    ) -> Result<Vec<Ran>, Reason> {
        let mut ran = Vec::new();
        let mut left_out = false;
        loop {
            let (was, is) = match (wanted.pop_front(), now.pop_front()) {
                (None, None) => return Ok(ran),
                (Some(was), Some(is)) => (was, is),
                (Some(_), None) => return Err(self.refuse("the original cuts on where the text ends")),
                (None, Some(is)) => return Err(self.refuse_step(is, "is not in the original")),
            };
            match (was.step, is) {
                (Step::Event(j), Step::Event(k)) => {
                    same_deed(self.sides, j, k, worst)
                        .map_err(|what| self.sides.differs(&what, self.sides.written.event_span(k)))?;
                }
                (Step::Move(a), Step::Move(b)) => {
                    let (rest_a, rest_b) = match self.advance(was.at_mm, a, b, &mut ran, worst) {
                        Ok(rests) => rests,
                        Err(reason) if std::mem::replace(&mut left_out, true) => return Err(reason),
                        Err(_) if walk::is_crumb(self.sides.written, &b, &a) => {
                            wanted.push_front(was);
                            continue;
                        }
                        Err(_) if walk::is_crumb(self.sides.original, &a, &b) => {
                            now.push_front(is);
                            continue;
                        }
                        Err(reason) => return Err(reason),
                    };
                    left_out = false;
                    if let Some(rest) = rest_a {
                        let at_mm = self.further(was.at_mm, a.curve.length_mm() - rest.curve.length_mm());
                        wanted.push_front(Wanted { step: Step::Move(rest), at_mm });
                    }
                    if let Some(rest) = rest_b {
                        now.push_front(Step::Move(rest));
                    }
                }
                (was, is) => {
                    let was = name(self.sides.original, item(was));
                    return Err(self.refuse_step(is, &format!("comes where the original has {was}")));
                }
            }
        }
    }

    fn refuse_step(&self, step: Step, what: &str) -> Reason {
        let what = format!("{} here {what}", name(self.sides.written, item(step)));
        self.sides.differs(&what, self.sides.span(Some(item(step))))
    }

    fn further(&self, at_mm: f64, by_mm: f64) -> f64 {
        match self.join.start {
            JoinStart::Backwards => at_mm - by_mm,
            _ => at_mm + by_mm,
        }
    }

    /// Moves forward on both by the shorter.
    fn advance(
        &self,
        at_mm: f64,
        a: Move,
        b: Move,
        ran: &mut Vec<Ran>,
        worst: &mut Worst,
    ) -> Result<Rests, Reason> {
        let sides = self.sides;
        let refuse = |what: &str| self.refuse_at(what, b.motion);
        let apart = || {
            refuse(&format!(
                "goes to {} and does not follow the original, which goes to {}",
                place(b.curve.to()),
                place(a.curve.to())
            ))
        };
        if !walk::alike(sides.original.motion(a.motion).kind, sides.written.motion(b.motion).kind) {
            return Err(apart());
        }
        let (now_a, now_b, rests) = walk::in_step(a, b).ok_or_else(apart)?;
        let off = walk::together_mm(&now_a.curve, &now_b.curve).ok_or_else(apart)?;
        worst.path_mm = worst.path_mm.max(off);
        same_height(sides, now_a.to, now_b.to, Heights::SameBase, worst).map_err(|what| refuse(&what))?;
        let ends_mm = self.further(at_mm, now_a.curve.length_mm());
        let path_mm = at_mm.min(ends_mm)..at_mm.max(ends_mm);
        let (was, is) = (sides.original.modal(a.motion), sides.written.modal(b.motion));
        same_process(was, is).map_err(|what| refuse(&what))?;
        self.feed_fits(was, is, &path_mm, worst).map_err(|what| refuse(&what))?;
        ran.push(Ran { motion: b.motion, path_mm, steers_in_original: was.height_control });
        Ok(rests)
    }

    /// The original's feed; a groove is gone over at the slower feed of a second pass, all of it that may be one, from either
    /// end.
    fn feed_fits(
        &self,
        was: &Modal,
        is: &Modal,
        path_mm: &Range<f64>,
        worst: &mut Worst,
    ) -> Result<(), String> {
        let backwards_over_groove = self.join.start == JoinStart::Backwards && !self.old.grooves.is_empty();
        if self.join.start != JoinStart::SecondPass && !backwards_over_groove {
            return same_feed(was.feed_mm_per_min, is.feed_mm_per_min, worst);
        }
        let share = self.case.ground.thresholds.second_pass_speed;
        let slower = was.feed_mm_per_min.map(|feed| feed * share);
        let is_slower = same_feed(slower, is.feed_mm_per_min, worst);
        let ends = self.old.groove_before_ends_mm(path_mm.end);
        let past = ends.filter(|ends| path_mm.end > ends + RESUME_MM + PATH_MM);
        if self.old.meets_groove(path_mm) {
            is_slower.map_err(|what| format!("over a groove this {what}, slowed for a second pass"))?;
            return past.map_or(Ok(()), |ends| Err(slow_for_long(path_mm.end, ends)));
        }
        let first = self.old.grooves.first().map_or(f64::NEG_INFINITY, |groove| groove.start);
        if is_slower.is_ok() && (past.is_none() || path_mm.end <= first + PATH_MM) {
            return Ok(());
        }
        same_feed(was.feed_mm_per_min, is.feed_mm_per_min, worst)
    }
}

fn slow_for_long(to_mm: f64, ends_mm: f64) -> String {
    format!(
        "this runs as slowly as over a groove to {to_mm:.1} mm along its path, and the groove ends at {ends_mm:.1} mm"
    )
}

/// The number of events before motion `k`.
fn first_event_of(view: &View<'_>, k: usize) -> u32 {
    index(view.motions.events().partition_point(|event| event.before as usize <= k))
}

fn item(step: Step) -> Item {
    match step {
        Step::Event(e) => Item::Event(e),
        Step::Move(now) => Item::Motion(now.motion),
    }
}

fn is_touch_off(sides: &Sides<'_>, item: Item) -> bool {
    matches!(item, Item::Event(e) if matches!(sides.written.motions.events()[e].kind, EventKind::TouchOff(_)))
}

fn first_move(wanted: &VecDeque<Wanted>) -> Option<Move> {
    wanted.iter().find_map(|wanted| match wanted.step {
        Step::Move(was) => Some(was),
        Step::Event(_) => None,
    })
}

/// What of a motion that begins `at_mm` along the path lies in a stretch of it. One that goes nowhere in X and Y does
/// if its place does.
fn clipped(was: Move, at_mm: f64, kept: &Range<f64>) -> Option<Wanted> {
    let length = was.curve.length_mm();
    if length <= SAME_POINT_MM {
        let inside = kept.start + SAME_POINT_MM < at_mm && at_mm < kept.end + SAME_POINT_MM;
        return inside.then_some(Wanted { step: Step::Move(was), at_mm });
    }
    let (from, to) = ((kept.start - at_mm).max(0.0), (kept.end - at_mm).min(length));
    if to - from <= SAME_POINT_MM {
        return None;
    }
    let mut piece = was;
    let mut begins = 0.0;
    if let Some((_, after)) = walk::split(piece, from) {
        (piece, begins) = (after, from);
    }
    if let Some((before, _)) = walk::split(piece, to - begins) {
        piece = before;
    }
    Some(Wanted { step: Step::Move(piece), at_mm: at_mm + begins })
}

/// The same run the other way.
fn reversed(wanted: Wanted) -> Wanted {
    match wanted.step {
        Step::Event(_) => wanted,
        Step::Move(was) => {
            let ends_mm = wanted.at_mm + was.curve.length_mm();
            let back = Move { curve: was.curve.reversed(), from: was.to, to: was.from, ..was };
            Wanted { step: Step::Move(back), at_mm: ends_mm }
        }
    }
}
