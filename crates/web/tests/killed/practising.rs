//! Killed while somebody practises: a session is one text that each act makes anew, so that a kill could lose all of it.

use crate::server::{Visitor, killed_while, start};
use ledger::{Entry, Id, Ledger};
use practice::Kept;

/// Kills, each in a session of its own.
const KILLS: u64 = 60;
/// Acts between two kills, at most.
const BETWEEN_MOST: u64 = 100_000;

/// Acts of a session, at most: fewer than a session may have.
const ACTS: u64 = 150;

/// An act that can be done any number of times, and tells its number.
fn act(n: u64) -> String {
    format!("wait {} s", n % 50 + 1)
}

fn session(nth: u64) -> Id {
    format!("{:032x}", u128::from(nth + 1) << 64).parse().unwrap()
}

#[test]
fn no_act_that_was_answered_for_is_lost_and_none_is_done_twice() {
    let folder = tempfile::tempdir().unwrap();
    let mut counted = Vec::new();
    for kill in 0..KILLS {
        let (mut child, host) = start(folder.path());
        let visitor = Visitor::to(&host);
        // What was under way when the server died last is sent once more, as a browser's reload would.
        if let Some((before, answered)) = counted.last().copied() {
            assert!(does(&visitor, before, answered));
        }
        let begun = format!("session={}&scenario=loose-lead&by=Kim&seed=1", session(kill));
        assert!(visitor.enters("/practice", kill * BETWEEN_MOST, &begun));
        let answered = killed_while(&mut child, kill, |n| n < ACTS && does(&visitor, kill, n));
        counted.push((kill, answered.len() as u64));
    }
    let ledger = Ledger::open(&folder.path().join("ledger.db")).unwrap();
    for (k, (nth, answered)) in counted.iter().copied().enumerate() {
        let events = ledger.events(session(nth)).unwrap();
        let Some(Entry::Practice(practice)) = events.last().map(|event| &event.entry) else {
            panic!("session {nth} was answered for and is not there")
        };
        let kept = Kept::parse(&practice.session).unwrap();
        // The act under way at the kill is there or not; sent again, it is there once.
        let is_sent_again = k + 1 < counted.len();
        let done = kept.acts.len() as u64;
        assert!(done == answered + 1 || (!is_sent_again && done == answered), "{nth}: {done}, {answered}");
        assert_eq!(kept.acts, (0..done).map(act).collect::<Vec<_>>(), "session {nth}");
    }
}

/// Does the `n`-th act of a session; whether it was answered for.
fn does(visitor: &Visitor, nth: u64, n: u64) -> bool {
    let fields = format!("act={}&after={n}", act(n).replace(' ', "+"));
    visitor.enters(&format!("/practice/{}/act", session(nth)), nth * BETWEEN_MOST + n + 1, &fields)
}
