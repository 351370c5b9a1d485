//! The weighted fit of a plate's pose to what was measured, with covariance.

use geometry::{Placement, Point, Program, Table, Vector};
use nalgebra::{DMatrix, DVector, Matrix2, Matrix2xX, Vector2};

/// One measured place: where the program has it, where the table found it, how well.
#[derive(Clone, Debug, PartialEq)]
pub struct Sighting {
    /// What it is, for messages: "hole of cut 12".
    pub name: String,
    /// Where the program has it.
    pub plan: Point<Program>,
    /// Where it was found, in the coordinates the control shows.
    pub found: Point<Table>,
    /// How far off a reading may be.
    pub spread: Spread,
}

/// How far off a sighting may be, and in which directions.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Spread {
    /// The same in all directions: one standard deviation in each axis, in millimetres.
    Round(f64),
    /// A covariance in the table's axes, in square millimetres (a hole's centre from few edge points).
    Elliptic(Matrix2<f64>),
    /// Somewhere on a straight edge: only the distance across it counts.
    Across {
        /// Direction of the edge in the program, of length one.
        direction: Vector<Program>,
        /// One standard deviation across it, in millimetres.
        sigma_mm: f64,
    },
}

/// How a plate may have changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Model {
    /// Turned and shifted.
    Rigid,
    /// Turned, shifted and grown alike in all directions.
    Similar,
    /// Turned, shifted, grown and sheared.
    Affine,
}

impl Model {
    /// How many numbers describe it.
    #[must_use]
    pub const fn parameters(self) -> usize {
        match self {
            Self::Rigid => 3,
            Self::Similar => 4,
            Self::Affine => 6,
        }
    }
}

/// A fitted pose with its uncertainty.
///
/// Carries program coordinates into those the control shows: `q = A (p - pivot) + at`.
#[derive(Clone, Debug, PartialEq)]
pub struct PoseFit {
    /// How the plate was allowed to change.
    pub model: Model,
    /// The point of the program about which the fit is expressed: the weighted centroid of the sightings.
    pub pivot: Point<Program>,
    /// Where the pivot was found.
    pub at: Point<Table>,
    /// The linear part.
    pub linear: Matrix2<f64>,
    /// Covariance of the model's parameters: for [`Model::Rigid`] shift X and Y in millimetres and angle in radians; for
    /// [`Model::Similar`] the growth besides; for [`Model::Affine`] shift and the four entries of the linear part.
    pub covariance: DMatrix<f64>,
    /// Weighted sum of squared residuals.
    pub chi2: f64,
    /// Measured numbers less parameters.
    pub freedom: usize,
    /// What each sighting is off by, as found less as fitted, in millimetres; across the edge only for edges.
    pub residuals: Vec<Vector<Table>>,
    /// What each sighting adds to `chi2`.
    pub shares: Vec<f64>,
}

/// Why no pose can be fitted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoFit {
    /// Too few numbers were measured for the model.
    TooFew {
        /// Measured numbers: two for a point, one for an edge.
        have: usize,
        /// Parameters of the model.
        need: usize,
    },
    /// The sightings leave a direction or the turn open: all in one place, or edges all parallel.
    LeavesOpen,
    /// A standard deviation that is zero, negative or not a number.
    BadSpread,
}

/// Most rounds of Gauss-Newton. Rigid fits of a plate that turned by up to 180° settle in under ten from the
/// closed-form start.
const ROUNDS: u32 = 60;

/// A step smaller than this in every parameter (millimetres, radians times a metre) ends the search.
const SETTLED: f64 = 1e-10;

/// Smallest reciprocal condition of the scaled normal equations at which all parameters count as measured.
const CONDITION_MIN: f64 = 1e-9;

/// The reading of a sighting at the present estimate: the point of the program it speaks of, and its information.
struct Reading {
    plan: Point<Program>,
    found: Point<Table>,
    information: Matrix2<f64>,
}

