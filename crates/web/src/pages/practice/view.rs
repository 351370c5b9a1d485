//! The plate of a session, as the job page draws plates.

use cuts::PlateState;
use draw::{Picture, Sketch};
use practice::Session;
use units::System;

/// The picture as a document, in the units chosen.
pub(super) fn picture(session: &Session<'_>, units: Option<System>) -> String {
    pictured(session, units, draw::plate_svg)
}

/// The same as strokes, for a screen that paints them itself.
pub(super) fn sketch(session: &Session<'_>) -> Sketch {
    pictured(session, None, draw::plate_sketch)
}

fn pictured<R>(session: &Session<'_>, units: Option<System>, draw: fn(&Picture<'_>) -> R) -> R {
    let setting = session.setting();
    let (inputs, reading) = (&setting.inputs, &setting.reading);
    let plate = inputs.job.placed_plate();
    let state = PlateState::after(&reading.list, session.progress(), reading.kerf.width);
    let title = format!("Practice: {}", setting.scenario.title);
    draw(&Picture {
        plate: plate.as_ref().map(|plate| &plate.outline),
        plate_holes: plate.as_ref().map_or(&[], |plate| &plate.holes),
        system: units.unwrap_or_else(|| reading.system(inputs)),
        stop: session.torch().map(|(at, _)| at),
        ..Picture::new(&title, &reading.list, &reading.motions, &state)
    })
}
