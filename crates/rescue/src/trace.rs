//! The torch-off trace: round the frame of what is left, round the clamps, then along the restart's first cut, all at
//! safe height and without a single word for torch, probe or touch-off.

use crate::restart::{Retract, go_up, retracts};
use crate::{Situation, Trace};
use cuts::CutId;
use geometry::{Bounds, Curve, Point, Program as ProgramFrame};
use nc::{Distance, EventKind, Height, HeightBase, MotionKind, Motions, Program, Start, Style, Writer};
use units::System;

/// Speed of the trace. Slow enough to stop by hand (common practice), and the same everywhere on it.
const SPEED_MM_PER_MIN: f64 = 3000.0;

/// How far outside a clamp the trace goes round it: the torch is about as wide as twice this (common practice).
const ROUND_CLAMP_MM: f64 = 25.0;

/// The trace of a restart that makes `cuts`, or why none can be written.
pub(crate) fn trace(
    situation: &Situation<'_>,
    cuts: &[CutId],
    style: Style,
    system: System,
) -> Result<Trace, String> {
    let first = cuts.first().ok_or("nothing is left to cut")?;
    let frame = frame(situation, cuts).ok_or("what is left to cut has no extent")?;
    let mut writer =
        Writer::new(situation.dialect, Style { distance: Distance::Absolute, ..style }, Point::ORIGIN);
    let mut preconditions =
        vec!["The source is off or the start command is locked out: nothing here starts an arc.".to_owned()];
    writer.comment("TRACE WITH THE TORCH OFF - NOTHING IS CUT");
    writer.header();
    height(&mut writer, situation, system, &mut preconditions);
    writer.comment("frame of what is left");
    around(&mut writer, frame);
    clamps(&mut writer, situation, frame, system, &mut preconditions);
    writer.comment(&format!("restart: cut {}", first.number()));
    let path = &situation.list.cut(*first).path;
    writer.rapid(situation.list.cut(*first).pierce.at);
    writer.feed_path(path, Some(SPEED_MM_PER_MIN));
    writer.rapid(situation.list.cut(*first).pierce.at);
    writer.end();
    let text = writer.finish();
    checked(situation, &text)?;
    Ok(Trace { text, preconditions })
}

fn frame(situation: &Situation<'_>, cuts: &[CutId]) -> Option<Bounds<ProgramFrame>> {
    cuts.iter().filter_map(|cut| situation.list.cut(*cut).path.bounds()).reduce(Bounds::union)
}

/// Goes up to safe height, if it is told and the program has a Z of its own.
fn height(
    writer: &mut Writer<'_>,
    situation: &Situation<'_>,
    system: System,
    preconditions: &mut Vec<String>,
) {
    let by = retracts(situation).first().copied().unwrap_or(Retract::None);
    let Some(safe) = situation.ground.safe_height.filter(|_| by != Retract::None) else {
        let why = match situation.ground.safe_height {
            Some(_) => "the program has no Z of its own",
            None => "the shop file has no `safe_height`",
        };
        preconditions.push(format!(
            "The torch is raised by hand clear of plate, pieces and clamps: {why}, so the trace does not move Z."
        ));
        return;
    };
    let (by, precondition) = match by {
        Retract::By(_) => (
            Retract::By(safe.mm()),
            format!(
                "The torch stands at or above the plate's top, with {} of room above it.",
                safe.show(system)
            ),
        ),
        Retract::To(_) | Retract::None => (
            Retract::To(safe.mm()),
            format!(
                "Z zero is the plate's top, as the last touch-off left it, so that Z {} is the safe height; if in \
                 doubt, raise the torch by hand and leave the Z block out.",
                safe.show(system)
            ),
        ),
    };
    go_up(writer, writer.style(), by);
    preconditions.push(precondition);
}

fn clamps(
    writer: &mut Writer<'_>,
    situation: &Situation<'_>,
    frame: Bounds<ProgramFrame>,
    system: System,
    preconditions: &mut Vec<String>,
) {
    for clamp in &situation.ground.clamps {
        let corner = |at: [units::Length; 2]| Point::new(at[0].mm(), at[1].mm());
        let Some(bounds) = Bounds::around([corner(clamp.from), corner(clamp.to)]) else { continue };
        let around_it = bounds.grown(ROUND_CLAMP_MM);
        if !around_it.meets(&frame.grown(ROUND_CLAMP_MM)) {
            continue;
        }
        let lower = clamp.height.zip(situation.ground.safe_height).is_some_and(|(clamp, safe)| clamp < safe);
        if !lower {
            let height = clamp.height.map_or_else(|| "unknown".to_owned(), |height| height.show(system));
            preconditions.push(format!(
                "The raised torch clears clamp \"{}\" (its height: {height}), or the clamp is moved first.",
                clamp.name
            ));
        }
        writer.comment(&format!("clamp {}", clamp.name));
        around(writer, around_it);
    }
}

/// Once round a box, from its lower left corner.
fn around(writer: &mut Writer<'_>, bounds: Bounds<ProgramFrame>) {
    let (min, max) = (bounds.min, bounds.max);
    let corners = [min, Point::new(max.x, min.y), max, Point::new(min.x, max.y), min];
    writer.rapid(min);
    for side in corners.windows(2) {
        writer.feed(&Curve::line(side[0], side[1]), Some(SPEED_MM_PER_MIN));
    }
}

/// Reads the trace as the control will: it must neither start nor touch anything, nor come below safe height.
fn checked(situation: &Situation<'_>, text: &str) -> Result<(), String> {
    let (program, _) = Program::parse(text.as_bytes(), situation.dialect);
    let unknown = Height { base: HeightBase::Unknown, mm: 0.0 };
    let start = Start { z: unknown, ..Start::usual(situation.dialect) };
    let (motions, _) = Motions::run(&program, situation.dialect, &start);
    let starts = motions.events().iter().any(|event| {
        matches!(event.kind, EventKind::TorchOn | EventKind::TouchOff(_) | EventKind::HeightControl(_))
    });
    let probes =
        motions.motions().iter().any(|motion| matches!(motion.kind, MotionKind::Probe | MotionKind::Home));
    if starts || probes {
        return Err("the table's words make a start or a touch-off of the trace's plainest blocks".into());
    }
    let safe = situation.ground.safe_height.map_or(0.0, units::Length::mm);
    if motions.motions().iter().any(|motion| motion.z.mm < safe - geometry::SAME_POINT_MM) {
        return Err("the trace would come below the safe height".into());
    }
    Ok(())
}
