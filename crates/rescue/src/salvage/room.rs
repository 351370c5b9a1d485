//! At most how much room there is about any place of the plate: a coarse map, asked before exact distances are.
//!
//! Places along all obstacles are entered into squares; the distance of every square to the nearest that holds one, exact
//! between the squares' middles, is found for all of them in one go. What it says is never less than the room there is,
//! so that whatever it rules out is ruled out.

use geometry::{Bounds, Curve, Point, Program};

/// Finest square, in millimetres.
const SQUARE_MM_MIN: f64 = 2.0;

/// Most squares: four bytes each, and a tenth of a second to fill.
const SQUARES_MAX: f64 = 2e6;

/// The map.
#[derive(Debug)]
pub(super) struct Room {
    origin: Point<Program>,
    square_mm: f64,
    columns: usize,
    /// Distance of each square to the nearest with an obstacle, in squares, row by row.
    distances: Vec<f32>,
}

impl Room {
    /// The map of `bounds` with these obstacles.
    pub(super) fn of<'c>(
        bounds: Bounds<Program>,
        curves: impl IntoIterator<Item = &'c Curve<Program>>,
    ) -> Self {
        let (width, height) = (bounds.max.x - bounds.min.x, bounds.max.y - bounds.min.y);
        let square_mm = (width * height / SQUARES_MAX).sqrt().max((width + height) / 1e5).max(SQUARE_MM_MIN);
        let (columns, rows) = (count(width / square_mm), count(height / square_mm));
        let mut room =
            Self { origin: bounds.min, square_mm, columns, distances: vec![f32::INFINITY; columns * rows] };
        for curve in curves {
            let steps = count(curve.length_mm() / square_mm);
            for k in 0..=steps {
                let share = as_f64(k) / as_f64(steps);
                if let Some(square) = room.square_of(curve.point_at(curve.length_mm() * share)) {
                    room.distances[square] = 0.0;
                }
            }
        }
        room.spread(rows);
        room
    }

    /// No place of the plate within `within_mm` of `p` has more room than this, in millimetres.
    pub(super) fn at_most_mm(&self, p: Point<Program>, within_mm: f64) -> f64 {
        self.square_of(p).map_or(f64::INFINITY, |square| {
            (f64::from(self.distances[square]) + std::f64::consts::SQRT_2) * self.square_mm + within_mm
        })
    }

    fn square_of(&self, p: Point<Program>) -> Option<usize> {
        let (x, y) = ((p.x - self.origin.x) / self.square_mm, (p.y - self.origin.y) / self.square_mm);
        let rows = self.distances.len() / self.columns;
        let inside = x >= 0.0 && y >= 0.0 && x < as_f64(self.columns) && y < as_f64(rows);
        inside.then(|| whole(y) * self.columns + whole(x))
    }

    /// From 0 where an obstacle is and infinity elsewhere to distances: along the rows, then along the columns, each a
    /// lower envelope of parabolas. Source: Felzenszwalb and Huttenlocher, Distance transforms of sampled functions
    /// (from memory).
    fn spread(&mut self, rows: usize) {
        let columns = self.columns;
        let mut envelope = Envelope::default();
        for row in self.distances.chunks_exact_mut(columns) {
            envelope.squares_along(row);
        }
        let mut column = vec![0.0; rows];
        for x in 0..columns {
            for (y, value) in column.iter_mut().enumerate() {
                *value = self.distances[y * columns + x];
            }
            envelope.squares_along(&mut column);
            for (y, value) in column.iter().enumerate() {
                self.distances[y * columns + x] = value.sqrt();
            }
        }
    }
}

/// Squared distances along one line.
#[derive(Default)]
struct Envelope {
    /// Where the parabolas of the envelope stand, with their heights.
    feet: Vec<(f64, f64)>,
    /// From where each of them is the lowest.
    from: Vec<f64>,
}

impl Envelope {
    /// Replaces each value by the least of all values plus the squared distance to their places.
    fn squares_along(&mut self, values: &mut [f32]) {
        self.feet.clear();
        self.from.clear();
        for (place, value) in values.iter().enumerate().filter(|(_, value)| value.is_finite()) {
            let (place, value) = (as_f64(place), f64::from(*value));
            let mut from = f64::NEG_INFINITY;
            while let Some((foot, height)) = self.feet.last() {
                from = (value + place * place - height - foot * foot) / (2.0 * (place - foot));
                if self.from.last().is_some_and(|last| from <= *last) {
                    self.feet.pop();
                    self.from.pop();
                    from = f64::NEG_INFINITY;
                } else {
                    break;
                }
            }
            self.feet.push((place, value));
            self.from.push(from);
        }
        if self.feet.is_empty() {
            return;
        }
        let mut k = 0;
        for (place, value) in values.iter_mut().enumerate() {
            let place = as_f64(place);
            while self.from.get(k + 1).is_some_and(|from| *from <= place) {
                k += 1;
            }
            let (foot, height) = self.feet[k];
            #[expect(clippy::cast_possible_truncation, reason = "a distance on a plate, to seven digits")]
            let least = (height + (place - foot) * (place - foot)) as f32;
            *value = least;
        }
    }
}

#[expect(clippy::cast_precision_loss, reason = "some thousand squares a side")]
fn as_f64(k: usize) -> f64 {
    k as f64
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "held against the map's size before"
)]
fn whole(x: f64) -> usize {
    x as usize
}

fn count(x: f64) -> usize {
    whole(x.ceil().clamp(1.0, 1e6))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_never_says_less_than_there_is_and_little_more() {
        let bounds = Bounds { min: Point::new(-20.0, 10.0), max: Point::new(380.0, 310.0) };
        let mut random = nests::Random::new(3);
        let mut place = || Point::new(random.between(-20.0, 380.0), random.between(10.0, 310.0));
        let lines: Vec<Curve<Program>> = (0..6).map(|_| Curve::line(place(), place())).collect();
        let room = Room::of(bounds, &lines);
        for _ in 0..2000 {
            let p = place();
            let there_is = lines.iter().map(|line| line.nearest(p).distance_mm).fold(f64::INFINITY, f64::min);
            let said = room.at_most_mm(p, 0.0);
            assert!(said >= there_is - 1e-3, "{said} at {p:?}, where {there_is} is");
            assert!(said <= there_is + 4.0 * room.square_mm, "{said} at {p:?}, where {there_is} is");
        }
        assert!(room.at_most_mm(Point::new(1000.0, 0.0), 0.0).is_infinite());
        let empty = Room::of(bounds, &[]);
        assert!(empty.at_most_mm(Point::new(5.0, 50.0), 3.0).is_infinite());
    }
}
