//! Reads TOML with the place of every value, and says what is wrong with each without stopping at the first.
//!
//! A [`Reader`] stands on one table of the text. When it is made it holds the table's keys against the table of keys
//! in [`crate::keys`]: unknown ones and missing ones are found there, for all files alike. Its methods then read one
//! value each, as the kind that the table of keys says it is.

use crate::keys::{self, File, Key, Kind, Range};
use crate::suggest;
use finding::{Finding, Level, Span};
use std::borrow::Cow;
use std::cell::RefCell;
use std::str::FromStr;
use toml::Spanned;
use toml::de::{DeString, DeTable, DeValue};
use units::Length;
use units::parse::{Expected, ParseError, Problem};

/// Findings gathered while a text is read.
#[derive(Default)]
pub(crate) struct Sink {
    findings: RefCell<Vec<Finding>>,
}

impl Sink {
    pub(crate) fn add(&self, finding: Finding) {
        self.findings.borrow_mut().push(finding);
    }

    /// An error of `rule` at `span`.
    pub(crate) fn error(&self, rule: &'static str, span: Span, message: String, remedy: String) {
        self.add(Finding::new(rule, Level::Error, message).at(span, "").remedy(remedy));
    }

    /// The findings, sorted by place.
    pub(crate) fn into_findings(self) -> Vec<Finding> {
        let mut findings = self.findings.into_inner();
        finding::sort(&mut findings);
        findings
    }
}

/// Reads `text` as a file of kind `file` and hands its top table to `decode`.
pub(crate) fn read<T>(
    text: &str,
    file: &'static File,
    decode: impl FnOnce(&Reader<'_, '_>) -> T,
) -> (T, Vec<Finding>) {
    let sink = Sink::default();
    let too_long = text.len() > LONGEST_TEXT;
    if too_long {
        let message = format!("this is too long for a {}: {} bytes", file.name, text.len());
        sink.error("file-unreadable", Span::default(), message, "name the right file".into());
    }
    let readable = blank_unreadable_lines(if too_long { "" } else { text }, &sink);
    let (table, _) = DeTable::parse_recoverable(&readable);
    let reader = Reader::new(&sink, file, "", table.get_ref(), Span::default());
    let value = decode(&reader);
    (value, sink.into_findings())
}

/// Longest text that is taken for a shop file, job file or stop report, in bytes: a thousand times what a large shop
/// would write. Something longer is another file named by mistake, and reading it as TOML would take minutes.
const LONGEST_TEXT: usize = 4 << 20;

/// Most lines that are told as unreadable before the rest is left: more would bury the first ones.
const MOST_UNREADABLE: usize = 20;

/// `text` with every line that is no TOML put to blanks, so that all others keep their places and can be read.
fn blank_unreadable_lines<'t>(text: &'t str, sink: &Sink) -> Cow<'t, str> {
    let mut readable = Cow::Borrowed(text);
    for _ in 0..MOST_UNREADABLE {
        let (_, errors) = DeTable::parse_recoverable(&readable);
        let broken = errors.iter().find(|error| error.message() != KEY_TWICE);
        let Some(broken) = broken else {
            errors
                .iter()
                .filter_map(toml::de::Error::span)
                .for_each(|span| tell_key_twice(span_of(span), sink));
            return readable;
        };
        let line = line_at(&readable, broken.span().map_or(0, |span| span.start));
        tell_unreadable(&readable, line.clone(), broken, sink);
        let blanked =
            format!("{}{}{}", &readable[..line.start], " ".repeat(line.len()), &readable[line.end..]);
        readable = Cow::Owned(blanked);
    }
    readable
}

/// What the parser says of a key that stands twice; the first one is kept.
const KEY_TWICE: &str = "duplicate key";

fn tell_key_twice(span: Span, sink: &Sink) {
    let message = "this key stands here a second time; the first one counts".into();
    sink.error("name-twice", span, message, "keep one of the two".into());
}

fn tell_unreadable(text: &str, line: std::ops::Range<usize>, error: &toml::de::Error, sink: &Sink) {
    let exact =
        error.span().filter(|span| !span.is_empty() && line.start <= span.start && span.end <= line.end);
    let message = format!("this line cannot be read: {}", error.message().trim_end_matches('.'));
    let remedy = "write `key = value`, one a line, texts in quotes; headings as `[table]`".into();
    let words = text[line.clone()].trim();
    let indent = text[line.clone()].len() - text[line.clone()].trim_start().len();
    let whole = line.start + indent..line.start + indent + words.len();
    sink.error("file-unreadable", span_of(exact.unwrap_or(whole)), message, remedy);
}

