//! `refind --witness`: three dimples to make before the first cut, and the program that goes to their places.

use crate::args::RefindArgs;
use crate::error::Error;
use crate::exit::Exit;
use crate::files::{FileSet, RealDisk, write_all};
use crate::inputs::gather;
use crate::json::{self, ProgramRow, WitnessDocument};
use crate::screen::{Screen, Tone};
use ::rescue::Witness;
use ::rescue::refind::shown;
use desk::{Fingerprint, Reading};
use units::{Length, System};

/// The program.
const PROGRAM: &str = "witness.nc";

/// The program that makes the dimples by short arcs.
const BY_ARC: &str = "dimples.nc";

/// The way of that program with the torch off.
const TRACE: &str = "dimples-trace.nc";

/// Runs the command.
pub(super) fn run(args: &RefindArgs, screen: &mut Screen<'_>) -> Result<Exit, Error> {
    let (mut inputs, files) = gather(&args.job)?;
    let reading = Reading::of(&mut inputs);
    let found = desk::dimples(&inputs, &reading);
    let mut names = Vec::new();
    if let (Some(folder), Ok(witness)) = (&args.out, &found) {
        files.spare(folder, [PROGRAM, BY_ARC, TRACE].map(str::to_owned))?;
        let mut set = FileSet::default();
        set.add(PROGRAM, witness.program.text.clone());
        let by_arc = witness.by_arc.as_ref().ok();
        set.add_or_leave_out(BY_ARC, by_arc.map(|by_arc| by_arc.text.clone()));
        let trace = by_arc.and_then(|by_arc| by_arc.trace.as_ref().ok());
        set.add_or_leave_out(TRACE, trace.map(|trace| trace.text.clone().into_bytes()));
        write_all(&RealDisk, folder, &set)?;
        names.extend(set.names().map(str::to_owned));
    }
    if args.json {
        let print = Fingerprint::of(&inputs.name, reading.program.text());
        let program = ProgramRow::new(&print, reading.program.blocks().len());
        screen.raw(&json::text(&WitnessDocument::new(program, &found, names)));
    } else {
        super::super::remarks(&files, screen);
        match &found {
            Ok(witness) => tell(witness, reading.system(&inputs), screen),
            Err(why) => {
                let label = screen.toned(Tone::Bad, "No dimples can be proposed:");
                screen.paragraph(&format!("{label} {why}."), 2);
            }
        }
        match (&args.out, names.is_empty()) {
            (Some(folder), false) => {
                screen.line(&format!("Written into {}: {}", folder.display(), names.join(", ")));
            }
            (None, _) if found.is_ok() => screen.line("Nothing was written: name a folder with --out DIR."),
            _ => {}
        }
    }
    Ok(if found.is_ok() { Exit::CLEAN } else { Exit::FOUND })
}

fn tell(witness: &Witness, system: System, screen: &mut Screen<'_>) {
    let heading = screen.toned(Tone::Heading, "Three dimples to make before the first cut");
    screen.line(&heading);
    let length = |mm: f64| Length::from_mm(mm).show(system);
    for dimple in &witness.dimples {
        let of_cuts = if dimple.clear_of_cuts_mm.is_finite() {
            format!("{} clear of every kerf, ", length(dimple.clear_of_cuts_mm))
        } else {
            String::new()
        };
        screen.paragraph(
            &format!(
                "  {}: {of_cuts}{} from the plate's edge",
                shown(dimple.at.x, dimple.at.y, system),
                length(dimple.clear_of_edge_mm)
            ),
            4,
        );
    }
    screen.paragraph(
        "  They stay on the skeleton to the end. If the plate moves, sight them and tell each by its place here, such as:",
        2,
    );
    let first = witness.dimples[0].at;
    screen.line(&format!(
        "    platewright refind ... --measure 'dimple {:.2},{:.2} mm at X,Y mm'",
        first.x, first.y
    ));
    screen.paragraph(
        &format!(
            "  {PROGRAM} goes to each with the torch off and stops: punch a dimple there, under the pointer's spot or the \
             torch's tip, whichever will be used to find it again. Must be so before the start:"
        ),
        2,
    );
    for precondition in &witness.program.preconditions {
        screen.paragraph(&format!("    - {precondition}"), 6);
    }
    let by_arc = match &witness.by_arc {
        Ok(by_arc) => by_arc,
        Err(why) => {
            screen.paragraph(&format!("  Not by the torch itself: {why}."), 2);
            return;
        }
    };
    screen.paragraph(
        &format!(
            "  {BY_ARC} makes them by the torch itself: an arc of {}, far below the pierce delay. Proven on the written \
             text. Must be so before the start:",
            by_arc.arc.show(system)
        ),
        2,
    );
    for precondition in &by_arc.proof.preconditions {
        screen.paragraph(&format!("    - {precondition}"), 6);
    }
    for lack in &by_arc.proof.unproven {
        screen.paragraph(&format!("    - Unproven: {lack}"), 6);
    }
    match &by_arc.trace {
        Ok(trace) => {
            screen.paragraph(
                &format!(
                    "  {TRACE} goes the same way first, raised and with the torch off. Must be so before the start:"
                ),
                2,
            );
            for precondition in &trace.preconditions {
                screen.paragraph(&format!("    - {precondition}"), 6);
            }
        }
        Err(why) => screen.paragraph(&format!("  No trace of it could be written: {why}."), 2),
    }
}
