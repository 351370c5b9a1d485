//! Numbers and path data, written short and without accumulating rounding.

use geometry::{Arc, Curve, Frame, Path, Point};
use std::f64::consts::PI;
use std::fmt;

/// Arcs that turn more than this are written in two pieces: near a full circle both ends fall together, and an SVG
/// arc between equal points is nothing.
const ARC_RAD_MAX: f64 = 1.5 * PI;

/// SVG text being written.
#[derive(Debug, Default)]
pub(crate) struct Svg {
    text: String,
}

impl Svg {
    /// Adds formatted text.
    pub(crate) fn add(&mut self, text: fmt::Arguments<'_>) {
        // Writing to a string never fails.
        let _ = fmt::write(&mut self.text, text);
    }

    /// Adds a line.
    pub(crate) fn line(&mut self, text: fmt::Arguments<'_>) {
        self.add(text);
        self.text.push('\n');
    }

    /// The text so far.
    pub(crate) fn text(&self) -> &str {
        &self.text
    }

    /// Path data of a way from point to point, as below.
    pub(crate) fn polyline<F: Frame>(&mut self, points: &[Point<F>], decimals: u8) {
        let Some((from, rest)) = points.split_first() else { return };
        let mut pen = Pen { out: &mut self.text, decimals, at: (0, 0), letter: ' ' };
        pen.move_to(*from);
        rest.iter().for_each(|to| pen.line_to(*to));
    }

    /// Path data of `path`, absolute at its beginning and relative from there, in steps of `10^-decimals`.
    pub(crate) fn path_data<F: Frame>(&mut self, path: &Path<F>, decimals: u8) {
        let mut pen = Pen { out: &mut self.text, decimals, at: (0, 0), letter: ' ' };
        let Some(from) = path.from() else { return };
        pen.move_to(from);
        if path.length_mm() <= 0.0 {
            // A dot: round caps make it visible.
            pen.out.push_str("h0");
        }
        for curve in path.curves() {
            pen.follow(curve);
        }
    }
}

/// A number with at most so many decimals, without trailing zeros.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Number(pub(crate) f64, pub(crate) u8);

/// A number of pixels, to a tenth.
pub(crate) fn px(value: f64) -> Number {
    Number(value, 1)
}

impl fmt::Display for Number {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut text = String::with_capacity(16);
        push_steps(&mut text, steps(self.0, self.1), self.1);
        f.write_str(&text)
    }
}

/// Text made safe for an SVG document: markup escaped, control characters dropped.
pub(crate) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\u{FFFE}' | '\u{FFFF}' => {}
            c if c.is_control() => {}
            c => out.push(c),
        }
    }
    out
}

struct Pen<'a> {
    out: &'a mut String,
    decimals: u8,
    /// Where the pen is, in steps of the last decimal: differences of these cannot accumulate rounding.
    at: (i64, i64),
    /// The command letter written last; it need not be repeated.
    letter: char,
}

impl Pen<'_> {
    fn move_to<F: Frame>(&mut self, p: Point<F>) {
        self.at = (steps(p.x, self.decimals), steps(p.y, self.decimals));
        self.out.push('M');
        push_steps(self.out, self.at.0, self.decimals);
        self.then(self.at.1);
        self.letter = 'M';
    }

    fn follow<F: Frame>(&mut self, curve: &Curve<F>) {
        match curve {
            Curve::Segment(segment) => self.line_to(segment.to),
            Curve::Arc(arc) if arc.sweep_rad.abs() > ARC_RAD_MAX => {
                let half = arc.length_mm() / 2.0;
                self.arc(&arc.piece(0.0, half));
                self.arc(&arc.piece(half, 2.0 * half));
            }
            Curve::Arc(arc) => self.arc(arc),
        }
    }

    fn line_to<F: Frame>(&mut self, to: Point<F>) {
        match self.go_to(to) {
            (0, 0) => {}
            (x, 0) => {
                self.letter('h');
                push_steps(self.out, x, self.decimals);
            }
            (0, y) => {
                self.letter('v');
                push_steps(self.out, y, self.decimals);
            }
            (x, y) => {
                self.letter('l');
                push_steps(self.out, x, self.decimals);
                self.then(y);
            }
        }
    }

    fn arc<F: Frame>(&mut self, arc: &Arc<F>) {
        let (x, y) = self.go_to(arc.to);
        if (x, y) == (0, 0) {
            return;
        }
        let radius = steps(arc.radius_mm(), self.decimals);
        let large = u8::from(arc.sweep_rad.abs() > PI);
        // The group's Y points up, so that a positive angle is counter-clockwise here as in the program.
        let positive = u8::from(arc.is_ccw());
        self.letter('a');
        push_steps(self.out, radius, self.decimals);
        self.then(radius);
        self.out.push_str(" 0 ");
        self.out.push(char::from(b'0' + large));
        self.out.push(' ');
        self.out.push(char::from(b'0' + positive));
        self.then(x);
        self.then(y);
    }

    /// Moves the pen; gives the way in steps.
    fn go_to<F: Frame>(&mut self, to: Point<F>) -> (i64, i64) {
        let to = (steps(to.x, self.decimals), steps(to.y, self.decimals));
        let way = (to.0.saturating_sub(self.at.0), to.1.saturating_sub(self.at.1));
        self.at = to;
        way
    }

    fn letter(&mut self, letter: char) {
        if self.letter == letter {
            self.out.push(' ');
        } else {
            self.out.push(letter);
            self.letter = letter;
        }
    }

    fn then(&mut self, steps: i64) {
        if steps >= 0 {
            self.out.push(' ');
        }
        push_steps(self.out, steps, self.decimals);
    }
}

