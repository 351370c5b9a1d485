//! The file: opening, adding, reading.

use crate::entry::VERSION;
use crate::schema::{self, Kind, STEPS};
use crate::{Entry, Error, Event, Id, JobRecord, Moment, Text, TextId};
use rusqlite::{Connection, OpenFlags, OptionalExtension, Row, Transaction, TransactionBehavior, params};
use sha2::{Digest, Sha256};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// How long a writer waits for another to finish. Writing takes milliseconds; who holds the file longer is no writer of
/// ours, and the person at the table should hear of it.
const WAITS: Duration = Duration::from_secs(5);

/// The ledger: one file, kept open. What [`append`](Self::append) has answered is on the disk, whole.
///
/// Any number of programs may have the same file open.
#[derive(Debug)]
pub struct Ledger {
    path: PathBuf,
    file: Connection,
}

impl Ledger {
    /// Opens the ledger at `path`; makes it if there is none. Its folder must be there.
    ///
    /// # Errors
    /// If the file cannot be opened or made, is no ledger or one of a later version, is damaged, is held by another
    /// program, or lies on a disk that cannot keep it safe.
    pub fn open(path: &Path) -> Result<Self, Error> {
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE
            | OpenFlags::SQLITE_OPEN_CREATE
            | OpenFlags::SQLITE_OPEN_NO_MUTEX
            | OpenFlags::SQLITE_OPEN_EXRESCODE;
        let of = |why| Error::of(path, &why);
        let file = Connection::open_with_flags(path, flags).map_err(of)?;
        Self::begin(path, file, STEPS)
    }

    fn begin(path: &Path, mut file: Connection, steps: &[&str]) -> Result<Self, Error> {
        let of = |why| Error::of(path, &why);
        file.busy_timeout(WAITS).map_err(of)?;
        // What the file is comes first: another program's database is not even put into another mode.
        match schema::migrate(&mut file, steps).map_err(of)? {
            Kind::Ledger => {}
            Kind::Other => return Err(Error::NotALedger(path.to_path_buf())),
            Kind::Later(version) => {
                let what = format!("it has version {version}, and {} is the latest known here", steps.len());
                return Err(Error::Newer { path: path.to_path_buf(), what });
            }
        }
        let mode: String = file.query_row("PRAGMA journal_mode = WAL", [], |row| row.get(0)).map_err(of)?;
        if mode != "wal" && mode != "memory" {
            return Err(Error::NoSafeDisk(path.to_path_buf()));
        }
        // FULL: the log is on the disk before a commit answers, so that a power cut takes nothing acknowledged.
        file.execute_batch(
            "PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON; PRAGMA trusted_schema = OFF",
        )
        .map_err(of)?;
        let sound: String = file.query_row("PRAGMA quick_check(1)", [], |row| row.get(0)).map_err(of)?;
        if sound != "ok" {
            return Err(Error::Damaged { path: path.to_path_buf(), how: sound });
        }
        Ok(Self { path: path.to_path_buf(), file })
    }

    /// Where it is.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Adds `events` in this order, and the texts they speak of; all of them or none. Says how many were not there yet:
    /// an event that is there already, the same in everything but its moment, is left as it is.
    ///
    /// # Errors
    /// If the disk refuses, another program holds the file, another event has an id, or an event speaks of a text that is
    /// neither given nor kept. Nothing has been added then.
    pub fn append(&mut self, events: &[Event], texts: &[Text]) -> Result<usize, Error> {
        let path = self.path.clone();
        let of = |why| Error::of(&path, &why);
        let change = self.file.transaction_with_behavior(TransactionBehavior::Immediate).map_err(of)?;
        for text in texts {
            assert!(TextId::of(text.bytes()) == text.id(), "a text is kept under its own hash");
            change
                .execute(
                    "INSERT INTO texts (sha256, bytes) VALUES (?1, ?2) ON CONFLICT DO NOTHING",
                    params![text.id().bytes(), text.bytes()],
                )
                .map_err(of)?;
        }
        let mut added = 0;
        for event in events {
            if let Some(missing) = missing_text(&change, &event.entry).map_err(of)? {
                return Err(Error::TextMissing(missing));
            }
            let there = stored(&change, &event.id).map_err(of)?;
            match there {
                None => add(&change, event).map_err(of)?,
                Some(row) if row.says_the_same(event) => continue,
                Some(_) => return Err(Error::IdTaken(event.id)),
            }
            added += 1;
        }
        change.commit().map_err(of)?;
        Ok(added)
    }

    /// The events of one job or practice session, in the order in which they were added; none if there is no such.
    ///
    /// # Errors
    /// If the file cannot be read, or an event in it is damaged.
    pub fn events(&self, of: Id) -> Result<Vec<Event>, Error> {
        self.read(&format!("{SELECT} WHERE of = ?1 ORDER BY seq"), params![of.bytes()])
    }

    /// Every event, in the order in which they were added.
    ///
    /// # Errors
    /// If the file cannot be read, or an event in it is damaged.
    pub fn all(&self) -> Result<Vec<Event>, Error> {
        self.read(&format!("{SELECT} ORDER BY seq"), params![])
    }

    /// How one job stands; none if there is no such.
    ///
    /// # Errors
    /// If the file cannot be read, or an event in it is damaged.
    pub fn job(&self, id: Id) -> Result<Option<JobRecord>, Error> {
        Ok(JobRecord::fold(&self.events(id)?))
    }

