//! The pages of the findings that reading and running a program make, as `explain` prints them.

/// Name and page (Markdown) of each rule whose findings this crate makes, sorted by name.
pub const RULES: &[(&str, &str)] = &[
    ("arc-impossible", include_str!("rules/arc-impossible.md")),
    ("arc-inexact", include_str!("rules/arc-inexact.md")),
    ("arc-zero-radius", include_str!("rules/arc-zero-radius.md")),
    ("axis-unused", include_str!("rules/axis-unused.md")),
    ("character-unknown", include_str!("rules/character-unknown.md")),
    ("codes-clash", include_str!("rules/codes-clash.md")),
    ("comment-nested", include_str!("rules/comment-nested.md")),
    ("comment-unclosed", include_str!("rules/comment-unclosed.md")),
    ("comp-arc-small", include_str!("rules/comp-arc-small.md")),
    ("comp-corner", include_str!("rules/comp-corner.md")),
    ("comp-ends-in-arc", include_str!("rules/comp-ends-in-arc.md")),
    ("comp-gouge", include_str!("rules/comp-gouge.md")),
    ("comp-lead-in-short", include_str!("rules/comp-lead-in-short.md")),
    ("comp-width-unknown", include_str!("rules/comp-width-unknown.md")),
    ("cycle-unused", include_str!("rules/cycle-unused.md")),
    ("datum-unknown", include_str!("rules/datum-unknown.md")),
    ("end-missing", include_str!("rules/end-missing.md")),
    ("expansion-too-long", include_str!("rules/expansion-too-long.md")),
    ("expression-undefined", include_str!("rules/expression-undefined.md")),
    ("expression-unreadable", include_str!("rules/expression-unreadable.md")),
    ("feed-before-units", include_str!("rules/feed-before-units.md")),
    ("feed-mode-unused", include_str!("rules/feed-mode-unused.md")),
    ("helix-unused", include_str!("rules/helix-unused.md")),
    ("line-number-long", include_str!("rules/line-number-long.md")),
    ("line-too-long", include_str!("rules/line-too-long.md")),
    ("motion-mode-missing", include_str!("rules/motion-mode-missing.md")),
    ("number-out-of-range", include_str!("rules/number-out-of-range.md")),
    ("number-unreadable", include_str!("rules/number-unreadable.md")),
    ("parameter-unset", include_str!("rules/parameter-unset.md")),
    ("percent-misplaced", include_str!("rules/percent-misplaced.md")),
    ("percent-unclosed", include_str!("rules/percent-unclosed.md")),
    ("place-unknown", include_str!("rules/place-unknown.md")),
    ("plane-unused", include_str!("rules/plane-unused.md")),
    ("program-binary", include_str!("rules/program-binary.md")),
    ("program-empty", include_str!("rules/program-empty.md")),
    ("return-missing", include_str!("rules/return-missing.md")),
    ("return-without-call", include_str!("rules/return-without-call.md")),
    ("slash-misplaced", include_str!("rules/slash-misplaced.md")),
    ("spindle-unused", include_str!("rules/spindle-unused.md")),
    ("subprogram-missing", include_str!("rules/subprogram-missing.md")),
    ("subprogram-recursive", include_str!("rules/subprogram-recursive.md")),
    ("subprogram-twice", include_str!("rules/subprogram-twice.md")),
    ("text-too-long", include_str!("rules/text-too-long.md")),
    ("tool-length-unused", include_str!("rules/tool-length-unused.md")),
    ("value-from-probe", include_str!("rules/value-from-probe.md")),
    ("word-idle", include_str!("rules/word-idle.md")),
    ("word-misplaced", include_str!("rules/word-misplaced.md")),
    ("word-missing", include_str!("rules/word-missing.md")),
    ("word-twice", include_str!("rules/word-twice.md")),
    ("word-unknown", include_str!("rules/word-unknown.md")),
    ("words-too-many", include_str!("rules/words-too-many.md")),
    ("xy-from-probe", include_str!("rules/xy-from-probe.md")),
];

#[cfg(test)]
mod tests {
    use super::RULES;

    #[test]
    fn pages_are_whole_and_sorted() {
        assert!(RULES.is_sorted_by_key(|(name, _)| *name));
        let headings =
            ["What it checks", "Why it matters", "Example", "Use instead", "Settings", "Limits", "Source"];
        for (name, page) in RULES {
            for heading in headings {
                assert!(page.contains(&format!("## {heading}\n")), "{name} lacks {heading}");
            }
        }
    }
}
