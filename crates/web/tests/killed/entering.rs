//! Killed while steps are ticked.

use crate::server::{Visitor, killed_while, start};
use ledger::{Entry, Event, Id, JobOpened, Ledger, Moment, Text};
use std::collections::BTreeMap;

/// Kills.
const KILLS: u64 = 200;
/// Things entered between two kills, at most.
const BETWEEN_MOST: u64 = 100_000;

fn job() -> Id {
    Id::new([9; 16])
}

#[test]
fn what_was_answered_for_outlives_every_kill() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("ledger.db");
    let program = Text::new(b"G21\nM3\nG1 X5 F1000\nM5\nM30\n".to_vec());
    let opened = JobOpened { name: "a.nc".into(), program: program.id(), facts: String::new() };
    let opened = Event { id: job(), of: job(), at: Moment(0), entry: Entry::JobOpened(opened) };
    Ledger::open(&file).unwrap().append(&[opened], &[program]).unwrap();
    let mut answered = Vec::new();
    for kill in 0..KILLS {
        let (mut child, host) = start(folder.path());
        let visitor = Visitor::to(&host);
        let thing = |n: u64| kill * BETWEEN_MOST + n;
        let path = format!("/jobs/{}/tick", job());
        let enter = |n| visitor.enters(&path, thing(n), &format!("item=thing+{}&done=true", thing(n)));
        answered.extend(killed_while(&mut child, kill, enter).into_iter().map(thing));
    }
    assert!(answered.len() as u64 >= KILLS);
    let events = Ledger::open(&file).unwrap().events(job()).unwrap();
    let kept: BTreeMap<Id, &Entry> = events.iter().map(|event| (event.id, &event.entry)).collect();
    for n in answered {
        let id: Id = format!("{n:032x}").parse().unwrap();
        let Some(Entry::Tick(tick)) = kept.get(&id) else {
            panic!("thing {n} was answered for and is not there")
        };
        assert_eq!(tick.item, format!("thing {n}"));
    }
}
