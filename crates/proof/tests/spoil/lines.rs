//! Changes of whole lines.

use super::words::{is_code, words};
use super::{Fate, Kind, Text};
use nc::Code;
use std::ops::Range;

pub(crate) fn kinds() -> Vec<Kind> {
    let mut kinds = whole_lines();
    kinds.extend(inserted());
    kinds.extend(words_of_the_control());
    kinds.extend(whole_cuts());
    kinds.extend(before_the_first_start());
    kinds.extend(neutral());
    kinds
}

fn kind(
    name: &'static str,
    fate: Fate,
    at: impl Fn(&Text<'_>, usize) -> Option<Vec<String>> + 'static,
) -> Kind {
    Kind { name, fate, at: Box::new(at) }
}

fn by_effect(name: &'static str, at: impl Fn(&Text<'_>, usize) -> Option<Vec<String>> + 'static) -> Kind {
    kind(name, Fate::ByEffect, at)
}

fn whole_lines() -> Vec<Kind> {
    vec![
        by_effect("line dropped", |text, k| Some(text.with(k, &[]))),
        by_effect("line twice", |text, k| Some(text.with(k, &[text.lines[k], text.lines[k]]))),
        by_effect("two lines swapped", |text, k| {
            let next = text.lines.get(k + 1)?;
            let mut lines = text.with(k, &[next]);
            text.lines[k].clone_into(&mut lines[k + 1]);
            Some(lines)
        }),
        by_effect("two lines joined", |text, k| {
            let next = text.lines.get(k + 1)?;
            let mut lines = text.with(k, &[&format!("{} {next}", text.lines[k])]);
            lines.remove(k + 1);
            Some(lines)
        }),
        by_effect("line in a comment", |text, k| {
            let line = text.lines[k];
            (!line.contains(['(', ')'])).then(|| text.with(k, &[&format!("({line})")]))
        }),
        by_effect("line deleted by a slash", |text, k| Some(text.with(k, &[&format!("/{}", text.lines[k])]))),
        by_effect("text cut off", |text, k| {
            Some(text.lines[..k].iter().map(|line| (*line).to_owned()).collect())
        }),
        by_effect("line cut off", |text, k| {
            let line = text.lines[k];
            let half = line.get(..line.len() * 2 / 3)?;
            Some(text.with(k, &[half]))
        }),
        by_effect("line moved to the end", |text, k| {
            let mut lines = text.with(k, &[]);
            let end = lines.len() - 1;
            lines.insert(end, text.lines[k].to_owned());
            Some(lines)
        }),
    ]
}

/// Lines put in after line `k`.
fn inserted() -> Vec<Kind> {
    let put = |name: &'static str, line: &'static str| {
        by_effect(name, move |text: &Text<'_>, k| Some(text.with(k, &[text.lines[k], line])))
    };
    vec![
        put("inches put in force", "G20"),
        put("millimetres put in force", "G21"),
        put("increments put in force", "G91"),
        put("absolute put in force", "G90"),
        put("another plane put in force", "G18"),
        put("inverse time put in force", "G93"),
        put("compensation put in force", "G41 D1"),
        put("motion mode taken away", "G80"),
        put("arc centres the other way", "G90.1"),
        kind("datum set by G92", Fate::Refused, |text, k| text.in_run(k, &["G92 X0 Y0"])),
        kind("datum set by G10", Fate::Refused, |text, k| text.in_run(k, &["G10 L2 P1 X10 Y5"])),
        kind("another coordinate system", Fate::Refused, |text, k| {
            (k + 1 < text.first_start()).then(|| text.with(k, &[text.lines[k], "G55"]))
        }),
        put("offsets taken away", "G92.1"),
        kind("datum set by a parameter", Fate::Refused, |text, k| text.in_run(k, &["#5221=10"])),
        put("line through a part", "G1 X5 Y5 F1000"),
        put("rapid through a part", "G0 X5 Y5"),
        put("to the machine's home", "G28"),
        put("wait", "G4 P3"),
        put("stop", "M0"),
        put("end", "M30"),
        kind("low travel", Fate::Refused, |text, k| {
            // Before a rapid in X and Y that follows a torch-off: the way to the next start, over what is loose.
            let after_off = (0..k).rev().take(4).any(|k| text.has(k, &text.dialect.torch_off));
            let line = text.lines[k].to_ascii_uppercase();
            let way = line.contains("G0") && line.contains('X') && line.contains('Y') && !line.contains('Z');
            let more = (k..text.lines.len()).any(|k| text.has(k, &text.dialect.torch_on));
            let absolute = !text.lines.iter().any(|line| line.contains("G91\n") || *line == "G91");
            let in_z = text.lines.iter().any(|line| line.contains('Z'));
            (after_off && way && more && absolute && in_z && k > text.first_start())
                .then(|| text.with(k, &["G0 Z0.1", text.lines[k]]))
        }),
    ]
}

impl Text<'_> {
    /// `lines` put in after line `k`, where that lies between the first line and the last start.
    fn in_run(&self, k: usize, lines: &[&str]) -> Option<Vec<String>> {
        let last = (0..self.lines.len()).rev().find(|k| self.has(*k, &self.dialect.torch_on))?;
        let all: Vec<&str> = std::iter::once(self.lines[k]).chain(lines.iter().copied()).collect();
        (k < last).then(|| self.with(k, &all))
    }

    /// Whether line `k` has a word that finds the plate.
    fn touches_off(&self, k: usize) -> bool {
        let codes: Vec<Code> = self
            .dialect
            .touch_off
            .iter()
            .filter_map(|by| match by {
                nc::TouchOffBy::Code(code) => Some(*code),
                _ => None,
            })
            .chain(self.dialect.probe.iter().copied())
            .chain([self.dialect.call])
            .collect();
        self.has(k, &codes)
    }

    /// Cuts of the text: from after one torch-off to after the next.
    fn cuts(&self) -> Vec<Range<usize>> {
        let on: Vec<usize> = (0..self.lines.len()).filter(|k| self.has(*k, &self.dialect.torch_on)).collect();
        let offs: Vec<usize> = (0..self.lines.len())
            .filter(|k| on.first().is_some_and(|on| k > on) && self.has(*k, &self.dialect.torch_off))
            .collect();
        let mut from = on.first().copied().unwrap_or(0);
        offs.into_iter()
            .map(|off| {
                let cut = from..off + 1;
                from = off + 1;
                cut
            })
            .collect()
    }
}

