//! What must hold of every file of the repository and that no compiler checks.

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

/// A file of the repository that is meant to be read.
struct TextFile {
    /// Path from the root, with forward slashes.
    name: String,
    text: String,
}

/// Kinds of file that people read and write by hand.
const TEXT_KINDS: [&str; 7] = ["rs", "toml", "md", "json", "yml", "js", "css"];

/// Folders that are not part of what is kept.
const NOT_KEPT: [&str; 4] = ["target", ".git", "out", "platewright-demo"];

#[test]
fn every_source_file_begins_by_saying_what_it_is_for() {
    let silent = files().into_iter().filter(|f| f.is("rs")).filter(|f| {
        let first = f.text.lines().next().unwrap_or_default();
        // A purpose takes more than a word or two.
        !first.starts_with("//! ") || first.len() < 20
    });
    none_left(silent, "begins without a `//!` line that says what the file is for");
}

#[test]
fn nothing_is_left_to_do() {
    let marks = [concat!("todo", "!("), concat!("unimplemented", "!("), concat!("#[ig", "nore")];
    let undone = files().into_iter().filter(|f| f.is("rs") && marks.iter().any(|mark| f.text.contains(mark)));
    none_left(undone, "holds a stub or a test that is not run");
}

#[test]
fn every_rule_has_a_fixture() {
    let files = files();
    let in_folder = |folder: &str, kind: &str| -> Vec<String> {
        let names = files.iter().filter_map(|f| f.name.strip_prefix(folder)?.strip_suffix(kind));
        names.map(|name| name.replace('_', "-")).collect()
    };
    let rules = in_folder("crates/checks/src/rules/", ".rs");
    let fixtures = in_folder("crates/checks/fixtures/", ".md");
    assert!(rules.len() >= 10, "only {} rules found", rules.len());
    let bare: Vec<&String> = rules.iter().filter(|rule| !fixtures.contains(rule)).collect();
    assert!(bare.is_empty(), "rules without a fixture: {bare:?}");
}

#[test]
fn no_lint_is_silenced_without_a_reason() {
    let mark = concat!("#[al", "low(");
    let silenced = files().into_iter().filter(|f| f.is("rs") && f.text.contains(mark));
    none_left(silenced, "silences a lint; use #[expect(lint, reason = \"…\")]");
}

#[test]
fn no_file_names_a_place_on_one_machine() {
    let places =
        [concat!("/wo", "rk/"), concat!("/ro", "ot/"), concat!("/ho", "me/"), concat!("C:\\Us", "ers")];
    let naming = files().into_iter().filter(|f| places.iter().any(|place| f.text.contains(place)));
    none_left(naming, "names a folder of somebody's machine");
}

/// A page that names a command which does not exist sends its reader nowhere.
#[test]
fn pages_name_commands_that_exist() {
    const COMMANDS: [&str; 12] = [
        "check", "show", "forecast", "rescue", "refind", "salvage", "explain", "shop", "serve", "practice",
        "campaign", "demo",
    ];
    const OF_SHOP: [&str; 3] = ["init", "check", "keys"];
    let leads_nowhere = |rest: &str| {
        let mut words = rest.split(|c: char| !c.is_ascii_lowercase()).filter(|word| !word.is_empty());
        let command = words.next().unwrap_or_default();
        let of_shop = rest.starts_with("shop ").then(|| words.next().unwrap_or_default());
        // Capitals stand for whatever is put in their place.
        let is_named = rest.starts_with(|c: char| c.is_ascii_lowercase());
        is_named && !COMMANDS.contains(&command) || of_shop.is_some_and(|word| !OF_SHOP.contains(&word))
    };
    let mark = concat!("`plate", "wright ");
    let misleading = files().into_iter().filter(|f| f.text.split(mark).skip(1).any(leads_nowhere));
    none_left(misleading, "names a command that does not exist");
}

#[test]
fn text_files_end_with_one_line_end() {
    let ragged = files()
        .into_iter()
        .filter(|f| !f.text.is_empty() && (!f.text.ends_with('\n') || f.text.ends_with("\n\n")));
    none_left(ragged, "must end with one line end and no blank line");
}

#[test]
fn text_files_hold_no_tabs_and_no_blanks_at_line_ends() {
    let ragged = files().into_iter().filter(|f| {
        let blanks = f.is("rs") || f.is("toml");
        f.text.contains('\t') || blanks && f.text.lines().any(|line| line.ends_with(' '))
    });
    none_left(ragged, "holds a tab, or blanks at a line's end");
}

impl TextFile {
    fn is(&self, kind: &str) -> bool {
        Path::new(&self.name).extension().is_some_and(|found| found == kind)
    }
}

/// Fails with the names of all `offenders`, if any.
fn none_left(offenders: impl Iterator<Item = TextFile>, what: &str) {
    let list = offenders.fold(String::new(), |mut list, f| {
        let _ = writeln!(list, "  {} {what}", f.name);
        list
    });
    assert!(list.is_empty(), "\n{list}");
}

/// Every text file of the repository, sorted by name.
fn files() -> Vec<TextFile> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("xtask lies in the repository");
    let mut found = Vec::new();
    walk(root, root, &mut found);
    assert!(found.len() > 40, "the walk found only {} files: does it start at the root?", found.len());
    found.sort_by(|a, b| a.name.cmp(&b.name));
    found
}

fn walk(root: &Path, folder: &Path, found: &mut Vec<TextFile>) {
    for entry in fs::read_dir(folder).expect("a folder of the repository can be read") {
        let path: PathBuf = entry.expect("its entries can be read").path();
        let name = path.file_name().and_then(|name| name.to_str()).unwrap_or_default();
        if path.is_dir() {
            if !NOT_KEPT.contains(&name) {
                walk(root, &path, found);
            }
        } else if path
            .extension()
            .and_then(|kind| kind.to_str())
            .is_some_and(|kind| TEXT_KINDS.contains(&kind))
        {
            let text = fs::read_to_string(&path)
                .unwrap_or_else(|e| panic!("{} cannot be read as text: {e}", path.display()));
            let relative = path.strip_prefix(root).expect("the walk stays below the root");
            found.push(TextFile { name: relative.to_string_lossy().replace('\\', "/"), text });
        }
    }
}
