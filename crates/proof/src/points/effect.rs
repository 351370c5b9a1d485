//! Point 2: each motion that is kept has the effect it had in the original.
//!
//! The starts of the written program are held against the cuts promised, in order; within each, item by item:
//! set-up, burn and ending, and from the second on also the way to it. The first way there is the restart's own and
//! is proven by point 3.

mod idle;
mod items;
mod walk;

use crate::legs::{Leg, Legs};
use crate::record::Record;
use crate::side_by_side::each;
use crate::tolerance::{FEED_SHARE, PATH_MM, WAIT_S, height_mm};
use crate::view::View;
use crate::{Case, Reason, reason};
use cuts::CutId;
use items::Compared;

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
    let of_original = crate::reading::original_legs(case);
    let pair = |n: usize, leg: &Leg| {
        let (cut, before) = promised(case, written, &of_original, n, leg)?;
        let sides = items::Sides { original, written, height_mm: height_mm(case.dialect), cut };
        let mut worst = Worst::default();
        let one_to_one = same_leg(&sides, before, leg, n == 0, &mut worst)?;
        let kept = KeptLeg { cut, original: before.clone(), written: leg.clone(), one_to_one };
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
    record.figure("difference of a height", worst.height_mm, height_mm(case.dialect), "mm");
    idle::same(case, original, written, &kept, record)?;
    process_told(case, written, &kept, record);
    Ok(kept)
}

/// The cut that the n-th start is promised to make, and its leg in the original.
fn promised<'o>(
    case: &Case<'_>,
    written: &View<'_>,
    of_original: &'o Legs,
    n: usize,
    leg: &Leg,
) -> Result<(CutId, &'o Leg), Reason> {
    let Some(cut) = case.promise.cuts.get(n) else {
        let message = "this start is not promised: there are more starts than cuts promised";
        return Err(reason(1, message, written.event_span(leg.on as usize)));
    };
    let before = of_original.started_by(case.list.cut(*cut).torch_on);
    let Some(before) = before.filter(|leg| leg.off.is_some()) else {
        let message = format!("the original does not end cut {} by a torch-off", cut.number());
        return Err(reason(2, message, None));
    };
    Ok((*cut, before))
}

/// Compares one leg; gives whether its burning motions correspond one to one.
fn same_leg(
    sides: &items::Sides<'_>,
    original: &Leg,
    written: &Leg,
    first: bool,
    worst: &mut Worst,
) -> Result<bool, Reason> {
    let strict = items::Heights::SameBase;
    if first {
        items::arrives(sides, original, written)?;
    } else {
        let (from, to) = ((original.begins, original.set_up), (written.begins, written.set_up));
        compare(sides, from, to, strict, worst)?;
    }
    let set_up = if first { items::Heights::BaseMayBeProgram } else { strict };
    let (from, to) = ((original.set_up, original.on_at), (written.set_up, written.on_at));
    compare(sides, from, to, set_up, worst)?;
    let (from, to) = ((original.on_at, original.burn_ends), (written.on_at, written.burn_ends));
    let one_to_one = compare(sides, from, to, strict, worst)? == Compared::OneToOne;
    let (from, to) = ((original.burn_ends, original.ends), (written.burn_ends, written.ends));
    compare(sides, from, to, strict, worst)?;
    Ok(one_to_one && original.burn().len() == written.burn().len())
}

type Between = (crate::legs::Moment, crate::legs::Moment);

/// One to one if it can be, else along the path.
fn compare(
    sides: &items::Sides<'_>,
    original: Between,
    written: Between,
    heights: items::Heights,
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
        None if case.dialect.process_letter.is_some() => {
            record.needs("The process is chosen and fitted as it was for the original program.");
        }
        None => record.needs("The process is fitted as it was for the original program."),
    }
}