fn words_of_the_control() -> Vec<Kind> {
    let without = |name: &'static str, codes: fn(&nc::Dialect) -> Vec<Code>| {
        by_effect(name, move |text: &Text<'_>, k| {
            let codes = codes(text.dialect);
            let line = text.lines[k];
            let word = words(line).find(|word| codes.iter().any(|code| is_code(word, *code)))?.to_owned();
            Some(text.with(k, &[&line.replacen(&word, "", 1)]))
        })
    };
    let moved = |name: &'static str, codes: fn(&nc::Dialect) -> Vec<Code>, by: isize| {
        by_effect(name, move |text: &Text<'_>, k| {
            let codes = codes(text.dialect);
            let to = k.checked_add_signed(by).filter(|to| *to < text.lines.len())?;
            text.has(k, &codes).then(|| {
                let mut lines = text.with(k, &[]);
                lines.insert(to, text.lines[k].to_owned());
                lines
            })
        })
    };
    vec![
        without("torch-on taken away", |dialect| dialect.torch_on.clone()),
        without("torch-off taken away", |dialect| dialect.torch_off.clone()),
        without("height control on taken away", |dialect| dialect.height_control_on.clone()),
        without("height control off taken away", |dialect| dialect.height_control_off.clone()),
        without("probe word taken away", |dialect| dialect.probe.clone()),
        without("wait word taken away", |dialect| vec![dialect.dwell.code]),
        without("end taken away", |_| vec![Code::new(b'M', 30)]),
        without("G word taken away", |_| (0..4).map(|number| Code::new(b'G', number)).collect()),
        moved("torch-off earlier", |dialect| dialect.torch_off.clone(), -1),
        moved("torch-off later", |dialect| dialect.torch_off.clone(), 1),
        moved("torch-on earlier", |dialect| dialect.torch_on.clone(), -1),
        moved("torch-on later", |dialect| dialect.torch_on.clone(), 1),
        kind("touch-off taken away", Fate::Refused, |text, k| text.touches_off(k).then(|| text.with(k, &[]))),
        by_effect("Z zero not set after the probe", |text, k| {
            text.lines[k].to_ascii_uppercase().contains("G92 Z0").then(|| text.with(k, &[]))
        }),
        by_effect("torch-on twice", |text, k| {
            text.has(k, &text.dialect.torch_on).then(|| text.with(k, &[text.lines[k], text.lines[k]]))
        }),
        by_effect("torch off and on in a burn", |text, k| {
            let (on, off) = (text.dialect.torch_on[0].to_string(), text.dialect.torch_off[0].to_string());
            (k > text.first_start()).then(|| text.with(k, &[text.lines[k], &off, &on]))
        }),
        kind("retract taken away", Fate::Refused, |text, k| {
            let line = text.lines[k].to_ascii_uppercase();
            let after_off = (0..k).rev().take(2).any(|k| text.has(k, &text.dialect.torch_off));
            let more = (k..text.lines.len()).any(|k| text.has(k, &text.dialect.torch_on));
            (after_off && more && k > text.first_start() && line.contains("G0") && line.contains('Z'))
                .then(|| text.with(k, &[]))
        }),
    ]
}

