//! Restarts in mid-cut of any plate: a second maker of joins, a test's own.

use super::Plate;
use super::scribe::{Manner, Scribe};
use cuts::{Cut, CutId, Depth, Ends, Hand, Made, Progress};
use geometry::{Arc, Curve, Path, Point, Program};
use nc::{Event, EventKind, Modal, MotionKind, TouchOff, TouchOffBy};
use proof::{Join, JoinStart, Promise, Proof};
use std::ops::Range;

/// How far off a kerf's end may be.
pub(crate) const WITHIN_MM: f64 = 3.0;
/// Length of a groove made for a second pass.
const GROOVE_MM: f64 = 20.0;
/// A fresh pierce's lead-in: a straight and a quarter turn.
const LEAD_STRAIGHT_MM: f64 = 3.0;
const LEAD_RADIUS_MM: f64 = 4.0;
/// Reach of the probing motions written.
const PROBE_REACH_MM: f64 = 60.0;

/// A restart in mid-cut.
pub(crate) struct TakenUp {
    pub(crate) text: String,
    pub(crate) progress: Progress,
    pub(crate) promise: Promise,
    pub(crate) plan: Plan,
}

impl TakenUp {
    pub(crate) fn prove(&self, plate: &Plate) -> Proof {
        plate.prove_promise(self.text.as_bytes(), &self.progress, &self.promise)
    }
}

/// What a join needs besides its declaration.
pub(crate) struct Plan {
    pub(crate) join: Join,
    pub(crate) touch: Point<Program>,
    pub(crate) lit: Point<Program>,
    pub(crate) lead: Vec<Curve<Program>>,
    /// Where height control is let go and where it is held again, in millimetres along the path.
    pub(crate) steers: Range<f64>,
    pub(crate) slow: Range<f64>,
    pub(crate) pierces: bool,
    /// Where the kerf ends, as told.
    pub(crate) stop_mm: f64,
}

/// A piece of a join's burn.
pub(crate) struct Piece {
    pub(crate) curve: Curve<Program>,
    pub(crate) feed: Option<f64>,
    /// Whether height control is on there in the original.
    pub(crate) steers_in_original: bool,
    steers: bool,
}

/// By how much a restart differs from the usual one.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Odd {
    /// The join lies so much farther along its path.
    pub(crate) later_mm: f64,
    /// Height control is let go so much later.
    pub(crate) steers_later_mm: f64,
    /// A second pass runs slowly for so much longer.
    pub(crate) slow_longer_mm: f64,
}

impl Plate {
    /// Cut `k` stopped at `stop_mm` along it and taken up in one of the ways; none where this simple maker finds no
    /// place for it.
    pub(crate) fn taken_up(
        &self,
        k: usize,
        stop_mm: f64,
        start: JoinStart,
        manner: Manner,
    ) -> Option<TakenUp> {
        self.taken_up_oddly(k, stop_mm, start, manner, Odd::default())
    }

    /// The same, with something changed.
    pub(crate) fn taken_up_oddly(
        &self,
        k: usize,
        stop_mm: f64,
        start: JoinStart,
        manner: Manner,
        odd: Odd,
    ) -> Option<TakenUp> {
        let cut = &self.list.cuts[k];
        let plan = self.plan(cut, stop_mm, start, odd)?;
        let mut progress = Progress::before(&self.list, cut.id);
        let through = Made { ends: Ends::to_within(WITHIN_MM), ..Made::through(cut.id, 0.0..stop_mm) };
        progress.made.push(through);
        if start == JoinStart::SecondPass {
            progress.made.push(Made {
                cut: cut.id,
                along_mm: stop_mm..stop_mm + GROOVE_MM,
                depth: Depth::Groove,
                ends: Ends { from_within_mm: WITHIN_MM, to_within_mm: WITHIN_MM },
            });
        }
        let text = self.write(cut, &plan, manner);
        let promise = Promise { joins: vec![plan.join.clone()], ..Promise::of(self.cuts_from(k)) };
        Some(TakenUp { text, progress, promise, plan })
    }

