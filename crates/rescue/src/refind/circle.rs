//! The centre of a hole from points on its edge: the geometric least-squares circle, with its uncertainty.

use geometry::{Frame, Point};
use nalgebra::{Matrix2, Matrix3, Vector3};

/// A circle fitted to points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CircleFit<F> {
    /// Its centre.
    pub center: Point<F>,
    /// Its radius in millimetres.
    pub radius_mm: f64,
    /// Covariance of the centre for readings of standard deviation 1 mm in each axis, in square millimetres; times
    /// the square of the readings' own standard deviation it is the centre's. Large for points on a short arc.
    pub center_cofactor: Matrix2<f64>,
    /// Sum of the squared distances of the points from the circle, in square millimetres.
    pub sum_of_squares: f64,
}

/// Why no circle can be fitted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoCircle {
    /// Fewer than three points.
    TooFew,
    /// The points lie on a line, or all in one place.
    OnALine,
}

/// Most rounds of Gauss-Newton. From the algebraic start it settles in three to six; a set of points that has not
/// settled after this many does not fix a circle.
const ROUNDS: u32 = 50;

/// A step smaller than this, in millimetres, ends the search: a millionth of what can be read on a table.
const SETTLED_MM: f64 = 1e-9;

/// Smallest reciprocal condition of the normal equations at which the points are taken to fix a circle. Below it the
/// centre would be uncertain by over a thousand times the error of a reading.
const CONDITION_MIN: f64 = 1e-7;

/// The circle whose distances from `points` have the least sum of squares.
///
/// Starts from the linear fit of x² + y² + Dx + Ey + F (Kåsa) and improves it by Gauss-Newton on the true distances.
/// Source: Gander, Golub and Strebel, "Least-squares fitting of circles and ellipses", BIT 34 (1994).
///
/// # Errors
/// If there are fewer than three points or they fix no circle.
pub fn fit_circle<F: Frame>(points: &[Point<F>]) -> Result<CircleFit<F>, NoCircle> {
    if points.len() < 3 {
        return Err(NoCircle::TooFew);
    }
    let (mut center, mut radius) = algebraic_circle(points)?;
    for _ in 0..ROUNDS {
        let (normal, right, _) = normal_equations(points, center, radius);
        let step = invert(normal)? * right;
        center = Point::new(center.x + step.x, center.y + step.y);
        radius += step.z;
        if step.norm() < SETTLED_MM {
            break;
        }
    }
    let (normal, _, sum_of_squares) = normal_equations(points, center, radius);
    let cofactor = invert(normal)?;
    if !(center.is_finite() && radius.is_finite() && radius > 0.0) {
        return Err(NoCircle::OnALine);
    }
    Ok(CircleFit {
        center,
        radius_mm: radius,
        center_cofactor: cofactor.fixed_view::<2, 2>(0, 0).into_owned(),
        sum_of_squares,
    })
}

/// Normal matrix, right side and sum of squares of the distance residuals about the given circle.
fn normal_equations<F: Frame>(
    points: &[Point<F>],
    center: Point<F>,
    radius: f64,
) -> (Matrix3<f64>, Vector3<f64>, f64) {
    let mut normal = Matrix3::zeros();
    let mut right = Vector3::zeros();
    let mut sum = 0.0;
    for p in points {
        let out = *p - center;
        let distance = out.length();
        let Some(unit) = out.unit() else { continue };
        let residual = distance - radius;
        // d(residual)/d(center, radius) = (-unit, -1)
        let row = Vector3::new(unit.x, unit.y, 1.0);
        normal += row * row.transpose();
        right += row * residual;
        sum += residual * residual;
    }
    (normal, right, sum)
}

