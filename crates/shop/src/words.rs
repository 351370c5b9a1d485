//! The control's words, `[table.words]`, read into a [`Dialect`]; and words that clash.

use crate::Worded;
use crate::decode::{Reader, Sink};
use crate::suggest::shortened;
use finding::Span;
use nc::{ArcCenters, Code, CommentForm, Dialect, Dwell, TorchOffActs, TouchOffBy};
use units::Length;

/// What the words of a shop file are added to or put in place of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Base {
    /// [`Dialect::common`].
    Common,
    /// [`Dialect::strict`].
    Strict,
}

impl Worded for Base {
    const WHAT: &'static str = "base of words";
    const WORDS: &'static [(&'static str, Self, &'static str)] = &[
        ("common", Self::Common, "the published language read leniently, `;` comments, subprograms"),
        ("strict", Self::Strict, "the published language and nothing else"),
    ];
}

/// What the number of a dwell counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum TimeUnit {
    /// Seconds.
    Seconds,
    /// Milliseconds.
    Milliseconds,
}

impl Worded for TimeUnit {
    const WHAT: &'static str = "unit of a dwell";
    const WORDS: &'static [(&'static str, Self, &'static str)] =
        &[("s", Self::Seconds, "seconds"), ("ms", Self::Milliseconds, "milliseconds")];
}

impl Worded for ArcCenters {
    const WHAT: &'static str = "meaning of I and J";
    const WORDS: &'static [(&'static str, Self, &'static str)] = &[
        ("from-start", Self::FromStart, "offsets from where the arc begins"),
        ("absolute", Self::Absolute, "coordinates of the centre"),
    ];
}

impl Worded for TorchOffActs {
    const WHAT: &'static str = "moment of a torch-off";
    const WORDS: &'static [(&'static str, Self, &'static str)] = &[
        ("before-motion", Self::BeforeMotion, "before the motion of its block"),
        ("after-motion", Self::AfterMotion, "after it"),
    ];
}

/// The dialect of `[table]` and `[table.words]`.
pub(crate) fn dialect(table: &Reader<'_, '_>) -> Dialect {
    let words = table.table("words");
    let base = words.as_ref().and_then(|words| words.choice::<Base>("base"));
    let mut dialect = match base {
        Some(Base::Strict) => Dialect::strict(),
        Some(Base::Common) | None => Dialect::common(),
    };
    read_limits(table, &mut dialect);
    if let Some(words) = words {
        let mut roles = Roles::default();
        read_torch(&words, &mut dialect, &mut roles);
        read_calls(&words, &mut dialect, &mut roles);
        read_arcs_and_dwell(&words, &mut dialect, &mut roles);
        read_habits(&words, &mut dialect, &mut roles);
        roles.find_clashes(&words, &dialect);
    }
    dialect
}

fn read_limits(table: &Reader<'_, '_>, dialect: &mut Dialect) {
    if let Some(decimals) = table.table("decimals") {
        set(&mut dialect.decimals_mm, decimals.count("mm").and_then(|n| u8::try_from(n).ok()));
        set(&mut dialect.decimals_inch, decimals.count("inch").and_then(|n| u8::try_from(n).ok()));
    }
    set(&mut dialect.arc_tolerance, table.quantity("arc_tolerance"));
    set(&mut dialect.longest_line, table.count("longest_line").map(|n| n as usize));
}

fn read_torch(words: &Reader<'_, '_>, dialect: &mut Dialect, roles: &mut Roles) {
    set(&mut dialect.torch_on, codes(words, "torch_on", roles));
    set(&mut dialect.torch_off, codes(words, "torch_off", roles));
    set(&mut dialect.torch_off_acts, words.choice("torch_off_acts"));
    set(&mut dialect.probe, codes(words, "probe", roles));
    set(&mut dialect.touch_off, touch_off(words, roles));
    dialect.touch_off_leaves = words.quantity("touch_off_leaves");
    set(&mut dialect.probe_travel, words.quantity("probe_travel"));
    set(&mut dialect.height_control_on, codes(words, "height_control_on", roles));
    set(&mut dialect.height_control_off, codes(words, "height_control_off", roles));
    if let Some(text) = words.text("process_letter") {
        if text.eq_ignore_ascii_case(NONE) {
            dialect.process_letter = None;
        } else if let Some(letter) = letter(words, "process_letter", roles) {
            dialect.process_letter = Some(letter);
        }
    }
}

