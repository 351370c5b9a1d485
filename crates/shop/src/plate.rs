//! A plate's or remnant's outline, and its text forms.

use std::str::FromStr;
use units::Length;
use units::parse::{LENGTH, ParseError, Problem};

/// A plate's or remnant's outline: a ring of corners, and holes, in plate coordinates (lower left corner of the
/// bounding box at zero).
#[derive(Clone, Debug, PartialEq)]
pub struct PlateOutline {
    /// Corners of the outside, counter-clockwise, not repeated.
    pub ring: Vec<[Length; 2]>,
    /// Rings of holes.
    pub holes: Vec<Vec<[Length; 2]>>,
}

/// What is wrong with an outline.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OutlineFault {
    /// A ring has fewer than three corners.
    TooFewCorners,
    /// A ring encloses less than [`LEAST_AREA_MM2`].
    NoArea,
    /// Two edges of a ring cross.
    CrossesItself,
    /// A hole does not lie inside the outside.
    HoleOutside,
}

impl OutlineFault {
    /// What it is, to be put after "the outline".
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::TooFewCorners => "has fewer than three corners",
            Self::NoArea => "encloses no area",
            Self::CrossesItself => "crosses itself",
            Self::HoleOutside => "has a hole that does not lie inside it",
        }
    }
}

/// The least area that counts as a plate, in square millimetres: smaller than any piece a torch can be put to, larger
/// than what rounding makes of corners in one line.
pub const LEAST_AREA_MM2: f64 = 100.0;

impl PlateOutline {
    /// A rectangle `width` × `height`.
    #[must_use]
    pub fn rectangle(width: Length, height: Length) -> Self {
        let zero = Length::ZERO;
        Self { ring: vec![[zero, zero], [width, zero], [width, height], [zero, height]], holes: Vec::new() }
    }

    /// The outline with these corners and holes, each ring turned counter-clockwise and shifted so that the lower
    /// left corner of the box around the outside lies at zero.
    ///
    /// # Errors
    /// If a ring has no area or crosses itself, or a hole does not lie inside.
    pub fn new(ring: Vec<[Length; 2]>, holes: Vec<Vec<[Length; 2]>>) -> Result<Self, OutlineFault> {
        let rings = std::iter::once(&ring).chain(&holes);
        rings.map(|ring| sound(ring)).collect::<Result<Vec<_>, _>>()?;
        if holes.iter().flatten().any(|corner| !inside(&ring, *corner)) {
            return Err(OutlineFault::HoleOutside);
        }
        let least = |axis: usize| ring.iter().map(|c| c[axis]).reduce(Length::min).unwrap_or_default();
        let origin = [least(0), least(1)];
        let placed = |ring: Vec<[Length; 2]>| {
            let mut ring: Vec<_> = ring.into_iter().map(|c| [c[0] - origin[0], c[1] - origin[1]]).collect();
            if area_mm2(&ring) < 0.0 {
                ring.reverse();
            }
            ring
        };
        Ok(Self { holes: holes.into_iter().map(placed).collect(), ring: placed(ring) })
    }

    /// Its width and height, that is those of the box around it.
    #[must_use]
    pub fn size(&self) -> [Length; 2] {
        [0, 1].map(|axis| self.ring.iter().map(|c| c[axis]).reduce(Length::max).unwrap_or_default())
    }

    /// Its area in square millimetres, holes taken off.
    #[must_use]
    pub fn area_mm2(&self) -> f64 {
        area_mm2(&self.ring).abs() - self.holes.iter().map(|hole| area_mm2(hole).abs()).sum::<f64>()
    }
}

impl FromStr for PlateOutline {
    type Err = ParseError;

    /// Reads `2500x1250 mm`, `2500 mm x 1250 mm` or `98.4x49.2 in`.
    fn from_str(text: &str) -> Result<Self, ParseError> {
        let [width, height] = pair(text)?;
        if width > Length::ZERO && height > Length::ZERO && (width.mm() * height.mm()) >= LEAST_AREA_MM2 {
            return Ok(Self::rectangle(width, height));
        }
        Err(ParseError { read: text.trim().to_owned(), expected: SIZE, problem: Problem::OutOfRange })
    }
}

const SIZE: units::parse::Expected =
    units::parse::Expected { quantity: "a plate size", example: "2500x1250 mm", ..LENGTH };

/// Two lengths with an `x` between; the first may leave its unit to the second.
pub(crate) fn pair(text: &str) -> Result<[Length; 2], ParseError> {
    let error = |problem| ParseError { read: text.trim().to_owned(), expected: SIZE, problem };
    let (first, second) = text.split_once(['x', 'X', '×', '*']).ok_or_else(|| error(Problem::UnitMissing))?;
    let of = |e: ParseError| ParseError { expected: SIZE, ..e };
    let y: Length = second.parse().map_err(of)?;
    let unit = second.trim_start_matches(|c: char| c.is_ascii_digit() || " \t./+-".contains(c));
    let x = match first.parse::<Length>() {
        Err(ParseError { problem: Problem::UnitMissing, .. }) => format!("{first} {unit}").parse(),
        other => other,
    };
    Ok([x.map_err(of)?, y])
}

fn sound(ring: &[[Length; 2]]) -> Result<(), OutlineFault> {
    if ring.len() < 3 {
        return Err(OutlineFault::TooFewCorners);
    }
    if crosses_itself(ring) {
        return Err(OutlineFault::CrossesItself);
    }
    if area_mm2(ring).abs() < LEAST_AREA_MM2 { Err(OutlineFault::NoArea) } else { Ok(()) }
}