    fn plan(&self, cut: &Cut, stop_mm: f64, start: JoinStart, odd: Odd) -> Option<Plan> {
        let kerf_mm = self.ground.kerf.mm();
        let contour = self.list.contour(*cut.contours.first()?);
        let (begins, ends) = (contour.along_mm.start, contour.along_mm.end);
        let back_mm = stop_mm - WITHIN_MM + odd.later_mm;
        let past_mm = stop_mm + WITHIN_MM + kerf_mm + 0.05 + odd.steers_later_mm;
        // Well within the contour, so that height control is let go in it.
        let on_line_only =
            contour.closed.is_none() && matches!(start, JoinStart::FreshPierce | JoinStart::Backwards);
        if back_mm < begins + 1.0 || past_mm + GROOVE_MM + 5.0 > ends || on_line_only {
            return None;
        }
        let length = cut.path.length_mm();
        let mut plan = Plan {
            join: Join { cut: cut.id, start, from_mm: back_mm, until_mm: length },
            touch: Point::ORIGIN,
            lit: cut.path.point_at(back_mm)?,
            lead: Vec::new(),
            steers: past_mm..length,
            slow: 0.0..0.0,
            pierces: start == JoinStart::FreshPierce,
            stop_mm,
        };
        match start {
            JoinStart::KerfEnd => {}
            // The first of two burns: told by tests of their own.
            JoinStart::OwnPierce => return None,
            JoinStart::SecondPass => {
                plan.slow = back_mm..stop_mm + GROOVE_MM + WITHIN_MM + 0.1 + odd.slow_longer_mm;
            }
            JoinStart::FreshPierce => {
                plan.lead = lead_into(&cut.path, back_mm, contour.scrap_side()?)?;
                plan.lit = plan.lead[0].from();
                let clear_mm = 5.0 + self.ground.kerf.mm();
                let curves = self.list.cuts.iter().flat_map(|cut| cut.path.curves());
                if curves.into_iter().any(|curve| curve.nearest(plan.lit).distance_mm < clear_mm) {
                    return None;
                }
            }
            JoinStart::Backwards => {
                plan.join.from_mm = ends;
                plan.join.until_mm = back_mm;
                plan.lit = cut.path.point_at(ends)?;
                plan.steers = stop_mm + WITHIN_MM + 1.0..ends - 12.0;
            }
        }
        let own_touch = self.dialect.touch_off.contains(&TouchOffBy::TorchOn) || cut.touch_off.is_none();
        plan.touch = if own_touch || plan.pierces { plan.lit } else { self.touch_place(cut, plan.lit)? };
        Some(plan)
    }

    /// A place beside `lit` where nothing is cut near by, now or later, and on nothing that is loose.
    fn touch_place(&self, cut: &Cut, lit: Point<Program>) -> Option<Point<Program>> {
        let clear_mm = 5.0 + self.ground.kerf.mm();
        let plate = self.ground.plate.as_ref()?;
        let is_clear = |p: Point<Program>| {
            let curves = self.list.cuts.iter().flat_map(|cut| cut.path.curves());
            plate.depth_mm(p) > clear_mm
                && curves.into_iter().all(|curve| curve.nearest(p).distance_mm > clear_mm)
                && self
                    .list
                    .contours
                    .iter()
                    .filter(|contour| contour.cut < cut.id)
                    .all(|contour| contour.closed.as_ref().is_none_or(|closed| closed.depth_mm(p) < 0.0))
        };
        (1..=8).flat_map(|ring| (0..24).map(move |turn| (ring, turn))).find_map(|(ring, turn)| {
            let (sin, cos) = (f64::from(turn) * std::f64::consts::TAU / 24.0).sin_cos();
            let reach = 6.0 + 2.0 * f64::from(ring);
            let p = Point::new(lit.x + reach * cos, lit.y + reach * sin);
            is_clear(p).then_some(p)
        })
    }

    fn write(&self, cut: &Cut, plan: &Plan, manner: Manner) -> String {
        let lift_mm = self.moves_z().then_some(self.safe_mm);
        let mut scribe = Scribe::begin(&self.dialect, manner, lift_mm);
        if let (Some(letter), Some(number)) = (self.dialect.process_letter, cut.process) {
            scribe.line(&format!("{}{number}", char::from(letter)));
        }
        scribe.first_way(plan.touch);
        self.set_up(&mut scribe, cut);
        if plan.lit.distance(plan.touch) > 1e-6 {
            scribe.rapid(plan.lit);
        }
        let first = cut.path_motions[0] as usize;
        if self.moves_z() && !plan.pierces {
            scribe.z("G0", cut.cut_height.mm, None);
        }
        scribe.code(self.dialect.torch_on[0]);
        if plan.pierces {
            let (mut motion, mut event) =
                (self.motions.events()[cut.torch_on as usize].before as usize, cut.torch_on as usize + 1);
            self.items(&mut scribe, (&mut motion, &mut event), first, false);
        } else {
            scribe.dwell(0.2);
        }
        let feed = |at_mm: f64| self.feed_at(cut, at_mm);
        plan.lead.iter().for_each(|curve| scribe.cut(curve, feed(plan.join.from_mm)));
        self.path(&mut scribe, cut, plan);
        let last = *cut.path_motions.last().expect("it has a path") as usize;
        let (mut motion, mut event) =
            (last + 1, self.motions.events().partition_point(|event| event.before as usize <= last));
        self.items(&mut scribe, (&mut motion, &mut event), self.motions.motions().len(), true);
        scribe.text
    }