fn read_calls(words: &Reader<'_, '_>, dialect: &mut Dialect, roles: &mut Roles) {
    // A control that is told how it calls has subprograms, even where the standard it starts from has none.
    let told = ["call", "call_target", "call_repeats", "call_return", "subprogram_letter"];
    dialect.subprograms |= told.iter().any(|name| words.has(name));
    set(&mut dialect.call, code(words, "call", roles));
    set(&mut dialect.call_target, letter(words, "call_target", roles));
    set(&mut dialect.call_repeats, letter(words, "call_repeats", roles));
    set(&mut dialect.call_return, code(words, "call_return", roles));
    set(&mut dialect.subprogram_letter, letter(words, "subprogram_letter", roles));
}

fn read_arcs_and_dwell(words: &Reader<'_, '_>, dialect: &mut Dialect, roles: &mut Roles) {
    set(&mut dialect.arc_centers, words.choice("arc_centers"));
    for (name, place) in [
        ("arc_centers_absolute", &mut dialect.arc_centers_absolute),
        ("arc_centers_from_start", &mut dialect.arc_centers_from_start),
    ] {
        match words.text(name) {
            Some(text) if text.eq_ignore_ascii_case(NONE) => *place = None,
            Some(_) => *place = code(words, name, roles).or(*place),
            None => {}
        }
    }
    set(&mut dialect.comp_widths, comp_widths(words));
    let Dwell { code: wait, letter: time, seconds_per_unit } = &mut dialect.dwell;
    set(wait, code(words, "dwell", roles));
    set(time, letter(words, "dwell_letter", roles));
    set(
        seconds_per_unit,
        words.choice("dwell_unit").map(|unit| match unit {
            TimeUnit::Seconds => 1.0,
            TimeUnit::Milliseconds => 0.001,
        }),
    );
}

fn read_habits(words: &Reader<'_, '_>, dialect: &mut Dialect, roles: &mut Roles) {
    set(&mut dialect.comments, comments(words));
    set(&mut dialect.no_bearing, codes(words, "no_bearing", roles));
    set(&mut dialect.block_delete, words.flag("block_delete"));
}

fn comp_widths(words: &Reader<'_, '_>) -> Option<Vec<(u32, Length)>> {
    if !words.has("comp_widths") {
        return None;
    }
    let mut widths = Vec::new();
    for (name, span, width) in words.quantities("comp_widths") {
        if let Ok(number) = name.parse() {
            widths.push((number, width));
        } else {
            let message = format!("`{}` is not a number of a D word", shortened(&name));
            words.sink().error("value-unfit", span, message, "write it as `1 = \"1.5 mm\"`".into());
        }
    }
    widths.sort_by_key(|(number, _)| *number);
    Some(widths)
}

/// How a shop file says that the control has no such word.
const NONE: &str = "none";

fn set<T>(place: &mut T, told: Option<T>) {
    if let Some(told) = told {
        *place = told;
    }
}

fn codes(words: &Reader<'_, '_>, name: &'static str, roles: &mut Roles) -> Option<Vec<Code>> {
    let texts = words.texts(name)?;
    let codes = texts.iter().filter_map(|(text, span)| {
        let code = read_code(words.sink(), *span, text)?;
        roles.codes.push((name, code, *span));
        Some(code)
    });
    Some(codes.collect())
}

fn code(words: &Reader<'_, '_>, name: &'static str, roles: &mut Roles) -> Option<Code> {
    let text = words.text(name)?;
    let span = words.span(name);
    let code = read_code(words.sink(), span, &text)?;
    roles.codes.push((name, code, span));
    Some(code)
}

