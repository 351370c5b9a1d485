//! Whether the sightings hold together, and if not, what explains them best: a warm plate, a bad reading, two readings
//! mixed up, a mirrored entry, a stretched axis, or a plate that moved again in between.

use super::fit::{Model, NoFit, PoseFit, Sighting, fit_pose};
use geometry::{Placement, Point, Program, Table};
use statrs::distribution::{ChiSquared, ContinuousCDF};

/// How much a plate may grow before growth is no longer the heat of cutting.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GrowthLimits {
    /// Linear expansion of the material, per kelvin.
    pub expansion_per_k: f64,
    /// Most that the plate as a whole is taken to have warmed or cooled, in kelvin.
    pub warmed_k_max: f64,
}

impl GrowthLimits {
    /// Largest relative change of length that heat explains.
    #[must_use]
    pub fn share_max(&self) -> f64 {
        self.expansion_per_k * self.warmed_k_max
    }
}

/// What the sightings say together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Verdict {
    /// They agree within their spread.
    Agree,
    /// They just suffice for a pose: nothing is left over to check them by.
    Unchecked,
    /// They agree if the plate has grown by this share, which heat explains.
    Grown(f64),
    /// They agree without this one, which is off by so many millimetres.
    OneBad {
        /// Index of the sighting.
        which: usize,
        /// How far it lies from where the others put it, in millimetres.
        off_mm: f64,
    },
    /// They agree without one of several; which one is at fault cannot be told. Measure these again.
    OneOfSeveralBad,
    /// They agree if the places found for these two are exchanged.
    Swapped(usize, usize),
    /// They agree if the entries are mirrored: a sign or an axis is the wrong way round.
    Mirrored,
    /// They agree if the plate is larger by this share everywhere (smaller, if negative), by more than heat explains:
    /// another unit, a wrong scale, or not this plate.
    Scaled(f64),
    /// Those by the pointer and those by the torch's tip agree among themselves, and together if the pointer's readings are
    /// shifted by so much: its offset is wrong or was not told.
    PointerOff {
        /// In X, in millimetres.
        x_mm: f64,
        /// In Y, in millimetres.
        y_mm: f64,
    },
    /// They agree if one axis is stretched or the axes are no longer square: lost steps, or not this plate.
    Stretched,
    /// Those before this index agree with each other, and so do the rest, but not both together: it moved in between.
    MovedBetween(usize),
    /// What the torch has made agrees with itself and so do the plate's own corners and edges, but not both together: the
    /// plate never lay where it was told.
    LaidElsewhere {
        /// How far from where what was cut puts it the farthest of them lies, in millimetres.
        off_mm: f64,
    },
    /// Nothing tried explains them.
    AtOdds,
}

impl Verdict {
    /// Whether the plate lies about where the fit has it, so that a place worked out by it can be gone to.
    #[must_use]
    pub const fn places(&self) -> bool {
        match self {
            Self::Agree
            | Self::Unchecked
            | Self::Grown(_)
            | Self::OneBad { .. }
            | Self::OneOfSeveralBad
            | Self::Swapped(..)
            | Self::LaidElsewhere { .. }
            | Self::PointerOff { .. } => true,
            Self::Mirrored | Self::Scaled(_) | Self::Stretched | Self::MovedBetween(_) | Self::AtOdds => {
                false
            }
        }
    }
}

/// The pose to go by, what the sightings say, and how sure.
#[derive(Clone, Debug, PartialEq)]
pub struct Judgement {
    /// The fit to go by; under [`Verdict::AtOdds`] and the like the plain rigid fit, not to be relied on.
    pub fit: PoseFit,
    /// What explains the sightings.
    pub verdict: Verdict,
    /// Probability that sightings this far apart come from their spread alone, of the plain rigid fit, 0 to 1; 1 if
    /// nothing is left over to check by.
    pub chance: f64,
    /// Whether a program may be written on this pose.
    pub usable: bool,
}

/// Sightings less likely than this to differ so much by chance are taken not to agree. One honest set of readings in
/// a hundred is doubted; smaller would let a misread point through, larger would send the operator back for nothing.
pub const DOUBT: f64 = 0.01;

