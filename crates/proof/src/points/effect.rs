//! Point 2: each motion that is kept has the effect it had in the original.
//!
//! The starts of the written program are held against the cuts promised, in order; within each, item by item:
//! set-up, burn and ending, and the way to it where the original goes that way. A way that the original does not go
//! (to the first start, to a join, from one that ends elsewhere, and between cuts that do not follow each other in the
//! original) is the restart's own and is proven by point 3.

mod idle;
mod items;
mod join;
mod walk;

pub(crate) use idle::Idle;
pub(crate) use join::{Joined, Ran};

use crate::legs::{Leg, Legs};
use crate::old_kerf::OldKerf;
use crate::record::Record;
use crate::side_by_side::each;
use crate::tolerance::{FEED_SHARE, PATH_MM, WAIT_S, height_mm};
use crate::view::View;
use crate::{Case, Join, JoinStart, Reason, reason};
use cuts::CutId;
use items::{Compared, Heights};
use std::ops::Range;

/// A promised cut, its leg in the original and its leg in the written program.
#[derive(Clone, Debug)]
pub(crate) struct KeptLeg {
    /// The cut.
    pub(crate) cut: CutId,
    /// Its leg in the original.
    pub(crate) original: Leg,
    /// Its leg in the written program.
    pub(crate) written: Leg,
    /// Whether the burning motions correspond one to one.
    pub(crate) one_to_one: bool,
    /// Whether its burn is the original's, number for number.
    pub(crate) as_original: bool,
    /// How it takes the cut up, if it is not begun at its own pierce.
    pub(crate) join: Option<Joined>,
    /// Whether the way to it is the restart's own.
    own_way: bool,
}

impl KeptLeg {
    /// The burning motions on the path, without a join's own lead-in.
    pub(crate) fn burn_on_path(&self) -> Range<usize> {
        let burn = self.written.burn();
        self.join.as_ref().map_or(burn.start, |join| join.path_from)..burn.end
    }

    /// The burning motions of a join's own lead-in.
    pub(crate) fn lead_in(&self) -> Range<usize> {
        self.written.burn().start..self.burn_on_path().start
    }

    /// Whether it is the second of two burns of its cut.
    pub(crate) fn is_second_burn(&self) -> bool {
        self.join.as_ref().is_some_and(|join| join.burnt_before_mm.is_some())
    }

    /// Whether it is begun on a wall of an old kerf, and so leaves no crater.
    pub(crate) fn on_edge(&self) -> bool {
        self.join.as_ref().is_some_and(|join| join.on_edge)
    }
}

/// The worst differences found, all within their limits.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Worst {
    /// Distance between two motions, in millimetres.
    pub(crate) path_mm: f64,
    /// Share of feed.
    pub(crate) feed_share: f64,
    /// Seconds of a wait.
    pub(crate) wait_s: f64,
    /// Height, in millimetres.
    pub(crate) height_mm: f64,
}

impl Worst {
    fn take(&mut self, other: Self) {
        self.path_mm = self.path_mm.max(other.path_mm);
        self.feed_share = self.feed_share.max(other.feed_share);
        self.wait_s = self.wait_s.max(other.wait_s);
        self.height_mm = self.height_mm.max(other.height_mm);
    }
}

/// Holds every leg of the written program against the cut it is promised to make.
///
/// # Errors
/// Point 1 if there are more or fewer starts than promised; point 2 at the first difference.
pub(crate) fn same(
    case: &Case<'_>,
    original: &View<'_>,
    written: &View<'_>,
    legs: &Legs,
    record: &mut Record,
) -> Result<Vec<KeptLeg>, Reason> {
    let of_original = case.original.legs();
    let pair = |n: usize, leg: &Leg| {
        let mut promised = Promised::of(case, written, of_original, n, leg)?;
        let next = legs.legs.get(n + 1).unwrap_or(leg);
        promised.lifts_on |= next.found_by_control(written).is_some();
        let sides = items::Sides {
            original,
            written,
            height_mm: height_mm(case.original.dialect),
            cut: promised.cut,
            elsewhere: promised.join.is_some_and(|join| ends_elsewhere(case, join)),
            left_lower_mm: 0.0,
        };
        let mut worst = Worst::default();
        let kept = same_leg(case, &sides, &promised, leg, &mut worst)?;
        Ok::<_, Reason>((kept, worst))
    };
    let numbered: Vec<(usize, &Leg)> = legs.legs.iter().enumerate().collect();
    let halves: Vec<&[(usize, &Leg)]> = numbered.chunks(numbered.len().div_ceil(2).max(1)).collect();
    let pairs =
        each(&halves, |half| half.iter().map(|(n, leg)| pair(*n, leg)).collect::<Result<Vec<_>, _>>());
    let mut worst = Worst::default();
    let mut kept = Vec::with_capacity(legs.legs.len());
    for half in pairs {
        for (leg, found) in half? {
            worst.take(found);
            kept.push(leg);
        }
    }
    if let Some(missing) = case.promise.cuts.get(legs.legs.len()) {
        let message = format!("cut {} is promised, but the text does not make it", missing.number());
        return Err(reason(1, message, None));
    }
    record.figure("distance of a kept motion from the original's", worst.path_mm, PATH_MM, "mm");
    record.figure("difference of a feed, as a share", worst.feed_share, FEED_SHARE, "");
    record.figure("difference of a wait", worst.wait_s, WAIT_S, "s");
    record.figure("difference of a height", worst.height_mm, height_mm(case.original.dialect), "mm");
    idle::same(case, original, written, &kept, record)?;
    process_told(case, written, &kept, record);
    Ok(kept)
}

