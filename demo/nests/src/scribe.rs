//! Writing a nest as a program. Apart from the words of the `Dialect` this shares nothing with the writer of `nc`,
//! so that each can be held against the other.

mod block;
mod copies;
mod spelling;

use crate::manner::{ArcWords, Copies, Manner, Numbers, TouchOffHabit};
use crate::{Nest, PlannedCut, Random};
use block::{Block, dressed};
use geometry::{Arc, Curve, Point, Program, Vector};
use nc::{ArcCenters, Code, CommentForm, Dialect, Distance, TorchOffActs, TouchOffBy, Units};
use units::MM_PER_INCH;

/// The program for `nest` in `manner`, with the words of `dialect`.
///
/// **Accuracy**: coordinates within half a last decimal of the nest's, copies within one; whole circles in one arc,
/// unless arcs are written by radius. Every line ends in a line feed.
#[must_use]
pub fn write(nest: &Nest, manner: &Manner, dialect: &Dialect) -> String {
    let mut scribe = Scribe::new(nest, manner, dialect);
    scribe.program();
    scribe.finish()
}

/// How far above the plate a probing motion may begin and how far it reaches down.
const PROBE_REACH_MM: f64 = 60.0;

/// Speed of a probing motion.
const PROBE_MM_PER_MIN: f64 = 600.0;

/// Speed at which the torch goes from pierce height to cut height.
const LOWER_MM_PER_MIN: f64 = 1500.0;

/// First number of subprograms that hold copies; each family takes two.
const COPIES_FROM: u32 = 200;

/// Which parameters stand for what, where parameters are used.
mod parameter {
    pub(super) const X: u32 = 101;
    pub(super) const Y: u32 = 102;
    pub(super) const FEED: u32 = 103;
    pub(super) const WAIT: u32 = 104;
}

struct Scribe<'a> {
    nest: &'a Nest,
    manner: &'a Manner,
    dialect: &'a Dialect,
    random: Random,
    lines: Vec<String>,
    /// Finished subprograms, which follow the main program.
    after_end: Vec<String>,
    state: State,
    line_number: u32,
    /// Counts of last decimals that the parameters for X and Y hold, once the main program has set them.
    origin: Option<[i64; 2]>,
    /// Within a subprogram of copies, where no place has a number.
    in_copy: bool,
    next_subprogram: u32,
}

/// What earlier blocks have set.
#[derive(Clone, Copy)]
struct State {
    units: Units,
    distance: Distance,
    centers: ArcCenters,
    /// Where the torch stands, as a reader computes it, by the datum in force; none before the first motion.
    at: Option<Point<Program>>,
    /// Origin of the coordinate system in force, and what G92 adds to it.
    origin: Vector<Program>,
    g92: Vector<Program>,
    z_mm: Option<f64>,
    motion: Option<&'static str>,
    feed: Option<i64>,
    process: Option<u32>,
    compensated: bool,
    /// Whether words that change nothing may be left out here.
    terse: bool,
}

impl<'a> Scribe<'a> {
    fn new(nest: &'a Nest, manner: &'a Manner, dialect: &'a Dialect) -> Self {
        let state = State {
            units: manner.units,
            distance: manner.distance,
            centers: manner.centers,
            at: None,
            origin: Vector::new(0.0, 0.0),
            g92: Vector::new(0.0, 0.0),
            z_mm: None,
            motion: None,
            feed: None,
            process: None,
            compensated: false,
            terse: manner.dress.terse,
        };
        Self {
            nest,
            manner,
            dialect,
            random: Random::new(manner.seed),
            lines: Vec::new(),
            after_end: Vec::new(),
            state,
            line_number: 0,
            origin: None,
            in_copy: false,
            next_subprogram: COPIES_FROM,
        }
    }

    fn program(&mut self) {
        if self.manner.dress.percent {
            self.lines.push("%".into());
        }
        self.header();
        match self.manner.copies {
            Copies::InFull => {
                for k in 0..self.nest.cuts.len() {
                    self.cut(k, true);
                }
            }
            Copies::Subprogram => self.cuts_with_copies(),
        }
        self.block(Block::of("M30"));
        if let TouchOffHabit::ProbeInSubprogram(number) = self.manner.touch_off {
            self.touch_off_subprogram(number);
        }
    }

