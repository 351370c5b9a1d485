//! Numbered flags for findings. The level shows in the flag's form: a swallow-tail for an error, a plain flag for a
//! warning, an empty one for a note.

use crate::labels::{Crowd, Patch, text_width};
use crate::marks::At;
use crate::pen::{Svg, px};
use crate::scene::Scene;
use crate::view::View;
use finding::Level;

/// Height of a flag's cloth, in pixels.
const CLOTH_PX: f64 = 13.0;

/// Heights of pole to try, in pixels, from the place to the middle of the cloth.
const POLES_PX: [f64; 5] = [19.0, 33.0, 47.0, 61.0, 75.0];

/// Plants a flag for each place of each finding where there is room; gives how many found none.
pub(crate) fn plant(svg: &mut Svg, scene: &Scene<'_>, view: &View, crowd: &mut Crowd) -> usize {
    let mut left_out = 0;
    for found in &scene.findings {
        let number = found.number.to_string();
        for place in found.places.iter().filter(|place| view.shows(**place)) {
            let (x, y) = view.at(*place);
            let width = cloth_width(&number);
            let tries = POLES_PX.iter().flat_map(|pole| [1.0, -1.0].map(|side| (*pole, side)));
            let cloths = tries
                .map(|(pole, side)| Patch::around((x + side * width / 2.0, y - pole), width, CLOTH_PX + 1.0));
            match crowd.take_first(cloths) {
                Some(cloth) => flag(svg, (x, y), cloth, found.level, &number),
                None => left_out += 1,
            }
        }
    }
    left_out
}

/// A flag of its own size with its pole standing at a place, cloth to the right.
pub(crate) fn sample(svg: &mut Svg, (x, y): At, level: Level, number: &str) {
    let width = cloth_width(number);
    flag(
        svg,
        (x, y),
        Patch::around((x + width / 2.0, y - POLES_PX[0] + 4.0), width, CLOTH_PX),
        level,
        number,
    );
}

fn cloth_width(number: &str) -> f64 {
    text_width(number, 10.0) + 12.0
}

fn flag(svg: &mut Svg, (x, y): At, cloth: Patch, level: Level, number: &str) {
    let (class, on) = match level {
        Level::Error => ("error", "on-error"),
        Level::Warning => ("warning", "on-warning"),
        Level::Note => ("note", "on-note"),
    };
    let side = if cloth.left + cloth.right >= 2.0 * x { 1.0 } else { -1.0 };
    let width = cloth.right - cloth.left - 1.0;
    let middle = f64::midpoint(cloth.top, cloth.bottom);
    let top = middle - CLOTH_PX / 2.0;
    let tail = if level == Level::Error { 4.0 } else { 0.0 };
    svg.line(format_args!(
        "<path class=\"{class}\" stroke-width=\"1.2\" stroke-linejoin=\"round\" d=\"M{} {}V{}h{}l{} {} {} {}H{}\"/>",
        px(x),
        px(y),
        px(top),
        px(side * width),
        px(-side * tail),
        px(CLOTH_PX / 2.0),
        px(side * tail),
        px(CLOTH_PX / 2.0),
        px(x),
    ));
    svg.line(format_args!(
        "<text class=\"{on} on-flag\" x=\"{}\" y=\"{}\">{number}</text>",
        px(x + side * (width - tail) / 2.0),
        px(middle + 3.7)
    ));
}
