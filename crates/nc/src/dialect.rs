//! Everything in which controls differ, as data. `shop` makes a `Dialect` from the words of its table.

use units::Length;

/// A G or M code (or another letter with a fixed number), such as `M3` or `G38.2`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Code {
    /// Upper-case letter.
    pub letter: u8,
    /// Its number times ten, so that `G38.2` is 382.
    pub tenths: u32,
}

impl Code {
    /// The code `letter` + `number`, e.g. `Code::new(b'M', 3)`.
    #[must_use]
    pub const fn new(letter: u8, number: u32) -> Self {
        Self { letter, tenths: number * 10 }
    }

    /// The code with a tenth, e.g. `Code::tenth(b'G', 38, 2)`.
    #[must_use]
    pub const fn tenth(letter: u8, number: u32, tenth: u32) -> Self {
        Self { letter, tenths: number * 10 + tenth }
    }
}

impl std::fmt::Display for Code {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}{}", char::from(self.letter), self.tenths / 10)?;
        if self.tenths.is_multiple_of(10) { Ok(()) } else { write!(f, ".{}", self.tenths % 10) }
    }
}

/// How a comment is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CommentForm {
    /// `( … )`, within one line, not nested.
    Parentheses,
    /// From this byte to the end of the line, such as `;` or `'`.
    ToEndOfLine(u8),
}

/// How I and J are meant until a word says otherwise.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ArcCenters {
    /// Offsets from where the arc begins (NISTIR 6556, 3.5.3.2).
    FromStart,
    /// Coordinates of the centre.
    Absolute,
}

/// When a torch-off acts that stands in the block of a motion.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TorchOffActs {
    /// Before the motion (NISTIR 6556, table 8).
    BeforeMotion,
    /// After it.
    AfterMotion,
}

/// The word that waits, and what its number means.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dwell {
    /// The code, `G4` in the standard.
    pub code: Code,
    /// The letter of its time, `P` in the standard.
    pub letter: u8,
    /// Seconds for each unit of the number: 1, or 0.001 where the control counts milliseconds.
    pub seconds_per_unit: f64,
}

/// How the plate's surface is found where the program does not probe in its own text.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum TouchOffBy {
    /// A word of the control.
    Code(Code),
    /// A call of this subprogram (by number), which may or may not stand in the program's text.
    Subprogram(u32),
    /// The torch-on word itself: the control touches off by itself before each start.
    TorchOn,
}

/// The words and habits of one control. Build one with struct update from [`Dialect::strict`] or
/// [`Dialect::common`]. Where several codes are listed each means the same.
#[derive(Clone, Debug, PartialEq)]
pub struct Dialect {
    /// Refuse what NISTIR 6556 refuses (lines over 256 characters, six-digit line numbers, …), as findings.
    pub strict: bool,
    /// Codes that start the torch.
    pub torch_on: Vec<Code>,
    /// Codes that end the cut.
    pub torch_off: Vec<Code>,
    /// When a torch-off in the block of a motion acts.
    pub torch_off_acts: TorchOffActs,
    /// Codes of a straight probing motion; after it the torch stands on the plate's top.
    pub probe: Vec<Code>,
    /// Other ways by which the plate's surface is found.
    pub touch_off: Vec<TouchOffBy>,
    /// Height above the plate's top at which a touch-off by the control or by an unseen subprogram leaves the torch,
    /// if the control says so. Program Z counts from the plate's top afterwards.
    pub touch_off_leaves: Option<Length>,
    /// How far the head travels on, after the torch has met the plate, until its probe trips; zero where the tip
    /// itself is the probe. A probing motion leaves the tip so far below the plate's top by the program's count.
    pub probe_travel: Length,
    /// Codes that let height control steer.
    pub height_control_on: Vec<Code>,
    /// Codes that hold height control.
    pub height_control_off: Vec<Code>,
    /// The letter whose number names the process, such as `T`; none if the program does not choose it.
    pub process_letter: Option<u8>,
    /// Whether this control has subprograms; without them the words below are unknown to it.
    pub subprograms: bool,
    /// Code that calls a subprogram.
    pub call: Code,
    /// Letter of the subprogram's number in a call.
    pub call_target: u8,
    /// Letter of the number of repeats in a call.
    pub call_repeats: u8,
    /// Code that returns from a subprogram.
    pub call_return: Code,
    /// Letter that begins a subprogram's block, such as `O`.
    pub subprogram_letter: u8,
    /// How I and J are meant at power-up.
    pub arc_centers: ArcCenters,
    /// Code after which I and J are coordinates.
    pub arc_centers_absolute: Option<Code>,
    /// Code after which I and J are offsets from the start.
    pub arc_centers_from_start: Option<Code>,
    /// Width that cutter compensation allows for, by the number of its D word; a block without D takes that of the
    /// process in force. D0 is width zero.
    pub comp_widths: Vec<(u32, Length)>,
    /// The dwell.
    pub dwell: Dwell,
    /// Comment forms.
    pub comments: Vec<CommentForm>,
    /// Codes this control knows that have no bearing on the cut; read over without a finding.
    pub no_bearing: Vec<Code>,
    /// Whether blocks that begin with `/` are skipped.
    pub block_delete: bool,
    /// Decimals this control takes in millimetre programs.
    pub decimals_mm: u8,
    /// Decimals this control takes in inch programs.
    pub decimals_inch: u8,
    /// How far the radii at both ends of an arc may differ.
    pub arc_tolerance: Length,
    /// Longest line in bytes that this control reads, without its end.
    pub longest_line: usize,
}

