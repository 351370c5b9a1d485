//! Puts the picture together: drawing, title, scale bar, legend.

use crate::ink::style_sheet;
use crate::labels::{Crowd, Patch, text_width};
use crate::legend::{self, LeftOut, Room, counted, cuts};
use crate::marks::{self, PENNANT_PX, STOP_PX};
use crate::pen::{Number, Svg, escape, px};
use crate::scene::{Part, Pierce, Scene};
use crate::view::{View, frame};
use crate::{flags, kerfs, moved, scale_bar};
use geometry::{Bounds, Placement, Point, Program};

/// Rim of the page, in pixels.
const RIM_PX: f64 = 24.0;

/// A drawing narrower than this has its legend beside it, in pixels.
const LEGEND_BELOW_PX: f64 = 700.0;

/// What is shown reaches at most this many times the plate's size; what lies beyond is a mistake in the program, and
/// showing it would make the plate a dot.
const REACH_PLATES: f64 = 2.0;

/// Program zero is shown if it lies within this part of the extent outside of what is cut.
const DATUM_REACH: f64 = 0.15;

/// Smallest and largest size of a part's number, in pixels.
const PART_PX: (f64, f64) = (8.0, 14.0);

/// Room a part's number needs, as a part of its width: a circle less wide still holds it, for it is low.
const PART_ROOM: f64 = 0.8;

/// The whole document.
pub(crate) fn draw(scene: &Scene<'_>) -> String {
    let id = id_of(scene);
    let view = View::new(shown(scene), RIM_PX, RIM_PX);
    let beside = view.width() < LEGEND_BELOW_PX;
    let width = view.width().max(if beside { 0.0 } else { LEGEND_BELOW_PX })
        + 2.0 * RIM_PX
        + if beside { RIM_PX + legend::COLUMN_PX } else { 0.0 };
    let mut body = Svg::default();
    let left_out = drawing(&mut body, scene, &view, &id);
    let below = title(&mut body, scene, &view, width);
    let room = if beside {
        Room { left: view.left + view.width() + RIM_PX, top: view.top, columns: 1 }
    } else {
        let columns = if width - 2.0 * RIM_PX >= 3.0 * legend::COLUMN_PX { 3 } else { 2 };
        Room { left: view.left, top: below, columns }
    };
    let legend_height = legend::draw(&mut body, scene, &view, left_out, room, &id);
    let height = below.max(room.top + legend_height) + RIM_PX;
    let mut svg = Svg::default();
    svg.line(format_args!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"plate-picture\" role=\"img\" width=\"{0}\" height=\"{1}\" \
         viewBox=\"0 0 {0} {1}\" style=\"max-width:100%;height:auto\">",
        Number(width, 0),
        Number(height, 0)
    ));
    svg.line(format_args!(
        "<title>{}</title>\n<desc>{}</desc>",
        escape(scene.title),
        escape(&account(scene))
    ));
    svg.line(format_args!("<style>\n{}</style>", style_sheet(scene.moved.is_some())));
    svg.line(format_args!("<rect class=\"page\" width=\"100%\" height=\"100%\"/>"));
    svg.add(format_args!("{}</svg>\n", body.text()));
    svg.text().to_owned()
}

/// What is shown: the plate and what is cut, as far as both belong together, and what is marked near them.
pub(crate) fn shown(scene: &Scene<'_>) -> Bounds<Program> {
    let cut = scene.cut_bounds();
    let plate = scene.plate_bounds();
    let bounds = match (plate, cut) {
        (Some(plate), Some(cut)) => {
            let reach = (plate.max - plate.min).length() * (REACH_PLATES - 1.0);
            let all = plate.union(cut);
            let near = plate.grown(reach);
            if near.contains(all.min) && near.contains(all.max) { all } else { plate }
        }
        (Some(only), None) | (None, Some(only)) => only,
        (None, None) => Bounds { min: Point::ORIGIN, max: Point::new(100.0, 50.0) },
    };
    let size = bounds.max - bounds.min;
    let reach = bounds.grown(size.x.max(size.y) * DATUM_REACH);
    let extra = [Some(Point::ORIGIN), scene.stop, scene.restart];
    extra
        .into_iter()
        .flatten()
        .filter(|p| reach.contains(*p))
        .fold(bounds, |bounds, p| bounds.union(Bounds { min: p, max: p }))
}

