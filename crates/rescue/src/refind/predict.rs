//! How well the remaining cuts will land on a refound plate, and which feature to measure next.

use super::fit::{PoseFit, Spread};
use geometry::{Point, Program, Table, Vector};
use nalgebra::Matrix2;

/// The quantile of chi-square with two degrees of freedom below which 95 of 100 landings lie: -2 ln 0.05.
pub const CHI2_95_2D: f64 = 5.991_464_547_107_98;

/// The same for 9,999 of 10,000: -2 ln 0.0001. A plate is measured a few times a week: one landing in 1,000 that is farther off would cost a part within some years of them.
pub(super) const CHI2_SURE_2D: f64 = 18.420_680_743_952_367;

/// Where and how far a landing may be off: the 95 % ellipse at one point of the program.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Landing {
    /// The point of the program.
    pub at: Point<Program>,
    /// Half the longer axis of the ellipse, in millimetres.
    pub worst_mm: f64,
    /// Half the shorter axis, in millimetres.
    pub least_mm: f64,
    /// Direction of the longer axis on the table, of length one.
    pub direction: Vector<Table>,
}

/// A feature that could be measured next.
#[derive(Clone, Debug, PartialEq)]
pub struct Candidate {
    /// What it is.
    pub name: String,
    /// Where the program has it.
    pub plan: Point<Program>,
    /// How well it can be read.
    pub spread: Spread,
}

/// What measuring a candidate would bring.
#[derive(Clone, Debug, PartialEq)]
pub struct Gain {
    /// Index of the candidate.
    pub candidate: usize,
    /// The worst 95 % landing error over all targets afterwards, in millimetres.
    pub worst_mm: f64,
}

/// The 95 % landing ellipse at `p`. Where the sightings scatter more than their spread allows, the ellipse grows with
/// them.
#[must_use]
pub fn landing(fit: &PoseFit, p: Point<Program>) -> Landing {
    ellipse(p, fit.landing_covariance(p) * inflation(fit))
}

/// The worst 95 % landing over `targets`; none if there are none.
#[must_use]
pub fn worst_landing(fit: &PoseFit, targets: &[Point<Program>]) -> Option<Landing> {
    hull(targets).into_iter().map(|p| landing(fit, p)).max_by(|a, b| a.worst_mm.total_cmp(&b.worst_mm))
}

/// Candidates by what they would bring, most first: the `worst` landing in millimetres if each alone were measured next.
/// Cost: candidates × what `worst` takes.
#[must_use]
pub fn next_to_measure(
    fit: &PoseFit,
    candidates: &[Candidate],
    worst: impl Fn(&PoseFit) -> f64,
) -> Vec<Gain> {
    let mut gains: Vec<Gain> = candidates
        .iter()
        .enumerate()
        .filter_map(|(candidate, feature)| {
            Some(Gain { candidate, worst_mm: worst(&fit.if_also_measured(feature)?) })
        })
        .collect();
    gains.sort_by(|a, b| (a.worst_mm.total_cmp(&b.worst_mm)).then(a.candidate.cmp(&b.candidate)));
    gains
}

impl PoseFit {
    /// The fit as it would be with one more sighting that agrees with it; none if its covariance cannot be inverted.
    #[must_use]
    pub fn if_also_measured(&self, feature: &Candidate) -> Option<Self> {
        let information = self.covariance.clone().try_inverse()?;
        let covariance = (information + self.information_of(feature.plan, &feature.spread)).try_inverse()?;
        Some(Self { covariance, ..self.clone() })
    }
}

/// Reduced chi-square where it is above one: sightings that scatter more than told are trusted less.
pub(super) fn inflation(fit: &PoseFit) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "a handful of sightings")]
    let freedom = fit.freedom.max(1) as f64;
    (fit.chi2 / freedom).max(1.0)
}

fn ellipse(at: Point<Program>, covariance: Matrix2<f64>) -> Landing {
    let eigen = covariance.symmetric_eigen();
    let (most, least) = if eigen.eigenvalues[0] >= eigen.eigenvalues[1] { (0, 1) } else { (1, 0) };
    let half = |k: usize| (CHI2_95_2D * eigen.eigenvalues[k].max(0.0)).sqrt();
    let axis = eigen.eigenvectors.column(most);
    // One sign of the axis, so that equal inputs are written alike.
    let sign = if axis[0] < 0.0 || (axis[0] <= 0.0 && axis[1] < 0.0) { -1.0 } else { 1.0 };
    Landing {
        at,
        worst_mm: half(most),
        least_mm: half(least),
        direction: Vector::new(axis[0] * sign, axis[1] * sign),
    }
}

/// Corners of the convex hull, counter-clockwise. Landing errors are convex in the place, so that their worst is at a
/// corner. Source: Andrew's monotone chain, Information Processing Letters 9 (1979).
pub(super) fn hull(points: &[Point<Program>]) -> Vec<Point<Program>> {
    let mut sorted: Vec<Point<Program>> = points.iter().copied().filter(|p| p.is_finite()).collect();
    sorted.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    sorted.dedup();
    if sorted.len() < 3 {
        return sorted;
    }
    let chain = |points: &mut dyn Iterator<Item = Point<Program>>| {
        let mut chain: Vec<Point<Program>> = Vec::new();
        for p in points {
            while let [.., a, b] = chain[..]
                && (b - a).cross(p - b) <= 0.0
            {
                chain.pop();
            }
            chain.push(p);
        }
        chain.pop();
        chain
    };
    let mut lower = chain(&mut sorted.iter().copied());
    lower.extend(chain(&mut sorted.iter().rev().copied()));
    lower
}

