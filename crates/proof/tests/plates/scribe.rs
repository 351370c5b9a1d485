//! Writes motions as text in one of several manners: a test's own, which shares nothing with the planner's writer.

use geometry::{Curve, Point, Program};
use nc::{ArcCenters, Code, Dialect};
use std::fmt::Write as _;

/// In what manner numbers and arcs are written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Manner {
    pub(crate) inch: bool,
    pub(crate) incremental: bool,
    pub(crate) by_radius: bool,
}

impl Manner {
    pub(crate) const ALL: [Self; 5] = [
        Self { inch: false, incremental: false, by_radius: false },
        Self { inch: true, incremental: false, by_radius: false },
        Self { inch: false, incremental: true, by_radius: false },
        Self { inch: false, incremental: false, by_radius: true },
        Self { inch: true, incremental: true, by_radius: true },
    ];
}

/// A text under way.
pub(crate) struct Scribe<'a> {
    pub(crate) text: String,
    dialect: &'a Dialect,
    manner: Manner,
    /// Where a reader has the torch by now, in millimetres.
    at: [f64; 2],
    z: f64,
}

impl<'a> Scribe<'a> {
    /// Modes, torch off, height control held, and up.
    pub(crate) fn begin(dialect: &'a Dialect, manner: Manner, lift_mm: Option<f64>) -> Self {
        let mut scribe = Self { text: String::new(), dialect, manner, at: [0.0; 2], z: 0.0 };
        scribe.line("G40");
        scribe.line(if manner.inch { "G17 G20 G90 G94" } else { "G17 G21 G90 G94" });
        if let Some(code) = dialect.arc_centers_from_start {
            scribe.code(code);
        }
        scribe.code(dialect.torch_off[0]);
        dialect.height_control_off.first().copied().into_iter().for_each(|code| scribe.code(code));
        if let Some(mm) = lift_mm {
            let number = scribe.number(mm);
            scribe.line(&format!("G0 Z{number}"));
            scribe.z = mm;
        }
        scribe
    }

    /// The first way, from wherever it stands: absolute in any manner.
    pub(crate) fn first_way(&mut self, to: Point<Program>) {
        let (x, y) = (self.number(to.x), self.number(to.y));
        self.line(&format!("G0 X{x} Y{y}"));
        self.at = [self.read(to.x), self.read(to.y)];
        if self.manner.incremental {
            self.line("G91");
        }
    }

    pub(crate) fn line(&mut self, line: &str) {
        self.text.push_str(line);
        self.text.push('\n');
    }

    pub(crate) fn code(&mut self, code: Code) {
        self.line(&code.to_string());
    }

    pub(crate) fn dwell(&mut self, seconds: f64) {
        let dwell = self.dialect.dwell;
        self.line(&format!(
            "{} {}{:.3}",
            dwell.code,
            char::from(dwell.letter),
            seconds / dwell.seconds_per_unit
        ));
    }

    pub(crate) fn rapid(&mut self, to: Point<Program>) {
        let words = self.place(to);
        self.line(&format!("G0{words}"));
    }

    /// A motion in Z alone, to `mm` as the reader counts.
    pub(crate) fn z(&mut self, motion: &str, mm: f64, feed: Option<f64>) {
        let number = self.number(if self.manner.incremental { mm - self.z } else { mm });
        let feed = feed.map_or(String::new(), |feed| format!(" F{}", self.number(feed)));
        self.line(&format!("{motion} Z{number}{feed}"));
        self.z = if self.manner.incremental { self.z + self.read(mm - self.z) } else { self.read(mm) };
    }

    /// The plate is found: Z counts from its top.
    pub(crate) fn touched(&mut self, mm: f64) {
        self.z = mm;
    }

    /// Cuts along a curve.
    pub(crate) fn cut(&mut self, curve: &Curve<Program>, feed: Option<f64>) {
        let feed = feed.map_or(String::new(), |feed| format!(" F{}", self.number(feed)));
        let Curve::Arc(arc) = curve else {
            let words = self.place(curve.to());
            self.line(&format!("G1{words}{feed}"));
            return;
        };
        let motion = if arc.sweep_rad > 0.0 { "G3" } else { "G2" };
        let length = arc.length_mm();
        let pieces = if self.manner.by_radius { (arc.sweep_rad.abs() / 1.5).ceil().max(1.0) } else { 1.0 };
        let mut piece = 1.0;
        while piece <= pieces {
            let to = if piece < pieces { arc.point_at(length * piece / pieces) } else { arc.to };
            let mut words = String::new();
            if self.manner.by_radius {
                let radius = self.number(arc.radius_mm());
                let place = self.place(to);
                let _ = write!(words, "{place} R{radius}");
            } else {
                let absolute = self.dialect.arc_centers_from_start.is_none()
                    && self.dialect.arc_centers == ArcCenters::Absolute;
                let base = if absolute { [0.0; 2] } else { self.at };
                let (i, j) = (self.number(arc.center.x - base[0]), self.number(arc.center.y - base[1]));
                let place = self.both(to);
                let _ = write!(words, "{place} I{i} J{j}");
            }
            self.line(&format!("{motion}{words}{feed}"));
            piece += 1.0;
        }
    }

    /// X and Y, without what does not change.
    fn place(&mut self, to: Point<Program>) -> String {
        let words = self.words(to);
        self.stand(to);
        let changed = words.iter().filter(|(_, changes)| *changes);
        let changed: String = changed.map(|(word, _)| format!(" {word}")).collect();
        if changed.is_empty() { format!(" {}", words[0].0) } else { changed }
    }

    fn both(&mut self, to: Point<Program>) -> String {
        let words = self.words(to);
        self.stand(to);
        format!(" {} {}", words[0].0, words[1].0)
    }

    fn words(&self, to: Point<Program>) -> [(String, bool); 2] {
        [('X', to.x, self.at[0]), ('Y', to.y, self.at[1])].map(|(letter, to, at)| {
            let number = if self.manner.incremental { to - at } else { to };
            (format!("{letter}{}", self.number(number)), self.read(to - at) != 0.0)
        })
    }

    fn stand(&mut self, to: Point<Program>) {
        for (axis, to) in [to.x, to.y].into_iter().enumerate() {
            let at = self.at[axis];
            self.at[axis] = if self.manner.incremental { at + self.read(to - at) } else { self.read(to) };
        }
    }

    fn number(&self, mm: f64) -> String {
        if self.manner.inch {
            format!("{:.*}", usize::from(self.dialect.decimals_inch), mm / 25.4)
        } else {
            format!("{mm:.*}", usize::from(self.dialect.decimals_mm))
        }
    }

    /// A number as it will be read back.
    fn read(&self, mm: f64) -> f64 {
        let value: f64 = self.number(mm).parse().expect("it is a number");
        if self.manner.inch { value * 25.4 } else { value }
    }
}
