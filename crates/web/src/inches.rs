//! Pages for whoever reads inches. Sentences about a plate are made far below, in metric units or in those of the program:
//! [`in_system`] puts the quantities of a sentence into inches, [`page_in`] those of all that a page says.

use std::borrow::Cow;
use std::ops::Range;
use units::{Acceleration, Flow, Length, Pressure, Speed, System, Volume};

/// How so much of a metric unit is shown in inches and the like.
type Show = fn(f64) -> String;

/// Metric units as sentences have them. Longer names first, so that a speed is not taken for a length.
const UNITS: [(&str, Show); 6] = [
    ("mm/min", |value| Speed::from_mm_per_min(value).show(System::Inch)),
    ("mm/s2", |value| Acceleration::from_mm_per_s2(value).show(System::Inch)),
    ("mm", |value| Length::from_mm(value).show(System::Inch)),
    ("bar", |value| Pressure::from_bar(value).show(System::Inch)),
    ("l/min", |value| Flow::from_l_per_min(value).show(System::Inch)),
    ("l", |value| Volume::from_l(value).show(System::Inch)),
];

/// What may stand between two numbers that share the unit after the second: of a place, a size, a range.
const LINKS: [&str; 8] = [" Y ", ",", "x", " x ", "×", " × ", "–", " to "];

/// Before `3 to 5 mm` these say that the first number is none of a quantity: `cut 3 to 5 mm of its end`.
const NUMBERED: [&str; 8] = ["cut", "cuts", "part", "parts", "line", "lines", "place", "stop"];

/// Elements whose text is nobody's sentence.
const AS_THEY_ARE: [&str; 5] = ["pre", "code", "textarea", "option", "title"];

/// `text` with what it says in metric units said in those of `system`.
///
/// Lengths, speeds, accelerations, pressures, flows and volumes, each with its unit after it (`3 mm`, `X 1.5 Y 20 mm`,
/// `1500 × 750 mm`, `2 to 4 mm`), become as exact as [`Length::show`] and its like write them. In [`System::Metric`] all
/// stays as it is, inches too: `in` is a word as well as a unit.
pub(crate) fn in_system(text: &str, system: System) -> Cow<'_, str> {
    if system == System::Metric {
        return Cow::Borrowed(text);
    }
    let numbers = numbers(text);
    let mut out = String::new();
    let mut done = 0;
    for (k, number) in numbers.iter().enumerate() {
        let Some((end, show)) = unit_after(text, number.end) else { continue };
        let mut first = k;
        while first > 0 && numbers[first - 1].start >= done && shares(text, &numbers, first) {
            first -= 1;
        }
        for linked in &numbers[first..k] {
            out.push_str(&text[done..linked.start]);
            let shown = shown(text, linked, show);
            out.push_str(shown.split(' ').next().unwrap_or_default());
            done = linked.end;
        }
        out.push_str(&text[done..number.start]);
        out.push_str(&shown(text, number, show));
        done = end;
    }
    if done == 0 {
        return Cow::Borrowed(text);
    }
    out.push_str(&text[done..]);
    Cow::Owned(out)
}

/// A page with what it says told in `system`. What stands in a program, in a field, or in the words of a person
/// (`translate="no"`) stays as it is; so do attributes.
///
/// Takes pages as our templates write them: every tag closed, no `<` or `>` in a text or an attribute.
pub(crate) fn page_in(page: String, system: System) -> String {
    if system == System::Metric {
        return page;
    }
    let mut out = String::with_capacity(page.len());
    // The element that is left as it is, and how many of its name are open.
    let mut kept: Option<(&str, usize)> = None;
    let mut rest = page.as_str();
    while let Some((text, (tag, after))) =
        rest.split_once('<').and_then(|(text, tag)| Some((text, tag.split_once('>')?)))
    {
        out.push_str(&if kept.is_some() { Cow::Borrowed(text) } else { in_system(text, system) });
        out.extend(["<", tag, ">"]);
        rest = after;
        let is_end = tag.starts_with('/');
        let name = tag.trim_start_matches('/').split([' ', '\n']).next().unwrap_or_default();
        kept = match kept {
            Some((of, open)) if of == name && is_end => (open > 1).then_some((of, open - 1)),
            Some((of, open)) if of == name => Some((of, open + 1)),
            None if !is_end && (AS_THEY_ARE.contains(&name) || tag.contains("translate=\"no\"")) => {
                Some((name, 1))
            }
            other => other,
        };
    }
    out + rest
}

fn shown(text: &str, number: &Range<usize>, show: Show) -> String {
    text[number.clone()].parse().map_or_else(|_| text[number.clone()].to_owned(), show)
}

/// Whether the number before `numbers[k]` shares its unit.
fn shares(text: &str, numbers: &[Range<usize>], k: usize) -> bool {
    let before = &numbers[k - 1];
    let between = &text[before.end..numbers[k].start];
    if between == " and " {
        return text[..before.start].ends_with("between ");
    }
    let word = text[..before.start].trim_end().rsplit(' ').next().unwrap_or_default();
    LINKS.contains(&between) && (between != " to " || !NUMBERED.contains(&word.to_lowercase().as_str()))
}

