//! How many wrong passphrases are taken before one has to wait.

use std::collections::BTreeMap;
use std::net::IpAddr;

/// Wrong passphrases from one address before it has to wait.
const FREE: u32 = 5;
/// Wrong ones from all addresses together: whoever has many addresses gets no more tries than this.
const FREE_IN_ALL: u32 = 40;
/// How long one waits after the last free try, in seconds; twice as long after each further one.
const WAIT_S: i64 = 15;
/// The longest wait.
const WAIT_S_MOST: i64 = 15 * 60;
/// After so long without a wrong one, all are forgotten.
const FORGET_S: i64 = 3600;
/// Addresses remembered; beyond, the oldest are forgotten: those in all still count.
const ADDRESSES: usize = 1000;

/// Wrong passphrases, by where they came from.
#[derive(Debug, Default)]
pub(crate) struct Limiter {
    of: BTreeMap<Option<IpAddr>, Wrong>,
    all: Wrong,
}

#[derive(Clone, Copy, Debug, Default)]
struct Wrong {
    count: u32,
    last_s: i64,
}

impl Limiter {
    /// How many seconds `from` has to wait before the next try; none if it need not.
    pub(crate) fn wait_s(&self, from: Option<IpAddr>, now_s: i64) -> Option<i64> {
        let own = self.of.get(&from).and_then(|wrong| wrong.wait_s(FREE, now_s));
        own.max(self.all.wait_s(FREE_IN_ALL, now_s))
    }

    /// A wrong one came from there.
    pub(crate) fn wrong(&mut self, from: Option<IpAddr>, now_s: i64) {
        if self.of.len() >= ADDRESSES
            && let Some(oldest) = self.of.iter().min_by_key(|(_, wrong)| wrong.last_s).map(|(from, _)| *from)
        {
            self.of.remove(&oldest);
        }
        self.of.entry(from).or_default().add(now_s);
        self.all.add(now_s);
    }

    /// The right one came from there: its own wrong ones are forgiven.
    pub(crate) fn right(&mut self, from: Option<IpAddr>) {
        self.of.remove(&from);
    }
}

impl Wrong {
    fn add(&mut self, now_s: i64) {
        if now_s - self.last_s > FORGET_S {
            self.count = 0;
        }
        self.count = self.count.saturating_add(1);
        self.last_s = now_s;
    }

    fn wait_s(self, free: u32, now_s: i64) -> Option<i64> {
        let beyond = self.count.checked_sub(free)?;
        let wait_s = WAIT_S.saturating_mul(1 << beyond.min(16)).min(WAIT_S_MOST);
        let left_s = self.last_s + wait_s - now_s;
        (left_s > 0).then_some(left_s)
    }
}

#[cfg(test)]
mod tests {
    use super::{Limiter, WAIT_S, WAIT_S_MOST};
    use std::net::{IpAddr, Ipv4Addr};

    fn phone(n: u8) -> Option<IpAddr> {
        Some(IpAddr::V4(Ipv4Addr::new(192, 0, 2, n)))
    }

    #[test]
    fn a_few_are_free_then_one_waits_longer_and_longer() {
        let mut limiter = Limiter::default();
        for n in 0..5 {
            assert_eq!(limiter.wait_s(phone(1), 100), None, "{n}");
            limiter.wrong(phone(1), 100);
        }
        assert_eq!(limiter.wait_s(phone(1), 100), Some(WAIT_S));
        assert_eq!(limiter.wait_s(phone(2), 100), None, "another phone is free");
        assert_eq!(limiter.wait_s(phone(1), 100 + WAIT_S), None);
        limiter.wrong(phone(1), 100 + WAIT_S);
        assert_eq!(limiter.wait_s(phone(1), 100 + WAIT_S), Some(2 * WAIT_S));
        limiter.right(phone(1));
        assert_eq!(limiter.wait_s(phone(1), 100 + WAIT_S), None);
    }

    #[test]
    fn many_addresses_get_no_more_tries_than_all_together() {
        let mut limiter = Limiter::default();
        let mut tried = 0;
        for n in 0..=255 {
            while limiter.wait_s(phone(n), 100).is_none() && tried < 1000 {
                limiter.wrong(phone(n), 100);
                tried += 1;
            }
        }
        assert_eq!(tried, 40);
        assert!(limiter.wait_s(phone(1), 100).is_some_and(|wait| wait <= WAIT_S_MOST));
        assert_eq!(limiter.wait_s(phone(1), 100 + WAIT_S_MOST), None);
    }
}