    /// How every job stands, the one last touched first.
    ///
    /// # Errors
    /// If the file cannot be read, or an event in it is damaged.
    pub fn jobs(&self) -> Result<Vec<JobRecord>, Error> {
        let order = "SELECT of FROM events GROUP BY of ORDER BY max(seq) DESC";
        let failed = |why| Error::of(&self.path, &why);
        let mut statement = self.file.prepare_cached(order).map_err(failed)?;
        let ids = statement.query_map([], |row| row.get::<_, [u8; 16]>(0)).map_err(failed)?;
        let ids: Vec<Id> = ids.map(|id| id.map(Id::new)).collect::<Result<_, _>>().map_err(failed)?;
        let jobs = ids.into_iter().map(|id| self.job(id));
        jobs.filter_map(Result::transpose).collect()
    }

    /// How every practice session stands: its last event, the one last touched first.
    ///
    /// # Errors
    /// If the file cannot be read, or an event in it is damaged.
    pub fn practice(&self) -> Result<Vec<Event>, Error> {
        let last =
            "kind = 'practice' AND seq IN (SELECT max(seq) FROM events WHERE kind = 'practice' GROUP BY of)";
        self.read(&format!("{SELECT} WHERE {last} ORDER BY seq DESC"), params![])
    }

    /// A text that is kept.
    ///
    /// # Errors
    /// If there is none of this hash, the file cannot be read, or the text is damaged.
    pub fn text(&self, id: TextId) -> Result<Vec<u8>, Error> {
        let found = self
            .file
            .prepare_cached("SELECT bytes FROM texts WHERE sha256 = ?1")
            .and_then(|mut s| s.query_row(params![id.bytes()], |row| row.get::<_, Vec<u8>>(0)).optional())
            .map_err(|why| Error::of(&self.path, &why))?;
        let bytes = found.ok_or(Error::TextMissing(id))?;
        if TextId::of(&bytes) != id {
            return Err(self.damaged(format!("the text with the hash {id} is not what it was")));
        }
        Ok(bytes)
    }

    fn read(&self, query: &str, params: impl rusqlite::Params) -> Result<Vec<Event>, Error> {
        let failed = |why| Error::of(&self.path, &why);
        let mut statement = self.file.prepare_cached(query).map_err(failed)?;
        let rows = statement.query_map(params, Stored::of).map_err(failed)?;
        rows.map(|row| self.event(&row.map_err(failed)?)).collect()
    }

    fn event(&self, row: &Stored) -> Result<Event, Error> {
        if row.sum != sum(row) {
            return Err(self.damaged(format!("event {} is not what it was", Id::new(row.id))));
        }
        let newer = |what| Error::Newer { path: self.path.clone(), what };
        let entry = Entry::read(&row.kind, row.version, &row.body).map_err(newer)?;
        Ok(Event { id: Id::new(row.id), of: Id::new(row.of), at: Moment(row.at_ms), entry })
    }

    fn damaged(&self, how: String) -> Error {
        Error::Damaged { path: self.path.clone(), how }
    }
}

const SELECT: &str = "SELECT id, of, at_ms, kind, version, body, sum FROM events";

/// An event as it lies in the file.
#[derive(Debug, PartialEq)]
struct Stored {
    id: [u8; 16],
    of: [u8; 16],
    at_ms: i64,
    kind: String,
    version: u32,
    body: String,
    sum: [u8; 32],
}

impl Stored {
    fn of(row: &Row<'_>) -> rusqlite::Result<Self> {
        Ok(Self {
            id: row.get(0)?,
            of: row.get(1)?,
            at_ms: row.get(2)?,
            kind: row.get(3)?,
            version: row.get(4)?,
            body: row.get(5)?,
            sum: row.get(6)?,
        })
    }

    fn new(event: &Event) -> Self {
        let mut row = Self {
            id: *event.id.bytes(),
            of: *event.of.bytes(),
            at_ms: event.at.0,
            kind: event.entry.kind().to_owned(),
            version: VERSION,
            body: event.entry.body(),
            sum: [0; 32],
        };
        row.sum = sum(&row);
        row
    }

    /// A retry may come later than the first try.
    fn says_the_same(&self, event: &Event) -> bool {
        let other = Self::new(event);
        (self.of, &self.kind, &self.body) == (other.of, &other.kind, &other.body)
    }
}

/// By which damage to an event shows, whatever did it: SHA-256 over all its fields, those of changing length with it.
fn sum(row: &Stored) -> [u8; 32] {
    let mut hash = Sha256::new();
    hash.update(row.id);
    hash.update(row.of);
    hash.update(row.at_ms.to_be_bytes());
    hash.update(row.version.to_be_bytes());
    hash.update((row.kind.len() as u64).to_be_bytes());
    hash.update(&row.kind);
    hash.update(&row.body);
    hash.finalize().into()
}

fn add(change: &Transaction<'_>, event: &Event) -> rusqlite::Result<()> {
    let row = Stored::new(event);
    let insert =
        "INSERT INTO events (id, of, at_ms, kind, version, body, sum) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)";
    let values = params![row.id, row.of, row.at_ms, row.kind, row.version, row.body, row.sum];
    change.prepare_cached(insert)?.execute(values).map(|_| ())
}

fn stored(change: &Transaction<'_>, id: &Id) -> rusqlite::Result<Option<Stored>> {
    let mut statement = change.prepare_cached(&format!("{SELECT} WHERE id = ?1"))?;
    statement.query_row(params![id.bytes()], Stored::of).optional()
}

fn missing_text(change: &Transaction<'_>, entry: &Entry) -> rusqlite::Result<Option<TextId>> {
    for id in entry.texts() {
        let mut statement = change.prepare_cached("SELECT 1 FROM texts WHERE sha256 = ?1")?;
        if !statement.exists(params![id.bytes()])? {
            return Ok(Some(id));
        }
    }
    Ok(None)
}