/// Judges `sightings` and chooses the pose to go by.
///
/// The simplest explanation that passes the chi-square test wins, in the order of [`Verdict`]; growth is taken only
/// within `limits`.
///
/// # Errors
/// If the sightings do not fix a pose.
pub fn judge(
    sightings: &[Sighting],
    before: &Placement<Program, Table>,
    limits: &GrowthLimits,
) -> Result<Judgement, NoFit> {
    let rigid = fit_pose(sightings, Model::Rigid, before)?;
    let chance = chance_of(&rigid);
    let says = |fit: PoseFit, verdict: Verdict, usable: bool| Judgement { fit, verdict, chance, usable };
    if rigid.freedom == 0 {
        return Ok(says(rigid, Verdict::Unchecked, false));
    }
    if turned_round(sightings, &rigid) {
        return Ok(says(rigid, Verdict::Swapped(0, 1), false));
    }
    let grown = grown(sightings, before, limits, &rigid);
    if chance >= DOUBT {
        // Growth that shows clearly is taken even where a rigid plate is still just believable.
        return Ok(match grown {
            Some((fit, share)) => says(fit, Verdict::Grown(share), true),
            None => says(rigid, Verdict::Agree, true),
        });
    }
    if let Some((fit, share)) = grown {
        return Ok(says(fit, Verdict::Grown(share), true));
    }
    if let Some((fit, verdict)) = mixed_up(sightings, before) {
        return Ok(says(fit, verdict, false));
    }
    if let Some((fit, verdict)) = one_bad(sightings, before) {
        let usable = matches!(verdict, Verdict::OneBad { .. });
        return Ok(says(fit, verdict, usable));
    }
    if let Some(at) = moved_between(sightings, before) {
        return Ok(says(rigid, Verdict::MovedBetween(at), false));
    }
    if let Some(fit) = agrees_by(Model::Similar, sightings, before) {
        let share = fit.scale() - 1.0;
        return Ok(says(fit, Verdict::Scaled(share), false));
    }
    if let Some(fit) = agrees_by(Model::Affine, sightings, before) {
        return Ok(says(fit, Verdict::Stretched, false));
    }
    Ok(says(rigid, Verdict::AtOdds, false))
}

/// Probability of a chi-square at least as large as the fit's.
#[must_use]
pub fn chance_of(fit: &PoseFit) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "a handful of sightings")]
    let freedom = fit.freedom as f64;
    ChiSquared::new(freedom).map_or(1.0, |distribution| distribution.sf(fit.chi2))
}

/// The fit by this model, if the sightings agree by it and something is left over to check it by.
fn agrees_by(model: Model, sightings: &[Sighting], before: &Placement<Program, Table>) -> Option<PoseFit> {
    fit_pose(sightings, model, before).ok().filter(|fit| fit.freedom > 0 && chance_of(fit) >= DOUBT)
}

/// The fit with growth, if growth shows and heat explains it.
fn grown(
    sightings: &[Sighting],
    before: &Placement<Program, Table>,
    limits: &GrowthLimits,
    rigid: &PoseFit,
) -> Option<(PoseFit, f64)> {
    let fit = fit_pose(sightings, Model::Similar, before).ok()?;
    let gained = ChiSquared::new(1.0).ok()?.sf(rigid.chi2 - fit.chi2);
    let share = fit.scale() - 1.0;
    let explained = share.abs() <= limits.share_max() && gained < DOUBT && chance_of(&fit) >= DOUBT;
    explained.then_some((fit, share))
}

/// Whether two points alone put the plate more than a quarter turn round: exchanged they fit as well, and hardly a
/// plate turns so far.
fn turned_round(sightings: &[Sighting], rigid: &PoseFit) -> bool {
    let both = matches!(sightings, [a, b] if a.is_point() && b.is_point());
    both && rigid.angle_rad().abs() > std::f64::consts::FRAC_PI_2
}

