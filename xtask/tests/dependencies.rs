//! Which crate may stand on which, and under which licences the crates of others may come.

use std::path::{Path, PathBuf};
use std::process::Command;

/// The one list of edges between our crates: each may use those named, and no other. The order is that of the
/// pipeline, so that a crate uses only what stands above it.
const MAY_USE: &[(&str, &[&str])] = &[
    ("units", &[]),
    ("finding", &["units"]),
    ("geometry", &["units"]),
    ("nc", &["units", "finding", "geometry"]),
    ("shop", &["units", "finding", "geometry", "nc"]),
    ("cuts", &["units", "finding", "geometry", "nc"]),
    // The cell knows nothing of who runs programs on it.
    ("cell", &["units", "geometry", "nc", "shop", "cuts"]),
    // The proof never sees those who make what it proves.
    ("proof", &["units", "finding", "geometry", "nc", "shop", "cuts"]),
    ("checks", &["units", "finding", "geometry", "nc", "shop", "cuts", "cell"]),
    ("rescue", &["units", "finding", "geometry", "nc", "shop", "cuts", "proof"]),
    ("draw", &["units", "finding", "geometry", "nc", "cuts", "cell"]),
    (
        "desk",
        &["units", "finding", "geometry", "nc", "shop", "cuts", "cell", "proof", "checks", "rescue", "draw"],
    ),
    // The ledger keeps texts and knows nothing of what they say.
    ("ledger", &[]),
    ("campaign", &["units", "geometry", "nc", "shop", "cuts", "cell", "proof", "rescue"]),
    ("practice", &["units", "finding", "geometry", "nc", "shop", "cuts", "cell", "rescue", "desk"]),
    (
        "web",
        &[
            "units", "finding", "geometry", "nc", "shop", "cuts", "cell", "checks", "rescue", "draw", "desk",
            "ledger", "practice",
        ],
    ),
    (
        "platewright",
        &[
            "units", "finding", "geometry", "nc", "shop", "cuts", "cell", "proof", "checks", "rescue",
            "draw", "campaign", "desk", "ledger", "practice", "web",
        ],
    ),
];

/// Licences that a crate of others may come under; one of several offered is enough.
const LICENCES: [&str; 7] = ["MIT", "Apache-2.0", "BSD-2-Clause", "BSD-3-Clause", "ISC", "Zlib", "MPL-2.0"];

/// Licences besides those, with the one crate each is taken for.
const LICENCES_FOR_ONE: [(&str, &str); 1] = [("Unicode-3.0", "unicode-ident")];

#[test]
fn crates_use_only_what_stands_before_them() {
    let mut wrong = Vec::new();
    for (name, used) in our_dependencies() {
        let Some((_, allowed)) = MAY_USE.iter().find(|(of, _)| *of == name) else {
            wrong.push(format!("crate `{name}` has no row in MAY_USE"));
            continue;
        };
        wrong.extend(
            used.iter()
                .filter(|other| !allowed.contains(&other.as_str()))
                .map(|other| format!("`{name}` must not use `{other}`")),
        );
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn the_list_of_edges_runs_one_way() {
    for (k, (name, used)) in MAY_USE.iter().enumerate() {
        for other in *used {
            let at = MAY_USE.iter().position(|(of, _)| of == other);
            assert!(at.is_some_and(|at| at < k), "`{name}` uses `{other}`, which does not stand above it");
        }
    }
}

#[test]
fn every_crate_of_others_comes_under_a_licence_we_take() {
    let unfit: Vec<String> = packages()
        .iter()
        .filter(|package| !package["source"].is_null())
        .filter_map(|package| {
            let name = package["name"].as_str().unwrap_or_default();
            let licence = package["license"].as_str().unwrap_or_default();
            (!is_taken(licence, name)).then(|| format!("{name}: {licence:?}"))
        })
        .collect();
    assert!(unfit.is_empty(), "{unfit:#?}");
}

#[test]
fn licence_expressions_are_judged_rightly() {
    assert!(is_taken("MIT OR Apache-2.0", "a"));
    assert!(is_taken("Unlicense OR MIT", "a"));
    assert!(is_taken("GPL-3.0 OR (MIT AND ISC)", "a"));
    assert!(is_taken("(MIT OR Apache-2.0) AND Unicode-3.0", "unicode-ident"));
    assert!(is_taken("MIT/Apache-2.0", "a"));
    assert!(!is_taken("(MIT OR Apache-2.0) AND Unicode-3.0", "a"));
    assert!(!is_taken("GPL-3.0", "a"));
    assert!(!is_taken("GPL-3.0 AND MIT", "a"));
    assert!(!is_taken("", "a"));
}

#[test]
fn no_crate_of_others_goes_into_the_program_in_two_versions() {
    // What only runs while compiling, a macro and what it is made with, does not go into the program.
    let edges = "normal,no-proc-macro";
    let tree = ["tree", "--workspace", "--duplicates", "--edges", edges, "--depth", "0", "--locked"];
    let twice = output(&cargo(), &tree);
    assert!(twice.trim().is_empty(), "built in several versions:\n{twice}");
}

/// Whether the SPDX expression `licence` of crate `name` can be met: one of several joined by OR, all of several
/// joined by AND. AND binds tighter than OR (SPDX specification 2.3, annex D).
fn is_taken(licence: &str, name: &str) -> bool {
    let spaced = licence.replace('/', " OR ").replace('(', " ( ").replace(')', " ) ");
    let words: Vec<&str> = spaced.split_whitespace().collect();
    let (taken, rest) = any_of(&words, name);
    taken && rest.is_empty()
}

fn any_of<'a, 'w>(words: &'a [&'w str], name: &str) -> (bool, &'a [&'w str]) {
    let (mut taken, mut rest) = all_of(words, name);
    while let ["OR", after @ ..] = rest {
        let (next, left) = all_of(after, name);
        (taken, rest) = (taken || next, left);
    }
    (taken, rest)
}