/// The bytes of the line that holds byte `at`, without its end; the nearest line above if that one is blank.
fn line_at(text: &str, at: usize) -> std::ops::Range<usize> {
    let at = text.floor_char_boundary(at.min(text.len()));
    let line_of = |at: usize| {
        let start = text[..at].rfind('\n').map_or(0, |end| end + 1);
        start..text[at..].find('\n').map_or(text.len(), |end| at + end)
    };
    let mut line = line_of(at);
    while text[line.clone()].trim().is_empty() && line.start > 0 {
        line = line_of(line.start - 1);
    }
    line
}

/// The span of a range of bytes; beyond 4 GiB it ends at 4 GiB.
fn span_of(range: std::ops::Range<usize>) -> Span {
    let clamp = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
    Span::new(clamp(range.start), clamp(range.end.max(range.start)))
}

/// One table of the text, with its path in the table of keys.
pub(crate) struct Reader<'s, 't> {
    sink: &'s Sink,
    file: &'static File,
    /// Dotted path of the table, empty at the top; list indices and free names are `*` or left out as in the keys.
    path: String,
    table: &'s DeTable<'t>,
    span: Span,
}

/// A value with its key's description.
struct Found<'s, 't> {
    key: &'static Key,
    /// Its name as the file has it: that of the key, or one that whoever wrote the file chose.
    name: &'s str,
    value: &'s DeValue<'t>,
    span: Span,
}

impl<'s, 't> Reader<'s, 't> {
    fn new(sink: &'s Sink, file: &'static File, path: &str, table: &'s DeTable<'t>, span: Span) -> Self {
        let reader = Self { sink, file, path: path.to_owned(), table, span };
        reader.find_unknown_keys();
        reader.find_missing_keys();
        reader
    }

    fn find_unknown_keys(&self) {
        let known: Vec<_> = self.file.children(&self.path).map(Key::name).collect();
        if known == ["*"] {
            return;
        }
        for (name, _) in self.table {
            let name_text = name.get_ref().as_ref();
            if known.contains(&name_text) {
                continue;
            }
            let remedy = match self.file.elsewhere(name_text, &self.path) {
                _ if suggest::nearest(name_text, &known).is_some() => {
                    format!("write `{}`", suggest::nearest(name_text, &known).unwrap_or_default())
                }
                Some(place) => format!("it belongs in {place}"),
                None => format!("{} may hold {}", self.place(), suggest::listed(&known)),
            };
            self.sink.error(
                "key-unknown",
                span_of(name.span()),
                format!("there is no key `{}` in {}", suggest::shortened(name_text), self.place()),
                remedy,
            );
        }
    }

    fn find_missing_keys(&self) {
        for key in self.file.children(&self.path).filter(|key| key.required) {
            if !self.table.contains_key(key.name()) {
                self.sink.error(
                    "key-missing",
                    self.span,
                    format!("{} needs `{}`: {}", self.place(), key.name(), key.about),
                    format!("add `{} = {}` with your own value", key.name(), key.example),
                );
            }
        }
    }

    /// How the table is called in messages.
    fn place(&self) -> String {
        if self.path.is_empty() {
            return format!("the top of a {}", self.file.name);
        }
        match self.file.key(&self.path).map(|key| &key.kind) {
            Some(Kind::Tables) => format!("`[[{}]]`", self.path),
            _ => format!("`[{}]`", self.path),
        }
    }