/// Whether exchanging two of the places found, or mirroring all, makes the sightings agree.
fn mixed_up(sightings: &[Sighting], before: &Placement<Program, Table>) -> Option<(PoseFit, Verdict)> {
    let agrees = |changed: &[Sighting]| {
        fit_pose(changed, Model::Rigid, before).ok().filter(|fit| chance_of(fit) >= DOUBT)
    };
    for first in 0..sightings.len() {
        for second in first + 1..sightings.len() {
            let mut changed = sightings.to_vec();
            (changed[first].found, changed[second].found) = (changed[second].found, changed[first].found);
            if let Some(fit) = agrees(&changed) {
                return Some((fit, Verdict::Swapped(first, second)));
            }
        }
    }
    let mut mirrored = sightings.to_vec();
    for sighting in &mut mirrored {
        sighting.found = Point::new(sighting.found.x, -sighting.found.y);
    }
    agrees(&mirrored).map(|fit| (fit, Verdict::Mirrored))
}

/// Whether the sightings agree without one of them.
fn one_bad(sightings: &[Sighting], before: &Placement<Program, Table>) -> Option<(PoseFit, Verdict)> {
    let mut explained = Vec::new();
    for which in 0..sightings.len() {
        let mut rest = sightings.to_vec();
        let left_out = rest.remove(which);
        let Ok(fit) = fit_pose(&rest, Model::Rigid, before) else { continue };
        if fit.freedom > 0 && chance_of(&fit) >= DOUBT {
            let off_mm = left_out.found.distance(fit.map(left_out.plan));
            explained.push((fit, Verdict::OneBad { which, off_mm }));
        }
    }
    match explained.len() {
        0 | 1 => explained.pop(),
        _ => explained.pop().map(|(fit, _)| (fit, Verdict::OneOfSeveralBad)),
    }
}

/// The first index at which the sightings, in the order taken, fall into two groups that each agree.
fn moved_between(sightings: &[Sighting], before: &Placement<Program, Table>) -> Option<usize> {
    let agrees = |group: &[Sighting]| {
        fit_pose(group, Model::Rigid, before).is_ok_and(|fit| fit.freedom > 0 && chance_of(&fit) >= DOUBT)
    };
    (2..sightings.len().saturating_sub(1)).find(|at| agrees(&sightings[..*at]) && agrees(&sightings[*at..]))
}

/// Whether the plate lay elsewhere than told all along: what was cut is taken for its pose, and where its edges lie, seen
/// from the frame of the cuts, is told besides. `is_of_plate` tells which sightings are of the plate's own edges.
///
/// Where the readings fall apart in the order taken, the plate may have moved between them just as well: then nothing is
/// said, and they must be taken again.
pub(super) fn laid_elsewhere(
    sightings: &[Sighting],
    is_of_plate: &dyn Fn(&Sighting) -> bool,
    judged: &Judgement,
    before: &Placement<Program, Table>,
) -> Option<(Judgement, Placement<Program, Program>)> {
    let otherwise =
        matches!(judged.verdict, Verdict::Unchecked | Verdict::PointerOff { .. } | Verdict::MovedBetween(_));
    if judged.usable || otherwise {
        return None;
    }
    let (of_plate, of_cuts): (Vec<Sighting>, Vec<Sighting>) =
        sightings.iter().cloned().partition(is_of_plate);
    let agreed = |group: &[Sighting]| {
        fit_pose(group, Model::Rigid, before).ok().filter(|fit| fit.freedom > 0 && chance_of(fit) >= DOUBT)
    };
    let (plate, fit) = (agreed(&of_plate)?, agreed(&of_cuts)?);
    let off = |sighting: &Sighting| plate.map(sighting.plan).distance(fit.map(sighting.plan));
    let off_mm = of_plate.iter().map(off).fold(0.0, f64::max);
    let edges = plate.placement().then(&fit.placement().inverse());
    let verdict = Verdict::LaidElsewhere { off_mm };
    Some((Judgement { fit, verdict, usable: true, chance: judged.chance }, edges))
}

#[cfg(test)]
mod tests {
    use super::super::fit::Spread;
    use super::*;

    const STEEL: GrowthLimits = GrowthLimits { expansion_per_k: 12e-6, warmed_k_max: 80.0 };
    const SIGMA_MM: f64 = 0.3;

    /// Small fixed reading errors, so that no set is perfect.
    const NOISE: [(f64, f64); 6] =
        [(0.2, -0.1), (-0.25, 0.15), (0.1, 0.2), (-0.1, -0.3), (0.3, 0.05), (-0.2, 0.1)];

