//! A failure made small: the same fault on a smaller plate, in a plainer manner, without what it does not need.

use crate::bench::Bench;
use crate::case::{Along, Case};
use crate::run::run;

/// A smaller case that still fails, as `fails` tells; the case itself if there is none.
pub fn shrunk(case: &Case, fails: &dyn Fn(&Case) -> bool) -> Case {
    let mut small = case.clone();
    loop {
        let smaller = smaller(&small).into_iter().find(|other| fails(other));
        match smaller {
            Some(other) => small = other,
            None => return small,
        }
    }
}

/// Cases that are smaller by one step each.
fn smaller(case: &Case) -> Vec<Case> {
    let mut cases = Vec::new();
    let mut push = |other: Case| {
        if other != *case {
            cases.push(other);
        }
    };
    push(Case { second: None, ..case.clone() });
    push(Case { families: 1, copies: 1, ..case.clone() });
    push(Case { families: case.families.saturating_sub(1).max(1), ..case.clone() });
    push(Case { copies: case.copies.saturating_sub(1).max(1), ..case.clone() });
    push(Case { hand: 0, ..case.clone() });
    push(Case { amount: 0.0, ..case.clone() });
    push(Case { cut: 0.0, ..case.clone() });
    push(Case { cut: (case.cut * 5000.0).floor() / 1e4, ..case.clone() });
    push(Case { along: Along::Share(0.5), ..case.clone() });
    cases
}

/// Whether a case, run anew, is a failure of the planner.
#[must_use]
pub fn fails(case: &Case) -> bool {
    run(case, &Bench::of(case)).is_failure()
}