/// Where numbers stand: digits with at most one point within, perhaps a minus before, and no letter in front.
fn numbers(text: &str) -> Vec<Range<usize>> {
    let bytes = text.as_bytes();
    let is_digit = |k: usize| bytes.get(k).is_some_and(u8::is_ascii_digit);
    let mut found: Vec<Range<usize>> = Vec::new();
    let mut k = 0;
    while k < bytes.len() {
        if !is_digit(k) {
            k += 1;
            continue;
        }
        let mut end = k;
        while is_digit(end) {
            end += 1;
        }
        if bytes.get(end) == Some(&b'.') && is_digit(end + 1) {
            end += 1;
            while is_digit(end) {
                end += 1;
            }
        }
        let is_minus = k > 0 && bytes[k - 1] == b'-' && !text[..k - 1].ends_with(is_of_a_word);
        let start = if is_minus { k - 1 } else { k };
        let by_by = text[..start].ends_with('x') && found.last().is_some_and(|last| last.end + 1 == start);
        if by_by || !text[..start].ends_with(is_of_a_word) {
            found.push(start..end);
        }
        k = end;
    }
    found
}

/// Whether a number right behind it is part of a name: `N10`, `M3`, `a-10`, `1.2.3`.
fn is_of_a_word(c: char) -> bool {
    c.is_alphanumeric() || "._-/".contains(c)
}

/// The unit behind a number: where it ends, and how it is shown.
fn unit_after(text: &str, at: usize) -> Option<(usize, Show)> {
    let rest = &text[at..];
    let blank = usize::from(rest.starts_with(' '));
    let rest = &rest[blank..];
    let ends =
        |name: &str| !rest[name.len()..].starts_with(|c: char| c.is_alphanumeric() || "/_²³".contains(c));
    let found = UNITS.iter().find(|(name, _)| rest.starts_with(name) && ends(name));
    found.map(|(name, show)| (at + blank + name.len(), *show))
}

#[cfg(test)]
mod tests {
    use super::{in_system, page_in};
    use units::System;

    #[test]
    fn quantities_are_told_in_inches_and_nothing_else_is_touched() {
        for (metric, inch) in [
            ("Kerf 25.4 mm wide.", "Kerf 1 in wide."),
            ("12.7mm", "0.5 in"),
            ("off by -0.05 mm, at X 25.4 Y 50.8 mm", "off by -0.002 in, at X 1 Y 2 in"),
            ("X 25.4 mm Y 50.8 mm", "X 1 in Y 2 in"),
            ("1524x762 mm, 1524 mm × 762 mm, 1524 × 762 mm", "60x30 in, 60 in × 30 in, 60 × 30 in"),
            ("a step of 0.3 to 1 mm", "a step of 0.012 to 0.039 in"),
            ("between 25.4 and 50.8 mm", "between 1 and 2 in"),
            ("runs at 2540 mm/min, at most 2540 mm/s2", "runs at 100 in/min, at most 100 in/s2"),
            ("6.205 bar and 226.5 l/min, 270 l", "90 psi and 8 cfm, 71.3 gal"),
            ("Cut 3 to 25.4 mm of its end; cuts 4 and 25.4 mm", "Cut 3 to 1 in of its end; cuts 4 and 1 in"),
            ("412.3,88.9 mm", "16.232,3.5 in"),
            ("(25.4 mm); 25.4 mm.", "(1 in); 1 in."),
        ] {
            assert_eq!(in_system(metric, System::Inch), inch);
            assert_eq!(in_system(metric, System::Metric), metric);
        }
        for same in [
            "",
            "cut 37, part 12, line 512, 3 s, 85 A, 14.5 V, 40 %",
            "N10 mm10 M3 mm",
            "3 mmm, 3 mm2, 3 mm², 3 mm/m, 3 barn, 3 lines, base-10 mm.nc",
            "1/4 in, 0.5 in, 20 in/min",
            "29 CFR 1910.133, ISO 9013",
            "Träger – größer ×",
        ] {
            assert_eq!(in_system(same, System::Inch), same);
        }
    }

    #[test]
    fn a_page_is_told_in_inches_but_for_programs_fields_and_what_people_wrote() {
        let page = "<title>a 25.4 mm.nc</title><h1 translate=\"no\"><span>a 25.4 mm</span> 25.4 mm</h1>\
                    <p>25.4 mm <b>50.8 mm</b>&lt; 25.4 mm</p><pre>X 25.4 mm<i>25.4 mm</i></pre>\
                    <input value=\"25.4 mm\"><textarea>25.4 mm</textarea><p>25.4 mm</p>";
        let inches = "<title>a 25.4 mm.nc</title><h1 translate=\"no\"><span>a 25.4 mm</span> 25.4 mm</h1>\
                      <p>1 in <b>2 in</b>&lt; 1 in</p><pre>X 25.4 mm<i>25.4 mm</i></pre>\
                      <input value=\"25.4 mm\"><textarea>25.4 mm</textarea><p>1 in</p>";
        assert_eq!(page_in(page.to_owned(), System::Inch), inches);
        assert_eq!(page_in(page.to_owned(), System::Metric), page);
    }
}
