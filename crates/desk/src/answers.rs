//! What is answered without a stop: findings, forecast, picture; and what an earlier rescue left.

use crate::{Fingerprint, Inputs, PlateFile, Reading};
use cell::{Forecast, Planned};
use checks::{Facts, Report};
use cuts::{CutList, PlateState, Progress};
use draw::{Picture, Sketch};
use finding::Finding;
use geometry::{Point, Program};
use rescue::{Earlier, Witness};
use shop::Shop;

/// What every rule finds, with what reading found.
#[must_use]
pub fn report(inputs: &Inputs, reading: &Reading) -> Report {
    // Without a shop no rule has the facts that would make it ask the forecast.
    let forecast = inputs.shop.is_some().then(|| forecast(inputs, reading, None));
    report_with(inputs, reading, forecast.as_ref())
}

/// The same, for who has the forecast already.
#[must_use]
pub fn report_with(inputs: &Inputs, reading: &Reading, forecast: Option<&Forecast>) -> Report {
    checks::check(&Facts {
        program: &reading.program,
        dialect: &reading.dialect,
        motions: &reading.motions,
        list: &reading.list,
        index: &reading.index,
        read: &reading.findings,
        shop: inputs.shop.as_ref(),
        job: &inputs.job,
        kerf: reading.kerf.width,
        forecast,
    })
}

/// The forecast of what was read; `watch` is told now and then how many motions have been run.
#[must_use]
pub fn forecast(inputs: &Inputs, reading: &Reading, watch: Option<&dyn Fn(usize)>) -> Forecast {
    let unknown = Shop::unknown();
    let planned = Planned {
        motions: &reading.motions,
        list: &reading.list,
        shop: inputs.shop.as_ref().unwrap_or(&unknown),
        job: &inputs.job,
        kerf: reading.kerf.width,
    };
    Forecast::of(&planned, watch)
}

/// Three dimples to make before the first cut, by which the plate is found again if it moves.
///
/// # Errors
/// Why there are none, in words.
pub fn dimples(inputs: &Inputs, reading: &Reading) -> Result<Witness, String> {
    let ground = inputs.ground(reading, inputs.job.thickness.unwrap_or_default());
    rescue::witness(&reading.situation(inputs, &ground, None))
}

/// The picture of the plate after `progress`, with flags for `findings`: an SVG document.
#[must_use]
pub fn picture(inputs: &Inputs, reading: &Reading, progress: Progress, findings: &[Finding]) -> String {
    pictured(inputs, reading, progress, findings, draw::plate_svg)
}

/// The same as strokes, for a screen that paints them itself.
#[must_use]
pub fn sketch(inputs: &Inputs, reading: &Reading, progress: Progress, findings: &[Finding]) -> Sketch {
    pictured(inputs, reading, progress, findings, draw::plate_sketch)
}

fn pictured<R>(
    inputs: &Inputs,
    reading: &Reading,
    progress: Progress,
    findings: &[Finding],
    draw: fn(&Picture<'_>) -> R,
) -> R {
    let plate = inputs.job.placed_plate();
    let state = PlateState::after(&reading.list, progress, reading.kerf.width);
    draw(&Picture {
        plate: plate.as_ref().map(|plate| &plate.outline),
        plate_holes: plate.as_ref().map_or(&[], |plate| &plate.holes),
        findings,
        ..Picture::new(&inputs.name, &reading.list, &reading.motions, &state)
    })
}

/// What the plate file of an earlier rescue says, in terms of this program's cuts. Cuts that it says were moved lie
/// where they were moved to in `reading` from then on. `text` is that of the restart program beside the file, if it is at
/// hand; any other counts for nothing.
///
/// # Errors
/// A sentence on what is wrong, if it names cuts that the program does not have.
pub fn earlier(
    file: &PlateFile,
    text: Option<Vec<u8>>,
    inputs: &Inputs,
    reading: &mut Reading,
) -> Result<Earlier, String> {
    let is_that = |text: &Vec<u8>| {
        file.restart.as_ref().is_some_and(|restart| restart.same_text(&Fingerprint::of(&restart.name, text)))
    };
    let earlier = Earlier { text: text.filter(is_that), ..file.earlier(&reading.list)? };
    reading.carry(&earlier, inputs)?;
    Ok(earlier)
}

/// A cut near a place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Near {
    /// Number of the cut, from 1.
    pub cut: u32,
    /// How far along it the nearest place of its path lies, in millimetres from the pierce.
    pub along_mm: f64,
    /// How far away that is.
    pub distance_mm: f64,
}

/// The cuts whose path comes within `within_mm` of a place, the nearest first; of those equally near the earlier one.
#[must_use]
pub fn near(list: &CutList, at: Point<Program>, within_mm: f64) -> Vec<Near> {
    let mut found: Vec<Near> = list
        .cuts
        .iter()
        .filter(|cut| cut.path.bounds().is_some_and(|bounds| bounds.grown(within_mm).contains(at)))
        .filter_map(|cut| {
            let near = cut.path.nearest(at)?;
            Some(Near { cut: cut.number(), along_mm: near.along_mm, distance_mm: near.distance_mm })
        })
        .filter(|near| near.distance_mm <= within_mm)
        .collect();
    found.sort_by(|a, b| a.distance_mm.total_cmp(&b.distance_mm));
    found
}
