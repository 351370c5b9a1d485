//! Numbered flags for findings. The level shows in the flag's form: a swallow-tail for an error, a plain flag for a
//! warning, an empty one for a note. Findings at one place share a pole.

use crate::labels::{Crowd, Patch, text_width};
use crate::marks::At;
use crate::pen::{Svg, px};
use crate::scene::{Found, Scene};
use crate::view::View;
use finding::Level;

/// Height of a flag's cloth, in pixels.
const CLOTH_PX: f64 = 13.0;

/// Distance from one cloth of a pole to the next, in pixels.
const STEP_PX: f64 = 15.0;

/// Distances to try from the place to the nearest cloth's edge, in pixels.
const CLEAR_PX: [f64; 5] = [10.0, 25.0, 40.0, 55.0, 70.0];

/// Most cloths on one pole; the last then counts those that found no room.
const CLOTHS_MAX: usize = 5;

/// Places nearer to one another than this share a pole, in pixels.
const SAME_POLE_PX: f64 = 7.0;

/// What stands at one place.
struct Pole<'a> {
    at: At,
    findings: Vec<&'a Found<'a>>,
}

/// Plants flags at the places of all findings, as far as there is room; gives how many found none.
pub(crate) fn plant(svg: &mut Svg, scene: &Scene<'_>, view: &View, crowd: &mut Crowd) -> usize {
    let (mut poles, mut cloths) = (Svg::default(), Svg::default());
    let mut left_out = 0;
    for pole in poles_of(scene, view) {
        let shown = labels(&pole.findings);
        let width = shown.iter().map(|(_, label)| cloth_width(label)).fold(0.0, f64::max);
        let height = STEP_PX * f64::from(u8::try_from(shown.len()).unwrap_or(u8::MAX));
        let (x, y) = pole.at;
        // Upwards and to the right by preference; hanging down where the drawing ends above.
        let ways = [(-1.0, 1.0), (-1.0, -1.0), (1.0, 1.0), (1.0, -1.0)];
        let tries = CLEAR_PX.iter().flat_map(|clear| ways.map(|(down, side)| (*clear, down, side)));
        let patches = tries.map(|(clear, down, side)| {
            Patch::around((x + side * width / 2.0, y + down * (clear + height / 2.0)), width, height)
        });
        let Some(patch) = crowd.take_first(patches) else {
            left_out += pole.findings.len();
            continue;
        };
        let side = if patch.left + patch.right >= 2.0 * x { 1.0 } else { -1.0 };
        let far = if patch.top < y { patch.top } else { patch.bottom };
        pole_line(&mut poles, pole.at, far, shown[0].0);
        let mut bottom = patch.bottom;
        for (level, label) in &shown {
            cloth(&mut cloths, (x, bottom - STEP_PX / 2.0), side, *level, label);
            bottom -= STEP_PX;
        }
    }
    svg.add(format_args!("{}{}", poles.text(), cloths.text()));
    left_out
}

/// A flag by itself, its pole standing at a place, cloth to the right.
pub(crate) fn sample(svg: &mut Svg, (x, y): At, level: Level, label: &str) {
    let middle = y - CLEAR_PX[0];
    pole_line(svg, (x, y), middle - CLOTH_PX / 2.0, level);
    cloth(svg, (x, middle), 1.0, level, label);
}

/// Findings by place, each once at a place.
fn poles_of<'a>(scene: &'a Scene<'_>, view: &View) -> Vec<Pole<'a>> {
    let mut poles: Vec<Pole<'a>> = Vec::new();
    let mut by_place: Vec<(At, &Found<'_>)> = Vec::new();
    for found in &scene.findings {
        by_place.extend(found.places.iter().filter(|p| view.shows(**p)).map(|p| (view.at(*p), found)));
    }
    let square = |at: f64| (at / SAME_POLE_PX).round();
    by_place.sort_by(|(a, one), (b, other)| {
        let key = |at: At| (square(at.0), square(at.1));
        let (a, b) = (key(*a), key(*b));
        a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)).then(one.number.cmp(&other.number))
    });
    for (at, found) in by_place {
        let same = |pole: &&mut Pole<'_>| {
            (pole.at.0 - at.0).abs() < SAME_POLE_PX && (pole.at.1 - at.1).abs() < SAME_POLE_PX
        };
        match poles.last_mut().filter(same) {
            Some(pole) if pole.findings.iter().any(|seen| seen.number == found.number) => {}
            Some(pole) => pole.findings.push(found),
            None => poles.push(Pole { at, findings: vec![found] }),
        }
    }
    // Those that weigh most find their place first, and hang lowest.
    for pole in &mut poles {
        pole.findings.sort_by_key(|found| (std::cmp::Reverse(found.level), found.number));
    }
    poles.sort_by_key(|pole| (std::cmp::Reverse(pole.findings[0].level), pole.findings[0].number));
    poles
}

/// What the cloths of a pole say, the weightiest first: numbers, and how many more if there are too many.
fn labels(findings: &[&Found<'_>]) -> Vec<(Level, String)> {
    let labelled = |found: &&Found<'_>| (found.level, found.number.to_string());
    if findings.len() <= CLOTHS_MAX {
        return findings.iter().map(labelled).collect();
    }
    let (shown, more) = findings.split_at(CLOTHS_MAX - 1);
    shown.iter().map(labelled).chain([(more[0].level, format!("+{}", more.len()))]).collect()
}

fn cloth_width(label: &str) -> f64 {
    text_width(label, 10.0) + 11.0
}

fn pole_line(svg: &mut Svg, (x, y): At, far: f64, level: Level) {
    svg.line(format_args!(
        "<path class=\"{}\" stroke-width=\"1.2\" d=\"M{} {}V{}\"/>",
        classes(level).0,
        px(x),
        px(y),
        px(far)
    ));
}

/// A cloth hanging from the pole at this height, to the right or left of it.
fn cloth(svg: &mut Svg, (x, middle): At, side: f64, level: Level, label: &str) {
    let (class, on) = classes(level);
    let width = cloth_width(label) - 1.0;
    let half = CLOTH_PX / 2.0;
    let tail = if level == Level::Error { 4.0 } else { 0.0 };
    svg.line(format_args!(
        "<path class=\"{class}\" stroke-width=\"1.2\" stroke-linejoin=\"round\" d=\"M{} {}h{}l{} {} {} {}H{}z\"/>",
        px(x),
        px(middle - half),
        px(side * width),
        px(-side * tail),
        px(half),
        px(side * tail),
        px(half),
        px(x),
    ));
    svg.line(format_args!(
        "<text class=\"{on} on-flag\" x=\"{}\" y=\"{}\">{label}</text>",
        px(x + side * (width - tail) / 2.0),
        px(middle + 3.7)
    ));
}

fn classes(level: Level) -> (&'static str, &'static str) {
    match level {
        Level::Error => ("error", "on-error"),
        Level::Warning => ("warning", "on-warning"),
        Level::Note => ("note", "on-note"),
    }
}
