//! Many cases on all cores. What comes out does not depend on which core did what.

use crate::bench::Bench;
use crate::case::Case;
use crate::run::{Row, run};
use std::sync::atomic::{AtomicUsize, Ordering};

/// A campaign.
#[derive(Debug)]
pub struct Plan<'a> {
    /// How many cases.
    pub runs: usize,
    /// Seed of all of them.
    pub seed: u64,
    /// The program they stop; none for a new nest in each.
    pub program: Option<&'a Bench>,
    /// How many threads.
    pub threads: usize,
}

/// The seed of the k-th case of a campaign.
#[must_use]
pub fn seed_of(seed: u64, k: usize) -> u64 {
    nests::Random::new(seed ^ (k as u64).wrapping_mul(0xD1B5_4A32_D192_ED03)).bits()
}

/// Runs all cases and gives their rows in order. `done` is called after each with how many are done, in this thread.
///
/// # Panics
/// If a case does: a mistake of ours.
pub fn run_all(plan: &Plan<'_>, done: &mut dyn FnMut(usize)) -> Vec<Row> {
    let next = AtomicUsize::new(0);
    let mut rows: Vec<Option<Row>> = vec![None; plan.runs];
    std::thread::scope(|scope| {
        let (give, take) = std::sync::mpsc::channel();
        for _ in 0..plan.threads.max(1) {
            let (give, next) = (give.clone(), &next);
            scope.spawn(move || {
                loop {
                    let k = next.fetch_add(1, Ordering::Relaxed);
                    // Nobody listens any more where another thread has panicked.
                    if k >= plan.runs || give.send((k, one(plan, k))).is_err() {
                        return;
                    }
                }
            });
        }
        drop(give);
        for (count, (k, row)) in take.iter().enumerate() {
            rows[k] = Some(row);
            done(count + 1);
        }
    });
    rows.into_iter().map(|row| row.expect("every case was run")).collect()
}

fn one(plan: &Plan<'_>, k: usize) -> Row {
    let case = Case::drawn(seed_of(plan.seed, k));
    match plan.program {
        Some(bench) => run(&case, bench),
        None => run(&case, &Bench::of(&case)),
    }
}
