//! Lanes one below the other: frames, scales, lines, labels, and the axis of time under them.

use super::NARROW_TEXT_PX;
use super::time::{TimeScale, as_f64, round_step, ticks};
use crate::pen::{Number, Svg, escape, px};

/// Height of a lane with a scale.
pub(super) const LANE_PX: f64 = 110.0;

/// Between lanes; a lane's name stands there.
pub(super) const GAP_PX: f64 = 34.0;

/// A scale with values at its lower and upper edge.
#[derive(Clone, Copy)]
pub(super) struct Upright {
    top: f64,
    height: f64,
    most: f64,
}

impl Upright {
    pub(super) fn y(self, value: f64) -> f64 {
        self.top + self.height * (1.0 - (value / self.most).clamp(0.0, 1.0))
    }
}

/// Lanes drawn so far.
pub(super) struct Lanes<'a> {
    pub(super) svg: &'a mut Svg,
    pub(super) scale: TimeScale,
    pub(super) top: f64,
}

impl Lanes<'_> {
    pub(super) fn name(&mut self, text: &str) {
        let layout = self.scale.layout;
        self.svg.line(format_args!(
            "<text class=\"text bold\" x=\"{}\" y=\"{}\">{}</text>",
            px(if layout.is_narrow { NARROW_TEXT_PX } else { layout.left_px }),
            px(self.top - 8.0),
            escape(text)
        ));
    }

    /// The axis of time; gives where the document ends.
    pub(super) fn axis(&mut self) -> f64 {
        let top = self.top - GAP_PX + 4.0;
        let most = if self.scale.layout.is_narrow { 6.0 } else { 9.0 };
        let (step_s, unit_s, unit) = ticks(self.scale.whole_s, most);
        self.svg.line(format_args!(
            "<path class=\"axis\" d=\"M{} {}h{}\"/>",
            px(self.scale.left_px()),
            px(top),
            px(self.scale.columns_px())
        ));
        let mut at_s = 0.0;
        while at_s <= self.scale.whole_s + 1e-9 {
            let x = self.scale.x(at_s);
            self.svg.line(format_args!(
                "<path class=\"axis\" d=\"M{} {}v5\"/><text class=\"faint middle\" x=\"{}\" y=\"{}\">{}</text>",
                px(x),
                px(top),
                px(x),
                px(top + 18.0),
                Number(at_s / unit_s, 1)
            ));
            at_s += step_s;
        }
        let (class, aside, below) =
            if self.scale.layout.is_narrow { ("faint end", 0.0, 33.0) } else { ("faint", 14.0, 18.0) };
        self.svg.line(format_args!(
            "<text class=\"{class}\" x=\"{}\" y=\"{}\">{unit}</text>",
            px(self.scale.left_px() + self.scale.columns_px() + aside),
            px(top + below)
        ));
        top + 40.0
    }

    pub(super) fn frame(&mut self, height: f64) {
        self.svg.line(format_args!(
            "<rect class=\"lane\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/>",
            px(self.scale.left_px()),
            px(self.top),
            px(self.scale.columns_px()),
            px(height)
        ));
    }

    /// A lane with a scale from nothing to at least `most`.
    pub(super) fn upright(&mut self, most: f64, unit: &str) -> Upright {
        let step = round_step(most / 4.0);
        let most = (most / step).ceil().max(1.0) * step;
        self.frame(LANE_PX);
        let upright = Upright { top: self.top, height: LANE_PX, most };
        let mut value = 0.0;
        while value <= most + step * 1e-6 {
            let y = upright.y(value);
            self.svg.line(format_args!(
                "<path class=\"grid\" d=\"M{} {}h{}\"/><text class=\"faint end\" x=\"{}\" y=\"{}\">{} {unit}</text>",
                px(self.scale.left_px()),
                px(y),
                px(self.scale.columns_px()),
                px(self.scale.left_px() - 8.0),
                px(y + 4.0),
                Number(value, 1)
            ));
            value += step;
        }
        upright
    }

    /// A line through the columns that have a value; where none has, it runs on from the last.
    pub(super) fn curve(&mut self, class: &str, values: &[Option<f64>], upright: Upright) {
        let points = values.iter().enumerate().filter_map(|(k, value)| Some((k, (*value)?)));
        let mut drawn = Svg::default();
        let (mut letter, mut last_y) = ('M', f64::NAN);
        let mut waiting: Option<(f64, f64)> = None;
        for (k, value) in points {
            let (x, y) = (self.scale.left_px() + as_f64(k) + 0.5, upright.y(value));
            if (y - last_y).abs() < 0.05 {
                waiting = Some((x, y));
                continue;
            }
            for (x, y) in waiting.take().into_iter().chain([(x, y)]) {
                drawn.add(format_args!("{letter}{} {}", px(x), px(y)));
                letter = 'L';
            }
            last_y = y;
        }
        if let Some((x, y)) = waiting {
            drawn.add(format_args!("{letter}{} {}", px(x), px(y)));
        }
        if !drawn.text().is_empty() {
            self.svg.line(format_args!("<path class=\"{class}\" d=\"{}\"/>", drawn.text()));
        }
    }

    pub(super) fn limit(&mut self, value: f64, upright: Upright) {
        self.svg.line(format_args!(
            "<path class=\"limit\" d=\"M{} {}h{}\"/>",
            px(self.scale.left_px()),
            px(upright.y(value)),
            px(self.scale.columns_px())
        ));
    }

    pub(super) fn labels(&mut self, mut labels: Labels) {
        labels.spread();
        let end = self.scale.left_px() + self.scale.columns_px();
        let (class, x, up) = if self.scale.layout.is_narrow {
            ("text halo end", end - 4.0, 4.0)
        } else {
            ("text", end + 8.0, -4.0)
        };
        for (text, y) in labels.0 {
            self.svg.line(format_args!(
                "<text class=\"{class}\" x=\"{}\" y=\"{}\">{}</text>",
                px(x),
                px(y - up),
                escape(&text)
            ));
        }
    }

    /// A broken ring with a word, as the stop in the plate picture.
    pub(super) fn trouble(&mut self, at_s: f64, y: f64, text: &str) {
        let x = self.scale.x(at_s);
        let past_middle = x > self.scale.left_px() + self.scale.columns_px() / 2.0;
        let near_end = x > self.scale.left_px() + self.scale.columns_px() - 180.0 && past_middle;
        let (class, aside) = if near_end { ("stop-text halo end", -13.0) } else { ("stop-text halo", 13.0) };
        self.svg.line(format_args!(
            "<circle class=\"stop\" cx=\"{}\" cy=\"{}\" r=\"8\"/><text class=\"{class}\" x=\"{}\" y=\"{}\">{}</text>",
            px(x),
            px(y),
            px(x + aside),
            px(y - 9.0),
            escape(text)
        ));
    }
}

/// Words at the right end of lines, with their heights.
#[derive(Default)]
pub(super) struct Labels(Vec<(String, f64)>);

impl Labels {
    pub(super) fn add(&mut self, text: String, y: f64) {
        self.0.push((text, y));
    }

    pub(super) fn extend(&mut self, more: Option<(String, f64)>) {
        self.0.extend(more);
    }

    /// Moves labels apart so that none covers another.
    fn spread(&mut self) {
        const APART_PX: f64 = 14.0;
        self.0.sort_by(|a, b| a.1.total_cmp(&b.1));
        for k in 1..self.0.len() {
            let least = self.0[k - 1].1 + APART_PX;
            self.0[k].1 = self.0[k].1.max(least);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Labels;

    #[test]
    fn labels_do_not_cover_one_another() {
        let mut labels = Labels::default();
        for (text, y) in [("a", 20.0), ("b", 18.0), ("c", 21.0)] {
            labels.add(text.into(), y);
        }
        labels.spread();
        assert!(labels.0.windows(2).all(|pair| pair[1].1 - pair[0].1 >= 14.0), "{:?}", labels.0);
    }
}
