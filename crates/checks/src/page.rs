//! Pages of rules: the head of each rule's own file, and the pages of what reading finds.

/// The page in the head of a rule's source file: its `//!` lines without that mark.
pub(crate) fn of_source(source: &str) -> String {
    let lines = source.lines().map_while(|line| line.strip_prefix("//!"));
    lines.map(|line| format!("{}\n", line.strip_prefix(' ').unwrap_or(line))).collect()
}

/// Names and pages of the findings that reading programs and files makes.
pub(crate) fn of_reading() -> impl Iterator<Item = (&'static str, &'static str)> {
    nc::RULES.iter().chain(cuts::RULES).chain(shop::RULES).copied()
}
