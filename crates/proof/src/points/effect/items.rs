//! Item by item: two stretches of run that correspond one to one.

use super::Worst;
use crate::legs::{Item, Leg, Moment, items};
use crate::nearness::strays_mm;
use crate::tolerance::{FEED_SHARE, NOISE_MM, PATH_MM, WAIT_S};
use crate::view::View;
use crate::{Reason, reason};
use cuts::CutId;
use finding::Span;
use geometry::{Point, Program};
use nc::{EventKind, Height, HeightBase, Modal, MotionKind};
use std::ops::Range;

/// How two stretches were found to be the same.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Compared {
    /// Item by item.
    OneToOne,
    /// By walking along both paths.
    AlongThePath,
}

/// Whether heights must count from the same base.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Heights {
    /// Yes.
    SameBase,
    /// Before the restart's first touch-off a height counts from program zero where the original's counted from the
    /// plate's top; a precondition says that they are the same.
    BaseMayBeProgram,
    /// Nor need they be the same: the control has yet to find the plate for this start, and goes down to it from wherever
    /// the torch stands. Up to there it may stand higher than in the original, and moves by as much.
    FoundLater,
}

/// The two programs and the cut in question.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Sides<'a> {
    pub(crate) original: &'a View<'a>,
    pub(crate) written: &'a View<'a>,
    pub(crate) height_mm: f64,
    pub(crate) cut: CutId,
    /// Whether the torch stands at another place than in the original, so that only motions in Z are compared.
    pub(crate) elsewhere: bool,
    /// By how much lower than in the original the control's touch-off leaves the torch, in millimetres: where it lights an
    /// edge start by itself, the height at which it does is set by hand to the cut height.
    pub(crate) left_lower_mm: f64,
}

impl Sides<'_> {
    /// The refusal at an item of the written program.
    pub(crate) fn differs(&self, what: &str, at: Option<Span>) -> Reason {
        reason(2, format!("cut {}: {what}", self.cut.number()), at)
    }

    /// Whether neither of two motions goes anywhere in X or Y, where the torch stands at another place.
    pub(super) fn rests_elsewhere(&self, j: usize, k: usize) -> bool {
        self.elsewhere && !self.original.travels(j) && !self.written.travels(k)
    }

    pub(crate) fn span(&self, item: Option<Item>) -> Option<Span> {
        match item? {
            Item::Motion(k) => self.written.span(k),
            Item::Event(e) => self.written.event_span(e),
        }
    }
}

/// Whether an item does something by itself. What the other events change for later items is compared at those.
pub(crate) fn acts(view: &View<'_>, item: Item) -> bool {
    match item {
        Item::Motion(_) => true,
        Item::Event(e) => match view.motions.events()[e].kind {
            EventKind::TorchOn
            | EventKind::TorchOff
            | EventKind::Dwell(_)
            | EventKind::TouchOff(_)
            | EventKind::Stop
            | EventKind::End => true,
            EventKind::HeightControl(_)
            | EventKind::Process(_)
            | EventKind::DatumSet(_)
            | EventKind::Call(_) => false,
        },
    }
}

/// Holds two stretches against each other, item by item.
///
/// # Errors
/// At the first item that differs.
pub(crate) fn one_to_one(
    sides: &Sides<'_>,
    original: (Moment, Moment),
    written: (Moment, Moment),
    heights: Heights,
) -> Result<Worst, Reason> {
    let mut worst = Worst::default();
    let mut before =
        items(sides.original.motions, original.0, original.1).filter(|item| acts(sides.original, *item));
    let mut after =
        items(sides.written.motions, written.0, written.1).filter(|item| acts(sides.written, *item));
    let mut last = None;
    loop {
        match (before.next(), after.next()) {
            (None, None) => return Ok(worst),
            (Some(a), Some(b)) => {
                same_item(sides, a, b, heights, &mut worst)?;
                last = Some(b);
            }
            (Some(a), None) => {
                let what =
                    format!("after this the original has {}, and the text has not", name(sides.original, a));
                return Err(sides.differs(&what, sides.span(last)));
            }
            (None, Some(b)) => {
                let what = format!("{} here is not in the original", name(sides.written, b));
                return Err(sides.differs(&what, sides.span(Some(b))));
            }
        }
    }
}

