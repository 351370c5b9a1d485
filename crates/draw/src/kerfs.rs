//! The part of the drawing that lies in millimetres: plate, pieces, kerfs, travel.

use crate::marks::At;
use crate::pen::{Number, Svg, px};
use crate::scene::{Rest, Scene, Stage};
use crate::view::View;
use geometry::{Contour, Curve, Path, Program};

/// Narrowest kerf that is drawn, in pixels: below, two thin edges run into one and a cut can no longer be told from
/// one still to be made.
const KERF_PX_MIN: f64 = 2.6;

/// Thickness of the edges of a kerf to cut, in pixels.
const EDGE_PX: f64 = 0.9;

/// Width at which kerfs are drawn, in millimetres: their own, or what can be seen.
pub(crate) fn drawn_kerf_mm(scene: &Scene<'_>, view: &View) -> f64 {
    scene.kerf_mm.max(KERF_PX_MIN / view.px_per_mm)
}

/// The plate, and what is no longer plate.
pub(crate) fn plate(svg: &mut Svg, scene: &Scene<'_>, view: &View) {
    if let Some(outline) = scene.plate {
        contour(svg, "plate rim", outline, view, 1.6);
    }
    for hole in scene.plate_holes {
        contour(svg, "page rim", hole, view, 1.6);
    }
}

/// Loose pieces, hatched or empty. The patterns are those of [`hatches`].
pub(crate) fn pieces(svg: &mut Svg, scene: &Scene<'_>, view: &View, id: &str) {
    for piece in &scene.pieces {
        let fill = match piece.rest {
            Rest::Gone => {
                let dash = view.mm(3.0);
                svg.add(format_args!(
                    "<path class=\"void\" stroke-width=\"{}\" stroke-dasharray=\"{dash}\" d=\"",
                    view.mm(1.0)
                ));
                svg.path_data(piece.outline.path(), view.decimals());
                svg.line(format_args!("z\"/>"));
                continue;
            }
            Rest::Lies => "loose",
            Rest::Stands => "stands",
        };
        svg.add(format_args!("<path fill=\"url(#{id}-{fill})\" d=\""));
        svg.path_data(piece.outline.path(), view.decimals());
        svg.line(format_args!("z\"/>"));
    }
}

/// The patterns of loose and standing pieces, as far as there are any.
pub(crate) fn hatches(svg: &mut Svg, scene: &Scene<'_>, id: &str, px_per_unit: f64) {
    let size = Number(8.0 / px_per_unit, 3);
    let width = Number(1.1 / px_per_unit, 3);
    for (rest, name, across) in [(Rest::Lies, "loose", ""), (Rest::Stands, "stands", "M0 0h")] {
        if !scene.has_rest(rest) {
            continue;
        }
        let across = if across.is_empty() { String::new() } else { format!("{across}{size}") };
        svg.line(format_args!(
            "<pattern id=\"{id}-{name}\" width=\"{size}\" height=\"{size}\" patternUnits=\"userSpaceOnUse\" \
             patternTransform=\"rotate(45)\"><path class=\"hatch\" stroke-width=\"{width}\" \
             d=\"M0 0v{size}{across}\"/></pattern>"
        ));
    }
}