    pub(crate) fn sink(&self) -> &'s Sink {
        self.sink
    }

    /// Where the value of `name` stands; the table itself if the key is not there.
    pub(crate) fn span(&self, name: &str) -> Span {
        self.table.get(name).map_or(self.span, |value| span_of(value.span()))
    }

    pub(crate) fn own_span(&self) -> Span {
        self.span
    }

    pub(crate) fn has(&self, name: &str) -> bool {
        self.table.contains_key(name)
    }

    fn find(&self, name: &str) -> Option<Found<'s, 't>> {
        let path = keys::join(&self.path, name);
        let key = self.file.key(&path).unwrap_or_else(|| panic!("`{path}` must stand in the table of keys"));
        let value = self.table.get(name)?;
        Some(Found { key, name: key.name(), span: span_of(value.span()), value: value.get_ref() })
    }

    fn wrong_kind(&self, found: &Found<'_, '_>, wanted: &str) {
        let given = match found.value {
            DeValue::String(_) => "a text",
            DeValue::Integer(_) | DeValue::Float(_) => "a bare number",
            DeValue::Boolean(_) => "true or false",
            DeValue::Datetime(_) => "a date or time",
            DeValue::Array(_) => "a list",
            DeValue::Table(_) => "a table",
        };
        let name = suggest::shortened(found.name);
        self.sink.error(
            "value-unfit",
            found.span,
            format!("`{name}` is {given}, but it takes {wanted}"),
            match found.key.example {
                "" => {
                    let path = keys::join(parent(found.key.path), &name);
                    format!("write it under a heading of its own: `[{path}]`")
                }
                example => format!("write `{name} = {example}` with your own value"),
            },
        );
    }

    fn out_of_range(&self, found: &Found<'_, '_>, limits: &str) {
        self.sink.error(
            "value-out-of-range",
            found.span,
            format!("`{}` must be {limits}", suggest::shortened(found.name)),
            format!("write a value that is {limits}"),
        );
    }

    /// A text that is not empty.
    pub(crate) fn text(&self, name: &str) -> Option<String> {
        let found = self.find(name)?;
        match found.value {
            DeValue::String(text) if !text.trim().is_empty() => Some(text.trim().to_owned()),
            DeValue::String(_) => {
                self.sink.error(
                    "value-unfit",
                    found.span,
                    format!("`{name}` is empty"),
                    format!(
                        "write `{name} = {}` with your own value, or leave the key out",
                        found.key.example
                    ),
                );
                None
            }
            _ => {
                self.wrong_kind(&found, "a text in quotes");
                None
            }
        }
    }

    /// A list of texts, or a single one.
    pub(crate) fn texts(&self, name: &str) -> Option<Vec<(String, Span)>> {
        let found = self.find(name)?;
        match found.value {
            DeValue::String(text) => Some(vec![(text.trim().to_owned(), found.span)]),
            DeValue::Array(items) => Some(
                items
                    .iter()
                    .filter_map(|item| match item.get_ref() {
                        DeValue::String(text) => Some((text.trim().to_owned(), span_of(item.span()))),
                        other => {
                            let found = Found {
                                key: found.key,
                                name: found.name,
                                value: other,
                                span: span_of(item.span()),
                            };
                            self.wrong_kind(&found, "texts in quotes");
                            None
                        }
                    })
                    .collect(),
            ),
            _ => {
                self.wrong_kind(&found, "a text in quotes or a list of them");
                None
            }
        }
    }

    pub(crate) fn flag(&self, name: &str) -> Option<bool> {
        let found = self.find(name)?;
        let flag = found.value.as_bool();
        if flag.is_none() {
            self.wrong_kind(&found, "true or false without quotes");
        }
        flag
    }

    /// A whole number within the key's limits.
    pub(crate) fn count(&self, name: &str) -> Option<u32> {
        let found = self.find(name)?;
        let Kind::Count { least, most } = found.key.kind else { panic!("`{name}` must be a count") };
        let Some(number) = found.value.as_integer() else {
            self.wrong_kind(&found, "a whole number without quotes");
            return None;
        };
        let count = u32::from_str_radix(number.as_str(), number.radix()).ok();
        let count = count.filter(|count| (least..=most).contains(count));
        if count.is_none() {
            self.out_of_range(&found, &format!("a whole number from {least} to {most}"));
        }
        count
    }

    /// A bare number within the key's limits.
    pub(crate) fn number(&self, name: &str) -> Option<f64> {
        let found = self.find(name)?;
        let Kind::Number { least, most } = found.key.kind else { panic!("`{name}` must be a number") };
        self.number_in(&found, least, most)
    }

    fn number_in(&self, found: &Found<'_, '_>, least: f64, most: f64) -> Option<f64> {
        let number = match found.value {
            DeValue::Integer(number) => i64::from_str_radix(number.as_str(), number.radix()).ok().map(as_f64),
            DeValue::Float(number) => number.as_str().parse().ok(),
            _ => {
                self.wrong_kind(found, "a number without quotes");
                return None;
            }
        };
        let number = number.filter(|number: &f64| number.is_finite() && (least..=most).contains(number));
        if number.is_none() {
            let limits =
                if most < f64::MAX { format!("from {least} to {most}") } else { format!("{least} or more") };
            self.out_of_range(found, &limits);
        }
        number
    }

    /// A number and a unit, within the key's limits.
    pub(crate) fn quantity<Q>(&self, name: &str) -> Option<Q>
    where
        Q: FromStr<Err = ParseError> + Copy + PartialOrd + Default,
    {
        self.quantity_in(&self.find(name)?)
    }

    fn quantity_in<Q>(&self, found: &Found<'_, 't>) -> Option<Q>
    where
        Q: FromStr<Err = ParseError> + Copy + PartialOrd + Default,
    {
        let Kind::Quantity(expected, range) = &found.key.kind else {
            panic!("`{}` must be a quantity", found.key.path)
        };
        let text = self.quoted(found, expected)?;
        let value = self.parsed(found, text.parse::<Q>())?;
        self.within(found, *range, value)
    }

    /// A thickness: a length or a gauge.
    pub(crate) fn thickness(&self, name: &str, material: Option<crate::Material>) -> Option<Length> {
        let found = self.find(name)?;
        assert!(matches!(found.key.kind, Kind::Thickness), "`{name}` must be a thickness");
        let text = self.quoted(&found, &units::parse::THICKNESS)?;
        let series = material.map(crate::Material::gauges);
        let value = self.parsed(&found, units::parse::thickness(text, series))?;
        self.within(&found, Range::Positive, value)
    }

    fn within<Q: Copy + PartialOrd + Default>(
        &self,
        found: &Found<'_, '_>,
        range: Range,
        value: Q,
    ) -> Option<Q> {
        let fits = match range {
            Range::Any => true,
            Range::NotNegative => value >= Q::default(),
            Range::Positive => value > Q::default(),
        };
        if !fits {
            self.out_of_range(
                found,
                if range == Range::Positive { "more than nothing" } else { "not negative" },
            );
        }
        fits.then_some(value)
    }

    /// The text of a quantity; a bare number is told which units may follow it.
    fn quoted<'a>(&self, found: &Found<'a, 't>, expected: &Expected) -> Option<&'a str> {
        match found.value {
            DeValue::String(text) => Some(text),
            DeValue::Integer(_) | DeValue::Float(_) => {
                let units = suggest::listed(expected.units);
                self.sink.error(
                    "unit-missing",
                    found.span,
                    format!(
                        "`{}` is a bare number; {} needs a unit",
                        suggest::shortened(found.name),
                        expected.quantity
                    ),
                    format!("write number and unit in quotes, such as {}; units: {units}", found.key.example),
                );
                None
            }
            _ => {
                self.wrong_kind(
                    found,
                    &format!("{} in quotes, such as {}", expected.quantity, found.key.example),
                );
                None
            }
        }
    }

    fn parsed<T>(&self, found: &Found<'_, '_>, value: Result<T, ParseError>) -> Option<T> {
        value.map_err(|error| self.sink.add(of_parse_error(found.span, &error))).ok()
    }

    /// One word of a list.
    pub(crate) fn choice<C: Worded>(&self, name: &str) -> Option<C> {
        let found = self.find(name)?;
        assert!(matches!(found.key.kind, Kind::Choice(_)), "`{name}` must be a choice");
        let DeValue::String(text) = found.value else {
            self.wrong_kind(&found, "one word of a list, in quotes");
            return None;
        };
        let value = from_word(text);
        if value.is_none() {
            unknown_word::<C>(self.sink, found.span, text);
        }
        value
    }

    /// A place: two lengths.
    pub(crate) fn point(&self, name: &str) -> Option<[Length; 2]> {
        let found = self.find(name)?;
        self.pair(&found)
    }

    fn pair(&self, found: &Found<'s, 't>) -> Option<[Length; 2]> {
        match found.value {
            DeValue::Array(items) if items.len() == 2 => {
                let mut lengths = items.iter().map(|item| {
                    let found = Found {
                        key: found.key,
                        name: found.name,
                        value: item.get_ref(),
                        span: span_of(item.span()),
                    };
                    let text = self.quoted(&found, &units::parse::LENGTH)?;
                    self.parsed(&found, text.parse())
                });
                // Both are read before either is given up, so that both mistakes are told.
                let (x, y) = (lengths.next()?, lengths.next()?);
                Some([x?, y?])
            }
            DeValue::String(text) => self.parsed(found, crate::plate::pair(text)),
            _ => {
                self.wrong_kind(found, "two lengths, X and Y");
                None
            }
        }
    }

    /// A list of places.
    pub(crate) fn points(&self, name: &str) -> Option<Vec<[Length; 2]>> {
        let found = self.find(name)?;
        self.ring(&found)
    }

    /// A list of lists of places.
    pub(crate) fn rings(&self, name: &str) -> Option<Vec<(Vec<[Length; 2]>, Span)>> {
        let found = self.find(name)?;
        let DeValue::Array(items) = found.value else {
            self.wrong_kind(&found, "a list of rings, each a list of corners");
            return None;
        };
        let rings = items.iter().filter_map(|item| {
            let span = span_of(item.span());
            let found = Found { key: found.key, name: found.name, value: item.get_ref(), span };
            Some((self.ring(&found)?, span))
        });
        Some(rings.collect())
    }

    fn ring(&self, found: &Found<'s, 't>) -> Option<Vec<[Length; 2]>> {
        let DeValue::Array(items) = found.value else {
            self.wrong_kind(found, "a list of places");
            return None;
        };
        let pairs: Vec<_> = items
            .iter()
            .map(|item| {
                self.pair(&Found {
                    key: found.key,
                    name: found.name,
                    value: item.get_ref(),
                    span: span_of(item.span()),
                })
            })
            .collect();
        pairs.into_iter().collect()
    }

    /// Whether `name` is a table.
    pub(crate) fn is_table(&self, name: &str) -> bool {
        self.table.get(name).is_some_and(|value| value.get_ref().is_table())
    }

    /// The table of `name`.
    pub(crate) fn table(&self, name: &str) -> Option<Reader<'s, 't>> {
        let found = self.find(name)?;
        let DeValue::Table(table) = found.value else {
            self.wrong_kind(&found, "a table");
            return None;
        };
        Some(self.inner(name, table, found.span))
    }

    /// The table of `name` for a second look at places; its keys are not held against the table of keys again.
    pub(crate) fn table_again(&self, name: &str) -> Option<Reader<'s, 't>> {
        let value = self.table.get(name)?;
        let DeValue::Table(table) = value.get_ref() else { return None };
        Some(Self {
            sink: self.sink,
            file: self.file,
            path: keys::join(&self.path, name),
            table,
            span: span_of(value.span()),
        })
    }

    /// The tables of the list `name`, in order; none if the key is not there.
    pub(crate) fn tables(&self, name: &str) -> Vec<Reader<'s, 't>> {
        let Some(found) = self.find(name) else { return Vec::new() };
        let DeValue::Array(items) = found.value else {
            self.wrong_kind(&found, &format!("tables, each under a line `[[{}]]`", found.key.path));
            return Vec::new();
        };
        items
            .iter()
            .filter_map(|item| {
                let span = span_of(item.span());
                if let DeValue::Table(table) = item.get_ref() {
                    return Some(self.inner(name, table, span));
                }
                self.wrong_kind(
                    &Found { key: found.key, name: found.name, value: item.get_ref(), span },
                    "tables",
                );
                None
            })
            .collect()
    }

    fn inner(&self, name: &str, table: &'s DeTable<'t>, span: Span) -> Reader<'s, 't> {
        Reader::new(self.sink, self.file, &keys::join(&self.path, name), table, span)
    }

    /// The tables under free names in `name`, by name: `[name.anything]`.
    pub(crate) fn named(&self, name: &str) -> Vec<(String, Reader<'s, 't>)> {
        let Some(outer) = self.table(name) else { return Vec::new() };
        let mut inner = Vec::new();
        for (free, value) in outer.table {
            let span = span_of(value.span());
            let path = keys::join(&outer.path, "*");
            let key =
                self.file.key(&path).unwrap_or_else(|| panic!("`{path}` must stand in the table of keys"));
            if let DeValue::Table(table) = value.get_ref() {
                inner.push((
                    free.get_ref().to_string(),
                    Reader::new(self.sink, self.file, &path, table, span),
                ));
            } else {
                self.wrong_kind(
                    &Found { key, name: free.get_ref().as_ref(), value: value.get_ref(), span },
                    "a table",
                );
            }
        }
        inner
    }

    /// Bare numbers under free names in the table `name`, with the place of each name.
    pub(crate) fn numbers(&self, name: &str) -> Vec<(String, Span, f64)> {
        self.free(name, |reader, found| {
            let Kind::Number { least, most } = found.key.kind else { panic!("`{name}` must hold numbers") };
            reader.number_in(found, least, most)
        })
    }

    /// Quantities under free names in the table `name`, with the place of each name.
    pub(crate) fn quantities<Q>(&self, name: &str) -> Vec<(String, Span, Q)>
    where
        Q: FromStr<Err = ParseError> + Copy + PartialOrd + Default,
    {
        self.free(name, |reader, found| reader.quantity_in(found))
    }

    fn free<T>(
        &self,
        name: &str,
        read: impl Fn(&Self, &Found<'s, 't>) -> Option<T>,
    ) -> Vec<(String, Span, T)> {
        let Some(outer) = self.table(name) else { return Vec::new() };
        let path = keys::join(&outer.path, "*");
        let key = self.file.key(&path).unwrap_or_else(|| panic!("`{path}` must stand in the table of keys"));
        let entry = |(free, value): (&'s Spanned<DeString<'t>>, &'s Spanned<DeValue<'t>>)| {
            let found = Found {
                key,
                name: free.get_ref().as_ref(),
                value: value.get_ref(),
                span: span_of(value.span()),
            };
            Some((free.get_ref().to_string(), span_of(free.span()), read(&outer, &found)?))
        };
        outer.table.iter().filter_map(entry).collect()
    }
}

