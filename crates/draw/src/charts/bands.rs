//! What the table does: a band of the arc, and one stacked by what the time goes into.

use super::NARROW_TEXT_PX;
use super::lanes::{GAP_PX, Lanes};
use super::time::{TimeScale, as_f64, coverage};
use crate::pen::{Svg, escape, px};
use cell::{Forecast, Kind};
use units::Duration;

/// Height of a lane that is a band.
const BAND_PX: f64 = 26.0;
/// From line to line of what the fills mean.
const KEY_PX: f64 = 18.0;

/// How each kind of time is filled: the same forms in print, where there is no colour.
const FILLS: [(Kind, &str, &str); 5] = [
    (Kind::Cut, "cut", "cutting"),
    (Kind::Pierce, "pierce", "start and pierce"),
    (Kind::TouchOff, "touch", "touch-off"),
    (Kind::Travel, "go", "travel"),
    (Kind::Wait, "wait", "waiting"),
];

pub(super) fn patterns(svg: &mut Svg) {
    svg.line(format_args!(
        "<pattern id=\"tc-pierce\" width=\"5\" height=\"5\" patternUnits=\"userSpaceOnUse\">\
         <path class=\"pierce-ink\" d=\"M0 5L5 0M-1 1L1 -1M4 6L6 4\"/></pattern>\n\
         <pattern id=\"tc-touch\" width=\"5\" height=\"5\" patternUnits=\"userSpaceOnUse\">\
         <circle class=\"touch-ink\" cx=\"2.5\" cy=\"2.5\" r=\"1.4\"/></pattern>\n\
         <pattern id=\"tc-go\" width=\"4\" height=\"6\" patternUnits=\"userSpaceOnUse\">\
         <path class=\"go-ink\" d=\"M0 3H4\"/></pattern>"
    ));
}

impl Lanes<'_> {
    /// What the table does: a band of the arc, and one stacked by what the time goes into.
    pub(super) fn bands(&mut self, forecast: &Forecast) {
        self.top += 8.0;
        self.name("Arc");
        let arcs = forecast.log.gas.iter().filter(|gas| gas.arc).map(|gas| (gas.from_s, gas.to_s));
        let shares = coverage(self.scale, arcs);
        self.frame(BAND_PX);
        let (svg, bottom) = (&mut *self.svg, self.top + BAND_PX);
        svg.add(format_args!("<path class=\"arc\" d=\"M{} {}", px(self.scale.left_px()), px(bottom)));
        steps(svg, self.scale, &shares, |share| bottom - share * BAND_PX);
        svg.line(format_args!("V{}Z\"/>", px(bottom)));
        self.top += BAND_PX + GAP_PX;
        self.name("What the time goes into");
        self.kinds(forecast);
        self.key(forecast);
    }

    fn kinds(&mut self, forecast: &Forecast) {
        self.frame(BAND_PX);
        let (mut below, bottom) = (vec![0.0; self.scale.layout.columns], self.top + BAND_PX);
        for (kind, class, _) in FILLS {
            let spells = forecast.log.spells.iter().filter(|spell| spell.kind == kind);
            let shares = coverage(self.scale, spells.map(|spell| (spell.from_s, spell.to_s)));
            if shares.iter().all(|share| *share <= 0.0) {
                continue;
            }
            let above: Vec<f64> =
                below.iter().zip(&shares).map(|(a, b): (&f64, &f64)| (a + b).min(1.0)).collect();
            let svg = &mut *self.svg;
            svg.add(format_args!(
                "<path class=\"{class}\" d=\"M{} {}",
                px(self.scale.left_px()),
                px(bottom - below[0] * BAND_PX)
            ));
            steps(svg, self.scale, &above, |share| bottom - share * BAND_PX);
            let back: Vec<f64> = below.iter().rev().copied().collect();
            steps_back(svg, self.scale, &back, |share| bottom - share * BAND_PX);
            svg.line(format_args!("Z\"/>"));
            below = above;
        }
        self.top += BAND_PX;
    }

    /// What the fills mean, with the time of each.
    fn key(&mut self, forecast: &Forecast) {
        let layout = self.scale.layout;
        let first = if layout.is_narrow { NARROW_TEXT_PX } else { layout.left_px };
        let end = layout.left_px + layout.columns_px() + layout.right_px;
        let (mut x, mut y) = (first, self.top + 18.0);
        for (kind, class, name) in FILLS {
            let seconds = forecast.times.of(kind);
            if seconds <= 0.0 {
                continue;
            }
            let text = format!("{name} {}", Duration::from_s(seconds));
            let wide = 44.0 + 7.0 * as_f64(text.chars().count());
            if x + wide - 23.0 > end && x > first {
                (x, y) = (first, y + KEY_PX);
            }
            self.svg.line(format_args!(
                "<rect class=\"{class}\" x=\"{}\" y=\"{}\" width=\"16\" height=\"10\"/>\
                 <text class=\"text\" x=\"{}\" y=\"{}\">{}</text>",
                px(x),
                px(y - 9.0),
                px(x + 21.0),
                px(y),
                escape(&text)
            ));
            x += wide;
        }
        self.top = y + 6.0 + GAP_PX;
    }
}

/// A step path over all columns, from the left.
fn steps(svg: &mut Svg, scale: TimeScale, values: &[f64], y: impl Fn(f64) -> f64) {
    let mut last = f64::NAN;
    for (k, value) in values.iter().enumerate() {
        let here = y(*value);
        if (here - last).abs() >= 0.05 || last.is_nan() {
            svg.add(format_args!("H{}V{}", px(scale.left_px() + as_f64(k)), px(here)));
            last = here;
        }
    }
    svg.add(format_args!("H{}", px(scale.left_px() + scale.columns_px())));
}

/// The same from the right; `values` in that order.
fn steps_back(svg: &mut Svg, scale: TimeScale, values: &[f64], y: impl Fn(f64) -> f64) {
    let mut last = f64::NAN;
    for (k, value) in values.iter().enumerate() {
        let here = y(*value);
        if (here - last).abs() >= 0.05 || last.is_nan() {
            svg.add(format_args!("H{}V{}", px(scale.left_px() + scale.columns_px() - as_f64(k)), px(here)));
            last = here;
        }
    }
    svg.add(format_args!("H{}", px(scale.left_px())));
}
