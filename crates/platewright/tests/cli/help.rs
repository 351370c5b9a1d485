//! What `--help` teaches, as it is printed. Each page stands in `tests/help/`.

use crate::folder::Folder;
use expect_test::expect_file;

/// Every command, and words that its help must not leave out.
const COMMANDS: &[(&str, &[&str])] = &[
    ("", &["platewright demo", "Exit status"]),
    ("check", &["Examples:", "--thickness", "Exit status"]),
    ("forecast", &["Examples:", "--out", "Exit status"]),
    ("show", &["Examples:", "--after", "--findings"]),
    ("rescue", &["Examples:", "--stop", "--cut", "rescue.nc", "Exit status"]),
    ("refind", &["Examples:", "--measure", "refind.nc", "Exit status"]),
    ("salvage", &["Examples:", "--part", "--remnant", "salvage.nc", "Exit status"]),
    ("explain", &["Examples:"]),
    ("shop", &["init", "check", "keys"]),
    ("shop init", &["Example:"]),
    ("shop check", &["Example:"]),
    ("shop keys", &["Examples:"]),
    ("serve", &["Examples:", "--listen", "--new-passphrase", "Exit status"]),
    ("practice", &["Examples:", "--list", "--scenario", "results", "Exit status"]),
    ("practice results", &["Example:"]),
    ("campaign", &["Examples:", "--seed", "--case", "Exit status"]),
    ("demo", &["Example:"]),
];

#[test]
fn every_command_teaches_by_example() {
    for (command, wanted) in COMMANDS {
        let ran = Folder::new().run(&format!("{command} --help"));
        assert_eq!((ran.status, ran.err.as_str()), (0, ""), "{command}");
        for word in *wanted {
            assert!(ran.out.contains(word), "{command}: {word:?} is missing");
        }
        let name = if command.is_empty() { "platewright".to_owned() } else { command.replace(' ', "-") };
        expect_file![format!("help/{name}.txt")].assert_eq(&ran.out);
    }
}

#[test]
fn no_line_of_help_is_wider_than_a_terminal() {
    for (command, _) in COMMANDS {
        let ran = Folder::new().run(&format!("{command} --help"));
        for line in ran.out.lines() {
            assert!(line.chars().count() <= 100, "{command}: {line}");
        }
    }
}

#[test]
fn no_command_at_all_shows_what_there_is() {
    let ran = Folder::new().run("");
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("Commands:"), "{}", ran.err);
}
