//! How a forecast run unfolds on the plate: when the torch is where along each cut, and when pieces come loose; for a
//! screen to show the plate at any time.

use crate::Reading;
use cell::Forecast;

/// Stretches of equal length that a cut is told in: within one the torch is taken to move evenly, which at a screen's
/// resolution shows no difference.
pub const STRETCHES: u32 = 8;

/// A run on the plate.
#[derive(Clone, Debug, PartialEq)]
pub struct Unfolding {
    /// How long it takes, in seconds.
    pub whole_s: f64,
    /// The cuts that it reaches, in order.
    pub cuts: Vec<CutTimes>,
    /// Pieces in the order in which they come loose: when, in seconds, and the outline's path data in millimetres.
    pub loose: Vec<(f64, String)>,
}

/// When the torch is where along a cut.
#[derive(Clone, Debug, PartialEq)]
pub struct CutTimes {
    /// Number of the cut, from 1.
    pub cut: u32,
    /// When it is at the beginning, after each of [`STRETCHES`] stretches, and so at the end, in seconds; rising.
    pub at_s: Vec<f64>,
}

/// How `forecast`, a run of the program of `reading`, unfolds.
#[must_use]
pub fn unfolding(reading: &Reading, forecast: &Forecast) -> Unfolding {
    let list = &reading.list;
    let zero_s = forecast.log.from_s;
    let times = |cut: &cuts::Cut| {
        let length_mm = cut.path.length_mm();
        let along_mm = |stretch: u32| length_mm * f64::from(stretch) / f64::from(STRETCHES);
        let at_s = (0..=STRETCHES).map(|stretch| forecast.time_at(cut, along_mm(stretch)));
        let at_s = at_s.map(|at| at.map(|at| at - zero_s)).collect::<Option<Vec<f64>>>()?;
        Some(CutTimes { cut: cut.number(), at_s })
    };
    let loose = forecast.loose.iter().filter_map(|piece| {
        let outline = list.contour(piece.outline).closed.as_ref()?;
        Some((piece.at_s - zero_s, draw::outline_data(outline)))
    });
    Unfolding {
        whole_s: forecast.log.to_s - zero_s,
        cuts: list.cuts.iter().filter_map(times).collect(),
        loose: loose.collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::{STRETCHES, unfolding};
    use crate::{Inputs, Reading, forecast};

    #[test]
    fn times_rise_along_each_cut_and_a_part_comes_loose_when_its_outline_is_made() {
        let square = b"G21 G90\nG0 X5 Y10\nM3\nG1 X10 F2000\nY70\nX70\nY10\nX10\nM5\nM30\n";
        let mut inputs = Inputs::bundled("a.nc", square, "", "thickness = \"6 mm\"");
        let reading = Reading::of(&mut inputs);
        let run = unfolding(&reading, &forecast(&inputs, &reading));
        let [cut] = run.cuts.as_slice() else { panic!("one cut: {run:?}") };
        assert_eq!(cut.at_s.len(), STRETCHES as usize + 1);
        assert!(cut.at_s.windows(2).all(|pair| pair[0] < pair[1]), "{:?}", cut.at_s);
        assert!(cut.at_s[0] >= 0.0 && cut.at_s[8] <= run.whole_s + 1e-9);
        let [(at_s, outline)] = run.loose.as_slice() else { panic!("one piece: {run:?}") };
        assert!((at_s - cut.at_s[8]).abs() < 0.5 && outline.starts_with('M'), "{at_s} {outline}");
    }
}