/// The number in steps of its last decimal, rounded; far beyond any table it stays at the largest.
fn steps(value: f64, decimals: u8) -> i64 {
    #[expect(clippy::cast_possible_truncation, reason = "the cast saturates, and NaN becomes 0")]
    {
        (value * 10_f64.powi(i32::from(decimals))).round() as i64
    }
}

fn push_steps(out: &mut String, steps: i64, decimals: u8) {
    let mut digits = [b'0'; 24];
    let (mut rest, mut length) = (steps.unsigned_abs(), 0);
    while rest > 0 {
        digits[length] = b'0' + u8::try_from(rest % 10).unwrap_or(0);
        rest /= 10;
        length += 1;
    }
    let decimals = usize::from(decimals);
    let dropped = digits[..decimals].iter().take_while(|digit| **digit == b'0').count();
    if steps < 0 {
        out.push('-');
    }
    if length <= decimals {
        out.push('0');
    }
    for k in (dropped..length.max(decimals)).rev() {
        if k + 1 == decimals {
            out.push('.');
        }
        out.push(char::from(digits[k]));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geometry::Program;

    fn check(value: f64, decimals: u8, expected: &str) {
        assert_eq!(Number(value, decimals).to_string(), expected);
    }

    #[test]
    fn numbers_are_short() {
        check(0.0, 2, "0");
        check(-0.0, 2, "0");
        check(-0.001, 2, "0");
        check(1.0, 2, "1");
        check(120.0, 1, "120");
        check(1.5, 2, "1.5");
        check(-0.25, 2, "-0.25");
        check(0.05, 2, "0.05");
        check(99.996, 2, "100");
        check(1234.567, 0, "1235");
        check(f64::NAN, 2, "0");
        check(f64::INFINITY, 0, "9223372036854775807");
    }

    fn check_path(curves: Vec<Curve<Program>>, expected: &str) {
        let mut svg = Svg::default();
        svg.path_data(&Path::new(curves), 2);
        assert_eq!(svg.text(), expected);
    }

    fn p(x: f64, y: f64) -> Point<Program> {
        Point::new(x, y)
    }

    #[test]
    fn paths_are_relative_and_arcs_stay_arcs() {
        check_path(
            vec![
                Curve::line(p(1.0, 2.0), p(4.0, 2.0)),
                Curve::line(p(4.0, 2.0), p(4.0, -3.0)),
                Curve::line(p(4.0, -3.0), p(5.5, -2.75)),
                Curve::Arc(Arc::about(p(5.5, -2.75), p(7.5, -2.75), p(6.5, -2.75), false)),
            ],
            "M1 2h3v-5l1.5 0.25a1 1 0 0 0 2 0",
        );
    }

    #[test]
    fn full_circles_come_in_two() {
        check_path(
            vec![Curve::Arc(Arc::about(p(10.0, 0.0), p(10.0, 0.0), p(0.0, 0.0), true))],
            "M10 0a10 10 0 0 1-20 0 10 10 0 0 1 20 0",
        );
    }

    #[test]
    fn rounding_does_not_add_up() {
        let third = 1.0 / 3.0;
        let curves =
            (0..300).map(|k| Curve::line(p(third * f64::from(k), 0.0), p(third * f64::from(k + 1), 1.0)));
        let mut svg = Svg::default();
        svg.path_data(&Path::new(curves.collect()), 2);
        let numbers = svg.text().replace(['M', 'l', 'h', 'v'], " ");
        let x: f64 = numbers.split_whitespace().step_by(1).enumerate().filter(|(k, _)| *k >= 2).fold(
            0.0,
            |sum, (k, n)| {
                // After the first line, whose Y rises, all lines are level.
                if k == 3 { sum } else { sum + n.parse::<f64>().unwrap() }
            },
        );
        assert!((x - 100.0).abs() < 1e-9, "{x}");
    }

    #[test]
    fn markup_and_control_characters_do_not_get_through() {
        assert_eq!(escape("a<b>&\"c\u{0}\u{1b}\n"), "a&lt;b&gt;&amp;&quot;c");
    }
}
