//! The pages of the findings made when shop file, job file and stop report are read, as `explain` prints them.

/// Name and page (Markdown) of each rule whose findings reading a file makes, sorted by name.
pub const RULES: &[(&str, &str)] = &[
    ("facts-at-odds", FACTS_AT_ODDS),
    ("file-unreadable", FILE_UNREADABLE),
    ("key-missing", KEY_MISSING),
    ("key-unknown", KEY_UNKNOWN),
    ("name-twice", NAME_TWICE),
    ("name-unknown", NAME_UNKNOWN),
    ("thickness-twice", THICKNESS_TWICE),
    ("unit-missing", UNIT_MISSING),
    ("unit-unknown", UNIT_UNKNOWN),
    ("value-out-of-range", VALUE_OUT_OF_RANGE),
    ("value-unfit", VALUE_UNFIT),
    ("word-not-in-list", WORD_NOT_IN_LIST),
    ("words-clash", WORDS_CLASH),
];

const FACTS_AT_ODDS: &str = "\
## What it checks
That no two facts of a file contradict each other: a compressor that starts above the pressure at which it stops, an
arc started below cut height, a duty cycle that rises with the current, a kerf cut farther than the torch went.

## Why it matters
One of the two is wrong, and every answer that leans on it is wrong too.

## Example
    [air]
    cut_in = \"9 bar\"
    cut_out = \"7 bar\"

## Use instead
    [air]
    cut_in = \"7 bar\"
    cut_out = \"9 bar\"

## Settings
None.

## Limits
Only facts that cannot be true together are told, not ones that are merely unusual.

## Source
Physics, and common practice for pierce heights.
";

const FILE_UNREADABLE: &str = "\
## What it checks
That every line of the file is TOML: `key = value`, `[heading]`, `[[heading of a list]]`, or a comment after `#`.

## Why it matters
A line that cannot be read tells nothing. It is left out and the rest is read.

## Example
    rapid: 15 m/min

## Use instead
    rapid = \"15 m/min\"

## Settings
None.

## Limits
After twenty such lines the rest of the file is left. Files over 4 MiB are not read: they are something else.

## Source
TOML 1.1.
";

const KEY_MISSING: &str = "\
## What it checks
That a table holds the keys without which it says nothing, such as the `code` of a fault.

## Why it matters
The table is left out as a whole, and with it all that it tells.

## Example
    [[source.fault]]
    code = \"WORK-LEAD\"

## Use instead
    [[source.fault]]
    code = \"WORK-LEAD\"
    cause = \"no current through the work lead\"
    remedy = \"clamp the work lead on bare metal\"
    clears_by = \"new-start\"

## Settings
None.

## Limits
None known.

## Source
The keys of the file: `platewright shop keys`.
";

const KEY_UNKNOWN: &str = "\
## What it checks
That every key is one of the file's keys, in the table where it belongs.

## Why it matters
A misspelt key is a fact that was meant to be told and is not.

## Example
    [table]
    safe_heigt = \"40 mm\"

## Use instead
    [table]
    safe_height = \"40 mm\"

## Settings
None.

## Limits
The nearest known key is offered, or the table in which the key belongs. It is a guess.

## Source
The keys of the file: `platewright shop keys`.
";

const NAME_TWICE: &str = "\
## What it checks
That no key, process, fault code, plate in stock, process number or cut is told twice.

## Why it matters
Only the first one counts; if the second was meant, what is reckoned is not what is true.

## Example
    rapid = \"15 m/min\"
    rapid = \"12 m/min\"

## Use instead
    rapid = \"12 m/min\"

## Settings
None.

## Limits
None known.

## Source
TOML 1.1 for keys.
";

const NAME_UNKNOWN: &str = "\
## What it checks
That what is said to be fitted is a process or a consumable set of the file.

## Why it matters
A program for one set, run with another, spoils the cut and the consumables. This can be told only if the set that is
fitted has a process.

## Example
    [fitted]
    process = \"fin 45\"

## Use instead
    [fitted]
    process = \"fine 45\"

## Settings
None.

## Limits
None known.

## Source
Common practice.
";

const THICKNESS_TWICE: &str = "\
## What it checks
That a chart has no two rows for the same thickness, whether told in millimetres, inches or gauges.

## Why it matters
A chart gives one speed for one thickness. The first row is kept.

## Example
    thickness = \"12.7 mm\"
and further down
    thickness = \"1/2 in\"

## Use instead
One row with the values of the manual.

## Settings
None.

## Limits
Thicknesses within 0.005 mm are the same.

## Source
Common practice.
";

const UNIT_MISSING: &str = "\
## What it checks
That lengths, speeds, times, pressures and the like are told with their unit, in quotes.

## Why it matters
Nobody should have to guess whether `3` is millimetres or inches.

## Example
    safe_height = 40

## Use instead
    safe_height = \"40 mm\"

## Settings
None.

## Limits
Counts, shares and prices are bare numbers.

## Source
Common practice.
";

const UNIT_UNKNOWN: &str = "\
## What it checks
That the unit is one of the quantity's.

## Why it matters
A value in another unit would be wrong by a factor of tens.

## Example
    acceleration = \"800 mm/s\"

## Use instead
    acceleration = \"800 mm/s2\"

## Settings
None.

## Limits
None known.

## Source
Definitions of the units.
";

const VALUE_OUT_OF_RANGE: &str = "\
## What it checks
That a value is one that can be: no negative length, no share above 1.

## Why it matters
What is reckoned from it would be nonsense.

## Example
    speed = \"-2600 mm/min\"

## Use instead
    speed = \"2600 mm/min\"

## Settings
None.

## Limits
None known.

## Source
Physics.
";

const VALUE_UNFIT: &str = "\
## What it checks
That a value is of the kind its key takes: a text, a number, true or false, a list, a table, a code, a place.

## Why it matters
A value of another kind tells nothing and is left out.

## Example
    home_switches = \"yes\"

## Use instead
    home_switches = true

## Settings
None.

## Limits
None known.

## Source
The keys of the file: `platewright shop keys`.
";

const WORD_NOT_IN_LIST: &str = "\
## What it checks
That a word is one of those its key knows.

## Why it matters
A word that is not known tells nothing and is left out.

## Example
    material = \"stel\"

## Use instead
    material = \"mild-steel\"

## Settings
None.

## Limits
Letters of either case, and blank, `_` and `-`, are the same.

## Source
The keys of the file: `platewright shop keys`.
";

const WORDS_CLASH: &str = "\
## What it checks
That no code or letter of `[table.words]` means two things, or takes the place of a word of the published language.

## Why it matters
If the same code starts and ends the torch, no program can be read, and every finding and every rescue is wrong.

## Example
    torch_on = [\"M3\", \"M5\"]

## Use instead
    torch_on = [\"M3\"]
    torch_off = [\"M5\"]

## Settings
None.

## Limits
A word that is not told keeps its assumed meaning, and clashes with that are told as well.

## Source
NISTIR 6556, tables 5 and 7, for the words of the published language.
";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pages_are_whole_and_sorted() {
        assert!(RULES.is_sorted_by_key(|(name, _)| *name));
        for (name, page) in RULES {
            for part in
                ["What it checks", "Why it matters", "Example", "Use instead", "Settings", "Limits", "Source"]
            {
                assert!(page.contains(&format!("## {part}\n")), "{name} must have a part `{part}`");
            }
        }
    }
}