    fn marks() -> [Point<Program>; 6] {
        [(40.0, 30.0), (2400.0, 60.0), (2350.0, 1200.0), (80.0, 1180.0), (1210.0, 640.0), (700.0, 300.0)]
            .map(|(x, y)| Point::new(x, y))
    }

    fn sighted(found: impl Fn(usize, Point<Program>) -> Point<Table>) -> Vec<Sighting> {
        marks()
            .iter()
            .enumerate()
            .map(|(k, plan)| {
                let at = found(k, *plan);
                Sighting {
                    name: format!("mark {k}"),
                    plan: *plan,
                    found: Point::new(at.x + NOISE[k].0, at.y + NOISE[k].1),
                    spread: Spread::Round(SIGMA_MM),
                }
            })
            .collect()
    }

    fn moved() -> Placement<Program, Table> {
        Placement::new(0.08, Point::new(140.0, -55.0))
    }

    fn verdict(sightings: &[Sighting]) -> Verdict {
        judge(sightings, &Placement::IDENTITY, &STEEL).expect("a pose").verdict
    }

    #[test]
    fn honest_readings_of_a_moved_plate_agree() {
        assert_eq!(verdict(&sighted(|_, p| moved().point(p))), Verdict::Agree);
    }

    #[test]
    fn a_warm_plate_is_not_taken_for_a_moved_one() {
        let grown = |p: Point<Program>| moved().point(Point::new(p.x * 1.0006, p.y * 1.0006));
        let Verdict::Grown(share) = verdict(&sighted(|_, p| grown(p))) else { panic!("growth was not seen") };
        assert!((share - 0.0006).abs() < 0.0003, "{share}");
    }

    #[test]
    fn a_misread_point_is_named() {
        let found = verdict(&sighted(|k, p| {
            let at = moved().point(p);
            if k == 3 { Point::new(at.x + 10.0, at.y) } else { at }
        }));
        let Verdict::OneBad { which, off_mm } = found else { panic!("{found:?}") };
        assert_eq!(which, 3);
        assert!((off_mm - 10.0).abs() < 1.5, "{off_mm}");
    }

    #[test]
    fn exchanged_entries_are_named() {
        let found = verdict(&sighted(|k, _| {
            let from = match k {
                1 => 4,
                4 => 1,
                _ => k,
            };
            moved().point(marks()[from])
        }));
        assert_eq!(found, Verdict::Swapped(1, 4));
    }

    #[test]
    fn a_mirrored_entry_is_seen() {
        let found = verdict(&sighted(|_, p| {
            let at = moved().point(p);
            Point::new(-at.x, at.y)
        }));
        assert_eq!(found, Verdict::Mirrored);
    }

    #[test]
    fn a_plate_larger_than_heat_makes_it_is_no_stretched_one() {
        let Verdict::Scaled(share) =
            verdict(&sighted(|_, p| moved().point(Point::new(p.x * 1.004, p.y * 1.004))))
        else {
            panic!("the scale was not seen")
        };
        assert!((share - 0.004).abs() < 0.0003, "{share}");
    }

    #[test]
    fn a_stretched_axis_is_seen() {
        let found = verdict(&sighted(|_, p| {
            let at = moved().point(p);
            Point::new(at.x * 1.01, at.y)
        }));
        assert_eq!(found, Verdict::Stretched);
    }

    #[test]
    fn a_second_move_between_readings_is_seen() {
        let again = Placement::<Program, Table>::new(0.02, Point::new(90.0, 10.0));
        let found = verdict(&sighted(|k, p| if k < 3 { moved().point(p) } else { again.point(p) }));
        assert_eq!(found, Verdict::MovedBetween(3));
    }

    #[test]
    fn two_points_check_their_distance_only() {
        let two = sighted(|_, p| moved().point(p));
        let honest = judge(&two[..2], &Placement::IDENTITY, &STEEL).expect("a pose");
        assert_eq!((honest.verdict, honest.fit.freedom), (Verdict::Agree, 1));
        let mut wrong = two[..2].to_vec();
        wrong[1].found = Point::new(wrong[1].found.x + 12.0, wrong[1].found.y);
        let judged = judge(&wrong, &Placement::IDENTITY, &STEEL).expect("a pose");
        assert_eq!((judged.verdict, judged.usable), (Verdict::AtOdds, false));
    }
}