fn drawing(svg: &mut Svg, scene: &Scene<'_>, view: &View, id: &str) -> LeftOut {
    let frame = frame(view);
    svg.line(format_args!("<defs><clipPath id=\"{id}-frame\"><rect {frame}/></clipPath>"));
    kerfs::hatches(svg, scene, id, view.px_per_mm);
    kerfs::hatches(svg, scene, &format!("{id}-key"), 1.0);
    svg.line(format_args!("</defs>"));
    svg.line(format_args!("<g clip-path=\"url(#{id}-frame)\">"));
    if scene.plate.is_none() {
        svg.line(format_args!("<rect class=\"plate\" {frame}/>"));
    }
    svg.line(format_args!("<g transform=\"{view}\">"));
    let lies = moved::transform(scene);
    if let Some(lies) = &lies {
        svg.line(format_args!("<g transform=\"{lies}\">"));
    }
    kerfs::plate(svg, scene, view);
    kerfs::pieces(svg, scene, view, id);
    kerfs::kerfs(svg, scene, view, id);
    kerfs::travel(svg, scene, view);
    kerfs::lead_in(svg, scene, view);
    if lies.is_some() {
        svg.line(format_args!("</g>"));
    }
    if let Some(of) = &scene.moved {
        moved::old_place(svg, of, scene.plate, view);
    }
    svg.line(format_args!("</g>"));
    kerfs::ticks(svg, scene, view);
    let left_out = on_top(svg, scene, view);
    svg.line(format_args!("</g>"));
    left_out
}

/// Marks, flags and numbers. What matters most takes its place first; what lies on top is drawn last.
fn on_top(svg: &mut Svg, scene: &Scene<'_>, view: &View) -> LeftOut {
    let mut crowd = Crowd::new(Patch {
        left: view.left,
        top: view.top,
        right: view.left + view.width(),
        bottom: view.top + view.height(),
    });
    let shows = |p: &Point<Program>| view.shows(*p);
    let pierces: Vec<&Pierce> = scene.pierces.iter().filter(|pierce| shows(&pierce.at)).collect();
    let size = PierceSize::of(&pierces, view);
    let radius = size.ring;
    let mut top = Svg::default();
    if let Some(stop) = scene.stop.filter(shows) {
        let at = view.at(stop);
        marks::stop(&mut top, at);
        crowd.take(Patch::around(at, 2.0 * STOP_PX + 4.0, 2.0 * STOP_PX + 4.0));
    }
    for start in scene.restart.iter().chain(&scene.second_burns).filter(|at| shows(at)) {
        let (x, y) = view.at(*start);
        marks::pennant(&mut top, (x, y));
        crowd.take(Patch::around((x + 8.0, y - PENNANT_PX / 2.0), 20.0, PENNANT_PX + 2.0));
    }
    if shows(&Point::ORIGIN) {
        let (x, y) = view.at(Point::ORIGIN);
        marks::datum(svg, (x, y));
        crowd.take(Patch::around((x + 11.0, y - 11.0), 34.0, 34.0));
    }
    for pierce in &pierces {
        crowd.take(Patch::around(view.at(pierce.at), 2.0 * radius + 1.0, 2.0 * radius + 1.0));
    }
    let mut sights = Svg::default();
    if let Some(of) = &scene.moved {
        moved::draw(&mut sights, of, view, &mut crowd);
    }
    let flags = flags::plant(&mut top, scene, view, &mut crowd);
    let mut numbers = Svg::default();
    numbers.line(format_args!("<g style=\"font-size:{}px\">", px(size.number)));
    let named = pierces.iter().filter(|pierce| pierce.named);
    let mut missed = place_numbers(&mut numbers, named.copied(), view, size, &mut crowd);
    let part_numbers = place_part_numbers(&mut numbers, scene, view, &mut crowd);
    let mut others: Vec<&Pierce> = pierces.iter().filter(|pierce| !pierce.named).copied().collect();
    others.sort_by_key(|pierce| (rank(pierce.number), pierce.number));
    missed += place_numbers(&mut numbers, others, view, size, &mut crowd);
    numbers.line(format_args!("</g>"));
    for pierce in &pierces {
        marks::ring(svg, view.at(pierce.at), radius, pierce.made);
    }
    svg.add(format_args!("{}{}{}", numbers.text(), sights.text(), top.text()));
    LeftOut { numbers: missed, flags, part_numbers, outside: scene.pierces.len() - pierces.len() }
}