/// Fits `model` to `sightings` by weighted least squares.
///
/// Points count in both axes, edges across themselves only. The start is the closed-form rigid fit of the points
/// (angle = atan2 of the weighted cross and dot sums), or `before` where there are fewer than two.
///
/// # Errors
/// If the sightings do not fix the model, or a spread is not a positive number.
pub fn fit_pose(
    sightings: &[Sighting],
    model: Model,
    before: &Placement<Program, Table>,
) -> Result<PoseFit, NoFit> {
    let have: usize = sightings.iter().map(numbers_of).sum();
    let need = model.parameters();
    if have < need {
        return Err(NoFit::TooFew { have, need });
    }
    if sightings.iter().any(|s| !spread_is_sound(s)) {
        return Err(NoFit::BadSpread);
    }
    let (pivot, mut at, mut linear) = start(sightings, model, before);
    let arm_mm = arm_of(sightings, pivot);
    for _ in 0..ROUNDS {
        let (normal, right) = normal_equations(sightings, model, pivot, at, &linear, arm_mm);
        let step = solve(&normal, &right)?;
        at = Point::new(at.x + step[0], at.y + step[1]);
        linear = turned_on(model, &linear, &step, arm_mm);
        if step.amax() < SETTLED {
            break;
        }
    }
    let (normal, _) = normal_equations(sightings, model, pivot, at, &linear, arm_mm);
    let scaled = inverse(&normal)?;
    let unscale = DMatrix::from_fn(need, need, |i, j| {
        let by = |k: usize| if k < 2 { 1.0 } else { arm_mm };
        1.0 / (by(i) * by(j))
    });
    let mut fit = PoseFit {
        model,
        pivot,
        at,
        linear,
        covariance: scaled.component_mul(&unscale),
        chi2: 0.0,
        freedom: have - need,
        residuals: Vec::new(),
        shares: Vec::new(),
    };
    for sighting in sightings {
        let reading = read(sighting, pivot, at, &linear);
        let off = reading.found - fit.map(reading.plan);
        let off = Vector2::new(off.x, off.y);
        let share = (off.transpose() * reading.information * off)[(0, 0)];
        fit.residuals.push(Vector::new(off.x, off.y));
        fit.shares.push(share);
    }
    fit.chi2 = fit.shares.iter().sum();
    Ok(fit)
}

impl PoseFit {
    /// Where the control shows the program's point `p`.
    #[must_use]
    pub fn map(&self, p: Point<Program>) -> Point<Table> {
        mapped(p, self.pivot, self.at, &self.linear)
    }

    /// The plate's turn, counter-clockwise, in radians: of the rotation nearest to the linear part.
    #[must_use]
    pub fn angle_rad(&self) -> f64 {
        let m = &self.linear;
        (m[(1, 0)] - m[(0, 1)]).atan2(m[(0, 0)] + m[(1, 1)])
    }

    /// Growth alike in all directions, as a factor (square root of the growth in area).
    #[must_use]
    pub fn scale(&self) -> f64 {
        self.linear.determinant().abs().sqrt()
    }

    /// The rigid placement of the fit: its turn, with the pivot where it was found.
    #[must_use]
    pub fn placement(&self) -> Placement<Program, Table> {
        let turn = Placement::<Program, Table>::new(self.angle_rad(), Point::ORIGIN);
        let pivot = turn.point(self.pivot);
        Placement::new(self.angle_rad(), Point::new(self.at.x - pivot.x, self.at.y - pivot.y))
    }

    /// Covariance of where the program's point `p` will land, in square millimetres.
    #[must_use]
    pub fn landing_covariance(&self, p: Point<Program>) -> Matrix2<f64> {
        let jacobian = jacobian(self.model, p - self.pivot, &self.linear, 1.0);
        let covariance = &jacobian * &self.covariance * jacobian.transpose();
        covariance.fixed_view::<2, 2>(0, 0).into_owned()
    }

    /// The information that another sighting at `plan` would add, in the parameters of this fit.
    #[must_use]
    pub fn information_of(&self, plan: Point<Program>, spread: &Spread) -> DMatrix<f64> {
        let sighting = Sighting { name: String::new(), plan, found: self.map(plan), spread: *spread };
        let reading = read(&sighting, self.pivot, self.at, &self.linear);
        let jacobian = jacobian(self.model, reading.plan - self.pivot, &self.linear, 1.0);
        jacobian.transpose() * reading.information * jacobian
    }
}

