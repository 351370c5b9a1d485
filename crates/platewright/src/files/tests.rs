//! The set of files on a disk that fails: at the n-th call, once or from then on, until a run passes untouched.

use super::{Disk, FileSet, Found, write_all};
use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;
use std::io;
use std::path::{Path, PathBuf};

/// How the disk fails.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Failing {
    /// At this call only.
    Once(u32),
    /// At this call and all after it: the disk is gone, or full.
    FromThenOn(u32),
}

/// A disk in memory. A folder is an entry without bytes.
#[derive(Default)]
struct MemoryDisk {
    entries: RefCell<BTreeMap<PathBuf, Option<Vec<u8>>>>,
    calls: Cell<u32>,
    failing: Option<Failing>,
    failed: Cell<bool>,
}

impl MemoryDisk {
    fn with(files: &[(&str, &str)]) -> Self {
        let disk = Self::default();
        disk.entries.borrow_mut().insert("shop".into(), None);
        for (path, text) in files {
            let path = PathBuf::from(path);
            for folder in path.ancestors().skip(1).filter(|folder| !folder.as_os_str().is_empty()) {
                disk.entries.borrow_mut().insert(folder.into(), None);
            }
            disk.entries.borrow_mut().insert(path, Some(text.as_bytes().to_vec()));
        }
        disk
    }

    /// One call that may fail.
    fn call(&self) -> io::Result<()> {
        let n = self.calls.get();
        self.calls.set(n + 1);
        let fails = match self.failing {
            None => false,
            Some(Failing::Once(at)) => n == at,
            Some(Failing::FromThenOn(at)) => n >= at,
        };
        self.failed.set(self.failed.get() || fails);
        if fails { Err(io::ErrorKind::StorageFull.into()) } else { Ok(()) }
    }

    /// Everything on the disk, for comparison; a folder reads `/`.
    fn all(&self) -> BTreeMap<String, String> {
        let text = |bytes: &Option<Vec<u8>>| {
            bytes.as_ref().map_or("/".to_owned(), |bytes| String::from_utf8_lossy(bytes).into_owned())
        };
        self.entries.borrow().iter().map(|(path, bytes)| (path.display().to_string(), text(bytes))).collect()
    }

    /// What a user sees in the folder: no hidden entries.
    fn seen(&self, folder: &str) -> BTreeMap<String, String> {
        let all = self.all();
        all.into_iter().filter(|(path, _)| path.starts_with(folder) && !path.contains("/.")).collect()
    }
}

impl Disk for MemoryDisk {
    fn find(&self, path: &Path) -> Option<Found> {
        self.entries.borrow().get(path).map(|entry| if entry.is_none() { Found::Folder } else { Found::File })
    }

    fn make_folder(&self, path: &Path) -> io::Result<()> {
        self.call()?;
        assert_eq!(self.find(path.parent().expect("a folder lies in one")), Some(Found::Folder));
        assert_eq!(self.entries.borrow_mut().insert(path.into(), None), None, "{} is new", path.display());
        Ok(())
    }

    fn make_temporary_folder(&self, folder: &Path) -> io::Result<PathBuf> {
        let path = folder.join(".stage");
        self.make_folder(&path)?;
        Ok(path)
    }

    fn write(&self, path: &Path, bytes: &[u8]) -> io::Result<()> {
        if let Err(full) = self.call() {
            // A full disk takes part of the file.
            self.entries.borrow_mut().insert(path.into(), Some(bytes[..bytes.len() / 2].to_vec()));
            return Err(full);
        }
        assert!(self.find(path).is_none(), "{} is new", path.display());
        self.entries.borrow_mut().insert(path.into(), Some(bytes.to_vec()));
        Ok(())
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        self.call()?;
        let entry = self.entries.borrow_mut().remove(from).expect("what is renamed is there");
        self.entries.borrow_mut().insert(to.into(), entry);
        Ok(())
    }

    fn remove_file(&self, path: &Path) -> io::Result<()> {
        self.call()?;
        let gone = self.entries.borrow_mut().remove(path);
        assert!(matches!(gone, Some(Some(_))), "{} is a file", path.display());
        Ok(())
    }

    fn remove_folder(&self, path: &Path) -> io::Result<()> {
        self.call()?;
        let holds = self.entries.borrow().keys().any(|key| key != path && key.starts_with(path));
        if holds {
            return Err(io::ErrorKind::DirectoryNotEmpty.into());
        }
        assert_eq!(self.entries.borrow_mut().remove(path), Some(None), "{} is a folder", path.display());
        Ok(())
    }
}

