//! A second reader, deliberately simple: a line at a time, every word in a list, no state but what the language names.
//! It is slow, gives up at the first thing it does not know, and shares no code with the reader under test.

use crate::expression::{Parameters, Text, index};
use nc::{ArcCenters, Code, CommentForm, Dialect, TorchOffActs, TouchOffBy};
use std::collections::BTreeMap;

/// What a program does, in order.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Deed {
    /// G word, end, centre, height over (program zero, plate top), feed; in millimetres.
    Moves {
        how: How,
        to: [f64; 2],
        center: Option<[f64; 2]>,
        z: Height,
        feed: Option<f64>,
    },
    TorchOn,
    TorchOff,
    Waits(f64),
    TouchesOff,
    HeightControl(bool),
    Process(f64),
    Stops,
    Ends,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum How {
    Rapid,
    Feed,
    Clockwise,
    CounterClockwise,
    Probe,
}

/// A height: so much over program zero, plus the plate's top once if it was touched; nothing if it cannot be told.
pub(crate) type Height = Option<(f64, bool)>;

/// A height under way: a number, and how many times the plate's top; none if lost.
type Counted = Option<(f64, i32)>;

/// Runs `text`; `Err` says at which line (from 1) it met something it does not know.
pub(crate) fn run(text: &str, dialect: &Dialect) -> Result<Vec<Deed>, usize> {
    let lines: Vec<Vec<char>> = text.lines().map(|line| cleaned(line, dialect)).collect();
    let mut control = Control::new(&lines, dialect);
    let mut line = 0;
    let mut whole = lines.len();
    if let Some(opens) = lines.iter().position(|line| !line.is_empty()).filter(|k| lines[*k] == ['%']) {
        line = opens + 1;
        whole = lines.iter().skip(line).position(|line| *line == ['%']).map_or(whole, |k| line + k);
    }
    while line < whole {
        match control.line(&lines[line], line).ok_or(line + 1)? {
            Next::Line => line += 1,
            Next::At(other) => line = other,
            Next::End => break,
        }
    }
    Ok(control.deeds)
}

/// The line without comments and blanks, in capitals; empty if it is to be skipped.
fn cleaned(line: &str, dialect: &Dialect) -> Vec<char> {
    let mut out = Vec::new();
    let mut within = false;
    for c in line.chars() {
        let to_end = dialect
            .comments
            .iter()
            .any(|form| matches!(form, CommentForm::ToEndOfLine(mark) if char::from(*mark) == c));
        match c {
            ')' if within => within = false,
            _ if within => {}
            '(' if dialect.comments.contains(&CommentForm::Parentheses) => within = true,
            _ if to_end => break,
            _ if c.is_whitespace() => {}
            _ => out.push(c.to_ascii_uppercase()),
        }
    }
    if out.first() == Some(&'/') {
        out = if dialect.block_delete { Vec::new() } else { out[1..].to_vec() };
    }
    out
}

enum Next {
    Line,
    At(usize),
    End,
}

/// A subprogram under way.
struct Call {
    back_to: usize,
    begins: usize,
    passes_left: u32,
}

struct Control<'p> {
    dialect: &'p Dialect,
    /// Line of each subprogram's first block, by its number.
    subprograms: BTreeMap<u32, usize>,
    calls: Vec<Call>,
    deeds: Vec<Deed>,
    parameters: Parameters,
    inches: bool,
    incremental: bool,
    centers: ArcCenters,
    motion: Option<How>,
    feed: Option<f64>,
    /// Where the torch stands, in the frame in force at the start.
    at: [f64; 2],
    z: Counted,
    system: usize,
    origins: [[f64; 3]; 9],
    g92: [f64; 2],
    g92_z: Counted,
    g92_kept: ([f64; 2], Counted),
}

/// A block's words: letters with their numbers, in order.
struct Block(Vec<(char, f64)>);