impl Sighting {
    /// Whether it fixes a place in both axes; a place on an edge does not.
    #[must_use]
    pub fn is_point(&self) -> bool {
        !matches!(self.spread, Spread::Across { .. })
    }
}

fn numbers_of(sighting: &Sighting) -> usize {
    if sighting.is_point() { 2 } else { 1 }
}

fn spread_is_sound(sighting: &Sighting) -> bool {
    let sound = |sigma: f64| sigma.is_finite() && sigma > 0.0;
    match sighting.spread {
        Spread::Round(sigma) => sound(sigma),
        Spread::Elliptic(covariance) => sound(covariance.determinant()) && sound(covariance.trace()),
        Spread::Across { direction, sigma_mm } => sound(sigma_mm) && sound(direction.length()),
    }
}

fn mapped(p: Point<Program>, pivot: Point<Program>, at: Point<Table>, linear: &Matrix2<f64>) -> Point<Table> {
    let out = p - pivot;
    let turned = linear * Vector2::new(out.x, out.y);
    Point::new(at.x + turned.x, at.y + turned.y)
}

/// What a sighting says at the present estimate. An edge speaks of the point of it that is now nearest to the place
/// found, and only across its present direction.
fn read(sighting: &Sighting, pivot: Point<Program>, at: Point<Table>, linear: &Matrix2<f64>) -> Reading {
    let (plan, information) = match sighting.spread {
        Spread::Round(sigma) => (sighting.plan, Matrix2::identity() / (sigma * sigma)),
        Spread::Elliptic(covariance) => {
            (sighting.plan, covariance.try_inverse().unwrap_or_else(Matrix2::zeros))
        }
        Spread::Across { direction, sigma_mm } => {
            let along = linear * Vector2::new(direction.x, direction.y);
            let stretch = along.norm();
            let along = along / stretch;
            let from = mapped(sighting.plan, pivot, at, linear);
            let out = sighting.found - from;
            let run = (out.x * along.x + out.y * along.y) / stretch;
            let across = Vector2::new(-along.y, along.x);
            (sighting.plan + direction * run, across * across.transpose() / (sigma_mm * sigma_mm))
        }
    };
    Reading { plan, found: sighting.found, information }
}

/// Closed-form start: weighted centroids, turn and, where the model has one, growth of the points, so that a wrong unit is
/// no farther off than a warm plate; the earlier pose where points do not say.
fn start(
    sightings: &[Sighting],
    model: Model,
    before: &Placement<Program, Table>,
) -> (Point<Program>, Point<Table>, Matrix2<f64>) {
    let weight = |s: &Sighting| match s.spread {
        Spread::Round(sigma) => 1.0 / (sigma * sigma),
        Spread::Elliptic(covariance) => 2.0 / covariance.trace(),
        Spread::Across { sigma_mm, .. } => 0.5 / (sigma_mm * sigma_mm),
    };
    let total: f64 = sightings.iter().map(weight).sum();
    let pivot = sightings
        .iter()
        .fold((0.0, 0.0), |(x, y), s| (x + weight(s) * s.plan.x / total, y + weight(s) * s.plan.y / total));
    let pivot = Point::new(pivot.0, pivot.1);
    let spots: Vec<_> = sightings.iter().filter(|s| numbers_of(s) == 2).collect();
    let rotation = |angle: f64| {
        let (sin, cos) = angle.sin_cos();
        Matrix2::new(cos, -sin, sin, cos)
    };
    if spots.len() < 2 {
        return (pivot, before.point(pivot), rotation(before.angle_rad()));
    }
    let spot_total: f64 = spots.iter().map(|s| weight(s)).sum();
    let mut plan_mean = Vector2::zeros();
    let mut found_mean = Vector2::zeros();
    for s in &spots {
        plan_mean += Vector2::new(s.plan.x, s.plan.y) * (weight(s) / spot_total);
        found_mean += Vector2::new(s.found.x, s.found.y) * (weight(s) / spot_total);
    }
    let (mut cross, mut dot, mut planned) = (0.0, 0.0, 0.0);
    for s in &spots {
        let a = Vector2::new(s.plan.x, s.plan.y) - plan_mean;
        let b = Vector2::new(s.found.x, s.found.y) - found_mean;
        cross += weight(s) * (a.x * b.y - a.y * b.x);
        dot += weight(s) * a.dot(&b);
        planned += weight(s) * a.norm_squared();
    }
    let growth = cross.hypot(dot) / planned;
    let growth = if model == Model::Similar && growth.is_normal() { growth } else { 1.0 };
    let linear = rotation(cross.atan2(dot)) * growth;
    let at = found_mean + linear * (Vector2::new(pivot.x, pivot.y) - plan_mean);
    (pivot, Point::new(at.x, at.y), linear)
}

