//! What the sightings say together, and what to do about it, in plain words.

use super::features::{Sighted, shown};
use super::fit::{NoFit, Sighting};
use super::judge::{GrowthLimits, Judgement, Verdict};
use super::refound::Next;
use geometry::{Point, Table};
use units::{Length, System};

/// A reading off by nearly a round number of millimetres was misread by a digit, within this.
const DIGIT_MM: f64 = 1.5;

/// What there is to say where no pose can be fitted, and what to do.
pub(super) fn of_no_fit(sighted: &Sighted, none: NoFit) -> (String, String) {
    let used = sighted.sightings.len();
    let verdict = match none {
        NoFit::TooFew { .. } if used == 0 => "Nothing that can be used was measured.".to_owned(),
        NoFit::TooFew { .. } => format!(
            "{} not enough: a plate is found by two places far apart, or by places on two edges that meet.",
            if used == 1 { "One measurement is".to_owned() } else { format!("{used} measurements are") }
        ),
        NoFit::LeavesOpen => {
            "What was measured leaves open how far the plate is shifted or turned: all of it lies together, or on \
             edges that run the same way."
                .to_owned()
        }
        NoFit::BadSpread => "An uncertainty is told that is no length above zero.".to_owned(),
    };
    let to_do =
        "Measure the features named below: two at least, far apart, and a third to check them by.".to_owned();
    (verdict, to_do)
}

/// What the sightings say, and what to do.
pub(super) fn of_judgement(
    sighted: &Sighted,
    judgement: &Judgement,
    system: System,
    limits: &GrowthLimits,
) -> (String, String) {
    let names = Names { sightings: &sighted.sightings, judgement, system };
    match judgement.verdict {
        Verdict::Agree => names.agree(),
        Verdict::Unchecked => (
            "The measurements just fix where the plate is; nothing is left over to check them by, and a slip in one \
             would not show."
                .to_owned(),
            "Measure one more feature: the first of those below brings most.".to_owned(),
        ),
        Verdict::Grown(share) => names.grown(share, limits),
        Verdict::OneBad { which, off_mm } => names.one_bad(which, off_mm),
        Verdict::OneOfSeveralBad => (
            "The measurements do not agree; without one of them they would, but which one is wrong cannot be told."
                .to_owned(),
            "Measure each of them again, or one more feature besides: then the wrong one shows.".to_owned(),
        ),
        Verdict::Swapped(a, b) => names.swapped(a, b),
        Verdict::Mirrored => (
            "The measurements agree only if the plate is mirrored, and a plate is not: X or Y has the wrong sign, or \
             the two are exchanged."
                .to_owned(),
            "Look which way X and Y count on the control, and tell the readings again.".to_owned(),
        ),
        Verdict::PointerOff { x_mm, y_mm } => names.pointer_off(x_mm, y_mm),
        Verdict::Scaled(share) => scaled(share, limits),
        Verdict::Stretched => (
            "The measurements agree only if the plate is stretched in one direction or skewed, by more than warmth \
             explains: an axis has lost steps or its scale is off, or this is not the plate of this program."
                .to_owned(),
            HOME_AND_MEASURE.to_owned(),
        ),
        Verdict::MovedBetween(at) => (
            format!(
                "The first {at} measurements agree with each other and so do the rest, but not both together: the \
                 plate moved again between {} and {}.",
                names.of(at - 1),
                names.of(at)
            ),
            "Clamp the plate and measure all of it again.".to_owned(),
        ),
        Verdict::LaidElsewhere { off_mm } => (
            format!(
                "What the torch has made agrees with itself, and so do the plate's own corners and edges, but they lie up to {} \
                 apart: the plate never lay where it was told, and the datum was wrong from the start.",
                names.length(off_mm)
            ),
            "What was cut is gone by, and the plate's edges are taken where they were measured. Leave the datum as it is on \
             this plate."
                .to_owned(),
        ),
        Verdict::AtOdds => names.at_odds(),
    }
}