/// The cut that a start is promised to make, and what is known of its leg.
struct Promised<'a> {
    cut: CutId,
    /// Its leg in the original.
    original: &'a Leg,
    join: Option<&'a Join>,
    /// What of its path an earlier burn of the cut has burnt in the same text.
    burnt_before_mm: Option<Range<f64>>,
    /// Whether it is the text's first.
    is_first: bool,
    /// Whether the way to it is the restart's own.
    own_way: bool,
    /// Whether it may lift the torch once more before it goes on: where the way from there is its own, and where the
    /// control finds the plate, for the next start from whatever height, and after the last left the torch at one that is
    /// not known.
    lifts_on: bool,
}

impl<'a> Promised<'a> {
    /// What the n-th start is to make.
    fn of(
        case: &Case<'a>,
        written: &View<'_>,
        of_original: &'a Legs,
        n: usize,
        leg: &Leg,
    ) -> Result<Self, Reason> {
        let Some(cut) = case.promise.cuts.get(n).copied() else {
            let message = "this start is not promised: there are more starts than cuts promised";
            return Err(reason(1, message, written.event_span(leg.on as usize)));
        };
        let original =
            of_original.started_by(case.original.list.cut(cut).torch_on).filter(|leg| leg.off.is_some());
        let Some(original) = original else {
            let message = format!("the original does not end cut {} by a torch-off", cut.number());
            return Err(reason(2, message, None));
        };
        let join_of = |n: usize| case.promise.join_of(n);
        let own_way_to = |n: usize| match (
            n.checked_sub(1).map(|before| case.promise.cuts[before]),
            case.promise.cuts.get(n),
        ) {
            (Some(before), Some(cut)) => {
                let apart = moved_by(case, before) != moved_by(case, *cut);
                join_of(n - 1).is_some_and(|join| ends_elsewhere(case, join))
                    || apart
                    || join_of(n).is_some()
                    || !follows(case, of_original, before, *cut)
            }
            _ => true,
        };
        Ok(Self {
            cut,
            original,
            join: join_of(n),
            burnt_before_mm: case.promise.burn_before(n).map(Join::burns_mm),
            is_first: n == 0,
            own_way: own_way_to(n),
            lifts_on: n + 1 < case.promise.cuts.len() && own_way_to(n + 1),
        })
    }
}

/// Whether a join ends elsewhere than the original ends its cut.
fn ends_elsewhere(case: &Case<'_>, join: &Join) -> bool {
    join.start == JoinStart::Backwards || join.ends_early(case.original.list.cut(join.cut).path.length_mm())
}

/// Where a cut is made, if not where the original has it; what is moved is sorted by then.
fn moved_by<'c>(case: &'c Case<'_>, cut: CutId) -> Option<&'c nc::Carried> {
    let moved = &case.promise.moved;
    let k = moved.binary_search_by_key(&cut, |moved| moved.cut).ok()?;
    Some(&moved[k].placement)
}

/// Whether a cut comes next after another in the original.
fn follows(case: &Case<'_>, of_original: &Legs, before: CutId, cut: CutId) -> bool {
    let place = |cut: CutId| of_original.place_of(case.original.list.cut(cut).torch_on);
    matches!((place(before), place(cut)), (Some(before), Some(next)) if before + 1 == next)
}

