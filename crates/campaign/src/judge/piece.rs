//! Pieces of metal: squares that hang together by their sides.

use super::raster::{Raster, Run, Window};

/// A piece of metal, as far as it lies in a window.
#[derive(Clone, Debug)]
pub struct Piece {
    /// Its squares, row by row in no order.
    pub runs: Vec<Run>,
    /// Whether it goes on beyond the window: the skeleton holds it.
    pub goes_on: bool,
}

impl Piece {
    /// How many squares it has.
    #[must_use]
    pub fn count(&self) -> u64 {
        self.runs.iter().map(|run| u64::from((run.to - run.from + 1).unsigned_abs())).sum()
    }
}

/// When a search for a piece ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Until {
    /// Once all its squares in the window are found.
    Whole,
    /// As soon as it is known to go on beyond the window.
    GoesOn,
}

/// The piece of metal that holds `seed`; none where there is no metal.
#[must_use]
pub(super) fn piece(void: &Raster, seed: [i32; 2], window: Window, until: Until) -> Option<Piece> {
    let whole = void.whole();
    let window = Window {
        low: [0, 1].map(|axis| window.low[axis].max(whole.low[axis])),
        high: [0, 1].map(|axis| window.high[axis].min(whole.high[axis])),
    };
    if !window.holds(seed) {
        return None;
    }
    let first = void.gap(seed, window.low[0], window.high[0])?;
    let mut seen = Raster::new([window.wide(), window.tall()]);
    let mut found = Piece { runs: Vec::new(), goes_on: false };
    let mut waiting = vec![first];
    while let Some(range) = waiting.pop() {
        let mut at = range.from;
        while let Some(free) = void.next_free(at, range.row, range.to) {
            let Some(run) = void.gap([free, range.row], window.low[0], window.high[0]) else { break };
            at = run.to + 1;
            let local = |run: Run| Run {
                row: run.row - window.low[1],
                from: run.from - window.low[0],
                to: run.to - window.low[0],
            };
            if seen.add(local(run)) > 0 {
                found.runs.push(run);
                found.goes_on |= leaves(run, window, whole);
                if found.goes_on && until == Until::GoesOn {
                    return Some(found);
                }
                let beside = [run.row - 1, run.row + 1];
                let inside = |row: &i32| (window.low[1]..=window.high[1]).contains(row);
                waiting.extend(beside.into_iter().filter(inside).map(|row| Run { row, ..run }));
            }
            if at > range.to {
                break;
            }
        }
    }
    Some(found)
}

/// Whether a run touches a side of the window that is not the plate's own edge.
fn leaves(run: Run, window: Window, plate: Window) -> bool {
    let touches = |value: i32, side: i32, edge: i32| value == side && side != edge;
    touches(run.from, window.low[0], plate.low[0])
        || touches(run.to, window.high[0], plate.high[0])
        || touches(run.row, window.low[1], plate.low[1])
        || touches(run.row, window.high[1], plate.high[1])
}

#[cfg(test)]
mod tests {
    use super::super::raster::disc;
    use super::*;

    /// A ring of kerf about (10, 10) of radius 5, with a gap in it where asked.
    fn ring(gap_deg: f64) -> Raster {
        let mut void = Raster::new([200, 200]);
        let mut angle = gap_deg;
        while angle <= 360.0 {
            let at = [10.0 + 5.0 * angle.to_radians().cos(), 10.0 + 5.0 * angle.to_radians().sin()];
            disc(at, 0.6).for_each(|run| _ = void.add(run));
            angle += 1.0;
        }
        void
    }

    #[test]
    fn what_a_closed_kerf_surrounds_is_a_piece_by_itself() {
        let window = Window { low: [30, 30], high: [170, 170] };
        let found = piece(&ring(0.0), [100, 100], window, Until::Whole).unwrap();
        assert!(!found.goes_on);
        let area = f64::from(u32::try_from(found.count()).unwrap()) * 0.01;
        assert!((area - std::f64::consts::PI * 4.4 * 4.4).abs() < 1.0, "{area}");
        assert!(piece(&ring(0.0), [150, 100], window, Until::Whole).is_none(), "kerf is no metal");
    }

    #[test]
    fn a_gap_in_the_kerf_holds_it() {
        let window = Window { low: [30, 30], high: [170, 170] };
        for until in [Until::Whole, Until::GoesOn] {
            assert!(piece(&ring(30.0), [100, 100], window, until).unwrap().goes_on);
        }
    }

    #[test]
    fn the_edge_of_the_plate_holds_nothing() {
        let mut void = Raster::new([100, 100]);
        (0..100).for_each(|row| _ = void.add(Run { row, from: 50, to: 60 }));
        let window = Window { low: [-5, -5], high: [70, 200] };
        assert!(!piece(&void, [10, 10], window, Until::Whole).unwrap().goes_on);
        assert!(piece(&void, [65, 10], window, Until::Whole).unwrap().goes_on);
    }
}
