//! What each G and M code means on this control: the standard's codes (NISTIR 6556, tables 4, 5 and 7), with those
//! of the dialect laid over them.

use crate::{Code, Dialect, TouchOffBy};

/// What a code orders.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Act {
    Unknown,
    NoBearing,
    Rapid,
    Feed,
    ArcCw,
    ArcCcw,
    Probe { modal: bool },
    MotionOff,
    Cycle,
    Plane(u8),
    Absolute,
    Incremental,
    InverseTime,
    PerMinute,
    Inches,
    Millimetres,
    CompOff,
    CompLeft,
    CompRight,
    ToolLength,
    System(u8),
    SetOrigin,
    Home,
    MachineMove,
    Datum,
    DatumZero,
    DatumSuspend,
    DatumRestore,
    Dwell,
    Stop,
    End,
    TorchOn,
    TorchOff,
    Spindle,
    HeightControl(bool),
    TouchOff,
    Centers { absolute: bool },
    Call,
    Return,
}

/// Modal groups: at most one code of each may stand in a block. As bits of a set.
pub(crate) mod group {
    pub(crate) const MOTION: u8 = 0;
    pub(crate) const PLANE: u8 = 1;
    pub(crate) const DISTANCE: u8 = 2;
    pub(crate) const FEED_MODE: u8 = 3;
    pub(crate) const UNITS: u8 = 4;
    pub(crate) const COMP: u8 = 5;
    pub(crate) const LENGTH: u8 = 6;
    pub(crate) const CYCLE_RETURN: u8 = 7;
    pub(crate) const SYSTEM: u8 = 8;
    pub(crate) const PATH: u8 = 9;
    pub(crate) const NON_MODAL: u8 = 10;
    pub(crate) const DWELL: u8 = 11;
    pub(crate) const STOP: u8 = 12;
    pub(crate) const TOOL_CHANGE: u8 = 13;
    pub(crate) const TORCH: u8 = 14;
    pub(crate) const COOLANT: u8 = 15;
    pub(crate) const OVERRIDE: u8 = 16;
    pub(crate) const HEIGHT_CONTROL: u8 = 17;
    pub(crate) const TOUCH_OFF: u8 = 18;
    pub(crate) const CENTERS: u8 = 19;
    pub(crate) const CALL: u8 = 20;
    /// No group: any number may stand in a block.
    pub(crate) const FREE: u8 = 21;
    pub(crate) const COUNT: usize = 22;
}

/// A code's meaning and modal group.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Entry {
    pub(crate) act: Act,
    pub(crate) group: u8,
}

const UNKNOWN: Entry = Entry { act: Act::Unknown, group: group::FREE };

/// Codes up to 99.9 are looked up by their tenths.
const TENTHS: usize = 1000;

/// The meaning of every code.
pub(crate) struct Codes {
    g: Vec<Entry>,
    m: Vec<Entry>,
    others: Vec<(Code, Entry)>,
    /// One bit a letter that begins codes.
    pub(crate) letters: u32,
}

impl Codes {
    pub(crate) fn new(dialect: &Dialect) -> Self {
        let mut codes = Self {
            g: vec![UNKNOWN; TENTHS],
            m: vec![UNKNOWN; TENTHS],
            others: Vec::new(),
            letters: letter_bit(b'G') | letter_bit(b'M'),
        };
        codes.standard();
        codes.of(dialect);
        codes
    }

    /// The meaning of the code with `letter` and the number `tenths` / 10.
    #[inline]
    pub(crate) fn look_up(&self, letter: u8, tenths: usize) -> Entry {
        match letter {
            b'G' => self.g.get(tenths).copied().unwrap_or(UNKNOWN),
            b'M' => self.m.get(tenths).copied().unwrap_or(UNKNOWN),
            _ => {
                let found =
                    self.others.iter().find(|(c, _)| c.letter == letter && c.tenths as usize == tenths);
                found.map_or(UNKNOWN, |(_, entry)| *entry)
            }
        }
    }

    fn put(&mut self, code: Code, act: Act, group: u8) {
        let entry = Entry { act, group };
        let letter = code.letter.to_ascii_uppercase();
        let table = match letter {
            b'G' => &mut self.g,
            b'M' => &mut self.m,
            _ => {
                self.letters |= letter_bit(letter);
                self.others.retain(|(other, _)| (other.letter, other.tenths) != (letter, code.tenths));
                self.others.push((Code { letter, ..code }, entry));
                return;
            }
        };
        let tenths = code.tenths as usize;
        if tenths >= table.len() {
            // A dialect may have codes of three digits and more; nobody has a million of them.
            if tenths > 1_000_000 {
                return;
            }
            table.resize(tenths + 1, UNKNOWN);
        }
        table[tenths] = entry;
    }