/// A letter and a number with at most one decimal: `M3`, `m03`, `G38.2`.
fn read_code(sink: &Sink, span: Span, text: &str) -> Option<Code> {
    let code = parse_code(text);
    if code.is_none() {
        sink.error(
            "value-unfit",
            span,
            format!("`{}` is not a code", shortened(text)),
            "write a letter and a number, such as \"M3\" or \"G38.2\"".into(),
        );
    }
    code
}

fn parse_code(text: &str) -> Option<Code> {
    let mut chars = text.chars().filter(|c| !c.is_whitespace());
    let letter = chars.next().filter(char::is_ascii_alphabetic)?.to_ascii_uppercase();
    let number: String = chars.collect();
    let (whole, tenth) = number.split_once('.').unwrap_or((&number, "0"));
    let digits = |text: &str, most: usize| {
        (1..=most).contains(&text.len()) && text.bytes().all(|byte| byte.is_ascii_digit())
    };
    if !digits(whole, LONGEST_NUMBER) || !digits(tenth, 1) {
        return None;
    }
    Some(Code::tenth(u8::try_from(letter).ok()?, whole.parse().ok()?, tenth.parse().ok()?))
}

/// Digits of the longest number of a code: the published language has three, controls have up to five.
const LONGEST_NUMBER: usize = 6;

fn letter(words: &Reader<'_, '_>, name: &'static str, roles: &mut Roles) -> Option<u8> {
    let text = words.text(name)?;
    match text.as_bytes() {
        [letter] if letter.is_ascii_alphabetic() => {
            let letter = letter.to_ascii_uppercase();
            roles.letters.push((name, letter, words.span(name)));
            Some(letter)
        }
        _ => {
            words.sink().error(
                "value-unfit",
                words.span(name),
                format!("`{}` is not a letter", shortened(&text)),
                "write one letter from A to Z in quotes".into(),
            );
            None
        }
    }
}

fn touch_off(words: &Reader<'_, '_>, roles: &mut Roles) -> Option<Vec<TouchOffBy>> {
    let texts = words.texts("touch_off")?;
    let ways = texts.iter().filter_map(|(text, span)| {
        let plain = text.to_ascii_lowercase().replace(['_', ' '], "-");
        if plain == "torch-on" {
            return Some(TouchOffBy::TorchOn);
        }
        if let Some(number) = plain.strip_prefix("subprogram-") {
            let number = number.parse().ok();
            if number.is_none() {
                words.sink().error(
                    "value-unfit",
                    *span,
                    format!("`{}` names no subprogram", shortened(text)),
                    "write its number, such as \"subprogram 100\"".into(),
                );
            }
            return number.map(TouchOffBy::Subprogram);
        }
        let code = read_code(words.sink(), *span, text)?;
        roles.codes.push(("touch_off", code, *span));
        Some(TouchOffBy::Code(code))
    });
    Some(ways.collect())
}

fn comments(words: &Reader<'_, '_>) -> Option<Vec<CommentForm>> {
    let texts = words.texts("comments")?;
    let forms = texts.iter().filter_map(|(text, span)| match text.as_bytes() {
        b"()" => Some(CommentForm::Parentheses),
        [byte] if byte.is_ascii_punctuation() && !b"()[]#%/.+-=".contains(byte) => {
            Some(CommentForm::ToEndOfLine(*byte))
        }
        _ => {
            words.sink().error(
                "value-unfit",
                *span,
                format!("`{}` cannot begin a comment", shortened(text)),
                "write \"()\", or one character that programs do not use otherwise, such as \";\"".into(),
            );
            None
        }
    });
    Some(forms.collect())
}