/// Compares one leg.
fn same_leg(
    case: &Case<'_>,
    sides: &items::Sides<'_>,
    promised: &Promised<'_>,
    written: &Leg,
    worst: &mut Worst,
) -> Result<KeptLeg, Reason> {
    let (original, strict) = (promised.original, Heights::SameBase);
    let set_up = if promised.is_first { Heights::BaseMayBeProgram } else { strict };
    let lit_by_control = promised.join.map(|join| join::lit_by_control(sides, (original, written), join));
    let left_lower_mm = lit_by_control.flatten().unwrap_or(0.0);
    let sides = &items::Sides { left_lower_mm, ..*sides };
    let mut kept = KeptLeg {
        cut: promised.cut,
        original: original.clone(),
        written: written.clone(),
        one_to_one: false,
        as_original: false,
        join: None,
        own_way: promised.own_way,
    };
    if let Some(join) = promised.join {
        let old = OldKerf::of(case, join.cut, promised.burnt_before_mm.as_ref());
        let joined = join::same(case, sides, (original, written), (join, old), set_up, worst)?;
        kept.join = Some(Joined { burnt_before_mm: promised.burnt_before_mm.clone(), ..joined });
    } else {
        whole(sides, promised, written, set_up, worst)?;
        let (from, to) = ((original.on_at, original.burn_ends), (written.on_at, written.burn_ends));
        let compared = compare(sides, from, to, strict, worst)?;
        kept.one_to_one = compared == Compared::OneToOne && original.burn().len() == written.burn().len();
        kept.as_original = kept.one_to_one && items::same_numbers(sides, original.burn(), written.burn());
    }
    ending(sides, promised, written, worst)?;
    Ok(kept)
}

/// The way and the set-up of a cut that is run whole.
fn whole(
    sides: &items::Sides<'_>,
    promised: &Promised<'_>,
    written: &Leg,
    set_up: Heights,
    worst: &mut Worst,
) -> Result<(), Reason> {
    let original = promised.original;
    let found = original.found_by_control(sides.original).zip(written.found_by_control(sides.written));
    let way = if found.is_some() { Heights::FoundLater } else { Heights::SameBase };
    if promised.own_way {
        items::arrives(sides, original, written)?;
    } else {
        let (from, to) = ((original.begins, original.set_up), (written.begins, written.set_up));
        compare(sides, from, to, way, worst)?;
    }
    let (from, to) = found.unwrap_or((original.set_up, written.set_up));
    compare(sides, (original.set_up, from), (written.set_up, to), way, worst)?;
    compare(sides, (from, original.on_at), (to, written.on_at), set_up, worst)?;
    if promised.own_way && !promised.is_first {
        items::lit_as_high(sides, original, written, worst)?;
    }
    Ok(())
}

/// Motions in Z that a way of the restart's own may begin with.
const OWN_LIFTS: u32 = 4;

/// What comes after a burn. Where the restart goes a way of its own from there, it may lift the torch first.
fn ending(
    sides: &items::Sides<'_>,
    promised: &Promised<'_>,
    written: &Leg,
    worst: &mut Worst,
) -> Result<(), Reason> {
    let original = promised.original;
    let from = (original.burn_ends, original.ends);
    let mut ends = written.ends;
    let compared = compare(sides, from, (written.burn_ends, ends), Heights::SameBase, worst);
    let Err(differs) = compared else { return Ok(()) };
    if !promised.lifts_on {
        return Err(differs);
    }
    for _ in 0..OWN_LIFTS {
        let Some(before) = items::before_lift(sides, written, ends) else { break };
        ends = before;
        if compare(sides, from, (written.burn_ends, ends), Heights::SameBase, worst).is_ok() {
            return Ok(());
        }
    }
    Err(differs)
}

type Between = (crate::legs::Moment, crate::legs::Moment);

/// One to one if it can be, else along the path.
fn compare(
    sides: &items::Sides<'_>,
    original: Between,
    written: Between,
    heights: Heights,
    worst: &mut Worst,
) -> Result<Compared, Reason> {
    match items::one_to_one(sides, original, written, heights) {
        Ok(found) => {
            worst.take(found);
            Ok(Compared::OneToOne)
        }
        Err(differs) => match walk::along(sides, original, written, heights) {
            Some(found) => {
                worst.take(found);
                Ok(Compared::AlongThePath)
            }
            None => Err(differs),
        },
    }
}

/// If the program does not choose the process, whoever starts it must have it fitted and chosen.
fn process_told(case: &Case<'_>, written: &View<'_>, kept: &[KeptLeg], record: &mut Record) {
    let Some(first) = kept.first() else { return };
    let process = written.motions.modal(written.motions.events()[first.written.on as usize].modal).process;
    match process {
        Some(number) => record.needs(format!("What process {number} needs is fitted in the torch.")),
        None if case.original.dialect.process_letter.is_some() => {
            record.needs("The process is chosen and fitted as it was for the original program.");
        }
        None => record.needs("The process is fitted as it was for the original program."),
    }
}