/// Root mean square distance of the sightings from the pivot, by which turns are scaled to millimetres.
fn arm_of(sightings: &[Sighting], pivot: Point<Program>) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "a handful of sightings")]
    let count = sightings.len().max(1) as f64;
    let sum: f64 = sightings.iter().map(|s| s.plan.distance(pivot).powi(2)).sum();
    (sum / count).sqrt().max(1.0)
}

/// Derivative of the place where `p` lands by the parameters; turns and growths are in units of `1 / arm_mm`.
fn jacobian(model: Model, out: Vector<Program>, linear: &Matrix2<f64>, arm_mm: f64) -> Matrix2xX<f64> {
    let p = Vector2::new(out.x, out.y) / arm_mm;
    let mut j = Matrix2xX::zeros(model.parameters());
    j[(0, 0)] = 1.0;
    j[(1, 1)] = 1.0;
    let turned = linear * p;
    match model {
        Model::Rigid | Model::Similar => {
            j.set_column(2, &Vector2::new(-turned.y, turned.x));
            if model == Model::Similar {
                j.set_column(3, &turned);
            }
        }
        Model::Affine => {
            j[(0, 2)] = p.x;
            j[(0, 3)] = p.y;
            j[(1, 4)] = p.x;
            j[(1, 5)] = p.y;
        }
    }
    j
}

fn normal_equations(
    sightings: &[Sighting],
    model: Model,
    pivot: Point<Program>,
    at: Point<Table>,
    linear: &Matrix2<f64>,
    arm_mm: f64,
) -> (DMatrix<f64>, DVector<f64>) {
    let n = model.parameters();
    let mut normal = DMatrix::zeros(n, n);
    let mut right = DVector::zeros(n);
    for sighting in sightings {
        let reading = read(sighting, pivot, at, linear);
        let off = reading.found - mapped(reading.plan, pivot, at, linear);
        let j = jacobian(model, reading.plan - pivot, linear, arm_mm);
        let weighted = j.transpose() * reading.information;
        normal += &weighted * &j;
        right += weighted * Vector2::new(off.x, off.y);
    }
    (normal, right)
}

/// The linear part after a step of the parameters.
fn turned_on(model: Model, linear: &Matrix2<f64>, step: &DVector<f64>, arm_mm: f64) -> Matrix2<f64> {
    match model {
        Model::Rigid | Model::Similar => {
            let (sin, cos) = (step[2] / arm_mm).sin_cos();
            let growth = if model == Model::Similar { (step[3] / arm_mm).exp() } else { 1.0 };
            Matrix2::new(cos, -sin, sin, cos) * linear * growth
        }
        Model::Affine => linear + Matrix2::new(step[2], step[3], step[4], step[5]) / arm_mm,
    }
}

fn solve(normal: &DMatrix<f64>, right: &DVector<f64>) -> Result<DVector<f64>, NoFit> {
    Ok(inverse(normal)? * right)
}

