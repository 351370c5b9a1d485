//! The table of all keys of shop file, job file, stop report and scenario file: what each is, takes and assumes.
//!
//! Everything that speaks of keys reads this one table: the decoder (which refuses keys that are not in it), its
//! suggestions, the reference that people read, and the tests that hold the starter file against it.

use crate::decode::Worded;
use std::fmt::Write as _;
use units::parse::Expected;
use units::{Acceleration, Current, Duration, Flow, Length, Pressure, Speed, Voltage, Volume};

mod job;
mod scenario;
mod shop;
mod stop;

pub use job::JOB;
pub use scenario::SCENARIO;
pub use shop::SHOP;
pub use stop::STOP;

/// One kind of file and all its keys.
#[derive(Debug)]
pub struct File {
    /// What it is called, such as `shop file`.
    pub name: &'static str,
    /// Its keys in the order in which they are explained; a table stands before what is in it.
    pub keys: &'static [Key],
}

/// A key.
#[derive(Debug)]
pub struct Key {
    /// Its path with dots, such as `process.chart.pierce.height`; `*` stands for a name of the user's own.
    pub path: &'static str,
    /// What it takes.
    pub kind: Kind,
    /// Whether its table is of no use without it.
    pub required: bool,
    /// What is assumed where it is not told; empty if nothing is.
    pub default: &'static str,
    /// What it is, in a sentence without a full stop.
    pub about: &'static str,
    /// A value as it would be written; invented.
    pub example: &'static str,
}

/// What a key takes.
#[derive(Debug)]
pub enum Kind {
    /// A table, `[path]`.
    Table,
    /// A list of tables, `[[path]]`.
    Tables,
    /// A text.
    Text,
    /// A text or a list of texts.
    Texts,
    /// `true` or `false`.
    Flag,
    /// A whole number.
    Count {
        /// The least.
        least: u32,
        /// The most.
        most: u32,
    },
    /// A bare number.
    Number {
        /// The least.
        least: f64,
        /// The most; [`f64::MAX`] if there is no limit.
        most: f64,
    },
    /// A number and a unit, in quotes.
    Quantity(Expected, Range),
    /// A length or a gauge, in quotes.
    Thickness,
    /// Two lengths: `["10 mm", "20 mm"]` or `"10x20 mm"`.
    Point,
    /// A list of places.
    Points,
    /// A list of lists of places.
    Rings,
    /// `"2500x1250 mm"`, or a table with an outline.
    Plate,
    /// One word of these, each with what it means.
    Choice(fn() -> Vec<(&'static str, &'static str)>),
}

/// Which values of a quantity make sense.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Range {
    /// All.
    Any,
    /// Zero and more.
    NotNegative,
    /// More than zero.
    Positive,
}

impl Key {
    /// Its last name, without the tables it stands in.
    #[must_use]
    pub fn name(&self) -> &'static str {
        self.path.rsplit('.').next().unwrap_or(self.path)
    }

    /// Path of the table it stands in; empty at the top.
    #[must_use]
    pub fn table(&self) -> &'static str {
        self.path.rsplit_once('.').map_or("", |(table, _)| table)
    }

    /// What it takes, in words.
    #[must_use]
    pub fn takes(&self) -> String {
        match &self.kind {
            Kind::Table => "a table".into(),
            Kind::Tables => "tables, one under each heading".into(),
            Kind::Text => "a text".into(),
            Kind::Texts => "a text or a list of texts".into(),
            Kind::Flag => "`true` or `false`".into(),
            Kind::Count { least, most } => format!("a whole number from {least} to {most}"),
            Kind::Number { least, most } if *most < f64::MAX => format!("a number from {least} to {most}"),
            Kind::Number { least, .. } => format!("a number, {least} or more"),
            Kind::Quantity(expected, range) => format!(
                "{} in {}{}",
                expected.quantity,
                crate::suggest::listed(expected.units),
                match range {
                    Range::Any => "",
                    Range::NotNegative => ", not negative",
                    Range::Positive => ", more than nothing",
                }
            ),
            Kind::Thickness => "a thickness in mm, in or ga".into(),
            Kind::Point => "two lengths, X and Y".into(),
            Kind::Points => "a list of places, each two lengths".into(),
            Kind::Rings => "a list of rings, each a list of places".into(),
            Kind::Plate => "width x height, or a table with `outline` and `holes`".into(),
            Kind::Choice(words) => {
                let words: Vec<_> =
                    words().into_iter().map(|(word, about)| format!("`\"{word}\"` ({about})")).collect();
                format!("one of {}", words.join(", "))
            }
        }
    }
}