fn algebraic_circle<F: Frame>(points: &[Point<F>]) -> Result<(Point<F>, f64), NoCircle> {
    #[expect(clippy::cast_precision_loss, reason = "a handful of points")]
    let count = points.len() as f64;
    let mean_x = points.iter().map(|p| p.x).sum::<f64>() / count;
    let mean_y = points.iter().map(|p| p.y).sum::<f64>() / count;
    let mut normal = Matrix3::zeros();
    let mut right = Vector3::zeros();
    for p in points {
        let (x, y) = (p.x - mean_x, p.y - mean_y);
        let row = Vector3::new(x, y, 1.0);
        normal += row * row.transpose();
        right -= row * (x * x + y * y);
    }
    let spread = (normal[(0, 0)] + normal[(1, 1)]) / count;
    if spread <= SETTLED_MM {
        return Err(NoCircle::OnALine);
    }
    // Scaled to unit spread, so that the condition does not depend on the size of the hole.
    let scale = spread.sqrt().recip();
    let scaling = Matrix3::from_diagonal(&Vector3::new(scale, scale, 1.0));
    let solution = scaling * (invert(scaling * normal * scaling)? * (scaling * right));
    let center = Point::new(mean_x - solution.x / 2.0, mean_y - solution.y / 2.0);
    let radius = (solution.x * solution.x / 4.0 + solution.y * solution.y / 4.0 - solution.z).max(0.0).sqrt();
    Ok((center, radius))
}

fn invert(matrix: Matrix3<f64>) -> Result<Matrix3<f64>, NoCircle> {
    let eigen = matrix.symmetric_eigenvalues();
    let (least, most) = (eigen.min(), eigen.max());
    if !(most > 0.0 && least / most > CONDITION_MIN) {
        return Err(NoCircle::OnALine);
    }
    matrix.try_inverse().ok_or(NoCircle::OnALine)
}

#[cfg(test)]
mod tests {
    use super::*;
    use geometry::Table;

    fn points(list: &[(f64, f64)]) -> Vec<Point<Table>> {
        list.iter().map(|(x, y)| Point::new(*x, *y)).collect()
    }

    /// Source: Gander, Golub and Strebel, BIT 34 (1994) 558-578, example of six points (numbers from memory),
    /// recomputed with scipy 1.17.1 `least_squares`.
    #[test]
    fn six_points_of_gander_golub_strebel() {
        let fit =
            fit_circle(&points(&[(1.0, 7.0), (2.0, 6.0), (5.0, 8.0), (7.0, 7.0), (9.0, 5.0), (3.0, 7.0)]))
                .expect("a circle");
        assert!((fit.center.x - 4.739_782_42).abs() < 1e-6, "{fit:?}");
        assert!((fit.center.y - 2.983_532_73).abs() < 1e-6, "{fit:?}");
        assert!((fit.radius_mm - 4.714_226_02).abs() < 1e-6, "{fit:?}");
        assert!((fit.sum_of_squares - 1.227_599_078_2).abs() < 1e-7, "{fit:?}");
    }

    /// Source: the linear fit (Kåsa) of the same points, recomputed with numpy 2.4.6.
    #[test]
    fn algebraic_start_of_the_same_points() {
        let (center, radius) = algebraic_circle(&points(&[
            (1.0, 7.0),
            (2.0, 6.0),
            (5.0, 8.0),
            (7.0, 7.0),
            (9.0, 5.0),
            (3.0, 7.0),
        ]))
        .expect("a circle");
        assert!((center.x - 4.742_331_29).abs() < 1e-7, "{center:?}");
        assert!((center.y - 3.835_122_70).abs() < 1e-7, "{center:?}");
        assert!((radius - 4.108_761_52).abs() < 1e-7, "{radius}");
    }

    #[test]
    fn points_that_fix_no_circle_are_refused() {
        assert_eq!(fit_circle(&points(&[(0.0, 0.0), (1.0, 0.0)])), Err(NoCircle::TooFew));
        assert_eq!(fit_circle(&points(&[(0.0, 0.0), (1.0, 1.0), (2.0, 2.0)])), Err(NoCircle::OnALine));
        assert_eq!(fit_circle(&points(&[(3.0, 3.0); 4])), Err(NoCircle::OnALine));
    }

    #[test]
    fn a_short_arc_leaves_the_centre_uncertain() {
        let on = |degrees: f64| {
            let (sin, cos) = degrees.to_radians().sin_cos();
            (100.0 + 12.0 * cos, 50.0 + 12.0 * sin)
        };
        let around = fit_circle(&points(&[on(0.0), on(120.0), on(240.0)])).expect("a circle");
        let short = fit_circle(&points(&[on(0.0), on(15.0), on(30.0)])).expect("a circle");
        assert!((short.center.x - 100.0).abs() < 1e-6 && (short.radius_mm - 12.0).abs() < 1e-6);
        assert!(short.center_cofactor.trace() > 100.0 * around.center_cofactor.trace());
    }
}
