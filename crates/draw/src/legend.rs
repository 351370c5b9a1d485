//! The legend: what occurs in the picture, and nothing else.

use crate::kerfs::drawn_kerf_mm;
use crate::marks::{self, At};
use crate::pen::{Number, Svg, escape, px};
use crate::scene::{Found, Rest, Scene, Stage};
use crate::view::View;
use crate::{flags, kerfs, moved};
use finding::Level;
use units::{Length, System};

/// Width of a column, in pixels: three fill a page.
pub(crate) const COLUMN_PX: f64 = 384.0;

/// Height of a row, in pixels.
const ROW_PX: f64 = 25.0;

/// Room for a sample, in pixels.
const SAMPLE_PX: f64 = 46.0;

/// Size of the text, in pixels.
const TEXT_PX: f64 = 12.0;

/// Mean width of a letter in running text, as a part of its size. Capitals are wider; then a text runs into the space
/// between columns.
const LETTER_EM: f64 = 0.575;

/// Findings listed by name; a report lists the rest.
const FINDINGS_MAX: usize = 24;

/// Cuts named for each finding in the list.
const CUTS_MAX: usize = 4;

/// What the drawing had to leave out for want of room.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct LeftOut {
    pub(crate) numbers: usize,
    pub(crate) flags: usize,
    pub(crate) part_numbers: usize,
    pub(crate) outside: usize,
}

/// A line of the legend.
struct Entry<'a> {
    sample: Sample<'a>,
    text: String,
}

enum Sample<'a> {
    Plate,
    Hole,
    Kerf(Stage),
    Travel,
    Pierce { made: bool },
    Piece(Rest),
    Part,
    Stop,
    Restart,
    LeadIn,
    Stray,
    Datum,
    Lay,
    Residual { left_out: bool },
    Landing { is_join: bool },
    Next,
    Flag(&'a Found<'a>),
    Nothing,
}

/// Where the legend goes.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Room {
    pub(crate) left: f64,
    pub(crate) top: f64,
    pub(crate) columns: usize,
}

/// Draws the legend; gives the height it takes, in pixels.
pub(crate) fn draw(
    svg: &mut Svg,
    scene: &Scene<'_>,
    view: &View,
    left_out: LeftOut,
    room: Room,
    id: &str,
) -> f64 {
    let entries = entries(scene, view, left_out);
    let mut height = block(svg, &entries, room, id);
    for (title, list) in [("Findings", findings(scene, left_out)), ("Measured", measured(scene))] {
        if list.is_empty() {
            continue;
        }
        let below = Room { top: room.top + height + 10.0, ..room };
        svg.line(format_args!(
            "<text class=\"text bold\" x=\"{}\" y=\"{}\">{title}</text>",
            px(below.left),
            px(below.top + 12.0)
        ));
        height += 32.0 + block(svg, &list, Room { top: below.top + 22.0, ..below }, id);
    }
    height
}

