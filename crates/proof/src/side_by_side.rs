//! Work that does not depend on each other, on two threads.
//!
//! A proof goes through every motion of a large program several times; a shop's computer has at least two cores. What
//! comes out does not depend on which thread did what.

use std::panic::resume_unwind;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread::scope;

/// Both results; the first on another thread.
pub(crate) fn both<A: Send, B>(first: impl FnOnce() -> A + Send, second: impl FnOnce() -> B) -> (A, B) {
    scope(|scope| {
        let first = scope.spawn(first);
        let second = second();
        (first.join().unwrap_or_else(|panic| resume_unwind(panic)), second)
    })
}

/// The result for each of `items`, in their order.
pub(crate) fn each<T: Sync, R: Send>(items: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let next = Chunks::of(items.len(), 1);
    let take = || next.by_ref(|k| (k.start, work(&items[k.start]))).collect::<Vec<_>>();
    let (mut all, more) = both(take, take);
    all.extend(more);
    all.sort_by_key(|(k, _)| *k);
    all.into_iter().map(|(_, result)| result).collect()
}

/// Stretches of a row of things, each handed out once, to whoever asks first.
#[derive(Debug)]
pub(crate) struct Chunks {
    next: AtomicUsize,
    end: usize,
    size: usize,
}

impl Chunks {
    /// `end` things in stretches of `size`.
    pub(crate) fn of(end: usize, size: usize) -> Self {
        Self { next: AtomicUsize::new(0), end, size }
    }

    /// Works on stretches until none is left; gives what came out, in rising order of stretches.
    pub(crate) fn by_ref<R>(&self, work: impl Fn(std::ops::Range<usize>) -> R) -> impl Iterator<Item = R> {
        std::iter::from_fn(move || {
            let start = self.next.fetch_add(self.size, Ordering::Relaxed);
            (start < self.end).then(|| work(start..(start + self.size).min(self.end)))
        })
    }
}
