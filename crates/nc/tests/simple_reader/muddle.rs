//! Programs that use everything in any order: units, increments, datums, coordinate systems, parameters, expressions,
//! subprograms with repeats, arcs by centre and radius, probing. They cut nothing sensible, but no control would refuse
//! them.

use crate::expression::{Parameters, Text};
use nc::{ArcCenters, Code, CommentForm, Dialect, TouchOffBy};
use nests::Random;
use std::f64::consts::TAU;
use std::fmt::Write as _;

/// A program of some 60 blocks.
pub(crate) fn program(seed: u64, dialect: &Dialect) -> String {
    let mut muddle = Muddle::new(seed, dialect);
    muddle.subprograms();
    muddle.line("G21 G90 G17 G40 G94");
    for _ in 0..60 {
        muddle.anything();
    }
    muddle.line("M30");
    muddle.text + &muddle.after_end
}

/// A program of moves to the values of long expressions without needless brackets.
pub(crate) fn sums(seed: u64) -> String {
    let mut random = Random::new(seed);
    let mut text = String::from("#1=2.5 #2=1\n#[#2+1]=7.25\n");
    let parameters: Parameters = [(1, 2.5), (2, 7.25)].into();
    for _ in 0..20 {
        let sum = loop {
            let sum = sum(&mut random, 3);
            let letters: Vec<char> = sum.chars().collect();
            let value = Text::new(&letters, &parameters).value();
            if value.is_some_and(|value| value.abs() < 1e4) {
                break sum;
            }
        };
        let letter = random.one_of(&['X', 'Y', 'Z', 'F']);
        let sum = if letter == 'F' { format!("ABS[{sum}]") } else { sum };
        let _ = writeln!(text, "G1 {letter}{sum}");
    }
    text
}

/// Operands joined by operators; both may hold more of the same, `depth` deep.
fn sum(random: &mut Random, depth: u32) -> String {
    let mut text = format!("[{}", operand(random, depth));
    for _ in 0..random.below(5) {
        match random.below(9) {
            // Powers of small whole numbers only, so that values stay within any table.
            0 => text += &format!("**{}", random.below(3)),
            k => {
                let operator = ["*", "/", "MOD", "+", "-", "OR", "XOR", "AND"][k as usize - 1];
                text += operator;
                text += &operand(random, depth);
            }
        }
    }
    text + "]"
}

fn operand(random: &mut Random, depth: u32) -> String {
    let number = format!("{:.2}", random.between(0.5, 9.5));
    if depth == 0 {
        return number;
    }
    match random.below(12) {
        0 => "#1".into(),
        1 => "##2".replace("##2", "#[1+1]"),
        2 => sum(random, depth - 1),
        3 => format!("SQRT[ABS{}]", sum(random, depth - 1)),
        4 => format!("ATAN{}/[{number}]", sum(random, depth - 1)),
        5 => format!("LN[1+ABS{}]", sum(random, depth - 1)),
        6 => {
            let name = random.one_of(&["SIN", "COS", "FIX", "FUP", "ABS"]);
            format!("{name}{}", sum(random, depth - 1))
        }
        7 => {
            let name = random.one_of(&["ASIN", "ACOS", "EXP", "TAN"]);
            format!("{name}[SIN{}]", sum(random, depth - 1))
        }
        8 => format!("-{number}"),
        _ => number,
    }
}

/// A program under way, with what is needed to know that its arcs close.
struct Muddle<'d> {
    random: Random,
    dialect: &'d Dialect,
    text: String,
    after_end: String,
    inches: bool,
    incremental: bool,
    centers: ArcCenters,
    /// Where the torch stands, in program coordinates in millimetres.
    at: [f64; 2],
    /// What the datum and the system in force add, and the origins of all systems.
    g92: [f64; 2],
    g92_kept: [f64; 2],
    system: usize,
    origins: [[f64; 2]; 9],
    parameters: Parameters,
    motion: Option<&'static str>,
    /// Number of each subprogram, and how far it takes the torch.
    subprograms: Vec<(u32, [f64; 2])>,
    torch: bool,
}

impl<'d> Muddle<'d> {
    fn new(seed: u64, dialect: &'d Dialect) -> Self {
        Self {
            random: Random::new(seed),
            dialect,
            text: String::new(),
            after_end: String::new(),
            inches: false,
            incremental: false,
            centers: dialect.arc_centers,
            at: [0.0; 2],
            g92: [0.0; 2],
            g92_kept: [0.0; 2],
            system: 0,
            origins: [[0.0; 2]; 9],
            parameters: Parameters::new(),
            motion: None,
            subprograms: Vec::new(),
            torch: false,
        }
    }

