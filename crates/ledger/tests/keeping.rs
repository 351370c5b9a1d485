//! What is added is read back; what cannot be kept is told with what to do about it.

use ledger::{
    Entry, Error, Event, FactsTold, Fate, Id, JobOpened, Ledger, Measured, Moment, Outcome, PlanChosen,
    StopReported, Text, TextId, Tick,
};
use std::path::{Path, PathBuf};
use tempfile::TempDir;

const JOB: Id = Id::new([1; 16]);
const STOP: Id = Id::new([2; 16]);

fn id(n: u64) -> Id {
    let mut bytes = [0; 16];
    bytes[8..].copy_from_slice(&n.to_be_bytes());
    Id::new(bytes)
}

fn event(n: u64, entry: Entry) -> Event {
    Event { id: id(n), of: JOB, at: Moment(1_700_000_000_000 + n.cast_signed()), entry }
}

fn opened(n: u64, program: &Text) -> Event {
    let facts = "thickness = \"10 mm\"\n".to_owned();
    event(n, Entry::JobOpened(JobOpened { name: "post-bases.nc".into(), program: program.id(), facts }))
}

fn tick(n: u64) -> Event {
    event(n, Entry::Tick(Tick { list: "before".into(), item: format!("item {n}"), done: true }))
}

fn folder() -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().expect("a folder for the test");
    let path = folder.path().join("ledger.db");
    (folder, path)
}

fn open(path: &Path) -> Ledger {
    Ledger::open(path).unwrap_or_else(|why| panic!("{why}; {}", why.remedy()))
}

#[test]
fn a_job_reads_back_as_it_was_entered() {
    let (_folder, path) = folder();
    let (program, restart, plate) =
        (Text::new(b"M3\r\nM5\n\xE9".to_vec()), Text::new(b"M3\n".to_vec()), Text::new(b"{}".to_vec()));
    let measured = |n, of: u64, text: Option<&str>| {
        let text = text.map(str::to_owned);
        event(n, Entry::Measured(Measured { stop: STOP, measurement: id(of), text }))
    };
    let reported =
        |n, report: &str| event(n, Entry::StopReported(StopReported { stop: STOP, report: report.into() }));
    let chosen = PlanChosen { stop: STOP, way: "kerf-end".into(), program: restart.id(), plate: plate.id() };
    let outcome =
        Outcome { parts: vec![(7, Fate::Lost)], cause: Some("work-lead".into()), ..Outcome::default() };
    let events = [
        opened(1, &program),
        event(2, Entry::FactsTold(FactsTold { facts: "thickness = \"12 mm\"\n".into() })),
        tick(3),
        event(4, Entry::Tick(Tick { list: "before".into(), item: "item 3".into(), done: false })),
        tick(5),
        reported(6, "cut = 3\n"),
        reported(7, "cut = 4\n"),
        measured(8, 100, Some("crater of 3 at 1,2 mm")),
        measured(9, 101, Some("crater of 4 at 9,2 mm")),
        measured(10, 100, Some("crater of 3 at 1,3 mm")),
        measured(11, 101, None),
        event(12, Entry::PlanChosen(chosen.clone())),
        event(13, Entry::Outcome(outcome.clone())),
    ];
    let mut ledger = open(&path);
    let (first, rest) = events.split_at(5);
    assert_eq!(ledger.append(first, std::slice::from_ref(&program)).expect("added"), 5);
    assert_eq!(ledger.append(rest, &[restart.clone(), plate]).expect("added"), 8);
    drop(ledger);

    let ledger = open(&path);
    assert_eq!(ledger.events(JOB).expect("read"), events);
    assert_eq!(ledger.all().expect("read"), events);
    assert_eq!(ledger.text(program.id()).expect("read"), program.bytes());
    let job = ledger.job(JOB).expect("read").expect("it was opened");
    assert_eq!((job.name.as_str(), job.facts.as_str()), ("post-bases.nc", "thickness = \"12 mm\"\n"));
    assert_eq!((job.opened, job.touched, job.events), (events[0].at, events[12].at, 13));
    assert!(!job.is_ticked("before", "item 3") && job.is_ticked("before", "item 5"));
    let [stop] = job.stops.as_slice() else { panic!("one stop was reported: {:?}", job.stops) };
    assert_eq!((stop.report.as_str(), stop.reported), ("cut = 4\n", events[5].at));
    assert_eq!(stop.measured, [(id(100), "crater of 3 at 1,3 mm".to_owned())]);
    assert_eq!(stop.chosen, Some(chosen));
    assert_eq!(job.outcome, Some(outcome));
    assert_eq!(ledger.jobs().expect("read"), [job]);
    assert_eq!(ledger.job(STOP).expect("read"), None, "a stop is no job");
}

