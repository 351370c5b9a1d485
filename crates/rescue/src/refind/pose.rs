//! A fit as the pose that programs are written and proven on, and how well a place lands by it.

use super::fit::{Model, PoseFit};
use super::predict::{CHI2_95_2D, CHI2_SURE_2D, Landing, inflation};
use geometry::{Placement, Point, Program, Vector};
use nalgebra::Matrix2;
use proof::Pose;
use units::Length;

/// Standard deviations within which 95 of 100 values of one number lie.
const SIGMAS_95: f64 = 1.96;

/// Where the parameters of a fit stand that a pose has: turn, shift in X, shift in Y.
const TURN_AND_SHIFT: [usize; 3] = [2, 0, 1];

/// The pose of a rigid or similar fit.
///
/// `shared_mm2` is the variance in each axis that all readings share; it moves the whole plate alike and no further
/// reading by the same pointer takes it away. A plate that has grown keeps its growth as landing error: parts are cut in
/// their true size. None for an affine fit, which no program is written on.
#[must_use]
pub fn pose_of(fit: &PoseFit, shared_mm2: f64, tolerance: Length) -> Option<Pose> {
    if fit.model == Model::Affine {
        return None;
    }
    let inflated = inflation(fit);
    let entry = |i: usize, j: usize| {
        let (i, j) = (TURN_AND_SHIFT[i], TURN_AND_SHIFT[j]);
        f64::midpoint(fit.covariance[(i, j)], fit.covariance[(j, i)]) * inflated
    };
    let mut covariance = [0, 1, 2].map(|i| [0, 1, 2].map(|j| entry(i, j)));
    covariance[1][1] += shared_mm2;
    covariance[2][2] += shared_mm2;
    let stretch = match fit.model {
        Model::Similar => (fit.scale() - 1.0).abs() + SIGMAS_95 * (fit.covariance[(3, 3)] * inflated).sqrt(),
        Model::Rigid | Model::Affine => 0.0,
    };
    let placement = fit.placement();
    let origin = placement.origin();
    Some(Pose {
        placement: Placement::new(placement.angle_rad(), Point::new(origin.x, origin.y)),
        pivot: fit.pivot,
        covariance,
        stretch,
        tolerance,
    })
}

/// How far off the plate's point `p` may land by `pose`: the 95 % ellipse, with the plate's growth added to its longer
/// axis.
#[must_use]
pub fn landing_at(pose: &Pose, p: Point<Program>) -> Landing {
    let (covariance, out) = covariance_at(pose, p);
    let eigen = covariance.symmetric_eigen();
    let (most, least) = if eigen.eigenvalues[0] >= eigen.eigenvalues[1] { (0, 1) } else { (1, 0) };
    let half = |k: usize| (CHI2_95_2D * eigen.eigenvalues[k].max(0.0)).sqrt();
    let grown = pose.stretch.abs() * out.length();
    let axis = eigen.eigenvectors.column(most);
    let along = if grown > half(most) { out.unit() } else { None };
    let along = along.unwrap_or(Vector::new(axis[0], axis[1]));
    // One sign of the axis, so that equal inputs are written alike.
    let sign = if along.x < 0.0 || (along.x <= 0.0 && along.y < 0.0) { -1.0 } else { 1.0 };
    Landing {
        at: p,
        worst_mm: half(most) + grown,
        least_mm: half(least),
        direction: Vector::new(along.x * sign, along.y * sign),
    }
}

/// The longer half axis of [`landing_at`] alone, in millimetres: what a whole plate is asked for.
#[must_use]
pub fn worst_at_mm(pose: &Pose, p: Point<Program>) -> f64 {
    within_mm(pose, p, CHI2_95_2D)
}

/// The same for 9,999 landings of 10,000, in millimetres.
#[must_use]
pub fn surely_at_mm(pose: &Pose, p: Point<Program>) -> f64 {
    within_mm(pose, p, CHI2_SURE_2D)
}

/// How far the plate's point `p` may lie off across a line of it, 95 times in 100, in millimetres; `across` has length 1.
pub(crate) fn within_across_mm(pose: &Pose, p: Point<Program>, across: Vector<Program>) -> f64 {
    let (c, out) = covariance_at(pose, p);
    let n = pose.placement.vector(across);
    let variance = c[(0, 0)] * n.x * n.x + 2.0 * c[(0, 1)] * n.x * n.y + c[(1, 1)] * n.y * n.y;
    SIGMAS_95 * variance.max(0.0).sqrt() + pose.stretch.abs() * out.length()
}

fn within_mm(pose: &Pose, p: Point<Program>, chi2: f64) -> f64 {
    let (c, out) = covariance_at(pose, p);
    let (middle, half) = (f64::midpoint(c[(0, 0)], c[(1, 1)]), (c[(0, 0)] - c[(1, 1)]) / 2.0);
    let most = middle + half.hypot(c[(0, 1)]);
    (chi2 * most.max(0.0)).sqrt() + pose.stretch.abs() * out.length()
}