impl Dialect {
    /// The language of NISTIR 6556 and nothing else; M3 and M4 start the torch, M5 ends the cut.
    /// Source: NISTIR 6556 sections 3.3 to 3.6; arc tolerance 0.002 mm from 3.5.3.2.
    #[must_use]
    pub fn strict() -> Self {
        Self {
            strict: true,
            torch_on: vec![Code::new(b'M', 3), Code::new(b'M', 4)],
            torch_off: vec![Code::new(b'M', 5)],
            torch_off_acts: TorchOffActs::BeforeMotion,
            probe: vec![Code::tenth(b'G', 38, 2)],
            touch_off: Vec::new(),
            touch_off_leaves: None,
            probe_travel: Length::from_mm(0.0),
            height_control_on: Vec::new(),
            height_control_off: Vec::new(),
            process_letter: None,
            subprograms: false,
            call: Code::new(b'M', 98),
            call_target: b'P',
            call_repeats: b'L',
            call_return: Code::new(b'M', 99),
            subprogram_letter: b'O',
            arc_centers: ArcCenters::FromStart,
            arc_centers_absolute: None,
            arc_centers_from_start: None,
            comp_widths: Vec::new(),
            dwell: Dwell { code: Code::new(b'G', 4), letter: b'P', seconds_per_unit: 1.0 },
            comments: vec![CommentForm::Parentheses],
            no_bearing: Vec::new(),
            block_delete: true,
            decimals_mm: 4,
            decimals_inch: 5,
            arc_tolerance: Length::from_mm(0.002),
            longest_line: 256,
        }
    }

    /// What is assumed where no shop file says otherwise: the strict words, read leniently, `;` comments and
    /// subprograms besides, `T` for the process, lines of any length, and an arc tolerance of 0.05 mm (common
    /// practice).
    #[must_use]
    pub fn common() -> Self {
        Self {
            strict: false,
            subprograms: true,
            process_letter: Some(b'T'),
            arc_centers_absolute: Some(Code::tenth(b'G', 90, 1)),
            arc_centers_from_start: Some(Code::tenth(b'G', 91, 1)),
            comments: vec![CommentForm::Parentheses, CommentForm::ToEndOfLine(b';')],
            decimals_mm: 3,
            decimals_inch: 4,
            arc_tolerance: Length::from_mm(0.05),
            longest_line: usize::MAX,
            ..Self::strict()
        }
    }

    /// Every code this dialect names, in no order that matters.
    pub(crate) fn codes(&self) -> impl Iterator<Item = Code> + '_ {
        let lists = [
            &self.torch_on,
            &self.torch_off,
            &self.probe,
            &self.height_control_on,
            &self.height_control_off,
            &self.no_bearing,
        ];
        let touch_off = self.touch_off.iter().filter_map(|by| match by {
            TouchOffBy::Code(code) => Some(*code),
            TouchOffBy::Subprogram(_) | TouchOffBy::TorchOn => None,
        });
        let calls = [self.call, self.call_return].into_iter().filter(|_| self.subprograms);
        lists
            .into_iter()
            .flatten()
            .copied()
            .chain(touch_off)
            .chain(calls)
            .chain([self.dwell.code])
            .chain(self.arc_centers_absolute)
            .chain(self.arc_centers_from_start)
    }
}
