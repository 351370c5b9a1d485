//! Texts carried to where a plate lies that has moved, word by word: a test's own, which shares nothing with the
//! planner's writer.

use geometry::{Placement, Point, Program};
use nc::{ArcCenters, Dialect};
use proof::Pose;
use units::Length;

pub(crate) type Lies = Placement<Program, Program>;

/// A plate that lies so, its place known to hundredths of a millimetre.
pub(crate) fn pose(turn_rad: f64, shift_mm: [f64; 2]) -> Pose {
    let placement = Lies::new(turn_rad, Point::new(shift_mm[0], shift_mm[1]));
    let (turn, shift) = (1e-5_f64.powi(2), 0.01_f64.powi(2));
    Pose {
        placement,
        pivot: Point::new(200.0, 100.0),
        covariance: [[turn, 0.0, 0.0], [0.0, shift, 0.0], [0.0, 0.0, shift]],
        stretch: 0.0,
        tolerance: Length::from_mm(1.0),
    }
}

/// A text in absolute millimetres, its arcs written by their centres, carried to where the plate lies: every X, Y, I and
/// J up to the last torch-off.
pub(crate) fn carried(text: &str, dialect: &Dialect, lies: &Lies) -> String {
    let lines: Vec<&str> = text.lines().collect();
    let off = dialect.torch_off[0].to_string();
    let last = lines.iter().rposition(|line| *line == off).expect("it ends a cut");
    let absolute = dialect.arc_centers_from_start.is_none() && dialect.arc_centers == ArcCenters::Absolute;
    let mut at: Point<Program> = Point::ORIGIN;
    let mut carried = String::new();
    for (k, line) in lines.into_iter().enumerate() {
        let value = |letter: char| {
            let word = line.split(' ').find(|word| word.starts_with(letter))?;
            word[1..].parse::<f64>().ok()
        };
        let (x, y) = (value('X'), value('Y'));
        if k > last || (x.is_none() && y.is_none()) {
            carried += line;
        } else {
            let to = Point::new(x.unwrap_or(at.x), y.unwrap_or(at.y));
            let center = value('I')
                .zip(value('J'))
                .map(|(i, j)| if absolute { Point::new(i, j) } else { Point::new(at.x + i, at.y + j) });
            let mut words: Vec<String> = line
                .split(' ')
                .filter(|word| !word.starts_with(['X', 'Y', 'I', 'J']))
                .map(str::to_owned)
                .collect();
            words.insert(1, places(dialect, ['X', 'Y'], lies.point(to), Point::ORIGIN));
            if let Some(center) = center {
                let base = if absolute { Point::ORIGIN } else { read(dialect, lies.point(at)) };
                words.insert(2, places(dialect, ['I', 'J'], lies.point(center), base));
            }
            carried += &words.join(" ");
            at = to;
        }
        carried.push('\n');
    }
    carried
}

fn places(dialect: &Dialect, letters: [char; 2], p: Point<Program>, base: Point<Program>) -> String {
    let decimals = usize::from(dialect.decimals_mm);
    format!("{}{:.decimals$} {}{:.decimals$}", letters[0], p.x - base.x, letters[1], p.y - base.y)
}

/// A place as it is read back.
fn read(dialect: &Dialect, p: Point<Program>) -> Point<Program> {
    let tick = 10f64.powi(-i32::from(dialect.decimals_mm));
    Point::new((p.x / tick).round() * tick, (p.y / tick).round() * tick)
}