fn same_item(sides: &Sides<'_>, a: Item, b: Item, heights: Heights, worst: &mut Worst) -> Result<(), Reason> {
    match (a, b) {
        (Item::Motion(j), Item::Motion(k)) => same_motion(sides, j, k, heights, worst)
            .map_err(|what| sides.differs(&what, sides.written.span(k))),
        (Item::Event(j), Item::Event(k)) => {
            same_event(sides, j, k, worst).map_err(|what| sides.differs(&what, sides.written.event_span(k)))
        }
        _ => {
            let (a, now) = (name(sides.original, a), name(sides.written, b));
            Err(sides.differs(&format!("{now} here, where the original has {a}"), sides.span(Some(b))))
        }
    }
}

fn same_motion(
    sides: &Sides<'_>,
    j: usize,
    k: usize,
    heights: Heights,
    worst: &mut Worst,
) -> Result<(), String> {
    let (a, b) = (sides.original.motion(j), sides.written.motion(k));
    if a.kind != b.kind {
        return Err(format!("{} here, where the original has {}", motion(b.kind), motion(a.kind)));
    }
    if a.kind == MotionKind::Home {
        return Ok(());
    }
    let (to_a, to_b) = (sides.original.to(j), sides.written.to(k));
    let mut off = if sides.rests_elsewhere(j, k) { 0.0 } else { to_a.distance(to_b) };
    if off > PATH_MM {
        return Err(format!("goes to {} and not to {} as the original", place(to_b), place(to_a)));
    }
    let is_arc = matches!(a.kind, MotionKind::ArcCw | MotionKind::ArcCcw);
    if is_arc && !same_numbers(sides, j..j + 1, k..k + 1) {
        let (a, b) = (sides.original.curve(j), sides.written.curve(k));
        off = off.max(strays_mm(&a, &b)).max(strays_mm(&b, &a));
        if off > PATH_MM {
            return Err("this arc does not run along the original's".to_owned());
        }
    }
    worst.path_mm = worst.path_mm.max(off);
    let rises = |view: &View<'_>, k: usize| (view.height_from(k), view.motion(k).z);
    same_rise(sides, rises(sides.original, j), rises(sides.written, k), heights, worst)?;
    same_state(sides.original.modal(j), sides.written.modal(k), a.kind, worst)
}

/// Whether two rows of motions run the same curves on the plate, number for number.
pub(super) fn same_numbers(sides: &Sides<'_>, original: Range<usize>, written: Range<usize>) -> bool {
    let (a, b) = (sides.original.motions, sides.written.motions);
    let same = |a: &nc::Motion, b: &nc::Motion| a.kind == b.kind && a.to == b.to && a.center == b.center;
    sides.written.is_unmoved()
        && original.len() == written.len()
        && a.from(original.start) == b.from(written.start)
        && a.motions()[original].iter().zip(&b.motions()[written]).all(|(a, b)| same(a, b))
}

/// Heights before and after two motions.
pub(super) fn same_rise(
    sides: &Sides<'_>,
    (from_a, a): (Height, Height),
    (from_b, b): (Height, Height),
    heights: Heights,
    worst: &mut Worst,
) -> Result<(), String> {
    let differs = match same_height(sides, a, b, heights, worst) {
        Err(differs) if heights == Heights::FoundLater => differs,
        same => return same,
    };
    // Each of the two ends of a motion is rounded.
    let as_much = ((a.mm - from_a.mm) - (b.mm - from_b.mm)).abs() <= 2.0 * sides.height_mm;
    let counted_alike = from_a.base == a.base && from_b.base == b.base;
    if as_much && counted_alike && b.mm >= a.mm - sides.height_mm { Ok(()) } else { Err(differs) }
}

/// Heights of two items.
pub(crate) fn same_height(
    sides: &Sides<'_>,
    a: Height,
    b: Height,
    heights: Heights,
    worst: &mut Worst,
) -> Result<(), String> {
    let may_differ = match (a.base, b.base) {
        (HeightBase::PlateTop, HeightBase::Program) => heights != Heights::SameBase,
        // Nothing had found the plate when the original first came here; in the text something has.
        (HeightBase::Program, HeightBase::PlateTop) => heights == Heights::FoundLater,
        _ => false,
    };
    if a.base != b.base && !may_differ {
        return Err(format!(
            "its height counts from {} and in the original from {}",
            base(b.base),
            base(a.base)
        ));
    }
    // Where a touch-off leaves the torch may not be known; by how much it moves from there is.
    let left_lower_mm = if b.base == HeightBase::Unknown { sides.left_lower_mm } else { 0.0 };
    let off = (a.mm - (b.mm - left_lower_mm)).abs();
    if off > sides.height_mm {
        return Err(format!("its height is {:.3} mm and in the original {:.3} mm", b.mm, a.mm));
    }
    worst.height_mm = worst.height_mm.max(off);
    Ok(())
}

