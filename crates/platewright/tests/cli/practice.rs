//! `practice`: acts piped in, the result, several results side by side, a trainer's file.

use crate::folder::{Folder, Ran};
use std::io::Write as _;
use std::process::{Command, Stdio};

/// A right order of work after a loose work lead.
const RIGHT: &str = "\
# As the safe order has it.
stop
look light
read
note
raise
wait 15 s
isolate
wait 5 min
look fire
look lead
fix work-lead
fix slag
power
measure mark
ways
choose restart-block
trace
start
";

/// Runs `platewright practice ARGS` with these acts piped in.
fn piped(folder: &Folder, args: &str, acts: &str) -> Ran {
    let mut child = Command::new(env!("CARGO_BIN_EXE_platewright"))
        .arg("practice")
        .args(args.split_whitespace())
        .current_dir(folder.path())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program can be started");
    // A program that ends before it has read everything is no fault of the test.
    let _ = child.stdin.take().expect("it has an input").write_all(acts.as_bytes());
    let done = child.wait_with_output().expect("it ends");
    let text = |bytes| String::from_utf8(bytes).expect("output is text");
    Ran { status: done.status.code().unwrap_or(-1), out: text(done.stdout), err: text(done.stderr) }
}

#[test]
fn the_list_names_every_scenario_easy_ones_first() {
    let ran = Folder::new().run("practice --list");
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    let levels: Vec<u32> = ran
        .out
        .lines()
        .filter_map(|line| line.split_once("level ")?.1.split(' ').next()?.parse().ok())
        .collect();
    assert_eq!(levels.len(), practice::names().count());
    assert!(levels.is_sorted() && levels.last() == Some(&5), "{levels:?}");
}

#[test]
fn acts_are_piped_in_one_a_line() {
    let folder = Folder::new();
    let ran = piped(&folder, "loose-lead --by Kim --out kim.json", RIGHT);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""), "{}", ran.out);
    for wanted in
        ["Nothing here moves a machine", "You see", "You hear", "You do", "100 of 100 points: passed"]
    {
        assert!(ran.out.contains(wanted), "{wanted}: {}", ran.out);
    }
    let again = piped(&folder, "loose-lead --by Kim --json", RIGHT);
    assert_eq!((again.status, again.out), (0, folder.text("kim.json")), "replayed, it is the same");
}

#[test]
fn hands_in_danger_end_it_and_it_says_why() {
    let ran = piped(&Folder::new(), "loose-lead", "stop\nfix work-lead\nraise\n");
    assert_eq!(ran.status, 1);
    assert!(ran.out.contains("not isolated") && ran.out.contains("not passed"), "{}", ran.out);
    assert!(!ran.out.contains("raise  ("), "nothing is done after the end: {}", ran.out);
}

#[test]
fn what_is_no_act_is_told_and_the_session_goes_on() {
    let ran = piped(&Folder::new(), "no-air", "weld\nhelp\n\u{0}\nlook sky\nstop\nquit\n");
    assert_eq!(ran.status, 1);
    for wanted in ["\"weld\" is nothing that can be done here", "\"sky\" is no thing to look at"] {
        assert!(ran.err.contains(wanted), "{wanted}: {}", ran.err);
    }
    assert!(ran.out.contains("fix work-lead") && ran.out.contains("You stopped the program"), "{}", ran.out);
}

#[test]
fn several_trainees_stand_side_by_side() {
    let folder = Folder::new();
    piped(&folder, "loose-lead --by Kim --out kim.json", RIGHT);
    piped(&folder, "loose-lead --by Lee --out lee.json", "fix slag\n");
    let ran = folder.run("practice results lee.json kim.json");
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    let rows: Vec<&str> = ran.out.lines().collect();
    assert!(rows[1].starts_with("Kim") && rows[1].ends_with("yes"), "{}", ran.out);
    assert!(rows[2].starts_with("Lee") && rows[2].ends_with("no"), "{}", ran.out);
    folder.put("other.json", "{\"a\": 1}");
    let ran = folder.run("practice results other.json");
    assert_eq!(ran.status, 3);
    assert!(ran.err.contains("other.json") && ran.err.contains("practice --out"), "{}", ran.err);
}

#[test]
fn a_trainer_hands_a_scenario_round_as_a_file() {
    let folder = Folder::new();
    folder.put(
        "ours.toml",
        "name = \"ours\"\ntitle = \"Ours\"\nstory = \"Monday.\"\n[[fault]]\nwhat = \"work-lead-off\"\ncut = 37\n",
    );
    let ran = piped(&folder, "--scenario ours.toml", RIGHT);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""), "{}", ran.out);
    assert!(ran.out.contains("Practice: Ours") && ran.out.contains("Monday."), "{}", ran.out);
}

#[test]
fn mistakes_of_a_scenario_file_are_told_with_place_and_remedy() {
    let folder = Folder::new();
    let good = "name = \"ours\"\ntitle = \"Ours\"\nstory = \"Monday.\"\n";
    for (text, wanted) in [
        ("[[fault]]\nwhat = \"work-lead-of\"\ncut = 37\n", "work-lead-off"),
        ("[[fault]]\nwhat = \"no-air\"\ncut = 99\n", "the plate has cuts 1 to 64"),
        ("[[fault]]\nwhat = \"arc-lost\"\ncut = 1\nalong = \"9 m\"\n", "write at most"),
        ("[[fault]]\nwhat = \"blown-hole\"\ncut = 1\n", "`diameter`"),
        ("[[fault]]\nwhat = \"no-air\"\ncut = 1\nwhen = 3\n", "`when`"),
        ("", "nothing goes wrong"),
    ] {
        folder.put("ours.toml", format!("{good}{text}"));
        let ran = folder.run("practice --scenario ours.toml");
        assert_eq!(ran.status, 3, "{text}: {}", ran.out);
        assert!(ran.err.contains(wanted) && ran.err.contains("ours.toml"), "{text}: {}", ran.err);
    }
    for (args, wanted) in [
        ("practice", "--list"),
        ("practice nonsense", "loose-lead"),
        ("practice --scenario none.toml", "none.toml"),
    ] {
        let ran = folder.run(args);
        assert!(ran.status > 1 && ran.err.contains(wanted), "{args}: {}", ran.err);
    }
}
