//! What a torch is told, as plain numbers: no text, no modes, no geometry of anybody else's.

use super::physics;

/// A cut as it is told.
#[derive(Clone, Debug, PartialEq)]
pub struct Told {
    /// How it is begun.
    pub start: Start,
    /// Where, in the program's frame.
    pub from: [f64; 2],
    /// The motions until the torch goes out.
    pub moves: Vec<Move>,
}

/// A motion from wherever the torch stands. Places are millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Move {
    /// Where it ends.
    pub to: [f64; 2],
    /// For an arc: its centre, and whether it runs counter-clockwise. One that ends where it begins is a whole circle.
    pub about: Option<([f64; 2], bool)>,
    /// Speed in millimetres a second; none for a rapid.
    pub speed_mm_s: Option<f64>,
}

/// A start.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Start {
    /// Height above the plate's top; by the control or by hand where the program does not move the torch up and down.
    pub height_mm: f64,
    /// Whether it only marks.
    pub marks: bool,
    /// Width of the kerf.
    pub kerf_mm: f64,
    /// Height while cutting.
    pub cut_height_mm: f64,
    /// The wait that a pierce takes.
    pub pierce_s: f64,
    /// The process's own speed, millimetres a second.
    pub speed_mm_s: f64,
}

impl Start {
    /// Whether a torch so many millimetres above the plate's top starts at cut height: on a wall, and without a crater.
    #[must_use]
    pub fn is_low_at(&self, height_mm: f64) -> bool {
        height_mm <= physics::LOW_START * self.cut_height_mm
    }
}

impl Move {
    /// Length in X and Y from `from`, in millimetres.
    #[must_use]
    pub fn length_mm(&self, from: [f64; 2]) -> f64 {
        match self.about {
            None => distance(from, self.to),
            Some((centre, ccw)) => distance(from, centre) * sweep(from, self.to, centre, ccw).abs(),
        }
    }

    /// The place a share of its way along from `from`.
    #[must_use]
    pub fn at(&self, from: [f64; 2], share: f64) -> [f64; 2] {
        match self.about {
            None => [0, 1].map(|axis| from[axis] + (self.to[axis] - from[axis]) * share),
            Some((centre, ccw)) => {
                let begins = libm::atan2(from[1] - centre[1], from[0] - centre[0]);
                let angle = begins + sweep(from, self.to, centre, ccw) * share;
                // The radius runs from that at the start to that at the end, which rounding sets a little apart.
                let radius = distance(from, centre) * (1.0 - share) + distance(self.to, centre) * share;
                [centre[0] + radius * libm::cos(angle), centre[1] + radius * libm::sin(angle)]
            }
        }
    }
}

/// Angle from `from` to `to` about `centre`, in radians, with sign; a whole turn where both are one place.
fn sweep(from: [f64; 2], to: [f64; 2], centre: [f64; 2], ccw: bool) -> f64 {
    let angle = |p: [f64; 2]| libm::atan2(p[1] - centre[1], p[0] - centre[0]);
    let whole = std::f64::consts::TAU;
    let turn = (angle(to) - angle(from)).rem_euclid(whole);
    // Half a thousandth of a millimetre apart is one place: no program means an arc that short.
    let turn = if distance(from, to) < 5e-4 { 0.0 } else { turn };
    match (ccw, turn > 0.0) {
        (true, true) => turn,
        (true, false) => whole,
        (false, true) => turn - whole,
        (false, false) => -whole,
    }
}

/// Distance between two places.
#[must_use]
pub fn distance(a: [f64; 2], b: [f64; 2]) -> f64 {
    let (x, y) = (a[0] - b[0], a[1] - b[1]);
    (x * x + y * y).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn arcs_run_the_way_they_are_told() {
        let arc = |to, ccw| Move { to, about: Some(([0.0, 0.0], ccw)), speed_mm_s: Some(1.0) };
        let quarter = std::f64::consts::FRAC_PI_2 * 10.0;
        assert!((arc([0.0, 10.0], true).length_mm([10.0, 0.0]) - quarter).abs() < 1e-9);
        assert!((arc([0.0, 10.0], false).length_mm([10.0, 0.0]) - 3.0 * quarter).abs() < 1e-9);
        assert!((arc([10.0, 0.0], false).length_mm([10.0, 0.0]) - 4.0 * quarter).abs() < 1e-9);
        let half = arc([0.0, 10.0], false).at([10.0, 0.0], 2.0 / 3.0);
        assert!(distance(half, [-10.0, 0.0]) < 1e-9, "{half:?}");
    }
}