impl Block {
    fn get(&self, letter: char) -> Option<f64> {
        self.0.iter().find(|word| word.0 == letter).map(|word| word.1)
    }

    fn has(&self, code: Code) -> bool {
        let letter = char::from(code.letter);
        self.0.iter().any(|word| word.0 == letter && (word.1 * 10.0 - f64::from(code.tenths)).abs() < 1e-3)
    }

    fn g(&self, number: f64) -> bool {
        self.0.iter().any(|word| word.0 == 'G' && (word.1 - number).abs() < 1e-4)
    }

    fn m(&self, number: f64) -> bool {
        self.0.iter().any(|word| word.0 == 'M' && (word.1 - number).abs() < 1e-4)
    }

    fn any(&self, codes: &[Code]) -> bool {
        codes.iter().any(|code| self.has(*code))
    }
}

impl<'p> Control<'p> {
    fn new(lines: &[Vec<char>], dialect: &'p Dialect) -> Self {
        let mut subprograms = BTreeMap::new();
        for (k, line) in lines.iter().enumerate() {
            if line.first() == Some(&char::from(dialect.subprogram_letter)) {
                let number: String = line[1..].iter().collect();
                if let Ok(number) = number.parse() {
                    subprograms.insert(number, k);
                }
            }
        }
        Self {
            dialect,
            subprograms,
            calls: Vec::new(),
            deeds: Vec::new(),
            parameters: Parameters::new(),
            inches: false,
            incremental: false,
            centers: dialect.arc_centers,
            motion: Some(How::Feed),
            feed: None,
            at: [0.0; 2],
            z: Some((0.0, 0)),
            system: 0,
            origins: [[0.0; 3]; 9],
            g92: [0.0; 2],
            g92_z: Some((0.0, 0)),
            g92_kept: ([0.0; 2], Some((0.0, 0))),
        }
    }

    fn unit(&self) -> f64 {
        if self.inches { 25.4 } else { 1.0 }
    }

    fn shift(&self) -> [f64; 2] {
        [0, 1].map(|axis| self.origins[self.system][axis] + self.g92[axis])
    }

    /// Runs a line; nothing if it holds what this reader does not know.
    fn line(&mut self, line: &[char], k: usize) -> Option<Next> {
        if line.first() == Some(&char::from(self.dialect.subprogram_letter)) {
            return Some(Next::Line);
        }
        let block = self.block(line)?;
        self.torch_and_the_like(&block)?;
        let taken = self.datum(&block)?;
        if !taken {
            self.motion(&block)?;
        }
        self.after_motion(&block, k)
    }

    /// Every word's number is worked out before anything is done, and parameters are set after that.
    fn block(&mut self, line: &[char]) -> Option<Block> {
        let parameters = self.parameters.clone();
        let mut text = Text::new(line, &parameters);
        let mut words = Vec::new();
        while let Some(&letter) = text.rest().first() {
            text.take(&letter.to_string());
            let value = text.value()?;
            if letter == '#' {
                if !text.take("=") {
                    return None;
                }
                let number = index(value)?;
                let value = text.value()?;
                self.parameters.insert(number, value);
            } else if letter != 'N' {
                words.push((letter, value));
            }
        }
        Some(Block(words))
    }