/// Kerfs: those to cut as two edges, then those cut as bands, so that what is done lies on top.
pub(crate) fn kerfs(svg: &mut Svg, scene: &Scene<'_>, view: &View, id: &str) {
    let width = drawn_kerf_mm(scene, view);
    let edge_mm = EDGE_PX / view.px_per_mm;
    let steps = view.decimals() + 1;
    let (whole, core) = (Number(width, steps), Number(width - 2.0 * edge_mm, steps));
    let inner = Number(width * 0.34, steps);
    if stage(svg, scene, view, Stage::ToCut, &format!("id=\"{id}-to-cut\"")) {
        svg.line(format_args!("<use class=\"line edge\" stroke-width=\"{whole}\" href=\"#{id}-to-cut\"/>"));
        svg.line(format_args!("<use class=\"line core\" stroke-width=\"{core}\" href=\"#{id}-to-cut\"/>"));
    }
    if stage(svg, scene, view, Stage::Groove, &format!("id=\"{id}-groove\"")) {
        let dash = view.mm(7.0);
        svg.line(format_args!("<use class=\"line cut\" stroke-width=\"{whole}\" href=\"#{id}-groove\"/>"));
        svg.line(format_args!(
            "<use class=\"line core\" stroke-width=\"{inner}\" stroke-dasharray=\"{dash}\" href=\"#{id}-groove\"/>"
        ));
    }
    stage(svg, scene, view, Stage::Cut, &format!("class=\"line cut\" stroke-width=\"{whole}\""));
    strays(svg, scene, view);
    let (thin, dash, dot) = (view.mm(1.1), view.mm(5.0), view.mm(2.5));
    let broken = format!("class=\"line mark\" stroke-width=\"{thin}\" stroke-dasharray=\"{dash} {dot}\"");
    stage(svg, scene, view, Stage::ToMark, &broken);
    stage(svg, scene, view, Stage::Marked, &format!("class=\"line mark\" stroke-width=\"{}\"", view.mm(1.6)));
}

/// Holes and kerfs beside the program's path, each as wide as it is or as can be seen.
fn strays(svg: &mut Svg, scene: &Scene<'_>, view: &View) {
    let steps = view.decimals() + 1;
    let kerf = drawn_kerf_mm(scene, view);
    for stray in scene.strays {
        let hole = Path::new(vec![Curve::line(stray.at, stray.at)]);
        let crater = (stray.crater_mm > 0.0).then_some((&hole, (2.0 * stray.crater_mm).max(kerf)));
        for (of, width) in crater.into_iter().chain([(&stray.path, kerf)]) {
            if of.from().is_some() {
                svg.add(format_args!("<g class=\"line cut\" stroke-width=\"{}\">", Number(width, steps)));
                path(svg, of, view);
                svg.line(format_args!("</g>"));
            }
        }
    }
}

/// The restart's own lead-in, over everything that is cut.
pub(crate) fn lead_in(svg: &mut Svg, scene: &Scene<'_>, view: &View) {
    let Some(way) = scene.lead_in.filter(|way| way.from().is_some()) else { return };
    svg.line(format_args!("<g class=\"line way\" stroke-width=\"{}\">", view.mm(LEAD_IN_PX)));
    path(svg, way, view);
    svg.line(format_args!("</g>"));
}

/// Width of the restart's lead-in, in pixels.
const LEAD_IN_PX: f64 = 2.2;

/// A piece of the restart's lead-in for the legend.
pub(crate) fn lead_in_sample(svg: &mut Svg, (x, y): At) {
    svg.line(format_args!(
        "<path class=\"line way\" stroke-width=\"{LEAD_IN_PX}\" d=\"M{} {}q20 0 34 -5\"/>",
        px(x),
        px(y + 3.0)
    ));
}

/// A hole beside the program's path for the legend.
pub(crate) fn stray_sample(svg: &mut Svg, (x, y): At) {
    svg.line(format_args!(
        "<path class=\"line cut\" stroke-width=\"10\" d=\"M{} {}h0\"/>",
        px(x + 17.0),
        px(y)
    ));
}

/// Writes the paths of one stage in a group; those that are used twice go into `defs`. Says whether there are any.
fn stage(svg: &mut Svg, scene: &Scene<'_>, view: &View, stage: Stage, attributes: &str) -> bool {
    let mut paths = scene.bands.iter().filter(|band| band.stage == stage).peekable();
    if paths.peek().is_none() {
        return false;
    }
    let used_twice = attributes.starts_with("id=");
    svg.line(format_args!("{}<g {attributes}>", if used_twice { "<defs>" } else { "" }));
    for band in paths {
        path(svg, &band.path, view);
    }
    svg.line(format_args!("</g>{}", if used_twice { "</defs>" } else { "" }));
    true
}

