//! `forecast`: how long the program takes, with what air, wear and money, and where it will struggle.

use crate::args::ForecastArgs;
use crate::error::Error;
use crate::exit::Exit;
use crate::files::{RealDisk, write_one};
use crate::inputs::gather;
use crate::json::{self, ForecastDocument};
use crate::screen::Screen;
use cell::Forecast;
use desk::{Inputs, Reading};
use std::cell::RefCell;
use std::ops::ControlFlow;
use std::path::Path;

mod account;

/// Runs the command.
pub(crate) fn run(args: &ForecastArgs, screen: &mut Screen<'_>) -> Result<Exit, Error> {
    let (mut inputs, files) = gather(&args.job)?;
    let reading = Reading::of(&mut inputs);
    if let Some(out) = args.out.as_deref().filter(|out| *out != Path::new("-")) {
        files.spare(Path::new(""), [out.to_string_lossy().into_owned()])?;
    }
    let forecast = forecast(&inputs, &reading, screen);
    let chart =
        || draw::forecast_svg(&inputs.name, &forecast, reading.system(&inputs), draw::ChartFor::Paper);
    match args.out.as_deref() {
        Some(out) if out == Path::new("-") => {
            screen.raw(&chart());
            return Ok(exit(&forecast));
        }
        Some(out) => {
            write_one(&RealDisk, out, chart())?;
        }
        None => {}
    }
    let out = args.out.as_ref().map(|out| out.display().to_string());
    if args.json {
        let document = ForecastDocument::new(&inputs, &reading, &forecast, out);
        screen.raw(&json::text(&document));
    } else {
        super::remarks(&files, screen);
        account::print(&inputs, &reading, &forecast, args.all, screen);
        if let Some(out) = out {
            screen.line("");
            screen.line(&format!("The charts are in {out}; any web browser opens them."));
        }
    }
    Ok(exit(&forecast))
}

/// Motions from which progress is worth showing: fewer are run in the blink of an eye.
const WORTH_WATCHING: usize = 200_000;

/// The forecast of what was read, with a bar on a terminal.
fn forecast(inputs: &Inputs, reading: &Reading, screen: &mut Screen<'_>) -> Forecast {
    let all = reading.motions.motions().len();
    if all < WORTH_WATCHING {
        return desk::forecast(inputs, reading);
    }
    let watching = RefCell::new(screen);
    let told = |done| {
        watching.borrow_mut().progress(done, all);
        ControlFlow::Continue(())
    };
    let forecast = desk::forecast_watched(inputs, reading, &told);
    watching.borrow_mut().progress(all, all);
    forecast.expect("nobody calls it off")
}

/// Status 1 if the plant would stop the job.
fn exit(forecast: &Forecast) -> Exit {
    let short = forecast.air.as_ref().is_some_and(|air| air.short.is_some());
    let trips = forecast.duty.as_ref().is_some_and(|duty| duty.trip.is_some());
    if short || trips { Exit::FOUND } else { Exit::CLEAN }
}