    fn torch_and_the_like(&mut self, block: &Block) -> Option<()> {
        let dialect = self.dialect;
        // A control that is not strict knows one unit a block.
        if block.g(20.0) || block.g(21.0) {
            self.inches = block.g(20.0);
        }
        if let Some(feed) = block.get('F') {
            self.feed = Some(feed * self.unit());
        }
        if let Some(process) = dialect.process_letter.and_then(|letter| block.get(char::from(letter))) {
            self.deeds.push(Deed::Process(process));
        }
        let by_code = |way: &TouchOffBy| matches!(way, TouchOffBy::Code(code) if block.has(*code));
        if dialect.touch_off.iter().any(by_code) {
            self.touch_off();
        }
        if block.any(&dialect.torch_on) {
            if dialect.touch_off.contains(&TouchOffBy::TorchOn) {
                self.touch_off();
            }
            self.deeds.push(Deed::TorchOn);
        }
        if block.any(&dialect.torch_off) && dialect.torch_off_acts == TorchOffActs::BeforeMotion {
            self.deeds.push(Deed::TorchOff);
        }
        for (codes, on) in [(&dialect.height_control_on, true), (&dialect.height_control_off, false)] {
            if block.any(codes) {
                self.deeds.push(Deed::HeightControl(on));
            }
        }
        if block.has(dialect.dwell.code) {
            let time = block.get(char::from(dialect.dwell.letter))?;
            self.deeds.push(Deed::Waits(time * dialect.dwell.seconds_per_unit));
        }
        for (number, system) in SYSTEMS {
            if block.g(number) {
                self.system = system;
            }
        }
        if block.g(90.0) || block.g(91.0) {
            self.incremental = block.g(91.0);
        }
        for (code, centers) in [
            (dialect.arc_centers_absolute, ArcCenters::Absolute),
            (dialect.arc_centers_from_start, ArcCenters::FromStart),
        ] {
            if code.is_some_and(|code| block.has(code)) {
                self.centers = centers;
            }
        }
        Some(())
    }

    /// The control or a word of it finds the plate.
    fn touch_off(&mut self) {
        self.z = self.dialect.touch_off_leaves.map(|above| (above.mm(), 1));
        self.g92_z = Some((-self.origins[self.system][2], 1));
        self.deeds.push(Deed::TouchesOff);
    }

    /// G10 and the G92 family; true if they took the block's axis words.
    fn datum(&mut self, block: &Block) -> Option<bool> {
        let unit = self.unit();
        let axes = ['X', 'Y', 'Z'].map(|letter| block.get(letter).map(|value| value * unit));
        if block.g(10.0) {
            let system = index(block.get('P')?)? as usize - 1;
            for (axis, value) in axes.into_iter().enumerate() {
                if let Some(value) = value {
                    self.origins.get_mut(system)?[axis] = value;
                }
            }
            return Some(true);
        }
        if block.g(92.0) {
            let origin = self.origins[self.system];
            for axis in [0, 1] {
                if let Some(value) = axes[axis] {
                    self.g92[axis] = self.at[axis] - origin[axis] - value;
                }
            }
            if let Some(value) = axes[2] {
                self.g92_z = self.z.map(|(number, top)| (number - origin[2] - value, top));
            }
            self.g92_kept = (self.g92, self.g92_z);
            return Some(true);
        }
        if block.g(92.1) || block.g(92.2) {
            (self.g92, self.g92_z) = ([0.0; 2], Some((0.0, 0)));
            if block.g(92.1) {
                self.g92_kept = (self.g92, self.g92_z);
            }
        }
        if block.g(92.3) {
            (self.g92, self.g92_z) = self.g92_kept;
        }
        Some(false)
    }

    fn motion(&mut self, block: &Block) -> Option<()> {
        let named =
            [(0.0, How::Rapid), (1.0, How::Feed), (2.0, How::Clockwise), (3.0, How::CounterClockwise)];
        for (number, how) in named {
            if block.g(number) {
                self.motion = Some(how);
            }
        }
        if block.any(&self.dialect.probe) {
            self.motion = Some(How::Probe);
        }
        if block.g(80.0) {
            self.motion = None;
        }
        if !['X', 'Y', 'Z', 'I', 'J', 'R'].into_iter().any(|letter| block.get(letter).is_some()) {
            return Some(());
        }
        let how = self.motion?;
        let unit = self.unit();
        let to = [self.place(block.get('X'), 0), self.place(block.get('Y'), 1)];
        let center = match how {
            How::Clockwise | How::CounterClockwise => Some(match block.get('R') {
                Some(radius) => center_by_radius(self.at, to, radius * unit, how),
                None => [self.center(block.get('I'), 0), self.center(block.get('J'), 1)],
            }),
            _ => None,
        };
        if let Some(value) = block.get('Z') {
            self.z = self.height(value * unit);
        }
        if how == How::Probe {
            self.z = Some((-self.dialect.probe_travel.mm(), 1));
        }
        self.at = to;
        let z = self.z.filter(|(_, top)| matches!(top, 0 | 1)).map(|(number, top)| (number, top == 1));
        self.deeds.push(Deed::Moves { how, to, center, z, feed: self.feed });
        if how == How::Probe {
            self.deeds.push(Deed::TouchesOff);
        }
        Some(())
    }

