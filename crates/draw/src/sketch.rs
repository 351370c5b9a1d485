//! The plate picture as strokes for a screen that pans and zooms: the same scene, stages and inks as the document, with
//! the strokes left for the screen to paint.

use crate::Picture;
use crate::coarse::corners;
use crate::ink;
use crate::moved::{Landing, Moved, NEXT_MOST, Sight};
use crate::pen::Svg;
use crate::scene::{Rest, Scene, Stage};
use crate::sheet;
use geometry::{Contour, Path, Point, Program, Vector};

/// Decimals of a millimetre in path data: a micrometre, so that nothing is seen to be rounded however near one looks.
const DECIMALS: u8 = 3;

/// What there is to paint, in millimetres of the program's frame, Y up. Path data is that of SVG.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sketch {
    /// The box to show at first: least X and Y, greatest X and Y.
    pub bounds: [f64; 4],
    /// Width of the kerf.
    pub kerf_mm: f64,
    /// How far coarse paths are off, at most.
    pub coarse_mm: f64,
    /// Outline of the plate; none if it is not told.
    pub plate: Option<String>,
    /// Holes of the plate.
    pub plate_holes: Vec<String>,
    /// Stretches of cuts, in order of the cuts.
    pub bands: Vec<SketchBand>,
    /// Kerfs and holes on no cut's path: path data and width.
    pub strays: Vec<(String, f64)>,
    /// Ways with the torch off.
    pub travel: Vec<String>,
    /// Places where the arc is started, in order of the cuts.
    pub pierces: Vec<SketchPierce>,
    /// Loose pieces: path data, and how they rest: `lies`, `stands` or `gone`.
    pub pieces: Vec<(String, &'static str)>,
    /// Parts: number, and the middle of the box around it.
    pub parts: Vec<(u32, [f64; 2])>,
    /// Findings: number from 1, level (`error`, `warning`, `note`) and places.
    pub flags: Vec<(usize, &'static str, Vec<[f64; 2]>)>,
    /// Where it stopped.
    pub stop: Option<[f64; 2]>,
    /// Where it restarts.
    pub restart: Option<[f64; 2]>,
    /// Where the second burns of cuts in two are lit.
    pub second_burns: Vec<[f64; 2]>,
    /// The restart's own lead-in.
    pub lead_in: Option<String>,
    /// What is known of where a plate that moved lies.
    pub found: Option<SketchFound>,
}

/// What is known of where a plate that moved lies, on the plate: where the fit has things, all of it as the plate was when it
/// was begun. How much larger than they are distances are painted is for the screen to say.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SketchFound {
    /// Measured places, in that order: where the fit has them, how far off that they were found, and whether the fit was
    /// made without.
    pub sights: Vec<([f64; 2], [f64; 2], bool)>,
    /// How far off what is left may land, 95 times in 100, the joins first, then the worst first.
    pub landings: Vec<SketchLanding>,
    /// What to measure next.
    pub next: Vec<[f64; 2]>,
    /// How far off its place a cut may land.
    pub tolerance_mm: f64,
    /// The longest of the distances in `sights`; nothing where there are none.
    pub longest_mm: f64,
    /// The longest half axis in `landings`; nothing where there are none.
    pub widest_mm: f64,
}

/// An ellipse within which something lands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SketchLanding {
    /// Its middle.
    pub at: [f64; 2],
    /// Half of the longer axis, and half of the shorter.
    pub half_mm: [f64; 2],
    /// Direction of the longer axis, in radians from X towards Y.
    pub angle_rad: f64,
    /// Whether an interrupted kerf goes on there.
    pub is_join: bool,
}

/// A stretch of a cut.
#[derive(Clone, Debug, PartialEq)]
pub struct SketchBand {
    /// Number of the cut, from 1.
    pub cut: u32,
    /// `to-cut`, `groove`, `cut`, `to-mark` or `marked`.
    pub stage: &'static str,
    /// Path data.
    pub path: String,
    /// The same with fewer corners, for who looks from so far that [`Sketch::coarse_mm`] is not seen; none on a plate of
    /// few cuts.
    pub coarse: Option<String>,
    /// Its length.
    pub length_mm: f64,
    /// The box around it: least X and Y, greatest X and Y.
    pub bounds: [f64; 4],
}

/// A place where the arc is started.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SketchPierce {
    /// Where.
    pub at: [f64; 2],
    /// Number of the cut, from 1.
    pub cut: u32,
    /// Whether anything of it is made.
    pub made: bool,
}

/// Cuts from which on they come coarse as well: fewer are painted in no time.
const COARSE_FROM: usize = 1000;

/// Of how many stretches, each as long as what is left out beside a chord, the plate is wide or high: twice one is half a
/// pixel of a plate that fills a large screen.
const COARSE_SHARE: f64 = 6000.0;

/// Decimals of a millimetre in coarse paths.
const COARSE_DECIMALS: u8 = 1;

