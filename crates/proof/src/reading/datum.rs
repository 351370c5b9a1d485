//! Where the written program's zero lies, and that it leaves it there.
//!
//! A restart counts from the datum that the original counted from at its start; or, where the original has set one
//! itself since, from that, as it still stands. Which of the two a text means shows at its first start; on a plate that
//! was measured after it moved it is always the first, from which the measurements count. The text sets no datum.

use crate::record::Record;
use crate::tolerance::NOISE_MM;
use crate::{Case, JoinStart, Original, Reason, reason};
use geometry::Point;
use nc::{EventKind, Motions, Program, Start};

/// Settles what is added to the written program's X and Y to get the original's.
///
/// # Errors
/// Point 2, if the text sets a datum, or the original cuts what is promised in several coordinate systems, or the
/// text in another one.
pub(super) fn kept(
    case: &Case<'_>,
    program: &Program,
    motions: &Motions,
    record: &mut Record,
) -> Result<[f64; 2], Reason> {
    let at_cuts = AtCuts::of(case);
    if at_cuts.system.is_none() && !case.original.tells_its_datums() {
        let message = "the original cuts what is promised in several coordinate systems, and where they lie its \
                       text does not tell";
        return Err(reason(2, message, None));
    }
    // Places were measured from the datum at the original's start: so must a text count that is written by them.
    let measured = case.pose.is_some() && at_cuts.moves;
    if measured && !(starts_at_a_known_place(case) && case.original.tells_its_datums()) {
        let message = "the original sets its datum on the way, and where that lies from the one in which the plate was \
                       measured its text does not tell";
        return Err(reason(2, message, None));
    }
    sets_none(program, motions)?;
    record.needs(
        "Program zero lies where it lay when the plate was begun: the same offsets, and the machine not homed anew \
         without checking a known place.",
    );
    let from_start = measured || (at_cuts.moves && at_cuts.counts_from_start(case, motions));
    let system = at_cuts.system.filter(|_| !from_start);
    same_system(program, motions, system.unwrap_or(1))?;
    if !at_cuts.moves {
        return Ok([0.0; 2]);
    }
    if from_start {
        record.needs(
            "Offsets and coordinate systems that the original set itself (G92, G10) are as they were before it was \
             started.",
        );
        return Ok([0.0; 2]);
    }
    let [x, y] = at_cuts.first_shift_mm;
    record.needs(format!(
        "The datum that the original set itself, at X{x:.3} Y{y:.3} from where its zero lay before, is still in force."
    ));
    Ok(at_cuts.first_shift_mm)
}

/// The original's datum while it cut what is promised.
struct AtCuts {
    /// The coordinate system; none if there were several.
    system: Option<u8>,
    first_shift_mm: [f64; 2],
    /// Whether it was not always the one at the program's start.
    moves: bool,
}

impl AtCuts {
    fn of(case: &Case<'_>) -> Self {
        let mut all = Self { system: None, first_shift_mm: [0.0; 2], moves: false };
        for (n, cut) in case.promise.cuts.iter().enumerate() {
            let event = &case.original.motions.events()[case.original.list.cut(*cut).torch_on as usize];
            let modal = case.original.motions.modal(event.modal);
            all.moves |= apart(modal.shift_mm, [0.0; 2]);
            if n == 0 {
                (all.system, all.first_shift_mm) = (Some(modal.system), modal.shift_mm);
            } else if all.system != Some(modal.system) {
                (all.system, all.moves) = (None, true);
            }
        }
        if case.promise.cuts.is_empty() { Self { system: Some(1), ..all } } else { all }
    }

    /// Whether the text means the datum at the original's start. It can only if the original came to an absolute
    /// place before it set another: else where the one lies from the other is not known.
    fn counts_from_start(&self, case: &Case<'_>, motions: &Motions) -> bool {
        let known = starts_at_a_known_place(case);
        let (Some((at, wanted)), true) = (first_place(case, motions), known) else { return false };
        let off = |shift: [f64; 2]| (at.x + shift[0] - wanted.x).hypot(at.y + shift[1] - wanted.y);
        off([0.0; 2]) < off(self.first_shift_mm)
    }
}