/// Sizes of rings and their numbers, in pixels.
#[derive(Clone, Copy)]
struct PierceSize {
    ring: f64,
    number: f64,
}

impl PierceSize {
    /// Both shrink where pierces crowd: by the room each has in those squares of the drawing that hold any.
    fn of(pierces: &[&Pierce], view: &View) -> Self {
        let square = |at: f64| (at / CROWD_SQUARE_PX).floor();
        let mut squares: Vec<(f64, f64)> =
            pierces.iter().map(|pierce| view.at(pierce.at)).map(|(x, y)| (square(x), square(y))).collect();
        squares.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
        squares.dedup();
        let count = |n: usize| f64::from(u32::try_from(n.max(1)).unwrap_or(u32::MAX));
        let spacing = CROWD_SQUARE_PX * (count(squares.len()) / count(pierces.len())).sqrt();
        Self { ring: (spacing * 0.1).clamp(1.1, 4.2), number: (spacing * 0.26).clamp(8.0, 11.0) }
    }
}

/// Side of the squares in which it is seen how much pierces crowd, in pixels.
const CROWD_SQUARE_PX: f64 = 64.0;

/// Which numbers to set first where not all find room: round ones, from which the rest can be counted.
fn rank(number: u32) -> u8 {
    match number {
        1 => 0,
        n if n % 50 == 0 => 1,
        n if n % 10 == 0 => 2,
        n if n % 5 == 0 => 3,
        _ => 4,
    }
}

/// Sets numbers beside their rings; gives how many found no room.
fn place_numbers<'a>(
    svg: &mut Svg,
    pierces: impl IntoIterator<Item = &'a Pierce>,
    view: &View,
    size: PierceSize,
    crowd: &mut Crowd,
) -> usize {
    let mut missed = 0;
    for pierce in pierces {
        let number = pierce.number.to_string();
        let (width, height) = (text_width(&number, size.number) + 2.0, size.number);
        let (x, y) = view.at(pierce.at);
        let (aside, above) = (size.ring + 1.5 + width / 2.0, size.ring + 1.0 + height / 2.0);
        // One that is named may stand a little farther off, clear of the ring of a stop.
        let (far_aside, far_above) = (STOP_PX + 3.0 + width / 2.0, STOP_PX + 3.0 + height / 2.0);
        let near = (aside * 0.8, above * 0.8);
        let places = [
            (near.0, -near.1),
            (near.0, near.1),
            (-near.0, -near.1),
            (-near.0, near.1),
            (aside, 0.0),
            (-aside, 0.0),
            (0.0, -above),
            (0.0, above),
            (far_aside, 0.0),
            (-far_aside, 0.0),
            (0.0, far_above),
            (0.0, -far_above),
        ];
        let tried = if pierce.named { &places[..] } else { &places[..8] };
        let patches = tried.iter().map(|(dx, dy)| Patch::around((x + dx, y + dy), width, height));
        let Some(patch) = crowd.take_first(patches) else {
            missed += 1;
            continue;
        };
        let bold = if pierce.named { " bold" } else { "" };
        svg.line(format_args!(
            "<text class=\"number halo middle{bold}\" x=\"{}\" y=\"{}\">{number}</text>",
            px(f64::midpoint(patch.left, patch.right)),
            px(f64::midpoint(patch.top, patch.bottom) + size.number * 0.36)
        ));
    }
    missed
}

/// Sets the numbers of parts inside them; gives how many found no room.
fn place_part_numbers(svg: &mut Svg, scene: &Scene<'_>, view: &View, crowd: &mut Crowd) -> usize {
    let (mut missed, lies) = (0, scene.lies());
    for part in &scene.parts {
        let text = format!("P{}", part.number);
        if !place_part_number(svg, part, &text, &lies, view, crowd) {
            missed += 1;
        }
    }
    missed
}

