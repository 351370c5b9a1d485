//! Loose pieces as somebody saw them lie. What is gone leaves a hole in the plate: nothing is begun there, and the arc does
//! not live over it. What stands is in the way of the torch, unless the promise has it taken out first.

use crate::record::Record;
use crate::{Case, Ground, Reason, reason};
use cuts::{Contour, ContourId, Lies, Shape};
use geometry::Contour as Outline;
use geometry::Program;

/// The ground with a hole where each piece was that is gone or is taken out first; none if there is no such piece.
///
/// # Errors
/// Point 1, if a piece is spoken of that there is not, or one is taken out that does not stand.
pub(crate) fn without_gone(case: &Case<'_>, record: &mut Record) -> Result<Option<Ground>, Reason> {
    let mut holes = Vec::new();
    for said in &case.progress.pieces {
        let Some((contour, closed)) = piece(case, said.outline) else {
            let message = format!("contour {} is no piece that could be loose", said.outline.0 + 1);
            return Err(reason(1, message, None));
        };
        if is_taken_out(case, said.outline) {
            record.needs(format!(
                "What stands up since cut {} freed it is taken out before the program is started.",
                contour.cut.number()
            ));
        } else if !matches!(said.lies, Lies::Fell | Lies::Removed) {
            continue;
        }
        holes.push(closed.clone());
    }
    let stands = |id: &ContourId| {
        case.progress.pieces.iter().any(|said| said.outline == *id && said.lies == Lies::Standing)
    };
    if let Some(other) = case.promise.taken_out.iter().find(|id| !stands(id)) {
        let message = format!("contour {} is to be taken out, and nothing stands there", other.0 + 1);
        return Err(reason(1, message, None));
    }
    if holes.is_empty() {
        return Ok(None);
    }
    let plate_holes = case.ground.plate_holes.iter().cloned().chain(holes).collect();
    Ok(Some(Ground { plate_holes, ..case.ground.clone() }))
}

/// The pieces that stand and stay: each with its edge as it was cut.
pub(crate) fn standing<'c>(
    case: &'c Case<'_>,
) -> impl Iterator<Item = (&'c Contour, &'c Outline<Program>)> + 'c {
    let stands = case.progress.pieces.iter().filter(|said| said.lies == Lies::Standing);
    stands.filter(|said| !is_taken_out(case, said.outline)).filter_map(|said| piece(case, said.outline))
}

/// Whether the promise has a standing piece taken out before the start.
pub(crate) fn is_taken_out(case: &Case<'_>, outline: ContourId) -> bool {
    case.promise.taken_out.contains(&outline)
}

/// Whether what was within a contour leaves a hole in the plate: it is gone, or is taken out before the start.
pub(crate) fn is_gone(case: &Case<'_>, contour: &Contour) -> bool {
    lies(case, contour).any(|lies| matches!(lies, Lies::Fell | Lies::Removed))
        || is_taken_out(case, contour.repeats.unwrap_or(contour.id))
}

/// Whether what is within a contour stands up, and stays.
pub(crate) fn is_standing(case: &Case<'_>, contour: &Contour) -> bool {
    lies(case, contour).any(|lies| lies == Lies::Standing) && !is_gone(case, contour)
}

/// Whether what is within a contour was seen to lie flat.
pub(crate) fn is_flat(case: &Case<'_>, contour: &Contour) -> bool {
    lies(case, contour).any(|lies| lies == Lies::Flat)
}

/// How what is within a contour was seen to lie, if it was.
fn lies<'c>(case: &'c Case<'_>, contour: &'c Contour) -> impl Iterator<Item = Lies> + 'c {
    let outline = contour.repeats.unwrap_or(contour.id);
    let of = move |said: &&cuts::Said| said.outline == outline || said.outline == contour.id;
    case.progress.pieces.iter().filter(of).map(|said| said.lies)
}

/// Whether somebody has seen the piece within a contour loose.
pub(crate) fn is_said_loose(case: &Case<'_>, contour: &Contour) -> bool {
    lies(case, contour).next().is_some()
}

/// Whether somebody has found what is within a contour held: it has not closed yet.
pub(crate) fn is_said_held(case: &Case<'_>, contour: &Contour) -> bool {
    case.progress.held.contains(&contour.id)
}

fn piece<'c>(case: &'c Case<'_>, outline: ContourId) -> Option<(&'c Contour, &'c Outline<Program>)> {
    let contour = case.original.list.contours.get(outline.0 as usize)?;
    let frees = matches!(contour.shape, Shape::Outline | Shape::Hole);
    Some((contour, contour.closed.as_ref().filter(|_| frees)?))
}