    fn finish(mut self) -> String {
        self.lines.append(&mut self.after_end);
        if self.manner.dress.percent {
            self.lines.push("%".into());
        }
        let mut text = self.lines.join("\n");
        text.push('\n');
        text
    }

    fn header(&mut self) {
        let units = units_word(self.state.units);
        self.block(Block::of(units).and("G90").and("G17").and("G40").and("G94"));
        if let Some(code) = self.centers_word(self.state.centers) {
            self.block(Block::of(&code.to_string()));
        }
        if self.state.distance == Distance::Incremental {
            // Increments need a place to begin from.
            self.block(Block::of("G0").and("X0").and("Y0"));
            self.block(Block::of(distance_word(Distance::Incremental)));
            self.state.at = Some(Point::ORIGIN);
        }
    }

    /// One cut from its travel to the retract; without the travel where a caller has brought the torch there.
    fn cut(&mut self, k: usize, travel: bool) {
        let cut = &self.nest.cuts[k];
        let stretch = &cut.stretches[0];
        let part = &self.nest.parts[stretch.part];
        self.comment(&format!(
            "cut {}: {} of {} {}",
            k + 1,
            stretch.kind.word(),
            part.word,
            stretch.part + 1
        ));
        if !self.manner.dress.terse {
            // So that each cut can be begun with by itself.
            self.state.feed = None;
        }
        self.switches(k);
        if self.manner.moves_datum && !self.in_copy {
            self.move_datum();
        }
        self.process(cut);
        if self.manner.numbers == Numbers::Parameters {
            self.set_parameters(cut);
        }
        if travel {
            self.travel(cut.pierce());
        }
        self.touch_off();
        self.z("G0", cut.cutting.pierce_height_mm, None);
        self.first(&self.dialect.torch_on);
        self.wait(cut.cutting.pierce_delay_s);
        self.z("G1", cut.cutting.cut_height_mm, Some(LOWER_MM_PER_MIN));
        self.first(&self.dialect.height_control_on);
        self.burn(cut);
        self.first(&self.dialect.height_control_off);
        self.torch_off();
        self.z("G0", self.nest.safe_height_mm, None);
        self.compensation_off();
    }

    /// Changes of unit and arc centres that some programs are full of.
    fn switches(&mut self, k: usize) {
        let dress = self.manner.dress;
        if dress.mixed_units && k % 2 == 1 {
            let other = if self.state.units == Units::Inches { Units::Millimetres } else { Units::Inches };
            self.state.units = other;
            self.state.feed = None;
            self.block(Block::of(units_word(other)));
        }
        if dress.mixed_centers && k % 3 == 1 {
            let other = match self.state.centers {
                ArcCenters::FromStart => ArcCenters::Absolute,
                ArcCenters::Absolute => ArcCenters::FromStart,
            };
            if let Some(code) = self.centers_word(other) {
                self.state.centers = other;
                self.block(Block::of(&code.to_string()));
            }
        }
    }

    /// Now and then, where the torch stands is given other coordinates, or another coordinate system is set and
    /// chosen; all later coordinates differ by as much.
    fn move_datum(&mut self) {
        let Some(at) = self.state.at else { return };
        let stands = at + self.shift();
        let counts = [0, 1].map(|_| self.random.stepped(-200.0, 200.0, 12.7)).map(|mm| self.ticks(mm));
        let [x, y] = counts.map(|count| spelling::value(count) * self.step_mm());
        let words = [format!("X{}", self.plain(counts[0])), format!("Y{}", self.plain(counts[1]))];
        match self.random.below(6) {
            0 | 1 => {
                self.state.g92 = stands - Point::new(x, y) + -self.state.origin;
                self.block(Block::of("G92").and(&words[0]).and(&words[1]));
            }
            2 => {
                let system = 1 + self.random.below(6);
                self.state.origin = Vector::new(x, y);
                self.block(
                    Block::of("G10").and("L2").and(&format!("P{system}")).and(&words[0]).and(&words[1]),
                );
                self.block(Block::of(&format!("G{}", 53 + system)));
            }
            _ => return,
        }
        self.state.at = Some(stands + -self.shift());
    }

    /// What the datum in force takes away from coordinates.
    fn shift(&self) -> Vector<Program> {
        self.state.origin + self.state.g92
    }