#[test]
fn jobs_come_the_last_touched_first() {
    let (_folder, path) = folder();
    let program = Text::new(b"M3".to_vec());
    let mut ledger = open(&path);
    let of = |job: u8, mut event: Event| {
        event.of = Id::new([job; 16]);
        event
    };
    let events = [of(1, opened(1, &program)), of(2, opened(2, &program)), of(1, tick(3))];
    ledger.append(&events, &[program]).expect("added");
    let order: Vec<Id> = ledger.jobs().expect("read").iter().map(|job| job.id).collect();
    assert_eq!(order, [Id::new([1; 16]), Id::new([2; 16])]);
}

#[test]
fn what_is_sent_twice_counts_once() {
    let (_folder, path) = folder();
    let program = Text::new(b"M3".to_vec());
    let mut ledger = open(&path);
    let first = opened(1, &program);
    assert_eq!(
        ledger.append(std::slice::from_ref(&first), std::slice::from_ref(&program)).expect("added"),
        1
    );
    // The retry comes a second later, together with something new.
    let again = Event { at: Moment(first.at.0 + 1000), ..first.clone() };
    assert_eq!(ledger.append(&[again, tick(2)], &[program]).expect("added"), 1);
    assert_eq!(ledger.events(JOB).expect("read"), [first, tick(2)]);
}

#[test]
fn all_is_added_or_nothing() {
    let (_folder, path) = folder();
    let program = Text::new(b"M3".to_vec());
    let mut ledger = open(&path);
    ledger.append(&[opened(1, &program)], std::slice::from_ref(&program)).expect("added");
    let other = event(1, Entry::FactsTold(FactsTold { facts: String::new() }));
    let refused = ledger.append(&[tick(2), other], &[]).expect_err("id 1 is taken");
    assert!(matches!(refused, Error::IdTaken(taken) if taken == id(1)), "{refused}");
    let unknown = Text::new(b"M5".to_vec());
    let refused = ledger.append(&[tick(3), opened(4, &unknown)], &[]).expect_err("its text is not kept");
    assert!(matches!(refused, Error::TextMissing(missing) if missing == unknown.id()), "{refused}");
    assert_eq!(ledger.events(JOB).expect("read"), [opened(1, &program)]);
    assert!(matches!(ledger.text(unknown.id()), Err(Error::TextMissing(_))));
}

#[test]
fn whatever_is_written_in_a_form_is_kept_as_it_is() {
    let (_folder, path) = folder();
    let mut ledger = open(&path);
    let mut n = 0;
    arbtest::arbtest(|u| {
        n += 1;
        let (list, item, done) = (u.arbitrary()?, u.arbitrary()?, u.arbitrary()?);
        let event = event(n, Entry::Tick(Tick { list, item, done }));
        ledger.append(std::slice::from_ref(&event), &[]).expect("added");
        assert_eq!(ledger.events(JOB).expect("read").last(), Some(&event));
        Ok(())
    })
    .budget_ms(300);
}

#[test]
fn two_writers_lose_nothing_of_each_others() {
    const EACH: u64 = 150;
    let (_folder, path) = folder();
    let writer = |from: u64| {
        let path = path.clone();
        std::thread::spawn(move || {
            let mut ledger = open(&path);
            for n in from..from + EACH {
                ledger.append(&[tick(n)], &[]).unwrap_or_else(|why| panic!("event {n}: {why}"));
            }
        })
    };
    for thread in [writer(0), writer(1000)] {
        thread.join().expect("a writer must not panic");
    }
    let events = open(&path).all().expect("read");
    let of = |from: u64| -> Vec<Id> {
        let own = |event: &&Event| (from..from + EACH).any(|n| event.id == id(n));
        events.iter().filter(own).map(|event| event.id).collect()
    };
    for from in [0, 1000] {
        assert_eq!(of(from), (from..from + EACH).map(id).collect::<Vec<_>>(), "in order, each once");
    }
}

/// What the error says and what it tells to do.
fn refusal(path: &Path) -> (String, String) {
    let why = Ledger::open(path).expect_err("it must be refused");
    (why.to_string(), why.remedy())
}

#[test]
fn a_file_that_is_something_else_is_left_as_it_is() {
    let (folder, path) = folder();
    std::fs::write(&path, "G21\nM3\nM5\n".repeat(200)).expect("written");
    let before = std::fs::read(&path).expect("read");
    let (what, remedy) = refusal(&path);
    assert!(what.contains("is no ledger") && remedy.contains("another file"), "{what}; {remedy}");
    assert_eq!(std::fs::read(&path).expect("read"), before);

    let other = folder.path().join("recipes.db");
    let recipes = rusqlite::Connection::open(&other).expect("made");
    recipes.execute_batch("CREATE TABLE recipes (name TEXT)").expect("made");
    drop(recipes);
    let before = std::fs::read(&other).expect("read");
    assert!(refusal(&other).0.contains("is no ledger"));
    assert_eq!(std::fs::read(&other).expect("read"), before);
}