/// How near a scale must come to that of inches and millimetres to be taken for it: a plate read in the wrong unit is
/// otherwise read as well as any.
const UNIT_SHARE: f64 = 0.02;

/// What there is to say of a plate that is larger or smaller everywhere.
fn scaled(share: f64, limits: &GrowthLimits) -> (String, String) {
    let scale = 1.0 + share;
    let is = |unit: f64| (scale / unit - 1.0).abs() < UNIT_SHARE;
    if is(MM_PER_INCH) || is(1.0 / MM_PER_INCH) {
        return (
            format!(
                "The measurements agree only if the plate is {} times as large as the program has it: inches and \
                 millimetres were taken for each other.",
                if scale > 1.0 { "25.4" } else { "1/25.4" }
            ),
            "Look which unit the control shows, and tell the readings again with their unit.".to_owned(),
        );
    }
    let more = if share > 0.0 { "longer" } else { "shorter" };
    (
        format!(
            "The measurements agree only if the plate is {:.2} mm in each metre {more} than the program has it, and \
             warmth explains {:.2} mm at most: the scale of the axes is off, or this is not the plate of this \
             program.",
            share.abs() * 1000.0,
            limits.share_max() * 1000.0
        ),
        HOME_AND_MEASURE.to_owned(),
    )
}

/// What to do where the machine's own measure is in doubt.
const HOME_AND_MEASURE: &str = "Home the machine and visit a known place; then measure again. Until it is explained no program is written.";

/// Millimetres in an inch, by definition.
const MM_PER_INCH: f64 = 25.4;

/// Features that are named for whoever is to sight one of them.
const NAMED_MOST: usize = 2;

/// What there is to say where the plate's own corners and edges agree, and the one thing that the torch has made lies so far
/// from where they put it.
pub(super) fn of_torn(name: &str, off_mm: f64, system: System) -> String {
    format!(
        "The plate's own corners and edges agree with each other, and {name} lies {} from where they put it: it was misread, or \
         the plate never lay where it was told.",
        Length::from_mm(off_mm).show(system)
    )
}

/// What to do where only the plate's own corners and edges tell where it lies, though something is cut already.
pub(super) fn of_unanchored(next: &[Next], system: System) -> String {
    let what = match next {
        [] => "the corner of a kerf, two of its edges that meet or a place on a mark, on what the skeleton holds".to_owned(),
        next => next.iter().take(NAMED_MOST).map(|next| next.placed(system)).collect::<Vec<_>>().join(", or "),
    };
    format!(
        "The plate's corners and edges tell where the plate lies, and where its cuts lie only if the datum was right: sight \
         something besides that the torch has made: {what}. Tell it together with what was measured before."
    )
}

/// What the sentences speak of.
struct Names<'a> {
    sightings: &'a [Sighting],
    judgement: &'a Judgement,
    system: System,
}