    fn process(&mut self, cut: &PlannedCut) {
        let Some(letter) = self.dialect.process_letter else { return };
        if self.state.process != Some(cut.cutting.process) {
            self.state.process = Some(cut.cutting.process);
            self.block(Block::of(&format!("{}{}", char::from(letter), cut.cutting.process)));
        }
    }

    fn set_parameters(&mut self, cut: &PlannedCut) {
        let mut values = vec![
            (parameter::FEED, self.plain(self.ticks(cut.cutting.feed_mm_per_min))),
            (parameter::WAIT, self.wait_number(cut.cutting.pierce_delay_s)),
        ];
        if !self.in_copy {
            let pierce = cut.pierce() + -self.shift();
            let origin = [self.ticks(pierce.x), self.ticks(pierce.y)];
            self.origin = Some(origin);
            values.extend([(parameter::X, self.plain(origin[0])), (parameter::Y, self.plain(origin[1]))]);
        }
        for (number, value) in values {
            self.block(Block::of(&format!("#{number}={value}")));
        }
    }

    fn travel(&mut self, to: Point<Program>) {
        let mut block = Block::default();
        self.motion_word(&mut block, "G0");
        self.place_words(&mut block, to, true);
        if !block.is_only(&["G0"]) {
            self.block(block);
        }
    }

    fn touch_off(&mut self) {
        match self.manner.touch_off {
            TouchOffHabit::Probe => self.probe(),
            TouchOffHabit::ProbeInSubprogram(number) => self.call(number, 1),
            TouchOffHabit::AsDialect => match self.dialect.touch_off.first() {
                Some(TouchOffBy::Code(code)) => self.block(Block::of(&code.to_string())),
                Some(TouchOffBy::Subprogram(number)) => self.call(*number, 1),
                Some(TouchOffBy::TorchOn) | None => {}
            },
        }
        self.state.z_mm = Some(0.0);
    }

    /// Down to the plate, and Z set to zero there; afterwards heights count from the plate's top.
    fn probe(&mut self) {
        let Some(code) = self.dialect.probe.first() else { return };
        let mut block = Block::of(&code.to_string());
        let reach =
            if self.state.distance == Distance::Absolute { -PROBE_REACH_MM } else { -2.0 * PROBE_REACH_MM };
        block.push(&format!("Z{}", self.plain(self.ticks(reach))));
        block.push(&format!("F{}", self.plain(self.ticks(PROBE_MM_PER_MIN))));
        self.block(block);
        self.state.motion = None;
        self.state.feed = None;
        self.block(Block::of("G92").and("Z0"));
    }

    fn touch_off_subprogram(&mut self, number: u32) {
        let main = std::mem::take(&mut self.lines);
        self.lines.push(format!("{}{number}", char::from(self.dialect.subprogram_letter)));
        self.probe();
        self.block(Block::of(&self.dialect.call_return.to_string()));
        let body = std::mem::replace(&mut self.lines, main);
        self.after_end.extend(body);
    }

    fn call(&mut self, number: u32, times: u32) {
        let mut block = Block::of(&self.dialect.call.to_string());
        block.push(&format!("{}{number}", char::from(self.dialect.call_target)));
        if times != 1 {
            block.push(&format!("{}{times}", char::from(self.dialect.call_repeats)));
        }
        self.block(block);
        // What a subprogram leaves in force is said again.
        self.state.motion = None;
        self.state.feed = None;
    }

    fn z(&mut self, word: &'static str, to_mm: f64, feed_mm_per_min: Option<f64>) {
        if !self.manner.moves_z {
            return;
        }
        let relative = self.state.distance == Distance::Incremental;
        let by = if relative { to_mm - self.state.z_mm.unwrap_or(0.0) } else { to_mm };
        if relative && self.ticks(by) == 0 {
            return;
        }
        let mut block = Block::default();
        self.motion_word(&mut block, word);
        let number = self.number(self.ticks(by), None);
        block.push(&format!("Z{number}"));
        if let Some(feed) = feed_mm_per_min {
            self.feed_word(&mut block, feed);
        }
        self.block(block);
        self.state.z_mm = Some(to_mm);
    }

    fn wait(&mut self, seconds: f64) {
        if seconds <= 0.0 {
            return;
        }
        let dwell = self.dialect.dwell;
        let number = match self.manner.numbers {
            Numbers::Parameters => format!("#{}", parameter::WAIT),
            Numbers::Plain => self.wait_number(seconds),
        };
        self.block(Block::of(&dwell.code.to_string()).and(&format!("{}{number}", char::from(dwell.letter))));
    }