/// Covariance of where `p` lands, in square millimetres, and the way from the pivot to it as the control shows it.
fn covariance_at(pose: &Pose, p: Point<Program>) -> (Matrix2<f64>, Vector<Program>) {
    let out = pose.placement.vector(p - pose.pivot);
    let c = &pose.covariance;
    let (dx, dy) = (-out.y, out.x);
    let xx = c[1][1] + 2.0 * dx * c[0][1] + dx * dx * c[0][0];
    let yy = c[2][2] + 2.0 * dy * c[0][2] + dy * dy * c[0][0];
    let xy = c[1][2] + dx * c[0][2] + dy * c[0][1] + dx * dy * c[0][0];
    (Matrix2::new(xx, xy, xy, yy), out)
}

#[cfg(test)]
mod tests {
    use super::super::fit::{Sighting, Spread, fit_pose};
    use super::super::predict::landing;
    use super::*;
    use geometry::Table;

    /// Places found on four marks of a plate turned by 14°.
    fn fit() -> PoseFit {
        let truth = Placement::<Program, Table>::new(0.244, Point::new(180.0, -95.0));
        let marks = [(0.0, 0.0), (1000.0, 0.0), (1000.0, 500.0), (0.0, 500.0)];
        let sightings = marks.map(|(x, y)| {
            let plan = Point::new(x, y);
            let at = truth.point(plan);
            Sighting { name: String::new(), plan, found: at, spread: Spread::Round(0.5) }
        });
        fit_pose(&sightings, Model::Rigid, &Placement::IDENTITY).expect("a fit")
    }

    #[test]
    fn the_pose_says_of_a_place_what_the_fit_says() {
        let fit = fit();
        let pose = pose_of(&fit, 0.0, Length::from_mm(1.0)).expect("a rigid fit");
        for p in [Point::new(500.0, 250.0), Point::new(2000.0, 250.0), Point::new(-300.0, 1250.0)] {
            let (by_pose, by_fit) = (landing_at(&pose, p), landing(&fit, p));
            assert!((by_pose.worst_mm - by_fit.worst_mm).abs() < 1e-9, "{by_pose:?} {by_fit:?}");
            assert!((by_pose.least_mm - by_fit.least_mm).abs() < 1e-9, "{by_pose:?} {by_fit:?}");
            assert!((worst_at_mm(&pose, p) - by_fit.worst_mm).abs() < 1e-9);
            let (a, b) = (pose.placement.point(p), fit.map(p));
            assert!((a.x - b.x).hypot(a.y - b.y) < 1e-9);
        }
    }

    /// Source: target registration error in the plane, derived from Fitzpatrick, West and Maurer, IEEE Transactions on
    /// Medical Imaging 17 (1998) 694-702: rms 0.353553, 0.433013, 0.758288, 0.570088 mm for these marks and 0.5 mm.
    #[test]
    fn landing_errors_of_the_published_formula() {
        let pose = pose_of(&fit(), 0.0, Length::from_mm(1.0)).expect("a rigid fit");
        for ((x, y), rms) in [
            ((500.0, 250.0), 0.353_553),
            ((1000.0, 500.0), 0.433_013),
            ((2000.0, 250.0), 0.758_288),
            ((500.0, 1250.0), 0.570_088),
        ] {
            let landing = landing_at(&pose, Point::new(x, y));
            let mean_square = (landing.worst_mm.powi(2) + landing.least_mm.powi(2)) / CHI2_95_2D;
            assert!((mean_square.sqrt() - rms).abs() < 1e-6, "{landing:?} {rms}");
        }
        // The turn's standard deviation, 0.447214 mrad by the same formula.
        assert!((pose.covariance[0][0].sqrt() - 0.447_214e-3).abs() < 1e-9);
    }

    /// Four corners read once, good to half a millimetre: across the middle of an edge as well as their mean, 1.96 × 0.5 / √4; at
    /// a long edge's end the turn adds its part (derived: √(1/4 + 500² / (4 × (500² + 250²)))).
    #[test]
    fn an_edge_is_known_best_in_its_middle() {
        let pose = pose_of(&fit(), 0.0, Length::from_mm(1.0)).expect("a rigid fit");
        let up = Vector::new(0.0, 1.0);
        let within = |x: f64| within_across_mm(&pose, Point::new(x, 0.0), up);
        assert!((within(500.0) - 0.49).abs() < 1e-6, "{}", within(500.0));
        assert!((within(1000.0) - 0.98 * 0.45_f64.sqrt()).abs() < 1e-6, "{}", within(1000.0));
    }

    #[test]
    fn what_all_readings_share_is_added_everywhere() {
        let (alone, shared) = (fit(), 1.25);
        let pose = pose_of(&alone, shared, Length::from_mm(1.0)).expect("a rigid fit");
        let landing = landing_at(&pose, alone.pivot);
        assert!(landing.worst_mm > (CHI2_95_2D * shared).sqrt());
    }
}
