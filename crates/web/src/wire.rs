//! Answers that are no pages: strokes for the screen to paint, and files to keep.

use axum::body::Bytes;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use desk::Unfolding;
use draw::{Sketch, SketchFound, SketchLanding};
use serde::Serialize;

/// What the script that paints the plate takes. Places and widths in millimetres of the program's frame, Y up.
#[derive(Debug, Serialize)]
struct Strokes<'a> {
    bounds: [f64; 4],
    kerf: f64,
    /// How far coarse paths are off.
    coarse: f64,
    plate: &'a Option<String>,
    holes: &'a [String],
    bands: Vec<BandRow<'a>>,
    strays: &'a [(String, f64)],
    travel: &'a [String],
    pierces: Vec<(f64, f64, u32, bool)>,
    pieces: &'a [(String, &'static str)],
    parts: &'a [(u32, [f64; 2])],
    flags: &'a [(usize, &'static str, Vec<[f64; 2]>)],
    stop: Option<[f64; 2]>,
    restart: Option<[f64; 2]>,
    second: &'a [[f64; 2]],
    lead: &'a Option<String>,
    found: Option<FoundRow<'a>>,
}

/// What is known of where a plate that moved lies: residuals of what was measured, and ellipses of what is left.
#[derive(Debug, Serialize)]
struct FoundRow<'a> {
    sights: &'a [([f64; 2], [f64; 2], bool)],
    landings: Vec<([f64; 2], [f64; 2], f64, bool)>,
    next: &'a [[f64; 2]],
    tolerance: f64,
    longest: f64,
    widest: f64,
}

#[derive(Debug, Serialize)]
struct BandRow<'a> {
    cut: u32,
    stage: &'static str,
    path: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    coarse: Option<&'a str>,
    length: f64,
    #[serde(rename = "box")]
    bounds: [f64; 4],
}

/// Strokes as JSON.
pub(crate) fn strokes(sketch: &Sketch) -> Response {
    sent(strokes_text(sketch))
}

/// The same, to be kept.
pub(crate) fn strokes_text(sketch: &Sketch) -> Bytes {
    let strokes = Strokes {
        bounds: sketch.bounds,
        kerf: sketch.kerf_mm,
        coarse: sketch.coarse_mm,
        plate: &sketch.plate,
        holes: &sketch.plate_holes,
        bands: sketch
            .bands
            .iter()
            .map(|band| BandRow {
                cut: band.cut,
                stage: band.stage,
                path: &band.path,
                coarse: band.coarse.as_deref(),
                length: (band.length_mm * 1e3).round() / 1e3,
                bounds: band.bounds,
            })
            .collect(),
        strays: &sketch.strays,
        travel: &sketch.travel,
        pierces: sketch
            .pierces
            .iter()
            .map(|pierce| (pierce.at[0], pierce.at[1], pierce.cut, pierce.made))
            .collect(),
        pieces: &sketch.pieces,
        parts: &sketch.parts,
        flags: &sketch.flags,
        stop: sketch.stop,
        restart: sketch.restart,
        second: &sketch.second_burns,
        lead: &sketch.lead_in,
        found: sketch.found.as_ref().map(found),
    };
    text(&strokes)
}

fn found(found: &SketchFound) -> FoundRow<'_> {
    let landing = |landing: &SketchLanding| (landing.at, landing.half_mm, landing.angle_rad, landing.is_join);
    FoundRow {
        sights: &found.sights,
        landings: found.landings.iter().map(landing).collect(),
        next: &found.next,
        tolerance: found.tolerance_mm,
        longest: found.longest_mm,
        widest: found.widest_mm,
    }
}

/// A run as it unfolds: how long it takes, each cut's number with its times, and loose pieces with theirs.
#[derive(Debug, Serialize)]
struct Run<'a> {
    whole: f64,
    cuts: Vec<(u32, &'a [f64])>,
    loose: &'a [(f64, String)],
}

/// A run as JSON, to be kept.
pub(crate) fn run_text(run: &Unfolding) -> Bytes {
    let cuts = run.cuts.iter().map(|times| (times.cut, times.at_s.as_slice())).collect();
    text(&Run { whole: run.whole_s, cuts, loose: &run.loose })
}

/// A value as JSON.
pub(crate) fn json(value: &impl Serialize) -> Response {
    sent(text(value))
}

fn text(value: &impl Serialize) -> Bytes {
    serde_json::to_vec(value).expect("our types can be written as JSON").into()
}

/// JSON that was written before.
pub(crate) fn sent(text: Bytes) -> Response {
    ([(header::CONTENT_TYPE, "application/json")], text).into_response()
}

/// A picture.
pub(crate) fn picture(svg: String) -> Response {
    ([(header::CONTENT_TYPE, "image/svg+xml")], svg).into_response()
}

/// A file to be kept under this name. It is never shown by the browser, whatever is in it.
pub(crate) fn file(name: &str, bytes: Vec<u8>) -> Response {
    let plain: String =
        name.chars().map(|c| if c.is_ascii_alphanumeric() || "._- ".contains(c) { c } else { '_' }).collect();
    let disposition = HeaderValue::from_str(&format!("attachment; filename=\"{plain}\""));
    let disposition = disposition.unwrap_or(HeaderValue::from_static("attachment"));
    let headers = [
        (header::CONTENT_TYPE, HeaderValue::from_static("application/octet-stream")),
        (header::CONTENT_DISPOSITION, disposition),
    ];
    (StatusCode::OK, headers, bytes).into_response()
}
