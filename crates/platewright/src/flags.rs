//! The flags of the command line in texts that say what to tell. The crates that write such texts name what is wanted;
//! only here it is known that a flag tells it.

/// What a text says, and what it says where flags can be typed.
const FLAGS: [(&str, &str); 7] = [
    ("`thickness` in the job file", "`--thickness`, or `thickness` in the job file"),
    ("`plate` in the job file", "`--plate`, or `plate` in the job file"),
    ("`process` in the job file", "`--process`, or `process` in the job file"),
    (
        "say which process of the shop file is run",
        "say which process of the shop file is run, by `--process`",
    ),
    ("tell where program zero lies on the plate,", "tell where program zero lies on the plate by `--datum`,"),
    ("since the job tells no values", "since the job tells no values ([values])"),
    ("say which parts are lost", "say which parts are lost, by `--part`"),
];

/// The text with the flags by which what it asks for is told here.
pub(crate) fn with_flags(text: &str) -> String {
    let fits = FLAGS.iter().find(|(says, _)| text.contains(says));
    fits.map_or_else(|| text.to_owned(), |(says, with)| text.replacen(says, with, 1))
}

#[cfg(test)]
mod tests {
    use super::with_flags;

    #[test]
    fn what_can_be_typed_is_said_where_it_can_be_typed() {
        assert_eq!(with_flags("say which parts are lost"), "say which parts are lost, by `--part`");
        assert_eq!(
            with_flags("`process` in the job file"),
            "`--process`, or `process` in the job file",
            "once, though the same words stand in what it becomes"
        );
        assert_eq!(with_flags("wait"), "wait");
    }

    /// No text of the crates below names a flag: the page shows the same texts, and has none.
    #[test]
    fn texts_of_the_crates_below_name_no_flag() {
        let crates = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
        let mut open: Vec<_> = ["cell", "checks", "cuts", "desk", "nc", "proof", "rescue", "shop"]
            .map(|name| crates.join(name).join("src"))
            .to_vec();
        let mut files = 0;
        while let Some(folder) = open.pop() {
            for entry in std::fs::read_dir(&folder).expect("a folder of sources") {
                let path = entry.expect("an entry").path();
                if path.is_dir() {
                    open.push(path);
                    continue;
                }
                let text = std::fs::read_to_string(&path).expect("a source");
                files += 1;
                let code = text.lines().filter(|line| !line.trim_start().starts_with("//"));
                let names_one = |line: &&str| {
                    line.split('"').skip(1).step_by(2).any(|text| {
                        text.split("--")
                            .skip(1)
                            .any(|rest| rest.starts_with(|c: char| c.is_ascii_lowercase()))
                    })
                };
                assert_eq!(code.into_iter().find(names_one), None, "{}", path.display());
            }
        }
        assert!(files > 100, "{files}");
    }
}