    fn line(&mut self, words: &str) {
        match self.random.below(12) {
            0 => {
                let _ = write!(self.text, "N{} ", self.random.below(99_999));
            }
            1 if self.dialect.block_delete => {
                let _ = writeln!(self.text, "/ G0 X{} M5", self.random.below(100));
            }
            2 => self.text.push('\n'),
            _ => {}
        }
        let words = if self.random.chance(0.2) { words.to_lowercase() } else { words.into() };
        self.text += &words;
        match self.dialect.comments.first() {
            Some(CommentForm::Parentheses) if self.random.chance(0.1) => self.text += " (x1 g91)",
            Some(CommentForm::ToEndOfLine(mark)) if self.random.chance(0.1) => {
                self.text.push(char::from(*mark));
                self.text += " x1 g91";
            }
            _ => {}
        }
        self.text.push('\n');
    }

    fn anything(&mut self) {
        match self.random.below(24) {
            0..=5 => self.straight(),
            6..=10 => self.arc(),
            11 => self.units(),
            12 => self.distance(),
            13 => self.change_centers(),
            14 => self.datum(),
            15 => self.coordinate_system(),
            16 => self.set_parameter(),
            17 => self.probe(),
            18 => self.torch(),
            19 => self.wait(),
            20 => self.call(),
            21 => self.height(),
            22 => self.small_word(),
            _ => self.place_and_parameter(),
        }
    }

    fn unit(&self) -> f64 {
        if self.inches { 25.4 } else { 1.0 }
    }

    /// A number, now and then as an expression of the same value.
    fn number(&mut self, value: f64) -> String {
        let digits = format!("{value:.9}");
        let known: Vec<_> = self.parameters.iter().map(|(number, value)| (*number, *value)).collect();
        match self.random.below(6) {
            0 => format!("[{:.9}+{:.9}]", value / 3.0, value - value / 3.0),
            1 if !known.is_empty() => {
                let (number, holds) = self.random.one_of(&known);
                format!("[#{number}+{:.9}]", value - holds)
            }
            2 => format!("[{digits}*2/2]"),
            _ => digits,
        }
    }

    /// A coordinate word for a place in program coordinates, in millimetres.
    fn place(&mut self, letter: char, axis: usize, to: f64) -> String {
        let value = if self.incremental { to - self.at[axis] } else { to };
        let value = value / self.unit();
        format!("{letter}{}", self.number(value))
    }

    fn somewhere(&mut self) -> [f64; 2] {
        [self.random.between(-900.0, 900.0), self.random.between(-900.0, 900.0)]
    }

    /// The motion word, left out now and then where it is in force.
    fn motion_word(&mut self, word: &'static str) -> String {
        let needed = self.motion != Some(word);
        self.motion = Some(word);
        if needed || self.random.chance(0.6) { word.into() } else { String::new() }
    }

    fn feed(&mut self) -> String {
        if self.random.chance(0.7) {
            return String::new();
        }
        let feed = self.random.between(10.0, 4000.0);
        format!("F{}", self.number(feed))
    }

    fn straight(&mut self) {
        let word = self.random.one_of(&["G0", "G1"]);
        let word = self.motion_word(word);
        let to = self.somewhere();
        let mut words = vec![word];
        let both = self.random.below(3);
        if both != 1 {
            words.push(self.place('X', 0, to[0]));
        }
        if both != 2 {
            words.push(self.place('Y', 1, to[1]));
        }
        if self.random.chance(0.1) {
            words.push(format!("Z{:.3}", self.random.between(-2.0, 20.0)));
        }
        words.push(self.feed());
        self.at = [if both == 1 { self.at[0] } else { to[0] }, if both == 2 { self.at[1] } else { to[1] }];
        self.any_order(words);
    }

    fn any_order(&mut self, mut words: Vec<String>) {
        words.retain(|word| !word.is_empty());
        self.random.shuffle(&mut words);
        let gap = self.random.one_of(&["", " ", "  ", "\t"]);
        self.line(&words.join(gap));
    }

