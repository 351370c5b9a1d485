//! Time charts of a forecast: what the table does, inlet pressure, duty cycle and pieces coming loose, above one axis
//! of time.
//!
//! However long the job, each lane is drawn in columns of one pixel: a column of the arc is as high as the share of its
//! time in which the arc burns, and a column of pressure shows the lowest in it.

use crate::ink::{self, FIXED_CHART};
use crate::pen::{Number, Svg, escape, px};
use cell::{AirForecast, DutyForecast, Forecast, Kind};
use units::{Duration, Pressure, System};

/// How the charts are laid out for a width of screen, so that what is written has its size there.
#[derive(Clone, Copy, Debug)]
struct Layout {
    /// Width of the lanes, in pixels; one column of time each.
    columns: usize,
    /// Room for scales on the left, in pixels.
    left_px: f64,
    /// Room at the right of the lanes, in pixels.
    right_px: f64,
    /// Room above the first lane: title and account.
    top_px: f64,
    /// Whether what is written beside lanes has to stand in them.
    is_narrow: bool,
}

/// For a desk and for paper: title and account above, labels at the right end of lines.
const WIDE: Layout = Layout { columns: 900, left_px: 92.0, right_px: 150.0, top_px: 74.0, is_narrow: false };

/// For a phone: the account above in two lines, labels within the lanes.
const NARROW: Layout = Layout { columns: 286, left_px: 52.0, right_px: 22.0, top_px: 56.0, is_narrow: true };

/// Where names of lanes and the account begin where there is little room, in pixels.
const NARROW_TEXT_PX: f64 = 6.0;
/// Height of a lane with a scale.
const LANE_PX: f64 = 110.0;
/// Height of a lane that is a band.
const BAND_PX: f64 = 26.0;
/// From line to line of what the fills mean.
const KEY_PX: f64 = 18.0;
/// Between lanes; a lane's name stands there.
const GAP_PX: f64 = 34.0;

/// The charts as an SVG document, light, dark and print in one (by media query). Same inputs, same bytes.
///
/// **Shape**: 1,142 px wide; a lane for what the table does, for inlet pressure and duty cycle where they are forecast,
/// and for pieces coming loose.
#[must_use]
pub fn forecast_svg(title: &str, forecast: &Forecast, system: System) -> String {
    charts(title, forecast, system, WIDE)
}

/// The same for a phone, 360 px wide: the same lanes with the same size of writing, and labels within them.
#[must_use]
pub fn forecast_svg_narrow(title: &str, forecast: &Forecast, system: System) -> String {
    charts(title, forecast, system, NARROW)
}

fn charts(title: &str, forecast: &Forecast, system: System, layout: Layout) -> String {
    let scale = TimeScale::of(forecast.log.to_s - forecast.log.from_s, layout);
    let mut body = Svg::default();
    let mut lanes = Lanes { svg: &mut body, scale, top: layout.top_px };
    lanes.bands(forecast);
    if let Some(air) = &forecast.air {
        lanes.pressure(air, system);
    }
    if let Some(duty) = &forecast.duty {
        lanes.duty(duty);
    }
    lanes.loose(forecast);
    let bottom = lanes.axis();
    document((title, &account(forecast)), &body, (layout, bottom))
}

