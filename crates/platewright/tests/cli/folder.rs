//! A folder of its own for each test, in which the built program is run as a user would.

use std::path::{Path, PathBuf};
use std::process::Command;

/// The folder; removed when it goes.
pub(crate) struct Folder {
    place: tempfile::TempDir,
}

/// What a run left on the screen, and its exit status.
#[derive(Debug)]
pub(crate) struct Ran {
    /// Exit status.
    pub(crate) status: i32,
    /// Standard output.
    pub(crate) out: String,
    /// Standard error.
    pub(crate) err: String,
}

impl Folder {
    /// An empty one.
    pub(crate) fn new() -> Self {
        Self { place: tempfile::tempdir().expect("a temporary folder can be made") }
    }

    /// With the bracket of the tests: three cuts, nothing wrong.
    pub(crate) fn with_bracket() -> Self {
        let folder = Self::new();
        folder.put("bracket.nc", include_bytes!("data/bracket.nc"));
        folder
    }

    /// Its path.
    pub(crate) fn path(&self) -> &Path {
        self.place.path()
    }

    /// Puts a file into it.
    pub(crate) fn put(&self, name: &str, bytes: impl AsRef<[u8]>) {
        std::fs::write(self.path().join(name), bytes).expect("a file can be written");
    }

    /// The text of a file in it.
    pub(crate) fn text(&self, name: &str) -> String {
        let bytes = std::fs::read(self.path().join(name)).unwrap_or_else(|why| panic!("{name}: {why}"));
        String::from_utf8(bytes).expect("it is text")
    }

    /// Every file and folder in it, hidden ones too, sorted.
    pub(crate) fn all(&self) -> Vec<String> {
        fn walk(root: &Path, folder: PathBuf, found: &mut Vec<String>) {
            for entry in std::fs::read_dir(folder).expect("a folder can be read") {
                let path = entry.expect("an entry can be read").path();
                found.push(path.strip_prefix(root).expect("it lies below").display().to_string());
                if path.is_dir() {
                    walk(root, path, found);
                }
            }
        }
        let mut found = Vec::new();
        walk(self.path(), self.path().to_path_buf(), &mut found);
        found.sort();
        found
    }

    /// Runs `platewright ARGS` in it; `args` are parted at blanks.
    pub(crate) fn run(&self, args: &str) -> Ran {
        self.run_with(&args.split_whitespace().collect::<Vec<_>>())
    }

    /// Runs `platewright ARGS` in it.
    pub(crate) fn run_with(&self, args: &[&str]) -> Ran {
        let done = Command::new(env!("CARGO_BIN_EXE_platewright"))
            .args(args)
            .current_dir(self.path())
            .output()
            .expect("the program can be started");
        let text = |bytes| String::from_utf8(bytes).expect("output is text");
        Ran {
            status: done.status.code().expect("it ended by itself"),
            out: text(done.stdout),
            err: text(done.stderr),
        }
    }
}

impl Ran {
    /// Whether `words` stand in the complaints, wherever lines were broken.
    pub(crate) fn complains(&self, words: &str) -> bool {
        self.err.split_whitespace().collect::<Vec<_>>().join(" ").contains(words)
    }

    /// Status, output and complaints in one, for snapshots.
    pub(crate) fn told(&self) -> String {
        let part = |name: &str, text: &str| {
            if text.is_empty() { String::new() } else { format!("--- {name}\n{text}") }
        };
        format!("status {}\n{}{}", self.status, part("out", &self.out), part("err", &self.err))
    }
}