/// Which lines make up the text if a cut is dropped, made twice, or swapped with the next.
type Order = fn(cut: &Range<usize>, next: Option<&Range<usize>>, all: usize) -> Option<Vec<Range<usize>>>;

fn whole_cuts() -> Vec<Kind> {
    let at_cut = |name: &'static str, order: Order| {
        by_effect(name, move |text: &Text<'_>, k| {
            let cuts = text.cuts();
            let n = cuts.iter().position(|cut| cut.start == k)?;
            let stretches = order(&cuts[n], cuts.get(n + 1), text.lines.len())?;
            Some(
                stretches
                    .into_iter()
                    .flat_map(|lines| &text.lines[lines])
                    .map(|line| (*line).to_owned())
                    .collect(),
            )
        })
    };
    vec![
        at_cut("cut dropped", |cut, _, all| Some(vec![0..cut.start, cut.end..all])),
        at_cut("cut made twice", |cut, _, all| Some(vec![0..cut.end, cut.start..all])),
        at_cut("two cuts swapped", |cut, next, all| {
            let next = next?;
            Some(vec![0..cut.start, next.clone(), cut.clone(), next.end..all])
        }),
    ]
}

fn before_the_first_start() -> Vec<Kind> {
    let is_retract = |text: &Text<'_>, k: usize| {
        let first = (0..text.lines.len()).find(|k| text.lines[*k].contains("G0"));
        first == Some(k) && text.lines[k].contains('Z')
    };
    vec![
        kind("first retract taken away", Fate::Refused, move |text, k| {
            is_retract(text, k).then(|| text.with(k, &[]))
        }),
        kind("first retract lowered", Fate::Refused, move |text, k| {
            is_retract(text, k).then(|| text.with(k, &["G0 Z0.2"]))
        }),
        kind("first retract by a rapid in X and Y", Fate::Refused, move |text, k| {
            is_retract(text, k).then(|| text.with(k, &[&format!("{} X10 Y10", text.lines[k])]))
        }),
        kind("first retract after the travel", Fate::Refused, move |text, k| {
            is_retract(text, k).then(|| {
                let mut lines = text.with(k, &["G0 X1 Y1"]);
                lines.insert(k + 1, text.lines[k].to_owned());
                lines
            })
        }),
        kind("torch on in the header", Fate::Refused, |text, k| {
            (k + 1 < text.first_start() && !text.lines[k].starts_with('%'))
                .then(|| text.with(k, &[text.lines[k], &text.dialect.torch_on[0].to_string()]))
        }),
        by_effect("increments where the header says absolute", |text, k| {
            let line = text.lines[k];
            (line.contains("G90 ") && k < text.first_start())
                .then(|| text.with(k, &[&line.replace("G90", "G91")]))
        }),
        by_effect("the other unit in the header", |text, k| {
            let line = text.lines[k];
            let by =
                if line.contains("G21") { line.replace("G21", "G20") } else { line.replace("G20", "G21") };
            (by != line).then(|| text.with(k, &[&by]))
        }),
    ]
}

fn neutral() -> Vec<Kind> {
    vec![
        kind("comment put in", Fate::Proven, |text, k| {
            let comment = match text.dialect.comments.first()? {
                nc::CommentForm::Parentheses => "(G0 X0 Y0 M3)".to_owned(),
                nc::CommentForm::ToEndOfLine(byte) => format!("{} G0 X0 Y0 M3", char::from(*byte)),
            };
            (!text.lines[k].starts_with('%')).then(|| text.with(k, &[text.lines[k], &comment]))
        }),
        kind("blank line put in", Fate::Proven, |text, k| Some(text.with(k, &[text.lines[k], "  "]))),
        kind("text after the end", Fate::Proven, |text, k| {
            (text.lines[k].contains("M30") && k + 1 == text.lines.len())
                .then(|| text.with(k, &[text.lines[k], "G0 X1 Y1"]))
        }),
    ]
}