/// Writes entries in columns, from the top down; gives the height. What is too long for its column goes on below.
fn block(svg: &mut Svg, entries: &[Entry<'_>], room: Room, id: &str) -> f64 {
    let fits = letters((COLUMN_PX - SAMPLE_PX) / (TEXT_PX * LETTER_EM));
    let texts: Vec<Vec<String>> = entries.iter().map(|entry| wrapped(&entry.text, fits)).collect();
    let steps = |count: usize| f64::from(u16::try_from(count).unwrap_or(u16::MAX));
    let height_of = |lines: &Vec<String>| ROW_PX + steps(lines.len() - 1) * LINE_PX;
    let whole: f64 = texts.iter().map(height_of).fold(0.0, |sum, height| sum + height);
    // No column ends before it has its share; one that is all of single rows has no more than needed.
    let share = (whole / steps(room.columns.max(1)) / ROW_PX).ceil() * ROW_PX;
    let (mut column, mut down, mut lowest) = (0, 0.0, ROW_PX);
    for (entry, lines) in entries.iter().zip(texts) {
        if down >= share {
            (column, down) = (column + 1, 0.0);
        }
        let (x, y) = (room.left + steps(column) * COLUMN_PX, room.top + down + 0.5 * ROW_PX);
        sample(svg, &entry.sample, (x, y), id);
        for (k, line) in lines.iter().enumerate() {
            svg.line(format_args!(
                "<text class=\"text\" x=\"{}\" y=\"{}\">{}</text>",
                px(x + SAMPLE_PX + if k > 0 { INDENT_PX } else { 0.0 }),
                px(y + 4.0 + steps(k) * LINE_PX),
                escape(line)
            ));
        }
        down += height_of(&lines);
        lowest = lowest.max(down);
    }
    lowest
}

/// From a line of a text to the next below it, in pixels.
const LINE_PX: f64 = 15.0;

/// How far in a text goes on below, in pixels.
const INDENT_PX: f64 = 10.0;

/// How many letters a width is good for.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "the cast saturates")]
fn letters(count: f64) -> usize {
    (count as usize).max(1)
}

/// A text in lines of at most so many letters, broken between words; a word that is longer is broken within.
fn wrapped(text: &str, letters: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split(' ') {
        let mut word: Vec<char> = word.chars().collect();
        loop {
            let line = lines.last_mut().expect("there is always a line");
            let used = line.chars().count();
            let gap = usize::from(used > 0);
            if used + gap + word.len() <= letters {
                line.extend(std::iter::repeat_n(' ', gap).chain(word));
                break;
            }
            if used == 0 {
                line.extend(word.drain(..letters));
            }
            lines.push(String::new());
        }
    }
    lines
}

fn entries<'a>(scene: &'a Scene<'_>, view: &View, left_out: LeftOut) -> Vec<Entry<'a>> {
    let mut entries = Vec::new();
    let mut add = |is: bool, sample: Sample<'a>, text: String| {
        if is {
            entries.push(Entry { sample, text });
        }
    };
    let length = |mm: f64| length(mm, scene.system);
    let (drawn, kerf) = (drawn_kerf_mm(scene, view), scene.kerf_mm);
    let width = if drawn > kerf * 1.001 {
        format!("kerf {}, drawn {}", length(kerf), length(drawn))
    } else {
        format!("kerf {}", length(kerf))
    };
    let to_cut = scene.has_stage(Stage::ToCut);
    add(scene.plate.is_some(), Sample::Plate, plate_size(scene));
    add(!scene.plate_holes.is_empty(), Sample::Hole, "cut out of the plate before".into());
    add(scene.has_stage(Stage::Cut), Sample::Kerf(Stage::Cut), format!("cut: {width}"));
    let and_width = if scene.has_stage(Stage::Cut) { String::new() } else { format!(": {width}") };
    add(to_cut, Sample::Kerf(Stage::ToCut), format!("to cut{and_width}"));
    add(
        scene.has_stage(Stage::Groove),
        Sample::Kerf(Stage::Groove),
        "groove: not through, or not surely".into(),
    );
    add(!scene.strays.is_empty(), Sample::Stray, "hole or kerf beside the program's path".into());
    add(scene.has_stage(Stage::ToMark), Sample::Kerf(Stage::ToMark), "to mark, not to cut".into());
    add(scene.has_stage(Stage::Marked), Sample::Kerf(Stage::Marked), "marked".into());
    add(!scene.travel.is_empty(), Sample::Travel, "travel with the torch off, to come".into());
    let numbers = if left_out.numbers > 0 { "some numbers left out" } else { "number of its cut" };
    let made = scene.pierces.iter().any(|pierce| pierce.made);
    let to_make = scene.pierces.iter().any(|pierce| !pierce.made);
    add(to_make, Sample::Pierce { made: false }, format!("pierce to make, {numbers}"));
    add(
        made,
        Sample::Pierce { made: true },
        if to_make { "pierce made".into() } else { format!("pierce made, {numbers}") },
    );
    let some = if left_out.part_numbers > 0 { " (some left out)" } else { "" };
    add(
        !scene.parts.is_empty() && left_out.part_numbers < scene.parts.len(),
        Sample::Part,
        format!("part{some}"),
    );
    for (rest, text) in [
        (Rest::Lies, "loose piece: lies in its place"),
        (Rest::Stands, "loose piece standing up: keep clear"),
        (Rest::Gone, "gone: fell through or taken away"),
    ] {
        add(scene.has_rest(rest), Sample::Piece(rest), text.into());
    }
    add(scene.stop.is_some(), Sample::Stop, "where it stopped".into());
    add(scene.restart.is_some(), Sample::Restart, "where it starts again".into());
    let leads_in = scene.lead_in.is_some_and(|way| way.from().is_some());
    add(leads_in, Sample::LeadIn, "the restart's own lead-in".into());
    let shown = view.shows(geometry::Point::ORIGIN);
    let zero = if scene.moved.is_some() { "zero of the control, X and Y" } else { "program zero, X and Y" };
    add(shown, Sample::Datum, zero.into());
    if let Some(of) = &scene.moved {
        let times = moved::Times::of(of, view);
        add(scene.plate.is_some(), Sample::Lay, "where the plate lay before it moved".into());
        add(
            !of.sights.is_empty(),
            Sample::Residual { left_out: false },
            format!("reading off the fit, {}", enlarged(times.residuals)),
        );
        let some_left_out = of.sights.iter().any(|sight| sight.left_out);
        add(some_left_out, Sample::Residual { left_out: true }, "left out: it does not agree".into());
        add(
            of.landings.iter().any(|landing| !landing.is_join),
            Sample::Landing { is_join: false },
            format!("lands within, 95 of 100, {}", enlarged(times.landings)),
        );
        let tolerance = length(of.tolerance_mm);
        add(
            of.landings.iter().any(|landing| landing.is_join),
            Sample::Landing { is_join: true },
            format!("join; dotted: tolerance {tolerance}, {}", enlarged(times.landings)),
        );
        add(!of.next.is_empty(), Sample::Next, "measure next, what brings most first".into());
    }
    add(left_out.outside > 0, Sample::Nothing, format!("outside this picture: {}", cuts(left_out.outside)));
    entries
}

