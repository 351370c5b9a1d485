//! Dimples that a short arc makes before the first cut: marks in the skeleton by which a plate is found again.
//!
//! The text is read like any other that leaves: from every start, up first, over nothing that stands, on the table and
//! off the clamps, torch off at the end. Besides: the arc is lit only at the places told, on sound plate clear of
//! everything that will be cut; it is begun as the original's first is, and burns so shortly that it goes no deeper than
//! a dimple; and while it burns nothing moves.

use crate::legs::{Leg, Legs};
use crate::points::starts::full_crater_mm;
use crate::points::travel;
use crate::reading::Reading;
use crate::record::Record;
use crate::timeline::Timeline;
use crate::tolerance::{NOISE_MM, PATH_MM};
use crate::view::View;
use crate::{Case, Promise, Proof, Reason, reason};
use cuts::{Cut, Progress};
use geometry::{Bounds, Point, Program, Side};
use nc::EventKind;

/// Longest arc of a dimple, as a share of the original's shortest pierce delay: far below what goes through (common
/// practice).
pub const ARC_SHARE_MOST: f64 = 0.3;

/// Longest arc of a dimple whatever the delay, in seconds: thick plate takes no deeper mark to be seen (common practice).
pub const ARC_S_MOST: f64 = 0.3;

/// Plate thinner than this is gone through before any arc can be ended again, in millimetres (common practice).
pub const THICKNESS_MM_LEAST: f64 = 3.0;

/// Metal that stays between a dimple, taken to be as wide as the crater of a pierce, and any kerf or crater of the
/// program, in millimetres.
const CLEAR_MM: f64 = 3.0;

/// Rounding of a wait in a text, in seconds.
const ROUNDING_S: f64 = 1e-6;

/// Proves `case.written` as a text that makes a dimple at each of `places`, in this order, before anything is cut. What
/// `case` promises, and what it says has been made, count for nothing.
#[must_use]
pub fn prove_dimples(case: &Case<'_>, places: &[Point<Program>]) -> Proof {
    let (promise, progress) = (Promise::default(), Progress::default());
    let case = Case { promise: &promise, progress: &progress, pose: None, ..*case };
    let mut record = Record::default();
    let refused = all_points(&case, places, &mut record).err();
    record.into_proof(refused)
}

fn all_points(case: &Case<'_>, places: &[Point<Program>], record: &mut Record) -> Result<(), Reason> {
    let Some(first) = case.original.list.cuts.iter().find(|cut| !cut.is_mark) else {
        return Err(reason(2, "the original cuts nothing, so that nobody knows how it starts an arc", None));
    };
    let limit_s = longest_arc_s(case)?;
    let reading = Reading::of(case, record)?;
    let (written, original) = (View::written(case, &reading), View::original(case.original));
    let legs = Legs::of(&written)?.legs;
    if legs.len() != places.len() {
        let message = format!("the text starts the torch {} times, for {} dimples", legs.len(), places.len());
        return Err(reason(1, message, None));
    }
    let timeline = Timeline::of(case, &written, &[]);
    for (k, (leg, place)) in legs.iter().zip(places).enumerate() {
        let look = Look { case, written: &written, original: &original, leg, first, number: k + 1 };
        look.at(*place)?;
        look.arc(limit_s)?;
        look.begun_as_the_original()?;
        look.clear(&timeline, *place, record)?;
    }
    if !case.original.motions.events().iter().any(|event| matches!(event.kind, EventKind::TouchOff(_))) {
        record.lacks(
            "That the torch finds the plate before each dimple: the original has no touch-off that is known; tell its \
             word in [table.words] if the control does it.",
        );
        record.needs(
            "The plate's top lies where the heights of the program count from, everywhere on the plate.",
        );
    }
    record.figure("longest arc of a dimple", limit_s, limit_s, "s");
    record.needs("Nothing has been cut on this plate yet.");
    record.needs(
        "The control adds no wait of its own to a start: try one dimple on scrap of the same plate first, and see that \
         it does not go through.",
    );
    travel::safe(case, &written, &[], &timeline, record)
}

/// How long the arc of a dimple may burn at most.
fn longest_arc_s(case: &Case<'_>) -> Result<f64, Reason> {
    let refuse = |message: &str| Err(reason(4, message, None));
    if case.ground.thickness.mm() < THICKNESS_MM_LEAST {
        return refuse(
            "so thin a plate is gone through before an arc can be ended again: punch the dimples by hand",
        );
    }
    let delays = case
        .original
        .list
        .cuts
        .iter()
        .filter(|cut| !cut.is_mark)
        .map(|cut| cut.pierce.delay.map(units::Duration::s));
    let Some(shortest) = delays.flatten().filter(|s| *s > 0.0).min_by(f64::total_cmp) else {
        return refuse(
            "no word of the original says how long it waits at a pierce, so that nothing tells how short an arc \
                       must be for a dimple: punch them by hand",
        );
    };
    Ok((shortest * ARC_SHARE_MOST).min(ARC_S_MOST))
}

/// One dimple.
struct Look<'a> {
    case: &'a Case<'a>,
    written: &'a View<'a>,
    original: &'a View<'a>,
    leg: &'a Leg,
    /// The original's first cut.
    first: &'a Cut,
    number: usize,
}

