//! Monotone cubic interpolation: between two rows of a chart the curve never leaves the values of those two rows.
//!
//! **Source**: F. N. Fritsch and J. Butland, "A method for constructing local monotone piecewise cubic interpolants",
//! SIAM J. Sci. Stat. Comput. 5 (1984) 300–304: slopes inside are weighted harmonic means of the two secants. End
//! slopes are the one-sided three-point formula, held to the sign and to three times the first secant.

/// The value at `x` of the monotone cubic through `knots`; none outside them or if there are none.
///
/// **Shape**: `knots` are pairs of x and y with strictly rising x. One knot answers only for its own x.
pub(crate) fn at(knots: &[(f64, f64)], x: f64) -> Option<f64> {
    let (first, last) = (knots.first()?, knots.last()?);
    if !(first.0..=last.0).contains(&x) {
        return None;
    }
    let right = knots.partition_point(|knot| knot.0 < x);
    let (x1, y1) = knots[right];
    if x1 <= x {
        return Some(y1);
    }
    let k = right - 1;
    let (x0, y0) = knots[k];
    let (width, t) = (x1 - x0, (x - x0) / (x1 - x0));
    let (d0, d1) = (slope(knots, k), slope(knots, right));
    // The Hermite basis on the unit interval.
    let rest = 1.0 - t;
    Some(
        y0 * (1.0 + 2.0 * t) * rest * rest + d0 * width * t * rest * rest + y1 * t * t * (3.0 - 2.0 * t)
            - d1 * width * t * t * rest,
    )
}

/// The slope of the curve at knot `k`.
fn slope(knots: &[(f64, f64)], k: usize) -> f64 {
    let last = knots.len() - 1;
    let step = |k: usize| knots[k + 1].0 - knots[k].0;
    let secant = |k: usize| (knots[k + 1].1 - knots[k].1) / step(k);
    if last == 0 {
        0.0
    } else if last == 1 {
        secant(0)
    } else if k == 0 {
        end_slope(step(0), step(1), secant(0), secant(1))
    } else if k == last {
        end_slope(step(last - 1), step(last - 2), secant(last - 1), secant(last - 2))
    } else {
        inner_slope(step(k - 1), step(k), secant(k - 1), secant(k))
    }
}

fn inner_slope(h0: f64, h1: f64, m0: f64, m1: f64) -> f64 {
    if m0 * m1 <= 0.0 {
        return 0.0;
    }
    let (w0, w1) = (2.0 * h1 + h0, h1 + 2.0 * h0);
    (w0 + w1) / (w0 / m0 + w1 / m1)
}

/// `h0` and `m0` belong to the interval at the end, `h1` and `m1` to the next one.
fn end_slope(h0: f64, h1: f64, m0: f64, m1: f64) -> f64 {
    let slope = ((2.0 * h0 + h1) * m0 - h0 * m1) / (h0 + h1);
    if slope * m0 <= 0.0 {
        0.0
    } else if m0 * m1 < 0.0 && slope.abs() > 3.0 * m0.abs() {
        3.0 * m0
    } else {
        slope
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: scipy 1.17.1, `scipy.interpolate.PchipInterpolator` (BSD-3): knots, slopes at them, values between.
    struct Reference {
        knots: &'static [(f64, f64)],
        slopes: &'static [f64],
        values: &'static [(f64, f64)],
    }

    const SCIPY: &[Reference] = &[
        Reference {
            knots: &[(0.0, 0.0), (1.0, 1.0), (2.0, 4.0), (3.0, 9.0), (4.0, 16.0)],
            slopes: &[0.0, 1.5, 3.75, 5.833_333_333_3, 8.0],
            values: &[(0.5, 0.3125), (1.5, 2.21875), (2.5, 6.239_583_333_3), (3.5, 12.229_166_666_7)],
        },
        Reference {
            knots: &[(0.0, 0.0), (1.0, 0.0), (2.0, 0.0), (3.0, 1.0), (4.0, 1.0), (5.0, 1.0)],
            slopes: &[0.0; 6],
            values: &[(1.5, 0.0), (2.25, 0.15625), (2.5, 0.5), (2.75, 0.84375), (3.5, 1.0)],
        },
        Reference {
            knots: &[(1.0, 10.0), (2.0, 6.0), (4.0, 3.5), (8.0, 2.0), (16.0, 1.2)],
            slopes: &[-4.916_666_666_7, -2.022_471_910_1, -0.613_636_363_6, -0.16875, 0.0],
            values: &[
                (1.5, 7.638_225_655_4),
                (3.0, 4.397_791_113_4),
                (6.0, 2.527_556_818_2),
                (12.0, 1.43125),
            ],
        },
        Reference {
            knots: &[(0.0, 0.0), (1.0, 2.0), (3.0, 1.0), (4.0, 1.0)],
            slopes: &[2.833_333_333_3, 0.0, 0.0, 0.0],
            values: &[(0.5, 1.354_166_666_7), (2.0, 1.5), (3.5, 1.0)],
        },
        Reference {
            knots: &[(0.0, 1.0), (2.0, 1.5), (3.0, 4.0), (7.0, 4.2)],
            slopes: &[0.0, 0.5, 0.121_359_223_3, 0.0],
            values: &[(1.0, 1.125), (2.5, 2.797_330_097_1), (5.0, 4.160_679_611_7)],
        },
        Reference {
            knots: &[(0.0, 2.0), (1.0, 5.0)],
            slopes: &[3.0, 3.0],
            values: &[(0.25, 2.75), (0.5, 3.5)],
        },
    ];

    #[test]
    fn agrees_with_an_independent_library() {
        for Reference { knots, slopes, values } in SCIPY {
            for (k, expected) in slopes.iter().enumerate() {
                assert!(
                    (slope(knots, k) - expected).abs() < 1e-9,
                    "slope {k} of {knots:?}: {}",
                    slope(knots, k)
                );
            }
            for (x, expected) in values.iter().chain(*knots) {
                let value = at(knots, *x).expect("within the knots");
                assert!((value - expected).abs() < 1e-9, "{x} in {knots:?}: {value}");
            }
        }
    }

    #[test]
    fn never_answers_beyond_the_knots() {
        let knots = [(1.0, 10.0), (2.0, 6.0)];
        for x in [0.999_999, 2.000_001, f64::NAN, f64::INFINITY] {
            assert_eq!(at(&knots, x), None);
        }
        assert_eq!(at(&[], 1.0), None);
        assert_eq!(at(&[(1.0, 10.0)], 1.0), Some(10.0));
        assert_eq!(at(&[(1.0, 10.0)], 1.1), None);
    }

    /// Between two neighbouring knots the curve stays between their values, whatever the knots.
    #[test]
    fn stays_between_neighbours() {
        let mut seed = 7_u32;
        let mut next = || {
            seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            f64::from(seed >> 8) / f64::from(1 << 24)
        };
        for _ in 0..500 {
            let mut x = 0.0;
            let knots: Vec<_> = (0..6)
                .map(|_| {
                    x += 0.1 + next() * 5.0;
                    (x, next() * 100.0)
                })
                .collect();
            for pair in knots.windows(2) {
                for step in 0..=20 {
                    let x = pair[0].0 + (pair[1].0 - pair[0].0) * f64::from(step) / 20.0;
                    let y = at(&knots, x.min(pair[1].0)).expect("within the knots");
                    let (low, high) = (pair[0].1.min(pair[1].1), pair[0].1.max(pair[1].1));
                    assert!((low - 1e-9..=high + 1e-9).contains(&y), "{y} at {x} of {knots:?}");
                }
            }
        }
    }
}