/// How many times as large something is drawn, in words.
fn enlarged(times: f64) -> String {
    if times > 1.0 { format!("{} × enlarged", Number(times, 0)) } else { "true size".to_owned() }
}

/// Measured places by their numbers, each with how far off the fit it was found.
fn measured(scene: &Scene<'_>) -> Vec<Entry<'static>> {
    let sights = scene.moved.as_ref().map_or(&[][..], |moved| moved.sights).iter().enumerate();
    let line = |(k, sight): (usize, &moved::Sight<'_>)| {
        let out = if sight.left_out { ", left out" } else { "" };
        let off = length(sight.off.length(), scene.system);
        let text = format!("m{}: {off} off{out}: {}", k + 1, sight.name);
        Entry { sample: Sample::Nothing, text }
    };
    let mut entries: Vec<Entry<'static>> = sights.clone().take(FINDINGS_MAX).map(line).collect();
    let more = sights.len().saturating_sub(FINDINGS_MAX);
    if more > 0 {
        entries.push(Entry { sample: Sample::Nothing, text: format!("and {more} more in the report") });
    }
    entries
}

/// The findings that are flagged, with what their numbers mean.
fn findings<'a>(scene: &'a Scene<'_>, left_out: LeftOut) -> Vec<Entry<'a>> {
    let line = |found: &'a Found<'_>| {
        let shown = found.cuts.iter().take(CUTS_MAX).map(u32::to_string).collect::<Vec<_>>().join(", ");
        let more = match found.cuts.len().saturating_sub(CUTS_MAX) {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        let cuts = match found.cuts.len() {
            0 => String::new(),
            1 => format!(", cut {shown}"),
            _ => format!(", cuts {shown}{more}"),
        };
        let level = match found.level {
            Level::Error => "error",
            Level::Warning => "warning",
            Level::Note => "note",
        };
        Entry { sample: Sample::Flag(found), text: format!("{level}: {}{cuts}", found.rule) }
    };
    let mut entries: Vec<Entry<'a>> = scene.findings.iter().take(FINDINGS_MAX).map(line).collect();
    let more = scene.findings.len().saturating_sub(FINDINGS_MAX);
    if more > 0 {
        entries.push(Entry { sample: Sample::Nothing, text: format!("and {more} more in the report") });
    }
    if left_out.flags > 0 {
        let text = format!("{} left out where they crowd", counted(left_out.flags, "flag"));
        entries.push(Entry { sample: Sample::Nothing, text });
    }
    entries
}

fn sample(svg: &mut Svg, sample: &Sample<'_>, (x, y): At, id: &str) {
    let box_at = |svg: &mut Svg, attributes: &str| {
        svg.line(format_args!(
            "<rect {attributes} x=\"{}\" y=\"{}\" width=\"34\" height=\"15\"/>",
            px(x),
            px(y - 7.5)
        ));
    };
    match sample {
        Sample::Plate => box_at(svg, "class=\"plate rim\" stroke-width=\"1.6\""),
        Sample::Hole => box_at(svg, "class=\"page rim\" stroke-width=\"1.6\""),
        Sample::Kerf(stage) => kerfs::sample(svg, (x + 3.0, y), *stage),
        Sample::Travel => kerfs::travel_sample(svg, (x, y)),
        Sample::Pierce { made } => {
            marks::ring(svg, (x + 17.0, y), 4.2, *made);
        }
        Sample::Piece(Rest::Gone) => {
            box_at(svg, "class=\"void\" stroke-width=\"1\" stroke-dasharray=\"3\"");
        }
        Sample::Piece(rest) => {
            let name = if *rest == Rest::Stands { "stands" } else { "loose" };
            box_at(svg, "class=\"plate\"");
            box_at(svg, &format!("fill=\"url(#{id}-key-{name})\""));
        }
        Sample::Part => svg.line(format_args!(
            "<text class=\"part bold middle\" x=\"{}\" y=\"{}\">P7</text>",
            px(x + 17.0),
            px(y + 4.5)
        )),
        Sample::Stop => scaled(svg, (x + 17.0, y), 0.75, |svg| marks::stop(svg, (0.0, 0.0))),
        Sample::Restart => {
            scaled(svg, (x + 12.0, y + 10.0), 0.7, |svg| marks::pennant(svg, (0.0, 0.0)));
        }
        Sample::LeadIn => kerfs::lead_in_sample(svg, (x, y)),
        Sample::Stray => kerfs::stray_sample(svg, (x, y)),
        Sample::Datum => scaled(svg, (x + 9.0, y + 8.0), 0.7, |svg| marks::datum(svg, (0.0, 0.0))),
        Sample::Lay => moved::lay_sample(svg, (x, y)),
        Sample::Residual { left_out } => moved::residual_sample(svg, (x, y), *left_out),
        Sample::Landing { is_join } => moved::landing_sample(svg, (x, y), *is_join),
        Sample::Next => moved::next_sample(svg, (x, y)),
        Sample::Flag(found) => {
            flags::sample(svg, (x + 6.0, y + 9.0), found.level, &found.number.to_string());
        }
        Sample::Nothing => {}
    }
}

fn scaled(svg: &mut Svg, (x, y): At, scale: f64, draw: impl FnOnce(&mut Svg)) {
    svg.line(format_args!("<g transform=\"translate({} {}) scale({})\">", px(x), px(y), Number(scale, 2)));
    draw(svg);
    svg.line(format_args!("</g>"));
}

fn plate_size(scene: &Scene<'_>) -> String {
    let Some(outline) = scene.plate else { return String::new() };
    let size = outline.bounds().max - outline.bounds().min;
    let (width, height) = (length(size.x, scene.system), length(size.y, scene.system));
    let width = width.split(' ').next().unwrap_or_default();
    format!("plate {width} × {height}")
}

/// A length as it is told.
fn length(mm: f64, system: System) -> String {
    Length::from_mm(mm).show(system)
}

/// "1 cut", "2 cuts".
pub(crate) fn cuts(count: usize) -> String {
    counted(count, "cut")
}

/// A count with its noun.
pub(crate) fn counted(count: usize, noun: &str) -> String {
    format!("{count} {noun}{}", if count == 1 { "" } else { "s" })
}

#[cfg(test)]
mod tests {
    use super::wrapped;

    #[test]
    fn a_long_text_goes_on_below_and_loses_nothing() {
        assert_eq!(wrapped("m1: at", 10), ["m1: at"]);
        assert_eq!(wrapped("the middle of the hole of cut 3", 12), ["the middle", "of the hole", "of cut 3"]);
        assert_eq!(wrapped("a rule-with-no-gap-anywhere", 10), ["a", "rule-with-", "no-gap-any", "where"]);
        assert_eq!(wrapped("", 10), [""]);
    }
}