/// The path of the table that a key stands in; empty at the top.
fn parent(path: &str) -> &str {
    path.rsplit_once('.').map_or("", |(parent, _)| parent)
}

#[expect(clippy::cast_precision_loss, reason = "prices and shares beyond 2^53 mean nothing")]
fn as_f64(number: i64) -> f64 {
    number as f64
}

/// The finding for a text that is not the quantity it should be.
pub(crate) fn of_parse_error(span: Span, error: &ParseError) -> Finding {
    let rule = match error.problem {
        Problem::UnitMissing => "unit-missing",
        Problem::UnitUnknown(_) => "unit-unknown",
        _ => "value-unfit",
    };
    let message = error.to_string();
    // The error's own text ends with what was expected, after a semicolon; that is the remedy here.
    let (message, remedy) = message.split_once("; ").unwrap_or((&message, ""));
    Finding::new(rule, Level::Error, message).at(span, "").remedy(format!("write it so: {remedy}"))
}

/// A value that files name by a word.
pub trait Worded: Copy + 'static {
    /// What the words tell apart, such as `material`.
    const WHAT: &'static str;
    /// Every word with its value and what it means. The first word of a value is the one written; others with the
    /// same value are read too.
    const WORDS: &'static [(&'static str, Self, &'static str)];
}

/// The value that `word` names; letters of either case, and blank, `_` and `-` are the same.
#[must_use]
pub fn from_word<C: Worded>(word: &str) -> Option<C> {
    let plain = |text: &str| {
        text.trim()
            .chars()
            .map(|c| if c == '_' || c == ' ' { '-' } else { c.to_ascii_lowercase() })
            .collect::<String>()
    };
    let word = plain(word);
    C::WORDS.iter().find(|(known, ..)| *known == word).map(|(_, value, _)| *value)
}

/// Says that `text` is none of the words of `C`.
pub(crate) fn unknown_word<C: Worded>(sink: &Sink, span: Span, text: &str) {
    let words: Vec<_> = C::WORDS.iter().map(|(word, ..)| *word).collect();
    let near = suggest::nearest(text, &words).map(|near| format!("write `\"{near}\"`; known: "));
    sink.error(
        "word-not-in-list",
        span,
        format!("`{}` is no {} known here", suggest::shortened(text), C::WHAT),
        format!("{}{}", near.unwrap_or_else(|| "write one of ".into()), suggest::listed(&words)),
    );
}