    fn arc(&mut self) {
        let radius = self.random.between(0.5, 200.0);
        let begins = self.random.between(0.0, TAU);
        let center = [self.at[0] - radius * begins.cos(), self.at[1] - radius * begins.sin()];
        let ccw = self.random.chance(0.5);
        let by_radius = self.random.chance(0.4);
        let whole = !by_radius && self.random.chance(0.2);
        // By radius the centre is computed from the chord, inexact near half and whole turns.
        let turn = match self.random.below(2) {
            0 if by_radius => self.random.between(0.2, 2.6),
            _ if by_radius => self.random.between(3.6, 5.8),
            _ if whole => 0.0,
            _ => self.random.between(0.1, 6.2),
        };
        let ends = begins + if ccw { turn } else { -turn };
        let to =
            if whole { self.at } else { [center[0] + radius * ends.cos(), center[1] + radius * ends.sin()] };
        let word = self.motion_word(if ccw { "G3" } else { "G2" });
        let mut words = vec![word, self.place('X', 0, to[0]), self.place('Y', 1, to[1])];
        if by_radius {
            let signed = if turn > TAU / 2.0 { -radius } else { radius };
            let signed = signed / self.unit();
            words.push(format!("R{}", self.number(signed)));
        } else {
            for (axis, letter) in ['I', 'J'].into_iter().enumerate() {
                let value = match self.centers {
                    ArcCenters::FromStart => center[axis] - self.at[axis],
                    ArcCenters::Absolute => center[axis],
                };
                let value = value / self.unit();
                words.push(format!("{letter}{}", self.number(value)));
            }
        }
        words.push(self.feed());
        self.at = to;
        self.any_order(words);
    }

    fn units(&mut self) {
        self.inches = !self.inches;
        let word = if self.inches { "G20" } else { "G21" };
        let mut words = vec![word.to_owned()];
        if self.random.chance(0.5) {
            // In one block with a motion: the motion is in the new unit.
            let to = self.somewhere();
            words.push(self.motion_word("G0"));
            words.push(self.place('X', 0, to[0]));
            words.push(self.place('Y', 1, to[1]));
            self.at = to;
        }
        self.any_order(words);
    }

    fn distance(&mut self) {
        self.incremental = !self.incremental;
        let mut words = vec![if self.incremental { "G91" } else { "G90" }.to_owned()];
        if self.random.chance(0.5) {
            let to = self.somewhere();
            words.push(self.motion_word("G1"));
            words.push(self.place('Y', 1, to[1]));
            self.at[1] = to[1];
        }
        self.any_order(words);
    }

    fn change_centers(&mut self) {
        let (code, centers) = match self.centers {
            ArcCenters::FromStart => (self.dialect.arc_centers_absolute, ArcCenters::Absolute),
            ArcCenters::Absolute => (self.dialect.arc_centers_from_start, ArcCenters::FromStart),
        };
        if let Some(code) = code {
            self.centers = centers;
            self.line(&code.to_string());
        }
    }

    /// Program coordinates change where the shift does; the torch stays where it is.
    fn shift_by(&mut self, change: impl FnOnce(&mut Self)) {
        let shift = |muddle: &Self| [0, 1].map(|axis| muddle.origins[muddle.system][axis] + muddle.g92[axis]);
        let before = shift(self);
        change(self);
        let after = shift(self);
        self.at = [0, 1].map(|axis| self.at[axis] + before[axis] - after[axis]);
    }

    fn datum(&mut self) {
        match self.random.below(6) {
            0 => {
                self.shift_by(|muddle| (muddle.g92, muddle.g92_kept) = ([0.0; 2], [0.0; 2]));
                self.line("G92.1");
            }
            1 => {
                self.shift_by(|muddle| muddle.g92 = [0.0; 2]);
                self.line("G92.2");
            }
            2 => {
                self.shift_by(|muddle| muddle.g92 = muddle.g92_kept);
                self.line("G92.3");
            }
            _ => {
                let reads = self.somewhere();
                let [x, y] = reads.map(|value| value / self.unit());
                let words = format!("G92 X{} Y{}", self.number(x), self.number(y));
                self.g92 = [0, 1].map(|axis| self.g92[axis] + self.at[axis] - reads[axis]);
                self.g92_kept = self.g92;
                self.at = reads;
                self.line(&words);
            }
        }
    }

    fn coordinate_system(&mut self) {
        let system = self.random.below(9) as usize;
        let origin = self.somewhere();
        let [x, y] = origin.map(|value| value / self.unit());
        let words = format!("G10 L2 P{} X{} Y{}", system + 1, self.number(x), self.number(y));
        self.shift_by(|muddle| muddle.origins[system] = origin);
        self.line(&words);
        if self.random.chance(0.6) {
            self.shift_by(|muddle| muddle.system = system);
            let names = ["54", "55", "56", "57", "58", "59", "59.1", "59.2", "59.3"];
            self.line(&format!("G{}", names[system]));
        }
    }

    fn set_parameter(&mut self) {
        let number = 1 + self.random.below(5);
        let value = (self.random.between(-50.0, 50.0) * 1000.0).round() / 1000.0;
        let spelled = self.number(value);
        let words = match self.random.below(3) {
            0 => format!("#[{number}+0]={spelled}"),
            _ => format!("#{number}={spelled}"),
        };
        self.parameters.insert(number, value);
        self.line(&words);
    }