impl File {
    /// The key of this path.
    #[must_use]
    pub fn key(&self, path: &str) -> Option<&'static Key> {
        self.keys.iter().find(|key| key.path == path)
    }

    /// The keys that stand directly in the table `path`.
    pub fn children<'p>(&self, path: &'p str) -> impl Iterator<Item = &'static Key> + use<'p> {
        self.keys.iter().filter(move |key| key.table() == path)
    }

    /// Where a key called `name` stands if not in `here`, as `` `[table]` ``.
    pub(crate) fn elsewhere(&self, name: &str, here: &str) -> Option<String> {
        let key = self.keys.iter().find(|key| key.name() == name && key.table() != here)?;
        Some(match key.table() {
            "" => format!("the top of the {}, before the first heading", self.name),
            table => format!("`[{table}]`"),
        })
    }

    /// All keys as Markdown, a heading and a list for each table.
    #[must_use]
    pub fn reference(&self) -> String {
        let mut out = format!("# Keys of the {}\n", self.name);
        self.write_table(&mut out, "");
        for key in self.keys.iter().filter(|key| self.children(key.path).next().is_some()) {
            self.write_table(&mut out, key.path);
        }
        out
    }

    fn write_table(&self, out: &mut String, path: &str) {
        if let Some(table) = self.key(path) {
            let (open, close) = if matches!(table.kind, Kind::Tables) { ("[[", "]]") } else { ("[", "]") };
            let _ = write!(out, "\n## `{open}{path}{close}`\n\n{}.\n", table.about);
        }
        out.push('\n');
        for key in self.children(path) {
            out.push_str(&key.entry());
        }
    }

    /// One key as a Markdown list entry; none if there is no such key. `name` is a path or its last name.
    #[must_use]
    pub fn explain(&self, name: &str) -> Option<String> {
        let entries: Vec<_> = self
            .keys
            .iter()
            .filter(|key| key.path == name || key.name() == name)
            .map(|key| {
                let table = if key.table().is_empty() {
                    "the top".to_owned()
                } else {
                    format!("`[{}]`", key.table())
                };
                format!("In {table} of the {}:\n{}", self.name, key.entry())
            })
            .collect();
        (!entries.is_empty()).then(|| entries.join("\n"))
    }
}

impl Key {
    fn entry(&self) -> String {
        let mut out = format!("- `{}`: {}. Takes {}.", self.name(), self.about, self.takes());
        if self.required {
            out.push_str(" Must be there.");
        }
        if !self.default.is_empty() {
            let _ = write!(out, " If not told: {}.", self.default);
        }
        if !self.example.is_empty() {
            let _ = write!(out, " Example: `{} = {}`.", self.name(), self.example);
        }
        out.push('\n');
        out
    }
}

/// The tables of keys of all four files.
#[must_use]
pub fn keys() -> [&'static File; 4] {
    [&SHOP, &JOB, &STOP, &SCENARIO]
}

/// `a.b`, or `b` at the top.
pub(crate) fn join(table: &str, name: &str) -> String {
    if table.is_empty() { name.to_owned() } else { format!("{table}.{name}") }
}

/// A key that may be left out and for which nothing is assumed then.
const fn key(path: &'static str, kind: Kind, about: &'static str, example: &'static str) -> Key {
    Key { path, kind, required: false, default: "", about, example }
}

impl Key {
    const fn required(self) -> Self {
        Self { required: true, ..self }
    }

    const fn or(self, default: &'static str) -> Self {
        Self { default, ..self }
    }
}

/// The words of `C`, each value's first one only.
fn words<C: Worded + PartialEq>() -> Vec<(&'static str, &'static str)> {
    let mut seen: Vec<C> = Vec::new();
    let mut words = Vec::new();
    for (word, value, about) in C::WORDS {
        if !seen.contains(value) {
            seen.push(*value);
            words.push((*word, *about));
        }
    }
    words
}

const fn choice<C: Worded + PartialEq>() -> Kind {
    Kind::Choice(words::<C>)
}