#[cfg(test)]
mod tests {
    use super::super::fit::{Model, Sighting, fit_pose};
    use super::*;
    use geometry::Placement;

    /// A splitmix64 stream and from it normal deviates (Box and Muller), so that the simulation is the same each time.
    struct Normal(u64);

    impl Normal {
        fn unit(&mut self) -> f64 {
            self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
            let mut z = self.0;
            z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
            z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
            #[expect(clippy::cast_precision_loss, reason = "53 bits fit")]
            let fraction = ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64;
            fraction.max(f64::MIN_POSITIVE)
        }

        fn next(&mut self) -> f64 {
            (-2.0 * self.unit().ln()).sqrt() * (std::f64::consts::TAU * self.unit()).cos()
        }
    }

    fn marks() -> Vec<Point<Program>> {
        [(0.0, 0.0), (1000.0, 0.0), (1000.0, 500.0), (0.0, 500.0)].map(|(x, y)| Point::new(x, y)).to_vec()
    }

    fn sighted(truth: &Placement<Program, Table>, sigma: f64, noise: &mut Normal) -> Vec<Sighting> {
        marks()
            .into_iter()
            .map(|plan| {
                let at = truth.point(plan);
                let found = Point::new(at.x + sigma * noise.next(), at.y + sigma * noise.next());
                Sighting { name: String::new(), plan, found, spread: Spread::Round(sigma) }
            })
            .collect()
    }

    /// Source: definition of a 95 % confidence ellipse; the share is counted over 20,000 simulated plates moved by up
    /// to 200 mm and 15°.
    #[test]
    fn the_95_percent_ellipse_covers_93_to_97_percent() {
        let mut noise = Normal(7);
        let target = Point::new(1400.0, 900.0);
        let (mut inside, rounds) = (0u32, 20_000u32);
        for _ in 0..rounds {
            let shift = Point::new(400.0 * (noise.unit() - 0.5), 400.0 * (noise.unit() - 0.5));
            let truth = Placement::new((noise.unit() - 0.5) * 30f64.to_radians(), shift);
            let fit = fit_pose(&sighted(&truth, 0.5, &mut noise), Model::Rigid, &Placement::IDENTITY)
                .expect("a fit");
            let off = truth.point(target) - fit.map(target);
            let off = nalgebra::Vector2::new(off.x, off.y);
            let inverse = fit.landing_covariance(target).try_inverse().expect("a proper ellipse");
            inside += u32::from((off.transpose() * inverse * off)[(0, 0)] <= CHI2_95_2D);
        }
        let share = f64::from(inside) / f64::from(rounds);
        assert!((0.93..=0.97).contains(&share), "{share}");
    }

    #[test]
    fn the_far_feature_is_measured_next() {
        let near: Vec<Sighting> = [(0.0, 0.0), (120.0, 10.0)]
            .into_iter()
            .map(|(x, y)| Sighting {
                name: String::new(),
                plan: Point::new(x, y),
                found: Point::new(x, y),
                spread: Spread::Round(0.5),
            })
            .collect();
        let fit = fit_pose(&near, Model::Rigid, &Placement::IDENTITY).expect("a fit");
        let candidate = |name: &str, x: f64, y: f64| Candidate {
            name: name.to_owned(),
            plan: Point::new(x, y),
            spread: Spread::Round(0.5),
        };
        let candidates = [candidate("beside", 60.0, 20.0), candidate("far", 2000.0, 900.0)];
        let targets = [Point::new(1800.0, 800.0), Point::new(300.0, 100.0)];
        let before = worst_landing(&fit, &targets).expect("targets").worst_mm;
        let worst = |fit: &PoseFit| worst_landing(fit, &targets).expect("targets").worst_mm;
        let gains = next_to_measure(&fit, &candidates, worst);
        assert_eq!(gains[0].candidate, 1);
        assert!(gains[0].worst_mm < 0.2 * before && gains[1].worst_mm <= before, "{before} {gains:?}");
        // What was foretold is what comes: measure it and look again.
        let mut more = near.clone();
        more.push(Sighting {
            name: String::new(),
            plan: Point::new(2000.0, 900.0),
            found: Point::new(2000.0, 900.0),
            spread: Spread::Round(0.5),
        });
        let fit = fit_pose(&more, Model::Rigid, &Placement::IDENTITY).expect("a fit");
        let after = worst_landing(&fit, &targets).expect("targets").worst_mm;
        assert!((after - gains[0].worst_mm).abs() < 1e-6, "{after} {gains:?}");
    }

    #[test]
    fn the_hull_holds_the_worst_landing() {
        let mut noise = Normal(11);
        let fit = fit_pose(
            &sighted(&Placement::new(0.1, Point::new(5.0, 9.0)), 0.4, &mut noise),
            Model::Rigid,
            &Placement::IDENTITY,
        )
        .expect("a fit");
        let points: Vec<Point<Program>> =
            (0..500).map(|_| Point::new(3000.0 * noise.unit(), 1500.0 * noise.unit())).collect();
        let all = points.iter().map(|p| landing(&fit, *p).worst_mm).fold(0.0, f64::max);
        assert!((worst_landing(&fit, &points).expect("targets").worst_mm - all).abs() < 1e-12);
        assert!(hull(&points).len() < 60);
    }
}
