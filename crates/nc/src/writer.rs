//! Writing motions as text: every coordinate within half a last decimal, without accumulation, every arc within the
//! table's arc tolerance after rounding.
//!
//! The odd part, how an arc is rounded, stands in [`rounding`].

mod rounding;

use crate::{ArcCenters, Code, CommentForm, Dialect, Distance, Modal, MotionKind, TouchOffBy, Units};
use geometry::{Arc, Curve, Path, Point, Program};
use rounding::{Grid, Piece};
use std::fmt::Write as _;
use units::{Duration, MM_PER_INCH};

/// In what manner a program is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Style {
    /// Unit of length.
    pub units: Units,
    /// Distance mode.
    pub distance: Distance,
    /// How I and J are meant.
    pub arc_centers: ArcCenters,
}

impl Style {
    /// The style in force under `modal`, so that a block written now is read as the source's blocks were.
    #[must_use]
    pub fn of(modal: &Modal) -> Self {
        Self { units: modal.units, distance: modal.distance, arc_centers: modal.arc_centers }
    }
}

/// Writes blocks in one style, one after another.
///
/// It keeps the place where the torch stands *as written*, so that an increment is the difference of two rounded
/// absolutes and errors never add up. Every motion names its G word and both its axes: a block means the same
/// whatever stood before it, distance mode and units apart.
#[derive(Debug)]
pub struct Writer<'d> {
    dialect: &'d Dialect,
    style: Style,
    text: String,
    at: Point<Program>,
    /// What the grid of writable places is counted from: zero, or in increments the last place told.
    grid_zero: Point<Program>,
    feed_pending: Option<f64>,
    numbering: Option<Numbering>,
}

#[derive(Clone, Copy, Debug)]
struct Numbering {
    next: u32,
    step: u32,
}

/// Largest line number that may be written. Source: NISTIR 6556, 3.3.1 (five digits; numbers may repeat).
const LINE_NUMBER_MAX: u32 = 99_999;

/// Decimals of a time in seconds: a millisecond, finer than any control waits.
const DWELL_DECIMALS: u8 = 3;

impl<'d> Writer<'d> {
    /// A writer that takes the torch to stand at `at`.
    #[must_use]
    pub fn new(dialect: &'d Dialect, style: Style, at: Point<Program>) -> Self {
        let mut writer = Self {
            dialect,
            style,
            text: String::new(),
            at,
            grid_zero: Point::ORIGIN,
            feed_pending: None,
            numbering: None,
        };
        writer.stands_at(at);
        writer
    }

    /// The same writer, which begins every block of its own (verbatim ones not) with a line number, from `first` in
    /// steps of `step`; past 99999 they begin again.
    #[must_use]
    pub fn numbered(mut self, first: u32, step: u32) -> Self {
        self.numbering = Some(Numbering { next: first % (LINE_NUMBER_MAX + 1), step });
        self
    }

    /// The style in which it writes now.
    #[must_use]
    pub fn style(&self) -> Style {
        self.style
    }

    /// Where the torch stands, exactly as a reader of the text computes it.
    #[must_use]
    pub fn at(&self) -> Point<Program> {
        self.at
    }

    /// Says where the torch stands after blocks that were written verbatim.
    pub fn stands_at(&mut self, at: Point<Program>) {
        self.at = at;
        self.grid_zero = match self.style.distance {
            Distance::Absolute => Point::ORIGIN,
            Distance::Incremental => at,
        };
    }

    /// Writes `line` as it is, without a number; the writer is told afterwards where the torch stands by
    /// [`Writer::stands_at`], and that words in it changed the style by [`Writer::style_is`].
    pub fn verbatim(&mut self, line: &str) {
        self.text.push_str(line);
        self.text.push('\n');
    }

    /// Says that a verbatim block has put this style in force; writes nothing.
    pub fn style_is(&mut self, style: Style) {
        self.style = style;
        self.stands_at(self.at);
    }