    fn wait_number(&self, seconds: f64) -> String {
        let units = seconds / self.dialect.dwell.seconds_per_unit;
        spelling::plain(spelling::ticks(units, 3), 3)
    }

    fn first(&mut self, codes: &[Code]) {
        if let Some(code) = codes.first() {
            self.block(Block::of(&code.to_string()));
        }
    }

    /// In the block of the last motion where it acts after that; in one of its own elsewhere.
    fn torch_off(&mut self) {
        let Some(code) = self.dialect.torch_off.first() else { return };
        let joins = self.dialect.torch_off_acts == TorchOffActs::AfterMotion
            && self.dialect.height_control_off.is_empty();
        match self.lines.last_mut() {
            Some(line) if joins => {
                line.push(' ');
                line.push_str(&code.to_string());
            }
            _ => self.block(Block::of(&code.to_string())),
        }
    }

    fn burn(&mut self, cut: &PlannedCut) {
        let part_line = cut.part_line.as_ref().filter(|_| self.manner.compensated);
        let path = part_line.unwrap_or(&cut.path);
        if part_line.is_some() {
            // The first block after it runs to the end of the lead's straight on the part's side: the tip then
            // comes to the straight's end on its own side (NISTIR 6556, B.6).
            self.state.compensated = true;
            let word = if self.nest.wrong_way_round { "G42" } else { "G41" };
            self.block(Block::of(word).and(&format!("D{}", cut.cutting.process)));
        }
        for curve in path.curves() {
            self.curve(curve, cut.cutting.feed_mm_per_min);
        }
    }

    fn compensation_off(&mut self) {
        if std::mem::replace(&mut self.state.compensated, false) {
            self.block(Block::of("G40"));
        }
    }

    fn curve(&mut self, curve: &Curve<Program>, feed: f64) {
        match curve {
            Curve::Segment(segment) => {
                let before = self.state.motion;
                let mut block = Block::default();
                self.motion_word(&mut block, "G1");
                self.place_words(&mut block, segment.to, false);
                if block.is_only(&["G1"]) || block.is_only(&[]) {
                    self.state.motion = before;
                    return;
                }
                self.feed_word(&mut block, feed);
                self.block(block);
            }
            Curve::Arc(arc) if self.manner.arcs == ArcWords::Radius => {
                // A third of a turn at most: the centre computed from R grows inexact towards half a turn.
                let pieces = (arc.sweep_rad.abs() / 2.0).ceil().max(1.0);
                let piece_mm = arc.length_mm() / pieces;
                let mut from = 0.0;
                while from < arc.length_mm() - piece_mm / 2.0 {
                    self.arc(&arc.piece(from, from + piece_mm), feed);
                    from += piece_mm;
                }
            }
            Curve::Arc(arc) => self.arc(arc, feed),
        }
    }

    fn arc(&mut self, arc: &Arc<Program>, feed: f64) {
        let shift = self.shift();
        let from = self.state.at.unwrap_or(arc.from);
        let center = arc.center + -shift;
        if arc.length_mm() < self.step_mm() {
            // Rounded, its ends might be one place and the arc a whole circle.
            return;
        }
        let mut block = Block::default();
        self.motion_word(&mut block, if arc.is_ccw() { "G3" } else { "G2" });
        // A whole circle ends where it was begun, rounding included: a last decimal off, it would be no circle.
        let whole = arc.from.distance(arc.to) < geometry::SAME_POINT_MM;
        self.place_words(&mut block, if whole { from + shift } else { arc.to }, true);
        if self.manner.arcs == ArcWords::Radius {
            let radius = self.number(self.ticks(arc.radius_mm()), None);
            block.push(&format!("R{radius}"));
        } else {
            let (i, j) = match self.state.centers {
                ArcCenters::FromStart => (center.x - from.x, center.y - from.y),
                ArcCenters::Absolute => (center.x, center.y),
            };
            let (i, j) = (self.number(self.ticks(i), None), self.number(self.ticks(j), None));
            block.push(&format!("I{i}"));
            block.push(&format!("J{j}"));
        }
        self.feed_word(&mut block, feed);
        self.block(block);
    }

    fn motion_word(&mut self, block: &mut Block, word: &'static str) {
        if !self.state.terse || self.state.motion != Some(word) {
            block.push(word);
        }
        self.state.motion = Some(word);
    }

