//! Time charts of a forecast: what the table does, inlet pressure, duty cycle and pieces coming loose, above one axis
//! of time.
//!
//! However long the job, each lane is drawn in columns of one pixel: a column of the arc is as high as the share of its
//! time in which the arc burns, and a column of pressure shows the lowest in it.

mod bands;
mod duty;
mod lanes;
mod loose;
mod pressure;
mod time;

use crate::ink::{self, FIXED_CHART};
use crate::pen::{Number, Svg, escape, px};
use cell::Forecast;
use lanes::Lanes;
use time::{TimeScale, as_f64};
use units::{Duration, System};

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

/// For paper: title and account above, labels at the right end of lines.
const WIDE: Layout = Layout { columns: 900, left_px: 92.0, right_px: 150.0, top_px: 74.0, is_narrow: false };

/// For a column beside others on a screen: the same in proportion, so that a slider above it fits both.
const COLUMN: Layout = Layout { columns: 586, left_px: 60.0, right_px: 98.0, top_px: 74.0, is_narrow: false };

/// For a phone: the account above in two lines, labels within the lanes.
const NARROW: Layout = Layout { columns: 286, left_px: 52.0, right_px: 22.0, top_px: 56.0, is_narrow: true };

/// Where names of lanes and the account begin where there is little room, in pixels.
const NARROW_TEXT_PX: f64 = 6.0;

/// What the charts are looked at on: what is written on them has its size there.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum ChartFor {
    /// Paper, or a screen of their own: 1,142 px wide.
    #[default]
    Paper,
    /// A column of a screen: 744 px wide.
    Column,
    /// A phone: 360 px wide; labels stand within the lanes.
    Phone,
}

/// The charts as an SVG document, light, dark and print in one (by media query). Same inputs, same bytes.
///
/// **Shape**: a lane for what the table does, for inlet pressure and duty cycle where they are forecast, and for pieces
/// coming loose.
#[must_use]
pub fn forecast_svg(title: &str, forecast: &Forecast, system: System, on: ChartFor) -> String {
    let layout = match on {
        ChartFor::Paper => WIDE,
        ChartFor::Column => COLUMN,
        ChartFor::Phone => NARROW,
    };
    charts(title, forecast, system, layout)
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
    bands::patterns(&mut svg);
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

impl Layout {
    fn columns_px(self) -> f64 {
        as_f64(self.columns)
    }
}