    /// Puts another style in force by the words that differ; writes nothing where none does.
    ///
    /// A dialect that has no words for arc centres keeps the centres it has.
    pub fn change_style(&mut self, style: Style) {
        let mut words = Vec::new();
        if style.units != self.style.units {
            words.push(units_word(style.units));
        }
        if style.distance != self.style.distance {
            words.push(distance_word(style.distance));
        }
        if !words.is_empty() {
            self.block(&words.join(" "));
        }
        let centers =
            if style.arc_centers == self.style.arc_centers { None } else { self.centers_word(style) };
        let arc_centers = if centers.is_some() { style.arc_centers } else { self.style.arc_centers };
        if let Some(code) = centers {
            self.block(&code.to_string());
        }
        self.style_is(Style { arc_centers, ..style });
    }

    /// Writes the words that make every later block mean the same from whatever state the control stands in:
    /// compensation off, plane XY, units, distance, feed a minute, and arc centres where the dialect has words for
    /// them. Compensation goes off in a block of its own, before the units and the plane, which must not change
    /// under it (NISTIR 6556, 3.5.7 and B.5).
    pub fn header(&mut self) {
        self.block("G40");
        let line = format!("G17 {} {} G94", units_word(self.style.units), distance_word(self.style.distance));
        self.block(&line);
        if let Some(code) = self.centers_word(self.style) {
            self.block(&code.to_string());
        }
    }

    /// Writes a comment in the dialect's first form, alone on its line; nothing where the dialect has none.
    /// Line ends and brackets inside it become blanks.
    pub fn comment(&mut self, text: &str) {
        let clean: String =
            text.chars().map(|c| if c.is_control() || matches!(c, '(' | ')') { ' ' } else { c }).collect();
        match self.dialect.comments.first() {
            Some(CommentForm::Parentheses) => self.verbatim(&format!("({clean})")),
            Some(CommentForm::ToEndOfLine(mark)) => {
                self.verbatim(&format!("{} {clean}", char::from(*mark)));
            }
            None => {}
        }
    }

    /// A rapid to `to` in X and Y; written even where the torch already stands there, since a restart may not.
    pub fn rapid(&mut self, to: Point<Program>) {
        let to = self.grid().snap(to);
        self.begin_block("G0 ");
        self.push_place(to);
        self.text.push('\n');
        self.at = to;
    }

    /// A straight or circular feed along `curve`, which begins where the torch stands; `feed_mm_per_min` is written
    /// where given.
    ///
    /// **Accuracy**: ends within half a last decimal in each axis; between them within the same plus the arc
    /// tolerance. An arc that its rounded centre would break is written in pieces, in the worst case straight ones;
    /// a curve shorter than rounding can show is left out, its feed kept for the next.
    pub fn feed(&mut self, curve: &Curve<Program>, feed_mm_per_min: Option<f64>) {
        self.feed_pending = feed_mm_per_min.or(self.feed_pending);
        match curve {
            Curve::Segment(segment) => self.straight(segment.to),
            Curve::Arc(arc) => self.circular(arc),
        }
    }

    /// All curves of `path`, one after another; the feed stands in the first block.
    pub fn feed_path(&mut self, path: &Path<Program>, feed_mm_per_min: Option<f64>) {
        self.feed_pending = feed_mm_per_min.or(self.feed_pending);
        for curve in path.curves() {
            self.feed(curve, None);
        }
    }

    /// A rapid in Z alone. `z` is the text after the letter, in the program's own terms: a number, a parameter or
    /// an expression in brackets.
    pub fn rapid_z(&mut self, z: &str) {
        self.block(&format!("G0 Z{z}"));
    }

    /// A feed in Z alone; `z` as in [`Writer::rapid_z`].
    pub fn feed_z(&mut self, z: &str, feed_mm_per_min: Option<f64>) {
        self.feed_pending = feed_mm_per_min.or(self.feed_pending);
        self.begin_block("G1 Z");
        self.text.push_str(z);
        self.push_feed();
        self.text.push('\n');
    }

    /// Starts the torch by the dialect's first word for it; false, and nothing written, where it has none.
    pub fn torch_on(&mut self) -> bool {
        self.first_code(&self.dialect.torch_on)
    }

    /// Ends the cut by the dialect's first word for it; false, and nothing written, where it has none.
    pub fn torch_off(&mut self) -> bool {
        self.first_code(&self.dialect.torch_off)
    }

