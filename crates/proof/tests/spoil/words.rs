//! Changes within a line.

use super::{Fate, Kind, Text};
use nc::Code;

pub(crate) fn kinds() -> Vec<Kind> {
    let mut kinds = vec![
        of("arc turned the other way", |_, word| match word {
            "G2" | "g2" | "G02" => Some("G3".into()),
            "G3" | "g3" | "G03" => Some("G2".into()),
            _ => None,
        }),
        of("rapid instead of a feed", |_, word| (word == "G1").then(|| "G0".into())),
        of("feed instead of an arc", |_, word| matches!(word, "G2" | "G3").then(|| "G1".into())),
        of("sign of X or Y", |_, word| negated(word, "XY")),
        of("sign of I or J", |_, word| negated(word, "IJ")),
        of("X moved by 0.1 mm", |text, word| moved(text, word, "X", 0.1)),
        of("Y moved by 0.1 mm", |text, word| moved(text, word, "Y", -0.1)),
        of("I or J moved by 0.1 mm", |text, word| moved(text, word, "IJ", 0.1)),
        of("feed five percent higher", |_, word| scaled(word, "F", 1.05)),
        of("feed half a percent lower", |_, word| scaled(word, "F", 0.995)),
        of("feed taken away", |_, word| letter(word, "F").map(|_| String::new())),
        of("X or Y taken away", |_, word| letter(word, "XY").map(|_| String::new())),
        of("I or J taken away", |_, word| letter(word, "IJ").map(|_| String::new())),
        of("point lost in a coordinate", |_, word| {
            letter(word, "XYIJZ").filter(|_| word.contains('.')).map(|_| word.replace('.', ""))
        }),
        of("digits swapped", |_, word| letter(word, "XYIJ").and_then(|_| swapped(word))),
        of("wait a tenth of a second longer", |text, word| {
            let dwell = text.dialect.dwell;
            let number = value(word, &char::from(dwell.letter).to_string())?;
            Some(format!("{}{:.3}", char::from(dwell.letter), number + 0.1 / dwell.seconds_per_unit))
        }),
        of("process changed", |text, word| {
            let letter = char::from(text.dialect.process_letter?).to_string();
            value(word, &letter).map(|number| format!("{letter}{:.0}", number + 1.0))
        }),
        of("height a tenth of a millimetre off", |text, word| moved(text, word, "Z", -0.1)),
        of("radius instead of the centre", |_, word| {
            letter(word, "I").and_then(|_| word.get(1..)).map(|number| format!("R{number}"))
        }),
        of("letter mistyped", |_, word| {
            letter(word, "XY").map(|x| format!("{}{}", if x == 'X' { 'Y' } else { 'X' }, &word[1..]))
        }),
    ];
    let call = |name: &'static str, change: fn(&Text<'_>, &str) -> Option<String>| {
        let changed = of(name, change);
        let at = move |text: &Text<'_>, k: usize| {
            text.has(k, &[text.dialect.call]).then(|| (changed.at)(text, k)).flatten()
        };
        Kind { name, fate: Fate::ByEffect, at: Box::new(at) }
    };
    kinds.push(call("repeats of a call changed", |text, word| {
        value(word, &char::from(text.dialect.call_target).to_string())?;
        Some(format!("{word} {}2", char::from(text.dialect.call_repeats)))
    }));
    kinds.push(call("another subprogram called", |text, word| {
        let target = char::from(text.dialect.call_target).to_string();
        value(word, &target).map(|number| format!("{target}{:.0}", number + 1.0))
    }));
    kinds.push(Kind {
        name: "small letters",
        fate: Fate::Proven,
        at: Box::new(|text, k| Some(text.with(k, &[&text.lines[k].to_ascii_lowercase()]))),
    });
    kinds
}

/// A kind that changes one word, the first of its line that it applies to. Comments are left alone.
fn of(name: &'static str, change: impl Fn(&Text<'_>, &str) -> Option<String> + 'static) -> Kind {
    let at = move |text: &Text<'_>, k: usize| {
        let line = text.lines[k];
        let mut words = words(line);
        let (word, by) = words.find_map(|word| change(text, word).map(|by| (word, by)))?;
        let from = word.as_ptr() as usize - line.as_ptr() as usize;
        let changed = format!("{}{by}{}", &line[..from], &line[from + word.len()..]);
        (changed != line).then(|| text.with(k, &[&changed]))
    };
    Kind { name, fate: Fate::ByEffect, at: Box::new(at) }
}

/// The words of a line, each a letter and what stands up to the next; without line number and comments.
pub(crate) fn words(line: &str) -> impl Iterator<Item = &str> {
    let end = line.find(['(', ';']).unwrap_or(line.len());
    let code = &line[..end];
    let starts: Vec<usize> =
        code.char_indices().filter(|(_, c)| c.is_ascii_alphabetic()).map(|(k, _)| k).collect();
    let plain = !code.contains(['[', '#', '/']);
    (0..if plain { starts.len() } else { 0 })
        .map(move |n| code[starts[n]..starts.get(n + 1).copied().unwrap_or(code.len())].trim_end())
        .filter(|word| !word.starts_with(['N', 'n', 'O', 'o']))
}

pub(crate) fn is_code(word: &str, code: Code) -> bool {
    word.to_ascii_uppercase() == code.to_string()
}

/// The word's letter as a capital, if it is one of `letters` and a plain number follows.
fn letter(word: &str, letters: &str) -> Option<char> {
    let first = word.chars().next()?.to_ascii_uppercase();
    word[1..].parse::<f64>().ok()?;
    letters.contains(first).then_some(first)
}

fn value(word: &str, letters: &str) -> Option<f64> {
    letter(word, letters)?;
    word[1..].parse().ok()
}

fn negated(word: &str, letters: &str) -> Option<String> {
    let number = value(word, letters)?;
    (number != 0.0).then(|| format!("{}{}", &word[..1], -number))
}

fn scaled(word: &str, letters: &str, by: f64) -> Option<String> {
    value(word, letters).map(|number| format!("{}{:.3}", &word[..1], number * by))
}

fn moved(text: &Text<'_>, word: &str, letters: &str, by_mm: f64) -> Option<String> {
    let inch = text.lines.iter().flat_map(|line| words(line)).any(|word| word == "G20");
    let number = value(word, letters)?;
    Some(format!("{}{:.4}", &word[..1], number + if inch { by_mm / 25.4 } else { by_mm }))
}

fn swapped(word: &str) -> Option<String> {
    let digits: Vec<usize> =
        word.char_indices().filter(|(_, c)| c.is_ascii_digit()).map(|(k, _)| k).collect();
    let pair = digits.windows(2).find(|two| word.as_bytes()[two[0]] != word.as_bytes()[two[1]])?;
    let mut bytes = word.as_bytes().to_vec();
    bytes.swap(pair[0], pair[1]);
    String::from_utf8(bytes).ok()
}
