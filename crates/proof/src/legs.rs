//! A program's run cut into legs: the way to a start, its set-up, its burn, and what ends it.
//!
//! ```text
//! | lead-up: travel to the place | set-up: touch-off … | burn: torch-on … torch-off | ending: waits, retract |
//! begins                         set_up                on                           off                      ends
//! ```

use crate::{Reason, view::View};
use nc::{Event, EventKind, MotionKind, Motions, TouchOff};

/// A moment between two items of a run: so many motions and events lie before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Moment {
    /// Motions before it.
    pub(crate) motion: u32,
    /// Events before it.
    pub(crate) event: u32,
}

/// One start and what belongs to it.
#[derive(Clone, Debug)]
pub(crate) struct Leg {
    /// Where the ending before it is over; for the first leg the program's beginning.
    pub(crate) begins: Moment,
    /// After the last travel in X or Y before the touch-off (before the torch-on if there is none).
    pub(crate) set_up: Moment,
    /// The last touch-off before the torch-on, by its event.
    pub(crate) touch: Option<u32>,
    /// The torch-on, by its event.
    pub(crate) on: u32,
    /// Moment of the torch-on, not yet passed.
    pub(crate) on_at: Moment,
    /// The torch-off, by its event; none if the torch is started again or the program ends before one.
    pub(crate) off: Option<u32>,
    /// After the torch-off.
    pub(crate) burn_ends: Moment,
    /// Before the next travel in X or Y, touch-off or torch-on.
    pub(crate) ends: Moment,
}

impl Leg {
    /// The moment of its touch-off, not yet passed, if the control finds the plate by itself from wherever the torch
    /// stands.
    pub(crate) fn found_by_control(&self, view: &View<'_>) -> Option<Moment> {
        let event = &view.motions.events()[self.touch? as usize];
        let by_itself = matches!(event.kind, EventKind::TouchOff(TouchOff::ByControl | TouchOff::ByCall));
        by_itself.then_some(Moment { motion: event.before, event: self.touch? })
    }

    /// Whether the control brings the torch to where it is lit: it finds the plate, and the torch-on follows at once.
    pub(crate) fn lit_by_control(&self, view: &View<'_>) -> bool {
        self.found_by_control(view).is_some_and(|found| found.motion == self.on_at.motion)
    }

    /// Its burning motions.
    pub(crate) fn burn(&self) -> std::ops::Range<usize> {
        self.on_at.motion as usize..self.burn_ends.motion as usize
    }
}

/// A whole run in legs.
#[derive(Debug)]
pub(crate) struct Legs {
    /// The legs in order.
    pub(crate) legs: Vec<Leg>,
}

impl Legs {
    /// The legs of the written program.
    ///
    /// # Errors
    /// If its torch is not ended after each start.
    pub(crate) fn of(view: &View<'_>) -> Result<Self, Reason> {
        let legs = split(view);
        if let Some(leg) = legs.iter().find(|leg| leg.off.is_none()) {
            return Err(Reason {
                point: 3,
                message: "the torch is started here and never ended: end each cut before the next start and \
                          before the program's end"
                    .to_owned(),
                at: view.event_span(leg.on as usize),
            });
        }
        Ok(Self { legs })
    }

    /// The legs of the original, whatever state its torch words are in.
    pub(crate) fn of_original(view: &View<'_>) -> Self {
        Self { legs: split(view) }
    }

    /// The leg whose torch-on is this event.
    pub(crate) fn started_by(&self, torch_on: u32) -> Option<&Leg> {
        Some(&self.legs[self.place_of(torch_on)?])
    }

    /// The number of that leg, counted from 0.
    pub(crate) fn place_of(&self, torch_on: u32) -> Option<usize> {
        self.legs.binary_search_by_key(&torch_on, |leg| leg.on).ok()
    }
}

