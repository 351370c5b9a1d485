//! What a check says about a program: plain data, without any rule and without rendering.
//!
//! A [`Finding`] names its rule, says what is wrong, points at the program's text by [`Span`] and at the plate by
//! [`Place`], says why it matters in the shop and what to do, and may carry a [`Mend`].

use units::Length;

/// A stretch of a program's text, in bytes from its beginning; `start <= end`, the end not included.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Span {
    /// First byte.
    pub start: u32,
    /// One past the last byte.
    pub end: u32,
}

impl Span {
    /// The stretch from `start` to `end`.
    ///
    /// # Panics
    /// If `start > end`.
    #[must_use]
    pub fn new(start: u32, end: u32) -> Self {
        assert!(start <= end, "a span must not end before it starts: {start}..{end}");
        Self { start, end }
    }

    /// The bytes it covers, for slicing.
    #[must_use]
    pub fn range(self) -> std::ops::Range<usize> {
        self.start as usize..self.end as usize
    }
}

/// How much a finding weighs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Level {
    /// Worth knowing; nothing need be done.
    Note,
    /// Will cost quality, time or consumables.
    Warning,
    /// Will scrap a part or hurt someone or something: do not start.
    Error,
}

/// A stretch of text and what to say under it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Label {
    /// Where.
    pub span: Span,
    /// What is there, in a few words; may be empty.
    pub text: String,
}

/// A place on the plate, in program coordinates.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// X in the program's frame.
    pub x: Length,
    /// Y in the program's frame.
    pub y: Length,
}

/// Whether a mend may be taken without looking.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MendSafety {
    /// The cut parts stay the same.
    Safe,
    /// It changes what is cut or when: look first.
    LookFirst,
}

/// One replacement in a program's text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Edit {
    /// What is replaced; empty to insert.
    pub span: Span,
    /// What stands there afterwards.
    pub text: String,
}

/// A change to the program that would settle a finding.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mend {
    /// What it does, as an order: "insert a touch-off before the torch-on".
    pub title: String,
    /// The edits, sorted by span, not overlapping.
    pub edits: Vec<Edit>,
    /// Whether it changes the cut part.
    pub safety: MendSafety,
}

/// What a rule found.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// The rule's name in kebab-case, such as `torch-left-on`.
    pub rule: &'static str,
    /// How much it weighs.
    pub level: Level,
    /// What is wrong, in one sentence without a full stop.
    pub message: String,
    /// The place in the text it is about; none if it is about something that is not there.
    pub primary: Option<Label>,
    /// Other places in the text that belong to it.
    pub secondary: Vec<Label>,
    /// Where on the plate.
    pub places: Vec<Place>,
    /// Numbers of the cuts concerned, from 1 as on the picture.
    pub cuts: Vec<u32>,
    /// Why it matters in the shop, in a sentence; empty if the rule's page says it all.
    pub why: String,
    /// What to do about it, in a sentence.
    pub remedy: String,
    /// A change that would settle it.
    pub mend: Option<Mend>,
}

impl Finding {
    /// A finding of `rule` with nothing but its message; fill in the rest with the methods below.
    #[must_use]
    pub fn new(rule: &'static str, level: Level, message: impl Into<String>) -> Self {
        Self {
            rule,
            level,
            message: message.into(),
            primary: None,
            secondary: Vec::new(),
            places: Vec::new(),
            cuts: Vec::new(),
            why: String::new(),
            remedy: String::new(),
            mend: None,
        }
    }

    /// Points at the text.
    #[must_use]
    pub fn at(mut self, span: Span, text: impl Into<String>) -> Self {
        self.primary = Some(Label { span, text: text.into() });
        self
    }

    /// Points at a second place in the text.
    #[must_use]
    pub fn and_at(mut self, span: Span, text: impl Into<String>) -> Self {
        self.secondary.push(Label { span, text: text.into() });
        self
    }

    /// Points at a place on the plate.
    #[must_use]
    pub fn on_plate(mut self, place: Place) -> Self {
        self.places.push(place);
        self
    }

    /// Names a cut, by its number on the picture.
    #[must_use]
    pub fn of_cut(mut self, number: u32) -> Self {
        self.cuts.push(number);
        self
    }

    /// Says why it matters.
    #[must_use]
    pub fn because(mut self, why: impl Into<String>) -> Self {
        self.why = why.into();
        self
    }

    /// Says what to do.
    #[must_use]
    pub fn remedy(mut self, remedy: impl Into<String>) -> Self {
        self.remedy = remedy.into();
        self
    }

    /// Offers a mend.
    #[must_use]
    pub fn mend(mut self, mend: Mend) -> Self {
        self.mend = Some(mend);
        self
    }
}

/// Sorts findings as they are shown: by place in the text, then by rule, then by message.
pub fn sort(findings: &mut [Finding]) {
    findings.sort_by(|a, b| {
        let place = |f: &Finding| f.primary.as_ref().map(|label| label.span);
        (place(a), a.rule, &a.message).cmp(&(place(b), b.rule, &b.message))
    });
}
