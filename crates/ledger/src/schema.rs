//! Tables of the file, and how a file of an earlier version becomes one of this.

use rusqlite::{Connection, TransactionBehavior};

/// Marks a file as a ledger in SQLite's header: `PWLG`.
pub(crate) const APPLICATION: i32 = 0x5057_4C47;

/// One step a version: step n makes a file of version n out of one of version n - 1; version 0 is an empty file. A step
/// that has been released is never changed.
pub(crate) const STEPS: &[&str] = &["
    CREATE TABLE texts (
        sha256 BLOB NOT NULL PRIMARY KEY CHECK (length(sha256) = 32),
        bytes BLOB NOT NULL
    ) STRICT;
    CREATE TABLE events (
        seq INTEGER PRIMARY KEY AUTOINCREMENT,
        id BLOB NOT NULL UNIQUE CHECK (length(id) = 16),
        of BLOB NOT NULL CHECK (length(of) = 16),
        at_ms INTEGER NOT NULL,
        kind TEXT NOT NULL,
        version INTEGER NOT NULL,
        body TEXT NOT NULL,
        sum BLOB NOT NULL CHECK (length(sum) = 32)
    ) STRICT;
    CREATE INDEX events_of ON events (of, seq);
    CREATE TRIGGER events_stay BEFORE UPDATE ON events BEGIN SELECT RAISE(ABORT, 'events are only added'); END;
    CREATE TRIGGER events_last BEFORE DELETE ON events BEGIN SELECT RAISE(ABORT, 'events are only added'); END;
    CREATE TRIGGER texts_stay BEFORE UPDATE ON texts BEGIN SELECT RAISE(ABORT, 'texts are only added'); END;
    CREATE TRIGGER texts_last BEFORE DELETE ON texts BEGIN SELECT RAISE(ABORT, 'texts are only added'); END;
"];

/// What kind of file it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    /// A ledger of this version, or of an earlier one made new, or an empty file made one.
    Ledger,
    /// A ledger of a later version.
    Later(usize),
    /// Something else.
    Other,
}

/// Brings the file to the version of the last of `steps`, in one transaction.
pub(crate) fn migrate(file: &mut Connection, steps: &[&str]) -> rusqlite::Result<Kind> {
    // Beginning at once keeps two programs that open a new file from making its tables twice.
    let change = file.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let number = |name: &str| change.query_row(&format!("PRAGMA {name}"), [], |row| row.get::<_, i64>(0));
    let (application, version) = (number("application_id")?, number("user_version")?);
    let tables: i64 = change.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))?;
    let is_new = application == 0 && version == 0 && tables == 0;
    if !is_new && application != i64::from(APPLICATION) {
        return Ok(Kind::Other);
    }
    let Ok(version) = usize::try_from(version) else { return Ok(Kind::Other) };
    if version > steps.len() {
        return Ok(Kind::Later(version));
    }
    if version < steps.len() {
        for step in &steps[version..] {
            change.execute_batch(step)?;
        }
        change.execute_batch(&format!(
            "PRAGMA application_id = {APPLICATION}; PRAGMA user_version = {}",
            steps.len()
        ))?;
    }
    change.commit()?;
    Ok(Kind::Ledger)
}

#[cfg(test)]
mod tests {
    use super::{Kind, STEPS, migrate};
    use rusqlite::Connection;

    #[test]
    fn an_earlier_version_is_made_new_and_keeps_what_it_held() {
        let mut file = Connection::open_in_memory().expect("memory");
        assert_eq!(migrate(&mut file, STEPS), Ok(Kind::Ledger));
        file.execute("INSERT INTO texts VALUES (zeroblob(32), x'4D33')", []).expect("a text is kept");
        let later: Vec<&str> =
            STEPS.iter().copied().chain(["CREATE TABLE more (x INTEGER) STRICT"]).collect();
        assert_eq!(migrate(&mut file, &later), Ok(Kind::Ledger));
        assert_eq!(migrate(&mut file, &later), Ok(Kind::Ledger), "a second time changes nothing");
        let kept: Vec<u8> =
            file.query_row("SELECT bytes FROM texts", [], |row| row.get(0)).expect("still there");
        assert_eq!(kept, b"M3");
        assert_eq!(
            migrate(&mut file, STEPS),
            Ok(Kind::Later(later.len())),
            "the earlier program does not touch it"
        );
    }

    #[test]
    fn a_step_that_fails_leaves_the_file_as_it_was() {
        let mut file = Connection::open_in_memory().expect("memory");
        assert_eq!(migrate(&mut file, STEPS), Ok(Kind::Ledger));
        let broken: Vec<&str> =
            STEPS.iter().copied().chain(["CREATE TABLE more (x INTEGER); CREATE TABLE more (x)"]).collect();
        assert!(migrate(&mut file, &broken).is_err());
        assert_eq!(migrate(&mut file, STEPS), Ok(Kind::Ledger));
        let more: i64 = file
            .query_row("SELECT count(*) FROM sqlite_schema WHERE name = 'more'", [], |row| row.get(0))
            .expect("the schema can be read");
        assert_eq!(more, 0);
    }

    #[test]
    fn another_database_is_left_alone() {
        let mut file = Connection::open_in_memory().expect("memory");
        file.execute_batch("CREATE TABLE recipes (name TEXT)").expect("memory");
        assert_eq!(migrate(&mut file, STEPS), Ok(Kind::Other));
    }
}