/// A plan without a restart program: the old program must go.
fn new_set() -> FileSet {
    let mut set = FileSet::default();
    set.add("plan.json", "new plan");
    set.add("steps.md", "new steps");
    set.add_or_leave_out("rescue.nc", None);
    set
}

const OLD: &[(&str, &str)] = &[
    ("shop/out/plan.json", "old plan"),
    ("shop/out/rescue.nc", "old program"),
    ("shop/out/steps.md", "old steps"),
    ("shop/out/photo.jpg", "the user's own"),
];

fn after(old: &[(&str, &str)]) -> BTreeMap<String, String> {
    let disk = MemoryDisk::with(old);
    write_all(&disk, Path::new("shop/out"), &new_set()).expect("a sound disk takes it");
    disk.all()
}

#[test]
fn a_sound_disk_holds_the_new_set_and_nothing_else_of_ours() {
    let all = after(OLD);
    let names: Vec<&str> = all.keys().map(String::as_str).collect();
    assert_eq!(names, ["shop", "shop/out", "shop/out/photo.jpg", "shop/out/plan.json", "shop/out/steps.md"]);
    assert_eq!(all["shop/out/plan.json"], "new plan");
}

#[test]
fn folders_are_made_as_needed() {
    let disk = MemoryDisk::with(&[]);
    let written = write_all(&disk, Path::new("shop/a/b"), &new_set()).expect("a sound disk takes it");
    assert_eq!(written, [PathBuf::from("shop/a/b/plan.json"), PathBuf::from("shop/a/b/steps.md")]);
}

#[test]
fn one_failure_at_any_call_leaves_all_or_nothing() {
    for old in [OLD, &[]] {
        let before = MemoryDisk::with(old).all();
        let whole = after(old);
        let mut at = 0;
        loop {
            let disk = MemoryDisk { failing: Some(Failing::Once(at)), ..MemoryDisk::with(old) };
            let outcome = write_all(&disk, Path::new("shop/out"), &new_set());
            if !disk.failed.get() {
                break;
            }
            match outcome {
                Ok(_) => {
                    let seen: BTreeMap<_, _> =
                        whole.clone().into_iter().filter(|(path, _)| path.starts_with("shop/out")).collect();
                    assert_eq!(disk.seen("shop/out"), seen, "call {at}");
                }
                Err(why) => {
                    assert_eq!(disk.all(), before, "call {at}: {why}");
                    assert!(why.stranded.is_empty(), "call {at}: {why}");
                }
            }
            at += 1;
        }
        assert!(at > 5, "only {at} calls were made to fail");
    }
}

#[test]
fn a_disk_that_fails_for_good_never_shows_a_mixture_or_half_a_file() {
    let whole = after(OLD);
    let before = MemoryDisk::with(OLD).all();
    let mut at = 0;
    loop {
        let disk = MemoryDisk { failing: Some(Failing::FromThenOn(at)), ..MemoryDisk::with(OLD) };
        let outcome = write_all(&disk, Path::new("shop/out"), &new_set());
        if !disk.failed.get() {
            break;
        }
        let seen = disk.seen("shop/out");
        let only_old = seen.iter().all(|(path, text)| before.get(path) == Some(text));
        let only_new = seen.iter().all(|(path, text)| whole.get(path) == Some(text));
        assert!(only_old || only_new, "call {at}: {seen:?}");
        if let Err(why) = outcome {
            let lost =
                before.values().filter(|text| !disk.all().values().any(|found| found == *text)).count();
            assert_eq!(lost, 0, "call {at}: an old file is gone");
            let missing = before.iter().filter(|(path, text)| disk.all().get(*path) != Some(text)).count();
            assert_eq!(missing, why.stranded.len(), "call {at}: what is not in its place is named");
        }
        at += 1;
    }
    assert!(at > 5, "only {at} calls were made to fail");
}

#[test]
fn a_folder_in_the_way_is_left_alone() {
    let disk = MemoryDisk::with(&[("shop/out/steps.md/mine.txt", "mine")]);
    let before = disk.all();
    let why = write_all(&disk, Path::new("shop/out"), &new_set()).expect_err("a folder stands there");
    assert_eq!(why.to_string(), "failed to write shop/out/steps.md: a folder of that name stands there");
    assert_eq!(disk.all(), before);
}
