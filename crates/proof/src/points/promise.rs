//! Before point 1: the promise itself. Every cut of the original is made, promised, or belongs to a part given up.

use crate::{Case, Reason};
use cuts::{CutId, Depth, PartId};
use std::collections::BTreeSet;

/// How each cut of the original is accounted for.
///
/// # Errors
/// Point 1: a cut is forgotten, promised twice, promised though it is made, or promised for parts given up.
pub(crate) fn settled(case: &Case<'_>) -> Result<(), Reason> {
    let refuse = |message: String| Err(Reason { point: 1, message, at: None });
    if let Some(problem) = unknown(case) {
        return refuse(problem);
    }
    let mut promised = vec![false; case.list.cuts.len()];
    for cut in &case.promise.cuts {
        if std::mem::replace(&mut promised[cut.0 as usize], true) {
            return refuse(format!("cut {} is promised twice", cut.number()));
        }
    }
    let made = whole(case);
    let given_up: BTreeSet<PartId> = case.promise.given_up.iter().copied().collect();
    for cut in &case.list.cuts {
        let (made, promised) = (made[cut.id.0 as usize], promised[cut.id.0 as usize]);
        let only_given_up = is_only_for(case, cut.id, &given_up);
        let number = cut.number();
        if made && promised {
            return refuse(format!("cut {number} is promised, but it is made already"));
        }
        if promised && only_given_up {
            return refuse(format!("cut {number} is promised, but every part it serves is given up"));
        }
        if !made && !promised && !only_given_up {
            return refuse(format!(
                "cut {number} is neither made nor promised, and no part is given up for it"
            ));
        }
    }
    Ok(())
}

/// Whether each cut has been made whole, by the progress told: through, or at any depth if it is a mark.
fn whole(case: &Case<'_>) -> Vec<bool> {
    let mut made: Vec<Vec<(f64, f64)>> = vec![Vec::new(); case.list.cuts.len()];
    for stretch in &case.progress.made {
        if stretch.depth == Depth::Through || case.list.cut(stretch.cut).is_mark {
            made[stretch.cut.0 as usize].push((stretch.along_mm.start, stretch.along_mm.end));
        }
    }
    let lengths = case.list.cuts.iter().map(|cut| cut.path.length_mm());
    made.iter_mut().zip(lengths).map(|(stretches, length)| covers(stretches, (0.0, length))).collect()
}

/// Whether `stretches` together cover `asked`, within what counts as the same point.
pub(crate) fn covers(stretches: &mut [(f64, f64)], asked: (f64, f64)) -> bool {
    stretches.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut reached = asked.0;
    let mut any = false;
    for (from, to) in stretches.iter() {
        if *from <= reached + geometry::SAME_POINT_MM {
            any = true;
            reached = reached.max(*to);
        }
    }
    any && reached >= asked.1 - geometry::SAME_POINT_MM
}

/// A cut or part that the original does not have.
fn unknown(case: &Case<'_>) -> Option<String> {
    let cuts = case.list.cuts.len();
    let parts = case.list.parts.len();
    let made = case.progress.made.iter().map(|made| made.cut);
    if let Some(cut) = case.promise.cuts.iter().copied().chain(made).find(|cut| cut.0 as usize >= cuts) {
        return Some(format!("the original has no cut {}; it has {cuts}", cut.number()));
    }
    let part = case.promise.given_up.iter().find(|part| part.0 as usize >= parts)?;
    Some(format!("the original has no part {}; it has {parts}", part.number()))
}

/// Whether every contour that the cut bounds or makes belongs to a part given up. A cut that serves no part, or also
/// closes a part that is kept, does not.
fn is_only_for(case: &Case<'_>, cut: CutId, given_up: &BTreeSet<PartId>) -> bool {
    let cut = case.list.cut(cut);
    let mut contours = cut.contours.iter().chain(&cut.bounds).peekable();
    contours.peek().is_some()
        && contours
            .all(|contour| case.list.contour(*contour).part.is_some_and(|part| given_up.contains(&part)))
}
