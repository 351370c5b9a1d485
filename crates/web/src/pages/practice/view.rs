//! The plate of a session, as the job page draws plates.

use cuts::PlateState;
use draw::{Picture, Sketch};
use practice::Session;

/// The picture as a document.
pub(super) fn picture(session: &Session<'_>) -> String {
    pictured(session, draw::plate_svg)
}

/// The same as strokes, for a screen that paints them itself.
pub(super) fn sketch(session: &Session<'_>) -> Sketch {
    pictured(session, draw::plate_sketch)
}

fn pictured<R>(session: &Session<'_>, draw: fn(&Picture<'_>) -> R) -> R {
    let setting = session.setting();
    let (inputs, reading) = (&setting.inputs, &setting.reading);
    let plate = inputs.job.placed_plate();
    let state = PlateState::after(&reading.list, session.progress(), reading.kerf.width);
    let title = format!("Practice: {}", setting.scenario.title);
    draw(&Picture {
        plate: plate.as_ref().map(|plate| &plate.outline),
        plate_holes: plate.as_ref().map_or(&[], |plate| &plate.holes),
        stop: session.torch().map(|(at, _)| at),
        ..Picture::new(&title, &reading.list, &reading.motions, &state)
    })
}
