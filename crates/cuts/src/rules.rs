//! The pages of the findings this crate makes, as `explain` prints them.

/// Name and page (Markdown) of each rule whose findings [`crate::CutList::build`] makes, sorted by name.
pub const RULES: &[(&str, &str)] = &[("side-at-odds", SIDE_AT_ODDS), ("torch-unpaired", TORCH_UNPAIRED)];

const SIDE_AT_ODDS: &str = "\
## What it checks
That the lead-in of a closed contour comes from the side on which its nesting has the scrap: from outside for the
outline of a part, from inside for a hole.

## Why it matters
The pierce blows a crater and the lead-in cuts a kerf of its own. If they lie on the wrong side, they lie in the part,
and the part is scrap. Or the nesting is misread: an outline is missing, and what looks like an outline is a hole in
the plate.

## Example
A lone contour around X0 Y0 to X100 Y100 whose pierce is at X50 Y5: inside. Nothing lies around it, so it should be an
outline, yet its pierce would be in the part.

## Use instead
Pierce outside the outline, at X50 Y-5; or, if it is a hole in a plate that is itself the part, carry on.

## Settings
None.

## Limits
Silent where the contour begins at the pierce, on open paths, and on contours that share edges. If no contour that lies
in no other is led into from outside, all of those led into from inside are taken for holes in a plate that is itself the
part, and said to be.

## Source
Common practice: lead-in on the scrap side.
";

const TORCH_UNPAIRED: &str = "\
## What it checks
That every torch-on is followed by a torch-off before the next torch-on, and that no feed in X or Y runs to a torch-off
without a torch-on before it.

## Why it matters
A torch that is not told to end cuts on through whatever it passes over on its way to the next pierce, or burns a hole
where it stands. A torch-off without torch-on does nothing, but a torch-on may have been lost there, and with it a cut.

## Example
    M3
    G1 X100 F2000
    G0 X120
    M3

## Use instead
    M3
    G1 X100 F2000
    M5
    G0 X120
    M3

## Settings
The words that start and end the torch: `[table.words]` of the shop file.

## Limits
A torch-off that finds the torch off already is reported only if a feed in X or Y has run since the torch went off: many
programs begin and end with one, to be sure.

## Source
Common practice.
";

#[cfg(test)]
mod tests {
    use super::RULES;

    #[test]
    fn pages_are_sorted_and_say_all_that_a_page_says() {
        assert!(RULES.is_sorted_by_key(|(name, _)| *name));
        for (name, page) in RULES {
            for heading in
                ["What it checks", "Why it matters", "Example", "Use instead", "Settings", "Limits", "Source"]
            {
                assert!(page.contains(&format!("## {heading}\n")), "{name} lacks {heading}");
            }
        }
    }
}