/// What the modal state does to a motion.
pub(crate) fn same_state(a: &Modal, b: &Modal, kind: MotionKind, worst: &mut Worst) -> Result<(), String> {
    if a.torch != b.torch {
        return Err(format!("the torch is {} here and in the original {}", on(b.torch), on(a.torch)));
    }
    if !matches!(kind, MotionKind::Rapid | MotionKind::Home) {
        same_feed(a.feed_mm_per_min, b.feed_mm_per_min, worst)?;
    }
    burning_state(a, b)
}

/// Two feeds.
pub(super) fn same_feed(a: Option<f64>, b: Option<f64>, worst: &mut Worst) -> Result<(), String> {
    let shown = |feed: Option<f64>| feed.map_or("no feed".to_owned(), |feed| format!("{feed:.1} mm/min"));
    let share = match (a, b) {
        (Some(a), Some(b)) => (a - b).abs() / a.abs().max(NOISE_MM),
        (None, None) => 0.0,
        _ => f64::INFINITY,
    };
    if share > FEED_SHARE {
        return Err(format!("runs at {} and in the original at {}", shown(b), shown(a)));
    }
    worst.feed_share = worst.feed_share.max(share);
    Ok(())
}

/// Process and height control, while the torch is on.
fn burning_state(a: &Modal, b: &Modal) -> Result<(), String> {
    if !a.torch {
        return Ok(());
    }
    same_process(a, b)?;
    if a.height_control != b.height_control {
        let (now, was) = (on(b.height_control), on(a.height_control));
        return Err(format!("height control is {now} here and in the original {was}"));
    }
    Ok(())
}

/// The process in force.
pub(super) fn same_process(a: &Modal, b: &Modal) -> Result<(), String> {
    if a.process == b.process {
        return Ok(());
    }
    let shown = |process: Option<u32>| process.map_or("none".to_owned(), |number| number.to_string());
    Err(format!("the process is {} and in the original {}", shown(b.process), shown(a.process)))
}

/// Two events of the same effect.
pub(crate) fn same_event(sides: &Sides<'_>, j: usize, k: usize, worst: &mut Worst) -> Result<(), String> {
    same_deed(sides, j, k, worst)?;
    let (a, b) = (&sides.original.motions.events()[j], &sides.written.motions.events()[k]);
    burning_state(sides.original.motions.modal(a.modal), sides.written.motions.modal(b.modal))
}

/// Two events of the same kind and value, whatever the state they happen in.
pub(super) fn same_deed(sides: &Sides<'_>, j: usize, k: usize, worst: &mut Worst) -> Result<(), String> {
    let (a, b) = (&sides.original.motions.events()[j], &sides.written.motions.events()[k]);
    match (a.kind, b.kind) {
        (EventKind::Dwell(a), EventKind::Dwell(b)) => {
            let off = (a - b).abs();
            if off > WAIT_S {
                return Err(format!("waits {b:.3} s and in the original {a:.3} s"));
            }
            worst.wait_s = worst.wait_s.max(off);
        }
        (a, b) if a == b => {}
        _ => {
            let (a, b) = (name(sides.original, Item::Event(j)), name(sides.written, Item::Event(k)));
            return Err(format!("{b} here, where the original has {a}"));
        }
    }
    Ok(())
}

/// A leg that comes by a way of its own arrives where the original's set-up begins; only torch-off travel comes
/// before.
///
/// # Errors
/// If it stands elsewhere, or something else comes before.
pub(crate) fn arrives(sides: &Sides<'_>, original: &Leg, written: &Leg) -> Result<(), Reason> {
    let (j, k) = (original.set_up.motion as usize, written.set_up.motion as usize);
    let (a, b) = (sides.original.from(j), sides.written.from(k));
    if a.distance(b) > PATH_MM {
        let what = format!("begins at {} and in the original at {}", place(b), place(a));
        return Err(sides.differs(&what, k.checked_sub(1).and_then(|k| sides.written.span(k))));
    }
    only_travels(sides, written)
}

