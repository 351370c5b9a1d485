//! Time as columns of pixels, and steps of axes.

use super::Layout;

/// Time to pixels.
#[derive(Clone, Copy)]
pub(super) struct TimeScale {
    pub(super) whole_s: f64,
    pub(super) layout: Layout,
}

impl TimeScale {
    pub(super) fn of(whole_s: f64, layout: Layout) -> Self {
        Self { whole_s: if whole_s > 0.0 && whole_s.is_finite() { whole_s } else { 1.0 }, layout }
    }

    pub(super) fn x(self, at_s: f64) -> f64 {
        self.left_px() + (at_s / self.whole_s).clamp(0.0, 1.0) * self.columns_px()
    }

    pub(super) fn left_px(self) -> f64 {
        self.layout.left_px
    }

    pub(super) fn columns_px(self) -> f64 {
        self.layout.columns_px()
    }

    /// The column of a time.
    pub(super) fn column(self, at_s: f64) -> usize {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the columns")]
        let column = (at_s / self.whole_s * self.columns_px()).clamp(0.0, self.columns_px() - 1.0) as usize;
        column
    }

    pub(super) fn column_s(self) -> f64 {
        self.whole_s / self.columns_px()
    }
}

/// How much of each column stretches of time cover, 0 to 1.
pub(super) fn coverage(scale: TimeScale, stretches: impl Iterator<Item = (f64, f64)>) -> Vec<f64> {
    let (mut columns, width_s) = (vec![0.0; scale.layout.columns], scale.column_s());
    for (from_s, to_s) in stretches {
        let (first, last) = (scale.column(from_s), scale.column(to_s));
        for (k, column) in columns.iter_mut().enumerate().take(last + 1).skip(first) {
            let begins_s = as_f64(k) * width_s;
            let covered = to_s.min(begins_s + width_s) - from_s.max(begins_s);
            *column += (covered / width_s).clamp(0.0, 1.0);
        }
    }
    columns.iter().map(|share: &f64| share.min(1.0)).collect()
}

pub(super) fn as_f64(k: usize) -> f64 {
    f64::from(u32::try_from(k).unwrap_or(u32::MAX))
}

/// The lowest value in each column; none where there is none.
pub(super) fn lowest_by_column(
    scale: TimeScale,
    points: impl Iterator<Item = (f64, f64)>,
    in_units: impl Fn(f64) -> f64,
) -> Vec<Option<f64>> {
    let mut columns: Vec<Option<f64>> = vec![None; scale.layout.columns];
    for (at_s, value) in points.filter(|(at_s, _)| *at_s <= scale.whole_s) {
        let (column, value) = (&mut columns[scale.column(at_s)], in_units(value));
        *column = Some(column.map_or(value, |lowest| lowest.min(value)));
    }
    columns
}

/// Ticks of the axis, at most so many: their distance in seconds, the unit's seconds and its name.
pub(super) fn ticks(whole_s: f64, most: f64) -> (f64, f64, &'static str) {
    let (unit_s, unit) = match whole_s {
        s if s < 120.0 => (1.0, "s"),
        s if s < 7200.0 => (60.0, "min"),
        _ => (3600.0, "h"),
    };
    (round_step(whole_s / unit_s / most) * unit_s, unit_s, unit)
}

/// A round step not below `least`: 1, 2 or 5 times a power of ten.
pub(super) fn round_step(least: f64) -> f64 {
    let power = 10f64.powf(least.max(1e-9).log10().floor());
    let steps = [1.0, 2.0, 5.0, 10.0];
    let step = steps.into_iter().find(|step| step * power >= least * (1.0 - 1e-9)).unwrap_or(10.0);
    step * power
}

#[cfg(test)]
mod tests {
    use super::super::WIDE;
    use super::*;

    #[test]
    fn steps_are_round() {
        for (least, step) in [(0.9, 1.0), (1.0, 1.0), (1.1, 2.0), (3.0, 5.0), (7.0, 10.0), (0.13, 0.2)] {
            assert!((round_step(least) - step).abs() < 1e-12, "{least}");
        }
        assert_eq!(ticks(600.0, 9.0).2, "min");
    }

    /// What stretches cover is shared out to columns without loss.
    #[test]
    fn columns_keep_the_whole_time() {
        let scale = TimeScale::of(1000.0, WIDE);
        let stretches: Vec<(f64, f64)> =
            (0..90u32).map(|k| (f64::from(k) * 11.0, f64::from(k) * 11.0 + 0.1 * f64::from(k))).collect();
        let whole: f64 = stretches.iter().map(|(from, to)| to - from).sum();
        let columns: f64 = coverage(scale, stretches.into_iter()).iter().sum();
        assert!((columns * scale.column_s() - whole).abs() < 1e-9, "{columns}");
    }
}