/// The strokes of a picture. Same inputs, same strokes.
#[must_use]
pub fn plate_sketch(picture: &Picture<'_>) -> Sketch {
    // All of it on the plate as it was begun, where it is pointed at: what lies where the control shows it is put back.
    let scene = Scene::of(&Picture { moved: None, ..*picture });
    let shown = sheet::shown(&scene);
    let extent_mm = (shown.max.x - shown.min.x).max(shown.max.y - shown.min.y);
    // Twice what is left out beside a chord, and what rounding adds.
    let within_mm = extent_mm / COARSE_SHARE;
    let coarse_mm = 2.0 * within_mm + 0.1;
    let is_coarse = scene.bands.len() >= COARSE_FROM;
    Sketch {
        coarse_mm,
        bounds: [shown.min.x, shown.min.y, shown.max.x, shown.max.y],
        kerf_mm: scene.kerf_mm,
        plate: scene.plate.map(|plate| closed(plate.path())),
        plate_holes: scene.plate_holes.iter().map(|hole| closed(hole.path())).collect(),
        bands: scene
            .bands
            .iter()
            .map(|band| SketchBand {
                cut: band.cut,
                stage: stage_name(band.stage),
                path: data(&band.path),
                coarse: is_coarse.then(|| coarse(&band.path, within_mm)),
                length_mm: band.path.length_mm(),
                bounds: around(&band.path),
            })
            .collect(),
        strays: scene
            .strays
            .iter()
            .flat_map(|stray| {
                let [x, y] = place(stray.at);
                let crater = (stray.crater_mm > 0.0).then(|| (format!("M{x} {y}h0"), 2.0 * stray.crater_mm));
                let way = stray.path.from().map(|_| (data(&stray.path), scene.kerf_mm));
                crater.into_iter().chain(way)
            })
            .collect(),
        travel: scene.travel.iter().map(data).collect(),
        pierces: scene
            .pierces
            .iter()
            .map(|pierce| SketchPierce { at: place(pierce.at), cut: pierce.number, made: pierce.made })
            .collect(),
        pieces: scene
            .pieces
            .iter()
            .map(|piece| (closed(piece.outline.path()), rest_name(piece.rest)))
            .collect(),
        parts: scene
            .parts
            .iter()
            .map(|part| {
                let bounds = part.outline.bounds();
                let middle = Point::new(
                    f64::midpoint(bounds.min.x, bounds.max.x),
                    f64::midpoint(bounds.min.y, bounds.max.y),
                );
                (part.number, place(middle))
            })
            .collect(),
        flags: scene
            .findings
            .iter()
            .map(|found| {
                let level = match found.level {
                    finding::Level::Error => "error",
                    finding::Level::Warning => "warning",
                    finding::Level::Note => "note",
                };
                (found.number, level, found.places.iter().map(|at| place(*at)).collect())
            })
            .collect(),
        stop: scene.stop.map(place),
        restart: scene.restart.map(place),
        second_burns: scene.second_burns.iter().map(|at| place(*at)).collect(),
        lead_in: scene.lead_in.filter(|way| way.from().is_some()).map(data),
        found: picture.moved.as_ref().map(found),
    }
}

fn found(moved: &Moved<'_>) -> SketchFound {
    let back = moved.lies.inverse();
    let pair = |v: Vector<Program>| place(Point::new(v.x, v.y));
    let sight =
        |sight: &Sight<'_>| (place(back.point(sight.fitted)), pair(back.vector(sight.off)), sight.left_out);
    let landing = |landing: &Landing| SketchLanding {
        at: place(back.point(landing.at)),
        half_mm: [landing.most_mm, landing.least_mm],
        angle_rad: back.vector(landing.along).angle_rad(),
        is_join: landing.is_join,
    };
    let (joins, others): (Vec<&Landing>, Vec<&Landing>) =
        moved.landings.iter().partition(|landing| landing.is_join);
    SketchFound {
        sights: moved.sights.iter().map(sight).collect(),
        landings: joins.into_iter().chain(others).map(landing).collect(),
        next: moved.next.iter().take(NEXT_MOST).map(|next| place(back.point(*next))).collect(),
        tolerance_mm: moved.tolerance_mm,
        longest_mm: moved.sights.iter().map(|sight| sight.off.length()).fold(0.0, f64::max),
        widest_mm: moved.landings.iter().map(|landing| landing.most_mm).fold(0.0, f64::max),
    }
}

/// Path data of a closed outline, as in a [`Sketch`].
#[must_use]
pub fn outline_data(outline: &Contour<Program>) -> String {
    closed(outline.path())
}

/// The inks of the picture as custom properties of a style sheet, `--ink-CLASS-PROPERTY`, for light and dark screens and
/// print.
#[must_use]
pub fn ink_properties() -> String {
    ink::properties()
}

fn stage_name(stage: Stage) -> &'static str {
    match stage {
        Stage::ToCut => "to-cut",
        Stage::Groove => "groove",
        Stage::Cut => "cut",
        Stage::ToMark => "to-mark",
        Stage::Marked => "marked",
    }
}

fn rest_name(rest: Rest) -> &'static str {
    match rest {
        Rest::Lies => "lies",
        Rest::Stands => "stands",
        Rest::Gone => "gone",
    }
}

/// The box around a path; at its beginning if it has no length.
fn around(path: &Path<Program>) -> [f64; 4] {
    let ends = path.bounds().map(|bounds| [bounds.min, bounds.max]);
    let [[x0, y0], [x1, y1]] =
        ends.or_else(|| path.from().map(|at| [at, at])).map(|ends| ends.map(place)).unwrap_or_default();
    [x0, y0, x1, y1]
}

fn place(p: Point<Program>) -> [f64; 2] {
    let rounded = |mm: f64| (mm * 1e3).round() / 1e3;
    [rounded(p.x), rounded(p.y)]
}

fn data(path: &Path<Program>) -> String {
    let mut svg = Svg::default();
    svg.path_data(path, DECIMALS);
    svg.text().to_owned()
}

fn coarse(path: &Path<Program>, within_mm: f64) -> String {
    let mut svg = Svg::default();
    svg.polyline(&corners(path, within_mm), COARSE_DECIMALS);
    svg.text().to_owned()
}

fn closed(path: &Path<Program>) -> String {
    let mut data = data(path);
    data.push('z');
    data
}