    fn standard(&mut self) {
        for (number, act) in
            [(0, Act::Rapid), (1, Act::Feed), (2, Act::ArcCw), (3, Act::ArcCcw), (80, Act::MotionOff)]
        {
            self.put(Code::new(b'G', number), act, group::MOTION);
        }
        for number in 81..=89 {
            self.put(Code::new(b'G', number), Act::Cycle, group::MOTION);
        }
        for plane in 17..=19 {
            self.put(Code::new(b'G', u32::from(plane)), Act::Plane(plane), group::PLANE);
        }
        for (number, act, group) in [
            (20, Act::Inches, group::UNITS),
            (21, Act::Millimetres, group::UNITS),
            (40, Act::CompOff, group::COMP),
            (41, Act::CompLeft, group::COMP),
            (42, Act::CompRight, group::COMP),
            (43, Act::ToolLength, group::LENGTH),
            (49, Act::NoBearing, group::LENGTH),
            (61, Act::NoBearing, group::PATH),
            (64, Act::NoBearing, group::PATH),
            (90, Act::Absolute, group::DISTANCE),
            (91, Act::Incremental, group::DISTANCE),
            (93, Act::InverseTime, group::FEED_MODE),
            (94, Act::PerMinute, group::FEED_MODE),
            (98, Act::NoBearing, group::CYCLE_RETURN),
            (99, Act::NoBearing, group::CYCLE_RETURN),
            (10, Act::SetOrigin, group::NON_MODAL),
            (28, Act::Home, group::NON_MODAL),
            (30, Act::Home, group::NON_MODAL),
            (53, Act::MachineMove, group::NON_MODAL),
            (92, Act::Datum, group::NON_MODAL),
        ] {
            self.put(Code::new(b'G', number), act, group);
        }
        self.put(Code::tenth(b'G', 61, 1), Act::NoBearing, group::PATH);
        for (tenth, act) in [(1, Act::DatumZero), (2, Act::DatumSuspend), (3, Act::DatumRestore)] {
            self.put(Code::tenth(b'G', 92, tenth), act, group::NON_MODAL);
        }
        for system in 1..=6 {
            self.put(Code::new(b'G', 53 + u32::from(system)), Act::System(system), group::SYSTEM);
        }
        for tenth in 1..=3 {
            self.put(Code::tenth(b'G', 59, u32::from(tenth)), Act::System(6 + tenth), group::SYSTEM);
        }
        for (number, act, group) in [
            (0, Act::Stop, group::STOP),
            (1, Act::Stop, group::STOP),
            (60, Act::Stop, group::STOP),
            (2, Act::End, group::STOP),
            (30, Act::End, group::STOP),
            (6, Act::NoBearing, group::TOOL_CHANGE),
            (3, Act::Spindle, group::TORCH),
            (4, Act::Spindle, group::TORCH),
            (5, Act::Spindle, group::TORCH),
            (7, Act::NoBearing, group::COOLANT),
            (8, Act::NoBearing, group::COOLANT),
            (9, Act::NoBearing, group::COOLANT),
            (48, Act::NoBearing, group::OVERRIDE),
            (49, Act::NoBearing, group::OVERRIDE),
        ] {
            self.put(Code::new(b'M', number), act, group);
        }
    }

    /// Later words win over earlier ones, those of the torch last.
    fn of(&mut self, dialect: &Dialect) {
        for code in &dialect.no_bearing {
            self.put(*code, Act::NoBearing, group::FREE);
        }
        if dialect.subprograms {
            self.put(dialect.call, Act::Call, group::CALL);
            self.put(dialect.call_return, Act::Return, group::CALL);
        }
        for (code, absolute) in
            [(dialect.arc_centers_absolute, true), (dialect.arc_centers_from_start, false)]
        {
            if let Some(code) = code {
                self.put(code, Act::Centers { absolute }, group::CENTERS);
            }
        }
        self.put(dialect.dwell.code, Act::Dwell, group::DWELL);
        for code in &dialect.height_control_on {
            self.put(*code, Act::HeightControl(true), group::HEIGHT_CONTROL);
        }
        for code in &dialect.height_control_off {
            self.put(*code, Act::HeightControl(false), group::HEIGHT_CONTROL);
        }
        for touch_off in &dialect.touch_off {
            if let TouchOffBy::Code(code) = touch_off {
                self.put(*code, Act::TouchOff, group::TOUCH_OFF);
            }
        }
        for code in &dialect.probe {
            self.put(*code, Act::Probe { modal: *code == Code::tenth(b'G', 38, 2) }, group::MOTION);
        }
        for code in &dialect.torch_off {
            self.put(*code, Act::TorchOff, group::TORCH);
        }
        for code in &dialect.torch_on {
            self.put(*code, Act::TorchOn, group::TORCH);
        }
    }
}

#[inline]
pub(crate) fn letter_bit(letter: u8) -> u32 {
    match letter.to_ascii_uppercase() {
        letter @ b'A'..=b'Z' => 1 << (letter - b'A'),
        _ => 0,
    }
}