impl Names<'_> {
    fn of(&self, k: usize) -> &str {
        self.sightings.get(k).map_or("it", |sighting| sighting.name.as_str())
    }

    fn length(&self, mm: f64) -> String {
        Length::from_mm(mm).show(self.system)
    }

    fn agree(&self) -> (String, String) {
        let verdict = match self.two() {
            Some((planned, found)) => format!(
                "The two places lie {} apart by the program and {} by the readings: their distance agrees, and that is \
                 all that two places can show.",
                self.length(planned),
                self.length(found)
            ),
            None => format!(
                "The {} readings agree within their errors (readings as far apart as these come by chance {} times in \
                 100).",
                self.sightings.len(),
                percent(self.judgement.chance)
            ),
        };
        let to_do = if self.two().is_some() {
            "A slip across the line between the two would not show: measure a third place, or at least visit one \
             before the start."
        } else {
            "Nothing more needs measuring for the parts told to be safe."
        };
        (verdict, to_do.to_owned())
    }

    /// Distance of the only two places, by the program and as found.
    fn two(&self) -> Option<(f64, f64)> {
        match self.sightings {
            [a, b] if a.is_point() && b.is_point() => {
                Some((a.plan.distance(b.plan), a.found.distance(b.found)))
            }
            _ => None,
        }
    }

    fn grown(&self, share: f64, limits: &GrowthLimits) -> (String, String) {
        let (more, warmth) = if share > 0.0 { ("longer", "warmer") } else { ("shorter", "colder") };
        let verdict = format!(
            "The plate is {:.2} mm in each metre {more} than the program has it, as a plate {:.0} K {warmth} is; \
             besides that the readings agree.",
            share.abs() * 1000.0,
            share.abs() / limits.expansion_per_k
        );
        let to_do = "The pose holds for the plate as warm as it was measured. If parts are told not to be safe, let it \
                     cool and measure again.";
        (verdict, to_do.to_owned())
    }

    fn one_bad(&self, which: usize, off_mm: f64) -> (String, String) {
        let Some(bad) = self.sightings.get(which) else { return self.at_odds() };
        let expected = self.judgement.fit.map(bad.plan);
        let (dx, dy) = (bad.found.x - expected.x, bad.found.y - expected.y);
        let guess = if bad.is_point() && (is_digit(dx, dy) || is_digit(dy, dx)) {
            ", perhaps a digit misread"
        } else {
            ""
        };
        let by_others = if bad.is_point() {
            format!(": there the control should show {}", self.place(expected))
        } else {
            String::new()
        };
        (
            format!(
                "All agree but one: {} was found {} off where the others put it{by_others}{guess}.",
                bad.name,
                self.length(off_mm)
            ),
            format!("Measure {} again. It is left out; what follows goes by the others alone.", bad.name),
        )
    }

    fn pointer_off(&self, x_mm: f64, y_mm: f64) -> (String, String) {
        (
            format!(
                "What was read by the pointer and what was read by the torch's tip agree only if the pointer's readings \
                 are shifted by {}: the offset of its spot from the torch was not told, or is another.",
                shown(x_mm, y_mm, self.system)
            ),
            "Measure the pointer's offset, or sight one mark with the pointer and then with the torch's tip, and tell it. \
             If a reading by the tip was a slip, take that one again."
                .to_owned(),
        )
    }

    fn swapped(&self, a: usize, b: usize) -> (String, String) {
        if self.two().is_some() {
            return (
                format!(
                    "By these two places the plate is turned by {:.0}°; with the two exchanged it would be turned by \
                     {:.0}°.",
                    self.judgement.fit.angle_rad().to_degrees(),
                    self.judgement.fit.angle_rad().to_degrees().abs() - 180.0
                ),
                "If they were exchanged, tell them again. If the plate really lies turned so far, measure a third \
                 place."
                    .to_owned(),
            );
        }
        (
            format!("The readings agree if those of {} and of {} are exchanged.", self.of(a), self.of(b)),
            "If they were mixed up, exchange them; else measure both again.".to_owned(),
        )
    }

    fn at_odds(&self) -> (String, String) {
        let verdict = match self.two() {
            Some((planned, found)) => format!(
                "The two places lie {} apart by the program and {} by the readings: one of them is misread, or is not \
                 the feature it was taken for.",
                self.length(planned),
                self.length(found)
            ),
            None => "The readings contradict each other, and no single slip explains it.".to_owned(),
        };
        (
            verdict,
            "Measure again: clamp the plate, take the features named below, and note each at once."
                .to_owned(),
        )
    }

    fn place(&self, p: Point<Table>) -> String {
        shown(p.x, p.y, self.system)
    }
}

/// Whether one axis alone is off, by a whole digit in some place: 1, 2 … 9 times ten, a hundred or a thousand.
fn is_digit(off: f64, other: f64) -> bool {
    let size = off.abs();
    other.abs() < DIGIT_MM
        && [10.0, 100.0, 1000.0].into_iter().any(|place| {
            let digit = (size / place).round();
            (1.0..=9.0).contains(&digit) && (size - digit * place).abs() < DIGIT_MM
        })
}

fn percent(chance: f64) -> String {
    if chance > 0.995 { "over 99".to_owned() } else { format!("{:.0}", (chance * 100.0).max(1.0)) }
}