    /// Lets height control steer, or holds it; false, and nothing written, where the dialect has no word for it.
    pub fn height_control(&mut self, steers: bool) -> bool {
        self.first_code(if steers {
            &self.dialect.height_control_on
        } else {
            &self.dialect.height_control_off
        })
    }

    /// Waits, to the millisecond.
    pub fn dwell(&mut self, wait: Duration) {
        let dwell = self.dialect.dwell;
        let units = wait.s() / dwell.seconds_per_unit;
        let decimals = if dwell.seconds_per_unit < 1.0 { 0 } else { DWELL_DECIMALS };
        self.begin_block(&format!("{} {}", dwell.code, char::from(dwell.letter)));
        push_decimal(&mut self.text, ticks(units, decimals), decimals);
        self.text.push('\n');
    }

    /// Chooses the process; false, and nothing written, where the program cannot choose it.
    pub fn process(&mut self, number: u32) -> bool {
        let Some(letter) = self.dialect.process_letter else { return false };
        self.block(&format!("{}{number}", char::from(letter)));
        true
    }

    /// Finds the plate's surface in a way other than probing: by a word, by a call, or by nothing at all where the
    /// torch-on does it.
    pub fn touch_off(&mut self, by: TouchOffBy) {
        match by {
            TouchOffBy::Code(code) => self.block(&code.to_string()),
            TouchOffBy::Subprogram(number) => {
                let call = self.dialect.call;
                self.block(&format!("{call} {}{number}", char::from(self.dialect.call_target)));
            }
            TouchOffBy::TorchOn => {}
        }
    }

    /// Ends the program (M2).
    pub fn end(&mut self) {
        self.block("M2");
    }

    /// Writes a block of its own words, with its line number where they are wanted.
    pub fn block(&mut self, words: &str) {
        self.begin_block(words);
        self.text.push('\n');
    }

    /// A length as this style writes it, in its units and decimals, always with a decimal point: some controls
    /// take a number without one for a count of last decimals (common practice).
    #[must_use]
    pub fn number(&self, mm: f64) -> String {
        let mut number = String::new();
        self.push_number_to(&mut number, mm);
        number
    }

    /// The text so far.
    #[must_use]
    pub fn finish(self) -> String {
        self.text
    }

    fn straight(&mut self, to: Point<Program>) {
        let to = self.grid().snap(to);
        if self.grid().same(to, self.at) {
            return;
        }
        self.begin_block("G1 ");
        self.push_place(to);
        self.push_feed();
        self.text.push('\n');
        self.at = to;
    }

    fn circular(&mut self, arc: &Arc<Program>) {
        let pieces = rounding::pieces(arc, self.at, &self.grid(), self.dialect.arc_tolerance.mm());
        for piece in pieces {
            match piece {
                Piece::Straight(to) => self.straight(to),
                Piece::Circular { to, center, ccw } => self.rounded_arc(to, center, ccw),
            }
        }
    }

    /// Writes an arc whose end and centre stand on the grid already.
    fn rounded_arc(&mut self, to: Point<Program>, center: Point<Program>, ccw: bool) {
        let [i, j] = match self.style.arc_centers {
            ArcCenters::FromStart => [center.x - self.at.x, center.y - self.at.y],
            ArcCenters::Absolute => [center.x, center.y],
        };
        self.begin_block(if ccw { "G3 " } else { "G2 " });
        self.push_place(to);
        self.push_number(" I", i);
        self.push_number(" J", j);
        self.push_feed();
        self.text.push('\n');
        self.at = to;
    }

    fn grid(&self) -> Grid {
        Grid {
            step_mm: self.unit_mm() / power_of_ten(self.decimals()),
            zero: self.grid_zero,
            centers: self.style.arc_centers,
        }
    }

    /// Begins a block of its own words with its line number, where they are wanted, and these words.
    fn begin_block(&mut self, words: &str) {
        if let Some(numbering) = &mut self.numbering {
            let _ = write!(self.text, "N{} ", numbering.next);
            numbering.next = (numbering.next + numbering.step) % (LINE_NUMBER_MAX + 1);
        }
        self.text.push_str(words);
    }