fn all_of<'a, 'w>(words: &'a [&'w str], name: &str) -> (bool, &'a [&'w str]) {
    let (mut taken, mut rest) = one_of(words, name);
    while let ["AND", after @ ..] = rest {
        let (next, left) = one_of(after, name);
        (taken, rest) = (taken && next, left);
    }
    (taken, rest)
}

fn one_of<'a, 'w>(words: &'a [&'w str], name: &str) -> (bool, &'a [&'w str]) {
    match words {
        ["(", inner @ ..] => {
            let (taken, rest) = any_of(inner, name);
            (taken, rest.strip_prefix(&[")"][..]).unwrap_or(rest))
        }
        // An exception only ever grants more.
        [licence, "WITH", _, rest @ ..] | [licence, rest @ ..] => {
            (LICENCES.contains(licence) || LICENCES_FOR_ONE.contains(&(licence, name)), rest)
        }
        [] => (false, words),
    }
}

/// Our crates and those of ours that each names under `[dependencies]`.
fn our_dependencies() -> Vec<(String, Vec<String>)> {
    let folder = root().join("crates");
    let mut found: Vec<(String, Vec<String>)> = std::fs::read_dir(&folder)
        .expect("the folder of crates can be read")
        .map(|entry| entry.expect("its entries can be read").path())
        .filter(|path| path.is_dir())
        .map(|path| {
            let name = path.file_name().and_then(|name| name.to_str()).expect("a crate's name").to_owned();
            let text = std::fs::read_to_string(path.join("Cargo.toml")).expect("a crate has a manifest");
            let manifest: toml::Table = text.parse().expect("a manifest is TOML");
            assert_eq!(manifest["package"]["name"].as_str(), Some(name.as_str()), "folder and crate agree");
            let used = manifest.get("dependencies").and_then(toml::Value::as_table);
            let ours = used.into_iter().flat_map(|table| table.keys().cloned()).filter(|key| is_ours(key));
            (name, ours.collect())
        })
        .collect();
    found.sort();
    assert!(!found.is_empty(), "no crate found in {}", folder.display());
    found
}

fn is_ours(name: &str) -> bool {
    root().join("crates").join(name).is_dir()
}

/// All packages that are built on this machine, as `cargo metadata` tells them.
fn packages() -> Vec<serde_json::Value> {
    let host = output("rustc", &["-vV"]);
    let host = host.lines().find_map(|line| line.strip_prefix("host: ")).expect("rustc names its host");
    let told =
        output(&cargo(), &["metadata", "--format-version", "1", "--locked", "--filter-platform", host]);
    let metadata: serde_json::Value = serde_json::from_str(&told).expect("cargo metadata is JSON");
    metadata["packages"].as_array().expect("it lists packages").clone()
}

/// The cargo that runs the tests.
fn cargo() -> String {
    std::env::var("CARGO").unwrap_or_else(|_| "cargo".to_owned())
}

fn output(program: &str, args: &[&str]) -> String {
    let done = Command::new(program).args(args).current_dir(root()).output().expect("it can be started");
    assert!(done.status.success(), "{program} failed: {}", String::from_utf8_lossy(&done.stderr));
    String::from_utf8(done.stdout).expect("its output is text")
}

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("xtask lies in the repository").to_path_buf()
}
