//! Before point 1: the promise itself. Every cut of the original is made, promised, or belongs to a part given up, and
//! joins are declared of promised cuts.

use crate::old_kerf::{holds, is_deep_enough, merge, must_be_cut};
use crate::{Case, Join, JoinStart, Reason};
use cuts::{CutId, PartId};
use geometry::SAME_POINT_MM;
use std::collections::BTreeSet;
use std::ops::Range;

/// How each cut of the original is accounted for.
///
/// # Errors
/// Point 1: a cut is forgotten, promised twice but for one in two burns, promised though it is made, or promised for parts
/// given up.
pub(crate) fn settled(case: &Case<'_>) -> Result<(), Reason> {
    let refuse = |message: String| Err(Reason { point: 1, message, at: None });
    if let Some(problem) = unknown(case) {
        return refuse(problem);
    }
    let mut promised = vec![false; case.original.list.cuts.len()];
    for cut in &case.promise.cuts {
        let again = std::mem::replace(&mut promised[cut.0 as usize], true);
        if again && !is_in_two_burns(case, *cut) {
            return refuse(format!("cut {} is promised twice", cut.number()));
        }
    }
    let made = made(case);
    let moved: BTreeSet<CutId> = case.promise.moved.iter().map(|moved| moved.cut).collect();
    let given_up: BTreeSet<PartId> = case.promise.given_up.iter().copied().collect();
    for cut in &case.original.list.cuts {
        let (made, promised) = (&made[cut.id.0 as usize], promised[cut.id.0 as usize]);
        let only_given_up = is_only_for(case, cut.id, &given_up);
        let number = cut.number();
        // What is moved is made anew, whatever had been made of it where it was.
        let made = if moved.contains(&cut.id) { &Vec::new() } else { made };
        let whole = holds(made, &(0.0..cut.path.length_mm()));
        if whole && promised {
            return refuse(format!("cut {number} is promised, but it is made already"));
        }
        if promised && only_given_up {
            return refuse(format!("cut {number} is promised, but every part it serves is given up"));
        }
        let serves = || whole || must_be_cut(case, cut.id).iter().all(|asked| holds(made, asked));
        if !promised && !only_given_up && !serves() {
            return refuse(format!(
                "cut {number} is neither made nor promised, and no part is given up for it"
            ));
        }
    }
    joins_sound(case, &promised)
}

/// Whether a cut is promised twice, and a burn declared for either time.
fn is_in_two_burns(case: &Case<'_>, cut: CutId) -> bool {
    let times = case.promise.cuts.iter().filter(|other| **other == cut).count();
    let burns = case.promise.joins.iter().filter(|join| join.cut == cut).count();
    times == 2 && burns == 2
}

/// Every join is of a promised cut, one each or two for one in two burns, and lies on its path.
fn joins_sound(case: &Case<'_>, promised: &[bool]) -> Result<(), Reason> {
    let refuse = |message: String| Err(Reason { point: 1, message, at: None });
    for (n, join) in case.promise.joins.iter().enumerate() {
        let number = join.cut.number();
        if !promised.get(join.cut.0 as usize).is_some_and(|promised| *promised) {
            return refuse(format!("a join is declared for cut {number}, which is not promised"));
        }
        let earlier = case.promise.joins[..n].iter().find(|other| other.cut == join.cut);
        let two_burns = is_in_two_burns(case, join.cut);
        if earlier.is_some() && !two_burns {
            return refuse(format!("two joins are declared for cut {number}"));
        }
        if let Some(what) = off_path(case, join).or_else(|| out_of_turn(case, join, earlier, two_burns)) {
            return refuse(format!("the join declared for cut {number} {what}"));
        }
    }
    Ok(())
}