    /// A parameter is set in the block that uses it: the block sees its old value.
    fn place_and_parameter(&mut self) {
        let Some((&number, &old)) = self.parameters.iter().next() else { return };
        let new = (self.random.between(-50.0, 50.0) * 1000.0).round() / 1000.0;
        let words =
            vec![self.motion_word("G1"), format!("X#{number}"), format!("#{number}={new}"), self.feed()];
        let old = old * self.unit();
        self.at[0] = if self.incremental { self.at[0] + old } else { old };
        self.parameters.insert(number, new);
        self.any_order(words);
    }

    fn probe(&mut self) {
        let Some(code) = self.dialect.probe.first() else { return };
        self.motion = None;
        let depth = 40 + self.random.below(40);
        self.line(&format!("{code} Z-{depth} F100"));
        if self.random.chance(0.8) {
            let reads = self.random.one_of(&["0", "-1.5", "0.25"]);
            self.line(&format!("G92 Z{reads}"));
            // Datums in Z leave X and Y, but are kept for G92.3 together with them.
            self.g92_kept = self.g92;
        }
    }

    fn torch(&mut self) {
        let codes = if self.torch { &self.dialect.torch_off } else { &self.dialect.torch_on };
        self.torch = !self.torch;
        let code = codes.first().expect("a dialect has torch words").to_string();
        let mut words = vec![code];
        if self.random.chance(0.4) {
            let to = self.somewhere();
            words.push(self.motion_word("G1"));
            words.push(self.place('X', 0, to[0]));
            self.at[0] = to[0];
        }
        self.any_order(words);
    }

    fn wait(&mut self) {
        let dwell = self.dialect.dwell;
        let time = self.random.between(0.0, 3.0);
        let words =
            vec![dwell.code.to_string(), format!("{}{}", char::from(dwell.letter), self.number(time))];
        self.any_order(words);
    }

    fn height(&mut self) {
        let z = self.random.between(-3.0, 30.0);
        let words = vec![self.motion_word("G0"), format!("Z{}", self.number(z))];
        self.any_order(words);
    }

    fn small_word(&mut self) {
        let mut codes: Vec<Code> = Vec::new();
        codes.extend(self.dialect.height_control_on.first());
        codes.extend(self.dialect.height_control_off.first());
        codes.extend(self.dialect.touch_off.iter().filter_map(|way| match way {
            TouchOffBy::Code(code) => Some(*code),
            _ => None,
        }));
        codes.push(Code::new(b'M', 0));
        let code = self.random.one_of(&codes);
        match self.dialect.process_letter {
            Some(letter) if self.random.chance(0.4) => {
                let number = self.random.below(9);
                self.line(&format!("{}{number}", char::from(letter)));
            }
            _ => self.line(&code.to_string()),
        }
    }

    /// Two subprograms in increments, the second of which calls the first; they leave the modal state as they found
    /// it, which here is millimetres and absolute.
    fn subprograms(&mut self) {
        let number = 100 + self.random.below(50);
        let dialect = self.dialect;
        let letter = char::from(dialect.subprogram_letter);
        let mut body = |inner: Option<(u32, [f64; 2])>, number: u32| {
            let mut text = format!("{letter}{number}\nG91\n");
            let mut by = [0.0; 2];
            for _ in 0..3 {
                let [x, y] = [self.random.below(20), self.random.below(20)].map(f64::from);
                let _ = writeln!(text, "G1 X{x} Y-{y}");
                by = [by[0] + x, by[1] - y];
            }
            if let Some((called, moves)) = inner {
                let _ = writeln!(
                    text,
                    "{} {}{called} {}2\nG91",
                    dialect.call,
                    char::from(dialect.call_target),
                    char::from(dialect.call_repeats)
                );
                by = [by[0] + 2.0 * moves[0], by[1] + 2.0 * moves[1]];
            }
            let _ = writeln!(text, "G90\n{}", dialect.call_return);
            (text, by)
        };
        let (first, by) = body(None, number);
        let (second, by_2) = body(Some((number, by)), number + 1);
        self.after_end = first + &second;
        self.subprograms = vec![(number, by), (number + 1, by_2)];
    }

    fn call(&mut self) {
        let (number, by) = self.random.one_of(&self.subprograms.clone());
        let times = 1 + self.random.below(4);
        let dialect = self.dialect;
        let mut words =
            vec![dialect.call.to_string(), format!("{}{number}", char::from(dialect.call_target))];
        if times > 1 || self.random.chance(0.5) {
            words.push(format!("{}{times}", char::from(dialect.call_repeats)));
        }
        self.any_order(words);
        let step = self.unit() * f64::from(times);
        self.at = [0, 1].map(|axis| self.at[axis] + by[axis] * step);
        self.incremental = false;
        self.motion = None;
    }
}