    fn place(&self, word: Option<f64>, axis: usize) -> f64 {
        let Some(value) = word else { return self.at[axis] };
        let from = if self.incremental { self.at[axis] } else { self.shift()[axis] };
        from + value * self.unit()
    }

    fn center(&self, word: Option<f64>, axis: usize) -> f64 {
        match (self.centers, word) {
            (ArcCenters::FromStart, word) => self.at[axis] + word.unwrap_or(0.0) * self.unit(),
            (ArcCenters::Absolute, Some(value)) => self.shift()[axis] + value * self.unit(),
            (ArcCenters::Absolute, None) => self.at[axis],
        }
    }

    fn height(&self, value: f64) -> Counted {
        if self.incremental {
            return self.z.map(|(number, top)| (number + value, top));
        }
        self.g92_z.map(|(number, top)| (number + self.origins[self.system][2] + value, top))
    }

    fn after_motion(&mut self, block: &Block, k: usize) -> Option<Next> {
        let dialect = self.dialect;
        if block.any(&dialect.torch_off) && dialect.torch_off_acts == TorchOffActs::AfterMotion {
            self.deeds.push(Deed::TorchOff);
        }
        if block.m(0.0) || block.m(1.0) || block.m(60.0) {
            self.deeds.push(Deed::Stops);
        }
        if block.m(2.0) || block.m(30.0) {
            self.deeds.push(Deed::Ends);
            return Some(Next::End);
        }
        if block.has(dialect.call) {
            let number = index(block.get(char::from(dialect.call_target))?)?;
            let passes_left = index(block.get(char::from(dialect.call_repeats)).unwrap_or(1.0))?;
            let Some(begins) = self.subprograms.get(&number).map(|label| label + 1) else {
                // A subprogram of the control's own, which finds the plate.
                dialect.touch_off.contains(&TouchOffBy::Subprogram(number)).then_some(())?;
                self.touch_off();
                return Some(Next::Line);
            };
            self.calls.push(Call { back_to: k + 1, begins, passes_left });
            return Some(Next::At(begins));
        }
        if block.has(dialect.call_return) {
            let call = self.calls.last_mut()?;
            call.passes_left -= 1;
            if call.passes_left > 0 {
                return Some(Next::At(call.begins));
            }
            return self.calls.pop().map(|call| Next::At(call.back_to));
        }
        Some(Next::Line)
    }
}

/// The centre of the arc of a signed radius; turns half way or less where it is positive (NISTIR 6556, 3.5.3.1).
fn center_by_radius(from: [f64; 2], to: [f64; 2], radius: f64, how: How) -> [f64; 2] {
    let [x, y] = [to[0] - from[0], to[1] - from[1]];
    let chord = x.hypot(y);
    let off = (radius * radius - chord * chord / 4.0).max(0.0).sqrt();
    // Left of the chord for the short way counter-clockwise.
    let left = (how == How::CounterClockwise) == (radius > 0.0);
    let side = if left { off } else { -off };
    [from[0] + x / 2.0 - y / chord * side, from[1] + y / 2.0 + x / chord * side]
}

const SYSTEMS: [(f64, usize); 9] =
    [(54.0, 0), (55.0, 1), (56.0, 2), (57.0, 3), (58.0, 4), (59.0, 5), (59.1, 6), (59.2, 7), (59.3, 8)];