    fn feed_word(&mut self, block: &mut Block, feed_mm_per_min: f64) {
        let feed = self.ticks(feed_mm_per_min);
        if self.state.feed == Some(feed) {
            return;
        }
        self.state.feed = Some(feed);
        let burns = (feed_mm_per_min - LOWER_MM_PER_MIN).abs() > 0.1;
        if self.manner.numbers == Numbers::Parameters && burns {
            block.push(&format!("F#{}", parameter::FEED));
        } else {
            block.push(&format!("F{}", self.plain(feed)));
        }
    }

    /// X and Y words for `to`; in terse programs, unless `both`, only those that change.
    fn place_words(&mut self, block: &mut Block, to: Point<Program>, both: bool) {
        let step = self.step_mm();
        let to = to + -self.shift();
        let from = self.state.at;
        let mut reached = [0.0, 0.0];
        for (axis, letter) in ['X', 'Y'].into_iter().enumerate() {
            let [to, from] = [[to.x, to.y][axis], from.map_or(f64::NAN, |p| [p.x, p.y][axis])];
            let (number, same) = match self.state.distance {
                Distance::Absolute => {
                    let count = self.ticks(to);
                    reached[axis] = spelling::value(count) * step;
                    (count, (reached[axis] - from).abs() < step / 100.0)
                }
                Distance::Incremental => {
                    // Before the first motion the torch is taken to stand at zero.
                    let from = if from.is_nan() { 0.0 } else { from };
                    let count = self.ticks(to - from);
                    reached[axis] = from + spelling::value(count) * step;
                    (count, count == 0)
                }
            };
            if both || !same || !self.state.terse {
                let text = self.number(number, Some(axis));
                block.push(&format!("{letter}{text}"));
            }
        }
        let still = from.is_some_and(|p| (p.x - reached[0]).hypot(p.y - reached[1]) < step / 100.0);
        if still && !both {
            block.drop_places();
        }
        self.state.at = Some(Point::new(reached[0], reached[1]));
    }

    /// A count of last decimals in this manner's spelling; coordinates of an axis may lean on its parameter.
    fn number(&mut self, count: i64, axis: Option<usize>) -> String {
        let decimals = self.decimals();
        let odd = self.manner.dress.odd_numbers;
        if self.manner.numbers == Numbers::Plain {
            return spelling::digits(count, decimals, odd.then_some(&mut self.random));
        }
        let absolute = self.state.distance == Distance::Absolute;
        let known = axis.filter(|_| absolute).zip(self.origin).map(|(axis, origin)| {
            let parameter = [parameter::X, parameter::Y][axis];
            (parameter, origin[axis])
        });
        spelling::expression(count, decimals, known, odd, &mut self.random)
    }

    fn plain(&self, count: i64) -> String {
        spelling::plain(count, self.decimals())
    }

    fn ticks(&self, mm: f64) -> i64 {
        spelling::ticks(mm / self.unit_mm(), self.decimals())
    }

    fn step_mm(&self) -> f64 {
        self.unit_mm() / 10f64.powi(i32::from(self.decimals()))
    }

    fn unit_mm(&self) -> f64 {
        if self.state.units == Units::Inches { MM_PER_INCH } else { 1.0 }
    }

    fn decimals(&self) -> u8 {
        if self.state.units == Units::Inches { self.dialect.decimals_inch } else { self.dialect.decimals_mm }
    }

    fn centers_word(&self, centers: ArcCenters) -> Option<Code> {
        match centers {
            ArcCenters::FromStart => self.dialect.arc_centers_from_start,
            ArcCenters::Absolute => self.dialect.arc_centers_absolute,
        }
    }

    fn comment(&mut self, text: &str) {
        if !self.manner.dress.comments {
            return;
        }
        match self.dialect.comments.first() {
            Some(CommentForm::Parentheses) => self.lines.push(format!("({text})")),
            Some(CommentForm::ToEndOfLine(mark)) => self.lines.push(format!("{} {text}", char::from(*mark))),
            None => {}
        }
    }

    fn block(&mut self, block: Block) {
        let number = self.manner.dress.line_numbers.then(|| {
            self.line_number = (self.line_number + 10) % 100_000;
            self.line_number
        });
        let line = dressed(block, number, &self.manner.dress, &mut self.random);
        self.lines.push(line);
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