impl Look<'_> {
    fn refuse(&self, point: u8, what: &str) -> Reason {
        let message = format!("dimple {}: {what}", self.number);
        reason(point, message, self.written.event_span(self.leg.on as usize))
    }

    fn at(&self, place: Point<Program>) -> Result<(), Reason> {
        let lit = self.written.from(self.leg.on_at.motion as usize);
        if lit.distance(place) > PATH_MM {
            return Err(self.refuse(1, &format!("it is lit {:.2} mm off its place", lit.distance(place))));
        }
        Ok(())
    }

    /// While the arc burns nothing moves and nothing is waited for but its own end.
    fn arc(&self, limit_s: f64) -> Result<(), Reason> {
        if !self.leg.burn().is_empty() {
            return Err(self.refuse(1, "the torch moves while the arc burns"));
        }
        let events = self.written.motions.events();
        let off = self.leg.off.map_or(events.len(), |off| off as usize);
        let mut arc_s = 0.0;
        for event in &events[self.leg.on as usize + 1..off] {
            match event.kind {
                EventKind::Dwell(seconds) => arc_s += seconds,
                _ => {
                    return Err(self
                        .refuse(2, "something else than a wait stands between its torch-on and torch-off"));
                }
            }
        }
        if arc_s > limit_s + ROUNDING_S {
            return Err(
                self.refuse(4, &format!("its arc burns {arc_s:.2} s; for {limit_s:.2} s it makes a dimple"))
            );
        }
        Ok(())
    }

    /// Process, touch-off and height are those of the original's first start, and height control does not steer.
    fn begun_as_the_original(&self) -> Result<(), Reason> {
        let on = &self.written.motions.events()[self.leg.on as usize];
        let first = &self.original.motions.events()[self.first.torch_on as usize];
        let (modal, original) =
            (self.written.motions.modal(on.modal), self.original.motions.modal(first.modal));
        if modal.process != original.process {
            return Err(self.refuse(2, "its process is not that of the original's first cut"));
        }
        if modal.height_control {
            return Err(self.refuse(4, "height control may steer while it is made"));
        }
        let how = |event: u32| self.written.motions.events()[event as usize].kind;
        let wanted = self.first.touch_off.map(|touch| EventKind::TouchOff(touch.how));
        if self.leg.touch.map(how) != wanted {
            return Err(self.refuse(4, "the plate is not found before it as before the original's first cut"));
        }
        if let Some(touch) = self.leg.touch {
            let from = self.written.motions.events()[touch as usize].before as usize;
            let limit = self.case.ground.thresholds.touch_off_reach.mm();
            if self.written.way_mm(from..self.leg.on_at.motion as usize, limit) > limit {
                return Err(self.refuse(4, "it lies too far from its touch-off"));
            }
        }
        let height = self.written.height_at(self.leg.on_at.motion as usize, self.leg.on as usize);
        let original = self.original.height_at(first.before as usize, self.first.torch_on as usize);
        if height.base != original.base || (height.mm - original.mm).abs() > NOISE_MM {
            return Err(self.refuse(2, "it is lit at another height than the original's first cut"));
        }
        Ok(())
    }

    /// On plate that stays, clear of all that will be cut, of edges and clamps.
    fn clear(&self, timeline: &Timeline, place: Point<Program>, record: &mut Record) -> Result<(), Reason> {
        let ground = self.case.ground;
        let Some(plate) = &ground.plate else {
            return Err(self.refuse(1, "the plate's outline is not told"));
        };
        if !timeline.around(self.case, place, |_| true).is_empty() {
            return Err(self.refuse(5, "it lies in what comes loose"));
        }
        let crater_mm = full_crater_mm(self.case);
        let foot_mm = ground.thresholds.touch_off_footprint.mm() / 2.0;
        let sides = [(plate, Side::Inside)]
            .into_iter()
            .chain(ground.plate_holes.iter().map(|hole| (hole, Side::Outside)));
        for (edge, wanted) in sides {
            let off_mm = edge.path().nearest(place).map_or(0.0, |near| near.distance_mm);
            if edge.side_of(place, 0.0) != wanted || off_mm < crater_mm.max(foot_mm) {
                return Err(self.refuse(4, "it is not wholly on the plate"));
            }
        }
        let corner = |at: [units::Length; 2]| Point::<Program>::new(at[0].mm(), at[1].mm());
        let clamps =
            ground.clamps.iter().filter_map(|clamp| Bounds::around([corner(clamp.from), corner(clamp.to)]));
        if clamps.into_iter().any(|clamp| clamp.distance_to(place) < foot_mm) {
            return Err(self.refuse(3, "a clamp is in its way"));
        }
        // Wherever a cut passes its crater may lie: all of it is taken to be as wide.
        let nearest = |cut: &Cut| {
            let path = cut.path.nearest(place).map_or(f64::INFINITY, |near| near.distance_mm);
            path.min(cut.pierce.at.distance(place))
        };
        let nearest_mm = self.case.original.list.cuts.iter().map(nearest).fold(f64::INFINITY, f64::min);
        let clear_mm = nearest_mm - 2.0 * crater_mm;
        if clear_mm < CLEAR_MM {
            return Err(
                self.refuse(1, &format!("only {clear_mm:.1} mm of metal stay between it and what is cut"))
            );
        }
        if clear_mm.is_finite() {
            record.figure("metal between a dimple and what is cut", clear_mm, CLEAR_MM, "mm");
        }
        Ok(())
    }
}