#[test]
fn a_folder_that_is_not_there_is_told() {
    let (folder, _) = folder();
    let (what, remedy) = refusal(&folder.path().join("nowhere/ledger.db"));
    assert!(
        what.contains("failed to open the ledger") && remedy.contains("folder is there"),
        "{what}; {remedy}"
    );
    let (what, _) = refusal(folder.path());
    assert!(what.contains("failed to open the ledger"), "{what}");
}

#[test]
fn a_file_of_a_later_version_is_not_touched() {
    let (_folder, path) = folder();
    drop(open(&path));
    let file = rusqlite::Connection::open(&path).expect("opened");
    file.execute_batch("PRAGMA user_version = 999").expect("set");
    drop(file);
    let (what, remedy) = refusal(&path);
    assert!(
        what.contains("later version") && what.contains("999") && remedy.contains("run the version"),
        "{what}"
    );
}

#[test]
fn a_file_that_another_program_holds_is_told() {
    let (_folder, path) = folder();
    let mut ledger = open(&path);
    let other = rusqlite::Connection::open(&path).expect("opened");
    other.execute_batch("BEGIN EXCLUSIVE").expect("held");
    let why = ledger.append(&[tick(1)], &[]).expect_err("it is held");
    assert!(matches!(why, Error::Locked(_)) && why.remedy().contains("close the other program"), "{why}");
    other.execute_batch("ROLLBACK").expect("let go");
    assert_eq!(ledger.append(&[tick(1)], &[]).expect("added"), 1);
}

#[test]
fn events_are_only_ever_added() {
    let (_folder, path) = folder();
    open(&path).append(&[tick(1)], &[Text::new(b"M3".to_vec())]).expect("added");
    let other = rusqlite::Connection::open(&path).expect("opened");
    for change in [
        "DELETE FROM events",
        "UPDATE events SET body = '{}'",
        "DELETE FROM texts",
        "UPDATE texts SET bytes = x'00'",
    ] {
        let why = other.execute_batch(change).expect_err(change).to_string();
        assert!(why.contains("are only added"), "{change}: {why}");
    }
}

/// One byte after the other is changed, in steps through the file: each time either everything reads back, or the error
/// says that the file is damaged. Nothing wrong is ever handed out.
#[test]
fn damage_is_told_and_never_handed_out() {
    let (folder, path) = folder();
    let program = Text::new(b"M3\nG1 X5\nM5\n".repeat(700));
    let events = [opened(1, &program), tick(2), tick(3)];
    open(&path).append(&events, std::slice::from_ref(&program)).expect("added");
    // The last one out has put everything into the one file.
    let sound = std::fs::read(&path).expect("read");
    let (mut told, mut missed) = (0, 0);
    for (k, at) in (0..sound.len()).step_by(61).enumerate() {
        let hurt = folder.path().join(format!("hurt-{k}.db"));
        let mut bytes = sound.clone();
        bytes[at] ^= 0x55;
        std::fs::write(&hurt, &bytes).expect("written");
        let read = Ledger::open(&hurt).and_then(|ledger| Ok((ledger.all()?, ledger.text(program.id())?)));
        match read {
            Ok((found, text)) => {
                missed += 1;
                assert_eq!((found.as_slice(), text.as_slice()), (&events[..], program.bytes()), "byte {at}");
            }
            Err(why) => {
                told += 1;
                assert!(!why.to_string().is_empty() && !why.remedy().is_empty());
            }
        }
        for ending in ["", "-wal", "-shm"] {
            let _ = std::fs::remove_file(folder.path().join(format!("hurt-{k}.db{ending}")));
        }
    }
    // A byte of an unused stretch harms nothing.
    assert!(told > 100 && missed > 0, "{told} told, {missed} without harm");
}

#[test]
fn a_file_cut_short_is_told() {
    let (_folder, path) = folder();
    let program = Text::new(b"M3\nG1 X5\nM5\n".repeat(2000));
    open(&path).append(&[opened(1, &program)], std::slice::from_ref(&program)).expect("added");
    let sound = std::fs::read(&path).expect("read");
    std::fs::write(&path, &sound[..sound.len() / 2]).expect("written");
    let (what, remedy) = refusal(&path);
    assert!(what.contains("is damaged") && remedy.contains("last good copy"), "{what}; {remedy}");
}

#[test]
fn texts_are_kept_by_their_hash() {
    assert_eq!(Text::new(b"abc".to_vec()).id(), TextId::of(b"abc"));
}