/// The torch is lit as high as in the original. Where the way is another, so may be the height from which the set-up
/// begins.
///
/// # Errors
/// If it is not.
pub(super) fn lit_as_high(
    sides: &Sides<'_>,
    original: &Leg,
    written: &Leg,
    worst: &mut Worst,
) -> Result<(), Reason> {
    let (was, is) = (lit_height(sides.original, original), lit_height(sides.written, written));
    same_height(sides, was, is, Heights::SameBase, worst)
        .map_err(|what| sides.differs(&what, sides.written.event_span(written.on as usize)))
}

/// The height at which a leg's torch is lit.
pub(super) fn lit_height(view: &View<'_>, leg: &Leg) -> Height {
    view.height_at(leg.on_at.motion as usize, leg.on as usize)
}

/// The moment before the last motion of an ending, if that lifts the torch and no more.
pub(super) fn before_lift(sides: &Sides<'_>, written: &Leg, ends: Moment) -> Option<Moment> {
    let motion = ends.motion.checked_sub(1).filter(|k| *k >= written.burn_ends.motion)?;
    let (k, view) = (motion as usize, sides.written);
    let (from, to) = (view.height_before(k), view.motion(k).z);
    let lifts = matches!(view.motion(k).kind, MotionKind::Rapid | MotionKind::Feed)
        && !view.travels(k)
        && (from.base != to.base || to.mm >= from.mm);
    let event = view.motions.events().partition_point(|event| event.before <= motion);
    let event = crate::legs::index(event).max(written.burn_ends.event);
    let acts_after = (event..ends.event).any(|e| acts(view, Item::Event(e as usize)));
    (lifts && !acts_after).then_some(Moment { motion, event })
}

/// Nothing but torch-off travel comes before a leg's set-up.
///
/// # Errors
/// If something else does.
pub(super) fn only_travels(sides: &Sides<'_>, written: &Leg) -> Result<(), Reason> {
    for item in items(sides.written.motions, written.begins, written.set_up) {
        let unfit = match item {
            Item::Motion(k) => !matches!(sides.written.motion(k).kind, MotionKind::Rapid | MotionKind::Feed),
            Item::Event(e) => matches!(sides.written.motions.events()[e].kind, EventKind::TouchOff(_)),
        };
        if unfit {
            let what = format!("{} on the way to the {} start", name(sides.written, item), which(written));
            return Err(sides.differs(&what, sides.span(Some(item))));
        }
    }
    Ok(())
}

fn which(leg: &Leg) -> &'static str {
    if leg.begins == (Moment { motion: 0, event: 0 }) { "first" } else { "next" }
}

pub(super) fn name(view: &View<'_>, item: Item) -> String {
    match item {
        Item::Motion(k) => motion(view.motion(k).kind).to_owned(),
        Item::Event(e) => match view.motions.events()[e].kind {
            EventKind::TorchOn => "a torch-on".to_owned(),
            EventKind::TorchOff => "a torch-off".to_owned(),
            EventKind::Dwell(seconds) => format!("a wait of {seconds:.3} s"),
            EventKind::TouchOff(_) => "a touch-off".to_owned(),
            EventKind::Stop => "a stop for the operator".to_owned(),
            EventKind::End => "the program's end".to_owned(),
            EventKind::HeightControl(state) => format!("height control {}", on(state)),
            EventKind::Process(number) => format!("process {number}"),
            EventKind::DatumSet(_) => "a datum".to_owned(),
            EventKind::Call(_) => "a call".to_owned(),
        },
    }
}

fn motion(kind: MotionKind) -> &'static str {
    match kind {
        MotionKind::Rapid => "a rapid",
        MotionKind::Feed => "a straight feed",
        MotionKind::ArcCw => "a clockwise arc",
        MotionKind::ArcCcw => "a counter-clockwise arc",
        MotionKind::Probe => "a probing motion",
        MotionKind::Home => "a motion to a stored place",
    }
}

fn base(base: HeightBase) -> &'static str {
    match base {
        HeightBase::PlateTop => "the plate's top",
        HeightBase::Program => "program zero",
        HeightBase::Unknown => "an unknown place",
    }
}

fn on(on: bool) -> &'static str {
    if on { "on" } else { "off" }
}

/// A place as people read it.
pub(crate) fn place(p: Point<Program>) -> String {
    format!("X{:.3} Y{:.3}", p.x, p.y)
}
