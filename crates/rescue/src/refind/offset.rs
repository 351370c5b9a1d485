//! Whether the readings by pointer and those by the torch's tip find the plate in the same place: if not, it is the
//! pointer's offset that is wrong or was not told, and a plate put where the pointer has it is off by as much.

use super::features::Sighted;
use super::fit::{Model, Sighting, fit_pose};
use super::judge::{DOUBT, Judgement, Verdict, chance_of};
use geometry::{Placement, Program, Table, Vector};
use shop::SightedBy;

/// What to beware of where nobody has told or checked the pointer's offset.
pub(super) const UNCHECKED: &str = "The pointer's offset from the torch was never checked, and a wrong one fits as \
     well as a moved plate: sight one mark with the pointer, then with the torch's tip, and tell both.";

/// Whether places were read both by the pointer and by the torch's tip, and the judgement says what that shows of the
/// offset: they agree, or do with another.
pub(super) fn is_looked_at(sighted: &Sighted, judgement: &Judgement) -> bool {
    let agrees = matches!(judgement.verdict, Verdict::Agree | Verdict::Grown(_) | Verdict::PointerOff { .. });
    let points = |by: SightedBy| of(sighted, by).any(Sighting::is_point);
    agrees && points(SightedBy::Tip) && points(SightedBy::Pointer)
}

/// The judgement that the pointer's spot lies elsewhere than was told or taken, if with that all readings agree and
/// without it they do not. A single reading by the tip shows it as well as many: left out as a slip of its own, it would
/// leave a plate that is off by the whole offset.
pub(super) fn pointer_off(
    sighted: &Sighted,
    judgement: &Judgement,
    before: &Placement<Program, Table>,
) -> Option<Judgement> {
    let at_odds = judgement.chance < DOUBT
        && !matches!(judgement.verdict, Verdict::Grown(_) | Verdict::Swapped(..) | Verdict::Mirrored);
    if !at_odds {
        return None;
    }
    [SightedBy::Pointer, SightedBy::Tip].into_iter().find_map(|fitted| {
        let off = apart(sighted, fitted, before)?;
        let brought = sighted.sightings.iter().zip(&sighted.by).map(|(sighting, by)| match by {
            SightedBy::Pointer => Sighting { found: sighting.found + off, ..sighting.clone() },
            SightedBy::Tip => sighting.clone(),
        });
        let fit = fit_pose(&brought.collect::<Vec<_>>(), Model::Rigid, before).ok()?;
        let agrees = fit.freedom > 2 && chance_of(&fit) >= DOUBT;
        let verdict = Verdict::PointerOff { x_mm: off.x, y_mm: off.y };
        agrees.then_some(Judgement { fit, verdict, chance: judgement.chance, usable: false })
    })
}

/// How far the places read by the pointer must be shifted to fit those read by the tip, by a fit to one of both alone and
/// the mean of the other's points.
fn apart(sighted: &Sighted, fitted: SightedBy, before: &Placement<Program, Table>) -> Option<Vector<Table>> {
    let alone: Vec<Sighting> = of(sighted, fitted).cloned().collect();
    let fit = fit_pose(&alone, Model::Rigid, before).ok()?;
    let others = sighted.sightings.iter().zip(&sighted.by).filter(|(s, by)| **by != fitted && s.is_point());
    let off: Vec<Vector<Table>> = others.map(|(other, _)| other.found - fit.map(other.plan)).collect();
    #[expect(clippy::cast_precision_loss, reason = "a handful of sightings")]
    let count = off.len() as f64;
    let sum = off.into_iter().reduce(|a, b| a + b)?;
    let mean = sum * (1.0 / count);
    Some(if fitted == SightedBy::Pointer { mean } else { mean * -1.0 })
}

fn of(sighted: &Sighted, by: SightedBy) -> impl Iterator<Item = &Sighting> {
    sighted.sightings.iter().zip(&sighted.by).filter(move |(_, of)| **of == by).map(|(sighting, _)| sighting)
}