/// What is wrong with a join's places on its path.
fn off_path(case: &Case<'_>, join: &Join) -> Option<&'static str> {
    let length_mm = case.original.list.cut(join.cut).path.length_mm();
    let on_path = |mm: f64| (-SAME_POINT_MM..=length_mm + SAME_POINT_MM).contains(&mm);
    if !on_path(join.from_mm) {
        return Some("does not lie on its path");
    }
    if !on_path(join.until_mm) {
        return Some("does not end on its path");
    }
    match join.start {
        JoinStart::Backwards if join.until_mm >= join.from_mm => {
            Some("runs the wrong way: it goes backwards")
        }
        JoinStart::OwnPierce if join.from_mm > SAME_POINT_MM => Some("does not begin at its pierce"),
        _ => None,
    }
}

/// What is wrong with a join as one of so many burns of its cut: the first of two runs forwards and ends before the second is
/// over; every other runs all the way, or as far as anything is missed.
fn out_of_turn(
    case: &Case<'_>,
    join: &Join,
    earlier: Option<&Join>,
    two_burns: bool,
) -> Option<&'static str> {
    let early = join.ends_early(case.original.list.cut(join.cut).path.length_mm());
    match (two_burns, earlier) {
        (true, None) if !early => {
            Some("is the first of two burns and does not leave the path for the second")
        }
        (true, None) if join.until_mm <= join.from_mm => Some("burns nothing"),
        (true, Some(first)) if join.burns_mm().end <= first.until_mm => {
            Some("adds nothing to its first burn")
        }
        (true, None) => None,
        (false, _) if early && is_rest_made(case, join) => None,
        (_, _) if early => Some("ends before its path does, and no other burn follows"),
        (false, _) if join.start == JoinStart::OwnPierce => {
            Some("begins at its own pierce and is no first of two burns")
        }
        (true, Some(_)) if join.start == JoinStart::OwnPierce => {
            Some("begins at its pierce, as its first burn may")
        }
        _ => None,
    }
}

/// Whether all that must be cut of a join's path beyond where it ends is surely there: the kerf that it runs into, which point 4
/// holds it to, then goes on as far as anything is missed.
fn is_rest_made(case: &Case<'_>, join: &Join) -> bool {
    let made = &made(case)[join.cut.0 as usize];
    let missed = must_be_cut(case, join.cut).into_iter().filter(|asked| asked.end > join.until_mm);
    join.start != JoinStart::OwnPierce
        && missed.into_iter().all(|asked| holds(made, &(asked.start.max(join.until_mm)..asked.end)))
}

/// What of each cut has been made for sure, by the progress told: through, or at any depth if it is a mark. A cut counts
/// as made if that is all that bounds parts: an overlap or a lead-out that is missing is missed by nobody.
fn made(case: &Case<'_>) -> Vec<Vec<Range<f64>>> {
    let mut made: Vec<Vec<Range<f64>>> = vec![Vec::new(); case.original.list.cuts.len()];
    for stretch in case.progress.made.iter().filter(|made| is_deep_enough(case, made)) {
        made[stretch.cut.0 as usize].extend(stretch.surely_mm());
    }
    made.iter_mut().for_each(|stretches| merge(stretches, SAME_POINT_MM));
    made
}

/// A cut or part that the original does not have.
fn unknown(case: &Case<'_>) -> Option<String> {
    let cuts = case.original.list.cuts.len();
    let parts = case.original.list.parts.len();
    let made = case.progress.made.iter().map(|made| made.cut);
    let made = made.chain(case.promise.moved.iter().map(|moved| moved.cut));
    if let Some(cut) = case.promise.cuts.iter().copied().chain(made).find(|cut| cut.0 as usize >= cuts) {
        return Some(format!("the original has no cut {}; it has {cuts}", cut.number()));
    }
    let part = case.promise.given_up.iter().find(|part| part.0 as usize >= parts)?;
    Some(format!("the original has no part {}; it has {parts}", part.number()))
}

/// Whether the cut serves parts given up and no other. A cut that serves no part, or also closes a part that is kept, does
/// not. What belongs to no part, such as the way from one outline of a chain to the next, lies in scrap: nobody misses it.
fn is_only_for(case: &Case<'_>, cut: CutId, given_up: &BTreeSet<PartId>) -> bool {
    let cut = case.original.list.cut(cut);
    let contours = cut.contours.iter().chain(&cut.bounds);
    let mut parts = contours.filter_map(|contour| case.original.list.contour(*contour).part).peekable();
    parts.peek().is_some() && parts.all(|part| given_up.contains(&part))
}