const LENGTH: Kind = Kind::Quantity(Length::EXPECTED, Range::Positive);
const LENGTH_OR_NONE: Kind = Kind::Quantity(Length::EXPECTED, Range::NotNegative);
const SPEED: Kind = Kind::Quantity(Speed::EXPECTED, Range::Positive);
const ACCELERATION: Kind = Kind::Quantity(Acceleration::EXPECTED, Range::Positive);
const TIME: Kind = Kind::Quantity(Duration::EXPECTED, Range::NotNegative);
const PRESSURE: Kind = Kind::Quantity(Pressure::EXPECTED, Range::Positive);
const CURRENT: Kind = Kind::Quantity(Current::EXPECTED, Range::Positive);
const VOLTAGE: Kind = Kind::Quantity(Voltage::EXPECTED, Range::Positive);
const FLOW: Kind = Kind::Quantity(Flow::EXPECTED, Range::Positive);
const VOLUME: Kind = Kind::Quantity(Volume::EXPECTED, Range::Positive);
const SHARE: Kind = Kind::Number { least: 0.0, most: 1.0 };
const PRICE: Kind = Kind::Number { least: 0.0, most: f64::MAX };
const NUMBER: Kind = Kind::Count { least: 1, most: u32::MAX };
const COUNT: Kind = Kind::Count { least: 0, most: u32::MAX };

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Job, Scenario, Shop, StopReport};
    use finding::Finding;
    use std::collections::BTreeSet;

    fn parse(file: &File, text: &str) -> Vec<Finding> {
        match file.name {
            "shop file" => Shop::parse(text).1,
            "job file" => Job::parse(text).1,
            "scenario file" => Scenario::parse(text).1,
            _ => StopReport::parse(text).1,
        }
    }

    /// The smallest file in which `key` has `value`: its tables, and in each the keys that must be there.
    fn smallest(file: &File, table: &str, key: &Key, value: &str) -> Vec<String> {
        file.children(table)
            .filter_map(|child| {
                let name = if child.name() == "*" { "7" } else { child.name() };
                let inner = || format!("{{ {} }}", smallest(file, child.path, key, value).join(", "));
                let told = if child.path == key.path {
                    value.to_owned()
                } else if !key.path.starts_with(&format!("{}.", child.path)) {
                    child.required.then(|| child.example.to_owned())?
                } else if matches!(child.kind, Kind::Tables) {
                    format!("[{}]", inner())
                } else {
                    inner()
                };
                Some(format!("{name} = {told}"))
            })
            .collect()
    }

    fn each_key(mut check: impl FnMut(&'static File, &'static Key)) {
        for file in keys() {
            for key in file.keys {
                check(file, key);
            }
        }
    }

    #[test]
    fn every_key_stands_once_and_after_its_table() {
        for file in keys() {
            let mut seen = BTreeSet::from([""]);
            for key in file.keys {
                assert!(seen.contains(key.table()), "`{}` must come after its table", key.path);
                assert!(seen.insert(key.path), "`{}` must stand once", key.path);
            }
        }
    }

    #[test]
    fn every_key_says_what_it_is() {
        each_key(|_, key| {
            assert!(key.about.len() >= 5 && !key.about.ends_with('.'), "{}", key.path);
            let holds_keys = matches!(key.kind, Kind::Table | Kind::Tables);
            assert!(holds_keys || !key.example.is_empty(), "`{}` must have an example", key.path);
        });
    }

    #[test]
    fn every_example_is_read_without_a_finding() {
        each_key(|file, key| {
            if key.example.is_empty() {
                return;
            }
            let text = smallest(file, "", key, key.example).join("\n");
            let mut findings = parse(file, &text);
            // A lone key may lean on another one that the example leaves out.
            findings.retain(|finding| !["name-unknown", "facts-at-odds"].contains(&finding.rule));
            if ["measured", "fault"].contains(&key.table()) {
                findings.retain(|finding| finding.rule != "key-missing");
            }
            assert_eq!(findings, vec![], "{text}");
        });
    }

    /// A date is a value that no key takes: whoever reads the key says so, at its place.
    #[test]
    fn the_decoder_reads_every_key() {
        const DATE: &str = "1979-05-27";
        each_key(|file, key| {
            let text = smallest(file, "", key, DATE).join("\n");
            let findings = parse(file, &text);
            let told = findings.iter().any(|finding| {
                let span = finding.primary.as_ref().map(|label| label.span.range());
                finding.rule == "value-unfit" && span.is_some_and(|span| &text[span] == DATE)
            });
            assert!(told, "{text}: {findings:?}");
        });
    }

    #[test]
    fn every_key_that_must_be_there_is_missed() {
        each_key(|file, key| {
            if !key.required {
                return;
            }
            let present = format!("{} = {}", key.name(), key.example);
            let text = smallest(file, "", key, key.example)
                .join("\n")
                .replacen(&present, "", 1)
                .replace("{ , ", "{ ");
            let text = text.replace(", , ", ", ").replace(",  }", " }");
            let findings = parse(file, &text);
            let missed = findings
                .iter()
                .any(|f| f.rule == "key-missing" && f.message.contains(&format!("`{}`", key.name())));
            assert!(missed, "{text}: {findings:?}");
        });
    }

    #[test]
    fn the_reference_names_every_key() {
        each_key(|file, key| {
            let named = format!("- `{}`: {}", key.name(), key.about);
            assert!(key.name() == "*" || file.reference().contains(&named), "{}", key.path);
        });
        assert!(
            SHOP.explain("rapid").is_some_and(|text| text.contains("`[table]`") && text.contains("mm/min"))
        );
        assert_eq!(SHOP.explain("nonsense"), None);
    }
}