fn document((title, account): (&str, &str), body: &Svg, (layout, bottom): (Layout, f64)) -> String {
    let width = layout.left_px + layout.columns_px() + layout.right_px;
    let mut svg = Svg::default();
    svg.line(format_args!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"time-chart\" role=\"img\" width=\"{0}\" height=\"{1}\" \
         viewBox=\"0 0 {0} {1}\" style=\"max-width:100%;height:auto\">",
        Number(width, 0),
        Number(bottom, 0)
    ));
    svg.line(format_args!("<title>{}</title>\n<desc>{}</desc>", escape(title), escape(account)));
    svg.line(format_args!("<style>\n{FIXED_CHART}{}</style>", ink::chart_sheet()));
    svg.line(format_args!("<defs>"));
    patterns(&mut svg);
    svg.line(format_args!("</defs>\n<rect class=\"page\" width=\"100%\" height=\"100%\"/>"));
    if layout.is_narrow {
        // Whoever reads it on a phone has the title above it on the page.
        let halves = account.split_at(account.rfind(", ").map_or(account.len(), |comma| comma + 1));
        for (text, y) in [(halves.0, 18), (halves.1.trim_start(), 34)] {
            svg.line(format_args!(
                "<text class=\"faint\" x=\"{NARROW_TEXT_PX}\" y=\"{y}\">{}</text>",
                escape(text)
            ));
        }
    } else {
        let left = px(layout.left_px);
        svg.line(format_args!("<text class=\"text title\" x=\"{left}\" y=\"28\">{}</text>", escape(title)));
        svg.line(format_args!("<text class=\"faint\" x=\"{left}\" y=\"47\">{}</text>", escape(account)));
    }
    svg.add(format_args!("{}</svg>\n", body.text()));
    svg.text().to_owned()
}

/// The charts in a sentence.
fn account(forecast: &Forecast) -> String {
    let time = Duration::from_s(forecast.times.total_s());
    let arc = Duration::from_s(forecast.arc_s);
    let starts = match forecast.starts {
        1 => "1 start".to_owned(),
        n => format!("{n} starts"),
    };
    format!("{time} in all, {starts}, {arc} of arc, if nothing goes wrong")
}

/// How each kind of time is filled: the same forms in print, where there is no colour.
const FILLS: [(Kind, &str, &str); 5] = [
    (Kind::Cut, "cut", "cutting"),
    (Kind::Pierce, "pierce", "start and pierce"),
    (Kind::TouchOff, "touch", "touch-off"),
    (Kind::Travel, "go", "travel"),
    (Kind::Wait, "wait", "waiting"),
];

fn patterns(svg: &mut Svg) {
    svg.line(format_args!(
        "<pattern id=\"tc-pierce\" width=\"5\" height=\"5\" patternUnits=\"userSpaceOnUse\">\
         <path class=\"pierce-ink\" d=\"M0 5L5 0M-1 1L1 -1M4 6L6 4\"/></pattern>\n\
         <pattern id=\"tc-touch\" width=\"5\" height=\"5\" patternUnits=\"userSpaceOnUse\">\
         <circle class=\"touch-ink\" cx=\"2.5\" cy=\"2.5\" r=\"1.4\"/></pattern>\n\
         <pattern id=\"tc-go\" width=\"4\" height=\"6\" patternUnits=\"userSpaceOnUse\">\
         <path class=\"go-ink\" d=\"M0 3H4\"/></pattern>"
    ));
}

impl Layout {
    fn columns_px(self) -> f64 {
        as_f64(self.columns)
    }
}

/// Time to pixels.
#[derive(Clone, Copy)]
struct TimeScale {
    whole_s: f64,
    layout: Layout,
}

impl TimeScale {
    fn of(whole_s: f64, layout: Layout) -> Self {
        Self { whole_s: if whole_s > 0.0 && whole_s.is_finite() { whole_s } else { 1.0 }, layout }
    }

    fn x(self, at_s: f64) -> f64 {
        self.left_px() + (at_s / self.whole_s).clamp(0.0, 1.0) * self.columns_px()
    }

    fn left_px(self) -> f64 {
        self.layout.left_px
    }

    fn columns_px(self) -> f64 {
        self.layout.columns_px()
    }

    /// The column of a time.
    fn column(self, at_s: f64) -> usize {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the columns")]
        let column = (at_s / self.whole_s * self.columns_px()).clamp(0.0, self.columns_px() - 1.0) as usize;
        column
    }

    fn column_s(self) -> f64 {
        self.whole_s / self.columns_px()
    }
}