    /// The original's set-up, its ways in X and Y left out.
    fn set_up(&self, scribe: &mut Scribe<'_>, cut: &Cut) {
        let settled = cut.touch_off.map_or(cut.torch_on, |touch| touch.event);
        let reached = self.motions.events()[settled as usize].before as usize;
        let is_way = |k: &usize| {
            let motion = &self.motions.motions()[*k];
            motion.kind != MotionKind::Probe && self.motions.from(*k).distance(motion.to) > 1e-4
        };
        let way = (cut.approach.start as usize..reached).rev().find(is_way);
        let (mut motion, mut event) = match way {
            Some(way) => {
                (way + 1, self.motions.events().partition_point(|event| event.before as usize <= way))
            }
            None => (cut.restart.motion as usize, cut.restart.event as usize),
        };
        let until = self.motions.events()[cut.torch_on as usize].before as usize;
        while motion <= until {
            while event < cut.torch_on as usize && self.motions.events()[event].before as usize <= motion {
                self.event(scribe, event);
                event += 1;
            }
            if motion < until && !is_way(&motion) {
                self.motion(scribe, motion);
            }
            motion += 1;
        }
    }

    /// Events and motions in order, up to motion `until` and, at the program's end, everything.
    fn items(&self, scribe: &mut Scribe<'_>, at: (&mut usize, &mut usize), until: usize, all: bool) {
        let (motion, event) = at;
        let events = self.motions.events();
        loop {
            while *event < events.len() && events[*event].before as usize <= *motion {
                if !all && matches!(events[*event].kind, EventKind::HeightControl(_)) {
                    *event += 1;
                    continue;
                }
                self.event(scribe, *event);
                *event += 1;
            }
            if *motion >= until {
                return;
            }
            self.motion(scribe, *motion);
            *motion += 1;
        }
    }

    fn path(&self, scribe: &mut Scribe<'_>, cut: &Cut, plan: &Plan) {
        let mut steers = false;
        for piece in self.pieces(cut, plan) {
            if piece.steers != steers {
                let dialect = &self.dialect;
                let codes =
                    if piece.steers { &dialect.height_control_on } else { &dialect.height_control_off };
                scribe.code(codes[0]);
                steers = piece.steers;
            }
            scribe.cut(&piece.curve, piece.feed);
        }
    }

    /// The burn of a join on its path, piece by piece.
    pub(crate) fn pieces(&self, cut: &Cut, plan: &Plan) -> Vec<Piece> {
        let backwards = plan.join.start == JoinStart::Backwards;
        let burns = if backwards {
            plan.join.until_mm..plan.join.from_mm
        } else {
            plan.join.from_mm..plan.join.until_mm
        };
        let mut pieces = Vec::new();
        for (nth, k) in cut.path_motions.iter().enumerate() {
            let (from, to) = (cut.path.start_of_mm(nth), cut.path.start_of_mm(nth + 1));
            let mut stops = vec![from, to];
            let breaks = [burns.start, burns.end, plan.steers.start, plan.steers.end, plan.slow.end];
            stops.extend(breaks.into_iter().filter(|at| from + 1e-3 < *at && *at < to - 1e-3));
            stops.sort_by(f64::total_cmp);
            for two in stops.windows(2) {
                let middle = f64::midpoint(two[0], two[1]);
                if burns.contains(&middle) {
                    let curve = cut.path.curves()[nth].piece(two[0] - from, two[1] - from);
                    pieces.push(self.piece(
                        *k as usize,
                        if backwards { curve.reversed() } else { curve },
                        middle,
                        plan,
                    ));
                }
            }
        }
        if backwards {
            pieces.reverse();
        }
        pieces
    }