/// Whether the original came to an absolute place before it set another datum: then where the one lies from the other is
/// known.
fn starts_at_a_known_place(case: &Case<'_>) -> bool {
    let set =
        case.original.motions.events().iter().find(|event| matches!(event.kind, EventKind::DatumSet(_)));
    set.is_none_or(|event| {
        let known = case.original.motions.modal(event.modal).known;
        known.x && known.y
    })
}

/// A place of the text's first cut, and the same place in the original: where it is pierced; for a join, an end of its
/// path that the join has to come to.
fn first_place(
    case: &Case<'_>,
    motions: &Motions,
) -> Option<(Point<geometry::Program>, Point<geometry::Program>)> {
    let at = |kind: EventKind| {
        let event = motions.events().iter().find(|event| event.kind == kind)?;
        Some(motions.from(event.before as usize))
    };
    let cut = case.original.list.cut(*case.promise.cuts.first()?);
    match case.promise.join_of(0) {
        None => Some((at(EventKind::TorchOn)?, cut.pierce.at)),
        Some(join) if join.start == JoinStart::Backwards => {
            Some((at(EventKind::TorchOn)?, cut.path.point_at(join.from_mm)?))
        }
        Some(join) if join.ends_early(cut.path.length_mm()) => {
            Some((off_after_on(motions)?, cut.path.point_at(join.until_mm)?))
        }
        Some(_) => Some((off_after_on(motions)?, cut.path.to()?)),
    }
}

/// Where the first torch-off after a torch-on comes.
fn off_after_on(motions: &Motions) -> Option<Point<geometry::Program>> {
    let after = motions.events().iter().skip_while(|event| event.kind != EventKind::TorchOn);
    let off = after.into_iter().find(|event| event.kind == EventKind::TorchOff)?;
    Some(motions.from(off.before as usize))
}

/// Whether an original sets the origins of all coordinate systems that it goes over to.
pub(crate) fn tells_its_datums(original: &Original<'_>) -> bool {
    let (_, found) = Motions::run(original.program, original.dialect, &Start::usual(original.dialect));
    found.iter().all(|finding| finding.rule != "datum-unknown")
}

/// No block that runs sets a datum in X or Y, or one that the control keeps for later.
fn sets_none(program: &Program, motions: &Motions) -> Result<(), Reason> {
    let mut setting = program.datum_setting_blocks();
    match setting.find(|block| motions.modal_before(*block).is_some()) {
        None => Ok(()),
        Some(block) => {
            let message = "this sets a datum, or one that the control keeps: the plate lies where it lay, and a restart must \
                 leave them all as they are";
            Err(reason(2, message, span(program, block)))
        }
    }
}

/// A coordinate system may be chosen, if it is the one that the original cut in.
fn same_system(program: &Program, motions: &Motions, of_original: u8) -> Result<(), Reason> {
    let mut system = 1;
    for event in motions.events() {
        let modal = motions.modal(event.modal);
        match event.kind {
            EventKind::DatumSet(shift) if modal.system == system || apart(shift, [0.0; 2]) => {
                return Err(reason(2, "the datum is set again here", span(program, event.block)));
            }
            EventKind::DatumSet(_) => system = modal.system,
            EventKind::TorchOn if modal.system != of_original => {
                let message = format!(
                    "this start is in coordinate system {} and the original's was in {of_original}",
                    modal.system
                );
                return Err(reason(2, message, span(program, event.block)));
            }
            _ => {}
        }
    }
    Ok(())
}

fn span(program: &Program, block: u32) -> Option<finding::Span> {
    program.blocks().get(block as usize).map(|block| block.span)
}

fn apart(a: [f64; 2], b: [f64; 2]) -> bool {
    (a[0] - b[0]).abs() > NOISE_MM || (a[1] - b[1]).abs() > NOISE_MM
}