fn inverse(normal: &DMatrix<f64>) -> Result<DMatrix<f64>, NoFit> {
    let eigen = normal.symmetric_eigenvalues();
    let (least, most) = (eigen.min(), eigen.max());
    if !(most > 0.0 && least / most > CONDITION_MIN) {
        return Err(NoFit::LeavesOpen);
    }
    normal.clone().try_inverse().ok_or(NoFit::LeavesOpen)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Where it is planned, where it was found, and its weight.
    type Pair = ((f64, f64), (f64, f64), f64);

    fn sightings(pairs: &[Pair]) -> Vec<Sighting> {
        pairs
            .iter()
            .enumerate()
            .map(|(k, (plan, found, weight))| Sighting {
                name: format!("point {k}"),
                plan: Point::new(plan.0, plan.1),
                found: Point::new(found.0, found.1),
                spread: Spread::Round(weight.sqrt().recip()),
            })
            .collect()
    }

    /// Fits and holds the result against angle in degrees, shift at the program's zero, and sum of squares.
    fn check(pairs: &[Pair], angle_deg: f64, shift: (f64, f64), chi2: f64) {
        let fit = fit_pose(&sightings(pairs), Model::Rigid, &Placement::IDENTITY).expect("a fit");
        let origin = fit.map(Point::ORIGIN);
        assert!((fit.angle_rad().to_degrees() - angle_deg).abs() < 1e-8, "{fit:?}");
        assert!((origin.x - shift.0).abs() < 1e-5 && (origin.y - shift.1).abs() < 1e-5, "{origin:?}");
        assert!((fit.chi2 - chi2).abs() < 1e-5, "{}", fit.chi2);
        let placed = fit.placement().point(Point::new(123.0, -45.0));
        assert!(placed.distance(fit.map(Point::new(123.0, -45.0))) < 1e-9);
    }

    /// Source: constructed cases A, B, C and D, recomputed with scipy 1.17.1 `Rotation.align_vectors`.
    #[test]
    fn rigid_cases_agree_with_scipy() {
        check(
            &[
                ((0.0, 0.0), (10.0, -5.0), 1.0),
                ((100.0, 0.0), (96.602_540_38, 45.0), 1.0),
                ((0.0, 50.0), (-15.0, 38.301_270_19), 1.0),
            ],
            30.0,
            (10.0, -5.0),
            0.0,
        );
        let corners = |w: [f64; 4]| {
            [
                ((0.0, 0.0), (10.1, 20.2), w[0]),
                ((1000.0, 0.0), (1009.9, 29.8), w[1]),
                ((1000.0, 500.0), (1005.2, 529.9), w[2]),
                ((0.0, 500.0), (4.8, 520.1), w[3]),
            ]
        };
        check(&corners([1.0; 4]), 0.559_144_324, (9.963_498, 20.132_527), 0.140_360);
        check(&corners([4.0, 1.0, 1.0, 2.0]), 0.562_573_694, (9.990_539, 20.141_887), 0.277_008);
        check(&[((0.0, 0.0), (5.0, 5.0), 1.0), ((1000.0, 0.0), (5.0, 1003.0), 1.0)], 90.0, (5.0, 4.0), 2.0);
        check(
            &[((0.0, 0.0), (5.0, 5.0), 3.0), ((1000.0, 0.0), (5.0, 1003.0), 1.0)],
            90.0,
            (5.0, 4.5),
            3.0 * 0.25 + 2.25,
        );
    }

    /// Source: Umeyama, IEEE PAMI 13 (1991), example (values from memory), recomputed with numpy 2.4.6.
    #[test]
    fn similar_case_of_umeyama() {
        let pairs =
            [((0.0, 0.0), (0.0, 0.0), 1.0), ((1.0, 0.0), (-1.0, 0.0), 1.0), ((0.0, 2.0), (0.0, 2.0), 1.0)];
        let fit = fit_pose(&sightings(&pairs), Model::Similar, &Placement::IDENTITY).expect("a fit");
        let origin = fit.map(Point::ORIGIN);
        assert!((fit.angle_rad().to_degrees() + 33.690_068).abs() < 1e-5, "{fit:?}");
        assert!((fit.scale() - 0.721_110).abs() < 1e-5, "{fit:?}");
        assert!((origin.x + 0.8).abs() < 1e-6 && (origin.y - 0.4).abs() < 1e-6, "{origin:?}");
        assert!((fit.chi2 / 3.0 - 0.533_333).abs() < 1e-5, "{}", fit.chi2);
        let rigid = fit_pose(&sightings(&pairs), Model::Rigid, &Placement::IDENTITY).expect("a fit");
        let origin = rigid.map(Point::ORIGIN);
        assert!((origin.x + 0.980_484).abs() < 1e-5 && (origin.y - 0.296_867).abs() < 1e-5, "{origin:?}");
        assert!((rigid.chi2 - 1.859_265).abs() < 1e-5);
    }

    /// Source: TRE² = FLE²/N (1 + r²/(2 f²)), the plane form of Fitzpatrick, West and Maurer, IEEE TMI 17 (1998);
    /// derived, and confirmed by simulation.
    #[test]
    fn landing_error_follows_the_target_registration_formula() {
        let pairs = [
            ((0.0, 0.0), (0.0, 0.0), 4.0),
            ((1000.0, 0.0), (1000.0, 0.0), 4.0),
            ((1000.0, 500.0), (1000.0, 500.0), 4.0),
            ((0.0, 500.0), (0.0, 500.0), 4.0),
        ];
        let fit = fit_pose(&sightings(&pairs), Model::Rigid, &Placement::IDENTITY).expect("a fit");
        let cases = [
            ((500.0, 250.0), 0.353_553),
            ((1000.0, 500.0), 0.433_013),
            ((2000.0, 250.0), 0.758_288),
            ((500.0, 1250.0), 0.570_088),
        ];
        for ((x, y), rms) in cases {
            let trace = fit.landing_covariance(Point::new(x, y)).trace();
            assert!((trace.sqrt() - rms).abs() < 1e-6, "{x} {y} {}", trace.sqrt());
        }
        assert!((fit.covariance[(2, 2)].sqrt() - 0.447_214e-3).abs() < 1e-9);
    }

    #[test]
    fn three_edges_fix_a_pose_and_two_parallel_ones_do_not() {
        let truth = Placement::<Program, Table>::new(0.05, Point::new(31.0, -12.0));
        let edge = |plan: (f64, f64), direction: (f64, f64), slide: f64| {
            let direction = Vector::new(direction.0, direction.1);
            let plan = Point::new(plan.0, plan.1);
            Sighting {
                name: "edge".to_owned(),
                plan,
                found: truth.point(plan + direction * slide),
                spread: Spread::Across { direction, sigma_mm: 0.5 },
            }
        };
        let bottom = edge((100.0, 0.0), (1.0, 0.0), 37.0);
        let bottom_too = edge((900.0, 0.0), (1.0, 0.0), -11.0);
        let left = edge((0.0, 300.0), (0.0, 1.0), 60.0);
        let fit = fit_pose(&[bottom.clone(), bottom_too.clone(), left], Model::Rigid, &Placement::IDENTITY)
            .expect("a fit");
        let corner = Point::new(1000.0, 500.0);
        assert!(fit.map(corner).distance(truth.point(corner)) < 1e-6, "{fit:?}");
        let top = edge((500.0, 500.0), (1.0, 0.0), 5.0);
        assert_eq!(
            fit_pose(&[bottom, bottom_too, top], Model::Rigid, &Placement::IDENTITY),
            Err(NoFit::LeavesOpen)
        );
    }

    #[test]
    fn sightings_in_one_place_leave_the_turn_open() {
        let same = sightings(&[((5.0, 5.0), (6.0, 6.0), 1.0), ((5.0, 5.0), (6.1, 6.0), 1.0)]);
        assert_eq!(fit_pose(&same, Model::Rigid, &Placement::IDENTITY), Err(NoFit::LeavesOpen));
        assert_eq!(
            fit_pose(&same[..1], Model::Rigid, &Placement::IDENTITY),
            Err(NoFit::TooFew { have: 2, need: 3 })
        );
    }
}