fn place_part_number(
    svg: &mut Svg,
    part: &Part<'_>,
    text: &str,
    lies: &Placement<Program, Program>,
    view: &View,
    crowd: &mut Crowd,
) -> bool {
    let size = part.outline.bounds().max - part.outline.bounds().min;
    let smallest = text_width(text, PART_PX.0) * PART_ROOM;
    if size.x.min(size.y) * view.px_per_mm < smallest {
        return false;
    }
    let (at, radius_mm) = part.outline.deepest_point(&part.holes);
    let at = lies.point(at);
    let room = 2.0 * radius_mm * view.px_per_mm;
    if room < smallest {
        return false;
    }
    let size = (room * 0.36).clamp(PART_PX.0, PART_PX.1);
    let (x, y) = view.at(at);
    let patch = Patch::around((x, y), text_width(text, size), size);
    if !view.shows(at) || crowd.take_first([patch]).is_none() {
        return false;
    }
    svg.line(format_args!(
        "<text class=\"part halo middle bold\" x=\"{}\" y=\"{}\" style=\"font-size:{}px\">{text}</text>",
        px(x),
        px(y + size * 0.36),
        px(size)
    ));
    true
}

/// Title, account and scale bar under the drawing; gives where the next thing may begin.
fn title(svg: &mut Svg, scene: &Scene<'_>, view: &View, page_width: f64) -> f64 {
    let (left, top) = (view.left, view.top + view.height());
    svg.line(format_args!(
        "<text class=\"text title\" x=\"{}\" y=\"{}\">{}</text>",
        px(left),
        px(top + 28.0),
        escape(scene.title)
    ));
    svg.line(format_args!(
        "<text class=\"faint\" x=\"{}\" y=\"{}\">{}</text>",
        px(left),
        px(top + 47.0),
        escape(&account(scene))
    ));
    let right = left + view.width().max(LEGEND_BELOW_PX.min(page_width - 2.0 * RIM_PX));
    let beside = view.width() >= LEGEND_BELOW_PX;
    let (bar_left, bar_top) = if beside { (right - 270.0, top + 22.0) } else { (left, top + 74.0) };
    let (_, bar_height) = scale_bar::draw(svg, (bar_left, bar_top), view.px_per_mm, scene.system);
    top + 66.0 + if beside { 0.0 } else { bar_height + 14.0 }
}

/// The picture in a sentence.
fn account(scene: &Scene<'_>) -> String {
    let made = match scene.cuts_whole {
        0 => String::new(),
        n => format!(", {n} made"),
    };
    let parts = match scene.parts.len() {
        0 => String::new(),
        n => format!(", {}", counted(n, "part")),
    };
    let loose = match scene.pieces.len() {
        0 => String::new(),
        n => format!(", {} loose", counted(n, "piece")),
    };
    let findings = match scene.findings.len() {
        0 => String::new(),
        n => format!(", {}", counted(n, "finding")),
    };
    let cuts = if scene.pierces.is_empty() { "no cuts".into() } else { cuts(scene.pierces.len()) };
    format!("{cuts}{made}{parts}{loose}{findings}")
}

/// A name for the picture's definitions, so that several pictures can stand in one page: a digest of what is drawn.
/// Source: FNV-1a, 32 bits, from memory; any mixing would do.
fn id_of(scene: &Scene<'_>) -> String {
    let mut digest = 0x811c_9dc5_u32;
    let mut mix = |bytes: &[u8]| {
        for byte in bytes {
            digest = (digest ^ u32::from(*byte)).wrapping_mul(0x0100_0193);
        }
    };
    mix(scene.title.as_bytes());
    for band in &scene.bands {
        mix(&band.path.length_mm().to_bits().to_le_bytes());
        mix(&[band.stage as u8]);
    }
    for mark in [scene.stop, scene.restart].into_iter().flatten() {
        mix(&mark.x.to_bits().to_le_bytes());
        mix(&mark.y.to_bits().to_le_bytes());
    }
    format!("p{digest:08x}")
}
