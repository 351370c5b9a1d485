//! What is answered without a stop: findings, forecast, picture; and what an earlier rescue left.

use crate::reading::{begin, flow};
use crate::{Fingerprint, Inputs, PlateFile, Reading};
use cell::{Forecast, Planned};
use checks::{Facts, Report};
use cuts::{CutList, PlateState, Progress};
use draw::{Picture, Sketch};
use finding::Finding;
use geometry::{Point, Program};
use rescue::{Earlier, Watch, Witness};
use shop::Shop;

/// What every rule finds, with what reading found.
#[must_use]
pub fn report(inputs: &Inputs, reading: &Reading) -> Report {
    // Without a shop no rule has the facts that would make it ask the forecast.
    let forecast = inputs.shop.is_some().then(|| forecast(inputs, reading));
    checks::check(&facts(inputs, reading, forecast.as_ref()))
}

/// The same, for who has the forecast already and waits; none if it was called off.
#[must_use]
pub fn report_watched(
    inputs: &Inputs,
    reading: &Reading,
    forecast: &Forecast,
    watch: &dyn Watch,
) -> Option<Report> {
    let forecast = inputs.shop.is_some().then_some(forecast);
    checks::check_watched(&facts(inputs, reading, forecast), &|done, of, of_what| {
        flow(begin(Some(watch), done, of, of_what))
    })
}

fn facts<'a>(inputs: &'a Inputs, reading: &'a Reading, forecast: Option<&'a Forecast>) -> Facts<'a> {
    Facts {
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
    }
}

/// The forecast of what was read.
#[must_use]
pub fn forecast(inputs: &Inputs, reading: &Reading) -> Forecast {
    Forecast::of(&planned(inputs, reading, &Shop::unknown()))
}

/// The same while somebody waits, who is told now and then how many motions have been run; none if it was called off.
#[must_use]
pub fn forecast_watched(inputs: &Inputs, reading: &Reading, watch: &cell::Watch<'_>) -> Option<Forecast> {
    Forecast::watched(&planned(inputs, reading, &Shop::unknown()), watch)
}

/// What the forecast is made from; `unknown` is the shop where none is told.
fn planned<'a>(inputs: &'a Inputs, reading: &'a Reading, unknown: &'a Shop) -> Planned<'a> {
    Planned {
        motions: &reading.motions,
        list: &reading.list,
        shop: inputs.shop.as_ref().unwrap_or(unknown),
        job: &inputs.job,
        kerf: reading.kerf.width,
    }
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
        system: reading.system(inputs),
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

#[cfg(test)]
mod tests {
    use crate::{Inputs, Reading, Watch, forecast, forecast_watched, report, report_watched};
    use std::ops::ControlFlow;
    use std::sync::Mutex;

    const PROGRAM: &[u8] = include_bytes!("../../../demo/post-bases/program.nc");
    const SHOP: &str = include_str!("../../../demo/post-bases/shop.toml");
    const JOB: &str = "thickness = \"10 mm\"\nplate = \"1500x750 mm\"\n";

    /// Writes down what it is told, and calls it off once it was told so often.
    #[derive(Debug)]
    struct Waiting {
        told: Mutex<Vec<String>>,
        patience: usize,
    }

    impl Waiting {
        fn with_patience(patience: usize) -> Self {
            Self { told: Mutex::default(), patience }
        }

        fn told(&self) -> Vec<String> {
            self.told.lock().expect("nobody panicked").clone()
        }
    }

    impl Watch for Waiting {
        fn tell(&self, done: usize, of: usize, of_what: &str) {
            assert!(done < of, "{done} of {of} {of_what}");
            self.told.lock().expect("nobody panicked").push(of_what.to_owned());
        }

        fn is_called_off(&self) -> bool {
            self.told.lock().expect("nobody panicked").len() >= self.patience
        }
    }

    /// Reads, forecasts and checks while somebody waits.
    fn watched(waiting: &Waiting) -> Option<(cell::Forecast, checks::Report)> {
        let mut inputs = Inputs::bundled("post-bases.nc", PROGRAM, SHOP, JOB);
        let reading = Reading::watched(&mut inputs, Some(waiting))?;
        let motions = reading.motions.motions().len();
        let run = |done| {
            waiting.tell(done, motions, "motions of the forecast");
            if waiting.is_called_off() { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
        };
        let forecast = forecast_watched(&inputs, &reading, &run)?;
        let report = report_watched(&inputs, &reading, &forecast, waiting)?;
        Some((forecast, report))
    }

    /// Also within the stages that take long: whoever calls off at any word is not told another, and is given nothing.
    #[test]
    fn what_is_called_off_at_any_word_ends_there() {
        let patient = Waiting::with_patience(usize::MAX);
        let (found, said) = watched(&patient).expect("it is waited for");
        let told = patient.told();
        for stage in [
            "steps of reading",
            "cuts followed",
            "motions of the forecast",
            "checks",
            "ways over loose pieces",
        ] {
            assert!(told.iter().any(|of| of == stage), "{stage} is not told of: {told:?}");
        }
        for word in 1..=told.len() {
            let waiting = Waiting::with_patience(word);
            assert!(watched(&waiting).is_none(), "after word {word}");
            assert_eq!(waiting.told(), told[..word]);
        }
        // Who waits changes nothing.
        let mut inputs = Inputs::bundled("post-bases.nc", PROGRAM, SHOP, JOB);
        let reading = Reading::of(&mut inputs);
        assert_eq!(found, forecast(&inputs, &reading));
        assert_eq!(said, report(&inputs, &reading));
    }
}