    /// X and Y words that bring the torch from where it stands to `to`, which lies on the grid.
    fn push_place(&mut self, to: Point<Program>) {
        let [x, y] = match self.style.distance {
            Distance::Absolute => [to.x, to.y],
            Distance::Incremental => [to.x - self.at.x, to.y - self.at.y],
        };
        self.push_number("X", x);
        self.push_number(" Y", y);
    }

    fn push_feed(&mut self) {
        if let Some(feed) = self.feed_pending.take() {
            self.push_number(" F", feed);
        }
    }

    /// A letter and a length in this style.
    fn push_number(&mut self, letter: &str, mm: f64) {
        let mut text = std::mem::take(&mut self.text);
        text.push_str(letter);
        self.push_number_to(&mut text, mm);
        self.text = text;
    }

    fn push_number_to(&self, text: &mut String, mm: f64) {
        let decimals = self.decimals();
        push_decimal(text, ticks(mm / self.unit_mm(), decimals), decimals);
    }

    fn first_code(&mut self, codes: &'d [Code]) -> bool {
        let Some(code) = codes.first() else { return false };
        self.block(&code.to_string());
        true
    }

    fn centers_word(&self, style: Style) -> Option<Code> {
        match style.arc_centers {
            ArcCenters::FromStart => self.dialect.arc_centers_from_start,
            ArcCenters::Absolute => self.dialect.arc_centers_absolute,
        }
    }

    fn decimals(&self) -> u8 {
        match self.style.units {
            Units::Millimetres => self.dialect.decimals_mm,
            Units::Inches => self.dialect.decimals_inch,
        }
    }

    fn unit_mm(&self) -> f64 {
        match self.style.units {
            Units::Millimetres => 1.0,
            Units::Inches => MM_PER_INCH,
        }
    }
}

impl MotionKind {
    /// The G word of this motion, as the core language has it; none for homing and probing, whose words differ.
    #[must_use]
    pub const fn word(self) -> Option<&'static str> {
        match self {
            Self::Rapid => Some("G0"),
            Self::Feed => Some("G1"),
            Self::ArcCw => Some("G2"),
            Self::ArcCcw => Some("G3"),
            Self::Probe | Self::Home => None,
        }
    }
}

const fn units_word(units: Units) -> &'static str {
    match units {
        Units::Millimetres => "G21",
        Units::Inches => "G20",
    }
}

const fn distance_word(distance: Distance) -> &'static str {
    match distance {
        Distance::Absolute => "G90",
        Distance::Incremental => "G91",
    }
}

/// Ten to the number of decimals; more than twelve decimals are beyond any table and beyond `i64` for long ones.
fn power_of_ten(decimals: u8) -> f64 {
    10f64.powi(i32::from(decimals.min(12)))
}

/// `value` as a count of last decimals, rounded to nearest.
#[expect(clippy::cast_possible_truncation, reason = "saturates far outside any table; NaN gives 0")]
fn ticks(value: f64, decimals: u8) -> i64 {
    (value * power_of_ten(decimals)).round() as i64
}

/// Digits of the largest count of last decimals.
const MOST_DIGITS: usize = 20;

/// A count of last decimals as a number: no trailing zeros but one, never `-0.0`. Written digit by digit: a program
/// has a million of them.
fn push_decimal(text: &mut String, ticks: i64, decimals: u8) {
    let point = MOST_DIGITS - usize::from(decimals.min(12));
    let mut digits = [b'0'; MOST_DIGITS];
    let (mut left, mut first) = (ticks.unsigned_abs(), MOST_DIGITS);
    while left > 0 || first >= point {
        first -= 1;
        let digit = (left % 10) as u8;
        digits[first] = b'0' + digit;
        left /= 10;
    }
    let last =
        digits[point..].iter().rposition(|digit| *digit != b'0').map_or(point, |last| point + last + 1);
    if ticks < 0 {
        text.push('-');
    }
    digits[first..point].iter().for_each(|digit| text.push(char::from(*digit)));
    text.push('.');
    // At least one digit after the point.
    let part = if last > point { &digits[point..last] } else { b"0" };
    part.iter().for_each(|digit| text.push(char::from(*digit)));
}

#[cfg(test)]
mod tests;