/// Travel: a grey chain line, with ticks that point the way where there is room.
pub(crate) fn travel(svg: &mut Svg, scene: &Scene<'_>, view: &View) {
    if scene.travel.is_empty() {
        return;
    }
    let (width, long, short, gap) = (view.mm(1.0), view.mm(9.0), view.mm(1.5), view.mm(3.0));
    svg.line(format_args!(
        "<g class=\"line travel\" stroke-width=\"{width}\" stroke-dasharray=\"{long} {gap} {short} {gap}\">"
    ));
    for way in &scene.travel {
        path(svg, way, view);
    }
    svg.line(format_args!("</g>"));
}

fn path(svg: &mut Svg, path: &Path<Program>, view: &View) {
    svg.add(format_args!("<path d=\""));
    svg.path_data(path, view.decimals());
    svg.line(format_args!("\"/>"));
}

fn contour(svg: &mut Svg, class: &str, contour: &Contour<Program>, view: &View, width_px: f64) {
    svg.add(format_args!("<path class=\"{class}\" stroke-width=\"{}\" d=\"", view.mm(width_px)));
    svg.path_data(contour.path(), view.decimals());
    svg.line(format_args!("z\"/>"));
}

/// A piece of kerf for the legend, its left end there; always wide enough to show how it is drawn.
pub(crate) fn sample(svg: &mut Svg, (x, y): At, stage: Stage) {
    let d = format!("M{} {}h28", px(x), px(y));
    let mut stroke = |class: &str, width: f64, more: &str| {
        svg.line(format_args!(
            "<path class=\"line {class}\" stroke-width=\"{}\"{more} d=\"{d}\"/>",
            px(width)
        ));
    };
    match stage {
        Stage::ToCut => {
            stroke("edge", 5.0, "");
            stroke("core", 5.0 - 2.0 * EDGE_PX, "");
        }
        Stage::Groove => {
            stroke("cut", 5.0, "");
            stroke("core", 1.7, " stroke-dasharray=\"7\"");
        }
        Stage::Cut => stroke("cut", 5.0, ""),
        Stage::ToMark => stroke("mark", 1.1, " stroke-dasharray=\"5 2.5\""),
        Stage::Marked => stroke("mark", 1.6, ""),
    }
}

/// A piece of travel for the legend.
pub(crate) fn travel_sample(svg: &mut Svg, (x, y): At) {
    svg.line(format_args!(
        "<path class=\"line travel\" stroke-width=\"1\" stroke-dasharray=\"9 3 1.5 3\" d=\"M{} {}h34\"/>",
        px(x),
        px(y)
    ));
    tick(svg, (x + 19.0, y), (1.0, 0.0));
}

/// Ticks that point along travel, on the page: at the middle of each way with room for one, and of each stretch of a
/// long one.
pub(crate) fn ticks(svg: &mut Svg, scene: &Scene<'_>, view: &View) {
    let lies = scene.lies();
    for way in &scene.travel {
        let length_px = way.length_mm() * view.px_per_mm;
        if length_px < TICKED_PX_MIN {
            continue;
        }
        let count = (length_px / TICK_EVERY_PX).floor().clamp(1.0, 40.0);
        let mut at = 0.5;
        while at < count {
            let along = way.length_mm() * at / count;
            if let (Some(p), Some(tangent)) = (way.point_at(along), way.tangent_at(along))
                && view.shows(lies.point(p))
            {
                let (p, tangent) = (lies.point(p), lies.vector(tangent));
                tick(svg, view.at(p), (tangent.x, -tangent.y));
            }
            at += 1.0;
        }
    }
}

/// Shortest way with a tick, in pixels.
const TICKED_PX_MIN: f64 = 44.0;

/// Distance of ticks along a long way, in pixels.
const TICK_EVERY_PX: f64 = 150.0;

fn tick(svg: &mut Svg, (x, y): At, (along_x, along_y): (f64, f64)) {
    let arm = |side: f64| (-4.0 * along_x - side * 3.0 * along_y, -4.0 * along_y + side * 3.0 * along_x);
    let ((ax, ay), (bx, by)) = (arm(1.0), arm(-1.0));
    svg.line(format_args!(
        "<path class=\"line travel\" stroke-width=\"1.1\" d=\"M{} {}L{} {}L{} {}\"/>",
        px(x + ax),
        px(y + ay),
        px(x),
        px(y),
        px(x + bx),
        px(y + by)
    ));
}