/// What every code and letter of the file is for.
#[derive(Default)]
struct Roles {
    codes: Vec<(&'static str, Code, Span)>,
    letters: Vec<(&'static str, u8, Span)>,
}

impl Roles {
    /// Codes and letters that are to mean two things.
    fn find_clashes(&self, words: &Reader<'_, '_>, dialect: &Dialect) {
        let sink = words.sink();
        for (k, (role, code, span)) in self.codes.iter().enumerate() {
            let told_twice = self.codes[..k].iter().find(|(other, same, _)| same == code && other != role);
            let other = told_twice.map(|(other, ..)| *other).or_else(|| {
                assumed_roles(dialect, *code)
                    .into_iter()
                    .find(|assumed| assumed != role && !words.has(assumed))
            });
            let core = CORE.iter().find(|(core, _)| core == code).map(|(_, what)| *what);
            let (what, remedy) = match (other, core) {
                (Some(other), _) => {
                    (format!("`{other}`"), format!("take it out of `{role}` or of `{other}`"))
                }
                (None, Some(what)) => {
                    (what.to_owned(), "look the code up in the control's manual".to_owned())
                }
                (None, None) => continue,
            };
            sink.error("words-clash", *span, format!("{code} is to be `{role}` and {what} at once"), remedy);
        }
        self.find_letter_clashes(words, dialect);
    }

    fn find_letter_clashes(&self, words: &Reader<'_, '_>, dialect: &Dialect) {
        let clash = |span: Span, letter: u8, role: &str, what: &str| {
            let message = format!("the letter {} is to be `{role}` and {what} at once", char::from(letter));
            let remedy = "look the letter up in the control's manual".to_owned();
            words.sink().error("words-clash", span, message, remedy);
        };
        for (role, letter, span) in &self.letters {
            // A letter that is read only in the block of a call or a dwell may be one that other blocks use.
            let own_block = matches!(*role, "call_target" | "call_repeats" | "dwell_letter");
            let taken: &[u8] = if own_block { b"GMNXYZIJ" } else { b"GMNXYZIJKFRPL" };
            if taken.contains(letter) {
                clash(*span, *letter, role, "a word of the language");
            }
        }
        let pairs = [
            ("call_repeats", Some(dialect.call_repeats), "call_target", Some(dialect.call_target)),
            ("process_letter", dialect.process_letter, "subprogram_letter", Some(dialect.subprogram_letter)),
        ];
        for (one, letter, other, same) in pairs {
            let told = [one, other].into_iter().find(|role| words.has(role));
            if let (Some(letter), true, Some(told)) = (letter, letter == same, told) {
                clash(words.span(told), letter, one, &format!("`{other}`"));
            }
        }
    }
}

/// The keys of the roles that `dialect` gives `code`, whether told or assumed.
fn assumed_roles(dialect: &Dialect, code: Code) -> Vec<&'static str> {
    let touch_off = dialect.touch_off.contains(&TouchOffBy::Code(code));
    [
        ("torch_on", dialect.torch_on.contains(&code)),
        ("torch_off", dialect.torch_off.contains(&code)),
        ("probe", dialect.probe.contains(&code)),
        ("touch_off", touch_off),
        ("height_control_on", dialect.height_control_on.contains(&code)),
        ("height_control_off", dialect.height_control_off.contains(&code)),
        ("call", dialect.call == code),
        ("call_return", dialect.call_return == code),
        ("arc_centers_absolute", dialect.arc_centers_absolute == Some(code)),
        ("arc_centers_from_start", dialect.arc_centers_from_start == Some(code)),
        ("dwell", dialect.dwell.code == code),
    ]
    .into_iter()
    .filter_map(|(role, is)| is.then_some(role))
    .collect()
}

/// Codes of the published language that no control gives another meaning. Source: NISTIR 6556, tables 5 and 7.
const CORE: &[(Code, &str)] = &[
    (Code::new(b'G', 0), "a rapid motion"),
    (Code::new(b'G', 1), "a straight feed"),
    (Code::new(b'G', 2), "a clockwise arc"),
    (Code::new(b'G', 3), "a counter-clockwise arc"),
    (Code::new(b'G', 17), "the XY plane"),
    (Code::new(b'G', 20), "inches"),
    (Code::new(b'G', 21), "millimetres"),
    (Code::new(b'G', 40), "compensation off"),
    (Code::new(b'G', 41), "compensation left"),
    (Code::new(b'G', 42), "compensation right"),
    (Code::new(b'G', 53), "machine coordinates"),
    (Code::new(b'G', 90), "absolute distances"),
    (Code::new(b'G', 91), "incremental distances"),
    (Code::new(b'G', 92), "an offset of coordinates"),
    (Code::new(b'M', 0), "a program stop"),
    (Code::new(b'M', 2), "the program's end"),
    (Code::new(b'M', 30), "the program's end"),
];

#[cfg(test)]
mod tests {
    use crate::Shop;
    use nc::{ArcCenters, Code, CommentForm, Dialect, Dwell, TorchOffActs, TouchOffBy};
    use units::Length;