/// One item of a run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Item {
    /// A motion, by its index.
    Motion(usize),
    /// An event, by its index.
    Event(usize),
}

/// The items between two moments in order of execution.
pub(crate) fn items(motions: &Motions, from: Moment, to: Moment) -> impl Iterator<Item = Item> + '_ {
    let (mut motion, mut event) = (from.motion, from.event);
    std::iter::from_fn(move || {
        if event < to.event && (motion >= to.motion || motions.events()[event as usize].before <= motion) {
            event += 1;
            Some(Item::Event(event as usize - 1))
        } else if motion < to.motion {
            motion += 1;
            Some(Item::Motion(motion as usize - 1))
        } else {
            None
        }
    })
}

fn split(view: &View<'_>) -> Vec<Leg> {
    let events = view.motions.events();
    let mut legs: Vec<Leg> = Vec::new();
    let mut begins = Moment { motion: 0, event: 0 };
    let mut burning: Option<Leg> = None;
    for (e, event) in events.iter().enumerate() {
        let now = Moment { motion: event.before, event: index(e) };
        match event.kind {
            EventKind::TorchOn => {
                if let Some(unended) = burning.take() {
                    begins = now;
                    legs.push(Leg { burn_ends: now, ends: now, ..unended });
                }
                burning = Some(started(view, begins, now));
            }
            EventKind::TorchOff => {
                if let Some(leg) = burning.take() {
                    let burn_ends = Moment { motion: now.motion, event: now.event + 1 };
                    let ends = ending(view, burn_ends);
                    begins = ends;
                    legs.push(Leg { off: Some(now.event), burn_ends, ends, ..leg });
                }
            }
            _ => {}
        }
    }
    let over = end(view.motions);
    legs.extend(burning.map(|unended| Leg { burn_ends: over, ends: over, ..unended }));
    legs
}

/// The leg that is started at `now`, not yet ended.
fn started(view: &View<'_>, begins: Moment, now: Moment) -> Leg {
    let events = view.motions.events();
    let touch =
        (begins.event..now.event).rev().find(|e| matches!(events[*e as usize].kind, EventKind::TouchOff(_)));
    let reached = touch.map_or(now.motion, |e| events[e as usize].before);
    let traveled = (begins.motion..reached).rev().find(|k| is_way(view, *k as usize));
    let set_up = traveled.map_or(begins, |k| Moment { motion: k + 1, event: first_after(events, k) });
    Leg { begins, set_up, touch, on: now.event, on_at: now, off: None, burn_ends: now, ends: now }
}

/// Whether motion `k` is travel from one place to another; a probing motion belongs to the set-up.
fn is_way(view: &View<'_>, k: usize) -> bool {
    view.motion(k).kind != MotionKind::Probe && view.travels(k)
}

/// The first event after motion `k`.
fn first_after(events: &[Event], k: u32) -> u32 {
    index(events.partition_point(|event| event.before <= k))
}

/// Where the ending that begins at `from` is over.
fn ending(view: &View<'_>, from: Moment) -> Moment {
    let mut at = from;
    for item in items(view.motions, from, end(view.motions)) {
        match item {
            Item::Motion(k) if view.travels(k) || view.motion(k).kind == MotionKind::Probe => break,
            Item::Motion(_) => at.motion += 1,
            Item::Event(e) => match view.motions.events()[e].kind {
                EventKind::TouchOff(_) | EventKind::TorchOn | EventKind::End => break,
                _ => at.event += 1,
            },
        }
    }
    at
}

/// The moment after everything.
pub(crate) fn end(motions: &Motions) -> Moment {
    Moment { motion: index(motions.motions().len()), event: index(motions.events().len()) }
}

/// An index as `nc` keeps it; `nc` makes at most [`Motions::MOST`] of anything.
#[expect(clippy::cast_possible_truncation, reason = "nc indexes motions and events by u32")]
pub(crate) fn index(k: usize) -> u32 {
    k as u32
}