/// Signed area, positive if counter-clockwise.
fn area_mm2(ring: &[[Length; 2]]) -> f64 {
    let next = ring.iter().cycle().skip(1);
    ring.iter().zip(next).map(|(a, b)| a[0].mm() * b[1].mm() - b[0].mm() * a[1].mm()).sum::<f64>() / 2.0
}

/// Whether two edges that are not neighbours cross. Quadratic: outlines are written by hand and have few corners.
fn crosses_itself(ring: &[[Length; 2]]) -> bool {
    let edge = |k: usize| (ring[k], ring[(k + 1) % ring.len()]);
    let neighbours = |a: usize, b: usize| b == a + 1 || (a == 0 && b == ring.len() - 1);
    (0..ring.len()).any(|a| {
        (a + 1..ring.len()).filter(|b| !neighbours(a, *b)).any(|b| {
            let ((p, q), (r, s)) = (edge(a), edge(b));
            let opposite = |u: f64, v: f64| u * v < 0.0;
            opposite(turn(p, q, r), turn(p, q, s)) && opposite(turn(r, s, p), turn(r, s, q))
        })
    })
}

fn turn(a: [Length; 2], b: [Length; 2], c: [Length; 2]) -> f64 {
    let (ab, ac) = ([b[0] - a[0], b[1] - a[1]], [c[0] - a[0], c[1] - a[1]]);
    ab[0].mm() * ac[1].mm() - ab[1].mm() * ac[0].mm()
}

/// Whether `p` lies inside `ring`, by the parity of edges crossed to its right.
fn inside(ring: &[[Length; 2]], p: [Length; 2]) -> bool {
    let next = ring.iter().cycle().skip(1);
    ring.iter().zip(next).fold(false, |inside, (a, b)| {
        let spans = (a[1] > p[1]) != (b[1] > p[1]);
        let at = || a[0] + (b[0] - a[0]) * ((p[1] - a[1]) / (b[1] - a[1]));
        inside != (spans && p[0] < at())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mm(corners: &[(f64, f64)]) -> Vec<[Length; 2]> {
        corners.iter().map(|(x, y)| [Length::from_mm(*x), Length::from_mm(*y)]).collect()
    }

    #[test]
    fn sizes_in_all_their_forms() {
        for (text, width, height) in [
            ("2500x1250 mm", 2500.0, 1250.0),
            ("2500 x 1250 mm", 2500.0, 1250.0),
            ("2500 mm x 1250 mm", 2500.0, 1250.0),
            ("2.5 m x 1250mm", 2500.0, 1250.0),
            ("8×4 ft", 2438.4, 1219.2),
            ("98 1/2 x 49 1/4 in", 2501.9, 1250.95),
        ] {
            let plate: PlateOutline = text.parse().unwrap_or_else(|error| panic!("{text}: {error}"));
            let [w, h] = plate.size();
            assert!((w.mm() - width).abs() < 1e-9 && (h.mm() - height).abs() < 1e-9, "{text}: {w} x {h}");
        }
    }

    #[test]
    fn refused_sizes_say_why() {
        for (text, problem) in [
            ("2500x1250", Problem::UnitMissing),
            ("2500 mm", Problem::UnitMissing),
            ("0x1250 mm", Problem::OutOfRange),
            ("2500x-1250 mm", Problem::OutOfRange),
            ("1x1 mm", Problem::OutOfRange),
            ("2500 bar x 1250 mm", Problem::UnitUnknown("bar".into())),
            ("", Problem::UnitMissing),
        ] {
            assert_eq!(text.parse::<PlateOutline>().expect_err(text).problem, problem, "{text}");
        }
    }

    #[test]
    fn outlines_are_turned_and_shifted() {
        let clockwise = mm(&[(10.0, 10.0), (10.0, 60.0), (110.0, 60.0), (110.0, 10.0)]);
        let hole = mm(&[(20.0, 20.0), (40.0, 20.0), (40.0, 40.0)]);
        let plate = PlateOutline::new(clockwise, vec![hole]).expect("a sound outline");
        assert!(area_mm2(&plate.ring) > 0.0);
        assert_eq!(plate.size(), [Length::from_mm(100.0), Length::from_mm(50.0)]);
        assert_eq!(plate.holes[0][0], [Length::from_mm(10.0), Length::from_mm(10.0)]);
        assert!((plate.area_mm2() - (5000.0 - 200.0)).abs() < 1e-9);
    }

    #[test]
    fn unsound_outlines_are_refused() {
        let square = mm(&[(0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0)]);
        let bow_tie = mm(&[(0.0, 0.0), (100.0, 100.0), (100.0, 0.0), (0.0, 50.0)]);
        let in_line = mm(&[(0.0, 0.0), (50.0, 0.0), (100.0, 0.0)]);
        let outside = mm(&[(150.0, 10.0), (170.0, 10.0), (160.0, 40.0)]);
        for (ring, holes, fault) in [
            (square[..2].to_vec(), vec![], OutlineFault::TooFewCorners),
            (bow_tie, vec![], OutlineFault::CrossesItself),
            (in_line, vec![], OutlineFault::NoArea),
            (square.clone(), vec![outside], OutlineFault::HoleOutside),
            (square.clone(), vec![square[..2].to_vec()], OutlineFault::TooFewCorners),
        ] {
            assert_eq!(PlateOutline::new(ring, holes), Err(fault));
        }
    }
}