    /// Every field of a dialect can be told: a field added there must be added here and in the table of keys.
    #[test]
    fn every_field_of_a_dialect_can_be_told() {
        let told = Dialect {
            strict: false,
            torch_on: vec![Code::new(b'M', 7)],
            torch_off: vec![Code::new(b'M', 8), Code::new(b'M', 18)],
            torch_off_acts: TorchOffActs::AfterMotion,
            probe: vec![Code::new(b'G', 31)],
            touch_off: vec![
                TouchOffBy::Code(Code::new(b'M', 70)),
                TouchOffBy::Subprogram(9),
                TouchOffBy::TorchOn,
            ],
            touch_off_leaves: Some(Length::from_mm(4.0)),
            probe_travel: Length::from_mm(1.5),
            subprograms: true,
            height_control_on: vec![Code::new(b'M', 21)],
            height_control_off: vec![Code::new(b'M', 20)],
            process_letter: Some(b'E'),
            call: Code::new(b'M', 97),
            call_target: b'Q',
            call_repeats: b'R',
            call_return: Code::new(b'M', 96),
            subprogram_letter: b'U',
            arc_centers: ArcCenters::Absolute,
            arc_centers_absolute: Some(Code::tenth(b'G', 2, 1)),
            arc_centers_from_start: None,
            comp_widths: vec![(1, Length::from_mm(1.5)), (12, Length::from_inch(0.0625))],
            dwell: Dwell { code: Code::new(b'G', 5), letter: b'F', seconds_per_unit: 0.001 },
            comments: vec![CommentForm::ToEndOfLine(b'\'')],
            no_bearing: vec![Code::new(b'M', 9)],
            block_delete: false,
            decimals_mm: 2,
            decimals_inch: 5,
            arc_tolerance: Length::from_mm(0.1),
            longest_line: 80,
        };
        let (shop, findings) = Shop::parse(
            r#"
            [table]
            decimals = { mm = 2, inch = 5 }
            arc_tolerance = "0.1 mm"
            longest_line = 80
            [table.words]
            base = "common"
            torch_on = "M7"
            torch_off = ["m08", "M18"]
            torch_off_acts = "after motion"
            probe = "G31"
            touch_off = ["M70", "subprogram 9", "torch on"]
            touch_off_leaves = "4 mm"
            probe_travel = "1.5 mm"
            height_control_on = "M21"
            height_control_off = "M20"
            process_letter = "e"
            call = "M97"
            call_target = "Q"
            call_repeats = "R"
            call_return = "M96"
            subprogram_letter = "U"
            arc_centers = "absolute"
            arc_centers_absolute = "G2.1"
            arc_centers_from_start = "none"
            comp_widths = { 12 = "1/16 in", 1 = "1.5 mm" }
            dwell = "G5"
            dwell_letter = "F"
            dwell_unit = "ms"
            comments = "'"
            no_bearing = "M9"
            block_delete = false
            "#,
        );
        assert_eq!(findings, vec![]);
        assert_eq!(shop.table.dialect, told);
        let (shop, _) = Shop::parse("table.words.base = \"strict\"");
        assert_eq!(shop.table.dialect, Dialect::strict());
    }
}