    fn piece(&self, k: usize, curve: Curve<Program>, middle_mm: f64, plan: &Plan) -> Piece {
        let modal = self.modal(k);
        let share =
            if plan.slow.contains(&middle_mm) { self.ground.thresholds.second_pass_speed } else { 1.0 };
        Piece {
            curve,
            feed: modal.feed_mm_per_min.map(|feed| feed * share),
            steers_in_original: modal.height_control,
            steers: modal.height_control && plan.steers.contains(&middle_mm),
        }
    }

    fn modal(&self, k: usize) -> &Modal {
        self.motions.modal(self.motions.motions()[k].modal)
    }

    fn feed_at(&self, cut: &Cut, at_mm: f64) -> Option<f64> {
        let (nth, _) = cut.path.locate(at_mm)?;
        self.modal(cut.path_motions[nth] as usize).feed_mm_per_min
    }

    fn motion(&self, scribe: &mut Scribe<'_>, k: usize) {
        let motion = &self.motions.motions()[k];
        let feed = self.modal(k).feed_mm_per_min.filter(|_| motion.kind != MotionKind::Rapid);
        let moves = self.moves_z() && self.motions.z_from(k) != motion.z;
        match motion.kind {
            MotionKind::Probe => scribe.z(&self.dialect.probe[0].to_string(), -PROBE_REACH_MM, feed),
            MotionKind::Home => scribe.line("G28"),
            kind => {
                let curve = self.motions.curve(k);
                let goes = curve.length_mm() > 1e-9;
                assert!(!(goes && moves), "no hand moves in three axes at once");
                match (kind, goes) {
                    (MotionKind::Rapid, true) => scribe.rapid(motion.to),
                    (_, true) => scribe.cut(&curve, feed),
                    (MotionKind::Rapid, false) if moves => scribe.z("G0", motion.z.mm, None),
                    (_, false) if moves => scribe.z("G1", motion.z.mm, feed),
                    _ => {}
                }
            }
        }
    }

    fn event(&self, scribe: &mut Scribe<'_>, e: usize) {
        let dialect = &self.dialect;
        let event: &Event = &self.motions.events()[e];
        let mut first =
            |codes: &[nc::Code]| codes.first().copied().into_iter().for_each(|code| scribe.code(code));
        match event.kind {
            EventKind::TorchOn => first(&dialect.torch_on),
            EventKind::TorchOff => first(&dialect.torch_off),
            EventKind::HeightControl(true) => first(&dialect.height_control_on),
            EventKind::HeightControl(false) => first(&dialect.height_control_off),
            EventKind::Dwell(seconds) => scribe.dwell(seconds),
            EventKind::TouchOff(how) => {
                match (how, dialect.touch_off.first()) {
                    (TouchOff::Probed, _) => scribe.line("G92 Z0"),
                    (_, Some(TouchOffBy::Code(code))) => scribe.code(*code),
                    (_, Some(TouchOffBy::Subprogram(number))) => {
                        scribe.line(&format!("{} {}{number}", dialect.call, char::from(dialect.call_target)));
                    }
                    _ => {}
                }
                scribe.touched(self.motions.z_from(event.before as usize).mm.max(0.0));
            }
            EventKind::Stop => scribe.line("M0"),
            EventKind::End => scribe.line("M30"),
            EventKind::Process(number) => {
                if let Some(letter) = dialect.process_letter {
                    scribe.line(&format!("{}{number}", char::from(letter)));
                }
            }
            EventKind::DatumSet(_) | EventKind::Call(_) => {}
        }
    }
}

/// A straight and a quarter turn, from the scrap side into a path at a place of it.
fn lead_into(path: &Path<Program>, at_mm: f64, scrap: Hand) -> Option<Vec<Curve<Program>>> {
    let (to, along) = (path.point_at(at_mm)?, path.tangent_at(at_mm)?);
    let aside = if scrap == Hand::Left { along.left() } else { -along.left() };
    let center = to + aside * LEAD_RADIUS_MM;
    let from = center + -along * LEAD_RADIUS_MM;
    let begins = from + aside * LEAD_STRAIGHT_MM;
    // The torch comes from aside and turns into the path: away from the side it comes from.
    let arc = Arc::about(from, to, center, scrap == Hand::Left);
    Some(vec![Curve::line(begins, from), Curve::Arc(arc)])
}

/// A cut of this plate that can be named.
pub(crate) fn id(k: usize) -> CutId {
    CutId(u32::try_from(k).expect("few cuts"))
}
