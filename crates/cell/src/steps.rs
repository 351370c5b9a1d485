//! A program as the cell runs it: stretches of motion from rest to rest, and what happens between them.

use crate::CellFacts;
use crate::motion::{Move, Run, plan};
use geometry::{Curve, Program, SAME_POINT_MM};
use nc::{EventKind, MotionKind, Motions};
use std::ops::Range;

/// One step of a program.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Step {
    /// The event of this index.
    Event(usize),
    /// A motion straight up or down.
    Height(usize),
    /// A probing motion.
    Probe(usize),
    /// Motions that are run without a rest between them.
    Leg(Range<usize>),
}

/// The steps of `motions`, in order.
pub(crate) struct Steps<'a> {
    motions: &'a Motions,
    motion: usize,
    event: usize,
}

impl<'a> Steps<'a> {
    pub(crate) fn of(motions: &'a Motions) -> Self {
        Self { motions, motion: 0, event: 0 }
    }

    /// Whether the torch comes to rest before motion `k` because of an event; events that need no rest are passed by.
    fn rests_before(&mut self, k: usize) -> bool {
        let events = self.motions.events();
        while let Some(event) = events.get(self.event).filter(|event| event.before as usize <= k) {
            if needs_rest(event.kind) {
                return true;
            }
            self.event += 1;
        }
        false
    }
}

impl Iterator for Steps<'_> {
    type Item = Step;

    fn next(&mut self) -> Option<Step> {
        if self.rests_before(self.motion) {
            self.event += 1;
            return Some(Step::Event(self.event - 1));
        }
        let first = self.motion;
        match self.motions.motions().get(first)?.kind {
            MotionKind::Probe => {
                self.motion += 1;
                return Some(Step::Probe(first));
            }
            _ if rises(self.motions, first) => {
                self.motion += 1;
                return Some(Step::Height(first));
            }
            _ => {}
        }
        self.motion += 1;
        while self.motion < self.motions.motions().len()
            && !self.rests_before(self.motion)
            && self.motions.motions()[self.motion].kind != MotionKind::Probe
            && !rises(self.motions, self.motion)
        {
            self.motion += 1;
        }
        Some(Step::Leg(first..self.motion))
    }
}

/// Whether motion `k` goes up or down and nowhere else.
fn rises(motions: &Motions, k: usize) -> bool {
    motions.from(k).distance(motions.motions()[k].to) <= SAME_POINT_MM
        && motions.curve(k).length_mm() <= SAME_POINT_MM
        && motions.z_from(k) != motions.motions()[k].z
}

/// Whether the torch must stand still for an event. Words for height control, calls and the datum are worked off on
/// the way (common practice).
const fn needs_rest(kind: EventKind) -> bool {
    match kind {
        EventKind::TorchOn
        | EventKind::TorchOff
        | EventKind::Dwell(_)
        | EventKind::TouchOff(_)
        | EventKind::Process(_)
        | EventKind::Stop
        | EventKind::End => true,
        EventKind::HeightControl(_) | EventKind::DatumSet(_) | EventKind::Call(_) => false,
    }
}

/// A motion within a leg: its curve and how it is run. A motion without length has no run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Planned {
    pub(crate) motion: usize,
    pub(crate) curve: Curve<Program>,
    pub(crate) run: Option<Run>,
}

/// Plans the motions of `leg` from rest to rest, the first of them from `from_mm` along it.
pub(crate) fn planned(motions: &Motions, leg: Range<usize>, from_mm: f64, facts: &CellFacts) -> Vec<Planned> {
    let first = leg.start;
    let mut planned: Vec<Planned> = leg
        .map(|motion| {
            let curve = motions.curve(motion);
            let whole = motion != first || from_mm <= 0.0;
            let curve = if whole { curve } else { curve.piece(from_mm, curve.length_mm()) };
            Planned { motion, curve, run: None }
        })
        .collect();
    let has_length = |planned: &&mut Planned| planned.curve.length_mm() > SAME_POINT_MM;
    let moves: Vec<Move> = planned
        .iter_mut()
        .filter(has_length)
        .map(|planned| Move::along(&planned.curve, wanted(motions, planned.motion), false))
        .collect();
    let runs = plan(&moves, &facts.limits);
    for (planned, run) in planned.iter_mut().filter(has_length).zip(runs) {
        planned.run = Some(run);
    }
    planned
}

/// The speed that motion `k` is to run at, in millimetres a second; without limit where no feed is told.
pub(crate) fn wanted(motions: &Motions, k: usize) -> f64 {
    let motion = &motions.motions()[k];
    match motion.kind {
        // Each axis goes as fast as it can.
        MotionKind::Rapid | MotionKind::Home => f64::INFINITY,
        MotionKind::Feed | MotionKind::ArcCw | MotionKind::ArcCcw | MotionKind::Probe => {
            feed(motions, k).unwrap_or(f64::INFINITY)
        }
    }
}

/// The feed in force at motion `k`, in millimetres a second.
fn feed(motions: &Motions, k: usize) -> Option<f64> {
    let feed = motions.modal(motions.motions()[k].modal).feed_mm_per_min;
    feed.filter(|feed| *feed > FEED_LEAST_MM_PER_MIN).map(|feed| feed / 60.0)
}

/// A feed below this, in millimetres a minute, is a slip and counts as untold: a metre would take ten years.
const FEED_LEAST_MM_PER_MIN: f64 = 2e-4;

/// How long motion `k`, straight up or down, takes in seconds; nothing where its way or speed is not known.
pub(crate) fn height_time_s(motions: &Motions, k: usize, facts: &CellFacts) -> f64 {
    let (from, to) = (motions.z_from(k), motions.motions()[k].z);
    if from.base != to.base {
        return 0.0;
    }
    let speed = match motions.motions()[k].kind {
        MotionKind::Rapid => facts.rapid_z_mm_per_s,
        _ => feed(motions, k).unwrap_or(f64::INFINITY),
    };
    (to.mm - from.mm).abs() / speed
}

/// How long probing motion `k` takes in seconds: from its height down to the plate at its feed; none where the height
/// is not known.
pub(crate) fn probe_time_s(motions: &Motions, k: usize) -> Option<f64> {
    let from = motions.z_from(k);
    let known = from.base != nc::HeightBase::Unknown && from.mm > 0.0;
    let feed = feed(motions, k)?;
    known.then(|| from.mm / feed)
}

/// The speed wanted of motion `k`, for those who hold the true speed against it; none for rapids and without a feed.
pub(crate) fn wanted_feed(motions: &Motions, k: usize) -> Option<f64> {
    match motions.motions()[k].kind {
        MotionKind::Feed | MotionKind::ArcCw | MotionKind::ArcCcw => feed(motions, k),
        MotionKind::Rapid | MotionKind::Probe | MotionKind::Home => None,
    }
}