/// How much of each column stretches of time cover, 0 to 1.
fn coverage(scale: TimeScale, stretches: impl Iterator<Item = (f64, f64)>) -> Vec<f64> {
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

fn as_f64(k: usize) -> f64 {
    f64::from(u32::try_from(k).unwrap_or(u32::MAX))
}

/// A scale with values at its lower and upper edge.
#[derive(Clone, Copy)]
struct Upright {
    top: f64,
    height: f64,
    most: f64,
}

impl Upright {
    fn y(self, value: f64) -> f64 {
        self.top + self.height * (1.0 - (value / self.most).clamp(0.0, 1.0))
    }
}

/// Lanes drawn so far.
struct Lanes<'a> {
    svg: &'a mut Svg,
    scale: TimeScale,
    top: f64,
}

impl Lanes<'_> {
    fn name(&mut self, text: &str) {
        let layout = self.scale.layout;
        self.svg.line(format_args!(
            "<text class=\"text bold\" x=\"{}\" y=\"{}\">{}</text>",
            px(if layout.is_narrow { NARROW_TEXT_PX } else { layout.left_px }),
            px(self.top - 8.0),
            escape(text)
        ));
    }

    /// What the table does: a band of the arc, and one stacked by what the time goes into.
    fn bands(&mut self, forecast: &Forecast) {
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
        let (first, end) = if layout.is_narrow {
            (NARROW_TEXT_PX, layout.left_px + layout.columns_px() + layout.right_px)
        } else {
            (layout.left_px, f64::INFINITY)
        };
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

    /// Pressure at the inlet while gas flows, the receiver's, and the least that the source wants.
    fn pressure(&mut self, air: &AirForecast, system: System) {
        self.name("Pressure at the inlet while gas flows");
        let highest = air.pieces.iter().flat_map(|piece| [piece.from_bar, piece.to_bar]).fold(1.0, f64::max);
        let in_units = |bar: f64| match system {
            System::Metric => bar,
            System::Inch => Pressure::from_bar(bar).psi(),
        };
        let unit = if system == System::Metric { "bar" } else { "psi" };
        let upright = self.upright(in_units(highest), unit);
        let receiver =
            air.pieces.iter().flat_map(|piece| [(piece.from_s, piece.from_bar), (piece.to_s, piece.to_bar)]);
        let receiver = lowest_by_column(self.scale, receiver, in_units);
        self.curve("thin", &receiver, upright);
        let inlet = air.pieces.iter().filter(|piece| piece.inlet_bar.is_some()).flat_map(|piece| {
            let at = |bar: f64| air.plant.inlet_bar(bar, piece.flow_l_per_min);
            [(piece.from_s, at(piece.from_bar)), (piece.to_s, at(piece.to_bar))]
        });
        let inlet = lowest_by_column(self.scale, inlet, in_units);
        self.curve("inlet", &inlet, upright);
        let mut labels = Labels::default();
        if let Some(least) = air.least_bar {
            self.limit(in_units(least), upright);
            labels.add(
                format!("least: {}", Pressure::from_bar(least).show(system)),
                upright.y(in_units(least)),
            );
        }
        let last = |curve: &[Option<f64>]| curve.iter().rev().find_map(|value| *value);
        labels.extend(last(&inlet).map(|value| ("inlet".to_owned(), upright.y(value))));
        labels.extend(last(&receiver).map(|value| ("receiver".to_owned(), upright.y(value))));
        self.labels(labels);
        if let Some(short) = &air.short {
            let text = format!("start {} falls short", short.start);
            self.trouble(short.at_s, upright.y(in_units(air.least_bar.unwrap_or(0.0))), &text);
        }
        self.top += LANE_PX + GAP_PX;
    }

    /// Share of ten minutes burnt, and what is allowed.
    fn duty(&mut self, duty: &DutyForecast) {
        self.name("Duty cycle: share of the last ten minutes");
        let upright = self.upright(100.0, "%");
        let shares: Vec<Option<f64>> = (0..self.scale.layout.columns)
            .map(|k| {
                let at_s = (as_f64(k) + 1.0) * self.scale.column_s();
                Some(cell::duty::burnt_before(&duty.burns, at_s) / cell::duty::PERIOD_S * 100.0)
            })
            .collect();
        self.curve("inlet", &shares, upright);
        let mut labels = Labels::default();
        if let Some(allowed) = duty.allowed {
            let allowed = allowed * 100.0;
            self.limit(allowed, upright);
            labels.add(format!("allowed: {} %", Number(allowed, 0)), upright.y(allowed));
        }
        labels.extend(shares.last().copied().flatten().map(|value| ("burnt".to_owned(), upright.y(value))));
        self.labels(labels);
        if let Some(trip) = &duty.trip {
            self.trouble(trip.at_s, upright.y(duty.allowed.unwrap_or(1.0) * 100.0), "the source trips");
        }
        self.top += LANE_PX + GAP_PX;
    }

    /// Pieces loose by then.
    fn loose(&mut self, forecast: &Forecast) {
        if forecast.loose.is_empty() {
            return;
        }
        self.name("Pieces loose");
        let upright = self.upright(as_f64(forecast.loose.len()), "");
        let (svg, mut count) = (&mut *self.svg, 0.0);
        svg.add(format_args!(
            "<path class=\"loose\" d=\"M{} {}",
            px(self.scale.left_px()),
            px(upright.y(0.0))
        ));
        let mut x_before = self.scale.left_px();
        for piece in &forecast.loose {
            count += 1.0;
            let x = self.scale.x(piece.at_s);
            if x - x_before >= 1.0 {
                svg.add(format_args!("H{}", px(x)));
                x_before = x;
                svg.add(format_args!("V{}", px(upright.y(count))));
            }
        }
        svg.line(format_args!(
            "V{}H{}\"/>",
            px(upright.y(count)),
            px(self.scale.left_px() + self.scale.columns_px())
        ));
        let mut labels = Labels::default();
        labels.add(format!("{} in all", forecast.loose.len()), upright.y(count));
        self.labels(labels);
        self.top += LANE_PX + GAP_PX;
    }

    /// The axis of time; gives where the document ends.
    fn axis(&mut self) -> f64 {
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

    fn frame(&mut self, height: f64) {
        self.svg.line(format_args!(
            "<rect class=\"lane\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/>",
            px(self.scale.left_px()),
            px(self.top),
            px(self.scale.columns_px()),
            px(height)
        ));
    }

    /// A lane with a scale from nothing to at least `most`.
    fn upright(&mut self, most: f64, unit: &str) -> Upright {
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
    fn curve(&mut self, class: &str, values: &[Option<f64>], upright: Upright) {
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

    fn limit(&mut self, value: f64, upright: Upright) {
        self.svg.line(format_args!(
            "<path class=\"limit\" d=\"M{} {}h{}\"/>",
            px(self.scale.left_px()),
            px(upright.y(value)),
            px(self.scale.columns_px())
        ));
    }

    fn labels(&mut self, mut labels: Labels) {
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
    fn trouble(&mut self, at_s: f64, y: f64, text: &str) {
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
struct Labels(Vec<(String, f64)>);

impl Labels {
    fn add(&mut self, text: String, y: f64) {
        self.0.push((text, y));
    }

    fn extend(&mut self, more: Option<(String, f64)>) {
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

/// The lowest value in each column; none where there is none.
fn lowest_by_column(
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
fn ticks(whole_s: f64, most: f64) -> (f64, f64, &'static str) {
    let (unit_s, unit) = match whole_s {
        s if s < 120.0 => (1.0, "s"),
        s if s < 7200.0 => (60.0, "min"),
        _ => (3600.0, "h"),
    };
    (round_step(whole_s / unit_s / most) * unit_s, unit_s, unit)
}

/// A round step not below `least`: 1, 2 or 5 times a power of ten.
fn round_step(least: f64) -> f64 {
    let power = 10f64.powf(least.max(1e-9).log10().floor());
    let steps = [1.0, 2.0, 5.0, 10.0];
    let step = steps.into_iter().find(|step| step * power >= least * (1.0 - 1e-9)).unwrap_or(10.0);
    step * power
}

#[cfg(test)]
mod tests {
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
